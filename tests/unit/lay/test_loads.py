"""Loads of lines along the cloth: what no place across can mend, and never longer than a lay."""

from __future__ import annotations

import random
import time
from dataclasses import replace

import numpy as np
import pytest

from squab.lay._loads import _layers, few_kinds, loads_bound
from squab.lay.bound import lower_bound
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem
from tests.unit.lay._exhaustive import least_length_mm
from tests.unit.lay._jobs import jobs, problem_of, rectangle


def shown(problem: LayProblem, from_mm: float, seconds: float = 5.0) -> float:
    return loads_bound(problem, from_mm, time.perf_counter() + seconds)


def few_of_a_kind(seed: int) -> LayProblem:
    """Rectangles of two or three kinds, on plain cloth or a stripe."""
    r = random.Random(seed)
    width, striped = r.randint(40, 90), r.random() < 0.5
    pieces = []
    for kind in range(r.randint(2, 3)):
        w, h = r.randint(8, 38), r.randint(8, 38)
        phase = LayPhase(r.choice("ab"), r.randint(0, 20), None, r.choice((1, -1))) if r.random() < 0.6 else None
        turns = (0, 90) if phase is None and r.random() < 0.4 else (0,)
        pieces += [LayPiece(f"{kind}#{k}", rectangle(w, h), turns, phase) for k in range(r.randint(1, 3))]
    lattice = Lattice(r.randint(7, 25)) if striped else Lattice()
    at = (r.randint(0, 20) if r.random() < 0.5 else None, 0.0)
    anchors = {"a": (r.randint(0, 20), None)} if r.random() < 0.5 else {}
    return LayProblem("few", width, lattice, tuple(pieces), (), anchors, at, r.choice((0.0, 2.0)))


@pytest.mark.parametrize("seed", range(40))
def test_never_longer_than_the_least_length(seed: int) -> None:
    """Against another model that places every piece both ways."""
    problem = few_of_a_kind(seed)
    least = least_length_mm(problem)
    if least is not None:
        assert shown(problem, 0.7 * least, seconds=1.0) <= least + 1e-6


@pytest.mark.parametrize("seed", range(12))
def test_nor_off_the_grid(seed: int) -> None:
    problem, by = few_of_a_kind(seed), 11.3 + seed * np.pi / 7
    least = least_length_mm(problem)
    if least is None or problem.lattice.across_mm is not None:
        return
    larger = tuple(replace(p, outline=p.outline * by) for p in problem.pieces)
    larger_job = replace(
        problem, usable_width_mm=problem.usable_width_mm * by, gap_mm=problem.gap_mm * by, pieces=larger
    )
    assert shown(larger_job, 0.7 * least * by, seconds=1.0) <= least * by + 1e-6


def test_what_fits_side_by_side_only_two_and_two() -> None:
    """Five squares of 40 beside one another in twos take three rows, though their area takes two and a half."""
    pieces = tuple(LayPiece(f"p{k}", rectangle(40, 40), (0,)) for k in range(5))
    problem = LayProblem("five", 80.0, Lattice(), pieces)
    assert 119.0 <= shown(problem, 100.0) <= 120.0


def test_pads_on_plain_cloth_stand_in_columns() -> None:
    """Three pads side by side stand in three columns of which none can have a part of a pad.

    The least length known is 3834 mm; bars, which may cut a pad in rows, show 3732 mm.
    """
    problem = problem_of(jobs()["J4p"])
    bound = lower_bound(problem, seconds=8.0)
    assert 3834.0 / 1.02 <= bound.length_mm <= 3834.0
    assert bound.method == "loads across"


def test_an_outline_loads_each_line_with_no_more_than_its_chord() -> None:
    """An ell and a lozenge, by hand."""
    ell = np.array([(0, 0), (60, 0), (60, 20), (20, 20), (20, 50), (0, 50)], dtype=np.float64)
    assert [(round(a, 6), round(b, 6), round(h, 1)) for a, b, h in _layers(ell, 0.0)] == [
        (0.0, 60.0, 20.0),
        (0.0, 20.0, 30.0),
    ]
    lozenge = np.array([(50, 0), (100, 50), (50, 100), (0, 50)], dtype=np.float64)
    layers = _layers(lozenge, 2.0)
    for u in np.linspace(1, 99, 99):
        load = sum(h for a, b, h in layers if a <= u < b)
        assert load <= 2 * min(u, 100 - u) + 2.0 + 1e-6
    assert sum((b - a) * h for a, b, h in layers) > 0.6 * 5000


def test_many_kinds_and_strips_are_left_alone() -> None:
    assert few_kinds(problem_of(jobs()["J4p"]))
    for name in ("S30p", "J1"):
        problem = problem_of(jobs()[name])
        assert not few_kinds(problem)
        assert shown(problem, 500.0) == 500.0


def test_a_piece_wider_than_the_cloth_shows_nothing_endless() -> None:
    pieces = tuple(LayPiece(f"p{k}", rectangle(100, 40), (0,)) for k in range(2))
    assert shown(LayProblem("wide", 80.0, Lattice(), pieces), 80.0, seconds=2.0) <= 120.0


def test_the_time_is_kept() -> None:
    began = time.perf_counter()
    shown(problem_of(jobs()["J4p"]), 3732.0, seconds=0.5)
    assert time.perf_counter() - began < 3.0
