"""Foam from sheets, from the job file to what is bought and drawn."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from xml.etree import ElementTree

import pytest

from squab.draw.foam import foam_sheets_svg, sheet_said, ways_said
from squab.files import read_job
from squab.foam import foam_from_sheets
from squab.job import FoamSheet
from squab.stages import work
from squab.supply.records import BuyLine
from squab.web.kept_work import cut_digest
from squab.worked import WorkedJob

SEATS = b"""
[job]
size_is = "fill"
foam_gap = 3
[[foam_sheet]]
thickness = 60
width = 1000
length = 2000
[[cloth]]
id = "linen"
usable_width = 1400
price_per_m = 20
[[cushion]]
id = "seat"
name = "Seat"
count = 5
width = 480
depth = 520
thickness = 60
"""


def test_blocks_are_cut_from_the_sheets_the_job_names() -> None:
    job = read_job(SEATS).value
    assert job is not None
    assert job.foam_sheets == (FoamSheet("firm_foam", 60.0, 1000.0, 2000.0),)
    worked = work(job, seconds=0.3, trials=False).value
    assert worked is not None
    (bought,) = worked.foam
    # two of 480 and a gap of 3 across 1000, three of 520 and two gaps along 2000: six would go on a sheet
    assert (bought.count, bought.at_least) == (1, 1)
    assert sheet_said(bought, job.style) == "Firm foam, 60 mm thick: 1 sheet of 1000 x 2000 mm"
    # what is left whole is the place of the sixth, and what the saw and the blocks leave at its sides
    (said,) = ways_said(bought, job)
    assert said.startswith("1 cut for 5 of Seat; it leaves ")
    drawn = ElementTree.fromstring(foam_sheets_svg(worked))
    paths = [e for e in drawn.iter() if e.tag.endswith("path")]
    assert len(paths) == 5
    assert any(e.text and e.text.startswith("left over") for e in drawn.iter())
    bare = replace(job, foam_sheets=())
    assert foam_from_sheets(bare, worked.construction, worked.supply).value == ()
    thin = replace(job, foam_sheets=(FoamSheet("firm_foam", 50.0, 1000.0, 2000.0),))
    assert [f.code for f in foam_from_sheets(thin, worked.construction, worked.supply).findings] == ["SUP-020"]


def priced(sheet: str, more: str = "") -> WorkedJob:
    text = SEATS.decode().replace("length = 2000", f"length = 2000\n{sheet}") + more
    job = read_job(text.encode()).value
    assert job is not None
    worked = work(job, seconds=0.3, trials=False).value
    assert worked is not None
    return worked


def foam_lines(worked: WorkedJob) -> list[BuyLine]:
    return [x for x in worked.supply.buy if x.kind == "foam"]


def test_foam_is_charged_by_the_sheet() -> None:
    (line,) = foam_lines(priced("price = 45.50"))
    assert (line.what, line.buy, line.unit, line.cost) == (
        "Firm foam, sheets of 1000 × 2000 × 60 mm", 1.0, "each", Decimal("45.50"),
    )  # fmt: skip
    # two of 480 and a gap of 3 leave 34 at the side; what stays whole along the sheet is 1000 x (2000 - 3 x 523)
    assert line.detail.startswith("whole sheets; left over 1 of ")
    # without a price of its own: 1 x 2 x 0.06 m3 at 420 a cubic metre
    (by_volume,) = foam_lines(priced(""))
    assert by_volume.cost == Decimal("50.40")
    made = priced("price = 145.50")
    (dear,) = foam_lines(made)
    assert dear.cost == Decimal("145.50")
    assert made.supply.price.materials_cost == sum(x.cost for x in made.supply.buy)


OTHER = """
[[cushion]]
id = "thick"
width = 300
depth = 300
thickness = 90
[[cushion]]
id = "small"
width = 240
depth = 260
thickness = 60
"""


def test_what_is_cut_from_no_sheet_is_bought_by_its_volume_and_sheets_are_shared_by_area() -> None:
    made = priced("price = 60", OTHER)
    sheets, block = foam_lines(made)[1], foam_lines(made)[0]
    assert (block.cushion_id, block.unit) == ("thick", "m3")
    assert sheets.cost == Decimal("60.00")
    # five of 480 x 520 and one of 240 x 260, which is a quarter of one: 20 to 1
    (bought,) = made.foam
    areas = bought.areas_mm2()
    assert areas["seat"] / areas["small"] == pytest.approx(20.0, rel=0.02)
    assert bought.count == 1


def test_of_two_sheets_the_cheaper_way_is_taken_where_both_are_priced() -> None:
    two = "price = 100\n[[foam_sheet]]\nthickness = 60\nwidth = 1200\nlength = 2000\nprice = 90"
    assert priced(two).foam[0].sheet.width_mm == 1200.0


def test_a_price_of_foam_changes_no_lay() -> None:
    assert cut_digest(priced("").job) == cut_digest(priced("price = 45").job)
