"""The list of cases."""

from __future__ import annotations

from flask import Blueprint, render_template

from indexer.models.cases import Still
from web.viewing import the_library, the_viewer

cases = Blueprint("cases", __name__)


@cases.get("/cases")
def page() -> str:
    """All cases that the viewer may see, newest first."""
    return render_template("cases.html", cases=the_library().cases(the_viewer()))


def recording_of(still: Still) -> str:
    """Id of the recording that a still is of: media/<recording>/stills/<ms>.jpg."""
    return still.path.parent.parent.name
