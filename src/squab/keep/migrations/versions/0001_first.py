"""The first form: jobs with their history, texts of the house, ticks, photographs."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "jobs",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("customer", sa.Text, nullable=False),
        sa.Column("reference", sa.Text, nullable=False),
        sa.Column("found_by", sa.Text, nullable=False),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("promised", sa.Date),
        sa.Column("created", sa.DateTime, nullable=False),
        sa.Column("changed", sa.DateTime, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("cushions", sa.Integer, nullable=False),
        sa.Column("cloths", sa.JSON, nullable=False),
        sa.Column("arrival", sa.JSON, nullable=False),
        sa.Column("arrived", sa.Boolean, nullable=False),
        sa.Column("agreed", sa.JSON),
        sa.Column("hidden", sa.Boolean, nullable=False),
    )
    op.create_table(
        "versions",
        sa.Column("job_id", sa.String(32), sa.ForeignKey("jobs.id"), primary_key=True),
        sa.Column("version", sa.Integer, primary_key=True),
        sa.Column("began", sa.DateTime, nullable=False),
        sa.Column("at", sa.DateTime, nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.Column("text", sa.LargeBinary, nullable=False),
        sa.Column("fixed", sa.Boolean, nullable=False),
    )
    op.create_table(
        "agreements",
        sa.Column("job_id", sa.String(32), sa.ForeignKey("jobs.id"), primary_key=True),
        sa.Column("number", sa.Integer, primary_key=True),
        sa.Column("agreed", sa.JSON, nullable=False),
    )
    op.create_table(
        "texts",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("kind", sa.String(16), nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("version", sa.Integer, nullable=False),
        sa.Column("created", sa.DateTime, nullable=False),
        sa.Column("changed", sa.DateTime, nullable=False),
        sa.Column("hidden", sa.Boolean, nullable=False),
    )
    op.create_table(
        "ticks",
        sa.Column("job_id", sa.String(32), sa.ForeignKey("jobs.id"), primary_key=True),
        sa.Column("piece", sa.String(200), primary_key=True),
        sa.Column("state", sa.String(16), nullable=False),
        sa.Column("at", sa.DateTime, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
    )
    op.create_table(
        "photos",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("job_id", sa.String(32), sa.ForeignKey("jobs.id"), nullable=False, index=True),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("media_type", sa.String(32), nullable=False),
        sa.Column("at", sa.DateTime, nullable=False),
        sa.Column("note", sa.Text, nullable=False),
        sa.Column("size", sa.Integer, nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
    )
    op.create_table(
        "made",
        sa.Column("kind", sa.String(16), primary_key=True),
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("at", sa.DateTime, nullable=False),
        sa.Column("data", sa.LargeBinary, nullable=False),
    )
