"""Laws of the waits: pieces one behind another, each on its place of the repeat, against every order of them."""

from __future__ import annotations

import itertools
import time
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from squab.errors import LayError
from squab.lay._bars import Column, bars_bound
from squab.lay._behind import Heights, Repeat, waits_bound
from squab.lay._demand import DemandOf, Reach
from squab.lay.bound import lower_bound
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem
from squab.lay.search import search
from tests.laws.draws import draws


def shown_mm(problem: LayProblem) -> float:
    build = DemandOf(problem, "across", in_parts=True)
    demand, known = build.demand(problem.usable_width_mm), list[Column]()
    bars = bars_bound(demand, time.perf_counter() + 5.0, start=known)
    return float(waits_bound(build, demand, bars, known, time.perf_counter() + 5.0))


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
    """Bands of 40, as many as there are waits, lie in them; of 41 none does, and each takes cloth of its own."""
    panels = tuple(box(f"p{i}", 500.0, 600.0, 20.0) for i in range(7))
    for band, least in ((40.0, 7 * 640.0), (41.0, 6 * 640 + 600 + 41.0)):
        bands = tuple(box(f"b{i}", 500.0, band, None) for i in range(7))
        problem = LayProblem("one row", 500.0, Lattice(None, 640.0), panels + bands)
        assert shown_mm(problem) >= least - 0.01


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
        matched = data.draw(st.booleans())
        risen += float(heights(Reach(Fraction(size), end % period if matched else -1.0)))
        end += size
    assert risen <= end - begin + float(heights.ends_mm) + 0.002 * 8
