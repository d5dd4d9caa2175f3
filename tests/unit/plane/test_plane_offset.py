"""Offsets by a seam allowance, against Steiner's formula and a polygon library."""

from __future__ import annotations

import math

import pytest
from shapely import Polygon

from squab.errors import OutlineError
from squab.measure import Step, d_shape, disc, l_shape, one_eared, rectangle, rounded_rectangle, run, t_shape, trapezoid
from squab.plane import Arc, Outline, offset_outline


def _some(outline: Outline | None) -> Outline:
    assert outline is not None
    return outline


def test_round_cornered_offset_is_steiners() -> None:
    """Steiner's formula (a lecture note on parallel curves): 20 x 30 by 0.5 gives P 103.1416, A 650.7854."""
    grown = _some(rounded_rectangle(21, 31, 0.5).value)
    assert grown.length == pytest.approx(100 + 2 * math.pi * 0.5, abs=1e-4)
    assert grown.length == pytest.approx(103.1416, abs=1e-4)
    assert grown.area == pytest.approx(650.7854, abs=1e-4)


def test_mitred_offset_of_a_rectangle() -> None:
    """20 x 30 by 0.5 with mitred corners (plane geometry): P 104, A 651."""
    grown = offset_outline(_some(rectangle(20, 30).value), 0.5)
    assert grown.length == pytest.approx(104)
    assert grown.area == pytest.approx(651)


def test_mitred_offset_of_an_l() -> None:
    """60 x 60 less 30 x 30 by 0.5 (plane geometry, net four right angles): P 240 to 244, A 2700 to 2821."""
    ell = _some(l_shape(60, 60, 30, 30).value)
    grown = offset_outline(ell, 0.5)
    assert (ell.length, ell.area) == pytest.approx((240, 2700))
    assert (grown.length, grown.area) == pytest.approx((244, 2821))


def test_rounded_rectangle() -> None:
    """20 x 30 with corners of radius 2 (plane geometry): P 96.566, A 596.566."""
    shape = _some(rounded_rectangle(20, 30, 2).value)
    assert shape.length == pytest.approx(96.566, abs=0.001)
    assert shape.area == pytest.approx(596.566, abs=0.001)


def test_a_ring_is_measured_on_the_seam_line() -> None:
    """18 in round, allowance 1/2 (Steiner): 56.549 in at the seam; the cut edge is 2 pi SA = 3.142 longer."""
    seam = _some(disc(18).value)
    cut = offset_outline(seam, 0.5)
    assert seam.length == pytest.approx(56.549, abs=0.001)
    assert cut.length == pytest.approx(59.690, abs=0.001)
    assert cut.length - seam.length == pytest.approx(2 * math.pi * 0.5)


def _many() -> list[Outline]:
    hollow = run(
        [Step("front", 700, 90, rise_mm=-40), Step("right", 500, 90), Step("back", 700, 90, rise_mm=60), Step("left")]
    )
    bay = run([Step("front", 1100, 112.5), Step("right", 490, 67.5), Step("back", 1475, 67.5), Step("left")])
    made = [
        rectangle(560, 510), rounded_rectangle(560, 510, 60), rounded_rectangle(560, 510, {"front_left": 60}),
        trapezoid(430, 370, 405), trapezoid(300, 700, 200, offset_mm=100),
        l_shape(900, 700, 300, 250, out_corner="front_left"),
        t_shape(600, 580, 75, 120, radius_mm=15), one_eared(600, 580, 75, 120, ear="right"), d_shape(400, 120),
        d_shape(400, 420), hollow, bay,
    ]  # fmt: skip
    return [_some(m.value) for m in made]


@pytest.mark.parametrize("outline", _many())
@pytest.mark.parametrize("allowance", [12.0, -9.0])
def test_an_offset_is_the_polygon_librarys_mitred_buffer(outline: Outline, allowance: float) -> None:
    """GEOS's mitred buffer of a fine polygon covers the same ground, to the polygon's own fineness.

    Where an arc meets a corner ours is carried on as an arc and the polygon's as a straight, which
    on these shapes is less than 20 mm2 apart.
    """
    ours = Polygon(offset_outline(outline, allowance).flattened(0.002))
    theirs = Polygon(outline.flattened(0.002)).buffer(allowance, join_style="mitre", mitre_limit=4.0)
    assert ours.is_valid
    apart = 20.0 if outline.corners() and any(isinstance(e, Arc) for e in outline.edges) else 0.0
    assert ours.symmetric_difference(theirs).area < 2e-5 * theirs.area + apart


@pytest.mark.parametrize("outline", _many())
def test_an_offset_keeps_sides_and_returns(outline: Outline) -> None:
    """Out by an allowance and in again is the seam line; the sides keep their names and whether they are seen."""
    cut = offset_outline(outline, 12.0)
    again = offset_outline(cut, -12.0)
    assert cut.side_names() == outline.side_names()
    assert again.length == pytest.approx(outline.length, abs=1e-6)
    assert again.area == pytest.approx(outline.area, abs=1e-3)
    assert all(cut.is_seen(s) == outline.is_seen(s) for s in outline.side_names())


def test_a_sharp_corner_is_blunted() -> None:
    """A corner of 20 degrees would run out to nearly six allowances; it is cut off at four."""
    sharp = _some(run([Step("front", 1000, 160), Step("right", 1000, 100), Step("left")]).value)
    cut = offset_outline(sharp, 10.0)
    reach = max(math.dist(p, (1000.0, 0.0)) for p in map(tuple, cut.flattened()) if p[0] > 1000)
    assert 40.0 <= reach < 41.0
    assert len(cut.edges) == 4


def test_an_offset_that_uses_an_edge_up_is_refused() -> None:
    """Half the depth cannot be taken off both sides, nor more than a corner's radius off a round."""
    with pytest.raises(OutlineError):
        offset_outline(_some(rectangle(100, 40).value), -20.5)
    with pytest.raises(OutlineError):
        offset_outline(_some(rounded_rectangle(100, 80, 10).value), -12.0)
    with pytest.raises(OutlineError):
        offset_outline(_some(disc(40).value), -20.0)


def test_an_arc_that_is_used_up_is_refused() -> None:
    """A shallow round end between straights vanishes before its radius does."""
    shape = _some(
        run([Step("front", 60, 90, rise_mm=3), Step("right", 400, 90), Step("back", 60, 90), Step("left")]).value
    )
    with pytest.raises(OutlineError):
        offset_outline(shape, -31.0)


def test_no_offset_is_the_outline_itself() -> None:
    """Nought moves nothing."""
    shape = _some(rectangle(100, 40).value)
    assert offset_outline(shape, 0.0) is shape
