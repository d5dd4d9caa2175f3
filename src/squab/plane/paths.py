"""Straight edges, circular arcs, open paths and closed outlines.

Outlines run counter-clockwise with y up. Lengths are millimetres. Everything is frozen; every
change gives a new value. Arcs stay arcs: they are flattened only by who must draw or lay them.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from squab.errors import OutlineError

Point = tuple[float, float]
Points = npt.NDArray[np.float64]
"""An (n, 2) array of points, float64, millimetres."""

SAME_POINT_MM = 1e-6
"""Two ends nearer than this are one point: far under anything cloth can show."""
CORNER_RAD = math.radians(1.0)
"""A path that turns by more than this at a joint has a corner there."""
FLAT_MM = 0.05
"""The largest sagitta left when an arc is flattened for drawing or laying."""


@dataclass(frozen=True, slots=True)
class Line:
    """A straight edge from `start` to `end`."""

    start: Point
    end: Point

    @property
    def length(self) -> float:
        """Length in millimetres."""
        return math.dist(self.start, self.end)

    def point_at(self, s: float) -> Point:
        """Point at length `s` (mm) from the start."""
        f = s / self.length if self.length else 0.0
        return (
            self.start[0] + f * (self.end[0] - self.start[0]),
            self.start[1] + f * (self.end[1] - self.start[1]),
        )

    def tangent_at(self, s: float) -> Point:
        """Unit direction of travel."""
        n = self.length or 1.0
        return ((self.end[0] - self.start[0]) / n, (self.end[1] - self.start[1]) / n)

    def part(self, s0: float, s1: float) -> Line:
        """The stretch between two lengths from the start."""
        return Line(self.point_at(s0), self.point_at(s1))

    def reversed(self) -> Line:
        """The same edge travelled the other way."""
        return Line(self.end, self.start)

    def offset(self, d: float) -> Line:
        """The parallel edge `d` mm to the right of travel (outward, counter-clockwise)."""
        tx, ty = self.tangent_at(0.0)
        return Line(
            (self.start[0] + d * ty, self.start[1] - d * tx),
            (self.end[0] + d * ty, self.end[1] - d * tx),
        )

    def flattened(self, sagitta_mm: float = FLAT_MM) -> list[Point]:
        """Points along the edge, without its end."""
        return [self.start]


@dataclass(frozen=True, slots=True)
class Arc:
    """A circular arc from `start` to `end` about `centre`, counter-clockwise where `ccw`."""

    start: Point
    end: Point
    centre: Point
    ccw: bool = True

    @property
    def radius(self) -> float:
        """Radius in millimetres."""
        return math.dist(self.start, self.centre)

    @property
    def start_angle(self) -> float:
        """Angle of the start as seen from the centre, radians."""
        return math.atan2(self.start[1] - self.centre[1], self.start[0] - self.centre[0])

    @property
    def sweep(self) -> float:
        """Signed angle travelled, radians; counter-clockwise positive; a whole turn if closed."""
        end = math.atan2(self.end[1] - self.centre[1], self.end[0] - self.centre[0])
        turn = (end - self.start_angle) % math.tau
        if math.dist(self.start, self.end) < SAME_POINT_MM:
            turn = 0.0
        return (turn or math.tau) if self.ccw else (turn - math.tau)

    @property
    def length(self) -> float:
        """Length in millimetres."""
        return abs(self.sweep) * self.radius

    def point_at(self, s: float) -> Point:
        """Point at length `s` (mm) from the start."""
        a = self.start_angle + math.copysign(s / self.radius, self.sweep)
        return (
            self.centre[0] + self.radius * math.cos(a),
            self.centre[1] + self.radius * math.sin(a),
        )

    def tangent_at(self, s: float) -> Point:
        """Unit direction of travel at length `s`."""
        a = self.start_angle + math.copysign(s / self.radius, self.sweep)
        way = 1.0 if self.ccw else -1.0
        return (-way * math.sin(a), way * math.cos(a))

    def part(self, s0: float, s1: float) -> Arc:
        """The stretch between two lengths from the start."""
        return Arc(self.point_at(s0), self.point_at(s1), self.centre, self.ccw)

    def reversed(self) -> Arc:
        """The same arc travelled the other way."""
        return Arc(self.end, self.start, self.centre, not self.ccw)

    def offset(self, d: float) -> Arc:
        """The concentric arc `d` mm to the right of travel.

        Raises
        ------
        OutlineError
            If nothing of the arc would be left.
        """
        new = self.radius + (d if self.ccw else -d)
        if new <= SAME_POINT_MM:
            raise OutlineError(f"an arc of radius {self.radius:.1f} mm cannot be offset by {d:.1f} mm")
        f = new / self.radius

        def moved(p: Point) -> Point:
            return (
                self.centre[0] + f * (p[0] - self.centre[0]),
                self.centre[1] + f * (p[1] - self.centre[1]),
            )

        return Arc(moved(self.start), moved(self.end), self.centre, self.ccw)

    def flattened(self, sagitta_mm: float = FLAT_MM) -> list[Point]:
        """Points on the arc, without its end, no further than `sagitta_mm` from it."""
        step = 2 * math.acos(max(0.0, 1 - sagitta_mm / self.radius)) if self.radius > sagitta_mm else 1.0
        n = max(2, math.ceil(abs(self.sweep) / step))
        return [self.point_at(self.length * i / n) for i in range(n)]


Edge = Line | Arc


def _many_at(edge: Edge, rest: Any) -> tuple[Any, Any]:
    """An edge's points at many lengths from its start: x and y."""
    if isinstance(edge, Line):
        t = rest / edge.length if edge.length else rest
        return tuple(a + t * (b - a) for a, b in zip(edge.start, edge.end, strict=True))
    a = edge.start_angle + np.copysign(rest / edge.radius, edge.sweep)
    return edge.centre[0] + edge.radius * np.cos(a), edge.centre[1] + edge.radius * np.sin(a)


def moved_edge(edge: Edge, f: Any) -> Edge:
    """Map an edge through a rigid motion `f`, a function of points that keeps handedness."""
    if isinstance(edge, Line):
        return Line(f(edge.start), f(edge.end))
    return Arc(f(edge.start), f(edge.end), f(edge.centre), edge.ccw)


def flipped_edge(edge: Edge) -> Edge:
    """Mirror an edge in the x axis (y to -y), keeping its direction of travel."""

    def f(p: Point) -> Point:
        return (p[0], -p[1])

    if isinstance(edge, Line):
        return Line(f(edge.start), f(edge.end))
    return Arc(f(edge.start), f(edge.end), f(edge.centre), not edge.ccw)


@dataclass(frozen=True)
class Path:
    """An open chain of edges, each starting where the last one ended."""

    edges: tuple[Edge, ...]

    def __post_init__(self) -> None:
        for a, b in itertools.pairwise(self.edges):
            if math.dist(a.end, b.start) > 1e-3:
                raise OutlineError(f"an edge ends at {a.end} but the next starts at {b.start}")

    @cached_property
    def _ends(self) -> Points:
        return np.cumsum([0.0, *(e.length for e in self.edges)])

    @property
    def length(self) -> float:
        """Length in millimetres."""
        return float(self._ends[-1])

    def edge_starts(self) -> list[float]:
        """Length from the start at which each edge begins."""
        return [float(s) for s in self._ends[:-1]]

    def _at(self, s: float) -> tuple[Edge, float]:
        s = min(max(s, 0.0), self.length)
        i = min(int(np.searchsorted(self._ends, s, side="right")) - 1, len(self.edges) - 1)
        return self.edges[i], s - float(self._ends[i])

    def point_at(self, s: float) -> Point:
        """Point at length `s` (mm), clamped to the ends."""
        edge, rest = self._at(s)
        return edge.point_at(rest)

    def tangent_at(self, s: float) -> Point:
        """Unit direction of travel at `s`; at a joint, that of the edge that begins there."""
        edge, rest = self._at(s)
        return edge.tangent_at(rest)

    def points_at(self, lengths_mm: Sequence[float] | Points) -> Points:
        """Points at many lengths, (n, 2)."""
        s = np.clip(np.asarray(lengths_mm, dtype=np.float64), 0.0, self.length)
        on = np.minimum(np.searchsorted(self._ends, s, side="right") - 1, len(self.edges) - 1)
        points = np.empty((len(s), 2))
        for i in np.unique(on):
            edge, rest = self.edges[i], s[on == i] - self._ends[i]
            points[on == i] = np.column_stack(_many_at(edge, rest))
        return points

    def part(self, s0: float, s1: float) -> Path:
        """The stretch from `s0` to `s1`, `s0 < s1`."""
        cut: list[Edge] = []
        for edge, start in zip(self.edges, self.edge_starts(), strict=True):
            a, b = max(s0 - start, 0.0), min(s1 - start, edge.length)
            if b - a > SAME_POINT_MM:
                cut.append(edge if a == 0.0 and b == edge.length else edge.part(a, b))
        return Path(tuple(cut))

    def reversed(self) -> Path:
        """The same chain travelled the other way."""
        return Path(tuple(e.reversed() for e in reversed(self.edges)))

    def flattened(self, sagitta_mm: float = FLAT_MM) -> Points:
        """Points along the chain, both ends included, (n, 2)."""
        pts = [p for e in self.edges for p in e.flattened(sagitta_mm)]
        return np.array([*pts, self.edges[-1].end], dtype=np.float64)


@dataclass(frozen=True)
class Outline:
    """A closed counter-clockwise run of edges, each with the name of its side and whether it is seen.

    `sides` and `seen` are as long as `edges`; several edges may share a side (a straight and
    the halves of its rounded corners). Seam length s runs counter-clockwise from the start of
    the first edge.

    Raises
    ------
    OutlineError
        If the edges do not close, enclose nothing, or run clockwise.
    """

    edges: tuple[Edge, ...]
    sides: tuple[str, ...] = ()
    seen: tuple[bool, ...] = ()

    def __post_init__(self) -> None:
        if not self.edges:
            raise OutlineError("an outline needs at least one edge")
        object.__setattr__(self, "sides", self.sides or ("",) * len(self.edges))
        object.__setattr__(self, "seen", self.seen or (True,) * len(self.edges))
        if not len(self.edges) == len(self.sides) == len(self.seen):
            raise OutlineError("each edge needs one side name and one word whether it is seen")
        for a, b in zip(self.edges, (*self.edges[1:], self.edges[0]), strict=True):
            if math.dist(a.end, b.start) > 1e-3:
                raise OutlineError(f"an edge ends at {a.end} but the next starts at {b.start}")
        if self.area <= 0.0:
            raise OutlineError("the edges run clockwise or enclose nothing")

    @cached_property
    def path(self) -> Path:
        """The outline as a chain from the start of the first edge round to it again."""
        return Path(self.edges)

    @property
    def length(self) -> float:
        """Perimeter in millimetres."""
        return self.path.length

    @cached_property
    def area(self) -> float:
        """Enclosed area in square millimetres, exact for arcs."""
        total = 0.0
        for e in self.edges:
            total += (e.start[0] * e.end[1] - e.end[0] * e.start[1]) / 2
            if isinstance(e, Arc):
                total += e.radius**2 * (e.sweep - math.sin(e.sweep)) / 2
        return total

    def point_at(self, s: float) -> Point:
        """Point at seam length `s`, taken round."""
        return self.path.point_at(s % self.length)

    def tangent_at(self, s: float) -> Point:
        """Unit direction of travel at seam length `s`, taken round."""
        return self.path.tangent_at(s % self.length)

    def part(self, s0: float, s1: float) -> Path:
        """The stretch from `s0` forward to `s1`, going over the start where it must."""
        n = self.length
        if s1 - s0 > n + SAME_POINT_MM:
            raise OutlineError("a stretch cannot be longer than its outline")
        a, span = s0 % n, s1 - s0
        if a + span <= n + SAME_POINT_MM:
            return self.path.part(a, min(a + span, n))
        return Path(self.path.part(a, n).edges + self.path.part(0.0, a + span - n).edges)

    def side_ranges(self, side: str) -> list[tuple[float, float]]:
        """Stretches (s0, s1) of one side, in order; s1 may pass the perimeter at the start."""
        starts = self.path.edge_starts()
        runs: list[list[float]] = []
        for start, edge, name in zip(starts, self.edges, self.sides, strict=True):
            if name != side:
                continue
            if runs and abs(runs[-1][1] - start) < SAME_POINT_MM:
                runs[-1][1] = start + edge.length
            else:
                runs.append([start, start + edge.length])
        if len(runs) > 1 and runs[0][0] < SAME_POINT_MM and abs(runs[-1][1] - self.length) < SAME_POINT_MM:
            first = runs.pop(0)
            runs[-1][1] = self.length + first[1]
        return [(a, b) for a, b in runs]

    def side_names(self) -> tuple[str, ...]:
        """The names of the sides, once each, in order."""
        return tuple(dict.fromkeys(self.sides))

    def side_at(self, s: float) -> str:
        """The name of the side at seam length `s`."""
        i = int(np.searchsorted(self.path._ends, s % self.length, side="right")) - 1
        return self.sides[min(i, len(self.sides) - 1)]

    def is_seen(self, side: str) -> bool:
        """Tell whether any edge of a side is seen."""
        return any(v for n, v in zip(self.sides, self.seen, strict=True) if n == side)

    def corners(self) -> list[tuple[float, float]]:
        """Corners as (s, turn in radians): outward positive, inward negative."""
        found = []
        previous = self.edges[-1]
        for start, edge in zip(self.path.edge_starts(), self.edges, strict=True):
            a, b = previous.tangent_at(previous.length), edge.tangent_at(0.0)
            turn = math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])
            if abs(turn) > CORNER_RAD:
                found.append((start, turn))
            previous = edge
        return found

    def flattened(self, sagitta_mm: float = FLAT_MM) -> Points:
        """Points round the outline, unclosed, (n, 2)."""
        return np.array([p for e in self.edges for p in e.flattened(sagitta_mm)], dtype=np.float64)

    def bounds(self) -> tuple[float, float, float, float]:
        """Exact (x_min, y_min, x_max, y_max)."""
        pts = [e.start for e in self.edges]
        for e in self.edges:
            if isinstance(e, Arc):
                for quarter in range(4):
                    a = quarter * math.pi / 2
                    on = ((a - e.start_angle) % math.tau) if e.ccw else ((e.start_angle - a) % math.tau)
                    if on <= abs(e.sweep):
                        pts.append((e.centre[0] + e.radius * math.cos(a), e.centre[1] + e.radius * math.sin(a)))
        xs, ys = [p[0] for p in pts], [p[1] for p in pts]
        return min(xs), min(ys), max(xs), max(ys)

    def moved(self, dx: float, dy: float) -> Outline:
        """The outline shifted."""
        edges = tuple(moved_edge(e, lambda p: (p[0] + dx, p[1] + dy)) for e in self.edges)
        return Outline(edges, self.sides, self.seen)

    def rolled_under(self) -> Outline:
        """The mirror image (x, -y), still counter-clockwise.

        Edge i of the result is edge i of the original from the other end of the list; sides
        keep their names, so `front` is still the front.
        """
        edges = tuple(flipped_edge(e).reversed() for e in reversed(self.edges))
        return Outline(edges, tuple(reversed(self.sides)), tuple(reversed(self.seen)))
