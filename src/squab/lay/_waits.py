"""What pieces really take along the cloth where each must wait for its place on a repeat that runs across it.

A narrow piece with a place once a repeat keeps the others like it a whole repeat away, unless something
fills the wait between them. How much cloth a piece takes with its share of the waits follows from a linear programme:
on a line along an endless cloth pieces stand one behind another, and each is priced as dear as it can be without any
order of them costing more than the length that it takes.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any

import numpy as np

Way = tuple[float, float, float | None]
"""Width, height and place on the repeat, None where that is anywhere; in mm, with the gap."""
STEP_MM, MOST_CELLS, MOST_ROWS = 1.0, 400, 20_000
"""The repeat is looked at in steps of so much, or wider ones where there would be more of them than this."""
MOST_TURNS = 3_000
"""Of the simplex method; all that is worth its area is the answer where they do not do."""
LEAST = 0.25
"""Nothing is taken to be worth less than this part of its area."""


@lru_cache(maxsize=8)
def with_waits(kinds: tuple[tuple[Way, ...], ...], counts: tuple[int, ...], period_mm: float, width_mm: float) -> Any:
    """The area of each kind of piece with its waits, against its own.

    Parameters
    ----------
    kinds, counts
        The ways in which each may lie, and how many there are.
    period_mm, width_mm
        The repeat along the cloth; the cloth's width with the gap.

    Returns
    -------
    ndarray, shape (n,)
        1 where nothing is waited for.
    """
    import highspy

    free = sum(way[2] is None for ways in kinds for way in ways)
    cells = max(2, min(math.ceil(period_mm / STEP_MM), MOST_CELLS, MOST_ROWS // max(1, free)))
    step = period_mm / cells
    area = np.array([ways[0][0] * ways[0][1] for ways in kinds])
    n, spread = len(kinds), cells + len(kinds)
    rows: list[tuple[int, int, int, float, float]] = [(r, (r + 1) % cells, -1, 0.0, step) for r in range(cells)]
    for k, ways in enumerate(kinds):
        for w, h, at in ways:
            first = range(cells) if at is None else (math.floor(at / step + 1e-9) % cells,)
            behind = math.floor(h / step + 1e-9) if at is None else math.floor((at + h) / step + 1e-9)
            for r in first:
                rows.append((r, (r + behind if at is None else behind) % cells, cells + k, area[k] / w, h))
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = spread + 1, len(rows) + cells
    lp.sense_ = highspy.ObjSense.kMaximize
    lp.col_cost_ = np.array([0.0] * cells + (area * np.array(counts)).tolist() + [-width_mm])
    lp.col_lower_ = np.zeros(spread + 1)
    lp.col_upper_ = np.full(spread + 1, highspy.kHighsInf)
    lp.row_lower_ = np.full(lp.num_row_, -highspy.kHighsInf)
    lp.row_upper_ = np.array([row[4] for row in rows] + [0.0] * cells)
    starts, index, value = [0], list[int](), list[float]()
    for here, there, k, price, _ in rows:
        entries = {there: 1.0, here: -1.0} if here != there else {}
        entries |= {k: price} if k >= 0 else {}
        index += entries
        value += entries.values()
        starts.append(len(index))
    for r in range(cells):
        index += [r, spread]
        value += [1.0, -1.0]
        starts.append(len(index))
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_, lp.a_matrix_.index_ = np.array(starts, np.int32), np.array(index, np.int32)
    lp.a_matrix_.value_ = np.array(value)
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("simplex_iteration_limit", MOST_TURNS)  # a limit of time would make it hang on the machine
    solver.passModel(lp)
    solver.run()
    priced = np.array(solver.getSolution().col_value[cells : cells + n])
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return np.ones(n)
    return np.maximum(priced, LEAST)
