"""Outlines as unions of convex parts, grown by half the gap, never smaller than the piece."""

from __future__ import annotations

import numpy as np

from squab.plane import Points

SMOOTHED_MM = 0.2
"""How far a corner may be moved outward to spare the search a curve's many short edges."""
SAME_MM = 1e-9
BESIDE_MM = 1e-7
"""A point this far over a line still lies beside it."""
MOST_HOLLOWS = 16
"""An outline with more hollow corners is only cut into parts, none of them made wider."""


def is_box(xy: Points) -> bool:
    """Tell whether an outline fills its own bounding box."""
    span = xy.max(axis=0) - xy.min(axis=0)
    return bool(abs(_area(xy) - span[0] * span[1]) <= 1e-9 * max(1.0, span[0] * span[1]))


def convex_parts(xy: Points, grow_mm: float) -> list[Points]:
    """Cut an outline, grown by `grow_mm` with square corners, into convex parts that cover it."""
    ring = _grown(xy, grow_mm)
    return [_smoothed(p) for p in ([ring] if _is_convex(ring) else _cut_convex(ring))]


def wide_parts(xy: Points, grow_mm: float) -> list[Points]:
    """Convex parts that cover an outline, grown as by `convex_parts`, each as large as cuts from hollow corners allow.

    Parts that only meet along a cut hide how deep something lies in the outline: seen one by one, the
    cut is a way out of each.
    """
    ring = _grown(xy, grow_mm)
    if _is_convex(ring):
        return [_smoothed(ring)]
    parts = _cut_convex(ring)
    if int((_turns(ring) < -SAME_MM).sum()) <= MOST_HOLLOWS:
        parts = [_widened(part, ring) for part in parts]
    kept: list[Points] = []
    for part in sorted(parts, key=_area, reverse=True):
        if not any(_lies_in(part, other) for other in kept):
            kept.append(part)
    return [_smoothed(p) for p in kept]


def chains(part: Points) -> tuple[Points, Points]:
    """The lower and the upper edge of a convex, counter-clockwise part, each from left to right."""
    n = len(part)
    x0, x1 = part[:, 0].min(), part[:, 0].max()
    left = [i for i in range(n) if part[i, 0] <= x0 + SAME_MM]
    right = [i for i in range(n) if part[i, 0] >= x1 - SAME_MM]
    low_left, top_left = min(left, key=lambda i: part[i, 1]), max(left, key=lambda i: part[i, 1])
    low_right, top_right = min(right, key=lambda i: part[i, 1]), max(right, key=lambda i: part[i, 1])
    lower = [low_left]
    while lower[-1] != low_right:
        lower.append((lower[-1] + 1) % n)
    upper = [top_left]
    while upper[-1] != top_right:
        upper.append((upper[-1] - 1) % n)
    return part[lower], part[upper]


def _grown(xy: Points, grow_mm: float) -> Points:
    """The outline, counter-clockwise, grown with square corners."""
    from shapely import Polygon, get_coordinates

    grown = Polygon(xy)
    if grow_mm > 0:
        grown = grown.buffer(grow_mm, join_style="mitre", mitre_limit=2.0)
    ring = _tidy(get_coordinates(grown.exterior)[:-1])
    return ring if _area(ring) > 0 else ring[::-1]


def _widened(part: Points, ring: Points) -> Points:
    """The largest convex part of a ring about a given one that is found by cuts along edges at its hollow corners."""
    at = ring
    for _ in range(len(ring)):
        hollow = np.flatnonzero(_turns(at) < -1e-7)
        if not len(hollow):
            return at
        i = int(hollow[0])
        corner = at[i]
        lines = [(at[i - 1], corner), (corner, at[(i + 1) % len(at)])]
        # where neither edge leaves the part whole, one of its own does
        lines += [(a, b) for a, b in _edges(part) if _beside(corner[None, :], b, a)]
        left = [_left_of(at, a, b, part) for a, b in lines if _beside(part, a, b)]
        smaller = [x for x in left if x is not None and _area(x) < _area(at) - 1e-6]
        if not smaller:
            return part
        at = max(smaller, key=_area)
    return part


def _edges(xy: Points) -> list[tuple[Points, Points]]:
    return list(zip(xy, np.roll(xy, -1, axis=0), strict=True))


def _lies_in(part: Points, other: Points) -> bool:
    return all(_beside(part, a, b) for a, b in _edges(other))


def _beside(xy: Points, a: Points, b: Points) -> bool:
    """Tell whether all points lie to the left of the line from a to b."""
    along = (b - a) / np.hypot(*(b - a))
    return bool((along[0] * (xy[:, 1] - a[1]) - along[1] * (xy[:, 0] - a[0]) >= -BESIDE_MM).all())


def _left_of(ring: Points, a: Points, b: Points, part: Points) -> Points | None:
    """What of a ring lies to the left of the line from a to b, and hangs together with a part of it."""
    from shapely import Point, Polygon, get_coordinates, get_parts

    along = (b - a) / np.hypot(*(b - a)) * 4 * float(np.ptp(ring, axis=0).sum())
    across = np.array([-along[1], along[0]])
    half = Polygon([a - along, a + along, a + along + across, a - along + across])
    for piece in get_parts(Polygon(ring).intersection(half)):
        if piece.geom_type == "Polygon" and piece.covers(Point(part.mean(axis=0))):
            rest = _tidy(get_coordinates(piece.exterior)[:-1])
            return rest if _area(rest) > 0 else rest[::-1]
    return None


def _area(xy: Points) -> float:
    x, y = xy[:, 0], xy[:, 1]
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2


def _tidy(ring: Points) -> Points:
    """Drop points that repeat or lie on a straight line."""
    kept = [p for i, p in enumerate(ring) if np.hypot(*(p - ring[i - 1])) > 1e-7]
    xy = np.array(kept)
    before, after = xy - np.roll(xy, 1, axis=0), np.roll(xy, -1, axis=0) - xy
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    scale = np.hypot(*before.T) * np.hypot(*after.T)
    bent = np.abs(cross) > 1e-10 * scale
    return xy[bent] if bent.sum() >= 3 else xy


def _turns(xy: Points) -> Points:
    before, after = xy - np.roll(xy, 1, axis=0), np.roll(xy, -1, axis=0) - xy
    return np.asarray(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])


def _is_convex(xy: Points) -> bool:
    return bool((_turns(xy) >= -1e-7).all())


def _cut_convex(ring: Points) -> list[Points]:
    """Triangles inside the ring, then every cut taken away that convexity can spare."""
    import shapely

    triangles = shapely.constrained_delaunay_triangles(shapely.Polygon(ring))
    index = {tuple(p): i for i, p in enumerate(ring.tolist())}
    parts: dict[int, list[int]] = {}
    for k, t in enumerate(triangles.geoms):
        corners = [index[tuple(c)] for c in shapely.get_coordinates(t)[:-1].tolist()]
        parts[k] = corners if _area(ring[corners]) > 0 else corners[::-1]
    side = {(p[i], p[(i + 1) % 3]): k for k, p in parts.items() for i in range(3)}
    for a, b in list(side):
        i, j = side[a, b], side.get((b, a))
        if j is None or i == j or i not in parts or j not in parts:
            continue
        joined = _joined(parts[i], parts[j], a, b)
        if _is_convex(ring[joined]):
            parts[i] = joined
            del parts[j]
            side = {e: (i if owner == j else owner) for e, owner in side.items()}
    return [ring[p] for p in parts.values()]


def _joined(p: list[int], q: list[int], a: int, b: int) -> list[int]:
    """Join two loops over the side that runs a to b in `p` and b to a in `q`."""
    i, j = p.index(b), q.index(a)
    loop = p[i:] + p[:i] + (q[j:] + q[:j])[1:-1]
    return loop


def _smoothed(part: Points) -> Points:
    """Take away short edges of a convex part by letting their neighbours meet, within `SMOOTHED_MM`.

    Edges that touch the bounding box stay, so the part is never wider or longer than before.
    """
    xy = [np.array(p) for p in part]
    i = 0
    lo, hi = part.min(axis=0) - SAME_MM, part.max(axis=0) + SAME_MM
    spared = 0
    while len(xy) > 8 and spared < len(xy):
        n = len(xy)
        a, b, c, d = xy[(i - 1) % n], xy[i % n], xy[(i + 1) % n], xy[(i + 2) % n]
        meet = _meeting(a, b, d, c)
        edge = c - b
        run = float(np.hypot(*edge))
        if meet is not None and run > 0 and (meet >= lo).all() and (meet <= hi).all():
            off = abs(edge[0] * (meet - b)[1] - edge[1] * (meet - b)[0]) / run
            if off <= SMOOTHED_MM:
                xy[i % n] = meet
                del xy[(i + 1) % n]
                spared, i = 0, (i + 1) % len(xy)
                continue
        spared, i = spared + 1, (i + 1) % n
    return np.array(xy)


def _meeting(a: Points, b: Points, d: Points, c: Points) -> Points | None:
    """Where the line a-b, carried on past b, meets d-c carried on past c."""
    p, q = b - a, c - d
    det = p[0] * q[1] - p[1] * q[0]
    if abs(det) < 1e-12:
        return None
    t = ((d - a)[0] * q[1] - (d - a)[1] * q[0]) / det
    return np.asarray(a + t * p) if t >= 1.0 else None
