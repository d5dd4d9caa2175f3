"""The compiled heart of the search: lay pieces in an order, each as low as it will go.

Every item is a union of convex parts, grown by half the gap; a part is two chains of points,
its lower and its upper edge over x. At a given u the places where two convex parts overlap are
one open interval of v, so a piece is moved up out of interval after interval, each time to the
next place that its phase allows. Flat arrays only: this module is compiled.
"""

# mypy: disable-error-code="untyped-decorator, no-any-return"
from __future__ import annotations

import math
from typing import Any

from numba import njit, types

F, N, B = types.float64, types.int64, types.boolean
F1, F2, F3 = types.float64[::1], types.float64[:, ::1], types.float64[:, :, ::1]
I1, I2 = types.int64[::1], types.int64[:, ::1]
INNER = {"cache": True, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
"""Signatures are spelt out, so that each function is compiled once only."""

TOUCH_MM = 1e-7
"""Two pieces this deep in one another still only touch; a tenth of what the verifier allows."""
HUGE = 1e15


@njit(F(F1, F1, N, N, F), **INNER)
def chain_at(cx: Any, cy: Any, first: int, count: int, x: float) -> float:
    """Height of a chain at x, by bisection."""
    lo, hi = first, first + count - 1
    if x <= cx[lo]:
        return cy[lo]
    if x >= cx[hi]:
        return cy[hi]
    while hi - lo > 1:
        mid = (lo + hi) // 2
        if cx[mid] <= x:
            lo = mid
        else:
            hi = mid
    run = cx[hi] - cx[lo]
    if run <= 0.0:
        return cy[lo]
    return cy[lo] + (cy[hi] - cy[lo]) * (x - cx[lo]) / run


@njit(F(F1, F1, N, N, N, N, F, F, F), **INNER)
def reach(cx: Any, cy: Any, a0: int, an: int, b0: int, bn: int, d: float, x0: float, x1: float) -> float:
    """Greatest upper(x) - lower(x - d) over [x0, x1]: concave, so at a corner of either or at an end."""
    best = chain_at(cx, cy, a0, an, x0) - chain_at(cx, cy, b0, bn, x0 - d)
    end = chain_at(cx, cy, a0, an, x1) - chain_at(cx, cy, b0, bn, x1 - d)
    if end > best:
        best = end
    for i in range(a0, a0 + an):
        x = cx[i]
        if x0 < x < x1:
            f = cy[i] - chain_at(cx, cy, b0, bn, x - d)
            if f > best:
                best = f
    for i in range(b0, b0 + bn):
        x = cx[i] + d
        if x0 < x < x1:
            f = chain_at(cx, cy, a0, an, x) - cy[i]
            if f > best:
                best = f
    return best


@njit(F(F, F, F), **INNER)
def next_on(v: float, base: float, period: float) -> float:
    """The first v at or above `v` on the phase; `period` 0 means anywhere."""
    if period <= 0.0:
        return v
    return base + math.ceil((v - base) / period - 1e-10) * period


@njit(F(F, F, F, F, F, F, F, N, F1, F1, F1, F1, F1), **INNER)
def lowest_boxes(
    u: float, w: float, h: float, start: float, base: float, period: float, limit: float,
    count: int, su: Any, sv: Any, sw: Any, sh: Any, sg: Any,
) -> float:  # fmt: skip
    """Lowest v of a box at u clear of the boxes laid so far, which are sorted by v."""
    v = next_on(start, base, period)
    for k in range(count):
        g = sg[k]
        if sv[k] >= v + h + g - TOUCH_MM:
            break
        top = sv[k] + sh[k] + g
        if top <= v + TOUCH_MM or su[k] >= u + w + g - TOUCH_MM or su[k] + sw[k] + g <= u + TOUCH_MM:
            continue
        v = next_on(top, base, period)
        if v >= limit:
            return HUGE
    return v


@njit(F(F, F, F, F, F, F, F, N, F1, F1, F1, F1, F1, I1, I1, N, N, I2, F1, F1), **INNER)
def lowest_shapes(
    u: float, w: float, h: float, start: float, base: float, period: float, limit: float,
    count: int, su: Any, sv: Any, sw: Any, sh: Any, sg: Any, sp: Any, sq: Any,
    p0: int, p1: int, chain: Any, cx: Any, cy: Any,
) -> float:  # fmt: skip
    """Lowest v of a piece of parts [p0, p1) at u clear of the pieces laid so far."""
    v = next_on(start, base, period)
    again = True
    while again:
        again = False
        for k in range(count):
            g = sg[k]
            if sv[k] >= v + h + g - TOUCH_MM:
                break
            if sv[k] + sh[k] + g <= v + TOUCH_MM or su[k] >= u + w + g - TOUCH_MM or su[k] + sw[k] + g <= u + TOUCH_MM:
                continue
            moved = True
            while moved:
                moved = False
                for a in range(sp[k], sq[k]):
                    ax0 = cx[chain[a, 0]] + su[k]
                    ax1 = cx[chain[a, 0] + chain[a, 1] - 1] + su[k]
                    for b in range(p0, p1):
                        x0 = max(ax0, cx[chain[b, 0]] + u)
                        x1 = min(ax1, cx[chain[b, 0] + chain[b, 1] - 1] + u)
                        if x1 - x0 <= TOUCH_MM:
                            continue
                        d = u - su[k]
                        hi = sv[k] + reach(
                            cx, cy, chain[a, 2], chain[a, 3], chain[b, 0], chain[b, 1], d, x0 - su[k], x1 - su[k]
                        )
                        if v >= hi - TOUCH_MM:
                            continue
                        # least lower - upper is the greatest upper - lower the other way round
                        lo = sv[k] - reach(
                            cx, cy, chain[b, 2], chain[b, 3], chain[a, 0], chain[a, 1], -d, x0 - u, x1 - u
                        )
                        if v > lo + TOUCH_MM:
                            v = next_on(hi, base, period)
                            if v >= limit:
                                return HUGE
                            moved = True
                            again = True
    return v


@njit(types.void(F, F, F, F, F, F, F1), **INNER)
def turned_box(c: float, s: float, x0: float, y0: float, x1: float, y1: float, box: Any) -> None:
    """Least u, least v, width and height of a turned rectangle, into `box`."""
    ax, bx, ay, by = c * x0, c * x1, -s * y0, -s * y1
    u0, u1 = min(ax, bx) + min(ay, by), max(ax, bx) + max(ay, by)
    ax, bx, ay, by = s * x0, s * x1, c * y0, c * y1
    v0, v1 = min(ax, bx) + min(ay, by), max(ax, bx) + max(ay, by)
    box[0], box[1], box[2], box[3] = u0, v0, u1 - u0, v1 - v0


@njit(types.void(F, F, F, F, F, N, I2, F1, F1), **INNER)
def write_bar(
    c: float, s: float, length: float, width: float, half: float, row: int, chain: Any, cx: Any, cy: Any
) -> None:
    """Write the chains of a turned bar, grown by `half`, its own lower left corner of the box at nought."""
    ex, ey = length + 2 * half, width + 2 * half
    if abs(s) < 1e-12 or abs(c) < 1e-12:
        w, h = (length, width) if abs(s) < 1e-12 else (width, length)
        lo, up = chain[row, 0], chain[row, 2]
        cx[lo], cx[lo + 1], cx[up], cx[up + 1] = -half, w + half, -half, w + half
        cy[lo], cy[lo + 1], cy[up], cy[up + 1] = -half, -half, h + half, h + half
        chain[row, 1] = chain[row, 3] = 2
        return
    # corners of the grown bar about its centre, by their place on the turned box
    c, s = abs(c), (s if c > 0 else -s)
    du, dv = ex * c, ex * abs(s)
    eu, ev = ey * abs(s), ey * c
    w, h = du + eu, dv + ev
    raw_w, raw_h = length * c + width * abs(s), length * abs(s) + width * c
    x, y = (raw_w - w) / 2, (raw_h - h) / 2
    lo, up = chain[row, 0], chain[row, 2]
    cx[lo], cx[lo + 2], cx[up], cx[up + 2] = x, x + w, x, x + w
    if s > 0:  # rises to the right: bottom corner after eu, top corner after du
        cx[lo + 1], cy[lo + 1], cx[up + 1], cy[up + 1] = x + eu, y, x + du, y + h
        left, right = y + ev, y + dv
    else:
        cx[lo + 1], cy[lo + 1], cx[up + 1], cy[up + 1] = x + du, y, x + eu, y + h
        left, right = y + dv, y + ev
    cy[lo], cy[up], cy[lo + 2], cy[up + 2] = left, left, right, right
    chain[row, 1] = chain[row, 3] = 3


@njit(N(F, F, F, F, F, B, N, N, N, F1, F1, F1, I1, I1, I2, F1, F1), **INNER)
def spots(
    w: float, width: float, pu: float, cu: float, hint: float, shaped: bool, p0: int, p1: int,
    count: int, su: Any, sw: Any, sg: Any, sp: Any, sq: Any, chain: Any, cx: Any, cands: Any,
) -> int:  # fmt: skip
    """Places across worth trying, into `cands`: on the pattern, or against edges and what is laid."""
    many, most = 0, cands.size
    if pu > 0.0:
        u = cu + math.ceil(-cu / pu - 1e-10) * pu
        while u + w <= width + TOUCH_MM and many < most:
            cands[many] = u
            many += 1
            u += pu
        return many
    cands[0], cands[1], many = 0.0, width - w, 2
    if hint >= 0.0:
        cands[2], many = hint * (width - w), 3
    for k in range(count):
        if many + 2 > most:
            return many
        right, left = su[k] + sw[k] + sg[k], su[k] - w - sg[k]
        if right + w <= width + TOUCH_MM:
            cands[many] = right
            many += 1
        if left >= -TOUCH_MM:
            cands[many] = left
            many += 1
        if shaped and (sq[k] - sp[k] > 1 or p1 - p0 > 1):
            # a part's own edges against the item's, so that an arm slides past an arm
            for a in range(sp[k], sq[k]):
                ax0, ax1 = cx[chain[a, 0]] + su[k], cx[chain[a, 0] + chain[a, 1] - 1] + su[k]
                for b in range(p0, p1):
                    if many + 2 > most:
                        return many
                    cands[many] = ax1 - cx[chain[b, 0]]
                    cands[many + 1] = ax0 - cx[chain[b, 0] + chain[b, 1] - 1]
                    many += 2
    return many


@njit(
    B(N, N, F, F1, F, F1, F1, F1, I1, F2, F3, I2, F, B, N, F1, F1, F1, F1, F1, I1, I1, I2, F1, F1, F, F1, F1, F1),
    **INNER,
)
def lay_one(
    i: int, k: int, width: float, lattice: Any, window: float, starts: Any, lens: Any, var: Any,
    strip_of: Any, strips: Any, options: Any, phased: Any, hint: float, shaped: bool,
    count: int, su: Any, sv: Any, sw: Any, sh: Any, sg: Any, sp: Any, sq: Any,
    chain: Any, cx: Any, cy: Any, limit: float, box: Any, out: Any, cands: Any,
) -> bool:  # fmt: skip
    """Find the lowest, then leftmost, place for item i in option k; (u, v) of its box into `out`."""
    op = options[i, k]
    cu, cv = op[6], op[7]
    p0, p1 = int(op[8]), int(op[9])
    s = strip_of[i]
    if s >= 0:
        a, b = starts[i] - strips[s, 4], starts[i] + lens[i] + strips[s, 4]
        turned_box(op[0], op[1], a, strips[s, 2], b, strips[s, 3], box)
        cu, cv = cu + box[0], cv + box[1]
        if shaped:
            write_bar(op[0], op[1], b - a, strips[s, 3] - strips[s, 2], strips[s, 8], p0, chain, cx, cy)
    else:
        box[0], box[1], box[2], box[3] = op[2], op[3], op[4], op[5]
    w, h = box[2], box[3]
    if w > width + TOUCH_MM:
        return False
    pu = lattice[0] if phased[i, 0] >= -1 else 0.0
    pv = lattice[1] if phased[i, 1] >= -1 else 0.0
    if phased[i, 0] >= 0:
        cu += phased[i, 2] * var[phased[i, 0]]
    if phased[i, 1] >= 0:
        cv += phased[i, 3] * var[phased[i, 1]]
    drop = lattice[2] if pu > 0.0 and pv > 0.0 else 0.0
    best_v, best_u, found = limit, 0.0, False
    many = spots(w, width, pu, cu, hint, shaped, p0, p1, count, su, sw, sg, sp, sq, chain, cx, cands)
    for c in range(many):
        u = cands[c]
        if u < -TOUCH_MM or u + w > width + TOUCH_MM:
            continue
        base = cv
        if drop != 0.0:
            base += round((u - cu) / pu) * drop
        if shaped:
            v = lowest_shapes(
                u, w, h, window, base, pv, best_v, count, su, sv, sw, sh, sg, sp, sq, p0, p1, chain, cx, cy
            )
        else:
            v = lowest_boxes(u, w, h, window, base, pv, best_v, count, su, sv, sw, sh, sg)
        if v < best_v - TOUCH_MM or (v < best_v + TOUCH_MM and found and u < best_u):
            best_v, best_u, found = v, u, True
    out[0], out[1] = best_u, best_v
    return found
