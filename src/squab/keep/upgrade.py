"""Bring a database up to the newest schema, copying it first."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import sqlalchemy as sa

from squab.keep.errors import KeepTooNew
from squab.keep.sqlite import copy_database

MIGRATIONS = Path(__file__).parent / "migrations"


def revision_of(engine: sa.Engine) -> str | None:
    """The revision a database stands at; None for an empty one."""
    with engine.connect() as connection:
        if not sa.inspect(connection).has_table("alembic_version"):
            return None
        found = connection.execute(sa.text("SELECT version_num FROM alembic_version")).scalar()
        return None if found is None else str(found)


def bring_up(engine: sa.Engine, path: Path, backups: Path, now: datetime, migrations: Path = MIGRATIONS) -> None:
    """Bring the database up to the newest schema.

    Raises
    ------
    KeepTooNew
        If a newer Squab wrote it. Nothing was changed.
    """
    known = sorted(p.stem.split("_", 1)[0] for p in (migrations / "versions").glob("[0-9]*.py"))
    have = revision_of(engine)
    if have == known[-1]:
        return
    if have is not None and have not in known:
        raise KeepTooNew(
            f"{path} was written by a newer Squab: its form is {have}, this program knows {known[0]} to {known[-1]}",
            f"use the newer program. Nothing was changed; backups of earlier forms are in {backups}",
        )
    if have is not None:
        copy_database(path, backups / f"{now:%Y-%m-%d-%H%M%S}-before-{known[-1]}.sqlite")
    _migrate(engine, migrations)


def _migrate(engine: sa.Engine, migrations: Path) -> None:
    from alembic import command
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", str(migrations).replace("%", "%%"))
    with engine.connect().execution_options(writes=True) as connection, connection.begin():
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
