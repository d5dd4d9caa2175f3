"""One kind of cushion as it lies on the bench: what its steps ask of the stages before."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

from squab.cloth import Cloth
from squab.construct.records import CushionCover, Notch, Piece, Seam, Strip
from squab.job import Cushion, Job
from squab.lay.records import ClothPlan
from squab.match.records import MatchPlan, SeamDrift
from squab.plane import Arc, Line
from squab.sew.rules import PIPING_TAIL_IMPERIAL_MM, PIPING_TAIL_METRIC_MM
from squab.supply.needs import parts_each, pattern_meets

ON_SEAM_MM = 0.5
"""A notch this near a seam's line stands on it."""


@dataclass(frozen=True)
class Bench:
    """A cushion, its cover and its match, with the questions that more than one step asks."""

    job: Job
    cushion: Cushion
    cover: CushionCover
    match: MatchPlan
    plans: Mapping[str, ClothPlan]

    @cached_property
    def cloth(self) -> Cloth:
        """The panels' cloth."""
        return self.job.cloth(self.cushion.cover.panel_cloth)

    @property
    def allowance_mm(self) -> float:
        """Edge to the last, innermost row of stitch (the meaning of ASTM D1683-04, 3.1.2)."""
        return self.cushion.cover.allowance_mm

    @property
    def tail_mm(self) -> float:
        """How much piping is left loose at its ends, in a round figure of the job's units."""
        return PIPING_TAIL_IMPERIAL_MM if self.job.style.system == "imperial" else PIPING_TAIL_METRIC_MM

    @cached_property
    def drifts(self) -> Mapping[str, SeamDrift]:
        """The drift of each seam of this cushion, where the pattern was looked at."""
        mine = {s.id for s in self.cover.seams}
        return {d.seam_id: d for d in self.match.drifts if d.seam_id in mine}

    def meets(self, seam: Seam) -> bool:
        """Tell whether the pattern is to meet at a seam, and does."""
        drift = self.drifts.get(seam.id)
        return drift is not None and pattern_meets(drift)

    @cached_property
    def matched(self) -> tuple[Seam, ...]:
        """The seams at which the pattern meets."""
        return tuple(s for s in self.cover.seams if self.meets(s))

    @cached_property
    def missed(self) -> tuple[Seam, ...]:
        """Seen seams at which the pattern was wished to meet and cannot."""
        return tuple(
            s
            for s in self.cover.seams
            if s.seen and s.id in self.drifts and self.drifts[s.id].verdict == "miss"
            and self.drifts[s.id].wish != "ignore" and not self.meets(s)
        )  # fmt: skip

    def seams_of(self, *kinds: str) -> tuple[Seam, ...]:
        """Seams of some kinds, in the construction's order."""
        return tuple(s for s in self.cover.seams if s.kind in kinds)

    @property
    def shrinks(self) -> bool:
        """Tell whether a cloth of the cover is cut larger because it will shrink."""
        return any(self.job.cloth(p.cloth_id).cut_scale != (1.0, 1.0) for p in self.parts.values())

    @property
    def boxing_lengths(self) -> float:
        """Into how many lengths a boxing strip is cut, on the average of the cushions; the most of its strips."""
        return max((parts_each(self.job, s, self.plans) for s in self.boxing_strips), default=1.0)

    @cached_property
    def parts(self) -> Mapping[str, Piece | Strip]:
        """Pieces and strips by id."""
        found: dict[str, Piece | Strip] = {p.id: p for p in self.cover.pieces}
        return found | {s.id: s for s in self.cover.strips}

    def edge_seams(self, edge: str) -> tuple[Seam, ...]:
        """The seams of one edge in the order in which they are pinned: front, outward from it, back last.

        Sides go by how far the middle of their seam lies from the front along the ring.
        """
        seams = [s for s in self.seams_of("panel_boxing", "panel_zip") if s.edge == edge]
        return tuple(sorted(seams, key=self._from_front))

    def _from_front(self, seam: Seam) -> tuple[int, float]:
        if seam.kind == "panel_zip" or seam.side == self.cushion.cover.zip.side:
            return 2, 0.0
        if seam.side == "front":
            return 0, 0.0
        outline, ring = self.cover.seam_outline, self.cover.ring_mm
        ranges = outline.side_ranges(seam.side)
        front = outline.side_ranges("front") or [(0.0, 0.0)]
        if not ranges or ring <= 0.0:
            return 1, 0.0
        middle, start = sum(ranges[0]) / 2.0, sum(front[0]) / 2.0
        away = (middle - start) % ring
        return 1, min(away, ring - away)

    def notches_on(self, seam: Seam) -> tuple[str, ...]:
        """Names of the notches that stand on a seam, along it, ends included."""
        part = self.parts.get(seam.a.part_id)
        if part is None:
            return ()
        points = [(seam.a.path.point_at(f * seam.a.path.length), f) for f in _FRACTIONS]
        near: list[tuple[float, str]] = []
        for notch in part.notches:
            away, at = min((math.dist(notch.at, p), f) for p, f in points)
            if away <= max(ON_SEAM_MM, seam.a.path.length / len(_FRACTIONS)) and _on(seam, notch):
                near.append((at, notch.pair))
        return tuple(dict.fromkeys(name.rpartition(":")[2] for _, name in sorted(near)))

    @cached_property
    def inside_corners(self) -> int:
        """How many inside corners the panel has."""
        return sum(1 for _, turn in self.cover.seam_outline.corners() if turn < 0.0)

    @cached_property
    def outside_corners(self) -> int:
        """How many hard outward corners the panel has."""
        return sum(1 for _, turn in self.cover.seam_outline.corners() if turn > 0.0)

    @cached_property
    def tightest_radius_mm(self) -> float | None:
        """The radius of the tightest curve of the panel, None where it has none."""
        radii = [e.radius for e in self.cover.seam_outline.edges if isinstance(e, Arc)]
        return min(radii, default=None)

    @property
    def piped_edges(self) -> tuple[str, ...]:
        """The edges that are piped, by what each is called."""
        edges = self.cushion.cover.piping.edges
        if self.cover.piping is None or edges == "none":
            return ()
        return ("top", "bottom") if edges == "both" else (edges,)

    @property
    def boxing_strips(self) -> tuple[Strip, ...]:
        """The boxing where it is cut as strips."""
        return tuple(s for s in self.cover.strips if s.kind == "boxing")

    @property
    def is_striped(self) -> bool:
        """Tell whether the cloth has a pattern at all."""
        return self.cloth.pattern.kind != "plain"


_FRACTIONS = tuple(i / 200.0 for i in range(201))


def _on(seam: Seam, notch: Notch) -> bool:
    return any(_distance_mm(edge, notch.at) <= ON_SEAM_MM for edge in seam.a.path.edges)


def _distance_mm(edge: Line | Arc, at: tuple[float, float]) -> float:
    """Distance of a point from an edge: exact for a line, close enough for an arc."""
    if isinstance(edge, Line):
        tx, ty = edge.tangent_at(0.0)
        s = (at[0] - edge.start[0]) * tx + (at[1] - edge.start[1]) * ty
        return math.dist(edge.point_at(min(max(s, 0.0), edge.length)), at)
    off = abs(math.dist(edge.centre, at) - edge.radius)
    ends = min(math.dist(edge.start, at), math.dist(edge.end, at))
    angle = math.atan2(at[1] - edge.centre[1], at[0] - edge.centre[0]) - edge.start_angle
    on = (angle if edge.ccw else -angle) % math.tau
    return off if on <= abs(edge.sweep) + 1e-9 else ends
