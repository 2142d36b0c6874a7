"""Identifiers found, what was decided of them, names known, and stretches that were listened to."""

revision = "identifiers"
down_revision = "people_and_consent"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing yet."""


def downgrade() -> None:
    """Nothing yet."""
