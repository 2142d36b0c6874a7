"""From a moment to the frame that shows it, and to where a browser has to be sent so that it paints that frame."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any

from indexer.models.cases import RecordingDetail
from indexer.models.frozen import Frozen


class Moment(Frozen):
    """A moment of a film. All in seconds of the film's own clock, as exact as they are known."""

    at: float
    """The moment itself."""
    seek: float
    """The middle of the showing of its frame: a browser sent there paints that frame and no other."""
    frame: float | None
    """When its frame is first shown; None where the times of the frames are not known."""


class Seeker:
    """Finds moments in one film."""

    def __init__(self, recording: RecordingDetail, media: Path) -> None:
        self._rate = recording.frame_rate or 25.0
        self._times = _times(media / "frames.npy")

    def moment(self, ms: int) -> Moment:
        """The moment at `ms`. Without the film's frame times: half a frame later, by the mean rate."""
        if self._times is None or not len(self._times):
            return Moment(at=ms / 1000, seek=round(ms / 1000 + 0.5 / self._rate, 6), frame=None)
        from indexer.footage.frames import frame_at, seek_seconds

        frame = float(self._times[frame_at(self._times, ms)])
        return Moment(at=ms / 1000, seek=round(seek_seconds(self._times, ms), 6), frame=round(frame, 6))


def _times(path: Path) -> Any | None:
    try:
        stat = path.stat()
    except OSError:
        return None
    return _loaded(path, stat.st_mtime_ns, stat.st_size)


@lru_cache(maxsize=64)
def _loaded(path: Path, _changed_ns: int, _size: int) -> Any | None:
    """Frame times in seconds as a float64 array; None for a file that is none."""
    import numpy

    try:
        return numpy.load(path, allow_pickle=False)
    except (OSError, ValueError):
        return None
