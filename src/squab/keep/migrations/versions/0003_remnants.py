"""What is left of a bolt after a job is kept too."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the table."""
    words = ("name", "cloth", "across", "along", "lot", "stripe_at", "print_at", "place", "note", "job_id", "job_title")
    op.create_table(
        "remnants",
        sa.Column("id", sa.String(32), primary_key=True),
        *(sa.Column(word, sa.Text, nullable=False) for word in words),
        sa.Column("at", sa.DateTime, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("used", sa.Boolean, nullable=False),
    )
