"""The table that stands beside each chart, as cells of text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from indexer.models.timing import OperationTimes, Spread, TimesReport
from indexer.timing.reporting import Comparison, Series
from indexer.timing.spread import spread
from indexer.timing.wording import seconds
from indexer.vocabulary.vocabulary import Vocabulary

Cells = tuple[str, ...]

STEP_HEADINGS: Cells = ("Step", "Cases", "Median", "Half of them", "Range", "Share", "Visits")
SERIES_HEADINGS: Cells = ("Operation", "Day", "Time", "Visits", "Event")
GROUP_HEADINGS: Cells = ("Group", "Cases", "Median", "Half of them", "Range")
MIX_HEADINGS: Cells = ("Finding", "First group", "Second group")


def heading(report: TimesReport) -> str:
    """What was counted."""
    logs = f", {report.logs} of them from step logs" if report.logs else ""
    said = "proposed and confirmed steps" if report.proposals else "confirmed steps"
    return f"Time per step: {said} of {report.operations} operation{'s' if report.operations != 1 else ''}{logs}"


def steps(report: TimesReport) -> Iterator[Cells]:
    """A row a step, narrower ones set in; the time under no step last."""
    for each in report.steps:
        label = f"  {each.label}" if each.within else each.label
        visits = f"{each.visits_median:g}" + (f" (to {each.visits_high})" if each.visits_high > 1 else "")
        yield label, *_cells(each.time), f"{each.share.median:.0%}", visits
    if report.no_step and report.no_step_share:
        yield "No step marked", *_cells(report.no_step), f"{report.no_step_share.median:.0%}", ""


def operations(counted: Sequence[OperationTimes], report: TimesReport) -> tuple[Cells, list[Cells]]:
    """Headings and a row an operation: its length, and its time in each of the broader steps."""
    broad = [each for each in report.steps if each.within is None]
    rows: list[Cells] = []
    for times in counted:
        took = {step.step: seconds(step.time_ms) for step in times.steps}
        cells = (
            times.operation.title,
            seconds(times.operation.length_ms),
            *(took.get(each.step, "") for each in broad),
        )
        rows.append((*cells, seconds(times.no_step_ms)))
    return ("Operation", "Length", *(each.label for each in broad), "No step"), rows


def series(found: Series, vocabulary: Vocabulary, newest: int) -> list[Cells]:
    """A row an operation, oldest first."""
    rows: list[Cells] = []
    for point in found.points[-newest:]:
        operation = point.times.operation
        events = ", ".join(vocabulary[event].label for event in sorted(operation.events))
        rows.append(
            (operation.title, f"{operation.day:%Y-%m-%d}", seconds(point.step.time_ms), str(point.step.visits), events)
        )
    return rows


def groups(found: Comparison) -> list[Cells]:
    """A row a group."""
    rows: list[Cells] = []
    for group in (found.first, found.second):
        lies = spread([point.step.time_ms for point in group.points])
        rows.append((group.name, *(_cells(lies) if lies else ("0", "", "", ""))))
    return rows


def mix(found: Comparison, vocabulary: Vocabulary) -> list[Cells]:
    """How often each finding is in the two groups."""
    sizes = len(found.first.points), len(found.second.points)
    return [
        (vocabulary[each.concept].label, f"{each.first} of {sizes[0]}", f"{each.second} of {sizes[1]}")
        for each in found.mix
        if each.concept in vocabulary
    ]


def _cells(found: Spread) -> Cells:
    half = f"{seconds(found.lower)} to {seconds(found.upper)}"
    return str(found.n), seconds(found.median), half, f"{seconds(found.low)} to {seconds(found.high)}"
