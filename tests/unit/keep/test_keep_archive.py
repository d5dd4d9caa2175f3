"""The archive of the whole keep: out, in, in again; and what is no archive."""

from __future__ import annotations

import io
import json
import threading
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from squab.files import read_job
from squab.keep import Arrival, FlawNoted, Keep, Left, Unkeepable, examples, open_keep
from tests.unit.keep.keeping import CHECKED, TEXT, Clock

PICTURE = b"\xff\xd8\xff" + bytes(range(256)) * 40


LEFT = Left(
    name="Wherry stripe", cloth='[[cloth]]\nid = "wherry"\nname = "Wherry stripe"\n', across="1370 mm", along="840 mm",
    lot="7", stripe_at="12 mm", place="drawer 3", job_title="Bay window seat",
)  # fmt: skip


@pytest.fixture
def full(keep: Keep, clock: Clock) -> Keep:
    """A keep with something of everything in it."""
    for example in examples()[:2]:
        keep.add_job(example.text)
    clock.on(minutes=9)
    job = keep.add_job(TEXT)
    clock.on(minutes=9)
    keep.save_job(job.id, TEXT + "# changed\r\n", 1)
    flaw = FlawNoted(left="1", right="2", from_="3", to="4 1/")
    keep.set_arrival(job.id, CHECKED)
    keep.set_arrival(job.id, Arrival(**{**vars(CHECKED), "flaws": (flaw,)}))
    keep.agree(job.id, {"total": "412.00"})
    keep.agree(job.id, {"total": "430.00"}, anew=True)
    keep.set_promised(job.id, date(2031, 4, 1))
    keep.tick(job.id, "left.top")
    keep.tick(job.id, "left.bottom", "spoiled", note="slipped")
    keep.add_photo(job.id, PICTURE, name="front.jpg", note="before")
    keep.save_cutting(job.id, b"the plan on the table")
    hidden = keep.add_job("[job]\nname = 'Gone'\n")
    keep.set_hidden(hidden.id, True)
    keep.add_cloth("Wherry stripe", 'id = "ticking"\n')
    keep.add_remnant(LEFT)
    keep.change_remnant(keep.add_remnant(replace(LEFT, lot="8")).id, 1, used=True, place="drawer 2")
    keep.save_house("[prices]\nhour = 36\n", 0)
    return keep


@pytest.fixture
def empty(tmp_path: Path, clock: Clock) -> Iterator[Keep]:
    """A second, empty keep."""
    opened = open_keep(tmp_path / "second", clock=clock)
    yield opened
    opened.close()


def archived(keep: Keep) -> io.BytesIO:
    """The archive of a keep."""
    return io.BytesIO(b"".join(keep.archive_out()))


def everything(keep: Keep) -> dict[str, Any]:
    """All that is kept, for comparing."""
    lines = (*keep.jobs(), *keep.jobs(hidden=True))
    return {
        "jobs": {x.id: keep.job(x.id) for x in lines},
        "history": {
            x.id: [(v.version, v.began, v.at, v.why, keep.text_at(x.id, v.version)) for v in keep.history(x.id)]
            for x in lines
        },
        "ticks": {x.id: keep.ticks(x.id) for x in lines},
        "photos": {x.id: [(p.name, p.note, p.at, keep.photo(p.id)[1]) for p in keep.photos(x.id)] for x in lines},
        "cutting": {x.id: keep.cutting(x.id) for x in lines},
        "cloths": [(c.id, c.name, c.text) for c in keep.cloths()],
        "house": keep.house().text,
        "remnants": {replace(r, version=1) for used in (False, True) for r in keep.remnants(used=used)},
    }


def test_an_archive_brings_everything_to_an_empty_keep(full: Keep, empty: Keep) -> None:
    """Texts byte for byte, history, agreed figures, arrival, ticks, photographs, cloths, house numbers."""
    report = empty.archive_in(archived(full))
    assert everything(empty) == everything(full)
    assert len(report.added) == 8
    assert (report.same, report.beside, report.refused) == ((), (), ())


def test_the_job_files_in_it_are_those_the_command_line_takes(full: Keep) -> None:
    with zipfile.ZipFile(archived(full)) as archive:
        names = [n for n in archive.namelist() if n.startswith("jobs/") and n.count("/") == 1]
        for example in examples()[:2]:
            (name,) = [n for n in names if archive.read(n).decode() == example.text]
            assert name.endswith(".toml")
            assert read_job(archive.read(name)).value is not None
        assert archive.testzip() is None


def test_bringing_it_in_twice_adds_nothing(full: Keep) -> None:
    before = everything(full)
    report = full.archive_in(archived(full))
    assert everything(full) == before
    assert len(report.same) == 8
    assert (report.added, report.beside, report.refused) == ((), (), ())


def test_what_was_changed_here_meanwhile_stays(full: Keep, empty: Keep, clock: Clock) -> None:
    """An older text is in the history already; one changed on both sides is put in beside."""
    old = archived(full)
    empty.archive_in(archived(full))
    job = next(j for j in full.jobs() if j.title == "Window seat")
    clock.on(minutes=5)
    full.save_job(job.id, TEXT + "# here\n", job.version)
    full.save_house("[prices]\nhour = 40\n", 1)
    before = everything(full)
    again = full.archive_in(old)
    assert everything(full) == before
    assert again.refused == ("house numbers: those here stay; the archive's are in its house-numbers.toml",)
    empty.save_job(job.id, TEXT + "# there\n", job.version)
    report = full.archive_in(archived(empty))
    assert report.beside == ("Window seat",)
    texts = {j.id: full.job(j.id).text for j in full.jobs() if j.title == "Window seat"}
    assert texts.pop(job.id) == TEXT + "# here\n"
    assert list(texts.values()) == [TEXT + "# there\n"]


def test_a_state_that_differs_is_said_and_stays(full: Keep, empty: Keep) -> None:
    empty.archive_in(archived(full))
    job = next(j for j in full.jobs() if j.title == "Window seat")
    empty.set_state(job.id, "handed over")
    report = full.archive_in(archived(empty))
    assert report.refused == ("Window seat: it is 'handed over' there and 'arrived' here, which stays",)
    assert full.job(job.id).state == "arrived"
    full.set_state(job.id, "handed over")
    full.untick(job.id, "left.top")
    assert "ticks are others" in full.archive_in(archived(empty)).refused[0]


def remade(source: io.BytesIO, change: dict[str, bytes | None]) -> io.BytesIO:
    """An archive with some of its files changed, or left out."""
    made = io.BytesIO()
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            data = change.get(name, old.read(name))
            if data is not None:
                new.writestr(name, data)
    made.seek(0)
    return made


def manifest_of(source: io.BytesIO) -> dict[str, Any]:
    """An archive's own list of what is in it."""
    with zipfile.ZipFile(source) as archive:
        return dict(json.loads(archive.read("archive.json")))


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "no archive that can be read"),
        (b"PK\x03\x04" + b"\0" * 500, "no archive that can be read"),
        (TEXT.encode(), "no archive that can be read"),
    ],
)
def test_what_is_no_archive_is_refused(keep: Keep, data: bytes, said: str) -> None:
    with pytest.raises(Unkeepable, match=said):
        keep.archive_in(io.BytesIO(data))


def test_zips_of_other_things_and_newer_archives_are_refused(full: Keep, empty: Keep) -> None:
    other = io.BytesIO()
    with zipfile.ZipFile(other, "w") as archive:
        archive.writestr("letter.txt", "Dear customer")
    with pytest.raises(Unkeepable, match=r"has no archive\.json"):
        empty.archive_in(other)
    newer = manifest_of(archived(full)) | {"squab_archive": 2}
    with pytest.raises(Unkeepable, match="newer Squab made this archive"):
        empty.archive_in(remade(archived(full), {"archive.json": json.dumps(newer).encode()}))
    for junk in (b"[]", b"{", b'{"squab_archive": 1}', b'{"squab_archive": 1, "made": 3}', b"\xff"):
        with pytest.raises(Unkeepable, match=r"archive\.json cannot be read"):
            empty.archive_in(remade(archived(full), {"archive.json": junk}))
    assert empty.is_empty()


def test_one_bad_job_does_not_keep_the_others_out(full: Keep, empty: Keep) -> None:
    """Each that cannot be brought in is named with its reason; none is there in part."""
    manifest = manifest_of(archived(full))
    by_title = {job["title"]: job for job in manifest["jobs"]}
    seat, armchair = by_title["Window seat"], by_title["Librarian's armchair"]
    seat_photo = seat["photos"][0]["file"]
    armchair["state"] = "lost"
    source = remade(archived(full), {"archive.json": json.dumps(manifest).encode(), seat_photo: b"<svg onload='x()'/>"})
    report = empty.archive_in(source)
    assert sorted(report.refused) == [
        "Librarian's armchair: it is 'lost', which a job cannot be",
        "Window seat: this is no photograph that can be shown",
    ]
    assert {j.title for j in (*empty.jobs(), *empty.jobs(hidden=True))} == {"Bay window seat", "Gone"}
    missing = remade(archived(full), {seat["versions"][0]["file"]: None})
    assert "is missing from the archive" in " ".join(empty.archive_in(missing).refused)


def test_an_archive_that_swells_is_not_swallowed(full: Keep, empty: Keep) -> None:
    """A small zip that unpacks to very much is read no further than may be kept."""
    manifest = manifest_of(archived(full))
    gone = next(job for job in manifest["jobs"] if job["title"] == "Gone")
    swollen = remade(archived(full), {gone["versions"][0]["file"]: b"#" * 60_000_000})
    assert len(swollen.getvalue()) < 500_000
    report = empty.archive_in(swollen)
    assert len(report.refused) == 1
    assert "has more than 8 MB" in report.refused[0]


def test_an_archive_is_of_one_moment(full: Keep) -> None:
    """What is saved while it is being written is not in it by half."""
    before = everything(full)
    pieces = full.archive_out()
    first = next(pieces)
    for line in full.jobs():
        full.save_job(line.id, "# changed meanwhile " + "x" * 500, line.version)
    rest: list[bytes] = []
    for _ in range(20):  # each piece is asked for by another thread, as a web server does
        thread = threading.Thread(target=lambda: rest.append(next(pieces, b"")))
        thread.start()
        thread.join()
    assert next(pieces, None) is None
    source = io.BytesIO(first + b"".join(rest))
    with zipfile.ZipFile(source) as archive:
        newest = [json.loads(archive.read("archive.json"))["jobs"][n]["versions"][-1]["file"] for n in range(3)]
        assert {archive.read(name).decode() for name in newest} <= {j.text for j in before["jobs"].values()}


def test_the_examples_are_found_and_sound() -> None:
    found = examples()
    assert {"bay-window", "armchair"} <= {e.name for e in found}
    for example in found:
        assert read_job(example.text.encode()).value is not None
        assert example.title
