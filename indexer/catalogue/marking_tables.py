"""Tables of marking: what was done at one go, so that it can be taken back at one go."""

from __future__ import annotations

from sqlalchemy import Boolean, Column, ForeignKey, Integer, String, Table

from indexer.catalogue.tables import ID, Moment, metadata

deeds = Table(
    "deeds",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("recording_id", ID, ForeignKey("recordings.id", ondelete="CASCADE"), nullable=False, index=True),
    Column("person_id", Integer, ForeignKey("persons.id", ondelete="RESTRICT"), nullable=False),
    Column("at", Moment, nullable=False),
    Column("verb", String(10), nullable=False),
    Column("undone", Boolean, nullable=False),
)

# The events that a deed wrote when it was first done; taking it back and doing it again write events of their own.
deed_events = Table(
    "deed_events",
    metadata,
    Column("deed_id", Integer, ForeignKey("deeds.id", ondelete="CASCADE"), primary_key=True),
    Column("event_id", Integer, ForeignKey("events.id", ondelete="CASCADE"), primary_key=True, index=True),
)
