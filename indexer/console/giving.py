"""A clip for others: asked, made, and what came of it said."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import click

from indexer import timespan
from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.consent import Release
from indexer.errors import BadInput, NotFound
from indexer.leaving.clips import Left, leave_clip
from indexer.models.cases import CaseDetail


class Wanted(NamedTuple):
    """What is to be given: which stretch of which case, to whom and what for."""

    case: str
    start: str
    end: str
    audience: str
    purpose: str
    recording: int


def give(library: Library, settings: Settings, wanted: Wanted, target: Path) -> Left:
    """Make the clip and say what came of it. Raises NotAllowed, NotFound, BadInput and what cutting raises."""
    case = _case(library, wanted.case)
    if not 1 <= wanted.recording <= len(case.recordings):
        raise NotFound(f"recording number {wanted.recording} in this case")
    start, end = (timespan.parse_clock(text) for text in (wanted.start, wanted.end))
    if start is None or end is None:
        raise BadInput("a time is written like 7:05 or 1:02:03.5.")
    left = leave_clip(
        library,
        library.owner,
        case.recordings[wanted.recording - 1].id,
        timespan.Span(start, end),
        Release(wanted.audience),
        target,
        settings,
        purpose=wanted.purpose,
    )
    _say(left)
    return left


def _case(library: Library, name: str) -> CaseDetail:
    found = [case.id for case in library.cases(library.owner) if name in (case.id, case.title)]
    if len(found) != 1:
        raise NotFound(f"case {name!r}") if not found else BadInput(f"{len(found)} cases are called so. Name the id.")
    return library.case(library.owner, found[0])


def _say(left: Left) -> None:
    for remark in left.remarks:
        click.echo(remark)
    if left.withheld:
        click.echo(f"Withheld. It was read again, and something is left in it. Look at {left.to_look_at}:", err=True)
        for reason in left.withheld:
            click.echo(f"  {reason}", err=True)
        raise click.exceptions.Exit(1)
    click.echo(f"{left.film} may leave. Look at it before you give it away.")
    if left.captions:
        click.echo(f"Its captions: {left.captions}")
    if left.until:
        click.echo(f"The consent holds until {left.until.isoformat()}.")
