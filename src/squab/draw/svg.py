"""A small writer of SVG in exact millimetres: one unit of the drawing is one millimetre on paper.

Functions give pieces of SVG as text; `document` puts them together. Every text is escaped, every
figure is written to a thousandth of a millimetre, so the same drawing always has the same bytes.
Drawings have y downwards; a stage's own frames have y upwards and are flipped by whoever draws.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache, lru_cache
from html import escape

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import GeometryCollection, MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from squab.plane import Arc, Edge, Line, Outline, Path, Point, Points
from squab.units import METRIC, MM_PER_INCH, Style, format_length

Map = Callable[[Points], Points]
"""Takes (n, 2) points of one frame to another."""

PAPER = "#f6f1e6"
"""Unbleached cloth, the ground of every drawing."""
INK = "#26231f"
FAINT_INK = "#7a7266"
CHALK = "#2f6690"
"""Chalk blue, the one accent: datum lines, measures, match points."""
FONT = "'Source Sans Pro', 'Source Sans 3', Helvetica, Arial, sans-serif"
THIN_MM = 0.35
THICK_MM = 0.7
"""Line widths two to one, thin and thick (ISO 128-24)."""
SAME_MM = 0.01
"""What lies nearer than this on the sheet is the same to the eye."""
LETTERING_MM = 3.2
"""The size of a drawing's small words where it is read in the hand: nine points."""
CAPITALS_MM = 3.2
"""The least height of capitals on a full-size piece (ISO 128-24 practice: 3.2 to 3.5 mm)."""
CAPITAL_OF_SIZE = 0.656
"""Height of the font's capitals, to its size (Source Sans Pro, measured)."""

_FRACTION = re.compile(r"(?<![\w/.,-])(?:(\d+)[ \u00a0\u2009\u202f-])?(\d+)[/\u2044](2|4|8|16|32|64)(?![\d/.,]\d|\d|/)")
_RAISED = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
_LOWERED = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")
_CHARS = "".join(map(chr, range(32, 127)))
_REGULAR = (
    200, 289, 425, 497, 497, 824, 609, 249, 303, 303, 418, 497, 249, 311, 249, 350, 497, 497, 497, 497, 497, 497, 497,
    497, 497, 497, 249, 249, 497, 497, 497, 425, 847, 544, 588, 571, 615, 527, 494, 617, 652, 263, 480, 579, 486, 727,
    647, 664, 566, 664, 569, 534, 536, 645, 515, 786, 513, 476, 539, 303, 350, 303, 497, 500, 542, 504, 553, 456, 555,
    496, 292, 504, 544, 246, 247, 495, 255, 829, 547, 542, 555, 555, 347, 419, 338, 544, 467, 718, 446, 467, 425, 303,
    241, 303, 497,
)  # fmt: skip
_ADVANCE = dict(zip(_CHARS, _REGULAR, strict=True))
_BOLD_WIDER = 1.05


def figure(value: float) -> str:
    """Write a figure to a thousandth, without a trailing nought.

    >>> figure(100.0), figure(-0.0001), figure(2.5)
    ('100', '0', '2.5')
    """
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def element(name: str, inner: str = "", /, **attributes: object) -> str:
    """Write one element; `stroke_width` becomes `stroke-width`, None is left out, values are escaped."""
    written = _attributes(attributes)
    return f"<{name}{written}>{inner}</{name}>" if inner else f"<{name}{written}/>"


def _attributes(attributes: Mapping[str, object]) -> str:
    return "".join([f'{_key(key)}"{_value(v)}"' for key, v in attributes.items() if v is not None])


@cache
def _key(name: str) -> str:
    return f" {name.rstrip('_').replace('_', '-')}="


def _value(value: object) -> str:
    if isinstance(value, float):
        return figure(value)
    text = str(value)
    if text.isalnum():
        return text
    return escape(text, quote=False).replace('"', "&quot;")


def group(parts: Iterable[str], **attributes: object) -> str:
    """Write a group of parts."""
    return element("g", "".join(parts), **attributes)


def document(width_mm: float, height_mm: float, parts: Iterable[str], *, title: str, ground: str | None = PAPER) -> str:
    """Write a whole drawing, `width_mm` by `height_mm`, viewBox in millimetres from (0, 0)."""
    inner = [element("title", escape(title, quote=False))]
    if ground:
        inner.append(element("rect", width=float(width_mm), height=float(height_mm), fill=ground))
    return (
        element(
            "svg",
            "".join([*inner, *parts]),
            xmlns="http://www.w3.org/2000/svg",
            width=f"{figure(width_mm)}mm",
            height=f"{figure(height_mm)}mm",
            viewBox=f"0 0 {figure(width_mm)} {figure(height_mm)}",
            role="img",
            font_family=FONT,
        )
        + "\n"
    )


def inner_svg(svg: str) -> str:
    """Give what stands between the outer tags of a drawing, to set it into another one."""
    return svg[svg.index(">") + 1 : svg.rindex("</svg>")]


def line(x1: float, y1: float, x2: float, y2: float, **attributes: object) -> str:
    """Write a straight line."""
    return element("line", x1=float(x1), y1=float(y1), x2=float(x2), y2=float(y2), **_stroked(attributes))


def rect(x: float, y: float, width: float, height: float, **attributes: object) -> str:
    """Write a rectangle."""
    return element("rect", x=float(x), y=float(y), width=float(width), height=float(height), **attributes)


def path(d: str, **attributes: object) -> str:
    """Write a path from its data; an empty one is nothing."""
    return element("path", d=d, **attributes) if d else ""


def stroke(d: str, **attributes: object) -> str:
    """Write an unfilled, thin ink line along path data."""
    return path(d, **{"fill": "none", **_stroked(attributes)})


def _stroked(attributes: dict[str, object]) -> dict[str, object]:
    return {"stroke": INK, "stroke_width": THIN_MM, **attributes}


def text(
    x: float,
    y: float,
    words: str,
    size_mm: float = LETTERING_MM,
    *,
    anchor: str = "start",
    turn_deg: float = 0.0,
    bold: bool = False,
    fill: str = INK,
    halo: str | None = None,
) -> str:
    """Write one line of text with its baseline at (x, y), turned clockwise on the sheet.

    `halo` puts an outline of that colour behind the letters, so that they read on a pattern.
    """
    place: dict[str, object] = {"x": float(x), "y": float(y), "font_size": float(size_mm)}
    if anchor != "start":
        place["text_anchor"] = anchor
    if bold:
        place["font_weight"] = 600
    if turn_deg:
        place["transform"] = f"rotate({figure(turn_deg)} {figure(x)} {figure(y)})"
    where, inner = _attributes(place), escape(set_fractions(words), quote=False)
    front = f'<text{where} fill="{fill}">{inner}</text>'
    if halo is None:
        return front
    # Two texts, not one with its stroke painted first: a typesetter would break that one up into outlines.
    around = f'fill="{halo}" stroke="{halo}" stroke-width="{figure(size_mm * 0.32)}" stroke-linejoin="round"'
    return f"<text{where} {around}>{inner}</text>{front}"


def set_fractions(words: str) -> str:
    """Set the fractions of an inch in a line of words as fractions: `1 15/16 in` as `1 ¹⁵⁄₁₆ in`.

    >>> set_fractions("1 15/16 in, 3/4 yd, made 10/3/2031")
    '1\\u2009¹⁵⁄₁₆ in, ³⁄₄ yd, made 10/3/2031'
    """
    return _FRACTION.sub(_set_fraction, words) if "/" in words else words


def _set_fraction(found: re.Match[str]) -> str:
    whole, over, under = found.groups()
    space = "\u2009" if whole else ""
    return f"{whole or ''}{space}{over.translate(_RAISED)}\u2044{under.translate(_LOWERED)}"


def text_width(words: str, size_mm: float, *, bold: bool = False) -> float:
    """Give the width of a line of text, mm, from the font's own advance widths."""
    return _advance(words) / 1000 * size_mm * (_BOLD_WIDER if bold else 1.0)


@lru_cache(maxsize=4096)
def _advance(words: str) -> int:
    """The width of a line of text in thousandths of its size."""
    return sum(_ADVANCE.get(c, 150 if c == "\u2009" else 540) for c in words)


def fitted(words: str, size_mm: float, room_mm: float, *, bold: bool = False) -> tuple[str, float]:
    """Shrink a line of words to its room, to six tenths of its size at most; then shorten it."""
    wide = text_width(words, size_mm, bold=bold)
    if wide <= room_mm:
        return words, size_mm
    size = size_mm * 0.6
    if size_mm * room_mm / wide >= size:
        return words, size_mm * room_mm / wide
    words = words[: int(room_mm / (0.2 * size)) + 1]  # no line has more letters than the narrowest would fill
    while len(words) > 1 and text_width(words + "…", size, bold=bold) > room_mm:
        words = words[:-1].rstrip()
        if text_width(words + "…", size, bold=bold) <= room_mm:
            return words + "…", size
    return words, size


def edges_d(edges: Sequence[Edge], to_sheet: Map, *, closed: bool = False) -> str:
    """Path data of lines and circular arcs under a similarity (which may mirror); arcs stay arcs."""
    # Arcs in two halves: one arc of a whole turn would be no arc at all, and no half is ever a large one.
    steps = [half for e in edges for half in ((e,) if isinstance(e, Line) else _halves(e))]
    on_sheet = to_sheet(np.array([edges[0].start, *(s.end for s in steps)], dtype=np.float64)).tolist()
    start, *ends = (f"{figure(x)} {figure(y)}" for x, y in on_sheet)
    flip, scale = _frame(to_sheet) if any(isinstance(e, Arc) for e in edges) else (False, 1.0)
    d = ["M" + start]
    for step, end in zip(steps, ends, strict=True):
        if isinstance(step, Line):
            d.append("L" + end)
        else:
            r = figure(step.radius * scale)
            d.append(f"A{r} {r} 0 0 {int((step.sweep > 0) != flip)} {end}")
    return "".join(d) + ("Z" if closed else "")


def _halves(arc: Arc) -> tuple[Arc, Arc]:
    return arc.part(0.0, arc.length / 2), arc.part(arc.length / 2, arc.length)


def outline_d(outline: Outline, to_sheet: Map) -> str:
    """Path data of a closed outline under a similarity."""
    return edges_d(outline.edges, to_sheet, closed=True)


def path_d(chain: Path, to_sheet: Map) -> str:
    """Path data of an open chain under a similarity."""
    return edges_d(chain.edges, to_sheet)


def polyline_d(points: npt.NDArray[np.float64], *, closed: bool = False) -> str:
    """Path data through points that are already on the sheet."""
    if len(points) == 0:
        return ""
    # A thousandth of a millimetre, never written with a power of ten; nought has no sign.
    xy = np.rint(np.asarray(points, dtype=np.float64) * 1000) / 1000 + 0.0
    return "M" + ("L%.12g %.12g" * len(xy))[1:] % tuple(xy.ravel().tolist()) + ("Z" if closed else "")


def polygons_d(shape: BaseGeometry, to_sheet: Map, *, step_mm: float = 0.0) -> str:
    """Path data of every polygon of a plane set, holes included (fill rule evenodd).

    Under a map that bends, edges are broken every `step_mm` first; points that then make no bend
    to be seen are taken out again.
    """
    rings = shapely.get_rings(np.array(polygons_of(shape), dtype=object))
    if step_mm:
        rings = shapely.segmentize(rings, step_mm)
    xy, ring_of = shapely.get_coordinates(rings, return_index=True)
    on_sheet = to_sheet(xy)
    if step_mm:
        bent = shapely.simplify(shapely.linestrings(on_sheet, indices=ring_of), SAME_MM, preserve_topology=False)
        on_sheet, ring_of = shapely.get_coordinates(bent, return_index=True)
    ends = np.cumsum(np.bincount(ring_of)).tolist()
    return "".join(polyline_d(on_sheet[a : b - 1], closed=True) for a, b in itertools.pairwise([0, *ends]))


def straight(xy_sheet: Points) -> Points:
    """A line on the sheet without the points that make no bend to be seen."""
    if len(xy_sheet) < 3:
        return xy_sheet
    return shapely.get_coordinates(shapely.simplify(shapely.linestrings(xy_sheet), SAME_MM, preserve_topology=False))


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """Every polygon of a plane set that has an area."""
    if isinstance(shape, Polygon):
        return [shape] if shape.area > 1e-9 else []
    if isinstance(shape, MultiPolygon | GeometryCollection):
        return [p for part in shape.geoms for p in polygons_of(part)]
    return []


def _frame(to_sheet: Map) -> tuple[bool, float]:
    """Whether a similarity mirrors, and its scale."""
    o, a, b = to_sheet(np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]))
    (ax, ay), (bx, by) = a - o, b - o
    return bool(ax * by - ay * bx < 0), math.hypot(ax, ay)


def spot(room: BaseGeometry, wide: float, high: float) -> Point | None:
    """Find a place for a box of words inside a region of the sheet, nearest its middle, or None."""
    if room.is_empty:
        return None
    x0, y0, x1, y1 = room.bounds
    if wide > x1 - x0 or high > y1 - y0:
        return None
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    if room.area > (1 - 1e-9) * (x1 - x0) * (y1 - y0):  # an upright rectangle: the middle will do
        return cx, cy
    xs = np.array([cx, *np.linspace(x0 + wide / 2, x1 - wide / 2, 11)])
    ys = np.array([cy, *np.linspace(y0 + high / 2, y1 - high / 2, 11)])
    x, y = (grid.ravel() for grid in np.meshgrid(xs, ys))
    grown = room.buffer(1e-6)
    shapely.prepare(grown)
    inside = shapely.contains(grown, shapely.box(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2))
    if not inside.any():
        return None
    far = np.where(inside, np.hypot(x - cx, y - cy), np.inf)
    best = int(np.argmin(far))
    return float(x[best]), float(y[best])


def arrow(x: float, y: float, dx: float, dy: float, length_mm: float, **attributes: object) -> str:
    """Draw an arrow from (x, y) along the unit direction (dx, dy), head at its end."""
    colour = attributes.get("stroke", INK)
    ex, ey = x + dx * length_mm, y + dy * length_mm
    head = min(max(3.0, length_mm * 0.1), 6.0, length_mm * 0.4)
    half = head * 0.38
    bx, by = ex - dx * head, ey - dy * head
    tip = np.array([(ex, ey), (bx - dy * half, by + dx * half), (bx + dy * half, by - dx * half)])
    return line(x, y, bx, by, **attributes) + path(polyline_d(tip, closed=True), fill=colour)


def scale_bar(x: float, y: float, scale: float, style: Style = METRIC, *, size_mm: float = LETTERING_MM) -> str:
    """Draw a scale bar with its left end at (x, y), and the scale in words; `scale` is paper over truth."""
    steps = (12, 6, 3, 2, 1) if style.system == "imperial" else (1000, 500, 200, 100, 50, 20)
    unit = MM_PER_INCH if style.system == "imperial" else 1.0
    length = next((s * unit for s in steps if s * unit * scale <= 42.0), steps[-1] * unit)
    parts = [
        rect(x, y - 1.6, length * scale / 2, 1.6, fill=INK),
        rect(x, y - 1.6, length * scale, 1.6, fill="none", stroke=INK, stroke_width=0.25),
        text(x + length * scale + 2, y, f"{format_length(length, style)} · {scale_words(scale)}", size_mm),
    ]
    return group(parts)


def scale_words(scale: float) -> str:
    """Say a scale: `1 : 10`, or `full size`."""
    if abs(scale - 1) < 1e-9:
        return "full size"
    ratio = 1 / scale
    return f"1 : {ratio:.0f}" if ratio >= 10 or abs(ratio - round(ratio)) < 1e-6 else f"1 : {ratio:.1f}"


def affine(a: float, b: float, c: float, d: float, e: float, f: float) -> Map:
    """The map (x, y) -> (a x + b y + e, c x + d y + f)."""

    def mapped(xy: Points) -> Points:
        return np.column_stack((a * xy[:, 0] + b * xy[:, 1] + e, c * xy[:, 0] + d * xy[:, 1] + f))

    return mapped
