"""When a save is a version of its own, and when it is folded into the one before."""

from __future__ import annotations

from datetime import datetime, timedelta

FOLDED_WITHIN = timedelta(minutes=2)
"""Counted from the first save of a fold, so that steady typing still leaves a version every two minutes."""
SMALL_EDIT = 200
"""Letters. What replaces more than this is never folded: one may want to go back to what it replaced."""


def is_folded(before: str, after: str, began: datetime, now: datetime) -> bool:
    """Tell whether a save continues the edit before it."""
    if now - began > FOLDED_WITHIN:
        return False
    start = _same_start(before, after)
    end = _same_start(before[start:][::-1], after[start:][::-1])
    return max(len(before), len(after)) - start - end <= SMALL_EDIT


def _same_start(a: str, b: str) -> int:
    """How many letters two texts have in common at their start."""
    low, high = 0, min(len(a), len(b))
    while low < high:
        middle = (low + high + 1) // 2
        if a[low:middle] == b[low:middle]:
            low = middle
        else:
            high = middle - 1
    return low
