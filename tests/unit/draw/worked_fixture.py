"""A worked job made by hand, rich enough for every sheet: two kinds of cushion, a striped cloth and a plain one.

The lay is a plain shelf lay: rows of pieces from the cut end. It is no good lay, only a true one in
width and overlap, so that the sheets have something to print without the search.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from squab.cloth import Bolt, Cloth, Pattern, Stripe
from squab.construct.records import (
    Construction,
    CushionCover,
    Notch,
    Piece,
    PieceKind,
    PipingPlan,
    Seam,
    SeamEnd,
    Size,
    Sizes,
    Strip,
    ZipPanelPlan,
)
from squab.findings import Finding, Severity
from squab.job import Cover, Cushion, Customer, Fill, Job
from squab.lay.records import Bound, ClothPlan, Lattice, Lay, LayProblem, Placed
from squab.match.records import Anchor, MatchPlan, Phase, Placing, SeamDrift
from squab.plane import Line, Outline, Path, offset_outline
from squab.sew.records import SewingOrder, Step
from squab.supply.records import BuyLine, FoamCut, Operation, Price, Supply
from squab.units import METRIC, Style
from squab.worked import WorkedJob

ALLOWANCE_MM = 12.0
TICKING = Cloth(
    "ticking",
    "Reading-room ticking",
    1370.0,
    Pattern(
        "warp_stripe",
        repeat_across_mm=96.0,
        stripes=(
            Stripe(40, "#e9e2d3", "cream"),
            Stripe(10, "#31425e", "ink"),
            Stripe(26, "#9db0c4", "sky"),
            Stripe(20, "#b5533c", "brick"),
        ),
        lines=(("cream", 20.0), ("brick", 86.0)),
    ),
    one_way=True,
    price_per_m=Decimal("38.00"),
    bolt=Bolt(length_mm=5200.0, lot="NW-17", stripe_at_u_mm=14.0),
    care="Sponge clean; dry flat.",
)
CANVAS = Cloth("canvas", "Slate canvas", 1370.0, price_per_m=Decimal("21.50"), sold_by_mm=100.0)


def polygon(points: list[tuple[float, float]], sides: list[str]) -> Outline:
    """A closed outline of straight edges."""
    return Outline(tuple(Line(p, q) for p, q in zip(points, [*points[1:], points[0]], strict=True)), tuple(sides))


def rectangle(width_mm: float, depth_mm: float) -> Outline:
    """A rectangle from the front left corner."""
    points = [(0.0, 0.0), (width_mm, 0.0), (width_mm, depth_mm), (0.0, depth_mm)]
    return polygon(points, ["front", "right", "back", "left"])


SEAT = rectangle(560.3, 510.0)
EARED = polygon(
    [(0, 0), (700, 0), (700, 130), (620, 130), (620, 600), (0, 600)],
    ["front", "right", "ear", "right", "back", "left"],
)


def _band(s0: float, s1: float, thickness_mm: float) -> tuple[Outline, Outline]:
    seam = rectangle(s1 - s0, thickness_mm).moved(s0, 0.0)
    return seam, offset_outline(seam, ALLOWANCE_MM)


def _piece(cushion: Cushion, kind: PieceKind, name: str, seam: Outline, cloth_id: str, joins: tuple[str, ...]) -> Piece:
    front = Notch((0.0, 0.0), (0.0, -1.0), 1, f"{kind}.front")
    return Piece(
        f"{cushion.id}.{kind}",
        cushion.id,
        kind,
        name,
        cloth_id,
        seam,
        offset_outline(seam, ALLOWANCE_MM),
        cushion.count,
        hand=cushion.hand,
        notches=(front,),
        joins=joins,
    )


def cover_of(cushion: Cushion, piping_cloth: str) -> CushionCover:
    """A cover as the trade makes it: two panels, a zip panel, a boxing band and two rings of piping."""
    seam, thick = cushion.outline, cushion.thickness_mm
    ring = seam.length
    x0, y0, x1, y1 = seam.bounds()
    width, depth = x1 - x0, y1 - y0
    back = width + 150.0
    zip_seam, zip_cut = _band(ring - back - 90, ring - 90, thick)
    zip_piece = replace(
        _piece(cushion, "zip_panel", "zip panel", zip_seam, "ticking", ("top", "bottom", "boxing")), cut=zip_cut
    )
    boxing_s0, boxing_s1 = -90.0, ring - back - 90.0
    boxing = Strip(
        f"{cushion.id}.boxing", cushion.id, "boxing", "boxing", "ticking", boxing_s0, boxing_s1,
        -ALLOWANCE_MM, thick + ALLOWANCE_MM, ALLOWANCE_MM, cushion.count, 150.0,
        seam_z=(0.0, thick), joins=("top", "bottom", "zip panel"),
    )  # fmt: skip
    piping = Strip(
        f"{cushion.id}.piping", cushion.id, "piping", "piping", piping_cloth, 0.0, ring + 50, 0.0, 39.1, 20.0,
        2 * cushion.count, 400.0, seam_z=(12.0, 27.1), joins=("top", "bottom"),
    )  # fmt: skip
    front = Path((Line((0.0, 0.0), (width, 0.0)),))
    seams = tuple(
        Seam(f"{cushion.id}.{side}.top", "panel_boxing", SeamEnd(f"{cushion.id}.top", front),
             SeamEnd(f"{cushion.id}.boxing", front), side, side != "back", "top", cushion_id=cushion.id, piped=True)
        for side in ("front", "left", "right", "back")
    )  # fmt: skip
    joins = ("boxing", "zip panel")
    return CushionCover(
        cushion.id,
        Sizes(
            seat=Size(width + 10, depth, thick) if cushion.id == "seat" else None,
            fill=Size(width + 12, depth + 12, thick),
            seam=Size(width, depth, thick),
            finished=Size(width + 11.2, depth + 11.2, thick),
            given="fill",
            fit_mm=12.0,
            fit_thickness_mm=0.0,
            stands_proud_mm=5.6,
        ),
        seam,
        thick,
        ring,
        (
            _piece(cushion, "top", "top", seam, "ticking", joins),
            _piece(cushion, "bottom", "bottom", seam.rolled_under().moved(0.0, depth), "ticking", joins),
            zip_piece,
        ),
        (boxing, piping),
        seams,
        ZipPanelPlan("fold_and_split", back, back + 75, 1, 1, thick + 24 + 32, thick + 24, 16.0, 75.0),
        PipingPlan(39.1, 15.1, 12.0, 0.0, ring, 2, "across"),
        seam,
    )


def _boxes(
    construction: Construction, job: Job, cloth_id: str
) -> list[tuple[Placed, tuple[float, float, float, float]]]:
    """Everything to cut from one cloth, unplaced, with its box in its own frame."""
    found: list[tuple[Placed, tuple[float, float, float, float]]] = []
    for cushion in job.cushions:
        for n in range(1, cushion.count + 1):
            for piece in construction.pieces:
                if piece.cushion_id == cushion.id and piece.cloth_id == cloth_id:
                    key = f"{piece.id}#{n}"
                    found.append((Placed(key, 0, 0.0, 0.0), piece.cut.bounds()))
            for strip in construction.strips:
                if strip.cushion_id != cushion.id or strip.cloth_id != cloth_id:
                    continue
                for ring in range(strip.count // cushion.count):
                    key = f"{strip.id}#{ring * cushion.count + n}"
                    parts = -int(-strip.length_mm // 1300)
                    step = strip.length_mm / parts
                    for k in range(parts):
                        a, b = strip.s0_mm + k * step, strip.s0_mm + (k + 1) * step
                        box = (a - strip.end_mm, strip.z0_mm, b + strip.end_mm, strip.z1_mm)
                        found.append((Placed(key, 0, 0.0, 0.0, (a, b)), box))
    return found


def shelf_plan(construction: Construction, job: Job, cloth: Cloth) -> ClothPlan:
    """Lay everything of one cloth in rows."""
    placed, u, v, high = [], 0.0, 0.0, 0.0
    boxes = sorted(_boxes(construction, job, cloth.id), key=lambda x: x[1][1] - x[1][3])
    for p, (x0, y0, x1, y1) in boxes:
        if u + x1 - x0 > cloth.usable_width_mm:
            u, v, high = 0.0, v + high, 0.0
        placed.append(replace(p, u_mm=u - x0, v_mm=v - y0))
        u, high = u + x1 - x0, max(high, y1 - y0)
    length = v + high
    lay = Lay(tuple(placed), {}, (cloth.bolt.stripe_at_u_mm or 0.0 if cloth.bolt else 0.0, 0.0), length)
    problem = LayProblem(
        cloth.id, cloth.usable_width_mm, Lattice(cloth.pattern.repeat_across_mm), (),
        bolt_mm=cloth.bolt.length_mm if cloth.bolt else None,
    )  # fmt: skip
    order = -(-(length + 100) // 100) * 100.0
    return ClothPlan(
        cloth.id, problem, lay, Bound(length * 0.94, "columns of the cloth"), length * 1.17, length, order,
        length + 100 if cloth.bolt else None, cloth_cost=(cloth.price_per_m or Decimal(0)) * Decimal(int(order)) / 1000,
        risk="" if cloth.bolt else "if the bolt starts elsewhere it could take 0.4 m more",
    )  # fmt: skip


def _supply(job: Job, plans: dict[str, ClothPlan]) -> Supply:
    buy = [
        BuyLine(job.cloth(k).name, "1370 mm usable", p.needs_mm / 1000, p.order_mm / 1000, "m",
                p.cloth_cost or Decimal(0), "cloth")
        for k, p in plans.items()
    ]  # fmt: skip
    foam, operations, per, minutes = [], [], {}, {}
    for c in job.cushions:
        buy += [
            BuyLine("zip, size 5", "continuous", 0.785, 0.8, "m", Decimal("1.28"), "zip", c.id),
            BuyLine("slider", "size 5", 1, 1, "each", Decimal("0.45"), "slider", c.id),
            BuyLine("cord", "4 mm", 4.28, 4.5, "m", Decimal("1.58"), "cord", c.id),
            BuyLine("foam", "firm, 35 kg/m3", 0.0257, 0.0257, "m3", Decimal("10.79"), "foam", c.id),
        ]
        foam.append(FoamCut(c.id, c.name, c.count, 572.0, 522.0, c.thickness_mm, 0.0, 0.9, "firm foam"))
        operations += [
            Operation(c.id, "mark and cut, matched", 6 * c.count, "pieces", 24.0 * c.count),
            Operation(c.id, "piping sewn on", 4.28 * c.count, "m", 12.8 * c.count),
            Operation(c.id, "zip panel", c.count, "each", 12.0 * c.count),
        ]
        per[c.id] = Decimal("180.00") * c.count
        minutes[c.id] = 134.5
    total = sum(per.values(), Decimal(0))
    net = (total / Decimal("1.2")).quantize(Decimal("0.01"))
    price = Price(
        "GBP", Decimal("212.10"), Decimal("265.12"), Decimal("6.7"), Decimal("214.40"), net, "VAT", Decimal("20"),
        total - net, total, (total / 2).quantize(Decimal("0.01")), False, per,
    )  # fmt: skip
    return Supply(tuple(buy), tuple(foam), (*operations, Operation("", "admin", 1, "job", 20.0)), price, minutes)


def sewing_of(cushion: Cushion) -> SewingOrder:
    """A short sewing order with every mark a writer must fill."""
    titles = [
        ("Cover the cord", "Fold the strip round the cord, [[piping foot]] on, stitch length 4 mm. Ring {ring}."),
        ("Pipe the panels", "Start at the middle of the back. [[Clip]] the flange at corners, stop {stop} short."),
        ("Make the zip panel", "Fold the [[zip panel]]; stitch {half} from the fold; split on the fold."),
        ("Join the boxing", "Join [[boxing]] to [[zip panel]] and check the ring: {ring}."),
        ("Sew the boxing to the top", "Baste the front first, centre [[notch]] to centre notch, then outward."),
        ("Close", "Open the zip a hand's width. Sew the bottom, double notch at the back."),
        ("Fill", "Fold the foam in half, back edge last; dress the corners."),
    ]
    figures = (("ring", 2140.6), ("stop", 3.175), ("half", 16.0))
    return SewingOrder(
        cushion.id,
        (("Seam allowance", "{allowance}"), ("Stitch", "lockstitch, 3 mm"), ("Needle", "100/16")),
        tuple(Step(i, title, text, figures) for i, (title, text) in enumerate(titles, 1)),
        (("width", 571.5, 3.0), ("depth", 521.2, 3.0), ("thickness", cushion.thickness_mm, 3.0)),
        ("Power off and foot off the treadle before changing a needle.", "Blade away from the holding hand."),
    )


def hand_made(
    *,
    style: Style = METRIC,
    paper: str = "a4",
    words: str = "uk",
    marked: str = "face_up",
    name: str = "Window seats, Nether Wickle reading room",
    customer: str = "Nether Wickle Reading Room",
    cushion_names: tuple[str, ...] = ("Window seat", "One-eared corner seat"),
) -> WorkedJob:
    """A worked job with as many kinds of cushion as names, every second one eared."""
    cushions = tuple(
        Cushion(
            "seat" if i == 0 else "corner" if i == 1 else f"kind{i}",
            n,
            SEAT if i % 2 == 0 else EARED,
            85.0 if i % 2 == 0 else 110.0,
            count=2 if i % 2 == 0 else 1,
            place="north window" if i % 2 == 0 else "by the stove",
            hand="" if i % 2 == 0 else "right",
            shape="rectangle" if i % 2 == 0 else "one ear",
            fill=Fill(),
            cover=Cover(piping_cloth="" if i % 2 == 0 else "canvas"),
            typed=(("width", "572"),),
        )
        for i, n in enumerate(cushion_names)
    )
    cloths = (TICKING, CANVAS) if len(cushions) > 1 else (TICKING,)
    job = Job(
        name, cushions, cloths, customer=Customer(customer, "The Green, Nether Wickle", "by note at the desk"),
        reference="NW-04", workroom="The Long Loft", dated=date(2026, 3, 2), style=style,
        words=words, paper=paper, marked=marked, notes="Deliver to the side door.",  # type: ignore[arg-type]
    )  # fmt: skip
    construction = Construction(tuple(cover_of(c, c.cover.piping_cloth or "ticking") for c in cushions))
    plans = {c.id: shelf_plan(construction, job, c) for c in cloths}
    drifts = tuple(
        SeamDrift(s.id, s.side, s.seen, "must" if s.side == "front" else "prefer", (0.0, 560.0), (0.0, 0.0), None,
                  0.0 if s.side in ("front", "back") else 48.0,
                  "good" if s.side in ("front", "back") else "not matched",
                  said="the stripe meets" if s.side in ("front", "back") else "the stripe cannot meet at the sides")
        for s in construction.seams
    )  # fmt: skip
    cut: list[Piece | Strip] = [*construction.pieces, *construction.strips]
    match = MatchPlan(
        {p.id: Placing(p.id, (0,), Phase("seat", 0.0, None) if p.cloth_id == "ticking" else None) for p in cut},
        {"seat": Anchor("seat")},
        drifts,
    )
    findings = (
        Finding("MAT-012", Severity.WARN, f"{cushions[0].name}: sides", "the stripe cannot meet at the sides",
                "cut the side strips along the bolt: 0.4 m more cloth"),
        Finding("LAY-003", Severity.NOTE, "Reading-room ticking", "5.2 m on the bolt is enough"),
    )  # fmt: skip
    return WorkedJob(
        job, construction, match, plans, _supply(job, plans), {c.id: sewing_of(c) for c in cushions}, findings
    )
