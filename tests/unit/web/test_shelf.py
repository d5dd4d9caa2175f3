"""The cloth shelf: swatches from the layout, fields with what is wrong beside them, cloths used in jobs."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from squab.desk import new_shelf_cloth, opened
from squab.files.jobfile import read_job
from squab.keep import ClothRecord, Keep
from tests.unit.web.conftest import EXAMPLES

PARTS = {"hx-request": "true"}
STRIPED = """[job]
units = "in"

[[cloth]]
id = "awning"
name = "Awning stripe"
usable_width = "53 1/2"
stripes = ["navy 2 1/2", "chalk 1 1/2"]
price_per_yd = 18
"""


def put(keep: Keep, text: str = STRIPED, name: str = "Awning stripe") -> ClothRecord:
    """A cloth on the shelf."""
    return keep.add_cloth(name, text)


def do(client: TestClient, cloth: ClothRecord, what: str, **data: str) -> str:
    """Change a cloth as its page does."""
    data = {"now": data.pop("version", str(cloth.version)), **data}
    answer = client.post(f"/cloths/{cloth.id}/{what}", data=data, headers=PARTS)
    assert answer.status_code == 200, answer.text
    return answer.text


def test_a_price_is_said_in_the_houses_money(client: TestClient, keep: Keep) -> None:
    """Two decimals and the house's currency, wherever the shelf tells it; words that are no sum stay as typed."""
    cloth = put(keep)
    put(keep, STRIPED.replace("price_per_yd = 18", "price_per_m = 24.5"), "By the metre")
    page = client.get("/cloths").text
    assert re.search(r"£18\.00 a yard", page)
    assert re.search(r"£24\.50 a met(er|re)", page)
    house = keep.house()
    keep.save_house('[job]\nunits = "in"\n\n[prices]\ncurrency = "USD"\n', house.version)
    assert "$18.00 a yard" in client.get("/cloths").text
    keep.save_cloth(cloth.id, cloth.name, STRIPED.replace("= 18", '= "ask"'), cloth.version)
    assert "ask a yard" in client.get("/cloths").text


def test_the_jobs_cloths_can_be_put_on_the_shelf_at_once(client: TestClient, keep: Keep) -> None:
    """Each once, however often it is asked."""
    client.post("/jobs/examples")
    assert "No cloth on the shelf yet" in client.get("/cloths").text
    client.post("/cloths/from-jobs")
    client.post("/cloths/from-jobs")
    names = [c.name for c in keep.cloths()]
    assert len(names) == len(set(names)) >= 5
    page = client.get("/cloths").text
    assert page.count("swatch.svg") == len(names)
    for address in re.findall(r'src="(/cloths/[^"]+)"', page):
        answer = client.get(address.replace("&amp;", "&"))
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "image/svg+xml"


def test_a_swatch_shows_the_stripes_in_their_colours(client: TestClient, keep: Keep) -> None:
    """As wide as they are typed: 2 1/2 to 1 1/2."""
    drawn = client.get(f"/cloths/{put(keep).id}/swatch.svg").text
    assert "#24304f" in drawn
    assert "#f3efe6" in drawn


def test_search_finds_by_name_and_by_colour(client: TestClient, keep: Keep) -> None:
    """The cards alone as one types."""
    put(keep)
    put(keep, new_shelf_cloth("Plain <b>linen</b>", "mm"), "Plain <b>linen</b>")
    found = client.get("/cloths", params={"q": "navy"}, headers=PARTS).text
    assert "Awning stripe" in found
    assert "linen" not in found
    both = client.get("/cloths").text
    assert "<b>linen" not in both
    assert "Plain &lt;b&gt;linen" in both
    assert "No cloth is found" in client.get("/cloths", params={"q": "<script>"}, headers=PARTS).text


def test_a_stripe_of_two_and_a_half_inches_is_edited_as_typed(client: TestClient, keep: Keep) -> None:
    """Its fraction belongs to its width, not to its colour."""
    cloth = put(keep)
    page = client.get(f"/cloths/{cloth.id}").text
    assert 'name="width" id="k-cloth-0-stripes-0-w" value="2 1/2"' in page
    do(client, cloth, "stripe", path="cloth[0].stripes[0]", width="2 3/4", colour="navy", name="")
    assert '"navy 2 3/4"' in keep.cloth(cloth.id).text


def test_a_half_typed_width_is_told_beside_its_stripe_alone(client: TestClient, keep: Keep) -> None:
    """Nothing else is made of it."""
    cloth = put(keep)
    text = do(client, cloth, "stripe", path="cloth[0].stripes[0]", width="2 3/", colour="navy", name="")
    told = re.findall(r'id="(k-[^"]+)-say"[^>]*>\s*<li', text)
    assert told in (["k-cloth-0-stripes-0"], ["k-cloth-0-stripes-0-width"])
    assert 'value="2 3/"' in client.get(f"/cloths/{cloth.id}").text


def test_pattern_can_be_changed_and_taken_back(client: TestClient, keep: Keep) -> None:
    """From stripes to a print and, by its history, back again."""
    cloth = put(keep)
    assert "Begin a job in it" in do(client, cloth, "pattern", value="print", whole="yes")
    changed = keep.cloth(cloth.id)
    assert "stripes" not in changed.text
    assert "repeat_along" in changed.text
    page = client.get(f"/cloths/{cloth.id}/history").text
    assert "Stripe 1" in page
    client.post(f"/cloths/{cloth.id}/history", data={"version": "1"})
    assert keep.cloth(cloth.id).text == STRIPED


def test_the_shelf_shows_the_name_that_is_typed(client: TestClient, keep: Keep) -> None:
    """An empty name keeps the one before."""
    cloth = put(keep)
    do(client, cloth, "set", path="cloth[0].name", value="Quay stripe")
    assert keep.cloth(cloth.id).name == "Quay stripe"
    do(client, keep.cloth(cloth.id), "set", path="cloth[0].name", value="")
    assert keep.cloth(cloth.id).name == "Quay stripe"


def test_a_job_is_begun_in_a_cloth(client: TestClient, keep: Keep) -> None:
    """In its own unit, with that cloth and no other."""
    where = client.post(f"/cloths/{put(keep).id}/begin").headers["location"]
    text = keep.job(re.findall(r"/jobs/(\w+)", where)[0]).text
    read = opened(text, check=False)
    assert read.typed["job.units"] == "in"
    assert read.count("cloth") == 1
    assert read.typed["cloth[0].name"] == "Awning stripe"


@pytest.mark.parametrize("instead", ["", "0"])
def test_a_cloth_is_put_into_a_job_of_another_unit(client: TestClient, keep: Keep, instead: str) -> None:
    """As a further cloth or instead of the first, its sizes unchanged."""
    job = keep.add_job((EXAMPLES / "armchair.toml").read_text().replace('units = "in"', 'units = "mm"'))
    client.post(f"/cloths/{put(keep).id}/into", data={"job": job.id, "instead": instead})
    read = opened(keep.job(job.id).text, check=False)
    at = 0 if instead else 1
    assert read.count("cloth") == at + 1
    assert read.typed[f"cloth[{at}].usable_width"] == "53 1/2 in"
    assert read.typed[f"cloth[{at}].stripes[0]"] == "navy 2 1/2 in"
    assert len(keep.history(job.id)) == 2


def test_a_jobs_cloth_goes_to_the_shelf(client: TestClient, keep: Keep) -> None:
    """Without the bolt that was measured for the job."""
    job = keep.add_job((EXAMPLES / "round-stool.toml").read_text())
    client.post("/cloths/from-job", data={"job": job.id, "index": "0"})
    (cloth,) = keep.cloths()
    assert "bolt" not in cloth.text
    assert read_job(
        (cloth.text + '\n[[cushion]]\nid="a"\nsize_is="fill"\nwidth=500\ndepth=500\nthickness=50\n').encode()
    ).value


def test_off_the_shelf_and_back(client: TestClient, keep: Keep) -> None:
    """It is kept either way."""
    cloth = put(keep)
    client.post(f"/cloths/{cloth.id}/shelf", data={"off": "yes"})
    assert "Awning stripe" not in client.get("/cloths").text
    assert "Awning stripe" in client.get("/cloths?off=yes").text
    client.post(f"/cloths/{cloth.id}/shelf", data={})
    assert "Awning stripe" in client.get("/cloths").text


def test_two_tabs_on_one_cloth(client: TestClient, keep: Keep) -> None:
    """The second is shown both."""
    cloth = put(keep)
    do(client, cloth, "set", path="cloth[0].care", value="Wash cool.")
    data = {"path": "cloth[0].care", "value": "Dry clean.", "now": "1"}
    answer = client.post(f"/cloths/{cloth.id}/set", data=data, headers=PARTS)
    assert answer.status_code == 409
    assert "Wash cool." in answer.text
    assert "Dry clean." in answer.text
    assert "Wash cool." in keep.cloth(cloth.id).text


def test_what_is_no_part_of_a_cloth_is_refused(client: TestClient, keep: Keep) -> None:
    """Neither set nor taken out; a cloth that is not there is told so."""
    cloth = put(keep)
    for what in ("set", "stripe", "remove"):
        data = {"path": "job.units", "value": "mm", "now": "1"}
        assert client.post(f"/cloths/{cloth.id}/{what}", data=data, headers=PARTS).status_code == 422
    assert keep.cloth(cloth.id).text == STRIPED
    assert client.get("/cloths/none").status_code == 404
    assert client.post(f"/cloths/{cloth.id}/into", data={"job": "none"}).status_code == 404
    assert client.post(f"/cloths/{cloth.id}/into", data={}).status_code == 422
