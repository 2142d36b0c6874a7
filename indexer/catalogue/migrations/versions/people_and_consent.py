"""Who may sign in, and consent with purpose and links between cases of one patient."""

revision = "people_and_consent"
down_revision = "revisions"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Nothing yet."""


def downgrade() -> None:
    """Nothing yet."""
