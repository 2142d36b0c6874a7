"""Each figure in a sentence that a surgeon understands and a statistician can stand by."""

from __future__ import annotations

from indexer.models.timing import StepFigures
from indexer.timespan import clock
from indexer.timing import control, trend
from indexer.timing.reporting import Comparison, Series

FALSE_RUNS = "Of series of 60 that did not change at all, these rules called up to one in twenty changed."
"""As `tests/benchmarks/alarms.py` measured it; and of those that changed by a fifth they saw one in five at best."""
FALSE_LIMITS = "Of series of 60 that did not change at all, about one in eight had a point beyond its limits."
"""From the same."""
MISSED = (
    "A change by a fifth is often missed: in series of 60 operations that got a fifth quicker half way, the comparison of "
    "two periods saw it in 83 of 100 where times varied little and in 32 where they varied much; limits and runs saw it in "
    "a quarter at best."
)
"""From the same."""


def seconds(milliseconds: float) -> str:
    """A length as people say it: 34.5 s, and from two minutes on 2:05."""
    if abs(milliseconds) < 120_000:
        return f"{milliseconds / 1000:.1f} s"
    return clock(round(milliseconds))


def of_step(figures: StepFigures) -> str:
    """A step over all its operations."""
    time = figures.time
    if time.n == 1:
        return f"{figures.label}: one operation, {seconds(time.median)}."
    return (
        f"{figures.label}: half of {time.n} operations took between {seconds(time.lower)} and {seconds(time.upper)}, "
        f"the middle one {seconds(time.median)}, all of them between {seconds(time.low)} and {seconds(time.high)}."
    )


def of_slope(series: Series) -> str:
    """Which way it goes."""
    found = series.slope
    if found is None:
        return f"A trend needs {trend.FEWEST - len(series.points)} more operations with this step."
    ten = 10 * found.slope
    interval = f"95 % interval {seconds(10 * found.lower)} to {seconds(10 * found.upper)}"
    if not found.clear:
        return f"No clear trend: {_change(ten)} for every ten operations, and the interval holds zero ({interval})."
    return f"It goes {'down' if ten < 0 else 'up'}: {_change(ten)} for every ten operations ({interval})."


def of_runs(series: Series) -> str:
    """What the rules for runs say."""
    if series.runs is None:
        return f"The rules for runs need {series.missing_for_runs} more operations with this step."
    found = series.runs
    if not found.unusual:
        return (
            f"Around the median of {seconds(found.median)} the times lie as chance would have it: longest run "
            f"{found.longest} (up to {found.longest_usual} is usual), {found.crossings} crossings "
            f"(from {found.fewest_usual} on is usual)."
        )
    why = (
        f"a run of {found.longest} on one side of the median of {seconds(found.median)}, where up to "
        f"{found.longest_usual} is usual"
        if found.longest > found.longest_usual
        else f"only {found.crossings} crossings of the median of {seconds(found.median)}, where from "
        f"{found.fewest_usual} on is usual"
    )
    return f"A hint that something changed, not a proof: {why}. {FALSE_RUNS}"


def of_limits(series: Series) -> str:
    """What lies beyond the limits."""
    if series.limits is None:
        return f"Limits need {series.missing_for_limits} more operations with this step."
    reach = f"{seconds(series.limits.lower)} to {seconds(series.limits.upper)}"
    if not series.outside:
        return f"All {len(series.points)} operations lie within the limits ({reach})."
    titles = ", ".join(f"“{series.points[at].times.operation.title}”" for at in series.outside[:3])
    more = f" and {len(series.outside) - 3} more" if len(series.outside) > 3 else ""
    return f"Beyond the limits ({reach}): {titles}{more}. Look at what was different there. {FALSE_LIMITS}"


def of_comparison(found: Comparison) -> str:
    """Two groups, with no verdict."""
    one, two = len(found.first.points), len(found.second.points)
    if found.shift is None:
        empty = found.second.name if one else found.first.name
        return f"There is nothing to compare: no operation with this step is in the group “{empty}”."
    shift = found.shift
    size = f"{abs(shift.shift) / 1000:.1f} s {'longer' if shift.shift > 0 else 'shorter'}"
    interval = f"95 % interval {seconds(shift.lower)} to {seconds(shift.upper)}; Mann-Whitney p = {p_value(shift.p)}"
    groups = f"the {two} operations {found.second.name} against the {one} {found.first.name}"
    if shift.clear:
        return f"In {groups} this step is {size} ({interval}). Why, these numbers cannot say."
    return f"No clear difference: in {groups} this step is {size}, and the interval holds zero ({interval})."


def of_failures(label: str, found: control.FailureSum, operations: int, events: int) -> str:
    """A yes/no event against rates that the user gave."""
    base = f"{label}: {events} in {operations} operations ({events / operations:.1%}). " if operations else ""
    if found.alarms:
        return f"{base}The sum reached the unacceptable line at operation {found.alarms[0] + 1}: look at these cases."
    if found.shown:
        return f"{base}From operation {found.shown[0] + 1} on the sum has shown the acceptable rate."
    return f"{base}The sum has reached neither line: too few operations to say which rate it is."


def p_value(p: float) -> str:
    """As it is usually written."""
    return "less than 0.001" if p < 0.001 else f"{p:.3f}" if p < 0.1 else f"{p:.2f}"


def _change(milliseconds: float) -> str:
    return f"{seconds(abs(milliseconds))} {'less' if milliseconds < 0 else 'more'}"
