"""The interface for programs: the same use cases, typed, with the same words where something is refused."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

from squab.keep import Keep
from squab.web import create_app
from squab.web.security import PROGRAM_HEADER
from tests.unit.web.conftest import EXAMPLES

BAY = (EXAMPLES / "bay-window.toml").read_text()


@pytest.fixture
def program(keep: Keep) -> Iterator[TestClient]:
    """A program on this machine, which has no page and no cookie."""
    headers = {PROGRAM_HEADER: "a test"}
    with TestClient(create_app(keep), base_url="http://127.0.0.1:8024/", headers=headers) as made:
        yield made


def added(program: TestClient, text: str = BAY) -> dict[str, Any]:
    """A job sent by a program."""
    answer = program.post("/api/v1/jobs", json={"text": text})
    assert answer.status_code == 201, answer.text
    made: dict[str, Any] = answer.json()
    return made


def test_a_job_is_kept_listed_and_given_back_to_the_letter(program: TestClient) -> None:
    """With what was found in it."""
    job = added(program)
    assert job["text"] == BAY
    assert (job["title"], job["version"], job["cushions"]) == ("Bay window seat", 1, 3)
    assert job["not_noted"]["ticking"]
    assert program.get(f"/api/v1/jobs/{job['id']}").json() == job
    listed = program.get("/api/v1/jobs", params={"q": "bay", "state": "asked"}).json()
    assert [j["id"] for j in listed] == [job["id"]]
    assert "text" not in listed[0]
    assert program.get("/api/v1/jobs", params={"state": ["cut", "sewn"]}).json() == []


def test_keys_are_set_as_fields_of_a_page_set_them(program: TestClient) -> None:
    """All or none; the findings name the key they are about."""
    job = added(program)
    address = f"/api/v1/jobs/{job['id']}/edits"
    edits = [{"path": "cushion[0].depth", "typed": "450 1/"}, {"path": "job.notes", "typed": "Ring."}]
    after = program.post(address, json={"version": 1, "edits": edits}).json()
    assert after["version"] == 2
    assert 'depth = "450 1/"' in after["text"]
    stop = next(f for f in after["findings"] if f["severity"] == "stop")
    assert stop["path"] == "cushion[0].depth"
    assert stop["hint"]
    edits = [{"path": "job.notes", "typed": "x"}, {"path": "nothing.at_all", "typed": "x"}]
    refused = program.post(address, json={"version": 2, "edits": edits})
    assert refused.status_code == 422
    assert program.get(f"/api/v1/jobs/{job['id']}").json() == after


def test_two_programs_never_overwrite_one_another(program: TestClient) -> None:
    """The second is told what is newer."""
    job = added(program)
    address = f"/api/v1/jobs/{job['id']}/text"
    first = program.put(address, json={"text": BAY + "# one\n", "version": 1})
    assert first.status_code == 200
    second = program.put(address, json={"text": BAY + "# two\n", "version": 1})
    assert second.status_code == 409
    told = second.json()
    assert told["newer"] == {"version": 2, "text": BAY + "# one\n"}
    assert told["problem"]["reason"]
    assert told["problem"]["hint"]


def test_history_is_read_and_gone_back_in(program: TestClient) -> None:
    """By key what is different now."""
    job = added(program)
    program.put(f"/api/v1/jobs/{job['id']}/text", json={"text": BAY.replace("hour = 32", "hour = 40"), "version": 1})
    versions = program.get(f"/api/v1/jobs/{job['id']}/history").json()
    assert [v["version"] for v in versions] == [2, 1]
    old = program.get(f"/api/v1/jobs/{job['id']}/history/1").json()
    assert old["different_now"] == [{"path": "prices.hour", "before": "32", "after": "40"}]
    back = program.post(f"/api/v1/jobs/{job['id']}/history/1/restore").json()
    assert (back["text"], back["version"]) == (BAY, 3)


def test_a_job_is_laid_and_its_figures_agreed(program: TestClient) -> None:
    """Begun, watched, agreed; nothing is agreed that is not what it comes to."""
    job = added(program, (EXAMPLES / "armchair.toml").read_text())
    here = f"/api/v1/jobs/{job['id']}"
    assert program.post(f"{here}/agreed", json={"total": "1"}).status_code == 409
    assert program.get(f"{here}/sheets").status_code == 409
    began = program.post(f"{here}/lay", json={"seconds": 0.5})
    assert began.status_code == 202
    until = time.monotonic() + 240
    told = began.json()
    while told["figures"] is None and time.monotonic() < until:
        time.sleep(0.5)
        told = program.get(f"{here}/lay").json()
    figures = told["figures"]
    cloth = figures["cloths"][0]
    assert cloth["no_less_than_mm"] <= cloth["lay_mm"] <= cloth["order_mm"]
    assert float(figures["net"]) + float(figures["tax"]) == pytest.approx(float(figures["total"]))
    assert (
        program.post(f"{here}/agreed", json={"total": "1"}).json()["problem"]["title"] == "The price has changed since"
    )
    agreed = program.post(f"{here}/agreed", json={"total": figures["total"]}).json()
    assert agreed["state"] == "agreed"
    assert agreed["agreed"]["figures"]["total"] == figures["total"]
    assert program.post(f"{here}/agreed", json={"total": figures["total"]}).status_code == 409
    sheets = program.get(f"{here}/sheets").json()
    assert {"quote.pdf"} <= {s["name"] for s in sheets}
    assert program.delete(f"{here}/lay").json()["figures"] == figures


def test_ways_are_compared(program: TestClient) -> None:
    """Asked again until none is running; a way that cannot be says why."""
    job = added(program, (EXAMPLES / "armchair.toml").read_text())
    plain = {"name": "unpiped", "edits": [{"path": "cushion[0].piping.edges", "typed": "none"}]}
    bad = {"name": "no width", "edits": [{"path": "cushion[0].width", "typed": "wide"}]}
    asked = {"variants": [{"name": "as it is"}, plain, bad], "seconds": 0.3}
    until = time.monotonic() + 240
    while True:
        told = program.post(f"/api/v1/jobs/{job['id']}/compare", json=asked).json()
        if all(t["figures"] or any(f["severity"] == "stop" for f in t["findings"]) for t in told):
            break
        assert time.monotonic() < until
        time.sleep(0.5)
    assert float(told[1]["figures"]["hours"]) < float(told[0]["figures"]["hours"])
    assert told[2]["figures"] is None
    assert program.get(f"/api/v1/jobs/{job['id']}").json()["version"] == 1


def test_the_telephone_answers_a_program(program: TestClient) -> None:
    """With the house's prices; what cannot be read is told."""
    house = program.put("/api/v1/house", json={"text": '[prices]\ncurrency = "EUR"\nhour = 60\n', "version": 0}).json()
    assert (house["version"], house["findings"]) == (1, [])
    for text in ("[[cushion]]\nwidth = 3\n", "[prices"):
        assert program.put("/api/v1/house", json={"text": text, "version": 1}).status_code == 422
    sizes = {"width": "24", "depth": "22 1/2", "thickness": "4", "unit": "in"}
    answer = program.post("/api/v1/estimate", json=sizes).json()
    assert answer["currency"] == "EUR"
    assert 0 < float(answer["price_least"]) <= float(answer["price_most"])
    assert any("€60.00 an hour" in r for r in answer["reasons"])
    wrong = program.post("/api/v1/estimate", json=sizes | {"depth": "22 1/"})
    assert wrong.status_code == 422
    assert "depth" in wrong.json()["problem"]["reason"]


def test_a_text_is_looked_through_without_being_kept(program: TestClient, keep: Keep) -> None:
    """Sound or not."""
    assert program.post("/api/v1/check", json={"text": BAY}).json()["sound"]
    told = program.post("/api/v1/check", json={"text": BAY.replace("repeat = 84", "repeat = 85")}).json()
    assert not told["sound"]
    assert {f["code"] for f in told["findings"] if f["severity"] == "stop"} == {"JOB-022"}
    assert keep.is_empty()


def test_cloths_come_and_go(program: TestClient) -> None:
    """Only cloths, each with its name."""
    text = '[[cloth]]\nid = "drill"\nname = "Drill"\nusable_width = "54 in"\n'
    cloth = program.post("/api/v1/cloths", json={"text": text}).json()
    assert (cloth["name"], cloth["findings"]) == ("Drill", [])
    other = program.put(f"/api/v1/cloths/{cloth['id']}", json={"text": text.replace("Drill", "Duck"), "version": 1})
    assert other.json()["name"] == "Duck"
    assert program.put(f"/api/v1/cloths/{cloth['id']}", json={"text": text, "version": 1}).status_code == 409
    assert program.post("/api/v1/cloths", json={"text": "[job]\n"}).status_code == 422
    assert program.post("/api/v1/cloths", json={"text": "[[cloth\n"}).status_code == 422
    program.put(f"/api/v1/cloths/{cloth['id']}/hidden", json={"hidden": True})
    assert program.get("/api/v1/cloths").json() == []
    assert len(program.get("/api/v1/cloths", params={"hidden": True}).json()) == 1


def test_an_archive_goes_out_and_comes_in(program: TestClient) -> None:
    """What is here already is the same."""
    added(program)
    data = program.get("/api/v1/archive").content
    done = program.post("/api/v1/archive", content=data, headers={"content-type": "application/zip"}).json()
    assert done == {"added": [], "same": ["Bay window seat"], "beside": [], "refused": []}
    refused = program.post("/api/v1/archive", content=b"none")
    assert refused.status_code == 422
    assert "archive" in refused.json()["problem"]["reason"]


def test_state_follows_the_same_rules_as_on_a_page(program: TestClient) -> None:
    """Nothing is cut whose cloth was not checked."""
    job = added(program)
    here = f"/api/v1/jobs/{job['id']}"
    assert program.put(f"{here}/state", json={"state": "ordered"}).json()["state"] == "ordered"
    refused = program.put(f"{here}/state", json={"state": "cut"})
    assert refused.status_code == 409
    assert "not noted yet" in refused.json()["problem"]["reason"]
    assert program.put(f"{here}/promised", json={"promised": "2031-05-14"}).json()["promised"] == "2031-05-14"
    assert program.put(f"{here}/promised", json={"promised": "soon"}).status_code == 422
    assert program.put(f"{here}/hidden", json={"hidden": True}).json()["hidden"]
    assert program.get(f"{here}/ticks").json() == []


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({PROGRAM_HEADER: ""}, 403),
        ({"origin": "http://elsewhere.example"}, 403),
        ({"sec-fetch-site": "cross-site"}, 403),
        ({"host": "workroom.example"}, 421),
    ],
)
def test_another_page_can_do_nothing_here(
    program: TestClient, keep: Keep, headers: dict[str, str], status: int
) -> None:
    """Refused in JSON, and nothing is kept."""
    answer = program.post("/api/v1/jobs", json={"text": BAY}, headers=headers)
    assert answer.status_code == status
    assert set(answer.json()["problem"]) == {"title", "reason", "hint"}
    assert keep.is_empty()


def test_no_page_of_another_site_is_let_in_by_asking_first(program: TestClient) -> None:
    """A browser asks before it sends a header of its own making; nothing here says yes."""
    asking = {
        "origin": "http://elsewhere.example", "access-control-request-method": "POST",
        "access-control-request-headers": PROGRAM_HEADER,
    }  # fmt: skip
    answer = program.options("/api/v1/jobs", headers=asking)
    assert not [h for h in answer.headers if h.startswith("access-control")]


@pytest.mark.parametrize(
    "body",
    [
        b"", b"{", b"[]", b'{"text": 3}', b'{"text": "a", "more": 1}', b'{"text": "[job"}', b"\xff\xfe",
        b'{"text": "\\u0000"}', b'{"text": "[[cushion]]\\n", "title": "' + b"t" * 300 + b'"}',
    ],
)  # fmt: skip
def test_what_is_no_job_is_refused_in_json(program: TestClient, keep: Keep, body: bytes) -> None:
    """With a reason and, where there is one, a way out."""
    answer = program.post("/api/v1/jobs", content=body, headers={"content-type": "application/json"})
    assert answer.status_code == 422, answer.text
    assert answer.json()["problem"]["reason"]
    assert keep.is_empty()


def test_a_body_beyond_its_limit_is_refused(program: TestClient, keep: Keep) -> None:
    """As a page's is."""
    answer = program.post("/api/v1/jobs", json={"text": "#" * 9_100_000})
    assert answer.status_code == 413
    assert "9 MB" in answer.json()["problem"]["reason"]
    assert keep.is_empty()


def test_the_page_lists_every_operation_and_its_description_is_ours(program: TestClient) -> None:
    """No script of its own, nothing from another machine."""
    described = program.get("/openapi.json").json()
    page = program.get("/programs").text
    assert described["openapi"].startswith("3.")
    assert all(path.startswith("/api/v1/") for path in described["paths"])
    for path in described["paths"]:
        assert f"<code>{path}</code>" in page
    for method, text in ((m, o) for ops in described["paths"].values() for m, o in ops.items()):
        assert text["summary"], method
        assert "HTTPValidationError" not in str(text["responses"])
    assert not re.findall(r'(?:src|href)="https?://', page)
    assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", page))
    links = set(re.findall(r'href="#(s-\w+)"', page))
    assert links <= set(re.findall(r'id="([^"]+)"', page))
