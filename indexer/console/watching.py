"""How far an intake is, drawn on a terminal; nothing where nobody watches."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from indexer.intake.outcomes import Headway, Tell, tell_nobody


@contextmanager
def watched(recordings: int) -> Iterator[Tell]:
    """A progress bar for each recording that is worked on, and one for all; on a terminal only."""
    if not sys.stderr.isatty():
        yield tell_nobody
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TaskID, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.fields[title]:<38}"), BarColumn(24), TextColumn("{task.fields[doing]}"))
    with Progress(*columns, TimeElapsedColumn(), console=Console(stderr=True), transient=True) as bars:
        whole = bars.add_task("", total=max(1, recordings), title="All recordings", doing="", visible=recordings > 1)
        going: dict[str, TaskID] = {}

        def tell(headway: Headway) -> None:
            if headway.share >= 1:
                bars.advance(whole)
                if headway.job_id in going:
                    bars.remove_task(going.pop(headway.job_id))
                return
            if headway.job_id not in going:
                going[headway.job_id] = bars.add_task("", total=1.0, title=short(headway.title), doing="")
            bars.update(going[headway.job_id], completed=headway.share, doing=headway.doing)

        yield tell


def short(title: str, longest: int = 38) -> str:
    """A title that fits into a column."""
    return title if len(title) <= longest else title[: longest - 1] + "…"
