"""A few frames of a film decoded at its start, middle and end: whether there is a picture at all, and what kind."""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import NamedTuple

import av
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from indexer.footage.clock import Clock
from indexer.footage.reel import frames_from

_PLACES = (0.0, 0.5, 1.0)
_FRAMES_AT_A_PLACE = 6
_TRIES_AT_A_PLACE = 400
_SECONDS_AT_A_PLACE = 12.0


class Look(NamedTuple):
    """What one decoded frame is."""

    width: int
    height: int
    pixel_format: str
    interlaced: bool
    clockwise: int
    """Degrees that a player has to turn the picture: 0, 90, 180 or 270."""


class Place(NamedTuple):
    """What came out at one place of the film."""

    at: int
    """Where, in ticks of the clock."""
    looks: tuple[Look, ...]
    faults: int
    """Frames that were damaged, or that could not be decoded."""


def sample(container: InputContainer, stream: VideoStream, clock: Clock) -> list[Place]:
    """Decode a few frames near the start, the middle and the end of the film; bounded in frames and in seconds."""
    last = len(clock.times) - 1
    return [_sample_at(container, stream, clock, clock.times[round(part * last)]) for part in _PLACES]


def _sample_at(container: InputContainer, stream: VideoStream, clock: Clock, at: int) -> Place:
    looks: list[Look] = []
    faults = 0
    for frame in _a_few_from(container, stream, clock, at):
        if frame is None or frame.is_corrupt:
            faults += 1
        if frame is not None:
            looks.append(_look(frame))
        if len(looks) >= _FRAMES_AT_A_PLACE:
            break
    return Place(at, tuple(looks), faults)


def _a_few_from(container: InputContainer, stream: VideoStream, clock: Clock, at: int) -> Iterator[VideoFrame | None]:
    until = time.monotonic() + _SECONDS_AT_A_PLACE
    try:
        for count, frame in enumerate(frames_from(container, stream, clock, at)):
            yield frame
            if count > _TRIES_AT_A_PLACE or time.monotonic() > until:
                return
    except av.FFmpegError:
        yield None


def _look(frame: VideoFrame) -> Look:
    # The library counts counter-clockwise.
    clockwise = round(-frame.rotation / 90) % 4 * 90
    return Look(frame.width, frame.height, frame.format.name, bool(frame.interlaced_frame), clockwise)
