"""Plane geometry that knows nothing of cloth: paths, outlines, offsets, frames."""

from squab.plane.frames import Placement, cos_sin
from squab.plane.offset import offset_outline
from squab.plane.paths import Arc, Edge, Line, Outline, Path, Point, Points

__all__ = [
    "Arc", "Edge", "Line", "Outline", "Path", "Placement", "Point", "Points", "cos_sin", "offset_outline",
]  # fmt: skip
