"""Round the corners of a closed run of edges: between straights, arcs, or one of each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from squab.errors import OutlineError
from squab.plane import Arc, Edge, Line, Point
from squab.plane.offset import meetings
from squab.plane.paths import CORNER_RAD, SAME_POINT_MM

_HALVINGS = 50
LEAST_RADIUS_MM = 0.01
"""A corner rounder than square by less than this is square: no shears can tell."""


@dataclass(frozen=True, slots=True)
class Fillet:
    """A rounded corner: the arc, and how much it takes of the edge before and the edge after."""

    arc: Arc
    before_mm: float
    after_mm: float


def turn_between(before: Edge, after: Edge) -> float:
    """The turn (radians, left positive) from the end of one edge to the start of the next."""
    a, b = before.tangent_at(before.length), after.tangent_at(0.0)
    return math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])


def fillet(before: Edge, after: Edge, radius_mm: float) -> Fillet | None:
    """Round the corner between two edges; None where there is no corner or nothing fits."""
    turn = turn_between(before, after)
    if radius_mm < LEAST_RADIUS_MM or abs(turn) < CORNER_RAD:
        return None
    inward = -radius_mm if turn > 0 else radius_mm
    try:
        centres = meetings(before.offset(inward), after.offset(inward))
    except OutlineError:
        return None
    if not centres:
        return None
    centre = min(centres, key=lambda p: math.dist(p, before.end))
    start, end = _foot(before, centre), _foot(after, centre)
    taken_before = before.length - _length_to(before, start)
    return Fillet(Arc(start, end, centre, turn > 0), taken_before, _length_to(after, end))


def _foot(edge: Edge, p: Point) -> Point:
    if isinstance(edge, Line):
        tx, ty = edge.tangent_at(0.0)
        s = (p[0] - edge.start[0]) * tx + (p[1] - edge.start[1]) * ty
        return (edge.start[0] + s * tx, edge.start[1] + s * ty)
    away = math.dist(p, edge.centre) or 1.0
    f = edge.radius / away
    return (edge.centre[0] + f * (p[0] - edge.centre[0]), edge.centre[1] + f * (p[1] - edge.centre[1]))


def _length_to(edge: Edge, p: Point) -> float:
    if isinstance(edge, Line):
        tx, ty = edge.tangent_at(0.0)
        return (p[0] - edge.start[0]) * tx + (p[1] - edge.start[1]) * ty
    angle = math.atan2(p[1] - edge.centre[1], p[0] - edge.centre[0])
    way = 1.0 if edge.ccw else -1.0
    on = (way * (angle - edge.start_angle)) % math.tau
    if on - abs(edge.sweep) > (math.tau - abs(edge.sweep)) / 2:
        on -= math.tau
    return on * edge.radius


def fillets(edges: Sequence[Edge], radii_mm: Sequence[float]) -> list[Fillet | None] | None:
    """Round every corner, `radii_mm[i]` at the end of edge i; None where they do not all fit."""
    n = len(edges)
    found: list[Fillet | None] = []
    for i in range(n):
        after = edges[(i + 1) % n]
        one = fillet(edges[i], after, radii_mm[i])
        wanted = radii_mm[i] >= LEAST_RADIUS_MM and abs(turn_between(edges[i], after)) >= CORNER_RAD
        if one is None and wanted:
            return None
        found.append(one)
    return found if _all_fit(edges, found) else None


def _all_fit(edges: Sequence[Edge], found: Sequence[Fillet | None]) -> bool:
    for i, edge in enumerate(edges):
        first, last = found[i - 1], found[i]
        a = first.after_mm if first else 0.0
        b = last.before_mm if last else 0.0
        if a < -SAME_POINT_MM or b < -SAME_POINT_MM or a + b > edge.length + SAME_POINT_MM:
            return False
    return True


def radii_that_fit(edges: Sequence[Edge], radii_mm: Sequence[float]) -> list[float]:
    """The radii made smaller, all in one proportion, until every corner has room."""
    low, high = 0.0, 1.0
    for _ in range(_HALVINGS):
        mid = (low + high) / 2
        if fillets(edges, [mid * r for r in radii_mm]) is None:
            high = mid
        else:
            low = mid
    return [low * r for r in radii_mm]


def rounded(
    edges: Sequence[Edge], sides: Sequence[str], seen: Sequence[bool], corners: Sequence[Fillet | None]
) -> tuple[tuple[Edge, ...], tuple[str, ...], tuple[bool, ...]]:
    """Put fillets in place. Half of each belongs to the side before it, half to the side after."""
    out: list[tuple[Edge, str, bool]] = []
    for i, edge in enumerate(edges):
        first, last = corners[i - 1], corners[i]
        pieces: list[Edge] = []
        if first:
            pieces.append(first.arc.part(first.arc.length / 2, first.arc.length))
        a, b = (first.after_mm if first else 0.0), edge.length - (last.before_mm if last else 0.0)
        if b - a > SAME_POINT_MM:
            pieces.append(edge if not first and not last else edge.part(a, b))
        if last:
            pieces.append(last.arc.part(0.0, last.arc.length / 2))
        out += [(piece, sides[i], seen[i]) for piece in pieces]
    return tuple(e for e, _, _ in out), tuple(s for _, s, _ in out), tuple(v for _, _, v in out)
