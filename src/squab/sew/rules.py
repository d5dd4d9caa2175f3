"""The sewing room's numbers. Common practice where no source is named; lengths in mm."""

from __future__ import annotations

import math
from typing import Final

from squab.cloth import Cloth
from squab.supply.thread import denier, stitch_length_mm, stitches_per_inch

SMALL_TOLERANCE_MM: Final = 3.0
LARGE_TOLERANCE_MM: Final = 6.0
LARGE_FROM_MM: Final = 600.0
"""A finished size is true within 3 mm up to 600 mm, and within 6 mm beyond."""

SIDE_WITHIN_MM: Final = 3.0
RING_WITHIN_MM: Final = 6.0
"""Boxing and panel agree within about 1/8 in a side and 1/4 in a ring before they are sewn."""

PIPING_TAIL_METRIC_MM: Final = 50.0
PIPING_TAIL_IMPERIAL_MM: Final = 50.8
"""Piping is left loose for about 2 in where its ends will meet: 50 mm, or 2 in."""
SLIT_FROM_CORD_MM: Final = 3.175
"""Slits in the flange stop about 1/8 in short of the cord."""
PIPED_CORNER_RADIUS_MM: Final = 9.525
"""A piped square corner turns at about 3/8 in."""
INSIDE_SLIT_SHORT_MM: Final = 1.5
"""A slit at an inside corner stops 1/16 in short of the stitch, after a stay stitch."""
STAY_EACH_WAY_MM: Final = 38.0

BACKSTITCH_MM: Final = 12.7
"""Ends are stitched back at least 1/2 in (MIL-L-24778, 3.7.3)."""
STRAIGHT_WITHIN_MM: Final = 1.5875
"""A line of stitch runs true within 1/16 in either way (MIL-L-24778, 3.7.3)."""
RUN_OVER_MM: Final = 25.4
"""Where the thread breaks, lockstitch begins again at least 1 in back (Army TM 10-8340-224-13, 5-6)."""
LEAST_RAW_EDGE_MM: Final = 12.7
"""Raw edge of 8 to 15 oz duck to its stitch, 1/2 in (Navy training manual, Aircrew Survival Equipmentman)."""

CLIP_CLOSEST_MM: Final = 6.35
CLIP_WIDEST_MM: Final = 12.7
"""Clips on a curve stand 1/4 to 1/2 in apart, closer where it is tighter (Apparel: Design, Textiles &
Construction, 2012, p. 452)."""
CLIP_OPENS_MM: Final = 0.8

BASTE_EVERY_MM: Final = 50.0
"""A pin or a long hand stitch on every colour edge, and no further apart than this."""
FOAM_REST_HOURS: Final = 24
"""Foam that came compressed lies undisturbed a day before it is measured (Joint Industry Foam Standards, 10.1)."""


def tolerance_mm(size_mm: float) -> float:
    """Give how far a finished size may be out.

    >>> tolerance_mm(600.0), tolerance_mm(600.5)
    (3.0, 6.0)
    """
    return SMALL_TOLERANCE_MM if size_mm <= LARGE_FROM_MM else LARGE_TOLERANCE_MM


def clip_spacing_mm(radius_mm: float, allowance_mm: float) -> float:
    """Give how far apart to clip a flange on a curve, so that a clip hardly opens.

    A clip opens by spacing x allowance / radius; the spacing stays within the trade's band.
    """
    return min(CLIP_WIDEST_MM, max(CLIP_CLOSEST_MM, CLIP_OPENS_MM * radius_mm / max(allowance_mm, 1e-9)))


def inside_slit_mm(allowance_mm: float) -> float:
    """Give the depth of the slit at a square inside corner, on the diagonal.

    >>> round(inside_slit_mm(12.0), 1)
    15.5
    """
    return allowance_mm * math.sqrt(2.0) - INSIDE_SLIT_SHORT_MM


def stitch_words(cloth: Cloth) -> str:
    """Name the stitch: its length, and stitches to the inch."""
    length = stitch_length_mm(cloth)
    return f"{length:g} mm long, {stitches_per_inch(length):.0f} to the inch"


def needle_words(cloth: Cloth) -> str:
    """Choose the needle by what it must go through."""
    if cloth.vinyl:
        return "110/18, sharp"
    if cloth.thickness_mm >= 1.2:
        return "110/18"
    return "80/12" if cloth.thickness_mm < 0.5 else "100/16"


def thread_words(cloth: Cloth, *, outdoor: bool) -> str:
    """Choose the thread: finer for thin cloth; proof against sun out of doors."""
    make = "polyester, proof against sun" if outdoor else "polyester"
    tex = 40 if cloth.thickness_mm < 0.5 else 70
    return f"{make}, {tex} tex ({denier(tex):.0f} denier)"
