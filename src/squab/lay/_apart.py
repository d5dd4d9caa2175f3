"""The compiled heart of pressing: pieces that overlap on too short a cloth are moved apart.

Where one convex part overlaps another is again a convex figure of places, known beforehand as
half-planes; the least way out of it is how deep the one lies in the other, and of two pieces the
parts deepest in one another count. Large pieces have more at stake than small ones, which find room
in what is left. A piece that lies in others looks for a better place: some are drawn over the whole
cloth and about where it lies, and the best of them bettered in ever smaller steps, and by the very
shift that leaves the deepest neighbour. Pairs that stay in one another weigh more with every round,
so that no piece comes to rest where it cannot stay.

Flat arrays only: this module is compiled, and all in one file (see `squab.lay._kernel`).
"""

# mypy: disable-error-code="untyped-decorator, no-any-return"
from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit, types

F, N, B = types.float64, types.int64, types.boolean
F1, F2, F3 = types.float64[::1], types.float64[:, ::1], types.float64[:, :, ::1]
I1, I2, I3 = types.int64[::1], types.int64[:, ::1], types.int64[:, :, ::1]
B1 = types.boolean[::1]
INNER = {"cache": True, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}

FAST = {"nnan", "nsz"}
"""What may be taken for granted: every number is one. No sum is made in another order."""
TOUCH_MM = 1e-7
"""Two pieces this deep in one another still only touch; a tenth of what the verifier allows."""
HUGE = 1e15
ANYWHERE, NEAR_BY = 30, 15
"""Places drawn for a piece: over the whole cloth, and about where it lies."""
BETTERED = 3
"""So many of the best places are bettered."""
COARSE, FINEST = 0.02, 2e-4
"""The last step of bettering, as a part of the piece's shorter side: of each of those places, and of the very best."""
LEAST_GAIN = 1e-3
"""What gains less, as a part of what there is, counts as nothing found: steps may shrink on and on otherwise."""
CELL, MOST_CELLS = 0.7, 48.0
"""Side of the cells in which neighbours are looked up, against the pieces' usual side; so many each way at the most."""
EASED, RAISED_LEAST, RAISED_MOST = 0.95, 1.2, 2.0
"""A pair that is clear weighs less every round, down to its stakes; others more, the deepest most."""


@njit(types.void(N, F3, F1, F1), **INNER)
def parcelled(movable: int, options: Any, size: Any, grid: Any) -> None:
    """Parcel the cloth: how many cells across and along, and how many to a millimetre either way, into `grid`."""
    area = 0.0
    for i in range(movable):
        area += options[i, 0, 0] * options[i, 0, 1] / movable
    for axis in range(2):
        grid[axis] = max(1.0, min(MOST_CELLS, math.floor(size[axis] / (CELL * math.sqrt(area)))))
        grid[2 + axis] = grid[axis] / size[axis]


@njit(N(F, F), **INNER)
def cell_at(x: float, last: float) -> int:
    """The cell at `x` cells, the outermost where there is none."""
    return int(min(max(x, 0.0), last))


@njit(types.void(N, N, N, N, N, I1, F2, F2, F1, I2, I3), **INNER)
def spread(
    i: int, k: int, shape: int, count: int, shapes: int, shape_of: Any, at: Any, boxes: Any, grid: Any, many: Any,
    cells: Any,
) -> None:  # fmt: skip
    """Tell for each cell, for turn `k` of piece i, which others it may meet that lies there with its lower left corner.

    `many` has how many pieces each cell names, `cells` which.
    """
    across, along = int(grid[0]), int(grid[1])
    right, top = grid[0] - 1.0, grid[1] - 1.0
    for c in range(across * along):
        many[k, c] = 0
    for j in range(count):
        if j == i:
            continue
        q = shape_of[j] * shapes + shape
        x0, x1 = cell_at((at[j, 0] + boxes[q, 0]) * grid[2], right), cell_at((at[j, 0] + boxes[q, 1]) * grid[2], right)
        y0, y1 = cell_at((at[j, 1] + boxes[q, 2]) * grid[3], top), cell_at((at[j, 1] + boxes[q, 3]) * grid[3], top)
        for y in range(y0, y1 + 1):
            for x in range(x0, x1 + 1):
                c = y * across + x
                cells[k, c, many[k, c]] = j
                many[k, c] += 1


@njit(F(F2, N, F, F), fastmath=FAST, **INNER)
def depth_of(planes: Any, e: int, du: float, dv: float) -> float:
    """The least of four half-planes that stand side by side in row `e`."""
    w = planes[e, 8] - planes[e, 0] * du - planes[e, 4] * dv
    x = planes[e, 9] - planes[e, 1] * du - planes[e, 5] * dv
    y = planes[e, 10] - planes[e, 2] * du - planes[e, 6] * dv
    z = planes[e, 11] - planes[e, 3] * du - planes[e, 7] * dv
    return min(min(w, x), min(y, z))


@njit(F(N, N, F, F, F, F1, N, I1, F2, F2, I1, F2, I1, F, F, F1, I2, I3, I2, F1), fastmath=FAST, **INNER)
def crowding(
    k: int, shape: int, u: float, v: float, limit: float, weight: Any, shapes: int, shape_of: Any, at: Any, boxes: Any,
    pair: Any, planes: Any, polys: Any, extra: float, curve: float, grid: Any, many: Any, cells: Any,
    hits: Any, worst: Any,
) -> float:  # fmt: skip
    """How deep a shape at (u, v) lies in all others, by their weights; given up from `limit` on.

    `grid`, `many` and `cells` as `spread` left them for turn `k`. `worst` gets the shift from the
    piece whose part it lies deepest in, and which pair of parts that is; -1 where it lies in none.
    """
    c = cell_at(v * grid[3], grid[1] - 1.0) * int(grid[0]) + cell_at(u * grid[2], grid[0] - 1.0)
    met = 0
    for h in range(many[k, c]):
        j = cells[k, c, h]
        q = shape_of[j] * shapes + shape
        du, dv = u - at[j, 0], v - at[j, 1]
        hits[0, met], hits[1, met] = j, q
        met += int((du > boxes[q, 0]) & (du < boxes[q, 1]) & (dv > boxes[q, 2]) & (dv < boxes[q, 3]))
    total, deepest = 0.0, 0.0
    worst[2] = -1.0
    for h in range(met):
        j, q = hits[0, h], hits[1, h]
        du, dv = u - at[j, 0], v - at[j, 1]
        most, part = TOUCH_MM, -1
        for p in range(pair[q], pair[q + 1]):
            depth = HUGE
            for e in range(polys[p], polys[p + 1]):
                depth = min(depth, depth_of(planes, e, du, dv))
                if depth <= most:
                    break
            if depth > most:
                most, part = depth, p
        if part >= 0:
            felt = weight[j] * (extra + most * (1.0 + most * curve))
            total += felt
            if total >= limit:
                return total
            if felt > deepest:
                deepest = felt
                worst[0], worst[1], worst[2] = du, dv, part
    return total


@njit(types.void(F2, I1, F1, B, B, F1), **INNER)
def way_out(planes: Any, polys: Any, worst: Any, free_u: bool, free_v: bool, out: Any) -> None:
    """The shift that leaves the deepest part: the least of all, or straight across or along for want of another."""
    out[0], out[1] = 0.0, 0.0
    p = int(worst[2])
    if p < 0 or not (free_u or free_v):
        return
    depth, up, down = HUGE, HUGE, HUGE
    axis = 0 if free_u else 1
    for e in range(polys[p], polys[p + 1]):
        for k in range(4):
            x = planes[e, 8 + k] - planes[e, k] * worst[0] - planes[e, 4 + k] * worst[1]
            if free_u and free_v:
                if x < depth:
                    depth = x
                    out[0], out[1] = planes[e, k] * x, planes[e, 4 + k] * x
                continue
            n = planes[e, 4 * axis + k]
            if n > 1e-9:
                up = min(up, x / n)
            elif n < -1e-9:
                down = min(down, -x / n)
    if not (free_u and free_v):
        out[axis] = up if up <= down else -down


@njit(F(F1, I1, F2, F2, I1, F2, I1, N, N, N, F, F, F2, F2), **INNER)
def deep(
    loads: Any, shape_of: Any, at: Any, boxes: Any, pair: Any, planes: Any, polys: Any, count: int,
    movable: int, shapes: int, extra: float, curve: float, stakes: Any, depths: Any,
) -> float:  # fmt: skip
    """How deep each pair lies in one another, by its stakes, into `depths`; each piece's sum into `loads`; the sum."""
    total = 0.0
    for i in range(count):
        loads[i] = 0.0
    for i in range(movable):
        for j in range(i + 1, count):
            q = shape_of[j] * shapes + shape_of[i]
            du, dv = at[i, 0] - at[j, 0], at[i, 1] - at[j, 1]
            depths[i, j] = depths[j, i] = 0.0
            if du <= boxes[q, 0] or du >= boxes[q, 1] or dv <= boxes[q, 2] or dv >= boxes[q, 3]:
                continue
            most = TOUCH_MM
            for p in range(pair[q], pair[q + 1]):
                depth = HUGE
                for e in range(polys[p], polys[p + 1]):
                    depth = min(depth, depth_of(planes, e, du, dv))
                    if depth <= most:
                        break
                most = max(most, depth)
            if most > TOUCH_MM:
                depths[i, j] = stakes[i, j] * (extra + most * (1.0 + most * curve))
            depths[j, i] = depths[i, j]
            loads[i] += depths[i, j]
            loads[j] += depths[i, j]
            total += depths[i, j]
    return total


@njit(types.void(F1, I1, F2, F2, I1, F2, I1, N, N, N, F2), cache=True, nogil=True)
def burdened(
    loads: Any, shape_of: Any, at: Any, boxes: Any, pair: Any, planes: Any, polys: Any, count: int, movable: int,
    shapes: int, stakes: Any,
) -> None:  # fmt: skip
    """How deep each piece lies in others, by its stakes, into `loads`."""
    deep(loads, shape_of, at, boxes, pair, planes, polys, count, movable, shapes, 0.0, 0.0, stakes,
         np.zeros((count, count)))  # fmt: skip


@njit(F(F, F, F, F), **INNER)
def drawn(base: float, period: float, low: float, high: float) -> float:
    """A place drawn between `low` and `high`, on the phase where there is one; HUGE where there is none."""
    if high < low - TOUCH_MM:
        return HUGE
    if period <= 0.0:
        return low + np.random.random() * max(high - low, 0.0)
    first = base + math.ceil((low - base) / period - 1e-10) * period
    if first > high + TOUCH_MM:
        return HUGE
    return first + period * np.random.randint(int((high - first) / period + 1e-10) + 1)


@njit(
    types.void(
        N, N, F2, N, I1, F2, F3, I2, F2, I1, F2, I1, F1, F, F, F1, F, F, F, F, F, F1, I2, I3, I2, F1, F1
    ),
    **INNER,
)  # fmt: skip
def better(
    i: int, r: int, best: Any, shapes: int, shape_of: Any, at: Any, options: Any, shape_by: Any, boxes: Any, pair: Any,
    planes: Any, polys: Any, weight: Any, extra: float, curve: float, size: Any, pu: float, pv: float,
    drop: float, first: float, last: float, grid: Any, many: Any, cells: Any, hits: Any, worst: Any, out: Any,
) -> None:  # fmt: skip
    """Better place r of `best` in ever smaller steps, from `first` to `last` of the piece's shorter side."""
    k = int(best[r, 3])
    w, h = options[i, k, 0], options[i, k, 1]
    shape = shape_by[i, k]
    free_u, free_v = pu == 0.0, pv == 0.0
    longest, finest = first * min(w, h), last * min(w, h)
    step = longest
    now = crowding(k, shape, best[r, 1], best[r, 2], HUGE, weight, shapes, shape_of, at, boxes, pair, planes, polys,
                   extra, curve, grid, many, cells, hits, worst)  # fmt: skip
    way_out(planes, polys, worst, free_u, free_v, out)
    exit_u, exit_v = out[0], out[1]
    tried_exit = False
    while step > finest and now > 0.0:
        u0, v0 = best[r, 1], best[r, 2]
        found = False
        for turn in range(3):
            u, v = u0, v0
            if turn == 0:
                if tried_exit or (exit_u == 0.0 and exit_v == 0.0):
                    continue
                tried_exit = True
                u, v = u0 + exit_u, v0 + exit_v
            elif turn == 1:
                way = np.random.randint(3)
                a = step if np.random.random() < 0.5 else -step
                b = step if np.random.random() < 0.5 else -step
                if way == 0:
                    b = 0.0
                elif way == 1:
                    a = 0.0
            else:
                a, b = -a, -b
            if turn > 0:
                if free_u:
                    u = u0 + a
                elif a != 0.0:
                    m = 1.0 if a > 0.0 else -1.0
                    u = u0 + m * pu
                    if drop != 0.0:
                        v = v0 + m * drop - pv * math.floor(np.random.random() * 2.0)
                if free_v:
                    v += b
                elif b != 0.0:
                    v += pv if b > 0.0 else -pv
            if free_u:
                u = min(max(u, 0.0), size[0] - w)
            elif u < -TOUCH_MM or u > size[0] - w + TOUCH_MM:
                continue
            if free_v:
                v = min(max(v, 0.0), size[1] - h)
            elif v < -TOUCH_MM or v > size[1] - h + TOUCH_MM:
                continue
            if u == u0 and v == v0:
                continue
            new = crowding(k, shape, u, v, now, weight, shapes, shape_of, at, boxes, pair, planes, polys, extra, curve,
                           grid, many, cells, hits, worst)  # fmt: skip
            if new < now:
                way_out(planes, polys, worst, free_u, free_v, out)
                found = new < now * (1.0 - LEAST_GAIN)
                now, best[r, 0], best[r, 1], best[r, 2] = new, new, u, v
                exit_u, exit_v, tried_exit = out[0], out[1], not found
                break
        step *= 1.1 if found and step < longest else (1.0 if found else 0.5)


@njit(
    B(
        N, F1, I1, I1, N, N, F2, F3, I2, F2, I1, F2, I1, F2, I1, F, F, F1, I2, F2, F1, I2, I3, B1, I2, F1, F1,
    ),
    **INNER,
)  # fmt: skip
def resettle(
    i: int, lattice: Any, n_mode: Any, mode: Any, count: int, shapes: int, at: Any, options: Any, shape_by: Any,
    boxes: Any, pair: Any, planes: Any, polys: Any, weights: Any, shape_of: Any, extra: float,
    curve: float, size: Any, phased: Any, best: Any, grid: Any, many: Any, cells: Any, ready: Any, hits: Any,
    worst: Any, out: Any,
) -> bool:  # fmt: skip
    """Look for a better place for piece i; True where it was moved."""
    width, length = size[0], size[1]
    weight = weights[i]
    pu = lattice[0] if phased[i, 0] > 0 else 0.0
    pv = lattice[1] if phased[i, 1] > 0 else 0.0
    drop = lattice[2] if pu > 0.0 and pv > 0.0 else 0.0
    free_u, free_v = pu == 0.0, pv == 0.0
    for k in range(n_mode[i]):
        ready[k] = False
    k = mode[i]
    spread(i, k, shape_of[i], count, shapes, shape_of, at, boxes, grid, many, cells)
    ready[k] = True
    now = crowding(k, shape_of[i], at[i, 0], at[i, 1], HUGE, weight, shapes, shape_of, at, boxes, pair, planes, polys,
                   extra, curve, grid, many, cells, hits, worst)  # fmt: skip
    if now <= 0.0:
        return False
    found = 1
    best[0, 0], best[0, 1], best[0, 2], best[0, 3] = now, at[i, 0], at[i, 1], mode[i]
    for draw in range(ANYWHERE + NEAR_BY):
        k = mode[i]
        if n_mode[i] > 1 and np.random.random() < 0.5:
            k = np.random.randint(n_mode[i])
        w, h = options[i, k, 0], options[i, k, 1]
        u0, u1, v0, v1 = 0.0, width - w, 0.0, length - h
        if draw >= ANYWHERE:
            reach_u, reach_v = max(0.5 * w, 1.01 * pu), max(0.5 * h, 1.01 * pv)
            u0, u1 = max(u0, at[i, 0] - reach_u), min(u1, at[i, 0] + reach_u)
            v0, v1 = max(v0, at[i, 1] - reach_v), min(v1, at[i, 1] + reach_v)
        cu, cv = options[i, k, 2], options[i, k, 3]
        u = drawn(cu, pu, u0, u1)
        if u >= HUGE:
            continue
        if drop != 0.0:
            cv += round((u - cu) / pu) * drop
        v = drawn(cv, pv, v0, v1)
        if v >= HUGE:
            continue
        limit = best[found - 1, 0] if found >= BETTERED else HUGE
        if not ready[k]:
            spread(i, k, shape_by[i, k], count, shapes, shape_of, at, boxes, grid, many, cells)
            ready[k] = True
        new = crowding(k, shape_by[i, k], u, v, limit, weight, shapes, shape_of, at, boxes, pair, planes, polys, extra,
                       curve, grid, many, cells, hits, worst)  # fmt: skip
        if new >= limit:
            continue
        found = min(found + 1, BETTERED)
        r = found - 1
        while r > 0 and best[r - 1, 0] > new:
            best[r, 0], best[r, 1], best[r, 2], best[r, 3] = (
                best[r - 1, 0], best[r - 1, 1], best[r - 1, 2], best[r - 1, 3],
            )  # fmt: skip
            r -= 1
        best[r, 0], best[r, 1], best[r, 2], best[r, 3] = new, u, v, k
        if new <= 0.0:
            break
    least, keep = HUGE, 0
    for r in range(found):
        better(i, r, best, shapes, shape_of, at, options, shape_by, boxes, pair, planes, polys, weight,
               extra, curve, size, pu, pv, drop, 0.2, COARSE, grid, many, cells, hits, worst, out)  # fmt: skip
        if best[r, 0] < least:
            least, keep = best[r, 0], r
        if least <= 0.0:
            break
    if least > 0.0 and (free_u or free_v):
        better(i, keep, best, shapes, shape_of, at, options, shape_by, boxes, pair, planes, polys, weight,
               extra, curve, size, pu, pv, drop, COARSE / 2, FINEST, grid, many, cells, hits, worst, out)  # fmt: skip
        least = best[keep, 0]
    if least >= now:
        return False
    at[i, 0], at[i, 1], mode[i] = best[keep, 1], best[keep, 2], int(best[keep, 3])
    shape_of[i] = shape_by[i, mode[i]]
    return True


@njit(
    N(
        N, N, N, F1, I1, I1, N, N, N, F2, F3, I2, F2, I1, F2, I1, F2, F2, I1, F, F, F1, I2, F2, I1, F1, F1,
    ),
    cache=True, nogil=True,
)  # fmt: skip
def part_pieces(
    moves: int, seed: int, idle_most: int, lattice: Any, n_mode: Any, mode: Any, movable: int, count: int,
    shapes: int, at: Any, options: Any, shape_by: Any, boxes: Any, pair: Any, planes: Any, polys: Any, stakes: Any,
    weights: Any, shape_of: Any, extra: float, curve: float, size: Any, phased: Any, kept_at: Any, kept_mode: Any,
    loads: Any, told: Any,
) -> int:  # fmt: skip
    """Move overlapping pieces apart until all are clear, `idle_most` rounds gained nothing, or `moves` are made.

    `told` holds, from call to call, the least crowding so far, the rounds since, and whether all
    are clear; `kept_at` and `kept_mode` the state that had it. Returns the moves made.
    """
    np.random.seed(seed)
    depths = np.zeros((count, count))
    best, out, worst = np.zeros((BETTERED, 4)), np.zeros(2), np.zeros(3)
    modes, grid = shape_by.shape[1], np.zeros(4)
    parcelled(movable, options, size, grid)
    parcels = int(grid[0] * grid[1])
    many_in, cells = np.zeros((modes, parcels), dtype=np.int64), np.zeros((modes, parcels, count), dtype=np.int64)
    ready, hits = np.zeros(modes, dtype=np.bool_), np.zeros((2, count + 1), dtype=np.int64)
    queue = np.zeros(movable, dtype=np.int64)
    made = 0
    while True:
        total = deep(loads, shape_of, at, boxes, pair, planes, polys, count, movable, shapes, extra, curve, stakes,
                     depths)  # fmt: skip
        if total < told[0] * 0.98 or total <= 0.0:
            told[1] = 0.0
        else:
            told[1] += 1.0
        if total < told[0]:
            told[0] = total
            for i in range(movable):
                kept_at[i, 0], kept_at[i, 1], kept_mode[i] = at[i, 0], at[i, 1], mode[i]
        if total <= 0.0:
            told[2] = 1.0
            return made
        if told[1] > idle_most or made >= moves:
            return made
        most = 0.0
        for i in range(movable):
            for j in range(count):
                most = max(most, depths[i, j])
        for i in range(movable):
            for j in range(count):
                if j == i:
                    continue
                if depths[i, j] > 0.0:
                    weights[i, j] *= RAISED_LEAST + (RAISED_MOST - RAISED_LEAST) * depths[i, j] / most
                else:
                    weights[i, j] = max(stakes[i, j], weights[i, j] * EASED)
        many = 0
        for i in range(movable):
            if loads[i] > 0.0:
                queue[many] = i
                many += 1
        for k in range(many - 1, 0, -1):
            j = np.random.randint(k + 1)
            queue[k], queue[j] = queue[j], queue[k]
        for k in range(many):
            resettle(queue[k], lattice, n_mode, mode, count, shapes, at, options, shape_by, boxes, pair,
                     planes, polys, weights, shape_of, extra, curve, size, phased, best, grid, many_in, cells, ready,
                     hits, worst, out)  # fmt: skip
            made += 1


@njit(N(N, N, N, F, I1, F2, F2, I1, F2, I1, I2, F2), cache=True, nogil=True)
def borders(
    movable: int, count: int, shapes: int, reach: float, shape_of: Any, at: Any, boxes: Any, pair: Any, planes: Any,
    polys: Any, between: Any, edges: Any,
) -> int:  # fmt: skip
    """For every two parts that may meet while pieces move by `reach` each way, the half-plane they lie least within.

    `between` gets the two pieces, `edges` the half-plane. Returns how many there are; -1 where there is no room.
    """
    met, near = 0, 2.0 * reach
    for i in range(movable):
        for j in range(i + 1, count):
            q = shape_of[j] * shapes + shape_of[i]
            du, dv = at[i, 0] - at[j, 0], at[i, 1] - at[j, 1]
            across = boxes[q, 0] - near < du < boxes[q, 1] + near
            if not across or not boxes[q, 2] - near < dv < boxes[q, 3] + near:
                continue
            for p in range(pair[q], pair[q + 1]):
                least, row, column = HUGE, 0, 0
                for e in range(polys[p], polys[p + 1]):
                    for k in range(4):
                        x = planes[e, 8 + k] - planes[e, k] * du - planes[e, 4 + k] * dv
                        if x < least:
                            least, row, column = x, e, k
                # each of two may move across and along
                if least < -1.5 * near:
                    continue
                if met == len(between):
                    return -1
                between[met, 0], between[met, 1] = i, j
                for k in range(3):
                    edges[met, k] = planes[row, 4 * k + column]
                met += 1
    return met


@njit(B(I1, F2, F2, I1, F2, I1, N, N, N), cache=True, nogil=True)
def all_clear(
    shape_of: Any, at: Any, boxes: Any, pair: Any, planes: Any, polys: Any, count: int, movable: int, shapes: int
) -> bool:
    """Tell whether no two pieces lie in one another."""
    depths = np.zeros((count, count))
    return (
        deep(np.zeros(count), shape_of, at, boxes, pair, planes, polys, count, movable, shapes, 1.0, 1.0,
             np.ones((count, count)), depths) <= 0.0
    )  # fmt: skip
