"""What this is, how it is read, which keys it has, and the cautions."""

from __future__ import annotations

from flask import Blueprint, render_template

from indexer import cautions

about = Blueprint("about", __name__)


@about.get("/about")
def page() -> str:
    """The page that explains."""
    return render_template("about.html", cautions=cautions.FULL)
