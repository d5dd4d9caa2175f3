"""House numbers and cloths have a history too."""

import zlib

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the table, and begin every history with what stands now."""
    op.create_table(
        "text_versions",
        sa.Column("text_id", sa.String(32), sa.ForeignKey("texts.id"), primary_key=True),
        sa.Column("version", sa.Integer, primary_key=True),
        sa.Column("began", sa.DateTime, nullable=False),
        sa.Column("at", sa.DateTime, nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.Column("text", sa.LargeBinary, nullable=False),
    )
    texts = sa.table("texts", *(sa.column(n) for n in ("id", "version", "changed", "text")))
    for row in op.get_bind().execute(sa.select(texts)).mappings().all():
        op.get_bind().execute(
            sa.text(
                "INSERT INTO text_versions (text_id, version, began, at, why, text)"
                " VALUES (:id, :version, :changed, :changed, 'begun', :text)"
            ),
            {**row, "text": zlib.compress(row["text"].encode(), 6)},
        )
