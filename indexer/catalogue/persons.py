"""Who works here, under a pseudonym."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime

from sqlalchemy import Connection, insert, select, update

from indexer.catalogue.tables import persons
from indexer.consent import Role, Viewer
from indexer.errors import BadInput
from indexer.models import PersonView

OWNER = "owner"
LONGEST = 120


def owner(connection: Connection) -> Viewer:
    """The library's owner; made with the library."""
    return person(connection, OWNER, (Role.OWNER,))


def person(connection: Connection, pseudonym: str, roles: Iterable[Role] = ()) -> Viewer:
    """The person of that pseudonym, made where there is none; roles are added to those already held."""
    name = " ".join(pseudonym.split())
    if not name or len(name) > LONGEST:
        raise BadInput(f"A pseudonym has between 1 and {LONGEST} letters.")
    row = connection.execute(select(persons).where(persons.c.pseudonym == name)).one_or_none()
    held = frozenset(roles) | (frozenset(Role(role) for role in row.roles) if row else frozenset())
    kept = sorted(held)
    if row is None:
        made = insert(persons).values(pseudonym=name, roles=kept, made_at=datetime.now(UTC)).returning(persons.c.id)
        return Viewer(connection.execute(made).scalar_one(), name, held)
    if kept != row.roles:
        connection.execute(update(persons).where(persons.c.id == row.id).values(roles=kept))
    return Viewer(row.id, name, held)


def known(connection: Connection, pseudonym: str) -> Viewer | None:
    """The person of that pseudonym, or None."""
    row = connection.execute(select(persons).where(persons.c.pseudonym == " ".join(pseudonym.split()))).one_or_none()
    return Viewer(row.id, row.pseudonym, frozenset(Role(role) for role in row.roles)) if row else None


def everybody(connection: Connection) -> list[PersonView]:
    """All who work here, in the order they came."""
    rows = connection.execute(select(persons).order_by(persons.c.id))
    return [
        PersonView(
            id=row.id, pseudonym=row.pseudonym, roles=tuple(row.roles), may_sign_in=row.password_hash is not None
        )
        for row in rows
    ]
