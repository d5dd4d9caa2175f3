"""What each match costs and what would save most: found by laying, never below what was laid."""

from __future__ import annotations

from functools import cache

import pytest

from squab.files import read_job
from squab.measure.shapes import disc, rounded_rectangle
from squab.plane import Outline
from squab.reasons import Reasons, reasons, reasons_record, reasons_said, taken_out
from squab.stages import work
from squab.worked import WorkedJob

PADS = b"""
[job]
size_is = "seam"
knife_gap = 3
[[cloth]]
id = "weft"
name = "Heron stripe"
usable_width = 1000
stripes = ["indigo 60", "linen 40"]
stripes_run = "across"
bolt = { print_at = 0 }
[[cushion]]
id = "pad"
width = 420
depth = 400
thickness = 50
zip = "none"
piping = "none"
"""


@cache
def told() -> tuple[WorkedJob, Reasons]:
    job = read_job(PADS).value
    assert job is not None
    worked = work(job, seconds=0.6, trials=False).value
    assert worked is not None
    return worked, reasons(worked, seconds=1.5)


def test_a_match_given_up_never_costs_cloth_where_the_lay_serves_as_it_is() -> None:
    _, why = told()
    assert {w.what for w in why.matches} >= {"matching the front", "matching the pattern at all"}
    for w in why.matches:
        assert w.saves_mm is not None
        if w.carried:
            assert w.saves_mm >= -1e-6
    bare = next(w for w in why.matches if w.what == "matching the pattern at all")
    assert bare.carried
    assert bare.saves_mm == max(w.saves_mm or 0.0 for w in why.matches)


def test_what_is_saved_is_the_length_before_less_the_length_laid() -> None:
    _, why = told()
    for w in (*why.matches, *why.changes):
        if w.length_mm is not None and w.saves_mm is not None:
            assert w.saves_mm == pytest.approx(why.base_mm - w.length_mm)
            assert w.length_mm > 0


def test_a_wider_cloth_and_a_smaller_cushion_are_among_what_is_tried() -> None:
    worked, why = told()
    tried = {w.what: w for w in why.changes}
    assert "Heron stripe woven 1220 mm wide" in tried
    assert "10 mm less depth" in tried
    assert "shears in place of the hot knife: no gap between pieces" in tried
    saved = [w.saves_mm for w in why.changes if w.saves_mm is not None]
    assert saved == sorted(saved, reverse=True)
    assert why.base_mm <= worked.plans["weft"].lay.length_mm + 1e-6


def test_it_is_said_in_words_and_as_a_record() -> None:
    worked, why = told()
    lines = reasons_said(why, worked)
    assert lines[0].startswith("Heron stripe: ")
    assert "stand on one another from the cut end to the last edge" in lines[0]
    record = reasons_record(why)
    assert record["holding"]["weft"][0]["to_mm"] == pytest.approx(worked.plans["weft"].lay.length_mm)
    assert len(record["changes"]) == len(why.changes)


def _outline(found: Outline | None) -> Outline:
    assert found is not None
    return found


def test_a_band_is_taken_out_and_the_corners_stay() -> None:
    rounded = _outline(rounded_rectangle(400, 300, 40.0).value)
    less = _outline(taken_out(rounded, 10.0, across=False))
    assert less.bounds() == pytest.approx((0, 0, 400, 290))
    assert less.length == pytest.approx(rounded.length - 20)
    narrow = _outline(taken_out(rounded, 10.0, across=True))
    assert narrow.bounds() == pytest.approx((0, 0, 390, 300))


def test_no_band_can_be_taken_out_of_a_disc() -> None:
    assert taken_out(_outline(disc(400).value), 10.0, across=False) is None
