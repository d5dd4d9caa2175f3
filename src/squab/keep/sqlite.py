"""The embedded database: how it is opened, checked and copied. All that is SQLite's own stands here."""

from __future__ import annotations

import errno
import os
import sqlite3
import zlib
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from pathlib import Path
from typing import Any

import sqlalchemy as sa

from squab.keep.errors import KeepBusy, KeepDamaged, KeepError, KeepFull

BUSY_SECONDS = 10.0
"""How long a save waits for another program to finish its own."""
CHECKED_BYTES = 256_000_000
"""A database up to this size is read through when it is opened; that takes a second at most."""

DAILY_KEPT = 7
MOST_DAILY_BYTES = 2_000_000_000
"""A larger database is copied by hand, to a disk that has the room."""

_DAMAGED = {sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_FORMAT}
_BUSY = {sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED}
_SHUT = {sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM, sqlite3.SQLITE_AUTH}

_WHOSE = "see whose file it is, or set SQUAB_FOLDER to another folder"


def engine_of(path: Path) -> sa.Engine:
    """Open an engine on the database file. A connection that asks for `writes` locks from its beginning."""
    engine = sa.create_engine(
        sa.URL.create("sqlite", database=str(path)),
        connect_args={"timeout": BUSY_SECONDS},
        pool_size=20,
        max_overflow=30,
    )

    @sa.event.listens_for(engine, "connect")
    def prepare(raw: Any, record: Any) -> None:
        raw.isolation_level = None  # the driver's own BEGIN comes too late, after the first reading
        raw.execute("PRAGMA journal_mode = WAL")
        raw.execute("PRAGMA synchronous = FULL")
        raw.execute("PRAGMA foreign_keys = ON")

    @sa.event.listens_for(engine, "begin")
    def begin(connection: sa.Connection) -> None:
        writes = connection.get_execution_options().get("writes", False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")

    return engine


def check_file(path: Path, backups: Path) -> None:
    """Refuse a file that is no sound database, before anything is written to it."""
    if not path.exists() or path.stat().st_size == 0:
        return
    try:
        with path.open("rb") as file:
            head = file.read(16)
    except OSError as error:
        raise KeepError(
            f"{path} cannot be read: {error.strerror}", "see whose file it is, or set SQUAB_FOLDER"
        ) from error
    size = path.stat().st_size
    if not head.startswith(b"SQLite format 3\0"):
        raise KeepDamaged(f"{path} is no database: it begins with {head[:8]!r}", way_out(path, backups))
    with said(path, backups), _closing(sqlite3.connect(path, timeout=BUSY_SECONDS)) as raw:
        if size <= CHECKED_BYTES:
            found = raw.execute("PRAGMA quick_check(3)").fetchall()
            if found != [("ok",)]:
                what = "; ".join(str(row[0]).splitlines()[-1] for row in found)
                raise KeepDamaged(f"{path} is damaged: {what}", way_out(path, backups))


@contextmanager
def _closing(raw: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    try:
        yield raw
    finally:
        raw.close()


def copy_database(path: Path, target: Path) -> None:
    """Copy a database while it is in use. The copy appears whole or not at all.

    Raises
    ------
    KeepFull
        If there is no room for the copy.
    KeepError
        If it cannot be written there.
    """
    partly = target.with_name(f".{target.name}.part")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        partly.unlink(missing_ok=True)
        _copied(path, partly)
        with partly.open("r+b") as file:
            os.fsync(file.fileno())
        partly.replace(target)
    except (sqlite3.Error, OSError) as error:
        code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
        if code == sqlite3.SQLITE_FULL or getattr(error, "errno", None) == errno.ENOSPC:
            raise KeepFull(f"there is no room for a copy of the database at {target}", "make room there") from error
        if code in _SHUT or isinstance(error, OSError):
            raise KeepError(
                f"{target} cannot be written: {getattr(error, 'strerror', None) or error}", _WHOSE
            ) from error
        raise
    finally:
        with suppress(OSError):
            partly.unlink(missing_ok=True)


def _copied(path: Path, partly: Path) -> None:
    with (
        _closing(sqlite3.connect(path, timeout=BUSY_SECONDS)) as source,
        _closing(sqlite3.connect(partly)) as copy,
    ):
        source.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")


def daily_copy(path: Path, backups: Path, now: datetime) -> None:
    """Copy a database that is not empty, once a day, and keep the newest few. A copy that fails stops nothing."""
    today = backups / f"{now:%Y-%m-%d}-daily.sqlite"
    if today.exists() or path.stat().st_size > MOST_DAILY_BYTES:
        return
    with suppress(OSError, sqlite3.Error):
        for cut_off in backups.glob(".*.part"):
            cut_off.unlink()
        copy_database(path, today)
        for old in sorted(backups.glob("*-daily.sqlite"))[:-DAILY_KEPT]:
            old.unlink()


def way_out(path: Path, backups: Path) -> str:
    """Say what can be done about a database that cannot be read, naming the backups there are."""
    there = sorted(backups.glob("*.sqlite"), key=lambda p: p.stat().st_mtime) if backups.is_dir() else []
    if not there:
        return (
            f"there is no backup in {backups} yet; move {path.name} away to begin anew, "
            "and keep it: much of it may still be read"
        )
    return f"the newest of {len(there)} backups is {there[-1]}; move {path.name} away and copy it in its place"


@contextmanager
def said(path: Path, backups: Path) -> Iterator[None]:
    """Turn what the database says into errors that name the file and a way out."""
    try:
        yield
    except sa.exc.DBAPIError as error:
        raise _told(error.orig, path, backups) from error
    except sqlite3.Error as error:
        raise _told(error, path, backups) from error
    except zlib.error as error:
        raise KeepDamaged(f"{path} is damaged: a text in it cannot be unpacked", way_out(path, backups)) from error
    except OSError as error:
        if isinstance(error, KeepError):
            raise
        if error.errno == errno.ENOSPC:
            raise KeepFull(f"there is no room left on the disk of {path}", "make room and do it again") from error
        raise KeepError(
            f"{error.filename or path}: {error.strerror}", "see whose folder it is, and do it again"
        ) from error


def _told(error: BaseException | None, path: Path, backups: Path) -> KeepError:
    code = (getattr(error, "sqlite_errorcode", None) or 0) & 0xFF
    if code == sqlite3.SQLITE_FULL:
        return KeepFull(
            f"there is no room left on the disk of {path}",
            "this change was not kept, all before it was; make room and do it again",
        )
    if code in _DAMAGED:
        return KeepDamaged(f"{path} is damaged: {error}", way_out(path, backups))
    if code in _BUSY:
        return KeepBusy(f"another program has held {path} for {BUSY_SECONDS:.0f} s", "close it, and do this again")
    if code in _SHUT:
        return KeepError(f"{path} cannot be opened or written: {error}", _WHOSE)
    return KeepError(f"{path}: {error}", "nothing of this change was kept; do it again")
