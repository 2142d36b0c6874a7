"""Who may sign in, and consent with its purpose, its moment and who withdrew it."""

import sqlalchemy as sa
from alembic import op

revision = "people_and_consent"
down_revision = "revisions"
branch_labels = None
depends_on = None

WITHDRAWN_BY = (
    "ALTER TABLE consents ADD COLUMN withdrawn_by_id INTEGER"
    " CONSTRAINT fk_consents_withdrawn_by_id_persons REFERENCES persons (id) ON DELETE RESTRICT"
)
"""Written out: SQLite takes a reference with a new column, but never after it."""


def upgrade() -> None:
    """Add what signing in and consent need; nobody has a password at first."""
    op.add_column("persons", sa.Column("password_hash", sa.Text(), nullable=True))
    op.create_table(
        "sign_ins",
        sa.Column("key_hash", sa.String(64), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("begun_at", sa.DateTime(), nullable=False),
        sa.Column("until", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["persons.id"], name=op.f("fk_sign_ins_person_id_persons"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("key_hash", name=op.f("pk_sign_ins")),
    )
    op.create_index(op.f("ix_sign_ins_person_id"), "sign_ins", ["person_id"])
    op.add_column("consents", sa.Column("purpose", sa.Text(), nullable=False, server_default=""))
    op.add_column("consents", sa.Column("stated_at", sa.DateTime(), nullable=True))
    op.add_column("consents", sa.Column("withdrawn_at", sa.DateTime(), nullable=True))
    op.execute(WITHDRAWN_BY)


def downgrade() -> None:
    """Take it away again."""
    for column in ("withdrawn_by_id", "withdrawn_at", "stated_at", "purpose"):
        with op.batch_alter_table("consents") as consents:
            consents.drop_column(column)
    op.drop_index(op.f("ix_sign_ins_person_id"), "sign_ins")
    op.drop_table("sign_ins")
    op.drop_column("persons", "password_hash")
