"""From the numbers of all frames to a Survey: cuts, stretches, series by the second, and the guess."""

from __future__ import annotations

from array import array
from collections.abc import Sequence

import numpy
from numpy.typing import NDArray

from indexer.footage.survey_changes import Changes, cuts_of
from indexer.footage.survey_dissolves import Melting, dissolves_of
from indexer.footage.survey_eye import Round, agreed
from indexer.footage.survey_guess import guess_kind
from indexer.footage.survey_stretches import Run, stretches_of
from indexer.models.footage import Cut, EyePlace, OverlayBox, Stretch, Survey

Numbers = NDArray[numpy.float64]

_BLURRED = 0.25
"""Share of the film's usual sharpness below which a second counts as blurred."""


class Looks:
    """Closer looks at some frames, a few a second: sharpness, brightness, and whether it may be a card."""

    def __init__(self) -> None:
        self.frame, self.at_ms = array("l"), array("d")
        self.sharpness, self.mean, self.card = array("f"), array("f"), array("b")

    def add(self, frame: int, at_ms: float, crisp: float, mean: float, card: bool) -> None:
        """One look."""
        self.frame.append(frame)
        self.at_ms.append(at_ms)
        self.sharpness.append(crisp)
        self.mean.append(mean)
        self.card.append(card)

    def rows(self) -> list[tuple[int, float, float]]:
        """Time in milliseconds, sharpness and brightness of each look."""
        rounded = zip(self.at_ms, self.sharpness, self.mean, strict=True)
        return [(round(at), round(crisp, 1), round(mean, 1)) for at, crisp, mean in rounded]


def read_numbers(
    times_ms: Numbers,
    frame_ms: float,
    changes: Changes,
    melting: list[Melting],
    looks: Looks,
    edges: list[Round],
    boxes: Sequence[tuple[float, float, float, float]],
    joins_ms: Sequence[int],
) -> Survey:
    """Put together what was gathered. `times_ms` has one time for each frame; a cut where parts meet is none."""
    change = numpy.frombuffer(changes.by_one, numpy.float32).astype(numpy.float64)
    mean = numpy.frombuffer(changes.mean, numpy.float32).astype(numpy.float64)
    spread = numpy.frombuffer(changes.spread, numpy.float32).astype(numpy.float64)
    usual = float(numpy.median(numpy.diff(times_ms))) if len(times_ms) > 1 else frame_ms
    length_ms = round(times_ms[-1] + usual)
    runs = stretches_of(change, mean, spread, _cards(looks, len(times_ms)), times_ms)
    cuts = [cut for cut in _cuts(changes, melting, times_ms, runs) if not _joins(cut, joins_ms, usual)]
    stretches = [_stretch(run, times_ms, length_ms) for run in runs]
    missing = _missing(times_ms, usual)
    sharpness = _by_second(numpy.array(looks.at_ms), numpy.array(looks.sharpness), length_ms, numpy.maximum)
    return Survey(
        frames=len(times_ms),
        length_ms=length_ms,
        cuts=tuple(cuts),
        stretches=tuple(stretches),
        sharpness=tuple(sharpness),
        motion=tuple(_means_by_second(times_ms, change, length_ms)),
        blurred=tuple(_blurred(sharpness)),
        eye=tuple(EyePlace(**each._asdict()) for each in agreed(edges)),
        overlays=tuple(OverlayBox(left=box[0], top=box[1], width=box[2], height=box[3]) for box in boxes),
        missing_frames=missing,
        guess=guess_kind(cuts, stretches, length_ms, missing),
    )


def _cuts(changes: Changes, melting: list[Melting], times_ms: Numbers, runs: list[Run]) -> list[Cut]:
    """Sudden cuts and dissolves in order; a dissolve around a sudden cut is that cut."""
    found = [
        Cut(at_ms=round(times_ms[each.frame]), frame=each.frame, kind=each.kind, strength=each.strength)
        for each in cuts_of(changes)
    ]
    sudden = [cut.frame for cut in found]
    for each in dissolves_of(melting):
        first, last = max(0, each.frame - each.half), min(len(times_ms) - 1, each.frame + each.half)
        if any(first - 2 <= frame <= last + 2 for frame in sudden):
            continue
        half_ms = round((times_ms[last] - times_ms[first]) / 2)
        found.append(
            Cut(
                at_ms=round(times_ms[each.frame]),
                frame=each.frame,
                kind="dissolve",
                strength=each.strength,
                spread_ms=half_ms,
            )
        )
    return sorted(found, key=lambda cut: cut.at_ms)


def _joins(cut: Cut, joins_ms: Sequence[int], frame_ms: float) -> bool:
    return any(abs(cut.at_ms - join) <= 1.5 * frame_ms for join in joins_ms)


def _cards(looks: Looks, frames: int) -> NDArray[numpy.bool_]:
    """Frames from one look to another between which a card stood."""
    marks = numpy.zeros(frames, bool)
    for place in range(1, len(looks.frame)):
        first, last = looks.frame[place - 1], looks.frame[place]
        if looks.card[place]:
            marks[first : last + 1] = True
    return marks


def _stretch(run: Run, times_ms: Numbers, length_ms: int) -> Stretch:
    end_ms = round(times_ms[run.last]) if run.last < len(times_ms) else length_ms
    return Stretch(kind=run.kind, start_ms=round(times_ms[run.first]), end_ms=end_ms)


def _missing(times_ms: Numbers, usual: float) -> int:
    """How many frames of the usual length fit into the gaps; none in a film whose rate varies all the time."""
    apart = numpy.diff(times_ms)
    if len(apart) == 0 or float((numpy.abs(apart - usual) > usual / 2).mean()) > 0.1:
        return 0
    return int(numpy.rint(apart[apart > 1.5 * usual] / usual - 1).sum())


def _by_second(at_ms: Numbers, values: Numbers, length_ms: int, joined: numpy.ufunc) -> list[float]:
    found = numpy.zeros(max(1, -(-length_ms // 1000)))
    joined.at(found, (at_ms // 1000).astype(int).clip(0, len(found) - 1), values)
    return [round(float(each), 1) for each in found]


def _means_by_second(times_ms: Numbers, values: Numbers, length_ms: int) -> list[float]:
    many = max(1, -(-length_ms // 1000))
    seconds = (times_ms // 1000).astype(int).clip(0, many - 1)
    sums, counts = numpy.bincount(seconds, values, many), numpy.bincount(seconds, minlength=many)
    return [round(float(each), 3) for each in sums / numpy.maximum(1, counts)]


def _blurred(sharpness: list[float]) -> list[bool]:
    """Much less sharp than the film usually is where it is sharp at all."""
    seen = numpy.array(sharpness)
    usual = float(numpy.percentile(seen, 75)) if len(seen) else 0.0
    return [bool(each < _BLURRED * usual) for each in seen]
