"""Stretches of a ring: sets of intervals of seam length, and how few parts a band can be cut in."""

from __future__ import annotations

from collections.abc import Iterable

Range = tuple[float, float]
SAME_MM = 1e-6


def unrolled(ranges: Iterable[Range], ring_mm: float, s0: float, s1: float) -> list[Range]:
    """Repeat ranges of a ring along the line and keep what lies in [s0, s1], ascending and joined."""
    found: list[Range] = []
    for a, b in ranges:
        for k in range(-2, 4):
            lo, hi = max(a + k * ring_mm, s0), min(b + k * ring_mm, s1)
            if hi - lo > SAME_MM:
                found.append((lo, hi))
    return joined(found)


def joined(ranges: Iterable[Range]) -> list[Range]:
    """Sort ranges and join those that touch."""
    out: list[Range] = []
    for a, b in sorted(ranges):
        if out and a <= out[-1][1] + SAME_MM:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    return out


def less(ranges: Iterable[Range], taken: Iterable[Range]) -> list[Range]:
    """Take ranges away from others."""
    left = list(ranges)
    for c, d in taken:
        nxt: list[Range] = []
        for a, b in left:
            if d <= a or c >= b:
                nxt.append((a, b))
                continue
            if c - a > SAME_MM:
                nxt.append((a, c))
            if b - d > SAME_MM:
                nxt.append((d, b))
        left = nxt
    return left


def fewest_parts(s0: float, s1: float, windows: Iterable[Range] | None, reach_mm: float, least_mm: float) -> int | None:
    """Count the fewest parts of at most `reach_mm` that cover [s0, s1], joined only in the windows.

    Each join is put as far along as it can be, which is best for this one-way chain. None where
    no division will do.
    """
    allowed = [(s0, s1)] if windows is None else sorted(windows)
    at, parts = s0, 1
    while s1 - at > reach_mm + SAME_MM:
        low, high = at + least_mm, min(at + reach_mm, s1 - least_mm)
        ends = [min(b, high) for a, b in allowed if a <= high and b >= low]
        if high < low or not ends:
            return None
        at = max(ends)
        parts += 1
        if parts > 60:
            return None
    return parts
