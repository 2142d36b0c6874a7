"""Passwords, and who is signed in. A password is kept as argon2id, a sign-in as the hash of its key."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterable
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

from sqlalchemy import Connection, delete, insert, select, update

from indexer.catalogue.tables import persons, sign_ins
from indexer.consent import Role, Viewer
from indexer.errors import BadInput, NotFound

SHORTEST, LONGEST = 10, 200
"""Letters of a password. No rule says which: length counts, and a passphrase is welcome."""
LASTS = timedelta(hours=12)
"""A working day; whoever comes back tomorrow signs in again."""


@cache
def _hasher() -> Any:
    from argon2 import PasswordHasher

    # The package's defaults are the second choice of RFC 9106: 64 MiB, three passes, four lanes.
    return PasswordHasher()


@cache
def _nobodys() -> str:
    return str(_hasher().hash(secrets.token_urlsafe(24)))


def set_password(connection: Connection, pseudonym: str, password: str | None) -> None:
    """Give somebody a password, or with None take it away; either ends every sign-in. Raises BadInput, NotFound."""
    if password is not None and not SHORTEST <= len(password) <= LONGEST:
        raise BadInput(f"A password has between {SHORTEST} and {LONGEST} letters; several words are good.")
    person_id = _id_of(connection, pseudonym)
    kept = _hasher().hash(password) if password is not None else None
    connection.execute(update(persons).where(persons.c.id == person_id).values(password_hash=kept))
    connection.execute(delete(sign_ins).where(sign_ins.c.person_id == person_id))


def set_roles(connection: Connection, pseudonym: str, roles: Iterable[Role]) -> None:
    """Put these roles in the place of those somebody has. Raises NotFound; BadInput where no owner would be left."""
    person_id, kept = _id_of(connection, pseudonym), sorted(set(roles))
    others = connection.scalars(select(persons.c.roles).where(persons.c.id != person_id))
    if Role.OWNER not in kept and not any(Role.OWNER in held for held in others):
        raise BadInput("The library needs an owner. Make somebody else an owner first.")
    connection.execute(update(persons).where(persons.c.id == person_id).values(roles=kept))


def stored_hash(connection: Connection, pseudonym: str) -> str | None:
    """The kept hash of somebody's password; None for nobody, and for somebody without one."""
    name = " ".join(pseudonym.split())
    kept: str | None = connection.scalar(select(persons.c.password_hash).where(persons.c.pseudonym == name))
    return kept


def fits(kept: str | None, password: str) -> bool:
    """Whether a password is the one that was kept. Takes as long where there is none."""
    from argon2.exceptions import VerificationError

    try:
        return bool(_hasher().verify(kept or _nobodys(), password[:LONGEST])) and kept is not None
    except VerificationError:
        return False


def begin(connection: Connection, viewer: Viewer) -> str:
    """Sign somebody in; return the key for the browser."""
    key, now = secrets.token_urlsafe(32), datetime.now(UTC)
    connection.execute(delete(sign_ins).where(sign_ins.c.until <= now))
    values = {"key_hash": _digest(key), "person_id": viewer.person_id, "begun_at": now, "until": now + LASTS}
    connection.execute(insert(sign_ins).values(values))
    return key


def end(connection: Connection, key: str) -> None:
    """Sign out: the key opens nothing any more, wherever a copy of it is."""
    connection.execute(delete(sign_ins).where(sign_ins.c.key_hash == _digest(key)))


def whose(connection: Connection, key: str) -> Viewer | None:
    """Who signed in with a key, with the roles of this moment; None where it is over."""
    chosen = select(persons).join(sign_ins, sign_ins.c.person_id == persons.c.id)
    holds = (sign_ins.c.key_hash == _digest(key), sign_ins.c.until > datetime.now(UTC))
    row = connection.execute(chosen.where(*holds)).one_or_none()
    return Viewer(row.id, row.pseudonym, frozenset(Role(role) for role in row.roles)) if row else None


def _digest(key: str) -> str:
    return hashlib.sha256(key.encode()).hexdigest()


def _id_of(connection: Connection, pseudonym: str) -> int:
    name = " ".join(pseudonym.split())
    person_id: int | None = connection.scalar(select(persons.c.id).where(persons.c.pseudonym == name))
    if person_id is None:
        raise NotFound(f"person called {name!r}")
    return person_id
