"""What became of recordings, a line each: what was done on standard output, what was not on standard error."""

from __future__ import annotations

from collections.abc import Iterable

import click

from indexer.intake.outcomes import Outcome
from indexer.timespan import clock


def tell_outcomes(outcomes: Iterable[Outcome]) -> bool:
    """Write a line for each outcome, and its remarks; answer whether anything failed."""
    failed = False
    for outcome in outcomes:
        click.echo(line(outcome), err=outcome.how in ("refused", "waiting", "stopped"))
        for remark in outcome.remarks:
            if outcome.transcript_fault not in remark or not outcome.transcript_fault:
                click.echo(f"  Note: {remark}")
        if outcome.transcript_fault:
            click.echo(f"{outcome.transcript_fault}\n  {after_fault(outcome)}", err=True)
        failed = failed or outcome.failed
    return failed


def line(outcome: Outcome) -> str:
    """One outcome in one line."""
    if outcome.how in ("added", "worded"):
        what = "Added" if outcome.how == "added" else "Added words to"
        return f"{what}: {outcome.title} ({clock(outcome.length_ms)}, {found(outcome)})"
    if outcome.how == "known":
        return f"Known: {outcome.title}. {outcome.reason}"
    return f"{ {'refused': 'Not added', 'waiting': 'Waiting', 'stopped': 'Stopped'}[outcome.how]}: {outcome.reason}"


def found(outcome: Outcome) -> str:
    """What was found in the words."""
    if not outcome.terms and not outcome.steps:
        return "no words to search yet" if outcome.how == "added" else "nothing recognised in its words"
    return f"{outcome.steps} steps, {outcome.terms} terms found"


def after_fault(outcome: Outcome) -> str:
    """What to do about a transcript that could not be used."""
    if outcome.how == "added":
        return "The recording was added without it. Mend the file, then add the same recording with it again."
    return "Mend the file, then add the same recording with it again."
