"""Outlines from the numbers of a tape measure.

Every builder hands back an `Outcome`: the outline, or findings that name the number, what was
found and what would fit. Outlines run counter-clockwise as seen from above, x to the right, y to
the back, and start where the front begins, at the front-left corner. That corner is (0, 0),
unless the shape has none there: then the left and the front of the shape touch the axes.

Sides are called front, right, back and left. A shape with more than four sides gives the others
names of their own, said with each builder. Half of a rounded corner belongs to each of the sides
beside it, so a rounded outline starts in the middle of its front-left corner.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from squab.errors import OutlineError
from squab.findings import Finding, Outcome, Severity
from squab.measure.rounding import fillets, radii_that_fit, rounded
from squab.plane import Arc, Edge, Line, Outline, Point
from squab.units import METRIC, Style, format_length, step_mm

CORNERS = ("front_left", "front_right", "back_right", "back_left")
CUSP_RAD = math.radians(170.0)
"""A run that turns by more than this at a corner turns all but straight back: it has a cusp there."""
CLOSES_WITHIN_MM = 3.0
"""A run that misses its start by no more than this is closed by sharing the miss along it: two
tape readings, rounded to the nearest millimetre or sixteenth, miss by as much."""
STRAIGHT_RISE_MM = 1e-6

Corner = Literal["front_left", "front_right", "back_right", "back_left"]


@dataclass(frozen=True, slots=True)
class Step:
    """One side of a run, from where the last one ended.

    Give either `to`, the point where it ends, or `length_mm` and `turn_deg`, the turn to the
    left at its end before the next side sets off (negative: to the right). The first side sets
    off to the right. An arc is given by its `rise_mm` over the straight line between its ends,
    or its `radius_mm`; both are positive where it bulges outward, negative where it is hollow,
    and `length_mm` and `turn_deg` are then those of the straight line. A last side with neither
    `to` nor length goes back to the start. `corner_mm` rounds the corner at its end.
    """

    side: str
    length_mm: float | None = None
    turn_deg: float | None = None
    to: Point | None = None
    rise_mm: float = 0.0
    radius_mm: float | None = None
    corner_mm: float = 0.0


def rectangle(
    width_mm: float, depth_mm: float, *, hidden: Collection[str] = (), place: str = "outline", style: Style = METRIC
) -> Outcome[Outline]:
    """Build a rectangle.

    >>> rectangle(560, 510).value.length
    2140.0
    """
    return rounded_rectangle(width_mm, depth_mm, {}, hidden=hidden, place=place, style=style)


def rounded_rectangle(
    width_mm: float,
    depth_mm: float,
    radii_mm: Mapping[str, float] | float,
    *,
    hidden: Collection[str] = (),
    place: str = "outline",
    style: Style = METRIC,
) -> Outcome[Outline]:
    """Build a rectangle with rounded corners: one radius, or one for each of `CORNERS`."""
    radii = radii_mm if isinstance(radii_mm, Mapping) else dict.fromkeys(CORNERS, radii_mm)
    points = [(0.0, 0.0), (width_mm, 0.0), (width_mm, depth_mm), (0.0, depth_mm)]
    wrong = _sizes(place, style, width=width_mm, depth=depth_mm) + _radii(place, style, radii)
    if wrong:
        return Outcome(None, wrong)
    return _polygon(
        points, ("front", "right", "back", "left"), [radii.get(c, 0.0) for c in CORNERS], hidden, place, style
    )


def trapezoid(
    front_mm: float,
    back_mm: float,
    depth_mm: float,
    *,
    offset_mm: float = 0.0,
    radii_mm: Mapping[str, float] | float = 0.0,
    hidden: Collection[str] = (),
    place: str = "outline",
    style: Style = METRIC,
) -> Outcome[Outline]:
    """Build a trapezoid from its front, its back and the depth square between them.

    `offset_mm` is how far the middle of the back lies to the right of the middle of the front
    (negative: to the left). The front-left corner is (0, 0), so a wider back reaches below x = 0.
    """
    radii = radii_mm if isinstance(radii_mm, Mapping) else dict.fromkeys(CORNERS, radii_mm)
    wrong = _sizes(place, style, front=front_mm, back=back_mm, depth=depth_mm) + _radii(place, style, radii)
    if not math.isfinite(offset_mm):
        wrong += (_bad_size(place, "offset", offset_mm, style),)
    if wrong:
        return Outcome(None, wrong)
    left = front_mm / 2 + offset_mm - back_mm / 2
    points = [(0.0, 0.0), (front_mm, 0.0), (left + back_mm, depth_mm), (left, depth_mm)]
    return _polygon(
        points, ("front", "right", "back", "left"), [radii.get(c, 0.0) for c in CORNERS], hidden, place, style
    )


def l_shape(
    width_mm: float,
    depth_mm: float,
    out_width_mm: float,
    out_depth_mm: float,
    *,
    out_corner: Corner = "back_right",
    radius_mm: float = 0.0,
    hidden: Collection[str] = (),
    place: str = "outline",
    style: Style = METRIC,
) -> Outcome[Outline]:
    """Build an L: a rectangle over all, less a rectangle at one corner.

    The two sides of the missing rectangle are called after the way they face: `inner back` and
    `inner right` where the back-right corner is missing, and so on.
    """
    wrong = _sizes(place, style, width=width_mm, depth=depth_mm, out_width=out_width_mm, out_depth=out_depth_mm)
    wrong += _radii(place, style, {"every corner": radius_mm})
    wrong = wrong or (
        _less(place, "out_width", out_width_mm, "width", width_mm, style)
        + _less(place, "out_depth", out_depth_mm, "depth", depth_mm, style)
    )
    if wrong:
        return Outcome(None, wrong)
    w, d, a, b = width_mm, depth_mm, out_width_mm, out_depth_mm
    full: dict[str, list[tuple[Point, str]]] = {
        "front_left": [((0, 0), "front")], "front_right": [((w, 0), "right")],
        "back_right": [((w, d), "back")], "back_left": [((0, d), "left")],
    }  # fmt: skip
    cut: dict[str, list[tuple[Point, str]]] = {
        "front_left": [((0, b), "inner front"), ((a, b), "inner left"), ((a, 0), "front")],
        "front_right": [((w - a, 0), "inner right"), ((w - a, b), "inner front"), ((w, b), "right")],
        "back_right": [((w, d - b), "inner back"), ((w - a, d - b), "inner right"), ((w - a, d), "back")],
        "back_left": [((a, d), "inner left"), ((a, d - b), "inner back"), ((0, d - b), "left")],
    }
    named = [corner for c in CORNERS for corner in (cut if c == out_corner else full)[c]]
    return _named_polygon(named, radius_mm, hidden, place, style)


def t_shape(
    width_mm: float,
    depth_mm: float,
    ear_width_mm: float,
    ear_depth_mm: float,
    *,
    radius_mm: float = 0.0,
    hidden: Collection[str] = (),
    place: str = "outline",
    style: Style = METRIC,
) -> Outcome[Outline]:
    """Build a T: a body with an ear on each side at the front, reaching before the arms.

    `width_mm` is that of the body, `depth_mm` over all. The ears' own sides are `left ear side`,
    `left ear back` and the same on the right; `left` and `right` are the body's.
    """
    wrong = _ear_sizes(width_mm, depth_mm, ear_width_mm, ear_depth_mm, radius_mm, place, style)
    if wrong:
        return Outcome(None, wrong)
    w, d, e, f = width_mm, depth_mm, ear_width_mm, ear_depth_mm
    named: list[tuple[Point, str]] = [
        ((0, 0), "front"), ((w + 2 * e, 0), "right ear side"), ((w + 2 * e, f), "right ear back"),
        ((w + e, f), "right"), ((w + e, d), "back"), ((e, d), "left"), ((e, f), "left ear back"),
        ((0, f), "left ear side"),
    ]  # fmt: skip
    return _named_polygon(named, radius_mm, hidden, place, style)


def one_eared(
    width_mm: float,
    depth_mm: float,
    ear_width_mm: float,
    ear_depth_mm: float,
    *,
    ear: Literal["left", "right"],
    radius_mm: float = 0.0,
    hidden: Collection[str] = (),
    place: str = "outline",
    style: Style = METRIC,
) -> Outcome[Outline]:
    """Build a body with one ear at the front, on its left or right as you face the seat.

    The ear's own sides are `ear side` and `ear back`.
    """
    wrong = _ear_sizes(width_mm, depth_mm, ear_width_mm, ear_depth_mm, radius_mm, place, style)
    if wrong:
        return Outcome(None, wrong)
    w, d, e, f = width_mm, depth_mm, ear_width_mm, ear_depth_mm
    if ear == "left":
        named: list[tuple[Point, str]] = [
            ((0, 0), "front"), ((w + e, 0), "right"), ((w + e, d), "back"), ((e, d), "left"),
            ((e, f), "ear back"), ((0, f), "ear side"),
        ]  # fmt: skip
    else:
        named = [
            ((0, 0), "front"), ((w + e, 0), "ear side"), ((w + e, f), "ear back"), ((w, f), "right"),
            ((w, d), "back"), ((0, d), "left"),
        ]  # fmt: skip
    return _named_polygon(named, radius_mm, hidden, place, style)


def disc(
    diameter_mm: float, *, hidden: Collection[str] = (), place: str = "outline", style: Style = METRIC
) -> Outcome[Outline]:
    """Build a disc. Its sides are quarters, the front one centred on the front: it starts 45 degrees to the left."""
    wrong = _sizes(place, style, diameter=diameter_mm)
    if wrong:
        return Outcome(None, wrong)
    r = diameter_mm / 2
    points = [(r + r * math.cos(a), r + r * math.sin(a)) for a in (math.radians(225 + 90 * i) for i in range(4))]
    edges = tuple(Arc(points[i], points[(i + 1) % 4], (r, r)) for i in range(4))
    return _with_hidden(edges, ("front", "right", "back", "left"), hidden, place)


def d_shape(
    width_mm: float, depth_mm: float, *, hidden: Collection[str] = (), place: str = "outline", style: Style = METRIC
) -> Outcome[Outline]:
    """Build a D: a straight back, a round front.

    A depth of at least half the width gives a half disc before straight sides; less gives one
    shallow arc. `front` is the middle half of the arc; its outer quarters belong to the sides.
    """
    wrong = _sizes(place, style, width=width_mm, depth=depth_mm)
    if wrong:
        return Outcome(None, wrong)
    half = width_mm / 2
    rise = min(depth_mm, half)
    radius = (half**2 + rise**2) / (2 * rise)
    centre = (half, radius)
    lean = math.asin(min(half / radius, 1.0))
    a, b, c, d = (
        (half + radius * math.sin(t), radius - radius * math.cos(t)) for t in (-lean, -lean / 2, lean / 2, lean)
    )
    top_right, top_left = (width_mm, depth_mm), (0.0, depth_mm)
    edges: list[tuple[Edge, str]] = [(Arc(b, c, centre), "front"), (Arc(c, d, centre), "right")]
    if depth_mm - rise > STRAIGHT_RISE_MM:
        edges += [(Line(d, top_right), "right"), (Line(top_right, top_left), "back"), (Line(top_left, a), "left")]
    else:
        edges.append((Line(d, a), "back"))
    edges.append((Arc(a, b, centre), "left"))
    return _with_hidden(tuple(e for e, _ in edges), tuple(s for _, s in edges), hidden, place)


def run(
    steps: Sequence[Step], *, hidden: Collection[str] = (), place: str = "outline", style: Style = METRIC
) -> Outcome[Outline]:
    """Build any closed run of straight sides and arcs, counter-clockwise from (0, 0).

    A run that misses its start by up to `CLOSES_WITHIN_MM` is closed by sharing the miss along
    it in proportion to length (the surveyor's compass rule), and says so.
    """
    wrong = tuple(f for i, s in enumerate(steps) for f in _step_faults(s, i, len(steps), place, style))
    if len(steps) < 2:
        wrong += (
            _stop("JOB-104", place, f"a run of {len(steps)} side(s) encloses nothing", "give at least two sides"),
        )
    if wrong:
        return Outcome(None, wrong)
    points, said = _vertices(steps, place, style)
    if points is None:
        return Outcome(None, said)
    edges: list[Edge] = []
    for i, step in enumerate(steps):
        edge, fault = _edge(points[i], points[(i + 1) % len(points)], step, place, style)
        said += fault
        if edge is not None:
            edges.append(edge)
    if len(edges) < len(steps):
        return Outcome(None, said)
    found = _finish(edges, [s.side for s in steps], [s.corner_mm for s in steps], hidden, place, style)
    crossing = _crossing(edges, [s.side for s in steps], place, style)
    if found.value is not None and not crossing:
        crossing = _crossing(found.value.edges, found.value.sides, place, style)
    wrong = crossing or (_cusps(found.value, place) if found.value else ())
    if wrong:
        return Outcome(None, (*said, *wrong))
    return Outcome(found.value, said + found.findings)


# --- steps of a run -------------------------------------------------------------------------


def _step_faults(step: Step, i: int, n: int, place: str, style: Style) -> tuple[Finding, ...]:
    where = f"{place}: side {i + 1} ({step.side})"
    found: list[Finding] = []
    if step.length_mm is not None and not (math.isfinite(step.length_mm) and step.length_mm > 0):
        found.append(_bad_size(where, "length", step.length_mm, style))
    numbers = {"turn": step.turn_deg, "rise": step.rise_mm, "radius": step.radius_mm}
    if step.to is not None:
        numbers |= {"x": step.to[0], "y": step.to[1]}
    for name, value in numbers.items():
        if value is not None and not math.isfinite(value):
            found.append(_stop("JOB-101", where, f"{name} is {value}", "give a number"))
    if not (math.isfinite(step.corner_mm) and step.corner_mm >= 0):
        found.append(_bad_size(where, "corner", step.corner_mm, style))
    if step.to is None and step.length_mm is None and i < n - 1:
        found.append(_stop("JOB-104", where, "has neither a length nor a point where it ends", "give `length` or `to`"))
    if step.radius_mm is not None and (step.rise_mm or step.radius_mm == 0.0):
        found.append(
            _stop("JOB-106", where, "an arc takes one of `rise` and `radius`, not nought", "leave one of them out")
        )
    return tuple(found)


def _vertices(steps: Sequence[Step], place: str, style: Style) -> tuple[list[Point] | None, tuple[Finding, ...]]:
    """Where each side starts; None where the run does not close."""
    at, heading = (0.0, 0.0), 0.0
    points = [at]
    for step in steps:
        if step.to is not None:
            heading = math.atan2(step.to[1] - at[1], step.to[0] - at[0])
            at = step.to
        elif step.length_mm is not None:
            at = (at[0] + step.length_mm * math.cos(heading), at[1] + step.length_mm * math.sin(heading))
        else:
            at = (0.0, 0.0)
        heading += math.radians(step.turn_deg or 0.0)
        points.append(at)
    dx, dy = points[-1]
    miss = math.hypot(dx, dy)
    if miss < 1e-9:
        return points[:-1], ()
    gap = f"its end misses its start by {_shown(miss, style)} ({_way(dx, dy, style)})"
    if miss > CLOSES_WITHIN_MM:
        hint = "check the lengths and turns, or leave the length of the last side out to let it close the run"
        return None, (_stop("JOB-104", place, f"the run does not close: {gap}", hint),)
    lengths = [math.dist(points[i], points[i + 1]) for i in range(len(steps))]
    shared, gone = [], 0.0
    for p, length in zip(points, [*lengths, 0.0], strict=True):
        f = gone / sum(lengths)
        shared.append((p[0] - f * dx, p[1] - f * dy))
        gone += length
    note = Finding("JOB-107", Severity.NOTE, place, f"{gap}; the miss was shared out along the sides")
    return shared[:-1], ((note,) if miss > 0.05 else ())


def _way(dx: float, dy: float, style: Style) -> str:
    across = f"{_shown(abs(dx), style)} to the {'right' if dx > 0 else 'left'}"
    along = f"{_shown(abs(dy), style)} to the {'back' if dy > 0 else 'front'}"
    return f"{across}, {along}"


def _edge(start: Point, end: Point, step: Step, place: str, style: Style) -> tuple[Edge | None, tuple[Finding, ...]]:
    chord = math.dist(start, end)
    where = f"{place}: side {step.side}"
    if chord < 1e-3:
        return None, (_stop("JOB-101", where, "has no length", "leave the side out, or give it a length"),)
    rise = step.rise_mm
    if step.radius_mm is not None:
        radius = abs(step.radius_mm)
        if radius < chord / 2 - 1e-6:
            what = f"an arc of radius {_shown(radius, style)} cannot span {_shown(chord, style)}"
            return None, (_stop("JOB-106", where, what, f"a radius of {_shown(chord / 2, style)} or more can"),)
        rise = math.copysign(radius - math.sqrt(max(radius**2 - chord**2 / 4, 0.0)), step.radius_mm)
    if abs(rise) < STRAIGHT_RISE_MM:
        return Line(start, end), ()
    return arc_by_rise(start, end, rise), ()


def arc_by_rise(start: Point, end: Point, rise_mm: float) -> Arc:
    """The arc over a chord that rises `rise_mm` to the right of travel (outward); negative to the left.

    >>> round(arc_by_rise((0, 0), (48, 0), 6).radius, 6)
    51.0
    """
    chord = math.dist(start, end)
    tx, ty = (end[0] - start[0]) / chord, (end[1] - start[1]) / chord
    radius = (chord**2 / 4 + rise_mm**2) / (2 * abs(rise_mm))
    inward = math.copysign(1.0, rise_mm) * (radius - abs(rise_mm))  # from the chord to the centre, leftward
    mx, my = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    return Arc(start, end, (mx - inward * ty, my + inward * tx), rise_mm > 0)


# --- finishing ------------------------------------------------------------------------------


def _named_polygon(
    named: Sequence[tuple[Point, str]], radius_mm: float, hidden: Collection[str], place: str, style: Style
) -> Outcome[Outline]:
    """A polygon from its corners, each with the name of the side that begins there, from the front on."""
    first = next(i for i, (_, side) in enumerate(named) if side == "front")
    turned = [*named[first:], *named[:first]]
    points = [(float(p[0]), float(p[1])) for p, _ in turned]
    return _polygon(points, [s for _, s in turned], [radius_mm] * len(turned), hidden, place, style)


def _polygon(
    points: Sequence[Point],
    sides: Sequence[str],
    radii_mm: Sequence[float],
    hidden: Collection[str],
    place: str,
    style: Style,
) -> Outcome[Outline]:
    """`radii_mm[i]` is at corner i, where side i begins."""
    edges = [Line(p, points[(i + 1) % len(points)]) for i, p in enumerate(points)]
    return _finish(edges, sides, [*radii_mm[1:], radii_mm[0]], hidden, place, style)


def _finish(
    edges: Sequence[Edge],
    sides: Sequence[str],
    radii_mm: Sequence[float],
    hidden: Collection[str],
    place: str,
    style: Style,
) -> Outcome[Outline]:
    """Round the corners (`radii_mm[i]` at the end of edge i) and close the outline."""
    corners = fillets(edges, radii_mm)
    if corners is None:
        return Outcome(None, _too_round(edges, sides, radii_mm, place, style))
    all_edges, all_sides, _ = rounded(edges, sides, [True] * len(sides), corners)
    return _with_hidden(all_edges, all_sides, hidden, place)


def _too_round(
    edges: Sequence[Edge], sides: Sequence[str], radii_mm: Sequence[float], place: str, style: Style
) -> tuple[Finding, ...]:
    fit = radii_that_fit(edges, radii_mm)
    step = float(step_mm(style))
    found = []
    for i, radius in enumerate(radii_mm):
        if radius <= 0.0 or fillets(edges, [r if j == i else fit[j] for j, r in enumerate(radii_mm)]) is not None:
            continue
        where = f"{place}: corner of {sides[i]} and {sides[(i + 1) % len(sides)]}"
        beside = (_shown(edges[i].length, style), _shown(edges[(i + 1) % len(edges)].length, style))
        room = f"the sides beside it are {beside[0]} and {beside[1]}"
        down = math.floor(fit[i] / step + 1e-6) * step
        hint = f"a radius of {_shown(down, style)} would fit"
        found.append(_stop("JOB-102", where, f"the corner radius {_shown(radius, style)} is too large: {room}", hint))
    if not found:
        hint = "make the radii a little smaller"
        found.append(_stop("JOB-102", place, "the corner radii are a hair too large for the sides between them", hint))
    return tuple(found)


def _with_hidden(edges: Sequence[Edge], sides: Sequence[str], hidden: Collection[str], place: str) -> Outcome[Outline]:
    unknown = [h for h in hidden if h not in sides]
    findings = tuple(
        _stop("JOB-025", place, f"there is no side `{h}`", f"its sides are {', '.join(dict.fromkeys(sides))}")
        for h in unknown
    )
    try:
        outline = Outline(tuple(edges), tuple(sides), tuple(s not in hidden for s in sides))
    except OutlineError:
        hint = "give the sides counter-clockwise as seen from above: the front from left to right, then the right side"
        return Outcome(None, (*findings, _stop("JOB-105", place, "the sides run clockwise or enclose nothing", hint)))
    return Outcome(None if unknown else outline, findings)


def crossing_of(edges: Sequence[Edge], sides: Sequence[str]) -> tuple[Point, str, str] | None:
    """Where a closed run crosses or touches itself, with the two sides; None where it does not."""
    from shapely import LinearRing, LineString, STRtree

    points = [p for e in edges for p in e.flattened()]
    if LinearRing(points).is_simple:
        return None
    n = len(points)
    lines = [LineString((points[i], points[(i + 1) % n])) for i in range(n)]
    owner = [side for e, side in zip(edges, sides, strict=True) for _ in e.flattened()]
    pairs = STRtree(lines).query(lines, predicate="intersects").T
    for i, j in sorted((int(i), int(j)) for i, j in pairs):
        if j - i > 1 and (i, j) != (0, n - 1):
            at = lines[i].intersection(lines[j]).representative_point()
            return (float(at.x), float(at.y)), owner[i], owner[j]
    return points[0], owner[0], owner[-1]


def _crossing(edges: Sequence[Edge], sides: Sequence[str], place: str, style: Style) -> tuple[Finding, ...]:
    hit = crossing_of(edges, sides)
    if hit is None:
        return ()
    (x, y), one, other = hit
    at = f"{_shown(x, style)} across, {_shown(y, style)} back from its start"
    what = f"the outline crosses itself: {one} meets {other} at {at}"
    return (_stop("JOB-103", place, what, "check the lengths, turns and rises of these two sides"),)


# --- faults ---------------------------------------------------------------------------------


def _cusps(outline: Outline, place: str) -> tuple[Finding, ...]:
    """Corners at which a side turns straight back along the one before it."""
    names = outline.sides
    starts = outline.path.edge_starts()
    found = []
    for at, turn in outline.corners():
        if abs(turn) > CUSP_RAD:
            i = starts.index(at)
            between = f"{names[i - 1]} and {names[i]}"
            left = 180 - math.degrees(abs(turn))
            what = f"the two sides stand at {left:.0f} degrees to one another and no needle turns there"
            hint = f"round the corner, or leave at least {180 - math.degrees(CUSP_RAD):.0f} degrees between the sides"
            found.append(_stop("JOB-109", f"{place}: corner of {between}", what, hint))
    return tuple(found)


def _ear_sizes(
    width: float, depth: float, ear_width: float, ear_depth: float, radius: float, place: str, style: Style
) -> tuple[Finding, ...]:
    wrong = _sizes(place, style, width=width, depth=depth, ear_width=ear_width, ear_depth=ear_depth)
    wrong += _radii(place, style, {"every corner": radius})
    return wrong or _less(place, "ear_depth", ear_depth, "depth", depth, style)


def _sizes(place: str, style: Style, **sizes_mm: float) -> tuple[Finding, ...]:
    return tuple(_bad_size(place, n, v, style) for n, v in sizes_mm.items() if not (math.isfinite(v) and v > 0))


def _radii(place: str, style: Style, radii_mm: Mapping[str, float]) -> tuple[Finding, ...]:
    unknown = [c for c in radii_mm if c not in (*CORNERS, "every corner")]
    return tuple(
        _bad_size(f"{place}: {n.replace('_', ' ')}", "radius", v, style)
        for n, v in radii_mm.items()
        if not (math.isfinite(v) and v >= 0)
    ) + tuple(
        _stop("JOB-025", place, f"there is no corner `{c}`", f"corners are {', '.join(CORNERS)}") for c in unknown
    )


def _less(place: str, name: str, value: float, than: str, limit: float, style: Style) -> tuple[Finding, ...]:
    if value < limit:
        return ()
    what = f"{name} {_shown(value, style)} leaves nothing of the {than} {_shown(limit, style)}"
    return (_stop("JOB-108", place, what, f"{name} must be less than {_shown(limit, style)}"),)


def _bad_size(place: str, name: str, value: float, style: Style) -> Finding:
    shown = _shown(value, style) if math.isfinite(value) else str(value)
    return _stop("JOB-101", place, f"{name} is {shown}", "give a length greater than nought")


def _stop(code: str, place: str, message: str, hint: str) -> Finding:
    return Finding(code, Severity.STOP, place, message, hint)


def _shown(length_mm: float, style: Style) -> str:
    return format_length(length_mm, style)


def at_line(findings: Sequence[Finding], line: int | None) -> tuple[Finding, ...]:
    """Give findings a line of the job file where they have none."""
    return tuple(f if f.line is not None else replace(f, line=line) for f in findings)
