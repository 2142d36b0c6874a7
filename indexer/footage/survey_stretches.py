"""Stretches on which the film shows nothing, stands still, or shows every picture more than once."""

from __future__ import annotations

from typing import NamedTuple

import numpy
from numpy.typing import NDArray

Numbers = NDArray[numpy.float64]
Marks = NDArray[numpy.bool_]

BLACK = 30.0
"""Mean brightness, of 255, below which an even picture is black; broadcast video puts black at 16."""
_BLACK_SPREAD = 6.0
_EVEN_SPREAD = 3.0
STILL = 0.03
"""Mean difference, of 255, below which a picture is the one before it: any camera's noise is more."""
_BLIP = 1.2
"""A key frame of a still picture may differ by as much."""
_SHORTEST_MS = {"black": 200, "blank": 200, "frozen": 1000, "repeated": 1000, "title": 1000}
_BESIDE, _REPEATS = 2, 0.15
"""Frames on each side of which a repeat changes less than this share."""
_LIVELY = 0.15
"""Mean difference of a film in which something goes on."""


class Run(NamedTuple):
    """A run of frames: from `first` until before `last`."""

    kind: str
    first: int
    last: int


def runs(marks: Marks) -> list[tuple[int, int]]:
    """Where marks stand in a row: first, and behind the last."""
    edges = numpy.flatnonzero(numpy.diff(numpy.concatenate([[False], marks, [False]]).astype(numpy.int8)))
    return [(int(first), int(last)) for first, last in edges.reshape(-1, 2)]


def stretches_of(change: Numbers, mean: Numbers, spread: Numbers, title: Marks, times_ms: Numbers) -> list[Run]:
    """All stretches, those of one kind apart from each other; arrays have a number for each frame."""
    black = (mean < BLACK) & (spread < _BLACK_SPREAD)
    blank = ~black & (spread < _EVEN_SPREAD)
    still = _still(change)
    nothing = black | blank
    marked = {
        "black": black,
        "blank": blank,
        "title": title & ~nothing,
        "frozen": still & ~nothing & ~title,
        "repeated": _repeated(change, still) & ~nothing & ~title,
    }
    found = [
        Run(kind, first, last)
        for kind, marks in marked.items()
        for first, last in runs(marks)
        if times_ms[min(last, len(times_ms) - 1)] - times_ms[first] >= _SHORTEST_MS[kind]
    ]
    return sorted(found, key=lambda run: run.first)


def _still(change: Numbers) -> Marks:
    """Frames that are the one before; single blips within still ones count too, and the frame that begins it."""
    same = change < STILL
    if len(same):
        same[0] = False
    for first, last in runs(~same):
        inside = first > 0 and last < len(same)
        if inside and last - first <= 2 and float(change[first:last].max()) < _BLIP:
            before, behind = same[max(0, first - 4) : first], same[last : last + 4]
            same[first:last] = bool(before.all() and behind.all() and len(before) == 4 and len(behind) == 4)
    return same


def _repeated(change: Numbers, still: Marks, window: int = 24) -> Marks:
    """Where a regular share of frames only repeats the one before, while others move: slow motion, or another rate."""
    if len(change) < window:
        return numpy.zeros(len(change), bool)
    # Beside a picture that moves, one that was encoded again differs a little from the one that it repeats.
    beside = numpy.lib.stride_tricks.sliding_window_view(numpy.pad(change, _BESIDE, mode="edge"), 2 * _BESIDE + 1)
    same = ((change < STILL) | (change < _REPEATS * beside.max(axis=1))).astype(numpy.float64)
    kernel = numpy.ones(window) / window
    share = numpy.convolve(same, kernel, "same")
    moving = numpy.convolve(change, kernel, "same") / numpy.maximum(1 - share, 1 / window)
    # Repeats that come in a rhythm stand alone or in short rows; a pause is one long row.
    alone = numpy.convolve((numpy.diff(same, prepend=same[:1]) > 0).astype(numpy.float64), kernel, "same")
    rhythm: Marks = (share >= 0.15) & (share <= 0.85) & (alone >= 0.15) & (moving > _LIVELY)
    return rhythm
