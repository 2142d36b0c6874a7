"""Choosing the moment of a still from the survey's looks: sharp, not black, soon after something begins."""

from __future__ import annotations

from collections.abc import Sequence

import numpy
from numpy.typing import NDArray

from indexer.models.footage import Stretch

WITHIN_MS = 4000
"""How long after the asked moment the best look is taken from."""
_BLACK = 20.0
_MARGIN_MS = 100


def best_moment(looks: NDArray[numpy.float64], stretches: Sequence[Stretch], from_ms: int, until_ms: int) -> int | None:
    """The time of the sharpest look from `from_ms` until before `until_ms`; None where none of them shows anything.

    `looks` are rows of time in milliseconds, sharpness and brightness.
    """
    until_ms = min(until_ms, from_ms + WITHIN_MS)
    chosen = looks[(looks[:, 0] >= from_ms) & (looks[:, 0] < until_ms) & (looks[:, 2] >= _BLACK)]
    shown = [row for row in chosen if not any(_within(row[0], stretch) for stretch in stretches)]
    return int(max(shown, key=lambda row: row[1])[0]) if shown else None


def _within(at_ms: float, stretch: Stretch) -> bool:
    """Whether a moment lies in a stretch that shows nothing of the operation."""
    empty = stretch.kind in ("black", "blank", "title")
    return empty and stretch.start_ms - _MARGIN_MS <= at_ms < stretch.end_ms + _MARGIN_MS
