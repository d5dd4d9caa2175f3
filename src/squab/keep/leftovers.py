"""Remnants in the database: what is left of bolts."""

from __future__ import annotations

from dataclasses import asdict
from datetime import datetime
from typing import Any

import sqlalchemy as sa

from squab.keep import tables
from squab.keep.errors import NotInKeep, Unkeepable
from squab.keep.forms import Row
from squab.keep.records import Left, Remnant
from squab.keep.rules import keepable

MOST_WORDS = 2000


def put(connection: sa.Connection, remnant_id: str, left: Left, now: datetime) -> Remnant:
    """Keep a new one."""
    row = _row(left) | {"id": remnant_id, "at": now, "version": 1, "used": False}
    connection.execute(sa.insert(tables.remnants).values(row))
    return of_row(row)


def change(connection: sa.Connection, remnant_id: str, expected_version: int, **changed: Any) -> Remnant:
    """Change one, if it is still at that version.

    Raises
    ------
    Unkeepable
        If it was changed elsewhere meanwhile.
    """
    t = tables.remnants
    before = one(connection, remnant_id)
    row = {k: v for k, v in changed.items() if getattr(before, k) != v}
    if not row:
        return before
    here = (t.c.id == remnant_id) & (t.c.version == expected_version)
    if connection.execute(sa.update(t).where(here).values(row | {"version": expected_version + 1})).rowcount == 0:
        raise Unkeepable(
            f"the remnant of {before.name} was changed elsewhere meanwhile", "open it again; nothing was changed here"
        )
    return one(connection, remnant_id)


def one(connection: sa.Connection, remnant_id: str) -> Remnant:
    """One of them."""
    t = tables.remnants
    row = connection.execute(sa.select(t).where(t.c.id == remnant_id)).mappings().first()
    if row is None:
        raise NotInKeep(f"there is no remnant {remnant_id[:40]!r}", "see the cloth shelf")
    return of_row(row)


def every(connection: sa.Connection, query: str, *, used: bool | None) -> list[Remnant]:
    """Those in which every word is found, by name and then the newest first."""
    t = tables.remnants
    wanted = sa.select(t) if used is None else sa.select(t).where(t.c.used == used)
    found = [of_row(row) for row in connection.execute(wanted.order_by(t.c.at.desc(), t.c.id)).mappings()]
    words = query.casefold().split()
    return sorted((r for r in found if all(w in _said(r) for w in words)), key=lambda r: r.name.casefold())


def of_row(row: Row) -> Remnant:
    """A remnant of its row."""
    return Remnant(**{n: row[n] for n in (*tables.REMNANT_WORDS, "id", "at", "version", "used")})


def _row(left: Left) -> dict[str, Any]:
    keepable(left.cloth)
    words = {n: v for n, v in asdict(left).items() if n in tables.REMNANT_WORDS}
    return {n: v if n == "cloth" else v[:MOST_WORDS] for n, v in words.items()}


def _said(remnant: Remnant) -> str:
    return "\n".join(asdict(remnant)[n] for n in tables.REMNANT_WORDS).casefold()
