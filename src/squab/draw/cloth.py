"""The cloth's true pattern over any region, under any map, as plain polygons.

Frame: the pattern's own, (p, q) (see `squab.cloth`). Stripes and motifs are clipped as plane
sets and then mapped, so the drawn edge of a stripe is where the stripe is; pattern fills, which
show seams between their tiles, are not used.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from functools import lru_cache

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from squab.cloth import Cloth, Motif, Pattern
from squab.draw.svg import Map, path, polygons_d
from squab.plane import Points

MOST_SHAPES = 20_000
"""No drawing shows more repeats than this: a finer pattern is drawn as its ground."""
_FALLBACK_REPEAT_MM = 100.0


def drawn_pattern(cloth: Cloth) -> Pattern:
    """The cloth's pattern in the frame of the lay: measured where it was, and as it is after shrinking."""
    pattern = cloth.as_measured().pattern
    across, along = cloth.cut_scale
    if (across, along) == (1.0, 1.0):
        return pattern
    fu, fv = 1 / across, 1 / along
    f = fv if pattern.kind == "weft_stripe" else fu
    motif = pattern.motif
    return replace(
        pattern,
        repeat_across_mm=pattern.repeat_across_mm and pattern.repeat_across_mm * fu,
        repeat_along_mm=pattern.repeat_along_mm and pattern.repeat_along_mm * fv,
        drop_mm=pattern.drop_mm * fv,
        stripes=tuple(replace(s, width_mm=s.width_mm * f) for s in pattern.stripes),
        motif=motif and replace(motif, across_mm=motif.across_mm * fu, along_mm=motif.along_mm * fv),
        mirror_axes=tuple(m * f for m in pattern.mirror_axes),
        lines=tuple((name, at * f) for name, at in pattern.lines),
    )


def pattern_shapes(pattern: Pattern, region: BaseGeometry) -> list[tuple[str, BaseGeometry]]:
    """Colour the region of the pattern's frame: (colour, plane set) from the bottom up.

    The first covers the whole region; each later one lies on top of those before it, so that
    neighbouring stripes leave no gap between them.
    """
    if pattern.stripes and pattern.kind in ("warp_stripe", "weft_stripe"):
        return _stripes(pattern, region)
    ground: list[tuple[str, BaseGeometry]] = [(pattern.ground, region)]
    if pattern.kind == "print":
        motif = motif_of(pattern)
        ground.append((motif.colour, _motifs(pattern, motif, region)))
    return ground


def cloth_svg(pattern: Pattern, region: BaseGeometry, to_sheet: Map, *, step_mm: float = 0.0) -> str:
    """Draw the pattern over a region of its own frame, mapped to the sheet; `step_mm` where the map bends."""
    return "".join(
        path(polygons_d(shape, to_sheet, step_mm=step_mm), fill=colour, fill_rule="evenodd")
        for colour, shape in pattern_shapes(pattern, region)
    )


def colour_at(pattern: Pattern, p_mm: float, q_mm: float) -> str:
    """The cloth's colour at a point of the pattern's frame."""
    return colours_at(pattern, np.array([(p_mm, q_mm)]))[0]


def colours_at(pattern: Pattern, pq: Points) -> list[str]:
    """The cloth's colours at (n, 2) points of the pattern's frame."""
    if pattern.stripes and pattern.kind in ("warp_stripe", "weft_stripe"):
        at = pq[:, 1 if pattern.kind == "weft_stripe" else 0] % _period(pattern)
        edges = np.cumsum([s.width_mm for s in pattern.stripes])
        return [pattern.stripes[min(i, len(edges) - 1)].colour for i in np.searchsorted(edges, at, side="right")]
    if pattern.kind == "print":
        motif = motif_of(pattern)
        return [motif.colour if _in_motif(pattern, motif, p, q) else pattern.ground for p, q in pq.tolist()]
    return [pattern.ground] * len(pq)


def _in_motif(pattern: Pattern, motif: Motif, p_mm: float, q_mm: float) -> bool:
    across, along = _lattice(pattern)
    reach = motif.across_mm / 2
    shape = motif_shape(motif)
    for i in range(math.ceil((p_mm - reach) / across), math.floor((p_mm + reach) / across) + 1):
        p, q = p_mm - i * across, (q_mm - i * pattern.drop_mm + along / 2) % along - along / 2
        # A motif longer than its repeat also reaches in from its neighbours.
        if any(shapely.intersects_xy(shape, p, q + k * along) for k in (-1, 0, 1)):
            return True
    return False


def motif_of(pattern: Pattern) -> Motif:
    """The shape that stands for a print; a modest one where the maker named none."""
    if pattern.motif is not None:
        return pattern.motif
    across, along = _lattice(pattern)
    return Motif(across * 0.45, along * 0.45, "#6d7f86", "leaf")


def _period(pattern: Pattern) -> float:
    return sum(s.width_mm for s in pattern.stripes)


def _stripes(pattern: Pattern, region: BaseGeometry) -> list[tuple[str, BaseGeometry]]:
    along = pattern.kind == "weft_stripe"
    p0, q0, p1, q1 = region.bounds
    lo, hi, cross0, cross1 = (q0, q1, p0, p1) if along else (p0, p1, q0, q1)
    period = _period(pattern)
    first, last = math.floor(lo / period), math.ceil(hi / period)
    if (last - first) * len(pattern.stripes) > MOST_SHAPES:
        return [(pattern.stripes[0].colour, region)]
    starts = list(itertools.accumulate((s.width_mm for s in pattern.stripes), initial=0.0))
    shapes: list[tuple[str, BaseGeometry]] = [(pattern.stripes[0].colour, region)]
    for start, stripe in list(zip(starts, pattern.stripes, strict=False))[1:]:
        # Each stripe is drawn to the end of its repeat and covered by the next: no hairline between them.
        bands = [(k * period + start, (k + 1) * period) for k in range(first, last)]
        boxes = [box(cross0, a, cross1, b) if along else box(a, cross0, b, cross1) for a, b in bands]
        cut = shapely.intersection(np.array(boxes, dtype=object), region) if boxes else np.array([])
        shapes.append((stripe.colour, shapely.GeometryCollection([c for c in cut if not c.is_empty])))
    return shapes


def _lattice(pattern: Pattern) -> tuple[float, float]:
    across = pattern.repeat_across_mm or pattern.repeat_along_mm or _FALLBACK_REPEAT_MM
    return across, pattern.repeat_along_mm or across


def _motifs(pattern: Pattern, motif: Motif, region: BaseGeometry) -> BaseGeometry:
    across, along = _lattice(pattern)
    p0, q0, p1, q1 = region.bounds
    i0, i1 = math.floor((p0 - motif.across_mm / 2) / across), math.ceil((p1 + motif.across_mm / 2) / across)
    places = []
    for i in range(i0, i1 + 1):
        shift = i * pattern.drop_mm
        j0 = math.floor((q0 - shift - motif.along_mm / 2) / along)
        j1 = math.ceil((q1 - shift + motif.along_mm / 2) / along)
        places += [(i * across, shift + j * along) for j in range(j0, j1 + 1)]
    if len(places) > MOST_SHAPES:
        return MultiPolygon()
    shape = motif_shape(motif)
    moved = [affinity.translate(shape, p, q) for p, q in places]
    cut = shapely.intersection(np.array(moved, dtype=object), region)
    return shapely.GeometryCollection([c for c in cut if not c.is_empty])


@lru_cache(maxsize=64)
def motif_shape(motif: Motif) -> Polygon:
    """The motif's outline about (0, 0); a leaf points up the cloth, so that a one-way print shows its way."""
    a, b = motif.across_mm / 2, motif.along_mm / 2
    if motif.shape == "lozenge":
        return Polygon([(a, 0), (0, b), (-a, 0), (0, -b)])
    if motif.shape == "oval":
        return affinity.scale(Point(0, 0).buffer(1.0, quad_segs=16), a, b)
    t = np.linspace(0.0, 1.0, 17)
    # A blade, broadest at three tenths of its height, on a short stalk.
    shape = t**0.6 * (1 - t) ** 1.4
    half = a * shape / shape.max()
    high = -b * 0.7 + t * 1.7 * b
    right = np.column_stack((half, high))
    left = np.column_stack((-half, high))[::-1]
    stalk = [(-a * 0.06, -b * 0.68), (-a * 0.06, -b), (a * 0.06, -b), (a * 0.06, -b * 0.68)]
    return Polygon([*right[1:], *left[1:-1], *stalk]).buffer(0)
