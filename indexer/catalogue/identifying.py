"""The library's own list of names, decisions on identifiers, stretches listened to, and shifted dates.

All of it is for the owner, and, of a single case, for whoever operated it; the list of the whole library is shown to
the owner alone, since it names everybody.
"""

from __future__ import annotations

import secrets
from collections.abc import Iterable
from datetime import UTC, datetime

from sqlalchemy import Connection, delete, func, insert, or_, select

from indexer.catalogue.identifier_tables import date_shifts, heard_stretches, identifier_decisions, known_names
from indexer.catalogue.tables import cases, persons, recordings
from indexer.consent import Viewer
from indexer.errors import BadInput, NotAllowed, NotFound
from indexer.models.identifying import DecidedIdentifier, IdentifierDecision, IdentifierKind, KnownName, ListedName
from indexer.timespan import Span

LEAST_SHIFT, MOST_SHIFT = 30, 365
"""Days by which the dates of a case are moved, to the past."""
FEWEST_LETTERS = 2


# Who may


def _needs_owner(viewer: Viewer) -> None:
    if not viewer.owns:
        raise NotAllowed("The list of names", "it is for the owner of the library.")


def _may_decide(connection: Connection, viewer: Viewer, case_id: str | None) -> None:
    """Owner or operator of the case. NotFound where there is no such case, or it is not theirs."""
    if case_id is None:
        if not viewer.owns:
            raise NotAllowed("Deciding for the whole library", "it is for the owner of the library.")
        return
    operator = connection.execute(select(cases.c.operator_id).where(cases.c.id == case_id)).one_or_none()
    own = operator is not None and viewer.person_id is not None and operator[0] == viewer.person_id
    if operator is None or not (viewer.owns or own):
        raise NotFound("case of yours with that id")


# Names


def add_name(connection: Connection, viewer: Viewer, name: KnownName, case_id: str | None) -> int:
    """Add to the list, once; give the entry's id. Raises NotAllowed, NotFound, BadInput."""
    _needs_owner(viewer)
    _may_decide(connection, viewer, case_id)
    text = " ".join(name.text.split())
    if sum(letter.isalnum() for letter in text) < FEWEST_LETTERS:
        raise BadInput(f"A name has at least {FEWEST_LETTERS} letters or digits.")
    same = select(known_names.c.id).where(
        known_names.c.kind == name.kind,
        func.lower(known_names.c.text) == text.lower(),
        known_names.c.case_id.is_(None) if case_id is None else known_names.c.case_id == case_id,
    )
    there = connection.execute(same).scalar()
    if there is not None:
        return int(there)
    values = {"kind": name.kind.value, "text": text, "case_id": case_id, "added_by_id": viewer.person_id}
    made = insert(known_names).values(**values, added_at=datetime.now(UTC)).returning(known_names.c.id)
    return int(connection.execute(made).scalar_one())


def remove_name(connection: Connection, viewer: Viewer, name_id: int) -> None:
    """Take an entry off the list. Raises NotAllowed, NotFound."""
    _needs_owner(viewer)
    if not connection.execute(delete(known_names).where(known_names.c.id == name_id)).rowcount:
        raise NotFound(f"name number {name_id}")


def names(connection: Connection, viewer: Viewer) -> list[ListedName]:
    """The whole list, oldest first. Raises NotAllowed."""
    _needs_owner(viewer)
    rows = connection.execute(
        select(known_names, persons.c.pseudonym)
        .join(persons, persons.c.id == known_names.c.added_by_id)
        .order_by(known_names.c.id)
    )
    return [
        ListedName(
            id=row.id,
            kind=IdentifierKind(row.kind),
            text=row.text,
            case_id=row.case_id,
            added_by=row.pseudonym,
            added_at=row.added_at,
        )
        for row in rows
    ]


def names_for_search(connection: Connection, viewer: Viewer, case_id: str) -> list[KnownName]:
    """What is listened for in a case: the whole list, for whoever may decide about the case; not to be shown."""
    _may_decide(connection, viewer, case_id)
    rows = connection.execute(select(known_names.c.kind, known_names.c.text).distinct())
    return [KnownName(kind=IdentifierKind(row.kind), text=row.text) for row in rows]


# Decisions


def decide(connection: Connection, viewer: Viewer, decision: IdentifierDecision) -> None:
    """Keep what was decided; it holds for all equal findings from now on. Raises NotFound, NotAllowed, BadInput."""
    _may_decide(connection, viewer, decision.case_id)
    reason = " ".join(decision.reason.split())
    if not decision.remove and not reason:
        raise BadInput("An identifier is only kept for a reason. Say why it may stay.")
    connection.execute(
        insert(identifier_decisions).values(
            key=decision.key,
            case_id=decision.case_id,
            remove=decision.remove,
            reason=reason,
            decided_by_id=viewer.person_id,
            decided_at=datetime.now(UTC),
        )
    )


def decisions(connection: Connection, viewer: Viewer, case_id: str) -> list[DecidedIdentifier]:
    """What holds in a case: the newest on each key, of the case and of the library. Raises NotFound."""
    _may_decide(connection, viewer, case_id)
    rows = connection.execute(
        select(identifier_decisions, persons.c.pseudonym)
        .join(persons, persons.c.id == identifier_decisions.c.decided_by_id)
        .where(or_(identifier_decisions.c.case_id == case_id, identifier_decisions.c.case_id.is_(None)))
        .order_by(identifier_decisions.c.id)
    )
    newest = {(row.key, row.case_id): row for row in rows}
    return [
        DecidedIdentifier(
            key=row.key,
            case_id=row.case_id,
            remove=row.remove,
            reason=row.reason,
            decided_by=row.pseudonym,
            decided_at=row.decided_at,
        )
        for row in newest.values()
    ]


# Listening


def note_heard(connection: Connection, viewer: Viewer, recording_id: str, span: Span) -> None:
    """Remember that a person listened to a stretch. Raises NotFound, BadInput."""
    _may_decide(connection, viewer, _case_of(connection, recording_id))
    if not 0 <= span.start_ms < span.end_ms:
        raise BadInput("A stretch that was listened to begins before it ends.")
    values = {"recording_id": recording_id, "start_ms": span.start_ms, "end_ms": span.end_ms}
    connection.execute(
        insert(heard_stretches).values(**values, heard_by_id=viewer.person_id, heard_at=datetime.now(UTC))
    )


def heard(connection: Connection, viewer: Viewer, recording_id: str) -> tuple[Span, ...]:
    """The stretches that somebody listened to, joined and in order. Raises NotFound."""
    _may_decide(connection, viewer, _case_of(connection, recording_id))
    rows = connection.execute(
        select(heard_stretches.c.start_ms, heard_stretches.c.end_ms)
        .where(heard_stretches.c.recording_id == recording_id)
        .order_by(heard_stretches.c.start_ms)
    )
    return joined(Span(*row) for row in rows)


def joined(spans: Iterable[Span]) -> tuple[Span, ...]:
    """Spans in order of their start, those that touch made one."""
    made: list[Span] = []
    for span in spans:
        if made and span.start_ms <= made[-1].end_ms:
            made[-1] = Span(made[-1].start_ms, max(made[-1].end_ms, span.end_ms))
        else:
            made.append(span)
    return tuple(made)


def _case_of(connection: Connection, recording_id: str) -> str:
    case_id = connection.execute(select(recordings.c.case_id).where(recordings.c.id == recording_id)).scalar()
    if case_id is None:
        raise NotFound("recording of yours with that id")
    return str(case_id)


# Dates


def date_shift(connection: Connection, viewer: Viewer, case_id: str) -> int:
    """By how many days the dates of a case are moved when they leave; drawn once. Raises NotFound."""
    _may_decide(connection, viewer, case_id)
    kept = connection.execute(select(date_shifts.c.days).where(date_shifts.c.case_id == case_id)).scalar()
    if kept is not None:
        return int(kept)
    days = -(LEAST_SHIFT + secrets.randbelow(MOST_SHIFT - LEAST_SHIFT + 1))
    connection.execute(insert(date_shifts).values(case_id=case_id, days=days))
    return days
