"""The finished cushion in its own cloth, every face's pattern where the cut pieces really put it.

Frames: each piece's own; the solid's, (x, y, z), the cushion's seam outline with z up from the
bottom seam; the pattern's, (p, q); the sheet's. `surface_maps` gives, for every face, the maps
from a piece to the solid and to the pattern; the picture is drawn through these and nothing
else, so a mismatch that is cut is a mismatch that shows.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely
from shapely import affinity
from shapely.geometry import LinearRing, MultiPolygon, Polygon, box
from shapely.geometry.base import BaseGeometry

from squab.construct.records import CushionCover, Piece, Strip
from squab.draw import svg
from squab.draw.cloth import cloth_svg, colours_at, drawn_pattern
from squab.draw.laid import Laid, cover_of, cushion_of, laid_parts, place_on_pattern
from squab.draw.svg import FAINT_INK, INK, PAPER, figure
from squab.job import Cushion
from squab.plane import Outline, Placement, Points
from squab.units import format_length
from squab.worked import WorkedJob

Solid = npt.NDArray[np.float64]
"""(n, 3) points of the solid, mm."""
Face = Literal["top", "bottom", "wall"]

_STEP_MM = 10.0
"""Edges of stripes are broken at this length before they are bent over the cushion."""
_WIDEST_MM, _HIGHEST_MM = 178.0, 112.0
_GLOW_STEPS = 16
_SUN = np.array([-0.45, -0.62, 0.64])
_FRONT_TURN_DEG, _TILT_DEG = 27.0, 34.0


@dataclass(frozen=True)
class SurfacePatch:
    """One sewn-in stretch of cloth: its region inside the seams, and where that goes.

    `region` is in the piece's own frame; `to_solid` takes (n, 2) points of it to the solid;
    `pattern_place` takes them to the pattern's frame (p, q).
    """

    part_id: str
    face: Face
    cloth_id: str
    region: Polygon
    to_solid: Callable[[Points], Solid]
    pattern_place: Placement

    def to_pattern(self, xy_piece: Points) -> Points:
        """Where points of the piece are on the pattern, (p, q)."""
        return self.pattern_place.points(xy_piece)


def surface_maps(worked: WorkedJob, cushion_id: str, number: int = 1) -> tuple[SurfacePatch, ...]:
    """Map every seen stretch of cloth of one cushion to the solid and to the pattern.

    Parameters
    ----------
    number:
        Which of the cushions of that kind, from 1: each is cut from its own place on the bolt.

    Returns
    -------
    tuple[SurfacePatch, ...]
        Top, bottom and walls. Where there is no lay, the phases that matching asked for are
        used, with free anchors at nought.

    Raises
    ------
    KeyError
        If the job has no such cushion.
    """
    cover, cushion = cover_of(worked, cushion_id), cushion_of(worked, cushion_id)
    places = _Places(worked)
    patches: list[SurfacePatch] = []
    for piece in cover.pieces:
        if piece.kind in ("top", "bottom", "boxing", "zip_panel"):
            patches += _piece_patches(places, cover, cushion, piece, number)
    for strip in cover.strips:
        if strip.kind == "boxing":
            patches += _strip_patches(places, cover, strip, number)
    return tuple(patches)


@dataclass(frozen=True)
class _Places:
    """Where pieces are on the pattern; each cloth's lay is read once."""

    worked: WorkedJob

    @cached_property
    def laid(self) -> dict[str, list[Laid]]:
        found: dict[str, list[Laid]] = {}
        for cloth_id in self.worked.plans:
            for x in laid_parts(self.worked, cloth_id):
                found.setdefault(x.part_id, []).append(x)
        return found

    def of(self, part: Piece | Strip, number: int, each: int) -> list[tuple[tuple[float, float], Placement]]:
        """Where a piece, or the parts of a strip, are on the pattern: as laid, else as matched."""
        laid = self.laid.get(part.id, [])
        wanted = (number - 1) * each + 1
        chosen = [x for x in laid if x.number == wanted] or [x for x in laid if x.number == 1]
        whole = (part.s0_mm, part.s1_mm) if isinstance(part, Strip) else (0.0, 0.0)
        if not chosen:
            return [(whole, _matched_place(self.worked, part))]
        found = ((x.part_mm or whole, place_on_pattern(self.worked, part.cloth_id, part.id, x.place)) for x in chosen)
        return sorted(found, key=lambda t: t[0])


def _piece_patches(
    places: _Places, cover: CushionCover, cushion: Cushion | None, piece: Piece, number: int
) -> list[SurfacePatch]:
    each = max(1, piece.count // max(cushion.count, 1)) if cushion else 1
    place = places.of(piece, number, each)[0][1]
    seam = Polygon(piece.seam.flattened())
    if piece.kind == "top":
        return [SurfacePatch(piece.id, "top", piece.cloth_id, seam, _top_map(cover), place)]
    if piece.kind == "bottom":
        turned = cushion.turned_over if cushion else False
        return [SurfacePatch(piece.id, "bottom", piece.cloth_id, seam, _bottom_map(turned), place)]
    return [
        SurfacePatch(piece.id, "wall", piece.cloth_id, region, _wall_map(cover.seam_outline, drop), place)
        for region, drop in _unswallowed(seam, cover.thickness_mm, piece.kind == "zip_panel")
    ]


def _unswallowed(seam: Polygon, thickness_mm: float, zipped: bool) -> list[tuple[Polygon, float]]:
    """A zip panel taller than the boxing loses its middle to the zip: two halves, the upper one let down."""
    x0, z0, x1, z1 = seam.bounds
    swallowed = (z1 - z0) - thickness_mm
    if not zipped or swallowed < 0.5:
        return [(seam, 0.0)]
    half = thickness_mm / 2
    return [(box(x0, z0, x1, z0 + half), z0), (box(x0, z1 - half, x1, z1), z0 + swallowed)]


def _strip_patches(places: _Places, cover: CushionCover, strip: Strip, number: int) -> list[SurfacePatch]:
    low, high = strip.seam_z if strip.seam_z[1] > strip.seam_z[0] else (0.0, cover.thickness_mm)
    wall = _wall_map(cover.seam_outline, 0.0)
    return [
        SurfacePatch(strip.id, "wall", strip.cloth_id, box(a, low, b, high), wall, place)
        for (a, b), place in places.of(strip, number, 1)
    ]


def _matched_place(worked: WorkedJob, part: Piece | Strip) -> Placement:
    placing = worked.match.placings.get(part.id)
    turn = placing.turns_deg[0] if placing and placing.turns_deg else part.turn_deg
    phase = placing.phase if placing else None
    if phase is None:
        return Placement(turn, 0.0, 0.0)
    anchor = worked.match.anchors.get(phase.group)
    a, b = (anchor.a or 0.0, anchor.b or 0.0) if anchor else (0.0, 0.0)
    return Placement(turn, phase.sign_p * a + (phase.off_p or 0.0), phase.sign_q * b + (phase.off_q or 0.0))


def _top_map(cover: CushionCover) -> Callable[[Points], Solid]:
    """The top, slightly crowned: nought at the seam, so that seams stay where they are."""
    ring = LinearRing(cover.seam_outline.flattened())
    inner = shapely.maximum_inscribed_circle(Polygon(ring)).length
    reach = min(130.0, inner * 0.9)
    crown = min(12.0, reach * 0.1)

    def mapped(xy: Points) -> Solid:
        far = np.minimum(shapely.distance(shapely.points(xy), ring) / reach, 1.0)
        return np.column_stack((xy, cover.thickness_mm + crown * (1 - (1 - far) ** 2)))

    return mapped


def _bottom_map(turned_over: bool) -> Callable[[Points], Solid]:
    flip = (-1.0, 1.0) if turned_over else (1.0, -1.0)

    def mapped(xy: Points) -> Solid:
        return np.column_stack((xy[:, 0] * flip[0], xy[:, 1] * flip[1], np.zeros(len(xy))))

    return mapped


def _wall_map(outline: Outline, drop_mm: float) -> Callable[[Points], Solid]:
    def mapped(sz: Points) -> Solid:
        at = outline.path.points_at(sz[:, 0] % outline.length)
        return np.column_stack((at, sz[:, 1] - drop_mm))

    return mapped


@dataclass(frozen=True)
class View:
    """A parallel view: where the eye is, and how the solid comes to paper."""

    right: npt.NDArray[np.float64]
    up: npt.NDArray[np.float64]
    eye: npt.NDArray[np.float64]
    scale: float = 1.0
    x_mm: float = 0.0
    y_mm: float = 0.0

    def sheet(self, xyz: Solid) -> Points:
        """From the solid to the sheet, y downwards."""
        return np.column_stack((self.x_mm + self.scale * (xyz @ self.right), self.y_mm - self.scale * (xyz @ self.up)))

    def nearness(self, xyz: Solid) -> npt.NDArray[np.float64]:
        """How near the eye points are, level distance only: walls are upright."""
        return xyz[:, :2] @ self.eye[:2]


def view_from(turn_deg: float, tilt_deg: float = _TILT_DEG) -> View:
    """A view from `turn_deg` clockwise (seen from above) of the front: 0 front, 180 back; `tilt_deg` above."""
    a, e = math.radians(turn_deg), math.radians(tilt_deg)
    ca, sa, ce, se = math.cos(a), math.sin(a), math.cos(e), math.sin(e)
    right = np.array([ca, -sa, 0.0])
    up = np.array([sa * se, ca * se, ce])
    return View(right, up, np.array([-sa * ce, -ca * ce, se]))


FRONT = view_from(_FRONT_TURN_DEG)
"""From above the front left."""


def cushion_picture_svg(worked: WorkedJob, cushion_id: str, number: int = 1) -> str:
    """Draw a finished cushion from above the front left, in its own cloth."""
    return _picture(worked, cushion_id, number, FRONT, "")


def cushion_back_picture_svg(worked: WorkedJob, cushion_id: str, number: int = 1) -> str:
    """Draw a finished cushion from behind, above its right: the zip and the joins at the back."""
    return _picture(worked, cushion_id, number, view_from(180.0 + _FRONT_TURN_DEG), "from behind")


_FROM_BELOW = View(np.array([1.0, 0.0, 0.0]), np.array([0.0, -1.0, 0.0]), np.array([0.0, 0.0, -1.0]))
"""Straight from below, the cushion rolled over about its front edge: the front is at the head of the sheet."""


def shows_underside(worked: WorkedJob, cushion_id: str) -> bool:
    """Tell whether there is something to see below: a zip, a match, or a face that is turned up in use."""
    cover, cushion = cover_of(worked, cushion_id), cushion_of(worked, cushion_id)
    if (cover.zip_panel is not None and cover.zip_panel.place == "bottom") or (cushion and cushion.turned_over):
        return True
    below = {s.id for s in cover.seams if s.edge == "bottom"}
    return any(d.seam_id in below and d.wish != "ignore" and d.verdict != "not matched" for d in worked.match.drifts)


def cushion_underside_svg(worked: WorkedJob, cushion_id: str, number: int = 1) -> str:
    """Draw a finished cushion from straight below, its front at the head: the bottom in its own cloth, zip and seams.

    Raises
    ------
    KeyError
        If the job has no such cushion.
    """
    cover = cover_of(worked, cushion_id)
    view, width, height = _fitted(_FROM_BELOW, cover)
    patches = surface_maps(worked, cushion_id, number)
    scene = Scene(worked, cover, cushion_of(worked, cushion_id), patches, view, number)
    bottoms = [p for p in patches if p.face == "bottom"]
    parts = [_bent(scene, p, p.region) for p in bottoms]
    for p in bottoms:
        edge = svg.polygons_d(p.region, lambda xy, p=p: scene.view.sheet(p.to_solid(xy)))  # type: ignore[misc]
        parts.append(svg.stroke(edge, stroke_width=0.4))
    turned = scene.cushion.turned_over if scene.cushion else False
    for piece in (p for p in cover.pieces if p.kind == "bottom"):
        opening = [e for e, side in zip(piece.seam.edges, piece.seam.sides, strict=True) if side == "zip"]
        ends = [scene.view.sheet(_bottom_map(turned)(np.array([e.start, e.end]))) for e in opening]
        parts += [_zip_line(scene, svg.polyline_d(at)) for at in ends]
    parts += [
        _ring(scene, 0.0, piped_at(scene, "bottom"), 1, None),
        *_sizes(scene, _letter_mm(width)),
        *_caption(scene, "from below, front above", width, height),
    ]
    name = scene.cushion.name if scene.cushion else cushion_id
    return svg.document(width, height, parts, title=f"{name}, finished, from below")


@dataclass(frozen=True)
class Scene:
    """Everything one picture needs."""

    worked: WorkedJob
    cover: CushionCover
    cushion: Cushion | None
    patches: tuple[SurfacePatch, ...]
    view: View
    number: int

    @property
    def outline(self) -> Outline:
        """The cushion's seam outline."""
        return self.cover.seam_outline

    @property
    def high(self) -> float:
        """Its thickness between the seams, mm."""
        return self.cover.thickness_mm


def _picture(worked: WorkedJob, cushion_id: str, number: int, view: View, said: str) -> str:
    cover = cover_of(worked, cushion_id)
    fitted, width, height = _fitted(view, cover)
    scene = Scene(
        worked, cover, cushion_of(worked, cushion_id), surface_maps(worked, cushion_id, number), fitted, number
    )
    parts = [
        _shadow(scene),
        *(
            _wall(scene, run, f"{cushion_id}-{number}-{i}")
            for i, run in enumerate(in_painters_order(scene, runs_seen(scene)))
        ),
        _top(scene),
        _ring(scene, scene.high, piped_at(scene, "top"), 0, None),
        *_sizes(scene, _letter_mm(width)),
        *_caption(scene, said, width, height),
    ]
    name = scene.cushion.name if scene.cushion else cushion_id
    return svg.document(width, height, parts, title=f"{name}, finished" + (f", {said}" if said else ""))


def _fitted(view: View, cover: CushionCover) -> tuple[View, float, float]:
    xy = cover.seam_outline.flattened()
    low, high = (np.column_stack((xy, np.full(len(xy), z))) for z in (0.0, cover.thickness_mm + 16.0))
    at = view.sheet(np.vstack((low, high, *_measured_edges(view, cover))))
    (x0, y0), (x1, y1) = at.min(axis=0), at.max(axis=0)
    scale = min(_WIDEST_MM / (x1 - x0), _HIGHEST_MM / (y1 - y0), 0.5)
    letter = _letter_mm((x1 - x0) * scale + 18.0)
    side, head, foot = max(9.0, 1.6 * letter), 8.0, 5.0 * letter + 2.0
    width = max((x1 - x0) * scale + 2 * side, 112.0)
    height = (y1 - y0) * scale + head + foot
    x = (width - (x1 - x0) * scale) / 2 - x0 * scale
    return View(view.right, view.up, view.eye, scale, x, head - y0 * scale), width, height


def _letter_mm(width_mm: float) -> float:
    """Lettering that can be read where the picture is shown 60 mm wide."""
    return max(3.6, 0.036 * width_mm)


def _shadow(scene: Scene) -> str:
    flat = Polygon(scene.outline.flattened(0.5))
    rings = []
    for grow in (26.0, 18.0, 10.0, 3.0):
        grown = affinity.translate(flat.buffer(grow), 7.0, -2.0)
        rings.append(_flat_path(scene, grown, fill=INK, fill_opacity=0.05))
    return "".join(rings)


def _flat_path(scene: Scene, shape: BaseGeometry, **attributes: object) -> str:
    return svg.path(
        svg.polygons_d(shape, lambda xy: scene.view.sheet(np.column_stack((xy, np.zeros(len(xy)))))), **attributes
    )


@dataclass(frozen=True)
class Run:
    """A stretch of wall between corners that faces the eye; `s` with its ends, `xy` on the outline."""

    s: npt.NDArray[np.float64]
    xy: Points


def runs_seen(scene: Scene) -> list[Run]:
    """The stretches of wall that are seen, broken at corners and where they turn away."""
    starts = scene.outline.path.edge_starts()
    corners = {round(s, 6) for s, _ in scene.outline.corners()}
    runs: list[list[float]] = []
    for start, edge in zip(starts, scene.outline.edges, strict=True):
        n = max(1, len(edge.flattened(0.05)))
        for s in (start + edge.length * i / n for i in range(n)):
            end = s + edge.length / n
            t = edge.tangent_at(s - start + edge.length / n / 2)
            faces = t[1] * scene.view.eye[0] - t[0] * scene.view.eye[1] > 1e-6
            if not faces:
                continue
            if runs and abs(runs[-1][-1] - s) < 1e-6 and round(s, 6) not in corners:
                runs[-1].append(end)
            else:
                runs.append([s, end])
    length = scene.outline.length
    if len(runs) > 1 and abs(runs[-1][-1] - length) < 1e-6 and runs[0][0] < 1e-6 and 0.0 not in corners:
        first = runs.pop(0)
        runs[-1] += [s + length for s in first[1:]]
    return [Run(np.array(r), np.array([scene.outline.point_at(s) for s in r])) for r in runs]


def patches_behind(scene: Scene, run: Run) -> Iterator[tuple[SurfacePatch, float, float, float]]:
    """The wall's patches along a run: each with the stretch of it there, and by how much its lengths are ahead.

    A patch may be told as going round the ring once more, or once less, than the run is.
    """
    s0, s1 = float(run.s[0]), float(run.s[-1])
    for patch in (p for p in scene.patches if p.face == "wall"):
        a, _, b, _ = patch.region.bounds
        for turn in (-2, -1, 0, 1, 2):
            ahead = turn * scene.outline.length
            lo, hi = max(a, s0 + ahead), min(b, s1 + ahead)
            if hi - lo >= 1e-6:
                yield patch, lo, hi, ahead


def in_painters_order(scene: Scene, runs: list[Run]) -> list[Run]:
    """Far walls first. Two upright walls that cover one another are compared where they do."""
    levels = [np.column_stack((r.xy, np.zeros(len(r.xy)))) for r in runs]
    across = [scene.view.sheet(z)[:, 0] for z in levels]
    near = [scene.view.nearness(z) for z in levels]

    def behind(i: int, j: int) -> bool:
        lo, hi = max(across[i][0], across[j][0]), min(across[i][-1], across[j][-1])
        if hi - lo < 1e-6:
            return False
        x = (lo + hi) / 2
        return bool(np.interp(x, across[i], near[i]) < np.interp(x, across[j], near[j]))

    left, order = list(range(len(runs))), []
    while left:
        nxt = next((i for i in left if not any(behind(j, i) for j in left if j != i)), left[0])
        left.remove(nxt)
        order.append(runs[nxt])
    return order


def _bent(scene: Scene, patch: SurfacePatch, region: BaseGeometry) -> str:
    """The cloth of a patch over a region of it, bent over the solid and drawn."""
    place = patch.pattern_place
    on_pattern = shapely.transform(region, place.points)

    def to_sheet(pq: Points) -> Points:
        x, y = place.local((pq[:, 0], pq[:, 1]))  # type: ignore[arg-type]
        return scene.view.sheet(patch.to_solid(np.column_stack((x, y))))

    return cloth_svg(drawn_pattern(scene.worked.job.cloth(patch.cloth_id)), on_pattern, to_sheet, step_mm=_STEP_MM)


def _wall(scene: Scene, run: Run, name: str) -> str:
    parts: list[str] = []
    joins: list[float] = []
    s0, s1 = float(run.s[0]), float(run.s[-1])
    for patch, lo, hi, ahead in patches_behind(scene, run):
        a, low, b, high = patch.region.bounds
        parts.append(_bent(scene, patch, box(lo, low, hi, high).intersection(patch.region)))
        joins += [e - ahead for e in (lo, hi) if abs(e - a) < 1e-6 or abs(e - b) < 1e-6]
    parts.append(_wall_shade(scene, run, name))
    parts.append(_zip(scene, s0, s1))
    for s in sorted({round(j, 3) for j in joins}):
        parts.append(_upright(scene, s, stroke_width=0.4))
    if has_corner(scene, s0):
        parts.append(_upright(scene, s0, stroke_width=0.3))
    if has_corner(scene, s1):
        parts.append(_upright(scene, s1, stroke_width=0.3))
    parts.append(_ring(scene, 0.0, piped_at(scene, "bottom"), 1, (s0, s1)))
    return svg.group(parts)


def has_corner(scene: Scene, s: float) -> bool:
    """Tell whether the outline has a corner at seam length s, mm."""
    return any(abs((s - c + 1e-6) % scene.outline.length) < 1e-3 for c, _ in scene.outline.corners())


def _upright(scene: Scene, s: float, **attributes: object) -> str:
    x, y = scene.outline.point_at(s)
    at = scene.view.sheet(np.array([(x, y, 0.0), (x, y, scene.high)]))
    return svg.line(at[0, 0], at[0, 1], at[1, 0], at[1, 1], stroke_linecap="round", **attributes)


def _wall_shade(scene: Scene, run: Run, name: str) -> str:
    """Shade by the way each bit of wall faces: a level gradient is exact, walls being upright."""
    low = np.column_stack((run.xy, np.zeros(len(run.xy))))
    high = np.column_stack((run.xy, np.full(len(run.xy), scene.high)))
    at_low, at_high = scene.view.sheet(low), scene.view.sheet(high)
    d = svg.polyline_d(np.vstack((at_low, at_high[::-1])), closed=True)
    middles = (run.s[:-1] + run.s[1:]) / 2
    darks = [darkness(scene, float(s)) for s in middles]
    if max(darks) - min(darks) < 0.02:
        return svg.path(d, fill=INK, fill_opacity=darks[0])
    x0, x1 = float(at_low[0, 0]), float(at_low[-1, 0])
    xs = (at_low[:-1, 0] + at_low[1:, 0]) / 2
    stops = [
        svg.element("stop", offset=float((x - x0) / (x1 - x0)), stop_color=INK, stop_opacity=k)
        for x, k in zip(xs, darks, strict=True)
    ]
    key = "shade-" + "".join(c if c.isalnum() else "-" for c in name)
    gradient = svg.element(
        "linearGradient", "".join(stops), id=key, gradientUnits="userSpaceOnUse", x1=x0, y1=0.0, x2=x1, y2=0.0
    )
    return svg.element("defs", gradient) + svg.path(d, fill=f"url(#{key})")


def darkness(scene: Scene, s: float) -> float:
    """How dark the wall stands at seam length s, by the way it faces: the share of ink over its cloth."""
    t = scene.outline.tangent_at(s)
    facing = np.array([t[1], -t[0], 0.0])
    # The light moves with the eye, so that the front and the back view are lit alike.
    sun = _SUN if scene.view.eye[1] < 0 else _SUN * np.array([-1.0, -1.0, 1.0])
    return float(0.30 - 0.24 * max(0.0, facing @ sun) / 0.77)


def _zip_range(scene: Scene) -> tuple[float, float] | None:
    """The seam length from end to end of the zip panel, where the zip is in the boxing."""
    plan = scene.cover.zip_panel
    if plan is None or plan.place != "boxing":
        return None
    pieces = [p.seam.bounds() for p in scene.cover.pieces if p.kind == "zip_panel"]
    ends = [(x0, x1) for x0, _, x1, _ in pieces]
    ends += [(s.s0_mm, s.s1_mm) for s in scene.cover.strips if ".zip" in s.id]
    return (min(a for a, _ in ends), max(b for _, b in ends)) if ends else None


def _zip(scene: Scene, s0: float, s1: float) -> str:
    """The zip: along the middle of its panel, with its teeth and sliders, where the panel is in view."""
    plan, ring, zipped = scene.cover.zip_panel, scene.outline.length, _zip_range(scene)
    if plan is None or zipped is None:
        return ""
    a, b = zipped
    drawn = []
    for turn in (-1, 0, 1):
        lo, hi = max(a, s0 + turn * ring), min(b, s1 + turn * ring)
        if hi - lo < 1e-6:
            continue
        s = np.linspace(lo, hi, max(2, int((hi - lo) / 8)))
        xy = np.array([scene.outline.point_at(float(v)) for v in s])
        d = svg.polyline_d(scene.view.sheet(np.column_stack((xy, np.full(len(xy), scene.high / 2)))))
        drawn.append(_zip_line(scene, d))
        ends = [e for e, at_end in ((lo, lo == a), (hi, hi == b)) if at_end][: max(1, plan.sliders)]
        for end in ends:
            back = 14.0 if end == lo else -14.0
            x, y = scene.outline.point_at(end + back)
            ((cx, cy),) = scene.view.sheet(np.array([(x, y, scene.high / 2)]))
            drawn.append(svg.rect(cx - 1.5, cy - 1.1, 3.0, 2.2, fill="#d8d0bf", stroke=INK, stroke_width=0.35, rx=0.7))
    return "".join(drawn)


def _zip_line(scene: Scene, d: str) -> str:
    """A zip's teeth along path data on the sheet."""
    wide = max(0.9, 5.0 * scene.view.scale)
    teeth = f"{figure(wide * 0.5)} {figure(wide * 0.35)}"
    return svg.stroke(d, stroke=INK, stroke_width=wide + 0.5) + svg.stroke(
        d, stroke="#b9b0a0", stroke_width=wide, stroke_dasharray=teeth
    )


def _top(scene: Scene) -> str:
    parts: list[str] = []
    tops = [p for p in scene.patches if p.face == "top"]
    for patch in tops:
        parts.append(_bent(scene, patch, patch.region))
    whole = shapely.union_all([p.region for p in tops]) if tops else MultiPolygon()
    reach = math.sqrt(whole.area) * 0.16 if tops else 0.0
    for step in range(1, _GLOW_STEPS + 1):
        inner = whole.buffer(-reach * step / _GLOW_STEPS)
        parts.append(
            svg.path(
                svg.polygons_d(inner, lambda xy: _on_top(scene, tops, xy), step_mm=2 * _STEP_MM),
                fill="#ffffff",  # white lightens a cloth without changing its hue
                fill_opacity=0.17 / _GLOW_STEPS,
            )
        )
    if len(tops) > 1:
        for patch in tops:
            d = svg.polygons_d(patch.region, lambda xy: _on_top(scene, tops, xy), step_mm=_STEP_MM)
            parts.append(svg.stroke(d, stroke_width=0.4))
    return svg.group(parts)


def _on_top(scene: Scene, tops: Sequence[SurfacePatch], xy: Points) -> Points:
    return scene.view.sheet(tops[0].to_solid(xy))


def piped_at(scene: Scene, edge: str) -> bool:
    """Tell whether that edge, "top" or "bottom", is piped."""
    if scene.cover.piping is None or scene.cushion is None:
        return False
    return scene.cushion.cover.piping.edges in (edge, "both")


def _ring(scene: Scene, z: float, piped: bool, which: int, stretch: tuple[float, float] | None) -> str:
    """The seam round an edge: piping as a tube in its own cloth, or a plain seam."""
    ring = scene.outline.length
    s0, s1 = stretch or (0.0, ring)
    spots = sorted(
        {s0, s1, *(e + k * ring for e in scene.outline.path.edge_starts() for k in (0, 1) if s0 < e + k * ring < s1)}
    )
    s = np.concatenate([np.linspace(a, b, max(2, int((b - a) / 4) + 1)) for a, b in itertools.pairwise(spots)])
    xy = scene.outline.path.points_at(s % scene.outline.length)
    at = scene.view.sheet(np.column_stack((xy, np.full(len(xy), z))))
    joined = {"stroke_linejoin": "round", "stroke_linecap": "round"}
    whole = svg.polyline_d(svg.straight(at))
    if not piped:
        return svg.stroke(whole, stroke_width=0.5, **joined)
    wide = tube_mm(scene) * scene.view.scale
    parts = [svg.stroke(whole, stroke_width=wide + 0.55, **joined)]
    for colour, i, j in _piping_colours(scene, s, which):
        cap = "round" if (i == 0 or j == len(s) - 1) else "butt"
        parts.append(
            svg.stroke(
                svg.polyline_d(svg.straight(at[i : j + 1])),
                stroke=colour,
                stroke_width=wide,
                stroke_linejoin="round",
                stroke_linecap=cap,
            )
        )
    lit = at + np.array([(-0.12, -0.22)]) * wide
    parts.append(
        svg.stroke(
            svg.polyline_d(svg.straight(lit)), stroke="#ffffff", stroke_opacity=0.4, stroke_width=wide * 0.25, **joined
        )
    )
    return "".join(parts)


def tube_mm(scene: Scene) -> float:
    """Thickness of the covered cord, mm."""
    cord = scene.cushion.cover.piping.cord_mm if scene.cushion else 4.0
    strip = piping_strip(scene)
    thick = scene.worked.job.cloth(strip.cloth_id).thickness_mm if strip else 0.8
    return cord + 2 * thick


def piping_strip(scene: Scene) -> Strip | None:
    """The strip that covers the cord; None where there is no piping."""
    return next((s for s in scene.cover.strips if s.kind == "piping"), None)


def _piping_colours(scene: Scene, s: npt.NDArray[np.float64], which: int) -> list[tuple[str, int, int]]:
    """Runs of one colour along the piping as it was cut: (colour, first, last) of the points.

    The ends of a ring meet in the middle of the back.
    """
    strip = piping_strip(scene)
    if strip is None:
        return [(PAPER, 0, len(s) - 1)]
    cushions = max(scene.cushion.count, 1) if scene.cushion else 1
    each = max(1, strip.count // cushions)
    places = _Places(scene.worked).of(strip, (scene.number - 1) * each + min(which, each - 1) + 1, 1)
    backs = scene.outline.side_ranges("back")
    start = sum(backs[0]) / 2 if backs else 0.0
    pattern = drawn_pattern(scene.worked.job.cloth(strip.cloth_id))
    if not (pattern.changes_across or pattern.changes_along):
        return [(pattern.ground, 0, len(s) - 1)]
    along = strip.s0_mm + (s - start) % scene.outline.length
    line = np.column_stack((along, np.full(len(s), (strip.z0_mm + strip.z1_mm) / 2)))
    on_pattern = places[-1][1].points(line)
    for (a, b), place in reversed(places):
        here = (a - 1e-6 <= along) & (along <= b + 1e-6)
        on_pattern[here] = place.points(line[here])
    colours = colours_at(pattern, on_pattern)
    runs, first = [], 0
    for i in range(1, len(s)):
        if colours[i] != colours[i - 1]:
            runs.append((colours[i - 1], first, i))
            first = i
    return [*runs, (colours[-1], first, len(s) - 1)]


def _sizes(scene: Scene, letter: float) -> list[str]:
    """Finished width, depth and thickness, each along its own edge."""
    style, done = scene.worked.job.style, scene.cover.sizes.finished
    width, depth = _measured_edges(scene.view, scene.cover)
    return [
        _measure(scene, width, format_length(done.width_mm, style), letter),
        _measure(scene, depth, format_length(done.depth_mm, style), letter),
    ]


def _measured_edges(view: View, cover: CushionCover) -> tuple[Solid, Solid]:
    """Where the measures of width and depth are drawn: on the ground, outside the two edges that are seen."""
    x0, y0, x1, y1 = cover.seam_outline.bounds()
    out = 0.07 * max(x1 - x0, y1 - y0, 4 * cover.thickness_mm)
    y, x = (y0 - out, x0 - out) if view.eye[1] < 0 else (y1 + out, x1 + out)
    return np.array([(x0, y, 0.0), (x1, y, 0.0)]), np.array([(x, y0, 0.0), (x, y1, 0.0)])


def _measure(scene: Scene, ends: Solid, words: str, letter: float) -> str:
    (xa, ya), (xb, yb) = sorted(map(tuple, scene.view.sheet(ends)))
    way = np.array([xb - xa, yb - ya]) / (math.hypot(xb - xa, yb - ya) or 1.0)
    down = np.array([-way[1], way[0]]) if way[0] > 0 else np.array([way[1], -way[0]])
    mx, my = (xa + xb) / 2, (ya + yb) / 2
    thin = {"stroke": FAINT_INK, "stroke_width": 0.07 * letter}
    parts = [svg.line(xa, ya, xb, yb, **thin)]
    tick = down * 0.3 * letter
    for x, y in ((xa, ya), (xb, yb)):
        parts.append(svg.line(x - tick[0], y - tick[1], x + tick[0], y + tick[1], **thin))
    turn = math.degrees(math.atan2(way[1], way[0]))
    off = 0.75 * letter + 1.6
    tx, ty = mx + down[0] * off, my + down[1] * off
    return svg.group([*parts, svg.text(tx, ty, words, letter, anchor="middle", turn_deg=turn)])


def _caption(scene: Scene, said: str, width: float, height: float) -> list[str]:
    job = scene.worked.job
    done = scene.cover.sizes.finished
    name = scene.cushion.name if scene.cushion else scene.cover.cushion_id
    thick = f"{format_length(done.thickness_mm, job.style)} thick"
    head = " · ".join(t for t in (name, said, thick) if t)
    cloths = list(dict.fromkeys(job.cloth(p.cloth_id).name for p in scene.patches))
    legend = f"{', '.join(cloths)}; finished sizes"
    room = width - 12.0
    letter = _letter_mm(width)
    words = [svg.text(6.0, height - 1.9 * letter, *svg.fitted(head, 1.1 * letter, room, bold=True), bold=True)]
    words.append(svg.text(6.0, height - 0.6 * letter, *svg.fitted(legend, 0.85 * letter, room), fill=FAINT_INK))
    return words


__all__ = [
    "FRONT", "Run", "Scene", "SurfacePatch", "View", "cushion_back_picture_svg", "cushion_picture_svg",
    "cushion_underside_svg", "darkness", "has_corner", "in_painters_order", "piped_at", "piping_strip", "runs_seen",
    "shows_underside", "surface_maps", "tube_mm", "view_from",
]  # fmt: skip
