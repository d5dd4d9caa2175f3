"""Offset an outline by a seam allowance: arcs stay concentric, corners stay sharp.

The reference in the tests is a general polygon library's mitred buffer.
"""

from __future__ import annotations

import itertools
import math

from squab.errors import OutlineError
from squab.plane.paths import CORNER_RAD, Arc, Edge, Line, Outline, Point

BLUNT_FROM = 4.0
"""A corner whose mitre would reach further than this many allowances is cut square instead."""


def offset_outline(outline: Outline, allowance_mm: float) -> Outline:
    """Move every edge `allowance_mm` outward (inward if negative) and let the neighbours meet.

    Sides and whether they are seen are kept. A very sharp corner is blunted at
    `BLUNT_FROM` allowances, as shears do.

    Raises
    ------
    OutlineError
        If an arc or an edge would be used up by the offset.
    """
    if not allowance_mm:
        return outline
    n = len(outline.edges)
    moved = [e.offset(allowance_mm) for e in outline.edges]
    if n == 1:
        return Outline(tuple(moved), outline.sides, outline.seen)
    joints = [_joint(outline.edges[i - 1], outline.edges[i], moved[i - 1], moved[i], allowance_mm) for i in range(n)]
    edges: list[Edge] = []
    sides: list[str] = []
    seen: list[bool] = []
    for i in range(n):
        start, end = joints[i][-1], joints[(i + 1) % n][0]
        edges.append(between(moved[i], start, end))
        if not _same_way(moved[i], edges[-1]):
            raise OutlineError(f"an edge of {moved[i].length:.1f} mm is used up by an offset of {allowance_mm:.1f} mm")
        sides.append(outline.sides[i])
        seen.append(outline.seen[i])
        after = joints[(i + 1) % n]
        for a, b in itertools.pairwise(after):
            edges.append(Line(a, b))
            sides.append(outline.sides[i])
            seen.append(outline.seen[i])
    return Outline(tuple(edges), tuple(sides), tuple(seen))


def between(edge: Edge, start: Point, end: Point) -> Edge:
    """The stretch from `start` to `end` of an edge carried on as a whole line or circle."""
    if isinstance(edge, Line):
        return Line(start, end)
    return Arc(start, end, edge.centre, edge.ccw)


def _same_way(before: Edge, after: Edge) -> bool:
    if isinstance(before, Arc) and isinstance(after, Arc):
        # An arc that was used up comes out the other way round: nearly a whole turn longer.
        return abs(after.sweep) - abs(before.sweep) < math.pi
    a, b = before.tangent_at(0.0), after.tangent_at(0.0)
    return a[0] * b[0] + a[1] * b[1] > 0.0 and after.length > 0.0


def _joint(before: Edge, after: Edge, before_moved: Edge, after_moved: Edge, d: float) -> tuple[Point, ...]:
    """Where two moved neighbours meet: one point, or two where a sharp corner is blunted."""
    a, b = before.tangent_at(before.length), after.tangent_at(0.0)
    turn = math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])
    if abs(turn) < CORNER_RAD:
        return (_middle(before_moved.end, after_moved.start),)
    if turn * d > 0 and math.cos(turn / 2) < 1 / BLUNT_FROM:
        return _blunt(before_moved.end, a, after_moved.start, b, abs(d), abs(turn))
    near = (
        before.end[0] + d * (a[1] + b[1]) / (1 + math.cos(turn)),
        before.end[1] - d * (a[0] + b[0]) / (1 + math.cos(turn)),
    )
    hits = meetings(before_moved, after_moved)
    if not hits:
        raise OutlineError(f"two edges no longer meet after an offset of {d:.1f} mm")
    return (min(hits, key=lambda p: math.dist(p, near)),)


def _blunt(p: Point, a: Point, q: Point, b: Point, d: float, turn: float) -> tuple[Point, Point]:
    reach = d * (BLUNT_FROM - math.cos(turn / 2)) / math.sin(turn / 2)
    return (p[0] + reach * a[0], p[1] + reach * a[1]), (q[0] - reach * b[0], q[1] - reach * b[1])


def _middle(p: Point, q: Point) -> Point:
    return ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)


def meetings(a: Edge, b: Edge) -> list[Point]:
    """Where two edges, carried on as whole lines and circles, meet: none, one or two points."""
    if isinstance(a, Line) and isinstance(b, Line):
        return _line_line(a, b)
    if isinstance(a, Line) and isinstance(b, Arc):
        return _line_circle(a, b)
    if isinstance(a, Arc) and isinstance(b, Line):
        return _line_circle(b, a)
    assert isinstance(a, Arc)
    assert isinstance(b, Arc)
    return _circle_circle(a, b)


def _line_line(a: Line, b: Line) -> list[Point]:
    (px, py), (dx, dy), (ex, ey) = a.start, a.tangent_at(0.0), b.tangent_at(0.0)
    det = dx * ey - dy * ex
    if abs(det) < 1e-9:
        return []
    t = ((b.start[0] - px) * ey - (b.start[1] - py) * ex) / det
    return [(px + t * dx, py + t * dy)]


def _line_circle(line: Line, arc: Arc) -> list[Point]:
    dx, dy = line.tangent_at(0.0)
    fx, fy = line.start[0] - arc.centre[0], line.start[1] - arc.centre[1]
    b = fx * dx + fy * dy
    disc = b * b - (fx * fx + fy * fy - arc.radius**2)
    if disc < 0.0:
        return []
    root = math.sqrt(disc)
    return [(line.start[0] + t * dx, line.start[1] + t * dy) for t in (-b - root, -b + root)]


def _circle_circle(a: Arc, b: Arc) -> list[Point]:
    d = math.dist(a.centre, b.centre)
    if d < 1e-9 or d > a.radius + b.radius or d < abs(a.radius - b.radius):
        return []
    along = (a.radius**2 - b.radius**2 + d * d) / (2 * d)
    across = math.sqrt(max(a.radius**2 - along**2, 0.0))
    ux, uy = (b.centre[0] - a.centre[0]) / d, (b.centre[1] - a.centre[1]) / d
    mx, my = a.centre[0] + along * ux, a.centre[1] + along * uy
    return [(mx - across * uy, my + across * ux), (mx + across * uy, my - across * ux)]
