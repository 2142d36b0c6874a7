"""The site on a port, served by waitress until it is stopped."""

from __future__ import annotations

import socket
from collections.abc import Callable
from typing import Any

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.errors import NotAllowed, ToolFailed
from web.viewing import ViewerOf

THREADS = 8
"""Requests answered at once; a film that plays holds one only while a range is sent."""


NOBODY_COULD = "nobody could sign in. Give the owner a password first: scrubmark people password owner"


def address_of(host: str, port: int) -> str:
    """The address to open in a browser."""
    shown = "127.0.0.1" if host in ("0.0.0.0", "::") else f"[{host}]" if ":" in host else host
    return f"http://{shown}:{port}/"


def make_server(library: Library, settings: Settings, viewer_of: ViewerOf | None = None) -> tuple[Any, str]:
    """A waitress server that listens already, and the address that lets in whoever starts it.

    Raises ToolFailed where the port is taken, NotAllowed where others could reach it and nobody could sign in.
    """
    import waitress

    from web.signing_in import alone, entry_address
    from web.site import create_app

    if not alone(settings.host) and not any(person.may_sign_in for person in library.persons()):
        raise NotAllowed(f"Listening on {settings.host}", NOBODY_COULD)
    place = listening(settings.host, settings.port)
    app = create_app(library, settings, viewer_of)
    server = waitress.create_server(
        app, sockets=[place], threads=THREADS, ident=None, clear_untrusted_proxy_headers=True
    )
    return server, entry_address(app, address_of(settings.host, int(place.getsockname()[1])))


def listening(host: str, port: int) -> socket.socket:
    """A socket that listens; port 0 takes a free one. Raises ToolFailed where that cannot be."""
    name = host.strip("[]")
    family = socket.AF_INET6 if ":" in name else socket.AF_INET
    try:
        return socket.create_server((name, port), family=family)
    except OSError as fault:
        reason = f"cannot listen on {host}, port {port} ({fault.strerror}). Choose another with --port."
        raise ToolFailed("The site", reason) from fault


def serve(library: Library, settings: Settings, announce: Callable[[str], None]) -> None:
    """Serve until interrupted. `announce` is told the address once the site answers there."""
    server, address = make_server(library, settings)
    announce(address)
    try:
        server.run()
    except KeyboardInterrupt:
        pass
    finally:
        server.close()
