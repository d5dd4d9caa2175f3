"""Plane geometry that construction needs of an outline: offsets by side, halves, symmetries.

s is the seam length round an outline from its start, counter-clockwise.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from squab.errors import OutlineError
from squab.plane import Arc, Edge, Line, Outline, Path, Point, Points, offset_outline
from squab.plane.offset import between, meetings

SAME_MM = 1e-6
TANGENT_RAD = math.radians(1.0)


def offset_each(outline: Outline, distances_mm: Sequence[float]) -> Outline:
    """Move every edge outward by its own distance and let the neighbours meet.

    The rounded corner between two straight sides that move by different distances stays a
    rounded corner, its radius changed by their mean. (Where all move alike, `offset_outline`
    does it, and blunts what is too sharp; to make the two one would make both harder to read.)

    Raises
    ------
    OutlineError
        If an edge is used up, or two curved edges no longer meet.
    """
    if max(distances_mm) - min(distances_mm) < SAME_MM:
        return offset_outline(outline, distances_mm[0])
    sharp, radii, distances = _sharpened(outline, distances_mm)
    moved = _rounded(_move_sharp(sharp, distances), radii)
    return _started_like(moved, outline)


def _started_like(moved: Outline, outline: Outline) -> Outline:
    """Start in the middle of a rounded corner again, where the outline did."""
    k = next(i for i, e in enumerate(outline.edges) if isinstance(e, Line))
    if len(moved.edges) != len(outline.edges) or moved.sides == outline.sides:
        return moved
    return Outline(
        (*moved.edges[-k:], *moved.edges[:-k]),
        (*moved.sides[-k:], *moved.sides[:-k]),
        (*moved.seen[-k:], *moved.seen[:-k]),
    )


def _sharpened(outline: Outline, distances: Sequence[float]) -> tuple[Outline, list[tuple[float, bool]], list[float]]:
    """Replace each rounded corner between two straights by the sharp corner.

    Returns, for each remaining edge, the radius of the rounded corner at its end (0: sharp),
    already changed by the mean of the two distances, and whether that arc is split in halves.
    """
    n = len(outline.edges)
    first = next((i for i, e in enumerate(outline.edges) if isinstance(e, Line)), None)
    if first is None:
        raise OutlineError("curved sides that move by different amounts no longer meet")
    order = [(first + k) % n for k in range(n)]
    edges: list[Edge] = []
    keep: list[int] = []
    radii: list[tuple[float, bool]] = []
    k = 0
    while k < n:
        i = order[k]
        edge = outline.edges[i]
        run = _arc_run(outline, order, k + 1)
        after = outline.edges[order[(k + 1 + len(run)) % n]]
        edges.append(edge)
        keep.append(i)
        moves = {round(distances[j], 6) for j in (i, *run, order[(k + 1 + len(run)) % n])}
        lines = isinstance(edge, Line) and isinstance(after, Line)
        if lines and run and len(moves) > 1 and _is_fillet(edge, outline, run, after):
            arc = outline.edges[run[0]]
            assert isinstance(arc, Arc)
            mean = (distances[i] + distances[order[(k + 1 + len(run)) % n]]) / 2
            radii.append((arc.radius + (mean if arc.ccw else -mean), len(run) > 1))
            k += 1 + len(run)
        else:
            radii.append((0.0, False))
            k += 1
    sharp = _joined_up(edges)
    back = keep.index(min(keep))

    def turn(items: list) -> list:  # type: ignore[type-arg]
        return items[back:] + items[:back]

    ids = turn(keep)
    return (
        Outline(tuple(turn(sharp)), tuple(outline.sides[i] for i in ids), tuple(outline.seen[i] for i in ids)),
        turn(radii),
        [distances[i] for i in ids],
    )


def _arc_run(outline: Outline, order: list[int], k: int) -> list[int]:
    run: list[int] = []
    while k < len(order) and isinstance(arc := outline.edges[order[k]], Arc):
        if run:
            last = outline.edges[run[-1]]
            assert isinstance(last, Arc)
            if math.dist(last.centre, arc.centre) > 1e-3 or last.ccw != arc.ccw:
                break
        run.append(order[k])
        k += 1
    return run


def _is_fillet(before: Edge, outline: Outline, run: list[int], after: Edge) -> bool:
    arcs = [outline.edges[i] for i in run]
    a, b = before.tangent_at(0.0), arcs[0].tangent_at(0.0)
    c, d = arcs[-1].tangent_at(arcs[-1].length), after.tangent_at(0.0)
    return _angle(a, b) < TANGENT_RAD and _angle(c, d) < TANGENT_RAD and _angle(a, d) > TANGENT_RAD


def _angle(a: Point, b: Point) -> float:
    return abs(math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]))


def _joined_up(edges: list[Edge]) -> list[Edge]:
    """Lengthen straights to meet where a rounded corner was taken out between them."""
    n = len(edges)
    out = list(edges)
    for i in range(n):
        a, b = out[i], out[(i + 1) % n]
        if math.dist(a.end, b.start) > 1e-6:
            (p,) = meetings(a, b)[:1] or [a.end]
            out[i] = between(a, a.start, p)
            out[(i + 1) % n] = between(b, p, b.end)
    return out


def _move_sharp(outline: Outline, distances: list[float]) -> Outline:
    n = len(outline.edges)
    moved = [e.offset(d) for e, d in zip(outline.edges, distances, strict=True)]
    joints = []
    for i in range(n):
        a, b = moved[i - 1], moved[i]
        if math.dist(a.end, b.start) < SAME_MM:
            joints.append(a.end)
            continue
        hits = meetings(a, b)
        if not hits:
            raise OutlineError("two neighbouring sides that move by different amounts no longer meet")
        corner = outline.edges[i].start
        joints.append(min(hits, key=lambda p, c=corner: math.dist(p, c)))  # type: ignore[misc]
    edges = tuple(between(moved[i], joints[i], joints[(i + 1) % n]) for i in range(n))
    for before, after in zip(outline.edges, edges, strict=True):
        t, u = before.tangent_at(0.0), after.tangent_at(0.0)
        if after.length < SAME_MM or t[0] * u[0] + t[1] * u[1] <= 0.0:
            raise OutlineError(f"a side of {before.length:.1f} mm is used up")
    return Outline(edges, outline.sides, outline.seen)


def _rounded(outline: Outline, radii: list[tuple[float, bool]]) -> Outline:
    n = len(outline.edges)
    cuts = []
    for i in range(n):
        radius, _ = radii[i]
        a, b = outline.edges[i], outline.edges[(i + 1) % n]
        cuts.append(radius * math.tan(_angle(a.tangent_at(a.length), b.tangent_at(0.0)) / 2) if radius > 0 else 0.0)
    edges: list[Edge] = []
    sides: list[str] = []
    seen: list[bool] = []
    for i in range(n):
        edge, name, is_seen = outline.edges[i], outline.sides[i], outline.seen[i]
        if cuts[i - 1] + cuts[i] > edge.length + SAME_MM:
            raise OutlineError("the rounded corners leave nothing of a side")
        edges.append(edge.part(cuts[i - 1], edge.length - cuts[i]) if cuts[i - 1] + cuts[i] else edge)
        sides.append(name)
        seen.append(is_seen)
        if cuts[i]:
            after = outline.edges[(i + 1) % n]
            arc = _fillet(edge, after, cuts[i], radii[i][0])
            parts = [arc.part(0, arc.length / 2), arc.part(arc.length / 2, arc.length)] if radii[i][1] else [arc]
            edges += parts
            j = (i + 1) % n
            sides += [name, outline.sides[j]][: len(parts)]
            seen += [is_seen, outline.seen[j]][: len(parts)]
    return Outline(tuple(edges), tuple(sides), tuple(seen))


def _fillet(before: Edge, after: Edge, cut: float, radius: float) -> Arc:
    start, end = before.point_at(before.length - cut), after.point_at(cut)
    t, u = before.tangent_at(before.length), after.tangent_at(0.0)
    left = t[0] * u[1] - t[1] * u[0] > 0
    sign = 1.0 if left else -1.0
    centre = (start[0] - sign * radius * t[1], start[1] + sign * radius * t[0])
    return Arc(start, end, centre, left)


def nearest_s(outline: Outline, point: Point) -> tuple[float, float]:
    """Find the seam length of the point of an outline nearest to `point`, and its distance, mm."""
    best = (0.0, math.inf)
    for start, edge in zip(outline.path.edge_starts(), outline.edges, strict=True):
        rest = _rest_on(edge, point)
        distance = math.dist(edge.point_at(rest), point)
        if distance < best[1] - 1e-9:
            best = (start + rest, distance)
    return best


def _rest_on(edge: Edge, point: Point) -> float:
    if isinstance(edge, Line):
        t = edge.tangent_at(0.0)
        along = (point[0] - edge.start[0]) * t[0] + (point[1] - edge.start[1]) * t[1]
        return min(max(along, 0.0), edge.length)
    angle = math.atan2(point[1] - edge.centre[1], point[0] - edge.centre[0])
    way = (angle - edge.start_angle) % math.tau if edge.ccw else (edge.start_angle - angle) % math.tau
    if way <= abs(edge.sweep):
        return way * edge.radius
    to_start = math.dist(point, edge.start) <= math.dist(point, edge.end)
    return 0.0 if to_start else edge.length


def crossings(outline: Outline, axis: int, at_mm: float) -> list[float]:
    """Seam lengths at which an outline crosses x = at (axis 0) or y = at (axis 1), ascending."""
    found: list[float] = []
    for start, edge in zip(outline.path.edge_starts(), outline.edges, strict=True):
        for rest in _edge_crossings(edge, axis, at_mm):
            s = (start + rest) % outline.length
            if all(min(abs(s - f), outline.length - abs(s - f)) > 1e-3 for f in found):
                found.append(s)
    return sorted(found)


def _edge_crossings(edge: Edge, axis: int, at: float) -> list[float]:
    if isinstance(edge, Line):
        a, b = edge.start[axis] - at, edge.end[axis] - at
        if abs(a - b) < 1e-9 or a * b > 1e-9:
            return []
        return [edge.length * min(max(a / (a - b), 0.0), 1.0)]
    axis_line = Line((at, 0.0), (at, 1.0)) if axis == 0 else Line((0.0, at), (1.0, at))
    rests = [(_rest_on(edge, p), p) for p in meetings(axis_line, edge)]
    return [r for r, p in rests if math.dist(edge.point_at(r), p) < 1e-3]


def split(outline: Outline, axis: int, at_mm: float, side: str) -> tuple[Outline, Outline]:
    """Cut an outline in two along x = at (axis 0) or y = at (axis 1): the lower part, the upper part.

    The new edge of each part has the side name `side`.

    Raises
    ------
    OutlineError
        If the line does not cross the outline exactly twice.
    """
    hits = crossings(outline, axis, at_mm)
    if len(hits) != 2:
        raise OutlineError(f"a line at {at_mm:.1f} mm crosses the outline {len(hits)} times, not twice")
    a, b = hits
    parts = [_closed_by(outline, a, b, side), _closed_by(outline, b, a + outline.length, side)]

    def middle(part: Outline) -> float:
        box = part.bounds()
        return box[axis] + box[axis + 2]

    low, high = sorted(parts, key=middle)
    return low, high


def _closed_by(outline: Outline, s0: float, s1: float, side: str) -> Outline:
    path = outline.part(s0, s1)
    names, seen = [], []
    run = s0
    for e in path.edges:
        i = _edge_index(outline, run + e.length / 2)
        names.append(outline.sides[i])
        seen.append(outline.seen[i])
        run += e.length
    chord = Line(path.edges[-1].end, path.edges[0].start)
    return Outline((*path.edges, chord), (*names, side), (*seen, True))


def _edge_index(outline: Outline, s: float) -> int:
    starts = outline.path.edge_starts()
    return max(0, int(np.searchsorted(starts, s % outline.length, side="right")) - 1)


def edge_at(outline: Outline, s: float) -> Edge:
    """The edge of an outline at seam length s."""
    return outline.edges[_edge_index(outline, s)]


def mirrored_path(path: Path, axis: int) -> Path:
    """Mirror a path, keeping its travel: axis 0 maps (x, y) to (-x, y), axis 1 to (x, -y)."""
    return Path(tuple(_mirrored(e, axis) for e in path.edges))


def _mirrored(edge: Edge, axis: int) -> Edge:
    def f(p: Point) -> Point:
        return mirrored_point(p, axis)

    if isinstance(edge, Line):
        return Line(f(edge.start), f(edge.end))
    return Arc(f(edge.start), f(edge.end), f(edge.centre), not edge.ccw)


def mirrored_point(p: Point, axis: int) -> Point:
    """Mirror a point: axis 0 maps (x, y) to (-x, y), axis 1 to (x, -y)."""
    return (-p[0], p[1]) if axis == 0 else (p[0], -p[1])


def mirrored_outline(outline: Outline, axis: int) -> Outline:
    """The mirror image of an outline, still counter-clockwise, sides keeping their names."""
    edges = tuple(_mirrored(e, axis).reversed() for e in reversed(outline.edges))
    return Outline(edges, tuple(reversed(outline.sides)), tuple(reversed(outline.seen)))


def rectangle(x0: float, y0: float, x1: float, y1: float, sides: Sequence[str] = ("", "", "", "")) -> Outline:
    """A rectangle, counter-clockwise from its low left corner."""
    c = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    return Outline(tuple(Line(c[i], c[(i + 1) % 4]) for i in range(4)), tuple(sides))


@dataclass(frozen=True, slots=True)
class Symmetry:
    """An isometry of an outline onto itself: s to `way` * s + `shift_mm`, `way` -1 for a flip."""

    way: int
    shift_mm: float


class Sampled:
    """An outline as a table of points by seam length, for quick look-ups within 0.05 mm."""

    def __init__(self, outline: Outline) -> None:
        self.length = outline.length
        self._xy = np.array([p for e in outline.edges for p in e.flattened()] + [outline.edges[0].start])
        steps = np.hypot(*np.diff(self._xy, axis=0).T)
        self._s = np.concatenate(([0.0], np.cumsum(steps))) * (self.length / steps.sum())
        self.tries = (np.arange(48) / 48 + 0.003) * self.length
        self.spans = self._spans(self.tries)

    def _spans(self, s: Points) -> Points:
        x, y = (np.interp(s % self.length, self._s, self._xy[:, k]) for k in (0, 1))
        spans: Points = np.hypot(x[:, None] - x[None, :], y[:, None] - y[None, :])
        return spans

    def has(self, sym: Symmetry, tol_mm: float) -> bool:
        """Tell whether the outline maps onto itself within `tol_mm` under a change of s."""
        moved = self._spans(sym.way * self.tries + sym.shift_mm)
        return bool(np.abs(moved - self.spans).max() <= tol_mm)


def flips_onto_itself(outline: Outline, tol_mm: float = 1.0) -> bool:
    """Tell whether an outline is its own mirror image, so that it has no left and right hand."""
    n = outline.length
    marks, sampled = _marks(outline), Sampled(outline)
    return any(sampled.has(Symmetry(-1, (marks[0] + b) % n), tol_mm) for b in marks)


def _marks(outline: Outline) -> list[float]:
    """Places that a symmetry must permute: sharp corners, or joints between unlike edges."""
    corners = [s for s, _ in outline.corners()]
    if corners:
        return corners
    joints = []
    for i, start in enumerate(outline.path.edge_starts()):
        a, b = outline.edges[i - 1], outline.edges[i]
        alike = isinstance(a, Arc) and isinstance(b, Arc) and math.dist(a.centre, b.centre) < 1e-3
        if not alike:
            joints.append(start)
    return joints or [0.0]


def narrowest_mm(outline: Outline) -> float:
    """The least width of an outline between two parallel lines, mm."""
    pts = outline.flattened(0.5)
    angles = np.linspace(0.0, math.pi, 180, endpoint=False)
    spans = pts[:, :1] * np.cos(angles) + pts[:, 1:] * np.sin(angles)
    return float((spans.max(axis=0) - spans.min(axis=0)).min())
