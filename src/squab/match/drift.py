"""How the pattern drifts along a seam once its two pieces lie on the cloth, and what to call it.

It needs the pieces' placements and nothing of how they were found, so that it can be measured
again on a lay.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from squab.cloth import Pattern
from squab.construct.records import Seam
from squab.match.along import Along, along
from squab.match.congruence import Floats, Symmetry, Way, repeat_of, symmetries, ways_that_change, wrap_all
from squab.match.records import Verdict
from squab.plane import Placement

FRONT_GOOD_MM = 2.0
SEEN_GOOD_MM = 3.0
"""What passes at a front seam, and at any other that is seen: common practice, no source."""
SHORTEST_GOOD_MM = 10.0
"""A match that holds for less edge than this, where a stripe only crosses its own place, is none."""
PRINT_MISS_MM = 10.0
"""A print has no narrowest stripe: more than this is called a miss. Common practice, no source."""


def drift_along(
    seam: Seam,
    placement_a: Placement,
    placement_b: Placement,
    pattern: Pattern,
    *,
    pattern_at: tuple[float, float] = (0.0, 0.0),
    ways: Sequence[Way] | None = None,
) -> tuple[Floats, Floats | None, Floats | None]:
    """Measure the drift along a seam: boxing minus panel, modulo the pattern's symmetries.

    Parameters
    ----------
    seam
        The two stretches sewn together, each in its own piece's frame.
    placement_a, placement_b
        Where the panel and the boxing lie on the cloth, (u, v), or on the pattern, (p, q).
    pattern
        The pattern of the cloth both are cut from.
    pattern_at
        Where the pattern's origin stands in the placements' frame.
    ways
        Directions that are asked to meet; all in which the pattern changes by default.

    Returns
    -------
    s, dp, dq
        Lengths along the seam and the drift there across and along, mm; None in a direction
        not asked for. Both ways together are reduced to the nearest point of the lattice; one
        way alone to its own period. Of a pattern's symmetries the one is taken under which
        most of the seam is good.
    """
    return drift_at(along(seam), placement_a, placement_b, pattern, pattern_at=pattern_at, ways=ways)


def drift_at(
    places: Along,
    placement_a: Placement,
    placement_b: Placement,
    pattern: Pattern,
    *,
    pattern_at: tuple[float, float] = (0.0, 0.0),
    ways: Sequence[Way] | None = None,
    among: Sequence[Symmetry] | None = None,
) -> tuple[Floats, Floats | None, Floats | None]:
    """Measure the drift at given places of a seam; see `drift_along`.

    `among` are the symmetries that count; all the pattern has by default.
    """
    asked = ways_that_change(pattern) if ways is None else tuple(ways)
    a = placement_a.points(places.a) - np.array(pattern_at)
    b = placement_b.points(places.b) - np.array(pattern_at)
    best: tuple[tuple[float, float], Floats, Floats] | None = None
    for symmetry in among or symmetries(pattern):
        dp, dq = _reduced(a, b, symmetry, pattern, asked)
        size = np.hypot(dp, dq)
        key = (round(float((size > SEEN_GOOD_MM).mean()), 6), round(float(size.max()), 6))
        if best is None or key < best[0]:
            best = (key, dp, dq)
    assert best is not None
    return places.s, best[1] if "p" in asked else None, best[2] if "q" in asked else None


def _reduced(a: Floats, b: Floats, s: Symmetry, pattern: Pattern, ways: Sequence[Way]) -> tuple[Floats, Floats]:
    dp = b[:, 0] - (s.sign_p * a[:, 0] + s.shift_p)
    dq = b[:, 1] - (s.sign_q * a[:, 1] + s.shift_q)
    repeat = repeat_of(pattern)
    if "p" in ways and "q" in ways:
        return repeat.reduced(dp, dq)
    modulus_p, modulus_q = repeat.modulus("p"), repeat.modulus("q")
    return (
        wrap_all(dp, modulus_p) if "p" in ways and modulus_p else np.zeros_like(dp),
        wrap_all(dq, modulus_q) if "q" in ways and modulus_q else np.zeros_like(dq),
    )


@dataclass(frozen=True, slots=True)
class Judged:
    """A drift judged: its largest value, the verdict, and how far either way of `at` it is good."""

    worst_mm: float
    verdict: Verdict
    good_to_mm: float | None
    at_match_mm: float


def judge(s: Floats, dp: Floats | None, dq: Floats | None, at: int, *, front: bool, pattern: Pattern) -> Judged:
    """Judge a drift by the trade's measure.

    A front seam is good within 2 mm, any other that is seen within 3; from there to half the
    narrowest stripe it is to be said; beyond, it is a miss. How far it is good is counted
    from the place matched first, at 3 mm: what the eye lets pass on a curve. A miss that stays
    within that, at a front and beside a stripe of less than 4 mm, is counted at the front's own 2 mm.
    """
    zero = np.zeros_like(s)
    size = np.hypot(zero if dp is None else dp, zero if dq is None else dq)
    worst = float(size.max())
    good = FRONT_GOOD_MM if front else SEEN_GOOD_MM
    narrowest = pattern.narrowest_stripe_mm
    miss = max(good, narrowest / 2 if narrowest else PRINT_MISS_MM)
    verdict: Verdict = "good" if worst <= good + 1e-9 else "say so" if worst <= miss + 1e-9 else "miss"
    passes = good if verdict == "miss" and worst <= SEEN_GOOD_MM + 1e-9 else SEEN_GOOD_MM
    return Judged(worst, verdict, _good_to(s, size, at, passes), float(size[at]))


def _good_to(s: Floats, size: Floats, at: int, passes_mm: float) -> float | None:
    """How far from a place the drift passes, the shorter of both ways; None where all of it does."""
    if float(size.max()) <= passes_mm + 1e-9:
        return None
    if float(size[at]) > passes_mm:
        return 0.0
    both = (_reach(s, size, at, way, passes_mm) for way in (1, -1))
    reach = min((r for r in both if r is not None), default=None)
    return 0.0 if reach is not None and reach < SHORTEST_GOOD_MM else reach


def _reach(s: Floats, size: Floats, at: int, step: int, passes_mm: float) -> float | None:
    i = at
    while 0 <= i + step < len(s):
        if size[i + step] > passes_mm:
            rise = float(size[i + step] - size[i])
            part = (passes_mm - float(size[i])) / rise if rise > 0 else 0.0
            return float(abs(s[i] - s[at]) + part * abs(s[i + step] - s[i]))
        i += step
    return None
