"""What every part of a cover's construction looks up: the seam outline, its ring, its cloths."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cached_property

from squab.cloth import Cloth
from squab.construct.shape import crossings
from squab.construct.sizes import Sized
from squab.errors import OutlineError
from squab.findings import Finding, Severity
from squab.job import Cover, Cushion, Job
from squab.plane import Arc, Outline
from squab.units import Style, format_length
from squab.words import say

SHARP_RAD = math.radians(30.0)
"""A corner that turns less than this is sewn round like a curve."""

Range = tuple[float, float]

_MM = re.compile(r"-?(\d+(?:\.\d+)?) mm\b")


def told(error: OutlineError, style: Style) -> str:
    """What an outline says of itself, which is in millimetres, in the job's own units."""
    return (
        _MM.sub(lambda m: format_length(float(m[1]), style), str(error)) if style.system == "imperial" else str(error)
    )


@dataclass(frozen=True)
class Ground:
    """One cushion at its seam size, with the cloths of its parts."""

    job: Job
    cushion: Cushion
    sized: Sized

    @property
    def cover(self) -> Cover:
        """The make of the cover."""
        return self.cushion.cover

    @property
    def seam(self) -> Outline:
        """The seam outline, seen from above."""
        return self.sized.seam

    @property
    def ring_mm(self) -> float:
        """Seam length round the panel."""
        return self.sized.seam.length

    @property
    def thickness_mm(self) -> float:
        """Finished boxing width."""
        return self.sized.thickness_mm

    @property
    def allowance_mm(self) -> float:
        """The seam allowance."""
        return self.cover.allowance_mm

    @cached_property
    def top_cloth(self) -> Cloth:
        """The top panel's cloth."""
        return self.job.cloth(self.cover.panel_cloth)

    @cached_property
    def bottom_cloth(self) -> Cloth:
        """The bottom panel's cloth."""
        return self.job.cloth(self.cover.bottom_cloth or self.cover.panel_cloth)

    @cached_property
    def boxing_cloth(self) -> Cloth:
        """The boxing's cloth."""
        return self.job.cloth(self.cover.boxing_cloth or self.cover.panel_cloth)

    @cached_property
    def zip_cloth(self) -> Cloth:
        """The zip panel's cloth."""
        return self.job.cloth(self.cover.zip_cloth or self.cover.panel_cloth)

    @cached_property
    def piping_cloth(self) -> Cloth:
        """The piping's cloth."""
        return self.job.cloth(self.cover.piping_cloth or self.cover.panel_cloth)

    @cached_property
    def imperial(self) -> bool:
        """Tell whether the job is measured in inches."""
        return self.job.style.system == "imperial"

    def shown(self, length_mm: float) -> str:
        """A length as this job prints it."""
        return format_length(length_mm, self.job.style)

    def word(self, text: str) -> str:
        """A text with its [[trade words]] as this job says them; a maker's own brackets stay as they are."""
        try:
            return say(text, self.job.words)
        except KeyError:
            return text

    def finding(self, code: str, severity: Severity, part: str, message: str, hint: str = "") -> Finding:
        """A finding about a part of this cushion."""
        place = f"{self.cushion.name or self.cushion.id}: {self.word(part)}"
        return Finding(code, severity, place, self.word(message), self.word(hint), self.cushion.line)

    @cached_property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Sharp corners as (s, turn): outward positive, inward negative."""
        return tuple((s, turn) for s, turn in self.seam.corners() if abs(turn) > SHARP_RAD)

    @cached_property
    def is_curved_all_round(self) -> bool:
        """Tell whether the outline has no straight side at all, like a disc."""
        return not self.corners and all(isinstance(e, Arc) for e in self.seam.edges)

    def side_range(self, side: str) -> Range | None:
        """The longest stretch of a side, or None where the outline has no such side."""
        return max(self.seam.side_ranges(side), key=lambda r: r[1] - r[0], default=None)

    @cached_property
    def front(self) -> Range:
        """The stretch of the front: the side of that name, or what faces the sitter."""
        return self.side_range("front") or self._facing(0.0)

    @cached_property
    def front_middle(self) -> float:
        """The centre front: the middle of the front's stretch."""
        return (self.front[0] + self.front[1]) / 2 % self.ring_mm

    @cached_property
    def back(self) -> Range:
        """The stretch of the back."""
        return self.side_range("back") or self._facing(math.pi)

    @cached_property
    def back_middle(self) -> float:
        """The centre back."""
        return (self.back[0] + self.back[1]) / 2 % self.ring_mm

    def _facing(self, heading: float) -> Range:
        """The stretch about the point furthest to the front whose travel is within 45 degrees of `heading`."""
        n = 720
        step = self.ring_mm / n
        towards = -1.0 if heading == 0.0 else 1.0
        points = self.seam.path.points_at([i * step for i in range(n)])
        middle = int((points[:, 1] * towards).argmax())

        def faces(i: int) -> bool:
            t = self.seam.tangent_at(i % n * step + step / 2)
            return t[0] * math.cos(heading) > math.sqrt(0.5)

        low, high = middle, middle
        while high - low < n // 2 and faces(high):
            high += 1
        while high - low < n // 2 and faces(low - 1):
            low -= 1
        return (low * step, max(high, low + 1) * step)

    @cached_property
    def rear(self) -> Range | None:
        """The stretch behind the middle of the depth, where it is one stretch."""
        _, y0, _, y1 = self.seam.bounds()
        hits = crossings(self.seam, 1, (y0 + y1) / 2)
        if len(hits) != 2:
            return None
        a, b = hits
        inside = self.seam.point_at((a + b) / 2)[1] > (y0 + y1) / 2
        return (a, b) if inside else (b, a + self.ring_mm)

    def piece_id(self, name: str) -> str:
        """The id of a part of this cushion, unique in the job."""
        return f"{self.cushion.id}.{name}"
