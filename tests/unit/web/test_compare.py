"""Ways of one job side by side: the very figures of the job made so, and one taken."""

from __future__ import annotations

import re
import time

import pytest
from fastapi.testclient import TestClient

from squab.desk import edited, new_shelf_cloth, opened
from squab.keep import JobRecord, Keep
from squab.web import compare_view
from squab.web.compare_view import Otherwise
from tests.unit.web.conftest import EXAMPLES


def brought(keep: Keep, name: str) -> JobRecord:
    """An example job in the keep."""
    return keep.add_job((EXAMPLES / f"{name}.toml").read_text())


def laid(client: TestClient, job: JobRecord, **params: str) -> str:
    """The page once nothing is laid any more."""
    until = time.monotonic() + 240
    while time.monotonic() < until:
        page = client.get(f"/jobs/{job.id}/compare", params=params).text
        if "aria-busy" not in page:
            return page
        assert "<progress" in page
        time.sleep(0.5)
    raise AssertionError("it is still laid")


def row(page: str, words: str) -> list[str]:
    """The cells under a heading, as text."""
    found = re.search(rf">{words}</th></tr><tr>(.*?)</tr>", page, re.S)
    assert found, words
    return [
        re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", c)).strip()
        for c in re.findall(r"<td>(.*?)</td>", found.group(1), re.S)
    ]


def test_nothing_is_begun_before_anything_is_chosen(client: TestClient, keep: Keep) -> None:
    """And nothing is written by looking."""
    job = brought(keep, "armchair")
    page = client.get(f"/jobs/{job.id}/compare").text
    assert "Choose what is to be otherwise" in page
    assert "<table" not in page
    assert keep.job(job.id) == job


def test_ways_stand_side_by_side_and_one_is_taken(
    client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without piping it takes less cloth and fewer hours; the way that is taken is the one that was shown."""
    monkeypatch.setattr(compare_view, "SECONDS", 0.3)
    job = brought(keep, "armchair")
    other = keep.add_cloth("Wide drill", new_shelf_cloth("Wide drill", "in").replace("54", "118"))
    page = laid(client, job, a_piping="none", b_cloth=f"shelf-{other.id}")
    assert re.findall(r'<th scope="col">([^<]+)</th>', page) == ["As it is", "No welt", "Wide drill"]
    hours = [float(h) for h in row(page, "Hours")]
    assert hours[1] < hours[0]
    cloth = row(page, "Cloth to order")
    assert "yd" in cloth[0]
    assert "less" in cloth[1]
    assert "less" in cloth[2]
    assert [x.startswith("$") for x in row(page, "Price with tax")] == [True] * 3
    assert keep.job(job.id) == job
    assert "no more: " in row(page, "What shows")[1] or "the same as it is" in row(page, "What shows")[1]
    for address in re.findall(r'src="(/jobs/[^"]+/compare/picture[^"]+)"', page):
        assert client.get(address.replace("&amp;", "&")).headers["content-type"] == "image/svg+xml"
    taken = client.post(f"/jobs/{job.id}/compare/take", data={"letter": "a", "a_piping": "none", "version": "1"})
    assert taken.status_code == 303
    now = keep.job(job.id)
    read = opened(now.text, check=False)
    assert read.job is not None
    assert {c.cover.piping.edges for c in read.job.cushions} == {"none"}
    assert now.version == 2


def test_a_cushion_of_its_own_make_is_made_otherwise_too(keep: Keep) -> None:
    """What every cushion is to be, each is."""
    text = edited((EXAMPLES / "armchair.toml").read_text(), "cover.piping.edges", "top")
    made = opened(Otherwise("a", piping="bottom", match="none", sides="true").made(text, keep), check=False).job
    assert made is not None
    cover = made.cushions[0].cover
    assert cover.piping.edges == "bottom"
    assert cover.piping.cord_mm == pytest.approx(25.4 * 5 / 32)
    assert cover.matching.sides_along
    assert {cover.matching.front, cover.matching.joins, cover.matching.back} == {"ignore"}


def test_another_cloth_leaves_out_a_pin_that_it_has_no_line_for(keep: Keep) -> None:
    """So that it can be compared at all."""
    plain = keep.add_cloth("Plain", new_shelf_cloth("Plain", "mm"))
    text = (EXAMPLES / "bay-window.toml").read_text()
    read = opened(Otherwise("a", cloth=f"shelf-{plain.id}").made(text, keep), check=False)
    assert read.job is not None
    assert "cushion[1].match.pin_across" not in read.typed


def test_a_way_that_cannot_be_made_says_why(client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch) -> None:
    """Beside the job as it is."""
    monkeypatch.setattr(compare_view, "SECONDS", 0.2)
    job = brought(keep, "armchair")
    narrow = keep.add_cloth("Narrow", new_shelf_cloth("Narrow", "mm").replace("1370", "110"))
    page = laid(client, job, a_cloth=f"shelf-{narrow.id}")
    assert "Narrow cannot be made" in page
    assert "stop" in page
    assert page.count("Take this one</button>") <= 1


def test_nothing_is_taken_over_what_was_changed_meanwhile(client: TestClient, keep: Keep) -> None:
    """Nor of a cloth that is not there."""
    job = brought(keep, "armchair")
    keep.save_job(job.id, edited(job.text, "job.notes", "Ring."), 1)
    data = {"letter": "a", "a_piping": "none", "version": "1"}
    answer = client.post(f"/jobs/{job.id}/compare/take", data=data)
    assert answer.status_code == 409
    assert "Compare once more" in answer.text
    answer = client.post(f"/jobs/{job.id}/compare/take", data={"letter": "a", "a_cloth": "shelf-none", "version": "2"})
    assert answer.status_code == 409
    assert keep.job(job.id).version == 2


def test_a_job_that_cannot_be_read_is_told_so(client: TestClient, keep: Keep) -> None:
    """And choices that are none change nothing."""
    half = keep.add_job('[[cushion]]\nwidth = "24 3/"\n')
    assert "cannot be worked out as it stands" in client.get(f"/jobs/{half.id}/compare").text
    job = brought(keep, "armchair")
    page = client.get(f"/jobs/{job.id}/compare", params={"a_piping": "<script>", "a_cloth": "nothing"})
    assert page.status_code in (200, 409, 422)
    assert "<script>" not in page.text.replace('<script type="module"', "")
