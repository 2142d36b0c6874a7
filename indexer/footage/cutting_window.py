"""Which frames of one file a clip has: read from the packets around it, not from the whole file where that can be.

Runs in a guarded process; times are ticks of the stream's own clock.
"""

from __future__ import annotations

import contextlib
from array import array
from bisect import bisect_left
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

import av
from av.container import InputContainer
from av.video.stream import VideoStream

from indexer.footage.clock import film_stream, open_film, read_clock
from indexer.footage.guarded import Refused

SOUGHT = {"mov,mp4,m4a,3gp,3g2,mj2", "matroska,webm"}
"""Formats with an index by times of showing, in which a place is found without reading what lies before it."""
_OPENING = 64
"""Packets among which the first frame to be shown is."""
_BEFORE = Fraction(1, 2)
_ROUNDING = Fraction(6, 10_000)
"""A little more than half a millisecond: a time in milliseconds that was rounded from a frame's own finds that frame."""


class Window(NamedTuple):
    """The frames of a clip in one file."""

    time_base: Fraction
    origin: int
    """When the file's first frame is shown."""
    before: int | None
    """The frame in front of the first one of the clip; None where there is none."""
    times: array[int]
    """Those of the clip, in order of showing; never empty."""
    after: int
    """When the last frame's showing ends."""

    @property
    def first(self) -> int:
        """When the first frame of the clip is shown."""
        return self.times[0]

    @property
    def seek(self) -> int:
        """A moment before the clip from which a reader may look for the key frame that comes before it."""
        return self.first - int(_BEFORE / self.time_base)


def measure(path: Path, start_ms: int, end_ms: int, own_clock: bool) -> dict[str, Any]:
    """The window as JSON, and what its file is; the task of a guarded process. Raises Refused."""
    try:
        return _measured(path, start_ms, end_ms, own_clock)
    except av.FFmpegError as error:
        raise Refused(f"it cannot be read ({error.strerror}). It is damaged, or no film.") from error


def _measured(path: Path, start_ms: int, end_ms: int, own_clock: bool) -> dict[str, Any]:
    with open_film(path) as container, open_film(path) as other:
        stream = film_of(container)
        window = find(container, stream, start_ms, end_ms, own_clock=own_clock)
        width, height, _ = as_shown(other)
        return {
            "base": [window.time_base.numerator, window.time_base.denominator],
            "origin": window.origin,
            "before": window.before,
            "times": list(window.times),
            "after": window.after,
            "seeks": container.format.name in SOUGHT,
            "sound": bool(container.streams.audio and container.streams.audio[0].codec_context),
            "size": [width, height],
            "rate": float(stream.average_rate or 25),
        }


def film_of(container: InputContainer) -> VideoStream:
    """The film's pictures. Raises Refused where there are none."""
    stream = film_stream(container)
    if stream is None or stream.codec_context is None:
        raise Refused("there is no moving picture in it.")
    return stream


def as_shown(container: InputContainer) -> tuple[int, int, bool]:
    """Width and height of the picture as shown, and whether it is shown just as it is decoded; reads its beginning."""
    stream = film_of(container)
    rotation, shape = 0, stream.sample_aspect_ratio or Fraction(1)
    with contextlib.suppress(av.FFmpegError):
        rotation = next((frame.rotation for frame in container.decode(stream)), 0)
    width, height = round(stream.codec_context.width * shape), stream.codec_context.height
    return (height, width, False) if rotation % 180 else (width, height, rotation == 0 and shape == 1)


def find(container: InputContainer, stream: VideoStream, start_ms: int, end_ms: int, *, own_clock: bool) -> Window:
    """The frames shown from `start_ms` to before `end_ms`: counted from the file's first frame, or by its own clock.

    The first is the one that is shown at `start_ms`. Raises Refused where the span lies behind the film's end.
    """
    if container.format.name in SOUGHT:
        opening = _opening(container, stream)
        origin = _origin(opening)
        base = stream.time_base or Fraction(1, 1000)
        zero = 0 if own_clock else origin
        begin, end = (_ticks(ms, base) + zero for ms in (start_ms, end_ms))
        times, last_length = _near(container, stream, begin, end, origin)
    else:
        clock = read_clock(container, stream)
        if not clock.times:
            raise Refused("no picture of it can be read.")
        times, last_length, base, origin = clock.times, clock.last_length, clock.time_base, clock.times[0]
        zero = 0 if own_clock else origin
        begin, end = (_ticks(ms, base) + zero for ms in (start_ms, end_ms))
    return _within(times, last_length, base, origin, begin, end)


def _ticks(ms: int, base: Fraction) -> int:
    return round(Fraction(ms, 1000) / base)


def _within(times: array[int], last_length: int, base: Fraction, origin: int, begin: int, end: int) -> Window:
    slack = int(_ROUNDING / base)
    start = max(0, _behind(times, begin + slack) - 1)
    stop = bisect_left(times, end - slack)
    if not times or begin >= times[-1] + last_length:
        raise Refused("the clip begins behind the end of the recording. Name an earlier start.")
    stop = max(stop, start + 1)
    after = times[stop] if stop < len(times) else times[-1] + last_length
    return Window(base, origin, times[start - 1] if start else None, times[start:stop], after)


def _behind(times: array[int], moment: int) -> int:
    return bisect_left(times, moment + 1)


def _opening(container: InputContainer, stream: VideoStream) -> list[tuple[int, bool]]:
    found = []
    for packet in container.demux(stream):
        if packet.size and not packet.is_discard and packet.pts is not None:
            found.append((packet.pts, packet.is_keyframe))
        if len(found) >= _OPENING:
            break
    if not found:
        raise Refused("no picture of it can be read.")
    return found


def _origin(opening: list[tuple[int, bool]]) -> int:
    founded = next((pts for pts, key in opening if key), opening[0][0])
    return min(pts for pts, _ in opening if pts >= founded)


def _near(container: InputContainer, stream: VideoStream, begin: int, end: int, origin: int) -> tuple[array[int], int]:
    """Times of showing around a span, in order, and how long the last of them is shown."""
    base = stream.time_base or Fraction(1, 1000)
    margin = int(_BEFORE / base)
    container.seek(max(origin, begin - margin), stream=stream, backward=True)
    found: list[tuple[int, int]] = []
    for packet in container.demux(stream):
        if not packet.size or packet.is_discard or packet.pts is None:
            continue
        if packet.pts >= origin:
            found.append((packet.pts, packet.duration or 0))
        # Nothing that is decoded later is shown before this packet is decoded.
        if packet.dts is not None and packet.dts > end + margin:
            break
    found.sort()
    if not found:
        raise Refused("the clip begins behind the end of the recording. Name an earlier start.")
    times = array("q", (pts for pts, _ in found))
    step = times[-1] - times[-2] if len(times) > 1 else round(1 / ((stream.average_rate or 25) * base))
    said = found[-1][1]
    return times, said if 0 < said <= 4 * step else step
