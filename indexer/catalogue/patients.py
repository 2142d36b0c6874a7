"""Cases of one patient, tied by a random id that says nothing of who it is."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

from sqlalchemy import Connection, delete, insert, select, update

from indexer.catalogue.naming import new_id
from indexer.catalogue.tables import cases, patients


def tied(connection: Connection, case_id: str) -> list[str]:
    """The case and all others of its patient, the case itself first."""
    patient = _patient(connection, case_id)
    if patient is None:
        return [case_id]
    others = connection.scalars(select(cases.c.id).where(cases.c.patient_id == patient, cases.c.id != case_id))
    return [case_id, *others]


def tie(connection: Connection, case_ids: Iterable[str]) -> list[str]:
    """Say that cases are of one patient; those tied to any of them come along. Returns all of them."""
    together = list(dict.fromkeys(each for case_id in case_ids for each in tied(connection, case_id)))
    patient = new_id()
    connection.execute(insert(patients).values(id=patient, made_at=datetime.now(UTC)))
    connection.execute(update(cases).where(cases.c.id.in_(together)).values(patient_id=patient))
    _forget_unused(connection)
    return together


def untie(connection: Connection, case_id: str) -> None:
    """Take a case out of its patient's; what was said of it until now stays in its history."""
    connection.execute(update(cases).where(cases.c.id == case_id).values(patient_id=None))
    _forget_unused(connection)


def _patient(connection: Connection, case_id: str) -> str | None:
    found: str | None = connection.scalar(select(cases.c.patient_id).where(cases.c.id == case_id))
    return found


def _forget_unused(connection: Connection) -> None:
    used = select(cases.c.patient_id).where(cases.c.patient_id.is_not(None))
    connection.execute(delete(patients).where(patients.c.id.not_in(used)))
