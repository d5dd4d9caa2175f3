"""Texts of the house in the database: its usual numbers, the cloths on its shelf, each with its history."""

from __future__ import annotations

from datetime import datetime
from typing import Any

import sqlalchemy as sa

from squab.keep import tables
from squab.keep.errors import NotInKeep
from squab.keep.folding import is_folded
from squab.keep.forms import Row, packed, unpacked
from squab.keep.records import HouseNumbers, JobVersion
from squab.keep.rules import keepable

HOUSE = "house"
"""Id and kind of the house numbers."""


def text_row(connection: sa.Connection, text_id: str, kind: str) -> Row:
    """One text with what is kept around it."""
    t = tables.texts
    row = connection.execute(sa.select(t).where(t.c.id == text_id, t.c.kind == kind)).mappings().first()
    if row is None:
        raise NotInKeep(f"there is no {kind} {text_id[:40]!r}", "it may be in another folder")
    return row


def house_numbers(connection: sa.Connection) -> HouseNumbers:
    """The house numbers; an empty text at version 0 before anything was set."""
    t = tables.texts
    row = connection.execute(sa.select(t.c.text, t.c.version).where(t.c.id == HOUSE)).first()
    return HouseNumbers(text="", version=0) if row is None else HouseNumbers(text=row.text, version=row.version)


def add_text(connection: sa.Connection, row: dict[str, Any], *, why: str = "begun") -> None:
    """Keep a new text; `row` is its whole row."""
    keepable(row["text"])
    connection.execute(sa.insert(tables.texts).values(row))
    _add_version(connection, row["id"], row["version"], row["text"], why, row["changed"])


def new_row(text_id: str, kind: str, name: str, text: str, now: datetime) -> dict[str, Any]:
    """The row of a text that is new."""
    return {"id": text_id, "kind": kind, "name": name, "text": text, "version": 1, "created": now, "changed": now,
            "hidden": False}  # fmt: skip


def change_text(
    connection: sa.Connection, text_id: str, expected_version: int, text: str, now: datetime, *, name: str, why: str
) -> bool:
    """Change a text, if it is still at that version; tell whether it was."""
    keepable(text)
    t = tables.texts
    before = connection.execute(sa.select(t.c.text, t.c.name).where(t.c.id == text_id)).first()
    here = (t.c.id == text_id) & (t.c.version == expected_version)
    if before is not None and (before.text, before.name) == (text, name):
        return connection.execute(sa.select(t.c.id).where(here)).first() is not None
    row = {"version": expected_version + 1, "text": text, "name": name, "changed": now}
    if before is None or connection.execute(sa.update(t).where(here).values(row)).rowcount == 0:
        return False
    if why != "saved" or not _fold(connection, text_id, expected_version, before.text, text, now):
        _add_version(connection, text_id, expected_version + 1, text, why, now)
    return True


def set_hidden(connection: sa.Connection, text_id: str, hidden: bool, now: datetime) -> None:
    """Take a text out of sight, or put it back; it stays at its version."""
    t = tables.texts
    connection.execute(sa.update(t).where(t.c.id == text_id).values(hidden=hidden, changed=now))


def text_history(connection: sa.Connection, text_id: str) -> tuple[JobVersion, ...]:
    """Every version of a text, newest first; none where there is no such text."""
    t = tables.text_versions
    wanted = sa.select(t.c.version, t.c.began, t.c.at, t.c.why).where(t.c.text_id == text_id)
    rows = connection.execute(wanted.order_by(t.c.version.desc())).mappings()
    return tuple(JobVersion(**row) for row in rows)


def text_at(connection: sa.Connection, text_id: str, version: int) -> str:
    """A text as it was at one of the versions of its history."""
    t = tables.text_versions
    wanted = sa.select(t.c.text).where(t.c.text_id == text_id, t.c.version == version)
    found = connection.execute(wanted).scalar()
    if found is None:
        raise NotInKeep(f"it has no version {version}", "see its history")
    return unpacked(found)


def _add_version(connection: sa.Connection, text_id: str, version: int, text: str, why: str, now: datetime) -> None:
    connection.execute(
        sa.insert(tables.text_versions).values(
            text_id=text_id, version=version, began=now, at=now, why=why, text=packed(text)
        )
    )


def _fold(connection: sa.Connection, text_id: str, version: int, before: str, after: str, now: datetime) -> bool:
    """Put a small edit into the version before it, where it continues that one."""
    t = tables.text_versions
    here = (t.c.text_id == text_id) & (t.c.version == version)
    there = connection.execute(sa.select(t.c.began, t.c.why).where(here)).first()
    if there is None or there.why != "saved" or not is_folded(before, after, there.began, now):
        return False
    connection.execute(sa.update(t).where(here).values(version=version + 1, at=now, text=packed(after)))
    return True
