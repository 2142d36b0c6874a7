"""Is it changing? Charts of values in the order of time, with published limits and rules.

Sources: the individuals and moving range chart of the NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2; the
rules for long runs and few crossings of Anhøj and Olesen (PLoS ONE 2014;9:e113825); the CUSUM of failures with its
limits after Wald's sequential test, as used for training in Vedana et al. (Int J Ophthalmol 2017;10:1088-93).
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from math import floor, log, log2, pi, sqrt
from typing import NamedTuple

FEWEST_FOR_LIMITS = 20
"""Values that limits should rest upon: common practice, no source."""
FEWEST_FOR_RUNS = 10
"""Values below which the rules for runs say nothing: common practice, no source."""
D2 = 2 / sqrt(pi)
"""Mean range of two values from a normal distribution, in standard deviations."""
D4 = 3.267
"""Upper limit of the range of two values, as a multiple of the mean range."""


class Limits(NamedTuple):
    """An individuals chart with its moving ranges."""

    centre: float
    lower: float
    upper: float
    range_mean: float
    range_upper: float

    def outside(self, values: Sequence[float]) -> tuple[int, ...]:
        """Indexes of the values beyond the limits."""
        # Values that are all alike lie on their limits, but for the last digit of the arithmetic.
        little = 1e-9 * max(1.0, abs(self.centre))
        return tuple(at for at, value in enumerate(values) if not self.lower - little <= value <= self.upper + little)


class Runs(NamedTuple):
    """How a series lies about its median. Values on the median do not count."""

    median: float
    counted: int
    longest: int
    longest_usual: int
    """A longer run on one side of the median is out of the ordinary."""
    crossings: int
    fewest_usual: int
    """Fewer crossings of the median are out of the ordinary."""

    @property
    def unusual(self) -> bool:
        """Whether the series says that something changed."""
        return self.longest > self.longest_usual or self.crossings < self.fewest_usual


class FailureSum(NamedTuple):
    """The cumulative sum of a yes/no event: falls while it is as rare as accepted, climbs when it is not."""

    step_down: float
    """What a case without the event takes off."""
    acceptable_line: float
    """Falling by this much since the start, or since the last line that was reached: the acceptable rate is shown."""
    unacceptable_line: float
    """Climbing by this much says that the rate is the unacceptable one."""
    path: tuple[float, ...]
    """The sum after each case."""
    alarms: tuple[int, ...]
    """Indexes at which the unacceptable line was reached; the sum is counted from there anew."""
    shown: tuple[int, ...]
    """Indexes at which the acceptable line was reached."""


def limits(values: Sequence[float]) -> Limits:
    """Limits three standard deviations from the mean, these from the mean moving range. Needs two values."""
    if len(values) < 2:
        raise ValueError("limits need two values at least")
    centre = sum(values) / len(values)
    ranges = [abs(after - before) for before, after in itertools.pairwise(values)]
    mean = sum(ranges) / len(ranges)
    return Limits(centre, centre - 3 * mean / D2, centre + 3 * mean / D2, mean, D4 * mean)


def runs(values: Sequence[float]) -> Runs:
    """Judge a series by its longest run on one side of the median and by how often it crosses that."""
    import statistics

    from scipy.stats import binom

    if not values:
        raise ValueError("a run chart needs values")
    median = statistics.median(values)
    sides = [value > median for value in values if value != median]
    longest, run, crossings = 0, 0, 0
    for at, side in enumerate(sides):
        same = at > 0 and side == sides[at - 1]
        run = run + 1 if same else 1
        crossings += at > 0 and not same
        longest = max(longest, run)
    counted = len(sides)
    usual = floor(log2(counted) + 3 + 0.5) if counted else 0
    fewest = int(binom.ppf(0.05, counted - 1, 0.5)) if counted > 1 else 0
    return Runs(median, counted, longest, usual, crossings, fewest)


def failure_sum(
    events: Sequence[bool], acceptable: float, unacceptable: float, *, alpha: float = 0.1, beta: float = 0.1
) -> FailureSum:
    """Sum up an event over cases in their order. Rates between 0 and 1, the acceptable one the smaller.

    `alpha` is the chance of an alarm at the acceptable rate, `beta` that of none at the unacceptable one.
    """
    if not 0 < acceptable < unacceptable < 1:
        raise ValueError("the acceptable rate has to lie below the unacceptable one, both between 0 and 1")
    up, down = log(unacceptable / acceptable), log((1 - acceptable) / (1 - unacceptable))
    each = down / (up + down)
    shown_line, alarm_line = log((1 - alpha) / beta) / (up + down), log((1 - beta) / alpha) / (up + down)
    total = since = 0.0
    path, alarms, shown = list[float](), list[int](), list[int]()
    for at, event in enumerate(events):
        total += (1 - each) if event else -each
        path.append(total)
        if total - since >= alarm_line:
            alarms.append(at)
            since = total
        elif total - since <= -shown_line:
            shown.append(at)
            since = total
    return FailureSum(each, shown_line, alarm_line, tuple(path), tuple(alarms), tuple(shown))
