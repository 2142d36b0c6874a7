"""Cutting a clip, of a case in the library or of a film on the disk, and what is printed of it."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

import click

from indexer.catalogue.library import Library
from indexer.config import Settings
from indexer.console import opening
from indexer.errors import BadInput, NotAllowed, NotFound
from indexer.models import RecordingDetail
from indexer.timespan import Span, clock, parse_clock


class Wish(NamedTuple):
    """What is to be cut, as it was asked for."""

    what: str
    """A case by id or title, a recording by id, or the path of a film."""
    begin: str
    end: str
    out: Path | None


def cut(chosen: Settings, wish: Wish) -> None:
    """Cut a clip and say where it lies. Raises BadInput, NotFound, NotAllowed, RecordingUnreadable, ToolFailed."""
    span = _span(wish)
    path = Path(wish.what)
    if path.is_file():
        _cut_film(chosen, path, span, wish)
        return
    with opening.opened(chosen) as library:
        _keep(library, _recording(library, wish.what), span, wish, chosen)


def _span(wish: Wish) -> Span:
    begin, end = parse_clock(wish.begin), parse_clock(wish.end)
    for text, read in ((wish.begin, begin), (wish.end, end)):
        if read is None:
            raise BadInput(f"{text} is no time. Write seconds (75.2), or minutes and seconds (1:15.2).")
    return Span(begin or 0, end or 0)


def _recording(library: Library, what: str) -> RecordingDetail:
    """The recording with this id, or the only one of the case. Raises NotFound, BadInput."""
    for case in library.cases(library.owner):
        recordings = library.case(library.owner, case.id).recordings
        if what in (case.id, case.title):
            if len(recordings) != 1:
                named = ", ".join(each.id for each in recordings)
                raise BadInput(f"{case.title} has {len(recordings)} recordings. Name one: {named}.")
            return recordings[0]
        for recording in recordings:
            if recording.id == what:
                return recording
    raise NotFound(f"case, recording or film {what!r}")


def _keep(library: Library, recording: RecordingDetail, span: Span, wish: Wish, chosen: Settings) -> None:
    """A clip for own use, which stays in the library's folder; anywhere else it has left."""
    from indexer.footage.cutting import cut as cut_out

    folder = library.media(recording.id) / "clips"
    target = wish.out or folder / f"{span.start_ms}-{span.end_ms}.mp4"
    if not target.absolute().resolve().is_relative_to(library.folder.resolve()):
        raise NotAllowed(f"{target} is outside the library", "make a clip that leaves with `scrubmark give`.")
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    clip = cut_out([recording.film], (), span.start_ms, span.end_ms, target, chosen, whole=False)
    clip.path.chmod(0o600)
    _say(clip.path, span, clip.copied, clip.encoded)


def _cut_film(chosen: Settings, path: Path, span: Span, wish: Wish) -> None:
    """A clip of a film on the disk; one that the library has is asked for by its case, since a consent goes with it."""
    from indexer.footage.cutting import cut as cut_out
    from indexer.footage.probing import probe

    known = probe(path, chosen)
    if (chosen.library / "catalogue.sqlite").is_file():
        with opening.opened(chosen) as library:
            case_id = library.known_hash(known.content_hash)
        if case_id is not None:
            raise NotAllowed(str(path), f"it belongs to a case of the library. Name the case instead: {case_id}.")
    target = wish.out or path.with_name(f"{path.stem}-{span.start_ms}-{span.end_ms}.mp4")
    if target.exists() and target.samefile(path):
        raise BadInput(f"{target} is the film itself. Choose another name for the clip.")
    clip = cut_out([path], [known], span.start_ms, span.end_ms, target, chosen, whole=False)
    _say(clip.path, span, clip.copied, clip.encoded)


def _say(path: Path, span: Span, copied: int, encoded: int | None) -> None:
    how = "wholly encoded" if encoded is None else f"{copied} pictures copied, {encoded} encoded"
    click.echo(f"{path}: {clock(span.length_ms, tenths=True)}, {how}")
