"""The compiled beam: many lays begun side by side, of which the worst are given up and the best go on.

The upper edge of what is laid is a row of steps, and the lowest of them, the niche, takes one of the
pieces that fit it, a part of a strip as long as there is room, or nothing: every way of going on makes a
child. Children whose laid part is about as large stand on one rung, and of a rung only so many are kept: those
with the least area under their upper edge for what the pieces laid are worth. A beginning that has wasted more
than a cloth of the wanted length can spare is given up.
"""

# mypy: disable-error-code="untyped-decorator, no-any-return"
from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit, types

from squab.lay._seams import AIM, BEHIND, EACH, ENDS, LEAST, LONGEST, NTH, REST, SAME_MM, SLOTS, THICK, UPRIGHT, USED

F, N, B = types.float64, types.int64, types.boolean
F1, F2 = types.float64[::1], types.float64[:, ::1]
I1, I2 = types.int64[::1], types.int64[:, ::1]
C1, C2 = types.int16[::1], types.int16[:, ::1]
INNER = {"cache": True, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
"""Signatures are spelt out, so that each function is compiled once only."""

HUGE = 1e15
MOST_STEPS = 32
"""An upper edge of more steps than this is given up."""
SEEN_MM = 300.0
"""So far up a niche that cannot be filled is counted as lost before it is left."""
SCATTER = 2654435761
PROBES = 16
"""Looks for a free entry in the table of those kept."""
RUNG, NEXT, FOUND, DONE, LAST, STEMS = 0, 1, 2, 3, 4, 5
"""What `at` holds: the rung, how many of it were gone on with, if a lay was found, if it has ended, the last rung,
how many stems there are."""
WIDE, HIGH, PERIOD, BASE, PERIOD_V, BASE_V, DROP = 0, 1, 2, 3, 4, 5, 6
UNDER, WORTH, PLACED, U, V, SCORE, PART = 0, 1, 2, 3, 4, 5, 6
STEPS, LEFT, STEM, WAY, HASH, OVER = 0, 1, 2, 3, 4, 5


@njit(F(F, F, F), **INNER)
def place_from(left: float, base: float, period: float) -> float:
    """The first place at or right of `left`; a period of 0 means anywhere."""
    return left if period <= 0.0 else base + math.ceil((left - base) / period - 1e-9) * period


@njit(F(F1, F, F), **INNER)
def rest_on(way: Any, u: float, low: float) -> float:
    """The first place at or above `low` for a piece with its left edge at u."""
    period = way[PERIOD_V]
    if period <= 0.0:
        return low
    base = way[BASE_V]
    if way[DROP] != 0.0:
        base += round((u - way[BASE]) / way[PERIOD]) * way[DROP]
    return base + math.ceil((low - base) / period - 1e-9) * period


@njit(N(N, F1), **INNER)
def lowest(count: int, v: Any) -> int:
    """The lowest, leftmost step."""
    s = 0
    for j in range(1, count):
        if v[j] < v[s] - SAME_MM:
            s = j
    return s


@njit(F(F, F1, F1), **INNER)
def part_for(room: float, strip: Any, left: Any) -> float:
    """Seam of the longest part that the strip begun may have in so much room across; 0 where it may have none."""
    rest, most = left[REST], room - strip[ENDS] + SAME_MM
    if rest <= 0.0 or rest <= most:
        return rest
    if most < strip[AIM]:
        return 0.0
    part = min(most - SAME_MM, rest - strip[LEAST])
    more = strip[SLOTS] - left[USED] - 1.0
    if part < strip[LEAST] - SAME_MM or rest - part > more * strip[LONGEST] + SAME_MM:
        return 0.0
    return part


@njit(types.UniTuple(F, 4)(N, N, N, F1, F1, F, F1, F1), **INNER)
def standing(
    turn: int, s: int, count: int, su: Any, sv: Any, length: float, strip: Any, left: Any
) -> tuple[float, float, float, float]:
    """A part that stands in niche s: its left edge, width, top and seam (0 where there is none).

    In turn it goes up to the lower neighbour, to the higher one, or is all that is left of its strip.
    """
    before = sv[s - 1] if s > 0 else HUGE
    after = sv[s + 1] if s + 1 < count else HUGE
    top = min(before, after) if turn == 0 else max(before, after) if turn == 1 else length
    w, u = strip[THICK], su[s]
    none = (u, w, top, 0.0)
    if strip[UPRIGHT] <= 0.0 or u + w > su[s + 1] + SAME_MM or top >= HUGE or (turn == 1 and before == after):
        return none
    part = part_for(top - sv[s], strip, left)
    if part <= 0.0 or (turn == 2 and part < left[REST] - SAME_MM):
        return none
    if turn < 2 and top == after:
        u = su[s + 1] - w
    return u, w, sv[s] + part + strip[ENDS], part


@njit(F(F1, F1), **INNER)
def area_left(strip: Any, left: Any) -> float:
    """Least area of what is left of the strip begun."""
    return (left[REST] + math.ceil(left[REST] / strip[LONGEST] - 1e-9) * strip[ENDS]) * strip[THICK]


@njit(F(F, F1, F1, F1), **INNER)
def cut_from(part: float, strip: Any, left: Any, seams: Any) -> float:
    """Take a part off the strip begun, and begin the next one where that was the last; by how much less is left."""
    before = area_left(strip, left)
    left[REST] -= part
    left[USED] += 1.0
    if left[REST] > SAME_MM:
        return before - area_left(strip, left)
    left[NTH] += 1.0
    left[USED] = 0.0
    left[REST] = seams[int(left[NTH])] if left[NTH] < strip[BEHIND] else 0.0
    return before


@njit(B(F, F, F, F, C1, I1, F2, F2, F2), **INNER)
def takes_any(
    left: float, right: float, low: float, length: float, stock: Any, kind: Any, ways: Any, strips: Any, rest: Any
) -> bool:
    """Tell whether any piece that is not laid fits into a niche; ways stand in the order of their widths."""
    for c in range(strips.shape[0]):
        if low + strips[c, THICK] <= length + SAME_MM and part_for(right - left, strips[c], rest[c]) > 0.0:
            return True
        stands = strips[c, UPRIGHT] > 0.0 and left + strips[c, THICK] <= right + SAME_MM
        if stands and part_for(length - low, strips[c], rest[c]) > 0.0:
            return True
    for k in range(kind.size):
        if left + ways[k, WIDE] > right + SAME_MM:
            return False
        if stock[kind[k]] <= 0 or low + ways[k, HIGH] > length + SAME_MM:
            continue
        u = place_from(left, ways[k, BASE], ways[k, PERIOD])
        while u + ways[k, WIDE] <= right + SAME_MM:
            if rest_on(ways[k], u, low) + ways[k, HIGH] <= length + SAME_MM:
                return True
            if ways[k, DROP] == 0.0:
                break
            u += ways[k, PERIOD]
    return False


@njit(N(N, F, F, F, N, F1, F1, F1, F1), **INNER)
def raised(s: int, u: float, w: float, top: float, count: int, su: Any, sv: Any, tu: Any, tv: Any) -> int:
    """The steps (`tu`, `tv`) once step s of (`su`, `sv`) is raised to `top` on [u, u + w]; how many there are."""
    m = 0
    for j in range(count):
        if j != s:
            if m == 0 or abs(tv[m - 1] - sv[j]) > SAME_MM:
                tu[m], tv[m] = su[j], sv[j]
                m += 1
            continue
        left, right, low = su[s], su[s + 1], sv[s]
        if u > left + SAME_MM:
            tu[m], tv[m] = left, low
            m += 1
        if m == 0 or abs(tv[m - 1] - top) > SAME_MM:
            tu[m], tv[m] = u if u > left + SAME_MM else left, top
            m += 1
        if u + w < right - SAME_MM:
            tu[m], tv[m] = u + w, low
            m += 1
    tu[m] = su[count]
    return m


@njit(N(N, F, C1, I1, F2, F2, F2, F1, F1), **INNER)
def settled(m: int, length: float, stock: Any, kind: Any, ways: Any, strips: Any, rest: Any, tu: Any, tv: Any) -> int:
    """Give up the lowest niche while nothing fits into it; how many steps are left, 0 where nothing fits at all."""
    for _ in range(4 * MOST_STEPS):
        q = lowest(m, tv)
        if takes_any(tu[q], tu[q + 1], tv[q], length, stock, kind, ways, strips, rest):
            return m
        before = tv[q - 1] if q > 0 else HUGE
        after = tv[q + 1] if q + 1 < m else HUGE
        if min(before, after) >= HUGE:
            return 0
        if before <= after:
            gone = 2 if abs(before - after) <= SAME_MM else 1
            for j in range(q, m - gone):
                tu[j], tv[j] = tu[j + gone], tv[j + gone]
            tu[m - gone] = tu[m]
            m -= gone
        else:
            for j in range(q, m - 1):
                tv[j] = tv[j + 1]
            for j in range(q + 1, m):
                tu[j] = tu[j + 1]
            m -= 1
    return 0


@njit(F(N, F1, F1, F2, F2, F2), **INNER)
def unfilled(m: int, tu: Any, tv: Any, fill: Any, strips: Any, rest: Any) -> float:
    """Area of the niches that no pieces side by side would fill, nor a part of a strip."""
    shortest = HUGE
    for c in range(strips.shape[0]):
        if rest[c, REST] > 0.0:
            shortest = min(shortest, strips[c, ENDS] + min(max(strips[c, LEAST], strips[c, AIM]), rest[c, REST]))
    total = 0.0
    for j in range(m):
        wall = min(tv[j - 1] if j > 0 else HUGE, tv[j + 1] if j + 1 < m else HUGE)
        if wall >= HUGE or wall <= tv[j] or tu[j + 1] - tu[j] >= shortest:
            continue
        row, to = int(tu[j] + 0.5), int(tu[j + 1] + 0.5)
        if fill.shape[0] == 1:
            row, to = 0, int(tu[j + 1] - tu[j] + 0.5)
        lost = tu[j + 1] - tu[j] - fill[row, to]
        if lost > 0.5:
            total += lost * min(wall - tv[j], SEEN_MM)
    return total


@njit(N(N, F, N, I1, I2, F2, I2), **INNER)
def room_on(rung: int, score: float, key: int, size: Any, heap: Any, num: Any, table: Any) -> int:
    """Where a child of this score may stand on a rung, -1 where it may not: too bad, or there already."""
    most, entries = heap.shape[1], table.shape[1]
    if size[rung] >= most and score >= num[heap[rung, 0], SCORE] - 1e-9:
        return -1
    full = key ^ (int(score * 16.0) * SCATTER)
    if full == 0:
        full = 1
    at = abs((full ^ (full >> 29)) % entries)
    for _ in range(PROBES):
        if table[rung, at] == full:
            return -1
        if table[rung, at] == 0:
            table[rung, at] = full
            break
        at = (at + 1) % entries
    # a heap with the worst in front
    if size[rung] < most:
        i = int(size[rung])
        slot = int(rung * most + i)
        size[rung] = i + 1
        while i > 0 and num[heap[rung, (i - 1) // 2], SCORE] < score:
            heap[rung, i] = heap[rung, (i - 1) // 2]
            i = (i - 1) // 2
        heap[rung, i] = slot
        return slot
    slot, i = int(heap[rung, 0]), 0
    while 2 * i + 1 < most:
        c = 2 * i + 1
        if c + 1 < most and num[heap[rung, c + 1], SCORE] > num[heap[rung, c], SCORE]:
            c += 1
        if num[heap[rung, c], SCORE] <= score:
            break
        heap[rung, i] = heap[rung, c]
        i = c
    heap[rung, i] = slot
    return slot


@njit(N(N, N, I1, I2, F2, B), **INNER)
def next_of(over: int, size: int, heap: Any, idx: Any, num: Any, grows: bool) -> int:
    """Which of a rung to go on with, -1 when all are over; the one with the least under it where the rung grows."""
    if not grows:
        return heap[over] if over < size else -1
    found = -1
    for j in range(size):
        q = heap[j]
        if idx[q, OVER] == 0 and (found < 0 or num[q, UNDER] < num[found, UNDER]):
            found = q
    return found


@njit(
    N(
        N, I1, F1, F, F, F, F, F, I1, F2, F1, I1, F2, F2, F1, I1, I2, I2, I2, F2, F2, F2, C2, types.float64[:, :, ::1],
        I2, F2,
    ),
    cache=True, nogil=True,
)  # fmt: skip
def beam(
    most: int, at: Any, goal: Any, width: float, area: float, grid: float, rise: float, doubt: float,
    kind: Any, ways: Any, worth: Any, names: Any, fill: Any, strips: Any, seams: Any,
    size: Any, heap: Any, table: Any, idx: Any, num: Any, su: Any, sv: Any, stock: Any, rests: Any,
    stems: Any, stem_at: Any,
) -> int:  # fmt: skip
    """Go on with a beam until about `most` children are made, or it has ended; how many were.

    `at` holds where it stands (see `RUNG`, ...; its last two the stem and way of the lay found),
    `goal` the length that no piece may pass, the shortest found, where its last piece lies, and its seam. A
    rung is `rise` of area; what niches seem to lose counts `doubt` times. `ways` are (width, height,
    period, base; the same along, and the drop from column to column), narrow ones first, `kind` and
    `worth` by way, `names` random numbers by kind of piece and then of strip; `fill` how much of a
    stretch pieces can fill; `strips` the kinds of strips (see `THICK`, ...), whose ways are numbered
    behind those of pieces, and `seams` how long each strip is. The
    rest is the beam: rungs in a ring, their states, and the stems (parent, way; u, v, seam) of all that
    were gone on with.
    """
    made, ring = 0, size.size
    room = MOST_STEPS + 4
    tu, tv = np.zeros(room), np.zeros(room)
    count_ways = kind.size
    left_now = np.zeros((strips.shape[0], 3))
    while True:
        rung = at[RUNG] % ring
        if at[RUNG] > at[LAST] or at[STEMS] >= stem_at.shape[0]:
            at[DONE] = 1
            return made
        nxt = next_of(at[NEXT], size[rung], heap[rung], idx, num, strips.shape[0] > 0)
        if nxt < 0:
            size[rung] = 0
            table[rung, :] = 0
            at[RUNG] += 1
            at[NEXT] = 0
            continue
        if made >= most:
            return made
        at[NEXT] += 1
        p = nxt
        if strips.shape[0] > 0:  # its children may take its place
            p = ring * heap.shape[1]
            idx[nxt, OVER] = 1
            idx[p], num[p], su[p], sv[p] = idx[nxt], num[nxt], su[nxt], sv[nxt]
            stock[p], rests[p] = stock[nxt], rests[nxt]
        if num[p, UNDER] - num[p, PLACED] > width * goal[0] - area + 1e-6:
            continue
        me = at[STEMS]
        at[STEMS] += 1
        stems[me, 0], stems[me, 1] = idx[p, STEM], idx[p, WAY]
        stem_at[me, 0], stem_at[me, 1], stem_at[me, 2] = num[p, U], num[p, V], num[p, PART]
        count = idx[p, STEPS]
        s = lowest(count, sv[p])
        left, right, low = su[p, s], su[p, s + 1], sv[p, s]
        wall = min(sv[p, s - 1] if s > 0 else HUGE, sv[p, s + 1] if s + 1 < count else HUGE)
        turn, turns = -2, 3 * (count_ways + 2 * strips.shape[0])
        while turn + 1 < turns:
            turn += 1
            k, u, v, w, top, part = turn // 3, left, low, right - left, wall, 0.0
            stands = k >= count_ways + strips.shape[0]
            if stands:
                k -= strips.shape[0]
            if turn < 0:
                if wall >= HUGE:
                    continue
            elif k >= count_ways:
                strip = strips[k - count_ways]
                if turn % 3 == 2 and not stands:
                    continue
                if stands:
                    u, w, top, part = standing(
                        turn % 3, s, count, su[p], sv[p], goal[0], strip, rests[p, k - count_ways]
                    )
                else:
                    part = part_for(right - left, strip, rests[p, k - count_ways])
                    w, top = min(part + strip[ENDS], right - left), low + strip[THICK]
                    if turn % 3 == 1:
                        u = right - w
                if part <= 0.0 or (turn % 3 == 1 and not stands and u <= left + SAME_MM):
                    continue
                if top > goal[0] + SAME_MM:
                    continue
            else:
                w = ways[k, WIDE]
                if left + w > right + SAME_MM:  # those behind are as wide or wider
                    turn = 3 * count_ways - 1
                    continue
                if stock[p, kind[k]] <= 0:
                    continue
                u = place_from(left, ways[k, BASE], ways[k, PERIOD])
                if u + w > right + SAME_MM:
                    continue
                if turn % 3 == 1:  # as far to the right as it goes
                    first = u
                    u = right - w
                    if ways[k, PERIOD] > 0.0:
                        u = first + math.floor((u - first) / ways[k, PERIOD] + 1e-9) * ways[k, PERIOD]
                    if u <= first + SAME_MM:
                        continue
                elif turn % 3 == 2:  # a column on, where the pattern may stand lower
                    if ways[k, DROP] == 0.0 or u + 2.0 * ways[k, PERIOD] + w > right + SAME_MM:
                        continue
                    u += ways[k, PERIOD]
                v = rest_on(ways[k], u, low)
                top = v + ways[k, HIGH]
                if top > goal[0] + SAME_MM:
                    continue
            made += 1
            m = raised(s, u, w, top, count, su[p], sv[p], tu, tv)
            rest, placed, worthy, key = idx[p, LEFT], num[p, PLACED], num[p, WORTH], idx[p, HASH]
            left_now[:, :] = rests[p]
            if part > 0.0:
                c = k - count_ways
                nth = left_now[c, NTH]
                placed += cut_from(part, strips[c], left_now[c], seams)
                rest -= 1 if left_now[c, NTH] > nth else 0
                worthy += strips[c, EACH] * part
                key += names[names.size - strips.shape[0] + c] * (int(part * 4.0) + 1)
            elif turn >= 0:
                rest -= 1
                placed += w * ways[k, HIGH]
                worthy += worth[k]
                key += names[kind[k]]
            if rest > 0:
                rigid = turn >= 0 and part <= 0.0
                if rigid:
                    stock[p, kind[k]] -= 1
                m = settled(m, goal[0], stock[p], kind, ways, strips, left_now, tu, tv)
                if rigid:
                    stock[p, kind[k]] += 1
                if m == 0:
                    continue
            under, high = 0.0, 0.0
            for j in range(m):
                under += (tu[j + 1] - tu[j]) * tv[j]
                high = max(high, tv[j])
            if rest == 0:
                goal[0] = math.ceil(high / grid - 1 - 1e-6) * grid
                goal[1], goal[2], goal[3], goal[4] = high, u, v, -part if stands else part
                at[6], at[7], at[FOUND] = me, k, 1
                continue
            if under - placed > width * goal[0] - area + 1e-6 or m > MOST_STEPS:
                continue
            score = under + doubt * unfilled(m, tu, tv, fill, strips, left_now) - worthy
            # parts of strips may be far smaller than a rung; pieces move on at least one
            least = at[RUNG] + (0 if strips.shape[0] > 0 else 1)
            to = min(max(int(under / rise), least), at[RUNG] + ring - 1)
            slot = room_on(to % ring, score, key, size, heap, num, table)
            if slot < 0:
                continue
            at[LAST] = max(at[LAST], to)
            num[slot, UNDER], num[slot, WORTH], num[slot, PLACED] = under, worthy, placed
            num[slot, U], num[slot, V], num[slot, SCORE], num[slot, PART] = u, v, score, -part if stands else part
            idx[slot, OVER] = 0
            idx[slot, STEPS], idx[slot, LEFT], idx[slot, STEM], idx[slot, HASH] = m, rest, me, key
            idx[slot, WAY] = k if turn >= 0 else -1
            su[slot, : m + 1] = tu[: m + 1]
            sv[slot, :m] = tv[:m]
            stock[slot, :] = stock[p, :]
            rests[slot] = left_now
            if turn >= 0 and part <= 0.0:
                stock[slot, kind[k]] -= 1


@njit(types.void(F1, N, I1, F1, F2), cache=True, nogil=True)
def filled(wide: Any, free: int, first: Any, matched: Any, fill: Any) -> None:
    """How much of the stretch from l to r pieces side by side can fill, into `fill[l, r]`, by whole millimetres.

    The first `free` widths of `wide` may lie anywhere; `matched` widths start only at x, where they
    are those from `first[x]` up to `first[x + 1]`. Without matched ones the row for l = 0 tells all.
    """
    end = fill.shape[1] - 1
    for start in range(fill.shape[0]):
        for x in range(start, end + 1):
            if x > start and fill[start, x - 1] > fill[start, x]:
                fill[start, x] = fill[start, x - 1]
            for k in range(free):
                to = x + int(wide[k] + 0.5)
                if to <= end and fill[start, x] + wide[k] > fill[start, to]:
                    fill[start, to] = fill[start, x] + wide[k]
            for k in range(first[x], first[x + 1]):
                to = x + int(matched[k] + 0.5)
                if to <= end and fill[start, x] + matched[k] > fill[start, to]:
                    fill[start, to] = fill[start, x] + matched[k]
