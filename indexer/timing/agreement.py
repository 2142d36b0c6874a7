"""How far people agree who marked the same recording."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from indexer.models.timing import Stay

SLICE_MS = 1000
"""The recording is looked at once a second."""
NO_STEP = ""


class Difference(NamedTuple):
    """A stretch in which two people marked different steps; empty where there is none."""

    start_ms: int
    end_ms: int
    first: str
    second: str


class Agreed(NamedTuple):
    """Two markings of one recording."""

    same: float
    """Share of the time with the same step, or none in both."""
    kappa: float
    """Cohen's kappa over slices of a second; 1.0 where both are the same throughout."""
    differences: tuple[Difference, ...]
    boundaries_ms: tuple[int, ...]
    """For every start of a step in the first how far the nearest start of the same step in the second lies."""


def compare(first: Sequence[Stay], second: Sequence[Stay], length_ms: int) -> Agreed:
    """Lay two markings of a recording of that length over each other."""
    edges = sorted({0, length_ms, *(edge for stay in (*first, *second) for edge in (stay.start_ms, stay.end_ms))})
    inside = [edge for edge in edges if 0 <= edge <= length_ms]
    pieces = [
        Difference(start, end, _at(first, start), _at(second, start)) for start, end in itertools.pairwise(inside)
    ]
    same = sum(piece.end_ms - piece.start_ms for piece in pieces if piece.first == piece.second)
    moments = range(SLICE_MS // 2, max(length_ms, SLICE_MS), SLICE_MS)
    return Agreed(
        same / length_ms if length_ms else 1.0,
        kappa([_at(first, at) for at in moments], [_at(second, at) for at in moments]),
        tuple(_joined(piece for piece in pieces if piece.first != piece.second)),
        tuple(_distances(first, second)),
    )


def kappa(first: Sequence[str], second: Sequence[str]) -> float:
    """Cohen's kappa of two people who each named every item."""
    from statsmodels.stats.inter_rater import cohens_kappa

    names = sorted({*first, *second})
    if len(names) < 2:
        return 1.0
    pairs = Counter(zip(first, second, strict=True))
    return float(cohens_kappa([[pairs[a, b] for b in names] for a in names], return_results=False))


def alpha(items: Iterable[Sequence[str | None]]) -> float:
    """Krippendorff's alpha for names: of each item what every person named it, None where one did not.

    Items that fewer than two named count for nothing. 1.0 where nothing could have differed. Neither scipy nor
    statsmodels has it; after Krippendorff, Computing Krippendorff's Alpha-Reliability (2011), nominal data.
    """
    pairable = [Counter(name for name in item if name is not None) for item in items]
    pairable = [counted for counted in pairable if counted.total() > 1]
    totals = sum(pairable, Counter[str]())
    many = totals.total()
    observed = sum(
        (counted.total() ** 2 - sum(times**2 for times in counted.values())) / (counted.total() - 1)
        for counted in pairable
    )
    expected = many**2 - sum(times**2 for times in totals.values())
    return 1 - (many - 1) * observed / expected if expected else 1.0


def _at(stays: Sequence[Stay], at_ms: int) -> str:
    return next((stay.step for stay in stays if stay.start_ms <= at_ms < stay.end_ms), NO_STEP)


def _joined(pieces: Iterable[Difference]) -> list[Difference]:
    """Pieces that touch and differ in the same way are one."""
    found: list[Difference] = []
    for piece in pieces:
        last = found[-1] if found else None
        if last and last.end_ms == piece.start_ms and (last.first, last.second) == (piece.first, piece.second):
            found[-1] = last._replace(end_ms=piece.end_ms)
        else:
            found.append(piece)
    return found


def _distances(first: Sequence[Stay], second: Sequence[Stay]) -> Iterable[int]:
    for stay in first:
        near = [abs(other.start_ms - stay.start_ms) for other in second if other.step == stay.step]
        if near:
            yield min(near)
