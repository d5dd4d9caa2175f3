"""What can befall a keep: killed in the middle, two at once, a full disk, damaged, too old, too new."""

from __future__ import annotations

import os
import shutil
import signal
import sqlite3
import subprocess
import sys
import threading
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest
import sqlalchemy as sa
from sqlalchemy.dialects import postgresql
from sqlalchemy.schema import CreateTable

from squab.keep import (
    Keep,
    KeepBusy,
    KeepDamaged,
    KeepError,
    KeepFull,
    KeepTooNew,
    Stale,
    open_keep,
    sqlite,
    tables,
    upgrade,
    user_folder,
)
from tests.unit.keep.keeping import TEXT, Clock

SAVES = """
import sys
from pathlib import Path
from squab.keep import KeepBusy, Stale, open_keep
keep = open_keep(Path(sys.argv[1]))
job = keep.job(sys.argv[2])
done = 0
while done < int(sys.argv[4]):
    try:
        job = keep.save_job(job.id, job.text + f"# {sys.argv[3]} {done}" + chr(10), job.version)
    except Stale as stale:
        job = stale.newer
        continue
    except KeepBusy:
        continue
    print(done, job.version, flush=True)
    done += 1
"""


def saving(folder: Path, job_id: str, name: str, count: int) -> subprocess.Popen[str]:
    """A process that saves a line more, again and again, and answers each."""
    command = [sys.executable, "-c", SAVES, str(folder), job_id, name, str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


def marks(text: str, name: str) -> list[int]:
    """The saves that a text holds."""
    return [int(line.split()[-1]) for line in text.split("\n") if line.startswith(f"# {name} ")]


@pytest.mark.parametrize("killed_after", [7, 163])
def test_killed_in_the_middle_of_200_saves_nothing_answered_is_lost(tmp_path: Path, killed_after: int) -> None:
    """`kill -9` at any moment: every save that was answered is there, and the history is whole."""
    keep = open_keep(tmp_path)
    job = keep.add_job(TEXT)
    keep.close()
    answered = -1
    with saving(tmp_path, job.id, "a", 200) as process:
        assert process.stdout is not None
        for line in process.stdout:
            answered = int(line.split()[0])
            if answered + 1 == killed_after:
                os.kill(process.pid, signal.SIGKILL)
                break
        rest = [int(line.split()[0]) for line in process.stdout.read().splitlines() if len(line.split()) == 2]
    assert process.returncode == -signal.SIGKILL
    answered = max([answered, *rest])
    again = open_keep(tmp_path)
    there = again.job(job.id)
    kept = marks(there.text, "a")
    assert kept == list(range(len(kept)))
    assert answered < 199
    assert len(kept) in (answered + 1, answered + 2)  # one may have been kept and not yet answered
    assert there.version == len(kept) + 1
    assert again.text_at(job.id, 1) == TEXT
    assert again.history(job.id)[0].version == there.version
    again.close()


def test_two_programs_and_four_threads_lose_nothing_of_one_another(tmp_path: Path) -> None:
    """Each is told when it is stale and makes its change to what is newer: all changes are there."""
    keep = open_keep(tmp_path)
    job = keep.add_job(TEXT)

    def save(name: str) -> None:
        now, done = job, 0
        while done < 10:
            try:
                now = keep.save_job(now.id, f"{now.text}# {name} {done}\n", now.version)
                done += 1
            except Stale:
                now = keep.job(job.id)
            except KeepBusy:  # on a busy machine one of six may wait for long: it is told so, and asks once more
                continue

    threads = [threading.Thread(target=save, args=(f"thread{n}",)) for n in range(4)]
    with saving(tmp_path, job.id, "other", 25) as one, saving(tmp_path, job.id, "third", 25) as two:
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        for process in (one, two):
            process.communicate(timeout=240)
        assert (one.returncode, two.returncode) == (0, 0)
    text = keep.job(job.id).text
    assert marks(text, "other") == marks(text, "third") == list(range(25))
    for n in range(4):
        assert marks(text, f"thread{n}") == list(range(10))
    assert keep.job(job.id).version == 1 + 25 + 25 + 40
    keep.close()


def test_a_full_disk_loses_only_the_change_that_did_not_fit(keep: Keep) -> None:
    """The message says so; what was kept is whole; with room again the same change is kept."""
    job = keep.add_job(TEXT)
    before = keep.job(job.id)
    full = {"pages": 1}

    @sa.event.listens_for(keep._engine, "begin")
    def limit(connection: sa.Connection) -> None:
        connection.exec_driver_sql(f"PRAGMA max_page_count = {full['pages']}")

    big = TEXT + "# " + "".join(chr(0x4E00 + (n * n * 7919) % 20_000) for n in range(60_000))
    with pytest.raises(KeepFull, match=r"no room left on the disk of .*squab\.sqlite") as caught:
        keep.save_job(job.id, big, 1)
    assert "make room" in caught.value.hint
    with pytest.raises(KeepFull):
        keep.add_photo(job.id, b"\xff\xd8\xff" + os.urandom(300_000))
    assert keep.job(job.id) == before
    assert [v.version for v in keep.history(job.id)] == [1]
    assert keep.photos(job.id) == ()
    full["pages"] = 1_000_000
    assert keep.save_job(job.id, big, 1).text == big


def test_one_who_holds_the_database_is_waited_for_and_then_named(keep: Keep, monkeypatch: pytest.MonkeyPatch) -> None:
    job = keep.add_job(TEXT)
    other = sqlite3.connect(keep.path, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    with keep.reading() as connection:
        connection.exec_driver_sql("PRAGMA busy_timeout = 50")  # so that the test need not wait as long as a maker
    with pytest.raises(KeepBusy, match="another program has held"):
        keep.save_job(job.id, TEXT + "#", 1)
    assert keep.job(job.id).version == 1
    other.execute("ROLLBACK")
    other.close()
    assert keep.save_job(job.id, TEXT + "#", 1).version == 2


OPENS = """
import sys
from pathlib import Path
from squab.keep import open_keep
keep = open_keep(Path(sys.argv[1]))
print(keep.add_job("# a").version)
"""


def test_a_new_keep_opened_by_four_programs_at_once_is_made_once(tmp_path: Path) -> None:
    command = [sys.executable, "-c", OPENS, str(tmp_path / "keep")]
    programs = [subprocess.Popen(command, stdout=subprocess.PIPE, text=True) for _ in range(4)]
    assert [p.communicate(timeout=60)[0] for p in programs] == ["1\n"] * 4
    keep = open_keep(tmp_path / "keep")
    assert len(keep.jobs()) == 4
    assert keep.folder.stat().st_mode & 0o077 == 0
    keep.close()


# --- damaged ---


def filled(folder: Path, clock: Clock) -> Path:
    """A keep with some jobs in it, closed; the path of its database."""
    keep = open_keep(folder, clock=clock)
    for n in range(30):
        keep.add_job(TEXT + "".join(f"# {n * k * 7919 % 10007} {k}\n" for k in range(400)))
    keep.close()
    return keep.path


def half(path: Path) -> None:
    """Cut a file in half."""
    os.truncate(path, path.stat().st_size // 2)


def garbage(path: Path) -> None:
    """Write over the whole of it."""
    path.write_bytes(b"Dear customer, " * 1000)


def scratched(path: Path) -> None:
    """Write over its second half, page heads and all."""
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(size // 2)
        file.write(b"\xa5" * (size - size // 2))


@pytest.mark.parametrize("harm", [half, garbage, scratched])
def test_a_damaged_database_is_named_with_what_was_found_and_the_way_out(
    tmp_path: Path, clock: Clock, harm: Callable[[Path], None]
) -> None:
    """With no backup that is said; with one, the newest is named, and copying it back is the way out."""
    path = filled(tmp_path, clock)
    whole = path.read_bytes()
    harm(path)
    harmed = path.read_bytes()
    with pytest.raises(KeepDamaged, match=r"squab\.sqlite is (damaged|no database)") as caught:
        open_keep(tmp_path, clock=clock)
    assert "there is no backup" in caught.value.hint
    assert path.read_bytes() == harmed
    path.write_bytes(whole)
    open_keep(tmp_path, clock=clock).close()  # copies it, as every day's first opening does
    harm(path)
    with pytest.raises(KeepDamaged) as caught:
        open_keep(tmp_path, clock=clock)
    backup = tmp_path / "backups" / "2031-03-10-daily.sqlite"
    assert str(backup) in caught.value.hint
    path.unlink()
    shutil.copy(backup, path)
    again = open_keep(tmp_path, clock=clock)
    assert len(again.jobs()) == 30
    again.close()


def test_damage_met_while_in_use_is_named_too(keep: Keep) -> None:
    """A text that cannot be unpacked names the file, and the other jobs can still be read."""
    bad, good = keep.add_job(TEXT), keep.add_job(TEXT)
    with keep.writing() as connection:
        connection.execute(sa.update(tables.versions).where(tables.versions.c.job_id == bad.id).values(text=b"junk"))
    with pytest.raises(KeepDamaged, match="a text in it cannot be unpacked"):
        keep.job(bad.id)
    assert keep.job(good.id).text == TEXT
    assert len(keep.jobs()) == 2


def test_a_folder_that_cannot_be_used_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(KeepError, match="cannot be made"):
        open_keep(tmp_path / "file" / "keep")
    (tmp_path / "squab.sqlite").mkdir()
    with pytest.raises(KeepError, match="cannot be read: Is a directory"):
        open_keep(tmp_path)


def test_an_empty_file_is_a_new_database(tmp_path: Path) -> None:
    (tmp_path / "squab.sqlite").touch()
    keep = open_keep(tmp_path)
    assert keep.is_empty()
    keep.close()


# --- old and new ---

NEXT = """
import sqlalchemy as sa
from alembic import op

revision = "9001"
down_revision = "{last}"


def upgrade() -> None:
    op.add_column("jobs", sa.Column("mark", sa.Text, nullable=True))
    op.execute("UPDATE jobs SET mark = title")
    {more}
"""


def revisions() -> list[str]:
    """The schema's revisions, oldest first."""
    return sorted(p.stem.split("_")[0] for p in (upgrade.MIGRATIONS / "versions").glob("[0-9]*.py"))


def with_next(folder: Path, more: str = "") -> Path:
    """The migrations of a release to come."""
    made = folder / "migrations"
    shutil.copytree(upgrade.MIGRATIONS, made, ignore=shutil.ignore_patterns("__pycache__"))
    (made / "versions" / "9001_next.py").write_text(NEXT.format(last=revisions()[-1], more=more))
    return made


def migrated(path: Path, clock: Clock, migrations: Path, backups: Path) -> None:
    """Bring a database up by other migrations."""
    engine = sqlite.engine_of(path)
    try:
        upgrade.bring_up(engine, path, backups, clock(), migrations)
    finally:
        engine.dispose()


def test_the_tables_are_those_the_migrations_make(keep: Keep) -> None:
    """A new database, made by all the migrations, has every table and column as the code names them, and no more."""
    with keep.reading() as connection:
        found = sa.inspect(connection)
        names = set(found.get_table_names()) - {"alembic_version"}
        assert names == set(tables.metadata.tables)
        for name, table in tables.metadata.tables.items():
            columns = {c["name"]: c["nullable"] for c in found.get_columns(name)}
            assert columns == {c.name: c.nullable for c in table.columns}, name
            assert set(found.get_pk_constraint(name)["constrained_columns"]) == {c.name for c in table.primary_key}


@pytest.mark.parametrize("revision", revisions())
def test_every_form_there_ever_was_is_brought_up_to_date(tmp_path: Path, revision: str) -> None:
    """From each revision the newest is reached, and the keep works."""
    path = tmp_path / "squab.sqlite"
    older = tmp_path / "migrations"
    shutil.copytree(upgrade.MIGRATIONS, older, ignore=shutil.ignore_patterns("__pycache__"))
    for later in revisions()[revisions().index(revision) + 1 :]:
        next((older / "versions").glob(f"{later}*.py")).unlink()
    migrated(path, Clock(), older, tmp_path / "backups")
    keep = open_keep(tmp_path)
    job = keep.add_job(TEXT)
    assert keep.save_job(job.id, TEXT + "#", 1).version == 2
    assert len(keep.jobs()) == 1
    keep.close()
    engine = sqlite.engine_of(path)
    assert upgrade.revision_of(engine) == revisions()[-1]
    engine.dispose()


def test_an_old_database_is_copied_and_brought_up_to_date(tmp_path: Path, clock: Clock) -> None:
    """The copy is the database as it was before; what is in it is all there after."""
    path = filled(tmp_path, clock)
    backups = tmp_path / "backups"
    clock.on(hours=1)
    migrated(path, clock, with_next(tmp_path), backups)
    raw = sqlite3.connect(path)
    assert raw.execute("SELECT count(*), min(mark) FROM jobs").fetchone() == (30, "Window seat")
    raw.close()
    (copy,) = backups.glob("*before*")
    assert copy.name == "2031-03-10-100000-before-9001.sqlite"
    shutil.copy(copy, tmp_path / "squab.sqlite")
    for leftover in tmp_path.glob("squab.sqlite-*"):
        leftover.unlink()
    again = open_keep(tmp_path, clock=clock)
    assert len(again.jobs()) == 30
    again.close()


def test_texts_of_the_first_form_begin_their_history(tmp_path: Path, clock: Clock) -> None:
    """House numbers and cloths written before there was a history can be gone back to afterwards."""
    path, older = tmp_path / "squab.sqlite", tmp_path / "migrations"
    shutil.copytree(upgrade.MIGRATIONS, older, ignore=shutil.ignore_patterns("__pycache__", "000[2-9]*"))
    migrated(path, clock, older, tmp_path / "backups")
    raw = sqlite3.connect(path)
    raw.execute(
        "INSERT INTO texts VALUES ('house', 'house', 'house', 'hour = 36', 7, '2031-03-01 09:00:00.000000',"
        " '2031-03-02 09:00:00.000000', 0)"
    )
    raw.commit()
    raw.close()
    keep = open_keep(tmp_path, clock=clock)
    assert [(v.version, v.why, v.at.day) for v in keep.house_history()] == [(7, "begun", 2)]
    keep.save_house("hour = 40", 7)
    assert keep.house_at(7) == "hour = 36"
    keep.close()
    assert len(list((tmp_path / "backups").glob(f"*before-{revisions()[-1]}.sqlite"))) == 1


def test_a_migration_that_fails_leaves_the_database_as_it_was(tmp_path: Path, clock: Clock) -> None:
    path = filled(tmp_path, clock)
    broken = with_next(tmp_path, more='raise RuntimeError("power cut")')
    with pytest.raises(RuntimeError, match="power cut"):
        migrated(path, clock, broken, tmp_path / "backups")
    again = open_keep(tmp_path, clock=clock)
    assert len(again.jobs()) == 30
    again.close()
    raw = sqlite3.connect(path)
    assert "mark" not in {row[1] for row in raw.execute("PRAGMA table_info(jobs)")}
    raw.close()


def test_a_newer_database_is_refused_and_left_alone(tmp_path: Path, clock: Clock) -> None:
    """A newer program's database is not touched: what was found and what is known are named."""
    path = filled(tmp_path, clock)
    migrated(path, clock, with_next(tmp_path), tmp_path / "backups")
    before = path.read_bytes()
    with pytest.raises(KeepTooNew, match=rf"newer Squab: its form is 9001, .* {revisions()[-1]}") as caught:
        open_keep(tmp_path, clock=clock)
    assert str(tmp_path / "backups") in caught.value.hint
    assert path.read_bytes() == before


def test_other_databases_would_take_the_tables_too() -> None:
    """Every table can be written for PostgreSQL; what is SQLite's own stands in one module."""
    for table in tables.metadata.sorted_tables:
        assert f"CREATE TABLE {table.name}" in str(CreateTable(table).compile(dialect=postgresql.dialect()))  # type: ignore[no-untyped-call]
    own = {p.name for p in Path(sqlite.__file__).parent.rglob("*.py") if "PRAGMA" in p.read_text(encoding="utf-8")}
    assert own == {"sqlite.py"}


# --- copies ---


def test_a_copy_made_while_in_use_is_whole(keep: Keep, tmp_path: Path) -> None:
    """Saves go on meanwhile; the copy opens, and holds everything answered before it was begun."""
    job = keep.add_job(TEXT)
    stop = threading.Event()

    def save() -> None:
        now = keep.job(job.id)
        while not stop.is_set():
            now = keep.save_job(now.id, now.text + "# more\n", now.version)

    thread = threading.Thread(target=save)
    thread.start()
    try:
        for n in range(5):
            answered = keep.job(job.id).version
            target = tmp_path / f"copy{n}" / "squab.sqlite"
            keep.backup(target)
            copy = open_keep(target.parent)
            assert copy.job(job.id).version >= answered
            copy.close()
    finally:
        stop.set()
        thread.join()
    assert list(tmp_path.glob("**/*.part")) == []


def test_a_copy_that_cannot_be_made_says_why(keep: Keep, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(KeepError, match=r"copy\.sqlite cannot be written: (Not a directory|File exists)"):
        keep.backup(tmp_path / "file" / "copy.sqlite")


def test_a_daily_copy_is_kept_for_a_week(tmp_path: Path, clock: Clock) -> None:
    filled(tmp_path, clock)
    for _ in range(10):
        clock.on(days=1)
        open_keep(tmp_path, clock=clock).close()
        open_keep(tmp_path, clock=clock).close()
    days = sorted(p.name[:10] for p in (tmp_path / "backups").glob("*-daily.sqlite"))
    assert days == [f"{clock.now - timedelta(days=n):%Y-%m-%d}" for n in reversed(range(7))]


def test_a_workroom_that_stays_open_is_copied_every_day_too(keep: Keep, clock: Clock) -> None:
    """Before the first change of the day; what a copy that was cut off left behind is cleared away."""
    job = keep.add_job(TEXT)
    keep.backups.mkdir()
    (keep.backups / ".2031-03-09-daily.sqlite.part").touch()
    clock.on(days=1)
    keep.save_job(job.id, TEXT + "# today\n", 1)
    keep.save_job(job.id, TEXT + "# today, later\n", 2)
    (copy,) = keep.backups.iterdir()
    assert copy.name == "2031-03-11-daily.sqlite"
    raw = sqlite3.connect(copy)
    assert raw.execute("SELECT version FROM jobs").fetchall() == [(1,)]
    raw.close()


def test_the_folder_is_the_users_own_or_the_one_that_is_asked_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("SQUAB_FOLDER", str(tmp_path / "here"))
    assert user_folder() == tmp_path / "here"
    keep = open_keep()
    assert keep.path == tmp_path / "here" / "squab.sqlite"
    keep.close()
    monkeypatch.delenv("SQUAB_FOLDER")
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.delenv("XDG_DATA_HOME", raising=False)
    assert "squab" in str(user_folder()).lower()
    assert user_folder().is_absolute()
