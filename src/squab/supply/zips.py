"""Zips as they are bought: by the length, in whole elements, in size groups."""

from __future__ import annotations

SIZE_GROUPS: tuple[tuple[float, str], ...] = ((3.8, "1-2"), (5.7, "3-4"), (7.0, "5-6"))
"""Largest slider-mouth width (mm) of each size group but the last; ASTM D3657-03, Table 1."""
LARGEST_GROUP = "7-10"


def size_group(mouth_mm: float) -> str:
    """Give the size group of a zip from the width of its slider's mouth.

    A width on the boundary belongs to the lower group. (The old service sizes 0 to 4 are
    another scale and are not used.)

    Raises
    ------
    ValueError
        If the width is not positive.

    Examples
    --------
    >>> size_group(5.7), size_group(5.8)
    ('3-4', '5-6')
    """
    if not mouth_mm > 0.0:
        raise ValueError(f"a slider's mouth has a width above 0 mm, not {mouth_mm:g}")
    return next((name for limit, name in SIZE_GROUPS if mouth_mm <= limit), LARGEST_GROUP)


def zip_limits_mm(stated_mm: float, tolerance_mm: float) -> tuple[float, float]:
    """Give the shortest and longest a zip of a stated length may be.

    A zip ends on a whole element, so its length is never exact (ASTM D3657, 5.3.1).
    """
    return stated_mm - tolerance_mm, stated_mm + tolerance_mm


def zip_to_cut_mm(wanted_mm: float, tolerance_mm: float) -> float:
    """Give the length to ask for so that the shortest zip within tolerance is still long enough."""
    return wanted_mm + tolerance_mm
