"""Segments of a recording do not overlap: proposals give way to what a person accepts."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Row, delete, insert, select, update

from indexer.catalogue.naming import new_id
from indexer.catalogue.tables import segments
from indexer.errors import Conflict
from indexer.models import Standing


def make_room(connection: Connection, recording_id: str, start_ms: int, end_ms: int, *, but: str | None) -> None:
    """Shorten, split or take away the proposals between two times, all but the one of that id.

    Raises Conflict where a person accepted another segment there.
    """
    touching = select(segments).where(
        segments.c.recording_id == recording_id,
        segments.c.standing != Standing.REFUSED,
        segments.c.start_ms < end_ms,
        segments.c.end_ms > start_ms,
    )
    others = [row for row in connection.execute(touching) if row.id != but]
    for row in others:
        if row.standing == Standing.ACCEPTED:
            raise Conflict("This stretch", f"part of it is accepted as {row.step} already")
    for row in others:
        _give_way(connection, row, start_ms, end_ms)


def _give_way(connection: Connection, row: Row[Any], start_ms: int, end_ms: int) -> None:
    before = {"end_ms": start_ms, "end_source": "person", "end_spread_ms": 0}
    after = {"start_ms": end_ms, "start_source": "person", "start_spread_ms": 0}
    mine = segments.c.key == row.key
    if row.start_ms < start_ms:
        connection.execute(update(segments).where(mine).values(**before, version=row.version + 1))
        if row.end_ms > end_ms:
            rest = {name: value for name, value in row._mapping.items() if name != "key"}
            connection.execute(insert(segments).values({**rest, **after, "id": new_id(), "version": 1}))
    elif row.end_ms > end_ms:
        connection.execute(update(segments).where(mine).values(**after, version=row.version + 1))
    else:
        connection.execute(delete(segments).where(mine))
