"""The survey of a film: one look at every frame, in a guarded process, and what is kept of it."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import numpy
from numpy.typing import NDArray

from indexer.config import Settings
from indexer.footage.frames import Times, frame_at
from indexer.footage.guarded import work_on
from indexer.footage.survey_sprite import INDEX, SHEET
from indexer.models.footage import Survey

SURVEY, LOOKS = "survey.json", "survey.npy"
FILES = (SURVEY, LOOKS, SHEET, INDEX)
"""What a survey leaves in the recording's folder, besides stills."""
_SLOWEST = 4.0
"""Seconds of work for a second of film before the survey is given up."""


class Surveyed(NamedTuple):
    """What a survey found, and the times for which it left a still."""

    survey: Survey
    stills_ms: list[int]


def survey_film(
    film: Path,
    times: Times,
    folder: Path,
    settings: Settings,
    *,
    joins_ms: Sequence[int] = (),
    stills_ms: Sequence[int] = (),
    progress: Callable[[float], None] | None = None,
) -> Surveyed:
    """Look at every frame of `film`, whose frames are shown at `times` (seconds).

    Leaves `FILES` in `folder`, and in `stills/` a still for each of `stills_ms` that the film reaches. Where parts meet
    (`joins_ms`) no cut is told. Raises RecordingUnreadable.
    """
    folder.mkdir(parents=True, exist_ok=True)
    length_ms = round(float(times[-1]) * 1000) if len(times) else 0
    found = work_on(
        film,
        "indexer.footage.survey_pass:survey",
        {"folder": str(folder), "length_ms": length_ms, "joins_ms": list(joins_ms), "stills_ms": list(stills_ms)},
        seconds=settings.probe_seconds + _SLOWEST * length_ms / 1000,
        memory_mb=settings.probe_memory_mb,
        progress=progress,
    )
    survey = _numbered(Survey.model_validate(found["survey"]), times)
    kept = io.BytesIO()
    numpy.save(kept, numpy.array(found["looks"], numpy.float32).reshape(-1, 3), allow_pickle=False)
    _write(folder / LOOKS, kept.getvalue())
    _write(folder / SURVEY, survey.model_dump_json().encode())
    return Surveyed(survey, found["stills"])


def kept_survey(folder: Path) -> Survey | None:
    """The survey that lies in a recording's folder, or None."""
    path = folder / SURVEY
    return Survey.model_validate_json(path.read_bytes()) if path.is_file() else None


def kept_looks(folder: Path) -> NDArray[numpy.float64]:
    """The looks of a survey, rows of time in milliseconds, sharpness and brightness; none where there is no survey."""
    path = folder / LOOKS
    return numpy.load(path).astype(numpy.float64) if path.is_file() else numpy.zeros((0, 3))


def _numbered(survey: Survey, times: Times) -> Survey:
    """Cuts with the frame numbers of the film's clock: what cannot be decoded was not counted."""
    if len(times) == survey.frames:
        return survey
    cuts = tuple(cut.model_copy(update={"frame": frame_at(times, cut.at_ms)}) for cut in survey.cuts)
    return survey.model_copy(update={"cuts": cuts})


def _write(path: Path, data: bytes) -> None:
    unfinished = path.with_name(path.name + ".unfinished")
    unfinished.write_bytes(data)
    unfinished.replace(path)
