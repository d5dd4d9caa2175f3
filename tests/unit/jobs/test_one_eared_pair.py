"""Two one-eared velvet seats for a settle of two places, turned over in use. Common practice, no source.

Body 620 x 600, an ear 80 wide and 130 deep on the outer side of each at the front; 110 thick; usable 1370.
"""

from __future__ import annotations

import math

import pymupdf
import pytest

from squab.draw.sheets import marking_sheet_pdf
from squab.lay.records import LayProblem
from tests.unit.draw.test_sheets import tidy
from tests.unit.jobs.whole import codes, cut, laid, piece, plan_of, prepared, some, strip, worked

SEAT = """
[[cushion]]
id = "HAND"
shape = "one-eared"
hand = "HAND"
width = 620
depth = 600
ear_width = 80
ear_depth = 130
thickness = 110
turned_over = true
"""
PAIR = """
[job]
name = "Settle seats"
size_is = "seam"
knife_gap = 0
[cover]
allowance = 12
piping = "none"
join_clear_of_front = 150
zip = { return = 100 }
[[cloth]]
id = "velvet"
usable_width = 1370
pile = true
price_per_m = 46
""" + SEAT.replace("HAND", "left") + SEAT.replace("HAND", "right")  # fmt: skip


def panels(gap_mm: float) -> LayProblem:
    made, _ = prepared(PAIR.replace("knife_gap = 0", f"knife_gap = {gap_mm:g}"))
    (problem,) = made.problems
    return some(problem, "top", "bottom")


def test_two_left_and_two_right_panels_all_with_their_pile_to_the_front() -> None:
    """A pair of hands is a pair in shape only; reversible by changing places, so nothing is rolled under."""
    made, found = prepared(PAIR)
    of_panels = [p for p in made.construction.pieces if p.kind in ("top", "bottom")]
    assert sorted(p.hand for p in of_panels) == ["left", "left", "right", "right"]
    assert all(p.front == pytest.approx((0, -1)) for p in of_panels)
    assert {tuple(round(x) for x in cut(p)) for p in of_panels} == {(724, 624)}
    assert all(c.ring_mm == pytest.approx(2600) for c in made.construction.covers)
    (said, _) = [f for f in found if f.code == "CON-042"]
    assert "changing places" in said.message


def test_pile_runs_one_way_so_nothing_is_turned() -> None:
    """No turned sides, no half-turned back: every piece lies at turn 0."""
    assert {p.turn_deg for p in plan_of(worked(PAIR)).lay.placed} == {0}


@pytest.mark.parametrize(("gap_mm", "length_mm"), [(0, 1402), (1, 1404)])
def test_the_panels_interlock(gap_mm: float, length_mm: float) -> None:
    """Ears share a lane of 80, 154 apart: 154 + 2 x 624 = 1402, where boxes would need four rows of 624, 2496."""
    assert laid(panels(gap_mm)).length_mm == pytest.approx(length_mm, abs=1e-6)


def test_a_gap_that_does_not_fit_the_lane_throws_the_panels_to_four_rows() -> None:
    """644 + 80 + 644 = 1368 leaves 2 of 1370 for the gap between an ear and the body beyond it."""
    assert laid(panels(3)).length_mm == pytest.approx(4 * 624 + 3 * 3, abs=1e-6)


def test_that_a_metre_hangs_on_a_millimetre_is_said() -> None:
    """With a gap of 3 the lay is over a metre longer: said, with the gap that would do, or a little less allowance."""
    found = worked(PAIR.replace("knife_gap = 0", "knife_gap = 3"), trials=True).findings
    (dear,) = [f for f in found if f.code == "LAY-090"]
    assert "knife gap of 3 mm" in dear.message
    metres = float(dear.message.split("about ")[1].split(" m ")[0])
    assert metres == pytest.approx(1.1, abs=0.15)
    assert "2 mm would do" in dear.hint
    assert "allowance" in dear.hint
    assert "LAY-090" not in codes(worked(PAIR, trials=True).findings)


def test_boxing_and_zip_panel() -> None:
    """Boxing 134 high; zip panel 620 + 2 x 100 = 820, cut 844; the rest 1780, cut 1804, joined well behind."""
    made, _ = prepared(PAIR)
    for cover in made.construction.covers:
        assert cut(piece(cover, "zip_panel"))[0] == pytest.approx(844)
        band = strip(cover, "boxing")
        assert (band.length_mm, band.length_mm + 2 * band.end_mm, band.cut_width_mm) == (1780, 1804, 134)
    lefts = [p for p in plan_of(worked(PAIR)).lay.placed if p.key.startswith("left") and "boxing" in p.key]
    assert 2 <= len(lefts) <= 3
    front0, front1 = made.construction.covers[0].seam_outline.side_ranges("front")[0]
    ring = made.construction.covers[0].ring_mm
    joins = {p.part_mm[1] for p in lefts if p.part_mm} & {p.part_mm[0] for p in lefts if p.part_mm}
    assert len(joins) == len(lefts) - 1
    for join in joins:
        for corner in (front0, front1):
            assert abs((join - corner + ring / 2) % ring - ring / 2) >= 150 - 1e-6


def test_the_inside_corner_is_slit_on_the_diagonal_after_a_stay_stitch() -> None:
    """12 x sqrt 2 = 17.0, stopping 1.5 short: 15.5."""
    made, _ = prepared(PAIR)
    for cover in made.construction.covers:
        for name in ("top", "bottom"):
            (slit,) = piece(cover, name).snips
            assert slit.depth_mm == pytest.approx(12 * math.sqrt(2) - 1.5, abs=0.05)
    said = " ".join(s.text for s in worked(PAIR).sewing["left"].steps).lower()
    assert "stay" in said
    assert "slit" in said or "clip" in said


def test_pile_is_cut_in_a_single_layer() -> None:
    """Never folded pile to pile: four panels are cut one by one, each with its own place on the cloth."""
    placed = [p.key for p in plan_of(worked(PAIR)).lay.placed if p.key.endswith((".top", ".bottom"))]
    assert len(placed) == len(set(placed)) == 4
    sheet = pymupdf.open(stream=marking_sheet_pdf(worked(PAIR), "velvet"))
    said = tidy(" ".join(page.get_text() for page in sheet))
    assert "One layer only, never folded pile to pile" in said
