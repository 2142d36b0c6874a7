"""The cases that a card seems to hold, in a table to confirm."""

from __future__ import annotations

import re
import sys
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

import click

from indexer.intake.cards import Card, Proposal
from indexer.intake.naming import title_for

WIDE = 200


def show(card: Card, folder: Path) -> None:
    """Write the table, and the transcripts that go with nothing."""
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    table = Table(box=None, pad_edge=False, padding=(0, 2))
    for heading, side in (("", "right"), ("case", "left"), ("files", "left"), ("size", "right"), ("written", "left")):
        table.add_column(heading, justify="right" if side == "right" else "left", overflow="fold")
    table.add_column("transcript", overflow="fold")
    for number, each in enumerate(card.proposals, start=1):
        cells = (str(number), title_for(each.recordings), files(each, folder), size(each.size), written(each))
        table.add_row(*map(Text, cells), Text(each.transcript.name if each.transcript else "none"))
    click.echo(f"What {folder} seems to hold:")
    # Into a pipe or a file, rows are not folded to the width of some terminal.
    Console(width=None if sys.stdout.isatty() else WIDE, highlight=False).print(table)
    for path in card.lone_transcripts:
        click.echo(f"No film goes with the transcript {path.relative_to(folder)}.")


def files(proposal: Proposal, folder: Path) -> str:
    """The part files of a case."""
    first = proposal.parts[0].path.relative_to(folder)
    if len(proposal.parts) == 1:
        return str(first)
    return f"{first} … {proposal.parts[-1].path.name} ({len(proposal.parts)} parts)"


def size(count: int) -> str:
    """Bytes as people say them."""
    for unit, bytes_ in (("GB", 10**9), ("MB", 10**6), ("kB", 10**3)):
        if count >= bytes_:
            return f"{count / bytes_:.1f} {unit}"
    return f"{count} bytes"


def written(proposal: Proposal) -> str:
    """When the first file was last changed."""
    try:
        return f"{datetime.fromtimestamp(proposal.parts[0].changed_s):%Y-%m-%d %H:%M}"
    except (OSError, OverflowError, ValueError):
        return "unknown"


def confirmed(proposals: Sequence[Proposal]) -> list[Proposal]:
    """Ask which to add: all, none, or all but some numbers."""
    many = len(proposals)
    asked = f"Add {'this case' if many == 1 else f'these {many} cases'}? (y, n, or the numbers to leave out)"
    while True:
        answer = click.prompt(asked, default="y", err=True).strip().lower()
        if answer in ("y", "yes"):
            return list(proposals)
        if answer in ("n", "no"):
            return []
        numbers = [int(each) for each in re.findall(r"[0-9]+", answer)]
        if numbers and all(1 <= number <= many for number in numbers):
            return [each for number, each in enumerate(proposals, start=1) if number not in numbers]
        click.echo(f"Please answer y, n, or numbers from 1 to {many}.", err=True)
