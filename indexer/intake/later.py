"""A recording that is known already: told so, and given its words where it had none and now comes with some."""

from __future__ import annotations

from collections.abc import Callable

from indexer.errors import TranscriptUnreadable
from indexer.intake import stages
from indexer.intake.claims import AlreadyHere
from indexer.intake.outcomes import Outcome
from indexer.intake.workpiece import Workpiece
from indexer.transcripts.reading import parse_transcript


def meet(piece: Workpiece, known: AlreadyHere, give_up: Callable[[str], None]) -> Outcome:
    """The outcome for a known recording; the job for it is given up."""
    title = next((case.title for case in piece.library.cases(piece.library.owner) if case.id == known.case_id), "")
    give_up("Already in the library.")
    recording_id = piece.library.unworded(known.content_hash)
    outcome = Outcome(
        how="known",
        title=title or piece.draft.title,
        case_id=known.case_id,
        recording_id=recording_id,
        reason="It is in the library already." if title else "The same film is in this batch twice.",
    )
    if recording_id is None or piece.draft.transcript is None:
        return outcome
    try:
        return _worded(piece, recording_id, outcome)
    except TranscriptUnreadable as fault:
        return outcome.model_copy(update={"transcript_fault": str(fault)})


def _worded(piece: Workpiece, recording_id: str, outcome: Outcome) -> Outcome:
    source = piece.draft.transcript
    assert source is not None
    data = stages.bytes_of(source)
    length_ms = piece.library.recording(piece.library.owner, recording_id).length_ms
    laid, remarks = stages.lay(parse_transcript(data, str(source)), source.name, piece.draft.offset_ms, length_ms)
    tagging = stages.tagged(laid, piece.library.vocabulary)
    piece.library.put_words(recording_id, laid, source.name, data, tagging)
    return outcome.model_copy(
        update={
            "how": "worded",
            "reason": "",
            "remarks": tuple(remarks),
            "length_ms": length_ms,
            "steps": len(tagging.segments),
            "terms": len(tagging.mentions),
        }
    )
