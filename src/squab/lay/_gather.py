"""Drawing together: all pieces moved at once to where they are clear on the shortest cloth, near where they lie.

Of every two convex parts that may meet, one edge is kept between them: the one they lie least within.
With those edges the shortest cloth is a linear programme, and its answer the place to begin from
again. So pieces make way for one another, where moved one by one none of them finds room.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from squab.plane import Points

REACH = 0.15
"""How far a piece may move at a time, as a part of the pieces' usual side."""
CLEAR_MM = 3e-8
"""Kept between two parts, so that what the solver may be off leaves them clear."""
EXACT_MM = 1e-9
LEAST_GAIN, PLENTY = 1e-4, 3.0
"""What gains less, as a part of the length, is the last; so many times that, as long as others have shorter lays."""
MOST_TIMES = 12
MOST_EDGES, MOST_PIVOTS = 3_000, 5_000


def gathered(
    table: Any, at: Points, options: Any, mode: Any, *, usual_mm: float, best_mm: float
) -> tuple[float, Points, int]:
    """Draw pieces together that are clear, or nearly so.

    Parameters
    ----------
    table
        The pieces, a `squab.lay._press.Table`.
    at
        Lower left corners of the pieces, then of the flaws, (count, 2) mm. Where a piece has its place on the
        pattern it keeps that.
    options, mode
        Sizes of every piece at every turn (pieces, turns, 4) mm, and which turn each has.
    usual_mm
        Usual side of a piece.
    best_mm
        Length of the best lay there is.

    Returns
    -------
    tuple
        Length (mm) and places as in `at`; the length is infinite where no way was found. How many linear programmes
        that took. Rounding may still leave pieces in one another.
    """
    from squab.lay._apart import borders

    n, width = len(mode), float(table.model.problem.usable_width_mm)
    shape_of = np.concatenate([table.shape_by[np.arange(n), mode], table.flaw_shapes])
    sizes = options[np.arange(n), mode, :2]
    at, length, reach = at.copy(), np.inf, REACH * usual_mm
    between, edges = np.zeros((MOST_EDGES, 2), dtype=np.int64), np.zeros((MOST_EDGES, 3))
    for times in range(1, MOST_TIMES + 1):
        met = borders(
            n, len(at), table.shapes, reach, shape_of, at, table.boxes, table.pair, table.half_planes, table.polys,
            between, edges,
        )  # fmt: skip
        low, high = _room(at[:n], sizes, table.phased, width, reach)
        places = None if met < 0 else _shortest(low, high, at, sizes, between[:met], edges[:met])
        if places is None:
            return length, at, times
        at[:n] = places
        now = float((at[:n, 1] + sizes[:, 1]).max())
        gain, length = length - now, now
        if gain < LEAST_GAIN * now * (1.0 if now <= best_mm else PLENTY):
            return length, at, times
    return length, at, MOST_TIMES


def _room(at: Points, sizes: Points, phased: Any, width_mm: float, reach_mm: float) -> tuple[Points, Points]:
    """Where each piece's lower left corner may go at a time: from, to."""
    low, high = np.maximum(at - reach_mm, 0.0), at + reach_mm
    high[:, 0] = np.minimum(high[:, 0], width_mm - sizes[:, 0])
    held = phased > 0
    return np.where(held, at, low), np.where(held, at, high)


def _shortest(low: Points, high: Points, at: Points, sizes: Points, between: Any, edges: Any) -> Points | None:
    """Places on the shortest cloth, each two pieces on their own sides of the edges between them; None for none."""
    import highspy

    if (low > high + EXACT_MM).any():
        return None
    n, m = len(sizes), len(edges)
    one, other = between[:, 0], between[:, 1]
    flaw = other >= n
    # columns: u of each piece, v of each, the length; rows: an edge each, then the end of each piece
    against = np.where(flaw, 0, other)
    columns = np.column_stack([one, n + one, against, n + against])
    values = np.column_stack([edges[:, :2], np.where(flaw[:, None], 0.0, -edges[:, :2])])
    kept = np.ones((m, 4), dtype=bool)
    kept[flaw, 2:] = False
    ends = np.column_stack([np.full(n, 2 * n), n + np.arange(n)])
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = 2 * n + 1, m + n
    lp.col_cost_ = np.append(np.zeros(2 * n), 1.0)
    lp.col_lower_ = np.append(low.T.ravel(), 0.0)
    lp.col_upper_ = np.append(np.maximum(low, high).T.ravel(), highspy.kHighsInf)
    stays = np.where(flaw, (edges[:, :2] * at[other]).sum(axis=1), 0.0)
    lp.row_lower_ = np.concatenate([edges[:, 2] + CLEAR_MM + stays, sizes[:, 1]])
    lp.row_upper_ = np.full(m + n, highspy.kHighsInf)
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0, *kept.sum(axis=1), *np.full(n, 2)]).astype(np.int32)
    lp.a_matrix_.index_ = np.concatenate([columns[kept], ends.ravel()]).astype(np.int32)
    lp.a_matrix_.value_ = np.concatenate([values[kept], np.tile([1.0, -1.0], n)])
    solver = highspy.Highs()
    solver.silent()
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("primal_feasibility_tolerance", EXACT_MM)
    solver.setOptionValue("simplex_iteration_limit", MOST_PIVOTS)
    solver.passModel(lp)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    x = np.array(solver.getSolution().col_value)
    return x[: 2 * n].reshape(2, n).T
