"""Marking: deeds, each with the events that it wrote, so that they can be undone."""

import sqlalchemy as sa
from alembic import op

from indexer.catalogue.tables import Moment

revision = "marking"
down_revision = "surveyed"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "deeds",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recording_id", sa.String(24), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", Moment(), nullable=False),
        sa.Column("verb", sa.String(10), nullable=False),
        sa.Column("undone", sa.Boolean(), nullable=False),
        _refers("deeds", "recording_id", "recordings", "CASCADE"),
        _refers("deeds", "person_id", "persons", "RESTRICT"),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_deeds")),
    )
    op.create_index(op.f("ix_deeds_recording_id"), "deeds", ["recording_id"])
    op.create_table(
        "deed_events",
        sa.Column("deed_id", sa.Integer(), nullable=False),
        sa.Column("event_id", sa.Integer(), nullable=False),
        _refers("deed_events", "deed_id", "deeds", "CASCADE"),
        _refers("deed_events", "event_id", "events", "CASCADE"),
        sa.PrimaryKeyConstraint("deed_id", "event_id", name=op.f("pk_deed_events")),
    )
    op.create_index(op.f("ix_deed_events_event_id"), "deed_events", ["event_id"])


def _refers(table: str, column: str, target: str, gone: str) -> sa.ForeignKeyConstraint:
    name = op.f(f"fk_{table}_{column}_{target}")
    return sa.ForeignKeyConstraint([column], [f"{target}.id"], name=name, ondelete=gone)


def downgrade() -> None:
    """Take them away."""
    op.drop_table("deed_events")
    op.drop_table("deeds")
