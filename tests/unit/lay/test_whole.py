"""Pieces whole in their places on the repeat: what prices on points leave open, and never longer than a lay."""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import numpy as np
import pytest

from squab.lay import _whole
from squab.lay._places import frames, places_bound
from squab.lay._whole import whole_bound
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem
from tests.unit.lay._exhaustive import least_length_mm
from tests.unit.lay._jobs import jobs, problem_of, rectangle
from tests.unit.lay.test_places import matched_job, seats


def shown(problem: LayProblem, seconds: float = 20.0) -> tuple[float, float]:
    """What prices show, and what whole pieces do."""
    priced = places_bound(problem, 0.0, time.perf_counter() + seconds)
    return priced, whole_bound(problem, priced, time.perf_counter() + seconds)


@pytest.mark.parametrize("first", range(0, 60, 20))
def test_small_jobs_against_their_proved_least_lengths(first: int) -> None:
    """The least length by a constraint solver that knows places of rectangles, but no points and no cases."""
    more = tight = 0
    for seed in range(first, first + 20):
        problem = matched_job(seed)
        least = least_length_mm(problem)
        if least is not None:
            priced, length = shown(problem, 10.0)
            assert priced <= length <= least + 1e-6, seed
            more += length > priced + 0.01
            tight += length > least - 0.01
    assert more >= 1
    assert tight >= 4


def test_ten_rectangles_on_a_half_drop_get_their_least_length() -> None:
    """1625 mm, proved by constraint programming over all lays; prices on points show 1600."""
    priced, length = shown(problem_of(jobs()["S10b"]))
    assert priced < 1601.0
    assert length == pytest.approx(1625.0, abs=1e-3)


def test_thirty_rectangles_on_a_half_drop_do_not_fit_where_prices_let_them() -> None:
    """Bounds of an earlier program ended at 4840; the best lay that it found has 5118."""
    problem = problem_of(jobs()["S30b"])
    (frame,) = frames(problem)
    until = time.perf_counter() + 120.0
    next_mm = _whole._Whole(frame, until)._too_short(4925.0, until)
    assert next_mm is not None
    assert 4925.0 <= next_mm <= 5118.0 + problem.gap_mm


def test_what_takes_too_many_places_is_left_alone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(_whole, "MOST_PLACES", 3)
    priced, length = shown(seats(6))
    assert length == priced


def test_no_time_shows_nothing_new() -> None:
    problem = problem_of(jobs()["S10b"])
    assert whole_bound(problem, 1600.0, time.perf_counter() - 1.0) == 1600.0


def test_a_solver_that_would_have_to_be_loaded_first_is_not_asked_in_a_short_time(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    problem = problem_of(jobs()["S10b"])
    whole_bound(problem, 1600.0, time.perf_counter() + 20.0)  # it is loaded now
    assert whole_bound(problem, 1600.0, time.perf_counter() + 10.0) > 1600.0
    monkeypatch.delitem(sys.modules, "ortools.sat.python.cp_model")
    assert whole_bound(problem, 1600.0, time.perf_counter() + 2.0) == 1600.0


def test_mirror_images_are_one_case() -> None:
    """Seen from the other selvage, or the other end, places are in one another's way as they were."""
    kind = np.array([0, 1, 1])
    box = np.array([[0.0, 0.0, 3.0, 2.0], [1.0, 4.0, 2.0, 9.0], [5.0, 1.0, 6.0, 6.0]])
    told = _whole._Places(kind, box).told()
    assert told == _whole._Places(kind, (box * (-1, 1, -1, 1) + 8)[:, [2, 1, 0, 3]]).told()
    assert told == _whole._Places(kind, (box * (1, -1, 1, -1) + 8)[:, [0, 3, 2, 1]]).told()
    assert told != _whole._Places(kind, box + np.array([0, 0, 1, 0])).told()


def test_a_piece_far_longer_than_the_repeat_has_a_next_place() -> None:
    piece = LayPiece("a", rectangle(60, 700), (0,), LayPhase("a", 0.0, 0.0))
    problem = LayProblem("print", 100.0, Lattice(50, 300), (piece, replace(piece, key="b")))
    assert shown(problem)[1] == pytest.approx(1600.0, abs=1e-3)


@pytest.mark.parametrize("under_mm", [0.0, 1.1e-5, 1.5e-5, 1.8e-5, 2.5e-5])
def test_a_length_a_hair_under_a_place_is_followed_by_that_place(under_mm: float) -> None:
    """The first length tried lies just under the least there is: what is shown is that, and never the place after."""
    piece = LayPiece("a", rectangle(60, 700), (0,), LayPhase("a", 0.0, 0.0))
    problem = LayProblem("print", 100.0, Lattice(50, 300), (piece, replace(piece, key="b")))
    first = (1600.0 - under_mm) / (1 + _whole.FIRST_GAIN)
    assert 1599.9 < whole_bound(problem, first, time.perf_counter() + 20.0) <= 1600.0


def test_a_print_with_very_many_places_is_left_alone_in_time() -> None:
    """Two dozen kinds on a fine print: points and cases are not worked out beyond what there is time for."""
    kinds = [(300 + 17 * k % 400, 310 + 29 * k % 390) for k in range(25)]
    pieces = tuple(
        LayPiece(f"p#{k}", rectangle(w, h), (0,), LayPhase("a", 7.0 * k % 20, 13.7 * k % 640))
        for k, (w, h) in enumerate(kinds)
    )
    problem = LayProblem("print", 1370.0, Lattice(20, 640), pieces, gap_mm=3.0)
    began = time.perf_counter()
    assert whole_bound(problem, 1000.0, began + 1.0) >= 1000.0
    assert places_bound(problem, 1000.0, time.perf_counter() + 1.0) >= 1000.0
    assert time.perf_counter() - began < 20.0
