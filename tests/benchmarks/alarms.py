"""How often a change is found, and how often one is told that is not there: invented series of which it is known.

    python -m tests.benchmarks.alarms [SERIES]

500 lognormal series of 60 operations for each spread; in half of them every time is 20 % shorter from the 31st on.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from math import log, sqrt

import numpy as np

from indexer.timing import comparing, control, trend

OPERATIONS = 60
CHANGE_AT = 30
CHANGE = 0.8
SPREADS = (0.3, 0.57)
"""Coefficients of variation."""
MEDIAN_S = 120.0


def told_by_periods(values: Sequence[float]) -> bool:
    """The interval of the shift between the two halves leaves zero out."""
    return comparing.shift(values[:CHANGE_AT], values[CHANGE_AT:]).clear


def told_by_runs(values: Sequence[float]) -> bool:
    """A long run or few crossings."""
    return control.runs(values).unusual


def told_by_limits(values: Sequence[float]) -> bool:
    """Any operation beyond the limits of the logarithms."""
    logs = [log(value) for value in values]
    return bool(control.limits(logs).outside(logs))


def told_by_slope(values: Sequence[float]) -> bool:
    """The interval of the slope leaves zero out."""
    return trend.slope(values).clear


WAYS: dict[str, Callable[[Sequence[float]], bool]] = {
    "two periods, interval of the shift": told_by_periods,
    "run chart, rules for runs": told_by_runs,
    "individuals chart, limits of logarithms": told_by_limits,
    "trend, interval of the slope": told_by_slope,
}


def series(rng: np.random.Generator, spread: float, *, changes: bool) -> list[float]:
    """One surgeon's times of one step in seconds."""
    sigma = sqrt(log(1 + spread**2))
    values = rng.lognormal(log(MEDIAN_S), sigma, OPERATIONS)
    if changes:
        values[CHANGE_AT:] *= CHANGE
    return [float(value) for value in values]


def shares(many: int, seed: int = 20) -> dict[tuple[float, str], tuple[float, float]]:
    """For each spread and way: the share of changes that is found, and of stable series in which one is told."""
    found = {}
    for number, spread in enumerate(SPREADS):
        rng = np.random.default_rng(seed + number)
        changed = [series(rng, spread, changes=True) for _ in range(many // 2)]
        stable = [series(rng, spread, changes=False) for _ in range(many - many // 2)]
        for name, told in WAYS.items():
            found[spread, name] = sum(map(told, changed)) / len(changed), sum(map(told, stable)) / len(stable)
    return found


def main() -> None:
    """Print a line for each spread and way."""
    many = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    print(
        f"{many} series of {OPERATIONS} operations a spread, half of them 20 % shorter from operation {CHANGE_AT + 1} on"
    )
    print(f"{'spread':>7}  {'way':<42} {'found':>6} {'false':>6}")
    for (spread, name), (found, false) in shares(many).items():
        print(f"{spread:>7}  {name:<42} {found:>6.1%} {false:>6.1%}")


if __name__ == "__main__":
    main()
