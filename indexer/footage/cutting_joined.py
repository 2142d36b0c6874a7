"""A clip that is copied where it can be: encoded to the first key frame, copied on, encoded again where copying must end.

A picture that is decoded before the clip's end may be shown behind it, and others in the clip may refer to it. So what
is copied ends where nothing that is decoded later is shown earlier; the few pictures behind that are encoded. What is
encoded has parameter sets with an id of its own, and both sets stand in the file's record, so that no decoder has to
look for them among the pictures. Runs in a guarded process.
"""

from __future__ import annotations

import errno
from array import array
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import accumulate
from pathlib import Path
from typing import Any, NamedTuple

import av
from av.container import InputContainer
from av.packet import Packet
from av.video.codeccontext import VideoCodecContext
from av.video.stream import VideoStream

from indexer.footage import parameter_sets, sounding
from indexer.footage.clock import open_film
from indexer.footage.cutting_window import SOUGHT, Window, as_shown, film_of, find
from indexer.footage.guarded import Refused
from indexer.footage.muxing import decoding_times, write_film
from indexer.footage.parameter_sets import Sets

LEAST_COPIED = 8
"""Where fewer pictures could be copied, two joins are not worth it."""
_OF_THE_DISK = {errno.ENOSPC, errno.EFBIG, errno.EDQUOT, errno.EIO, errno.EROFS, errno.EACCES}
_PROFILES = {66: "baseline", 77: "main", 100: "high"}


class Plan(NamedTuple):
    """Which pictures of the clip are copied: a run of them, in order of decoding and of showing alike."""

    copied: array[int]
    """When each is shown, in order of decoding."""
    head: tuple[int, ...]
    tail: tuple[int, ...]


def write(
    path: Path, target: str, start_ms: int, end_ms: int, own_clock: bool, mute: Sequence[Sequence[int]]
) -> dict[str, Any]:
    """Write the clip to `target`; `mute` are stretches in milliseconds of the same clock as `start_ms`.

    Says how many pictures were copied and encoded, or `{"copied": 0}` and writes nothing where the film allows no
    copying. What the system refuses (no space left) is told as `failed`.
    """
    try:
        with open_film(path) as container, open_film(path) as heard:
            stream = film_of(container)
            stream.thread_type = "AUTO"
            sets = _sets(container, stream)
            if sets is None:
                return {"copied": 0}
            window = find(container, stream, start_ms, end_ms, own_clock=own_clock)
            plan = _plan(container, stream, window, sets)
            if plan is None:
                return {"copied": 0}
            if not as_shown(heard)[2]:
                return {"copied": 0}
            zero = 0 if own_clock else window.origin
            spans = [(_place(a, window, zero), _place(b, window, zero)) for a, b in mute]
            _write(Path(target), container, stream, heard, window, plan, sets, spans)
            return {"copied": len(plan.copied), "encoded": len(plan.head) + len(plan.tail)}
    except av.FFmpegError as error:
        if error.errno in _OF_THE_DISK:
            return {"copied": 0, "failed": error.strerror}
        raise Refused(f"it cannot be read ({error.strerror}). It is damaged, or no film.") from error


def _sets(container: InputContainer, stream: VideoStream) -> Sets | None:
    """The film's parameter sets, where it is of a kind that can be joined with what the encoder makes."""
    context = stream.codec_context
    known = container.format.name in SOUGHT and context.codec.canonical_name == "h264" and context.pix_fmt == "yuv420p"
    sets = parameter_sets.read_record(bytes(context.extradata or b"")) if known else None
    return sets if sets and sets.profile[0] in _PROFILES else None


def _place(ms: int, window: Window, zero: int) -> int:
    """A moment as a number of samples from the clip's start on."""
    from_start = Fraction(ms, 1000) - (window.first - zero) * window.time_base
    return round(from_start * sounding.RATE)


def _plan(container: InputContainer, stream: VideoStream, window: Window, sets: Sets) -> Plan | None:
    """Look through the packets around the clip for what can be copied."""
    shown: list[int] = []
    begun = False
    _go_to(container, stream, window.seek)
    for packet in container.demux(stream):
        if not packet.size or packet.is_discard or packet.pts is None:
            continue
        begun = begun or (packet.pts >= window.first and packet.is_keyframe and _fresh(packet, sets))
        if begun:
            shown.append(packet.pts)
        if packet.dts is not None and packet.dts >= window.after:
            break
    many = _clean_length(shown, window.times[-1])
    if many < LEAST_COPIED:
        return None
    copied = array("q", shown[:many])
    first, last = min(copied), max(copied)
    head = tuple(at for at in window.times if at < first)
    return Plan(copied, head, tuple(at for at in window.times if at > last))


def _go_to(container: InputContainer, stream: VideoStream, at: int) -> None:
    container.seek(max(at, stream.start_time or 0), stream=stream, backward=True)


def _fresh(packet: Packet[VideoStream], sets: Sets) -> bool:
    """Whether nothing from this picture on refers to what lies before it (an IDR picture, H.264, 3.69)."""
    kinds = {parameter_sets.kind(unit) for unit in parameter_sets.units(bytes(packet), sets.length_size)}
    return parameter_sets.IDR in kinds


def _clean_length(shown: Sequence[int], last: int) -> int:
    """How many packets, in order of decoding, can be taken so that all and only what is shown till then is there."""
    latest = list(accumulate(shown, max))
    earliest_left = [*list(accumulate(reversed(shown), min))[::-1], last + 1]
    clean = (
        many
        for many in range(len(shown), 0, -1)
        if latest[many - 1] <= last and latest[many - 1] < earliest_left[many] and min(shown[:1]) == earliest_left[0]
    )
    return next(clean, 0)


def _write(
    target: Path,
    container: InputContainer,
    stream: VideoStream,
    heard: InputContainer,
    window: Window,
    plan: Plan,
    sets: Sets,
    mute: Sequence[tuple[int, int]],
) -> None:
    length = round((window.after - window.first) * window.time_base * sounding.RATE)
    sound = None
    if heard.streams.audio and heard.streams.audio[0].codec_context is not None:
        start = window.first * window.time_base
        sound = sounding.muted(sounding.stretch(heard, start, length), mute)
    encoder = _Encoder(stream, sets, window.time_base)
    # Encoded first, so that the record is known before the file is begun; a head is one group of pictures at most.
    head = encoder.encode(_decoded(container, stream, plan.head))
    tail = encoder.encode(_decoded(container, stream, plan.tail))
    shown = [packet_at for packet_at, _, _ in head] + list(plan.copied) + [packet_at for packet_at, _, _ in tail]
    pictures = _timed(
        _chained(head, _copied(container, stream, plan), tail), shown, window.first, window.after, sorted(shown)
    )
    write_film(target, pictures, stream, time_base=window.time_base, record=encoder.record(), sound=sound)


def _chained(*runs: Any) -> Iterator[tuple[int, bytes, bool]]:
    for run in runs:
        yield from run


def _timed(
    packets: Iterator[tuple[int, bytes, bool]], shown: Sequence[int], first: int, after: int, in_order: Sequence[int]
) -> Iterator[Packet[Any]]:
    decoded = decoding_times(shown)
    for (at, data, key), when in zip(packets, decoded, strict=True):
        packet: Packet[Any] = Packet(data)
        following = bisect_right(in_order, at)
        packet.pts, packet.dts, packet.is_keyframe = at - first, when - first, key
        packet.duration = (in_order[following] if following < len(in_order) else after) - at
        yield packet


def _copied(container: InputContainer, stream: VideoStream, plan: Plan) -> Iterator[tuple[int, bytes, bool]]:
    _go_to(container, stream, plan.copied[0])
    left = len(plan.copied)
    for packet in container.demux(stream):
        if not left:
            return
        if (
            packet.size
            and not packet.is_discard
            and packet.pts is not None
            and (left < len(plan.copied) or packet.pts == plan.copied[0])
        ):
            left -= 1
            yield packet.pts, bytes(packet), packet.is_keyframe


def _decoded(container: InputContainer, stream: VideoStream, times: Sequence[int]) -> Iterator[Any]:
    """The pictures shown at `times`; one that cannot be decoded is replaced by the one before it."""
    if not times:
        return
    _go_to(container, stream, times[0])
    stream.codec_context.flush_buffers()
    wanted = set(times)
    for packet in container.demux(stream):
        try:
            frames = packet.decode()
        except av.FFmpegError:
            continue
        for frame in frames:
            if frame.pts in wanted:
                wanted.discard(frame.pts)
                yield frame
        if not wanted or (packet.dts is not None and packet.dts > times[-1] and not wanted):
            return


class _Encoder:
    """Makes pictures that fit between copied ones, with parameter sets of an id that the film does not use."""

    def __init__(self, stream: VideoStream, sets: Sets, time_base: Fraction) -> None:
        self.stream, self.sets, self.time_base = stream, sets, time_base
        self.id = max(set(range(parameter_sets.MOST_ID + 1)) - sets.ids)
        self.mine: tuple[bytes, bytes] | None = None

    def record(self) -> bytes:
        """The film's parameter sets and those of what was encoded."""
        if self.mine is None:
            return parameter_sets.write_record(self.sets)
        sequence, picture = self.mine
        level = bytes([max(self.sets.profile[2], sequence[3])])
        return parameter_sets.write_record(
            self.sets._replace(
                profile=self.sets.profile[:2] + level,
                sequence=(*self.sets.sequence, sequence),
                picture=(*self.sets.picture, picture),
            )
        )

    def encode(self, frames: Iterator[Any]) -> list[tuple[int, bytes, bool]]:
        """When each is shown, its bytes as the film's are written, and whether it is a key frame."""
        encoder: VideoCodecContext | None = None
        made: list[tuple[int, bytes, bool]] = []
        for frame in frames:
            encoder = encoder or self._open()
            frame.pict_type = 0
            made += self._taken(encoder.encode(frame))
        return made + (self._taken(encoder.encode(None)) if encoder else [])

    def _open(self) -> VideoCodecContext:
        theirs = self.stream.codec_context
        encoder: Any = VideoCodecContext.create("libx264", "w")
        encoder.width, encoder.height, encoder.pix_fmt = theirs.width, theirs.height, "yuv420p"
        encoder.time_base, encoder.gop_size, encoder.max_b_frames = self.time_base, 100_000, 0
        encoder.framerate = self.stream.average_rate or 25
        encoder.sample_aspect_ratio = theirs.sample_aspect_ratio or Fraction(1)
        for name in ("color_primaries", "color_trc", "colorspace", "color_range"):
            setattr(encoder, name, getattr(theirs, name))
        encoder.options = {
            "preset": "veryfast",
            "crf": "17",
            "profile": _PROFILES[self.sets.profile[0]],
            "x264-params": f"sps-id={self.id}:bframes=0:scenecut=0:repeat-headers=1:annexb=1",
        }
        return encoder  # type: ignore[no-any-return]

    def _taken(self, packets: Sequence[Packet[Any]]) -> list[tuple[int, bytes, bool]]:
        return [(packet.pts or 0, self._as_written(bytes(packet)), packet.is_keyframe) for packet in packets]

    def _as_written(self, data: bytes) -> bytes:
        """The units behind their lengths; parameter sets go to the record, and what is no picture is left out."""
        kept = []
        for unit in _started(data):
            what = parameter_sets.kind(unit)
            if what == parameter_sets.SEQUENCE:
                self.mine = (unit, self.mine[1] if self.mine else b"")
            elif what == parameter_sets.PICTURE:
                self.mine = (self.mine[0] if self.mine else b"", unit)
            elif what not in (parameter_sets.SEI, parameter_sets.DELIMITER):
                kept.append(len(unit).to_bytes(self.sets.length_size) + unit)
        return b"".join(kept)


def _started(data: bytes) -> Iterator[bytes]:
    """The units of a picture of a byte stream, each behind a start code (H.264, annex B)."""
    for unit in data.split(b"\0\0\1")[1:]:
        yield unit.rstrip(b"\0")
