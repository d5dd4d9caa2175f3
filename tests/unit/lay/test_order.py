"""What to order: every start of the print covered, in the figures of jobs worked by hand."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np
import pytest

from squab.cloth import Bolt, Cloth, Motif, Pattern, Stripe, stripe_axes
from squab.errors import LayError
from squab.lay.order import PROOF_SHARE, plan_cloth, round_up, start_ranges, unknown_directions
from squab.lay.records import Bound, Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip
from squab.lay.search import Hunt
from squab.plane import Points

PRINT = Pattern("print", 685.0, 640.0, motif=Motif(300, 300, "#884422"))
CLOTH = Cloth("print", "motif print", 1370.0, PRINT, one_way=True, price_per_m=Decimal("32.00"))


def box(x0: float, y0: float, x1: float, y1: float) -> Points:
    return np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1]])


def four_seats(*, boxing: str, at: tuple[float | None, float | None]) -> LayProblem:
    """Four reversible seats cut 624 x 600, the motif on each centre; front boxing 124 as asked."""
    phase = LayPhase("seats", 0.0, 0.0)
    pieces = [LayPiece(f"panel#{k}", box(-312, -300, 312, 300), (0,), phase, "seat") for k in range(8)]
    if boxing != "none":
        # Boxing lies at [-100, 24] where its panel lies at [0, 600]: both ways, or any v.
        held = phase if boxing == "both" else LayPhase("seats", 0.0, None)
        pieces += [LayPiece(f"boxing#{k}", box(-312, -400, 312, -276), (0,), held, "seat") for k in range(4)]
    return LayProblem(
        "print", 1370.0, Lattice(685.0, 640.0), tuple(pieces), anchors={"seats": (0.0, 0.0)}, pattern_at=at
    )


@pytest.mark.parametrize(
    ("boxing", "u_mm", "length_mm"),
    [
        ("none", 342.0, 2520.0),
        ("none", 0.0, 5080.0),
        ("both", 342.0, 3864.0),
        ("across", 342.0, 2768.0),
    ],
)
def test_lengths_of_four_seats_with_one_big_motif(boxing: str, u_mm: float, length_mm: float) -> None:
    # Worked by hand: two columns 3 x 640 + 600; one column 7 x 640 + 600; boxing 3740 + 124; 2520 + 2 x 124.
    from squab.lay.search import search
    from squab.lay.verify import verify

    problem = four_seats(boxing=boxing, at=(u_mm, None))
    lay = search(problem, seconds=20, steps=6000)
    assert verify(problem, lay) == ()
    assert lay.length_mm == pytest.approx(length_mm, abs=1e-6)


def test_the_starts_that_decide_are_those_of_two_columns() -> None:
    # Two columns need the first motif's centre between 312 and 373 mm: 373 - 312 + 685 + 624 = 1370.
    ranges = start_ranges(four_seats(boxing="none", at=(None, None)))
    edges = {round(a) for a, _ in ranges} | {round(b) for _, b in ranges}
    assert {0, 312, 373, 685} <= edges


def test_an_unseen_roll_is_ordered_for_its_worst_start_and_the_risk_is_said() -> None:
    problem = four_seats(boxing="none", at=(None, 0.0))
    outcome = plan_cloth(problem, CLOTH, seconds=6)
    plan = outcome.value
    assert plan is not None
    # One column, the motif's centre at the cut end: the first whole one is 640 further on.
    assert plan.needs_mm == pytest.approx(640 + 7 * 640 + 300)
    good = [s for s in plan.starts if s.from_mm >= 312 - 1e-6 and s.to_mm <= 373 + 1e-6]
    assert good
    assert max(s.length_mm for s in good) + 2000 < plan.needs_mm
    assert "between 312 and 373 mm" in plan.risk
    assert [f.code for f in outcome.findings] == ["LAY-009"]


@pytest.mark.parametrize(("boxing", "order_mm"), [("both", 4700.0), ("across", 3600.0)])
def test_order_covers_every_start_along(boxing: str, order_mm: float) -> None:
    # Worked by hand: 3864 + 640 + 100 = 4604, so 4.7 m; 2768 + 640 + 100 = 3508, so 3.6 m.
    plan = plan_cloth(four_seats(boxing=boxing, at=(342.0, None)), CLOTH, seconds=5).value
    assert plan is not None
    assert plan.order_mm <= order_mm
    assert plan.order_mm >= order_mm - 700
    assert plan.cloth_cost == Decimal("0.032") * int(plan.order_mm)


def test_a_measured_roll_needs_its_own_length_and_no_more() -> None:
    cloth = replace(CLOTH, bolt=Bolt(3000.0, "lot 7", 342.0, 300.0))
    plan = plan_cloth(four_seats(boxing="none", at=(342.0, 300.0)), cloth, seconds=3).value
    assert plan is not None
    assert plan.lay.length_mm == pytest.approx(2520.0)
    assert plan.bolt_length_mm == pytest.approx(2620.0)
    assert plan.order_mm == pytest.approx(2700.0)
    assert plan.surrenders == ()


def test_a_bolt_too_short_says_what_could_be_given_up() -> None:
    cloth = replace(CLOTH, bolt=Bolt(2700.0, "", 342.0, 300.0))
    problem = replace(four_seats(boxing="across", at=(342.0, 300.0)), bolt_mm=2700.0)
    outcome = plan_cloth(problem, cloth, seconds=4)
    plan = outcome.value
    assert plan is not None
    assert [f.code for f in outcome.findings] == ["LAY-010"]
    assert [(s.what, round(s.frees_mm, 6), s.enough) for s in plan.surrenders] == [
        ("the boxing in this cloth", 248.0, True)
    ]


STRIPES = tuple(Stripe(w, c) for w, c in ((40, "#333333"), (10, "#eeeeee"), (26, "#883333"), (20, "#eeeedd")))
STRIPED = Cloth("stripe", "bench stripe", 1370.0, Pattern("warp_stripe", 96.0, stripes=STRIPES))


def long_bench(seam_mm: float, at_mm: float | None) -> LayProblem:
    """A bench 1830 x 500 in an unequal stripe, its panel seams `seam_mm` from the centre; hand shears."""
    phase = LayPhase("bench", 20.0, None)  # a 40 stripe starts at 0 and is centred on the bench
    pieces = []
    for name, y0, y1, count in (("panel", -12.0, 512.0, 2), ("front", -99.0, 0.0, 1)):
        for where, x0, x1 in (
            ("middle", -seam_mm - 12, seam_mm + 12),
            ("left", -927.0, -seam_mm + 12),
            ("right", seam_mm - 12, 927.0),
        ):
            pieces += [LayPiece(f"{name}.{where}#{k}", box(x0, y0, x1, y1), (0,), phase) for k in range(count)]
    pieces += [LayPiece(f"side#{k}", box(0, 0, 524, 99), (0,)) for k in range(2)]
    pieces += [LayPiece(f"zip#{k}", box(0, 0, w, 131), (0,)) for k, w in enumerate((1370, 508))]
    # two rings of 4660 + 50 to spare; a square-ended strip of 40 loses 40 at each join
    rings = tuple(LayStrip(f"piping#{k}", 0, 4670, 0, 40, 20, 400, (0,)) for k in range(2))
    return LayProblem(
        "stripe", 1370.0, Lattice(96.0), tuple(pieces), rings, anchors={"bench": (0.0, None)}, pattern_at=(at_mm, 0.0)
    )


def test_a_long_bench_takes_less_than_by_hand_where_the_stripe_allows_its_wide_middle() -> None:
    # Worked by hand: 2352 for seams at 652 (43 of 96 starts), 2566 for seams at 596; area floor 2130.
    from squab.lay.search import search
    from squab.lay.verify import verify

    assert stripe_axes(STRIPES) == ()
    wide, narrow = long_bench(652.0, 676.0), long_bench(596.0, 0.0)
    for problem, by_hand in ((wide, 2352.0), (narrow, 2566.0)):
        lay = search(problem, seconds=8, steps=12000)
        assert verify(problem, lay) == ()
        assert 2130.0 <= lay.length_mm <= by_hand


def test_starts_that_leave_a_wide_middle_no_place_are_told_before_ordering() -> None:
    outcome = plan_cloth(long_bench(652.0, None), STRIPED, seconds=3)
    plan = outcome.value
    assert plan is not None
    assert "LAY-008" in [f.code for f in outcome.findings]
    lost = sum(s.to_mm - s.from_mm for s in plan.starts if s.length_mm == float("inf"))
    # play of 1370 - 1328 = 42 mm out of 96
    assert lost == pytest.approx(96.0 - 42.0)


def test_free_anchors_make_no_start_matter() -> None:
    pinned = four_seats(boxing="both", at=(None, None))
    assert unknown_directions(pinned) == (True, True)
    assert unknown_directions(replace(pinned, anchors={"seats": (None, 0.0)})) == (False, True)
    assert unknown_directions(replace(pinned, anchors={})) == (False, False)


def test_rounding_up_as_sold_forgives_rounding_noise() -> None:
    assert round_up(2700.0000000001, 100.0) == 2700.0
    assert round_up(2700.1, 100.0) == 2800.0


@pytest.mark.parametrize("start_mm", [0.0, None], ids=["measured", "to order"])
@pytest.mark.parametrize(("shown_mm", "goes_on"), [(1.0, True), (math.inf, False)])
def test_what_a_quick_proof_leaves_of_the_time_is_searched(
    monkeypatch: pytest.MonkeyPatch, start_mm: float | None, shown_mm: float, goes_on: bool
) -> None:
    # The proof is done at once: with something left to find the search goes on, with nothing it ends.
    done: list[float] = []
    searched_after: list[float] = []

    def proved(problems: object, *, seconds: float, laid_mm: float) -> Bound:
        done.append(seconds)
        return Bound(min(shown_mm, laid_mm), "area")

    go = Hunt.go

    def watched(hunt: Hunt, *, seconds: float, **how: Any) -> None:
        if done:
            searched_after.append(seconds)
        go(hunt, seconds=seconds, **how)

    monkeypatch.setattr("squab.lay.bound.bound_of_hardest", proved)
    monkeypatch.setattr(Hunt, "go", watched)
    plan = plan_cloth(long_bench(596.0, start_mm), STRIPED, seconds=3.0).value
    assert plan is not None
    assert done == [pytest.approx(PROOF_SHARE * 3.0)]
    assert (sum(searched_after) > 0.0) == goes_on


def with_a_millimetre_to_find(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    """Have every proof be a millimetre short of the lay; what has been proved so far."""
    proved: list[float] = []

    def shown(problems: object, *, seconds: float, laid_mm: float) -> Bound:
        proved.append(laid_mm - 1.0)
        return Bound(laid_mm - 1.0, "area")

    monkeypatch.setattr("squab.lay.bound.bound_of_hardest", shown)
    monkeypatch.setattr("squab.lay.verify.verify", lambda problem, lay: ())  # lays become shorter in name only
    return proved


def test_search_after_the_proof_ends_with_the_shortest_lay_there_can_be(monkeypatch: pytest.MonkeyPatch) -> None:
    proved = with_a_millimetre_to_find(monkeypatch)
    asked: list[bool] = []
    go = Hunt.go

    def found(hunt: Hunt, *, seconds: float, stop: Callable[[], bool] | None, **how: Any) -> None:
        if not proved:
            go(hunt, seconds=seconds, stop=stop, **how)
            return
        assert stop is not None
        asked.append(stop())
        hunt.best.length_mm -= 1.0
        asked.append(stop())

    monkeypatch.setattr(Hunt, "go", found)
    plan_cloth(long_bench(596.0, 0.0), STRIPED, seconds=4.0, workers=1)
    assert asked == [False, True]


def test_an_order_is_searched_no_further_than_its_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    proved = with_a_millimetre_to_find(monkeypatch)
    turns: list[object] = []

    def shortened(start: Any, way: object, seconds: float) -> bool:
        if proved:
            turns.append(start)
            start.first.lay = replace(start.first.lay, length_mm=proved[0])
        return True

    monkeypatch.setattr("squab.lay.order._again", shortened)
    problem = long_bench(596.0, None)
    plan = plan_cloth(problem, STRIPED, seconds=2.0, workers=1).value
    assert plan is not None
    assert plan.needs_mm == pytest.approx(proved[0])
    assert 0 < len(turns) <= len(start_ranges(problem))


def test_a_lay_found_before_the_proof_is_kept_where_a_later_one_cannot_be_drawn_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found: list[Lay] = []
    lay = Hunt.lay

    def first_only(hunt: Hunt) -> Lay:
        if found:
            raise LayError("no room on the true lines")
        found.append(lay(hunt))
        return found[0]

    monkeypatch.setattr(Hunt, "lay", first_only)
    plan = plan_cloth(long_bench(596.0, 0.0), STRIPED, seconds=1.0).value
    assert plan is not None
    assert plan.lay == found[0]
