"""What was said of a case's release: added, withdrawn, and worked into the case for the Viewer's predicate."""

from __future__ import annotations

from datetime import date

from sqlalchemy import Connection, and_, insert, select, update

from indexer.catalogue.tables import cases, consents, persons
from indexer.consent import Release, Viewer
from indexer.models import ConsentEntry


def state(
    connection: Connection,
    case_id: str,
    by: Viewer,
    release: Release,
    *,
    on: date,
    evidence: str = "",
    until: date | None = None,
) -> None:
    """Add an entry to the history; it counts from now on."""
    values = {"case_id": case_id, "release": release, "stated_on": on, "stated_by_id": by.person_id}
    connection.execute(insert(consents).values(**values, evidence=evidence, until=until))
    settle(connection, case_id)


def withdraw(connection: Connection, case_id: str, *, on: date) -> None:
    """Withdraw every consent of a case: it is private from this moment on."""
    standing = and_(consents.c.case_id == case_id, consents.c.withdrawn_on.is_(None))
    connection.execute(update(consents).where(standing).values(withdrawn_on=on))
    settle(connection, case_id)


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
    rows = connection.execute(
        select(consents, persons.c.pseudonym)
        .join(persons, persons.c.id == consents.c.stated_by_id)
        .where(consents.c.case_id == case_id)
        .order_by(consents.c.id.desc())
    )
    return tuple(
        ConsentEntry(
            release=row.release,
            stated_on=row.stated_on,
            stated_by=row.pseudonym,
            evidence=row.evidence,
            until=row.until,
            withdrawn_on=row.withdrawn_on,
        )
        for row in rows
    )


def holds_on(rank: int, until: date | None, day: date) -> Release:
    """The release of a case on a day."""
    over = until is not None and until < day
    return Release.PRIVATE if over else tuple(Release)[rank]
