"""Times of steps for a person, as JSON and as CSV; and step logs taken in."""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

import click

from indexer.catalogue.library import Library
from indexer.errors import BadInput
from indexer.models.timing import OperationTimes, Spread, StepFigures, TimesAsked, TimesReport
from indexer.timing import asking, control, reporting, tables, wording
from indexer.timing.step_log import LogColumns, StepLog, read_log
from indexer.timing.taking_logs import LogDetails, Taken, take

STEPS = ("step", "part")
HEADINGS: tuple[str, ...] = ("step", "label", "within", "cases", "median_s", "lower_s", "upper_s", "low_s", "high_s")
HEADINGS += ("share_median", "visits_median", "proposals")


class Wanted(NamedTuple):
    """What the options of `times` say."""

    step: tuple[str, ...]
    technique: tuple[str, ...]
    finding: tuple[str, ...]
    since: date | None
    until: date | None
    operator: str | None
    proposals: bool
    beside: str | None
    event: str | None
    acceptable: float | None
    unacceptable: float | None


class Told(NamedTuple):
    """All that was asked for."""

    report: TimesReport
    series: tuple[reporting.Series, ...]
    comparisons: tuple[reporting.Comparison, ...]
    failures: tuple[str, control.FailureSum, int, int] | None
    """Label, sum, operations, events."""


def tell(library: Library, wanted: Wanted) -> Told:
    """The owner's figures. Raises BadInput, NotFound."""
    words = library.vocabulary
    beside = None
    if wanted.beside is not None:
        facets = (*asking.USED, "finding")
        beside = wanted.beside if asking.day_of(wanted.beside) else asking.concept_of(wanted.beside, facets, words)
    event = asking.concept_of(wanted.event, ("event",), words) if wanted.event else None
    steps = asking.concepts_of(wanted.step, STEPS, words)
    if beside and not steps:
        raise BadInput("A comparison needs a step. Name one with --step.")
    asked = TimesAsked(
        steps=steps,
        used=asking.concepts_of(wanted.technique, asking.USED, words),
        findings=asking.concepts_of(wanted.finding, ("finding",), words),
        since=wanted.since,
        until=wanted.until,
        operator=wanted.operator,
        proposals=wanted.proposals,
        told=tuple(each for each in (beside, event) if each and each in words and words[each].facet != "finding"),
    )
    counted = asking.counted(library, library.owner, asked)
    comparisons = []
    if beside:
        first, second = asking.two_groups(counted, beside, words)
        comparisons = [reporting.compare(step, first, second, beside) for step in steps]
    return Told(
        report=reporting.report(counted, asked, words),
        series=tuple(reporting.series(counted, step) for step in steps),
        comparisons=tuple(comparisons),
        failures=_failures(counted, event, wanted, library) if event else None,
    )


def _failures(
    counted: Sequence[OperationTimes], event: str, wanted: Wanted, library: Library
) -> tuple[str, control.FailureSum, int, int]:
    happened = [event in each.operation.done for each in counted]
    try:
        found = control.failure_sum(happened, wanted.acceptable or 0.0, wanted.unacceptable or 0.0)
    except ValueError:
        raise BadInput(
            "Say which rates of the event are acceptable and not, the first below the second, "
            "for instance --acceptable 0.02 --unacceptable 0.05."
        ) from None
    return library.vocabulary[event].label, found, len(happened), sum(happened)


def as_json(told: Told) -> str:
    """One object; times in seconds."""
    report = told.report
    document: dict[str, Any] = {
        "operations": report.operations,
        "films": report.films,
        "logs": report.logs,
        "proposals_count": report.proposals,
        "length_s": _spread(report.length, 1000),
        "no_step": {"time_s": _spread(report.no_step, 1000), "share": _spread(report.no_step_share, 1)},
        "steps": [_step(each) for each in report.steps],
        "over_time": [_series(each) for each in told.series],
        "comparisons": [_comparison(each) for each in told.comparisons],
        "event": _event(told),
        "notes": list(report.notes),
        "cautions": list(report.cautions),
    }
    return json.dumps(document, ensure_ascii=False)


def _spread(found: Spread | None, unit: int) -> dict[str, Any] | None:
    if found is None:
        return None
    values = {name: value for name, value in found.model_dump().items() if name != "n"}
    return {"n": found.n, **{name: round(value / unit, 4) for name, value in values.items()}}


def _step(figures: StepFigures) -> dict[str, Any]:
    return {
        **figures.model_dump(include={"step", "label", "within", "visits_median", "visits_high"}),
        "time_s": _spread(figures.time, 1000),
        "share": _spread(figures.share, 1),
    }


def _series(series: reporting.Series) -> dict[str, Any]:
    limits, runs, slope = series.limits, series.runs, series.slope
    return {
        "step": series.step,
        "values": [
            {
                "case": point.times.operation.case_id,
                "day": point.times.operation.day.isoformat(),
                "time_s": point.step.time_ms / 1000,
                "visits": point.step.visits,
                "events": sorted(point.times.operation.events),
            }
            for point in series.points
        ],
        "limits_s": [round(each / 1000, 3) for each in (limits.lower, limits.centre, limits.upper)] if limits else None,
        "beyond_limits": [series.points[at].times.operation.case_id for at in series.outside],
        "runs": {**runs._asdict(), "median": runs.median / 1000, "unusual": runs.unusual} if runs else None,
        "slope_s_per_ten": [round(each / 100, 3) for each in (slope.slope, slope.lower, slope.upper)]
        if slope
        else None,
        "missing_for_limits": series.missing_for_limits,
        "missing_for_runs": series.missing_for_runs,
    }


def _comparison(found: reporting.Comparison) -> dict[str, Any]:
    shift = found.shift
    return {
        "step": found.step,
        "groups": [{"name": each.name, "n": len(each.points)} for each in (found.first, found.second)],
        "shift_s": [round(each / 1000, 3) for each in (shift.shift, shift.lower, shift.upper)] if shift else None,
        "p": shift.p if shift else None,
        "case_mix": [{"finding": each.concept, "n": [each.first, each.second]} for each in found.mix],
        "warnings": list(found.warnings),
    }


def _event(told: Told) -> dict[str, Any] | None:
    if told.failures is None:
        return None
    label, found, operations, events = told.failures
    return {"label": label, "operations": operations, "events": events, **found._asdict()}


def as_csv(told: Told) -> str:
    """A line a step and one for the time under none; times in seconds. Notes and cautions are lines that begin with #."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    for line in (*told.report.notes, *told.report.cautions):
        out.write(f"# {line}\n")
    writer.writerow(HEADINGS)
    proposals = "yes" if told.report.proposals else "no"
    for each in told.report.steps:
        time = [f"{value / 1000:.3f}" for value in _five(each.time)]
        row = [each.step, each.label, each.within or "", each.time.n, *time]
        writer.writerow([*row, f"{each.share.median:.4f}", f"{each.visits_median:g}", proposals])
    if told.report.no_step and told.report.no_step_share:
        time = [f"{value / 1000:.3f}" for value in _five(told.report.no_step)]
        share = f"{told.report.no_step_share.median:.4f}"
        writer.writerow(["", "no step", "", told.report.no_step.n, *time, share, "", proposals])
    return out.getvalue()


def _five(found: Spread) -> tuple[float, ...]:
    return found.median, found.lower, found.upper, found.low, found.high


def show(told: Told) -> None:
    """Write tables and sentences to standard output."""
    from rich.console import Console
    from rich.table import Table

    console, report = Console(highlight=False), told.report
    if not report.operations:
        console.print("Nothing is counted yet: a step counts once a person has confirmed both its edges.")
    else:
        table = Table(title=tables.heading(report), title_justify="left")
        for name in tables.STEP_HEADINGS:
            table.add_column(name, justify="left" if name == "Step" else "right")
        for cells in tables.steps(report):
            table.add_row(*cells)
        console.print(table)
    for line in sentences(told):
        console.print(line, soft_wrap=True)
    console.print()
    for line in (*report.notes, *report.cautions):
        console.print(line, style="dim", soft_wrap=True)


def sentences(told: Told) -> Iterator[str]:
    """What the figures of steps that were asked for say."""
    labels = {each.step: each.label for each in told.report.steps}
    for series in told.series:
        if series.points:
            yield f"\n{labels[series.step]} over time"
            yield from (wording.of_slope(series), wording.of_runs(series), wording.of_limits(series))
    for found in told.comparisons:
        yield f"\n{labels.get(found.step, found.step)}, two groups"
        yield wording.of_comparison(found)
        yield from (f"Caution: {line}" for line in found.warnings)
        for each in found.mix:
            yield f"  {each.concept}: {each.first} of {len(found.first.points)}, {each.second} of {len(found.second.points)}"
    if told.failures:
        yield ""
        yield wording.of_failures(*told.failures)


# Step logs


def log_in(
    library: Library, path: Path, columns: LogColumns, calls: Sequence[str], details: dict[str, Any]
) -> tuple[StepLog, Taken]:
    """Read a step log and make its cases. `calls` are NAME=STEP. Raises BadInput."""
    words = library.vocabulary
    names = {}
    for call in calls:
        name, equals, step = call.rpartition("=")
        if not equals or not name.strip():
            raise BadInput(
                f"{call!r}: write the name in the log and the step that it means, as in --call rhexis=capsulorhexis."
            )
        names[name] = asking.concept_of(step.strip(), STEPS, words) if step.strip() else ""
    given = {
        **details,
        "findings": asking.concepts_of(details["findings"], ("finding",), words),
        "used": asking.concepts_of(details["used"], asking.USED, words),
    }
    log = read_log(path, columns, names, words)
    return log, take(library, log.operations, LogDetails(**given))


def show_log(path: Path, log: StepLog, taken: Taken) -> bool:
    """Say what came in and what did not; answer whether anything did not."""
    many = len(taken.added)
    click.echo(f"{path.name}: {many} operation{'s' if many != 1 else ''} came in.")
    if taken.known:
        click.echo(f"{len(taken.known)} were here already.")
    if log.read_as:
        click.echo("Read as: " + ", ".join(f"{name} = {step}" for name, step in log.read_as))
    for row in log.left_out:
        click.echo(f"{path.name}, line {row.line}: {row.reason}. The line is left out.", err=True)
    for name, times in log.unmapped:
        lines = f"{times} line{'s' if times != 1 else ''}"
        click.echo(f"No step is called {name!r} ({lines}): say which it is with --call '{name}=STEP'.", err=True)
    if log.without_end:
        named = ", ".join(log.without_end[:5]) + (" and others" if len(log.without_end) > 5 else "")
        click.echo(f"Without an end, so their last step is left out: {named}.", err=True)
    if not log.operations:
        raise BadInput(f"{path}: no operation could be read from it.")
    return bool(log.left_out or log.unmapped or log.without_end)
