"""A look through the library for damage, missing files and leftovers."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from sqlalchemy import Connection, func, select, text

from indexer.catalogue.tables import jobs, parts, recordings, segments, spoken_texts, transcripts
from indexer.models import JobState, LibraryFault, Standing


def check(connection: Connection, folder: Path) -> list[LibraryFault]:
    """All faults with what to do about each."""
    return [
        *_damage(connection),
        *_originals(connection),
        *_media(connection, folder / "media"),
        *_words(connection),
        *_unfinished(connection),
    ]


def _damage(connection: Connection) -> Iterator[LibraryFault]:
    if connection.dialect.name != "sqlite":
        return
    for (said,) in connection.execute(text("PRAGMA quick_check(5)")):
        if said != "ok":
            yield LibraryFault(what=f"The catalogue is damaged: {said}", remedy="Restore it from a backup.")
    broken = len(connection.execute(text("PRAGMA foreign_key_check")).all())
    if broken:
        yield LibraryFault(what=f"{broken} rows refer to nothing", remedy="Restore the catalogue from a backup.")


def _originals(connection: Connection) -> Iterator[LibraryFault]:
    away = [path for (path,) in connection.execute(select(parts.c.path)) if not Path(path).is_file()]
    for path in away:
        yield LibraryFault(
            what=f"Not there now: {path}", remedy="Connect its drive, or put the file back.", passing=True
        )


def _media(connection: Connection, media: Path) -> Iterator[LibraryFault]:
    known = {row.id: row for row in connection.execute(select(recordings))}
    going_on = set(connection.scalars(select(jobs.c.recording_id).where(jobs.c.state != JobState.DONE)))
    for recording_id, row in known.items():
        wanted = [media / recording_id / row.film] if row.film else []
        wanted += [media / recording_id / "stills" / f"{at}.jpg" for at in row.stills_ms]
        missing = [path for path in wanted if not path.is_file()]
        if missing:
            yield LibraryFault(
                what=f"{len(missing)} files made from recording {recording_id} are missing, first {missing[0]}",
                remedy="Restore the media folder from a backup, or add the recording again.",
            )
    found = {path.name for path in media.iterdir()} if media.is_dir() else set()
    for name in sorted(found - set(known) - going_on):
        yield LibraryFault(what=f"{media / name} belongs to no recording", remedy="It can be deleted.")


def _words(connection: Connection) -> Iterator[LibraryFault]:
    """Segments of recordings with a transcript whose words cannot be looked up."""
    unlisted = (
        select(func.count())
        .select_from(segments)
        .join(transcripts, transcripts.c.recording_id == segments.c.recording_id)
        .join(spoken_texts, spoken_texts.c.segment_key == segments.c.key, isouter=True)
        .where(segments.c.standing != Standing.REFUSED, spoken_texts.c.segment_key.is_(None))
    )
    many = connection.scalar(unlisted)
    if many:
        yield LibraryFault(what=f"The words of {many} passages are not listed", remedy="Tag these recordings again.")


def _unfinished(connection: Connection) -> Iterator[LibraryFault]:
    for row in connection.execute(select(jobs).where(jobs.c.state == JobState.RUNNING)):
        yield LibraryFault(
            what=f"An intake stopped after {row.stage or 'its beginning'}: {row.draft['title']}",
            remedy="Add something, or the same again: it goes on by itself.",
        )
