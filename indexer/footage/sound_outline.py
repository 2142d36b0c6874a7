"""The outline of a recording's sound: how loud it is at each step of time, to be drawn, and where nobody speaks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy
from numpy.typing import NDArray

from indexer.config import Settings
from indexer.timespan import Span

Outline = NDArray[numpy.uint8]
"""(2, steps): the peak, 0 to 255 of full scale; and the loudness (root mean square) in quarters of a decibel, 255 for
full scale, 0 for -63.75 dB and below. A step is `STEP_MS` long."""

STEP_MS = 50
_RATE = 16_000
_SLOWEST = 0.5
"""Seconds of work for a second of sound, before it is given up."""
_LEAST_CONTRAST_DB = 8.0
_BETWEEN = 0.35
_INAUDIBLE_DB = -60.0


def write_outline(film: Path, length_ms: int, target: Path, settings: Settings) -> bool:
    """Write the outline of a film's sound to `target` (numpy, without pickle), read in one pass in a guarded process.

    False, and nothing written, where it has no sound. Raises RecordingUnreadable.
    """
    from indexer.footage import guarded
    from indexer.footage.appearing import appearing

    asked = {"target": "", "length_ms": length_ms}
    seconds = settings.probe_seconds + _SLOWEST * length_ms / 1000
    with appearing(target) as unfinished:
        asked["target"] = str(unfinished)
        task = "indexer.footage.sound_outline:trace"
        found = guarded.work_on(film, task, asked, seconds=seconds, memory_mb=settings.probe_memory_mb)
    if not found["sound"]:
        target.unlink()
    return bool(found["sound"])


def trace(path: Path, target: str, length_ms: int) -> dict[str, Any]:
    """Read the sound and write its outline to `target`; the task of a guarded process."""
    import av

    from indexer.footage.clock import open_film
    from indexer.footage.guarded import Refused
    from indexer.footage.sounding import stretch

    try:
        with open_film(path) as film:
            if not film.streams.audio or film.streams.audio[0].codec_context is None:
                return {"sound": False}
            blocks = stretch(film, Fraction(0), length_ms * _RATE // 1000, rate=_RATE)
            outline = outline_of(blocks, _RATE)
    except av.FFmpegError as error:
        raise Refused(f"its sound cannot be read ({error.strerror}).") from error
    with Path(target).open("wb") as file:
        numpy.save(file, outline, allow_pickle=False)
    return {"sound": True}


def outline_of(blocks: Iterable[NDArray[numpy.float32]], rate: int) -> Outline:
    """The outline of samples, given as blocks of (channels, samples), -1 to 1."""
    rows = [_row(whole) for whole in _whole_steps(blocks, rate * STEP_MS // 1000)]
    return numpy.concatenate(rows, axis=1) if rows else numpy.zeros((2, 0), numpy.uint8)


def _whole_steps(blocks: Iterable[NDArray[numpy.float32]], step: int) -> Iterator[NDArray[numpy.float32]]:
    """The samples as (steps, channels x samples of a step), some seconds at a time; the last step filled with silence."""
    kept: list[NDArray[numpy.float32]] = []
    many = 0
    for block in blocks:
        kept.append(block)
        many += block.shape[1]
        if many >= 200 * step:
            joined = numpy.concatenate(kept, axis=1)
            whole = many // step * step
            yield _shaped(joined[:, :whole], step)
            kept, many = [joined[:, whole:]], many - whole
    if many:
        joined = numpy.concatenate(kept, axis=1)
        yield _shaped(numpy.pad(joined, ((0, 0), (0, -many % step))), step)


def _shaped(samples: NDArray[numpy.float32], step: int) -> NDArray[numpy.float32]:
    channels = samples.shape[0]
    return samples.reshape(channels, -1, step).transpose(1, 0, 2).reshape(-1, channels * step)


def _row(steps: NDArray[numpy.float32]) -> Outline:
    peak = numpy.abs(steps).max(axis=1)
    power = numpy.maximum((steps.astype(numpy.float64) ** 2).mean(axis=1), 1e-12)
    loud = 255 + 4 * 10 * numpy.log10(power)
    rows: Outline = numpy.clip(numpy.stack([numpy.ceil(peak * 255), numpy.round(loud)]), 0, 255).astype(numpy.uint8)
    return rows


def silences(outline: Outline, least_ms: int = 700) -> list[Span]:
    """Stretches of at least `least_ms` in which nobody speaks, in milliseconds.

    Told by this recording's own noise and speech: quieter than a third of the way from one to the other. Where the two
    do not differ, nothing can be told, unless nothing can be heard at all.
    """
    if not outline.shape[1]:
        return []
    loud = outline[1].astype(float) / 4 - 63.75
    noise, speech = (float(level) for level in numpy.percentile(loud, (10, 95)))
    if speech <= _INAUDIBLE_DB:
        return [Span(0, outline.shape[1] * STEP_MS)]
    if speech - noise < _LEAST_CONTRAST_DB:
        return []
    quiet = loud < noise + _BETWEEN * (speech - noise)
    edges = numpy.flatnonzero(numpy.diff(numpy.concatenate([[0], quiet.astype(numpy.int8), [0]])))
    spans = [Span(int(a) * STEP_MS, int(b) * STEP_MS) for a, b in zip(edges[::2], edges[1::2], strict=True)]
    return [span for span in spans if span.length_ms >= least_ms]
