"""When each frame of a film is shown, and which frame a moment shows."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy
from numpy.typing import NDArray

from indexer.errors import RecordingUnreadable

Times = Sequence[float] | NDArray[numpy.float64]

_ROUNDING_S = 0.0006
"""A little more than half a millisecond, since half of one is not exact as a float."""
_LONGEST_STEP_S = 0.1


def frame_times(film: Path) -> NDArray[numpy.float64]:
    """Presentation times of every frame, in seconds and in order of showing, as a browser counts them.

    Read from the packets, without decoding. Raises RecordingUnreadable.
    """
    # Here and not above: the site finds frames by their times without any need of a decoder.
    import av

    from indexer.footage.clock import film_stream, open_film, read_clock
    from indexer.footage.guarded import Refused

    try:
        with open_film(film) as container:
            stream = film_stream(container)
            if stream is None:
                raise RecordingUnreadable(film, "there is no moving picture in it.")
            clock = read_clock(container, stream)
    except (av.FFmpegError, Refused) as error:
        raise RecordingUnreadable(film, f"its frames cannot be counted ({error}).") from error
    ticks = numpy.frombuffer(clock.times, dtype=numpy.int64) if clock.times else numpy.empty(0, numpy.int64)
    return ticks * float(clock.time_base.numerator) / clock.time_base.denominator


def frame_at(times: Times, ms: int) -> int:
    """Index of the frame that is shown at `ms`; the first one before the film begins. `times` is not empty.

    A time in milliseconds that was rounded from a frame's own time finds that frame again.
    """
    return max(0, int(numpy.searchsorted(times, ms / 1000 + _ROUNDING_S, side="right")) - 1)


def seek_seconds(times: Times, ms: int) -> float:
    """Where a browser has to be sent so that it paints exactly the frame shown at `ms`: the middle of its showing.

    A frame that stands for long is entered a tenth of a second after its start, so that the sound is not late.
    """
    index = frame_at(times, ms)
    return float(times[index]) + min(_shown_for(times, index) / 2, _LONGEST_STEP_S)


def _shown_for(times: Times, index: int) -> float:
    """Seconds that a frame is shown; of the last one, as long as the one before."""
    if len(times) < 2:
        return 2 * _LONGEST_STEP_S
    start = min(index, len(times) - 2)
    return float(times[start + 1]) - float(times[start])
