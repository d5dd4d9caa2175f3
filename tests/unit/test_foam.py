"""Foam from sheets, from the job file to what is bought and drawn."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

from squab.draw.foam import foam_sheets_svg, sheet_said, ways_said
from squab.files import read_job
from squab.foam import foam_from_sheets
from squab.job import FoamSheet
from squab.stages import work

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
    assert sheet_said(bought, job.style) == "firm foam, 60 mm thick: 1 sheet of 1000 x 2000 mm"
    assert ways_said(bought, job) == ["1 cut for 5 of Seat"]
    drawn = ElementTree.fromstring(foam_sheets_svg(worked))
    paths = [e for e in drawn.iter() if e.tag.endswith("path")]
    assert len(paths) == 5
    bare = replace(job, foam_sheets=())
    assert foam_from_sheets(bare, worked.construction, worked.supply).value == ()
    thin = replace(job, foam_sheets=(FoamSheet("firm_foam", 50.0, 1000.0, 2000.0),))
    assert [f.code for f in foam_from_sheets(thin, worked.construction, worked.supply).findings] == ["SUP-020"]
