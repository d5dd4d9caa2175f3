"""The two kinds of match at a strip-to-strip join: carry on, and mirror."""

from __future__ import annotations

import math
from dataclasses import dataclass

from squab.cloth import Pattern
from squab.match.congruence import SAME_MM
from squab.plane import cos_sin


@dataclass(frozen=True, slots=True)
class JoinKinds:
    """What is possible at a join of two strips.

    `carry_on`: the next strip starts where the last one ended in the repeat; always possible.
    `mirror_at_mm` are the places s at which the strips may be laid face to face on a mirror
    axis of the stripe and stitched there; `mirror_anywhere` where the pattern does not change
    along the strip, so that any place is its own mirror image.
    """

    carry_on: bool
    mirror_at_mm: tuple[float, ...]
    mirror_anywhere: bool = False


def join_kinds(pattern: Pattern, turn_deg: int, shift: tuple[float, float], window: tuple[float, float]) -> JoinKinds:
    """Say which joins are possible in a stretch of a strip, and where.

    Parameters
    ----------
    pattern
        The cloth's pattern.
    turn_deg
        The strip's turn: 0 or 180 across the bolt, 90 or 270 along it.
    shift
        Where the strip's own (0, 0) lies on the pattern, (p, q).
    window
        The stretch (s0, s1) of the strip, mm, in which the join may stand.
    """
    c, s = cos_sin(turn_deg)
    if min(abs(c), abs(s)) > 1e-9:
        return JoinKinds(True, ())
    across = abs(c) > 0.5
    period = pattern.repeat_across_mm if across else pattern.repeat_along_mm
    if period is None:
        return JoinKinds(True, (), mirror_anywhere=True)
    axes_lie_along = pattern.kind == "weft_stripe"
    if not pattern.mirror_axes or axes_lie_along == across:
        return JoinKinds(True, ())
    way, start = (c, shift[0]) if across else (s, shift[1])
    found: list[float] = []
    for axis in pattern.mirror_axes:
        first = way * (axis - start)
        n0 = math.ceil((window[0] - first) / period - SAME_MM / period)
        n1 = math.floor((window[1] - first) / period + SAME_MM / period)
        found += [first + n * period for n in range(n0, n1 + 1)]
    return JoinKinds(True, tuple(sorted(found)))
