"""What leaves a pattern as it was: lattice, mirrors, half turns; and how a difference is reduced."""

from __future__ import annotations

import math

import numpy as np
import pytest

from squab.cloth import Pattern
from squab.match.congruence import (
    Repeat,
    best_reflection,
    repeat_of,
    stripe_at,
    symmetries,
    ways_that_change,
    wrap,
)
from tests.unit.match.boxcover import printed, stripes


def test_wrap_keeps_the_upper_half_and_drops_the_lower() -> None:
    """A drift lies in (-P/2, P/2]: exactly half a repeat is +P/2."""
    assert wrap(48, 96) == 48
    assert wrap(-48, 96) == 48
    assert wrap(1190, 130) == 20
    assert wrap(-1190, 130) == -20


def test_straight_match_and_half_drop() -> None:
    """C8 (wallcovering trade glossaries): straight, all widths alike; half drop, odd alike, even alike, R/2 apart."""
    straight, dropped = Repeat(340, 320), Repeat(340, 320, 160)
    steps = np.arange(0.0, 1700.0, 340.0)
    for n in range(5):
        assert np.allclose(straight.reduced(steps[n : n + 1], np.zeros(1)), 0)
        _, along = dropped.reduced(steps[n : n + 1], np.array([160.0 if n % 2 else 0.0]))
        assert abs(along[0]) < 1e-9
    p, q = dropped.reduced(np.array([340.0]), np.array([0.0]))
    assert p[0] == pytest.approx(0) and abs(q[0]) == pytest.approx(160)  # noqa: PT018


def test_half_drop_piece_one_repeat_across_lies_half_a_repeat_along() -> None:
    """M6 (definition): Pu 340, Pv 320, half drop: the same pattern stands 160 mm along."""
    repeat = repeat_of(printed(340, 320, 160))
    assert repeat.modulus("q") == pytest.approx(160)
    assert repeat.modulus("p") == 340
    p, q = repeat.reduced(np.array([340.0]), np.array([160.0]))
    assert np.hypot(p, q)[0] < 1e-9


def test_drop_is_reduced_to_the_nearest_lattice_point_not_axis_by_axis() -> None:
    """(90, 150) on a (100, 320 drop 160) lattice is (-10, -10) from a point; axis by axis it would be (-10, 150)."""
    p, q = Repeat(100, 320, 160).reduced(np.array([90.0]), np.array([150.0]))
    assert (p[0], q[0]) == (pytest.approx(-10), pytest.approx(-10))


@pytest.mark.parametrize(("across", "along", "drop"), [(10, 900, 450), (700, 30, 15), (120, 90, 30), (64, 64, 32)])
def test_nearest_lattice_point_against_trying_them_all(across: float, along: float, drop: float) -> None:
    """The reduction agrees with a search over every lattice point near by."""
    rng = np.random.default_rng(7)
    dp, dq = rng.uniform(-2000, 2000, 60), rng.uniform(-2000, 2000, 60)
    p, q = Repeat(across, along, drop).reduced(dp, dq)
    for x, y, rx, ry in zip(dp, dq, p, q, strict=True):
        m = np.arange(math.floor(x / across) - 60, math.ceil(x / across) + 61)
        n = np.round((y - m * drop) / along)
        best = np.hypot(x - m * across, y - m * drop - n * along).min()
        assert math.hypot(rx, ry) == pytest.approx(best, abs=1e-6)


def test_steps_to_level() -> None:
    """A third drop comes back to its level after three repeats across."""
    assert Repeat(100, 90, 30).steps_to_level == 3
    assert Repeat(100, 90, 30).modulus("q") == pytest.approx(30)
    assert Repeat(100, 90, 0).steps_to_level == 1


def test_stripe_has_no_repeat_along_itself() -> None:
    """C10 (upholstery-textile glossary): a stripe has no repeat along itself."""
    assert ways_that_change(stripes(40, 10, 26, 20)) == ("p",)
    assert ways_that_change(Pattern("weft_stripe", None, 60.0)) == ("q",)
    assert ways_that_change(printed(340, 320)) == ("p", "q")
    assert ways_that_change(Pattern()) == ()


def test_even_stripe_reads_the_same_both_ways_from_the_centre_of_its_main_stripe() -> None:
    """C9 (Pacific Northwest Extension, Sewing with Stripes, Checks, and Plaids)."""
    assert stripes(30, 20, 30, 16, colours="abac").is_even
    assert not stripes(40, 10, 26, 20).is_even


def test_symmetries_of_an_even_stripe_are_one_reflection() -> None:
    """Both axes of a repeat give one reflection modulo the lattice: 2 x 40 = 2 x 88 - 96."""
    pattern = stripes(30, 20, 30, 16, colours="abac")
    assert pattern.mirror_axes == (40.0, 88.0)
    found = symmetries(pattern)
    assert [(s.sign_p, s.shift_p % 96) for s in found] == [(1, 0), (-1, 80)]


def test_symmetries_of_a_print() -> None:
    """A mirror and a half turn make four kinds; a mirror cannot live on a quarter drop."""
    pattern = printed(200, 160, 80, mirror_axes=(0.0, 100.0), half_turn_same=True)
    assert {(s.sign_p, s.sign_q) for s in symmetries(pattern)} == {(1, 1), (-1, 1), (-1, -1), (1, -1)}
    assert len(symmetries(printed(200, 160, 40, mirror_axes=(0.0,)))) == 1


def test_best_reflection_of_four_colours_leaves_five_twelfths() -> None:
    """M5 (no mirror axis): 40-10-26-20, four colours: the best shift leaves 41.7 % unmatched."""
    pattern = stripes(40, 10, 26, 20)
    shift, differs = best_reflection(pattern)
    assert differs == pytest.approx(0.417, abs=0.001)
    places = np.arange(0.005, 96, 0.01)
    by_hand = np.mean([stripe_at(pattern, x).colour != stripe_at(pattern, shift - x).colour for x in places[::7]])
    assert by_hand == pytest.approx(differs, abs=0.002)


def test_best_reflection_of_an_even_stripe_leaves_nothing() -> None:
    """M4 (a reflection through an axis is a symmetry): the shift is twice an axis."""
    shift, differs = best_reflection(stripes(30, 20, 30, 16, colours="abac"))
    assert differs == pytest.approx(0)
    assert shift % 96 == pytest.approx(80)
