"""The compiled heart of the search: pieces laid in an order, each as low as it will go; annealing over it.

Every item is a union of convex parts, grown by half the gap; a part is two chains of points,
its lower and its upper edge over x. At a given u the places where two convex parts overlap are
one open interval of v, so a piece is moved up out of interval after interval, each time to the
next place that its phase allows.

Annealing moves on order, turns, strip divisions and anchors. A state is decoded from the first
place in the order that a move touches; whatever stands before it is kept. A move is refused as soon
as one piece passes the length that the chance drawn beforehand would still accept.

Flat arrays only: this module is compiled, and all in one file, for compiled code is kept on disk by
the file it stands in and would not notice a change in another.
"""

# mypy: disable-error-code="untyped-decorator, no-any-return"
from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit, types

F, N, B = types.float64, types.int64, types.boolean
F1, F2, F3 = types.float64[::1], types.float64[:, ::1], types.float64[:, :, ::1]
I1, I2, N3 = types.int64[::1], types.int64[:, ::1], types.int64[:, :, ::1]
INNER = {"cache": True, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
"""Signatures are spelt out, so that each function is compiled once only."""

TOUCH_MM = 1e-7
"""Two pieces this deep in one another still only touch; a tenth of what the verifier allows."""
HUGE = 1e15
SLIDE_MM = 0.5
"""Finest step of a piece that slides into a hollow."""
POUR_NO_MORE = 0.01
"""How often a poured strip becomes one of parts that are laid each for itself."""
MOST_STANDING = 3
"""Parts of a poured strip that may stand at one edge before the others are poured."""
MEMORY = 8
"""How many strips poured before are remembered."""
POUR_ANY = 1e-6
"""A strip is poured into whatever stretch takes its least part."""
JOIN_MM = 2.0
"""What a join in a strip weighs in cloth: about the minute it takes to sew."""


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


@njit(F(F1, F1, I2, N, N, F, F), **INNER)
def nearest(cx: Any, cy: Any, chain: Any, part: int, edge: int, x0: float, x1: float) -> float:
    """Least height of a part's lower edge (`edge` 0), or greatest of its upper (2), over [x0, x1]."""
    at = chain[part, 6 + edge // 2]
    if x0 <= cx[at] <= x1:
        return cy[at]
    return chain_at(cx, cy, chain[part, edge], chain[part, edge + 1], x0 if cx[at] < x0 else x1)


@njit(F(F, F, F), **INNER)
def next_on(v: float, base: float, period: float) -> float:
    """The first v at or above `v` on the phase; `period` 0 means anywhere."""
    if period <= 0.0:
        return v
    return base + math.ceil((v - base) / period - 1e-10) * period


@njit(N(F, N, F1), **INNER)
def first_from(low: float, count: int, sv: Any) -> int:
    """The first of the boxes laid so far, which are sorted by v, that begins at `low` or beyond it."""
    a, b = 0, count
    while a < b:
        mid = (a + b) // 2
        if sv[mid] < low:
            a = mid + 1
        else:
            b = mid
    return a


@njit(F(F, F, F, F, F, F, F, F, N, F1, F1, F1, F1, F1), **INNER)
def lowest_boxes(
    u: float, w: float, h: float, start: float, base: float, period: float, limit: float, tall: float,
    count: int, su: Any, sv: Any, sw: Any, sh: Any, sg: Any,
) -> float:  # fmt: skip
    """Lowest v of a box at u clear of the boxes laid so far, which are sorted by v; none is taller than `tall`."""
    v = next_on(start, base, period)
    for k in range(first_from(v - tall, count, sv), count):
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


@njit(B(N, I2, F1), **INNER)
def is_plain(part: int, chain: Any, cy: Any) -> bool:
    """Tell whether a part is an upright rectangle."""
    lo, up = chain[part, 0], chain[part, 2]
    return chain[part, 1] == 2 and chain[part, 3] == 2 and cy[lo] == cy[lo + 1] and cy[up] == cy[up + 1]


@njit(F(F, F, F, F, F, F, F, F, N, F1, F1, F1, F1, F1, I1, I1, N, N, I2, F1, F1), **INNER)
def lowest_shapes(
    u: float, w: float, h: float, start: float, base: float, period: float, limit: float, tall: float,
    count: int, su: Any, sv: Any, sw: Any, sh: Any, sg: Any, sp: Any, sq: Any,
    p0: int, p1: int, chain: Any, cx: Any, cy: Any,
) -> float:  # fmt: skip
    """Lowest v of a piece of parts [p0, p1) at u clear of the pieces laid so far, which are sorted by v."""
    v = next_on(start, base, period)
    plain = p1 == p0 + 1 and is_plain(p0, chain, cy)
    again = True
    while again:
        # what it stays below may be in its way once it has been moved up by something else
        again, below, from_v = False, False, v
        for k in range(first_from(v - tall, count, sv), count):
            g = sg[k]
            if sv[k] >= v + h + g - TOUCH_MM:
                break
            if sv[k] + sh[k] + g <= v + TOUCH_MM or su[k] >= u + w + g - TOUCH_MM or su[k] + sw[k] + g <= u + TOUCH_MM:
                continue
            if plain and sq[k] == sp[k] + 1 and is_plain(sp[k], chain, cy):
                v = next_on(sv[k] + sh[k] + g, base, period)
                if v >= limit:
                    return HUGE
                continue
            many = (sq[k] - sp[k]) * (p1 - p0) > 1
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
                        if chain[a, 5] >= 0 and chain[b, 5] >= 0:
                            pair = chain[a, 4] + chain[b, 5]
                            if chain[pair, 1] > 0:
                                hi = sv[k] + chain_at(cx, cy, chain[pair, 2], chain[pair, 3], d)
                                if v >= hi - TOUCH_MM:
                                    continue
                                if v > sv[k] + chain_at(cx, cy, chain[pair, 0], chain[pair, 1], d) + TOUCH_MM:
                                    v = next_on(hi, base, period)
                                    if v >= limit:
                                        return HUGE
                                    moved = many
                                else:
                                    below = True
                                continue
                        plain_a, plain_b = is_plain(a, chain, cy), is_plain(b, chain, cy)
                        if plain_a:
                            # a rectangle against a convex part: only the part's nearest point over it counts
                            hi = sv[k] + cy[chain[a, 2]] - nearest(cx, cy, chain, b, 0, x0 - u, x1 - u)
                            lo = sv[k] + cy[chain[a, 0]] - nearest(cx, cy, chain, b, 2, x0 - u, x1 - u)
                        elif plain_b:
                            hi = sv[k] + nearest(cx, cy, chain, a, 2, x0 - su[k], x1 - su[k]) - cy[chain[b, 0]]
                            lo = sv[k] + nearest(cx, cy, chain, a, 0, x0 - su[k], x1 - su[k]) - cy[chain[b, 2]]
                        else:
                            hi = sv[k] + reach(
                                cx, cy, chain[a, 2], chain[a, 3], chain[b, 0], chain[b, 1], d, x0 - su[k], x1 - su[k]
                            )
                            # least lower - upper is the greatest upper - lower the other way round
                            lo = sv[k] - reach(
                                cx, cy, chain[b, 2], chain[b, 3], chain[a, 0], chain[a, 1], -d, x0 - u, x1 - u
                            )
                        if v >= hi - TOUCH_MM:
                            continue
                        if v > lo + TOUCH_MM:
                            v = next_on(hi, base, period)
                            if v >= limit:
                                return HUGE
                            moved = many
                        else:
                            below = True
        again = below and v > from_v
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


@njit(B(F, F1, N), **INNER)
def is_among(u: float, cands: Any, many: int) -> bool:
    """Tell whether a place across is there already."""
    c = 0
    while c < many and abs(cands[c] - u) >= TOUCH_MM:
        c += 1
    return c < many


@njit(N(F, F, F, F, F, B, N, N, N, N, F1, F1, F1, I1, I1, I2, F1, F1), **INNER)
def spots(
    w: float, width: float, pu: float, cu: float, hint: float, shaped: bool, p0: int, p1: int,
    first: int, count: int, su: Any, sw: Any, sg: Any, sp: Any, sq: Any, chain: Any, cx: Any, cands: Any,
) -> int:  # fmt: skip
    """Places across worth trying, into `cands`: on the pattern, or against edges and what is laid from `first` on."""
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
    for k in range(first, count):
        if many + 2 > most:
            return many
        right, left = su[k] + sw[k] + sg[k], su[k] - w - sg[k]
        if right + w <= width + TOUCH_MM and not is_among(right, cands, many):
            cands[many] = right
            many += 1
        if left >= -TOUCH_MM and not is_among(left, cands, many):
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
    B(N, N, F, F1, F, F1, F1, F1, I1, F2, F3, I2, F, B, F, N, F1, F1, F1, F1, F1, I1, I1, I2, F1, F1, F, F1, F1, F1),
    **INNER,
)
def lay_one(
    i: int, k: int, width: float, lattice: Any, window: float, starts: Any, lens: Any, var: Any,
    strip_of: Any, strips: Any, options: Any, phased: Any, hint: float, shaped: bool, tall: float,
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
    if phased[i, 4] >= 0:
        cu += var[phased[i, 4]]
    if phased[i, 5] >= 0:
        cv += var[phased[i, 5]]
    drop = lattice[2] if pu > 0.0 and pv > 0.0 else 0.0
    best_v, best_u, found = limit, 0.0, False
    near = first_from(window - tall, count, sv)
    many = spots(w, width, pu, cu, hint, shaped, p0, p1, near, count, su, sw, sg, sp, sq, chain, cx, cands)
    if s >= 0 and pu == 0.0 and abs(op[0]) > TOUCH_MM and abs(op[1]) > TOUCH_MM:
        # a slanting bar lies close beside another of its kind, not beside that one's box
        close = (strips[s, 3] - strips[s, 2] + 2 * strips[s, 8]) / abs(op[1])
        for k in range(near, count):
            if many + 2 <= cands.size:
                cands[many], cands[many + 1] = su[k] + close, su[k] - close
                many += 2
    for c in range(many):
        u = cands[c]
        if u < -TOUCH_MM or u + w > width + TOUCH_MM:
            continue
        base = cv
        if drop != 0.0:
            base += round((u - cu) / pu) * drop
        if shaped:
            v = lowest_shapes(
                u, w, h, window, base, pv, best_v, tall, count, su, sv, sw, sh, sg, sp, sq, p0, p1, chain, cx, cy
            )
        else:
            v = lowest_boxes(u, w, h, window, base, pv, best_v, tall, count, su, sv, sw, sh, sg)
        if v < best_v - TOUCH_MM or (v < best_v + TOUCH_MM and found and u < best_u):
            best_v, best_u, found = v, u, True
    if found and shaped and s < 0 and pu == 0.0 and not is_plain(p0, chain, cy):
        # a round or slanted piece slides into the hollow beside the edge it was tried against
        step = w / 4
        while step > SLIDE_MM:
            moved = False
            for side in range(2):
                u = best_u + (step if side == 0 else -step)
                if u < 0.0 or u + w > width:
                    continue
                v = lowest_shapes(
                    u, w, h, window, cv, pv, best_v, tall, count, su, sv, sw, sh, sg, sp, sq, p0, p1, chain, cx, cy
                )
                if v < best_v - TOUCH_MM:
                    best_v, best_u, moved = v, u, True
                    break
            if not moved:
                step *= 0.5
    out[0], out[1] = best_u, best_v
    return found


SPREAD = 0.1
"""Weight of the height of the pieces' centre of gravity beside the length: it leads over plateaus."""


@njit(types.void(N, F, F, F, F, F, N, N, F1, F1, F1, F1, F1, I1, I1), **INNER)
def put(
    at: int, u: float, v: float, w: float, h: float, g: float, p: int, q: int,
    su: Any, sv: Any, sw: Any, sh: Any, sg: Any, sp: Any, sq: Any,
) -> None:  # fmt: skip
    """Insert a piece among the `at` laid so far, keeping them sorted by v."""
    k = at
    while k > 0 and sv[k - 1] > v:
        su[k], sv[k], sw[k], sh[k], sg[k], sp[k], sq[k] = (
            su[k - 1], sv[k - 1], sw[k - 1], sh[k - 1], sg[k - 1], sp[k - 1], sq[k - 1],
        )  # fmt: skip
        k -= 1
    su[k], sv[k], sw[k], sh[k], sg[k], sp[k], sq[k] = u, v, w, h, g, p, q


@njit(types.void(F, F, F, F, F, F, F1), **INNER)
def widen(x0: float, y0: float, x1: float, y1: float, low: float, high: float, out: Any) -> None:
    """Widen `out` (least and greatest x) by as much of an edge as lies between y = low and y = high."""
    if y0 > y1:
        x0, y0, x1, y1 = x1, y1, x0, y0
    if y1 <= low or y0 >= high:
        return
    a, b = x0, x1
    if y0 < low:
        a = x0 + (x1 - x0) * (low - y0) / (y1 - y0)
    if y1 > high:
        b = x0 + (x1 - x0) * (high - y0) / (y1 - y0)
    out[0], out[1] = min(out[0], a, b), max(out[1], a, b)


@njit(types.void(F, F, N, N, F, F, I2, F1, F1, F1), **INNER)
def across_band(
    u: float, v: float, p0: int, p1: int, low: float, high: float, chain: Any, cx: Any, cy: Any, out: Any
) -> None:  # fmt: skip
    """Least and greatest u that a piece of parts [p0, p1) at (u, v) takes between v = low and v = high, into `out`."""
    out[0], out[1] = HUGE, -HUGE
    low, high = low - v, high - v
    for a in range(p0, p1):
        for side in range(2):
            at = chain[a, 2 * side]
            for k in range(at, at + chain[a, 2 * side + 1] - 1):
                widen(cx[k], cy[k], cx[k + 1], cy[k + 1], low, high, out)
        # its two chains are joined by an upright at either end
        lo, up = chain[a, 0], chain[a, 2]
        widen(cx[lo], cy[lo], cx[up], cy[up], low, high, out)
        lo, up = lo + chain[a, 1] - 1, up + chain[a, 3] - 1
        widen(cx[lo], cy[lo], cx[up], cy[up], low, high, out)
    out[0], out[1] = out[0] + u, out[1] + u


@njit(F(N, F, F, F, F, F, N, F2, N, F1, F1, F1, F1, F1, F1), **INNER)
def stand_at_edge(
    s: int, u: float, width: float, gap: float, top: float, rest: float, slot: int, strips: Any, count: int,
    su: Any, sv: Any, sw: Any, sh: Any, sg: Any, out: Any,
) -> float:  # fmt: skip
    """Length of a part of strip s that stands at u in the longest free stretch below `top`, 0 if none.

    `out` takes its foot.
    """
    end, least, h = strips[s, 4], strips[s, 7], strips[s, 3] - strips[s, 2]
    if u < 0.0 or u + h > width + TOUCH_MM or slot >= int(strips[s, 6]) or width - 2 * end < least:
        return 0.0
    free_from, best = 0.0, 0.0
    for k in range(count + 1):
        if k < count:
            g = sg[k]
            if su[k] - g >= u + h - TOUCH_MM or su[k] + sw[k] + g <= u + TOUCH_MM:
                continue
            until, after = min(sv[k] - g, top), sv[k] + sh[k] + g
        else:
            until, after = top, top
        if until - free_from > best:
            best, out[0] = until - free_from, free_from
        free_from = max(free_from, after)
    part = min(best - 2 * end, rest)
    if rest - part > 1e-9:  # what is left must make up so many parts, none too short, of the slots that are left
        part = min(part, rest - least * math.ceil((rest - part) / (width - 2 * end) - 1e-9))
        if rest - part > (int(strips[s, 6]) - slot - 1) * (width - 2 * end) + 1e-9:
            return 0.0
    return part if part >= least - 1e-9 else 0.0


@njit(
    N(N, F, F, F, F, F, I1, F1, F2, F2, B, F, N, F1, F1, F1, F1, F1, I1, I1, I2, F1, F1, F3, F2, F2, F1),
    **INNER,
)
def pour(
    s: int, share: float, width: float, gap: float, limit: float, top: float, mode: Any, lens: Any, laid: Any,
    strips: Any, shaped: bool,
    tall: float, count: int, su: Any, sv: Any, sw: Any, sh: Any, sg: Any, sp: Any, sq: Any,
    chain: Any, cx: Any, cy: Any, options: Any, corners: Any, memory: Any, cands: Any,
) -> int:  # fmt: skip
    """Fill the lowest free stretches across the cloth with parts of strip s; pieces laid then, or -1.

    No part is shorter than `share` of the longest that could be, nor than the strip's least. Twos in
    `share` say how many parts first stand at an edge, as tall as what is laid: see `stand_at_edge`.
    """
    a, b = int(strips[s, 5]), int(strips[s, 6])
    end, least = strips[s, 4], strips[s, 7]
    h, rest = strips[s, 3] - strips[s, 2], strips[s, 1] - strips[s, 0]
    for j in range(a, b):
        lens[j] = 0.0
        mode[j] = 0
    slot, level, half = a, 0.0, strips[s, 8]
    if share >= 2.0:
        code = int(share / 2)
        share -= 2.0 * code
        for k in range((code - 1) % MOST_STANDING + 1):
            u = width - h - k * (h + gap) if code <= MOST_STANDING else k * (h + gap)
            part = stand_at_edge(s, u, width, gap, top, rest, slot, strips, count, su, sv, sw, sh, sg, corners[0])
            if part <= 0.0:
                break
            upright = int(strips[s, 13])
            lens[slot], mode[slot] = part, upright
            laid[slot, 0], laid[slot, 1], laid[slot, 2], laid[slot, 3] = u, corners[0, 0], h, part + 2 * end
            q = int(options[slot, upright, 8])
            if shaped:
                write_bar(
                    options[slot, upright, 0], options[slot, upright, 1], part + 2 * end, h, half, q, chain, cx, cy
                )
            put(count, u, laid[slot, 1], h, part + 2 * end, gap, q, q + 1, su, sv, sw, sh, sg, sp, sq)
            tall = max(tall, part + 2 * end + gap)
            count += 1
            rest -= part
            slot += 1
    shortest = max(least, share * min(rest, width - 2 * end))
    out = corners[0]
    # what an earlier strip, no wider and no choosier, found full stays full: pieces laid since open no room
    for k in range(MEMORY):
        m = memory[k]
        if m[0] <= h + 1e-9 and m[1] <= shortest + 1e-9 and m[2] <= end + 1e-9 and m[3] > level:
            level = m[3]
    if width - 2 * end < min(least, rest):
        return -1
    while rest > 1e-9:
        if level + h > limit:
            return -1
        # what stands between `level` and `level + h`, from left to right
        many, near = 0, first_from(level - tall, count, sv)
        for k in range(near, count):
            g = sg[k]
            if sv[k] >= level + h + g - TOUCH_MM:
                break
            if sv[k] + sh[k] + g <= level + TOUCH_MM:
                continue
            left, right = su[k] - g, su[k] + sw[k] + g
            if shaped and not (sq[k] == sp[k] + 1 and is_plain(sp[k], chain, cy)):
                across_band(su[k], sv[k], sp[k], sq[k], level - half + TOUCH_MM, level + h + half - TOUCH_MM,
                            chain, cx, cy, out)  # fmt: skip
                left, right = out[0] - half, out[1] + half
                if left >= right:
                    continue
            at = many
            while at > 0 and cands[2 * at - 2] > left:
                cands[2 * at], cands[2 * at + 1] = cands[2 * at - 2], cands[2 * at - 1]
                at -= 1
            cands[2 * at], cands[2 * at + 1] = left, right
            many += 1
        u = 0.0
        for at in range(many + 1):
            until = cands[2 * at] if at < many else width
            while rest > 1e-9:
                room = min(until, width) - u - 2 * end
                part = min(room, rest)
                if rest - part > 1e-9:  # what is left must make up so many parts, none too short
                    part = min(part, rest - least * math.ceil((rest - part) / (width - 2 * end) - 1e-9))
                part = min(part, rest - least * max(0.0, strips[s, 11] - (slot - a) - 1))
                # the slots that are left must be able to take what is left
                enough = max(min(shortest, rest), least, rest - (b - slot - 1) * (width - 2 * end))
                if part < rest - 1e-9 and part < enough - 1e-9:
                    break
                lens[slot] = part
                laid[slot, 0], laid[slot, 1], laid[slot, 2], laid[slot, 3] = u, level, part + 2 * end, h
                q = int(options[slot, 0, 8])
                if shaped:
                    write_bar(1.0, 0.0, part + 2 * end, h, half, q, chain, cx, cy)
                put(count, u, level, part + 2 * end, h, gap, q, q + 1, su, sv, sw, sh, sg, sp, sq)
                count += 1
                rest -= part
                slot += 1
                u += part + 2 * end + gap
            if at < many:
                u = max(u, cands[2 * at + 1])
        if rest <= 1e-9:
            break
        lift = HUGE
        for k in range(near, count):
            if sv[k] >= lift:
                break
            top = sv[k] + sh[k] + sg[k]
            if top > level + TOUCH_MM and top < lift:
                lift = top
        if lift >= HUGE:
            return -1
        level = lift
    k = s % MEMORY
    memory[k, 0], memory[k, 1], memory[k, 2], memory[k, 3] = h, shortest, end, level
    return count if slot - a >= int(strips[s, 11]) else -1


@njit(
    F(
        N, F, I1, I1, F1, F1, F1, F1, F1, F, F, F1, I1, F2, F3, I2, F1, F2, B, N, F,
        F2, F1, F1, F2, I2, F1, F2, I2, F1, F1,
    ),
    cache=True,
)  # fmt: skip
def decode(
    first: int, limit: float, order: Any, mode: Any, lens: Any, hints: Any, pours: Any, var: Any, starts: Any,
    width: float, gap: float, lattice: Any, strip_of: Any, strips: Any, options: Any, phased: Any, area: Any,
    flaws: Any, shaped: bool, flaw_part: int, window_mm: float,
    laid: Any, tops: Any, sums: Any, stack: Any, stack_p: Any, cands: Any, corners: Any, chain: Any, cx: Any, cy: Any,
) -> float:  # fmt: skip
    """Lay everything from order place `first` on; return the cost, HUGE if it passes `limit`.

    `laid` holds (u, v, w, h) by item; `tops` and `sums` the length and the weighted height after
    each place of the order.
    """
    n = order.size
    su, sv, sw, sh, sg = stack[0], stack[1], stack[2], stack[3], stack[4]
    sp, sq = stack_p[0], stack_p[1]
    box, out = corners[0], corners[1]
    for s in range(strips.shape[0]):
        at, used = strips[s, 0], 0
        for j in range(int(strips[s, 5]), int(strips[s, 6])):
            starts[j] = at
            at += lens[j]
            used += lens[j] > 0.0
        if pours[int(strips[s, 5])] <= 0.0 and (abs(at - strips[s, 1]) > 1e-6 or used < strips[s, 11]):
            return HUGE  # what is left of a pour that found no room
    corners[2:, 3] = -1.0
    lows = np.zeros(n * options.shape[1])  # no place below the last one found for a piece of the same kind
    count, tall = 0, gap
    for f in range(flaws.shape[0]):
        tall = max(tall, flaws[f, 3] - flaws[f, 1] + gap)
        put(count, flaws[f, 0], flaws[f, 1], flaws[f, 2] - flaws[f, 0], flaws[f, 3] - flaws[f, 1], 0.0,
            flaw_part + f, flaw_part + f + 1, su, sv, sw, sh, sg, sp, sq)  # fmt: skip
        count += 1
    for place in range(first):
        i = order[place]
        s = strip_of[i]
        if s >= 0 and pours[int(strips[s, 5])] > 0.0:
            if i == int(strips[s, 5]):
                for j in range(i, int(strips[s, 6])):
                    if lens[j] > 0.0:
                        tall = max(tall, laid[j, 3] + gap)
                        q = int(options[j, mode[j], 8])
                        if shaped:
                            write_bar(options[j, mode[j], 0], options[j, mode[j], 1], lens[j] + 2 * strips[s, 4],
                                      strips[s, 3] - strips[s, 2], strips[s, 8], q, chain, cx, cy)  # fmt: skip
                        put(count, laid[j, 0], laid[j, 1], laid[j, 2], laid[j, 3], gap, q, q + 1,
                            su, sv, sw, sh, sg, sp, sq)  # fmt: skip
                        count += 1
            continue
        if s >= 0 and lens[i] <= 0.0:
            continue
        k = mode[i]
        if s < 0:
            lows[int(options[i, k, 10])] = max(lows[int(options[i, k, 10])], laid[i, 1])
        if shaped and s >= 0:
            write_bar(options[i, k, 0], options[i, k, 1], lens[i] + 2 * strips[s, 4], strips[s, 3] - strips[s, 2],
                      strips[s, 8], int(options[i, k, 8]), chain, cx, cy)  # fmt: skip
        tall = max(tall, laid[i, 3] + gap)
        put(count, laid[i, 0], laid[i, 1], laid[i, 2], laid[i, 3], gap, int(options[i, k, 8]), int(options[i, k, 9]),
            su, sv, sw, sh, sg, sp, sq)  # fmt: skip
        count += 1
    top = tops[first - 1] if first > 0 else 0.0
    total = sums[first - 1] if first > 0 else 0.0
    for place in range(first, n):
        i = order[place]
        s = strip_of[i]
        if s >= 0 and pours[int(strips[s, 5])] > 0.0:
            if i == int(strips[s, 5]):
                tall = max(tall, strips[s, 3] - strips[s, 2] + gap)
                count = pour(
                    s, pours[i], width, gap, limit + 1e-9, top, mode, lens, laid, strips, shaped, tall, count, su, sv,
                    sw, sh, sg, sp, sq, chain, cx, cy, options, corners, corners[2:], cands,
                )  # fmt: skip
                if count < 0:
                    return HUGE
                for j in range(i, int(strips[s, 6])):
                    if lens[j] > 0.0:
                        tall = max(tall, laid[j, 3] + gap)
                        top = max(top, laid[j, 1] + laid[j, 3])
                        total += laid[j, 2] * laid[j, 3] * (laid[j, 1] + laid[j, 3] / 2)
            tops[place], sums[place] = top, total
            continue
        if s >= 0 and lens[i] <= 0.0:
            tops[place], sums[place] = top, total
            continue
        k = mode[i]
        weight = area[i]
        if s >= 0:
            turned_box(
                options[i, k, 0], options[i, k, 1], starts[i] - strips[s, 4], strips[s, 2],
                starts[i] + lens[i] + strips[s, 4], strips[s, 3], box,
            )  # fmt: skip
            weight = (lens[i] + 2 * strips[s, 4]) * (strips[s, 3] - strips[s, 2])
        else:
            box[3] = options[i, k, 5]
        window = max(0.0, top - window_mm) if window_mm > 0.0 else 0.0
        if s < 0:
            window = max(window, lows[int(options[i, k, 10])])
        ok = lay_one(
            i, k, width, lattice, window, starts, lens, var, strip_of, strips, options, phased, hints[i], shaped,
            tall, count, su, sv, sw, sh, sg, sp, sq, chain, cx, cy, limit - box[3] + 1e-9, box, out, cands,
        )  # fmt: skip
        if not ok:
            return HUGE
        laid[i, 0], laid[i, 1], laid[i, 2], laid[i, 3] = out[0], out[1], box[2], box[3]
        if s < 0:
            lows[int(options[i, k, 10])] = out[1]
        tall = max(tall, box[3] + gap)
        put(count, out[0], out[1], box[2], box[3], gap, int(options[i, k, 8]), int(options[i, k, 9]),
            su, sv, sw, sh, sg, sp, sq)  # fmt: skip
        count += 1
        top = max(top, out[1] + box[3])
        total += weight * (out[1] + box[3] / 2)
        tops[place], sums[place] = top, total
    return top


@njit(B(N, F1, F2, F2), **INNER)
def joins_hold(s: int, lens: Any, strips: Any, windows: Any) -> bool:
    """Tell whether a strip's division keeps its least and most parts, and its windows."""
    used, last = 0, False
    at = strips[s, 0]
    for j in range(int(strips[s, 5]), int(strips[s, 6])):
        if lens[j] <= 0.0:
            continue
        used += 1
        if lens[j] < strips[s, 7] - 1e-9 and abs(lens[j] - (strips[s, 1] - strips[s, 0])) > 1e-9:
            return False
        at += lens[j]
        last = at >= strips[s, 1] - 1e-9
        if not last and strips[s, 10] > 0:
            inside = False
            for q in range(int(strips[s, 9]), int(strips[s, 9] + strips[s, 10])):
                if windows[q, 0] - 1e-9 <= at <= windows[q, 1] + 1e-9:
                    inside = True
            if not inside:
                return False
    if abs(at - strips[s, 1]) > 1e-6:
        return False
    return int(strips[s, 11]) <= used <= int(strips[s, 12])


@njit(F(N, I1, F2, F1, I1, F, F, B), **INNER)
def room_right(i: int, order: Any, laid: Any, lens: Any, strip_of: Any, width: float, gap: float, along: bool) -> float:
    """How much longer item i could be where it lies before it meets a neighbour or the edge."""
    u, v, w, h = laid[i, 0], laid[i, 1], laid[i, 2], laid[i, 3]
    free = HUGE if along else width - (u + w)
    for k in range(order.size):
        j = order[k]
        if j == i or (strip_of[j] >= 0 and lens[j] <= 0.0):
            continue
        if along:
            if (
                laid[j, 0] < u + w + gap - 1e-6
                and laid[j, 0] + laid[j, 2] + gap > u + 1e-6
                and laid[j, 1] >= v + h - 1e-6
            ):
                free = min(free, laid[j, 1] - gap - v - h)
        elif (
            laid[j, 1] < v + h + gap - 1e-6 and laid[j, 1] + laid[j, 3] + gap > v + 1e-6 and laid[j, 0] >= u + w - 1e-6
        ):
            free = min(free, laid[j, 0] - gap - u - w)
    return max(free, 0.0)


@njit(N(I1, N, N), **INNER)
def move_part(order: Any, item: int, to: int) -> int:
    """Move an item to another place of the order; the first place touched."""
    at = 0
    while order[at] != item:
        at += 1
    if at < to:
        for k in range(at, to):
            order[k] = order[k + 1]
    else:
        for k in range(at, to, -1):
            order[k] = order[k - 1]
    order[to] = item
    return min(at, to)


@njit(N(N, I1, I1, F1, F3, F2, F2, F2, I1, F, F), **INNER)
def divide(
    s: int, order: Any, mode: Any, lens: Any, options: Any, strips: Any, windows: Any, laid: Any, strip_of: Any,
    width: float, gap: float,
) -> int:  # fmt: skip
    """Change how a strip is divided; the first order place touched, or -1 where nothing changed."""
    a, b = int(strips[s, 5]), int(strips[s, 6])
    least = strips[s, 7]
    used = 0
    for j in range(a, b):
        used += lens[j] > 0.0
    kind = np.random.random()
    i = a + np.random.randint(b - a)
    while lens[i] <= 0.0:
        i = a + np.random.randint(b - a)
    windowed = strips[s, 10] > 0
    first = order.size
    if kind < 0.2 or used == 1:  # split part i
        free = -1
        if windowed:
            for j in range(i + 1, b):
                if lens[j] <= 0.0:
                    free = j
                    break
            if free < 0 or free != i + 1:
                # keep the slots in the order of s: shift the parts between up by one
                if free < 0:
                    return -1
                for j in range(free, i + 1, -1):
                    lens[j] = lens[j - 1]
                    mode[j] = mode[j - 1]
                lens[i + 1] = 0.0
                free = i + 1
                first = 0
        else:
            for j in range(a, b):
                if lens[j] <= 0.0:
                    free = j
                    break
            if free < 0:
                return -1
        if lens[i] < 2 * least:
            return -1
        cut = least + np.random.random() * (lens[i] - 2 * least)
        if windowed:
            at = strips[s, 0]
            for j in range(a, i):
                at += lens[j]
            q = int(strips[s, 9]) + np.random.randint(int(strips[s, 10]))
            x0, x1 = max(windows[q, 0], at + least), min(windows[q, 1], at + lens[i] - least)
            if x1 < x0:
                return -1
            r = np.random.random()
            cut = (x0 if r < 0.3 else (x1 if r < 0.6 else x0 + (x1 - x0) * np.random.random())) - at
        elif np.random.random() < 0.3:
            cut = lens[i] / 2
        lens[free] = lens[i] - cut
        lens[i] = cut
        mode[free] = mode[i]
        touched = move_part(order, free, np.random.randint(order.size))
        first = min(first, touched)
    else:
        j = i
        if windowed:
            j = i + 1
            while j < b and lens[j] <= 0.0:
                j += 1
            if j == b:
                return -1
            if np.random.random() < 0.5:
                i, j = j, i
        else:
            while j == i or lens[j] <= 0.0:
                j = a + np.random.randint(b - a)
        both = lens[i] + lens[j]
        if kind < 0.35:  # merge
            grow = lens[j]
        elif kind < 0.7:  # fill the room beside part i exactly
            along = abs(options[i, mode[i], 1]) > 0.9
            grow = room_right(i, order, laid, lens, strip_of, width, gap, along)
            if np.random.random() < 0.5 and grow > 1e-6:
                grow = min(grow, lens[j] - least)
        elif kind < 0.8:
            grow = lens[j] - least
        elif kind < 0.85:
            grow = both / 2 - lens[i]
        else:
            grow = np.random.normal() * 0.2 * both
        if windowed and kind >= 0.35:
            at = strips[s, 0]
            low = min(i, j)
            for k in range(a, low):
                at += lens[k]
            r = np.random.random()
            q = int(strips[s, 9]) + np.random.randint(int(strips[s, 10]))
            x0, x1 = max(windows[q, 0], at + least), min(windows[q, 1], at + both - least)
            if x1 < x0:
                return -1
            want = at + (lens[i] + grow if low == i else lens[j] - grow)
            x = min(max(want, x0), x1) if r < 0.5 else x0 + (x1 - x0) * np.random.random()
            grow = (x - at if low == i else at + both - x) - lens[i]
        if abs(grow) < 1e-6:
            return -1
        lens[i] += grow
        lens[j] = both - lens[i]
        if lens[j] < 1e-6:
            lens[j] = 0.0
            lens[i] = both
        elif lens[i] < 1e-6:
            lens[i] = 0.0
            lens[j] = both
    if not joins_hold(s, lens, strips, windows):
        return -1
    for k in range(order.size):
        if a <= order[k] < b:
            return min(k, first)
    return -1


@njit(N(N, I1, I1, F1, F2), **INNER)
def pour_otherwise(s: int, order: Any, mode: Any, pours: Any, strips: Any) -> int:
    """Change the shortest part that is poured, or pour no more (or again); the first order place touched."""
    a, b = int(strips[s, 5]), int(strips[s, 6])
    if pours[a] <= 0.0:
        pours[a] = POUR_ANY
        for j in range(a, b):
            mode[j] = 0
    elif np.random.random() < POUR_NO_MORE:
        pours[a] = 0.0
    else:
        code = int(pours[a] / 2)
        if strips[s, 13] > 0 and np.random.random() < 0.5:
            code = np.random.randint(2 * MOST_STANDING + 1)
        pours[a] = 2 * code + (POUR_ANY if np.random.random() < 0.5 else np.random.random())
    for k in range(order.size):
        if a <= order[k] < b:
            return k
    return -1


@njit(B(N, F1, F1, I1, F2), **INNER)
def is_laid(i: int, lens: Any, pours: Any, strip_of: Any, strips: Any) -> bool:
    """Tell whether an item is laid at its own place of the order: not an unused slot, nor poured with the first."""
    s = strip_of[i]
    if s < 0:
        return True
    a = int(strips[s, 5])
    return i == a if pours[a] > 0.0 else lens[i] > 0.0


@njit(B(F1, F1, I1, I1, I2, F2, F), **INNER)
def shift_anchor(var: Any, spans: Any, movable: Any, order: Any, phased: Any, laid: Any, width: float) -> bool:
    """Move one free anchor: a little, anywhere, or so that some piece of it comes to an edge."""
    x = movable[np.random.randint(movable.size)]
    kind = np.random.random()
    if kind < 0.3:
        var[x] += np.random.normal() * spans[x] * 0.05
    elif kind < 0.5:
        var[x] = np.random.random() * spans[x]
    else:
        i = order[np.random.randint(order.size)]
        for axis in range(2):
            if phased[i, axis] == x:
                sign = phased[i, 2 + axis]
                if axis == 0 and kind < 0.75:
                    var[x] += sign * (width - laid[i, 0] - laid[i, 2])
                else:
                    var[x] -= sign * laid[i, axis]
                var[x] %= spans[x]
                return True
        return False
    var[x] %= spans[x]
    return True


@njit(types.void(N3, F3, F2, N, N), **INNER)
def copy_state(ints: Any, floats: Any, anchors: Any, a: int, b: int) -> None:
    """Copy state a over state b."""
    for k in range(ints.shape[2]):
        ints[b, 0, k], ints[b, 1, k] = ints[a, 0, k], ints[a, 1, k]
        floats[b, 0, k], floats[b, 1, k], floats[b, 2, k] = floats[a, 0, k], floats[a, 1, k], floats[a, 2, k]
    for k in range(anchors.shape[1]):
        anchors[b, k] = anchors[a, k]


@njit(types.void(F3, F3, N, N), **INNER)
def copy_laid(boxes: Any, marks: Any, a: int, b: int) -> None:
    """Copy the boxes and running lengths of state a over those of state b."""
    for k in range(boxes.shape[1]):
        boxes[b, k, 0], boxes[b, k, 1] = boxes[a, k, 0], boxes[a, k, 1]
        boxes[b, k, 2], boxes[b, k, 3] = boxes[a, k, 2], boxes[a, k, 3]
        marks[b, 0, k], marks[b, 1, k] = marks[a, 0, k], marks[a, 1, k]


NOW, TRIAL, BEST = 0, 1, 2


@njit(
    F(
        N,
        N,
        F,
        F,
        F,
        F,
        N3,
        F3,
        F2,
        F3,
        F3,
        F1,
        B,
        I1,
        I1,
        F1,
        F2,
        F,
        F,
        F1,
        I1,
        F2,
        F3,
        I2,
        F1,
        F2,
        B,
        N,
        F,
        B,
        I1,
        F2,
        I2,
        F1,
        F2,
        I2,
        F1,
        F1,
    ),
    cache=True,
    nogil=True,
)
def anneal(
    steps: int, seed: int, hot: float, cold: float, best_cost: float, weight: float,
    ints: Any, floats: Any, anchors: Any, boxes: Any, marks: Any, starts: Any, many_modes: bool,
    n_mode: Any, movable: Any, spans: Any, windows: Any,
    width: float, gap: float, lattice: Any, strip_of: Any, strips: Any, options: Any, phased: Any, area: Any,
    flaws: Any, shaped: bool, flaw_part: int, window_mm: float, hinted: bool, pourable: Any,
    stack: Any, stack_p: Any, cands: Any, corners: Any, chain: Any, cx: Any, cy: Any,
) -> float:  # fmt: skip
    """Anneal from `hot` to `cold` (mm) over states NOW, TRIAL and BEST of the arrays; the best length.

    `ints` holds order and turn by state, `floats` strip lengths and wished places across,
    `anchors` the free anchors; `boxes` and `marks` what `decode` writes.
    """
    np.random.seed(seed)
    order, mode = ints[NOW, 0], ints[NOW, 1]
    t_order, t_mode, t_lens, t_hints, t_pours, t_var = (
        ints[TRIAL, 0], ints[TRIAL, 1], floats[TRIAL, 0], floats[TRIAL, 1], floats[TRIAL, 2], anchors[TRIAL],
    )  # fmt: skip
    laid, t_laid, t_tops, t_sums = boxes[NOW], boxes[TRIAL], marks[TRIAL, 0], marks[TRIAL, 1]
    n = order.size
    cost = HUGE
    share_strip = 0.3 if strips.shape[0] else 0.0
    share_var = 0.04 if movable.size else 0.0
    copy_state(ints, floats, anchors, NOW, TRIAL)
    for step in range(-1, steps):
        heat = hot * (cold / hot) ** (max(step, 0) / max(steps, 1))
        limit = min(cost - heat * math.log(1.0 - np.random.random()), HUGE / 10)
        first, kind = -1, np.random.random()
        if step < 0:
            first = 0  # lay the state as it came
        elif kind < share_var:
            if shift_anchor(t_var, spans, movable, order, phased, laid, width):
                first = 0
        elif kind < share_var + share_strip:
            s = np.random.randint(strips.shape[0])
            if pourable[s] and (t_pours[int(strips[s, 5])] > 0.0 or np.random.random() < 0.1):
                first = pour_otherwise(s, t_order, t_mode, t_pours, strips)
            else:
                first = divide(s, t_order, t_mode, t_lens, options, strips, windows, laid, strip_of, width, gap)
        elif many_modes and kind < share_var + share_strip + 0.12:
            p = np.random.randint(n)
            i = order[p]
            s = strip_of[i]
            if n_mode[i] > 1 and (s < 0 or t_pours[int(strips[s, 5])] <= 0.0):
                t_mode[i] = (mode[i] + 1 + np.random.randint(n_mode[i] - 1)) % n_mode[i]
                first = p
        elif hinted and kind > 0.92:
            p = np.random.randint(n)
            t_hints[order[p]] = -1.0 if np.random.random() < 0.4 else np.random.random()
            first = p
        elif n > 1:
            p, q = np.random.randint(n), np.random.randint(n)
            if not is_laid(order[p], t_lens, t_pours, strip_of, strips):
                continue
            if np.random.random() < 0.5:
                q = min(n - 1, max(0, p + np.random.randint(-4, 5)))
            if p != q:
                if np.random.random() < 0.5:
                    t_order[p], t_order[q] = t_order[q], t_order[p]
                    first = min(p, q)
                else:
                    first = move_part(t_order, t_order[p], q)
        if first < 0:
            copy_state(ints, floats, anchors, NOW, TRIAL)
            continue
        if cost >= HUGE:
            first = 0  # nothing sound is laid yet to build on
        new = decode(
            first, limit, t_order, t_mode, t_lens, t_hints, t_pours, t_var, starts, width, gap, lattice, strip_of,
            strips, options, phased, area, flaws, shaped, flaw_part, window_mm, t_laid, t_tops, t_sums, stack, stack_p,
            cands, corners, chain, cx, cy,
        )  # fmt: skip
        parts = 0
        for i in range(n):
            parts += strip_of[i] >= 0 and t_lens[i] > 0.0
        new += JOIN_MM * parts
        new_cost = new + SPREAD * t_sums[n - 1] / weight if new < HUGE else HUGE
        if new_cost <= limit and new < HUGE:
            cost = new_cost
            copy_state(ints, floats, anchors, TRIAL, NOW)
            copy_laid(boxes, marks, TRIAL, NOW)
            if new < best_cost - 1e-6:
                best_cost = new
                copy_state(ints, floats, anchors, NOW, BEST)
        else:
            copy_state(ints, floats, anchors, NOW, TRIAL)
            copy_laid(boxes, marks, NOW, TRIAL)
    return best_cost
