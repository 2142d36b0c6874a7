"""What was said of a case's release: added, withdrawn, and worked into the case for the Viewer's predicate.

Whatever is said of a case is said of all cases of its patient (`patients`): both eyes, and later operations.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import UTC, date, datetime
from typing import Any

from sqlalchemy import Connection, Row, and_, insert, select, update

from indexer.catalogue import patients
from indexer.catalogue.tables import cases, consents, persons
from indexer.catalogue.visibility import visible
from indexer.consent import Release, Viewer
from indexer.errors import NotAllowed, NotFound
from indexer.models import ConsentEntry


def may_state(connection: Connection, viewer: Viewer, case_ids: Iterable[str]) -> None:
    """Let the owner and who operated pass. Raises NotAllowed, and NotFound for what the viewer may not see."""
    for case_id in case_ids:
        chosen = select(cases.c.operator_id).where(cases.c.id == case_id, visible(viewer, date.today()))
        row = connection.execute(chosen).one_or_none()
        if row is None:
            raise NotFound(f"case {case_id!r}")
        if not viewer.owns and (viewer.person_id is None or row.operator_id != viewer.person_id):
            raise NotAllowed("Stating a consent", "it is for the owner of the library and for who operated.")


def state(
    connection: Connection,
    case_id: str,
    by: Viewer,
    release: Release,
    *,
    on: date,
    evidence: str = "",
    until: date | None = None,
    purpose: str = "",
) -> None:
    """Add an entry to the history of a case and of those tied to it; it counts from now on."""
    values = {"release": release, "stated_on": on, "stated_by_id": by.person_id, "stated_at": datetime.now(UTC)}
    said = {**values, "evidence": evidence, "until": until, "purpose": purpose}
    for each in patients.tied(connection, case_id):
        connection.execute(insert(consents).values(case_id=each, **said))
        settle(connection, each)


def withdraw(connection: Connection, case_id: str, by: Viewer, *, on: date) -> None:
    """Withdraw every consent of a case and of those tied to it: they are private from this moment on."""
    for each in patients.tied(connection, case_id):
        standing = and_(consents.c.case_id == each, consents.c.withdrawn_on.is_(None))
        now = {"withdrawn_on": on, "withdrawn_at": datetime.now(UTC), "withdrawn_by_id": by.person_id}
        connection.execute(update(consents).where(standing).values(now))
        settle(connection, each)


def agree(connection: Connection, by: Viewer, case_ids: Sequence[str]) -> None:
    """Give cases that have become one patient's the same consent.

    A withdrawal that nothing newer of the same case has replaced reaches all; else the newest entry does.
    """
    rows = [row for case_id in case_ids for row in _entries(connection, case_id)]
    newest = {row.case_id: row for row in sorted(rows, key=lambda row: row.id)}
    if any(row.withdrawn_on for row in newest.values()):
        for case_id in case_ids:
            withdraw(connection, case_id, by, on=date.today())
    elif newest:
        last = max(newest.values(), key=lambda row: row.id)
        for case_id in case_ids:
            if not _holds_the_same(newest.get(case_id), last):
                _copy(connection, last, case_id)


def _copy(connection: Connection, entry: Row[Any], case_id: str) -> None:
    values = {name: value for name, value in entry._mapping.items() if name not in ("id", "case_id", "pseudonym")}
    connection.execute(insert(consents).values({**values, "case_id": case_id}))
    settle(connection, case_id)


def _holds_the_same(entry: Row[Any] | None, other: Row[Any]) -> bool:
    names = ("release", "until", "purpose", "evidence")
    return entry is not None and all(getattr(entry, name) == getattr(other, name) for name in names)


def settle(connection: Connection, case_id: str) -> None:
    """Write what the newest entry that was not withdrawn allows into the case."""
    newest = connection.execute(
        select(consents.c.release, consents.c.until)
        .where(consents.c.case_id == case_id, consents.c.withdrawn_on.is_(None))
        .order_by(consents.c.id.desc())
        .limit(1)
    ).one_or_none()
    rank = Release(newest.release).rank if newest else Release.PRIVATE.rank
    until = newest.until if newest else None
    connection.execute(update(cases).where(cases.c.id == case_id).values(release_rank=rank, release_until=until))


def history(connection: Connection, case_id: str) -> tuple[ConsentEntry, ...]:
    """All entries of a case, newest first."""
    names = dict(tuple(row) for row in connection.execute(select(persons.c.id, persons.c.pseudonym)))
    return tuple(_entry(row, names) for row in _entries(connection, case_id))


def _entries(connection: Connection, case_id: str) -> Iterable[Row[Any]]:
    chosen = select(consents).where(consents.c.case_id == case_id)
    return connection.execute(chosen.order_by(consents.c.id.desc())).all()


def _entry(row: Row[Any], names: dict[int, str]) -> ConsentEntry:
    return ConsentEntry(
        release=row.release,
        stated_on=row.stated_on,
        stated_at=row.stated_at,
        stated_by=names[row.stated_by_id],
        purpose=row.purpose,
        evidence=row.evidence,
        until=row.until,
        withdrawn_on=row.withdrawn_on,
        withdrawn_by=names.get(row.withdrawn_by_id),
    )


def holds_on(rank: int, until: date | None, day: date) -> Release:
    """The release of a case on a day."""
    over = until is not None and until < day
    return Release.PRIVATE if over else tuple(Release)[rank]
