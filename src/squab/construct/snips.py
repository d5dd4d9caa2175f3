"""Snips: the clips of the boxing at outward corners and round curves, the slit at an inward corner."""

from __future__ import annotations

import math

from squab.construct.boxing import BoxingPart
from squab.construct.ground import Ground
from squab.construct.notches import lifted, outward_at
from squab.construct.panels import PanelPart
from squab.construct.records import Snip
from squab.construct.rules import (
    CLIP_CLOSEST_MM,
    CLIP_CURVE_RADIUS_MM,
    CLIP_OPENS_MM,
    CLIP_WIDEST_MM,
    SLIT_SHORT_MM,
)
from squab.construct.shape import nearest_s
from squab.plane import Arc


def slit_mm(allowance_mm: float, turn_rad: float = math.pi / 2) -> float:
    """Length of the slit at an inward corner: the allowance's diagonal less 1.5 mm."""
    return allowance_mm / math.cos(turn_rad / 2) - SLIT_SHORT_MM


def clip_opens_mm(spacing_mm: float, allowance_mm: float, radius_mm: float) -> float:
    """How far each clip opens where a straight strip is turned round a curve: c SA / R."""
    return spacing_mm * allowance_mm / radius_mm


def clip_spacing_mm(allowance_mm: float, radius_mm: float) -> float:
    """Spacing of clips round a curve, so that each opens 1.5 mm at most."""
    return min(max(CLIP_OPENS_MM * radius_mm / allowance_mm, CLIP_CLOSEST_MM), CLIP_WIDEST_MM)


def boxing_snips(ground: Ground, part: BoxingPart) -> list[Snip]:
    """Clips of a part of the boxing on both edges: at outward corners, and round outward curves."""
    sa = ground.allowance_mm
    places = [(s, sa - SLIT_SHORT_MM, "outward_corner") for s, turn in ground.corners if turn > 0]
    places += [(s, sa - 2 * SLIT_SHORT_MM, "curve") for s in _curve_places(ground, outward=True)]
    found = []
    for z, up in ((part.top_z, 1.0), (part.bottom_z, -1.0)):
        if z is None:
            continue
        for s, depth, why in places:
            inside = [t for t in lifted(ground, part, s) if part.s0 + 1 < t < part.s1 - 1]
            found += [Snip((t, z), (0.0, up), depth, why) for t in inside]  # type: ignore[arg-type]
    return found


def panel_snips(ground: Ground, panel: PanelPart) -> list[Snip]:
    """Slits of a panel's piece at inward corners, and clips round hollow curves."""
    sa = ground.allowance_mm
    places = [(s, slit_mm(sa, abs(turn)), "inward_corner") for s, turn in ground.corners if turn < 0]
    places += [(s, sa - 2 * SLIT_SHORT_MM, "curve") for s in _curve_places(ground, outward=False)]
    found = []
    for s, depth, why in places:
        at = ground.seam.point_at(s)
        if panel.outline is ground.seam or nearest_s(panel.outline, at)[1] < 1e-3:
            found.append(Snip(at, outward_at(ground.seam, s), depth, why))  # type: ignore[arg-type]
    return found


def _curve_places(ground: Ground, *, outward: bool) -> list[float]:
    places = []
    for start, edge in zip(ground.seam.path.edge_starts(), ground.seam.edges, strict=True):
        if isinstance(edge, Arc) and edge.ccw is outward and edge.radius <= CLIP_CURVE_RADIUS_MM:
            n = max(1, math.ceil(edge.length / clip_spacing_mm(ground.allowance_mm, edge.radius)))
            places += [start + edge.length * (i + 0.5) / n for i in range(n)]
    return places
