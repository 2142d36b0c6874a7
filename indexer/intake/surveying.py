"""The survey of every frame as a stage of intake, and for recordings that were added before there was one."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate
from pathlib import Path
from typing import Any

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.errors import NotFound, RecordingUnreadable
from indexer.intake.workpiece import Workpiece
from indexer.models import Kind, RecordingDetail, Survey
from indexer.models.frozen import Frozen

BEGINS_AT = 0.6
_ENDS_AT = 0.85
FRAMES = "frames.npy"
STILLS = "stills"
MOST_STILLS = 600
INTO_STEP_MS = 1000
"""A step's own still is taken so long behind its start, when what begins there can be seen."""


def even_times(length_ms: int, per_minute: float) -> list[int]:
    """Moments of stills spread evenly over the film, `MOST_STILLS` at most, one in its middle at least."""
    apart_ms = max(60_000 / per_minute, length_ms / MOST_STILLS)
    return [int(apart_ms * (number + 0.5)) for number in range(int(length_ms / apart_ms))] or [length_ms // 2]


def into_step(start_ms: int, end_ms: int) -> int:
    """How far behind the start of a step its own still is taken at the earliest."""
    return min(INTO_STEP_MS, (end_ms - start_ms) // 3)


def survey(piece: Workpiece) -> dict[str, Any]:
    """Look at every frame of the film that plays; leaves the survey's files and the evenly spread stills."""
    lengths = [probe.duration_ms for probe in piece.probes]
    stills_ms = even_times(sum(lengths), piece.settings.stills_per_minute)

    def tell(share: float) -> None:
        piece.tell("looking at every frame", BEGINS_AT + (_ENDS_AT - BEGINS_AT) * share)

    try:
        joins_ms = list(accumulate(lengths))[:-1]
        made = _look(piece.film, _times(piece.media), piece.media, piece.settings, joins_ms, stills_ms, tell)
    except RecordingUnreadable as fault:
        if not piece.film.is_file():
            raise
        # A recording that cannot be looked at frame by frame may still be listened to.
        return {"surveyed": False, "survey_fault": fault.reason, "even_stills": []}
    return {"surveyed": True, "survey_fault": "", "even_stills": made}


def _look(
    film: Path,
    times: Any,
    folder: Path,
    settings: Settings,
    joins_ms: Sequence[int],
    stills_ms: Sequence[int],
    tell: Callable[[float], None] | None = None,
) -> list[int]:
    from indexer.footage.survey import survey_film

    shutil.rmtree(folder / STILLS, ignore_errors=True)
    found = survey_film(film, times, folder, settings, joins_ms=joins_ms, stills_ms=stills_ms, progress=tell)
    return found.stills_ms


def _times(media: Path) -> Any:
    import numpy

    return numpy.load(media / FRAMES)


def surveyed(piece: Workpiece) -> bool:
    """Whether what the stage left is still there."""
    if "surveyed" not in piece.job.detail:
        return False
    stills = (piece.media / STILLS / f"{at}.jpg" for at in piece.job.detail["even_stills"])
    return not piece.job.detail["surveyed"] or (kept(piece) is not None and all(path.is_file() for path in stills))


def kept(piece: Workpiece) -> Survey | None:
    """The survey of a recording on its way."""
    from indexer.footage.survey import kept_survey

    return kept_survey(piece.media) if piece.job.detail["surveyed"] else None


def cuts_ms(piece: Workpiece) -> tuple[int, ...]:
    """Where the film was cut, as hints for a change of step."""
    found = kept(piece)
    return tuple(cut.at_ms for cut in found.cuts) if found else ()


def moments(media: Path, spans_ms: Sequence[tuple[int, int]]) -> list[int]:
    """For each step the moment of its own still: a sharp frame soon after its start."""
    from indexer.footage.survey import kept_looks, kept_survey
    from indexer.footage.survey_stills import best_moment

    looks, found = kept_looks(media), kept_survey(media)
    stretches = found.stretches if found else ()
    chosen = []
    for start, end in spans_ms:
        asked = start + into_step(start, end)
        best = best_moment(looks, stretches, asked, end)
        chosen.append(asked if best is None else best)
    return chosen


def remarks_on(piece: Workpiece) -> list[str]:
    """What a person should know of the survey, above all where it contradicts what was stated."""
    if not piece.job.detail["surveyed"]:
        return [f"Its frames could not be looked at one by one: {piece.job.detail['survey_fault']}"]
    found = kept(piece)
    return contradictions(found, piece.draft.kind) if found else []


def contradictions(found: Survey, kind: Kind) -> list[str]:
    """A remark where the film looks otherwise than was stated; what was stated stays until a person changes it."""
    reasons = "; ".join(found.guess.reasons)
    if kind is Kind.WHOLE and found.guess.kind == "edited":
        return [f"It was added as a whole recording but looks edited: {reasons}. Only a whole one counts for times."]
    if kind is Kind.EDITED and found.guess.kind == "whole":
        return [f"It was added as an edited film but looks whole: {reasons}."]
    return []


class SurveyedLater(Frozen):
    """One recording that was looked at after its intake, or could not be."""

    title: str
    survey: Survey | None
    fault: str = ""


def survey_later(library: Library, settings: Settings, titles: tuple[str, ...] = ()) -> Iterator[SurveyedLater]:
    """Survey recordings that have none, or anew those of the cases with these titles or ids.

    Raises NotFound for others, LibraryBusy where an intake is at work.
    """
    cases = library.cases(library.owner)
    unknown = [title for title in titles if not any(title in (case.id, case.title) for case in cases)]
    if unknown:
        raise NotFound(f"case {unknown[0]!r}")
    with library.lease():
        for case in cases:
            asked = case.id in titles or case.title in titles
            for recording in library.case(library.owner, case.id).recordings if asked or not titles else ():
                if (library.media(recording.id) / FRAMES).is_file() and (
                    asked or library.survey(library.owner, recording.id) is None
                ):
                    yield _later(library, settings, case.title, recording)


def _later(library: Library, settings: Settings, title: str, recording: RecordingDetail) -> SurveyedLater:
    """Made in a folder apart and then laid beside what there is: stills that were shown before stay."""
    media, apart = library.media(recording.id), library.work / f"survey-{recording.id}"
    joins = [part.start_ms for part in recording.parts[1:]]
    try:
        times = _times(media)
        made = _look(
            recording.film, times, apart, settings, joins, even_times(recording.length_ms, settings.stills_per_minute)
        )
        made += _of_steps(recording, apart, made, settings)
    except RecordingUnreadable as fault:
        shutil.rmtree(apart, ignore_errors=True)
        return SurveyedLater(title=title, survey=None, fault=str(fault))
    found = _moved(apart, media)
    stills_ms = {*made, *(still.at_ms for still in recording.stills)}
    library.put_survey(recording.id, found, tuple(stills_ms), tuple(contradictions(found, recording.kind)))
    return SurveyedLater(title=title, survey=found)


def _of_steps(recording: RecordingDetail, folder: Path, taken: Sequence[int], settings: Settings) -> list[int]:
    from indexer.footage.stills import make_stills

    spans = [(each.start_ms, each.end_ms) for each in recording.segments]
    more = [at for at in moments(folder, spans) if at not in taken]
    return sorted(make_stills(recording.film, more, folder / STILLS, settings, exact=True))


def _moved(apart: Path, media: Path) -> Survey:
    from indexer.footage.survey import FILES, kept_survey

    (media / STILLS).mkdir(parents=True, exist_ok=True)
    for made in [*(apart / name for name in FILES), *(apart / STILLS).glob("*.jpg")]:
        if made.is_file():
            made.replace(media / made.relative_to(apart))
    shutil.rmtree(apart, ignore_errors=True)
    found = kept_survey(media)
    assert found is not None
    return found
