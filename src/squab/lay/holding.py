"""What holds a lay: the pieces that stand on one another from the cut end to the last edge.

Take the piece whose edge is the last. Something keeps it from coming down: the piece it stands on,
or its place on the pattern, for the next one is a whole repeat lower and there it would lie over
the piece beneath. So on to that one, and down to the cut end. A lay can only become shorter where
this chain does.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from squab.lay.cuts import cut_outlines, cut_pieces, flaw_outline, grown, matched, way_down_mm, way_left_mm
from squab.lay.records import Lay, LayProblem
from squab.plane import Points

TOUCHES_MM = 0.5
"""Pieces nearer than this stand on one another; pieces with round edges rest a little apart."""
AT_THE_END_MM = 0.5
"""Pieces whose last edge is this near the lay's end have to come down as well before it is shorter."""

By = Literal["cut end", "piece", "pattern", "flaw", "nothing"]
"""`nothing` where a piece could come down: the lay keeps cloth free beneath it for other starts of the pattern."""


@dataclass(frozen=True, slots=True)
class Hold:
    """One piece of the chain, and what keeps it from coming down.

    `number` is its place in `lay.placed`, `on` that of the piece beneath it (None: the cut end, or
    a flaw). `waits_mm` is the free cloth straight beneath it, which it leaves only because its
    place on the pattern is where it is; `aside_mm` the same to its left, None where the pattern
    does not hold it across.
    """

    number: int
    key: str
    from_mm: float
    to_mm: float
    by: By
    on: int | None
    waits_mm: float
    aside_mm: float | None = None


@dataclass(frozen=True)
class Holding:
    """What holds a lay's length.

    `ends` are the pieces (numbers in `lay.placed`) that all reach its end; `chain` leads from one
    of them down to the cut end, the one that waits least on the way.
    """

    ends: tuple[int, ...]
    chain: tuple[Hold, ...]

    @property
    def waits_mm(self) -> float:
        """How much of the length the chain waits for the pattern."""
        return sum(h.waits_mm for h in self.chain if h.by == "pattern")


def what_holds(problem: LayProblem, lay: Lay) -> Holding:
    """Find what keeps a lay from being shorter.

    Parameters
    ----------
    problem, lay
        A sound lay of the problem.

    Returns
    -------
    Holding
        The chain of pieces from the lay's last edge to its cut end; empty where nothing is laid.

    Notes
    -----
    Lengths in the chain add up: what stands between the cut end and the last edge is cloth of the
    pieces on the chain, the gaps between them, and what they wait. For rectangles the heights and
    the waits sum to the length.
    """
    if not lay.placed:
        return Holding((), ())
    outlines = cut_outlines(problem, lay)
    tops = [float(uv[:, 1].max()) for uv in outlines]
    ends = tuple(k for k, top in enumerate(tops) if top > lay.length_mm - AT_THE_END_MM)
    chains = [_chain(problem, lay, outlines, k) for k in ends]
    chain = min(chains, key=lambda c: (sum(h.waits_mm for h in c), len(c)))
    return Holding(ends, chain)


def _chain(problem: LayProblem, lay: Lay, outlines: list[Points], number: int) -> tuple[Hold, ...]:
    pieces = cut_pieces(problem, lay)
    around = [grown(uv, problem.gap_mm) for uv in outlines]
    flaws = [flaw_outline(f) for f in problem.flaws]
    chain: list[Hold] = []
    at: int | None = number
    while at is not None and at not in {h.number for h in chain}:
        across, along = matched(problem, pieces[at].phase)
        free, on, flaw = _beneath(outlines, around, flaws, at)
        by: By = "pattern" if along else "nothing"
        if free <= TOUCHES_MM:
            by = "piece" if on is not None else "flaw" if flaw else "cut end"
        uv = outlines[at]
        chain.append(
            Hold(
                at, pieces[at].key, float(uv[:, 1].min()), float(uv[:, 1].max()), by, on,
                _told(free),
                _told(_free_to_the_left(outlines, around, flaws, at)) if across else None,
            )
        )  # fmt: skip
        at = on
    return tuple(chain)


def _beneath(
    outlines: list[Points], around: list[Points], flaws: list[Points], at: int
) -> tuple[float, int | None, bool]:
    """Free cloth straight beneath a piece, the piece that ends it, and whether a flaw does."""
    uv = outlines[at]
    free, on, flaw = float(uv[:, 1].min()), None, False
    for k, other in enumerate(around):
        if k != at and outlines[k][:, 1].min() < uv[:, 1].max():
            down = way_down_mm(uv, other)
            if down < free - 1e-9:
                free, on = down, k
    for rect in flaws:
        down = way_down_mm(uv, rect)
        if down < free - 1e-9:
            free, on, flaw = down, None, True
    return free, on, flaw


def _free_to_the_left(outlines: list[Points], around: list[Points], flaws: list[Points], at: int) -> float:
    uv = outlines[at]
    others = [o for k, o in enumerate(around) if k != at] + flaws
    free = min((way_left_mm(uv, o) for o in others), default=np.inf)
    return float(min(free, uv[:, 0].min()))


def _told(free_mm: float) -> float:
    return free_mm if free_mm > TOUCHES_MM else 0.0
