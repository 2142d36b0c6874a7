"""The case page: ribbon, words and film on one axis of time, and the stylesheet that makes lengths time."""

from __future__ import annotations

from flask import Blueprint, Response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response as AnyResponse

from indexer.errors import NotFound
from indexer.models.cases import CaseDetail, RecordingDetail
from indexer.models.frozen import Frozen
from indexer.models.tagged import AssertionKind
from indexer.timespan import parse_fragment
from web.document import Row, Thing, pixels_a_second, rows_of, things_of
from web.seeking import Seeker
from web.terms import Terms
from web.viewing import the_library, the_terms, the_viewer
from web.words import FACETS

case = Blueprint("case", __name__)


class Seen(Frozen):
    """What was used and seen in a whole recording, of one facet."""

    facet: str
    label: str
    things: tuple[Thing, ...]


@case.get("/case/<case_id>")
def first(case_id: str) -> AnyResponse:
    """The first recording of a case."""
    found = the_library().case(the_viewer(), case_id)
    if not found.recordings:
        raise NotFound("recording of this case")
    address = url_for("case.show", case_id=case_id, recording_id=found.recordings[0].id, t=request.args.get("t"))
    return redirect(address)


@case.get("/case/<case_id>/<recording_id>")
def show(case_id: str, recording_id: str) -> str:
    """A recording as a document, the film at the moment that the address names (`?t=` seconds)."""
    library = the_library()
    found, recording = find_recording(case_id, recording_id)
    rows = rows_of(recording, the_terms())
    seeker = Seeker(recording, library.media(recording.id))
    at_ms = start_ms(request.args.get("t"), recording.length_ms)
    return render_template(
        "case.html",
        case=found,
        recording=recording,
        rows=rows,
        seen=seen(recording, the_terms()),
        moments={row.start_ms: seeker.moment(row.start_ms) for row in rows},
        start=seeker.moment(at_ms) if at_ms is not None else None,
        chosen=row_at(rows, at_ms),
        moment_at=seeker.moment,
        owner=the_viewer().owns,
    )


@case.get("/case/<case_id>/<recording_id>/lengths.css")
def lengths(case_id: str, recording_id: str) -> Response:
    """How long each row and each silence is, for the stylesheet that turns seconds into height."""
    _, recording = find_recording(case_id, recording_id)
    rows = rows_of(recording, the_terms())
    return Response(length_stylesheet(rows), content_type="text/css; charset=utf-8")


def find_recording(case_id: str, recording_id: str) -> tuple[CaseDetail, RecordingDetail]:
    """A case and one of its recordings. Raises NotFound where the viewer may not see it, or it is of another case."""
    found = the_library().case(the_viewer(), case_id)
    for recording in found.recordings:
        if recording.id == recording_id:
            return found, recording
    raise NotFound("recording of that name in this case")


def start_ms(value: str | None, length_ms: int) -> int | None:
    """Where the address asks to begin; None where it asks for nothing that this recording has."""
    span = parse_fragment(f"t={value}", length_ms) if value else None
    return span.start_ms if span and span.length_ms else None


def row_at(rows: tuple[Row, ...], at_ms: int | None) -> str | None:
    """Id of the row that goes on at a moment."""
    return next((row.id for row in rows if at_ms is not None and row.start_ms <= at_ms < row.end_ms), None)


def seen(recording: RecordingDetail, terms: Terms) -> list[Seen]:
    """What was used and seen, by facet; what was only spoken of stands at the end of its facet."""
    things = things_of(recording.mentions, recording.measures, terms)
    made = []
    for facet, label in FACETS.items():
        mine = sorted(
            (thing for thing in things if thing.facet == facet),
            key=lambda thing: (thing.assertion is not AssertionKind.DONE, thing.at_ms),
        )
        if mine:
            made.append(Seen(facet=facet, label=label, things=tuple(mine)))
    return made


def length_stylesheet(rows: tuple[Row, ...]) -> str:
    """Seconds of each row and of each silence between its paragraphs, and the pixels that a second is given."""
    rules = [f".document{{--second:{pixels_a_second(rows):g}px}}"]
    for row in rows:
        rules.append(f"#{row.id}{{--seconds:{row.length_ms / 1000:g}}}")
        rules += [
            f"#{part.id}{{--silence:{part.silence_ms / 1000:g}}}" for part in row.paragraphs if part.silence_ms >= 1000
        ]
    return "\n".join(rules) + "\n"
