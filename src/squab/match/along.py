"""Places along a seam, on both the pieces it joins, many at once."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from squab.construct.records import Seam
from squab.match.congruence import Floats
from squab.plane import Arc, Path, Point, Points

STEP_MM = 10.0
"""Along straight stretches places are taken at least this often."""
ARC_STEP_RAD = math.radians(1.5)
MOST_STEPS = 240
"""No single edge is divided into more stretches than this."""


@dataclass(frozen=True)
class Along:
    """Places along a seam: length from its start `s`, and the points on either piece, (n, 2), own frames."""

    s: Floats
    a: Points
    b: Points


def _knots(path: Path, scale: float) -> list[float]:
    knots = [0.0]
    for start, edge in zip(path.edge_starts(), path.edges, strict=True):
        arc_steps, length = abs(edge.sweep) / ARC_STEP_RAD if isinstance(edge, Arc) else 0.0, edge.length
        n = min(max(2, math.ceil(length / STEP_MM), math.ceil(arc_steps)), MOST_STEPS)
        knots += [(start + length * i / n) * scale for i in range(1, n + 1)]
    return knots


def points_along(path: Path, s: Floats) -> Points:
    """Points of a path at ascending lengths from its start, (n, 2)."""
    starts = np.array(path.edge_starts())
    which = np.clip(np.searchsorted(starts, s, side="right") - 1, 0, len(starts) - 1)
    out = np.empty((len(s), 2))
    for i, edge in enumerate(path.edges):
        here = which == i
        rest = s[here] - starts[i]
        if isinstance(edge, Arc):
            angle = edge.start_angle + np.copysign(1.0, edge.sweep) * rest / edge.radius
            out[here, 0] = edge.centre[0] + edge.radius * np.cos(angle)
            out[here, 1] = edge.centre[1] + edge.radius * np.sin(angle)
        else:
            f = rest / (edge.length or 1.0)
            out[here, 0] = edge.start[0] + f * (edge.end[0] - edge.start[0])
            out[here, 1] = edge.start[1] + f * (edge.end[1] - edge.start[1])
    return out


def along(seam: Seam) -> Along:
    """Take places along a seam: every joint of its edges, its middle, and often enough between.

    Lengths are those of the first piece; where the second is eased, its own run in proportion.
    """
    return _places(seam.a.path, seam.b.path)


@lru_cache(maxsize=2048)
def _places(a: Path, b: Path) -> Along:
    """The places of a seam by its two lines: those of a cushion that did not change are not taken twice."""
    long_a, long_b = a.length, b.length
    scale = long_a / long_b if long_b else 1.0
    knots = [*_knots(a, 1.0), *_knots(b, scale), long_a / 2]
    s = np.array(sorted({round(min(max(k, 0.0), long_a), 6) for k in knots}))
    made = Along(s, points_along(a, s), points_along(b, s / scale))
    for values in (made.s, made.a, made.b):
        values.flags.writeable = False  # they are handed to every caller
    return made


def match_index(places: Along, role: str, front: Point) -> int:
    """Which of the places is matched first: the centre of a front or back, the middle elsewhere.

    At a front (or back) it is the place nearest the middle across, the frontmost (or backmost)
    of those. `front` is the way the first piece's arrow points, in its own frame.
    """
    if role not in ("front", "back"):
        return int(np.argmin(np.abs(places.s - places.s[-1] / 2)))
    ahead = places.a @ np.array(front)
    across = places.a @ np.array((-front[1], front[0]))
    off = np.abs(across - (across.min() + across.max()) / 2)
    near = np.flatnonzero(off <= off.min() + 1e-6)
    return int(near[np.argmax(ahead[near] if role == "front" else -ahead[near])])
