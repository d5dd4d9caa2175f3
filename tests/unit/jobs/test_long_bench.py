"""A bench 1830 x 500 x 75 against a wall, in an unequal stripe, wider than its cloth. Common practice, no source.

Stripe 40-10-26-20 in a 96 repeat, the 40 centred on the bench; usable 1370, hand shears, allowance 12.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from squab.construct import panel_seam_options
from squab.lay.records import LayProblem
from squab.stages import prepare
from tests.unit.jobs.whole import codes, cut, laid, piece, plan_of, prepared, read, some, strip, worked

STRIPES = """stripes = [
  { colour = "indigo", width = 40, name = "wide" }, { colour = "linen", width = 10 },
  { colour = "madder", width = 26 }, { colour = "straw", width = 20 },
]"""
BENCH = f"""
[job]
name = "Window bench"
size_is = "seam"
[cover]
allowance = 12
piping = {{ edges = "both", cord = 4, strip = 40 }}
zip = {{ tape = 32 }}
[cover.match]
pin_across = "wide"
[[cloth]]
id = "ticking"
usable_width = 1370
thickness = 0.8
price_per_m = 20
{STRIPES}
[[cushion]]
id = "bench"
width = 1830
depth = 500
thickness = 75
hidden = ["back"]
"""
MEASURED = BENCH.replace(STRIPES, STRIPES + "\nbolt = { stripe_at = 4 }")
"""From the left usable edge to the first edge of the layout: a start at which the wide middle fits."""


def test_a_join_stands_on_a_colour_edge_the_same_both_sides_of_the_centre() -> None:
    """c = 96 k + 20 or + 76: 652 (middle 1328, sides 287) fits 43 of 96 starts; 596 (1216, 343) every one."""
    job = read(BENCH)
    options = panel_seam_options(job, job.cushions[0])
    assert {round(o.at_mm) % 96 for o in options} == {20, 76}
    first, second = options[:2]
    assert (first.at_mm, first.middle_cut_mm, first.side_cut_mm, first.fits_starts) == (652, 1328, 287, 43)
    assert (first.play_mm, first.of_starts, first.always) == (42, 96, False)
    assert (second.at_mm, second.middle_cut_mm, second.side_cut_mm, second.always) == (596, 1216, 343, True)
    assert all(o.at_mm > 0 for o in options), "never a centre seam"


def test_before_the_roll_is_measured_the_seam_is_the_one_that_always_fits() -> None:
    """Middle 1216 x 524, sides 343; front boxing the same three widths, 99 high; zip panel over the whole back."""
    made, found = prepared(BENCH)
    (cover,) = made.construction.covers
    assert cover.panel_seam_at_mm == 596
    assert cut(piece(cover, "top.middle")) == pytest.approx((1216, 524))
    assert cut(piece(cover, "bottom.left")) == pytest.approx((343, 524))
    assert cut(piece(cover, "boxing.front_middle")) == pytest.approx((1216, 99))
    assert cut(piece(cover, "boxing.front_left")) == pytest.approx((343, 99))
    assert cut(piece(cover, "boxing.right")) == pytest.approx((524, 99))
    zipped = strip(cover, "zip_panel")
    assert (zipped.length_mm, zipped.cut_width_mm) == (1830, 131)
    assert cover.zip_panel is not None
    assert cover.zip_panel.sliders == 2
    assert "CON-008" in codes(found)


def test_the_stripe_runs_front_to_back_and_nothing_is_turned() -> None:
    """Never turned lengthways to save a seam without being asked; piping is cut all one way."""
    made, _ = prepared(BENCH)
    assert {p.turn_deg for p in made.construction.pieces} == {0}
    turns: dict[str, set[int]] = {}
    for placed in plan_of(worked(BENCH)).lay.placed:
        turns.setdefault("piping" if "piping" in placed.key else "rest", set()).add(placed.turn_deg)
    assert len(turns["piping"]) == 1
    assert turns["rest"] == {0}


def test_the_stripe_meets_along_the_whole_front_and_at_every_panel_seam() -> None:
    """The 40 stands on the centre line; panel seams carry on; front boxing meets the panels."""
    drifts = {d.seam_id: d for d in prepared(BENCH)[0].match.drifts}
    wanted = [d for k, d in drifts.items() if "panel_seam" in k or ".top.front" in k]
    assert len(wanted) >= 5
    assert all(d.verdict == "good" and d.worst_mm < 1e-6 for d in wanted)


def test_what_to_order_and_what_the_measured_roll_needs() -> None:
    """By hand 2566, so 2.7 m to order; measured, 2352 where the stripe allows it. Area 2130: no lay is under it."""
    unseen, seen = plan_of(worked(BENCH)), plan_of(worked(MEASURED))
    assert 2130 <= unseen.lay.length_mm <= 2566
    assert 2500 <= unseen.order_mm <= 2700
    assert 2130 <= seen.lay.length_mm <= 2352
    assert seen.bolt_length_mm == pytest.approx(seen.lay.length_mm + 100)
    (cover,) = worked(MEASURED).construction.covers
    assert cover.panel_seam_at_mm == 652


def test_a_stripe_that_does_not_allow_the_wide_middle_keeps_the_narrow_one() -> None:
    """Middle's left edge wants 8 from the 40's centre, 42 of play: a start 50 away has no place for it."""
    (cover,) = worked(MEASURED.replace("stripe_at = 4", "stripe_at = 60")).construction.covers
    assert cover.panel_seam_at_mm == 596


def sides_only(gap_mm: float) -> LayProblem:
    """The four side widths of the panels, seamed at 652, on a roll that is measured."""
    outcome = prepare(read(MEASURED), panel_seam_at_mm={"bench": 652.0})
    assert outcome.value is not None
    (problem,) = outcome.value.problems
    sides = some(problem, "top.left", "top.right", "bottom.left", "bottom.right")
    assert len(sides.pieces) == 4
    return replace(sides, gap_mm=gap_mm)


@pytest.mark.parametrize(("gap_mm", "step"), [(0.0, 288.0), (1.0, 288.0), (3.0, 384.0)])
def test_a_knife_gap_of_3_costs_a_whole_repeat_a_side(gap_mm: float, step: float) -> None:
    """Sides of 287 = 3 x 96 - 1 step 288 with a gap of 0 or 1, and 384 with 3; either way one row of 524."""
    lay = laid(sides_only(gap_mm))
    assert lay.length_mm == pytest.approx(524, abs=1e-6)
    left = sorted(p.u_mm for p in lay.placed if ".left" in p.key)
    assert (left[1] - left[0]) % 96 == pytest.approx(0, abs=1e-6)
    assert left[1] - left[0] >= step - 1e-6


def test_piping_rings() -> None:
    """Ring 2 (1830 + 500) = 4660 and 50 to spare; a square-ended strip of 40 loses 40 at each join."""
    (cover,) = prepared(BENCH)[0].construction.covers
    ring = strip(cover, "piping")
    assert (cover.ring_mm, ring.length_mm, 2 * ring.end_mm, ring.count) == (4660, 4710, 40, 2)
