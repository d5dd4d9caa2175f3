"""A cushion's outline as corners and sides, for the editor in the browser.

Frame: the plan, x to the right and y to the back, the first corner at (0, 0), counter-clockwise. Each
side says where it ends, how far it stands out over the straight line, and the radius of the
corner at its end: the form in which a job file describes a run.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from squab.job import Cushion
from squab.plane import Arc, Edge, Line, Outline, Point
from squab.units import Style

Json = dict[str, Any]
_SAME_MM = 1e-4
_SAME_RAD = 1e-4


def outline_view(cushion: Cushion, style: Style) -> Json:
    """What the editor starts from: the plan as given, in the size that the cushion's numbers measure."""
    return {
        "name": cushion.name,
        "sides": corners_of(cushion.outline),
        "mitred": list(cushion.mitred),
        "inches": style.system == "imperial",
    }


def corners_of(outline: Outline) -> list[Json]:
    """The sides of an outline from corner to corner; rounded corners are corners with a radius."""
    edges = list(zip(outline.edges, outline.sides, outline.seen, strict=True))
    first = next((i for i in range(len(edges)) if _rounding(edges, i)), None)
    # An outline whose first corner is rounded starts in the middle of that corner.
    turned = [*edges[first + 1 :], *edges[: first + 1]] if first is not None and first == len(edges) - 1 else edges
    sides: list[Json] = []
    i, n = 0, len(turned)
    while i < n:
        edge, name, seen = turned[i]
        if i == 0 and _rounding(turned, -1):
            i += 1  # the second half of the corner that ends the last side
            continue
        corner, end, skip = 0.0, edge.end, 1
        if isinstance(edge, Line) and _rounding(turned, i + 1):
            half = turned[(i + 1) % n][0]
            after = turned[(i + 3) % n][0]
            assert isinstance(half, Arc)
            corner, end, skip = half.radius, _meeting(edge, after), 3
        sides.append(
            {
                "name": name,
                "seen": seen,
                "to": end,
                "rise": _rise(edge),
                "corner": round(corner, 4),
                "_start": edge.start,
            }
        )
        i += skip
    return _from_origin(sides)


def _rounding(edges: Sequence[tuple[Edge, str, bool]], i: int) -> bool:
    """Tell whether edges i and i + 1 are the two halves of a rounded corner between straights."""
    n = len(edges)
    if n < 4:
        return False
    (before, x, _), (a, ax, _), (b, by, _), (after, y, _) = (edges[(i + k) % n] for k in (-1, 0, 1, 2))
    return (
        isinstance(before, Line)
        and isinstance(after, Line)
        and isinstance(a, Arc)
        and isinstance(b, Arc)
        and (x, y) == (ax, by)
        and math.dist(a.centre, b.centre) < _SAME_MM
        and abs(a.length - b.length) < _SAME_MM
        and _parallel(before.tangent_at(0.0), a.tangent_at(0.0))
        and _parallel(after.tangent_at(0.0), b.tangent_at(b.length))
    )


def _parallel(a: Point, b: Point) -> bool:
    return abs(a[0] * b[1] - a[1] * b[0]) < _SAME_RAD and a[0] * b[0] + a[1] * b[1] > 0


def _meeting(before: Edge, after: Edge) -> Point:
    """Where two straights would meet."""
    (px, py), (qx, qy) = before.end, after.start
    (ax, ay), (bx, by) = before.tangent_at(0.0), after.tangent_at(0.0)
    t = ((qx - px) * by - (qy - py) * bx) / (ax * by - ay * bx)
    return (px + t * ax, py + t * ay)


def _rise(edge: Edge) -> float:
    """How far an edge stands out over the straight line between its ends; negative is hollow."""
    if isinstance(edge, Line):
        return 0.0
    half = math.dist(edge.start, edge.end) / 2
    flat = math.sqrt(max(edge.radius**2 - half**2, 0.0))
    rise = edge.radius - flat if abs(edge.sweep) <= math.pi else edge.radius + flat
    return round(rise if edge.ccw else -rise, 4)


def _from_origin(sides: list[Json]) -> list[Json]:
    """Shift a plan so that its first corner is (0, 0)."""
    x0, y0 = sides[-1]["to"]
    return [
        {
            "name": s["name"],
            "seen": s["seen"],
            "to": [round(s["to"][0] - x0, 4) + 0.0, round(s["to"][1] - y0, 4) + 0.0],
            "rise": s["rise"],
            "corner": s["corner"],
        }
        for s in sides
    ]


__all__ = ["corners_of", "outline_view"]
