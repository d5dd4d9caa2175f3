"""Placed pieces as they are cut from the cloth: their outlines there, and what is free below and beside them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from squab.cloth import Flaw
from squab.lay.records import Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.plane import Placement, Points

SIDE_BY_SIDE_MM = 1e-6
"""Pieces that share no more than this of the width, or of the length, do not stand in one another's way."""


def cut_piece(part: LayPiece | LayStrip, placed: Placed) -> LayPiece:
    """A piece as it is laid, or one part of a strip as a piece of its own, under its own key."""
    if isinstance(part, LayPiece):
        return part
    a, b = placed.part_mm or (part.s0_mm, part.s1_mm)
    x0, x1 = a - part.end_mm, b + part.end_mm
    outline = np.array([[x0, part.z0_mm], [x1, part.z0_mm], [x1, part.z1_mm], [x0, part.z1_mm]], dtype=np.float64)
    return LayPiece(part.key, outline, part.turns_deg, part.phase, part.cushion)


def cut_pieces(problem: LayProblem, lay: Lay) -> tuple[LayPiece, ...]:
    """What is cut, in the order of the lay: each piece, and each part of a strip."""
    parts: dict[str, LayPiece | LayStrip] = {p.key: p for p in problem.pieces}
    parts |= {s.key: s for s in problem.strips}
    return tuple(cut_piece(parts[p.key], p) for p in lay.placed)


def cut_outlines(problem: LayProblem, lay: Lay) -> list[Points]:
    """Cut lines on the cloth, in the order of the lay."""
    return [
        Placement(x.turn_deg, x.u_mm, x.v_mm).points(p.outline)
        for p, x in zip(cut_pieces(problem, lay), lay.placed, strict=True)
    ]


def matched(problem: LayProblem, phase: LayPhase | None) -> tuple[bool, bool]:
    """Tell whether a piece has its place across, and along, on the pattern."""
    lattice = problem.lattice
    return (
        phase is not None and phase.off_p is not None and lattice.across_mm is not None,
        phase is not None and phase.off_q is not None and lattice.along_mm is not None,
    )


def flaw_outline(flaw: Flaw) -> Points:
    """A flaw as an outline."""
    return np.array(flaw.corners, dtype=np.float64)


def grown(uv: Points, gap_mm: float) -> Points:
    """An outline with the knife's gap round it, square at its corners."""
    if gap_mm <= 0.0:
        return uv
    around = shapely.Polygon(uv).buffer(gap_mm, join_style="mitre")
    assert isinstance(around, shapely.Polygon)
    return np.asarray(around.exterior.coords, dtype=np.float64)[:-1]


def way_down_mm(uv: Points, other: Points) -> float:
    """How far a piece could come down, towards the cut end, before it meets another; inf where it would not.

    >>> square = np.array([(0.0, 0.0), (10, 0), (10, 10), (0, 10)])
    >>> float(way_down_mm(square + (5, 30), square)), float(way_down_mm(square + (10, 30), square))
    (20.0, inf)
    """
    low = max(uv[:, 0].min(), other[:, 0].min()) + SIDE_BY_SIDE_MM
    high = min(uv[:, 0].max(), other[:, 0].max()) - SIDE_BY_SIDE_MM
    if high <= low or other[:, 1].min() >= uv[:, 1].max() - SIDE_BY_SIDE_MM:
        return np.inf
    corners = np.concatenate([uv[:, 0], other[:, 0]])
    beside = np.concatenate([corners - SIDE_BY_SIDE_MM, corners + SIDE_BY_SIDE_MM, [low, high]])
    free = np.inf
    for u in np.unique(beside[(beside >= low) & (beside <= high)]):
        above, below = _crossings(uv, u), _crossings(other, u)
        between = above[:, None] - below[None, :]
        # of edges that face one another the piece's is above; edges of the other that lie higher are not in its way
        facing = between[between > -1.0]
        free = min(free, facing.min(initial=np.inf))
    return max(float(free), 0.0)


def way_left_mm(uv: Points, other: Points) -> float:
    """How far a piece could go left before it meets another; inf where it would not."""
    return way_down_mm(uv[:, ::-1], other[:, ::-1])


def _crossings(uv: Points, u: float) -> Points:
    """Where the line across at u crosses an outline."""
    a, b = uv, np.roll(uv, -1, axis=0)
    over = (a[:, 0] <= u) != (b[:, 0] <= u)
    a, b = a[over], b[over]
    return np.asarray(a[:, 1] + (u - a[:, 0]) * (b[:, 1] - a[:, 1]) / (b[:, 0] - a[:, 0]))


def spread_mm(outlines: Sequence[Points], of: Iterable[int]) -> float:
    """How far along the cloth some pieces lie, from the lowest edge of the first to the last edge of the last."""
    some = [outlines[k] for k in of]
    return max(float(uv[:, 1].max()) for uv in some) - min(float(uv[:, 1].min()) for uv in some)
