"""The commands about time per step: what they take. What does the work loads when they run."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Any

import click

FILE = click.Path(path_type=Path, dir_okay=False)
DAY = click.DateTime(formats=["%Y-%m-%d"])
RATE = click.FloatRange(0, 1, min_open=True, max_open=True)


def _day(_ctx: click.Context, _parameter: click.Parameter, value: datetime | None) -> date | None:
    return value.date() if value is not None else None


@click.command()
@click.option("--step", multiple=True, metavar="ID", help="Only this step, and how it goes over time; may be repeated.")
@click.option("--technique", multiple=True, metavar="ID", help="Only operations with this technique, device or agent.")
@click.option("--finding", multiple=True, metavar="ID", help="Only eyes that have this.")
@click.option("--since", type=DAY, callback=_day, help="Only operations from this day on.")
@click.option("--until", type=DAY, callback=_day, help="Only operations up to this day.")
@click.option("--operator", metavar="NAME", help="Only operations by this person, by pseudonym.")
@click.option(
    "--beside", metavar="ID|DAY", help="Compare those with this finding, technique or device, or since this day."
)
@click.option("--event", metavar="ID", help="Sum up a yes/no event over all operations.")
@click.option("--acceptable", type=RATE, metavar="RATE", help="The rate of the event that you accept, such as 0.02.")
@click.option("--unacceptable", type=RATE, metavar="RATE", help="The rate that you do not, such as 0.05.")
@click.option("--proposals", is_flag=True, help="Count steps that nobody confirmed too; every figure then says so.")
@click.option("--json", "as_json", is_flag=True, help="One JSON object; times in seconds.")
@click.option("--csv", "as_csv", is_flag=True, help="A table; times in seconds.")
@click.pass_obj
def times(setup: Any, /, as_json: bool, as_csv: bool, **wanted: Any) -> None:
    """Say how long steps took, in whole recordings and step logs. Counted is what a person confirmed.

    Faster is not better: times are for looking at your own work, and rank nobody.

    \b
    Example:
      scrubmark times
      scrubmark times --step capsulorhexis --beside small-pupil
      scrubmark times --event posterior-capsule-rupture --acceptable 0.02 --unacceptable 0.05
    """
    if as_json and as_csv:
        raise click.UsageError("Choose --json or --csv.")
    from indexer.console import opening, timing

    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        told = timing.tell(library, timing.Wanted(**wanted))
    if as_json or as_csv:
        click.echo(timing.as_json(told) if as_json else timing.as_csv(told), nl=as_json)
    else:
        timing.show(told)


@click.command()
@click.argument("table", type=FILE)
@click.option(
    "--step", "step", default="step", show_default=True, metavar="COLUMN", help="Heading over the steps' names."
)
@click.option("--time", "time", metavar="COLUMN", help="Heading over the times at which they begin (7:05, 425.2).")
@click.option("--frame", metavar="COLUMN", help="Heading over frame numbers, instead of times.")
@click.option("--rate", metavar="FRAMES", help="Frames a second, such as 25 or 30000/1001.")
@click.option(
    "--operation", metavar="COLUMN", help="Heading over what tells operations apart; without it there is one."
)
@click.option("--date", "date", metavar="COLUMN", help="Heading over days of operation, as 2026-03-31.")
@click.option("--ends", metavar="TIME", help="Time or frame at which the operation was over, where no line says “end”.")
@click.option(
    "--call", "calls", multiple=True, metavar="NAME=STEP", help="What a name in the log means; nothing: no step."
)
@click.option("--title", default="", help="Stands before the name of each operation.")
@click.option("--day", type=DAY, callback=_day, help="Day of operation, where no column has it.")
@click.option("--eye", type=click.Choice(["right", "left"]))
@click.option("--finding", "findings", multiple=True, metavar="ID", help="What these eyes have; may be repeated.")
@click.option("--used", multiple=True, metavar="ID", help="A technique, device, agent or event of these operations.")
@click.option("--operator", metavar="NAME", help="Who operated, under a pseudonym.")
@click.pass_obj
def steplog(setup: Any, /, table: Path, calls: tuple[str, ...], **options: Any) -> None:
    """Take in a CSV table of step changes: each operation becomes a case without a film, whose times count.

    The last line of an operation has the step “end”. Lines that cannot be read are named and left out. Names of
    operations become titles: use numbers of your own, never those of patients.

    \b
    Example:
      scrubmark steplog changes.csv --step Phase --frame FrameNo --rate 25 --operation Film --call 1=main-incision
    """
    from indexer.console import opening, timing
    from indexer.timing.step_log import LogColumns

    columns = LogColumns(**{name: options.pop(name) for name in tuple(LogColumns.model_fields)})
    with opening.opened(opening.settings(setup.library, setup.ffmpeg)) as library:
        log, taken = timing.log_in(library, table, columns, calls, options)
        if timing.show_log(table, log, taken):
            raise click.exceptions.Exit(1)
