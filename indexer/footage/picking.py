"""What is done inside the guarded process to pick stills: one way through the film, jumping by key frames."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

import av
import cv2
import numpy
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream
from numpy.typing import NDArray

from indexer.footage.clock import Clock, film_stream, open_film, read_clock
from indexer.footage.guarded import Refused
from indexer.footage.reel import frames_from, key_before

_WINDOW_S = 0.8
"""How far behind the asked time a better frame is looked for; never before it, where another step may be going on."""
_LOOKS = 5
_WORTH_A_JUMP = 24
"""Frames between here and a key frame that it takes to make jumping there quicker than decoding on."""
BLACK = 20.0
"""Mean luma, of 255, below which a picture shows nothing."""
_QUALITY = 85
STILL_WIDTH = 480
"""Widest that a still is, in pixels, unless asked otherwise."""

Picture = NDArray[numpy.uint8]


class _Found(NamedTuple):
    frame: VideoFrame
    worth: float


def pick_stills(film: Path, times_ms: Sequence[int], folder: str, width: int, exact: bool = False) -> list[int]:
    """Write the stills and answer with the times for which there is one; raises Refused where nothing can be read.

    With `exact` each is the frame that is shown at its time and no better one.
    """
    made: list[int] = []
    try:
        with open_film(film) as container:
            stream = film_stream(container)
            if stream is None:
                raise Refused("there is no moving picture in it.")
            clock = read_clock(container, stream)
            if not clock.times:
                raise Refused("there is no picture in it.")
            stream.thread_type = "AUTO"
            for time_ms, frame in _best_frames(container, stream, clock, times_ms, 1 if exact else _LOOKS):
                write(Path(folder) / f"{time_ms}.jpg", picture(frame, stream, width))
                made.append(time_ms)
    except av.FFmpegError as error:
        raise Refused(f"its pictures cannot be read ({error}).") from error
    return made


def _best_frames(
    container: InputContainer, stream: VideoStream, clock: Clock, times_ms: Sequence[int], most: int
) -> Iterator[tuple[int, VideoFrame]]:
    """Each asked time with the best frame of its window, as soon as the window is through."""
    windows = {time_ms: _window(clock, time_ms)[:most] for time_ms in times_ms}
    asking: dict[int, list[int]] = {}
    for time_ms, window in windows.items():
        for tick in window:
            asking.setdefault(tick, []).append(time_ms)
    best: dict[int, _Found] = {}
    for tick, frame in _frames_at(container, stream, clock, sorted(asking)):
        worth = _worth(frame) if most > 1 else 0.0
        for time_ms in asking[tick]:
            if time_ms not in best or worth > best[time_ms].worth:
                best[time_ms] = _Found(frame, worth)
            if tick == windows[time_ms][-1]:
                yield time_ms, best.pop(time_ms).frame
    yield from ((time_ms, found.frame) for time_ms, found in best.items())


def _window(clock: Clock, time_ms: int) -> list[int]:
    """Ticks of a few frames, spread from the one shown at `time_ms` to a little later."""
    times, second = clock.times, 1 / clock.time_base
    # Half a millisecond more, so that a time rounded from a frame's own finds that frame.
    first = max(0, bisect_right(times, round(time_ms * second / 1000 + second / 2000)) - 1)
    last = max(first, bisect_right(times, times[first] + round(_WINDOW_S * second)) - 1)
    return list(times[first : last + 1 : max(1, (last - first) // (_LOOKS - 1))])[:_LOOKS]


def _frames_at(
    container: InputContainer, stream: VideoStream, clock: Clock, targets: Sequence[int]
) -> Iterator[tuple[int, VideoFrame]]:
    """Each target with its frame, or the next one that can be decoded; jumps where that spares many frames."""
    frames: Iterator[VideoFrame | None] = iter(())
    at: int | None = None
    index = 0
    while index < len(targets):
        key = key_before(clock, targets[index])
        if at is None or bisect_right(clock.times, key) - bisect_right(clock.times, at) > _WORTH_A_JUMP:
            frames = frames_from(container, stream, clock, targets[index])
        frame = next((each for each in frames if each and each.pts is not None and each.pts >= targets[index]), None)
        if frame is None or frame.pts is None:
            return
        at = frame.pts
        passed = max(index + 1, bisect_right(targets, at))
        yield from ((target, frame) for target in targets[index:passed])
        index = passed


def _worth(frame: VideoFrame) -> float:
    luma = frame.to_ndarray(format="gray", width=min(320, frame.width), height=min(240, frame.height))
    mean = float(luma.mean())
    if frame.is_corrupt or mean < BLACK:
        return mean / BLACK - 1
    return float(cv2.Laplacian(luma, cv2.CV_32F).var())


def picture(frame: VideoFrame, stream: VideoStream, width: int) -> Picture:
    """The frame as it is to be shown: square pixels, upright, at most `width` wide."""
    shape = stream.sample_aspect_ratio or 1
    shown_width = max(1, round(frame.width * (shape if 0.25 < shape < 4 else 1)))
    turns = round(-frame.rotation / 90) % 4
    across = frame.height if turns % 2 else shown_width
    scale = min(1.0, width / across)
    size = max(1, round(shown_width * scale)), max(1, round(frame.height * scale))
    shown = cv2.resize(frame.to_ndarray(format="bgr24"), size, interpolation=cv2.INTER_AREA)
    rotation = (None, cv2.ROTATE_90_CLOCKWISE, cv2.ROTATE_180, cv2.ROTATE_90_COUNTERCLOCKWISE)[turns]
    return numpy.asarray(shown if rotation is None else cv2.rotate(shown, rotation), dtype=numpy.uint8)


def write(path: Path, shown: Picture) -> None:
    """Write a JPEG whole or not at all; encoded in memory, since OpenCV cannot write to every name on every system."""
    done, data = cv2.imencode(".jpg", shown, [cv2.IMWRITE_JPEG_QUALITY, _QUALITY])
    if not done:
        raise Refused("a still could not be encoded.")
    unfinished = path.with_suffix(".unfinished")
    unfinished.write_bytes(data.tobytes())
    unfinished.replace(path)
