"""The command that makes a clip for others: what it takes. What does the work loads when it runs."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

FILE = click.Path(path_type=Path, dir_okay=False)


@click.command()
@click.argument("case")
@click.argument("start")
@click.argument("end")
@click.argument("film", type=FILE)
@click.option(
    "--audience",
    type=click.Choice(["teaching", "public"]),
    default="teaching",
    show_default=True,
    help="Who is to get it.",
)
@click.option("--purpose", default="", help="What for, where the consent was given for one purpose only.")
@click.option("--recording", type=click.IntRange(1), default=1, show_default=True, help="Which recording of the case.")
@click.pass_obj
def give(setup: Any, /, film: Path, **wanted: Any) -> None:
    """Make a clip that may leave: asked of the consent, text in the picture covered, names taken out, read again.

    The sound goes along only where somebody has listened to all of the stretch. What is still found in the clip keeps
    it inside the library, with the reasons. Look at it yourself before you give it away.

    \b
    Example:
      scrubmark give "Small pupil, ring" 2:10 3:05 ring.mp4 --purpose "courses here"
    """
    from indexer.console import giving, opening

    settings = opening.settings(setup.library, setup.ffmpeg)
    with opening.opened(settings) as library:
        giving.give(library, settings, giving.Wanted(**wanted), film)
