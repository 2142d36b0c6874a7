"""What the survey of every frame found in a recording."""

import sqlalchemy as sa
from alembic import op

revision = "surveyed"
down_revision = "identifiers"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "surveys",
        sa.Column("recording_id", sa.String(24), nullable=False),
        sa.Column("frames", sa.Integer(), nullable=False),
        sa.Column("missing_frames", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("confidence", sa.Float(), nullable=False),
        sa.Column("reasons", sa.JSON(), nullable=False),
        sa.Column("stretches", sa.JSON(), nullable=False),
        sa.Column("overlays", sa.JSON(), nullable=False),
        _recording("surveys"),
        sa.PrimaryKeyConstraint("recording_id", name=op.f("pk_surveys")),
    )
    op.create_table(
        "cuts",
        sa.Column("recording_id", sa.String(24), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("at_ms", sa.Integer(), nullable=False),
        sa.Column("frame", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(10), nullable=False),
        sa.Column("strength", sa.Float(), nullable=False),
        sa.Column("spread_ms", sa.Integer(), nullable=False),
        _recording("cuts"),
        sa.PrimaryKeyConstraint("recording_id", "place", name=op.f("pk_cuts")),
    )


def _recording(table: str) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(
        ["recording_id"], ["recordings.id"], name=op.f(f"fk_{table}_recording_id_recordings"), ondelete="CASCADE"
    )


def downgrade() -> None:
    """Take the tables away."""
    op.drop_table("cuts")
    op.drop_table("surveys")
