"""The compiled beams: many lays begun side by side, of which the worst are given up and the best go on.

The upper edge of what is laid is a row of steps, and the lowest of them, the niche, takes one of the
pieces that fit it, a part of a strip as long as there is room, or nothing: every way of going on makes a
child. Children whose laid part is about as large stand on one rung, and of a rung only so many are kept: those
with the least area under their upper edge for what the pieces laid are worth. A beginning that has wasted more
than a cloth of the wanted length can spare is given up.

That is for rectangles. For other outlines (`drop_beam`) the upper edge is a height in each of many columns.
"""

# mypy: disable-error-code="untyped-decorator, no-any-return"
from __future__ import annotations

import math
from typing import Any

import numpy as np
from numba import njit, types

from squab.lay._seams import (
    AIM,
    BEHIND,
    EACH,
    ENDS,
    FIRST,
    LEAST,
    LONGEST,
    NTH,
    POOLED,
    REST,
    SAME_MM,
    SLOTS,
    THICK,
    UPRIGHT,
    USED,
)

F, N, B = types.float64, types.int64, types.boolean
F1, F2 = types.float64[::1], types.float64[:, ::1]
I1, I2 = types.int64[::1], types.int64[:, ::1]
F3 = types.float64[:, :, ::1]
C1, C2 = types.int16[::1], types.int16[:, ::1]
S1, S2 = types.float32[::1], types.float32[:, ::1]
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
UNDER, WORTH, PLACED, U, V, SCORE, PART, OPEN = 0, 1, 2, 3, 4, 5, 6, 7
STEPS, LEFT, STEM, WAY, HASH, OVER = 0, 1, 2, 3, 4, 5
FROM = 0
"""Of outlines, in the place of `STEPS`: where what its parent has laid stands."""
FAST = {"nnan", "nsz", "ninf", "reassoc"}
MOST_LEVELS, MOST_STRETCHES = 6, 40
"""Heights at which stretches are looked for, and how many of these are gone through."""
FLAT, LEVEL_MM = 5, 0.02
"""So many columns that differ by no more than this are a step."""
ROUNDED_MM, ROUNDED = 0.005, 2e-7
"""Heights in columns are short numbers; pieces come down truly once a lay is found (`come_down`)."""
KNOWN = 8
"""Heights for which the area above them is remembered."""
ALIKE_MM2 = 16.0
MOST_LINES, MOST_NODES = 96, 4000
"""Lines that are shared out, and how often one is tried in some strip, in all."""
OPEN_MM = 1.0
"""What counts as left of pooled strips whose lines are long enough together, but make no strips."""
TOUCH_MM = 1e-7
"""Two pieces that overlap by no more across only touch."""


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
    """Seam of the longest part that the strip begun may have in so much room across; 0 where it may have none.

    Of pooled strips, a line as long as there is room.
    """
    rest, most = left[REST], room - strip[ENDS] + SAME_MM
    if strip[POOLED] > 0.0:
        most = min(most - SAME_MM, strip[LONGEST])
        return most if rest > 0.0 and most >= max(strip[LEAST], strip[AIM]) else 0.0
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
    if strip[POOLED] > 0.0:
        left[NTH], left[REST] = strip[BEHIND], 0.0
        return before
    left[NTH] += 1.0
    left[USED] = 0.0
    left[REST] = seams[int(left[NTH])] if left[NTH] < strip[BEHIND] else 0.0
    return before


@njit(N(F1, I1, I1, N, F), **INNER)
def next_line(lines: Any, by: Any, taken: Any, first: int, wanted: float) -> int:
    """The longest line from rank `first` on that is in no strip; -1 where those that are not make less than wanted."""
    free, found = 0.0, -1
    for k in range(first, by.size):
        if taken[k] == 0:
            free += lines[by[k]]
            if found < 0:
                found = k
    return found if free >= wanted - SAME_MM else -1


@njit(N(F1, I1, N), **INNER)
def shorter(lines: Any, by: Any, rank: int) -> int:
    """The rank of the next line that is shorter."""
    k = rank + 1
    while k < by.size and lines[by[k]] >= lines[by[rank]] - SAME_MM:
        k += 1
    return k


@njit(types.void(F1, F1, F, I1, F1), **INNER)
def cut_to(lines: Any, seams: Any, least: float, to: Any, part: Any) -> None:
    """Shorten the lines of each strip to what it takes, none below `least`."""
    for s in range(seams.size):
        total, count = 0.0, 0
        for j in range(lines.size):
            if to[j] == s:
                total += lines[j]
                count += 1
        over = total - seams[s]
        for j in range(lines.size):
            if to[j] == s:
                less = min(over, lines[j] - least) if count > 1 else over
                part[j] = lines[j] - less
                over -= less


@njit(B(F1, F1, F, F, I1, F1), cache=True, nogil=True)
def shared_out(lines: Any, seams: Any, least: float, slots: float, to: Any, part: Any) -> bool:
    """Share lines out among strips, each to be no longer than its seam wants; False where no way was found.

    Of each line `to` takes the strip, -1 where it is left over, and `part` how much of it is used. Strips are made
    one after another of ever shorter lines; what they take beyond their seams is never more than there is.
    """
    n, m = lines.size, seams.size
    to[:] = -1
    part[:] = 0.0
    by = np.argsort(-lines)
    # summed in the order of their length, so that the same lines are always shared out alike
    slack = lines[by].sum() - seams.sum()
    alike = seams.max() - seams.min() <= SAME_MM
    taken, pick, strip_at, begun_at = (
        np.zeros(n, dtype=np.int64), np.zeros(n + 1, dtype=np.int64), np.zeros(n + 1, dtype=np.int64),
        np.zeros(n + 1, dtype=np.int64),
    )  # fmt: skip
    sums, slacks = np.zeros(n + 1), np.zeros(n + 1)
    depth, s, begun, first, total = 0, 0, 0, 0, 0.0
    if slack < -SAME_MM:
        return False
    for _ in range(MOST_NODES):
        found = -1
        if depth - begun < slots and (depth - begun + 1) * least <= seams[s] + SAME_MM:
            found = next_line(lines, by, taken, first, seams[s] - total)
        if found >= 0:
            over = total + lines[by[found]] - seams[s]
            if over > slack + SAME_MM:
                first = shorter(lines, by, found)
                continue
            pick[depth], strip_at[depth], begun_at[depth], sums[depth], slacks[depth] = found, s, begun, total, slack
            taken[found] = 1
            depth += 1
            first, total = found + 1, total + lines[by[found]]
            if over >= -SAME_MM:
                slack, s, begun, first, total = slack - over, s + 1, depth, 0, 0.0
                if s == m:
                    for d in range(depth):
                        to[by[pick[d]]] = strip_at[d]
                    cut_to(lines, seams, least, to, part)
                    return True
            continue
        while True:
            if depth == 0:
                return False
            depth -= 1
            found = pick[depth]
            taken[found] = 0
            s, begun, total, slack = strip_at[depth], begun_at[depth], sums[depth], slacks[depth]
            # of strips that are alike one has the longest line there is
            if not alike or depth > begun:
                break
        first = shorter(lines, by, found)
    return False


@njit(B(N, N, F, F1, F1, I2, F2), **INNER)
def makes_strips(me: int, way: int, part: float, strip: Any, seams: Any, stems: Any, stem_at: Any) -> bool:
    """Tell whether the lines of a pooled kind laid up to stem `me`, and one more, make its strips."""
    lines = np.zeros(MOST_LINES)
    lines[0] = part
    n, at = 1, me
    while at >= 0:
        if stems[at, 1] == way:
            if n == MOST_LINES:
                return False
            lines[n] = abs(stem_at[at, 2])
            n += 1
        at = stems[at, 0]
    to, cut = np.zeros(n, dtype=np.int64), np.zeros(n)
    return shared_out(lines[:n], seams[int(strip[FIRST]) : int(strip[BEHIND])], strip[LEAST], strip[SLOTS], to, cut)


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


@njit(types.void(F2, I1, F, F, F, S1, S1), cache=True, nogil=True)
def edges_of(points: Any, ends: Any, shift_u: float, shift_v: float, col: float, bottom: Any, top: Any) -> None:
    """Lowest and highest of an outline in each column, from its convex parts; `ends`: where each ends in `points`."""
    begin = 0
    for p in range(ends.size):
        end = ends[p]
        for i in range(begin, end):
            j = i + 1 if i + 1 < end else begin
            ax, ay = points[i, 0] + shift_u, points[i, 1] + shift_v
            bx, by = points[j, 0] + shift_u, points[j, 1] + shift_v
            if ax > bx:
                ax, ay, bx, by = bx, by, ax, ay
            if bx - ax < 1e-9:
                continue
            slope = (by - ay) / (bx - ax)
            for c in range(max(math.floor(ax / col + 1e-7), 0), min(math.ceil(bx / col - 1e-7), bottom.size)):
                for x in (max(c * col, ax), min((c + 1) * col, bx)):
                    y = np.float32(ay + slope * (x - ax))
                    bottom[c] = min(bottom[c], y)
                    top[c] = max(top[c], y)
        begin = end


@njit(N(S1, F, F1, F1, F2), **INNER)
def stretches(edge: Any, line: float, raises: Any, levels: Any, found: Any) -> int:
    """Stretches where the upper edge is no higher than a level: (level, first column, the one behind the last).

    Levels are its lowest, but not below the line, the lowest of its steps, and the lowest raised: on a slope there is
    more room a little higher up. How many stretches there are.
    """
    cols = edge.size
    low = HUGE
    for c in range(cols):
        low = min(low, edge[c])
    low = max(low, line)
    levels[0] = low
    many = 1
    begin = 0
    for c in range(1, cols + 1):
        if c < cols and abs(edge[c] - edge[begin]) <= LEVEL_MM:
            continue
        if c - begin >= FLAT and edge[begin] > low + LEVEL_MM:
            x = float(edge[begin])
            i = many
            known = False
            for j in range(many):
                if abs(levels[j] - x) <= LEVEL_MM:
                    known = True
            if not known and (many < MOST_LEVELS or x < levels[many - 1]):
                if many == MOST_LEVELS:
                    i = many - 1
                else:
                    many += 1
                while i > 1 and levels[i - 1] > x:
                    levels[i] = levels[i - 1]
                    i -= 1
                levels[i] = x
        begin = c
    for r in range(raises.size):
        if raises[r] > 0.0:
            levels[many] = low + raises[r]
            many += 1
    n = 0
    for q in range(many):
        level = levels[q] + LEVEL_MM
        begin = -1
        for c in range(cols + 1):
            if c < cols and edge[c] <= level:
                if begin < 0:
                    begin = c
                continue
            if begin >= 0 and n < found.shape[0]:
                again = False
                for j in range(n):
                    again = again or (found[j, 1] == begin and found[j, 2] == c)
                if not again:
                    found[n, 0], found[n, 1], found[n, 2] = levels[q], begin, c
                    n += 1
            begin = -1
    return n


@njit(F(S1, S1, N, N), fastmath=FAST, **INNER)
def rests_at(edge: Any, bottom: Any, c0: int, n: int) -> float:
    """Where a piece comes to rest that comes down on columns c0 to c0 + n."""
    v = np.float32(0.0)
    for c in range(n):
        v = max(v, edge[c0 + c] - bottom[c])
    return float(v)


@njit(F(S1, F), fastmath=FAST, **INNER)
def above(edge: Any, line: float) -> float:
    """Height of the upper edge above a line, summed over the columns."""
    total, level = np.float32(0.0), np.float32(line)
    for c in range(edge.size):
        total += max(edge[c] - level, np.float32(0.0))
    return float(total)


@njit(F(S1, S1, N, N, F, F), fastmath=FAST, **INNER)
def added(edge: Any, top: Any, c0: int, n: int, v: float, line: float) -> float:
    """By how much that sum grows under a piece at v."""
    total, level, at, none = np.float32(0.0), np.float32(line), np.float32(v - line), np.float32(0.0)
    for c in range(n):
        total += max(at + top[c], none) - max(edge[c0 + c] - level, none)
    return float(total)


@njit(types.UniTuple(F, 4)(N, F1, F1, S1, F1, N, N, N, S1, F, F, F), **INNER)
def comes_to(
    spot: int,
    stretch: Any,
    way: Any,
    edge: Any,
    goal: Any,
    span: int,
    skip: int,
    step: int,
    bottom: Any,
    col: float,
    width: float,
    least: float,
) -> tuple[float, float, float, float]:
    """Where a piece comes down at a spot: its first column, left edge, place and top (HUGE where it may not).

    A spot is a place of the repeat; else the left end of a stretch, its right end, or its middle, in turn.
    """
    none = (0.0, 0.0, 0.0, HUGE)
    if way[PERIOD] > 0.0:
        c0, u = skip + spot * step, way[BASE] + spot * way[PERIOD]
    else:
        left, right = int(stretch[1]), int(stretch[2])
        c0 = left if spot % 3 == 0 else (left + right - span) // 2
        if spot % 3 == 1:
            c0 = math.floor((min(right * col, width) - way[WIDE]) / col + 1e-7)
        u = c0 * col
    if c0 < 0 or c0 + span > edge.size or u + way[WIDE] > width + SAME_MM:
        return none
    rest = rests_at(edge, bottom, c0, span)
    v = rest_on(way, u, max(rest - ROUNDED_MM - ROUNDED * rest, 0.0))
    top = v + way[HIGH]
    return none if v < least or top > goal[0] + SAME_MM else (float(c0), u, v, top)


@njit(types.UniTuple(F, 6)(N, B, F1, F1, F1, S1, F1, F, F), **INNER)
def part_at(
    spot: int, stands: bool, stretch: Any, strip: Any, left: Any, edge: Any, goal: Any, col: float, width: float
) -> tuple[float, float, float, float, float, float]:
    """A part of a strip in a stretch: its first column, how many, left edge, place, top and seam (0: there is none).

    It lies at the left end or at the right one, or, pooled, is only as long as what is left; or stands there, as high
    as what is beside it, or all that is left.
    """
    none = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    v, begin, end = stretch[0], int(stretch[1]), int(stretch[2])
    room = min(end * col, width) - begin * col
    if stands:
        before = float(edge[begin - 1]) if begin > 0 else HUGE
        after = float(edge[end]) if end < edge.size else HUGE
        top = before if spot % 3 == 0 else after if spot % 3 == 1 else goal[0]
        part = part_for(top - v, strip, left) if v < top < HUGE and strip[THICK] <= room + SAME_MM else 0.0
        if spot % 3 == 2 and part < left[REST] - SAME_MM:
            return none
        wide, high = strip[THICK], part + strip[ENDS]
    else:
        part = part_for(room, strip, left) if spot % 3 < 2 or strip[POOLED] > 0.0 else 0.0
        if spot % 3 == 2:
            short = max(left[REST], strip[LEAST])
            part = short if short < part - SAME_MM else 0.0
        wide, high = min(part + strip[ENDS], room), strip[THICK]
    if part <= 0.0 or v + high > goal[0] + SAME_MM:
        return none
    c0 = begin
    if spot % 3 == 1:
        c0 = max(begin, math.floor((begin * col + room - wide) / col + 1e-7))
        if c0 == begin and not stands:
            return none
    n = min(math.ceil((c0 * col + wide) / col - 1e-7), edge.size) - c0
    return float(c0), float(n), c0 * col, v, v + high, part


@njit(types.void(N, N, N, F1, I1, I1, S2, F2, F2, F1, F, S2, C2, F3, F1), **INNER)
def built(
    p: int, f: int, w: int, child: Any, kind: Any, span: Any, tops: Any, ways: Any, strips: Any, seams: Any, col: float,
    edges: Any, stock: Any, rests: Any, lines: Any,
) -> None:  # fmt: skip
    """Lay out beginning p: what its parent f has laid, and the piece or part (way w) that came down on it."""
    edges[p] = edges[f]
    stock[p], rests[p] = stock[f], rests[f]
    lines[p] = max(lines[f], child[V])
    c0 = math.floor(child[U] / col + 1e-7)
    if w < kind.size:
        c0 = min(c0, edges.shape[1] - span[w])
        for c in range(span[w]):
            edges[p, c0 + c] = max(edges[p, c0 + c], np.float32(child[V]) + tops[w, c])
        stock[p, kind[w]] -= 1
        return
    s, part = w - kind.size, child[PART]
    wide = strips[s, THICK] if part < 0.0 else part + strips[s, ENDS]
    top = child[V] + (strips[s, ENDS] - part if part < 0.0 else strips[s, THICK])
    for c in range(c0, min(math.ceil((child[U] + wide) / col - 1e-7), edges.shape[1])):
        edges[p, c] = max(edges[p, c], np.float32(top))
    nth = rests[p, s, NTH]
    cut_from(abs(part), strips[s], rests[p, s], seams)
    if child[OPEN] > 0.0:
        rests[p, s, NTH], rests[p, s, REST] = nth, OPEN_MM


@njit(
    N(
        N, I1, F1, F, F, F, F, F1, I1, F2, F1, F1, F1, I1, I1, I1, S2, S2, I1, F2, F1,
        I1, I2, I2, I2, F2, S2, C2, F3, F1, I2, F2,
    ),
    cache=True, nogil=True,
)  # fmt: skip
def drop_beam(
    most: int, at: Any, goal: Any, col: float, width: float, area: float, rise: float, raises: Any,
    kind: Any, ways: Any, worth: Any, each: Any, over: Any, span: Any, skip: Any, step: Any, bottoms: Any, tops: Any,
    names: Any, strips: Any, seams: Any,
    size: Any, heap: Any, table: Any, idx: Any, num: Any, edges: Any, stock: Any, rests: Any, lines: Any,
    stems: Any, stem_at: Any,
) -> int:  # fmt: skip
    """As `beam`, for outlines, which come straight down on what is laid.

    The upper edge is a height in each column, `col` wide. What is laid rises line by line: no piece is laid further
    below the highest than its own lower edge rises (`over`), so what is open below that line is lost, and is counted as
    laid on. A rung is `rise` of the area of pieces laid. `raises` as in `stretches`; of each way `each` is its area,
    `span` how many columns it takes, `skip` and `step` its first place of the repeat and the columns from one to the
    next, `bottoms` and `tops` its edges. `edges`, `stock`, `rests` and `lines` are of those gone on with on each
    rung of the ring.
    """
    made, ring, kept, cols = 0, size.size, heap.shape[1], edges.shape[1]
    count_ways, kinds = kind.size, strips.shape[0]
    levels, found = np.zeros(MOST_LEVELS + raises.size + 1), np.zeros((MOST_STRETCHES, 3))
    known = np.zeros((KNOWN, 2))
    while True:
        rung = at[RUNG] % ring
        if at[RUNG] > at[LAST] or at[STEMS] >= stem_at.shape[0]:
            at[DONE] = 1
            return made
        if at[NEXT] >= size[rung]:
            size[rung] = 0
            table[rung, :] = 0
            at[RUNG] += 1
            at[NEXT] = 0
            continue
        if made >= most or at[FOUND] > 0:  # how long a lay truly is is seen once its pieces have come down
            return made
        made += 1
        q, p, me = heap[rung, at[NEXT]], rung * kept + at[NEXT], at[STEMS]
        at[NEXT] += 1
        at[STEMS] += 1
        stems[me, 0], stems[me, 1] = idx[q, STEM], idx[q, WAY]
        stem_at[me, 0], stem_at[me, 1], stem_at[me, 2] = num[q, U], num[q, V], num[q, PART]
        if idx[q, WAY] >= 0:
            built(p, idx[q, FROM], idx[q, WAY], num[q], kind, span, tops, ways, strips, seams, col, edges, stock, rests,
                  lines)  # fmt: skip
        edge, line = edges[p], lines[p]
        placed, worthy, key, rest = num[q, PLACED], num[q, WORTH], idx[q, HASH], idx[q, LEFT]
        limit = width * goal[0] - area + 1e-6
        many, told = stretches(edge, line, raises, levels, found), 0
        known[:, 0] = -1.0
        for k in range(count_ways + 2 * kinds):
            s, stands, spots = k - count_ways, False, 3 * many
            if s >= kinds:
                s, stands = s - kinds, True
            if s < 0:
                if stock[p, kind[k]] <= 0:
                    continue
                if ways[k, PERIOD] > 0.0:
                    spots = int((width - ways[k, WIDE] - ways[k, BASE]) / ways[k, PERIOD] + 1e-7) + 1
            elif rests[p, s, REST] <= 0.0 or (stands and strips[s, UPRIGHT] <= 0.0):
                continue
            for spot in range(spots):
                stretch, part = found[min(spot // 3, many - 1)], 0.0
                if s < 0:
                    first, u, v, top = comes_to(
                        spot, stretch, ways[k], edge, goal, span[k], skip[k], step[k], bottoms[k], col, width,
                        line - over[k] - LEVEL_MM,
                    )  # fmt: skip
                    n = span[k]
                    if top >= HUGE:
                        continue
                else:
                    first, taken, u, v, top, part = part_at(
                        spot, stands, stretch, strips[s], rests[p, s], edge, goal, col, width
                    )
                    n = int(taken)
                    if part <= 0.0:
                        continue
                made += 1
                c0, now, total, more = int(first), max(line, v), -1.0, 0.0
                for i in range(KNOWN):
                    if known[i, 0] == now:
                        total = known[i, 1]
                if total < 0.0:
                    total = above(edge, now)
                    known[told % KNOWN, 0], known[told % KNOWN, 1] = now, total
                    told += 1
                if s < 0:
                    total += added(edge, tops[k], c0, n, v, now)
                    placed_now, worthy_now = placed + each[k], worthy + worth[k]
                    rest_now, key_now = rest - 1, key + names[kind[k]]
                else:
                    total += n * (top - now) - above(edge[c0 : c0 + n], now)
                    left, used, nth = rests[p, s, REST], rests[p, s, USED], rests[p, s, NTH]
                    placed_now = placed + cut_from(part, strips[s], rests[p, s], seams)
                    ended = int(rests[p, s, NTH] - nth)
                    rests[p, s, REST], rests[p, s, USED], rests[p, s, NTH] = left, used, nth
                    if strips[s, POOLED] > 0.0 and ended > 0 and not makes_strips(
                        me, count_ways + s, part, strips[s], seams, stems, stem_at
                    ):  # fmt: skip
                        ended, more = 0, 1.0
                    rest_now = rest - ended
                    worthy_now = worthy + strips[s, EACH] * part
                    key_now = key + names[names.size - kinds + s] * (int(part * 4.0) + 1)
                under = (total + now * cols) * col
                if under - placed_now > limit:
                    continue
                way, part = min(k, count_ways + s) if s >= 0 else k, -part if stands else part
                if rest_now == 0:
                    for c in range(cols):
                        top = max(top, float(edge[c]))
                    goal[0], goal[1], goal[2], goal[3], goal[4] = top - LEVEL_MM, top, u, v, part
                    at[6], at[7], at[FOUND] = me, way, 1
                    limit = width * goal[0] - area + 1e-6
                    continue
                # the same pieces laid in another order differ by what numbers are rounded to
                score = math.floor((under - worthy_now) / ALIKE_MM2) * ALIKE_MM2
                to = min(max(int(placed_now / rise), at[RUNG] + 1), at[RUNG] + ring - 1)
                slot = room_on(to % ring, score, key_now, size, heap, num, table)
                if slot < 0:
                    continue
                at[LAST] = max(at[LAST], to)
                num[slot, WORTH], num[slot, PLACED], num[slot, U], num[slot, V] = worthy_now, placed_now, u, v
                num[slot, SCORE], num[slot, PART] = score, part
                idx[slot, LEFT], idx[slot, STEM], idx[slot, WAY], idx[slot, HASH] = rest_now, me, way, key_now
                idx[slot, FROM], num[slot, OPEN] = p, more


@njit(F(F2, N, N, F), **INNER)
def height_at(chain: Any, a: int, b: int, x: float) -> float:
    """Height of a chain of points from a to b at x."""
    e = a
    while e < b - 2 and chain[e + 1, 0] < x:
        e += 1
    wide = chain[e + 1, 0] - chain[e, 0]
    if wide <= 0.0:
        return max(chain[e, 1], chain[e + 1, 1])
    return chain[e, 1] + (chain[e + 1, 1] - chain[e, 1]) * min(max((x - chain[e, 0]) / wide, 0.0), 1.0)


@njit(types.void(F2, F2, I1, I1, I1, F1, F1, F2), cache=True, nogil=True)
def come_down(
    lows: Any, highs: Any, low_ends: Any, high_ends: Any, part_ends: Any, base: Any, period: Any, at: Any
) -> None:  # fmt: skip
    """Each piece straight down, one after another, until it rests on those before it: `at` is (u, v) of each.

    `lows` and `highs` are the lower and upper chains of convex parts, from left to right, each up to its end in
    `low_ends` and `high_ends`; `part_ends` the parts of each piece; `base` and `period` its places along (0: any).
    """
    deepest, highest = np.full(low_ends.size, HUGE), np.full(high_ends.size, -HUGE)
    for b in range(low_ends.size):
        for e in range(low_ends[b - 1] if b > 0 else 0, low_ends[b]):
            deepest[b] = min(deepest[b], lows[e, 1])
        for e in range(high_ends[b - 1] if b > 0 else 0, high_ends[b]):
            highest[b] = max(highest[b], highs[e, 1])
    for i in range(part_ends.size):
        v = 0.0
        for b in range(part_ends[i - 1] if i > 0 else 0, part_ends[i]):
            b0, b1 = low_ends[b - 1] if b > 0 else 0, low_ends[b]
            for j in range(i):
                du, dv = at[j, 0] - at[i, 0], at[j, 1]
                for a in range(part_ends[j - 1] if j > 0 else 0, part_ends[j]):
                    a0, a1 = high_ends[a - 1] if a > 0 else 0, high_ends[a]
                    x0 = max(highs[a0, 0] + du, lows[b0, 0])
                    x1 = min(highs[a1 - 1, 0] + du, lows[b1 - 1, 0])
                    if x1 - x0 <= TOUCH_MM or dv + highest[a] <= v + deepest[b]:
                        continue
                    # the difference of two chains is greatest at a corner of one of them
                    for e in range(a0, a1):
                        x = min(max(highs[e, 0] + du, x0), x1)
                        v = max(v, dv + height_at(highs, a0, a1, x - du) - height_at(lows, b0, b1, x))
                    for e in range(b0, b1):
                        x = min(max(lows[e, 0], x0), x1)
                        v = max(v, dv + height_at(highs, a0, a1, x - du) - height_at(lows, b0, b1, x))
        if period[i] > 0.0:
            v = base[i] + math.ceil((v - base[i]) / period[i] - 1e-9) * period[i]
        at[i, 1] = v
