"""What is done inside the guarded process to find out what a film is."""

from __future__ import annotations

import hashlib
import struct
import threading
from collections import Counter
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import av
from av.container import InputContainer
from av.video.stream import VideoStream

from indexer.footage.clock import Clock, film_stream, open_film, read_clock
from indexer.footage.guarded import Refused
from indexer.footage.probing import ends_early
from indexer.footage.sampling import Look, Place, sample
from indexer.timespan import clock as as_clock

WIDEST_PX = 16384
MOST_PIXELS = 64_000_000
NARROWEST_PX = 16
LONGEST_MS = 24 * 3600 * 1000
_CLAIMING = {"mp4", "mov", "matroska", "webm", "avi", "asf", "flv", "mxf"}


def look(path: Path) -> dict[str, Any]:
    """The fields of a Probe, read from the file; raises Refused with the reason where it is no usable film."""
    hashing = _Hashing(path)
    hashing.start()
    try:
        with open_film(path) as container:
            found = _look_into(path, container)
    except av.FFmpegError as error:
        raise Refused(_why_not_opened(path, error)) from error
    hashing.join()
    if hashing.error is not None:
        raise Refused(f"it cannot be read to its end ({hashing.error.strerror}). Copy it again from where it came.")
    return {**found, "content_hash": hashing.digest.hexdigest(), "size_bytes": hashing.size}


class _Hashing(threading.Thread):
    """SHA-256 of a file beside the reading of its packets: what one reads from the disk, the other finds in memory."""

    def __init__(self, path: Path) -> None:
        super().__init__(daemon=True)
        self.path, self.digest, self.size = path, hashlib.sha256(), 0
        self.error: OSError | None = None

    def run(self) -> None:
        try:
            with self.path.open("rb") as file:
                while block := file.read(1 << 20):
                    self.digest.update(block)
                    self.size += len(block)
        except OSError as error:
            self.error = error


def _look_into(path: Path, container: InputContainer) -> dict[str, Any]:
    stream = film_stream(container)
    if stream is None:
        raise Refused(_without_film(container))
    if stream.codec_context is None:
        raise Refused("its head is damaged, or its pictures are of a kind that cannot be decoded here.")
    _refuse_size(stream.codec_context.width, stream.codec_context.height)
    clock = read_clock(container, stream)
    _refuse_clock(clock)
    places = sample(container, stream, clock)
    looks = [look for place in places for look in place.looks]
    if not looks:
        raise Refused("none of its pictures can be decoded: it is damaged or encrypted. Copy it again.")
    kind = _container_kind(path, container)
    claimed = _claimed_ms(container, stream, clock) if kind in _CLAIMING else None
    return {
        "container": kind,
        "codec": stream.codec_context.codec.canonical_name,
        "claimed_ms": claimed,
        "audio_codec": _sound(container),
        **_picture(looks, stream),
        **_rhythm(clock),
        "remarks": _remarks(clock, places, claimed),
    }


def _sound(container: InputContainer) -> str | None:
    """The codec of the first sound that can be decoded."""
    if not container.streams.audio:
        return None
    context = container.streams.audio[0].codec_context
    return context.codec.canonical_name if context is not None else None


def _without_film(container: InputContainer) -> str:
    if container.streams.audio:
        return "it holds sound but no moving picture. Add it as a narration beside its film, not as a film."
    return "there is no moving picture in it."


def _refuse_size(width: int, height: int) -> None:
    if not width or not height:
        raise Refused("it says nothing of the size of its picture: it is damaged or cut off.")
    if max(width, height) > WIDEST_PX or width * height > MOST_PIXELS:
        raise Refused(f"its picture is said to be {width} x {height} pixels, which no recorder makes. It is damaged.")
    if min(width, height) < NARROWEST_PX:
        raise Refused(f"its picture is only {width} x {height} pixels: nothing can be seen in it.")


def _refuse_clock(clock: Clock) -> None:
    if not clock.times:
        raise Refused("there is no picture in it: only the head of a film. Copy it again from the recorder.")
    if len(clock.times) == 1:
        raise Refused("it has a single picture: a photograph, not a film.")
    if clock.encrypted:
        raise Refused("it is encrypted. Export it from the recorder without protection.")
    length_ms = clock.ms(clock.length)
    if length_ms > LONGEST_MS:
        raise Refused(f"by its own clock it runs for {length_ms / 3_600_000:,.0f} hours. Its times are damaged.")
    if length_ms <= 0:
        raise Refused("all its pictures carry the same time. Its times are damaged.")


def _picture(looks: list[Look], stream: VideoStream) -> dict[str, Any]:
    """What the picture is, by what most of the decoded frames say."""
    width, height, pixel_format = Counter(look[:3] for look in looks).most_common(1)[0][0]
    _refuse_size(width, height)
    clockwise = Counter(look.clockwise for look in looks).most_common(1)[0][0]
    shown = round(width * _pixel_shape(stream)), height
    return {
        "pixel_format": pixel_format,
        "width": shown[clockwise in (90, 270)],
        "height": shown[clockwise in (0, 180)],
        "square_pixels": _pixel_shape(stream) == 1,
        "rotation": clockwise,
        "interlaced": 2 * sum(look.interlaced for look in looks) > len(looks),
    }


def _pixel_shape(stream: VideoStream) -> Fraction:
    """Width of a pixel by its height; what is far from any shape in use counts as square."""
    shape = stream.sample_aspect_ratio
    return shape if shape and Fraction(1, 4) < shape < 4 else Fraction(1)


def _rhythm(clock: Clock) -> dict[str, Any]:
    end = clock.times[-1] + clock.last_length
    keys = [*clock.keys, end] if clock.keys else [clock.times[0], end]
    gap = max(later - earlier for earlier, later in pairwise(keys))
    return {
        "first_ms": clock.ms(clock.times[0]),
        "last_frame_ms": max(1, clock.ms(clock.last_length)),
        "duration_ms": clock.ms(clock.length),
        "frames": len(clock.times),
        "frame_rate": float(len(clock.times) / (clock.length * clock.time_base)),
        "constant_rate": clock.constant,
        "key_frame_gap_ms": clock.ms(gap),
    }


def _claimed_ms(container: InputContainer, stream: VideoStream, clock: Clock) -> int | None:
    """Length of the film by its head; where only its end is given, from its first frame on."""
    if stream.duration is not None and stream.time_base is not None:
        return round(stream.duration * stream.time_base * 1000)
    if container.duration is None:
        return None
    return max(0, round(container.duration / 1000) - max(0, clock.ms(clock.times[0])))


def _remarks(clock: Clock, places: list[Place], claimed_ms: int | None) -> list[str]:
    remarks = []
    length_ms = clock.ms(clock.length)
    if claimed_ms is not None and ends_early(length_ms, claimed_ms):
        remarks.append(
            f"The film ends at {as_clock(length_ms)}, but its head says {as_clock(claimed_ms)}. The rest is missing."
        )
    elif claimed_ms is not None and ends_early(claimed_ms, length_ms):
        remarks.append(f"By its clock it runs for {as_clock(length_ms)}, but its head says {as_clock(claimed_ms)}.")
    elif clock.broke_off:
        remarks.append(f"Reading breaks off at {as_clock(length_ms)}: the rest is damaged. What is there is used.")
    if clock.jumps:
        where = ", ".join(as_clock(clock.ms(jump - clock.times[0])) for jump in clock.jumps[:3])
        remarks.append(f"Its clock goes back at {where}: times behind that may be wrong.")
    if clock.damaged or any(place.faults for place in places):
        where = ", ".join(as_clock(clock.ms(place.at - clock.times[0])) for place in places if place.faults)
        remarks.append(f"Some pictures are damaged{f' (near {where})' if where else ''}.")
    return remarks


def _container_kind(path: Path, container: InputContainer) -> str:
    """One short name for the container, from its own bytes."""
    name = container.format.name
    with path.open("rb") as file:
        head = file.read(64)
    if name.startswith("mov"):
        return "mov" if container.metadata.get("major_brand", "qt  ") == "qt  " else "mp4"
    if name.startswith("matroska"):
        return "webm" if b"webm" in head else "matroska"
    return name.partition(",")[0]


def _why_not_opened(path: Path, error: av.FFmpegError) -> str:
    if isinstance(error, av.MemoryError):
        raise MemoryError from error
    boxes = _boxes(path)
    if "ftyp" in boxes and "moov" not in boxes:
        return "its index is missing: the recording was cut off before it was finished. Copy it again."
    if boxes:
        return "its index is damaged, so that no picture in it can be found. Copy it again from the recorder."
    return "it is not a film of a kind that is known here (MP4, MOV, MKV, WebM, AVI, MPEG-TS, M2TS and the like)."


def _boxes(path: Path) -> list[str]:
    """The kinds of the outermost boxes of an MP4 or MOV file, empty for any other file."""
    kinds: list[str] = []
    size, place = path.stat().st_size, 0
    with path.open("rb") as file:
        while place + 8 <= size and len(kinds) < 1000:
            file.seek(place)
            length, kind = struct.unpack(">I4s", file.read(8))
            if length == 1 and place + 16 <= size:
                (length,) = struct.unpack(">Q", file.read(8))
            if not kinds and kind not in {b"ftyp", b"moov", b"wide", b"mdat", b"free", b"skip"}:
                return []
            kinds.append(kind.decode("latin-1"))
            if length < 8:
                break
            place += length
    return kinds
