"""All that is told of the times: figures of every step, one step over time, two groups side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from indexer.models.timing import OperationTimes, StepFigures, StepTime, TimesAsked, TimesReport
from indexer.timing import comparing, control, trend
from indexer.timing.notes import cautions, notes
from indexer.timing.spread import spread
from indexer.vocabulary.vocabulary import Vocabulary


class Point(NamedTuple):
    """One operation in the series of a step."""

    times: OperationTimes
    step: StepTime


class Series(NamedTuple):
    """A step over the operations that have it, in the order of time. Times in milliseconds."""

    step: str
    points: tuple[Point, ...]
    limits: control.Limits | None
    """Of the logarithms of the times, since times are skewed; written back in milliseconds. None: too few points."""
    outside: tuple[int, ...]
    """Indexes of points beyond the limits."""
    runs: control.Runs | None
    slope: trend.Slope | None
    """Milliseconds an operation."""

    @property
    def missing_for_limits(self) -> int:
        """How many operations are still needed for limits."""
        return max(0, control.FEWEST_FOR_LIMITS - len(self.points))

    @property
    def missing_for_runs(self) -> int:
        """How many operations are still needed for the rules of runs."""
        return max(0, control.FEWEST_FOR_RUNS - len(self.points))


class Group(NamedTuple):
    """Operations that are compared, and their times of one step in milliseconds."""

    name: str
    operations: tuple[OperationTimes, ...]
    points: tuple[Point, ...]


class Comparison(NamedTuple):
    """Two groups of operations side by side; the shift is of the second against the first, in milliseconds."""

    step: str
    first: Group
    second: Group
    shift: comparing.Shift | None
    """None where a group is empty."""
    mix: tuple[comparing.Mix, ...]
    warnings: tuple[str, ...]


def report(counted: Sequence[OperationTimes], asked: TimesAsked, vocabulary: Vocabulary) -> TimesReport:
    """The figures of all steps, or of those that were asked for."""
    whole = [each for each in counted if not each.unconfirmed_ms]
    logs = sum(each.operation.kind == "logged" for each in counted)
    return TimesReport(
        operations=len(counted),
        films=len(counted) - logs,
        logs=logs,
        steps=tuple(_figures(counted, asked, vocabulary)),
        length=spread([each.operation.length_ms for each in counted]),
        no_step=spread([each.no_step_ms for each in whole]),
        no_step_share=spread([each.no_step_ms / each.operation.length_ms for each in whole]),
        proposals=asked.proposals,
        notes=tuple(notes(counted, asked, vocabulary)),
        cautions=cautions(),
    )


def _figures(counted: Sequence[OperationTimes], asked: TimesAsked, vocabulary: Vocabulary) -> list[StepFigures]:
    found: dict[str, list[tuple[int, int, int]]] = {}
    for times in counted:
        length_ms = times.operation.length_ms
        for step, time_ms, visits, _ in times.steps:
            if not asked.steps or step in asked.steps:
                found.setdefault(step, []).append((time_ms, visits, length_ms))
    figures = [_of_step(step, taken, vocabulary) for step, taken in found.items()]
    return sorted(figures, key=lambda each: (each.place, each.step))


def _of_step(step: str, taken: Sequence[tuple[int, int, int]], vocabulary: Vocabulary) -> StepFigures:
    """`taken`: for each operation the time, the visits, and the length of the whole."""
    time = spread([each[0] for each in taken])
    share = spread([each[0] / each[2] for each in taken])
    visits = spread([each[1] for each in taken])
    assert time is not None and share is not None and visits is not None, "a step is only here with its operations"
    concept = vocabulary.concepts.get(step)
    return StepFigures(
        step=step,
        label=concept.label if concept else step,
        place=vocabulary.place(step) if concept else 10_000,
        within=concept.broader if concept else None,
        time=time,
        share=share,
        visits_median=visits.median,
        visits_high=int(visits.high),
    )


def points_of(counted: Sequence[OperationTimes], step: str) -> tuple[Point, ...]:
    """The operations that have a step, in their order."""
    return tuple(Point(times, each) for times in counted for each in times.steps if each.step == step)


def series(counted: Sequence[OperationTimes], step: str) -> Series:
    """A step over time; what needs more points than there are is None."""
    from math import exp, log

    points = points_of(counted, step)
    values = [float(point.step.time_ms) for point in points]
    limits, outside = None, tuple[int, ...]()
    if len(values) >= control.FEWEST_FOR_LIMITS:
        logs = [log(value) for value in values]
        found = control.limits(logs)
        outside = found.outside(logs)
        limits = found._replace(centre=exp(found.centre), lower=exp(found.lower), upper=exp(found.upper))
    enough = len(values) >= trend.FEWEST
    return Series(
        step=step,
        points=points,
        limits=limits,
        outside=outside,
        runs=control.runs(values) if len(values) >= control.FEWEST_FOR_RUNS else None,
        slope=trend.slope(values[-trend.NEWEST :]) if enough else None,
    )


def compare(
    step: str,
    first: tuple[str, Sequence[OperationTimes]],
    second: tuple[str, Sequence[OperationTimes]],
    parted_by: str,
) -> Comparison:
    """A step in two groups of operations, each with its name; what parts them is no difference in case mix."""
    one, two = (Group(name, tuple(times), points_of(times, step)) for name, times in (first, second))
    values = [[point.step.time_ms for point in group.points] for group in (one, two)]
    eyes = ([point.times.operation.findings - {parted_by} for point in group.points] for group in (one, two))
    mixed = comparing.mix(*eyes)
    return Comparison(
        step=step,
        first=one,
        second=two,
        shift=comparing.shift(*values) if all(values) else None,
        mix=mixed,
        warnings=tuple(_warnings(one, two, mixed)),
    )


def _warnings(one: Group, two: Group, mixed: Sequence[comparing.Mix]) -> list[str]:
    said = [
        f"Only {len(group.points)} operations are in the group “{group.name}”: under {comparing.FEWEST}, "
        "chance alone can make a difference this large or hide one."
        for group in (one, two)
        if len(group.points) < comparing.FEWEST
    ]
    sizes = len(one.points), len(two.points)
    if any(comparing.uneven(each, *sizes) for each in mixed):
        said.append("The two groups are not the same kind of eyes: what differs between them may be the eyes alone.")
    return said
