"""The parts to be cut from one cloth, as the sheets speak of them: names, counts, places, figures.

One `CutPart` stands for one placed piece, or one part of a strip, seen as the maker marks: from
the cut end, face up or back up. In BACK UP u is counted from the other selvage and every shape
is mirrored.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from squab.cloth import Cloth
from squab.construct.records import Piece, Strip
from squab.draw.figures import Figures, shortened
from squab.draw.laid import Laid, laid_parts
from squab.draw.plan import match_points
from squab.job import Cushion
from squab.lay.records import ClothPlan
from squab.plane import Arc, Outline, Placement, Point, Points
from squab.worked import WorkedJob

NAME_LETTERS = 60
Rank = Literal[0, 1, 2, 3, 4, 5]
"""Cutting order: panels, matched fronts, zip panels, boxing, fittings, piping."""


@dataclass(frozen=True)
class CutPart:
    """One part to cut, in the frame the maker looks at. `xy` and `seam_xy` are (n, 2) points, mm."""

    number: int
    """Its number on the cutting plan."""
    key: str
    part_id: str
    cushion: Cushion
    name: str
    hand: str
    copy: int
    copies: int
    part: int
    parts: int
    rank: Rank
    xy: Points
    seam_xy: Points
    front: Point
    match_at: Point
    match_what: str
    straight: bool
    joins: tuple[str, ...]
    note: str
    s_mm: tuple[float, float] | None = None
    piping: bool = False
    matched: bool = False
    """Whether its place on the pattern matters."""

    @property
    def box(self) -> tuple[float, float, float, float]:
        """(u0, v0, u1, v1) of the cut edge."""
        (u0, v0), (u1, v1) = self.xy.min(axis=0), self.xy.max(axis=0)
        return float(u0), float(v0), float(u1), float(v1)

    @property
    def is_rectangle(self) -> bool:
        """Tell whether the cut line is an upright rectangle."""
        u0, v0, u1, v1 = self.box
        return len(self.xy) == 4 and all(
            min(abs(x - u0), abs(x - u1)) < 1e-6 and min(abs(y - v0), abs(y - v1)) < 1e-6 for x, y in self.xy
        )

    @property
    def diagonal_mm(self) -> float:
        """Diagonal from the first corner to the third of four; of another shape, that of its box."""
        if len(self.xy) == 4:
            return math.dist(self.xy[0].tolist(), self.xy[2].tolist())
        u0, v0, u1, v1 = self.box
        return math.hypot(u1 - u0, v1 - v0)


def cushion_name(cushion: Cushion) -> str:
    """A cushion's name for a sheet, on one line."""
    return shortened(cushion.name or cushion.id, NAME_LETTERS)


def cut_parts(worked: WorkedJob, plan: ClothPlan) -> tuple[CutPart, ...]:
    """Every part on a plan, in cutting order, numbered n of m within its piece."""
    cushions = {c.id: c for c in worked.job.cushions}
    seen = Seen.of(worked, plan)
    found = [
        _cut_part(worked, seen, laid, cushions[laid.of.cushion_id], number)
        for number, laid in enumerate(laid_parts(worked, plan.cloth_id), 1)
    ]
    order = {c.id: i for i, c in enumerate(worked.job.cushions)}
    return tuple(sorted(found, key=lambda p: (p.rank, round(p.box[1]), round(p.box[0]), order[p.cushion.id])))


@dataclass(frozen=True)
class Seen:
    """How the lay's frame looks to the maker: on the bolt as it is now (before it shrinks), mirrored for BACK UP."""

    width_mm: float
    """Usable width on the bolt."""
    across: float
    along: float
    mirrored: bool

    @classmethod
    def of(cls, worked: WorkedJob, plan: ClothPlan) -> Seen:
        """The view of one plan."""
        across, along = worked.job.cloth(plan.cloth_id).cut_scale
        return cls(plan.problem.usable_width_mm * across, across, along, worked.job.marked == "back_up")

    def points(self, uv: Points) -> Points:
        """Lay points as seen; a mirrored loop is turned round to stay counter-clockwise."""
        scaled: Points = uv * np.array([self.across, self.along])
        if not self.mirrored:
            return scaled
        mirrored: Points = np.column_stack((self.width_mm - scaled[:, 0], scaled[:, 1]))[::-1]
        return mirrored

    def point(self, uv: Point) -> Point:
        """One point of the lay as seen."""
        u, v = uv[0] * self.across, uv[1] * self.along
        return (self.width_mm - u, v) if self.mirrored else (u, v)

    def direction(self, d: Point) -> Point:
        """A direction of the lay as seen."""
        return (-d[0], d[1]) if self.mirrored else d


def _cut_part(worked: WorkedJob, seen: Seen, laid: Laid, cushion: Cushion, number: int) -> CutPart:
    figures, source = Figures.of(worked.job), laid.of
    match_local, what = _match_point(worked, laid)
    front = Placement(laid.place.turn_deg, 0.0, 0.0).point(laid.front)
    return CutPart(
        number=number,
        key=laid.key,
        part_id=laid.part_id,
        cushion=cushion,
        name=part_name(source, figures),
        hand=source.hand if isinstance(source, Piece) else "",
        copy=laid.number,
        copies=laid.count,
        part=laid.part,
        parts=laid.parts,
        rank=_rank(worked, laid),
        xy=seen.points(laid.place.points(laid.cut.flattened(0.2))),
        seam_xy=seen.points(laid.place.points(laid.seam.flattened(0.2))),
        front=seen.direction(front),
        match_at=seen.point(laid.place.point(match_local)),
        match_what=what,
        straight=not any(isinstance(e, Arc) for e in laid.cut.edges),
        joins=tuple(shortened(figures.said(j), 40) for j in source.joins),
        note=shortened(figures.said(source.note), 160),
        s_mm=laid.part_mm,
        piping=source.kind == "piping",
        matched=_is_matched(worked, source),
    )


def part_name(source: Piece | Strip, figures: Figures) -> str:
    """A piece's name for a sheet, in the job's own words."""
    return shortened(figures.said(source.name), NAME_LETTERS)


def _outline_of(worked: WorkedJob, cushion_id: str) -> Outline:
    return next(c.seam_outline for c in worked.construction.covers if c.cushion_id == cushion_id)


def front_middles(outline: Outline) -> list[float]:
    """Seam lengths at the middle of the front side, one or more; of a side-less outline, its lowest point."""
    return [(a + b) / 2 for a, b in outline.side_ranges("front")]


def _front_within(worked: WorkedJob, source: Piece | Strip, s0: float, s1: float) -> float | None:
    """The middle of the front, as a seam length within (s0, s1), where the stretch covers it."""
    outline = _outline_of(worked, source.cushion_id)
    for middle in front_middles(outline):
        for turn in (-1, 0, 1):
            if s0 - 1e-6 <= middle + turn * outline.length <= s1 + 1e-6:
                return middle + turn * outline.length
    return None


def _match_point(worked: WorkedJob, laid: Laid) -> tuple[Point, str]:
    """The point by which a part is set on the pattern, on its seam line, and its name."""
    source = laid.of
    x0, y0, x1, y1 = laid.seam.bounds()
    if isinstance(source, Strip) or source.kind in ("boxing", "zip_panel"):
        return _on_band(worked, source, x0, x1, y0 if source.kind == "piping" else y1)
    middles = [source.seam.point_at(m) for m in front_middles(source.seam)]
    if middles:
        return min(middles, key=lambda p: p[1]), "middle of the front seam"
    met = match_points(worked, laid)
    if met:
        return met[0], "match point on the seam"
    return min(source.seam.path.flattened().tolist(), key=lambda p: (p[1], p[0])), "nearest corner of the seam"


def _on_band(worked: WorkedJob, source: Piece | Strip, s0: float, s1: float, z: float) -> tuple[Point, str]:
    middle = _front_within(worked, source, s0, s1) if source.kind == "boxing" else None
    if middle is not None:
        return (middle, z), "middle of the front, top seam"
    return ((s0 + s1) / 2, z), "middle of the part, top seam" if source.kind == "boxing" else "middle of the part"


def _is_matched(worked: WorkedJob, source: Piece | Strip) -> bool:
    placing = worked.match.placings.get(source.id)
    return placing is not None and placing.phase is not None


def _rank(worked: WorkedJob, laid: Laid) -> Rank:
    source = laid.of
    if source.kind in ("top", "bottom"):
        return 0
    if source.kind == "piping":
        return 5
    if source.kind == "zip_panel" or "zip" in source.id.removeprefix(source.cushion_id):
        return 2
    if source.kind != "boxing":
        return 4
    s0, _, s1, _ = laid.seam.bounds()
    return 1 if _is_matched(worked, source) and _front_within(worked, source, s0, s1) is not None else 3


def lines_of(cloth: Cloth) -> list[tuple[str, float]]:
    """The named lines across the repeat; without names, the first edge of the layout or the motif."""
    pattern = cloth.pattern
    if not pattern.changes_across:
        return []
    if pattern.lines:
        return list(pattern.lines)
    return [("motif", 0.0)] if pattern.kind == "print" else [("first stripe's left edge", 0.0)]


@dataclass(frozen=True, slots=True)
class Datum:
    """A line of the pattern near a point: its name, and how far the point lies from it in the maker's view.

    `right_mm` is positive where the point lies to the right of the line, `up_mm` where it lies
    further from the cut end; None in a direction in which the pattern does not change.
    """

    name: str
    right_mm: float | None
    up_mm: float | None


def datum_at(plan: ClothPlan, cloth: Cloth, at_seen: Point, seen: Seen) -> Datum | None:
    """The pattern line (or motif) nearest to a point of the cloth as the maker sees it."""
    pattern = cloth.pattern
    across, along, drop = pattern.repeat_across_mm, pattern.repeat_along_mm, pattern.drop_mm
    if not across and not along:
        return None
    u = seen.width_mm - at_seen[0] if seen.mirrored else at_seen[0]
    p, q = u - plan.lay.pattern_at[0] * seen.across, _along_pattern(plan, at_seen[1] / seen.along) * seen.along
    best: tuple[float, str, float | None, float | None] | None = None
    for name, line in lines_of(cloth) or [("pattern line", 0.0)]:
        turns = [round((p - line) / across) + k for k in (-1, 0, 1)] if across else [0]
        for i in turns:
            right = p - line - i * across if across else None
            up = (q - i * drop + along / 2) % along - along / 2 if along else None
            score = math.hypot(right or 0.0, up or 0.0)
            if best is None or score < best[0] - 1e-9:
                best = score, name, right, up
    assert best is not None
    _, name, right, up = best
    return Datum(name, -right if seen.mirrored and right is not None else right, up)


def _along_pattern(plan: ClothPlan, v: float) -> float:
    """How far along the pattern a place on the cloth stands."""
    creep = plan.problem.creep
    return v - plan.lay.pattern_at[1] if creep is None else float(creep.pattern_mm(v))


def first_stations(start_mm: float, repeat_mm: float, end_mm: float, most: int = 3) -> Sequence[float]:
    """The first few stations of a line that repeats, from nought on."""
    at = start_mm % repeat_mm
    found: list[float] = []
    while at <= end_mm + 1e-9 and len(found) < most:
        found.append(at)
        at += repeat_mm
    return found


def strip_way(part: CutPart) -> str:
    """How a strip of piping is cut: across the bolt, along it or on the bias."""
    u0, v0, u1, v1 = part.box
    if not part.is_rectangle:
        return "bias"
    return "across" if u1 - u0 >= v1 - v0 else "along"
