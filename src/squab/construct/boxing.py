"""The boxing: a ring in one band with the zip panel, or by sides; where it may be joined."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from squab.construct.ground import Ground, Range
from squab.construct.panels import Panels
from squab.construct.rings import fewest_parts, less, unrolled
from squab.construct.rules import (
    CLEAR_OF_CORNER_MM,
    LONGEST_RETURN_MM,
    RETURN_IMPERIAL_MM,
    RETURN_METRIC_MM,
    RETURN_STEP_IMPERIAL_MM,
    RETURN_STEP_METRIC_MM,
)
from squab.construct.shape import crossings, edge_at
from squab.construct.zips import lap_mm
from squab.findings import Finding, Severity
from squab.plane import Arc

SAME_MM = 1e-6


@dataclass(frozen=True)
class BoxingPart:
    """A piece or strip of the boxing in its frame (s, z), s0 < s1, s not yet eased.

    `top_z` and `bottom_z` are the stitch lines to the panels, None where a strip has none (the
    lower strip of a zip panel does not meet the top). `cut_z` are the cut edges.
    """

    id: str
    name: str
    is_zip: bool
    s0: float
    s1: float
    seam_z: Range
    cut_z: Range
    top_z: float | None
    bottom_z: float | None
    turn_deg: int = 0
    is_strip: bool = False
    windows: tuple[Range, ...] | None = None
    most_parts: int = 12
    spare_mm: float = 0.0
    note: str = ""

    @property
    def length(self) -> float:
        """Seam length."""
        return self.s1 - self.s0


@dataclass(frozen=True)
class Boxing:
    """The boxing's parts and the zip panel's stretch (None: no zip in the boxing)."""

    parts: tuple[BoxingPart, ...]
    zip_range: Range | None
    return_mm: float
    by_side: bool


def plan_boxing(ground: Ground, panels: Panels) -> tuple[Boxing | None, list[Finding]]:
    """Divide the boxing into parts."""
    found: list[Finding] = []
    zipped = ground.cover.zip.place == "boxing"
    if zipped and ground.side_range(ground.cover.zip.side) is None and ground.cover.zip.side != "back":
        sides = ", ".join(ground.seam.side_names())
        message = f"is to be on the side {ground.cover.zip.side!r}, which this cushion does not have"
        return None, [ground.finding("CON-014", Severity.STOP, "[[zip panel]]", message, f"its sides are: {sides}")]
    breaks = _side_breaks(ground, panels)
    if breaks:
        return _by_side(ground, panels, breaks, found)
    boxing, found = _ring(ground, panels)
    if boxing is not None or any(f.code != "CON-041" for f in found):
        return boxing, found
    corners = [s for s, turn in ground.corners if turn > 0] or _side_changes(ground)
    if not corners or ground.is_curved_all_round:
        return None, found
    return _by_side(ground, panels, corners, [replace(f, severity=Severity.WARN) for f in found])


def _side_breaks(ground: Ground, panels: Panels) -> list[float]:
    """Where the boxing is cut into sides, or nothing for a ring."""
    cover = ground.cover
    outward = [s for s, turn in ground.corners if turn > 0]
    if cover.matching.sides_along or panels.seam_at_mm is not None:
        under = _under_panel_seams(ground, panels)
        return _distinct([*outward, *_side_changes(ground), *under], ground.ring_mm)
    return outward if cover.joins_at_corners else []


def _side_changes(ground: Ground) -> list[float]:
    """Where one side becomes another: at its corner, or in the middle of its rounded corner."""
    names = ground.seam.side_names()
    if len(names) < 2:
        return []
    return _distinct([r[0] for name in names for r in ground.seam.side_ranges(name)], ground.ring_mm)


def _under_panel_seams(ground: Ground, panels: Panels) -> list[float]:
    """Seam lengths at which the panel seams reach the front."""
    found = []
    for x in panels.seam_x:
        hits = crossings(ground.seam, 0, x)
        found.append(min(hits, key=lambda s: ground.seam.point_at(s)[1]))
    return found


def _distinct(places: list[float], ring: float) -> list[float]:
    out: list[float] = []
    for s in sorted(p % ring for p in places):
        if all(min(abs(s - o), ring - abs(s - o)) > 1.0 for o in out):
            out.append(s)
    return out


# --- one ring -------------------------------------------------------------------------------


def zip_side(ground: Ground) -> Range:
    """The stretch of the side that carries the zip."""
    return ground.side_range(ground.cover.zip.side) or ground.back


def _ring(ground: Ground, panels: Panels) -> tuple[Boxing | None, list[Finding]]:
    zip_range, return_mm, found = _zip_stretch(ground, panels)
    if any(f.severity is Severity.STOP for f in found):
        return None, found
    if zip_range is None:
        s0 = ground.back_middle
        band: Range = (s0, s0 + ground.ring_mm)
    else:
        band = (zip_range[1], zip_range[0] + ground.ring_mm)
    part, join_found = _band(ground, band, panels.turn_deg, closes_on_itself=zip_range is None)
    found += join_found
    if part is None:
        return None, found
    zips = _zip_parts(ground, zip_range, panels.turn_deg, 0, spare=True) if zip_range else []
    return Boxing((part, *zips), zip_range, return_mm, False), found


def _zip_stretch(ground: Ground, panels: Panels) -> tuple[Range | None, float, list[Finding]]:
    z = ground.cover.zip
    if z.place != "boxing":
        return None, 0.0, []
    a, b = zip_side(ground)
    if z.return_mm is None and ground.is_curved_all_round:
        middle, half = (a + b) / 2, ground.ring_mm / 4
        return (middle - half, middle + half), half - (b - a) / 2, []
    most = _most_return(ground, (a, b))
    if z.return_mm is not None:
        r = z.return_mm
        return (a - r, b + r), r, _zip_reach_findings(ground, a - r, b + r)
    usual = RETURN_IMPERIAL_MM if ground.imperial else RETURN_METRIC_MM
    r = max(min(usual, most), 0.0)
    longer = _return_that_spares_a_join(ground, (a, b), r, most, panels.turn_deg)
    found = _zip_reach_findings(ground, a - r, b + r)
    if longer > r + SAME_MM:
        found.append(
            ground.finding(
                "CON-016",
                Severity.NOTE,
                "[[zip panel]]",
                f"returns {ground.shown(longer)} round each back corner instead of {ground.shown(r)}, "
                f"{_what_for(ground, (a, b), r, panels.turn_deg, longer)}",
            )
        )
    return (a - longer, b + longer), longer, found


def _what_for(ground: Ground, side: Range, usual: float, turn: int, longer: float) -> str:
    """Why a longer return is worth having; a join is called spared only where one truly falls away."""
    a, b = side
    before = _band_parts(ground, (b + usual, a - usual + ground.ring_mm), turn)
    band = (b + longer, a - longer + ground.ring_mm)
    if before is None:
        return "so that the [[boxing]] can be made up without a join that shows"
    if _band_parts(ground, band, turn) == 1 and _is_tight(ground, band, turn):
        return "so that the [[boxing]] can be cut in one where the pattern allows it"
    return "which spares a join in the [[boxing]]"


def _most_return(ground: Ground, side: Range) -> float:
    """How far a zip panel can go round the ends of its side: not to another corner, nor near the front."""
    ring = ground.ring_mm
    a, b = side
    most = LONGEST_RETURN_MM
    for s, _ in ground.corners:
        ahead, behind = (s - b) % ring, (a - s) % ring
        most = min([most] + [d - CLEAR_OF_CORNER_MM for d in (ahead, behind) if 1.0 < d < ring - 1.0])
    f0, f1 = front_zone(ground)
    if (f0 - b) % ring < ring / 2:
        most = min(most, (f0 - b) % ring)
    if (a - f1) % ring < ring / 2:
        most = min(most, (a - f1) % ring)
    return max(most, 0.0)


def _zip_reach_findings(ground: Ground, s0: float, s1: float) -> list[Finding]:
    length = s1 - s0
    if length > ground.ring_mm - SAME_MM:
        return [
            ground.finding(
                "CON-011",
                Severity.STOP,
                "[[zip panel]]",
                f"would be {ground.shown(length)} long, the cushion is {ground.shown(ground.ring_mm)} round",
                "let it return less far round the corners, or put the zip on a shorter side",
            )
        ]
    overlap = unrolled([front_zone(ground)], ground.ring_mm, s0, s1)
    if overlap and ground.cover.zip.side != "front":
        return [
            ground.finding(
                "CON-012",
                Severity.STOP,
                "[[zip panel]]",
                f"of {ground.shown(length)} would reach within {ground.shown(ground.cover.join_clear_of_front_mm)} "
                "of a front corner",
                "let it return less far round the corners",
            )
        ]
    return []


def _return_that_spares_a_join(ground: Ground, side: Range, usual: float, most: float, turn: int) -> float:
    """The shortest return, from the usual one up, that leaves the band in the fewest parts.

    Where the band cannot be joined out of sight with any of them, the longest shorter one that lets it be.
    """
    step = RETURN_STEP_IMPERIAL_MM if ground.imperial else RETURN_STEP_METRIC_MM
    best, best_count = usual, _band_parts(ground, (side[1] + usual, side[0] - usual + ground.ring_mm), turn)
    usable = reach_mm(ground, turn, ground.zip_cloth.finished_width_mm)
    r = math.ceil((usual + SAME_MM) / step) * step
    while r <= most + SAME_MM and side[1] - side[0] + 2 * r <= usable:
        count = _band_parts(ground, (side[1] + r, side[0] - r + ground.ring_mm), turn)
        if count is not None and (best_count is None or count < best_count):
            best, best_count = r, count
        r += step
    r = math.floor((usual - SAME_MM) / step) * step
    while best_count is None and r >= 0:
        best, best_count = r, _band_parts(ground, (side[1] + r, side[0] - r + ground.ring_mm), turn)
        r -= step
    return usual if best_count is None else best


def _band_parts(ground: Ground, band: Range, turn: int) -> int | None:
    reach = reach_mm(ground, turn, ground.boxing_cloth.finished_width_mm)
    least = ground.cover.least_boxing_part_mm
    return fewest_parts(*band, join_windows(ground, band), reach, least)


def reach_mm(ground: Ground, turn: int, usable_mm: float) -> float:
    """Longest seam length of a part: across the bolt its width less two allowances, along it no limit."""
    return math.inf if turn % 180 == 90 else usable_mm - 2 * ground.allowance_mm


def front_zone(ground: Ground) -> Range:
    """The front with its corners and what a join must keep clear of them."""
    clear = ground.cover.join_clear_of_front_mm
    a, b = ground.front
    return (_past_arc(ground, a, -1) - clear, _past_arc(ground, b, 1) + clear)


def _past_arc(ground: Ground, s: float, way: int) -> float:
    """Go on to the end of a rounded corner, where s stands inside one that joins the front to a side."""
    seam, ring = ground.seam, ground.ring_mm
    middle = edge_at(seam, ground.front_middle)
    here, beyond = edge_at(seam, s - way * 0.01), edge_at(seam, s + way * 0.01)
    if not (isinstance(here, Arc) and isinstance(beyond, Arc)) or math.dist(here.centre, beyond.centre) > 1e-3:
        return s
    if isinstance(middle, Arc) and math.dist(middle.centre, here.centre) < 1e-3:
        return s
    return s + way * min(beyond.length, ring / 4)


def join_windows(ground: Ground, band: Range, *, anywhere_behind: bool = False) -> list[Range]:
    """Where a join of a band may stand: behind, clear of the front and of every corner.

    Sides that are seen offer only what lies behind the middle of the depth, unless that leaves
    the band in more parts (`anywhere_behind`).
    """
    ring = ground.ring_mm
    blocked = [front_zone(ground)]
    blocked += [(s - CLEAR_OF_CORNER_MM, s + CLEAR_OF_CORNER_MM) for s, _ in ground.corners]
    wide = less([band], unrolled(blocked, ring, *band))
    if anywhere_behind or ground.rear is None:
        return wide
    starts = ground.seam.path.edge_starts()
    unseen = [(a, a + e.length) for a, e, v in zip(starts, ground.seam.edges, ground.seam.seen, strict=True) if not v]
    best = unrolled([*unseen, ground.rear], ring, *band)
    narrow = less([band], [*unrolled(blocked, ring, *band), *less([band], best)])
    reach = reach_mm(ground, 0, ground.boxing_cloth.finished_width_mm)
    least = ground.cover.least_boxing_part_mm
    few, fewer = (fewest_parts(*band, w, reach, least) for w in (narrow, wide))
    return narrow if few is not None and (fewer is None or few <= fewer) else wide


def _band(ground: Ground, band: Range, turn: int, *, closes_on_itself: bool) -> tuple[BoxingPart | None, list[Finding]]:
    reach = reach_mm(ground, turn, ground.boxing_cloth.finished_width_mm)
    tight = _is_tight(ground, band, turn)
    windows = join_windows(ground, band, anywhere_behind=tight and band[1] - band[0] <= reach)
    parts = fewest_parts(*band, windows, reach, ground.cover.least_boxing_part_mm)
    if parts is None:
        return None, [
            ground.finding(
                "CON-041",
                Severity.STOP,
                "[[boxing]]",
                f"of {ground.shown(band[1] - band[0])} cannot be joined where it is not seen on cloth "
                f"{ground.shown(ground.boxing_cloth.finished_width_mm)} wide, so it is joined at the corners",
                "joins at the corners (joins_at_corners = true), a wider cloth, or boxing cut along the bolt",
            )
        ]
    h, sa = ground.thickness_mm, ground.allowance_mm
    spare = ground.cover.boxing_spare_mm if closes_on_itself and needs_no_match(ground) else 0.0
    part = BoxingPart(
        ground.piece_id("boxing"),
        "[[boxing]]",
        False,
        *band,
        (0.0, h),
        (-sa, h + sa),
        h,
        0.0,
        turn,
        is_strip=True,
        windows=tuple(windows),
        most_parts=1 if parts == 1 and not tight else parts + 1,
        spare_mm=spare,
    )
    return part, []


def _is_tight(ground: Ground, band: Range, turn: int) -> bool:
    """Tell whether a matched band in one part has less play across the cloth than a repeat.

    Where the stripe on the bolt stands badly, it must then be joined after all.
    """
    cloth = ground.boxing_cloth.as_finished()
    repeat = cloth.pattern.repeat_across_mm
    if repeat is None or turn % 180 == 90:
        return False
    return band[1] - band[0] + repeat > reach_mm(ground, turn, cloth.finished_width_mm)


def needs_no_match(ground: Ground) -> bool:
    """Tell whether a join may be trimmed where it comes: on plain cloth with no one way."""
    cloth = ground.boxing_cloth
    return cloth.pattern.kind == "plain" and not cloth.one_way


# --- the zip panel --------------------------------------------------------------------------


def _zip_parts(ground: Ground, stretch: Range, turn: int, half_turn: int, *, spare: bool) -> list[BoxingPart]:
    """The zip panel's strips: one to fold and split, or a lower and an upper."""
    z, h, sa = ground.cover.zip, ground.thickness_mm, ground.allowance_mm
    turn_deg = (turn + half_turn) % 360
    usable = reach_mm(ground, turn_deg, ground.zip_cloth.finished_width_mm)
    is_strip = stretch[1] - stretch[0] > usable + SAME_MM
    extra = ground.cover.boxing_spare_mm if spare and needs_no_match(ground) and not is_strip else 0.0
    most = (fewest_parts(*stretch, None, usable, ground.cover.least_boxing_part_mm) or 11) + 1
    extra = min(extra, max(usable - (stretch[1] - stretch[0]), 0.0))

    def part(name: str, said: str, seam: Range, cut: Range, top: float | None, low: float | None) -> BoxingPart:
        return BoxingPart(
            ground.piece_id(name), said, True, *stretch, seam, cut, top, low, turn_deg,
            is_strip=is_strip, most_parts=most, spare_mm=extra,
        )  # fmt: skip

    if z.making == "fold_and_split":
        low = -z.tape_mm
        return [part("zip_panel", "[[zip panel]]", (low, h), (low - sa - z.trim_mm, h + sa), h, low)]
    over = h / 2 + sa if z.making == "two_doubled" else z.tape_mm / 2
    lap = lap_mm(z.tape_mm) / 2 if z.making == "lapped" else 0.0
    upper, lower = h / 2 - lap, h / 2 + lap
    return [
        part("zip_panel.upper", "[[zip panel]], upper strip", (upper, h), (upper - over, h + sa), h, None),
        part("zip_panel.lower", "[[zip panel]], lower strip", (0.0, lower), (-sa, lower + over), None, 0.0),
    ]


# --- by sides -------------------------------------------------------------------------------


def _by_side(
    ground: Ground, panels: Panels, breaks: list[float], found: list[Finding]
) -> tuple[Boxing | None, list[Finding]]:
    ring = ground.ring_mm
    pairs = [(a, b if b > a else b + ring) for a, b in zip(breaks, [*breaks[1:], breaks[0]], strict=True)]
    zip_range, return_mm, zip_found = _side_zip(ground, pairs)
    found += zip_found
    if any(f.severity is Severity.STOP for f in found):
        return None, found
    parts: list[BoxingPart] = []
    names = _names(ground, pairs, zip_range)
    for (a, b), name in zip(pairs, names, strict=True):
        rest = [(a, b)] if zip_range is None else less([(a, b)], unrolled([zip_range], ring, a, b))
        for k, (c, d) in enumerate(rest):
            parts.append(_side_part(ground, panels, c, d, name if not k else f"{name} {k + 1}"))
    if zip_range is not None:
        half_turn = _turn_of(ground, (zip_range[0] + zip_range[1]) / 2)
        if ground.zip_cloth.one_way and half_turn == 180:
            half_turn = 0
        parts += _zip_parts(ground, zip_range, panels.turn_deg, half_turn, spare=False)
    return Boxing(tuple(parts), zip_range, return_mm, True), found


def _side_zip(ground: Ground, pairs: list[Range]) -> tuple[Range | None, float, list[Finding]]:
    """The zip panel's stretch between the breaks: it stops at the corners unless told to return."""
    z, ring = ground.cover.zip, ground.ring_mm
    if z.place != "boxing":
        return None, 0.0, []
    a, b = zip_side(ground)
    inside = [p for p in pairs if unrolled([(a + 1, b - 1)], ring, *p)]
    start = next((p[0] for p in inside if abs((p[0] - a + 1) % ring - 1) < 1.5), a)
    stretch = (start, start + (b - a))
    if z.return_mm and ground.cover.matching.sides_along:
        note = "stops at the corners, because the side strips are turned"
        hint = "leave the return out, or leave the side strips across the bolt"
        return stretch, 0.0, [ground.finding("CON-017", Severity.WARN, "[[zip panel]]", note, hint)]
    r = z.return_mm or 0.0
    return (stretch[0] - r, stretch[1] + r), r, _zip_reach_findings(ground, stretch[0] - r, stretch[1] + r)


def _names(ground: Ground, pairs: list[Range], zip_range: Range | None) -> list[str]:
    sides = [ground.seam.side_at((a + b) / 2) or f"part {i + 1}" for i, (a, b) in enumerate(pairs)]
    out = []
    for i, side in enumerate(sides):
        same = [j for j, other in enumerate(sides) if other == side]
        if len(same) == 1:
            out.append(side)
        elif len(same) == 3:
            out.append(f"{side} {('left', 'middle', 'right')[same.index(i)]}" if side == "front" else f"{side} {i}")
        else:
            out.append(f"{side} {same.index(i) + 1}")
    return out


def _side_part(ground: Ground, panels: Panels, a: float, b: float, name: str) -> BoxingPart:
    h, sa = ground.thickness_mm, ground.allowance_mm
    turn = (panels.turn_deg + _turn_of(ground, (a + b) / 2)) % 360
    usable = reach_mm(ground, turn, ground.boxing_cloth.finished_width_mm)
    is_strip = b - a > usable + SAME_MM
    windows = join_windows(ground, (a, b)) if is_strip else None
    least = ground.cover.least_boxing_part_mm
    if windows is not None and fewest_parts(a, b, windows, usable, least) is None:
        windows = None
    return BoxingPart(
        ground.piece_id("boxing." + name.replace(" ", "_")),
        f"[[boxing]], {name}",
        False,
        a,
        b,
        (0.0, h),
        (-sa, h + sa),
        h,
        0.0,
        turn,
        is_strip=is_strip,
        windows=None if windows is None else tuple(windows),
    )


def _turn_of(ground: Ground, s: float) -> int:
    """How a side strip is turned so that it flows from the top: by the way its side runs, 0 unless asked."""
    if not ground.cover.matching.sides_along:
        return 0
    side = ground.seam.side_at(s)
    ranges = ground.seam.side_ranges(side)
    a, b = next(r for r in ranges if (s - r[0]) % ground.ring_mm <= r[1] - r[0] + 1)
    p, q = ground.seam.point_at(a), ground.seam.point_at(b)
    return round(math.degrees(math.atan2(q[1] - p[1], q[0] - p[0])) / 90) * 90 % 360
