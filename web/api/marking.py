"""The addresses of marking."""

from __future__ import annotations

from flask import Blueprint, Response, request
from pydantic import ValidationError

from indexer.errors import BadInput
from indexer.models.cases import RecordingDetail, SegmentView
from indexer.models.marking import Deed, Marking
from indexer.models.tagged import Boundary, Evidence, Standing
from web.api.marking_models import DeedIn, DoneOut, EdgeOut, GroundOut, MarkingOut, MarkOut, StepName, WordOut
from web.document import sureness
from web.likely import Likely, likely_for
from web.seeking import Seeker
from web.terms import Terms
from web.viewing import the_library, the_terms, the_viewer
from web.words import REASONS

marking_api = Blueprint("marking_api", __name__, url_prefix="/api/marking")


@marking_api.get("/<recording_id>")
def standing(recording_id: str) -> Response:
    """The steps as they stand."""
    return _answer(the_library().marking(the_viewer(), recording_id))


@marking_api.get("/<recording_id>/ground")
def ground(recording_id: str) -> Response:
    """What marking needs to know and what does not change by it."""
    library, terms = the_library(), the_terms()
    recording = library.recording(the_viewer(), recording_id)
    likely = _likely(recording_id, library.marking(the_viewer(), recording_id).may_mark)
    survey = library.survey(the_viewer(), recording_id)
    told = GroundOut(
        length_ms=recording.length_ms,
        frame_rate=recording.frame_rate,
        steps=tuple(StepName(id=step, label=terms.label(step), number=terms.place(step) or 0) for step in likely.steps),
        first=likely.first(),
        then={step: likely.then(step) for step in likely.steps},
        cuts_ms=tuple(cut.at_ms for cut in survey.cuts) if survey else (),
        words=tuple(WordOut(at_ms=word.start_ms, text=word.text) for word in recording.words),
    )
    return Response(told.model_dump_json(), content_type="application/json")


@marking_api.post("/<recording_id>")
def do(recording_id: str) -> Response:
    """Do a deed; the answer is how the steps stand then. 409 where somebody else changed what it touches."""
    library, viewer = the_library(), the_viewer()
    try:
        asked = DeedIn.model_validate_json(request.get_data())
    except ValidationError as fault:
        first = fault.errors()[0]
        raise BadInput(f"{'.'.join(map(str, first['loc'])) or 'The request'}: {first['msg']}") from None
    at_ms = asked.at_ms
    if at_ms is not None:
        at_ms = _picture_ms(library.recording(viewer, recording_id), at_ms)
    deed = Deed.model_validate(asked.model_dump() | {"at_ms": at_ms})
    return _answer(library.mark(viewer, recording_id, deed))


@marking_api.post("/<recording_id>/undo")
def undo(recording_id: str) -> Response:
    """Take back what this person did last."""
    return _answer(the_library().undo(the_viewer(), recording_id))


@marking_api.post("/<recording_id>/redo")
def redo(recording_id: str) -> Response:
    """Do again what this person took back last."""
    return _answer(the_library().redo(the_viewer(), recording_id))


def _picture_ms(recording: RecordingDetail, at_ms: int) -> int:
    """When the picture that shows a moment begins: an edge lies between two pictures, never within one."""
    if at_ms >= recording.length_ms:
        return recording.length_ms
    frame = Seeker(recording, the_library().media(recording.id)).moment(at_ms).frame
    return at_ms if frame is None else round(frame * 1000)


def _likely(recording_id: str, may_mark: bool) -> Likely:
    """By the surgeon's other operations too, but only for who may mark: these may be private."""
    library = the_library()
    return likely_for(library.vocabulary, library.given(recording_id).operations if may_mark else ())


def _answer(marking: Marking) -> Response:
    library = the_library()
    recording = library.recording(the_viewer(), marking.recording_id)
    seeker, likely = Seeker(recording, library.media(recording.id)), _likely(recording.id, marking.may_mark)
    segments = sorted(marking.segments, key=lambda each: each.start_ms)
    told = MarkingOut(
        marks=tuple(
            mark_out(each, the_terms(), seeker, likely.rather(segments, place)) for place, each in enumerate(segments)
        ),
        may_mark=marking.may_mark,
        undo=marking.undo,
        redo=marking.redo,
        lately=tuple(
            DoneOut(verb=each.verb, by=each.by, at=each.at.isoformat(), undone=each.undone) for each in marking.lately
        ),
    )
    return Response(told.model_dump_json(), content_type="application/json")


def mark_out(segment: SegmentView, terms: Terms, seeker: Seeker, rather: tuple[str, ...]) -> MarkOut:
    """A step with what a page shows of it."""
    accepted = segment.standing is Standing.ACCEPTED
    return MarkOut(
        **segment.model_dump(include={"id", "version", "step", "confidence"}),
        label=terms.label(segment.step),
        number=terms.place(segment.step),
        start=_edge_out(segment.start, seeker),
        end=_edge_out(segment.end, seeker),
        sure=sureness(segment.confidence),
        standing=segment.standing.value,
        settled=accepted and segment.start.source == segment.end.source == "person",
        why=why(segment.evidence),
        rather=rather,
    )


def why(evidence: tuple[Evidence, ...]) -> str:
    """The weightiest reasons in one line."""
    best = sorted(evidence, key=lambda reason: -abs(reason.weight))[:3]
    told = [f"{REASONS[each.kind]}: {each.text}{' (speaks against it)' if each.weight < 0 else ''}" for each in best]
    return "; ".join(told) or "nothing is kept of why"


def _edge_out(edge: Boundary, seeker: Seeker) -> EdgeOut:
    return EdgeOut(**edge.model_dump(), **seeker.moment(edge.at_ms).model_dump())
