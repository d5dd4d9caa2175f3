"""A workroom with something on every page, and where each page is."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path

from fastapi.testclient import TestClient
from playwright.sync_api import Page

from squab.keep import Keep, open_keep
from squab.web import create_app
from squab.web.cutting import unpacked
from squab.web.leavings import left_of, with_place
from squab.web.works import reading_of
from tests.journeys.room import EXAMPLES
from tests.unit.web.bench_jobs import checked_in, laid, ordered

PAGES = {
    "telephone": "/telephone",
    "telephone-answered": "/telephone?unit=in&width=23+1%2F2&depth=22&thickness=4&count=4&cloth_price=38",
    "board": "/board",
    "jobs": "/jobs",
    "job": "/jobs/{bay}",
    "job-to-mend": "/jobs/{halves}",
    "job-text": "/jobs/{bay}/text",
    "job-history": "/jobs/{bay}/history",
    "job-version": "/jobs/{bay}/history/{version}",
    "job-compare": "/jobs/{bay}/compare",
    "arrival": "/jobs/{ordered}/arrival",
    "tables": "/table",
    "before-cutting": "/jobs/{ready}/table",
    "table": "/jobs/{cut}/table",
    "table-wrong": "/jobs/{cut}/table/wrong?at=0",
    "table-flaw": "/jobs/{cut}/table/flaw?at=0",
    "table-pieces": "/jobs/{cut}/table/pieces",
    "table-left": "/jobs/{done}/table/left",
    "cloths": "/cloths",
    "cloth": "/cloths/{cloth}",
    "cloth-history": "/cloths/{cloth}/history",
    "house": "/house",
    "house-history": "/house/history",
    "keep": "/keep",
    "telephones": "/keep/telephones",
    "come-in": "/come-in",
    "programs": "/programs",
    "no-such-page": "/nowhere",
}
"""Every page by a short name; what stands in braces is filled in."""

NOT_PAGES = (
    "answer",
    "outline",
    "figures",
    "lay",
    "why",
    "watch",
    "laid",
    "onward",
    "{name}",
    "{photo_id}",
    "archive.zip",
    "database",
    "",
)
"""Last parts of addresses that answer with a part of a page, a file or a way on."""

Filled = dict[str, str]


def filled(folder: Path) -> Filled:
    """Fill a keep with jobs at every place of the work and a shelf with a cloth; give their ids by name."""
    keep = open_keep(folder)
    bay = laid(keep, "bay-window")
    keep.save_job(bay.id, bay.text.replace("# The bay window", "# The great bay window", 1), bay.version)
    ready, cut = checked_in(keep, "armchair"), laid(keep, "armchair")
    text = (EXAMPLES / "round-stool.toml").read_text()
    halves = keep.add_job(text.replace("diameter = 330", 'diameter = "13 1/"'))
    shelf = '[[cloth]]\nid = "wherry"\nname = "Wherry stripe"\nusable_width = 1370\nprice_per_m = 24.5\n'
    cloth = keep.add_cloth("Wherry stripe", shelf + 'stripes = ["indigo 36", "linen 9", "sage 24", "linen 15"]\n')
    made = {"bay": bay.id, "ready": ready.id, "cut": cut.id, "halves": halves.id, "cloth": cloth.id}
    made["version"] = "1"
    made["done"] = _all_cut(keep)
    made["ordered"] = ordered(keep, "chair-pads").id
    for days, job in enumerate((made["cut"], made["ordered"], made["bay"], made["halves"])):
        keep.set_promised(job, keep.now().date() + timedelta(days=4 * days + 1))
    keep.close()
    return made


def _all_cut(keep: Keep) -> str:
    """A job whose pieces are all cut, with one remnant of its cloth on the shelf."""
    job = laid(keep, "armchair")
    with TestClient(create_app(keep), base_url="http://127.0.0.1:8024") as client:
        client.cookies.set("squab_token", "0" * 32)
        answer = client.post(f"/jobs/{job.id}/table/begin", headers={"x-squab-token": "0" * 32}, follow_redirects=False)
        assert answer.status_code == 303, answer.text
    cutting = unpacked(keep.cutting(job.id))
    assert cutting is not None
    for piece in cutting.pieces:
        keep.tick(job.id, piece.key, of=len(cutting.pieces))
    read = reading_of(job.text).job
    assert read is not None
    left = left_of(cutting, job, read, ())
    keep.add_remnant(with_place(next(iter(left.values())), "second shelf"))
    return job.id


def begun(page: Page, made: Filled) -> None:
    """Begin cutting the job that is being cut."""
    page.goto(f"/jobs/{made['cut']}/table")
    page.get_by_role("button", name="Begin cutting").click()
    page.locator(".bench").wait_for()
