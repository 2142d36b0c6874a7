"""Opening the database, bringing it to the newest schema, and the two kinds of transaction."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event, inspect, text
from sqlalchemy.exc import DatabaseError, OperationalError

from indexer.catalogue.tables import SCHEMA
from indexer.errors import LibraryBusy, LibraryUnusable

WAIT_S = 15
"""How long a transaction waits for another one to end."""
DAMAGED = "its catalogue is damaged. Restore catalogue.sqlite from a backup; the recordings are not touched."


class Database:
    """The engine of one library's catalogue. Errors of the database leave it as LibraryUnusable."""

    def __init__(self, folder: Path, engine: Engine) -> None:
        self.folder, self.engine = folder, engine

    @classmethod
    def open(cls, folder: Path, catalogue: Path) -> Database:
        """Open (or make) the catalogue and migrate it. Raises LibraryUnusable."""
        database = cls(folder, _sqlite(catalogue))
        try:
            database._migrate()
        except BaseException:
            database.close()
            raise
        return database

    def close(self) -> None:
        """Let go of all connections."""
        self.engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """One consistent look at the catalogue."""
        with self._translated(), self.engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """All or nothing: what is written inside appears at once when it ends well."""
        with (
            self._translated(),
            self.engine.connect().execution_options(writes=True) as connection,
            connection.begin(),
        ):
            yield connection

    @contextmanager
    def _translated(self) -> Iterator[None]:
        try:
            yield
        except DatabaseError as error:
            raise self._unusable(error) from error

    def _unusable(self, error: DatabaseError) -> LibraryUnusable:
        said = str(error.orig)
        if isinstance(error, OperationalError) and "locked" in said:
            return LibraryBusy(self.folder, "another program has been writing to it for too long. Try again.")
        if isinstance(error, OperationalError) and "readonly" in said:
            return LibraryUnusable(self.folder, "its catalogue cannot be written. Mend its permissions.")
        if isinstance(error, OperationalError) and ("full" in said or "disk I/O" in said):
            return LibraryUnusable(self.folder, f"the drive does not take any more ({said}). Make room and try again.")
        if "malformed" in said or "not a database" in said:
            return LibraryUnusable(self.folder, DAMAGED)
        return LibraryUnusable(self.folder, f"its catalogue answers: {said}")

    def _migrate(self) -> None:
        """Bring the schema up to date; Alembic is loaded only where there is something to do."""
        with self.reading() as connection:
            found = self._schema(connection)
        if found == SCHEMA:
            return
        from indexer.catalogue.migrating import knows, upgrade

        if found is not None and not knows(found):
            raise LibraryUnusable(self.folder, "it was made by a newer program. Install the newest version.")
        with self.writing() as connection:
            # Another process may have been first while this one waited for its turn.
            if self._schema(connection) != SCHEMA:
                upgrade(connection)

    def _schema(self, connection: Connection) -> str | None:
        """The name of the schema as it is, None for an empty database."""
        tables = inspect(connection).get_table_names()
        if "alembic_version" in tables:
            found: str | None = connection.scalar(text("SELECT version_num FROM alembic_version"))
            return found
        if tables:
            raise LibraryUnusable(self.folder, "catalogue.sqlite is another program's database. Name another folder.")
        return None


def _sqlite(catalogue: Path) -> Engine:
    # What is bound to a statement may be a patient's; it does not belong into a message.
    engine = create_engine(
        f"sqlite:///{catalogue}",
        connect_args={"timeout": WAIT_S, "check_same_thread": False},
        hide_parameters=True,
    )

    @event.listens_for(engine, "connect")
    def prepare(connection: sqlite3.Connection, record: Any) -> None:
        # The driver is not to begin transactions by itself: it leaves reads and DDL out of them.
        connection.isolation_level = None
        for pragma in ("journal_mode=WAL", "foreign_keys=ON", "synchronous=NORMAL", "cache_size=-32000"):
            connection.execute(f"PRAGMA {pragma}")

    @event.listens_for(engine, "begin")
    def begin(connection: Connection) -> None:
        # A writer takes its place in the queue at once; a read that turns into a write could only fail.
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine
