"""Laws of the waits: pieces one behind another, each on its place of the repeat, against every order of them."""

from __future__ import annotations

import itertools
import time
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from squab.errors import LayError
from squab.lay._bars import Column, bars_bound
from squab.lay._behind import Heights, Repeat, behind_bound, repeat_along
from squab.lay._demand import DemandOf, Reach, with_whole_strips
from squab.lay.bound import lower_bound
from squab.lay.records import Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.lay.search import search
from squab.lay.verify import verify
from tests.laws.draws import draws
from tests.laws.test_lay_proof import Planted, planted_lays


def shown_mm(problem: LayProblem) -> float:
    build = DemandOf(problem, "across", in_parts=True)
    demand, known = build.demand(problem.usable_width_mm), list[Column]()
    bars = bars_bound(demand, time.perf_counter() + 5.0, start=known)
    return float(behind_bound(build, demand, bars, known, time.perf_counter() + 5.0))


def box(key: str, wide: float, high: float, at: float | None, turns: tuple[int, ...] = (0,)) -> LayPiece:
    outline = np.array([(0, 0), (wide, 0), (wide, high), (0, high)], dtype=np.float64)
    return LayPiece(key, outline, turns, None if at is None else LayPhase("a", None, at))


@dataclass
class InOneRow:
    """Pieces as wide as the cloth: sizes, and places on the repeat."""

    problem: LayProblem
    sizes: list[tuple[int, int | None]]
    period: int
    gap: int

    def shortest(self) -> int:
        """The least length: every order of them, from every start of the pattern."""
        return min(
            self._length(order, start)
            for order in set(itertools.permutations(self.sizes))
            for start in ([0] if self.problem.pattern_at[1] is not None else range(self.period))
        )

    def _length(self, order: tuple[tuple[int, int | None], ...], start: int) -> int:
        end = 0
        for size, at in order:
            end += 0 if at is None else (at + start - end) % self.period
            end += size + self.gap
        return end - self.gap


@st.composite
def rows(draw: st.DrawFn) -> InOneRow:
    period, gap = draw(st.integers(4, 40)), draw(st.integers(0, 3))
    one = st.tuples(st.integers(1, 60), st.one_of(st.none(), st.integers(0, period - 1), st.integers(0, period - 1)))
    kinds = draw(st.lists(one, min_size=1, max_size=3))
    sizes = [kind for kind in kinds for _ in range(draw(st.integers(1, 2)))][:5]
    known = draw(st.booleans())
    problem = LayProblem(
        "one row", 50.0, Lattice(None, float(period)),
        tuple(box(f"p{i}", 50.0, h, None if at is None else float(at)) for i, (h, at) in enumerate(sizes)),
        anchors={"a": (0.0, 0.0)} if known else {}, pattern_at=(0.0, 0.0) if known else (None, None), gap_mm=float(gap),
    )  # fmt: skip
    return InOneRow(problem, sizes, period, gap)


@settings(max_examples=draws(60), deadline=None)
@given(rows())
def test_no_order_of_pieces_in_one_row_is_shorter_than_their_waits_allow(row: InOneRow) -> None:
    assert shown_mm(row.problem) <= row.shortest() + 1e-6


@st.composite
def jobs(draw: st.DrawFn) -> LayProblem:
    """Pieces of few kinds, many of each, on any repeat along a narrow cloth."""
    period = draw(st.integers(20, 200))
    across = draw(st.sampled_from((None, None, 30.0, 50.0)))
    drop = draw(st.sampled_from((0.0, period / 2, period / 3))) if across else 0.0
    pieces = []
    for k in range(draw(st.integers(1, 4))):
        wide, high = draw(st.integers(10, 60)), draw(st.integers(10, 150))
        p = draw(st.one_of(st.none(), st.integers(0, 29))) if across else None
        q = draw(st.one_of(st.none(), st.integers(0, period - 1), st.integers(0, period - 1)))
        phase = None if p is None and q is None else LayPhase("a", p, q)
        turns = draw(st.sampled_from(((0,), (0, 180)))) if phase else draw(st.sampled_from(((0,), (0, 90))))
        outline = box("", wide, high, None).outline
        pieces += [LayPiece(f"p{k}.{n}", outline, turns, phase) for n in range(draw(st.integers(1, 4)))]
    pinned = draw(st.booleans())
    return LayProblem(
        "narrow", float(draw(st.integers(100, 160))), Lattice(across, float(period), drop), tuple(pieces),
        anchors={"a": (3.0, 5.0)} if pinned else {},
        pattern_at=(7.0, 11.0) if pinned else (None, None), gap_mm=draw(st.sampled_from((0.0, 2.0))),
    )  # fmt: skip


@settings(max_examples=draws(15), deadline=None)
@given(jobs())
def test_no_lay_that_is_found_is_shorter_than_the_waits_allow(problem: LayProblem) -> None:
    try:
        length = search(problem, seconds=0.2, workers=1).length_mm
    except LayError:  # some piece has no place across
        reject()
    assert shown_mm(problem) <= length + 1e-6


def test_a_panel_with_one_place_a_repeat_takes_a_whole_repeat_but_for_the_last() -> None:
    """Seven panels of 600 on a repeat of 640, on cloth as wide as one: 6 x 640 + 600."""
    problem = LayProblem(
        "one row", 500.0, Lattice(None, 640.0), tuple(box(f"p{i}", 500.0, 600.0, 20.0) for i in range(7))
    )
    assert abs(shown_mm(problem) - (6 * 640 + 600)) < 0.01
    assert lower_bound(problem, seconds=2.0).length_mm == 6 * 640 + 600


def test_what_fits_a_wait_takes_no_cloth_of_its_own() -> None:
    """Three bands of 40 lie in the waits between seven panels; of 41 none fits one, each takes cloth of its own."""

    def shown(band: float) -> float:
        panels = tuple(box(f"p{i}", 500.0, 600.0, 20.0) for i in range(7))
        bands = tuple(box(f"b{i}", 500.0, band, None) for i in range(3))
        return shown_mm(LayProblem("one row", 500.0, Lattice(None, 640.0), panels + bands))

    assert abs(shown(40.0) - (6 * 640 + 600)) < 0.01
    assert 6 * 640 + 600 + 3 < shown(41.0) < 6 * 640 + 600 + 3 * 41.001


def strip(turns: tuple[int, ...], phase: LayPhase | None = None, **more: Any) -> LayStrip:
    given = {"s1_mm": 170.0, "z1_mm": 50.0, "end_mm": 0.0, "least_part_mm": 10.0, "most_parts": 2, **more}
    return LayStrip("s", s0_mm=0.0, z0_mm=0.0, turns_deg=turns, windows=None, phase=phase, **given)


def test_parts_that_may_lie_either_way_up_are_not_held_to_one_place() -> None:
    """One part at its place, the other upside down beneath the next: 100 mm, however the strip's turns are told."""
    for turns in ((0, 180), (180, 0)):
        problem = LayProblem(
            "strip", 100.0, Lattice(None, 100.0), (), (strip(turns, LayPhase("a", None, 0.0)),),
            anchors={"a": (0.0, 0.0)}, pattern_at=(0.0, 0.0),
        )  # fmt: skip
        placed = (Placed("s", 0, 0.0, 0.0, (0.0, 85.0)), Placed("s", 180, 170.0, 100.0, (85.0, 170.0)))
        assert verify(problem, Lay(placed, {"a": (0.0, 0.0)}, (0.0, 0.0), 100.0)) == ()
        assert lower_bound(problem, seconds=0.3).length_mm <= 100.0


def test_short_parts_on_the_bias_are_loose_cloth() -> None:
    """A part shorter than it is wide has no chord right across; its area still counts."""
    problem = LayProblem("bias", 1000.0, Lattice(), (), (strip((45,), s1_mm=100.0, z1_mm=60.0, least_part_mm=40.0),))
    assert lower_bound(problem, seconds=0.3).length_mm > 100 * 60 / 1000 * 0.99


@st.composite
def any_heights(draw: st.DrawFn, build: DemandOf) -> Heights | None:
    """Heights that no programme has found: noise, no place higher than the one before it by more than a step."""
    repeat = repeat_along(build)
    if repeat is None:
        return None
    noise = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    at = (noise.random(repeat.cells) * draw(st.integers(1, 80)) * 10**6).astype(np.int64)
    for c in range(2 * repeat.cells):
        at[(c + 1) % repeat.cells] = min(at[(c + 1) % repeat.cells], at[c % repeat.cells] + 10**6)
    return Heights(repeat, at)


@settings(max_examples=draws(60), deadline=None)
@given(planted_lays(whole=True, outlines=False), st.data())
def test_whatever_the_heights_are_no_lay_is_shorter_than_they_show(planted: Planted, data: st.DataObject) -> None:
    build = DemandOf(with_whole_strips(planted.problem), "across", in_parts=True)
    heights = data.draw(any_heights(build))
    if heights is not None:
        demand = build.demand(planted.problem.usable_width_mm, heights)
        shown = bars_bound(demand, time.perf_counter() + 1.0)
        assert float(shown.reach_mm - heights.ends_mm) <= planted.lay.length_mm + 1e-6


@settings(max_examples=draws(40), deadline=None)
@given(st.integers(3, 30), st.data())
def test_all_on_a_line_rise_by_no_more_than_the_cloth_is_long(cells: int, data: st.DataObject) -> None:
    """Whatever the heights are, and wherever the line goes."""
    step = data.draw(st.sampled_from((1.0, 0.5, 3.7)))
    known = data.draw(st.one_of(st.none(), st.just(0)))
    at = np.array(data.draw(st.lists(st.integers(0, 5 * 10**6), min_size=cells, max_size=cells)), np.int64)
    for c in range(2 * cells):
        at[(c + 1) % cells] = min(at[(c + 1) % cells], at[c % cells] + 10**6)
    repeat = Repeat(step_mm=Fraction(step), cells=cells, anchor="", cut_end=known)
    heights, period = Heights(repeat, at), step * cells
    begin = 0.0 if known is not None else data.draw(st.floats(0, period))
    end, risen = begin, 0.0
    for _ in range(data.draw(st.integers(1, 8))):
        end += data.draw(st.floats(0, period))
        size = data.draw(st.floats(0.1, 2 * period))
        kind = data.draw(st.sampled_from(("matched", "free", "standing")))
        if kind == "standing":
            least = Fraction(size) * data.draw(st.integers(1, 4)) / 4
            risen += size * float(heights(Reach(least, each_mm=True)))
        else:
            risen += float(heights(Reach(Fraction(size), end % period if kind == "matched" else None)))
        end += size
    assert risen <= end - begin + float(heights.ends_mm) + 0.002 * 8
