"""Surfaces developed flat: frusta, bevelled corners, wedges, bolsters; curves and filled bags.

Angles are degrees. A developed arc is as long as the seam line it is sewn to.
"""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Frustum:
    """The flat development of a cone's frustum: a sector of a ring. A whole cone has inner radius 0."""

    slant_mm: float
    outer_mm: float
    inner_mm: float
    angle_deg: float

    @property
    def area_mm2(self) -> float:
        """Area of the sector."""
        return math.radians(self.angle_deg) / 2 * (self.outer_mm**2 - self.inner_mm**2)

    @property
    def outer_arc_mm(self) -> float:
        """Length of the outer arc."""
        return math.radians(self.angle_deg) * self.outer_mm

    @property
    def inner_arc_mm(self) -> float:
        """Length of the inner arc."""
        return math.radians(self.angle_deg) * self.inner_mm


def frustum(large_radius_mm: float, small_radius_mm: float, height_mm: float, turn_deg: float = 360.0) -> Frustum:
    """Develop a frustum, or the part of one that turns through `turn_deg` in plan (a bevelled corner).

    Slant s = sqrt(h^2 + (R - r)^2), outer radius s R / (R - r), angle turn R / outer radius.

    Raises
    ------
    ValueError
        If the radii do not differ: a cylinder develops to a rectangle.
    """
    if large_radius_mm <= small_radius_mm:
        raise ValueError("the larger radius must be larger; a cylinder develops to a rectangle")
    slant = math.hypot(height_mm, large_radius_mm - small_radius_mm)
    outer = slant * large_radius_mm / (large_radius_mm - small_radius_mm)
    return Frustum(slant, outer, outer - slant, turn_deg * large_radius_mm / outer)


def cone_by_slant(radius_mm: float, slant_mm: float) -> Frustum:
    """Develop a whole cone from its base radius and slant."""
    return Frustum(slant_mm, slant_mm, 0.0, 360.0 * radius_mm / slant_mm)


def true_length_mm(plan_mm: float, height_mm: float) -> float:
    """True length of a ruling, from its length in plan and its height."""
    return math.hypot(plan_mm, height_mm)


def strips_area_mm2(large_radius_mm: float, small_radius_mm: float, height_mm: float, strips: int) -> float:
    """Area of a frustum by inscribed flat strips, which grows to the developed area from below."""
    half = math.pi / strips
    wide, narrow = 2 * large_radius_mm * math.sin(half), 2 * small_radius_mm * math.sin(half)
    tall = math.hypot(height_mm, (large_radius_mm - small_radius_mm) * math.cos(half))
    return strips * (wide + narrow) / 2 * tall


@dataclass(frozen=True, slots=True)
class Bolster:
    """A bolster at its seam size: the body's girth and length, the diameter of its ends."""

    girth_mm: float
    length_mm: float
    end_mm: float

    def cut(self, allowance_mm: float) -> Bolster:
        """The cut sizes: an allowance on every edge."""
        return Bolster(
            self.girth_mm + 2 * allowance_mm, self.length_mm + 2 * allowance_mm, self.end_mm + 2 * allowance_mm
        )


def bolster(diameter_mm: float, length_mm: float) -> Bolster:
    """A bolster's seam sizes; the girth is taken on the seam line of the ends."""
    return Bolster(math.pi * diameter_mm, length_mm, diameter_mm)


def wedge_slope_mm(back_mm: float, front_mm: float, depth_mm: float) -> float:
    """Length of the sloping top of a wedge, which is the length of its top panel."""
    return math.hypot(depth_mm, back_mm - front_mm)


def bevel_mm(top_mm: float, bottom_mm: float, height_mm: float) -> tuple[float, float]:
    """Slant height and corner edge of bevelled boxing between two squares of unlike size."""
    inset = (bottom_mm - top_mm) / 2
    return math.hypot(height_mm, inset), math.hypot(height_mm, inset * math.sqrt(2))


def arc_from_rise_mm(chord_mm: float, rise_mm: float) -> tuple[float, float]:
    """Radius and length of the arc over a chord with a rise at its middle."""
    radius = (chord_mm**2 / 4 + rise_mm**2) / (2 * rise_mm)
    half = math.atan2(chord_mm / 2, radius - rise_mm)
    return radius, 2 * half * radius


def ellipse_mm(half_width_mm: float, half_depth_mm: float, sides: int = 4096) -> float:
    """Perimeter of an ellipse, by the trapezium rule on its speed, which is exact to rounding for smooth loops."""
    step = math.tau / sides
    speeds = (math.hypot(half_width_mm * math.sin(i * step), half_depth_mm * math.cos(i * step)) for i in range(sides))
    return sum(speeds) * step


def full_pouch(flat_radius_mm: float) -> tuple[float, float, float]:
    """Radius, thickness and volume of a round pouch of two discs, filled full.

    The profile is the inflated balloon's; with r the filled radius and a the flat one,
    a = r times the integral of 1 / sqrt(1 - t^4), and the volume is 2/3 pi a r^2.
    """
    quarter = _gamma_ratio()
    radius = flat_radius_mm / quarter
    thickness = 2 * radius * _lemniscate_height()
    return radius, thickness, 2 / 3 * math.pi * flat_radius_mm * radius**2


def _gamma_ratio() -> float:
    """Integral of 1 / sqrt(1 - t^4) from 0 to 1: sqrt(pi) G(5/4) / G(3/4)."""
    return math.sqrt(math.pi) * math.gamma(1.25) / math.gamma(0.75)


def _lemniscate_height() -> float:
    """Integral of t^2 / sqrt(1 - t^4) from 0 to 1: sqrt(pi) G(7/4) / (3 G(5/4))."""
    return math.sqrt(math.pi) * math.gamma(1.75) / (3 * math.gamma(1.25))


def bag_volume_mm3(width_mm: float, length_mm: float) -> float:
    """Approximate volume of a sealed rectangular bag; falls a little under the true most.

    w^3 (h / (pi w) - 0.142 (1 - 10^(-h / w))), w the shorter side.
    """
    w, h = min(width_mm, length_mm), max(width_mm, length_mm)
    return w**3 * (h / (math.pi * w) - 0.142 * (1 - 10 ** (-h / w)))


def long_bag_diameter_mm(flat_width_mm: float) -> float:
    """Diameter of a very long bag filled full, 2 W / pi."""
    return 2 * flat_width_mm / math.pi


def parallel_curve_mm(perimeter_mm: float, offset_mm: float) -> float:
    """Perimeter of a closed curve moved outward with round corners, P + 2 pi r (Steiner)."""
    return perimeter_mm + math.tau * offset_mm
