"""The workroom's numbers of construction that a job does not set itself. Common practice, no single source."""

from __future__ import annotations

from typing import Final

from squab.job import FillKind

FIT_MM: Final[dict[FillKind, float]] = {
    "firm_foam": 12.7,
    "medium_foam": 19.05,
    "soft_foam": 25.4,
    "wrapped_polyester": 25.4,
    "fibre": 38.1,
    "feather": 38.1,
}
"""How much smaller than the fill the seam size is, overall each way: 1/2, 3/4, 1, 1, 1 1/2 and 1 1/2 in."""

LOOSE_FILLS: Final = frozenset({"fibre", "feather"})
SQUASHY_FILLS: Final = frozenset({"soft_foam", "wrapped_polyester"})

RETURN_METRIC_MM: Final = 100.0
RETURN_IMPERIAL_MM: Final = 101.6
"""How far a zip panel goes round each back corner unless told: 100 mm, or 4 in."""
RETURN_STEP_METRIC_MM: Final = 10.0
RETURN_STEP_IMPERIAL_MM: Final = 25.4
LONGEST_RETURN_MM: Final = 203.2
"""Returns may be lengthened to 8 in to spare a join."""

ZIP_MARGIN_MM: Final = 3.0
"""Finished boxing must show at least this each side of the tape."""
TWO_SLIDERS_FROM_MM: Final = 1200.0
"""Zips longer than this get two sliders."""
BOTTOM_ZIP_FROM_BACK: Final = 0.2
"""A zip in the bottom panel lies this part of the depth in front of the back."""
BOTTOM_ZIP_LEAST_MM: Final = 60.0

MOST_EASE_MM: Final = 6.35
"""Boxing may be up to 1/4 in shorter than the panel's seam; more would pucker it."""
MOST_ALLOWANCE_MM: Final = 50.0

CLEAR_OF_CORNER_MM: Final = 25.0
"""A boxing join stays this far from any corner, for bulk, unless it stands exactly on it."""

SLIT_SHORT_MM: Final = 1.5
"""Slits and clips stop this far from the stitch."""
CLIP_OPENS_MM: Final = 1.5
"""Clips along a curve are set so close that each opens no more than this."""
CLIP_CURVE_RADIUS_MM: Final = 250.0
"""Curves wider than this need no clips."""
CLIP_CLOSEST_MM: Final = 12.0
CLIP_WIDEST_MM: Final = 40.0

NOTCH_APART_MM: Final = 20.0
"""Notches nearer than this would read as one double notch."""
NOTCH_TELLS_MM: Final = 8.0
"""Two notches that miss each other by more than this are seen to miss."""

JOIN_ALLOWANCE_MM: Final = 6.35
"""Allowance of the 45-degree join of bias-ended piping strips, 1/4 in."""
STRAIGHT_PIPING_RADIUS_MM: Final = 75.0
"""Piping cut straight puckers on curves tighter than this."""

LEAST_SIDE_WIDTH_MM: Final = 75.0
"""A side width of a seamed panel narrower than this looks like a mistake."""
