"""Stills of a film: near each asked time the sharpest of a few frames that is not black, upright, as JPEG."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from indexer.config import Settings
from indexer.footage.guarded import work_on

_SECONDS_A_STILL = 5.0


def make_stills(
    film: Path, times_ms: Sequence[int], folder: Path, settings: Settings, width: int = 480, *, exact: bool = False
) -> dict[int, Path]:
    """Write one JPEG for each of `times_ms`, `<ms>.jpg` in `folder`, at most `width` pixels wide.

    A time behind the film's end gets its last picture; a time where nothing can be decoded is left out of the answer.
    With `exact` it is the frame shown at that very time, as where a better one was chosen before.
    Runs in a guarded process. Raises RecordingUnreadable.
    """
    wanted = sorted({max(0, time_ms) for time_ms in times_ms})
    if not wanted:
        return {}
    folder.mkdir(parents=True, exist_ok=True)
    made = work_on(
        film,
        "indexer.footage.picking:pick_stills",
        {"times_ms": wanted, "folder": str(folder), "width": width, "exact": exact},
        seconds=settings.probe_seconds + _SECONDS_A_STILL * len(wanted),
        memory_mb=settings.probe_memory_mb,
    )
    return {int(time_ms): folder / f"{time_ms}.jpg" for time_ms in made}
