"""Identifiers: names known, what was decided of them, stretches that were listened to, and shifts of dates."""

import sqlalchemy as sa
from alembic import op

from indexer.catalogue.tables import Moment

revision = "identifiers"
down_revision = "people_and_consent"
branch_labels = None
depends_on = None

INDEXED = (
    ("known_names", "case_id"),
    ("identifier_decisions", "key"),
    ("identifier_decisions", "case_id"),
    ("heard_stretches", "recording_id"),
)


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "known_names",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("text", sa.String(200), nullable=False),
        sa.Column("case_id", sa.String(24)),
        sa.Column("added_by_id", sa.Integer(), nullable=False),
        sa.Column("added_at", Moment(), nullable=False),
        *_keys("known_names", ("case_id", "cases", "CASCADE"), ("added_by_id", "persons", "RESTRICT")),
    )
    op.create_table(
        "identifier_decisions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("key", sa.String(300), nullable=False),
        sa.Column("case_id", sa.String(24)),
        sa.Column("remove", sa.Boolean(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("decided_by_id", sa.Integer(), nullable=False),
        sa.Column("decided_at", Moment(), nullable=False),
        *_keys("identifier_decisions", ("case_id", "cases", "CASCADE"), ("decided_by_id", "persons", "RESTRICT")),
    )
    op.create_table(
        "heard_stretches",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("recording_id", sa.String(24), nullable=False),
        sa.Column("start_ms", sa.Integer(), nullable=False),
        sa.Column("end_ms", sa.Integer(), nullable=False),
        sa.Column("heard_by_id", sa.Integer(), nullable=False),
        sa.Column("heard_at", Moment(), nullable=False),
        *_keys("heard_stretches", ("recording_id", "recordings", "CASCADE"), ("heard_by_id", "persons", "RESTRICT")),
    )
    op.create_table(
        "date_shifts",
        sa.Column("case_id", sa.String(24), nullable=False),
        sa.Column("days", sa.Integer(), nullable=False),
        *_keys("date_shifts", ("case_id", "cases", "CASCADE"), own="case_id"),
    )
    for table, column in INDEXED:
        op.create_index(op.f(f"ix_{table}_{column}"), table, [column])


def _keys(table: str, *references: tuple[str, str, str], own: str = "id") -> list[sa.Constraint]:
    """The table's own key and its references: (column, table that it refers to, what happens when that row goes)."""
    return [
        *(
            sa.ForeignKeyConstraint(
                [column], [f"{target}.id"], name=op.f(f"fk_{table}_{column}_{target}"), ondelete=gone
            )
            for column, target, gone in references
        ),
        sa.PrimaryKeyConstraint(own, name=op.f(f"pk_{table}")),
    ]


def downgrade() -> None:
    """Forget them."""
    for table in ("date_shifts", "heard_stretches", "identifier_decisions", "known_names"):
        op.drop_table(table)
