"""A box cushion's cover set up by hand, with figures that can be checked on paper."""

from __future__ import annotations

from decimal import Decimal

from squab.cloth import Cloth, Pattern
from squab.construct.records import (
    Construction,
    CushionCover,
    Piece,
    PieceKind,
    PipingPlan,
    Seam,
    SeamEnd,
    SeamKind,
    Size,
    Sizes,
    Strip,
    ZipPanelPlan,
)
from squab.job import Cover, Cushion, Fill, Job, Piping
from squab.match.records import MatchPlan, Phase, Placing, SeamDrift
from squab.plane import Line, Outline, Path

ALLOWANCE_MM = 12.0


def rectangle(width_mm: float, depth_mm: float) -> Outline:
    p = [(0.0, 0.0), (width_mm, 0.0), (width_mm, depth_mm), (0.0, depth_mm)]
    edges = tuple(Line(p[i], p[(i + 1) % 4]) for i in range(4))
    return Outline(edges, ("front", "right", "back", "left"))


def a_cushion(
    *,
    width_mm: float = 500.0,
    depth_mm: float = 500.0,
    thickness_mm: float = 80.0,
    count: int = 1,
    piped: bool = True,
    fill: Fill | None = None,
    cushion_id: str = "seat",
    film: bool = False,
) -> Cushion:
    cover = Cover(piping=Piping(edges="both" if piped else "none"), film=film)
    outline = rectangle(width_mm, depth_mm)
    return Cushion(cushion_id, cushion_id.title(), outline, thickness_mm, count=count, cover=cover, fill=fill or Fill())


def a_job(*cushions: Cushion, stripe: bool = False, price: str | None = "20") -> Job:
    pattern = Pattern("warp_stripe", repeat_across_mm=96.0) if stripe else Pattern()
    cloth = Cloth("main", "Ticking", 1370.0, pattern, price_per_m=None if price is None else Decimal(price))
    return Job("Reading room", cushions, (cloth,))


def a_cover(cushion: Cushion) -> CushionCover:
    """A cover whose fill is 12 mm over its seam size and whose zip panel returns 100 mm each side."""
    x0, y0, x1, y1 = cushion.outline.bounds()
    w, d, h, n = x1 - x0, y1 - y0, cushion.thickness_mm, cushion.count
    panel_mm, a = w + 200.0, ALLOWANCE_MM
    piped = cushion.cover.piping.edges == "both"

    def piece(name: str, kind: PieceKind, pw: float, ph: float, each: int = 1) -> Piece:
        cut = rectangle(pw + 2 * a, ph + 2 * a)
        part = f"{cushion.id}.{name}"
        return Piece(part, cushion.id, kind, name, "main", rectangle(pw, ph), cut, n * each)

    ring = 2 * (w + d)
    boxing = Strip(
        f"{cushion.id}.boxing", cushion.id, "boxing", "boxing", "main", panel_mm, ring, -a, h + a, a, n, 150.0
    )
    piping = Strip(
        f"{cushion.id}.piping", cushion.id, "piping", "piping", "main", 0.0, ring + 50, 0, 40, 20, 2 * n, 400.0
    )
    return CushionCover(
        cushion_id=cushion.id,
        sizes=Sizes(None, Size(w + 12, d + 12, h), Size(w, d, h), Size(w + 11, d + 11, h), "fill", 12.0, 0.0, 5.6),
        seam_outline=rectangle(w, d),
        thickness_mm=h,
        ring_mm=ring,
        pieces=(
            piece("top", "top", w, d),
            piece("bottom", "bottom", w, d),
            piece("zip_panel", "zip_panel", panel_mm, h + 8),
        ),
        strips=(boxing, piping) if piped else (boxing,),
        seams=tuple(_seams(cushion.id, w, d, piped)),
        zip_panel=ZipPanelPlan("fold_and_split", panel_mm, panel_mm + 75, 1, 1, h + 56, h + 24, 16.0, 100.0),
        piping=PipingPlan(40.0, 16.0, 12.0, 0.0, ring, 2, "across") if piped else None,
        fill_outline=rectangle(w + 12, d + 12),
    )


def _seams(cushion_id: str, w: float, d: float, piped: bool) -> list[Seam]:
    found = []
    for edge in ("top", "bottom"):
        for side, length in (("front", w), ("right", d), ("back", w), ("left", d)):
            path = Path((Line((0.0, 0.0), (length, 0.0)),))
            kind: SeamKind = "panel_zip" if side == "back" else "panel_boxing"
            a, b = SeamEnd(f"{cushion_id}.{edge}", path), SeamEnd(f"{cushion_id}.boxing", path)
            found.append(Seam(f"{cushion_id}.{edge}.{side}", kind, a, b, side, True, edge, 0.0, cushion_id, piped))
    for i in range(2):
        path = Path((Line((0.0, 0.0), (0.0, 80.0)),))
        a, b = SeamEnd(f"{cushion_id}.boxing", path), SeamEnd(f"{cushion_id}.zip_panel", path)
        found.append(Seam(f"{cushion_id}.zip_join.{i}", "zip_join", a, b, "back", False, "", 0.0, cushion_id))
    return found


def a_construction(job: Job) -> Construction:
    return Construction(tuple(a_cover(c) for c in job.cushions))


def no_match(construction: Construction) -> MatchPlan:
    ids = [p.id for p in construction.pieces] + [s.id for s in construction.strips]
    return MatchPlan({i: Placing(i, (0,)) for i in ids}, {}, ())


def a_match(construction: Construction, sides: tuple[str, ...] = ("front", "back")) -> MatchPlan:
    """Top, bottom, boxing and zip panel in phase; the seams of the named sides meet."""
    placings, drifts = {}, []
    for cover in construction.covers:
        parts: tuple[Piece | Strip, ...] = (*cover.pieces, *cover.strips)
        for part in parts:
            piping = isinstance(part, Strip) and part.kind == "piping"
            placings[part.id] = Placing(part.id, (0,), None if piping else Phase(cover.cushion_id, 0.0, None))
        for seam in cover.seams:
            if seam.edge:
                meets = seam.side in sides
                s = (0.0, seam.a.path.length)
                drifts.append(
                    SeamDrift(
                        seam.id, seam.side, True, "prefer", s, (0.0, 0.0) if meets else (30.0, 40.0), None,
                        0.0 if meets else 40.0, "good" if meets else "miss",
                    )
                )  # fmt: skip
    return MatchPlan(placings, {}, tuple(drifts))
