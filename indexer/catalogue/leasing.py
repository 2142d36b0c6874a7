"""One intake at a time: a lease with a heartbeat, which outlives neither its process nor a minute of silence."""

from __future__ import annotations

import os
import secrets
import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Row, delete, insert, select, update

from indexer.catalogue.database import Database
from indexer.catalogue.tables import leases
from indexer.errors import LibraryBusy, LibraryUnusable

NAME = "intake"
BEAT_S = 10.0
SILENT_S = 60.0
"""A lease without a heartbeat for so long may be taken over."""


@contextmanager
def lease(database: Database) -> Iterator[None]:
    """Hold the lease while inside. Raises LibraryBusy where another living intake holds it."""
    token = secrets.token_hex(8)
    with database.writing() as connection:
        _take(connection, database.folder, token)
    ended = threading.Event()
    beating = threading.Thread(target=_beat, args=(database, token, ended), name="lease", daemon=True)
    beating.start()
    try:
        yield
    finally:
        ended.set()
        beating.join()
        with database.writing() as connection:
            connection.execute(delete(leases).where(leases.c.token == token))


def _take(connection: Connection, folder: Path, token: str) -> None:
    row = connection.execute(select(leases).where(leases.c.name == NAME)).one_or_none()
    if row is not None and _alive(row):
        raise LibraryBusy(folder, f"another intake is at work (process {row.process} on {row.host}). Wait for it.")
    connection.execute(delete(leases).where(leases.c.name == NAME))
    values = {"name": NAME, "token": token, "host": socket.gethostname(), "process": os.getpid()}
    connection.execute(insert(leases).values(values | {"beat_at": datetime.now(UTC)}))


def _beat(database: Database, token: str, ended: threading.Event) -> None:
    while not ended.wait(BEAT_S):
        try:
            with database.writing() as connection:
                connection.execute(update(leases).where(leases.c.token == token).values(beat_at=datetime.now(UTC)))
        except LibraryUnusable:
            # The work itself meets the same trouble, and tells it.
            continue


def _alive(row: Row[Any]) -> bool:
    if datetime.now(UTC) - row.beat_at > timedelta(seconds=SILENT_S):
        return False
    return row.host != socket.gethostname() or _runs(row.process)


def _runs(process: int) -> bool:
    """Whether a process of this machine is still at work; where that cannot be told, its heartbeat decides."""
    if os.name != "posix":
        return True
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except PermissionError:
        return True
    return not _is_dead_child(process)


def _is_dead_child(process: int) -> bool:
    """Whether it was killed and only waits for its parent to notice (state Z of proc(5))."""
    try:
        status = Path(f"/proc/{process}/stat").read_text()
    except OSError:
        return False
    return status.rpartition(")")[2].split()[:1] == ["Z"]
