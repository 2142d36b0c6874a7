"""The clock of a film, read from its packets without decoding: when each frame is shown, and which are key frames."""

from __future__ import annotations

import statistics
from array import array
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

import av
from av.container import InputContainer
from av.packet import Packet
from av.video.stream import VideoStream

from indexer.footage.ffmpeg import GUARDS, file_address
from indexer.footage.guarded import Refused

MOST_FRAMES = 24 * 3600 * 120
"""A day at 120 frames a second; more is taken for damage."""


class Clock(NamedTuple):
    """Presentation times of a film's frames, in ticks of `time_base` seconds, in order of showing."""

    time_base: Fraction
    times: array[int]
    keys: array[int]
    last_length: int
    """How long the last frame is shown, in ticks."""
    damaged: int
    """Packets that the container itself calls damaged."""
    encrypted: bool
    jumps: tuple[int, ...] = ()
    """Where the clock went back by more than a second, as it does where recordings were strung together."""
    broke_off: bool = False
    """Whether reading ended with an error instead of the end of the file."""

    @property
    def constant(self) -> bool:
        """Whether all frames are shown for the same time."""
        return _even(self.times, self.time_base)

    @property
    def length(self) -> int:
        """From the first frame to the end of the last, in ticks."""
        return self.times[-1] + self.last_length - self.times[0] if self.times else 0

    def ms(self, ticks: int) -> int:
        """Ticks as milliseconds, rounded once."""
        return round(ticks * self.time_base * 1000)


def open_film(path: Path) -> InputContainer:
    """Open a film for reading: from the disk only, as one of the known containers. Raises av.FFmpegError."""
    return av.open(file_address(path), options=dict(GUARDS))


def film_stream(container: InputContainer) -> VideoStream | None:
    """The first stream of moving pictures, or None; a cover picture is no film."""
    for stream in container.streams.video:
        if not stream.disposition & av.stream.Disposition.attached_pic:
            return stream
    return None


def read_clock(container: InputContainer, stream: VideoStream) -> Clock:
    """Read every packet of the film. Raises Refused where there are more frames than any recording has."""
    reading = _Reading(stream, by_order=container.format.name == "avi")
    broke_off = False
    try:
        for packet in container.demux(stream):
            # A packet without bytes ends the stream; one to be discarded is decoded but never shown.
            if packet.size and not packet.is_discard:
                reading.take(packet)
    except av.FFmpegError:
        broke_off = True
    return reading.clock(broke_off)


class _Reading:
    """What is gathered while the packets of a film go by."""

    def __init__(self, stream: VideoStream, *, by_order: bool) -> None:
        # AVI has an even order of decoding and no times of showing; what the library guesses of them is not even.
        self.stream, self.by_order = stream, by_order
        self.time_base = stream.time_base or Fraction(1, 1000)
        self.times, self.keys, self.lengths = array("q"), array("q"), array("q")
        self.untimed = self.damaged = 0
        self.encrypted = False
        self.decoded_at: int | None = None
        self.jumps: list[int] = []

    def take(self, packet: Packet[VideoStream]) -> None:
        self.damaged += packet.is_corrupt
        time = packet.dts if self.by_order or packet.pts is None else packet.pts
        if time is None:
            self.untimed += 1
            return
        self.times.append(time)
        self.lengths.append(packet.duration or 0)
        if packet.is_keyframe:
            self.keys.append(time)
            self.encrypted |= packet.has_sidedata("encryption_info")
        self._watch_order(packet.dts)
        if len(self.times) > MOST_FRAMES:
            raise Refused(f"it has more than {MOST_FRAMES:,} frames, more than any recording. It is damaged.")

    def _watch_order(self, dts: int | None) -> None:
        if dts is None:
            return
        if self.decoded_at is not None and (dts - self.decoded_at) * self.time_base < -1:
            self.jumps.append(self.decoded_at)
        self.decoded_at = dts

    def clock(self, broke_off: bool) -> Clock:
        times, keys, lengths = self.times, self.keys, self.lengths
        if self.untimed > len(times):
            times, keys, lengths = _made_up(self.untimed + len(times), self.stream, self.time_base)
        said = lengths[max(range(len(times)), key=times.__getitem__)] if times else 0
        # What is shown before the first key frame, where a stream was cut anywhere, can be decoded by nobody.
        founded = keys[0] if keys and not self.jumps else min(times, default=0)
        times, keys = array("q", sorted(time for time in times if time >= founded)), array("q", sorted(keys))
        length = _last_length(times, said, self.stream, self.time_base)
        return Clock(self.time_base, times, keys, length, self.damaged, self.encrypted, tuple(self.jumps), broke_off)


def _made_up(frames: int, stream: VideoStream, time_base: Fraction) -> tuple[array[int], array[int], array[int]]:
    """Times for a film that carries none: evenly by the rate that its stream declares."""
    tick = Fraction(1) / (_declared_rate(stream) * time_base)
    times = array("q", (round(index * tick) for index in range(frames)))
    return times, array("q", times[:1]), array("q", bytes(8 * frames))


def _last_length(times: array[int], said: int, stream: VideoStream, time_base: Fraction) -> int:
    """How long the last frame is shown: as long as all, or as its packet says where that is not far from the usual."""
    if len(times) < 2:
        return said or round(1 / (_declared_rate(stream) * time_base))
    if _even(times, time_base):
        return round(Fraction(times[-1] - times[0], len(times) - 1))
    usual = round(statistics.median(later - earlier for earlier, later in pairwise(times)))
    return said if 0 < said <= 4 * max(usual, 1) else usual


def _even(times: array[int], time_base: Fraction) -> bool:
    # Matroska rounds to a millisecond, so that two neighbours may be off by one each.
    slack = int(Fraction(2, 1000) / time_base)
    mean = (times[-1] - times[0]) / max(len(times) - 1, 1)
    return all(abs(later - earlier - mean) <= slack + 0.5 for earlier, later in pairwise(times))


def _declared_rate(stream: VideoStream) -> Fraction:
    rate = stream.guessed_rate
    return rate if rate and 1 <= rate <= 1000 else Fraction(25)
