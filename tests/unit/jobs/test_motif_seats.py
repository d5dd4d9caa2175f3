"""Four reversible seats in one big one-way motif, on a roll nobody has seen. Common practice, no source.

Seam 600 x 576, 100 thick; repeat 685 across and 640 along; the motif centred on every top and bottom.
"""

from __future__ import annotations

import pytest

from squab.lay.records import LayProblem
from tests.unit.jobs.whole import codes, cut, laid, piece, plan_of, prepared, some, worked

SEATS = """
[job]
name = "Four seats"
size_is = "seam"
[cover]
allowance = 12
piping = "none"
joins_at_corners = true
[cover.match]
pin_across = "motif"
pin_along = "motif"
sides = "ignore"
back = "ignore"
bottom = "ignore"
joins = "ignore"
#ACROSS
[[cloth]]
id = "print"
usable_width = 1370
one_way = true
repeat_across = 685
repeat_along = 640
price_per_m = 60
#BOLT
[[cushion]]
id = "seat"
count = 4
width = 600
depth = 576
thickness = 100
turned_over = true
"""


def seats(stripe_at: float = 342, *, across_only: bool = False, measured: str = "") -> str:
    text = SEATS.replace("#BOLT", f"bolt = {{ stripe_at = {stripe_at:g}, print_at = 300{measured} }}")
    return text.replace("#ACROSS", "front_across_only = true") if across_only else text


def pinned(text: str, *names: str) -> LayProblem:
    (problem,) = prepared(text)[0].problems
    return some(problem, *names)


def test_pieces() -> None:
    """Panels cut 624 x 600, front to front; boxing 124; four of each."""
    (cover,) = prepared(seats())[0].construction.covers
    for name in ("top", "bottom"):
        assert cut(piece(cover, name)) == pytest.approx((624, 600))
        assert piece(cover, name).count == 4
        assert piece(cover, name).front == pytest.approx((0, -1))
    assert cut(piece(cover, "boxing.front")) == pytest.approx((624, 124))


@pytest.mark.parametrize(("stripe_at", "length"), [(312, 2520), (342, 2520), (373, 2520), (311, 5080), (0, 5080)])
def test_columns_hang_on_where_the_motif_stands_from_the_selvage(stripe_at: float, length: float) -> None:
    """312 <= m <= 373 gives two columns, 3 x 640 + 600; else one, 7 x 640 + 600."""
    assert laid(pinned(seats(stripe_at), "top", "bottom")).length_mm == pytest.approx(length, abs=1e-6)


@pytest.mark.parametrize(("across_only", "length"), [(False, 3864), (True, 2768)])
def test_an_up_and_down_match_of_four_front_edges_costs_1096(across_only: bool, length: float) -> None:
    """Both ways the front takes cloth from two panel places, 3740 + 124; across only, 2520 + 2 x 124."""
    problem = pinned(seats(across_only=across_only), "top", "bottom", "boxing.front")
    assert len(problem.pieces) == 12
    assert laid(problem, steps=8000).length_mm == pytest.approx(length, abs=1e-6)


def test_front_boxing_lies_at_its_own_place_and_two_allowances_are_spoken_of() -> None:
    """[-100, 24] against the panel's [0, 600]; cut directly below its panel it would miss by 24."""
    made, found = prepared(seats())
    lay = plan_of(worked(seats())).lay
    low = {p.key: p.v_mm for p in lay.placed}
    cover = made.construction.covers[0]
    panel = low["seat#1.top"] + piece(cover, "top").cut.bounds()[1]
    front = low["seat#1.boxing.front"] + piece(cover, "boxing.front").cut.bounds()[1]
    assert (front - panel) % 640 == pytest.approx(640 - 100, abs=1e-6)
    (said,) = [f for f in found if f.code == "MAT-005"]
    assert "24 mm" in said.message


def test_every_motif_is_centred_where_the_cloth_is_really_cut() -> None:
    """Each top's and bottom's centre stands on a motif of this roll, by whole repeats from the one measured."""
    plan = plan_of(worked(seats()))
    cover = worked(seats()).construction.covers[0]
    for placed in plan.lay.placed:
        name = placed.key.rsplit(".", 1)[1]
        if name not in ("top", "bottom"):
            continue
        x0, y0, x1, y1 = piece(cover, name).seam.bounds()
        u, v = placed.u_mm + (x0 + x1) / 2, placed.v_mm + (y0 + y1) / 2
        assert (u - 342 + 1) % 685 == pytest.approx(1, abs=1e-6)
        assert (v - 300 + 1) % 640 == pytest.approx(1, abs=1e-6)


def test_the_measured_repeat_rules_and_places_follow_the_motif() -> None:
    """634 for 640: 3 x 634 + 600 = 2502; by the tape from the cut end the fourth row would be out by 18."""
    text = seats(measured=", repeat_along = 634")
    problem = pinned(text, "top", "bottom")
    lay = laid(problem)
    assert lay.length_mm == pytest.approx(2502, abs=1e-6)
    rows = sorted({round(p.v_mm % 10000, 3) for p in lay.placed if p.key.endswith(".top")} | {
        round(p.v_mm, 3) for p in lay.placed if p.key.endswith(".bottom")})  # fmt: skip
    assert rows[-1] - rows[0] == pytest.approx(3 * 634)


def test_two_answers_always_the_order_for_the_worst_start_and_this_very_roll() -> None:
    """Unseen, the one-column risk is told in words before ordering; measured, the roll needs its own length."""
    unseen, seen = plan_of(worked(SEATS)), plan_of(worked(seats()))
    assert unseen.bolt_length_mm is None
    assert "between 312 and 373 mm from the left edge" in unseen.risk
    (said,) = [f for f in worked(SEATS).findings if f.code == "LAY-009"]
    assert "measure the bolt" in said.hint
    assert unseen.needs_mm >= 640 + 7 * 640 + 300
    assert seen.bolt_length_mm == pytest.approx(seen.lay.length_mm + 100)
    assert seen.order_mm < unseen.order_mm - 3000


@pytest.mark.parametrize(("across_only", "order"), [(False, 4700.0), (True, 3600.0)])
def test_order_for_panels_and_fronts_with_the_start_along_unknown(across_only: bool, order: float) -> None:
    """3864 + 640 + 100 = 4604, so 4.7 m; across only 2768 + 640 + 100 = 3508, so 3.6 m: at the most."""
    from squab.lay.order import plan_cloth
    from tests.unit.jobs.whole import read

    text = seats(across_only=across_only).replace(", print_at = 300", "")
    plan = plan_cloth(pinned(text, "top", "bottom", "boxing.front"), read(text).cloths[0], seconds=2).value
    assert plan is not None
    assert order - 700 <= plan.order_mm <= order


def test_sides_and_backs_cost_no_place_on_the_print() -> None:
    """Pinned pieces only are pinned: what nobody asked to match lies where there is room."""
    made, found = prepared(seats())
    (problem,) = made.problems
    free = [p for p in problem.pieces if "boxing.left" in p.key or "zip_panel" in p.key]
    assert free
    assert all(p.phase is None for p in free)
    assert "MAT-007" not in codes(found)
