"""The small pictures of lists: in the page for the first, under addresses of their own for the others."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from datetime import date

from fastapi.testclient import TestClient

from squab.keep import Keep
from squab.web.small import AT_ONCE
from tests.unit.web.conftest import EXAMPLES

STOOL = (EXAMPLES / "round-stool.toml").read_text()


def pictured(page: str) -> tuple[list[str], list[str]]:
    """What stands in the page of its lines, and the addresses that are asked for later."""
    places = re.findall(r'<div class="(?:job|board)[a-z]*-picture"[^>]*>', page)
    later = [m[1].replace("&amp;", "&") for p in places if (m := re.search(r'data-picture="([^"]+)"', p))]
    return re.findall(r"<svg.*?</svg>", page, re.S), later


def test_a_picture_is_drawn_when_asked_for_and_kept(client: TestClient, keep: Keep) -> None:
    """By the digest of its text; one that cannot be read yet has an empty frame."""
    good, bad = keep.add_job(STOOL), keep.add_job('[job]\nname = "Nothing yet"\n')
    drawn = client.get(f"/jobs/{good.id}/small.svg")
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    assert "sandbox" in drawn.headers["content-security-policy"]
    ET.fromstring(drawn.text)
    assert len(drawn.text) < 7000
    assert good.digest in keep.pictures([good.digest])
    assert client.get(f"/jobs/{good.id}/small.svg").text == drawn.text
    assert "Not drawn yet" in client.get(f"/jobs/{bad.id}/small.svg").text


def test_a_browser_keeps_a_picture_only_by_its_name(client: TestClient, keep: Keep) -> None:
    """Drawn anew, with its lay say, it has another name, and the list asks for that."""
    for at in range(AT_ONCE + 1):
        keep.add_job(STOOL + f"# {at}\n", title=f"Stool {at:02}")
    first = pictured(client.get("/jobs?sort=title").text)[1][-1]
    assert client.get(first).headers["cache-control"] == "no-store"  # it had no name yet
    later = pictured(client.get("/jobs?sort=title").text)[1][-1]
    assert later != first
    assert "immutable" in client.get(later).headers["cache-control"]
    last = keep.jobs(sort="title")[-1]
    keep.save_picture(last.digest, b"<svg/>")
    assert client.get(later).headers["cache-control"] == "no-store"
    again = pictured(client.get("/jobs?sort=title").text)[1][-1]
    assert again != later
    assert client.get(again).text == "<svg/>"


def test_the_first_of_a_list_stand_in_its_page(client: TestClient, keep: Keep) -> None:
    """As many as a screen shows, once they are drawn; no id twice; the others asked for as they come near."""
    for at in range(AT_ONCE + 5):
        job = keep.add_job(STOOL + f"# {at}\n", title=f"Stool {at:02}")
        keep.set_promised(job.id, date(2031, 1, 1))
    for address in pictured(client.get("/jobs?sort=title").text)[1]:
        assert client.get(address).status_code == 200
    page = client.get("/jobs?sort=title").text
    drawn, later = pictured(page)
    assert (len(drawn), len(later)) == (AT_ONCE, 5)
    assert len(re.findall(r'<noscript><img src="/jobs/', page)) == 5  # without a script the browser asks
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    for one in drawn:
        assert set(re.findall(r"url\(#([^)]+)\)", one)) <= set(re.findall(r' id="([^"]+)"', one))
    board = client.get("/board").text
    assert len(pictured(board)[0]) == AT_ONCE
    assert (
        len(re.findall(r'<a href="/jobs/[^"]+" tabindex="-1" class="board-picture" aria-hidden="true"', board))
        > AT_ONCE
    )
    searched = client.get("/jobs?q=stool&sort=title", headers={"hx-request": "true"}).text
    assert (len(pictured(searched)[0]), "noscript" in searched) == (AT_ONCE, False)


def test_a_customers_words_are_no_part_of_a_picture(client: TestClient, keep: Keep) -> None:
    """What stands in the page unescaped is of our own writing alone."""
    name = "<script>alert(1)</script>"
    job = keep.add_job(STOOL.replace("Round stool pad", name).replace("Reading room committee", name))
    assert job.title == name
    client.get(f"/jobs/{job.id}/small.svg")
    assert "<script>alert" not in client.get("/jobs").text
