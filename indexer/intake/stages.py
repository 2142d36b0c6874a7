"""What is done to a recording, in order. Each stage can be cut off at any moment and done again.

A stage leaves its files whole or not at all, notes what the next one needs as JSON, and is done again where what it
left is not there any more.
"""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from indexer.errors import RecordingUnreadable, TranscriptUnreadable
from indexer.intake import copying, outlining, surveying, wording
from indexer.intake.claims import Claims
from indexer.intake.workpiece import Workpiece
from indexer.models import CaseContent, Given, Tagging, Transcript
from indexer.timespan import clock
from indexer.vocabulary.vocabulary import Vocabulary

TRANSCRIPT = "transcript"
TAGGING = "tagging.json"
FRAMES = "frames.npy"
FILM = "film.mp4"

one_tagger = threading.Lock()


class Stage(NamedTuple):
    """One stage: what it is called, what it does and leaves, and whether what it left is still there."""

    name: str
    doing: str
    begins_at: float
    """Share of the whole way that is usually over when it begins."""
    do: Callable[[Workpiece], Mapping[str, Any]]
    holds: Callable[[Workpiece], bool]


def stages(claims: Claims) -> tuple[Stage, ...]:
    """The stages in their order; `claims` are shared by all recordings of a batch."""
    return (
        Stage("looked at", "looking at it", 0.0, lambda piece: _look(piece, claims), _looked),
        Stage("copied", "copying it into the library", 0.15, _copy, _copied),
        Stage("film", "preparing the film", 0.25, _film, _film_there),
        Stage("surveyed", "looking at every frame", surveying.BEGINS_AT, surveying.survey, surveying.surveyed),
        Stage("outlined", "drawing the outline of the sound", 0.84, outlining.outline, outlining.outlined),
        Stage("transcript", "reading the transcript", 0.85, _transcript, _transcript_there),
        Stage("tagged", "finding steps and terms", 0.87, _tag, _tagged),
        Stage("stills", "taking stills", 0.92, _stills, _stills_there),
    )


def _look(piece: Workpiece, claims: Claims) -> dict[str, Any]:
    from indexer.footage.probing import probe

    probes = [probe(path, piece.settings) for path in piece.draft.sources]
    claims.claim(piece, probes)
    return {"probes": [each.model_dump(mode="json") for each in probes]}


def _looked(piece: Workpiece) -> bool:
    return "probes" in piece.job.detail


def _copy(piece: Workpiece) -> dict[str, Any]:
    if not piece.draft.copies:
        return {"copies": []}
    names = []
    for place, (source, probe) in enumerate(zip(piece.draft.sources, piece.probes, strict=True), start=1):
        # Names of originals may say who the patient is; copies are only numbered.
        name = f"part-{place}{source.suffix.lower()}"
        copying.copy_whole(source, piece.media / name, probe.content_hash)
        names.append(name)
    return {"copies": names}


def _copied(piece: Workpiece) -> bool:
    names = piece.job.detail.get("copies")
    return names is not None and all((piece.media / name).is_file() for name in names)


def _film(piece: Workpiece) -> dict[str, Any]:
    from indexer.footage.playable import make_playable, reasons_for_copy

    probes = piece.probes
    reasons = reasons_for_copy(probes, piece.settings)
    piece.media.mkdir(parents=True, exist_ok=True)
    film = piece.paths[0]
    if reasons:
        film = piece.media / FILM

        def tell(share: float) -> None:
            piece.tell("making a playable copy", 0.25 + (surveying.BEGINS_AT - 0.25) * share)

        make_playable(piece.paths, probes, film, piece.settings, tell)
    copying.write_whole(piece.media / FRAMES, _frames(film))
    return {"film": FILM if reasons else None, "reasons": list(reasons)}


def _frames(film: Path) -> bytes:
    import io

    import numpy

    from indexer.footage.frames import frame_times

    kept = io.BytesIO()
    numpy.save(kept, frame_times(film), allow_pickle=False)
    return kept.getvalue()


def _film_there(piece: Workpiece) -> bool:
    if "film" not in piece.job.detail or not (piece.media / FRAMES).is_file():
        return False
    name = piece.job.detail["film"]
    return name is None or (piece.media / name).is_file()


def _transcript(piece: Workpiece) -> dict[str, Any]:
    source = piece.draft.transcript
    none: dict[str, Any] = {"transcript": None, "transcript_fault": "", "transcript_remarks": []}
    if source is None:
        return none
    from indexer.transcripts.reading import parse_transcript

    try:
        data = bytes_of(source)
        laid, remarks = lay(parse_transcript(data, str(source)), source.name, piece.draft.offset_ms, _length_ms(piece))
    except TranscriptUnreadable as fault:
        return none | {"transcript_fault": str(fault)}
    copying.write_whole(piece.folder / TRANSCRIPT, data)
    copying.write_whole(piece.folder / "laid.json", laid.model_dump_json().encode())
    return {"transcript": source.name, "transcript_fault": "", "transcript_remarks": remarks}


def bytes_of(source: Path) -> bytes:
    """A transcript as it lies there. Raises TranscriptUnreadable."""
    from indexer.transcripts.reading import LARGEST_BYTES

    try:
        with source.open("rb") as file:
            return file.read(LARGEST_BYTES + 1)
    except OSError as error:
        raise TranscriptUnreadable(source, None, f"the file cannot be opened ({error.strerror}).") from error


def lay(transcript: Transcript, name: str, offset_ms: int, length_ms: int) -> tuple[Transcript, list[str]]:
    """The transcript in the film's time, and remarks. Raises TranscriptUnreadable where none of it meets the film."""
    laid = wording.laid_onto_film(transcript, offset_ms, length_ms)
    if laid is None:
        raise TranscriptUnreadable(
            name, None, f"all its words lie outside the film, which ends at {clock(length_ms)}. Check --offset."
        )
    return laid, list(wording.remarks_on(transcript, laid, offset_ms, length_ms))


def _transcript_there(piece: Workpiece) -> bool:
    if "transcript" not in piece.job.detail:
        return False
    needed = (piece.folder / TRANSCRIPT, piece.folder / "laid.json")
    return piece.job.detail["transcript"] is None or all(path.is_file() for path in needed)


def _laid(piece: Workpiece) -> Transcript | None:
    if piece.job.detail["transcript"] is None:
        return None
    return Transcript.model_validate_json((piece.folder / "laid.json").read_bytes())


def _tag(piece: Workpiece) -> dict[str, Any]:
    laid = _laid(piece)
    if laid is None:
        return {"tagged": False}
    tagging = tagged(laid, piece.library.vocabulary, Given(cuts_ms=surveying.cuts_ms(piece)))
    copying.write_whole(piece.folder / TAGGING, tagging.model_dump_json().encode())
    return {"tagged": True}


def tagged(laid: Transcript, vocabulary: Vocabulary, given: Given | None = None) -> Tagging:
    """Steps and terms of a transcript; one at a time, since tagging keeps one processor busy by itself."""
    from indexer.tagging import tag

    with one_tagger:
        return tag(laid, vocabulary, given)


def _tagged(piece: Workpiece) -> bool:
    kept = piece.job.detail.get("tagged")
    return kept is False or (kept is True and (piece.folder / TAGGING).is_file())


def _tagging(piece: Workpiece) -> Tagging | None:
    if not piece.job.detail["tagged"]:
        return None
    return Tagging.model_validate_json((piece.folder / TAGGING).read_bytes())


def _stills(piece: Workpiece) -> dict[str, Any]:
    from indexer.footage.stills import make_stills

    tagging = _tagging(piece)
    spans = [(each.start_ms, each.end_ms) for each in tagging.segments] if tagging else []
    folder = piece.media / "stills"
    try:
        if piece.job.detail["surveyed"]:
            taken = piece.job.detail["even_stills"]
            more = [at for at in surveying.moments(piece.media, spans) if at not in taken]
            made = make_stills(piece.film, more, folder, piece.settings, exact=True)
            return {"stills": sorted({*taken, *made}), "stills_fault": ""}
        wanted = still_times(_length_ms(piece), piece.settings.stills_per_minute, spans)
        shutil.rmtree(folder, ignore_errors=True)
        made = make_stills(piece.film, wanted, folder, piece.settings)
    except RecordingUnreadable as fault:
        if not piece.film.is_file():
            raise
        # A recording without pictures to look at is still worth having.
        return {"stills": [], "stills_fault": fault.reason}
    return {"stills": sorted(made), "stills_fault": ""}


def still_times(length_ms: int, per_minute: float, spans_ms: list[tuple[int, int]]) -> list[int]:
    """Where stills are taken without a survey: evenly over the film, and one for each step."""
    steps = [start + surveying.into_step(start, end) for start, end in spans_ms]
    even = surveying.even_times(length_ms, per_minute)
    return sorted({min(each, max(0, length_ms - 1)) for each in (*even, *steps)} or {length_ms // 2})


def _stills_there(piece: Workpiece) -> bool:
    names = piece.job.detail.get("stills")
    return names is not None and all((piece.media / "stills" / f"{at}.jpg").is_file() for at in names)


def _length_ms(piece: Workpiece) -> int:
    return sum(probe.duration_ms for probe in piece.probes)


def content_of(piece: Workpiece) -> CaseContent:
    """All that the stages found, ready to be published."""
    from indexer.footage.joining import lay_out_parts

    probes, detail = piece.probes, piece.job.detail
    largest = max(probes, key=lambda probe: probe.width * probe.height)
    return CaseContent(
        parts=lay_out_parts(piece.paths, probes),
        film=detail["film"],
        film_reasons=tuple(detail["reasons"]),
        length_ms=_length_ms(piece),
        frame_rate=sum(probe.frames for probe in probes) * 1000 / _length_ms(piece),
        width=largest.width,
        height=largest.height,
        has_sound=any(probe.has_sound for probe in probes),
        stills_ms=tuple(detail["stills"]),
        transcript=_laid(piece),
        transcript_name=detail["transcript"],
        transcript_bytes=(piece.folder / TRANSCRIPT).read_bytes() if detail["transcript"] else None,
        tagging=_tagging(piece),
        survey=surveying.kept(piece),
        remarks=tuple(_remarks(piece)),
    )


def _remarks(piece: Workpiece) -> list[str]:
    detail = piece.job.detail
    remarks = [remark for probe in piece.probes for remark in probe.remarks]
    remarks += detail["transcript_remarks"]
    if detail["transcript_fault"]:
        remarks.append(f"Its transcript could not be used: {detail['transcript_fault']}")
    if detail["stills_fault"]:
        remarks.append(f"No stills could be taken: {detail['stills_fault']}")
    remarks += surveying.remarks_on(piece)
    return remarks
