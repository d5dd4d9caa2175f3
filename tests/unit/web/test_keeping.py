"""The keep's page: job files and archives out and in, a copy of the database while it is in use."""

from __future__ import annotations

import io
import re
import sqlite3
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from squab.keep import Keep, open_keep
from squab.web import create_app
from squab.web.security import MOST_FORM_BYTES, TOKEN_COOKIE
from tests.unit.web.conftest import EXAMPLES, TOKEN


@pytest.fixture
def elsewhere(tmp_path: Path) -> Iterator[tuple[TestClient, Keep]]:
    """Another workroom."""
    keep = open_keep(tmp_path / "elsewhere")
    with TestClient(create_app(keep), base_url="http://127.0.0.1:8025", follow_redirects=False) as made:
        made.cookies.set(TOKEN_COOKIE, TOKEN)
        made.headers["x-squab-token"] = TOKEN
        yield made, keep


def archive_of(client: TestClient) -> bytes:
    """The archive, as the page hands it out."""
    answer = client.get("/keep/archive.zip")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "application/zip"
    return answer.content


def test_everything_goes_out_and_comes_in_elsewhere(
    client: TestClient, keep: Keep, elsewhere: tuple[TestClient, Keep]
) -> None:
    """Jobs with their history, cloths, house numbers; twice is once."""
    there, other = elsewhere
    client.post("/jobs/examples")
    client.post("/cloths/from-jobs")
    keep.save_house("[prices]\nhour = 37\n", 0)
    job = keep.jobs()[0]
    keep.save_job(job.id, keep.job(job.id).text + "\n# another note\n", 1, why="the text was written")
    data = archive_of(client)
    page = there.post("/keep/archive", files={"file": ("a.zip", data)})
    assert page.status_code == 200
    assert "New here" in page.text
    assert {j.title for j in other.jobs()} == {j.title for j in keep.jobs()}
    assert other.job(job.id).text == keep.job(job.id).text
    assert len(other.history(job.id)) == 2
    assert [c.text for c in other.cloths()] == [c.text for c in keep.cloths()]
    assert other.house().text == keep.house().text
    again = there.post("/keep/archive", files={"file": ("a.zip", data)})
    assert "New here" not in again.text
    assert "Here already, the same" in again.text


def test_the_database_is_copied_while_it_is_in_use(client: TestClient, keep: Keep, tmp_path: Path) -> None:
    """Whole, and a keep can be opened from it."""
    keep.add_job((EXAMPLES / "armchair.toml").read_text())
    answer = client.get("/keep/database")
    assert answer.status_code == 200
    assert ".sqlite" in answer.headers["content-disposition"]
    place = tmp_path / "copy" / "squab.sqlite"
    place.parent.mkdir()
    place.write_bytes(answer.content)
    with sqlite3.connect(place) as copy:
        assert copy.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    opened = open_keep(place.parent)
    assert [j.title for j in opened.jobs()] == ["Librarian's armchair"]
    opened.close()


def _zip(**files: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, text in files.items():
            archive.writestr(name, text)
    return out.getvalue()


@pytest.mark.parametrize(
    "data",
    [b"", b"PK\x03\x04 and no more", b"\x00" * 5000, (EXAMPLES / "armchair.toml").read_bytes(), _zip(a="b")],
    ids=["empty", "cut off", "zeros", "a job file", "another zip"],
)
def test_what_is_no_archive_is_told_on_a_page(client: TestClient, keep: Keep, data: bytes) -> None:
    """Nothing is changed."""
    answer = client.post("/keep/archive", files={"file": ("<b>a.zip", data)})
    assert answer.status_code == 422
    assert "<h1>" in answer.text
    assert "choose a file" in answer.text.lower()
    assert keep.is_empty()


@pytest.mark.parametrize(
    "data",
    [b"", b"\x89PNG\r\n\x1a\n\xff\xfe", b"title = 1\n", b"[job\n", b"just words, no keys"],
    ids=["empty", "a picture", "another file", "half a heading", "words"],
)
def test_what_is_no_job_file_is_told_on_a_page(client: TestClient, keep: Keep, data: bytes) -> None:
    """With its line where there is one."""
    answer = client.post("/jobs/bring-in", files={"file": ("<b>notes.toml", data)})
    assert answer.status_code == 422
    assert "That is no job file" in answer.text
    assert "<b>notes" not in answer.text
    assert keep.is_empty()


def test_a_job_file_with_faults_comes_in_with_them(client: TestClient, keep: Keep) -> None:
    """A half-finished job is a job."""
    text = '[[cushion]]\nwidth = "24 3/"\n'
    answer = client.post("/jobs/bring-in", files={"file": ("half.toml", text.encode())})
    assert answer.status_code == 303
    assert keep.job(answer.headers["location"].rpartition("/")[2]).text == text


def test_a_very_large_upload_is_refused(client: TestClient, keep: Keep) -> None:
    """By what it says of itself, before it is kept anywhere."""
    answer = client.post("/jobs/bring-in", files={"file": ("large.toml", b"#" * (MOST_FORM_BYTES + 10))})
    assert answer.status_code == 413
    assert "At most 9 MB" in answer.text
    assert keep.is_empty()


def test_a_job_taken_off_the_list_is_found_here(client: TestClient, keep: Keep) -> None:
    """And can be put back."""
    job = keep.add_job((EXAMPLES / "armchair.toml").read_text())
    keep.set_hidden(job.id, True)
    assert "Jobs taken off the list" in client.get("/keep").text
    assert "Jobs taken off the list" not in client.post(f"/keep/hidden/{job.id}", data={}).text
    assert [j.id for j in keep.jobs()] == [job.id]


def test_the_page_tells_where_it_all_lies(client: TestClient, keep: Keep) -> None:
    """The very path."""
    assert str(keep.path) in client.get("/keep").text


def test_the_size_told_is_that_of_what_is_kept(client: TestClient) -> None:
    """What an open database has not written into its own file yet is kept as well."""
    client.post("/jobs/examples")
    copy = client.get("/keep/database").content
    told = re.search(r"cloths?, ([\d.]+) (kB|MB)\. Every change is kept", client.get("/keep").text)
    assert told
    assert float(told[1]) * {"kB": 1e3, "MB": 1e6}[told[2]] > 0.9 * len(copy)
