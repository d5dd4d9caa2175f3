"""The telephone answer: three numbers, an answer with its reason, kept as the job it was answered from."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from squab.desk import opened
from squab.files.jobfile import read_job
from squab.keep import Keep
from squab.rough import estimate_job

PARTS = {"hx-request": "true"}


def ask(client: TestClient, **typed: str) -> str:
    """What is answered to what was typed."""
    answer = client.get("/telephone/answer", params=typed, headers=PARTS)
    assert answer.status_code == 200
    return answer.text


def test_three_numbers_are_answered_with_cloth_price_and_reason(client: TestClient) -> None:
    """The very figures that the core gives for that job."""
    text = ask(client, width="610", depth="560", thickness="100", unit="mm")
    assert "Cloth to order" in text
    assert "panels cut" in text
    assert "nobody has said what it costs" in text
    kept = client.post("/telephone/keep", data={"width": "610", "depth": "560", "thickness": "100", "unit": "mm"})
    job = read_job(client.get(f"{kept.headers['location']}/job.toml").content).value
    assert job is not None
    answer = estimate_job(job).value
    assert answer is not None
    assert f"£{answer.price_least}" in text


@pytest.mark.parametrize(
    ("typed", "millimetres"), [("24", 609.6), ("23 1/2", 596.9), ('23½"', 596.9), ("610 mm", 610.0)]
)
def test_a_length_is_read_as_people_write_it(client: TestClient, keep: Keep, typed: str, millimetres: float) -> None:
    """And kept as it was typed."""
    kept = client.post("/telephone/keep", data={"width": typed, "depth": "22", "thickness": "4", "unit": "in"})
    record = keep.job(kept.headers["location"].rpartition("/")[2])
    assert opened(record.text).typed["cushion[0].width"] == typed
    job = read_job(record.text.encode()).value
    assert job is not None
    x0, _, x1, _ = job.cushions[0].outline.bounds()
    assert x1 - x0 == pytest.approx(millimetres)


def test_what_cannot_be_read_is_told_beside_its_field_only(client: TestClient) -> None:
    """With the caret under what is wrong; the other fields say nothing."""
    text = ask(client, width="610", depth="5x6", thickness="100", unit="mm")
    wrong = re.search(r'id="depth-say"[^>]*>(.*?)</div>\s*<div class="said"', text, re.S)
    assert wrong
    assert "5x6" in wrong.group(1)
    assert re.search(r'id="width-say"[^>]*></div>', text)
    assert "cannot be read yet" in text


def test_a_half_filled_call_is_kept_too(client: TestClient, keep: Keep) -> None:
    """Nothing that was said on the telephone is lost."""
    data = {"width": "24 3/", "unit": "in", "customer": '<script>alert("x")</script>'}
    kept = client.post("/telephone/keep", data=data)
    assert kept.status_code == 303
    record = keep.job(kept.headers["location"].rpartition("/")[2])
    assert "24 3/" in record.text
    page = client.get(kept.headers["location"]).text
    assert "<script>alert" not in page
    assert "&lt;script&gt;" in page
    assert 'value="24 3/"' in page


@pytest.mark.parametrize("pattern", ["stripe", "bands", "print", "half"])
def test_a_repeat_may_cost_cloth_and_never_saves_it(client: TestClient, pattern: str) -> None:
    """Of any pattern; the answer is still a range."""
    plain = _most(ask(client, width="610", depth="560", thickness="100", unit="mm"))
    repeats = {"repeat_across": "320", "repeat_along": "640"}
    patterned = _most(ask(client, width="610", depth="560", thickness="100", unit="mm", pattern=pattern, **repeats))
    assert patterned >= plain
    if pattern in ("print", "half"):
        assert patterned > plain


def test_prices_of_the_house_are_used(client: TestClient, keep: Keep) -> None:
    """With their currency, and the job keeps them."""
    keep.save_house('[prices]\ncurrency = "EUR"\nhour = 60\n', keep.house().version)
    text = ask(client, width="610", depth="560", thickness="100", unit="mm")
    assert "€60.00 an hour" in text
    kept = client.post("/telephone/keep", data={"width": "610", "depth": "560", "thickness": "100"})
    assert "hour = 60" in client.get(f"{kept.headers['location']}/job.toml").text


def test_absurd_values_are_told_as_such(client: TestClient) -> None:
    """Never with a fault of the program."""
    for typed in ("9" * 300, "-4", "0", "1e9", "\x00", "٣", "1/0"):
        assert "<dl" not in ask(client, width=typed, depth="560", thickness="100", unit="mm")
    assert "<dl" not in ask(client, width="610", depth="560", thickness="100", count="a lot")


def _most(text: str) -> float:
    lengths = re.findall(r"([\d.]+)\u00a0m\b", text)
    assert lengths
    return max(float(x) for x in lengths[:2])


def test_a_browser_that_never_chose_counts_in_the_houses_unit(client: TestClient, keep: Keep) -> None:
    """So does a job begun there; what was chosen last on the telephone comes before."""
    keep.save_house('[job]\nunits = "in"\n', keep.house().version)
    assert re.search(r'value="in" checked', client.get("/telephone").text)
    begun = client.post("/jobs/new", follow_redirects=False).headers["location"].rpartition("/")[2]
    assert 'units = "in"' in keep.job(begun).text
    client.get("/telephone/answer", params={"unit": "mm"})
    assert re.search(r'value="mm" checked', client.get("/telephone").text)
