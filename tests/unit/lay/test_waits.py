"""What pieces take along the cloth with the waits for their place on a repeat."""

from __future__ import annotations

import pytest

from benchmarks.unseen import jobs as unseen
from squab.lay._waits import LEAST, Way, with_waits
from squab.lay.problem import problem_from_record
from squab.lay.search import search
from squab.lay.verify import verify

MANY = (1000,)


@pytest.mark.parametrize(("high_mm", "takes_mm"), [(84.0, 200.0), (200.0, 200.0), (310.0, 400.0), (199.0, 200.0)])
def test_pieces_of_one_place_take_whole_repeats(high_mm: float, takes_mm: float) -> None:
    """By hand: one behind another, each waits until its place comes by again."""
    (factor,) = with_waits((((500.0, high_mm, 30.0),),), MANY, 200.0, 1000.0)
    assert factor * high_mm == pytest.approx(takes_mm, rel=1e-3)


def test_what_fills_a_wait_shares_it() -> None:
    """84 mm and 116 mm fill a repeat of 200 mm, so together they take no more, and each at least something."""
    kinds: tuple[tuple[Way, ...], ...] = (((500.0, 84.0, 0.0),), ((500.0, 116.0, None),))
    a, b = with_waits(kinds, (1000, 1000), 200.0, 1000.0)
    assert 84 * a + 116 * b == pytest.approx(200.0, rel=1e-3)
    assert min(a, b) >= LEAST


def test_nothing_waits_that_may_lie_anywhere() -> None:
    assert with_waits((((500.0, 84.0, None), (84.0, 500.0, None)),), MANY, 200.0, 1000.0) == pytest.approx([1.0])


def test_an_odd_repeat_and_sizes_are_priced_too() -> None:
    """A repeat of 5 1/3 in and sizes in eighths stand on no whole millimetre."""
    repeat = 25.4 * 16 / 3
    (factor,) = with_waits((((500.0, 88.9, 3.175),),), MANY, repeat, 1000.0)
    assert factor * 88.9 == pytest.approx(repeat, rel=0.02)


def test_weft_bands_leave_no_tail_of_narrow_pieces() -> None:
    """With worth by area alone the fronts came last, each a repeat apart: 17,332 mm."""
    problem = problem_from_record(unseen(52)[10])
    lay = search(problem, seconds=60, seed=1, steps=8_000)
    assert verify(problem, lay) == ()
    assert lay.length_mm < 17_150.0
