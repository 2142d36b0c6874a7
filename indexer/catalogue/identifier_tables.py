"""Tables of the names that the library knows, of decisions on identifiers, of what was listened to, and of shifted dates."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, ForeignKey, Integer, String, Table, Text

from indexer.catalogue.tables import ID, Moment, metadata


def _person() -> ForeignKey:
    return ForeignKey("persons.id", ondelete="RESTRICT")


def _case() -> ForeignKey:
    return ForeignKey("cases.id", ondelete="CASCADE")


known_names = Table(
    "known_names",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("text", String(200), nullable=False),
    # NULL: listed for the whole library
    Column("case_id", ID, _case(), index=True),
    Column("added_by_id", Integer, _person(), nullable=False),
    Column("added_at", Moment, nullable=False),
)

identifier_decisions = Table(
    "identifier_decisions",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("key", String(300), nullable=False, index=True),
    # NULL: in the whole library
    Column("case_id", ID, _case(), index=True),
    Column("remove", Boolean, nullable=False),
    Column("reason", Text, nullable=False),
    Column("decided_by_id", Integer, _person(), nullable=False),
    Column("decided_at", Moment, nullable=False),
)

heard_stretches = Table(
    "heard_stretches",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("recording_id", ID, ForeignKey("recordings.id", ondelete="CASCADE"), nullable=False, index=True),
    Column("start_ms", Integer, nullable=False),
    Column("end_ms", Integer, nullable=False),
    Column("heard_by_id", Integer, _person(), nullable=False),
    Column("heard_at", Moment, nullable=False),
)

date_shifts = Table(
    "date_shifts",
    metadata,
    Column("case_id", ID, _case(), primary_key=True),
    # Drawn once for each case, so that the days between its dates stay what they are.
    Column("days", Integer, nullable=False),
)
