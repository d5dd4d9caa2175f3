"""Notches: where they go, so that they pair over every seam and no piece can be sewn on wrongly.

A station is a place on the seam, by seam length from the outline's start; it puts a notch on the
panel and on whatever part of the boxing is sewn there. Top and bottom edge share the main
stations. Marks of one edge alone (a second notch close beside a main one) tell a turned or
flipped piece from a right one.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from squab.construct.boxing import BoxingPart
from squab.construct.ground import Ground
from squab.construct.panels import EDGES, Edge, PanelPart, Panels
from squab.construct.records import Notch
from squab.construct.rules import NOTCH_APART_MM, NOTCH_TELLS_MM
from squab.construct.shape import Sampled, Symmetry, crossings, edge_at, nearest_s, rectangle
from squab.plane import Arc, Outline, Point

SHORT_CURVE_MM = 40.0
"""A rounded corner shorter than this takes one notch at its middle instead of one at each end."""
SNAP_MM = 1.0
"""A station nearer than this to where two parts meet stands exactly there, on both."""
BESIDE_MM = (30.0, -30.0, 42.0, -42.0, 20.0, -20.0, 24.0, -24.0, 55.0, -55.0, 70.0, 90.0, 120.0, 160.0)
ROUNDS = 8


@dataclass(frozen=True, slots=True)
class Station:
    """A notch's place on one edge's seam, s in [0, ring)."""

    s: float
    strokes: int
    rank: int
    """0 centre front and back, 1 corners, 2 side centres, 3 the ends of curves, 4 between, 5 a mark of one edge."""


@dataclass(frozen=True)
class Stations:
    """The stations of the two edges, each in the order of s."""

    top: tuple[Station, ...]
    bottom: tuple[Station, ...]

    def of(self, edge: Edge) -> tuple[Station, ...]:
        """The stations of one edge."""
        return self.top if edge == "top" else self.bottom

    def with_mark(self, edge: Edge, s: float) -> Stations:
        """The stations with one more mark on one edge."""
        more = tuple(sorted((*self.of(edge), Station(s, 1, 5)), key=lambda t: t.s))
        return Stations(more, self.bottom) if edge == "top" else Stations(self.top, more)


def main_stations(ground: Ground) -> tuple[Station, ...]:
    """Stations at centre front (single), centre back (double), corners, side centres and between."""
    ring = ground.ring_mm
    wanted = [Station(ground.front_middle, 1, 0), Station(ground.back_middle, 2, 0)]
    wanted += [Station(s, 1, 1) for s, _ in ground.corners]
    for name in ground.seam.side_names() if len(ground.seam.side_names()) > 1 else ():
        wanted += [Station((a + b) / 2 % ring, 1, 2) for a, b in ground.seam.side_ranges(name)]
    wanted += [Station(s, 1, 3) for s in _curve_ends(ground.seam)]
    kept: list[Station] = []
    for station in sorted(wanted, key=lambda t: t.rank):
        if all(_apart(station.s, k.s, ring) >= NOTCH_APART_MM for k in kept):
            kept.append(station)
    kept.sort(key=lambda t: t.s)
    return tuple(sorted([*kept, *_between(ground, kept)], key=lambda t: t.s))


def _apart(a: float, b: float, ring: float) -> float:
    d = abs(a - b) % ring
    return min(d, ring - d)


def _curve_ends(outline: Outline) -> list[float]:
    """Ends of the curves, or their middles where they are short; joints inside one circle are none."""
    found: list[float] = []
    n = len(outline.edges)
    starts = outline.path.edge_starts()
    fresh = [i for i in range(n) if not _same_curve(outline.edges[i - 1], outline.edges[i])]
    for k, i in enumerate(fresh):
        j = fresh[(k + 1) % len(fresh)]
        if not isinstance(outline.edges[i], Arc):
            continue
        a = starts[i]
        b = starts[j] if starts[j] > a else starts[j] + outline.length
        ends = [(a + b) / 2] if b - a < SHORT_CURVE_MM else [a, b]
        found += [s % outline.length for s in ends]
    return found


def _same_curve(a: object, b: object) -> bool:
    return (
        isinstance(a, Arc)
        and isinstance(b, Arc)
        and math.dist(a.centre, b.centre) < 1e-3
        and abs(a.radius - b.radius) < 1e-3
    )


def _between(ground: Ground, kept: Sequence[Station]) -> list[Station]:
    ring = ground.ring_mm
    out = []
    for a, b in zip(kept, [*kept[1:], kept[0]], strict=True):
        gap = (b.s - a.s) % ring or ring
        n = math.ceil(gap / _spacing(ground, a.s + gap / 2) - 1e-6)
        out += [Station((a.s + gap * i / n) % ring, 1, 4) for i in range(1, n)]
    return out


def _spacing(ground: Ground, s: float) -> float:
    """Spacing at s: on a curve as asked or an eighth of its circle, whichever is more; on a straight as asked."""
    edge, notching = edge_at(ground.seam, s), ground.cover.notching
    if isinstance(edge, Arc):
        return min(max(notching.curve_every_mm, edge.radius * math.pi / 4), notching.straight_every_mm)
    return notching.straight_every_mm


# --- telling a turned or flipped piece from a right one --------------------------------------


Mark = tuple[float, int]
"""A notch by seam length round its own piece, and its strokes."""


def confusions(seam: Outline, notches: Iterable[Notch]) -> tuple[Symmetry, ...]:
    """Find the turns and flips of a piece onto itself under which every notch falls on its like.

    A piece without such a symmetry cannot be sewn on turned or flipped unnoticed. Notches that
    miss by more than `NOTCH_TELLS_MM` are seen to miss. A piece without notches is always
    confused with its own half turn or mirror image.
    """
    return _confusions(Sampled(seam), [(nearest_s(seam, n.at)[0], n.strokes) for n in notches])


def _confusions(seam: Sampled, marks: list[Mark]) -> tuple[Symmetry, ...]:
    if not marks:
        return (Symmetry(-1, 0.0),)
    counts = {k: sum(1 for _, m in marks if m == k) for _, k in marks}
    rarest = min(counts, key=lambda k: counts[k])
    like = [s for s, k in marks if k == rarest]
    found = []
    for way in (1, -1):
        for target in like:
            sym = Symmetry(way, (target - way * like[0]) % seam.length)
            if way == 1 and _apart(sym.shift_mm, 0.0, seam.length) < NOTCH_TELLS_MM:
                continue
            if _maps_marks(marks, sym, seam.length) and seam.has(sym, 2 * NOTCH_TELLS_MM):
                found.append(sym)
    return tuple(found)


def _maps_marks(marks: list[Mark], sym: Symmetry, length: float) -> bool:
    return all(
        any(k == m and _apart(sym.way * s + sym.shift_mm, t, length) <= NOTCH_TELLS_MM for t, m in marks)
        for s, k in marks
    )


class _Told:
    """A piece whose notches are to tell it from itself turned or flipped."""

    def __init__(self, seam: Outline, edge: Edge, name: str) -> None:
        self.seam, self.edge, self.name = Sampled(seam), edge, name

    def marks(self, stations: Stations) -> list[Mark]:
        """The notches that stations put on the piece."""
        raise NotImplementedError

    def takes(self, s: float) -> bool:
        """Tell whether a mark at s of its edge would stand on the piece, clear of its ends."""
        raise NotImplementedError

    def confused(self, stations: Stations) -> bool:
        """Tell whether it can be sewn on turned or flipped unnoticed."""
        return bool(_confusions(self.seam, self.marks(stations)))


class _ToldPart(_Told):
    def __init__(self, ground: Ground, part: BoxingPart) -> None:
        edge: Edge = "bottom" if part.bottom_z is not None else "top"
        super().__init__(_rect(part), edge, part.name)
        self.ground, self.part = ground, part

    def marks(self, stations: Stations) -> list[Mark]:
        p, high = self.part, self.part.seam_z[1] - self.part.seam_z[0]
        low = [] if p.bottom_z is None else [(s, t.strokes) for t in stations.bottom for s in self._lifted(t.s)]
        top = [] if p.top_z is None else [(s, t.strokes) for t in stations.top for s in self._lifted(t.s)]
        return [(s - p.s0, k) for s, k in low] + [(p.length + high + p.s1 - s, k) for s, k in top]

    def _lifted(self, s: float) -> list[float]:
        return lifted(self.ground, self.part, s)

    def takes(self, s: float) -> bool:
        return any(self.part.s0 + 10 <= t <= self.part.s1 - 10 for t in self._lifted(s))


class _ToldPanel(_Told):
    def __init__(self, ground: Ground, panel: PanelPart) -> None:
        super().__init__(panel.outline, panel.edge, panel.name)
        self.ground, self.panel = ground, panel
        self._known: dict[float, float | None] = {}

    def _place(self, s: float) -> float | None:
        if s not in self._known:
            if self.panel.outline is self.ground.seam:
                self._known[s] = s
            else:
                place, off = nearest_s(self.panel.outline, self.ground.seam.point_at(s))
                self._known[s] = place if off < 1e-3 else None
        return self._known[s]

    def marks(self, stations: Stations) -> list[Mark]:
        placed = [(self._place(t.s), t.strokes) for t in stations.of(self.edge)]
        return [(s, k) for s, k in placed if s is not None]

    def takes(self, s: float) -> bool:
        return self._place(s) is not None


def stations_that_tell(ground: Ground, panels: Panels, parts: Sequence[BoxingPart]) -> tuple[Stations, list[str]]:
    """Give both edges their stations and add marks until no piece can be confused; name any that still can."""
    meets = _meetings(ground, panels, parts)
    main = tuple(replace(t, s=_snapped(t.s, meets, ground.ring_mm)) for t in main_stations(ground))
    stations = Stations(main, main)
    told: list[_Told] = [*(_ToldPart(ground, p) for p in parts), *(_ToldPanel(ground, p) for p in panels.parts)]
    for _ in range(ROUNDS):
        before = stations
        for piece in told:
            stations = _with_a_mark(ground.ring_mm, stations, piece, meets)
        if stations == before:
            break
    return stations, [p.name for p in told if p.confused(stations)]


def _meetings(ground: Ground, panels: Panels, parts: Sequence[BoxingPart]) -> list[float]:
    """Where parts of a panel, or of the boxing, meet on the seam."""
    across = [s for x in panels.seam_x for s in crossings(ground.seam, 0, x)]
    along = [] if panels.zip_y is None else crossings(ground.seam, 1, panels.zip_y)
    return [*across, *along, *(s % ground.ring_mm for p in parts for s in (p.s0, p.s1))]


def _snapped(s: float, meets: Sequence[float], ring: float) -> float:
    near = min(meets, key=lambda m: _apart(s, m, ring), default=s)
    return near if _apart(s, near, ring) < SNAP_MM else s


def _with_a_mark(ring: float, stations: Stations, piece: _Told, meets: Sequence[float]) -> Stations:
    """Add one mark to the piece's edge so that it is no longer confused, where it is and one will do."""
    if not piece.confused(stations):
        return stations
    there = stations.of(piece.edge)
    near = [t.s for t in there if t.rank < 5 and piece.takes(t.s)]
    places = [s + d for d in BESIDE_MM for s in near] + [ring * k / 97 for k in range(97)]
    for s in (p % ring for p in places):
        if (
            not piece.takes(s)
            or _snapped(s, meets, ring) != s
            or any(_apart(s, t.s, ring) < NOTCH_APART_MM - 1e-6 for t in there)
        ):
            continue
        tried = stations.with_mark(piece.edge, s)
        if not piece.confused(tried):
            return tried
    return stations


def _rect(part: BoxingPart) -> Outline:
    return rectangle(part.s0, part.seam_z[0], part.s1, part.seam_z[1])


def lifted(ground: Ground, part: BoxingPart, s: float) -> list[float]:
    """The places of a station in a part's own unrolled s, its ends included."""
    ring = ground.ring_mm
    k0 = math.floor((part.s0 - s) / ring)
    return [t for k in range(k0, k0 + 4) if part.s0 - 1e-6 <= (t := s + k * ring) <= part.s1 + 1e-6]


# --- notches of a piece ---------------------------------------------------------------------


def pair_name(ground: Ground, edge: Edge, index: int) -> str:
    """The name that the two notches of a pair share."""
    return f"{ground.cushion.id}:{edge[0].upper()}{index + 1}"


def outward_at(outline: Outline, s: float) -> Point:
    """Unit direction from the seam line to the cut edge at s; at a corner, half way between its sides'."""
    a, b = outline.tangent_at(s - 1e-4), outline.tangent_at(s + 1e-4)
    x, y = a[1] + b[1], -(a[0] + b[0])
    n = math.hypot(x, y) or 1.0
    return (x / n, y / n)


def panel_notches(ground: Ground, panel: PanelPart, stations: Stations) -> list[Notch]:
    """The notches of a panel's piece, in the frame of the cushion seen from above."""
    found = []
    for i, station in enumerate(stations.of(panel.edge)):
        at = ground.seam.point_at(station.s)
        if panel.outline is ground.seam or nearest_s(panel.outline, at)[1] < 1e-3:
            found.append(
                Notch(at, outward_at(ground.seam, station.s), station.strokes, pair_name(ground, panel.edge, i))
            )
    return found


def boxing_notches(ground: Ground, part: BoxingPart, stations: Stations) -> list[Notch]:
    """The notches of a part of the boxing, on both its edges, in (s, z), s not eased."""
    found = []
    for edge in EDGES:
        z, up = (part.top_z, 1.0) if edge == "top" else (part.bottom_z, -1.0)
        if z is None:
            continue
        for i, station in enumerate(stations.of(edge)):
            for s in lifted(ground, part, station.s):
                found.append(Notch((s, z), (0.0, up), station.strokes, pair_name(ground, edge, i)))
    return found
