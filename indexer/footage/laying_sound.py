"""A narration that was recorded apart, laid onto its film: where it belongs, by what both have heard."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path
from typing import Any, NamedTuple

import numpy
from numpy.typing import NDArray

from indexer.config import Settings
from indexer.errors import BadInput, ToolFailed

_RATE = 8_000
_STEP = 80
"""Samples of one step of the envelope: ten milliseconds."""
_STEP_MS = 1000 * _STEP // _RATE
_LEAST_OVERLAP_S = 5.0
_APART_MS = 400
"""Places nearer to the best one than this are the same place."""
_LONGEST_MS = 12 * 3600 * 1000


class Laid(NamedTuple):
    """Where a narration belongs."""

    offset_ms: int
    """When it begins, by the film's clock; below zero where it begins before the film."""
    confidence: float
    """0 to 1: how far this place stands out from every other. Below `SURE` a person has to lay it by hand."""


SURE = 0.5


def place(film: Path, narration: Path, settings: Settings) -> Laid:
    """Find when `narration` begins in `film` by what both have recorded, in a guarded process.

    Raises RecordingUnreadable where either has no sound that can be read, BadInput where the two are too short.
    """
    from indexer.footage import guarded

    size = film.stat().st_size + narration.stat().st_size if film.exists() and narration.exists() else 0
    found = guarded.work_on(
        film,
        "indexer.footage.laying_sound:compare",
        {"narration": str(narration)},
        seconds=settings.probe_seconds * 4 + size / 1_000_000,
        memory_mb=settings.probe_memory_mb,
    )
    if found is None:
        raise BadInput(f"{narration} and {film} have too little sound to be compared. Lay it by hand.")
    return Laid(*found)


def compare(path: Path, narration: str) -> list[float] | None:
    """The place of one file's sound in another's; the task of a guarded process."""
    film, voice = (onsets(_samples(each)) for each in (path, Path(narration)))
    laid = offset(film, voice)
    return None if laid is None else [laid.offset_ms, laid.confidence]


def _samples(path: Path) -> Iterable[NDArray[numpy.float32]]:
    import av

    from indexer.footage.clock import open_film
    from indexer.footage.guarded import Refused
    from indexer.footage.sounding import stretch

    try:
        with open_film(path) as container:
            if not container.streams.audio or container.streams.audio[0].codec_context is None:
                raise Refused(f"{path.name} has no sound.")
            length_ms = min(_LONGEST_MS, (container.duration or 0) // 1000)
            yield from stretch(container, Fraction(0), length_ms * _RATE // 1000, rate=_RATE)
    except av.FFmpegError as error:
        raise Refused(f"the sound of {path.name} cannot be read ({error.strerror}).") from error


def onsets(blocks: Iterable[NDArray[numpy.float32]]) -> NDArray[numpy.float64]:
    """How much louder each ten milliseconds are than those before, in decibels, never below zero.

    Rooms, distances and microphones change how loud a voice is, and hardly when its syllables begin.
    """
    kept = [block.mean(axis=0) for block in blocks]
    samples = numpy.concatenate(kept) if kept else numpy.zeros(0, numpy.float32)
    steps = samples[: len(samples) // _STEP * _STEP].reshape(-1, _STEP).astype(numpy.float64)
    loud = 10 * numpy.log10((steps**2).mean(axis=1) + 1e-8)
    if len(loud) < 3:
        return numpy.zeros(len(loud))
    smooth = numpy.convolve(numpy.pad(loud, 1, mode="edge"), numpy.ones(3) / 3, mode="valid")
    return numpy.maximum(0.0, numpy.diff(smooth, prepend=smooth[:1]))


def offset(film: NDArray[numpy.float64], voice: NDArray[numpy.float64]) -> Laid | None:
    """Where `voice` lies in `film`, both as `onsets`; None where there is too little of either.

    The correlation of both, for each place divided by what of them overlaps there. How sure: how far the best place
    stands above the spread of all others, and above the second best.
    """
    least = int(_LEAST_OVERLAP_S * 1000 / _STEP_MS)
    if min(len(film), len(voice)) < least or not film.any() or not voice.any():
        return None
    size = 1 << (len(film) + len(voice) - 1).bit_length()
    one, other = film - film.mean(), voice - voice.mean()
    lags = numpy.arange(-(len(voice) - 1), len(film))
    together = _crossed(one, other, size)[lags % size]
    power = _crossed(one**2, numpy.ones(len(voice)), size)[lags % size]
    other_power = _crossed(numpy.ones(len(film)), other**2, size)[lags % size]
    overlap = numpy.minimum(len(film), lags + len(voice)) - numpy.maximum(0, lags)
    scores = numpy.where(overlap >= least, together / numpy.sqrt(numpy.maximum(power * other_power, 1e-9)), 0.0)
    # A short overlap correlates well by chance.
    scores = scores * numpy.sqrt(overlap / overlap.max())
    best = int(scores.argmax())
    near = numpy.abs(lags - lags[best]) * _STEP_MS < _APART_MS
    second, spread = float(scores[~near].max(initial=0.0)), float(scores[~near].std() or 1.0)
    stands_out = (float(scores[best]) - second) / spread
    return Laid(round((lags[best] + _between(scores, best)) * _STEP_MS), round(1 - 2 ** -max(0.0, stands_out / 3), 3))


def _crossed(one: NDArray[numpy.float64], other: NDArray[numpy.float64], size: int) -> NDArray[numpy.float64]:
    """The sum over t of one[t + lag] x other[t], at index lag modulo `size`."""
    spectrum = numpy.fft.rfft(one, size) * numpy.conj(numpy.fft.rfft(other, size))
    crossed: NDArray[numpy.float64] = numpy.fft.irfft(spectrum, size)
    return crossed


def _between(scores: NDArray[numpy.float64], best: int) -> float:
    """How far the top of a parabola through the best place and its neighbours is off it, in steps."""
    if not 0 < best < len(scores) - 1:
        return 0.0
    before, at, after = (float(each) for each in scores[best - 1 : best + 2])
    bend = before - 2 * at + after
    return 0.5 * (before - after) / bend if bend else 0.0


def put_on(film: Path, narration: Path, offset_ms: int, target: Path, settings: Settings) -> None:
    """Write `film` with `narration` as its sound, begun at `offset_ms`, to `target`; the pictures are copied.

    `film` is one that plays (H.264 in MP4). Raises BadInput for another, RecordingUnreadable, ToolFailed.
    """
    from indexer.footage import guarded
    from indexer.footage.appearing import appearing

    with appearing(target) as unfinished:
        made = guarded.work_on(
            film,
            "indexer.footage.laying_sound:copy_with",
            {"narration": str(narration), "offset_ms": offset_ms, "target": str(unfinished)},
            seconds=settings.probe_seconds * 4 + film.stat().st_size / 1_000_000,
            memory_mb=settings.probe_memory_mb,
        )
        if made == "kind":
            raise BadInput(f"{film} is not a film that plays (H.264 in MP4). Add it first, and take its playable copy.")
        if made:
            raise ToolFailed("laying the sound", made)


def copy_with(path: Path, narration: str, offset_ms: int, target: str) -> str:
    """Copy the pictures and encode the narration; why not, or nothing. The task of a guarded process."""
    import errno

    import av

    from indexer.footage import sounding
    from indexer.footage.clock import open_film, read_clock
    from indexer.footage.cutting_window import film_of
    from indexer.footage.guarded import Refused
    from indexer.footage.muxing import write_film

    try:
        with open_film(path) as film, open_film(path) as again, open_film(Path(narration)) as voice:
            stream = film_of(film)
            if stream.codec_context.codec.canonical_name != "h264" or "mp4" not in film.format.name:
                return "kind"
            clock = read_clock(again, film_of(again))
            length = int((clock.times[-1] + clock.last_length) * clock.time_base * sounding.RATE)
            sound = sounding.stretch(voice, Fraction(-offset_ms, 1000), length)
            write_film(Path(target), _copied(film, stream), stream, time_base=clock.time_base, sound=sound)
    except av.FFmpegError as error:
        if error.errno in (errno.ENOSPC, errno.EFBIG, errno.EDQUOT, errno.EIO):
            return error.strerror or str(error)
        raise Refused(f"it cannot be read ({error.strerror}).") from error
    return ""


def _copied(film: Any, stream: Any) -> Iterable[Any]:
    from av.packet import Packet

    for packet in film.demux(stream):
        if packet.size and packet.pts is not None:
            made: Packet[Any] = Packet(bytes(packet))
            made.pts, made.dts, made.duration = packet.pts, packet.dts, packet.duration
            made.is_keyframe = packet.is_keyframe
            yield made
