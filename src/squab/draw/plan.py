"""The cutting plan: every piece where it is cut, over the cloth's true pattern.

The cloth lies along the sheet: its cut end at the left, the length v to the right. Face up, the
left selvage is at the top; back up, the cloth is turned over about its length and every figure
is mirrored, so that the drawing is what the maker sees on the table.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from shapely.geometry import MultiLineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from squab.cloth import Cloth, Pattern
from squab.construct.records import Piece, Strip
from squab.draw import svg
from squab.draw.cloth import cloth_svg, drawn_pattern
from squab.draw.laid import Laid, cushion_of, laid_parts, layers_said, to_cut_edge, under_the_fold
from squab.draw.sheets_common import on_bolt
from squab.draw.svg import CHALK, INK, LETTERING_MM, PAPER, Map
from squab.job import Job
from squab.lay.records import ClothPlan
from squab.plane import Point, Points
from squab.units import MM_PER_INCH, Style, format_cloth_length, format_length
from squab.words import say
from squab.worked import WorkedJob

SHEET_MM = 256.0
"""Width of a drawing: goes on A4 and on Letter, both lying, with their margins."""
SECTION_SCALE = 0.1
_RATIOS = (5, 8, 10, 12, 15, 20, 25, 30, 40, 50, 60, 75, 100, 150, 200, 300, 500)
_HEAD_MM, _RULER_MM, _FOOT_MM, _SIDE_MM = 15.0, 9.0, 24.0, 6.0
_SECTION_FOOT_MM = 17.0
_MOST_HIGH_MM = 186.0
_SHOWN_REMNANT_MM = 900.0
_STITCH: dict[str, object] = {"stroke_width": 0.22, "stroke_dasharray": "1.6 0.8"}
_SMALLEST_MM = 2.3
"""The least lettering inside a piece; below it the piece has a figure and a line in the key."""


@dataclass(frozen=True)
class _Sheet:
    """One drawing: what it shows of the cloth, and how it gets to paper."""

    worked: WorkedJob
    cloth: Cloth
    plan: ClothPlan
    laid: tuple[Laid, ...]
    scale: float
    v0_mm: float
    v1_mm: float
    top_mm: float
    foot_mm: float

    @property
    def job(self) -> Job:
        return self.worked.job

    @property
    def width_mm(self) -> float:
        """Usable width on the bolt."""
        return self.plan.problem.usable_width_mm * self.cloth.cut_scale[0]

    @property
    def bottom_mm(self) -> float:
        return self.top_mm + self.width_mm * self.scale

    @property
    def pattern_at(self) -> Point:
        return self.plan.lay.pattern_at

    def to_sheet(self, uv: Points) -> Points:
        """From the lay's cloth frame to the drawing."""
        across, along = self.cloth.cut_scale
        u, v = uv[:, 0] * across, uv[:, 1] * along
        down = u if self.job.marked == "face_up" else self.width_mm - u
        return np.column_stack((_SIDE_MM + (v - self.v0_mm) * self.scale, self.top_mm + down * self.scale))

    def point(self, u: float, v: float) -> Point:
        x, y = self.to_sheet(np.array([(u, v)]))[0]
        return float(x), float(y)

    def from_piece(self, laid: Laid) -> Map:
        return lambda xy: self.to_sheet(laid.place.points(xy))

    def shown(self) -> BaseGeometry:
        """The stretch of cloth shown, in the lay's frame."""
        along = self.cloth.cut_scale[1]
        return box(0.0, self.v0_mm / along, self.plan.problem.usable_width_mm, self.v1_mm / along)


def cutting_plan_svg(worked: WorkedJob, cloth_id: str) -> str:
    """Draw the whole lay of one cloth on one sheet.

    Raises
    ------
    KeyError
        If the job has no such cloth or no lay on it.
    """
    return _drawn(_whole(worked, cloth_id), "", whole=True)


def cutting_plan_svgs(worked: WorkedJob, cloth_id: str) -> list[str]:
    """Draw the lay as sections, each a stretch of cloth, in order from the cut end.

    At one to ten, or at the next smaller scale at which they go on the page; none where one
    would do little more than repeat the whole. A section begins where it cuts fewest pieces; neighbours overlap
    where a piece would be cut.
    """
    end = _end_mm(worked, cloth_id)
    for ratio in (r for r in _RATIOS if 1 / r <= SECTION_SCALE):
        stretches = _stretches(worked, cloth_id, end, 1 / ratio)
        drawings = [_drawing(_sheet(worked, cloth_id, 1 / ratio, a, b, _SECTION_FOOT_MM)) for a, b in stretches]
        if all(d.high_mm <= _MOST_HIGH_MM for d in drawings):
            break
    if len(drawings) == 1 and _whole(worked, cloth_id).sheet.scale > 0.8 / ratio:
        return []
    last = len(drawings)
    return [_drawn(d, _section(i, last), whole=i == last) for i, d in enumerate(drawings, 1)]


def _whole(worked: WorkedJob, cloth_id: str) -> _Drawing:
    """The drawing of the whole lay at the largest scale at which it and its key go on the page."""
    end = _end_mm(worked, cloth_id)
    room = SHEET_MM - 2 * _SIDE_MM
    width = worked.plans[cloth_id].problem.usable_width_mm * worked.job.cloth(cloth_id).cut_scale[0]
    largest = min(room / end, (_MOST_HIGH_MM - _HEAD_MM - _RULER_MM - _FOOT_MM) / width, 0.2)
    for ratio in _RATIOS:
        if 1 / ratio > largest + 1e-9:
            continue
        drawing = _drawing(_sheet(worked, cloth_id, 1 / ratio, 0.0, end, _FOOT_MM))
        if drawing.high_mm <= _MOST_HIGH_MM:
            break
    else:
        drawing = _drawing(_sheet(worked, cloth_id, largest, 0.0, end, _FOOT_MM))
    return drawing


def _section(i: int, n: int) -> str:
    return f"section {i} of {n}" if n > 1 else ""


def remnant_mm(worked: WorkedJob, cloth_id: str) -> float | None:
    """Length left over behind the last cut edge, both ends squared off; None where it is not known."""
    plan, cloth = worked.plans[cloth_id], worked.job.cloth(cloth_id)
    have = cloth.bolt.length_mm if cloth.bolt and cloth.bolt.length_mm else plan.order_mm
    left = have - 2 * cloth.square_off_mm - _used_mm(worked, cloth_id)
    return left if left > 0.5 else None


def _used_mm(worked: WorkedJob, cloth_id: str) -> float:
    return on_bolt(worked.job, worked.plans[cloth_id]).lay_mm


def _end_mm(worked: WorkedJob, cloth_id: str) -> float:
    return _used_mm(worked, cloth_id) + min(remnant_mm(worked, cloth_id) or 0.0, _SHOWN_REMNANT_MM)


def _stretches(worked: WorkedJob, cloth_id: str, end: float, scale: float) -> list[tuple[float, float]]:
    room = (SHEET_MM - 2 * _SIDE_MM) / scale
    if end <= room:
        return [(0.0, end)]
    along = worked.job.cloth(cloth_id).cut_scale[1]
    spans = []
    for x in laid_parts(worked, cloth_id):
        _, low, _, high = x.place.outline(x.cut).bounds()
        spans.append((low * along, high * along))
    found, start = [], 0.0
    while start + room < end:
        wanted = [v for _, v in spans if start + room * 0.45 <= v <= start + room]
        cut_by = {v: sum(a < v - 0.5 and b > v + 0.5 for a, b in spans) for v in wanted}
        even = start + (end - start) / math.ceil((end - start) / room)
        stop = min(wanted, key=lambda v: (cut_by[v], abs(v - even)), default=start + room)
        found.append((start, stop))
        crossing = [a for a, b in spans if a < stop - 0.5 and b > stop + 0.5 and b - a < room * 0.6 and a > start + 1]
        start = min(crossing, default=stop)
    return [*found, (start, end)]


def _sheet(worked: WorkedJob, cloth_id: str, scale: float, v0: float, v1: float, foot: float) -> _Sheet:
    cloth, plan = worked.job.cloth(cloth_id), worked.plans[cloth_id]
    return _Sheet(worked, cloth, plan, laid_parts(worked, cloth_id), scale, v0, v1, _HEAD_MM, foot)


@dataclass(frozen=True)
class _Drawing:
    """What goes into a drawing: the pieces seen, their labels (None: a number and a line in the key), the key."""

    sheet: _Sheet
    numbered: tuple[tuple[int, Laid], ...]
    labels: tuple[str | None, ...]
    key: str
    key_high_mm: float

    @property
    def high_mm(self) -> float:
        return self.sheet.bottom_mm + _RULER_MM + self.sheet.foot_mm + self.key_high_mm


def _drawing(sheet: _Sheet) -> _Drawing:
    shown = sheet.shown()
    # A section keeps the numbers of the whole plan: marking sheets and labels go by them.
    numbered = tuple((i, x) for i, x in enumerate(sheet.laid, 1) if _shows(x.on_cloth, shown))
    labels = tuple(_label(sheet, x) for _, x in numbered)
    key, key_high = _key(sheet, [n for n, label in zip(numbered, labels, strict=True) if label is None])
    return _Drawing(sheet, numbered, labels, key, key_high)


def _drawn(drawing: _Drawing, section: str, *, whole: bool) -> str:
    sheet, height = drawing.sheet, drawing.high_mm
    shown, visible = sheet.shown(), [x for _, x in drawing.numbered]
    clip = "cloth" + "".join(c for c in f"{sheet.cloth.id}{sheet.v0_mm:.0f}" if c.isalnum())
    x0, x1 = _SIDE_MM, _SIDE_MM + (sheet.v1_mm - sheet.v0_mm) * sheet.scale
    window = svg.element(
        "clipPath", svg.rect(x0 - 0.3, sheet.top_mm - 0.3, x1 - x0 + 0.6, sheet.bottom_mm - sheet.top_mm + 0.6), id=clip
    )
    numbers = _numbers(drawing)
    parts = [
        svg.element("defs", window),
        *_head(sheet, section),
        svg.group(
            [
                _ground(sheet, shown),
                _veil(sheet, shown, visible),
                *_flaws(sheet),
                _datum(sheet),
                *(_piece(sheet, x) for x in visible),
                _folded(sheet),
                _remnant(sheet) if whole else "",
                *(label for label in drawing.labels if label),
                *numbers,
            ],
            clip_path=f"url(#{clip})",
        ),
        *_edges(sheet, whole),
        *_ruler(sheet),
        *_foot(sheet, height - _FOOT_MM - drawing.key_high_mm, whole=sheet.foot_mm == _FOOT_MM),
        svg.group([drawing.key], transform=f"translate(0 {svg.figure(height - drawing.key_high_mm)})"),
    ]
    words = f"{sheet.job.name}: {say('[[lay]]', sheet.job.words)}, {sheet.cloth.name}" + (
        f", {section}" if section else ""
    )
    return svg.document(SHEET_MM, height, parts, title=words)


def _shows(polygon: Polygon, shown: BaseGeometry) -> bool:
    return min(polygon.bounds[3], shown.bounds[3]) - max(polygon.bounds[1], shown.bounds[1]) > 1.0


def _is_piping(laid: Laid) -> bool:
    return isinstance(laid.of, Strip) and laid.of.kind == "piping"


def _head(sheet: _Sheet, section: str) -> list[str]:
    up = sheet.job.marked == "face_up"
    face = "FACE UP" if up else "BACK UP · figures mirrored"
    lot = f" · lot {sheet.cloth.bolt.lot}" if sheet.cloth.bolt and sheet.cloth.bolt.lot else ""
    title = f"{say('[[Lay]]', sheet.job.words)} · {sheet.cloth.name}{lot}"
    wide = svg.text_width(face, 4.6, bold=True) + 6
    under = " · ".join(t for t in (section, sheet.job.name, sheet.job.reference) if t)
    return [
        svg.text(_SIDE_MM, 6.2, *svg.fitted(title, 5.0, SHEET_MM - 3 * _SIDE_MM - wide, bold=True), bold=True),
        svg.text(_SIDE_MM, 11.0, *svg.fitted(under, 3.6, SHEET_MM - 60.0)),
        svg.rect(SHEET_MM - _SIDE_MM - wide, 1.6, wide, 6.4, fill=INK if up else CHALK, rx=1.2),
        svg.text(SHEET_MM - _SIDE_MM - wide / 2, 6.4, face, 4.6, anchor="middle", bold=True, fill=PAPER),
    ]


def _ground(sheet: _Sheet, shown: BaseGeometry) -> str:
    a, b = sheet.pattern_at
    u0, v0, u1, v1 = shown.bounds
    creep = sheet.plan.problem.creep
    if creep is not None:
        q0, q1 = (float(x) for x in creep.pattern_mm(np.array([v0, v1])))
        drawn_out: Map = lambda pq: sheet.to_sheet(np.column_stack((pq[:, 0] + a, creep.true_mm(pq[:, 1]))))  # noqa: E731
        return cloth_svg(drawn_pattern(sheet.cloth), box(u0 - a, q0, u1 - a, q1), drawn_out)
    region = box(u0 - a, v0 - b, u1 - a, v1 - b)
    shift = np.array([(a, b)])
    return cloth_svg(drawn_pattern(sheet.cloth), region, lambda pq: sheet.to_sheet(pq + shift))


def _veil(sheet: _Sheet, shown: BaseGeometry, visible: Iterable[Laid]) -> str:
    """Pale everything that is not a piece, so that pieces stand out and the pattern still runs on."""
    waste = shown.difference(unary_union([x.on_cloth for x in visible]))
    return svg.path(svg.polygons_d(waste, sheet.to_sheet), fill=PAPER, fill_opacity=0.66, fill_rule="evenodd")


def _flaws(sheet: _Sheet) -> list[str]:
    drawn = []
    for f in sheet.plan.problem.flaws:
        ring = sheet.to_sheet(np.array(f.corners))
        (x0, y0), (x1, y1) = ring.min(axis=0), ring.max(axis=0)
        marks = [np.array([(x0, y0), (x1, y1)]), np.array([(x0, y1), (x1, y0)])]
        inside = MultiLineString(marks).intersection(Polygon(ring))
        cross = [np.asarray(x.coords) for x in getattr(inside, "geoms", [inside]) if x.geom_type == "LineString"]
        drawn += [
            svg.path(svg.polyline_d(ring, closed=True), fill=PAPER, stroke=INK, stroke_width=0.35),
            svg.stroke("".join(svg.polyline_d(c) for c in cross)),
            svg.text(x1 + 1, y1, f.what, 2.8, halo=PAPER),
        ]
    return drawn


def datum_lines(cloth: Cloth, plan: ClothPlan) -> tuple[tuple[str, float], ...]:
    """The pattern's datum lines on the cloth: ("across", u) and ("along", v), nearest selvage and cut end.

    Across, it is the line p = 0 (the first edge of the layout, or a motif's centre) that first
    stands inside the left selvage; along, q = 0 likewise from the cut end.
    """
    pattern: Pattern = drawn_pattern(cloth)
    pattern_at = plan.lay.pattern_at
    found = []
    if pattern.repeat_across_mm:
        found.append(("across", pattern_at[0] % pattern.repeat_across_mm))
    if pattern.repeat_along_mm:
        found.append(("along", lines_along(plan, pattern.repeat_along_mm)[0]))
    return tuple(found)


def lines_along(plan: ClothPlan, repeat_mm: float) -> tuple[float, ...]:
    """Where the pattern's line q = 0 stands along the cloth, from the cut end as far as the lay goes; at least one."""
    creep, at, end = plan.problem.creep, plan.lay.pattern_at[1], plan.lay.length_mm
    if creep is None:
        first = at % repeat_mm
        return tuple(first + n * repeat_mm for n in range(max(1, math.floor((end - first) / repeat_mm) + 1)))
    low = math.ceil(float(creep.pattern_mm(0.0)) / creep.repeat_mm - 1e-9)
    high = max(low, math.floor(float(creep.pattern_mm(end)) / creep.repeat_mm + 1e-9))
    return tuple(float(x) for x in creep.true_mm(np.arange(low, high + 1, dtype=np.float64) * creep.repeat_mm))


def _datum(sheet: _Sheet) -> str:
    parts = []
    far = 10 * (sheet.v1_mm + 1000)
    for way, at in datum_lines(sheet.cloth, sheet.plan):
        if way == "across" and at < sheet.plan.problem.usable_width_mm:
            (_, y), _ = sheet.point(at, 0.0), far
            parts.append(_chalk(_SIDE_MM, y, SHEET_MM, y))
        if way == "along":
            x, _ = sheet.point(0.0, at)
            parts.append(_chalk(x, sheet.top_mm, x, sheet.bottom_mm))
    return "".join(parts)


def _chalk(x1: float, y1: float, x2: float, y2: float) -> str:
    under = svg.line(x1, y1, x2, y2, stroke=PAPER, stroke_width=1.1)
    return under + svg.line(x1, y1, x2, y2, stroke=CHALK, stroke_width=0.6, stroke_dasharray="5 1.2 1 1.2")


def _piece(sheet: _Sheet, laid: Laid) -> str:
    to_sheet = sheet.from_piece(laid)
    if laid.key in under_the_fold(sheet.plan, back_up=sheet.job.marked == "back_up"):
        return svg.stroke(
            svg.outline_d(laid.cut, to_sheet), stroke_width=0.5, stroke_linejoin="round", stroke_dasharray="3 1.2"
        )
    parts = [
        svg.stroke(svg.outline_d(laid.cut, to_sheet), stroke_width=0.5, stroke_linejoin="round"),
        "" if _is_piping(laid) else svg.stroke(svg.outline_d(laid.seam, to_sheet), **_STITCH),
        *(_notch(to_sheet, n.at, n.outward, n.strokes, laid) for n in laid.notches),
        *(_match_point(to_sheet, p) for p in match_points(sheet.worked, laid)),
    ]
    return svg.group(parts)


def _notch(to_sheet: Map, at: Point, outward: Point, strokes: int, laid: Laid) -> str:
    """A notch as a mark that can be seen at one to ten: from the cut edge inwards, 1.7 mm on paper."""
    seam, out = to_sheet(np.array([at, (at[0] + outward[0], at[1] + outward[1])]))
    way = (out - seam) / (np.hypot(*(out - seam)) or 1.0)
    side = np.array([-way[1], way[0]])
    scale = float(np.hypot(*(out - seam)))
    edge = seam + way * to_cut_edge(laid.cut, at, outward) * scale
    marks = []
    for i in range(strokes):
        a = edge + side * (i - (strokes - 1) / 2) * 1.0
        b = a - way * 1.7
        marks.append(svg.line(a[0], a[1], b[0], b[1], stroke_width=0.45))
    return "".join(marks)


def match_points(worked: WorkedJob, laid: Laid) -> list[Point]:
    """Where the pattern is to meet: the middles of its matched seams, in the piece's own frame."""
    wished = {d.seam_id for d in worked.match.drifts if d.wish != "ignore" and d.verdict != "not matched"}
    points = []
    for seam in worked.construction.seams:
        if seam.id not in wished:
            continue
        for end in (seam.a, seam.b):
            if end.part_id != laid.part_id:
                continue
            point = end.path.point_at(end.path.length / 2)
            if laid.part_mm is None or laid.part_mm[0] - 1e-6 <= point[0] <= laid.part_mm[1] + 1e-6:
                points.append(point)
    return points


def _match_point(to_sheet: Map, at: Point) -> str:
    x, y = to_sheet(np.array([at]))[0]
    return svg.element("circle", cx=float(x), cy=float(y), r=1.15, fill=PAPER, stroke=CHALK, stroke_width=0.55)


def piece_words(worked: WorkedJob, laid: Laid) -> list[str]:
    """What is written on a piece: cushion, name and hand, which of how many."""
    cushion = cushion_of(worked, laid.of.cushion_id)
    several = len(worked.job.cushions) > 1 and cushion is not None
    name = say(laid.of.name, worked.job.words)
    layer = _layer(worked, laid)
    if layer:
        name = f"{name}, {layer}"
    if isinstance(laid.of, Piece) and laid.of.hand and laid.of.hand not in name.lower():
        name = f"{name}, {laid.of.hand} hand"
    which = f"{laid.number} of {laid.count}" if laid.count > 1 else ""
    if laid.parts > 1:
        which = " · ".join(t for t in (which, f"part {laid.part} of {laid.parts}") if t)
    head = [cushion.name] if several and cushion and not name.lower().startswith(cushion.name.lower()) else []
    return [*head, name, *([which] if which else [])]


def _layer(worked: WorkedJob, laid: Laid) -> str:
    """What is said of a piece that is cut through both layers of its cloth; nothing of any other."""
    plan = worked.plans.get(worked.job.cloth(laid.of.cloth_id).id)
    return "" if plan is None else layers_said(plan, back_up=worked.job.marked == "back_up").get(laid.key, "")


def _label(sheet: _Sheet, laid: Laid) -> str | None:
    """The words on a piece with its arrow to the front; None where they cannot be read in it."""
    area = sheet.shown().intersection(laid.on_cloth)
    polygons = svg.polygons_of(area)
    if not polygons:
        return ""
    on_sheet = Polygon(sheet.to_sheet(np.asarray(max(polygons, key=lambda p: p.area).exterior.coords)[:-1]))
    words = piece_words(sheet.worked, laid)
    if round(laid.place.turn_deg) % 90:
        return _slanting_label(sheet, laid, " · ".join(words))
    arrow = _arrow_way(sheet, laid)
    room = on_sheet.buffer(-0.45)
    x0, y0, x1, y1 = room.bounds
    stacks = [words, [" · ".join(words)]]
    for size in (4.6, 4.0, 3.6, 3.2, 2.9, 2.6, _SMALLEST_MM):
        for upright in (False, True):
            for lines in stacks:
                found = _placed_label(room, (x1 - x0, y1 - y0), lines, size, upright, arrow)
                if found is not None:
                    return found
    return None


def _slanting_label(sheet: _Sheet, laid: Laid, words: str) -> str | None:
    """Words along a strip that lies on the bias."""
    x0, y0, x1, y1 = laid.cut.bounds()
    room_w, room_h = (x1 - x0) * sheet.scale - 6, (y1 - y0) * sheet.scale - 0.5
    size = next((s for s in (3.2, 2.9, 2.6, _SMALLEST_MM) if svg.text_width(words, s, bold=True) <= room_w), 0.0)
    if not size or size * 1.06 > room_h:
        return None
    (ax, ay), (bx, by) = sheet.from_piece(laid)(np.array([(x0, (y0 + y1) / 2), (x1, (y0 + y1) / 2)]))
    turn = math.degrees(math.atan2(by - ay, bx - ax))
    turn = turn - 180 if turn > 90 else turn + 180 if turn <= -90 else turn
    cx, cy, wide, high = (ax + bx) / 2, (ay + by) / 2, svg.text_width(words, size, bold=True) + 1.4, size * 1.08
    plate = svg.rect(cx - wide / 2, cy - high / 2, wide, high, fill=PAPER, fill_opacity=0.9, rx=0.8)
    inner = [plate, svg.text(cx, cy + size * 0.32, words, size, anchor="middle", bold=True)]
    return svg.group(inner, transform=f"rotate({svg.figure(turn)} {svg.figure(cx)} {svg.figure(cy)})")


def _placed_label(
    room: BaseGeometry, extent: Point, lines: list[str], size: float, upright: bool, arrow: Point | None
) -> str | None:
    wide = max(svg.text_width(t, size, bold=i == 0) for i, t in enumerate(lines)) + 1.4
    high = len(lines) * size * 1.16 + 0.7 if len(lines) > 1 else size * 1.06 + 0.2
    arrow_room = (4.2 + size) if arrow is not None else 0.0
    beside = len(lines) == 1 or extent[1] < high + arrow_room
    full_w, full_h = (wide + (arrow_room if beside else 0.0), high + (0.0 if beside else arrow_room))
    box_w, box_h = (full_h, full_w) if upright else (full_w, full_h)
    if box_w > extent[0] or box_h > extent[1]:
        return None
    at = svg.spot(room, box_w, box_h)
    if at is None:
        return None
    x, y = at
    dx, dy = (-arrow_room / 2, 0.0) if beside else (0.0, arrow_room / 2)
    if upright:
        dx, dy = -dy, -dx
    cx, cy = x + dx, y + dy
    plate_w, plate_h = (high, wide) if upright else (wide, high)
    parts = [svg.rect(cx - plate_w / 2, cy - plate_h / 2, plate_w, plate_h, fill=PAPER, fill_opacity=0.9, rx=0.8)]
    for i, words in enumerate(lines):
        offset = -high / 2 + (0.35 if len(lines) > 1 else 0.0) + size * (0.84 + 1.16 * i)
        tx, ty = (cx + offset, cy) if upright else (cx, cy + offset)
        parts.append(svg.text(tx, ty, words, size, anchor="middle", bold=i == 0, turn_deg=-90 if upright else 0))
    if arrow is not None:
        ax, ay = x - (dx and math.copysign(plate_w / 2, dx)), y - (dy and math.copysign(plate_h / 2, dy))
        parts.append(_front_arrow(ax, ay, arrow, arrow_room - 0.6))
    return svg.group(parts)


def _arrow_way(sheet: _Sheet, laid: Laid) -> Point | None:
    front = laid.front
    if front == (0.0, 0.0):
        return None
    a, b = sheet.from_piece(laid)(np.array([(0.0, 0.0), front]))
    way = (b - a) / (np.hypot(*(b - a)) or 1.0)
    return float(way[0]), float(way[1])


def _front_arrow(x: float, y: float, way: Point, length: float) -> str:
    """An arrow to the front on a disc of paper, centred at (x, y)."""
    half = min(length, 7.0) / 2
    disc = svg.element("circle", cx=float(x), cy=float(y), r=half + 0.3, fill=PAPER, fill_opacity=0.9)
    return disc + svg.arrow(
        x - way[0] * half, y - way[1] * half, way[0], way[1], 2 * half, stroke_width=0.5, stroke=INK
    )


def _numbers(drawing: _Drawing) -> list[str]:
    """The numbers of pieces too small for words, moved along a piece until none runs into another."""
    sheet, taken, found = drawing.sheet, list[tuple[float, float, float, float]](), []
    for (number, laid), label in zip(drawing.numbered, drawing.labels, strict=True):
        if label is not None:
            continue
        words = str(number)
        half = (svg.text_width(words, LETTERING_MM, bold=True) + 0.8) / 2, LETTERING_MM / 2
        x, y = _clearest(_along_middle(sheet, laid), half, taken)
        taken.append((x, y, *half))
        found.append(svg.text(x, y + LETTERING_MM * 0.34, words, LETTERING_MM, anchor="middle", bold=True, halo=PAPER))
    return found


def _clearest(spots: list[Point], half: Point, taken: list[tuple[float, float, float, float]]) -> Point:
    """The first of the spots at which a box runs into none that are taken, else where it runs into them least."""
    best, least = spots[0], math.inf
    for x, y in spots:
        into = sum(
            max(0.0, half[0] + wide - abs(x - at_x)) * max(0.0, half[1] + high - abs(y - at_y))
            for at_x, at_y, wide, high in taken
        )
        if into < least:
            best, least = (x, y), into
        if not least:
            break
    return best


def _along_middle(sheet: _Sheet, laid: Laid) -> list[Point]:
    """Places for a number down the middle of a piece, from its middle outwards to its ends."""
    x0, y0, x1, y1 = laid.cut.bounds()
    across = x1 - x0 < y1 - y0
    shares = [0.5 + way * k / 24 for k in range(11) for way in ((1, -1) if k else (1,))]
    line = [((x0 + x1) / 2, y0 + t * (y1 - y0)) if across else (x0 + t * (x1 - x0), (y0 + y1) / 2) for t in shares]
    right = _SIDE_MM + (sheet.v1_mm - sheet.v0_mm) * sheet.scale
    within = [
        (x, y)
        for x, y in sheet.from_piece(laid)(np.array(line)).tolist()
        if _SIDE_MM + 2 < x < right - 2 and sheet.top_mm + 2 < y < sheet.bottom_mm - 2
    ]
    if within and abs(laid.cut.area - (x1 - x0) * (y1 - y0)) < 1.0:
        return within
    middle = Polygon(sheet.to_sheet(np.asarray(laid.on_cloth.exterior.coords)[:-1])).representative_point()
    return [(middle.x, middle.y)]


def _key(sheet: _Sheet, keyed: list[tuple[int, Laid]]) -> tuple[str, float]:
    """The key of pieces too small for their words, in columns."""
    if not keyed:
        return "", 0.0
    runs: list[list[tuple[int, str]]] = []
    for i, x in keyed:
        words = piece_words(sheet.worked, x)
        name = " · ".join(words if x.count == 1 and x.parts == 1 else words[:-1])
        if runs and runs[-1][-1] == (i - 1, name):
            runs[-1].append((i, name))
        else:
            runs.append([(i, name)])
    entries = [
        f"{run[0][0]}–{run[-1][0]} · {run[0][1]}" if len(run) > 1 else f"{run[0][0]} · {run[0][1]}" for run in runs
    ]
    size = LETTERING_MM
    column = max(svg.text_width(t, size) for t in entries) + 6
    columns = max(1, int((SHEET_MM - 2 * _SIDE_MM) // column))
    rows = math.ceil(len(entries) / columns)
    drawn = [svg.text(_SIDE_MM + column * (k // rows), 4.5 + 4.3 * (k % rows), t, size) for k, t in enumerate(entries)]
    return "".join(drawn), 4.5 + 4.3 * rows


def _folded(sheet: _Sheet) -> str:
    """Where the cloth is cut double: the fold, and how far it goes."""
    fold, along = sheet.plan.fold, sheet.cloth.cut_scale[1]
    if fold is None or sheet.v0_mm >= fold.until_mm * along:
        return ""
    y = sheet.point(sheet.plan.problem.usable_width_mm / 2, 0.0)[1]
    x1 = sheet.point(0.0, min(fold.until_mm, sheet.v1_mm / along))[0]
    words = "folded here, face to face"
    parts = [svg.line(_SIDE_MM, y, x1, y, stroke=PAPER, stroke_width=1.1), _dashed(_SIDE_MM, y, x1, y)]
    if fold.until_mm * along <= sheet.v1_mm:
        parts.append(_dashed(x1, sheet.top_mm, x1, sheet.bottom_mm))
    if svg.text_width(words, 2.9) < x1 - _SIDE_MM - 2:
        parts.append(svg.text(_SIDE_MM + 1.5, y - 0.9, words, 2.9, halo=PAPER))
    return svg.group(parts)


def _dashed(x1: float, y1: float, x2: float, y2: float) -> str:
    return svg.line(x1, y1, x2, y2, stroke_width=0.6, stroke_dasharray="4 1.4")


def _remnant(sheet: _Sheet) -> str:
    left = remnant_mm(sheet.worked, sheet.cloth.id)
    if left is None:
        return ""
    along = sheet.cloth.cut_scale[1]
    used = sheet.plan.lay.length_mm
    x0, _ = sheet.point(0.0, used)
    x1, _ = sheet.point(0.0, used + min(left, _SHOWN_REMNANT_MM) / along)
    words = f"left over {_length(left, sheet.job.style)} × {_length(sheet.width_mm, sheet.job.style)}"
    parts = [svg.line(x0, sheet.top_mm, x0, sheet.bottom_mm, stroke_width=0.7, stroke_dasharray="3 1.5")]
    middle = (sheet.top_mm + sheet.bottom_mm) / 2
    if x1 - x0 > svg.text_width(words, 4) + 3:
        parts.append(svg.text((x0 + x1) / 2, middle, words, 4.0, anchor="middle", halo=PAPER))
    elif x1 - x0 > 5 and svg.text_width(words, 3.2) < sheet.bottom_mm - sheet.top_mm:
        parts.append(svg.text((x0 + x1) / 2 + 1.1, middle, words, 3.2, anchor="middle", turn_deg=-90, halo=PAPER))
    return svg.group(parts)


def _length(length_mm: float, style: Style) -> str:
    return format_length(length_mm, style)


def _edges(sheet: _Sheet, whole: bool) -> list[str]:
    """Selvages, thick, with their names; the cut end; a broken end where the cloth goes on."""
    words = sheet.job.words
    x0, x1 = _SIDE_MM, _SIDE_MM + (sheet.v1_mm - sheet.v0_mm) * sheet.scale
    up = sheet.job.marked == "face_up"
    names = ("left", "right") if up else ("right", "left")
    names = tuple(say(f"{n} [[selvage]]", words) for n in names)  # type: ignore[assignment]
    parts = [
        svg.line(x0, sheet.top_mm, x1, sheet.top_mm, stroke_width=0.9),
        svg.line(x0, sheet.bottom_mm, x1, sheet.bottom_mm, stroke_width=0.9),
        svg.text(SHEET_MM - _SIDE_MM, sheet.top_mm - 1.2, names[0], 3.2, anchor="end"),
        svg.text(SHEET_MM - _SIDE_MM, sheet.bottom_mm + 9.6, names[1], 3.2, anchor="end"),
    ]
    for x, is_end in ((x0, sheet.v0_mm == 0.0), (x1, whole)):
        parts.append(_cut_end(sheet, x) if is_end else _broken(sheet, x))
    if sheet.v0_mm == 0.0:
        middle = (sheet.top_mm + sheet.bottom_mm) / 2
        parts.append(svg.text(x0 - 1.6, middle, "cut end", 3.2, anchor="middle", turn_deg=-90))
    return parts


def _cut_end(sheet: _Sheet, x: float) -> str:
    return svg.line(x, sheet.top_mm, x, sheet.bottom_mm, stroke_width=0.7)


def _broken(sheet: _Sheet, x: float) -> str:
    steps = max(6, round((sheet.bottom_mm - sheet.top_mm) / 6))
    ys = np.linspace(sheet.top_mm, sheet.bottom_mm, steps + 1)
    xs = x + np.where(np.arange(steps + 1) % 2, 1.2, -1.2)
    return svg.stroke(svg.polyline_d(np.column_stack((xs, ys))), stroke_width=0.5)


def ruler_steps(style: Style, scale: float) -> tuple[float, float]:
    """Small and figured steps of the running measure, mm."""
    steps = (1, 2, 3, 6, 12, 36, 72) if style.system == "imperial" else (50, 100, 200, 500, 1000, 2000)
    unit = MM_PER_INCH if style.system == "imperial" else 1.0
    sizes = [s * unit for s in steps]
    figured = next((s for s in sizes if s * scale >= 14.0), sizes[-1])
    small = next((s for s in sizes if s * scale >= 2.4 and (figured / s) % 1 < 1e-9), figured)
    return small, figured


def _ruler(sheet: _Sheet) -> list[str]:
    """The running measure from the cut end, along the lower edge."""
    small, figured = ruler_steps(sheet.job.style, sheet.scale)
    y = sheet.bottom_mm
    parts = []
    k = math.ceil(sheet.v0_mm / small - 1e-9)
    while k * small <= sheet.v1_mm + 1e-6:
        at = k * small
        x = _SIDE_MM + (at - sheet.v0_mm) * sheet.scale
        long = abs(at / figured - round(at / figured)) < 1e-6
        parts.append(svg.line(x, y + 0.4, x, y + (3.0 if long else 1.6), stroke=CHALK, stroke_width=0.35))
        if long:
            name = format_length(at, sheet.job.style, unit=False)
            anchor = "start" if x < _SIDE_MM + 3 else "middle"
            parts.append(svg.text(x, y + 6.2, name, LETTERING_MM, anchor=anchor, fill=CHALK))
        k += 1
    return parts


def _foot(sheet: _Sheet, y: float, *, whole: bool) -> list[str]:
    """The legend and the scale; on the whole lay, what it uses and what is proved."""
    style = sheet.job.style
    lengths, along = on_bolt(sheet.job, sheet.plan), sheet.cloth.cut_scale[1]
    figures = [
        f"uses {format_cloth_length(lengths.lay_mm, style)}",
        f"{sheet.plan.bound_said} less than {format_cloth_length(lengths.least_mm, style, to='no more')}",
        *([f"cut by rows {format_cloth_length(lengths.by_rows_mm, style)}"] if lengths.by_rows_mm else []),
        "in hand" if sheet.cloth.in_hand else f"order {format_cloth_length(sheet.plan.order_mm, style)}",
        *(
            [f"folded for {format_cloth_length(sheet.plan.fold.until_mm * along, style)}"]
            if sheet.plan.fold is not None
            else []
        ),
    ]
    unit = "inches" if style.system == "imperial" else "millimetres" if sheet.job.words == "uk" else "millimeters"
    parts = [svg.text(_SIDE_MM, y + 6.0, " · ".join(figures), 4.0, bold=True)] if whole else []
    parts.append(
        svg.text(_SIDE_MM, y + 21.5, f"running measure in {unit} from the squared cut end", LETTERING_MM, fill=CHALK)
    )
    parts.append(svg.scale_bar(SHEET_MM - 92, y + 21.5, sheet.scale, style))
    return parts + _legend(sheet, y + 13.8)


def _legend(sheet: _Sheet, y: float) -> list[str]:
    words = sheet.job.words
    datum = _datum_words(sheet)
    entries: list[tuple[str, float, str]] = [
        (svg.line(0, -1.1, 8, -1.1, stroke_width=0.5), 8, "cut"),
        (svg.line(0, -1.1, 8, -1.1, stroke_width=0.22, stroke_dasharray="1.6 0.8"), 8, "stitch"),
        (svg.arrow(0, -1.1, 1, 0, 7, stroke_width=0.5, stroke=INK), 7, "to the front"),
        (svg.line(1, -2.6, 1, 0, stroke_width=0.45), 2, say("[[notch]]", words)),
    ]
    if any(match_points(sheet.worked, x) for x in sheet.laid):
        ring = svg.element("circle", cx=1.2, cy=-1.1, r=1.15, fill=PAPER, stroke=CHALK, stroke_width=0.55)
        entries.append((ring, 2.4, "pattern meets here"))
    if datum:
        entries.append((_chalk(0, -1.1, 9, -1.1), 9, datum))
    parts, x = [], _SIDE_MM
    for drawn, wide, name in entries:
        parts.append(svg.group([drawn], transform=f"translate({svg.figure(x)} {svg.figure(y)})"))
        parts.append(svg.text(x + wide + 1.2, y, name, LETTERING_MM))
        x += wide + 1.2 + svg.text_width(name, LETTERING_MM) + 4.5
    return parts


def _datum_words(sheet: _Sheet) -> str:
    across, along = sheet.cloth.cut_scale
    pattern = sheet.cloth.pattern
    what = "motif centre" if pattern.kind == "print" else f"edge of {_first_stripe(pattern)}"
    said = []
    for way, at in datum_lines(sheet.cloth, sheet.plan):
        length = _length(at * (across if way == "across" else along), sheet.job.style)
        place = say("from the left [[selvage]]", sheet.job.words) if way == "across" else "from the cut end"
        said.append(f"{length} {place}")
    return f"datum: {what}, {', '.join(said)}" if said else ""


def _first_stripe(pattern: Pattern) -> str:
    first = pattern.stripes[0] if pattern.stripes else None
    return f"stripe {first.name}" if first and first.name else "the first stripe"


__all__ = [
    "cutting_plan_svg", "cutting_plan_svgs", "datum_lines", "lines_along", "match_points", "piece_words", "remnant_mm",
    "ruler_steps",
]  # fmt: skip
