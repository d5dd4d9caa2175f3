"""What a cut job leaves of its bolt is put aside, lies on the shelf, and is counted on by another job."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from squab.keep import JobRecord, Keep, Left, Remnant
from squab.units import parse_length
from squab.web.arriving import cloths_there, note, note_flaws
from squab.web.cutting import unpacked
from squab.web.leavings import keys_of, typed_length
from squab.web.works import reading_of
from tests.unit.web.bench_jobs import BY_HAND, laid, lay_of


def test_what_is_left_goes_from_the_table_over_the_shelf_into_a_job(client: TestClient, keep: Keep) -> None:
    """Its size is the bolt beyond the last piece, its lot what was noted when the cloth came."""
    job = laid(keep)
    client.post(f"/jobs/{job.id}/table/begin")
    assert client.get(f"/jobs/{job.id}/table/left").status_code == 409, "nothing is left before all is cut"
    cutting = unpacked(keep.cutting(job.id))
    assert cutting is not None
    for piece in cutting.pieces:
        keep.tick(job.id, piece.key, of=len(cutting.pieces))
    assert "Put aside what is left" in client.get(f"/jobs/{job.id}/table").text
    assert "Put it aside" in client.get(f"/jobs/{job.id}/table/left").text

    cloth = cutting.cloths[0]
    place = {"cloth_id": cloth.id, "place": "second <shelf>"}
    assert client.post(f"/jobs/{job.id}/table/left", data=place).status_code == 303
    assert client.post(f"/jobs/{job.id}/table/left", data=place).status_code == 409, "it is put aside once"
    (left,) = keep.remnants()
    beyond = cloth.whole_mm - max(p.box_mm[3] for p in cutting.pieces if p.cloth_id == cloth.id)
    assert beyond - 25.4 / 8 <= parse_length(left.along, "in").mm <= beyond
    assert left.lot == next(a.lot for a in job.arrival if a.cloth == cloth.id)
    assert (left.place, left.job_title, left.used) == ("second <shelf>", job.title, False)

    shelf = client.get("/cloths").text
    assert "second &lt;shelf&gt;" in shelf
    assert left.name in shelf
    assert client.get(f"/remnants/{left.id}/swatch.svg").headers["content-type"] == "image/svg+xml"

    page = client.get(f"/jobs/{job.id}").text
    assert "Count on it" in page
    now = re.search(r'id="now"[^>]*value="(\d+)"', page)
    assert now is not None
    form = {"index": "0", "remnant": left.id, "now": now.group(1), "whole": "yes"}
    counted = client.post(f"/jobs/{job.id}/remnant", data=form, headers={"hx-request": "true"})
    assert counted.status_code == 200, counted.text
    assert "Count on it" not in counted.text
    made = reading_of(keep.job(job.id).text).job
    assert made is not None
    assert [r.bolt.lot for r in made.cloths[0].remnants] == [left.lot]

    used = {"version": str(left.version), "used": "yes"}
    assert client.post(f"/remnants/{left.id}", data=used).status_code == 303
    assert keep.remnants() == ()
    assert "Not used after all" in client.get("/cloths").text
    assert client.post(f"/remnants/{left.id}", data={"version": "1", "place": "x"}).status_code >= 400


def test_a_remnant_of_another_cloth_is_not_offered(client: TestClient, keep: Keep) -> None:
    """The same name with another pattern is another cloth."""
    job = laid(keep)
    name = reading_of(job.text).opened.typed["cloth[0].name"]
    other = f'[[cloth]]\nname = "{name}"\nusable_width = 1000\nstripes = ["indigo 11", "linen 13"]\n'
    keep.add_remnant(Left(name=name, cloth=other, across="1000 mm", along="900 mm"))
    assert "Count on it" not in client.get(f"/jobs/{job.id}").text


def test_what_is_left_is_never_said_to_be_longer_than_it_is() -> None:
    """Down to whole millimetres, or eighths of an inch."""
    assert typed_length(1234.9, inches=False) == "1234 mm"
    assert typed_length(12.5 * 25.4 + 0.1, inches=True) == "12 1/2 in"
    assert typed_length(7 * 25.4 - 0.1, inches=True) == "6 7/8 in"


STOOLS = """[job]
name = "Two stools"
[[cloth]]
id = "ticking"
name = "Wickle ticking"
usable_width = 1370
stripes = ["indigo 40", "linen 56"]
price_per_m = 28
remnants = [{remnant}]
[[cushion]]
id = "stool"
width = 400
depth = 400
thickness = 60
count = 2
"""


def stools_cut(client: TestClient, keep: Keep, row: str = "") -> tuple[JobRecord, Remnant]:
    """Two stools, one of them cut from a remnant of the shelf and one from a bolt that was measured; all is cut.

    `row` is how the job writes the remnant; as the shelf does where it is left out.
    """
    cloth = '[job]\nunits = "mm"\n' + STOOLS[STOOLS.index("[[cloth]]") : STOOLS.index("remnants")]
    left = Left(name="Wickle ticking", cloth=cloth, across="1370 mm", along="900 mm", lot="3", stripe_at="25 mm",
                print_at="", place="blue box", job_id="earlier", job_title="Earlier")  # fmt: skip
    remnant = keep.add_remnant(left)
    row = row or ", ".join(f'{k} = "{v}"' for k, v in keys_of(remnant).items())
    job = keep.set_state(keep.add_job(STOOLS.replace("{remnant}", f"{{ {row} }}")).id, "ordered")
    for there in cloths_there(job):
        tape = {"width": "1370", "length": "4 m", "repeat_across": "96", "stripe_at": "12.5", **BY_HAND}
        for what, typed in tape.items():
            note(keep, job.id, there.id, what, typed)
        note_flaws(keep, job.id, there.id, lambda rows: ())
    job = keep.job(job.id)
    keep.save_lay(*lay_of(job.text))
    client.post(f"/jobs/{job.id}/table/begin")
    cutting = unpacked(keep.cutting(job.id))
    assert cutting is not None
    assert "ticking-remnant-1" in {c.id for c in cutting.cloths}, "one of them comes from the remnant"
    for piece in cutting.pieces:
        keep.tick(job.id, piece.key, of=len(cutting.pieces))
    return job, remnant


def test_a_remnant_that_was_cut_into_is_used_in_one_press(client: TestClient, keep: Keep) -> None:
    """What is left of it goes back on the shelf with its lot, place and stripe, where one asks so."""
    job, remnant = stools_cut(client, keep)
    page = client.get(f"/jobs/{job.id}/table/left").text
    assert "Used; keep what is left" in page
    press = {"remnant": remnant.id, "version": str(remnant.version), "rest": "yes"}
    assert client.post(f"/jobs/{job.id}/table/remnant", data=press).status_code == 303
    (rest,) = keep.remnants()
    cutting = unpacked(keep.cutting(job.id))
    assert cutting is not None
    reach = max(p.box_mm[3] for p in cutting.pieces if p.cloth_id == "ticking-remnant-1")
    assert parse_length(rest.along).mm == int(900 - 50 - reach), "its end is squared off by 50 mm"
    assert (rest.lot, rest.stripe_at, rest.place, rest.across) == ("3", "25 mm", "blue box", "1370 mm")
    assert [r.id for r in keep.remnants(used=True)] == [remnant.id]
    assert "Used; keep what is left" not in client.get(f"/jobs/{job.id}/table/left").text
    assert client.post(f"/jobs/{job.id}/table/remnant", data=press).status_code == 409, "it is used once"
    assert len(keep.remnants()) == 1


def test_a_remnant_is_known_however_its_size_is_typed(client: TestClient, keep: Keep) -> None:
    """Nine hundred millimetres are 90 cm, and where its stripe stands may have been measured since."""
    job, remnant = stools_cut(client, keep, 'length = "90 cm", width = 1370, lot = "3", stripe_at = 24')
    press = {"remnant": remnant.id, "version": str(remnant.version)}
    assert client.post(f"/jobs/{job.id}/table/remnant", data=press).status_code == 303
    assert [r.id for r in keep.remnants(used=True)] == [remnant.id]


@pytest.mark.parametrize(
    ("row", "offered"),
    [('length = "90 cm", lot = "3"', 0), ('length = 900, lot = "4"', 1), ('length = 901, lot = "3"', 1)],
)
def test_a_remnant_that_a_job_counts_on_is_not_offered_again(
    client: TestClient, keep: Keep, row: str, offered: int
) -> None:
    """Only that very one: another lot or length is another remnant, and so is a second one of the same size."""
    cloth = '[job]\nunits = "mm"\n' + STOOLS[STOOLS.index("[[cloth]]") : STOOLS.index("remnants")]
    left = Left(name="Wickle ticking", cloth=cloth, across="1370 mm", along="900 mm", lot="3")
    keep.add_remnant(left)
    job = keep.add_job(STOOLS.replace("{remnant}", f"{{ {row} }}"))
    assert client.get(f"/jobs/{job.id}").text.count('name="remnant"') == offered
    keep.add_remnant(left)
    assert client.get(f"/jobs/{job.id}").text.count('name="remnant"') == offered + 1


def test_of_two_remnants_of_one_size_the_one_is_meant_that_says_the_same(client: TestClient, keep: Keep) -> None:
    """Both of one lot and as long, their stripes elsewhere: counting on the second leaves the first on offer."""
    cloth = '[job]\nunits = "mm"\n' + STOOLS[STOOLS.index("[[cloth]]") : STOOLS.index("remnants")]
    lefts = [
        Left(name="Wickle ticking", cloth=cloth, across="1370 mm", along="900 mm", lot="3", stripe_at=at)
        for at in ("25 mm", "61 mm")
    ]
    first, second = (keep.add_remnant(left) for left in lefts)
    row = ", ".join(f'{k} = "{v}"' for k, v in keys_of(second).items())
    job = keep.add_job(STOOLS.replace("{remnant}", f"{{ {row} }}"))
    page = client.get(f"/jobs/{job.id}").text
    assert f'name="remnant" value="{first.id}"' in page
    assert f'name="remnant" value="{second.id}"' not in page


def test_a_remnant_may_be_used_up_whole(client: TestClient, keep: Keep) -> None:
    """Then nothing goes back; the bolt's own end is still offered, with its stripe as it was measured."""
    job, remnant = stools_cut(client, keep)
    press = {"remnant": remnant.id, "version": str(remnant.version)}
    assert client.post(f"/jobs/{job.id}/table/remnant", data=press).status_code == 303
    assert keep.remnants() == ()
    client.post(f"/jobs/{job.id}/table/left", data={"cloth_id": "ticking", "place": ""})
    (end,) = keep.remnants()
    assert parse_length(end.stripe_at).mm == 12.5
    assert end.print_at == ""
