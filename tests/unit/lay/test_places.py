"""Placements on the repeat: as sharp as was measured beforehand, and never longer than a lay."""

from __future__ import annotations

import random
import time
from dataclasses import replace

import pytest

from squab.lay._places import Frame, frames, places_bound
from squab.lay.bound import lower_bound
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem
from tests.unit.lay._exhaustive import least_length_mm
from tests.unit.lay._jobs import jobs, problem_of, rectangle


def shown(problem: LayProblem, seconds: float = 20.0) -> float:
    return places_bound(problem, 0.0, time.perf_counter() + seconds)


@pytest.mark.parametrize(("name", "least"), [("S10b", 1599.9), ("S30b", 4839.9), ("J5", 3839.9), ("S60b", 9667.9)])
def test_half_drops_get_what_was_measured_beforehand(name: str, least: float) -> None:
    """Bounds of an earlier program by cliques of placements: S30b 4840, J5 3840; S60b had 6925."""
    job = jobs()[name]
    assert least <= shown(problem_of(job)) <= job["reference"]["best_found_mm"]


def test_a_half_drop_is_shown_nearly_to_the_best_lay_known() -> None:
    bound = lower_bound(problem_of(jobs()["S60b"]), seconds=12.0)
    assert bound.method == "places on the repeat"
    assert 9597.0 <= bound.length_mm <= 9685.0


def seats(count: int, **pinned: object) -> LayProblem:
    """Seats cut 624 x 600 from 1370 of a print 685 x 640, worked by hand: two abreast, or one where pinned so."""
    pieces = tuple(LayPiece(str(i), rectangle(624, 600), (0,), LayPhase("seat", -312.0, -300.0)) for i in range(count))
    problem = LayProblem("print", 1370.0, Lattice(685, 640), pieces, anchors={"seat": (0.0, 0.0)})
    return replace(problem, **pinned)  # type: ignore[arg-type]


def test_panels_pinned_to_a_print() -> None:
    assert shown(seats(4)) == pytest.approx(1240.0, abs=1e-3)
    assert shown(seats(4, pattern_at=(0.0, None))) == pytest.approx(3 * 640.0 + 600.0, abs=1e-3)
    # The cut end 1 mm above where a seat may begin: the first motif is lost.
    assert shown(seats(4, pattern_at=(342.0, 300.0))) == pytest.approx(1240.0, abs=1e-3)
    assert shown(seats(4, pattern_at=(342.0, 299.0))) == pytest.approx(639.0 + 1240.0, abs=1e-3)


def test_a_piece_longer_than_the_repeat_counts_for_each_coming_of_a_point() -> None:
    """Three of 700 on a repeat of 300, one abreast: begun 900 apart, 2 x 900 + 700."""
    pieces = tuple(LayPiece(str(i), rectangle(60, 700), (0,), LayPhase("a", 0.0, 0.0)) for i in range(3))
    problem = LayProblem("print", 100.0, Lattice(50, 300), pieces)
    assert shown(problem) == pytest.approx(2500.0, abs=1e-3)


def test_pieces_without_a_place_both_ways_are_left_out() -> None:
    free = LayPiece("free", rectangle(60, 700), (0,))
    across = LayPiece("across", rectangle(60, 700), (0,), LayPhase("a", 0.0, None))
    disc = LayPiece("disc", rectangle(60, 700) @ ((0.6, 0.8), (-0.8, 0.6)), (0,), LayPhase("a", 0.0, 0.0))
    one = LayPiece("one", rectangle(60, 700), (0,), LayPhase("b", 0.0, 0.0))
    problem = LayProblem("print", 100.0, Lattice(50, 300), (free, free, across, across, disc, disc, one))
    assert frames(problem) == []
    assert frames(replace(problem, lattice=Lattice(50))) == []
    assert shown(problem) == 0.0


def matched_job(seed: int) -> LayProblem:
    """A small job all of whose pieces have places both ways, in one group or two, free or pinned."""
    r = random.Random(seed)
    width, drop = r.randint(30, 60), r.randint(4, 12)
    lattice = r.choice(
        (
            Lattice(float(r.randint(5, 20)), float(r.randint(9, 30))),
            Lattice(float(r.randint(5, 20)), 2.0 * drop, float(drop)),
        )
    )
    kinds = []
    for _ in range(r.randint(1, 3)):
        phase = LayPhase(
            r.choice("aaab"),
            float(r.randint(0, 30)),
            float(r.randint(0, 30)),
            r.choice((1, 1, 1, -1)),
            r.choice((1, 1, 1, -1)),
        )
        turns = r.choice(((0,), (0,), (0, 180), (0, 90)))
        kinds.append(LayPiece("", rectangle(r.randint(5, width // 2), r.randint(5, 35)), turns, phase))
    pieces = tuple(replace(r.choice(kinds), key=f"p{i}") for i in range(r.randint(2, 6)))
    pins = [float(r.randint(0, 30)) if r.random() < 0.3 else None for _ in range(4)]
    anchors = {"a": (pins[0], pins[1])}
    return LayProblem(
        "small", float(width), lattice, pieces, (), anchors, (pins[2], pins[3]), float(r.choice((0, 0, 2)))
    )


@pytest.mark.parametrize("first", range(0, 30, 10))
def test_small_jobs_against_their_proved_least_lengths(first: int) -> None:
    tight = 0
    for seed in range(first, first + 10):
        problem = matched_job(seed)
        least = least_length_mm(problem)
        if least is not None:
            length = shown(problem)
            assert length <= least + 1e-6, seed
            tight += length > least - 0.01
    assert tight >= 2


def test_a_pinned_half_drop_knows_which_columns_stand_higher() -> None:
    """Known by constraint programming: 107 mm; with the columns' drop the wrong way about it would be 112."""
    problem = matched_job(1038)
    assert least_length_mm(problem) == 107
    assert shown(problem) == pytest.approx(107.0, abs=1e-3)


def test_anchors_leave_columns_on_the_cloth() -> None:
    (frame,) = frames(seats(4))
    assert isinstance(frame, Frame)
    assert {int(frame.on_cloth(a).sum()) for a in frame.anchors_mm} == {1, 2}


def test_a_pinned_piece_without_a_place_raises_nothing() -> None:
    """Pinned where the cloth is too narrow for it: no lay at all, which is the search's to say."""
    piece = LayPiece("top", rectangle(60, 20), (0,), LayPhase("a", 0.0, 0.0))
    problem = LayProblem(
        "print", 80.0, Lattice(70.0, 30.0), (piece,), anchors={"a": (0.0, 0.0)}, pattern_at=(30.0, 0.0)
    )
    assert lower_bound(problem, seconds=0.5).length_mm >= 20.0
    assert shown(replace(problem, pieces=(piece, replace(piece, key="bottom")))) >= 0.0
