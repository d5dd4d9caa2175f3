"""The list of jobs, job files in and out, and how errors are told."""

from __future__ import annotations

import re
import socket
from datetime import date

import pytest
from fastapi.testclient import TestClient

from squab.keep import Keep, KeepFull
from squab.web.serving import HOST, _free_sockets
from tests.unit.web.conftest import EXAMPLES

PARTS = {"hx-request": "true"}


def filled(keep: Keep) -> None:
    """Three jobs of two customers."""
    for name, customer, day in (("Bench", "Ada", date(2031, 3, 1)), ("Arbour", "Zoe", date(2031, 1, 1)), ("Cot", "Ada", None)):  # noqa: E501  # fmt: skip
        job = keep.add_job(f'[job]\nname = "{name}"\ncustomer = "{customer}"\n')
        keep.set_promised(job.id, day)


def names(text: str) -> list[str]:
    """The jobs of a list, in their order."""
    return re.findall(r'<div class="jobline-name"><a href="[^"]+">([^<]+)</a>', text)


def test_the_first_opening_offers_the_examples(client: TestClient, keep: Keep) -> None:
    """Once taken, all of them are there and nothing is offered any more."""
    assert "Bring the examples in" in client.get("/jobs").text
    assert client.post("/jobs/examples").status_code == 303
    assert len(keep.jobs()) == len(list(EXAMPLES.glob("*.toml")))
    assert "Bring the examples in" not in client.get("/jobs").text


def test_the_list_is_searched_and_sorted(client: TestClient, keep: Keep) -> None:
    """As one types, its lines alone; without a script, as a page."""
    filled(keep)
    assert names(client.get("/jobs?sort=title").text) == ["Arbour", "Bench", "Cot"]
    assert names(client.get("/jobs?sort=promised").text) == ["Arbour", "Bench", "Cot"]
    assert names(client.get("/jobs?q=ada&sort=title", headers=PARTS).text) == ["Bench", "Cot"]
    assert "<html" not in client.get("/jobs?q=ada", headers=PARTS).text
    assert names(client.get("/jobs?state=quoted").text) == []
    assert "Nothing is found" in client.get("/jobs?q=nobody").text
    assert names(client.get("/jobs?sort=nonsense").text) == names(client.get("/jobs?sort=changed").text)


def test_a_long_list_comes_in_parts(client: TestClient, keep: Keep) -> None:
    """With how many more there are."""
    for i in range(103):
        keep.add_job(f'[job]\nname = "Job {i:03}"\n')
    first = client.get("/jobs?sort=title").text
    assert len(names(first)) == 100
    assert "3 more" in first
    assert len(names(client.get("/jobs?sort=title&most=200").text)) == 103


def test_a_job_file_goes_out_and_comes_in_byte_for_byte(client: TestClient, keep: Keep) -> None:
    """The very file that the command line takes."""
    data = (EXAMPLES / "bay-window.toml").read_bytes()
    answer = client.post("/jobs/bring-in", files={"file": ("bay.toml", data)})
    assert answer.status_code == 303
    out = client.get(f"{answer.headers['location']}/job.toml")
    assert out.content == data
    assert "bay-window-seat.toml" in out.headers["content-disposition"]


@pytest.mark.parametrize(
    "data",
    [
        b"\x00\x01\x02" * 100,
        b"a = 1",
        b"[job\n",
        b"",
        "[job]\nname = '\u202e'".encode("utf-16"),
        b"\xff\xfe",
        b"PK\x03\x04" * 9,
    ],
)
def test_an_upload_that_is_no_job_file_is_told(client: TestClient, keep: Keep, data: bytes) -> None:
    """And nothing is kept of it."""
    answer = client.post("/jobs/bring-in", files={"file": ("x.toml", data)})
    assert answer.status_code == 422
    assert "That is no job file" in answer.text
    assert keep.is_empty()


def test_an_upload_of_any_size_is_bounded(client: TestClient, keep: Keep) -> None:
    """Without being read to its end."""
    answer = client.post("/jobs/bring-in", files={"file": ("x.toml", b"#" * 20_000_000)})
    assert answer.status_code == 413
    assert keep.is_empty()


def test_the_text_is_mended_by_hand(client: TestClient, keep: Keep) -> None:
    """A stale page keeps what was written, and says so."""
    job = keep.add_job("[job\nname = 1", title="Broken")
    page = client.get(f"/jobs/{job.id}/text")
    assert "What is found in it" in page.text
    mended = client.post(f"/jobs/{job.id}/text", data={"text": '[job]\r\nname = "Whole"\r\n', "version": "1"})
    assert mended.status_code == 303
    assert keep.job(job.id).text == '[job]\nname = "Whole"\n'
    stale = client.post(f"/jobs/{job.id}/text", data={"text": "# mine", "version": "1"})
    assert stale.status_code == 409
    assert "# mine" in stale.text
    assert "Whole" in stale.text
    assert keep.job(job.id).text == '[job]\nname = "Whole"\n'


@pytest.mark.parametrize("path", ["", "/text", "/job.toml", "/picture.svg", "/plan.svg?cloth=x", "/sheets/quote.pdf",
                                  "/scene.json", "/lay.json?cloth=x", "/small.svg", "/lay"])  # fmt: skip
def test_a_job_that_is_not_there_is_told_as_such(client: TestClient, path: str) -> None:
    """On every page of it."""
    answer = client.get(f"/jobs/nothing{path}")
    assert answer.status_code == 404
    assert "Traceback" not in answer.text


def test_a_keep_that_cannot_save_says_why(client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch) -> None:
    """With its way out, beside what was typed."""
    job = keep.add_job((EXAMPLES / "round-stool.toml").read_text())

    def full(*_: object, **__: object) -> None:
        raise KeepFull("there is no room left on the disk", "make room and do it again")

    monkeypatch.setattr(keep, "save_job", full)
    answer = client.post(f"/jobs/{job.id}/set", data={"path": "job.name", "value": "x", "now": "1"}, headers=PARTS)
    assert answer.status_code == 507
    assert answer.headers["hx-retarget"] == "#told"
    assert "Make room and do it again" in answer.text


def test_a_fault_of_the_program_is_no_traceback(
    keep: Keep, client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It says that nothing was lost."""

    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("secret detail")

    monkeypatch.setattr(keep, "jobs", broken)
    client = TestClient(client.app, base_url="http://127.0.0.1:8024", raise_server_exceptions=False)
    answer = client.get("/jobs")
    assert answer.status_code == 500
    assert "secret detail" not in answer.text
    assert "what was saved before is safe" in answer.text.lower()
    assert "default-src 'none'" in answer.headers["content-security-policy"]


def test_a_port_that_is_taken_is_passed_by() -> None:
    """The next that is free is taken, on the loopback only."""
    (first,) = _free_sockets(38240, None)
    first.listen()
    (second,) = _free_sockets(first.getsockname()[1], None)
    try:
        assert second.getsockname()[1] != first.getsockname()[1]
        assert second.getsockname()[0] == HOST
    finally:
        for s in (first, second):
            assert isinstance(s, socket.socket)
            s.close()
