"""Strips: rows take whole what may not be joined, and a join must save cloth to be there."""

from __future__ import annotations

import numpy as np
import pytest

from squab.lay._model import build_model
from squab.lay.bound import lower_bound
from squab.lay.handbook import handbook_length
from squab.lay.records import Lattice, LayPiece, LayProblem, LayStrip
from squab.lay.search import _without_idle_joins, search
from squab.lay.verify import verify


def strip(number: int, length_mm: float, *, turn: int = 0, most: int = 6, wide_mm: float = 40.0) -> LayStrip:
    """A plain strip with 12 mm at each end and parts of at least 400 mm."""
    return LayStrip(f"s#{number}.strip", 0.0, length_mm, 0.0, wide_mm, 12.0, 400.0, (turn,), None, most)


def test_rows_take_whole_what_may_not_be_joined() -> None:
    """Six strips of 992 on 1400 mm are six rows where none may be joined, and five by running length where they may."""
    whole = LayProblem("c", 1400.0, Lattice(), (), tuple(strip(k, 968.0, most=1) for k in range(6)))
    joined = LayProblem("c", 1400.0, Lattice(), (), tuple(strip(k, 968.0) for k in range(6)))
    assert handbook_length(whole) == pytest.approx(6 * 40.0)
    assert handbook_length(joined) == pytest.approx(5 * 40.0)


def test_bias_strips_are_cut_in_parts_that_lie_side_by_side() -> None:
    """Long bias strips in one part each would run far along the bolt; cut in equal parts they lie abreast."""
    problem = LayProblem("c", 1350.0, Lattice(), (), tuple(strip(k, 1575.0, turn=45) for k in range(6)))
    lay = search(problem, seconds=30.0, steps=4000)
    assert verify(problem, lay) == ()
    assert lay.length_mm <= 1.25 * lower_bound(problem, seconds=1.0).length_mm


def test_a_join_that_saves_nothing_is_taken_out() -> None:
    """Beside a tall panel a strip in two parts is no shorter than in one: it is laid in one."""
    panel = LayPiece("p#1.top", np.array([(0.0, 0.0), (300.0, 0.0), (300.0, 900.0), (0.0, 900.0)]), (0,))
    problem = LayProblem("c", 1400.0, Lattice(), (panel,), (strip(1, 1000.0),))
    model = build_model(problem)
    state = model.blank_state(np.arange(len(model.keys)))
    first = int(model.strips[0, 5])
    state.lens[first : first + 2] = 500.0
    model.measure(state)
    tidied = _without_idle_joins(model, state)
    assert int((tidied.lens[first:] > 0).sum()) == 1
    assert tidied.length_mm <= state.length_mm
