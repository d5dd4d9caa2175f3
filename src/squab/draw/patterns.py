"""Full-size patterns: one drawing a piece, tiled on paper, or on one long sheet.

Everything is drawn at one to one. A drawing has the piece as one looks at the right side of the
cloth, y up the sheet. Where the cloth shrinks after cutting, both lines are drawn as they are
cut, larger.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry

from squab.construct.records import Notch, Piece, Strip
from squab.draw import svg
from squab.draw.cloth import drawn_pattern
from squab.draw.figures import Figures
from squab.draw.laid import (
    cushion_of,
    cut_scale_in_piece,
    first_place,
    kept_for_job,
    parts_of,
    place_on_pattern,
    turn_of,
)
from squab.draw.sheets_common import given_as
from squab.draw.sheets_cutlist import piece_sizes, strip_cut
from squab.draw.svg import CAPITAL_OF_SIZE, CAPITALS_MM, CHALK, INK, THICK_MM, THIN_MM
from squab.draw.typeset import FONT, cleaned, fonts
from squab.job import Job
from squab.plane import Outline, Placement, Point, Points, cos_sin
from squab.units import format_length
from squab.words import say
from squab.worked import WorkedJob

Paper = Literal["a4", "letter"]
PAPER_MM: Mapping[str, tuple[float, float]] = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
"""Paper sizes, upright (ISO 216; US letter 8 1/2 x 11 in)."""
MARGIN_MM = 10.0
OVERLAP_MM = 10.0
"""Nothing is printed within 10 mm of the edge, and neighbours share 10 mm."""
TEST_MM = 100.0
PT_PER_MM = 72 / 25.4
MOST_UNITS = 14_400
"""The longest side of a PDF page in its own units (PDF Reference 1.6, implementation limits)."""
_PAD_MM = 3.0
_WHITE = "#ffffff"
_LETTER_MM = math.ceil(10 * CAPITALS_MM / CAPITAL_OF_SIZE) / 10
"""The size whose capitals are as high as lettering on a piece must be: nothing on one is smaller."""


@dataclass(frozen=True)
class Drawn:
    """A piece's pattern: SVG parts in a frame of (0, 0) to (width, height), mm, y down."""

    piece: Piece
    parts: tuple[str, ...]
    width_mm: float
    height_mm: float
    title: str
    check_mm: float
    """From check ring to check ring, across the piece."""
    shape: Polygon
    """The cut piece in the drawing's frame."""


@dataclass(frozen=True)
class _Draft:
    """What is needed to draw one piece."""

    worked: WorkedJob
    piece: Piece
    also: tuple[Piece, ...]

    @cached_property
    def scale(self) -> tuple[float, float]:
        return cut_scale_in_piece(self.worked.job.cloth(self.piece.cloth_id), self.turn_deg)

    @cached_property
    def turn_deg(self) -> int:
        return turn_of(self.worked, self.piece)

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        x0, y0, x1, y1 = self.piece.cut.bounds()
        sx, sy = self.scale
        return x0 * sx, y0 * sy, x1 * sx, y1 * sy

    def to_sheet(self, xy: Points) -> Points:
        x0, _, _, y1 = self.bounds
        sx, sy = self.scale
        return np.column_stack((_PAD_MM + xy[:, 0] * sx - x0, _PAD_MM + y1 - xy[:, 1] * sy))

    def point(self, at: Point) -> Point:
        x, y = self.to_sheet(np.array([at]))[0]
        return float(x), float(y)

    def way(self, direction: Point) -> Point:
        """A direction of the piece on the sheet, unit length."""
        dx, dy = direction[0], -direction[1]
        n = math.hypot(dx, dy) or 1.0
        return dx / n, dy / n

    @cached_property
    def seam_on_sheet(self) -> Polygon:
        return Polygon(self.to_sheet(self.piece.seam.flattened()))

    @cached_property
    def cut_on_sheet(self) -> Polygon:
        return Polygon(self.to_sheet(self.piece.cut.flattened()))

    @cached_property
    def grown_cut(self) -> Polygon:
        """A hair larger, so that an edge that only touches counts."""
        return self.cut_on_sheet.buffer(1e-6)

    @cached_property
    def allowance_mm(self) -> float:
        cushion = cushion_of(self.worked, self.piece.cushion_id)
        return cushion.cover.allowance_mm if cushion else 0.0


def pattern_svg(worked: WorkedJob, piece_id: str) -> str:
    """Draw one piece at full size, with a test square of 100 mm beside it.

    Raises
    ------
    KeyError
        If the job has no such piece.
    """
    drawn = _drawn(worked, piece_id)
    square_x = drawn.width_mm
    width, height = drawn.width_mm + TEST_MM + 16.0, max(drawn.height_mm, TEST_MM + 26.0)
    return svg.document(
        width,
        height,
        [*drawn.parts, *_test_square(worked, square_x, 12.0)],
        title=f"{drawn.title}, full size",
        ground=_WHITE,
    )


def pattern_svgs(worked: WorkedJob) -> dict[str, str]:
    """Every pattern of the job by the id of its piece, alike ones once."""
    return {kinds[0].id: pattern_svg(worked, kinds[0].id) for kinds in _unlike(worked, _pieces(worked))}


def _piece(worked: WorkedJob, piece_id: str) -> Piece:
    found = parts_of(worked).get(piece_id)
    if not isinstance(found, Piece):
        raise KeyError(piece_id)
    return found


def _pieces(worked: WorkedJob) -> list[Piece]:
    return list(worked.construction.pieces)


def is_by_measure(piece: Piece) -> bool:
    """Tell whether a piece is a plain strip that is marked with a rule, not round a paper."""
    return piece.kind in ("boxing", "zip_panel", "tie", "handle") and _is_rectangle(piece.cut)


def _is_rectangle(outline: Outline) -> bool:
    x0, y0, x1, y1 = outline.bounds()
    return len(outline.edges) == 4 and abs(outline.area - (x1 - x0) * (y1 - y0)) < 1e-3


def _unlike(worked: WorkedJob, pieces: Sequence[Piece]) -> list[list[Piece]]:
    """Gather pieces of one shape with the same marks: one paper serves them all."""
    alike: dict[tuple[object, ...], list[Piece]] = {}
    for piece in pieces:
        alike.setdefault(_shape_key(worked, piece.id), []).append(piece)
    return list(alike.values())


@kept_for_job
def _shape_key(worked: WorkedJob, piece_id: str) -> tuple[object, ...]:
    piece = _piece(worked, piece_id)
    x0, y0, _, _ = piece.cut.bounds()

    def rounded(points: Sequence[Point] | Points) -> tuple[tuple[float, float], ...]:
        return tuple(sorted((round(float(p[0]) - x0, 2) + 0.0, round(float(p[1]) - y0, 2) + 0.0) for p in points))

    marks = tuple(sorted((*rounded([n.at])[0], n.strokes) for n in piece.notches))
    snips = rounded([s.at for s in piece.snips])
    turned = turn_of(worked, piece) % 360
    front = (round(piece.front[0], 3), round(piece.front[1], 3))
    size = worked.job.cloth(piece.cloth_id).cut_scale
    return rounded(piece.cut.flattened(0.2)), rounded(piece.seam.flattened(0.2)), marks, snips, turned, front, size


@kept_for_job
def _drawn(worked: WorkedJob, piece_id: str, *also_ids: str) -> Drawn:
    """Draw one piece; `also_ids` are the pieces that the same paper serves."""
    piece, *also = (_piece(worked, i) for i in (piece_id, *also_ids))
    draft = _Draft(worked, piece, tuple(also))
    x0, y0, x1, y1 = draft.bounds
    width, height = x1 - x0 + 2 * _PAD_MM, y1 - y0 + 2 * _PAD_MM
    arrows, taken = _arrows(draft)
    label, label_box = _label(draft, taken)
    parts = [
        _outline(draft, piece.cut, stroke_width=THICK_MM),
        _outline(draft, piece.seam, stroke_width=THIN_MM, stroke_dasharray="6 2.5"),
        *_pattern_lines(draft, label_box),
        *(_notch(draft, n) for n in piece.notches),
        *(_snip(draft, s.at, s.outward, s.depth_mm) for s in piece.snips),
        *arrows,
        label,
    ]
    marks, check = _check_marks(draft)
    return Drawn(piece, (*parts, *marks), width, height, _title(worked, piece), check, draft.cut_on_sheet)


def _title(worked: WorkedJob, piece: Piece | Strip) -> str:
    cushion = cushion_of(worked, piece.cushion_id)
    name = say(piece.name, worked.job.words)
    if cushion is None or name.lower().startswith(cushion.name.lower()):
        return name
    return f"{cushion.name} · {name}"


def _outline(draft: _Draft, outline: Outline, **attributes: object) -> str:
    sx, sy = draft.scale
    if abs(sx - sy) < 1e-12:
        return svg.stroke(svg.outline_d(outline, draft.to_sheet), **attributes)
    return svg.stroke(svg.polyline_d(draft.to_sheet(outline.flattened(0.01)), closed=True), **attributes)


def _notch(draft: _Draft, notch: Notch) -> str:
    """A notch as it is cut (or chalked), its strokes 5 mm apart, and the name of its pair."""
    cushion = cushion_of(draft.worked, draft.piece.cushion_id)
    depth, way = (cushion.cover.notching.depth_mm, cushion.cover.notching.way) if cushion else (5.0, "inward")
    x, y = draft.point(notch.at)
    dx, dy = draft.way(notch.outward)
    room = _to_cut_edge(draft, (x, y), (dx, dy)) or draft.allowance_mm
    ex, ey = x + dx * room, y + dy * room
    parts = []
    for i in range(notch.strokes):
        off = (i - (notch.strokes - 1) / 2) * 5.0
        ax, ay = ex - dy * off, ey + dx * off
        if way == "outward":
            tip = np.array(
                [(ax - dy * 2.5, ay + dx * 2.5), (ax + dx * depth, ay + dy * depth), (ax + dy * 2.5, ay - dx * 2.5)]
            )
            parts.append(svg.stroke(svg.polyline_d(tip), stroke_width=THICK_MM))
        elif way == "chalk":
            parts.append(svg.line(ax, ay, ax - dx * room, ay - dy * room, stroke=CHALK, stroke_width=THICK_MM))
        else:
            parts.append(svg.line(ax, ay, ax - dx * depth, ay - dy * depth, stroke_width=THICK_MM))
    name = notch.pair.rpartition(":")[2]
    if name:
        size = _LETTER_MM
        tx, ty = x - dx * (3.2 + abs(dx) * 0.32 * size * len(name)), y - dy * 4.6
        parts.append(svg.text(tx, ty + size * 0.34, name, size, anchor="middle", fill=CHALK, halo=_WHITE))
    return svg.group(parts)


def _to_cut_edge(draft: _Draft, at: Point, way: Point) -> float:
    """From a point on the sheet along a direction to the cut edge; nought where there is none."""
    (x, y), (dx, dy) = at, way
    ray = LineString([(x, y), (x + 80 * dx, y + 80 * dy)]).intersection(draft.grown_cut)
    return float(ray.length)


def _snip(draft: _Draft, at: Point, outward: Point, depth: float) -> str:
    """A cut into the allowance, drawn as long as it is, with a mark across where it stops."""
    x, y = draft.point(at)
    dx, dy = draft.way(outward)
    room = _to_cut_edge(draft, (x, y), (dx, dy)) or depth
    ex, ey = x + dx * room, y + dy * room
    sx, sy = ex - dx * depth, ey - dy * depth
    stop = svg.line(sx - dy * 1.5, sy + dx * 1.5, sx + dy * 1.5, sy - dx * 1.5, stroke_width=THIN_MM)
    return svg.line(ex, ey, sx, sy, stroke_width=THICK_MM, stroke_dasharray="2 1") + stop


def _arrows(draft: _Draft) -> tuple[list[str], BaseGeometry]:
    """The warp line and the arrow to the front; and the room they take."""
    c, s = cos_sin(-draft.turn_deg)
    warp = draft.way((-s, c))
    words = draft.worked.job.words
    room = draft.seam_on_sheet.buffer(-3.0)
    parts: list[str] = []
    taken: list[BaseGeometry] = []
    grain = _line_across(room, warp, 0.2)
    if grain is not None:
        (ax, ay), (bx, by), length = grain
        long = min(length * 0.8, 320.0)
        mx, my = (ax + bx) / 2, (ay + by) / 2
        sx, sy = mx - warp[0] * long / 2, my - warp[1] * long / 2
        parts.append(svg.arrow(mx, my, warp[0], warp[1], long / 2, stroke_width=THIN_MM, stroke=INK))
        parts.append(svg.arrow(mx, my, -warp[0], -warp[1], long / 2, stroke_width=THIN_MM, stroke=INK))
        parts.append(_along(sx + warp[0] * long * 0.5, sy + warp[1] * long * 0.5, warp, say("[[warp]]", words), long))
        taken.append(LineString([(sx, sy), (sx + warp[0] * long, sy + warp[1] * long)]).buffer(8.0))
    front = draft.way(draft.piece.front)
    found = _line_across(room, front, 0.8)
    if found is not None and draft.piece.front != (0.0, 0.0):
        (ax, ay), (bx, by), length = found
        long = min(length * 0.7, 70.0)
        sx, sy = (ax + bx) / 2 - front[0] * long / 2, (ay + by) / 2 - front[1] * long / 2
        parts.append(svg.arrow(sx, sy, front[0], front[1], long, stroke_width=1.1, stroke=INK))
        parts.append(_along((ax + bx) / 2, (ay + by) / 2, front, _front_word(draft), long))
        taken.append(LineString([(sx, sy), (sx + front[0] * long, sy + front[1] * long)]).buffer(8.0))
    return parts, shapely.union_all(taken) if taken else Polygon()


def _front_word(draft: _Draft) -> str:
    return "down" if draft.piece.kind in ("boxing", "zip_panel") else "front"


def _line_across(room: BaseGeometry, way: Point, at: float) -> tuple[Point, Point, float] | None:
    """The longest stretch of a line along `way` inside a region, `at` of the way across it."""
    if room.is_empty:
        return None
    x0, y0, x1, y1 = room.bounds
    side = (abs(way[1]), abs(way[0]))
    cx = x0 + (x1 - x0) * (at if side[0] > side[1] else 0.5)
    cy = y0 + (y1 - y0) * (at if side[1] >= side[0] else 0.5)
    reach = (x1 - x0) + (y1 - y0)
    cut = LineString([(cx - way[0] * reach, cy - way[1] * reach), (cx + way[0] * reach, cy + way[1] * reach)])
    runs = [g for g in shapely.get_parts(cut.intersection(room)) if g.length > 6.0]
    if not runs:
        return None
    run = max(runs, key=lambda g: g.length)
    a, b = run.coords[0], run.coords[-1]
    return (a[0], a[1]), (b[0], b[1]), float(run.length)


def _along(x: float, y: float, way: Point, words: str, room: float) -> str:
    """A word beside a line, read from below or from the right."""
    size = _LETTER_MM
    if svg.text_width(words, size) > room * 0.9:
        return ""
    if abs(way[1]) > abs(way[0]):
        return svg.text(x - 1.8, y, words, size, anchor="middle", turn_deg=-90, halo=_WHITE)
    return svg.text(x, y - 1.8, words, size, anchor="middle", halo=_WHITE)


def _pattern_lines(draft: _Draft, label_box: BaseGeometry) -> list[str]:
    """Where the pattern's datum lines cross the piece, if it must sit in one place on the pattern."""
    place = pattern_place(draft.worked, draft.piece)
    if place is None:
        return []
    segments, name = datum_segments(draft.worked, draft.piece, place)
    parts = []
    nearest, best = None, math.inf
    middle = draft.seam_on_sheet.centroid
    for a, b in segments:
        (xa, ya), (xb, yb) = draft.point(a), draft.point(b)
        line = LineString([(xa, ya), (xb, yb)])
        shown = line.difference(label_box.buffer(1.0)) if not label_box.is_empty else line
        for g in shapely.get_parts(shown):
            if g.is_empty:  # the whole line is behind the label
                continue
            (x1, y1), (x2, y2) = g.coords[0], g.coords[-1]
            parts.append(svg.line(x1, y1, x2, y2, stroke=CHALK, stroke_width=THIN_MM, stroke_dasharray="9 2 2 2"))
        if line.distance(middle) < best:
            nearest, best = line, line.distance(middle)
    if nearest is not None and nearest.length > 40:
        x, y = nearest.interpolate(0.12, normalized=True).coords[0]
        (xa, ya), (xb, yb) = nearest.coords
        upright = abs(yb - ya) > abs(xb - xa)
        parts.append(
            svg.text(x, y, name, _LETTER_MM, anchor="middle", turn_deg=-90 if upright else 0, fill=CHALK, halo=_WHITE)
        )
    return parts


def pattern_place(worked: WorkedJob, piece: Piece) -> Placement | None:
    """Where a matched piece sits on the pattern, from the lay of its first; None where it may sit anywhere."""
    placing = worked.match.placings.get(piece.id)
    if placing is None or placing.phase is None:
        return None
    place = first_place(worked, piece)
    if place is not None:
        return place_on_pattern(worked, piece.cloth_id, piece.id, place)
    phase, anchor = placing.phase, worked.match.anchors.get(placing.phase.group)
    if anchor is None or (anchor.a is None and anchor.b is None):
        return None
    t_p = phase.sign_p * (anchor.a or 0.0) + (phase.off_p or 0.0)
    t_q = phase.sign_q * (anchor.b or 0.0) + (phase.off_q or 0.0)
    return Placement(placing.turns_deg[0] if placing.turns_deg else 0, t_p, t_q)


def datum_segments(worked: WorkedJob, piece: Piece, place: Placement) -> tuple[list[tuple[Point, Point]], str]:
    """The pattern's datum lines across a piece, in its own frame, and the line's name.

    A stripe has its first named line (else its layout's first edge) in every repeat; a print
    has a cross of 30 mm on every motif's centre.
    """
    cloth = worked.job.cloth(piece.cloth_id)
    pattern = drawn_pattern(cloth)
    region = Polygon(place.points(piece.seam.flattened()))
    p0, q0, p1, q1 = region.bounds
    across, along = pattern.repeat_across_mm, pattern.repeat_along_mm
    name, at = pattern.lines[0] if pattern.lines else ("edge of the layout", 0.0)
    lines: list[LineString] = []
    if pattern.kind == "print" and across and along:
        name = "motif centre"
        for i in range(math.floor(p0 / across), math.ceil(p1 / across) + 1):
            for j in range(
                math.floor((q0 - i * pattern.drop_mm) / along), math.ceil((q1 - i * pattern.drop_mm) / along) + 1
            ):
                p, q = i * across, j * along + i * pattern.drop_mm
                lines += [LineString([(p - 15, q), (p + 15, q)]), LineString([(p, q - 15), (p, q + 15)])]
    elif pattern.kind == "warp_stripe" and across:
        ks = range(math.floor((p0 - at) / across), math.ceil((p1 - at) / across) + 1)
        lines = [LineString([(at + k * across, q0 - 1), (at + k * across, q1 + 1)]) for k in ks]
    elif pattern.kind == "weft_stripe" and along:
        ks = range(math.floor((q0 - at) / along), math.ceil((q1 - at) / along) + 1)
        lines = [LineString([(p0 - 1, at + k * along), (p1 + 1, at + k * along)]) for k in ks]
    found = [g for line in lines for g in shapely.get_parts(line.intersection(region)) if g.length > 1.0]
    return [(place.local(_two(g.coords[0])), place.local(_two(g.coords[-1]))) for g in found], name


def _two(coordinate: Sequence[float]) -> Point:
    return float(coordinate[0]), float(coordinate[1])


def _label(draft: _Draft, taken: BaseGeometry) -> tuple[str, BaseGeometry]:
    """Name, count, hand, cloth and sizes inside the piece, as large as there is room for."""
    lines = _label_lines(draft)
    room = draft.seam_on_sheet.buffer(-2.5).difference(taken)
    inside = draft.seam_on_sheet.buffer(-2.5)
    stacks = [lines, [lines[0], " · ".join(lines[1:])], [" · ".join(lines)]]
    for size in (7.0, 6.0, 5.4, _LETTER_MM, 4.2, 3.6, 3.0):  # smaller only on a piece too small for more
        for stack in stacks:
            for where in (room, inside) if size <= _LETTER_MM else (room,):
                widths = [svg.text_width(t, _size(i, size), bold=i == 0) for i, t in enumerate(stack)]
                wide, high = max(widths) + 3, sum(_size(i, size) * 1.25 for i in range(len(stack))) + 2
                at = svg.spot(where, wide, high)
                if at is not None:
                    return _stacked(stack, at, size, high), box(
                        at[0] - wide / 2, at[1] - high / 2, at[0] + wide / 2, at[1] + high / 2
                    )
    x0, _, x1, y1 = draft.seam_on_sheet.bounds
    return svg.text((x0 + x1) / 2, y1 + _PAD_MM - 2, lines[0], 3.0, anchor="middle"), Polygon()


def _size(i: int, size: float) -> float:
    return size * 1.35 if i == 0 else size


def _stacked(lines: Sequence[str], at: Point, size: float, high: float) -> str:
    y, parts = at[1] - high / 2 + 1, []
    for i, words in enumerate(lines):
        y += _size(i, size) * 1.25
        parts.append(svg.text(at[0], y - _size(i, size) * 0.35, words, _size(i, size), anchor="middle", bold=i == 0))
    return svg.group(parts)


def _label_lines(draft: _Draft) -> list[str]:
    job, piece = draft.worked.job, draft.piece
    cloth = job.cloth(piece.cloth_id)
    hand = f" · {piece.hand} hand" if piece.hand else ""
    way_up = "print down on the back" if job.marked == "back_up" else "face up"
    lines = [_title(draft.worked, piece), f"cut {piece.count}{hand} · {cloth.name} · {way_up}"]
    x0, y0, x1, y1 = piece.seam.bounds()
    cx0, cy0, cx1, cy1 = draft.bounds
    seam = f"{format_length(x1 - x0, job.style, unit=False)} × {format_length(y1 - y0, job.style)}"
    cut = f"{format_length(cx1 - cx0, job.style, unit=False)} × {format_length(cy1 - cy0, job.style)}"
    lines.append(f"stitch line {seam} · cut {cut}")
    said = f"{say('[[seam allowance]]', job.words)} {format_length(draft.allowance_mm, job.style)}"
    if draft.scale != (1.0, 1.0):
        said += " · drawn larger for shrinking"
    lines.append(said)
    for other in draft.also:
        lines.append(f"also {_title(draft.worked, other)}: cut {other.count}, {job.cloth(other.cloth_id).name}")
    return lines


def _check_marks(draft: _Draft) -> tuple[list[str], float]:
    """Two ringed crosses far apart on the piece: the length between them proves the sheets are joined true."""
    inside = draft.cut_on_sheet.buffer(-6.0)
    hull = (inside if not inside.is_empty else draft.cut_on_sheet).convex_hull
    points = shapely.get_coordinates(hull)
    sums = points @ np.array([1.0, 1.0])
    a, b = points[int(np.argmin(sums))], points[int(np.argmax(sums))]
    length = float(np.hypot(*(b - a)))
    words = f"check {format_length(length, draft.worked.job.style)} from ring to ring"
    (ax, ay), (bx, by) = (float(a[0]), float(a[1])), (float(b[0]), float(b[1]))
    return [
        _ringed(ax, ay),
        _ringed(bx, by),
        svg.text(ax + 4.5, ay + 1.6, words, _LETTER_MM, fill=CHALK, halo=_WHITE),
    ], length


def _ringed(x: float, y: float) -> str:
    ring = svg.element("circle", cx=x, cy=y, r=2.6, fill="none", stroke=CHALK, stroke_width=THIN_MM)
    cross = svg.line(x - 3.6, y, x + 3.6, y, stroke=CHALK) + svg.line(x, y - 3.6, x, y + 3.6, stroke=CHALK)
    return ring + cross


def _test_square(worked: WorkedJob, x: float, y: float) -> list[str]:
    """A square of exactly 100 mm, to be measured before anything is cut."""
    words = ["100 mm each way", "measure this square before you cut"]
    return [
        svg.rect(x, y, TEST_MM, TEST_MM, fill="none", stroke=INK, stroke_width=THIN_MM),
        *(
            svg.text(x + TEST_MM / 2, y + TEST_MM / 2 + 7.5 * i - 1, t, _LETTER_MM, anchor="middle")
            for i, t in enumerate(words)
        ),
    ]


@dataclass(frozen=True, slots=True)
class Tiling:
    """How a drawing is cut up on paper: so many columns and rows of upright or lying sheets."""

    columns: int
    rows: int
    page_mm: tuple[float, float]

    @property
    def window_mm(self) -> tuple[float, float]:
        """What one sheet shows."""
        return self.page_mm[0] - 2 * MARGIN_MM, self.page_mm[1] - 2 * MARGIN_MM

    @property
    def step_mm(self) -> tuple[float, float]:
        """From sheet to sheet."""
        return self.window_mm[0] - OVERLAP_MM, self.window_mm[1] - OVERLAP_MM

    @property
    def pages(self) -> int:
        """How many sheets."""
        return self.columns * self.rows


def tiling(width_mm: float, height_mm: float, page_mm: tuple[float, float]) -> Tiling:
    """Cut a drawing up on one size of page, margins and overlap of 10 mm.

    >>> tiling(1200, 600, (210, 297)).pages, tiling(1200, 600, (297, 210)).pages
    (21, 20)
    """
    steps = [p - 2 * MARGIN_MM - OVERLAP_MM for p in page_mm]
    columns, rows = (
        max(1, math.ceil((size - OVERLAP_MM - 1e-9) / step))
        for size, step in zip((width_mm, height_mm), steps, strict=True)
    )
    return Tiling(columns, rows, page_mm)


def best_tiling(width_mm: float, height_mm: float, paper: Paper) -> Tiling:
    """The way up that takes fewer sheets; upright where it is all the same."""
    w, h = PAPER_MM[paper]
    return min((tiling(width_mm, height_mm, (w, h)), tiling(width_mm, height_mm, (h, w))), key=lambda t: t.pages)


def sheet_name(row: int, column: int) -> str:
    """A sheet's name: row A, B, .. Z, AA from the top, column 1, 2, .. from the left."""
    letters = ""
    n = row + 1
    while n:
        n, rest = divmod(n - 1, 26)
        letters = chr(65 + rest) + letters
    return f"{letters}{column + 1}"


def printed_sheets(drawn: Drawn, t: Tiling) -> list[tuple[int, int]]:
    """The sheets (row, column) on which there is something of the piece; empty ones are left out."""
    (ww, wh), (sw, sh) = t.window_mm, t.step_mm
    found = []
    for row in range(t.rows):
        for column in range(t.columns):
            window = box(column * sw, row * sh, column * sw + ww, row * sh + wh)
            if window.intersects(drawn.shape):
                found.append((row, column))
    return found


def pattern_pdf(worked: WorkedJob, paper: Paper) -> bytes:
    """Print every pattern at full size on sheets of paper, with a cover that says how they join.

    Pieces alike are printed once. Plain strips are marked with a rule and stand on the cover
    only. The viewer is asked not to scale; every sheet has bars to prove that it did not.
    """
    drawn = _paper_patterns(worked)
    tilings = [best_tiling(d.width_mm, d.height_mm, paper) for d in drawn]
    covers = _covers(worked, drawn, tilings, paper)
    files: dict[str, str] = {}
    pages: list[str] = []
    for i, cover in enumerate(covers):
        files[f"cover{i}.svg"] = cover
        w, h = PAPER_MM[paper]
        pages.append(_page(w, h, f'#place(image("cover{i}.svg", width: {w}mm))'))
    heads: list[tuple[str, float, str]] = []
    for i, (d, t) in enumerate(zip(drawn, tilings, strict=True)):
        files[f"piece{i}.svg"] = svg.document(d.width_mm, d.height_mm, d.parts, title=d.title, ground=None)
        frame = f"frame{t.page_mm[0]:.0f}.svg"
        files[frame] = _frame(t)
        for row, column in printed_sheets(d, t):
            marks = f"marks{t.rows}x{t.columns}-{row}-{column}-{frame}"
            files[marks] = _sheet_marks(t, row, column)
            pages.append(_tile_page(d, t, row, column, f"piece{i}.svg", (frame, marks), len(heads)))
            heads.append(_sheet_head(d, t, row, column))
    title = f"{worked.job.name}: patterns"
    return amended_pdf(_typeset(pages, files, title, heads), _unscaled)


def _paper_patterns(worked: WorkedJob) -> list[Drawn]:
    pieces = [p for p in _pieces(worked) if not is_by_measure(p)]
    return [_drawn(worked, *(p.id for p in kinds)) for kinds in _unlike(worked, pieces)]


def _page(width: float, height: float, inner: str) -> str:
    return f"#page(width: {width}mm, height: {height}mm, margin: 0mm)[{inner}]"


def _tile_page(drawn: Drawn, t: Tiling, row: int, column: int, piece: str, marks: Sequence[str], number: int) -> str:
    (pw, ph), (ww, wh), (sw, sh) = t.page_mm, t.window_mm, t.step_mm
    # With its height left out, a drawing higher than the window would be drawn about the window's middle.
    size = f"width: {drawn.width_mm}mm, height: {drawn.height_mm}mm"
    image = f'#place(dx: {-column * sw}mm, dy: {-row * sh}mm, image("{piece}", {size}))'
    window = f"#place(dx: {MARGIN_MM}mm, dy: {MARGIN_MM}mm, box(width: {ww}mm, height: {wh}mm, clip: true)[{image}])"
    over = "".join(f'#place(image("{m}", width: {pw}mm))' for m in marks)
    y = MARGIN_MM + wh - 5.6
    head = f"#head({number}, {MARGIN_MM + 11}mm, {MARGIN_MM + ww / 2 + 6}mm, {y}mm)"
    return _page(pw, ph, window + over + head)


def _sheet_head(drawn: Drawn, t: Tiling, row: int, column: int) -> tuple[str, float, str]:
    """A sheet's name and piece with the size at which they go into their room, and where it belongs."""
    name = sheet_name(row, column)
    head, size = svg.fitted(f"{name} · {drawn.title}", _LETTER_MM, t.window_mm[0] / 2 - 16, bold=True)
    where = f"row {name.rstrip('0123456789')} of {sheet_name(t.rows - 1, 0)[:-1]}, column {column + 1} of {t.columns}"
    return head, size, where


_HEAD = """
#let heads = json("heads.json")
#let said(dx, dy, size, weight, words) = for halo in (0.32 * size * 1mm + white, none) {
  place(dx: dx, dy: dy, text(size: size * 1mm, weight: weight, stroke: halo, top-edge: "baseline", words))
}
#let head(i, x, beside, y) = {
  let (name, size, where) = heads.at(i)
  said(x, y, size, 600, name)
  said(beside, y, SIZE, 400, where)
}
""".replace("SIZE", f"{_LETTER_MM:g}")
"""The words on each sheet, set by the typesetter itself: a drawing with words in it takes far longer."""


def _frame(t: Tiling) -> str:
    """What every sheet of one size has: the corners that neighbours share, and the two bars."""
    (pw, ph), (ww, wh), m, half = t.page_mm, t.window_mm, MARGIN_MM, OVERLAP_MM / 2
    parts = [
        *(_tick(x, y) for x in (m + half, m + ww - half) for y in (m + half, m + wh - half)),
        *_bar(m + 11, m + wh - 1.2, upright=False),
        *_bar(m + 8.0, m + wh - 14, upright=True),
    ]
    return svg.document(pw, ph, parts, title="", ground=None)


def _sheet_marks(t: Tiling, row: int, column: int) -> str:
    """The middles of the edges that have a neighbour, and the small map."""
    (pw, ph), (ww, wh), m, half = t.page_mm, t.window_mm, MARGIN_MM, OVERLAP_MM / 2
    across = [(m + half, column > 0), (m + ww - half, column < t.columns - 1)]
    down = [(m + half, row > 0), (m + wh - half, row < t.rows - 1)]
    parts = [
        *(_centre_mark(x, m + wh / 2) for x, there in across if there),
        *(_centre_mark(m + ww / 2, y) for y, there in down if there),
        *_map(t, row, column, m + ww - 31, m + wh - 9.4),
    ]
    return svg.document(pw, ph, parts, title="", ground=None)


def _tick(x: float, y: float) -> str:
    return svg.line(x - 4, y, x + 4, y, stroke_width=0.25) + svg.line(x, y - 4, x, y + 4, stroke_width=0.25)


def _centre_mark(x: float, y: float) -> str:
    diamond = np.array([(x - 3.5, y), (x, y - 3.5), (x + 3.5, y), (x, y + 3.5)])
    return svg.stroke(svg.polyline_d(diamond, closed=True), stroke_width=0.25) + _tick(x, y)


def _bar(x: float, y: float, *, upright: bool) -> list[str]:
    """A bar of exactly 100 mm, from (x, y) to the right or upwards, with its ends marked."""
    ex, ey = (x, y - TEST_MM) if upright else (x + TEST_MM, y)
    nx, ny = (1.0, 0.0) if upright else (0.0, 1.0)
    ends = [svg.line(px - nx, py - ny, px + nx, py + ny, stroke_width=0.25) for px, py in ((x, y), (ex, ey))]
    words = (
        svg.text(x + 4.6, y - TEST_MM / 2, "100 mm", _LETTER_MM, anchor="middle", turn_deg=-90, halo=_WHITE)
        if upright
        else svg.text(ex + 2, y + 1.0, "100 mm", _LETTER_MM, halo=_WHITE)
    )
    return [svg.line(x, y, ex, ey, stroke_width=THIN_MM), *ends, words]


def _map(t: Tiling, row: int, column: int, x: float, y: float) -> list[str]:
    """A small map of the sheets, this one filled."""
    cell = min(7.5 / t.rows, 22.0 / t.columns, 3.5)
    parts = []
    for r in range(t.rows):
        for c in range(t.columns):
            here = (r, c) == (row, column)
            parts.append(
                svg.rect(
                    x + c * cell, y + r * cell, cell, cell, fill=INK if here else "none", stroke=INK, stroke_width=0.2
                )
            )
    return parts


_COVER_ROW_MM = 44.0


def _covers(worked: WorkedJob, drawn: Sequence[Drawn], tilings: Sequence[Tiling], paper: Paper) -> list[str]:
    """The first pages: the test square, how to print and join, a map of each piece, what is cut by measure."""
    pw, ph = PAPER_MM[paper]
    job = worked.job
    head = [
        svg.text(15, 24, f"{job.name}: full-size patterns", 7.5, bold=True),
        svg.text(
            15,
            31,
            " · ".join(
                t
                for t in (
                    job.reference,
                    _sheets(sum(len(printed_sheets(d, t)) for d, t in zip(drawn, tilings, strict=True)))
                    + " after this cover",
                )
                if t
            ),
            4.4,
        ),
        *_test_square(worked, 15, 38),
        svg.text(15, 143, *_fitted(given_as(job), pw - 27, 4.4)),
    ]
    said = [
        "Print at 100 %, actual size;",
        "never “fit to page”.",
        "Measure the square both ways,",
        "and the two bars on every sheet,",
        "before you cut.",
        "Sheets overlap by 10 mm: lay mark",
        "on mark, A1 at the top left, tape;",
        "then measure from ring to ring.",
        "The length stands by each map.",
        "Cut on the thick line, sew on the",
        *_which_way_up(job),
    ]
    wrap = pw - 12 - 124
    size = min(5.0, 5.0 * wrap / max(svg.text_width(t, 5.0) for t in said))
    head += [svg.text(124, 44 + 7.2 * i, t, size) for i, t in enumerate(said)]
    blocks = [_assembly(worked, d, t, pw) for d, t in zip(drawn, tilings, strict=True)]
    pages: list[list[str]] = [head]
    y = 146.0
    for high, block in [*blocks, *_by_measure(worked, pw)]:
        if y + high > ph - 12:
            pages.append([svg.text(15, 20, f"{job.name}: full-size patterns, continued", 5.0, bold=True)])
            y = 28.0
        pages[-1].append(svg.group([block], transform=f"translate(0 {svg.figure(y)})"))
        y += high
    return [svg.document(pw, ph, p, title=f"{job.name}: patterns", ground=None) for p in pages]


def _which_way_up(job: Job) -> tuple[str, ...]:
    """How the paper lies on the cloth: a piece drawn as seen on the face is its own mirror image on the back."""
    if job.marked == "back_up":
        return (
            "dashed one. The cloth lies back up:",
            "turn every paper over, print down;",
            "the arrow points to the front.",
        )
    return "dashed one. Face up; the arrow", "points to the front."


def _fitted(text: str, room_mm: float, size_mm: float) -> tuple[str, float]:
    """A line of words with the size at which it goes into its room."""
    return text, min(size_mm, size_mm * room_mm / max(svg.text_width(text, size_mm), 1.0))


def _sheets(pages: int) -> str:
    return f"{pages} sheet" if pages == 1 else f"{pages} sheets"


def _assembly(worked: WorkedJob, drawn: Drawn, t: Tiling, page_width: float) -> tuple[float, str]:
    """A piece's map: its outline over its sheets, each with its name."""
    (ww, wh), (sw, sh) = t.window_mm, t.step_mm
    full_w, full_h = (t.columns - 1) * sw + ww, (t.rows - 1) * sh + wh
    k = min(84 / full_w, (_COVER_ROW_MM - 6) / full_h)
    parts = []
    printed = printed_sheets(drawn, t)
    for r in range(t.rows):
        for c in range(t.columns):
            x, y = 15 + c * sw * k, r * sh * k
            parts.append(svg.rect(x, y, ww * k, wh * k, fill="none", stroke=INK, stroke_width=0.2))
            name = sheet_name(r, c) if (r, c) in printed else "–"
            size = min(3.4, wh * k * 0.5, ww * k * 0.9 / (0.55 * len(name)))
            parts.append(svg.text(x + ww * k / 2, y + wh * k / 2 + size * 0.34, name, size, anchor="middle"))
    cut = drawn.piece.cut
    draft = _Draft(worked, drawn.piece, ())
    shape = svg.polyline_d(draft.to_sheet(cut.flattened()) * k + np.array([(15.0, 0.0)]), closed=True)
    parts.append(svg.path(shape, fill=CHALK, fill_opacity=0.14, stroke=INK, stroke_width=0.4))
    words = [
        (drawn.title, 4.6),
        (f"{_sheets(len(printed))}, {t.rows} row{'s' if t.rows > 1 else ''} of {t.columns}", 4.4),
        (f"ring to ring {format_length(drawn.check_mm, worked.job.style)}", 4.4),
    ]
    y, beside = 4.4, 15 + full_w * k + 7
    for i, (line, size) in enumerate(words):
        room = page_width - 15 - beside
        fitted = min(size, size * room / svg.text_width(line, size, bold=i == 0))
        parts.append(svg.text(beside, y, line, fitted, bold=i == 0))
        y += 5.6
    return max(full_h * k, y) + 5.0, svg.group(parts)


_NAMES_MM, _ROW_MM, _MEASURES_MM = 74.0, 5.8, 4.4


def _by_measure(worked: WorkedJob, page_width: float) -> list[tuple[float, str]]:
    """What needs no paper: plain strips, with the sizes to which they are cut."""
    figures = Figures.of(worked.job)
    rows: list[tuple[str, str]] = []
    for piece in (p for p in _pieces(worked) if is_by_measure(p)):
        rows.append((_title(worked, piece), f"cut {piece.count}: {piece_sizes(worked, piece, figures)[0]}"))
    for strip in worked.construction.strips:
        rows.append((_title(worked, strip), f"cut {strip.count}: {strip_cut(worked, strip, figures)}"))
    if not rows:
        return []
    head = "Straight strips are marked with a rule, not round a paper"
    under = f"Cut sizes in {figures.unit_name}, allowances included; the marking sheet has their places."
    parts = [svg.text(15, 5, head, 4.6, bold=True), svg.text(15, 11, under, _MEASURES_MM)]
    return [(15.5, svg.group(parts)), *(_measured_row(name, sizes, page_width) for name, sizes in rows)]


def _measured_row(name: str, sizes: str, page_width: float) -> tuple[float, str]:
    lines = _wrapped(sizes, _MEASURES_MM, page_width - 15 - 15 - _NAMES_MM)
    parts = [svg.text(15, 4.2, *svg.fitted(name, _MEASURES_MM, _NAMES_MM - 3, bold=True), bold=True)]
    parts += [svg.text(15 + _NAMES_MM, 4.2 + _ROW_MM * i, words, _MEASURES_MM) for i, words in enumerate(lines)]
    return _ROW_MM * len(lines) + 0.6, svg.group(parts)


def _wrapped(words: str, size_mm: float, room_mm: float) -> list[str]:
    """Break a line of words at its spaces so that every line goes into its room."""
    lines: list[str] = []
    for word in words.split(" "):
        if lines and svg.text_width(f"{lines[-1]} {word}", size_mm) <= room_mm:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def plotter_pdf(worked: WorkedJob, width_mm: float) -> bytes:
    """Print every pattern, strips that are pieces too, on one long sheet `width_mm` wide.

    A page longer than 14 400 units is written in larger units (UserUnit), still at full size.
    """
    every = [_drawn(worked, *(p.id for p in kinds)) for kinds in _unlike(worked, _pieces(worked))]
    room = width_mm - 2 * MARGIN_MM
    drawn = [d for d in every if min(d.width_mm, d.height_mm) <= room]
    too_wide = ", ".join(d.title for d in every if min(d.width_mm, d.height_mm) > room)
    placed, length = _shelves(drawn, width_mm, first_mm=TEST_MM + 24.0)
    unit = max(1, math.ceil(max(length, width_mm) * PT_PER_MM / MOST_UNITS))
    files = {
        f"piece{i}.svg": svg.document(d.width_mm, d.height_mm, d.parts, title=d.title, ground=None)
        for i, d in enumerate(drawn)
    }
    head = [
        *_test_square(worked, 12.0, 12.0),
        svg.text(124, 22, f"{worked.job.name}: full-size patterns", 7.5, bold=True),
        svg.text(124, 31, "Measure the square, both ways, before you cut.", _LETTER_MM),
        svg.text(124, 53, *_fitted(given_as(worked.job), width_mm - 136, _LETTER_MM)),
        svg.text(124, 42, f"Too wide for this sheet, print on paper: {too_wide}", _LETTER_MM) if too_wide else "",
    ]
    files["head.svg"] = svg.document(width_mm, TEST_MM + 24.0, head, title=worked.job.name, ground=None)
    inner = [f'#place(image("head.svg", width: {width_mm / unit}mm))']
    names = {d.piece.id: f"piece{i}.svg" for i, d in enumerate(drawn)}
    for d, x, y, turned in placed:
        image = f'image("{names[d.piece.id]}", width: {d.width_mm / unit}mm)'
        if turned:
            image = f"rotate(90deg, reflow: true, {image})"
        inner.append(f"#place(dx: {x / unit}mm, dy: {y / unit}mm, {image})")
    pdf = _typeset([_page(width_mm / unit, length / unit, "".join(inner))], files, f"{worked.job.name}: patterns")

    def larger(number: int, body: bytes) -> bytes | None:
        if unit > 1 and re.search(rb"/Type\s*/Page\b(?!s)", body):
            return body.replace(b"<<", b"<</UserUnit %d" % unit, 1)
        return _unscaled(number, body)

    return amended_pdf(pdf, larger)


def _shelves(
    drawn: Sequence[Drawn], width_mm: float, first_mm: float
) -> tuple[list[tuple[Drawn, float, float, bool]], float]:
    """Set drawings side by side in rows down the sheet, turned where they are too wide."""
    room = width_mm - 2 * MARGIN_MM
    placed = []
    x, y, row = MARGIN_MM, first_mm, 0.0
    for d in sorted(drawn, key=lambda d: -min(d.height_mm, d.width_mm)):
        turned = d.width_mm > room and d.height_mm <= room
        w, h = (d.height_mm, d.width_mm) if turned else (d.width_mm, d.height_mm)
        if x > MARGIN_MM and x + w > width_mm - MARGIN_MM:
            x, y, row = MARGIN_MM, y + row, 0.0
        placed.append((d, x, y, turned))
        x, row = x + w, max(row, h)
    return placed, y + row + 10.0


def _typeset(
    pages: Sequence[str], files: Mapping[str, str], title: str, heads: Sequence[tuple[str, float, str]] = ()
) -> bytes:
    """Make a PDF of pages; text is set in the project's own font and nothing is looked up elsewhere."""
    import typst

    name = title.replace("\\", "\\\\").replace('"', '\\"')
    main = f'#set document(title: "{name}", date: none)\n#set text(font: "{FONT}", fill: rgb("{INK}"))\n'
    main += _HEAD + "\n".join(pages)
    words = {"heads.json": json.dumps(cleaned(list(heads))).encode()}
    inputs: dict[str, bytes] = {"main": main.encode(), **words, **{k: v.encode() for k, v in files.items()}}
    compiled: Any = typst.compile(inputs, font_paths=fonts(), ignore_system_fonts=True)
    return bytes(compiled)


def _unscaled(number: int, body: bytes) -> bytes | None:
    """Ask the viewer not to scale, in the catalogue's viewer preferences (ISO 32000-1, 12.2)."""
    if b"/Type/Catalog" not in body:
        return None
    if b"/ViewerPreferences<<" in body:
        return body.replace(b"/ViewerPreferences<<", b"/ViewerPreferences<</PrintScaling/None", 1)
    return body.replace(b"/Type/Catalog", b"/Type/Catalog/ViewerPreferences<</PrintScaling/None>>", 1)


def amended_pdf(pdf: bytes, change: Any) -> bytes:
    """Write changed objects behind a PDF, as an incremental update (ISO 32000-1, 7.5.6).

    `change(number, body)` gives an object's new body, or None to leave it.
    """
    new: list[tuple[int, bytes]] = []
    for found in re.finditer(rb"(?:^|[\r\n])(\d+) 0 obj\s(.*?)\sendobj", pdf, re.DOTALL):
        if b"stream" in found.group(2):
            continue
        body = change(int(found.group(1)), found.group(2))
        if body is not None:
            new.append((int(found.group(1)), body))
    trailer = pdf[pdf.rindex(b"trailer") :]
    before = int(trailer[trailer.rindex(b"startxref") + 9 :].split()[0])
    keys = trailer[trailer.index(b"<<") + 2 : trailer.rindex(b">>")]
    out = bytearray(pdf if pdf.endswith(b"\n") else pdf + b"\n")
    table = b"xref\n"
    for number, body in sorted(new):
        table += b"%d 1\n%010d 00000 n\r\n" % (number, len(out))
        out += b"%d 0 obj\n" % number + body + b"\nendobj\n"
    at = len(out)
    out += table + b"trailer\n<<" + keys + b"/Prev %d>>\nstartxref\n%d\n%%%%EOF\n" % (before, at)
    return bytes(out)
