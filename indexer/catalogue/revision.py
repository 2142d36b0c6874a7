"""How often the marks of the catalogue have changed: who keeps something made from them can see that it is old."""

from __future__ import annotations

from sqlalchemy import Connection, select, update

from indexer.catalogue.tables import revisions


def current(connection: Connection) -> int:
    """The number of the state that this transaction sees."""
    return int(connection.execute(select(revisions.c.number)).scalar_one())


def changed(connection: Connection) -> None:
    """Say within a transaction that it changes marks."""
    connection.execute(update(revisions).values(number=revisions.c.number + 1))
