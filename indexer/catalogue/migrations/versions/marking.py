"""Notes, decisions worth teaching, mended words, and what lies around the operation."""

revision = "marking"
down_revision = "surveyed"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing yet."""


def downgrade() -> None:
    """Nothing yet."""
