"""Annealing over order, turns, strip divisions and anchors; compiled.

A state is decoded by `squab.lay._decode` from the first place in the order that a move touches;
whatever stands before it is kept. A move is refused as soon as one piece passes the length that
the chance drawn beforehand would still accept.
"""

# mypy: disable-error-code="untyped-decorator, no-any-return"
from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit, types

from squab.lay._decode import F1, F2, F3, HUGE, I1, I2, INNER, B, F, N, lay_one, turned_box, write_bar

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


@njit(
    F(N, F, I1, I1, F1, F1, F1, F1, F, F, F1, I1, F2, F3, I2, F1, F2, B, N, F, F2, F1, F1, F2, I2, F1, I2, F1, F1),
    cache=True,
)
def decode(
    first: int, limit: float, order: Any, mode: Any, lens: Any, hints: Any, var: Any, starts: Any,
    width: float, gap: float, lattice: Any, strip_of: Any, strips: Any, options: Any, phased: Any, area: Any,
    flaws: Any, shaped: bool, flaw_part: int, window_mm: float,
    laid: Any, tops: Any, sums: Any, stack: Any, stack_p: Any, cands: Any, chain: Any, cx: Any, cy: Any,
) -> float:  # fmt: skip
    """Lay everything from order place `first` on; return the cost, HUGE if it passes `limit`.

    `laid` holds (u, v, w, h) by item; `tops` and `sums` the length and the weighted height after
    each place of the order.
    """
    n = order.size
    su, sv, sw, sh, sg = stack[0], stack[1], stack[2], stack[3], stack[4]
    sp, sq = stack_p[0], stack_p[1]
    box, out = np.empty(4), np.empty(2)
    for s in range(strips.shape[0]):
        at = strips[s, 0]
        for j in range(int(strips[s, 5]), int(strips[s, 6])):
            starts[j] = at
            at += lens[j]
    count = 0
    for f in range(flaws.shape[0]):
        put(count, flaws[f, 0], flaws[f, 1], flaws[f, 2] - flaws[f, 0], flaws[f, 3] - flaws[f, 1], 0.0,
            flaw_part + f, flaw_part + f + 1, su, sv, sw, sh, sg, sp, sq)  # fmt: skip
        count += 1
    for place in range(first):
        i = order[place]
        if strip_of[i] >= 0 and lens[i] <= 0.0:
            continue
        k = mode[i]
        s = strip_of[i]
        if shaped and s >= 0:
            write_bar(options[i, k, 0], options[i, k, 1], lens[i] + 2 * strips[s, 4], strips[s, 3] - strips[s, 2],
                      strips[s, 8], int(options[i, k, 8]), chain, cx, cy)  # fmt: skip
        put(count, laid[i, 0], laid[i, 1], laid[i, 2], laid[i, 3], gap, int(options[i, k, 8]), int(options[i, k, 9]),
            su, sv, sw, sh, sg, sp, sq)  # fmt: skip
        count += 1
    top = tops[first - 1] if first > 0 else 0.0
    total = sums[first - 1] if first > 0 else 0.0
    for place in range(first, n):
        i = order[place]
        if strip_of[i] >= 0 and lens[i] <= 0.0:
            tops[place], sums[place] = top, total
            continue
        k = mode[i]
        s = strip_of[i]
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
        ok = lay_one(
            i, k, width, lattice, window, starts, lens, var, strip_of, strips, options, phased, hints[i], shaped,
            count, su, sv, sw, sh, sg, sp, sq, chain, cx, cy, limit - box[3] + 1e-9, box, out, cands,
        )  # fmt: skip
        if not ok:
            return HUGE
        laid[i, 0], laid[i, 1], laid[i, 2], laid[i, 3] = out[0], out[1], box[2], box[3]
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


@njit(
    F(
        N,
        N,
        F,
        F,
        F,
        I1,
        I1,
        F1,
        F1,
        F1,
        I1,
        I1,
        F1,
        F1,
        F1,
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
        F2,
        I2,
        F1,
        I2,
        F1,
        F1,
    ),
    cache=True,
)
def anneal(
    steps: int, seed: int, hot: float, cold: float, best_cost: float,
    order: Any, mode: Any, lens: Any, hints: Any, var: Any,
    b_order: Any, b_mode: Any, b_lens: Any, b_hints: Any, b_var: Any,
    n_mode: Any, movable: Any, spans: Any, windows: Any,
    width: float, gap: float, lattice: Any, strip_of: Any, strips: Any, options: Any, phased: Any, area: Any,
    flaws: Any, shaped: bool, flaw_part: int, window_mm: float, hinted: bool,
    stack: Any, stack_p: Any, cands: Any, chain: Any, cx: Any, cy: Any,
) -> float:  # fmt: skip
    """Anneal from `hot` to `cold` (mm), leaving the last state in place and the best in `b_...`; its length."""
    np.random.seed(seed)
    n = order.size
    starts = np.zeros(n)
    laid, tops, sums = np.zeros((n, 4)), np.zeros(n), np.zeros(n)
    t_laid, t_tops, t_sums = np.zeros((n, 4)), np.zeros(n), np.zeros(n)
    t_order, t_mode, t_lens, t_hints, t_var = order.copy(), mode.copy(), lens.copy(), hints.copy(), var.copy()
    weight = max(area.sum(), 1.0)
    for s in range(strips.shape[0]):
        weight += (strips[s, 1] - strips[s, 0]) * (strips[s, 3] - strips[s, 2])
    cost = HUGE
    many_modes = n_mode.max() > 1
    share_strip = 0.3 if strips.shape[0] else 0.0
    share_var = 0.04 if movable.size else 0.0
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
            first = divide(s, t_order, t_mode, t_lens, options, strips, windows, laid, strip_of, width, gap)
        elif many_modes and kind < share_var + share_strip + 0.12:
            p = np.random.randint(n)
            i = order[p]
            if n_mode[i] > 1:
                t_mode[i] = (mode[i] + 1 + np.random.randint(n_mode[i] - 1)) % n_mode[i]
                first = p
        elif hinted and kind > 0.92:
            p = np.random.randint(n)
            t_hints[order[p]] = -1.0 if np.random.random() < 0.4 else np.random.random()
            first = p
        elif n > 1:
            p, q = np.random.randint(n), np.random.randint(n)
            if np.random.random() < 0.5:
                q = min(n - 1, max(0, p + np.random.randint(-4, 5)))
            if p != q:
                if np.random.random() < 0.5:
                    t_order[p], t_order[q] = t_order[q], t_order[p]
                    first = min(p, q)
                else:
                    first = move_part(t_order, t_order[p], q)
        if first < 0:
            t_order[:], t_mode[:], t_lens[:], t_hints[:], t_var[:] = order, mode, lens, hints, var
            continue
        new = decode(
            first, limit, t_order, t_mode, t_lens, t_hints, t_var, starts, width, gap, lattice, strip_of, strips,
            options, phased, area, flaws, shaped, flaw_part, window_mm, t_laid, t_tops, t_sums, stack, stack_p,
            cands, chain, cx, cy,
        )  # fmt: skip
        new_cost = new + SPREAD * t_sums[n - 1] / weight if new < HUGE else HUGE
        if new_cost <= limit and new < HUGE:
            cost = new_cost
            order[:], mode[:], lens[:], hints[:], var[:] = t_order, t_mode, t_lens, t_hints, t_var
            laid[:], tops[:], sums[:] = t_laid, t_tops, t_sums
            if new < best_cost - 1e-6:
                best_cost = new
                b_order[:], b_mode[:], b_lens[:], b_hints[:], b_var[:] = order, mode, lens, hints, var
        else:
            t_order[:], t_mode[:], t_lens[:], t_hints[:], t_var[:] = order, mode, lens, hints, var
            t_laid[:], t_tops[:], t_sums[:] = laid, tops, sums
    return best_cost
