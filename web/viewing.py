"""For whom a page is made, and the library that it is made from."""

from __future__ import annotations

import ipaddress
from collections.abc import Callable
from typing import cast

from flask import current_app, request

from indexer.catalogue.library import Library
from indexer.consent import NOBODY, Viewer
from web.terms import Terms

ViewerOf = Callable[[Library], Viewer]


def at_this_machine(library: Library) -> Viewer:
    """The owner, for requests from this machine; nobody in particular for all others, who see only what is public."""
    try:
        here = ipaddress.ip_address(request.remote_addr or "").is_loopback
    except ValueError:
        here = False
    return library.owner if here else NOBODY


def the_library() -> Library:
    """The library of the running site."""
    return cast(Library, current_app.extensions["library"])


def the_terms() -> Terms:
    """The words of the running site's vocabulary."""
    return cast(Terms, current_app.extensions["terms"])


def the_viewer() -> Viewer:
    """The person for whom this request is answered."""
    viewer_of = cast(ViewerOf, current_app.extensions["viewer_of"])
    return viewer_of(the_library())
