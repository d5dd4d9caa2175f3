"""Pressing: from any sound lay to a shorter one that is sound too, whatever the cloth."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, union_all
from shapely.affinity import translate

from squab.cloth import Flaw
from squab.lay._gather import gathered
from squab.lay._model import State, lay_of
from squab.lay._press import FEW, MANY, MANY_PIECES, MOST_PIECES, Manner, Press, Table
from squab.lay._shapes import convex_parts, wide_parts
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem, LayStrip
from squab.lay.search import Hunt, search
from squab.lay.verify import verify
from squab.plane import Points
from tests.unit.lay._jobs import rectangle

TRAPEZOID = np.array([[0.0, 0.0], [300.0, 0.0], [220.0, 260.0], [60.0, 260.0]])
HOOK = np.array([[0.0, 0.0], [280.0, 0.0], [280.0, 90.0], [100.0, 90.0], [100.0, 240.0], [0.0, 240.0]])
DISC = np.array([(110 * np.cos(a), 110 * np.sin(a)) for a in np.arange(24) * np.pi / 12])
HOLLOW = np.array(
    [
        [0.0, 0.0],
        [300.0, 0.0],
        [260.0, 240.0],
        *((150 + 80 * np.cos(a), 240 - 80 * np.sin(a)) for a in np.arange(0, 9) * np.pi / 8),
        [20.0, 230.0],
    ]
)
CLOTHS = (Lattice(), Lattice(90.0), Lattice(None, 140.0), Lattice(150.0, 200.0, 100.0), Lattice(120.0, 130.0))


def pressed(problem: LayProblem, *, moves: int, seed: int = 0) -> tuple[State, State, Hunt]:
    """The state a short search ends in, and what pressing makes of it."""
    hunt = Hunt(problem, seed=seed)
    table = Table.of(hunt.model, hunt.best)
    assert table is not None
    press = Press(table, hunt.best, seed)
    for done in (0.0, 0.4, 0.8, 0.95):
        press.go(moves // 4, done)
    return hunt.best, press.found(), hunt


@st.composite
def problems(draw: st.DrawFn) -> LayProblem:
    lattice = draw(st.sampled_from(CLOTHS))
    shapes: list[Points] = draw(
        st.lists(
            st.sampled_from([TRAPEZOID, HOOK, DISC, rectangle(250, 120), rectangle(90, 310)]), min_size=2, max_size=8
        )
    )
    pieces = []
    for k, xy in enumerate(shapes):
        matched = draw(st.booleans())
        across = float(draw(st.integers(0, 89))) if lattice.across_mm else None
        along = float(draw(st.integers(0, 129))) if lattice.along_mm else None
        phase = LayPhase("job", across, along) if matched and (across, along) != (None, None) else None
        pieces.append(LayPiece(f"p#{k}", xy, draw(st.sampled_from([(0,), (0, 180), (0, 90)])), phase))
    strip = LayStrip("s", 0.0, 900.0, 0.0, 40.0, 5.0, 200.0, (0, 90))
    flaw = Flaw(300.0, 150.0, 360.0, 220.0)
    return LayProblem(
        "random", 700.0, lattice, tuple(pieces), (strip,) if draw(st.booleans()) else (), pattern_at=(0.0, 0.0),
        gap_mm=draw(st.sampled_from([0.0, 3.0])), flaws=(flaw,) if draw(st.booleans()) else (),
    )  # fmt: skip


@settings(max_examples=12, deadline=None)
@given(problems(), st.integers(0, 9))
def test_what_is_pressed_is_sound_and_never_longer(problem: LayProblem, seed: int) -> None:
    before, after, hunt = pressed(problem, moves=1200, seed=seed)
    assert after.length_mm <= before.length_mm
    lay = lay_of(hunt.model, after)
    assert verify(problem, lay) == ()
    assert lay.length_mm == pytest.approx(after.length_mm)


@settings(max_examples=12, deadline=None)
@given(problems(), st.integers(0, 9))
def test_pieces_drawn_together_are_sound(problem: LayProblem, seed: int) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("squab.lay._press.FEW", MANY)
        before, after, hunt = pressed(problem, moves=3000, seed=seed)
    assert after.length_mm <= before.length_mm
    assert verify(problem, lay_of(hunt.model, after)) == ()


def test_squares_make_way_for_a_wedge_that_comes_down_between_them() -> None:
    # By arithmetic: a wedge as wide as it is high, point down on two squares that touch, sinks by as much as they part.
    # On a cloth of 250 they part by 50, so a lay of 200 comes to one of 150.
    wedge = np.array([[50.0, 0.0], [100.0, 100.0], [0.0, 100.0]])
    shapes = (rectangle(100, 100), rectangle(100, 100), wedge)
    pieces = tuple(LayPiece(f"p#{k}", xy, (0,)) for k, xy in enumerate(shapes))
    hunt = Hunt(LayProblem("wedge", 250.0, Lattice(), pieces, pattern_at=(0.0, 0.0)))
    table = Table.of(hunt.model, hunt.best)
    assert table is not None
    at = np.array([[25.0, 0.0], [125.0, 0.0], [75.0, 100.0]])
    length, places, times = gathered(
        table, at, table.options, np.zeros(3, dtype=np.int64), usual_mm=100.0, best_mm=200.0
    )
    assert length == pytest.approx(150.0, abs=1e-6)
    assert times > 1
    assert places[1, 0] - places[0, 0] == pytest.approx(150.0, abs=1e-6)


def test_a_piece_held_by_the_pattern_keeps_its_place_where_others_are_drawn_together() -> None:
    shapes = (rectangle(100, 100), rectangle(100, 80), rectangle(100, 60))
    phases = (None, LayPhase("job", 30.0, 10.0), None)
    pieces = tuple(
        LayPiece(f"p#{k}", xy, (0,), phase) for k, (xy, phase) in enumerate(zip(shapes, phases, strict=True))
    )
    flaw = Flaw(0.0, 205.0, 250.0, 215.0)
    problem = LayProblem("held", 120.0, Lattice(90.0, 140.0), pieces, pattern_at=(0.0, 0.0), flaws=(flaw,))
    hunt = Hunt(problem)
    table = Table.of(hunt.model, hunt.best)
    assert table is not None
    at = np.array([[0.0, 0.0], [10.0, 110.0], [0.0, 231.0], [0.0, 205.0]])
    length, places, _ = gathered(table, at, table.options, np.zeros(3, dtype=np.int64), usual_mm=100.0, best_mm=300.0)
    assert places[1].tolist() == [10.0, 110.0]
    assert places[2, 1] == pytest.approx(215.0, abs=1e-6)
    assert length == pytest.approx(275.0, abs=1e-6)


def test_pieces_deep_in_one_another_are_not_drawn_together() -> None:
    pieces = tuple(LayPiece(f"p#{k}", rectangle(100, 100), (0,)) for k in range(3))
    hunt = Hunt(LayProblem("deep", 100.0, Lattice(), pieces, pattern_at=(0.0, 0.0)))
    table = Table.of(hunt.model, hunt.best)
    assert table is not None
    at = np.array([[0.0, 0.0], [0.0, 5.0], [0.0, 10.0]])
    length, _, times = gathered(table, at, table.options, np.zeros(3, dtype=np.int64), usual_mm=100.0, best_mm=300.0)
    assert (length, times) == (np.inf, 1)


@pytest.mark.parametrize("lattice", CLOTHS[:2])
def test_what_is_pressed_of_many_pieces_is_sound_and_shorter(lattice: Lattice) -> None:
    shapes = (TRAPEZOID, HOOK, DISC)
    phase = LayPhase("job", 0.0, None) if lattice.across_mm else None
    pieces = [LayPiece(f"p#{k}", shapes[k % 3], (0, 180), phase if k % 2 else None) for k in range(MANY_PIECES)]
    problem = LayProblem("many", 1400.0, lattice, tuple(pieces), pattern_at=(0.0, 0.0), gap_mm=3.0)
    before, after, hunt = pressed(problem, moves=12_000)
    assert after.length_mm < before.length_mm
    assert verify(problem, lay_of(hunt.model, after)) == ()


@pytest.mark.parametrize("manner", [FEW, MANY], ids=["few", "many"])
def test_a_worker_goes_on_from_anothers_shorter_lay_as_soon_as_it_may(
    manner: Manner, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("squab.lay._press.FEW", manner)
    pieces = tuple(LayPiece(f"p#{k}", TRAPEZOID, (0, 180)) for k in range(8))
    hunt = Hunt(LayProblem("two", 700.0, Lattice(), pieces, pattern_at=(0.0, 0.0), gap_mm=3.0))
    table = Table.of(hunt.model, hunt.best)
    assert table is not None
    long, short = Press(table, hunt.best, 1), Press(table, hunt.best, 2)
    short.length_mm -= 50.0
    short.best[0][0] = 7.0, 8.0
    long.go(0, 0.3)
    long.adopt(short)
    assert (long.length_mm == short.length_mm) == (manner.alone <= 0.3)
    long.go(0, 0.9)
    long.adopt(short)
    assert long.length_mm == short.length_mm
    assert np.array_equal(long.best[0], short.best[0])


@pytest.mark.parametrize("gap_mm", [0.0, 3.0])
@pytest.mark.parametrize("manner", [FEW, MANY], ids=["few", "many"])
def test_shapes_overlap_where_all_half_planes_of_two_parts_say_so(
    manner: Manner, gap_mm: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("squab.lay._press.FEW", manner)
    # Against areas in common by another library: a place is inside every half-plane of some two parts, or clear.
    shapes = (TRAPEZOID, HOOK, DISC, rectangle(90, 310))
    pieces = tuple(LayPiece(f"p#{k}", xy, (0, 90)) for k, xy in enumerate(shapes))
    hunt = Hunt(LayProblem("four", 700.0, Lattice(), pieces, pattern_at=(0.0, 0.0), gap_mm=gap_mm))
    table = Table.of(hunt.model, hunt.best)
    assert table is not None
    whole = [union_all([Polygon(p) for p in parts]) for parts in table._shapes]
    random, seen = np.random.default_rng(5), {True: 0, False: 0}
    for _ in range(400):
        s, t = (int(x) for x in random.integers(table.shapes, size=2))
        shift = random.uniform(-300.0, 300.0, 2)
        planes = [
            table.half_planes[table.polys[p] : table.polys[p + 1]]
            for p in range(table.pair[s * table.shapes + t], table.pair[s * table.shapes + t + 1])
        ]
        depth = max((x[:, 8:] - x[:, :4] * shift[0] - x[:, 4:8] * shift[1]).min() for x in planes)
        common = whole[s].intersection(translate(whole[t], *shift)).area
        if abs(depth) > 1e-6:
            seen[common > 0.0] += 1
            assert (depth > 0) == (common > 0.0)
    assert min(seen.values()) > 50


@pytest.mark.parametrize("grow_mm", [0.0, 1.5])
@pytest.mark.parametrize("xy", [HOOK, HOLLOW, DISC], ids=["hook", "hollow", "disc"])
def test_wide_parts_are_convex_and_cover_the_outline_and_no_more(xy: Points, grow_mm: float) -> None:
    # Against areas and hulls by another library.
    parts = [Polygon(p) for p in wide_parts(xy, grow_mm)]
    outline = union_all([Polygon(p) for p in convex_parts(xy, grow_mm)])
    assert union_all(parts).symmetric_difference(outline).area == pytest.approx(0.0, abs=1e-3)
    assert all(p.convex_hull.area == pytest.approx(p.area, rel=1e-9) for p in parts)


def test_wide_parts_reach_into_one_another() -> None:
    # The hook is two bars, 280 by 90 and 100 by 240, that have a square of 100 by 90 in common.
    areas = sorted(Polygon(p).area for p in wide_parts(HOOK, 0.0))
    assert areas == pytest.approx([100 * 240, 280 * 90])


def test_a_poor_lay_is_pressed_to_almost_the_least_there_is() -> None:
    # Four discs of 220 in 300: the least is a zigzag of three steps, each sqrt(220^2 - 80^2) = 204.94 along.
    problem = LayProblem(
        "zigzag", 300.0, Lattice(), tuple(LayPiece(f"d#{k}", DISC, (0,)) for k in range(4)), pattern_at=(0.0, 0.0)
    )
    before, after, _ = pressed(problem, moves=6000)
    assert after.length_mm <= before.length_mm
    assert after.length_mm == pytest.approx(220 + 3 * 204.94, rel=0.01)


def test_outlines_searched_in_steps_come_out_the_same_again() -> None:
    pieces = tuple(LayPiece(f"{k}", (TRAPEZOID, HOOK, DISC)[k % 3], (0, 180)) for k in range(9))
    problem = LayProblem("nine", 700.0, Lattice(), pieces, pattern_at=(0.0, 0.0), gap_mm=2.0)
    first = search(problem, seconds=60, seed=4, steps=1500, workers=2)
    assert search(problem, seconds=60, seed=4, steps=1500, workers=2) == first
    assert verify(problem, first) == ()


@pytest.mark.parametrize(("lattice", "least", "most"), [(Lattice(), 0.9, 1.0), (Lattice(90.0), 0.05, 0.2)])
def test_plain_outlines_are_pressed_nearly_all_the_time_and_striped_ones_little(
    lattice: Lattice, least: float, most: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    pressed_moves: list[int] = []
    go = Press.go

    def counted(press: Press, moves: int, done: float) -> int:
        pressed_moves.append(moves)
        return go(press, moves, done)

    monkeypatch.setattr(Press, "go", counted)
    phase = LayPhase("job", 0.0, None) if lattice.across_mm else None
    pieces = tuple(LayPiece(f"{k}", (TRAPEZOID, HOOK, DISC)[k % 3], (0, 180), phase) for k in range(9))
    search(LayProblem("nine", 700.0, lattice, pieces, pattern_at=(0.0, 0.0)), seconds=60, steps=4000)
    assert least <= sum(pressed_moves) / 4000 <= most


def test_too_many_pieces_are_left_as_they_are_laid() -> None:
    pieces = tuple(LayPiece(f"p#{k}", rectangle(100, 50), (0,)) for k in range(MOST_PIECES + 1))
    hunt = Hunt(LayProblem("many", 700.0, Lattice(), pieces, pattern_at=(0.0, 0.0)))
    assert Table.of(hunt.model, hunt.best) is None
