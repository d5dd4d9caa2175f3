"""A general-purpose packer of outlines on plain cloth, to stand beside: in a process of its own.

It cannot be stopped from outside and knows no pattern. Its gap holds towards the cloth's edges
too, so the cloth is given twice the gap more each way.
"""

from __future__ import annotations

import multiprocessing
from typing import Any

from squab.lay.records import LayProblem


def packed_length_mm(problem: LayProblem, seconds: float, workers: int) -> float | None:
    """Length the packer needs for a problem's pieces; None where it is not installed: then nobody knows."""
    kinds: dict[tuple[bytes, tuple[int, ...]], list[Any]] = {}
    for piece in problem.pieces:
        key = (piece.outline.tobytes(), piece.turns_deg)
        # the packer's strip runs to the right: a quarter turn
        points = [(float(v), -float(u)) for u, v in piece.outline]
        kinds.setdefault(key, [points, 0, [float(t) for t in piece.turns_deg]])[1] += 1
    width = problem.usable_width_mm + 2 * problem.gap_mm
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        length = pool.apply(_pack, (width, list(kinds.values()), problem.gap_mm, int(seconds), workers))
    return None if length is None else length - 2 * problem.gap_mm


def _pack(width: float, kinds: list[Any], gap: float, seconds: int, workers: int) -> float | None:
    try:
        import spyrrow
    except ImportError:
        return None
    items = [spyrrow.Item(str(k), points, count, turns) for k, (points, count, turns) in enumerate(kinds)]
    config = spyrrow.StripPackingConfig(
        early_termination=False, min_items_separation=gap or None, total_computation_time=seconds, num_workers=workers,
        seed=0,
    )  # fmt: skip
    return float(spyrrow.StripPackingInstance("outlines", width, items).solve(config).width)
