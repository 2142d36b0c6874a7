"""A clip that is wholly encoded anew, of one file or across several, with regions covered and stretches silent."""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from itertools import groupby
from pathlib import Path
from typing import Any, NamedTuple

from indexer.config import Settings
from indexer.footage import ffmpeg, graph_pictures
from indexer.footage.graph_pictures import TICKS_A_SECOND
from indexer.models.covered import Covered
from indexer.models.footage import Probe
from indexer.timespan import Span

_SLOWEST = 30
_LEAD_S = 2.0
"""So long before its first frame a file is read, for what needs pictures before it and for coarse seeking."""
_MUTING_S = 0.01


class Piece(NamedTuple):
    """What of one file is in the clip."""

    path: Path
    probe: Probe | None
    """None: a film that plays as it is."""
    size: tuple[int, int]
    rate: float
    with_sound: bool
    seeks: bool
    """Whether reading can begin in the middle."""
    before: Fraction | None
    """When the frame in front is shown, in seconds of the file's clock."""
    times: tuple[Fraction, ...]
    """When each frame is shown, in seconds of the file's clock."""
    after: Fraction
    moved: Fraction
    """Added to a time of the file's clock, this gives a time of the recording."""

    @classmethod
    def of(cls, path: Path, probe: Probe | None, begins_ms: int, found: Mapping[str, Any], *, own_clock: bool) -> Piece:
        """From what the guarded process found."""
        base = Fraction(*found["base"])
        return cls(
            path=path,
            probe=probe,
            size=(probe.width, probe.height) if probe else (found["size"][0], found["size"][1]),
            rate=probe.frame_rate if probe else found["rate"],
            with_sound=found["sound"],
            seeks=found["seeks"],
            before=None if found["before"] is None else found["before"] * base,
            times=tuple(at * base for at in found["times"]),
            after=found["after"] * base,
            moved=Fraction(begins_ms, 1000) - (0 if own_clock else found["origin"] * base),
        )

    @property
    def length_s(self) -> float:
        """Seconds from the first frame to the end of the last."""
        return float(self.after - self.times[0])

    @property
    def opens(self) -> float:
        """A moment before the first frame and behind the one in front, in seconds of the file's clock."""
        following = self.times[1] if len(self.times) > 1 else self.after
        before = self.before if self.before is not None else 2 * self.times[0] - following
        return float((before + self.times[0]) / 2)

    @property
    def closes(self) -> float:
        """A moment behind the last frame and before the next."""
        return float((self.times[-1] + self.after) / 2)


def run(film: Any, length_s: float, settings: Settings, progress: Callable[[float], None]) -> None:
    """Make what was described. Raises ToolFailed."""
    timeout_s = settings.probe_seconds + _SLOWEST * length_s
    ffmpeg.run(film, timeout_s=timeout_s, settings=settings, length_s=length_s, progress=progress)


def describe(
    pieces: Sequence[Piece],
    target: Path,
    cover: Sequence[Covered],
    mute: Sequence[Span],
    size: tuple[int, int] | None,
    *,
    silent: bool,
) -> Any:
    """The whole work as one graph: every picture that is wanted by its time, nothing else carried along."""
    import ffmpeg as graph

    sizes = [piece.size for piece in pieces]
    width, height = graph_pictures.even_size(*max(sizes, key=lambda each: each[0] * each[1]))
    zero = pieces[0].times[0] + pieces[0].moved
    with_sound = not silent and any(piece.with_sound for piece in pieces)
    pictures, sounds = [], []
    for number, piece in enumerate(pieces):
        source = graph.input(ffmpeg.file_address(piece.path), **ffmpeg.GUARDS, **_place(piece))
        pictures.append(_pictures(source, piece, zero, width, height))
        if with_sound:
            heard = source if piece.with_sound else None
            sounds.append(graph_pictures.sound(graph, heard, number, float(piece.times[0]), piece.length_s))
    film = _covered(graph_pictures.merged(graph, pictures), pieces, cover, zero, (width, height))
    outputs = [_fitted(film, (width, height), size)]
    if with_sound:
        outputs.append(_muted(graph.concat(*sounds, v=0, a=1) if len(sounds) > 1 else sounds[0], mute, zero))
    encoding = {**_encoding(pieces), **(graph_pictures.SOUND | {"flags:a": "+bitexact"} if with_sound else {})}
    written = graph.output(*outputs, ffmpeg.file_address(target), **encoding, **graph_pictures.WRITING)
    return written.global_args("-copyts")


def _place(piece: Piece) -> dict[str, Any]:
    """Where reading begins, by the file's own clock."""
    if not piece.seeks or piece.times[0] <= _LEAD_S:
        return {}
    return {"ss": f"{float(piece.times[0]) - _LEAD_S:.6f}", "seek_timestamp": 1, "noaccurate_seek": None}


def _pictures(source: Any, piece: Piece, zero: Fraction, width: int, height: int) -> Any:
    moved = round((piece.moved - zero) * TICKS_A_SECOND)
    stream = source["V:0"]
    stream = stream.filter("trim", start=f"{piece.opens - _LEAD_S:.6f}", end=f"{piece.closes:.6f}")
    stream = graph_pictures.upright(stream, piece.probe, width, height)
    # Only now, so that what is made of several pictures has those in front as well.
    stream = stream.filter("trim", start=f"{piece.opens:.6f}")
    return stream.filter("setpts", f"PTS+({moved})")


def _covered(
    film: Any, pieces: Sequence[Piece], cover: Sequence[Covered], zero: Fraction, size: tuple[int, int]
) -> Any:
    """Black over each region while a frame is shown in one of its spans."""
    times = [at + piece.moved for piece in pieces for at in piece.times]
    end = pieces[-1].after + pieces[-1].moved
    place = lambda each: (each.left, each.top, each.width, each.height)  # noqa: E731
    for region, spans in groupby(sorted(cover, key=place), key=place):
        shown = [between for each in spans if (between := _shown(times, end, zero, each.start_ms, each.end_ms))]
        if shown:
            x, y, width, height = _box(*region, size)
            enable = "+".join(f"between(t,{begin:.6f},{stop:.6f})" for begin, stop in shown)
            film = film.filter("drawbox", x=x, y=y, w=width, h=height, color="black", t="fill", enable=enable)
    return film


def _shown(
    times: Sequence[Fraction], end: Fraction, zero: Fraction, start_ms: int, end_ms: int
) -> tuple[float, float] | None:
    """Moments around the frames that are shown for any part of a span, in seconds of the clip."""
    first = max(0, bisect_right(times, Fraction(start_ms, 1000)) - 1)
    behind = bisect_left(times, Fraction(end_ms, 1000))
    if behind <= first or Fraction(start_ms, 1000) >= end:
        return None
    opens = times[first] - (times[first] - times[first - 1]) / 2 if first else times[0] - 1
    closes = (times[behind - 1] + (times[behind] if behind < len(times) else end + 1)) / 2
    return float(opens - zero), float(closes - zero)


def _box(left: float, top: float, width: float, height: float, size: tuple[int, int]) -> tuple[int, int, int, int]:
    """The region in pixels, widened to whole pairs, since colour is kept for two by two pixels."""
    x, y = 2 * math.floor(left * size[0] / 2), 2 * math.floor(top * size[1] / 2)
    right = min(size[0], 2 * math.ceil((left + width) * size[0] / 2))
    bottom = min(size[1], 2 * math.ceil((top + height) * size[1] / 2))
    return x, y, right - x, bottom - y


def _fitted(film: Any, size: tuple[int, int], box: tuple[int, int] | None) -> Any:
    if box is None or (size[0] <= box[0] and size[1] <= box[1]):
        return film
    share = min(box[0] / size[0], box[1] / size[1])
    width, height = (max(16, 2 * round(side * share / 2)) for side in size)
    return film.filter("scale", w=width, h=height).filter("setsar", "1")


def _muted(sound: Any, mute: Sequence[Span], zero: Fraction) -> Any:
    """Silence in each span; it may begin a hundredth of a second early, never late."""
    if not mute:
        return sound
    spans = [(each.start_ms / 1000 - float(zero), each.end_ms / 1000 - float(zero)) for each in mute]
    enable = "+".join(f"between(t,{begin - _MUTING_S:.6f},{end:.6f})" for begin, end in spans)
    samples = round(_MUTING_S * graph_pictures.SAMPLES_A_SECOND)
    return sound.filter("asetnsamples", n=samples, p=0).filter("volume", volume=0, enable=enable)


def _encoding(pieces: Sequence[Piece]) -> dict[str, Any]:
    rate = max(piece.rate for piece in pieces)
    last = round((pieces[-1].after - pieces[-1].times[-1]) * TICKS_A_SECOND)
    return {
        "vcodec": "libx264",
        "preset": "veryfast",
        "crf": 20,
        "x264-params": f"fps={max(1, round(rate * 1000))}/1000",
        "a53cc": 0,
        "pix_fmt": "yuv420p",
        "fps_mode": "passthrough",
        "enc_time_base": f"1/{TICKS_A_SECOND}",
        "video_track_timescale": TICKS_A_SECOND,
        # What is no picture (unit type 6 holds free text, the encoder's name and settings among it) is taken out.
        "bsf:v": f"filter_units=remove_types=6,setts=pts=PTS:dts=DTS:duration={last}",
        "force_key_frames": "expr:gte(t,n_forced)",
        "flags:v": "+bitexact",
        # Otherwise the encoder names itself here; ISO/IEC 14496-15, 5.4.2.1, recommends this name.
        "metadata:s:v:0": "encoder=AVC Coding",
        "fflags": "+bitexact",
    }
