"""Tables of what a survey of every frame found: the guess, stretches and cuts. Its series lie in the media folder."""

from __future__ import annotations

from sqlalchemy import JSON, Column, Float, ForeignKey, Integer, String, Table

from indexer.catalogue.tables import ID, metadata

surveys = Table(
    "surveys",
    metadata,
    Column("recording_id", ID, ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True),
    Column("frames", Integer, nullable=False),
    Column("missing_frames", Integer, nullable=False),
    Column("kind", String(10), nullable=False),
    Column("confidence", Float, nullable=False),
    Column("reasons", JSON, nullable=False),
    # [[kind, start_ms, end_ms], ...]
    Column("stretches", JSON, nullable=False),
    # [[left, top, width, height], ...] in shares of the picture
    Column("overlays", JSON, nullable=False),
)

cuts = Table(
    "cuts",
    metadata,
    Column("recording_id", ID, ForeignKey("recordings.id", ondelete="CASCADE"), primary_key=True),
    Column("place", Integer, primary_key=True),
    Column("at_ms", Integer, nullable=False),
    Column("frame", Integer, nullable=False),
    Column("kind", String(10), nullable=False),
    Column("strength", Float, nullable=False),
    Column("spread_ms", Integer, nullable=False),
)
