"""Matched pieces in every arrangement across: what is shown of strips round them, and never longer than a lay."""

from __future__ import annotations

import random
import time
from dataclasses import replace

import numpy as np
import pytest

from squab.lay._arranged import Setting, arranged_bound, few_matched
from squab.lay._demand import with_whole_strips
from squab.lay._segments import Arrangement, Box, Kind, _Case, _Solver
from squab.lay.bound import lower_bound
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem
from tests.unit.lay._exhaustive import _random_strip, least_length_mm
from tests.unit.lay._jobs import jobs, problem_of, rectangle


def shown(problem: LayProblem, from_mm: float, seconds: float) -> float:
    return arranged_bound(with_whole_strips(problem), from_mm, time.perf_counter() + seconds)


def small(seed: int) -> LayProblem:
    """A few pieces, most of them matched across, and strips that may be divided."""
    r = random.Random(seed)
    width, repeat, pieces = r.randint(50, 100), r.randint(5, 30), []
    for kind in range(r.randint(1, 2)):
        w, h = r.randint(8, width // 2 + 8), r.randint(6, 40)
        phase = LayPhase("a", r.randint(0, 30), None) if kind == 0 or r.random() < 0.7 else None
        turns = (0, 90) if phase is None and r.random() < 0.5 else (0,)
        pieces += [LayPiece(f"{kind}#{k}", rectangle(w, h), turns, phase) for k in range(r.randint(1, 2))]
    strips = tuple(_random_strip(r, width, i) for i in range(r.randint(1, 2)))
    at = (r.randint(0, 20) if r.random() < 0.5 else None, None)
    anchors = {"a": (r.randint(0, 20), None)} if r.random() < 0.5 else {}
    return LayProblem("small", width, Lattice(repeat), tuple(pieces), strips, anchors, at, r.choice((0.0, 1.0, 3.0)))


@pytest.mark.parametrize("seed", range(16))
def test_never_longer_than_the_least_length(seed: int) -> None:
    """Against another model that places every piece and part both ways."""
    problem = small(seed)
    least = least_length_mm(problem, seconds=1.0)
    if least is not None:
        assert shown(problem, 0.7 * least, 1.0) <= least + 1e-6


def test_a_cushion_with_piping_is_shown_within_two_in_a_hundred() -> None:
    """Its best lay is 738 mm long; bars show no more than 710 mm."""
    problem = problem_of(jobs()["J2"])
    setting = Setting(with_whole_strips(problem))
    assert setting.too_short(723.9, time.perf_counter() + 120.0)
    assert setting.next_mm(723.9) == pytest.approx(724.0, abs=1e-3)
    assert not setting.too_short(738.0, time.perf_counter() + 5.0)


def test_what_is_shown_of_a_length_is_known_of_shorter_ones() -> None:
    problem, no_time = with_whole_strips(problem_of(jobs()["J2"])), time.perf_counter()
    setting = Setting(problem)
    assert setting.too_short(711.0, time.perf_counter() + 120.0)
    assert setting.too_short(710.5, no_time)
    assert not setting.too_short(712.0, no_time)
    assert not Setting(problem).too_short(710.5, no_time)


def test_what_is_known_to_do_is_not_tried() -> None:
    problem = problem_of(jobs()["J2"])
    bound = lower_bound(problem, seconds=8.0, laid_mm=719.0)  # no lay is so short, but that is not asked
    assert bound.length_mm <= 719.0


def test_two_panels_on_a_wide_repeat_are_arranged_by_hand() -> None:
    """40 mm wide on a repeat of 30 mm, cloth 100 mm wide: 0, 30 or 60 mm from one another, or over one another."""
    panels = tuple(LayPiece(f"p{k}", rectangle(40, 50), (0,), LayPhase("a", 5.0, None)) for k in range(2))
    problem = replace(small(3), usable_width_mm=100.0, lattice=Lattice(30.0), pieces=panels, gap_mm=0.0, anchors={})
    setting = Setting(problem)
    told = {tuple(b.at for b in a.boxes): a.left for a in setting.arrangements(100)}
    assert told == {(0, 0): (0, 60), (0, 30): (0, 30), (0, 60): (0, 0)}
    assert [tuple(b.at for b in a.boxes) for a in setting.arrangements(99)] == [(0, 60)]


def test_where_the_start_is_known_the_panel_stands_on_its_places() -> None:
    problem = replace(
        small(3), usable_width_mm=100.0, lattice=Lattice(30.0), gap_mm=0.0, anchors={"a": (4.0, None)},
        pattern_at=(7.0, None), pieces=(LayPiece("p", rectangle(40, 50), (0,), LayPhase("a", 5.0, None)),),
    )  # fmt: skip
    assert sorted(a.left for a in Setting(problem).arrangements(100)) == [(16, 16), (46, 46)]


def test_off_the_grid_a_piece_counts_for_what_it_surely_covers() -> None:
    """Two places rounded down may be a step further apart than they are."""
    panels = tuple(LayPiece(f"p{k}", rectangle(40, 50), (0,), LayPhase("a", 0.3 * k, None)) for k in range(2))
    problem = replace(small(3), usable_width_mm=100.0, lattice=Lattice(30.3), pieces=panels, gap_mm=0.0, anchors={})
    setting = Setting(problem)
    for a in setting.arrangements(setting._steps(60.0)):
        first, second = a.boxes
        assert second.wide == first.wide - 1
        away = (second.at - first.at) * setting.step
        assert any(0 <= away - (0.3 + 30.3 * m) <= setting.step for m in range(-4, 5))


def strip(total: int, parts: tuple[int, int]) -> Kind:
    return Kind(thick=10, least=20, most=total, total=total, each=0, parts=parts, lies=True, stands=True)


def test_multipliers_that_show_nothing_are_not_believed() -> None:
    """Beside a panel of 60 by 100 on a cloth of 100 by 100 there is room for 400 mm of a strip 10 mm wide."""
    arrangement = Arrangement((Box(0, 60, 100),), (0, 40))
    fits = _Solver(_Case([strip(390, (1, 9))], arrangement, (100, 100)))
    assert fits.solved(fits.low, fits.high) is not None
    rng = np.random.default_rng(1)
    rows = len(fits.limits)
    assert not any(fits._impossible(-(rng.random(rows) ** 4), fits.low, fits.high) for _ in range(200))
    assert not fits._impossible(np.full(rows, np.nan), fits.low, fits.high)
    too_long = _Solver(_Case([strip(410, (1, 9))], arrangement, (100, 100)))
    assert too_long.solved(too_long.low, too_long.high) is None


def test_many_pieces_or_outlines_are_left_alone() -> None:
    problem = small(1)
    slanted = LayPiece("s", np.array([(0.0, 0.0), (20.0, 0.0), (15.0, 20.0), (0.0, 20.0)]), (0,))
    assert few_matched(problem)
    assert not few_matched(replace(problem, pieces=(*problem.pieces, slanted)))
    assert not few_matched(replace(problem, pieces=problem.pieces * 20))
    assert not few_matched(replace(problem, strips=()))
    assert not few_matched(replace(problem, pieces=tuple(replace(p, phase=None) for p in problem.pieces)))
