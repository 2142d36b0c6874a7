"""The site: what the engine found, shown in a browser. `web.create_app(library, settings)` puts it together."""

from __future__ import annotations

from typing import Any


def __getattr__(name: str) -> Any:
    """Load Flask and the pages only when the site is really wanted: the console imports this package for `--help`."""
    if name == "create_app":
        from web.site import create_app

        return create_app
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
