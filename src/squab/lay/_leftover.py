"""The largest rectangle of cloth that a lay leaves whole."""

from __future__ import annotations

import itertools
from collections.abc import Iterable

import numpy as np
import shapely
from numba import njit

from squab.plane import Points

SLICES = 24
"""An outline that is no rectangle is covered by so many slices, so what is left is never told too large."""
Floats = np.ndarray


def covers(uv: Points) -> Floats:
    """Rectangles (u0, v0, u1, v1) that together cover an outline."""
    (u0, v0), (u1, v1) = uv.min(axis=0), uv.max(axis=0)
    cut = shapely.Polygon(uv)
    if abs(cut.area - (u1 - u0) * (v1 - v0)) < 1e-9 * max(1.0, cut.area):
        return np.array([[u0, v0, u1, v1]])
    bands = itertools.pairwise(np.linspace(v0, v1, SLICES + 1).tolist())
    inside = [cut.intersection(shapely.box(u0 - 1, low, u1 + 1, high)).bounds for low, high in bands]
    return np.array([b for b in inside if b[2] > b[0]])


def largest_left(taken: Iterable[Floats], width_mm: float, length_mm: float) -> tuple[float, float, float, float]:
    """The largest rectangle (u0, v0, u1, v1) clear of all that is taken; of no size where nothing is left."""
    rects = list(taken)
    boxes = np.concatenate(rects) if rects else np.zeros((0, 4))
    boxes = np.clip(boxes, 0.0, [width_mm, length_mm, width_mm, length_mm])
    us = np.unique(np.concatenate([boxes[:, 0], boxes[:, 2], [0.0, width_mm]]))
    vs = np.unique(np.concatenate([boxes[:, 1], boxes[:, 3], [0.0, length_mm]]))
    cells = np.column_stack([np.searchsorted(us, boxes[:, [0, 2]]), np.searchsorted(vs, boxes[:, [1, 3]])])
    i0, j0, i1, j1 = _largest(us, vs, cells.astype(np.int64))
    return float(us[i0]), float(vs[j0]), float(us[i1]), float(vs[j1])


@njit(cache=True)  # type: ignore[untyped-decorator]
def _largest(us: Floats, vs: Floats, cells: Floats) -> tuple[int, int, int, int]:  # pragma: no cover - compiled
    """Row by row, how far the free cloth reaches down in each column, and the best rectangle under those heights."""
    columns, rows = len(us) - 1, len(vs) - 1
    taken = np.zeros((rows, columns), dtype=np.bool_)
    for k in range(len(cells)):
        for j in range(cells[k, 2], cells[k, 3]):
            for i in range(cells[k, 0], cells[k, 1]):
                taken[j, i] = True
    floor = np.zeros(columns, dtype=np.int64)  # the row from which a column has been free
    best, found = 0.0, (0, 0, 0, 0)
    for j in range(rows):
        for i in range(columns):
            if taken[j, i]:
                floor[i] = j + 1
        for i in range(columns):
            low = floor[i]
            if low > j or (i > 0 and floor[i - 1] == low):
                continue
            left, right = i, i
            while left > 0 and floor[left - 1] <= low:
                left -= 1
            while right < columns - 1 and floor[right + 1] <= low:
                right += 1
            area = (us[right + 1] - us[left]) * (vs[j + 1] - vs[low])
            if area > best:
                best, found = area, (left, low, right + 1, j + 1)
    return found
