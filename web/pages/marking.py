"""The page where a surgeon puts the steps of a recording right."""

from __future__ import annotations

from flask import Blueprint, render_template

from web.document import rows_of
from web.pages.case import find_recording
from web.viewing import the_library, the_terms, the_viewer

marking = Blueprint("marking", __name__)


@marking.get("/case/<case_id>/<recording_id>/mark")
def page(case_id: str, recording_id: str) -> str:
    """The steps of a recording, to keep or to put right; without scripts they are only listed."""
    found, recording = find_recording(case_id, recording_id)
    return render_template(
        "marking.html",
        case=found,
        recording=recording,
        rows=[row for row in rows_of(recording, the_terms()) if row.step],
        may_mark=the_library().marking(the_viewer(), recording_id).may_mark,
    )
