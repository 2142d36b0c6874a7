"""For whom a page is made, and the library that it is made from."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

from flask import current_app, g, session

from indexer.catalogue.library import Library
from indexer.consent import NOBODY, Viewer
from web.terms import Terms

ViewerOf = Callable[[Library], Viewer]

SIGNED_IN = "key"
"""Where in the session the key of a sign-in stands; the session holds nothing else."""


def who_signed_in(library: Library) -> Viewer:
    """Who signed in with this browser; nobody where nobody did, or where it is over."""
    key = session.get(SIGNED_IN)
    return (library.signed_in(key) if isinstance(key, str) else None) or NOBODY


def the_library() -> Library:
    """The library of the running site."""
    return cast(Library, current_app.extensions["library"])


def the_terms() -> Terms:
    """The words of the running site's vocabulary."""
    return cast(Terms, current_app.extensions["terms"])


def the_viewer() -> Viewer:
    """The person for whom this request is answered."""
    if "viewer" not in g:
        g.viewer = cast(ViewerOf, current_app.extensions["viewer_of"])(the_library())
    return cast(Viewer, g.viewer)


def seen_viewer() -> Viewer:
    """The person for whom this request is answered, where that is known already; a page of a fault asks no more."""
    return cast(Viewer, g.get("viewer", NOBODY))
