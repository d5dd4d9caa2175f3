"""What holds a lay: the chain of pieces from its last edge to its cut end."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from squab.cloth import Flaw
from squab.lay.cuts import cut_outlines, way_down_mm, way_left_mm
from squab.lay.holding import what_holds
from squab.lay.records import Lattice, Lay, LayPhase, LayPiece, LayProblem, Placed
from squab.lay.search import search
from tests.unit.lay._jobs import rectangle


def box(key: str, width: float, height: float, *, at: float | None = None, group: str = "g") -> LayPiece:
    """A rectangle, matched along the cloth where `at` is given."""
    phase = None if at is None else LayPhase(group, None, at)
    return LayPiece(key, rectangle(width, height), (0,), phase)


def test_a_piece_waits_for_the_next_whole_repeat() -> None:
    # the first takes 0 to 50 of a repeat of 80; the next of its place begins at 80: 30 are left free
    problem = LayProblem("c", 100.0, Lattice(None, 80.0), (box("a", 100, 50, at=0), box("b", 100, 50, at=0)))
    lay = Lay((Placed("a", 0, 0, 0), Placed("b", 0, 0, 80)), {"g": (0.0, 0.0)}, (0.0, 0.0), 130.0)
    held = what_holds(problem, lay)
    assert held.ends == (1,)
    assert [(h.key, h.by, h.on, h.waits_mm) for h in held.chain] == [
        ("b", "pattern", 0, 30.0),
        ("a", "cut end", None, 0),
    ]
    assert held.waits_mm == 30.0


def test_plain_pieces_stand_on_one_another_with_the_gap_between() -> None:
    problem = LayProblem("c", 100.0, Lattice(), (box("a", 60, 50), box("b", 40, 70), box("c", 90, 20)), gap_mm=3.0)
    lay = Lay((Placed("a", 0, 0, 0), Placed("b", 0, 60, 0), Placed("c", 0, 0, 73)), {}, (0.0, 0.0), 93.0)
    held = what_holds(problem, lay)
    assert [(h.key, h.by, h.on) for h in held.chain] == [("c", "piece", 1), ("b", "cut end", None)]
    assert sum(h.to_mm - h.from_mm for h in held.chain) + 3.0 == lay.length_mm


def test_a_stripe_holds_across_and_a_flaw_from_below() -> None:
    piece = LayPiece("a", rectangle(40, 50), (0,), LayPhase("g", 0.0, None))
    problem = LayProblem("c", 100.0, Lattice(30.0), (piece,), flaws=(Flaw(0, 0, 100, 12, "slub"),))
    held = what_holds(problem, Lay((Placed("a", 0, 30, 12),), {"g": (0.0, 0.0)}, (0.0, 0.0), 62.0))
    assert [(h.by, h.on, h.aside_mm) for h in held.chain] == [("flaw", None, 30.0)]


def test_slanted_edges_meet_where_they_would_touch() -> None:
    wedge = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 50.0)])  # rises to the right
    square = rectangle(20, 20)
    assert way_down_mm(square + np.array((0, 100)), wedge) == pytest.approx(90.0, abs=1e-5)
    assert way_down_mm(square + np.array((80, 100)), wedge) == pytest.approx(50.0, abs=1e-5)
    assert way_left_mm(square + np.array((130, 10)), wedge) == pytest.approx(30.0, abs=1e-5)
    assert way_down_mm(square + np.array((100, 100)), wedge) == np.inf


def test_nothing_laid_holds_nothing() -> None:
    held = what_holds(LayProblem("c", 100.0, Lattice(), ()), Lay((), {}, (0.0, 0.0), 0.0))
    assert not held.ends
    assert not held.chain


@settings(max_examples=15, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.integers(20, 90), st.integers(20, 90)), min_size=1, max_size=7),
    repeat=st.sampled_from([None, 70.0]),
    gap=st.sampled_from([0.0, 3.0]),
)
def test_the_heights_gaps_and_waits_of_a_chain_add_up_to_the_length(
    sizes: list[tuple[int, int]], repeat: float | None, gap: float
) -> None:
    at = None if repeat is None else 5.0
    pieces = tuple(box(f"p{k}", w, h, at=at) for k, (w, h) in enumerate(sizes))
    problem = LayProblem("c", 100.0, Lattice(None, repeat), pieces, gap_mm=gap, pattern_at=(0.0, 0.0))
    lay = search(problem, seconds=5.0, steps=60)
    chain = what_holds(problem, lay).chain
    assert chain[-1].on is None
    told = sum(h.to_mm - h.from_mm for h in chain) + sum(h.waits_mm for h in chain) + gap * (len(chain) - 1)
    assert told == pytest.approx(lay.length_mm, abs=len(chain) * 0.5)
    assert all(h.by != "nothing" for h in chain)
    assert len(cut_outlines(problem, lay)) == len(sizes)
