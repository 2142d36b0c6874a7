"""Deeds on the steps of a recording: done, kept with their history, taken back and done again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Connection, Row, Select, delete, func, insert, select, update

from indexer.catalogue.deciding import fits, keep_event, who_changed
from indexer.catalogue.marking_tables import deed_events, deeds
from indexer.catalogue.naming import new_id
from indexer.catalogue.reshaping import reshape
from indexer.catalogue.rows import end_of, evidence_of, segment_row, start_of
from indexer.catalogue.tables import cases, events, persons, recordings, segments
from indexer.catalogue.visibility import visible
from indexer.catalogue.writing import settle_marks
from indexer.consent import Viewer
from indexer.errors import BadInput, Conflict, NotAllowed, NotFound
from indexer.models import Segment, Standing
from indexer.models.marking import Deed, DeedLine
from indexer.vocabulary.vocabulary import Vocabulary

OURS = ("id", "case_id", "recording_id", "version")
"""Columns of a segment that say which one it is and how often it changed, not what it says."""
LATELY = 12


def do(connection: Connection, viewer: Viewer, recording_id: str, deed: Deed, vocabulary: Vocabulary) -> None:
    """Do a deed and keep its events. Raises NotFound, NotAllowed, Conflict, BadInput; then nothing is changed."""
    recording = _recording(connection, viewer, recording_id)
    _needs_marker(viewer, recording)
    if deed.step is not None:
        fits("segment", deed.step, vocabulary)
    rows = _rows(connection, recording_id)
    if deed.segment in deed.seen and deed.segment not in rows:
        raise Conflict("This step", who_changed(connection, str(deed.segment)))
    marks = {mark: _segment(row) for mark, row in rows.items() if row.standing != Standing.REFUSED}
    changes = reshape(marks, deed, new_id(), recording.length_ms, viewer.pseudonym)
    if not changes:
        raise BadInput("No step goes on there.")
    for mark in changes.keys() & rows.keys():
        if deed.seen.get(mark) != rows[mark].version:
            raise Conflict("This step", who_changed(connection, mark))
    wanted = {mark: None if new is None else _content(new, recording) for mark, new in changes.items()}
    kept = _put(connection, viewer, recording, rows, wanted)
    # What was taken back cannot be done again once something else is done; its events stay.
    connection.execute(delete(deeds).where(*_mine(viewer, recording_id), deeds.c.undone))
    values = {"recording_id": recording_id, "person_id": viewer.person_id, "at": datetime.now(UTC)}
    done = insert(deeds).values(**values, verb=deed.verb, undone=False).returning(deeds.c.id)
    deed_id = connection.execute(done).scalar_one()
    connection.execute(insert(deed_events), [{"deed_id": deed_id, "event_id": event} for event in kept])


def undo(connection: Connection, viewer: Viewer, recording_id: str) -> None:
    """Take back the viewer's last deed. Raises NotFound, NotAllowed, BadInput, Conflict where others went on from it."""
    _again(connection, viewer, recording_id, _last(connection, viewer, recording_id), back=True)


def redo(connection: Connection, viewer: Viewer, recording_id: str) -> None:
    """Do again what the viewer took back last, as long as nothing new was done. Raises as `undo`."""
    _again(connection, viewer, recording_id, _next(connection, viewer, recording_id), back=False)


def may_mark(connection: Connection, viewer: Viewer, recording_id: str) -> bool:
    """Whether the viewer may change the steps. Raises NotFound."""
    return _marks(viewer, _recording(connection, viewer, recording_id))


def can(connection: Connection, viewer: Viewer, recording_id: str) -> tuple[str | None, str | None]:
    """Verbs of what the viewer's undo and redo would do."""
    back, on = _last(connection, viewer, recording_id), _next(connection, viewer, recording_id)
    return (back.verb if back else None), (on.verb if on else None)


def lately(connection: Connection, recording_id: str) -> tuple[DeedLine, ...]:
    """The last deeds on a recording that the viewer was found to see, newest first."""
    chosen = select(deeds, persons.c.pseudonym).join(persons, persons.c.id == deeds.c.person_id)
    rows = connection.execute(chosen.where(deeds.c.recording_id == recording_id).order_by(deeds.c.id.desc()))
    return tuple(
        DeedLine(verb=row.verb, by=row.pseudonym, at=row.at, undone=row.undone) for row in rows.fetchmany(LATELY)
    )


def _recording(connection: Connection, viewer: Viewer, recording_id: str) -> Row[Any]:
    chosen: Select[Any] = select(recordings.c.id, recordings.c.case_id, recordings.c.length_ms, cases.c.operator_id)
    chosen = chosen.join(cases, cases.c.id == recordings.c.case_id).where(visible(viewer, date.today()))
    row = connection.execute(chosen.where(recordings.c.id == recording_id)).one_or_none()
    if row is None:
        raise NotFound(f"recording {recording_id!r}")
    return row


def _marks(viewer: Viewer, recording: Row[Any]) -> bool:
    return viewer.person_id is not None and (viewer.owns or viewer.person_id == recording.operator_id)


def _needs_marker(viewer: Viewer, recording: Row[Any]) -> None:
    if not _marks(viewer, recording):
        raise NotAllowed("Marking steps", "it is for the surgeon who operated and for the owner of the library.")


def _rows(connection: Connection, recording_id: str) -> dict[str, Row[Any]]:
    chosen = select(segments).where(segments.c.recording_id == recording_id)
    return {row.id: row for row in connection.execute(chosen)}


def _segment(row: Row[Any]) -> Segment:
    return Segment(
        step=row.step,
        start=start_of(row),
        end=end_of(row),
        confidence=row.confidence,
        standing=Standing(row.standing),
        evidence=evidence_of(row.evidence),
    )


def _content(segment: Segment, recording: Row[Any]) -> dict[str, Any]:
    row = segment_row(segment, recording.case_id, recording.id)
    return {name: value for name, value in row.items() if name not in OURS}


def _kept(row: Row[Any] | None) -> dict[str, Any]:
    """What a segment says, as an event keeps it; empty where there is none."""
    return {name: value for name, value in row._mapping.items() if name not in (*OURS, "key")} if row else {}


def _put(
    connection: Connection,
    viewer: Viewer,
    recording: Row[Any],
    rows: Mapping[str, Row[Any]],
    wanted: Mapping[str, Mapping[str, Any] | None],
) -> list[int]:
    """Make segments say what is wanted (None: be gone), with an event each; ids of the events."""
    kept = []
    for mark, content in wanted.items():
        row, mine = rows.get(mark), segments.c.id == mark
        if content is None:
            connection.execute(delete(segments).where(mine))
        elif row is None:
            place = {"id": mark, "case_id": recording.case_id, "recording_id": recording.id}
            connection.execute(insert(segments).values(**place, **content, version=_unseen(connection, mark)))
        else:
            same = segments.c.version == row.version
            changed = (
                update(segments).where(mine, same).values(**content, version=_unseen(connection, mark, row.version))
            )
            if connection.execute(changed).rowcount != 1:
                raise Conflict("This step", who_changed(connection, mark))
        kept.append(keep_event(connection, viewer, recording.case_id, "segment", mark, _kept(row), dict(content or {})))
    _apart(connection, recording.id)
    settle_marks(connection, recording.id)
    return kept


def _unseen(connection: Connection, mark: str, version: int = 0) -> int:
    """A version that a segment never had before, also where it was away in between: its events are counted too."""
    many = connection.scalar(select(func.count()).where(events.c.mark == "segment", events.c.mark_id == mark)) or 0
    return max(version, int(many)) + 1


def _apart(connection: Connection, recording_id: str) -> None:
    chosen = select(segments.c.step, segments.c.start_ms, segments.c.end_ms).where(
        segments.c.recording_id == recording_id, segments.c.standing != Standing.REFUSED
    )
    end_ms = 0
    for row in connection.execute(chosen.order_by(segments.c.start_ms)):
        if row.start_ms < end_ms:
            raise Conflict("This stretch", f"there is {row.step} now")
        end_ms = row.end_ms


def _mine(viewer: Viewer, recording_id: str) -> tuple[Any, Any]:
    return deeds.c.recording_id == recording_id, deeds.c.person_id == viewer.person_id


def _last(connection: Connection, viewer: Viewer, recording_id: str) -> Row[Any] | None:
    newest = select(deeds).where(*_mine(viewer, recording_id), ~deeds.c.undone).order_by(deeds.c.id.desc())
    return connection.execute(newest.limit(1)).one_or_none()


def _next(connection: Connection, viewer: Viewer, recording_id: str) -> Row[Any] | None:
    """The oldest deed that was taken back and could be done again."""
    oldest = select(deeds).where(*_mine(viewer, recording_id), deeds.c.undone).order_by(deeds.c.id)
    return connection.execute(oldest.limit(1)).one_or_none()


def _again(connection: Connection, viewer: Viewer, recording_id: str, deed: Row[Any] | None, *, back: bool) -> None:
    recording = _recording(connection, viewer, recording_id)
    _needs_marker(viewer, recording)
    if deed is None:
        raise BadInput("There is nothing to take back." if back else "There is nothing to do again.")
    rows, wanted = _rows(connection, recording_id), {}
    written = select(events).join(deed_events, deed_events.c.event_id == events.c.id)
    for event in connection.execute(written.where(deed_events.c.deed_id == deed.id)):
        left, to = (event.after, event.before) if back else (event.before, event.after)
        if _kept(rows.get(event.mark_id)) != left:
            raise Conflict("This step", who_changed(connection, event.mark_id))
        wanted[event.mark_id] = to or None
    _put(connection, viewer, recording, rows, wanted)
    connection.execute(update(deeds).where(deeds.c.id == deed.id).values(undone=back))
