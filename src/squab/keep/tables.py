"""The tables, as they stand after the last migration."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa


class UtcTime(sa.types.TypeDecorator[datetime]):
    """A moment in time, kept in UTC: aware outside, plain in the database."""

    impl = sa.DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Any) -> datetime | None:
        """To the database."""
        return None if value is None else value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Any) -> datetime | None:
        """From the database."""
        return None if value is None else value.replace(tzinfo=UTC)


metadata = sa.MetaData()

jobs = sa.Table(
    "jobs",
    metadata,
    sa.Column("id", sa.String(32), primary_key=True),
    sa.Column("title", sa.Text, nullable=False),
    sa.Column("customer", sa.Text, nullable=False),
    sa.Column("reference", sa.Text, nullable=False),
    sa.Column("found_by", sa.Text, nullable=False),
    sa.Column("state", sa.String(16), nullable=False),
    sa.Column("promised", sa.Date),
    sa.Column("created", UtcTime, nullable=False),
    sa.Column("changed", UtcTime, nullable=False),
    sa.Column("version", sa.Integer, nullable=False),
    sa.Column("digest", sa.String(64), nullable=False),
    sa.Column("cushions", sa.Integer, nullable=False),
    sa.Column("cloths", sa.JSON, nullable=False),
    sa.Column("arrival", sa.JSON, nullable=False),
    sa.Column("arrived", sa.Boolean, nullable=False),
    sa.Column("agreed", sa.JSON),
    sa.Column("hidden", sa.Boolean, nullable=False),
)


def _of_a_history() -> list[sa.Column[Any]]:
    """What every version of a text has."""
    return [
        sa.Column("version", sa.Integer, primary_key=True),
        sa.Column("began", UtcTime, nullable=False),
        sa.Column("at", UtcTime, nullable=False),
        sa.Column("why", sa.Text, nullable=False),
        sa.Column("text", sa.LargeBinary, nullable=False),
    ]


versions = sa.Table(
    "versions",
    metadata,
    sa.Column("job_id", sa.String(32), sa.ForeignKey("jobs.id"), primary_key=True),
    *_of_a_history(),
    sa.Column("fixed", sa.Boolean, nullable=False),
)

agreements = sa.Table(
    "agreements",
    metadata,
    sa.Column("job_id", sa.String(32), sa.ForeignKey("jobs.id"), primary_key=True),
    sa.Column("number", sa.Integer, primary_key=True),
    sa.Column("agreed", sa.JSON, nullable=False),
)

texts = sa.Table(
    "texts",
    metadata,
    sa.Column("id", sa.String(32), primary_key=True),
    sa.Column("kind", sa.String(16), nullable=False),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("text", sa.Text, nullable=False),
    sa.Column("version", sa.Integer, nullable=False),
    sa.Column("created", UtcTime, nullable=False),
    sa.Column("changed", UtcTime, nullable=False),
    sa.Column("hidden", sa.Boolean, nullable=False),
)

text_versions = sa.Table(
    "text_versions",
    metadata,
    sa.Column("text_id", sa.String(32), sa.ForeignKey("texts.id"), primary_key=True),
    *_of_a_history(),
)

ticks = sa.Table(
    "ticks",
    metadata,
    sa.Column("job_id", sa.String(32), sa.ForeignKey("jobs.id"), primary_key=True),
    sa.Column("piece", sa.String(200), primary_key=True),
    sa.Column("state", sa.String(16), nullable=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
)

photos = sa.Table(
    "photos",
    metadata,
    sa.Column("id", sa.String(32), primary_key=True),
    sa.Column("job_id", sa.String(32), sa.ForeignKey("jobs.id"), nullable=False, index=True),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("media_type", sa.String(32), nullable=False),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("note", sa.Text, nullable=False),
    sa.Column("size", sa.Integer, nullable=False),
    sa.Column("data", sa.LargeBinary, nullable=False),
)

made = sa.Table(
    "made",
    metadata,
    sa.Column("kind", sa.String(16), primary_key=True),
    sa.Column("digest", sa.String(64), primary_key=True),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("data", sa.LargeBinary, nullable=False),
)

REMNANT_WORDS = (
    "name", "cloth", "across", "along", "lot", "stripe_at", "print_at", "place", "note", "job_id", "job_title",
)  # fmt: skip
"""What is kept of a remnant in words."""

remnants = sa.Table(
    "remnants",
    metadata,
    sa.Column("id", sa.String(32), primary_key=True),
    *(sa.Column(word, sa.Text, nullable=False) for word in REMNANT_WORDS),
    sa.Column("at", UtcTime, nullable=False),
    sa.Column("version", sa.Integer, nullable=False),
    sa.Column("used", sa.Boolean, nullable=False),
)

telephones = sa.Table(
    "telephones",
    metadata,
    sa.Column("id", sa.String(32), primary_key=True),
    sa.Column("name", sa.Text, nullable=False),
    sa.Column("digest", sa.String(64), nullable=False),
    sa.Column("let_in", UtcTime, nullable=False),
)
