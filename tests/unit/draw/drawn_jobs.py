"""Jobs made by hand for the drawings: small covers with naive lays, so that drawing is tested alone."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from typing import Any

import numpy as np

from squab.cloth import Cloth, Motif, Pattern, Stripe
from squab.construct.records import (
    Construction,
    CushionCover,
    Notch,
    Piece,
    PipingPlan,
    Seam,
    SeamEnd,
    Size,
    Sizes,
    Strip,
    ZipPanelPlan,
)
from squab.job import Cover, Cushion, Job
from squab.lay.records import Bound, ClothPlan, Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.match.records import Anchor, MatchPlan, Phase, Placing, SeamDrift
from squab.plane import Arc, Line, Outline, Path, offset_outline
from squab.supply.records import Price, Supply
from squab.worked import WorkedJob

SA, H = 12.0, 85.0
UNEVEN = Pattern(
    "warp_stripe",
    96.0,
    stripes=(
        Stripe(40, "#b23a2e", "red"),
        Stripe(10, "#f3ead6", "cream"),
        Stripe(26, "#2f4858", "slate"),
        Stripe(20, "#f3ead6", "cream"),
    ),
    lines=(("red", 20.0),),
)
LEAVES = Pattern("print", 170.0, 640.0, 320.0, ground="#e8dcc0", motif=Motif(90, 150, "#4f6f52", "leaf"))


def striped(**changes: Any) -> Cloth:
    """A cloth in an uneven stripe."""
    return replace(Cloth("stripe", "Wickle ticking", 1370.0, UNEVEN, price_per_m=Decimal(30)), **changes)


def rectangle(w: float, d: float) -> Outline:
    """A plain seat, its sides named."""
    p = [(0.0, 0.0), (w, 0.0), (w, d), (0.0, d)]
    edges = tuple(Line(p[i], p[(i + 1) % 4]) for i in range(4))
    return Outline(edges, ("front", "right", "back", "left"), (True, True, False, True))


def rounded(w: float, d: float, r: float) -> Outline:
    """A seat with its corners rounded, starting where the front's straight begins."""
    edges = (
        Line((r, 0), (w - r, 0)), Arc((w - r, 0), (w, r), (w - r, r)),
        Line((w, r), (w, d - r)), Arc((w, d - r), (w - r, d), (w - r, d - r)),
        Line((w - r, d), (r, d)), Arc((r, d), (0, d - r), (r, d - r)),
        Line((0, d - r), (0, r)), Arc((0, r), (r, 0), (r, r)),
    )  # fmt: skip
    sides = ("front", "front", "right", "right", "back", "back", "left", "left")
    return Outline(edges, sides)


def eared() -> Outline:
    """An L: a seat with an ear at the front left."""
    p = [(-80.0, 0.0), (480.0, 0.0), (480.0, 510.0), (0.0, 510.0), (0.0, 130.0), (-80.0, 130.0)]
    edges = tuple(Line(p[i], p[(i + 1) % 6]) for i in range(6))
    return Outline(edges, ("front", "right", "back", "left", "ear_back", "left"))


def _back_of(outline: Outline) -> tuple[float, float]:
    return outline.side_ranges("back")[0]


def _notches(outline: Outline, prefix: str) -> tuple[Notch, ...]:
    marks = []
    for i, (s, _) in enumerate(outline.corners() or [(0.0, 0.0)]):
        at = outline.point_at(s + 60)
        t = outline.tangent_at(s + 60)
        marks.append(Notch(at, (t[1], -t[0]), 2 if i == 2 else 1, f"{prefix}{i + 1}"))
    return tuple(marks)


def covered(cushion: Cushion, cloth_id: str, *, mirror_bottom: bool = True) -> CushionCover:
    """A box cover: two panels, a boxing band, a zip panel at the back, piping."""
    outline, c = cushion.outline, cushion.id
    b0, b1 = _back_of(outline)
    ring = outline.length
    bottom = outline.rolled_under() if mirror_bottom else outline
    zip_seam = Outline(
        (Line((b0, 0), (b1, 0)), Line((b1, 0), (b1, H)), Line((b1, H), (b0, H)), Line((b0, H), (b0, 0))),
        ("front", "right", "back", "left"),
    )
    common: Any = {"cushion_id": c, "cloth_id": cloth_id, "count": cushion.count}
    pieces = (
        Piece(f"{c}.top", kind="top", name="top", seam=outline, cut=offset_outline(outline, SA),
              notches=_notches(outline, "T"), hand=cushion.hand, joins=("[[boxing]]",), **common),
        Piece(f"{c}.bottom", kind="bottom", name="bottom", seam=bottom, cut=offset_outline(bottom, SA),
              front=(0.0, 1.0), notches=_notches(bottom, "B"), **common),
        Piece(f"{c}.zip", kind="zip_panel", name="[[zip panel]]", seam=zip_seam, cut=offset_outline(zip_seam, SA),
              **common),
    )  # fmt: skip
    boxing = Strip(f"{c}.boxing", c, "boxing", "[[boxing]]", cloth_id, b1, b0 + ring, -SA, H + SA, SA, cushion.count,
                   150.0, seam_z=(0.0, H))  # fmt: skip
    piping = Strip(
        f"{c}.piping", c, "piping", "[[piping]]", cloth_id, 0.0, ring + 50, 0.0, 40.0, 0.0, 2 * cushion.count, 400.0
    )
    seams = tuple(
        Seam(f"{c}.top.{side}", "panel_boxing", SeamEnd(f"{c}.top", outline.part(s0, s1)),
             SeamEnd(f"{c}.boxing", _along(s0, s1, b1, ring)), side, True, "top", cushion_id=c, piped=True)
        for side in ("front", "right", "left") for s0, s1 in outline.side_ranges(side)
    )  # fmt: skip
    x0, y0, x1, y1 = outline.bounds()
    size = Size(x1 - x0, y1 - y0, H)
    return CushionCover(
        c, Sizes(None, size, size, size, "seam", 0.0, 0.0, 5.6), outline, H, ring, pieces, (boxing, piping), seams,
        ZipPanelPlan("two_single", b1 - b0, b1 - b0 + 75, 1, 2, H / 2 + 28, H + 2 * SA, 16.0, 0.0),
        PipingPlan(40.0, 15.1, 12.0, 0.0, ring, 2, "across"), outline,
    )  # fmt: skip


def _along(s0: float, s1: float, first: float, ring: float) -> Path:
    lift = ring if s0 < first - 1e-6 else 0.0
    return Path((Line((s0 + lift, H), (s1 + lift, H)),))


def _shelf_lay(job: Job, covers: tuple[CushionCover, ...], cloth: Cloth, at: tuple[float, float]) -> Lay:
    """Rows of pieces from the cut end: each on the phase that the first top's centre gives it."""
    placed: list[Placed] = []
    u = v = row = 0.0
    pu, pv = cloth.pattern.repeat_across_mm, cloth.pattern.repeat_along_mm

    def put(key: str, box: tuple[float, float, float, float], want_u: float | None, want_v: float | None,
            part: tuple[float, float] | None = None) -> None:  # fmt: skip
        nonlocal u, v, row
        x0, y0, x1, y1 = box

        def fitted() -> tuple[float, float]:
            tu, tv = u - x0, v - y0
            if pu and want_u is not None:
                tu += (want_u - tu) % pu
            if pv and want_v is not None:
                tv += (want_v - tv) % pv
            return tu, tv

        tu, tv = fitted()
        if tu + x1 > cloth.usable_width_mm + 1e-6:
            u, v, row = 0.0, row, row
            tu, tv = fitted()
        placed.append(Placed(key, 0, tu, tv, part))
        u, row = tu + x1, max(row, tv + y1)

    for cover in covers:
        outline = cover.seam_outline
        x0, _, x1, _ = outline.bounds()
        want = at[0] - (x0 + x1) / 2
        front = outline.side_ranges("front")[0][0]
        for k in range(1, cover.pieces[0].count + 1):
            for piece in cover.pieces:
                wish = want if piece.kind in ("top", "bottom") else want - front - outline.edges[0].start[0]
                put(f"{piece.id}#{k}", piece.cut.bounds(), wish, at[1] if piece.kind == "top" else None)
            strip = cover.strips[0]
            lift = cover.ring_mm if front < strip.s0_mm - 1e-6 else 0.0
            t = want + outline.edges[0].start[0] - front - lift
            middle = strip.s0_mm + 0.42 * strip.length_mm
            for a, b in ((strip.s0_mm, middle), (middle, strip.s1_mm)):
                put(f"{strip.id}#{k}", (a - SA, strip.z0_mm, b + SA, strip.z1_mm), t, None, (a, b))
        ring = cover.strips[1]
        for k in range(1, ring.count + 1):
            for a, b in ((0.0, ring.length_mm * 0.55), (ring.length_mm * 0.55, ring.length_mm)):
                put(f"{ring.id}#{k}", (a, 0.0, b, 40.0), None, None, (a, b))
    return Lay(tuple(placed), {"g": (0.0, 0.0)}, at, row)


def _plan(job: Job, covers: tuple[CushionCover, ...], cloth: Cloth, at: tuple[float, float]) -> ClothPlan:
    lay = _shelf_lay(job, covers, cloth, at)
    pieces = tuple(
        LayPiece(f"{p.id}#{k}", p.cut.flattened(), (0,), LayPhase("g", 0.0, None)) for c in covers for p in c.pieces
        for k in range(1, p.count + 1)
    )  # fmt: skip
    strips = tuple(
        LayStrip(f"{s.id}#{k}", s.s0_mm, s.s1_mm, s.z0_mm, s.z1_mm, s.end_mm, s.least_part_mm, (0,)) for c in covers
        for s in c.strips for k in range(1, s.count + 1)
    )  # fmt: skip
    pattern = cloth.pattern
    lattice = Lattice(pattern.repeat_across_mm, pattern.repeat_along_mm, pattern.drop_mm)
    problem = LayProblem(cloth.id, cloth.usable_width_mm, lattice, pieces, strips, pattern_at=at)
    order = float(np.ceil((lay.length_mm + 100) / 100) * 100)
    return ClothPlan(
        cloth.id, problem, lay, Bound(lay.length_mm * 0.96, "area"), lay.length_mm * 1.2, lay.length_mm, order, None
    )


def worked_job(
    *, cloth: Cloth | None = None, outlines: dict[str, Outline] | None = None, at: tuple[float, float] = (53.0, 40.0),
    count: int = 1, laid: bool = True, **job_changes: Any
) -> WorkedJob:  # fmt: skip
    """A worked job of one or more cushions in one cloth."""
    cloth = cloth or striped()
    outlines = outlines or {"seat": rectangle(560.0, 510.0)}
    cushions = tuple(
        Cushion(i, i.replace("_", " ").capitalize(), o, H, "seam", "seam", count, cover=Cover())
        for i, o in outlines.items()
    )
    job = replace(Job("Nether Wickle reading room", cushions, (cloth,), reference="NW 7"), **job_changes)
    covers = tuple(covered(c, cloth.id) for c in cushions)
    construction = Construction(covers)
    ids = [*(p.id for p in construction.pieces), *(s.id for s in construction.strips)]
    placings = {i: Placing(i, (0,), Phase("g", 0.0, None)) for i in ids}
    drifts = tuple(
        SeamDrift(s.id, s.side, True, "must" if s.side == "front" else "ignore", (0.0,), (0.0,), None, 0.0,
                  "good" if s.side == "front" else "not matched")
        for s in construction.seams
    )  # fmt: skip
    nought = Decimal(0)
    price = Price("GBP", nought, nought, nought, nought, nought, "VAT", nought, nought, nought, nought, False, {})
    return WorkedJob(
        job, construction, MatchPlan(placings, {"g": Anchor("g")}, drifts),
        {cloth.id: _plan(job, covers, cloth, at)} if laid else {}, Supply((), (), (), price, {}), {}, (),
    )  # fmt: skip
