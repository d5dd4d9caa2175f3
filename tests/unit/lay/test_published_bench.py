"""The bench cushion of a public question-and-answer thread, 32 5/8 x 14 5/8 x 3 in on cloth of 45 in."""

from __future__ import annotations

import pytest

from squab.lay.records import Lattice, LayPiece, LayProblem
from squab.lay.search import search
from squab.lay.verify import verify
from tests.unit.lay._jobs import rectangle

IN = 25.4
PIECES = ((33.875, 15.875, 2), (33.875, 4.25, 1), (15.875, 4.25, 2), (33.875, 3.0, 2))
"""As printed: panels, front boxing, side boxing, two zip strips; allowance 5/8."""


@pytest.mark.parametrize(("turns", "inches"), [((0,), 46.25), ((0, 90), 36.0)])
def test_the_lay_is_the_least_there_is(turns: tuple[int, ...], inches: float) -> None:
    """46 1/4 in is published and least without turning; 36.000 in with quarter turns (constraint programming)."""
    pieces = tuple(
        LayPiece(f"{i}#{k}", rectangle(w * IN, h * IN), turns)
        for i, (w, h, count) in enumerate(PIECES)
        for k in range(count)
    )
    problem = LayProblem("plain", 45 * IN, Lattice(), pieces)
    lay = search(problem, seconds=20, steps=4000)
    assert verify(problem, lay) == ()
    assert lay.length_mm / IN == pytest.approx(inches, abs=1e-6)
