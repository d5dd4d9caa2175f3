"""Paths, arcs and outlines."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from shapely import Polygon

from squab.errors import OutlineError
from squab.measure import arc_by_rise, d_shape, disc, l_shape, one_eared, rounded_rectangle, trapezoid
from squab.plane import Arc, Line, Outline, Path


def _square(side: float = 100.0) -> Outline:
    p = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)]
    return Outline(tuple(Line(p[i], p[(i + 1) % 4]) for i in range(4)), ("front", "right", "back", "left"))


def _shapes() -> list[Outline]:
    made = [
        rounded_rectangle(560, 510, {"front_left": 60, "back_right": 25}), trapezoid(430, 370, 405, offset_mm=20),
        l_shape(900, 700, 300, 250, radius_mm=20), one_eared(600, 580, 75, 120, ear="left"), disc(360),
        d_shape(400, 120), d_shape(400, 420),
    ]  # fmt: skip
    return [m.value for m in made if m.value is not None]


@pytest.mark.parametrize("outline", _shapes())
def test_length_and_area_are_those_of_a_fine_polygon(outline: Outline) -> None:
    """Exact length and area agree with a polygon library's on 0.001 mm sagittas."""
    polygon = Polygon(outline.flattened(0.001))
    assert polygon.is_valid
    assert outline.area == pytest.approx(polygon.area, rel=2e-5)
    assert outline.length == pytest.approx(polygon.length, rel=2e-5)
    assert outline.bounds() == pytest.approx(polygon.bounds, abs=0.002)


@pytest.mark.parametrize("outline", _shapes())
def test_seam_length_runs_evenly_round(outline: Outline) -> None:
    """A step of seam length is a step of that length, with the tangent along it, all the way round."""
    s = np.linspace(0.0, outline.length, 400, endpoint=False)
    for a in s:
        p, q = outline.point_at(a), outline.point_at(a + 0.01)
        assert math.dist(p, q) <= 0.01 + 1e-9
        assert math.dist(p, q) > 0.0049  # across a corner of 60 degrees or more
    assert math.dist(outline.point_at(0.0), outline.point_at(outline.length)) < 1e-9


@pytest.mark.parametrize("outline", _shapes())
def test_rolled_under_is_the_mirror_image(outline: Outline) -> None:
    """Same length, area and sides; every point (x, -y)."""
    under = outline.rolled_under()
    assert under.length == pytest.approx(outline.length)
    assert under.area == pytest.approx(outline.area)
    assert set(under.side_names()) == set(outline.side_names())
    for s in np.linspace(0.0, outline.length, 50):
        x, y = outline.point_at(outline.length - s)
        assert under.point_at(s) == pytest.approx((x, -y), abs=1e-7)


@pytest.mark.parametrize("outline", _shapes())
def test_parts_of_an_outline_are_as_long_as_asked(outline: Outline) -> None:
    """Also over the start; and they begin and end where the outline is at those lengths."""
    n = outline.length
    for s0, s1 in ((10.0, 200.0), (n - 60, n + 75), (0.0, n), (n - 10, 2 * n - 10)):
        part = outline.part(s0, s1)
        assert part.length == pytest.approx(s1 - s0, abs=1e-6)
        assert part.point_at(0.0) == pytest.approx(outline.point_at(s0), abs=1e-6)
        assert part.point_at(part.length) == pytest.approx(outline.point_at(s1), abs=1e-6)
        back = part.reversed()
        assert back.length == pytest.approx(part.length)
        assert back.point_at(0.0) == pytest.approx(part.point_at(part.length))


def test_a_part_longer_than_the_outline_is_refused() -> None:
    """Nothing can be sewn on past where it began."""
    with pytest.raises(OutlineError):
        _square().part(0.0, 401.0)


def test_sides_are_found_also_over_the_start() -> None:
    """The left side of a rounded rectangle ends at the start; begun in its middle it runs past the perimeter."""
    square = _square()
    assert square.side_ranges("right") == [(100.0, 200.0)]
    assert square.side_at(150.0) == "right"
    moved = Outline((Line((50.0, 0.0), (100.0, 0.0)), *square.edges[1:], Line((0.0, 0.0), (50.0, 0.0))),
                    ("front", "right", "back", "left", "front"))  # fmt: skip
    assert moved.side_ranges("front") == [(350.0, 450.0)]


def test_corners_know_outward_from_inward() -> None:
    """An L has five outward corners and one inward; a disc has none."""
    ell = l_shape(900, 700, 300, 250).value
    round_ = disc(360).value
    assert ell is not None
    assert round_ is not None
    turns = [turn for _, turn in ell.corners()]
    assert sorted(round(math.degrees(t)) for t in turns) == [-90, 90, 90, 90, 90, 90]
    assert sum(turns) == pytest.approx(math.tau)
    assert round_.corners() == []


def test_what_is_no_outline_is_refused() -> None:
    """Open, clockwise, empty or wrongly named runs of edges are wrong use of the program."""
    a, b, c = Line((0, 0), (1, 0)), Line((1, 0), (0, 1)), Line((0, 1), (0, 0))
    with pytest.raises(OutlineError):
        Outline(())
    with pytest.raises(OutlineError):
        Outline((a, b))
    with pytest.raises(OutlineError):
        Outline((c.reversed(), b.reversed(), a.reversed()))
    with pytest.raises(OutlineError):
        Outline((a, b, c), ("one",))
    with pytest.raises(OutlineError):
        Path((a, c))


def test_arc_from_chord_and_rise() -> None:
    """Chord 48, rise 6: radius 51, arc 49.9756 (plane geometry: (c^2/4 + h^2) / 2h)."""
    arc = arc_by_rise((0.0, 0.0), (48.0, 0.0), 6.0)
    assert arc.radius == pytest.approx(51.0, abs=1e-4)
    assert arc.length == pytest.approx(49.9756, abs=1e-4)
    assert arc.point_at(arc.length / 2) == pytest.approx((24.0, -6.0))
    hollow = arc_by_rise((0.0, 0.0), (48.0, 0.0), -6.0)
    assert hollow.point_at(hollow.length / 2) == pytest.approx((24.0, 6.0))
    more_than_half = arc_by_rise((0.0, 0.0), (48.0, 0.0), 40.0)
    assert more_than_half.point_at(more_than_half.length / 2) == pytest.approx((24.0, -40.0))
    assert more_than_half.length > math.pi * more_than_half.radius


def test_an_arc_flattens_within_its_sagitta() -> None:
    """No chord is further than asked from the arc, and the points lie on it."""
    arc = Arc((100.0, 0.0), (0.0, 100.0), (0.0, 0.0))
    points = [*arc.flattened(0.05), arc.end]
    for p, q in itertools.pairwise(points):
        assert math.hypot(*p) == pytest.approx(100.0)
        assert 100.0 - math.hypot((p[0] + q[0]) / 2, (p[1] + q[1]) / 2) <= 0.05


def test_an_arc_the_other_way_is_the_rest_of_the_circle() -> None:
    """A quarter counter-clockwise leaves three quarters clockwise, and reversing keeps the length."""
    arc = Arc((100.0, 0.0), (0.0, 100.0), (0.0, 0.0))
    rest = Arc((100.0, 0.0), (0.0, 100.0), (0.0, 0.0), ccw=False)
    assert arc.sweep == pytest.approx(math.pi / 2)
    assert rest.sweep == pytest.approx(-1.5 * math.pi)
    assert rest.reversed().length == pytest.approx(rest.length)
    assert rest.tangent_at(0.0) == pytest.approx((0.0, -1.0))
