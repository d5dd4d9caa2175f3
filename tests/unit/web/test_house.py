"""House numbers: defaults of every new job, as typed, with what is wrong beside the field; jobs keep theirs."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from squab.desk import opened
from squab.files.keys import COVER, PRICES, Table
from squab.keep import Keep
from squab.web.fields import id_of
from squab.web.house_view import SECTIONS

PARTS = {"hx-request": "true"}


def typed(client: TestClient, keep: Keep, path: str, value: str, **more: str) -> str:
    """Type into one field, as the page does."""
    data = {"path": path, "value": value, "now": more.pop("version", str(keep.house().version)), **more}
    answer = client.post("/house/set", data=data, headers=PARTS)
    assert answer.status_code == 200, answer.text
    return answer.text


def paths(table: Table, under: str) -> set[str]:
    """Every key of a table, dotted."""
    found: set[str] = set()
    for key in table.keys:
        found |= paths(key.table, f"{under}.{key.name}") if key.table is not None else {f"{under}.{key.name}"}
    return found


def test_every_key_of_cover_and_prices_has_its_field(client: TestClient) -> None:
    """Each once, under a label, none forgotten."""
    page = client.get("/house").text
    wanted = paths(COVER, "cover") | paths(PRICES, "prices")
    listed = [n for _, _, _, names in SECTIONS for n in names]
    assert len(listed) == len(set(listed))
    assert wanted <= set(listed)
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    assert {f"{id_of(n)}-in" for n in listed} <= set(ids)
    assert {f"{id_of(n)}-in" for n in listed} <= set(re.findall(r'<label for="([^"]+)"', page)) | set(
        re.findall(r'type="checkbox" name="value" value="true" id="([^"]+)"', page)
    )


def test_a_new_job_begins_with_them_and_keeps_them(client: TestClient, keep: Keep) -> None:
    """What is changed in the house later changes no job."""
    typed(client, keep, "cover.allowance", "15")
    typed(client, keep, "prices.hour", "41.50")
    typed(client, keep, "job.lead_time_weeks", "6")
    job = client.post("/jobs/new").headers["location"].rpartition("/")[2]
    typed(client, keep, "cover.allowance", "10")
    now = opened(keep.job(job).text, check=False).typed
    assert (now["cover.allowance"], now["prices.hour"], now["job.lead_time_weeks"]) == ("15", "41.50", "6")


def test_a_job_in_the_other_unit_keeps_their_size(client: TestClient, keep: Keep) -> None:
    """Fifteen millimetres never become fifteen inches."""
    typed(client, keep, "cover.allowance", "15")
    data = {"width": "24", "depth": "22", "thickness": "4", "unit": "in"}
    job = client.post("/telephone/keep", data=data).headers["location"].rpartition("/")[2]
    read = opened(keep.job(job).text, check=False)
    assert read.job is not None
    assert read.typed["job.units"] == "in"
    assert read.job.cushions[0].cover.allowance_mm == pytest.approx(15)


def test_another_unit_leaves_every_number_what_it_is(client: TestClient, keep: Keep) -> None:
    """And new jobs begin in it."""
    typed(client, keep, "cover.piping.cord", "5")
    page = typed(client, keep, "job.units", "in", whole="yes")
    assert 'value="5 mm"' in page
    job = client.post("/jobs/new").headers["location"].rpartition("/")[2]
    assert opened(keep.job(job).text, check=False).typed["job.units"] == "in"
    typed(client, keep, "cover.allowance", "1/2")
    assert 'value="1/2 in"' in typed(client, keep, "job.units", "", whole="yes")


def test_what_is_wrong_stands_beside_its_field_and_stays_as_typed(client: TestClient, keep: Keep) -> None:
    """With a way out; mended, it is told of no more."""
    text = typed(client, keep, "cover.allowance", "1/")
    slot = re.search(r'id="k-cover-allowance-say"[^>]*>(.*?)</ul>', text, re.S)
    assert slot
    assert "stop" in slot.group(1)
    assert 'value="1/"' in client.get("/house").text
    mended = typed(client, keep, "cover.allowance", "12")
    slot = re.search(r'id="k-cover-allowance-say"[^>]*>(.*?)</ul>', mended, re.S)
    assert slot
    assert "say" not in slot.group(1)


def test_two_tabs_never_overwrite_one_another(client: TestClient, keep: Keep) -> None:
    """Both are shown, and nothing is written until one chooses."""
    typed(client, keep, "prices.hour", "35")
    stale = keep.house().version - 1
    data = {"path": "prices.hour", "value": "99", "now": str(stale)}
    answer = client.post("/house/set", data=data, headers=PARTS)
    assert answer.status_code == 409
    assert "99" in answer.text
    assert "35" in answer.text
    assert opened(keep.house().text, check=False).typed["prices.hour"] == "35"
    again = client.post("/house/set", data={"path": "prices.hour", "value": "99", "version": str(keep.house().version)})
    assert again.status_code == 303
    assert opened(keep.house().text, check=False).typed["prices.hour"] == "99"


def test_undo_and_history_lose_nothing(client: TestClient, keep: Keep) -> None:
    """Undone is a version of its own, and both can be gone back to."""
    keep.save_house("[prices]\nhour = 30\n", 0)
    keep.save_house("[prices]\nhour = 44\n", 1, why="sent by a program")
    assert client.post("/house/undo", data={"version": "2"}).status_code == 303
    assert keep.house().text == "[prices]\nhour = 30\n"
    page = client.get("/house/history").text
    assert "An hour&#39;s work" in page or "An hour's work" in page
    assert ">44</ins>" in page
    assert client.post("/house/history", data={"version": "2"}).status_code == 303
    assert keep.house().text == "[prices]\nhour = 44\n"
    assert len(keep.house_history()) == 4


@pytest.mark.parametrize("path", ["cushion[0].width", "cloth[0].name", "nothing", "job.units.mm", "'", "cover[0]"])
def test_what_is_no_house_number_is_refused(client: TestClient, keep: Keep, path: str) -> None:
    """And nothing is kept of it."""
    answer = client.post("/house/set", data={"path": path, "value": "1", "now": "0"}, headers=PARTS)
    assert answer.status_code == 422
    assert keep.house().version == 0


@pytest.mark.parametrize("value", ["9" * 400, "-1", "1e999", "<script>", "\x00", "ten"])
def test_absurd_values_are_kept_and_told(client: TestClient, keep: Keep, value: str) -> None:
    """Or refused with a reason; never a fault of the program."""
    answer = client.post("/house/set", data={"path": "cover.zip.tape", "value": value, "now": "0"}, headers=PARTS)
    assert answer.status_code in (200, 422)
    assert "<script>" not in answer.text
    assert client.get("/house").status_code == 200
    assert client.post("/jobs/new").status_code == 303
