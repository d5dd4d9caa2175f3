"""Second aims: figures worked by hand, and lays that are sound and never longer than allowed."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from squab.cloth import Cloth, Flaw
from squab.errors import LayError
from squab.job import AIMS
from squab.lay._leftover import covers, largest_left
from squab.lay.aims import figures, improve, with_lay
from squab.lay.order import plan_cloth
from squab.lay.records import Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.lay.search import search
from squab.lay.verify import verify
from tests.unit.lay._jobs import rectangle


def box(key: str, width: float, height: float, *, turns: tuple[int, ...] = (0,)) -> LayPiece:
    """A plain rectangle."""
    return LayPiece(key, rectangle(width, height), turns)


def laid(*placed: tuple[str, float, float], length: float) -> Lay:
    """A lay of unturned pieces."""
    return Lay(tuple(Placed(k, 0, u, v) for k, u, v in placed), {}, (0.0, 0.0), length)


def test_figures_by_hand() -> None:
    # a 60 x 50 and b 40 x 30 stand side by side on a cloth of 100, c 100 x 20 right across above them
    pieces = (box("x.a", 60, 50), box("y.b", 40, 30), box("y.c", 100, 20))
    problem = LayProblem("c", 100.0, Lattice(), pieces)
    found = figures(problem, laid(("x.a", 0, 0), ("y.b", 60, 0), ("y.c", 0, 50), length=70.0))
    assert found.left_mm == (60.0, 30.0, 100.0, 50.0)
    assert found.left_mm2 == 800.0
    # along: the edge between a and b. Across: over a and under c, one line; over b; over c
    assert found.knife_runs == 4
    assert found.cuts_across == 1
    assert found.spread_mm == {"x": 50.0, "y": 70.0}


def test_what_is_left_beside_a_round_piece_is_never_told_too_large() -> None:
    angles = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    disc = np.column_stack([50 + 50 * np.cos(angles), 50 + 50 * np.sin(angles)])
    u0, v0, u1, v1 = largest_left([covers(disc)], 160.0, 100.0)
    assert (u0, v0, u1, v1) == pytest.approx((100.0, 0.0, 160.0, 100.0))
    assert largest_left([], 160.0, 100.0) == (0.0, 0.0, 160.0, 100.0)
    assert largest_left([np.array([[0.0, 0.0, 160.0, 100.0]])], 160.0, 100.0)[2:] == (0.0, 0.0)


def test_one_large_remnant_is_made_of_scraps() -> None:
    # two pieces of 40 x 40 beside a long one: apart they leave scraps of 20, together 60 x 40
    pieces = (box("p.long", 40, 120), box("p.a", 60, 40), box("p.b", 60, 40))
    problem = LayProblem("c", 100.0, Lattice(), pieces)
    apart = laid(("p.long", 0, 0), ("p.a", 40, 20), ("p.b", 40, 60), length=120.0)
    assert figures(problem, apart).left_mm2 == 1200.0
    best = improve(problem, apart, ["large remnant"], seconds=5.0, steps=80)[0]
    assert best.figures.left_mm2 == 2400.0
    assert best.costs_mm == 0.0


def test_cushions_alike_exchange_pieces_until_each_lies_together() -> None:
    pieces = tuple(box(f"s#{k}.{what}", 100, 30) for k in (1, 2, 3) for what in ("top", "bottom"))
    problem = LayProblem("c", 100.0, Lattice(), pieces)
    order = ["s#1.top", "s#2.top", "s#3.top", "s#1.bottom", "s#2.bottom", "s#3.bottom"]
    scattered = laid(*((k, 0, 30.0 * n) for n, k in enumerate(order)), length=180.0)
    assert set(figures(problem, scattered).spread_mm.values()) == {120.0}
    best = improve(problem, scattered, ["cushions together"], seconds=5.0, steps=200)[0]
    assert set(best.figures.spread_mm.values()) == {60.0}
    assert best.lay.length_mm == 180.0


def test_an_allowance_buys_what_cannot_be_had_for_nothing() -> None:
    # at 50 the three lie in two bands; 29 longer each has a band of its own
    pieces = (box("a", 70, 30), box("b", 30, 29), box("c", 100, 20))
    problem = LayProblem("c", 100.0, Lattice(), pieces)
    tight = laid(("a", 0, 0), ("b", 70, 0), ("c", 0, 30), length=50.0)
    free, *dear = improve(problem, tight, ["straight cuts"], allowance_mm=30.0, seconds=5.0, steps=150)
    assert free.costs_mm == 0.0
    assert dear
    for one in dear:
        assert 0 < one.costs_mm <= 30.0
        before, after = free.figures, one.figures
        assert (after.knife_runs, -after.cuts_across) < (before.knife_runs, -before.cuts_across)


def test_bad_asking_is_refused() -> None:
    problem = LayProblem("c", 100.0, Lattice(), (box("a", 60, 50),))
    with pytest.raises(LayError, match="may add cloth"):
        improve(problem, laid(("a", 0, 0), length=50.0), allowance_mm=-1.0)
    with pytest.raises(LayError, match="no aim"):
        improve(problem, laid(("a", 0, 0), length=50.0), ["fewest scraps"])  # type: ignore[list-item]
    with pytest.raises(LayError, match="not sound"):
        improve(problem, laid(("a", 50, 0), length=50.0))


def test_a_plan_with_a_longer_lay_orders_more() -> None:
    problem = LayProblem("c", 100.0, Lattice(), (box("a", 60, 50),))
    cloth = Cloth("c", "cloth", 100.0, square_off_mm=5.0, sold_by_mm=10.0)
    plan = plan_cloth(problem, cloth, seconds=0.1).value
    assert plan is not None
    assert plan.order_mm == 60.0
    assert with_lay(plan, cloth, laid(("a", 0, 12), length=62.0)).order_mm == 80.0


@settings(max_examples=8, deadline=None)
@given(data=st.data())
def test_lays_are_sound_and_no_longer_than_allowed(data: st.DataObject) -> None:
    count = data.draw(st.integers(2, 6))
    lattice = data.draw(st.sampled_from([Lattice(), Lattice(35.0), Lattice(None, 45.0), Lattice(60.0, 50.0, 25.0)]))
    pieces = []
    for k in range(count):
        w, h = data.draw(st.integers(20, 80)), data.draw(st.integers(20, 60))
        slanted = np.array([(0.0, 0.0), (w, 0.0), (w - 8.0, h), (5.0, h)])
        outline = slanted if data.draw(st.booleans()) else rectangle(w, h)
        phase = LayPhase("g", 3.0, 7.0) if data.draw(st.booleans()) else None
        pieces.append(LayPiece(f"s#{k % 2}.p{k}", outline, (0, 180), phase))
    strip = LayStrip("s#0.piping", 0.0, 150.0, 0.0, 12.0, 2.0, 40.0, (0, 90))
    flaws = (Flaw(90.0, 10.0, 99.0, 20.0),) if data.draw(st.booleans()) else ()
    gap = data.draw(st.sampled_from([0.0, 3.0]))
    problem = LayProblem("c", 160.0, lattice, tuple(pieces), (strip,), gap_mm=gap, flaws=flaws, pattern_at=(0.0, 0.0))
    lay = search(problem, seconds=5.0, steps=40)
    allowance = data.draw(st.sampled_from([0.0, 25.0]))
    before = figures(problem, lay)
    for one in improve(problem, lay, allowance_mm=allowance, seconds=5.0, steps=25):
        assert verify(problem, one.lay) == ()
        assert one.lay.length_mm <= lay.length_mm + allowance + 1e-6
        assert one.costs_mm == pytest.approx(max(0.0, one.lay.length_mm - lay.length_mm), abs=0.06)
        if one.costs_mm == 0 and one.aim == "cushions together":
            assert sum(one.figures.spread_mm.values()) <= sum(before.spread_mm.values()) + 0.2
        if one.costs_mm == 0 and one.aim == "straight cuts":
            assert one.figures.knife_runs <= before.knife_runs
    assert set(AIMS) == {"large remnant", "straight cuts", "cushions together"}
