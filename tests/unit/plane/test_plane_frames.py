"""Placements: turned, then shifted, never mirrored."""

from __future__ import annotations

import math

import numpy as np
import pytest

from squab.measure import one_eared
from squab.plane import Placement, cos_sin


@pytest.mark.parametrize(
    ("turn", "expected"),
    [
        (0, (1.0, 0.0)), (90, (0.0, 1.0)), (180, (-1.0, 0.0)), (270, (0.0, -1.0)), (-90, (0.0, -1.0)),
        (450, (0.0, 1.0)),
    ],
)  # fmt: skip
def test_quarter_turns_are_exact(turn: int, expected: tuple[float, float]) -> None:
    """No rounding creeps in at the turns that cloth allows."""
    assert cos_sin(turn) == expected


def test_a_bias_turn() -> None:
    """45 degrees has equal cosine and sine."""
    assert cos_sin(45) == pytest.approx((math.sqrt(0.5), math.sqrt(0.5)))


@pytest.mark.parametrize("turn", [0, 45, 90, 135, 180, 270])
def test_a_placed_outline_is_congruent(turn: float) -> None:
    """Area, length and handedness survive; points and outline agree; the way back is exact."""
    outline = one_eared(600, 580, 75, 120, ear="left").value
    assert outline is not None
    placement = Placement(turn, 37.5, -12.25)
    placed = placement.outline(outline)
    assert placed.area == pytest.approx(outline.area)
    assert placed.length == pytest.approx(outline.length)
    assert np.allclose(placed.flattened(), placement.points(outline.flattened()))
    for p in map(tuple, outline.flattened()):
        assert placement.local(placement.point(p)) == pytest.approx(p)
