"""Seams: which stretch of which piece is sewn to which, both travelled the same way."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from squab.construct.boxing import Boxing, BoxingPart
from squab.construct.ground import Ground
from squab.construct.notches import lifted
from squab.construct.panels import EDGES, SEAM_SIDE, ZIP_SIDE, Edge, PanelPart, Panels
from squab.construct.records import Seam, SeamEnd
from squab.construct.shape import mirrored_path, nearest_s
from squab.plane import Line, Path

SAME_MM = 1e-6


@dataclass(frozen=True)
class Frames:
    """From the cushion seen from above, and the uneased ring, to the frames of the pieces.

    The bottom is mirrored in the front edge, or left to right where the cushion is turned over.
    Easing shrinks the boxing about the centre front, where it must match first.
    """

    bottom_axis: int
    ease_factor: float
    front_middle: float
    ring_mm: float

    def box(self, part: BoxingPart, s: float) -> float:
        """Seam length on a part of the boxing of a place on the panel."""
        middle = (part.s0 + part.s1) / 2
        about = self.front_middle + self.ring_mm * round((middle - self.front_middle) / self.ring_mm)
        return about + self.ease_factor * (s - about)

    def panel(self, edge: Edge, path: Path) -> Path:
        """A path of the panel in its piece's frame."""
        return path if edge == "top" else mirrored_path(path, self.bottom_axis)


def frames_of(ground: Ground) -> Frames:
    """The frames of one cushion's pieces."""
    return Frames(
        0 if ground.cushion.turned_over else 1,
        1.0 - ground.cover.boxing_ease_mm / ground.ring_mm,
        ground.front_middle,
        ground.ring_mm,
    )


def cushion_seams(ground: Ground, panels: Panels, boxing: Boxing, frames: Frames) -> tuple[Seam, ...]:
    """Every seam of a cover."""
    seams = [
        *_ring_seams(ground, panels, boxing, frames, "top"),
        *_ring_seams(ground, panels, boxing, frames, "bottom"),
        *_end_joins(ground, boxing, frames),
        *_zip_centre(ground, boxing, frames),
        *_panel_joins(ground, panels, frames),
    ]
    return tuple(_numbered(seams))


def _numbered(seams: list[Seam]) -> list[Seam]:
    """Give seams of the same name a number each."""
    names = [s.id for s in seams]
    out, seen = [], dict.fromkeys(names, 0)
    for seam in seams:
        if names.count(seam.id) == 1:
            out.append(seam)
            continue
        seen[seam.id] += 1
        out.append(replace(seam, id=f"{seam.id}.{seen[seam.id]}"))
    return out


def _breaks(ground: Ground, panels: Panels, boxing: Boxing, edge: Edge) -> list[float]:
    ring = ground.ring_mm
    places = [r[0] for name in ground.seam.side_names() for r in ground.seam.side_ranges(name)]
    if len(ground.seam.side_names()) < 2:
        places = []
    for part in boxing.parts:
        places += [part.s0, part.s1]
    for panel in panels.of(edge):
        for e, side in zip(panel.outline.edges, panel.outline.sides, strict=True):
            if side in (SEAM_SIDE, ZIP_SIDE):
                hits = [nearest_s(ground.seam, p) for p in (e.start, e.end)]
                places += [s for s, off in hits if off < 1e-3]
    out: list[float] = []
    for s in sorted(p % ring for p in places):
        if all(min(abs(s - o), ring - abs(s - o)) > 1e-3 for o in out):
            out.append(s)
    return out


def _ring_seams(ground: Ground, panels: Panels, boxing: Boxing, frames: Frames, edge: Edge) -> list[Seam]:
    ring = ground.ring_mm
    breaks = _breaks(ground, panels, boxing, edge)
    found = []
    for a, b in zip(breaks, [*breaks[1:], breaks[0] + ring], strict=True):
        middle = (a + b) / 2
        panel = _panel_at(ground, panels, edge, middle)
        for part in boxing.parts:
            z = part.top_z if edge == "top" else part.bottom_z
            places = [] if z is None else [m for m in lifted(ground, part, middle) if m - part.s0 > SAME_MM]
            for m in places[:1]:
                assert z is not None
                lo, hi = m - (b - a) / 2, m + (b - a) / 2
                found.append(_ring_seam(ground, frames, edge, (a, b), panel, part, (lo, hi, z)))
    return found


def _ring_seam(
    ground: Ground,
    frames: Frames,
    edge: Edge,
    stretch: tuple[float, float],
    panel: PanelPart,
    part: BoxingPart,
    on_boxing: tuple[float, float, float],
) -> Seam:
    lo, hi, z = on_boxing
    a = frames.panel(edge, ground.seam.part(*stretch))
    b = Path((Line((frames.box(part, lo), z), (frames.box(part, hi), z)),))
    side = ground.seam.side_at((stretch[0] + stretch[1]) / 2)
    return Seam(
        id=ground.piece_id(f"{edge}.{side or 'ring'}".replace(" ", "_")),
        kind="panel_zip" if part.is_zip else "panel_boxing",
        a=SeamEnd(panel.id, a),
        b=SeamEnd(part.id, b),
        side=side,
        seen=ground.seam.is_seen(side),
        edge=edge,
        ease_mm=max(a.length - b.length, 0.0) if ground.cover.boxing_ease_mm else 0.0,
        cushion_id=ground.cushion.id,
        piped=ground.cover.piping.edges in (edge, "both"),
    )


def _panel_at(ground: Ground, panels: Panels, edge: Edge, s: float) -> PanelPart:
    at = ground.seam.point_at(s)
    return min(panels.of(edge), key=lambda p: nearest_s(p.outline, at)[1])


# --- joins across the boxing ----------------------------------------------------------------


def _end_joins(ground: Ground, boxing: Boxing, frames: Frames) -> list[Seam]:
    """Joins where one part of the boxing ends and the next begins; a closed band meets itself."""
    found = []
    for first in boxing.parts:
        for second in boxing.parts:
            gap = (second.s0 - first.s1) % ground.ring_mm
            if min(gap, ground.ring_mm - gap) > 1e-3:
                continue
            found += _end_join(ground, frames, first, second)
    return found


def _end_join(ground: Ground, frames: Frames, first: BoxingPart, second: BoxingPart) -> list[Seam]:
    """The join at the end of `first`: whole, or in halves where a zip panel's tape parts it."""
    h = ground.thickness_mm
    if first.is_zip and second.is_zip and first.id != second.id:
        return []
    side = ground.seam.side_at(first.s1 - 0.5 if first.is_zip else first.s1 + 0.5)
    zipped = first if first.is_zip else second if second.is_zip else None
    kind: Literal["zip_join", "boxing_join"] = "zip_join" if zipped else "boxing_join"
    name = ground.piece_id(f"{kind}.{'end' if first.is_zip else 'start'}" if zipped else f"{kind}.{side or 'ring'}")
    pieces = _halves(zipped, h) if zipped else [((0.0, h), 0.0, "")]
    found = []
    for (z0, z1), shift, label in pieces:
        ends = []
        for part, s in ((first, first.s1), (second, second.s0)):
            d = shift if part is zipped else 0.0
            ends.append(SeamEnd(part.id, Path((Line((frames.box(part, s), z0 + d), (frames.box(part, s), z1 + d)),))))
        if zipped is first:
            ends.reverse()
        found.append(
            Seam(
                id=(name + label).replace(" ", "_"),
                kind=kind,
                a=ends[0],
                b=ends[1],
                side=side,
                seen=ground.seam.is_seen(side),
                cushion_id=ground.cushion.id,
            )
        )
    return found


def _halves(part: BoxingPart, h: float) -> list[tuple[tuple[float, float], float, str]]:
    """Stretches of finished z at a zip panel's end, with the shift to the panel's own z."""
    if part.top_z is not None and part.bottom_z is not None:
        return [((h / 2, h), 0.0, ".upper"), ((0.0, h / 2), part.bottom_z, ".lower")]
    if part.top_z is not None:
        return [((part.seam_z[0], h), 0.0, ".upper")]
    upper_from = 2 * (h / 2) - part.seam_z[1]
    return [((0.0, upper_from), 0.0, ".lower")]


def _zip_centre(ground: Ground, boxing: Boxing, frames: Frames) -> list[Seam]:
    uppers = [p for p in boxing.parts if p.is_zip and p.bottom_z is None]
    lowers = [p for p in boxing.parts if p.is_zip and p.top_z is None]
    found = []
    for low, up in zip(lowers, uppers, strict=True):
        a, b = (
            Path((Line((frames.box(p, p.s0), z), (frames.box(p, p.s1), z)),))
            for p, z in ((low, low.seam_z[1]), (up, up.seam_z[0]))
        )
        side = ground.seam.side_at((low.s0 + low.s1) / 2)
        found.append(
            Seam(
                id=ground.piece_id("zip_centre"),
                kind="zip_centre",
                a=SeamEnd(low.id, a),
                b=SeamEnd(up.id, b),
                side=side,
                seen=ground.seam.is_seen(side),
                cushion_id=ground.cushion.id,
            )
        )
    return found


# --- joins across a panel -------------------------------------------------------------------


def shared_edges(parts: tuple[PanelPart, ...]) -> list[tuple[PanelPart, PanelPart, Line, str]]:
    """Edges along which two parts of one panel are sewn together, as the first part travels them."""
    found = []
    for i, p in enumerate(parts):
        for q in parts[i + 1 :]:
            for e, side in zip(p.outline.edges, p.outline.sides, strict=True):
                if side not in (SEAM_SIDE, ZIP_SIDE) or not isinstance(e, Line):
                    continue
                for f, other in zip(q.outline.edges, q.outline.sides, strict=True):
                    if other == side and _opposite(e.start, f.end) and _opposite(e.end, f.start):
                        found.append((p, q, e, side))
    return found


def _opposite(a: tuple[float, float], b: tuple[float, float]) -> bool:
    return abs(a[0] - b[0]) < 1e-6 and abs(a[1] - b[1]) < 1e-6


def _panel_joins(ground: Ground, panels: Panels, frames: Frames) -> list[Seam]:
    found = []
    for edge in EDGES:
        for p, q, line, side in shared_edges(panels.of(edge)):
            path = frames.panel(edge, Path((line,)))
            is_zip = side == ZIP_SIDE
            found.append(
                Seam(
                    id=ground.piece_id(f"{edge}.{'zip_centre' if is_zip else 'panel_seam'}"),
                    kind="zip_centre" if is_zip else "panel_panel",
                    a=SeamEnd(p.id, path),
                    b=SeamEnd(q.id, path),
                    side=edge,
                    seen=edge == "top" or ground.cushion.turned_over,
                    edge=edge,
                    cushion_id=ground.cushion.id,
                )
            )
    return found
