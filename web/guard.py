"""What every answer of the site says about safety, and which host names it answers to."""

from __future__ import annotations

import ipaddress
import socket
from urllib.parse import urlsplit

from flask import Flask, Response, abort, request

CONTENT_POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "media-src 'self' blob:",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS = {
    "Content-Security-Policy": CONTENT_POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=(), payment=(), usb=()",
}
LOOPBACK = frozenset({"localhost", "127.0.0.1", "::1"})
ANY_ADDRESS = frozenset({"0.0.0.0", "::"})


def is_address(name: str) -> bool:
    """Whether a host is written as an IP address, which no foreign name server can redirect."""
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def host_allowed(header: str, bound_host: str) -> bool:
    """Whether a request with this Host header is meant for us.

    A page elsewhere can point its own name at this machine and so read it as its own (DNS rebinding). So only
    the loopback names and the host that the site was bound to are answered; bound to every address, the machine's own
    name and plain addresses count too.
    """
    try:
        name = urlsplit(f"//{header}").hostname or ""
    except ValueError:
        return False
    if name in LOOPBACK or name == bound_host.strip("[]").lower():
        return True
    return bound_host in ANY_ADDRESS and (is_address(name) or name == socket.gethostname().lower())


def from_elsewhere() -> bool:
    """Whether another site made the browser send this request."""
    origin = request.headers.get("Origin")
    if origin and urlsplit(origin).netloc != request.headers.get("Host"):
        return True
    return request.headers.get("Sec-Fetch-Site", "same-origin") not in ("same-origin", "none")


def put_guard(app: Flask, bound_host: str) -> None:
    """Check every request and dress every answer of the app."""

    @app.before_request
    def check() -> None:
        if not host_allowed(request.headers.get("Host", ""), bound_host):
            abort(421)
        if request.method not in ("GET", "HEAD", "OPTIONS") and from_elsewhere():
            abort(403)

    @app.after_request
    def dress(response: Response) -> Response:
        for name, value in HEADERS.items():
            response.headers.setdefault(name, value)
        response.headers.setdefault("Cache-Control", "no-store")
        return response
