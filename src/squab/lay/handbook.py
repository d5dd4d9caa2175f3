"""The handbook's way of laying, to stand beside every lay: rows across the width.

Sort by sort (panels, then boxing, zip panels, and the strips last), the deepest first, pieces are
set side by side in rows as wide as the cloth; a row is as deep as its deepest piece. A matched
piece starts at its place on the stripe, and a row of pieces that are matched along takes whole
repeats. Where columns are dropped a row may start on the next column's motif, so half a repeat of
a half drop counts as whole. Common practice, no single source; the rounding to whole repeats is
how curtain and wallcovering books teach it.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from squab.lay.records import LayPhase, LayProblem, LayStrip
from squab.plane import Placement

NOISE_MM = 1e-6
"""A length over a whole repeat by less than this is that repeat: the noise of floats."""


@dataclass
class _Row:
    used_mm: float
    depth_mm: float
    matched: bool


@dataclass(frozen=True)
class _Block:
    """A piece as laid: its size, and where its left edge stands within the repeat (None: anywhere)."""

    width_mm: float
    depth_mm: float
    start_mm: float | None
    matched_along: bool


def handbook_length(problem: LayProblem) -> float:
    """The length of cloth that rows across the width use, mm.

    From the cut end to the last cut edge, the gap kept between rows and between neighbours. Each
    piece is laid at the first of its allowed turns. Pinned lines stand where they are pinned,
    measured starts where they were measured, everything unknown at nought.

    >>> from squab.lay.records import Lattice
    >>> handbook_length(LayProblem("plain", 1370.0, Lattice(), ()))
    0.0
    """
    row_sums = [_rows_mm(problem, blocks) for blocks in _sorts(problem).values()]
    row_sums += [_strip_rows_mm(problem, strips) for strips in _strips_by_width(problem.strips)]
    return max(0.0, sum(row_sums) - problem.gap_mm)


def handbook_order_mm(problem: LayProblem) -> float:
    """The handbook's length to buy: one further repeat where anything is matched along.

    The cut end seldom falls where the first row must start.
    """
    length, repeat = handbook_length(problem), problem.lattice.along_mm
    phases = [p.phase for p in problem.pieces] + [s.phase for s in problem.strips]
    if repeat is not None and any(p is not None and p.off_q is not None for p in phases):
        return length + repeat
    return length


def whole_repeats(length_mm: float, repeat_mm: float) -> int:
    """How many whole repeats a cut takes; a cut of exactly so many takes no more.

    >>> whole_repeats(116, 25), whole_repeats(125, 25)
    (5, 5)
    """
    return max(0, math.ceil((length_mm - NOISE_MM) / repeat_mm))


# -- pieces -----------------------------------------------------------------------------------


def _sorts(problem: LayProblem) -> dict[str, list[_Block]]:
    sorts: defaultdict[str, list[_Block]] = defaultdict(list)
    for p in problem.pieces:
        uv = Placement(p.turns_deg[0], 0.0, 0.0).points(p.outline)
        sorts[p.kind].append(_block(problem, uv, p.phase))
    for s in problem.strips:
        if _lies_along(s) or _is_whole(s):
            z = np.array([(s.s0_mm - s.end_mm, s.z0_mm), (s.s1_mm + s.end_mm, s.z1_mm)], dtype=np.float64)
            sorts["strips along" if _lies_along(s) else "strips in one"].append(
                _block(problem, Placement(s.turns_deg[0], 0.0, 0.0).points(z), s.phase)
            )
    return sorts


def _block(problem: LayProblem, uv: np.typing.NDArray[np.float64], phase: LayPhase | None) -> _Block:
    (u0, v0), (u1, v1) = uv.min(axis=0), uv.max(axis=0)
    start, lattice = None, problem.lattice
    if phase is not None and phase.off_p is not None and lattice.across_mm is not None:
        anchor = problem.anchors.get(phase.group, (None, None))[0] or 0.0
        start = phase.off_p + phase.sign_p * anchor + (problem.pattern_at[0] or 0.0) + float(u0)
    return _Block(float(u1 - u0), float(v1 - v0), start, _matched_along(problem, phase))


def _matched_along(problem: LayProblem, phase: LayPhase | None) -> bool:
    return phase is not None and phase.off_q is not None and problem.lattice.along_mm is not None


def _rows_mm(problem: LayProblem, blocks: Iterable[_Block]) -> float:
    """Set blocks in rows, each in the first row that has room, and add the rows up, a gap after each."""
    rows: list[_Row] = []
    for block in sorted(blocks, key=lambda b: (-b.depth_mm, -b.width_mm)):
        for row in rows:
            left = _left_edge(block, row.used_mm + problem.gap_mm, problem)
            if left + block.width_mm <= problem.usable_width_mm + NOISE_MM:
                row.used_mm, row.matched = left + block.width_mm, row.matched or block.matched_along
                break
        else:
            left = _left_edge(block, 0.0, problem)
            rows.append(_Row(left + block.width_mm, block.depth_mm, block.matched_along))
    return sum(_row_mm(problem, row.depth_mm, row.matched) for row in rows)


def _left_edge(block: _Block, free_from: float, problem: LayProblem) -> float:
    if block.start_mm is None or problem.lattice.across_mm is None:
        return free_from
    behind = (block.start_mm - free_from) % problem.lattice.across_mm
    return free_from + (behind if problem.lattice.across_mm - behind > NOISE_MM else 0.0)


def _row_mm(problem: LayProblem, depth_mm: float, matched: bool) -> float:
    """A row and the gap after it; whole repeats where it is matched along."""
    step = _row_step(problem)
    if not matched or step is None:
        return depth_mm + problem.gap_mm
    return whole_repeats(depth_mm + problem.gap_mm, step) * step


def _row_step(problem: LayProblem) -> float | None:
    """From one row of motifs to the next, in any column: the repeat, or its part where columns are dropped."""
    lattice = problem.lattice
    if lattice.along_mm is None or lattice.across_mm is None or not lattice.drop_mm:
        return lattice.along_mm
    for parts in range(2, 9):
        if abs((lattice.drop_mm * parts) % lattice.along_mm) < NOISE_MM:
            return lattice.along_mm / parts
    return lattice.along_mm


# -- strips -----------------------------------------------------------------------------------


def _lies_along(strip: LayStrip) -> bool:
    return strip.turns_deg[0] % 180 == 90


def _is_whole(strip: LayStrip) -> bool:
    """Tell whether a strip across the cloth may not be joined: then rows must take it as it is."""
    return strip.most_parts == 1 and strip.turns_deg[0] % 90 == 0


def _strips_by_width(strips: Iterable[LayStrip]) -> list[list[LayStrip]]:
    """Strips cut across or on the bias, those of one width, way and phase together."""
    groups: defaultdict[object, list[LayStrip]] = defaultdict(list)
    for s in strips:
        if not _lies_along(s) and not _is_whole(s):
            groups[round(s.z1_mm - s.z0_mm, 6), s.turns_deg[0] % 90, s.phase].append(s)
    return list(groups.values())


def _strip_rows_mm(problem: LayProblem, strips: list[LayStrip]) -> float:
    """Whole rows of one width, the strips following on from row to row."""
    width = strips[0].z1_mm - strips[0].z0_mm
    if strips[0].turns_deg[0] % 90:
        return _bias_rows_mm(problem, strips, width)
    rows = _row_count(strips, problem.usable_width_mm)
    return rows * _row_mm(problem, width, _matched_along(problem, strips[0].phase))


def _row_count(strips: list[LayStrip], row_mm: float) -> int:
    """Running length over the length of a row, as the handbooks do it: what joins cost is not counted."""
    return max(1, whole_repeats(sum(s.s1_mm - s.s0_mm for s in strips), row_mm))


def _bias_rows_mm(problem: LayProblem, strips: list[LayStrip], width: float) -> float:
    """Bias strips from selvage to selvage: each takes its width times root 2, after one triangle.

    The run of the strip along the selvage is as in Baldt, *Clothing for Women* (1916), ch. XXII.
    """
    run = (width + problem.gap_mm) * math.sqrt(2)
    rows = _row_count(strips, problem.usable_width_mm * math.sqrt(2))
    return problem.usable_width_mm + rows * run
