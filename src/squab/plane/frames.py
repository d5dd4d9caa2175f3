"""Where a piece lies on the cloth: turned, then shifted; never mirrored.

(u, v) = R(turn) * local + t. u runs across the cloth from the left selvage, v along it from the
cut end, the cloth face up.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from squab.plane.paths import Outline, Point, Points, moved_edge

_EXACT = {0: (1.0, 0.0), 90: (0.0, 1.0), 180: (-1.0, 0.0), 270: (0.0, -1.0)}


def cos_sin(turn_deg: float) -> tuple[float, float]:
    """Cosine and sine of a turn, exact at the quarters."""
    exact = _EXACT.get(int(turn_deg) % 360) if float(turn_deg).is_integer() else None
    return exact or (math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg)))


@dataclass(frozen=True, slots=True)
class Placement:
    """A turn (degrees, counter-clockwise) and a shift (mm) from a piece's frame to the cloth's."""

    turn_deg: float
    u_mm: float
    v_mm: float

    def point(self, local: Point) -> Point:
        """Map one point of the piece to the cloth."""
        c, s = cos_sin(self.turn_deg)
        return (c * local[0] - s * local[1] + self.u_mm, s * local[0] + c * local[1] + self.v_mm)

    def points(self, xy_piece: Points) -> Points:
        """Map (n, 2) points of the piece to the cloth."""
        c, s = cos_sin(self.turn_deg)
        x, y = xy_piece[:, 0], xy_piece[:, 1]
        return np.column_stack((c * x - s * y + self.u_mm, s * x + c * y + self.v_mm))

    def local(self, cloth: Point) -> Point:
        """Map one point of the cloth back to the piece."""
        c, s = cos_sin(self.turn_deg)
        x, y = cloth[0] - self.u_mm, cloth[1] - self.v_mm
        return (c * x + s * y, -s * x + c * y)

    def outline(self, outline: Outline) -> Outline:
        """Map a whole outline to the cloth."""
        return Outline(tuple(moved_edge(e, self.point) for e in outline.edges), outline.sides, outline.seen)
