"""Developed surfaces, curves and filled bags against published figures."""

from __future__ import annotations

import math

import pytest

from squab.construct import develop
from squab.construct.snips import clip_opens_mm
from squab.measure.shapes import disc, l_shape, rectangle, rounded_rectangle
from squab.plane import Outline, offset_outline


def test_frustum_d1() -> None:
    """D1: rule of a school mathematics answer service; inputs of another such answer, computed."""
    f = develop.frustum(200, 40, 210)
    assert f.slant_mm == pytest.approx(264.008, abs=0.001)
    assert (f.outer_mm, f.inner_mm) == pytest.approx((330.010, 66.002), abs=0.001)
    assert f.angle_deg == pytest.approx(218.176, abs=0.001)
    assert f.area_mm2 == pytest.approx(199057.02, abs=0.01)


def test_frustum_d2() -> None:
    """D2: Longfield, Sheet Metal Drafting (1921) p. 128."""
    f = develop.frustum(3, 1.5, 3)
    assert (f.slant_mm, f.outer_mm, f.inner_mm) == pytest.approx((3.3541, 6.7082, 3.3541), abs=1e-4)
    assert f.angle_deg == pytest.approx(160.997, abs=0.001)
    assert (f.outer_arc_mm, f.inner_arc_mm) == pytest.approx((18.850, 9.425), abs=0.001)


def test_cone_d3() -> None:
    """D3: Longfield, the same, p. 82."""
    f = develop.cone_by_slant(2.5, 12)
    assert f.angle_deg == pytest.approx(75.0)
    assert f.outer_arc_mm == pytest.approx(15.708, abs=0.001)
    assert f.area_mm2 == pytest.approx(94.248, abs=0.001)


def test_ruling_d4() -> None:
    """D4: Coey, Pattern Development (open textbook), chapter 24."""
    assert develop.true_length_mm(3, 4) == 5
    assert develop.true_length_mm(0, 4) == 4


def test_bevelled_corner_d5() -> None:
    """D5, derived: a quarter of D1's frustum turns through 54.544 degrees."""
    assert develop.frustum(200, 40, 210, 90).angle_deg == pytest.approx(54.544, abs=0.001)


def test_frustum_laws_d6() -> None:
    """D6, derived: developed arcs equal the seam lines; strips grow to the area from below."""
    f = develop.frustum(200, 40, 210)
    assert f.outer_arc_mm == pytest.approx(math.tau * 200)
    assert f.inner_arc_mm == pytest.approx(math.tau * 40)
    areas = [develop.strips_area_mm2(200, 40, 210, n) for n in (16, 64, 256)]
    assert areas == sorted(areas)
    assert areas[-1] < f.area_mm2
    assert areas[-1] == pytest.approx(f.area_mm2, rel=1e-4)


def test_frustum_needs_a_taper() -> None:
    with pytest.raises(ValueError, match="rectangle"):
        develop.frustum(40, 40, 210)


def test_g5_frustum_net() -> None:
    """G5: a school geometry page on nets of a frustum: radii 7.12 and 11.39, 126.4 degrees."""
    f = develop.frustum(4, 2.5, 4)
    assert f.slant_mm == pytest.approx(4.272, abs=0.001)
    assert (f.inner_mm, f.outer_mm) == pytest.approx((7.12, 11.39), abs=0.01)
    assert f.angle_deg == pytest.approx(126.4, abs=0.1)


def test_bolster_k6() -> None:
    """K6, derived: 8 x 24 with SA 1/2: body 26.133 x 25, ends 9."""
    b = develop.bolster(8, 24).cut(0.5)
    assert (b.girth_mm, b.length_mm, b.end_mm) == pytest.approx((26.133, 25, 9), abs=0.001)


def test_wedge_k7_and_bevel_k8() -> None:
    """K7, K8, derived."""
    assert develop.wedge_slope_mm(6, 2, 18) == pytest.approx(18.439, abs=0.001)
    assert develop.bevel_mm(18, 20, 3) == pytest.approx((3.1623, 3.3166), abs=1e-4)


def _outline(found: object) -> Outline:
    value = found.value  # type: ignore[attr-defined]
    assert isinstance(value, Outline)
    return value


def test_offsets_g1_to_g4() -> None:
    """G1 Steiner's formula (a lecture note on parallel curves); G2 to G4 derived."""
    assert develop.parallel_curve_mm(100, 0.5) == pytest.approx(103.1416, abs=1e-4)
    moved = offset_outline(_outline(rectangle(20, 30)), 0.5)
    assert (moved.length, moved.area) == pytest.approx((104, 651))
    ell = _outline(l_shape(60, 60, 30, 30))
    moved = offset_outline(ell, 0.5)
    assert (ell.length, ell.area, moved.length, moved.area) == pytest.approx((240, 2700, 244, 2821))
    rounded = _outline(rounded_rectangle(20, 30, 2))
    assert (rounded.length, rounded.area) == pytest.approx((96.566, 596.566), abs=0.001)


def test_ring_is_measured_on_the_seam_k5() -> None:
    """K5, derived: an 18 in round pad is 56.549 round; its cut edge at SA 1/2 is 59.690, 2 pi SA too long."""
    pad = _outline(disc(18))
    assert pad.length == pytest.approx(56.549, abs=0.001)
    assert offset_outline(pad, 0.5).length == pytest.approx(59.690, abs=0.001)
    assert develop.parallel_curve_mm(pad.length, 0.5) == pytest.approx(59.690, abs=0.001)


def test_arc_from_rise_g6() -> None:
    """G6, derived: chord 48, rise 6: radius 51, arc 49.9756."""
    assert develop.arc_from_rise_mm(48, 6) == pytest.approx((51, 49.9756), abs=1e-4)


def test_ellipse_g7() -> None:
    """G7, derived two ways: numerically, and by Ramanujan's second formula."""
    a, b = 10.0, 6.0
    h = ((a - b) / (a + b)) ** 2
    ramanujan = math.pi * (a + b) * (1 + 3 * h / (10 + math.sqrt(4 - 3 * h)))
    assert develop.ellipse_mm(a, b) == pytest.approx(51.0540, abs=1e-4)
    assert develop.ellipse_mm(a, b) == pytest.approx(ramanujan, abs=1e-4)


def test_full_pouch_g8_to_g10() -> None:
    """G8 to G10: an online encyclopedia's article on the two-disc balloon (Paulsen, 1994, from memory)."""
    radius, thickness, volume = develop.full_pouch(1.0)
    assert 1 / radius == pytest.approx(1.3110287771, abs=1e-6)
    assert thickness / 2 == pytest.approx(0.456947, abs=1e-6)
    assert thickness == pytest.approx(2 * 0.5990701173 * radius, abs=1e-6)
    assert volume == pytest.approx(1.218524, abs=1e-6)


def test_rectangular_bag_g11_to_g13() -> None:
    """G11, G12: an article on the paper bag problem (Robin's formula; bounds by Kepert). G13 derived."""
    assert develop.bag_volume_mm3(1, 1) == pytest.approx(0.19051, rel=1e-4)
    assert develop.bag_volume_mm3(18, 18) == pytest.approx(1111.05, rel=1e-4)
    assert develop.bag_volume_mm3(18, 12) == pytest.approx(587.44, rel=1e-4)
    assert develop.bag_volume_mm3(1, 1) < 0.2055
    assert develop.long_bag_diameter_mm(1) == pytest.approx(0.6366, abs=1e-4)


def test_clips_open_g14() -> None:
    """G14, derived: radius 4, SA 0.5, spacing 0.5: each clip opens 0.0625."""
    assert clip_opens_mm(0.5, 0.5, 4) == pytest.approx(0.0625)
