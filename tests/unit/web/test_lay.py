"""The lay beside the pages: searched in a process of its own, watched, stopped, kept, drawn from."""

from __future__ import annotations

import io
import re
import time
import zipfile
from collections.abc import Iterator
from dataclasses import replace
from typing import cast

import pytest
from fastapi.testclient import TestClient
from pypdf import PdfReader

from squab.files.jobfile import read_job
from squab.findings import Finding, Severity
from squab.keep import JobRecord, Keep, open_keep
from squab.lay.records import StartRange
from squab.stages import work
from squab.web import create_app
from squab.web.job_view import JobView
from squab.web.kept_work import cut_digest, kept_of, packed, restored, unpacked
from squab.web.security import TOKEN_COOKIE
from squab.web.works import reading_of
from tests.unit.web.conftest import EXAMPLES, TOKEN

PARTS = {"hx-request": "true"}
BROKEN = b"\x81\xa7made_by\xa10"


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[TestClient, Keep, JobRecord]]:
    """A workroom with one job that was laid once, in its own process."""
    keep = open_keep(tmp_path_factory.mktemp("keep"))
    app = create_app(keep)
    with TestClient(app, base_url="http://127.0.0.1:8024", follow_redirects=False) as client:
        client.cookies.set(TOKEN_COOKIE, TOKEN)
        client.headers["x-squab-token"] = TOKEN
        job = keep.add_job((EXAMPLES / "armchair.toml").read_text())
        answer = client.get(f"/jobs/{job.id}/figures", params={"version": 1}, headers=PARTS)
        assert answer.status_code == 200, answer.text
        assert "Cloth to order" in answer.text
        assert "Being laid" not in answer.text
        yield client, keep, job


def test_what_hangs_on_a_lay_follows_it(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """What to order and what is used, the proof in words, the shopping list, every sheet."""
    client, _, job = laid
    page = client.get(f"/jobs/{job.id}").text
    for words in ("squared off at both ends", "The pieces lie on", "Nothing can use less", "To buy", "Quotation"):
        assert words in page


def test_both_lengths_are_told_of_a_patterned_cloth(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """What to order, and what the bolt on the table needs once it is measured."""
    client, keep, _ = laid
    job = keep.add_job((EXAMPLES / "round-stool.toml").read_text())
    assert client.get(f"/jobs/{job.id}/figures", params={"version": 1}, headers=PARTS).status_code == 200
    told = re.search(r"This very roll, measured</dt><dd class=\"big\">(.*?)</dd>", client.get(f"/jobs/{job.id}").text)
    assert told
    assert re.search(r"\d\.\d\d", told.group(1))


def test_figures_of_an_older_text_are_not_given(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """The newer edit has its own."""
    client, _, job = laid
    assert client.get(f"/jobs/{job.id}/figures", params={"version": 99}, headers=PARTS).status_code == 204


@pytest.mark.parametrize(("paper", "wide_mm"), [("a4", 210.0), ("letter", 215.9)])
def test_a_sheet_is_drawn_on_the_paper_asked_for(
    laid: tuple[TestClient, Keep, JobRecord], paper: str, wide_mm: float
) -> None:
    """A quotation as PDF, from the same writer as the command line's."""
    from pypdf import PdfReader

    client, _, job = laid
    answer = client.get(f"/jobs/{job.id}/sheets/quote.pdf", params={"paper": paper})
    assert answer.headers["content-type"] == "application/pdf"
    box = PdfReader(io.BytesIO(answer.content)).pages[0].mediabox
    assert float(box.width) / 72 * 25.4 == pytest.approx(wide_mm, abs=0.2)


def test_every_sheet_that_is_offered_is_there(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """One by one, and all in one archive with the index page."""
    client, _, job = laid
    page = client.get(f"/jobs/{job.id}").text
    names = set(re.findall(rf"/jobs/{job.id}/sheets/([\w./-]+)", page))
    assert len(names) > 10
    archive = zipfile.ZipFile(io.BytesIO(client.get(f"/jobs/{job.id}/sheets/all.zip").content))
    assert names - {"all.zip"} <= set(archive.namelist())
    assert "index.html" in archive.namelist()
    for name in ("cut-list.pdf", "pieces-in.dxf", "picture-seat.svg"):
        assert client.get(f"/jobs/{job.id}/sheets/{name}").status_code == 200
    assert client.get(f"/jobs/{job.id}/sheets/nothing.pdf").status_code == 404


def test_a_long_search_is_watched_and_stopped(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """Its length is told as it goes; stopped, it keeps the best, long before its time."""
    client, keep, job = laid
    began = time.monotonic()
    assert client.post(f"/jobs/{job.id}/lay/begin", data={"seconds": "300"}, headers=PARTS).status_code == 200
    told = []
    with client.stream("GET", f"/jobs/{job.id}/lay/watch") as events:
        for line in events.iter_lines():
            told.append(line)
            if "laying" in line.lower() or len(told) > 400:
                client.post(f"/jobs/{job.id}/lay/stop", headers=PARTS)
    assert any(line.startswith("event: told") for line in told)
    assert "event: done" in told
    assert time.monotonic() - began < 120
    kept = unpacked(keep.lay_of(cut_digest(read_job(job.text.encode()).value)) or b"")  # type: ignore[arg-type]
    assert kept is not None


def test_an_agreed_price_stays_as_it_was(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """Whatever is changed afterwards, on the page and on the quotation; another total than shown is refused."""
    client, keep, _ = laid
    job = keep.add_job((EXAMPLES / "armchair.toml").read_text())
    page = client.get(f"/jobs/{job.id}").text
    total = _between(page, 'name="total" value="', '"')[0]
    assert client.post(f"/jobs/{job.id}/agree", data={"total": "1.00"}, headers=PARTS).status_code == 409
    assert client.post(f"/jobs/{job.id}/agree", data={"total": total}, headers=PARTS).status_code == 200
    quote = client.get(f"/jobs/{job.id}/sheets/quote.pdf").content
    edit = {"path": "prices.hour", "value": "90", "now": "1"}
    assert client.post(f"/jobs/{job.id}/set", data=edit, headers=PARTS).status_code == 200
    page = client.get(f"/jobs/{job.id}").text
    assert "Price agreed" in page
    assert f"${total}" in page
    assert "as it stands now it would be" in page
    assert client.get(f"/jobs/{job.id}/sheets/quote.pdf").content == quote
    assert client.post(f"/jobs/{job.id}/agree", data={"total": total}, headers=PARTS).status_code == 409


def test_prices_are_worked_out_anew_without_another_search(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """Nor does a new customer, or a note, need one."""
    client, keep, _ = laid
    job = keep.add_job((EXAMPLES / "armchair.toml").read_text().replace("hour = 40", "hour = 80"))
    page = client.get(f"/jobs/{job.id}").text
    assert "hours at $80.00" in page


def test_kept_work_comes_back_whole_and_is_proved_anew() -> None:
    """What is kept gives the same plans, prices and findings; what does not fit is thrown away."""
    job = read_job((EXAMPLES / "armchair.toml").read_bytes()).value
    assert job is not None
    worked = work(job, seconds=0.3, trials=False).value
    assert worked is not None
    kept = unpacked(packed(kept_of(worked, seconds=0.3, whole=False)))
    assert kept is not None
    again = restored(job, kept)
    assert again is not None
    assert again.supply == worked.supply
    assert again.plans["plain"].lay == worked.plans["plain"].lay
    assert set(again.findings) == set(worked.findings)
    wider = replace(job, cushions=tuple(replace(c, count=2) for c in job.cushions))
    assert restored(wider, kept) is None
    plan = kept.plans[0]
    moved = replace(plan, lay=replace(plan.lay, placed=(replace(plan.lay.placed[0], u_mm=-30.0), *plan.lay.placed[1:])))
    assert restored(job, replace(kept, plans=(moved,))) is None


def test_what_may_be_saved_is_what_the_printed_lengths_are_apart() -> None:
    """To the millimetre, and nothing is said to be proved that was not; a cloth that will shrink is as long as on the
    sheets, by 1 / (1 - 4 %) (a made-up shrinkage)."""
    reading = reading_of(JOB_THAT_SHRINKS)
    assert reading.job is not None
    worked = work(reading.job, seconds=0.2, trials=False).value
    assert worked is not None
    plan = worked.plans["cloth"]
    view = JobView(cast(JobRecord, None), reading, worked)  # its record is not asked for anything
    for more_mm in (0.0, 0.3, 0.5, 0.8):
        lay = replace(plan.lay, length_mm=plan.bound.length_mm + 40.0 + more_mm)
        lies_on = view.length(view.on_bolt(replace(plan, lay=lay)).lay_mm)
        said = view.proof(replace(plan, lay=lay))
        least, left = (round(1000 * float(x)) for x in re.findall(r"(\d+\.\d{3})", said))
        assert round(1000 * float(lies_on[:5])) - least == left, said
        assert least <= plan.bound.length_mm / 0.96 + 1e-6
        assert said.startswith("Nothing can use less")
    started = replace(plan, starts=(StartRange("across", 0.0, 50.0, plan.lay.length_mm),))
    assert view.proof(started).startswith("No order for every start of the pattern can use less"), "as on the sheets"
    told = view.on_bolt(replace(plan, lay=replace(plan.lay, length_mm=960.0)))
    assert told.lay_mm == pytest.approx(1000.0)


def test_a_name_corrected_keeps_the_lay_that_was_searched(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """A cushion or a cloth called otherwise is the same on the cloth: no other length, no other price, no waiting."""
    client, keep, _ = laid
    job = keep.add_job((EXAMPLES / "armchair.toml").read_text())
    before = client.get(f"/jobs/{job.id}").text
    told = _between(before, "<dt>Cloth to order</dt><dd>", "</dd>")
    edit = {"path": "cushion[0].name", "value": "Reading chair, seat", "now": "1"}
    assert client.post(f"/jobs/{job.id}/set", data=edit, headers=PARTS).status_code == 200
    page = client.get(f"/jobs/{job.id}").text
    assert "Being laid" not in page
    assert _between(page, "<dt>Cloth to order</dt><dd>", "</dd>") == told != []
    cut_list = client.get(f"/jobs/{job.id}/sheets/cut-list.pdf").content
    said = "".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(cut_list)).pages)
    assert "Reading chair, seat" in said


def test_what_is_kept_is_said_by_the_names_of_today() -> None:
    """Whole names alone, each its own; what two are called alike is laid anew, for nobody could tell which is meant."""
    job = read_job((EXAMPLES / "bay-window.toml").read_bytes()).value
    assert job is not None
    left, middle, _ = job.cushions
    cloth = job.cloths[0]
    worked = work(job, seconds=0.2, trials=False).value
    assert worked is not None
    said = Finding("LAY-016", Severity.NOTE, cloth.name, f"{left.name} and {middle.name}; {left.name}s")
    kept = unpacked(packed(kept_of(replace(worked, findings=(said,)), seconds=0.2, whole=False)))
    assert kept is not None
    swapped = (replace(left, name=middle.name), replace(middle, name=left.name), *job.cushions[2:])
    other = replace(job, cushions=swapped, cloths=(replace(cloth, name="Blue"),))
    assert cut_digest(other) == cut_digest(job)
    again = restored(other, kept)
    assert again is not None
    assert replace(said, place="Blue", message=f"{middle.name} and {left.name}; {left.name}s") in again.findings
    alike = replace(job, cushions=(left, replace(middle, name=left.name), *job.cushions[2:]))
    assert cut_digest(alike) != cut_digest(job)


@pytest.mark.parametrize("data", [b"", BROKEN, b"\xff" * 100, b"\x80"])
def test_bytes_that_are_no_kept_work_are_none(data: bytes) -> None:
    """Whatever lies in the database."""
    assert unpacked(data) is None


def test_the_digest_is_of_what_is_cut() -> None:
    """A price, a customer, a note or a line more changes nothing; a size does."""
    text = (EXAMPLES / "armchair.toml").read_text()

    def digest(changed: str) -> str:
        job = read_job(changed.encode()).value
        assert job is not None
        return cut_digest(job)

    same = (
        "# a line more\n" + text, text.replace("The librarian", "Another"), text.replace("hour = 40", "hour = 41"),
        text.replace("price_per_yd = 21", "price_per_yd = 22"),
    )  # fmt: skip
    assert {digest(x) for x in same} == {digest(text)}
    assert digest(text.replace("depth = 21", "depth = 22")) != digest(text)
    assert digest(text.replace('clearance = { left = "1/4"', 'clearance = { left = "1/8"')) != digest(text)


JOB_THAT_SHRINKS = """
[job]
size_is = "fill"
[[cloth]]
id = "cloth"
usable_width = 1370
stripes = ["indigo 38", "linen 12"]
shrink_warp = 4
shrinks_after_cutting = true
[[cushion]]
id = "seat"
width = 600
depth = 500
thickness = 80
"""


def _between(text: str, before: str, after: str) -> list[str]:
    return [part.partition(after)[0] for part in text.split(before)[1:]]


FOAM = """
[job]
name = "Two stools"
size_is = "fill"
[[foam_sheet]]
thickness = 60
width = 1000
length = 2000
price = 38
[[cloth]]
id = "linen"
usable_width = 1400
price_per_m = 20
[[cushion]]
id = "stool"
name = "Stool"
count = 2
width = 420
depth = 400
thickness = 60
"""


def test_what_a_lay_is_for_beside_its_length_is_chosen_on_the_page(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """A press sets it in the job's text; once laid, each aim is told with what it costs, and kept with the lay."""
    client, keep, _ = laid
    job = keep.add_job(FOAM)
    assert client.get(f"/jobs/{job.id}/figures", params={"version": 1}, headers=PARTS).status_code == 200
    page = client.get(f"/jobs/{job.id}").text
    assert "<b>Only its length</b>" in page
    value = re.search(r'name="value" value="(straight cuts[^"]*)"', page)
    assert value is not None
    sent = {"path": "job.then", "value": value[1], "version": 1, "whole": "yes"}
    assert client.post(f"/jobs/{job.id}/set", data=sent, headers=PARTS).status_code == 200
    read = read_job(keep.job(job.id).text.encode()).value
    assert read is not None
    assert read.then[0] == "straight cuts"
    assert set(read.then) == {"straight cuts", "large remnant", "cushions together"}
    assert client.get(f"/jobs/{job.id}/figures", params={"version": 2}, headers=PARTS).status_code == 200
    page = client.get(f"/jobs/{job.id}").text
    assert "<b>Few, straight cuts</b>" in page
    assert re.search(
        r"Few, straight cuts: no more cloth; \d+ runs of the knife, \d+ right across, <b>laid so</b>", page
    )
    assert "is left whole" in page


def test_why_it_takes_so_much_is_found_out_beside_and_told(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """What stands on what, what a match costs, what would save most, in words; asked once."""
    client, keep, _ = laid
    striped = FOAM.replace("price_per_m = 20", 'price_per_m = 20\nstripes = ["indigo 40", "linen 16"]')
    job = keep.add_job(striped)
    assert client.get(f"/jobs/{job.id}/lay/why", headers=PARTS).text.count("Find out why") == 1
    assert client.get(f"/jobs/{job.id}/figures", params={"version": 1}, headers=PARTS).status_code == 200
    told = client.post(f"/jobs/{job.id}/lay/why", headers=PARTS).text
    assert "Trying what could be otherwise" in told
    until = time.monotonic() + 90
    while "Trying" in told and time.monotonic() < until:
        time.sleep(0.5)
        told = client.get(f"/jobs/{job.id}/lay/why", headers=PARTS).text
    assert "from the cut end to the last edge at" in told
    assert "What meeting costs" in told
    assert "What would save most" in told
    assert "stool." not in told  # pieces are called as at the table
    assert "What would save most" in client.get(f"/jobs/{job.id}").text
    assert client.post(f"/jobs/{job.id}/lay/why").status_code == 303  # without parts of pages: back to the page


def test_foam_sheets_stand_beside_the_lay(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """How many, how each is cut, what is left of it, drawn; and charged by the sheet."""
    client, keep, _ = laid
    job = keep.add_job(FOAM)
    assert client.get(f"/jobs/{job.id}/figures", params={"version": 1}, headers=PARTS).status_code == 200
    page = client.get(f"/jobs/{job.id}").text
    assert "Firm foam, 60 mm thick: 1 sheet of 1000 x 2000" in page.replace("&nbsp;", " ").replace("\xa0", " ")
    assert "1 cut for 2 of Stool; it leaves" in page
    assert "How the sheets of foam are cut" in page
    assert "£38.00" in page


def test_a_fold_is_drawn_and_told(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """Cut double, on the fold: the drawing has both layers, what it costs is told, and the lay comes back so."""
    client, keep, _ = laid
    job = keep.add_job(FOAM.replace("price_per_m = 20", "price_per_m = 20\ncut_double = true"))
    assert client.get(f"/jobs/{job.id}/figures", params={"version": 1}, headers=PARTS).status_code == 200
    page = client.get(f"/jobs/{job.id}").text
    assert "folded here, face to face" in page
    assert "under layer" in page
    assert "cuts give" in page


def test_lines_measured_along_the_roll_are_typed_with_commas(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """As numbers into the list of the job's text, shown again as they were typed; one left out is named."""
    client, keep, _ = laid
    printed = FOAM.replace("price_per_m = 20", "price_per_m = 20\nrepeat_across = 200\nrepeat_along = 320")
    job = keep.add_job(printed)
    lines = {"path": "cloth[0].bolt.lines_at", "value": "100, 421, 744", "version": 1}
    assert client.post(f"/jobs/{job.id}/set", data=lines, headers=PARTS).status_code == 200
    text = keep.job(job.id).text
    assert "lines_at = [100, 421, 744]" in text
    assert 'value="100, 421, 744"' in client.get(f"/jobs/{job.id}").text
    wrong = {**lines, "value": "100, 421, 1064", "version": 2}
    assert "between them 1 left out" in client.post(f"/jobs/{job.id}/set", data=wrong, headers=PARTS).text


def test_a_job_that_is_cut_from_a_remnant_is_shown_with_its_lay(laid: tuple[TestClient, Keep, JobRecord]) -> None:
    """The remnant is laid like a cloth of its own, and told with its length."""
    client, keep, _ = laid
    text = JOB_THAT_SHRINKS.replace(
        "[[cushion]]", '[[cloth.remnants]]\nlength = 2774\nwidth = 1370\nlot = "77"\n[[cushion]]'
    )
    job = keep.add_job(text)
    answer = client.get(f"/jobs/{job.id}/figures", params={"version": 1}, headers=PARTS)
    assert answer.status_code == 200
    assert "Being laid" not in answer.text
    page = client.get(f"/jobs/{job.id}")
    assert page.status_code == 200
    assert "remnant 1" in page.text
    assert "The pieces lie on" in page.text
    told = _between(page.text, "<dt>Cloth to order</dt><dd>", "</dd>")[0]
    assert "none" in told, "what is in hand is not ordered"
