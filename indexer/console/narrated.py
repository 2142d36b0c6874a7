"""Laying a narration that was recorded apart onto its film, and what is printed of it."""

from __future__ import annotations

from pathlib import Path

import click

from indexer.config import Settings
from indexer.errors import BadInput
from indexer.footage import laying_sound
from indexer.timespan import clock


def narrate(chosen: Settings, film: Path, narration: Path, at_s: float | None, out: Path | None) -> None:
    """Lay the narration by what both have heard, or at `at_s`, and write the film with it.

    Raises BadInput where no place is sure and none was named, RecordingUnreadable, ToolFailed.
    """
    for path in (film, narration):
        if not path.is_file():
            raise BadInput(f"{path}: there is no such file.")
    target = out or film.with_name(f"{film.stem}-narrated.mp4")
    if target.exists() and (target.samefile(film) or target.samefile(narration)):
        raise BadInput(f"{target} is one of the two files themselves. Choose another name.")
    offset_ms = _found(chosen, film, narration) if at_s is None else round(at_s * 1000)
    laying_sound.put_on(film, narration, offset_ms, target, chosen)
    click.echo(f"{target}: the narration begins at {clock(offset_ms, tenths=True)} of the film.")


def _found(chosen: Settings, film: Path, narration: Path) -> int:
    laid = laying_sound.place(film, narration, chosen)
    if laid.confidence < laying_sound.SURE:
        raise BadInput(
            f"where {narration} belongs cannot be told for sure from its sound (best guess {laid.offset_ms / 1000:.1f} s). "
            "Say with --at when it begins, in seconds of the film."
        )
    return laid.offset_ms
