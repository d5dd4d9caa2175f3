"""What one cushion of each kind takes, in plain quantities: the ground of buying, minutes and price.

`cover_needs` reads them from the stages before; a quick answer may fill in the record itself.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from squab.cloth import Cloth
from squab.construct.records import Construction, CushionCover, Piece, Seam, Strip
from squab.job import Cushion, Job
from squab.lay.problem import part_id_of
from squab.lay.records import ClothPlan
from squab.match.records import MatchPlan, SeamDrift
from squab.supply.fill import FilmUse, film_use
from squab.supply.thread import OVEREDGE_WIDTH_MM, Pass, stitch_length_mm

LONG_MM = 1500.0
"""Over this length a cushion is long to handle."""
ZIP_TAPE_THICK_MM = 0.6
LEAST_MATCH_MM = 100.0
"""A pattern that meets about the middle of a side for less than this is not worth pinning."""


@dataclass(frozen=True)
class CoverNeeds:
    """What ONE cushion of a kind takes; `count` are made. Lengths in mm, areas in mm2.

    `boxing_joins` and `piping_joins` include the ones that close the rings. `matched_sides`
    are the seams at which the pattern is made to meet, `matched_mm` their length.
    """

    cushion_id: str
    name: str
    count: int
    pieces_plain: float = 4.0
    pieces_matched: float = 0.0
    panel_seam_mm: float = 0.0
    ring_mm: float = 0.0
    boxing_cut_mm: float = 0.0
    boxing_joins: float = 2.0
    zip_mm: float = 0.0
    sliders: int = 0
    zip_tape_mm: float = 32.0
    piping_rings: int = 0
    piping_ring_mm: float = 0.0
    piping_spare_mm: float = 0.0
    piping_strip_mm: float = 0.0
    piping_joins: float = 0.0
    cord_diameter_mm: float = 0.0
    matched_sides: float = 0.0
    matched_mm: float = 0.0
    overlocked: bool = False
    longest_mm: float = 0.0
    pile: bool = False
    vinyl: bool = False
    cloth_thickness_mm: float = 0.8
    piping_thickness_mm: float = 0.8
    stitch_mm: float = 3.0
    fill_size_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    fill_area_mm2: float = 0.0
    fill_perimeter_mm: float = 0.0
    panel_area_mm2: float = 0.0
    film: FilmUse = "none"
    cloth_area_mm2: Mapping[str, float] = field(default_factory=dict)
    """Cut area of one cushion in each cloth, by cloth id."""

    @property
    def overlock_mm(self) -> float:
        """Raw edges to overlock: both boxing seams, each pair of edges as one."""
        return 2.0 * self.ring_mm + self.panel_seam_mm if self.overlocked else 0.0


def cover_needs(
    job: Job, construction: Construction, match: MatchPlan, plans: Mapping[str, ClothPlan]
) -> tuple[CoverNeeds, ...]:
    """Read what each kind of cushion takes from its cover, the match and the lay, in the job's order.

    Where the lay of a cloth is not known, strips are taken to be joined as seldom as the
    cloth's width allows.
    """
    covers = {c.cushion_id: c for c in construction.covers}
    return tuple(_one(job, c, covers[c.id], match, plans) for c in job.cushions if c.id in covers)


def _one(
    job: Job, cushion: Cushion, cover: CushionCover, match: MatchPlan, plans: Mapping[str, ClothPlan]
) -> CoverNeeds:
    cloth = job.cloth(cushion.cover.panel_cloth)
    parts = {s.id: parts_each(job, s, plans) for s in cover.strips}
    plain, matched = _pieces(cushion, cover, match, parts)
    matched_seams = _matched(cover, match)
    piping = cover.piping
    x0, y0, x1, y1 = cover.fill_outline.bounds()
    sx0, sy0, sx1, sy1 = cover.seam_outline.bounds()
    boxing = [s for s in cover.strips if s.kind == "boxing"]
    return CoverNeeds(
        cushion_id=cushion.id,
        name=cushion.name,
        count=cushion.count,
        pieces_plain=plain,
        pieces_matched=matched,
        panel_seam_mm=_seam_length_mm(cover, "panel_panel"),
        ring_mm=cover.ring_mm,
        boxing_cut_mm=cover.thickness_mm + 2.0 * cushion.cover.allowance_mm,
        boxing_joins=_boxing_joins(cover, boxing, parts),
        zip_mm=cover.zip_panel.zip_mm if cover.zip_panel else 0.0,
        sliders=cover.zip_panel.sliders if cover.zip_panel else 0,
        zip_tape_mm=cushion.cover.zip.tape_mm,
        piping_rings=piping.rings if piping else 0,
        piping_ring_mm=piping.ring_mm if piping else 0.0,
        piping_spare_mm=cushion.cover.piping.spare_mm if piping else 0.0,
        piping_strip_mm=piping.strip_cut_mm if piping else 0.0,
        piping_joins=sum(parts[s.id] * s.count / cushion.count for s in cover.strips if s.kind == "piping"),
        cord_diameter_mm=cushion.cover.piping.cord_mm if piping else 0.0,
        matched_sides=_sides(matched_seams),
        matched_mm=sum(_drift_mm(d) for _, d in matched_seams),
        overlocked=cushion.cover.overlock,
        longest_mm=max(sx1 - sx0, sy1 - sy0),
        pile=cloth.pile,
        vinyl=cloth.vinyl,
        cloth_thickness_mm=cloth.thickness_mm,
        piping_thickness_mm=_piping_cloth(job, cushion).thickness_mm,
        stitch_mm=stitch_length_mm(cloth),
        fill_size_mm=(x1 - x0, y1 - y0, cover.sizes.fill.thickness_mm),
        fill_area_mm2=cover.fill_outline.area,
        fill_perimeter_mm=cover.fill_outline.length,
        panel_area_mm2=cover.seam_outline.area,
        film=film_use(job, cushion),
        cloth_area_mm2=_areas(cushion, cover),
    )


def _piping_cloth(job: Job, cushion: Cushion) -> Cloth:
    return job.cloth(cushion.cover.piping_cloth or cushion.cover.panel_cloth)


def _pieces(cushion: Cushion, cover: CushionCover, match: MatchPlan, parts: Mapping[str, float]) -> tuple[float, float]:
    """Pieces of one cushion to mark and cut, (plain, matched); piping is cut with its own operation."""
    counted = [(p.id, float(p.count)) for p in cover.pieces]
    counted += [(s.id, s.count * parts[s.id]) for s in cover.strips if s.kind == "boxing"]
    plain = matched = 0.0
    for part_id, n in counted:
        if _is_matched(match, part_id):
            matched += n / cushion.count
        else:
            plain += n / cushion.count
    return plain, matched


def _is_matched(match: MatchPlan, part_id: str) -> bool:
    placing = match.placings.get(part_id)
    phase = placing.phase if placing else None
    return phase is not None and (phase.off_p is not None or phase.off_q is not None)


def parts_each(job: Job, strip: Strip, plans: Mapping[str, ClothPlan]) -> float:
    """Into how many parts one strip is cut, on the average of its copies."""
    plan = plans.get(strip.cloth_id)
    if plan is not None:
        placed = sum(1 for p in plan.lay.placed if p.part_mm is not None and part_id_of(p.key) == strip.id)
        if placed:
            return placed / strip.count
    room = job.cloth(strip.cloth_id).finished_width_mm - 2.0 * strip.end_mm
    return float(max(1, math.ceil(strip.length_mm / room))) if room > 0.0 else 1.0


def _boxing_joins(cover: CushionCover, boxing: list[Strip], parts: Mapping[str, float]) -> float:
    """Joins round the boxing; the two halves of a zip panel's end are one join."""
    joined_mm = _seam_length_mm(cover, "boxing_join") + _seam_length_mm(cover, "zip_join")
    fixed = round(joined_mm / cover.thickness_mm) if cover.thickness_mm > 0.0 else 0
    within = sum(parts[s.id] - 1.0 for s in boxing)
    return float(fixed + within) if fixed else within + float(bool(boxing))


def _seam_length_mm(cover: CushionCover, kind: str) -> float:
    return sum(s.a.path.length for s in cover.seams if s.kind == kind)


def _matched(cover: CushionCover, match: MatchPlan) -> list[tuple[Seam, SeamDrift]]:
    """The seams of one cushion at which the pattern is made to meet."""
    mine = {s.id: s for s in cover.seams}
    return [(mine[d.seam_id], d) for d in match.drifts if d.seam_id in mine and pattern_meets(d)]


def pattern_meets(drift: SeamDrift) -> bool:
    """Tell whether the pattern is made to meet at a seam, along the whole of it or about its middle."""
    if drift.wish == "ignore" or (drift.drift_p_mm is None and drift.drift_q_mm is None):
        return False
    return drift.verdict in ("good", "say so") or 2.0 * (drift.good_to_mm or 0.0) >= LEAST_MATCH_MM


def _sides(matched: list[tuple[Seam, SeamDrift]]) -> float:
    """Sides to pin or baste: an edge of a side is one, in however many widths; a join of the boxing is none."""
    sides = {(s.edge, s.side) for s, _ in matched if s.kind in ("panel_boxing", "panel_zip")}
    return float(len(sides) + sum(1 for s, _ in matched if s.kind == "panel_panel"))


def _drift_mm(drift: SeamDrift) -> float:
    whole = max(drift.s_mm, default=0.0) - min(drift.s_mm, default=0.0)
    return min(whole, 2.0 * drift.good_to_mm) if drift.good_to_mm else whole


def _areas(cushion: Cushion, cover: CushionCover) -> dict[str, float]:
    areas: dict[str, float] = {}
    for cloth_id, area in [*map(_piece_area, cover.pieces), *map(_strip_area, cover.strips)]:
        areas[cloth_id] = areas.get(cloth_id, 0.0) + area / cushion.count
    return areas


def _piece_area(piece: Piece) -> tuple[str, float]:
    return piece.cloth_id, piece.cut.area * piece.count


def _strip_area(strip: Strip) -> tuple[str, float]:
    return strip.cloth_id, strip.length_mm * strip.cut_width_mm * strip.count


def sewing_passes(needs: CoverNeeds, stitch: str = "301") -> tuple[Pass, ...]:
    """List every passage of the machine over one cushion, each with its own thickness.

    Covering the cord goes through the strip folded over (2 cloths), attaching through panel and
    strip (3), closing through panel, strip and boxing (4, or 2 unpiped); each is a full ring.
    """
    t, p, ring = needs.cloth_thickness_mm, needs.piping_thickness_mm, needs.ring_mm
    rings, piped_mm = float(needs.piping_rings), needs.piping_rings * needs.piping_ring_mm
    bare_mm = max(0.0, 2.0 * ring - piped_mm)
    joins_mm = needs.boxing_joins * needs.boxing_cut_mm
    piping_joins_mm = needs.piping_joins * needs.piping_strip_mm * math.sqrt(2.0)
    runs = (
        ("panel seams", needs.panel_seam_mm, 2 * t, float(needs.panel_seam_mm > 0.0)),
        ("joins of the piping", piping_joins_mm, 2 * p, needs.piping_joins),
        ("covering the cord", piped_mm + rings * needs.piping_spare_mm, 2 * p, rings),
        ("attaching the piping", piped_mm, t + 2 * p, rings),
        ("zip rows", 2.0 * needs.zip_mm, 2 * t + ZIP_TAPE_THICK_MM, 2.0),
        ("joins of the boxing", joins_mm, 2 * t, needs.boxing_joins),
        ("closing, piped", piped_mm, 2 * t + 2 * p, rings),
        ("closing, unpiped", bare_mm, 2 * t, float(bare_mm > 0.0) * max(1.0, 2.0 - rings)),
    )
    main = "401" if stitch == "401" else "301"
    sewn = [Pass(what, mm, stack, needs.stitch_mm, main, n) for what, mm, stack, n in runs if mm > 0.0]  # type: ignore[arg-type]
    if needs.overlock_mm > 0.0:
        sewn.append(Pass("overlocking", needs.overlock_mm, 2 * t, OVEREDGE_WIDTH_MM / 2.0, "504", 2.0))
    return tuple(sewn)
