"""The whole keep as one archive, and back: a zip of job files, cloths, house numbers, photographs and history.

The job files in it are those that the command line takes. Bringing an archive in never overwrites:
what is here already stays, what differs is put in beside it, and the report says which.
"""

from __future__ import annotations

import io
import re
import secrets
import zipfile
from collections.abc import Iterator, Mapping
from contextlib import AbstractContextManager
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import IO, Any, Protocol

import msgspec
import sqlalchemy as sa

from squab.keep import leftovers, shelf, tables
from squab.keep.errors import KeepError, Unkeepable
from squab.keep.forms import arrival_form, arrivals, unpacked
from squab.keep.records import STATES, BroughtIn, Left, still_missing
from squab.keep.rules import MOST_PHOTO_BYTES, MOST_TEXT_BYTES, NewText, keepable, media_type_of, new_text

FORM = 1
MANIFEST = "archive.json"
HOUSE_FILE = "house-numbers.toml"
MOST_MANIFEST_BYTES = 64_000_000
MOST_ENTRIES = 200_000
_ID = r"[0-9a-zA-Z-]{1,32}"
_ENDING = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp"}


class Held(Protocol):
    """What this needs of a keep: its connections and its clock."""

    def reading(self) -> AbstractContextManager[sa.Connection]:
        """A connection to read with."""

    def writing(self) -> AbstractContextManager[sa.Connection]:
        """A connection to write with, all or nothing."""

    def now(self) -> datetime:
        """The time."""


@dataclass
class ArchivedVersion:
    """One version of a job, and the file it is in."""

    version: int
    began: datetime
    at: datetime
    why: str
    file: str
    fixed: bool = False


@dataclass
class ArchivedTick:
    """One tick."""

    piece: str
    state: str
    at: datetime
    note: str = ""


@dataclass
class ArchivedPhoto:
    """One photograph, and the file it is in."""

    id: str
    name: str
    at: datetime
    file: str
    note: str = ""


@dataclass
class ArchivedJob:
    """One job; its newest version is the job file itself."""

    id: str
    title: str
    state: str
    created: datetime
    changed: datetime
    promised: date | None = None
    hidden: bool = False
    arrival: list[dict[str, Any]] = field(default_factory=list)
    agreements: list[dict[str, Any]] = field(default_factory=list)
    versions: list[ArchivedVersion] = field(default_factory=list)
    ticks: list[ArchivedTick] = field(default_factory=list)
    photos: list[ArchivedPhoto] = field(default_factory=list)
    cutting: str = ""
    """The file of the plan that is being cut, where there is one."""


@dataclass
class ArchivedCloth:
    """One cloth of the shelf, and the file it is in."""

    id: str
    name: str
    created: datetime
    changed: datetime
    file: str
    hidden: bool = False


@dataclass
class ArchivedRemnant:
    """One remnant, and the file of its cloth."""

    id: str
    at: datetime
    file: str
    words: dict[str, str]
    used: bool = False


@dataclass
class Manifest:
    """What an archive holds."""

    squab_archive: int
    made: datetime
    jobs: list[ArchivedJob] = field(default_factory=list)
    cloths: list[ArchivedCloth] = field(default_factory=list)
    house: str = ""
    """The file of the house numbers, where there are any."""
    remnants: list[ArchivedRemnant] = field(default_factory=list)


# --- out ---


class _Pipe(io.RawIOBase):
    """What the zip writes, until it is taken."""

    def __init__(self) -> None:
        self.parts: list[bytes] = []

    def writable(self) -> bool:
        return True

    def write(self, data: Any) -> int:
        self.parts.append(bytes(data))
        return len(data)

    def taken(self) -> bytes:
        """Take what has been written so far."""
        data, self.parts = b"".join(self.parts), []
        return data


def packed_out(keep: Held) -> Iterator[bytes]:
    """The archive in pieces, one job at a time, all as it was at one moment."""
    pipe = _Pipe()
    with keep.reading() as connection, zipfile.ZipFile(pipe, "w", zipfile.ZIP_DEFLATED) as archive:
        manifest = Manifest(FORM, keep.now())
        for row in connection.execute(sa.select(tables.jobs).order_by(tables.jobs.c.created)).mappings().all():
            manifest.jobs.append(_job_out(connection, row, archive))
            yield pipe.taken()
        _texts_out(connection, manifest, archive)
        _remnants_out(connection, manifest, archive)
        archive.writestr(MANIFEST, msgspec.json.format(msgspec.json.encode(manifest), indent=1))
    yield pipe.taken()


def _job_out(connection: sa.Connection, row: Mapping[Any, Any], archive: zipfile.ZipFile) -> ArchivedJob:
    job = ArchivedJob(
        row["id"], row["title"], row["state"], row["created"], row["changed"], row["promised"], row["hidden"],
        row["arrival"], _agreements(connection, row["id"]),
    )  # fmt: skip
    name = f"jobs/{_slug(row['title'])}-{row['id']}"
    v, t, p = tables.versions, tables.ticks, tables.photos
    for one in connection.execute(sa.select(v).where(v.c.job_id == job.id).order_by(v.c.version)).mappings():
        newest = one["version"] == row["version"]
        file = f"{name}.toml" if newest else f"{name}/history/{one['version']:05d}.toml"
        archive.writestr(file, unpacked(one["text"]))
        job.versions.append(ArchivedVersion(one["version"], one["began"], one["at"], one["why"], file, one["fixed"]))
    for one in connection.execute(sa.select(t).where(t.c.job_id == job.id).order_by(t.c.piece)).mappings():
        job.ticks.append(ArchivedTick(one["piece"], one["state"], one["at"], one["note"]))
    for one in connection.execute(sa.select(p).where(p.c.job_id == job.id).order_by(p.c.at)).mappings():
        file = f"{name}/photographs/{one['id']}.{_ENDING[one['media_type']]}"
        archive.writestr(zipfile.ZipInfo(file), one["data"])
        job.photos.append(ArchivedPhoto(one["id"], one["name"], one["at"], file, one["note"]))
    m = tables.made
    cutting = connection.execute(sa.select(m.c.data).where(m.c.kind == "cutting", m.c.digest == job.id)).scalar()
    if cutting is not None:
        job.cutting = f"{name}/being-cut.bin"
        archive.writestr(job.cutting, cutting)
    return job


def _agreements(connection: sa.Connection, job_id: str) -> list[dict[str, Any]]:
    a = tables.agreements
    return list(connection.execute(sa.select(a.c.agreed).where(a.c.job_id == job_id).order_by(a.c.number)).scalars())


def _texts_out(connection: sa.Connection, manifest: Manifest, archive: zipfile.ZipFile) -> None:
    for row in connection.execute(sa.select(tables.texts).order_by(tables.texts.c.created)).mappings():
        if row["kind"] == "cloth":
            file = f"cloths/{_slug(row['name'])}-{row['id']}.toml"
            manifest.cloths.append(
                ArchivedCloth(row["id"], row["name"], row["created"], row["changed"], file, row["hidden"])
            )
        else:
            file = manifest.house = HOUSE_FILE
        archive.writestr(file, row["text"])


def _remnants_out(connection: sa.Connection, manifest: Manifest, archive: zipfile.ZipFile) -> None:
    for one in leftovers.every(connection, "", used=None):
        file = f"remnants/{_slug(one.name)}-{one.id}.toml"
        words = {n: getattr(one, n) for n in tables.REMNANT_WORDS if n != "cloth"}
        manifest.remnants.append(ArchivedRemnant(one.id, one.at, file, words, one.used))
        archive.writestr(file, one.cloth)


def _slug(title: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", title.casefold()).strip("-")[:40] or "unnamed"


# --- in ---


@dataclass
class _Report:
    added: list[str] = field(default_factory=list)
    same: list[str] = field(default_factory=list)
    beside: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)


def brought_in(keep: Held, file: IO[bytes]) -> BroughtIn:
    """Bring an archive in, each job whole or not at all.

    Raises
    ------
    Unkeepable
        If the file is no archive of a keep, or one of a newer form. Nothing was changed.
    """
    try:
        with zipfile.ZipFile(file) as archive:
            manifest = _manifest(archive)
            report = _Report()
            for job in manifest.jobs:
                _one_in(keep, archive, job, report)
            for cloth in manifest.cloths:
                _cloth_in(keep, archive, cloth, report)
            for remnant in manifest.remnants:
                _remnant_in(keep, archive, remnant, report)
            if manifest.house:
                _house_in(keep, _text(archive, manifest.house), report)
    except (zipfile.BadZipFile, EOFError, NotImplementedError, RuntimeError, zipfile.LargeZipFile) as error:
        raise Unkeepable(f"this is no archive that can be read: {error}", "choose a file made by the keep") from error
    return BroughtIn(
        added=tuple(report.added), same=tuple(report.same), beside=tuple(report.beside), refused=tuple(report.refused)
    )


def _manifest(archive: zipfile.ZipFile) -> Manifest:
    if len(archive.infolist()) > MOST_ENTRIES:
        raise Unkeepable(f"the archive holds more than {MOST_ENTRIES} files", "choose a file made by the keep")
    if MANIFEST not in archive.namelist():
        raise Unkeepable(f"this zip is no archive of a keep: it has no {MANIFEST}", "choose a file made by the keep")
    data = _bytes(archive, MANIFEST, MOST_MANIFEST_BYTES)
    try:
        form = msgspec.json.decode(data).get("squab_archive")
        if isinstance(form, int) and form > FORM:
            raise Unkeepable(f"a newer Squab made this archive (form {form})", "bring it in with the newer program")
        return msgspec.json.decode(data, type=Manifest)
    except (msgspec.MsgspecError, AttributeError, UnicodeDecodeError) as error:
        raise Unkeepable(f"the archive's {MANIFEST} cannot be read: {error}", "choose another copy of it") from error


def _one_in(keep: Held, archive: zipfile.ZipFile, job: ArchivedJob, report: _Report) -> None:
    title = job.title.strip()[:200] or "Unnamed job"
    try:
        _check(job)
        texts = {v.version: new_text(_text(archive, v.file)) for v in job.versions}
        with keep.writing() as connection:
            now_here = _texts_here(connection, job.id)
            if texts[max(texts)].text in now_here:
                apart = _apart(connection, job)
                (report.refused if apart else report.same).append(f"{title}: {apart}" if apart else title)
                return
            job_id = secrets.token_hex(6) if now_here else job.id
            _insert_job(connection, keep, archive, job, job_id, texts)
        (report.beside if now_here else report.added).append(title)
    except (Unkeepable, KeyError, TypeError, ValueError) as error:
        if isinstance(error, KeepError) and not isinstance(error, Unkeepable):
            raise
        report.refused.append(f"{title}: {getattr(error, 'reason', error)}")


def _check(job: ArchivedJob) -> None:
    if not re.fullmatch(_ID, job.id):
        raise Unkeepable(f"its id {job.id[:40]!r} is none")
    numbers = [v.version for v in job.versions]
    if not numbers or min(numbers) < 1 or max(numbers) > 10**9:
        raise Unkeepable("it has no version that could be kept")
    if job.state not in STATES:
        raise Unkeepable(f"it is {job.state[:40]!r}, which a job cannot be")
    if any(t.state not in ("done", "spoiled") for t in job.ticks):
        raise Unkeepable("it has a tick that is none")


def _texts_here(connection: sa.Connection, job_id: str) -> list[str]:
    v = tables.versions
    return [unpacked(data) for data in connection.execute(sa.select(v.c.text).where(v.c.job_id == job_id)).scalars()]


def _apart(connection: sa.Connection, job: ArchivedJob) -> str:
    """In what the archive's job differs from the one here, their texts being the same."""
    j, t = tables.jobs, tables.ticks
    here = connection.execute(sa.select(j.c.state, j.c.promised).where(j.c.id == job.id)).one()
    ticks = {tuple(row) for row in connection.execute(sa.select(t.c.piece, t.c.state).where(t.c.job_id == job.id))}
    if here.state != job.state:
        return f"it is {job.state!r} there and {here.state!r} here, which stays"
    if here.promised != job.promised or ticks != {(x.piece, x.state) for x in job.ticks}:
        return "the day promised or the ticks are others there; those here stay"
    return ""


def _insert_job(
    connection: sa.Connection,
    keep: Held,
    archive: zipfile.ZipFile,
    job: ArchivedJob,
    job_id: str,
    texts: Mapping[int, NewText],
) -> None:
    version = max(texts)
    arrived = arrivals(job.arrival)
    row = texts[version].row({"title": job.title.strip()[:200] or "Unnamed job"}) | {
        "id": job_id, "state": job.state, "promised": job.promised, "created": _aware(job.created),
        "changed": _aware(job.changed), "version": version, "arrival": arrival_form(arrived), "hidden": job.hidden,
        "agreed": job.agreements[-1] if job.agreements else None,
    }  # fmt: skip
    row["arrived"] = not still_missing(tuple(row["cloths"]), arrived)
    connection.execute(sa.insert(tables.jobs).values(row))
    for v in job.versions:
        connection.execute(
            sa.insert(tables.versions).values(
                job_id=job_id, version=v.version, began=_aware(v.began), at=_aware(v.at), why=v.why[:200],
                text=texts[v.version].data, fixed=True,
            )
        )  # fmt: skip
    for number, agreed in enumerate(job.agreements, 1):
        connection.execute(sa.insert(tables.agreements).values(job_id=job_id, number=number, agreed=agreed))
    for t in job.ticks:
        connection.execute(
            sa.insert(tables.ticks).values(
                job_id=job_id, piece=t.piece[:200], state=t.state, at=_aware(t.at), note=t.note
            )
        )
    for p in job.photos:
        _insert_photo(connection, job_id, p, _bytes(archive, p.file, MOST_PHOTO_BYTES))
    if job.cutting:
        data = _bytes(archive, job.cutting, MOST_PHOTO_BYTES)
        connection.execute(sa.insert(tables.made).values(kind="cutting", digest=job_id, at=keep.now(), data=data))


def _insert_photo(connection: sa.Connection, job_id: str, photo: ArchivedPhoto, data: bytes) -> None:
    connection.execute(
        sa.insert(tables.photos).values(
            id=secrets.token_hex(6), job_id=job_id, name=photo.name[:200], media_type=media_type_of(data),
            at=_aware(photo.at), note=photo.note[:2000], size=len(data), data=data,
        )
    )  # fmt: skip


def _cloth_in(keep: Held, archive: zipfile.ZipFile, cloth: ArchivedCloth, report: _Report) -> None:
    name = f"cloth {cloth.name.strip()[:200]}"
    try:
        text = _text(archive, cloth.file)
        keepable(text)
        with keep.writing() as connection:
            t = tables.texts
            here = connection.execute(sa.select(t.c.id, t.c.text).where(t.c.kind == "cloth")).all()
            if any(row.text == text for row in here):
                report.same.append(name)
                return
            beside = any(row.id == cloth.id for row in here)
            text_id = secrets.token_hex(6) if beside else cloth.id[:32]
            row = shelf.new_row(text_id, "cloth", cloth.name, text, _aware(cloth.changed))
            row |= {"created": _aware(cloth.created), "hidden": cloth.hidden}
            shelf.add_text(connection, row, why="brought in")
        (report.beside if beside else report.added).append(name)
    except Unkeepable as error:
        report.refused.append(f"{name}: {error.reason}")


def _remnant_in(keep: Held, archive: zipfile.ZipFile, remnant: ArchivedRemnant, report: _Report) -> None:
    name = f"remnant of {remnant.words.get('name', '').strip()[:200] or 'a cloth'}"
    try:
        if not re.fullmatch(_ID, remnant.id):
            raise Unkeepable(f"its id {remnant.id[:40]!r} is none")
        words = {n: remnant.words.get(n, "") for n in tables.REMNANT_WORDS}
        left = Left(**words | {"cloth": _text(archive, remnant.file)})
        with keep.writing() as connection:
            here = {r.id: r for r in leftovers.every(connection, "", used=None)}
            there = here.get(remnant.id)
            if there is not None and vars(left).items() <= vars(there).items() and there.used == remnant.used:
                report.same.append(name)
                return
            remnant_id = secrets.token_hex(6) if there is not None else remnant.id
            leftovers.put(connection, remnant_id, left, _aware(remnant.at))
            leftovers.change(connection, remnant_id, 1, used=remnant.used)
        (report.added if there is None else report.beside).append(name)
    except Unkeepable as error:
        report.refused.append(f"{name}: {error.reason}")


def _house_in(keep: Held, text: str, report: _Report) -> None:
    with keep.writing() as connection:
        here = shelf.house_numbers(connection)
        if here.version == 0:
            row = shelf.new_row(shelf.HOUSE, shelf.HOUSE, shelf.HOUSE, text, keep.now())
            shelf.add_text(connection, row, why="brought in")
    if here.version == 0:
        report.added.append("house numbers")
    elif here.text == text:
        report.same.append("house numbers")
    else:
        report.refused.append(f"house numbers: those here stay; the archive's are in its {HOUSE_FILE}")


def _text(archive: zipfile.ZipFile, name: str) -> str:
    try:
        return _bytes(archive, name, MOST_TEXT_BYTES).decode("utf-8")
    except UnicodeDecodeError as error:
        raise Unkeepable(f"{name[:100]} is no text: {error.reason}") from error


def _bytes(archive: zipfile.ZipFile, name: str, most: int) -> bytes:
    """One file of the archive, never more than may be kept, whatever the archive says of its size."""
    if name not in archive.NameToInfo:
        raise Unkeepable(f"{name[:100]} is missing from the archive")
    with archive.open(name) as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise Unkeepable(f"{name[:100]} has more than {most / 1e6:.0f} MB")
    return data


def _aware(moment: datetime) -> datetime:
    return moment if moment.tzinfo is not None else moment.replace(tzinfo=UTC)
