"""A number that goes up with every change of the marks."""

import sqlalchemy as sa
from alembic import op

revision = "revisions"
down_revision = "first_tables"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Begin to count."""
    made = op.create_table(
        "revisions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_revisions")),
    )
    op.bulk_insert(made, [{"id": 1, "number": 1}])


def downgrade() -> None:
    """Count no longer."""
    op.drop_table("revisions")
