"""The keep: jobs with their history, cloths, house numbers, ticks and photographs, in one database."""

from __future__ import annotations

import os
import secrets
import threading
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import IO, Any

import sqlalchemy as sa

from squab.keep import archive, leftovers, shelf, sqlite, tables
from squab.keep.errors import AlreadyAgreed, KeepError, NotArrived, NotInKeep, Stale, Unkeepable
from squab.keep.folding import is_folded
from squab.keep.forms import (
    agreed_form,
    arrival_form,
    cloth_record,
    job_line,
    job_record,
    photo_of,
    tick_of,
    unpacked,
)
from squab.keep.records import (
    STATES,
    Agreed,
    Arrival,
    BroughtIn,
    ClothRecord,
    HouseNumbers,
    JobLine,
    JobRecord,
    JobVersion,
    Left,
    Photo,
    Remnant,
    Sort,
    State,
    Telephone,
    Tick,
    TickState,
    still_missing,
)
from squab.keep.rules import NewText, media_type_of, new_text
from squab.keep.upgrade import bring_up

FOLDER_VARIABLE = "SQUAB_FOLDER"
DATABASE = "squab.sqlite"
BACKUPS = "backups"
_CUTTING, _ASKED, _PICTURE = "cutting", "asked", "small"
_MOST_MADE = {"lay": 5000, _PICTURE: 5000, "picture": 0}
"""Lays and pictures kept at most, looked to when the keep is opened: some ten megabytes. "picture" were large ones."""

Clock = Callable[[], datetime]


def user_folder() -> Path:
    """The folder in which this user's keep lies: what SQUAB_FOLDER says, else the system's own place for data."""
    asked = os.environ.get(FOLDER_VARIABLE)
    if asked:
        return Path(asked).expanduser()
    import platformdirs

    return platformdirs.user_data_path("squab", appauthor=False)


def _now() -> datetime:
    return datetime.now(UTC)


def open_keep(folder: Path | None = None, *, clock: Clock = _now) -> Keep:
    """Open the keep in a folder, making it if it is new and bringing an old one up to date.

    Parameters
    ----------
    folder
        Where the database lies; None for the user's own folder (`user_folder`).
    clock
        Gives the time.

    Raises
    ------
    KeepTooNew
        If a newer Squab wrote the database. Nothing was changed.
    KeepDamaged
        If it is damaged or is no database; the message says where the backups are.
    KeepError
        If the folder cannot be made or written.
    """
    where = Path(os.path.abspath(folder or user_folder()))
    try:
        where.mkdir(mode=0o700, parents=True, exist_ok=True)  # customers' names are nobody else's
    except OSError as error:
        raise KeepError(
            f"{where} cannot be made: {error.strerror}", f"set {FOLDER_VARIABLE} to another folder"
        ) from error
    path, backups = where / DATABASE, where / BACKUPS
    sqlite.check_file(path, backups)
    is_new = not path.exists()
    engine = sqlite.engine_of(path)
    try:
        with sqlite.said(path, backups):
            bring_up(engine, path, backups, clock())
        if not is_new:
            sqlite.daily_copy(path, backups, clock())
            with sqlite.said(path, backups):
                _forget_old_made(engine)
    except KeepError:
        engine.dispose()
        raise
    return Keep(engine, where, clock)


class Keep:
    """Everything the workroom keeps. Made by `open_keep`; may be used from several threads."""

    def __init__(self, engine: sa.Engine, folder: Path, clock: Clock) -> None:
        self.folder = folder
        self.path = folder / DATABASE
        self.backups = folder / BACKUPS
        self._engine = engine
        self._clock = clock
        self._copied = clock().date()
        self._copying = threading.Lock()

    def now(self) -> datetime:
        """The time by the keep's clock."""
        return self._clock()

    def close(self) -> None:
        """Close every connection."""
        self._engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[sa.Connection]:
        """A connection to read with, for the keep's own modules."""
        with sqlite.said(self.path, self.backups), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[sa.Connection]:
        """A connection to write with, all or nothing, for the keep's own modules."""
        self._copy_daily()
        told = sqlite.said(self.path, self.backups)
        with told, self._engine.connect() as connection, connection.execution_options(writes=True).begin():
            yield connection

    def _copy_daily(self) -> None:
        """Before the first change of another day, copy the database: a workroom may stay open for weeks."""
        today = self._clock().date()
        if today != self._copied and self._copying.acquire(blocking=False):
            try:
                sqlite.daily_copy(self.path, self.backups, self._clock())
                self._copied = today
            finally:
                self._copying.release()

    # --- jobs ---

    def jobs(
        self, query: str = "", sort: Sort = "changed", *, states: Sequence[State] = (), hidden: bool = False
    ) -> tuple[JobLine, ...]:
        """List jobs: those in which every word of the query is found, in title, customer, reference or cloths."""
        t = tables.jobs
        wanted = sa.select(t).where(t.c.hidden == hidden)
        for word in query.casefold().split():
            wanted = wanted.where(t.c.found_by.contains(word, autoescape=True))
        if states:
            wanted = wanted.where(t.c.state.in_(list(states)))
        with self.reading() as connection:
            lines = [job_line(row) for row in connection.execute(wanted).mappings()]
        return tuple(_sorted(lines, sort))

    def job(self, job_id: str) -> JobRecord:
        """One job with its text."""
        with self.reading() as connection:
            return _job(connection, job_id)

    def is_empty(self) -> bool:
        """Tell whether there never was a job: the moment to offer the examples."""
        with self.reading() as connection:
            return connection.execute(sa.select(tables.jobs.c.id).limit(1)).first() is None

    def add_job(self, text: str, *, title: str = "", state: State = "asked", why: str = "begun") -> JobRecord:
        """Keep a new job. `title` names it where its text does not."""
        new, job_id, now = new_text(text), secrets.token_hex(6), self._clock()
        row = new.row({"title": title or "Unnamed job"}) | {
            "id": job_id, "state": state, "created": now, "changed": now, "version": 1, "arrival": [],
            "arrived": False, "hidden": False,
        }  # fmt: skip
        with self.writing() as connection:
            connection.execute(sa.insert(tables.jobs).values(row))
            _add_version(connection, job_id, 1, new, why, now)
            return _job(connection, job_id)

    def save_job(self, job_id: str, text: str, expected_version: int, *, why: str = "saved") -> JobRecord:
        """Keep a job's text, if it is still at the version it was changed from.

        Raises
        ------
        Stale
            If it was saved elsewhere meanwhile; carries the newer record. Nothing was changed.
        """
        new = new_text(text)
        with self.writing() as connection:
            self._save(connection, job_id, new, expected_version, why)
            return _job(connection, job_id)

    def _save(self, connection: sa.Connection, job_id: str, new: NewText, expected_version: int, why: str) -> None:
        before = _job(connection, job_id)
        if before.digest == new.digest:
            return  # sent twice, as after an answer that was lost on its way
        if before.version != expected_version:
            raise Stale(before)
        now, version = self._clock(), before.version + 1
        row = new.row(vars(before)) | {"version": version, "changed": now}
        row["arrived"] = not still_missing(tuple(row["cloths"]), before.arrival)
        if not _change_job(connection, job_id, row, version=expected_version):
            raise Stale(_job(connection, job_id))
        if why != "saved" or not _fold(connection, before, new, now):
            _add_version(connection, job_id, version, new, why, now)

    def set_state(self, job_id: str, state: State) -> JobRecord:
        """Say where a job stands. From `arrived` on, its cloth must have been checked in (`NotArrived`)."""
        if state not in STATES:
            raise Unkeepable(f"a job cannot be {state!r}", f"it may be {', '.join(STATES)}")
        with self.writing() as connection:
            self._stand(connection, _job(connection, job_id), state)
            return _job(connection, job_id)

    def _stand(self, connection: sa.Connection, job: JobRecord, state: State) -> None:
        if STATES.index(state) >= STATES.index("arrived") and job.missing:
            raise NotArrived(job.missing)
        if state != job.state:
            _change_job(connection, job.id, {"state": state, "changed": self._clock()})

    def set_promised(self, job_id: str, promised: date | None) -> JobRecord:
        """Note the day a job is promised for."""
        with self.writing() as connection:
            _change_job(connection, job_id, {"promised": promised, "changed": self._clock()})
            return _job(connection, job_id)

    def set_hidden(self, job_id: str, hidden: bool) -> JobRecord:
        """Take a job off the list, or put it back. It is kept either way."""
        with self.writing() as connection:
            _change_job(connection, job_id, {"hidden": hidden, "changed": self._clock()})
            return _job(connection, job_id)

    def set_arrival(
        self, job_id: str, arrival: Arrival, *, text: str | None = None, expected_version: int | None = None
    ) -> JobRecord:
        """Note what was found when a cloth came, whole or in part.

        `text` is the job's text with the measured bolt written in (`squab.desk.with_bolt` of
        `Arrival.measured` and `Arrival.flaw_rows`), kept in the same breath. Once all is noted a job
        that was ordered or before stands at `arrived`.
        """
        new = None if text is None else new_text(text)
        with self.writing() as connection:
            if new is not None:
                expected = _job(connection, job_id).version if expected_version is None else expected_version
                self._save(connection, job_id, new, expected, f"cloth {arrival.cloth} measured")
            before, now = _job(connection, job_id), self._clock()
            kept = (*(a for a in before.arrival if a.cloth != arrival.cloth), _at(arrival, now))
            missing = still_missing(before.cloths, kept)
            _change_job(connection, job_id, {"arrival": arrival_form(kept), "arrived": not missing, "changed": now})
            if not missing and STATES.index(before.state) < STATES.index("arrived"):
                _change_job(connection, job_id, {"state": "arrived"})
            return _job(connection, job_id)

    def agree(
        self, job_id: str, figures: Mapping[str, str], *, anew: bool = False, expected_version: int | None = None
    ) -> JobRecord:
        """Freeze the figures agreed with the customer. A job before `agreed` stands there then.

        `expected_version` is the version of the text that the figures were worked out from.

        Raises
        ------
        Stale
            If the text is at another version by now.
        AlreadyAgreed
            If figures are agreed already and this is not `anew`. The earlier ones are kept either way.
        """
        with self.writing() as connection:
            job, now = _job(connection, job_id), self._clock()
            if expected_version not in (None, job.version):
                raise Stale(job)
            if job.agreed is not None and not anew:
                raise AlreadyAgreed(f"a price was agreed on {job.agreed.at:%Y-%m-%d}", "agree anew to replace it")
            agreed = agreed_form(Agreed(figures=figures, version=job.version, at=now))
            t = tables.agreements
            count = connection.execute(sa.select(sa.func.count()).where(t.c.job_id == job_id)).scalar_one()
            connection.execute(sa.insert(t).values(job_id=job_id, number=count + 1, agreed=agreed))
            row: dict[str, Any] = {"agreed": agreed, "changed": now}
            if STATES.index(job.state) < STATES.index("agreed"):
                row["state"] = "agreed"
            _change_job(connection, job_id, row)
            _fix_version(connection, job)
            return _job(connection, job_id)

    # --- history ---

    def history(self, job_id: str) -> tuple[JobVersion, ...]:
        """Every version of a job, newest first."""
        t = tables.versions
        wanted = sa.select(t.c.version, t.c.began, t.c.at, t.c.why).where(t.c.job_id == job_id)
        with self.reading() as connection:
            rows = connection.execute(wanted.order_by(t.c.version.desc())).mappings().all()
        if not rows:
            raise NotInKeep(f"there is no job {job_id[:40]!r}", "it may be in another folder; see the list of jobs")
        return tuple(JobVersion(**row) for row in rows)

    def text_at(self, job_id: str, version: int) -> str:
        """A job's text as it was at one of the versions of its history."""
        t = tables.versions
        wanted = sa.select(t.c.text).where(t.c.job_id == job_id, t.c.version == version)
        with self.reading() as connection:
            found = connection.execute(wanted).scalar()
            if found is None:
                raise NotInKeep(f"job {job_id[:40]!r} has no version {version}", "see its history")
            return unpacked(found)

    def restore(self, job_id: str, version: int, expected_version: int | None = None) -> JobRecord:
        """Bring an earlier text back, as a new version: nothing in between is lost."""
        text = self.text_at(job_id, version)
        expected = self.job(job_id).version if expected_version is None else expected_version
        return self.save_job(job_id, text, expected, why=f"restored from {version}")

    # --- cloths and house numbers ---

    def cloths(self, query: str = "", *, hidden: bool = False) -> tuple[ClothRecord, ...]:
        """The cloths on the shelf by name."""
        t = tables.texts
        with self.reading() as connection:
            rows = connection.execute(sa.select(t).where(t.c.kind == "cloth", t.c.hidden == hidden)).mappings().all()
        words = query.casefold().split()
        found = [cloth_record(r) for r in rows if all(w in f"{r['name']}\n{r['text']}".casefold() for w in words)]
        return tuple(sorted(found, key=lambda c: (c.name.casefold(), c.id)))

    def cloth(self, cloth_id: str) -> ClothRecord:
        """One cloth of the shelf."""
        with self.reading() as connection:
            return _cloth(connection, cloth_id)

    def add_cloth(self, name: str, text: str) -> ClothRecord:
        """Put a cloth on the shelf."""
        cloth_id = secrets.token_hex(6)
        with self.writing() as connection:
            shelf.add_text(connection, shelf.new_row(cloth_id, "cloth", name, text, self._clock()))
            return _cloth(connection, cloth_id)

    def save_cloth(
        self, cloth_id: str, name: str, text: str, expected_version: int, *, why: str = "saved"
    ) -> ClothRecord:
        """Keep a cloth's text, if it is still at the version it was changed from (else `Stale`)."""
        with self.writing() as connection:
            _cloth(connection, cloth_id)
            if not shelf.change_text(connection, cloth_id, expected_version, text, self._clock(), name=name, why=why):
                raise Stale(_cloth(connection, cloth_id))
            return _cloth(connection, cloth_id)

    def set_cloth_hidden(self, cloth_id: str, hidden: bool) -> ClothRecord:
        """Take a cloth off the shelf, or put it back. It is kept either way."""
        with self.writing() as connection:
            _cloth(connection, cloth_id)
            shelf.set_hidden(connection, cloth_id, hidden, self._clock())
            return _cloth(connection, cloth_id)

    def cloth_history(self, cloth_id: str) -> tuple[JobVersion, ...]:
        """Every version of a cloth, newest first."""
        with self.reading() as connection:
            _cloth(connection, cloth_id)
            return shelf.text_history(connection, cloth_id)

    def cloth_at(self, cloth_id: str, version: int) -> str:
        """A cloth's text as it was at one of the versions of its history."""
        with self.reading() as connection:
            return shelf.text_at(connection, cloth_id, version)

    def house(self) -> HouseNumbers:
        """The workroom's usual numbers; an empty text at version 0 before anything was set."""
        with self.reading() as connection:
            return shelf.house_numbers(connection)

    def save_house(self, text: str, expected_version: int, *, why: str = "saved") -> HouseNumbers:
        """Keep the workroom's usual numbers (else `Stale`). Jobs keep the numbers they were begun with."""
        now, house = self._clock(), shelf.HOUSE
        with self.writing() as connection:
            before = shelf.house_numbers(connection)
            if before.version == expected_version == 0:
                shelf.add_text(connection, shelf.new_row(house, house, house, text, now))
            elif not shelf.change_text(connection, house, expected_version, text, now, name=house, why=why):
                raise Stale(before)
            return shelf.house_numbers(connection)

    def house_history(self) -> tuple[JobVersion, ...]:
        """Every version of the house numbers, newest first."""
        with self.reading() as connection:
            return shelf.text_history(connection, shelf.HOUSE)

    def house_at(self, version: int) -> str:
        """The house numbers as they were at one of the versions of their history."""
        with self.reading() as connection:
            return shelf.text_at(connection, shelf.HOUSE, version)

    # --- remnants ---

    def remnants(self, query: str = "", *, used: bool = False) -> tuple[Remnant, ...]:
        """What is left of bolts: those in which every word is found."""
        with self.reading() as connection:
            return tuple(leftovers.every(connection, query, used=used))

    def remnant(self, remnant_id: str) -> Remnant:
        """One remnant."""
        with self.reading() as connection:
            return leftovers.one(connection, remnant_id)

    def add_remnant(self, left: Left) -> Remnant:
        """Put what is left of a bolt on the shelf."""
        with self.writing() as connection:
            return leftovers.put(connection, secrets.token_hex(6), left, self._clock())

    def change_remnant(self, remnant_id: str, expected_version: int, **changed: str | bool) -> Remnant:
        """Change some of what is kept of a remnant, or whether it is used up, if it is still at that version."""
        with self.writing() as connection:
            return leftovers.change(connection, remnant_id, expected_version, **changed)

    # --- telephones that may come in from the network ---

    def telephones(self) -> tuple[Telephone, ...]:
        """Those that may, the newest first."""
        t = tables.telephones
        with self.reading() as connection:
            rows = connection.execute(sa.select(t).order_by(t.c.let_in.desc())).mappings()
            return tuple(Telephone(**row) for row in rows)

    def let_in(self, name: str, digest: str) -> Telephone:
        """Let a telephone in from now on. `digest` is that of what it carries."""
        made = Telephone(id=secrets.token_hex(6), name=name[:80], digest=digest, let_in=self._clock())
        with self.writing() as connection:
            connection.execute(sa.insert(tables.telephones).values(vars(made)))
        return made

    def shut_out(self, telephone_id: str) -> None:
        """Let a telephone in no longer."""
        t = tables.telephones
        with self.writing() as connection:
            connection.execute(sa.delete(t).where(t.c.id == telephone_id))

    # --- the cutting table ---

    def ticks(self, job_id: str) -> dict[str, Tick]:
        """What has been ticked, by piece."""
        with self.reading() as connection:
            return _ticks(connection, job_id)

    def tick(
        self, job_id: str, piece: str, state: TickState = "done", *, note: str = "", of: int | None = None
    ) -> dict[str, Tick]:
        """Tick a piece as cut, or as cut wrong. Doing it twice is doing it once.

        `of` is how many pieces there are to cut: with the last of them the job stands at `cut`.

        Raises
        ------
        NotArrived
            If the cloth has not been checked in.
        """
        with self.writing() as connection:
            job = _job(connection, job_id)
            if job.missing:
                raise NotArrived(job.missing)
            t, row = tables.ticks, {"state": state, "note": note, "at": self._clock()}
            here = (t.c.job_id == job_id) & (t.c.piece == piece)
            if connection.execute(sa.update(t).where(here).values(row)).rowcount == 0:
                connection.execute(sa.insert(t).values(job_id=job_id, piece=piece, **row))
            return self._follow(connection, job, of)

    def untick(self, job_id: str, piece: str) -> dict[str, Tick]:
        """Take a tick back. A job that stood at `cut` stands at `arrived` again."""
        t = tables.ticks
        with self.writing() as connection:
            job = _job(connection, job_id)
            connection.execute(sa.delete(t).where(t.c.job_id == job_id, t.c.piece == piece))
            return self._follow(connection, job, None)

    def _follow(self, connection: sa.Connection, job: JobRecord, of: int | None) -> dict[str, Tick]:
        """Let the job's state follow what is ticked."""
        kept = _ticks(connection, job.id)
        done = sum(t.state == "done" for t in kept.values())
        if of is not None and done >= of and STATES.index(job.state) < STATES.index("cut"):
            self._stand(connection, job, "cut")
        elif job.state == "cut" and (of is None or done < of):
            self._stand(connection, job, "arrived")
        return kept

    def cutting(self, job_id: str) -> bytes | None:
        """The plan that is being cut, as `save_cutting` kept it: ticks are of its pieces."""
        return self._made(_CUTTING, [job_id]).get(job_id)

    def save_cutting(self, job_id: str, data: bytes, *, asked: bytes | None = None) -> None:
        """Keep the plan that is being cut, whatever is edited or searched for meanwhile. It is never forgotten.

        `asked` is what is still to be planned again of it, kept in the same breath; None leaves it as it is.
        """
        with self.writing() as connection:
            _job(connection, job_id)
            self._put_made(connection, _CUTTING, job_id, data)
            if asked is not None:
                self._put_made(connection, _ASKED, job_id, asked)

    def asked(self, job_id: str) -> bytes:
        """What is still to be planned again of the plan that is being cut, as it was kept."""
        return self._made(_ASKED, [job_id]).get(job_id, b"")

    def save_asked(self, job_id: str, data: bytes) -> None:
        """Keep what is to be planned again, so that it is not lost before it is."""
        self._keep_made(_ASKED, job_id, data)

    def add_photo(self, job_id: str, data: bytes, *, name: str = "", note: str = "") -> Photo:
        """Keep a photograph (JPEG, PNG or WebP) with a job."""
        media_type = media_type_of(data)
        photo_id = secrets.token_hex(6)
        row = {"id": photo_id, "job_id": job_id, "name": name[:200], "media_type": media_type, "note": note[:2000],
               "size": len(data), "at": self._clock(), "data": data}  # fmt: skip
        with self.writing() as connection:
            _job(connection, job_id)
            connection.execute(sa.insert(tables.photos).values(row))
        return photo_of(row)

    def photos(self, job_id: str) -> tuple[Photo, ...]:
        """The photographs of a job, oldest first, without their bytes."""
        t = tables.photos
        wanted = sa.select(*(c for c in t.c if c.name != "data")).where(t.c.job_id == job_id).order_by(t.c.at, t.c.id)
        with self.reading() as connection:
            return tuple(photo_of(row) for row in connection.execute(wanted).mappings())

    def photo(self, photo_id: str) -> tuple[Photo, bytes]:
        """One photograph with its bytes."""
        t = tables.photos
        with self.reading() as connection:
            row = connection.execute(sa.select(t).where(t.c.id == photo_id)).mappings().first()
        if row is None:
            raise NotInKeep(f"there is no photograph {photo_id[:40]!r}", "it may have been in another folder")
        return photo_of(row), row["data"]

    # --- what was worked out, kept so that it need not be worked out again ---

    def lay_of(self, digest: str) -> bytes | None:
        """What `save_lay` kept under this digest, or None."""
        return self._made("lay", [digest]).get(digest)

    def save_lay(self, digest: str, data: bytes) -> None:
        """Keep a lay under the digest of what it was laid from."""
        self._keep_made("lay", digest, data)

    def pictures(self, digests: Sequence[str]) -> dict[str, bytes]:
        """The small pictures there are, by the digest of their job's text."""
        return self._made(_PICTURE, digests)

    def pictures_drawn(self, digests: Sequence[str]) -> dict[str, str]:
        """When each of the small pictures there are was drawn: short texts, another for every drawing."""
        t = tables.made
        wanted = sa.select(t.c.digest, t.c.at).where(t.c.kind == _PICTURE, t.c.digest.in_(list(digests)))
        with self.reading() as connection:
            return {row.digest: f"{row.at.timestamp() * 1e6:.0f}" for row in connection.execute(wanted)}

    def save_picture(self, digest: str, data: bytes) -> None:
        """Keep the small picture of the job whose text has this digest, in place of one there is."""
        self._keep_made(_PICTURE, digest, data)

    def _made(self, kind: str, digests: Sequence[str]) -> dict[str, bytes]:
        t = tables.made
        wanted = sa.select(t.c.digest, t.c.data).where(t.c.kind == kind, t.c.digest.in_(list(digests)))
        with self.reading() as connection:
            return {row.digest: row.data for row in connection.execute(wanted)}

    def _keep_made(self, kind: str, digest: str, data: bytes) -> None:
        with self.writing() as connection:
            self._put_made(connection, kind, digest, data)

    def _put_made(self, connection: sa.Connection, kind: str, digest: str, data: bytes) -> None:
        t, row = tables.made, {"data": data, "at": self._clock()}
        here = (t.c.kind == kind) & (t.c.digest == digest)
        if connection.execute(sa.update(t).where(here).values(row)).rowcount == 0:
            connection.execute(sa.insert(t).values(kind=kind, digest=digest, **row))

    # --- copies ---

    def archive_out(self) -> Iterator[bytes]:
        """The whole keep as a zip, in pieces: job files, history, photographs, cloths, house numbers."""
        return archive.packed_out(self)

    def archive_in(self, file: IO[bytes]) -> BroughtIn:
        """Bring an archive in. Nothing here is overwritten: what differs is put in beside it.

        Raises
        ------
        Unkeepable
            If the file is no archive of a keep. Nothing was changed.
        """
        return archive.brought_in(self, file)

    def backup(self, target: Path) -> None:
        """Copy the whole database to a file, while it is in use."""
        with sqlite.said(self.path, self.backups):
            sqlite.copy_database(self.path, target)


def _forget_old_made(engine: sa.Engine) -> None:
    """Forget the oldest of what was worked out and can be worked out again, where there is very much of it."""
    t = tables.made
    with engine.connect() as connection, connection.execution_options(writes=True).begin():
        for kind, most in _MOST_MADE.items():
            newest_first = sa.select(t.c.at).where(t.c.kind == kind).order_by(t.c.at.desc())
            oldest = connection.execute(newest_first.offset(most).limit(1)).scalar()
            if oldest is not None:
                connection.execute(sa.delete(t).where(t.c.kind == kind, t.c.at <= oldest))


def _sorted(lines: list[JobLine], sort: Sort) -> list[JobLine]:
    if sort in ("changed", "created"):
        return sorted(lines, key=lambda x: (getattr(x, sort), x.id), reverse=True)
    if sort == "promised":
        return sorted(lines, key=lambda x: (x.promised is None, x.promised or date.min, x.title.casefold(), x.id))
    if sort == "state":
        return sorted(lines, key=lambda x: (STATES.index(x.state), x.title.casefold(), x.id))
    return sorted(lines, key=lambda x: (getattr(x, sort).casefold(), x.title.casefold(), x.id))


def _job(connection: sa.Connection, job_id: str) -> JobRecord:
    j, v = tables.jobs, tables.versions
    both = j.join(v, (v.c.job_id == j.c.id) & (v.c.version == j.c.version))
    row = connection.execute(sa.select(j, v.c.text).select_from(both).where(j.c.id == job_id)).mappings().first()
    if row is None:
        raise NotInKeep(f"there is no job {job_id[:40]!r}", "it may be in another folder; see the list of jobs")
    return job_record(row)


def _change_job(connection: sa.Connection, job_id: str, row: Mapping[str, Any], *, version: int | None = None) -> bool:
    """Change a job, if it is still at that version; tell whether it was."""
    t = tables.jobs
    here = t.c.id == job_id if version is None else (t.c.id == job_id) & (t.c.version == version)
    changed = connection.execute(sa.update(t).where(here).values(**row)).rowcount > 0
    if not changed and version is None:
        raise NotInKeep(f"there is no job {job_id[:40]!r}", "it may be in another folder; see the list of jobs")
    return changed


def _add_version(connection: sa.Connection, job_id: str, version: int, new: NewText, why: str, now: datetime) -> None:
    connection.execute(
        sa.insert(tables.versions).values(
            job_id=job_id, version=version, began=now, at=now, why=why, text=new.data, fixed=why != "saved"
        )
    )


def _fold(connection: sa.Connection, before: JobRecord, new: NewText, now: datetime) -> bool:
    """Put a small edit into the version before it, where it continues that one."""
    t = tables.versions
    here = (t.c.job_id == before.id) & (t.c.version == before.version)
    began, fixed = connection.execute(sa.select(t.c.began, t.c.fixed).where(here)).one()
    if fixed or not is_folded(before.text, new.text, began, now):
        return False
    connection.execute(sa.update(t).where(here).values(version=before.version + 1, at=now, text=new.data))
    return True


def _fix_version(connection: sa.Connection, job: JobRecord) -> None:
    """Keep a version as it is: what was agreed stays to be seen."""
    t = tables.versions
    connection.execute(sa.update(t).where(t.c.job_id == job.id, t.c.version == job.version).values(fixed=True))


def _at(arrival: Arrival, now: datetime) -> Arrival:
    return replace(arrival, at=now)


def _cloth(connection: sa.Connection, cloth_id: str) -> ClothRecord:
    return cloth_record(shelf.text_row(connection, cloth_id, "cloth"))


def _ticks(connection: sa.Connection, job_id: str) -> dict[str, Tick]:
    t = tables.ticks
    rows = connection.execute(sa.select(t).where(t.c.job_id == job_id).order_by(t.c.piece)).mappings()
    return {row["piece"]: tick_of(row) for row in rows}
