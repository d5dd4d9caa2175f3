"""Stripes, their mirror axes, bolts as measured and shrinkage."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from squab.cloth import Bolt, Cloth, Flaw, Pattern, Stripe, stripe_axes


def _layout(*parts: tuple[float, str]) -> tuple[Stripe, ...]:
    return tuple(Stripe(w, c) for w, c in parts)


def test_an_even_stripe_has_its_axes() -> None:
    """30-20-30-16 with the first and third alike: axes at 40 and 88 from the first edge (worked by hand)."""
    assert stripe_axes(_layout((30, "a"), (20, "b"), (30, "a"), (16, "c"))) == (40.0, 88.0)


def test_four_colours_have_no_axis() -> None:
    """40-10-26-20 in four colours reads differently both ways (worked by hand)."""
    assert stripe_axes(_layout((40, "a"), (10, "b"), (26, "c"), (20, "d"))) == ()


def test_even_means_the_same_both_ways_from_the_centre_of_the_main_stripe() -> None:
    """Pacific Northwest Extension, Sewing with Stripes, Checks, and Plaids: the same sequence from the centre."""
    assert stripe_axes(_layout((40, "a"), (10, "b"), (20, "c"), (10, "b"))) == (20.0, 60.0)
    assert stripe_axes(_layout((40, "a"), (10, "b"), (20, "c"), (12, "b"))) == ()


def test_two_stripes_are_always_even() -> None:
    """An awning stripe has an axis in the middle of each colour."""
    assert stripe_axes(_layout((30, "a"), (50, "b"))) == (15.0, 55.0)


def test_neighbours_of_one_colour_are_one_stripe() -> None:
    """Also across the end of the repeat: 10 a, 20 b, 10 c, 20 b, 10 a is a 20 wide a."""
    assert stripe_axes(_layout((10, "a"), (20, "b"), (10, "c"), (20, "b"), (10, "a"))) == (0.0, 35.0)
    assert stripe_axes(_layout((10, "a"), (10, "a"))) == ()
    assert stripe_axes(()) == ()


@pytest.mark.parametrize("shift", range(4))
def test_axes_are_mirror_axes_of_the_colours(shift: int) -> None:
    """Colours read from an axis leftward and rightward agree, wherever the layout is begun."""
    parts = [(30.0, "a"), (20.0, "b"), (30.0, "a"), (16.0, "c")]
    stripes = _layout(*parts[shift:], *parts[:shift])

    def colour(u: float) -> str:
        u %= 96
        for s in stripes:
            if u < s.width_mm:
                return s.colour
            u -= s.width_mm
        raise AssertionError("beyond the repeat")

    axes = stripe_axes(stripes)
    assert len(axes) == 2
    for axis in axes:
        assert all(colour(axis + d + 0.25) == colour(axis - d - 0.25) for d in range(96))


def test_colour_edges() -> None:
    """Edges stand where the colour changes, not between neighbours of one colour."""
    pattern = Pattern("warp_stripe", 70.0, stripes=_layout((10, "a"), (20, "b"), (10, "b"), (30, "c")))
    assert pattern.stripe_edges == (0.0, 10.0, 40.0)
    assert pattern.narrowest_stripe_mm == 10.0


def test_a_stripe_has_no_repeat_along_itself() -> None:
    """Vertical and horizontal repeat are separate numbers; a stripe has one (an upholstery-textile glossary)."""
    stripe = Pattern("warp_stripe", 96.0)
    assert stripe.changes_across
    assert not stripe.changes_along


def test_the_repeat_as_measured_scales_the_whole_pattern() -> None:
    """A label's 96 that measures 94.08 (2 % short) takes stripes, axes and named lines along."""
    stripes = _layout((30, "a"), (20, "b"), (30, "a"), (16, "c"))
    pattern = Pattern("warp_stripe", 96.0, stripes=stripes, mirror_axes=(40.0, 88.0), lines=(("centre of b", 40.0),))
    cloth = Cloth("x", "x", 1370.0, pattern, bolt=Bolt(repeat_across_mm=94.08)).as_measured()
    assert sum(s.width_mm for s in cloth.pattern.stripes) == pytest.approx(94.08)
    assert cloth.pattern.mirror_axes == pytest.approx((39.2, 86.24))
    assert cloth.pattern.line_mm("centre of b") == pytest.approx(39.2)
    assert cloth.pattern.stripe_edges == pytest.approx((0.0, 29.4, 49.0, 78.4))


def test_a_drop_as_measured_follows_the_repeat_along() -> None:
    """Half of a 640 that measures 634 is 317."""
    cloth = Cloth("x", "x", 1370.0, Pattern("print", 685.0, 640.0, 320.0), bolt=Bolt(repeat_along_mm=634.0))
    measured = cloth.as_measured().pattern
    assert (measured.repeat_along_mm, measured.drop_mm, measured.repeat_across_mm) == (634.0, 317.0, 685.0)


def test_an_unmeasured_bolt_changes_nothing() -> None:
    """The label's repeat stands until it is measured."""
    cloth = Cloth("x", "x", 1370.0, Pattern("print", 685.0, 640.0), bolt=Bolt(length_mm=3000.0))
    assert cloth.as_measured() is cloth


def test_cut_so_that_it_finishes_after_shrinking() -> None:
    """600 mm at -3.0 % (AATCC 135, ISO 5077 turned round) is cut 618.557, not 618.0."""
    cloth = Cloth("x", "x", 1370.0, shrink_warp_pct=3.0, shrink_weft_pct=1.0, shrinks_after_cutting=True)
    across, along = cloth.cut_scale
    assert 600 * along == pytest.approx(618.557, abs=0.001)
    assert pytest.approx(339.5) == 350 * (1 - 0.03)
    assert 600 * across == pytest.approx(606.061, abs=0.001)
    assert replace(cloth, shrinks_after_cutting=False).cut_scale == (1.0, 1.0)


def test_a_round_flaw_is_kept_clear_of_whole() -> None:
    """Its figure touches the circle at the ends of both axes, and no edge of it cuts in."""
    flaw = Flaw.disc(500.0, 900.0, 60.0, "burn")
    box = (flaw.u0_mm, flaw.v0_mm, flaw.u1_mm, flaw.v1_mm)
    assert box == pytest.approx((440.0, 840.0, 560.0, 960.0))
    corners = [(u - 500.0, v - 900.0) for u, v in flaw.corners]
    edges = list(zip(corners, (*corners[1:], corners[0]), strict=True))
    assert min(math.hypot((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in edges) == pytest.approx(60.0)
    assert max(math.hypot(u, v) for u, v in corners) < 60.14


def test_a_flaw_turned_over_and_scaled_keeps_its_shape() -> None:
    """A right-angled corner of 30 by 20 at the left edge, on cloth 1000 wide, seen from the back."""
    flaw = Flaw.outlined([(0.0, 20.0), (30.0, 0.0), (0.0, 0.0)], "tear")
    assert flaw.corners == ((0.0, 0.0), (30.0, 0.0), (0.0, 20.0))
    back = flaw.turned_over(1000.0)
    assert (back.u0_mm, back.u1_mm) == (970.0, 1000.0)
    assert set(back.corners) == {(1000.0, 0.0), (970.0, 0.0), (1000.0, 20.0)}
    assert back.turned_over(1000.0).corners[::1] == flaw.corners
    half = flaw.scaled(0.5, 2.0)
    assert (half.u1_mm, half.v1_mm, half.corners[1]) == (15.0, 40.0, (15.0, 0.0))
