"""The inner loop of the bars: the dearest filling of one bar, in whole steps and whole values.

Compiled, because it runs some millions of times a second; kept apart, so that nothing else has
to wait for the compiler.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numba import njit

CLOSED = -(2**62)
"""The worth of a stretch that has not begun."""

Ints = npt.NDArray[np.int64]


@njit(cache=True, nogil=True)  # type: ignore[untyped-decorator]
def fill_bars(
    room: int,
    anchors: int,
    runs: Ints,
    values: Ints,
    low: Ints,
    high: Ints,
    mask_of: Ints,
    starts: npt.NDArray[np.uint8],
    stretch_runs: Ints,
    stretch_values: Ints,
    part_values: Ints,
    states: int,
    stride: Ints,
    most: Ints,
) -> tuple[Ints, npt.NDArray[np.int32], npt.NDArray[np.int32]]:
    """Fill one bar of `room` steps for each anchor as dear as can be.

    `values` are by item, `stretch_values` by step, and `part_values` by part of a stretch.
    `mask_of[i]` is -1 for an item that may stand anywhere, else its row of `starts[row, anchor, at]`.
    Items with a `stride` are counted: a state is a number with one digit for each counted kind, 0
    to `most`. An item starts
    within `low` and `high`. Returns the value of the best
    bar of each anchor, and for retracing what ends at each [anchor, state, step] (-1 nothing, i an
    item, n + j a stretch) and where it began.
    """
    n, k = len(runs), len(stretch_runs)
    best = np.zeros(anchors, np.int64)
    what = np.full((anchors, states, room + 1), -1, np.int32)
    since = np.zeros((anchors, states, room + 1), np.int32)
    f = np.zeros((states, room + 1), np.int64)
    open_value = np.zeros((states, k), np.int64)
    open_since = np.zeros((states, k), np.int64)
    for a in range(anchors):
        open_value[:] = CLOSED
        f[:, 0] = -1
        f[0, 0] = 0
        for u in range(1, room + 1):
            for state in range(states):
                top, ends, began = f[state, u - 1], -1, u - 1
                for i in range(n):
                    s = u - runs[i]
                    if s < 0 or s < low[i] or s > high[i] or values[i] <= 0:
                        continue
                    before = state
                    if stride[i] > 0:
                        if (state // stride[i]) % (most[i] + 1) == 0:
                            continue
                        before = state - stride[i]
                    if f[before, s] < 0 or f[before, s] + values[i] <= top:
                        continue
                    if mask_of[i] < 0 or starts[mask_of[i], a, s] != 0:
                        top, ends, began = f[before, s] + values[i], i, s
                for j in range(k):
                    if open_value[state, j] > CLOSED:
                        open_value[state, j] += stretch_values[j]
                    s = u - stretch_runs[j]
                    if s >= 0 and f[state, s] >= 0:
                        fresh = f[state, s] + part_values[j] + stretch_values[j] * stretch_runs[j]
                        if fresh > open_value[state, j]:
                            open_value[state, j] = fresh
                            open_since[state, j] = s
                    if open_value[state, j] > top:
                        top, ends, began = open_value[state, j], n + j, open_since[state, j]
                f[state, u] = top
                what[a, state, u] = ends
                since[a, state, u] = began
        best[a] = f[:, room].max()
        # Retracing begins at the best state: leave its number where step 0 would be.
        since[a, 0, 0] = f[:, room].argmax()
    return best, what, since
