"""The compiled filling of a plain cloth with rectangles: the lowest niche first, with so much waste and no more.

The upper edge of what is laid is a row of steps. Into the lowest, leftmost of them goes one of the
pieces that fit, or none, and what is lost is counted. A branch ends when more is lost than a cloth
of the wanted length can spare. Best are pieces that fill a niche's width, or end level with its wall.
"""

# mypy: disable-error-code="untyped-decorator, no-any-return"
from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit, types

F, N = types.float64, types.int64
F1, F2 = types.float64[::1], types.float64[:, ::1]
I1 = types.int64[::1]
SAME_MM = 1e-7
HUGE = 1e15


@njit(N(N, N, F, F, F, F, F1, F1, I1, I1, I1, F1, F1), cache=True, nogil=True)
def fill(
    nodes: int, seed: int, noise: float, width: float, length: float, spare: float, wide: Any, high: Any, kind: Any,
    left: Any, chosen: Any, at_u: Any, at_v: Any,
) -> int:  # fmt: skip
    """Lay all pieces on `length`, wasting at most `spare` of area; how many steps it took, 0 where it did not go.

    `wide`, `high` and `kind` by way of lying; `left` pieces by kind. What was laid, way by way (-1:
    a niche given up), and where, into `chosen`, `at_u` and `at_v`.
    """
    np.random.seed(seed)
    ways, rest = wide.size, 0
    for k in range(left.size):
        rest += left[k]
    most = chosen.size
    u, w, v = np.zeros((most + 1, rest + 2)), np.zeros((most + 1, rest + 2)), np.zeros((most + 1, rest + 2))
    steps = np.ones(most + 1, dtype=np.int64)
    lost = np.zeros(most + 1)
    niche = np.zeros(most + 1, dtype=np.int64)
    choice = np.zeros((most + 1, ways + 1), dtype=np.int64)
    choices, tried = np.zeros(most + 1, dtype=np.int64), np.zeros(most + 1, dtype=np.int64)
    score = np.zeros(ways + 1)
    w[0, 0] = width
    depth, fresh = 0, True
    for _ in range(nodes):
        if fresh:
            s = 0
            for j in range(1, steps[depth]):
                if v[depth, j] < v[depth, s] - SAME_MM:
                    s = j
            niche[depth] = s
            base, room = v[depth, s], w[depth, s]
            before = v[depth, s - 1] if s > 0 else HUGE
            after = v[depth, s + 1] if s + 1 < steps[depth] else HUGE
            many = 0
            for k in range(ways):
                if left[kind[k]] <= 0 or wide[k] > room + SAME_MM or base + high[k] > length + SAME_MM:
                    continue
                x = wide[k] * high[k] / (width * length) + noise * np.random.random()
                if abs(wide[k] - room) <= SAME_MM:
                    x += 2.0
                if abs(base + high[k] - before) <= SAME_MM:
                    x += 1.0
                r = many
                while r > 0 and score[r - 1] < x:
                    score[r], choice[depth, r] = score[r - 1], choice[depth, r - 1]
                    r -= 1
                score[r], choice[depth, r] = x, k
                many += 1
            wall = min(before, after)
            if wall < HUGE and lost[depth] + room * (wall - base) <= spare + 1e-6:
                choice[depth, many] = -1
                many += 1
            choices[depth], tried[depth] = many, 0
            fresh = False
        if tried[depth] >= choices[depth] or depth + 1 >= most:
            if depth == 0:
                return 0
            depth -= 1
            if chosen[depth] >= 0:
                left[kind[chosen[depth]]] += 1
                rest += 1
            continue
        k = choice[depth, tried[depth]]
        tried[depth] += 1
        chosen[depth] = k
        s, count = niche[depth], steps[depth]
        at_u[depth], at_v[depth] = u[depth, s], v[depth, s]
        top, long = 0.0, w[depth, s]
        lost[depth + 1] = lost[depth]
        if k >= 0:
            left[kind[k]] -= 1
            rest -= 1
            if rest == 0:
                return depth + 1
            top, long = v[depth, s] + high[k], wide[k]
        else:
            top = min(v[depth, s - 1] if s > 0 else HUGE, v[depth, s + 1] if s + 1 < count else HUGE)
            lost[depth + 1] += long * (top - v[depth, s])
        # the steps after it: what was there, the niche's part that is filled, what is left of it; level ones joined
        n = 0
        for j in range(count + 1):
            if j == s:
                x, y, z = u[depth, s], long, top
            elif j == s + 1:
                x, y, z = u[depth, s] + long, w[depth, s] - long, v[depth, s]
                if y <= SAME_MM:
                    continue
            else:
                i = j if j < s else j - 1
                x, y, z = u[depth, i], w[depth, i], v[depth, i]
            if n > 0 and abs(v[depth + 1, n - 1] - z) <= SAME_MM:
                w[depth + 1, n - 1] += y
            else:
                u[depth + 1, n], w[depth + 1, n], v[depth + 1, n] = x, y, z
                n += 1
        steps[depth + 1] = n
        depth += 1
        fresh = True
    return 0
