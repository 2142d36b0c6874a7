"""Which way it goes: a robust slope with its interval, and a smooth line through the series."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

FEWEST = 10
"""Values below which no slope is told: common practice, no source."""
NEWEST = 1500
"""Longer series are cut to their newest values: every pair of values is looked at."""


class Slope(NamedTuple):
    """Theil and Sen's slope, the median of the slopes of all pairs, with its interval of 95 %."""

    slope: float
    lower: float
    upper: float
    start: float
    """Where the line stands at x = 0: median of y less slope times median of x."""

    @property
    def clear(self) -> bool:
        """Whether the interval leaves zero out."""
        return self.lower > 0 or self.upper < 0


def slope(values: Sequence[float], at: Sequence[float] | None = None) -> Slope:
    """The slope of values over `at` (0, 1, 2... where it is not given). Needs two values."""
    from scipy.stats import theilslopes

    if len(values) < 2:
        raise ValueError("a slope needs two values at least")
    found = theilslopes(values, at if at is not None else range(len(values)), alpha=0.95, method="separate")
    return Slope(float(found.slope), float(found.low_slope), float(found.high_slope), float(found.intercept))


def smooth(values: Sequence[float], share: float = 0.5) -> tuple[float, ...]:
    """A locally weighted line (LOWESS) through values in their order; each point looks at that share of them."""
    from statsmodels.nonparametric.smoothers_lowess import lowess

    places = [float(at) for at in range(len(values))]
    return tuple(float(each) for each in lowess(list(values), places, frac=share, return_sorted=False))
