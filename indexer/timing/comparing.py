"""Two groups side by side: the shift between them with its interval, and what else differs in them."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, sqrt
from typing import NamedTuple

FEWEST = 10
"""A group with fewer cases gets a warning."""
NEWEST = 1000
"""Of larger groups the newest: every pair is looked at."""


class Shift(NamedTuple):
    """The second group against the first. In the unit of the values; above zero: the second group is higher."""

    shift: float
    """Hodges and Lehmann's estimate: the median of the differences of all pairs."""
    lower: float
    upper: float
    """Of the interval of 95 %."""
    p: float
    """Mann and Whitney's test, two-sided; exact for small groups without ties."""
    u: float
    """Its statistic for the first group."""

    @property
    def clear(self) -> bool:
        """Whether the interval leaves zero out."""
        return self.lower > 0 or self.upper < 0


class Mix(NamedTuple):
    """How often something is found in each of two groups."""

    concept: str
    first: int
    second: int
    p: float
    """Fisher's exact test."""


def shift(first: Sequence[float], second: Sequence[float]) -> Shift:
    """Compare two groups; both need a value at least.

    The ends of the interval are ordered differences, counted in from both ends by the normal approximation of the
    distribution of U (Hollander and Wolfe, Nonparametric Statistical Methods, chapter 4).
    """
    import numpy as np
    from scipy.stats import mannwhitneyu, norm

    if not len(first) or not len(second):
        raise ValueError("both groups need a value at least")
    a, b = np.asarray(first, float)[-NEWEST:], np.asarray(second, float)[-NEWEST:]
    differences = np.sort((b[:, None] - a[None, :]).ravel())
    pairs, both = len(a) * len(b), len(a) + len(b)
    inward = floor(pairs / 2 - float(norm.ppf(0.975)) * sqrt(pairs * (both + 1) / 12))
    at = max(0, min(inward, pairs - 1))
    test = mannwhitneyu(a, b, alternative="two-sided")
    return Shift(
        float(np.median(differences)),
        float(differences[at]),
        float(differences[pairs - 1 - at]),
        float(test.pvalue),
        float(test.statistic),
    )


def mix(first: Sequence[frozenset[str]], second: Sequence[frozenset[str]]) -> tuple[Mix, ...]:
    """For everything that is found in any of the cases how often it is in each group, most uneven first."""
    from scipy.stats import fisher_exact

    found = []
    for concept in sorted(set[str]().union(*first, *second)):
        have = sum(concept in case for case in first), sum(concept in case for case in second)
        table = [[have[0], len(first) - have[0]], [have[1], len(second) - have[1]]]
        found.append(Mix(concept, *have, float(fisher_exact(table).pvalue)))
    return tuple(sorted(found, key=lambda each: (round(each.p, 9), each.concept)))


def uneven(each: Mix, first: int, second: int) -> bool:
    """Whether groups of these sizes differ enough in it to be warned of: by a fifth of the cases, or clearly by test."""
    if not first or not second:
        return False
    return each.p < 0.05 or abs(each.first / first - each.second / second) >= 0.2
