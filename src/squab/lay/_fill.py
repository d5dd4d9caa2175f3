"""The inner loop of the bars: the dearest filling of one bar, in whole steps and whole values.

Compiled, because it runs some millions of times a second; kept apart, so that nothing else has
to wait for the compiler.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
from numba import njit

Ints = npt.NDArray[np.int64]


@njit(cache=True)  # type: ignore[untyped-decorator]
def fill_bars(
    room: int,
    anchors: int,
    runs: Ints,
    values: Ints,
    mask_of: Ints,
    starts: npt.NDArray[np.uint8],
    stretch_runs: Ints,
    stretch_values: Ints,
) -> tuple[Ints, npt.NDArray[np.int32], npt.NDArray[np.int32]]:
    """Fill one bar of `room` steps for each anchor as dear as can be.

    `values` are by item, `stretch_values` by step. `mask_of[i]` is -1 for an item that may stand
    anywhere, else its row of `starts[row, anchor, at]`. Returns the value of the best bar of each
    anchor, and for retracing what ends at each step (-1 nothing, i an item, n + j a stretch) and
    where it began.
    """
    n, k = len(runs), len(stretch_runs)
    best = np.zeros(anchors, np.int64)
    what = np.full((anchors, room + 1), -1, np.int32)
    since = np.zeros((anchors, room + 1), np.int32)
    f = np.zeros(room + 1, np.int64)
    open_value = np.zeros(k, np.int64)
    open_since = np.zeros(k, np.int64)
    for a in range(anchors):
        open_value[:] = -1
        f[0] = 0
        for u in range(1, room + 1):
            top, ends, began = f[u - 1], -1, u - 1
            for i in range(n):
                s = u - runs[i]
                if s < 0:
                    continue
                if f[s] + values[i] > top and (mask_of[i] < 0 or starts[mask_of[i], a, s] != 0):
                    top, ends, began = f[s] + values[i], i, s
            for j in range(k):
                if open_value[j] >= 0:
                    open_value[j] += stretch_values[j]
                s = u - stretch_runs[j]
                if s >= 0 and f[s] + stretch_values[j] * stretch_runs[j] > open_value[j]:
                    open_value[j] = f[s] + stretch_values[j] * stretch_runs[j]
                    open_since[j] = s
                if open_value[j] > top:
                    top, ends, began = open_value[j], n + j, open_since[j]
            f[u] = top
            what[a, u] = ends
            since[a, u] = began
        best[a] = f[room]
    return best, what, since
