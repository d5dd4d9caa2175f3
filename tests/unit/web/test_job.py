"""One job on one page: every edit is kept, told beside its field, and never put over another's."""

from __future__ import annotations

import re
import time

import pytest
from fastapi.testclient import TestClient

from squab.keep import JobRecord, Keep
from tests.unit.web.conftest import EXAMPLES

PARTS = {"hx-request": "true"}


def brought(keep: Keep, name: str = "chair-pads") -> JobRecord:
    """An example job in the keep."""
    return keep.add_job((EXAMPLES / f"{name}.toml").read_text())


def edit(client: TestClient, job: JobRecord, path: str, value: str, **more: str) -> str:
    """Edit one key as a field of the page does; the version may be an old one."""
    data = {"path": path, "value": value, "now": str(more.pop("version", job.version)), **more}
    answer = client.post(f"/jobs/{job.id}/set", data=data, headers=PARTS)
    assert answer.status_code == 200, answer.text
    return answer.text


@pytest.mark.parametrize("name", sorted(p.stem for p in EXAMPLES.glob("*.toml")))
def test_every_example_opens_with_all_its_sections(client: TestClient, keep: Keep, name: str) -> None:
    """In the order of the work, and no field shows anything but what the file says."""
    job = brought(keep, name)
    page = client.get(f"/jobs/{job.id}").text
    places = [page.index(f'id="{s}"') for s in ("sizes", "make", "cloth", "lay", "charge", "sheets")]
    assert places == sorted(places)
    assert keep.job(job.id).version == 1
    ids = re.findall(r'\sid="([^"]+)"', page)
    assert len(ids) == len(set(ids))
    for label in re.findall(r'<label for="([^"]+)"', page):
        assert label in ids


def test_an_edit_is_kept_and_changes_nothing_else(client: TestClient, keep: Keep) -> None:
    """The rest of the text stays byte for byte, and the fraction stays as typed."""
    job = brought(keep, "armchair")
    edit(client, job, "cushion[0].width", "23 5/8")
    after = keep.job(job.id)
    assert after.text == job.text.replace('width = "23 1/2"', 'width = "23 5/8"')
    assert 'value="23 5/8"' in client.get(f"/jobs/{job.id}").text


def test_a_half_filled_field_is_kept_and_told_beside_it(client: TestClient, keep: Keep) -> None:
    """With caret and way out; mended, it is told of no more."""
    job = brought(keep)
    text = edit(client, job, "cushion[0].front", "430 3/")
    slot = _slot(text, "k-cushion-0-front")
    assert "stop" in slot
    assert "430 3/" in slot
    assert keep.job(job.id).version == 2
    mended = edit(client, keep.job(job.id), "cushion[0].front", "430 3/4")
    assert _slot(mended, "k-cushion-0-front").strip() == ""


def test_an_edit_answers_with_figures_of_the_new_text(client: TestClient, keep: Keep) -> None:
    """At once as a range, with the version that the next edit is made to."""
    job = brought(keep)
    text = edit(client, job, "cushion[0].count", "12")
    assert 'id="now" name="now" value="2"' in text
    assert "Being laid" in text
    assert "× 405 ×" in text


def test_an_older_page_is_told_and_overwrites_nothing(client: TestClient, keep: Keep) -> None:
    """What was typed is shown beside what is kept, and can be put in its place."""
    job = brought(keep)
    edit(client, job, "cushion[0].depth", "410")
    older = {"path": "cushion[0].depth", "value": "399", "now": "1"}
    stale = client.post(f"/jobs/{job.id}/set", data=older, headers=PARTS)
    assert stale.status_code == 409
    assert "410" in stale.text
    assert "399" in stale.text
    assert "<h3>Depth, " in stale.text
    assert "depth = 410" in keep.job(job.id).text
    fields = dict(re.findall(r'name="(\w+)" value="([^"]*)"', stale.text))
    assert fields["version"] == "2"
    again = client.post(f"/jobs/{job.id}/set", data=fields)
    assert again.status_code == 303
    assert "depth = 399" in keep.job(job.id).text


def test_without_htmx_a_form_leads_back_to_its_field(client: TestClient, keep: Keep) -> None:
    """And what it set is kept."""
    job = brought(keep)
    answer = client.post(f"/jobs/{job.id}/set", data={"path": "cushion[0].depth", "value": "410", "version": "1"})
    assert answer.headers["location"].endswith("#k-cushion-0-depth")
    assert "depth = 410" in keep.job(job.id).text


@pytest.mark.parametrize(("shape", "needs"), [
    ("rectangle", ["width", "depth"]), ("L", ["out_width", "out_depth"]), ("T", ["ear_width"]), ("one-eared", ["hand"]),
    ("disc", ["diameter"]), ("D", ["width", "depth"]), ("run", []), ("trapezoid", ["front", "back"]),
])  # fmt: skip
def test_each_shape_shows_the_fields_it_takes(client: TestClient, keep: Keep, shape: str, needs: list[str]) -> None:
    """Whatever was there before."""
    job = brought(keep)
    page = edit(client, job, "cushion[0].shape", shape, whole="yes")
    for name in (*needs, "thickness"):
        assert f'id="k-cushion-0-{name.replace("_", "-")}-in"' in page
    assert f'value="{shape}" id="shape-' in page


def test_sides_are_ticked_and_unticked(client: TestClient, keep: Keep) -> None:
    """None at all is kept as none."""
    job = brought(keep)
    data = {"path": "cushion[0].hidden", "listed": "yes", "now": "1", "value": ["back", "left"]}
    assert client.post(f"/jobs/{job.id}/set", data=data, headers=PARTS).status_code == 200
    assert 'hidden = ["back", "left"]' in keep.job(job.id).text
    none = {"path": "cushion[0].hidden", "listed": "yes", "now": "2"}
    client.post(f"/jobs/{job.id}/set", data=none, headers=PARTS)
    assert "hidden = []" in keep.job(job.id).text


def test_a_box_that_is_ticked_as_usual_can_be_unticked(client: TestClient, keep: Keep) -> None:
    """No is kept as no, not as nothing."""
    job = brought(keep)
    data = {"path": "cover.overlock", "tick": "yes", "otherwise": "false", "now": "1"}
    client.post(f"/jobs/{job.id}/set", data=data, headers=PARTS)
    assert "overlock = false" in keep.job(job.id).text


def test_cushions_and_cloths_are_added_and_taken_out(client: TestClient, keep: Keep) -> None:
    """Another like one is a copy under an id of its own."""
    job = brought(keep)

    def post(where: str, **data: str) -> int:
        data["now"] = str(keep.job(job.id).version)
        return client.post(f"/jobs/{job.id}/{where}", data=data, headers=PARTS).status_code

    assert post("add", what="cushion", like="0", whole="yes") == 200
    assert keep.job(job.id).text.count("[[cushion]]") == 2
    assert post("add", what="cloth", whole="yes") == 200
    assert keep.job(job.id).text.count("[[cloth]]") == 3
    assert post("remove", path="cushion[1]", whole="yes") == 200
    assert post("remove", path="cloth[2]", whole="yes") == 200
    assert keep.job(job.id).text.split() == job.text.split()


def test_a_cloth_changes_its_pattern(client: TestClient, keep: Keep) -> None:
    """What belongs to another pattern goes with it, so that the job can still be read."""
    job = brought(keep, "benches")
    for kind in ("stripes", "plain", "print"):
        data = {"path": "cloth[0]", "value": kind, "now": str(keep.job(job.id).version), "whole": "yes"}
        page = client.post(f"/jobs/{job.id}/pattern", data=data, headers=PARTS).text
        assert f'id="pattern-{kind}" checked' in page
        assert not re.search(r"says nothing|is for stripes|is for a print", page)


def test_a_stripe_is_set_from_its_parts(client: TestClient, keep: Keep) -> None:
    """Half of it is kept too, and told beside it."""
    job = brought(keep, "bay-window")
    data = {"path": "cloth[0].stripes[1]", "width": "12", "colour": "chalk", "name": "", "now": "1"}
    client.post(f"/jobs/{job.id}/stripe", data=data, headers=PARTS)
    assert '"chalk 12"' in keep.job(job.id).text
    half = client.post(f"/jobs/{job.id}/stripe", data={**data, "width": "", "now": "2"}, headers=PARTS).text
    assert "no colour and width" in _slot(half, "k-cloth-0-stripes-1")


def test_one_tap_does_what_would_mend_it(client: TestClient, keep: Keep) -> None:
    """And a second tap says that it is done."""
    job = brought(keep, "benches")
    page = client.get(f"/jobs/{job.id}").text
    found = re.search(r'name="of" value="(bench)">\s*<input type="hidden" name="what" value="([^"]+)"', page)
    assert found
    what = found.group(2).replace("&#39;", "'").replace("&lt;", "<").replace("&gt;", ">").replace("&#34;", '"')
    data = {"of": "bench", "what": what, "now": "1", "whole": "yes"}
    assert client.post(f"/jobs/{job.id}/cure", data=data, headers=PARTS).status_code == 200
    assert "joins" in keep.job(job.id).text
    assert client.post(f"/jobs/{job.id}/cure", data={**data, "now": "2"}, headers=PARTS).status_code == 422


@pytest.mark.parametrize("path", ["cushion[0].nothing", "cushion[", "x" * 5000, "cushion[99].width", "", "cushion[0]"])
def test_a_path_that_is_none_is_told(client: TestClient, keep: Keep, path: str) -> None:
    """Nothing is changed, and it is no fault of the program."""
    job = brought(keep)
    answer = client.post(f"/jobs/{job.id}/set", data={"path": path, "value": "1", "now": "1"}, headers=PARTS)
    assert answer.status_code == 422
    assert keep.job(job.id).text == job.text


def test_a_text_that_is_no_toml_still_opens(client: TestClient, keep: Keep) -> None:
    """It says where it breaks off, and can be mended as text."""
    job = keep.add_job("[job]\nname = \n[[cushion]]\nwidth = 12", title="Broken")
    page = client.get(f"/jobs/{job.id}").text
    assert "there is no value here" in page
    assert "Mend the job&#39;s text" in page or "Mend the job's text" in page
    assert "has no cushion yet" not in page
    assert "has no cloth yet" not in page
    assert client.post(f"/jobs/{job.id}/set", data={"path": "job.name", "value": "x", "now": "1"}, headers=PARTS).status_code in (200, 422)  # noqa: E501  # fmt: skip
    assert "width = 12" in client.get(f"/jobs/{job.id}/text").text


def test_where_a_job_stands_and_when_it_is_promised(client: TestClient, keep: Keep) -> None:
    """Cloth that nobody has checked holds the job before it is cut."""
    job = brought(keep)
    assert client.post(f"/jobs/{job.id}/state", data={"value": "quoted"}, headers=PARTS).status_code == 200
    assert client.post(f"/jobs/{job.id}/promised", data={"value": "2031-05-14"}, headers=PARTS).status_code == 200
    after = keep.job(job.id)
    assert (after.state, str(after.promised)) == ("quoted", "2031-05-14")
    held = client.post(f"/jobs/{job.id}/state", data={"value": "cut"}, headers=PARTS)
    assert held.status_code == 409
    assert "checked in" in held.text
    assert client.post(f"/jobs/{job.id}/promised", data={"value": "soon"}, headers=PARTS).status_code == 422
    assert client.post(f"/jobs/{job.id}/state", data={"value": "lost"}, headers=PARTS).status_code == 422


def test_a_customer_called_script_is_a_customer(client: TestClient, keep: Keep) -> None:
    """On the page, in the list, in the drawing."""
    job = brought(keep)
    evil = '<script>alert("x")</script>"\'><img src=x onerror=alert(1)>'
    edit(client, job, "job.customer.name", evil)
    edit(client, keep.job(job.id), "cushion[0].name", evil)
    edit(client, keep.job(job.id), "cloth[0].name", evil)
    for path in (f"/jobs/{job.id}", "/jobs", f"/jobs/{job.id}/text", f"/jobs/{job.id}/picture.svg"):
        text = client.get(path).text
        assert "<script>alert" not in text
        assert "<img src=x" not in text


def test_a_job_of_very_many_cushions_opens(client: TestClient, keep: Keep) -> None:
    """One of them is open; the others are found by number."""
    head = '[[cloth]]\nid = "c"\nusable_width = 1400\n'
    row = '[[cushion]]\nid = "c{}"\nwidth = 500\ndepth = 400\nthickness = 50\nsize_is = "fill"\n'
    rows = "".join(row.format(i) for i in range(300))
    job = keep.add_job(head + rows, title="Stadium")
    page = client.get(f"/jobs/{job.id}?cushion=250").text
    assert page.count('aria-current="true"><span id="cushion-tab-250">c250</span></a>') == 1
    assert "500 × 400" in page
    assert "laid and priced when asked" in page
    assert len(page) < 600_000


def _slot(text: str, field: str) -> str:
    found = re.search(rf'<ul class="says" id="{field}-say"[^>]*>(.*?)</ul>', text, re.S)
    assert found, f"nothing is said of {field}"
    return found.group(1)


def test_a_folded_part_tells_what_it_comes_to(client: TestClient, keep: Keep) -> None:
    """At its head, and anew with every edit; what was left open is open the next time."""
    job = brought(keep, "bay-window")
    page = client.get(f"/jobs/{job.id}").text
    assert 'id="fold-sizes" open' in page
    assert 'id="fold-make" open' not in page
    assert re.search(r"12\smm allowance, piping at both edges", page)
    text = edit(client, job, "cover.allowance", "10")
    assert re.search(r'id="gist-make"[^>]*>10\smm allowance', text)
    client.cookies.set("squab_folds", "make.-sizes")
    page = client.get(f"/jobs/{job.id}").text
    assert 'id="fold-make" open' in page
    assert 'id="fold-sizes" open' not in page


def test_a_mitre_that_cannot_meet_stands_first_among_what_does_not(client: TestClient, keep: Keep) -> None:
    """The list tells the same as the head of its part."""
    page = client.get(f"/jobs/{brought(keep, 'bay-window').id}").text
    assert "2 mitres do not meet" in page
    told = page[page.index("What meets, and what will not") : page.index("What could be done")]
    assert told.count("the pattern cannot meet there") == 2
    assert "mitre between Left wing and Middle" in told


def test_a_unit_that_was_typed_is_not_said_twice(client: TestClient, keep: Keep) -> None:
    """Beside `5 m` no mm stands; beside a bare number it does."""
    page = client.get(f"/jobs/{brought(keep, 'bay-window').id}").text
    fields = re.findall(r'id="(k-[\w-]+)-in" value="([^"]*)".*?</div>', page, re.S)
    assert dict(fields)["k-cloth-0-sold-by"] == "0.1 m"
    beside = {
        name: re.search(rf'id="{name}-in".*?<span aria-hidden="true"([^>]*)>mm<', page, re.S) for name, _ in fields
    }
    assert 'class="typed"' in (beside["k-cloth-0-sold-by"] or [""] * 2)[1]
    assert "typed" not in (beside["k-cloth-0-usable-width"] or ["typed"] * 2)[1]


def test_a_folded_part_that_has_something_to_mend_says_so_and_opens(client: TestClient, keep: Keep) -> None:
    """Where the way out is, not where one happens to look."""
    job = brought(keep, "bay-window")
    edit(client, job, "cover.allowance", "12 3/")
    page = client.get(f"/jobs/{job.id}").text
    assert 'id="fold-make" open' in page
    assert "1 to mend" in re.findall(r'id="gist-make"[^>]*>(.*?)</span>', page, re.S)[0]


def test_usual_values_and_hints_speak_the_jobs_own_unit(client: TestClient, keep: Keep) -> None:
    """No millimetres in a job in inches, no inches in one in millimetres."""
    for name, foreign in (("armchair", r"\d mm\b"), ("bay-window", r"\d in\b")):
        page = client.get(f"/jobs/{brought(keep, name).id}").text
        shown = re.findall(r'placeholder="([^"]*)"', page) + re.findall(r'<span class="hint"[^>]*>([^<]*)<', page)
        assert len(shown) > 30
        assert not [x for x in shown if re.search(foreign, x)]


def test_a_swatch_is_drawn_anew_only_where_its_cloth_changes(client: TestClient, keep: Keep) -> None:
    """What stays as it was is not sent."""
    job = brought(keep, "bay-window")
    assert 'id="swatch"' not in edit(client, job, "cushion[0].front", "520")
    assert 'id="swatch"' in edit(client, keep.job(job.id), "cloth[0].stripes[0]", "ochre 36")


def test_what_wants_another_cloth_is_given_up_in_one_tap(client: TestClient, keep: Keep) -> None:
    """From a cloth that is added for it, where the job has no other."""
    job = brought(keep, "bay-window")
    data = {"what": "the zip panels in another cloth", "cloth_id": "new", "now": "1", "whole": "yes"}
    assert client.post(f"/jobs/{job.id}/give-up", data=data, headers=PARTS).status_code == 200
    text = keep.job(job.id).text
    assert text.count("[[cloth]]") == 2
    assert 'zip_cloth = "cloth-2"' in text


def test_a_job_of_ten_thousand_cushions_is_told_of_at_once(client: TestClient, keep: Keep) -> None:
    """With a way to its text; the list and its small picture are not held up."""
    job = keep.add_job("[[cushion]]\nwidth = 500\n" * 10_000, title="Stadium")
    began = time.process_time()
    page = client.get(f"/jobs/{job.id}")
    assert page.status_code == 422
    assert "10000 kinds of cushion" in page.text
    assert f'href="/jobs/{job.id}/text"' in page.text
    assert client.get(f"/jobs/{job.id}/small.svg").status_code == 200
    assert client.get(f"/jobs/{job.id}/text").status_code == 200
    assert time.process_time() - began < 2.0
