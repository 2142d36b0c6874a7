"""Who may sign in, and consent with its purpose, its moment and who withdrew it."""

import sqlalchemy as sa
from alembic import op

revision = "people_and_consent"
down_revision = "revisions"
branch_labels = None
depends_on = None

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
    # SQLite takes a reference only with the table, so the table is made anew around its rows.
    with op.batch_alter_table("consents") as consents:
        consents.add_column(sa.Column("purpose", sa.Text(), nullable=False, server_default=""))
        consents.add_column(sa.Column("stated_at", sa.DateTime(), nullable=True))
        consents.add_column(sa.Column("withdrawn_at", sa.DateTime(), nullable=True))
        consents.add_column(sa.Column("withdrawn_by_id", sa.Integer(), nullable=True))
        consents.create_foreign_key(
            op.f("fk_consents_withdrawn_by_id_persons"), "persons", ["withdrawn_by_id"], ["id"], ondelete="RESTRICT"
        )


def downgrade() -> None:
    """Take it away again."""
    with op.batch_alter_table("consents") as consents:
        consents.drop_constraint(op.f("fk_consents_withdrawn_by_id_persons"), type_="foreignkey")
        for column in ("withdrawn_by_id", "withdrawn_at", "stated_at", "purpose"):
            consents.drop_column(column)
    op.drop_index(op.f("ix_sign_ins_person_id"), "sign_ins")
    op.drop_table("sign_ins")
    op.drop_column("persons", "password_hash")
