"""Decoding from a place in a film: to the key frame before it, and on from there."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator

import av
from av.container import InputContainer
from av.video.frame import VideoFrame
from av.video.stream import VideoStream

from indexer.footage.clock import Clock

# These are sought by when packets are decoded, which is earlier than when they are shown, and not by key frames.
_SOUGHT_BY_DECODING = {"mpegts", "mpeg"}


def key_before(clock: Clock, target: int) -> int:
    """Ticks of the last key frame that is shown at `target` or before."""
    place = bisect_right(clock.keys, target)
    return clock.keys[place - 1] if place else clock.times[0]


def frames_from(
    container: InputContainer, stream: VideoStream, clock: Clock, target: int
) -> Iterator[VideoFrame | None]:
    """Frames from the key frame before `target` on, or from one before that; None for what could not be decoded.

    Raises av.FFmpegError where the film cannot be sought or read on.
    """
    early = round(1 / clock.time_base) if container.format.name in _SOUGHT_BY_DECODING else 0
    container.seek(key_before(clock, target) - early, stream=stream, backward=True)
    begun = not clock.keys
    for packet in container.demux(stream):
        begun = begun or packet.is_keyframe
        if not begun:
            continue
        try:
            yield from packet.decode()
        except av.FFmpegError:
            yield None
