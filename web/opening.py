"""What the commands `serve` and `demo` do."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import click

from demo_clips import DemoOperation, make_demo
from demo_clips.step_logs import NOTHING, make_step_logs
from indexer import cautions
from indexer.catalogue.library import Library
from indexer.config import Settings, default_library
from indexer.console import adding, opening
from indexer.console.outcomes import tell_outcomes
from indexer.errors import LibraryBusy
from indexer.intake import river
from indexer.models import CaseDraft, Kind
from web import serving

STEP = 0.1
"""Where nobody watches a bar, a line is written for each tenth of the drawing."""


def serve(library: Path | None, ffmpeg: str | None, *, host: str | None, port: int | None) -> None:
    """Serve the library until stopped; what is unfinished goes on beside."""
    chosen = opening.settings(library, ffmpeg, host=host, port=port)
    with opening.opened(chosen) as opened:
        show(opened, chosen)


def show(library: Library, chosen: Settings) -> None:
    """Serve a library and say where."""
    going_on = threading.Thread(target=_go_on, args=(library, chosen), name="resume", daemon=True)
    going_on.start()

    def announce(address: str) -> None:
        click.echo(f"Open {address} in a browser. Stop with Ctrl+C.")
        click.echo(cautions.SHORT, err=True)

    serving.serve(library, chosen, announce)
    if going_on.is_alive():
        sys.stdout.flush()
        # Stopped means now; what is cut off goes on at the next start.
        os._exit(0)


def _go_on(library: Library, chosen: Settings) -> None:
    try:
        tell_outcomes(river.go_on(library, chosen))
    except LibraryBusy:
        # Another process is at it already.
        return


def demo(folder: Path | None, ffmpeg: str | None, *, port: int | None, stay: bool) -> None:
    """Make the demo where it is not made yet, and serve it; exit 1 where a film of it could not be added."""
    place = (folder or default_library().parent / "demo").absolute()
    chosen = opening.settings(place / "library", ffmpeg, port=port)
    with _drawn() as tell:
        operations = make_demo(place / "films", tell, settings=chosen)
    with opening.opened(chosen) as library:
        drafts = _new(library, operations)
        if (drafts or library.unfinished_jobs()) and adding.run(library, chosen, drafts):
            raise click.exceptions.Exit(1)
        _take_logs(library, place / "logs")
        filmed = sum(Kind.LOGGED not in case.kinds for case in library.cases(library.owner))
        click.echo(f"{filmed} invented operations are in {library.folder}.")
        if stay:
            show(library, chosen)


def _take_logs(library: Library, folder: Path) -> None:
    """Operations that were only logged, for the page about times."""
    from indexer.timing.step_log import LogColumns, read_log
    from indexer.timing.taking_logs import LogDetails, take

    columns = LogColumns(operation="operation", date="date")
    many = 0
    for log in make_step_logs(folder):
        read = read_log(log.path, columns, {NOTHING: ""}, library.vocabulary)
        details = LogDetails(title=log.title, operator=log.operator, findings=log.findings, used=log.used)
        many += len(take(library, read.operations, details).added)
    if many:
        click.echo(f"{many} more came in as step logs, for the page about times.", err=True)


def _new(library: Library, operations: Sequence[DemoOperation]) -> list[CaseDraft]:
    """Drafts of the operations that are not in the library yet."""
    there = {case.title for case in library.cases(library.owner)}
    return [draft_of(each) for each in operations if each.title not in there]


def draft_of(operation: DemoOperation) -> CaseDraft:
    """An invented operation as it is added."""
    return CaseDraft.model_validate(
        {
            "title": operation.title,
            "sources": operation.recordings,
            "kind": Kind(operation.kind),
            "eye": operation.eye,
            "findings": operation.findings,
            "operator": operation.operator,
            "release": operation.release,
            "consent_evidence": "invented for the demo",
            "transcript": operation.transcript,
        }
    )


@contextmanager
def _drawn() -> Iterator[Callable[[str, float], None]]:
    """How far the drawing is: a bar on a terminal, elsewhere a line now and then."""
    if not sys.stderr.isatty():
        told = -1.0

        def write(doing: str, share: float) -> None:
            nonlocal told
            if share - told >= STEP or (share >= 1 > told):
                told = share
                click.echo(f"{share:4.0%}  {doing}", err=True)

        yield write
        return
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bars:
        drawing = bars.add_task("Drawing", total=1.0)
        yield lambda doing, share: bars.update(drawing, completed=share, description=doing)
