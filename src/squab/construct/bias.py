"""Strips cut on the bias, or from a square: how much strip a piece of cloth yields, and what joins lose."""

from __future__ import annotations

import math

SQRT2 = math.sqrt(2.0)


def strip_by_area_mm(side_mm: float, strip_mm: float) -> float:
    """Length of strip in a square by its area alone, S^2 / w: no cut can yield more."""
    return side_mm**2 / strip_mm


def square_for_strip_mm(length_mm: float, strip_mm: float) -> float:
    """Side of the square whose area is that of a strip, sqrt(L w); round it up."""
    return math.sqrt(length_mm * strip_mm)


def selvage_run_mm(strip_mm: float) -> float:
    """Spacing along the selvage of true-bias cuts a strip's width apart, w sqrt 2."""
    return strip_mm * SQRT2


def run_for_one_strip_mm(length_mm: float) -> float:
    """Run of cloth for one unjoined bias strip of a length, L / sqrt 2."""
    return length_mm / SQRT2


def lost_at_a_join_mm(join_allowance_mm: float) -> float:
    """What a diagonal join of bias-ended strips takes, 2 SA sqrt 2."""
    return 2 * join_allowance_mm * SQRT2


def strips_from_square(side_mm: float, strip_mm: float) -> tuple[float, ...]:
    """Centre-line lengths of the full strips cut outward on both sides of a square's diagonal.

    The centre line of a strip at distance d from the diagonal is S sqrt 2 - 2 d long. A strip
    counts where its outer edge still lies on the cloth.
    """
    half = side_mm / SQRT2
    each_side = [side_mm * SQRT2 - 2 * (i + 0.5) * strip_mm for i in range(int(half / strip_mm + 1e-9))]
    return tuple(x for x in each_side for _ in range(2))


def joined_length_mm(strips_mm: tuple[float, ...], join_allowance_mm: float) -> float:
    """Length of strips joined end to end on the diagonal."""
    return sum(strips_mm) - (len(strips_mm) - 1) * lost_at_a_join_mm(join_allowance_mm)


def continuous_strip_mm(side_mm: float, strip_mm: float, join_allowance_mm: float) -> float:
    """Length of one continuous strip cut from a square sewn into a tube, (S^2 - 4 SA S) / w.

    Two seams of length S take two allowances each.
    """
    return (side_mm**2 - 4 * join_allowance_mm * side_mm) / strip_mm


def binding_strip_mm(finished_mm: float) -> float:
    """Cut width of a single binding, four times its finished width."""
    return 4 * finished_mm


def strip_for_edges_mm(perimeters_mm: tuple[float, ...], overlap_mm: float) -> float:
    """Strip that goes round several edges, each with its overlap."""
    return sum(p + overlap_mm for p in perimeters_mm)
