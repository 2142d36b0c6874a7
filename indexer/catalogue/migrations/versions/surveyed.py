"""What the survey of every frame found in a recording."""

revision = "surveyed"
down_revision = "identifiers"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing yet."""


def downgrade() -> None:
    """Nothing yet."""
