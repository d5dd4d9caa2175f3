"""The finished cushions as plain numbers, for the view in the browser: shapes, and where the cloth is on them.

Frames: each patch has `local`, points of its piece in the piece's own frame, and `solid`, the same
points on the finished cushion (x right, y back, z up from the bottom seam). Where a point is on
the cloth's pattern is R(turn) local + (p, q): the browser draws the cloth itself from its layout,
and may shift a matched group without asking. Everything is in millimetres.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Sequence
from functools import lru_cache
from typing import Any, TypeVar

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import LinearRing, MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from squab.cloth import Cloth
from squab.construct.records import CushionCover, Piece, Seam, Strip
from squab.draw.cloth import drawn_pattern, motif_of, motif_shape
from squab.draw.laid import Laid, cover_of, cushion_of, laid_parts, parts_of, place_on_pattern
from squab.draw.picture import Solid, SurfacePatch, surface_maps
from squab.draw.svg import polygons_of
from squab.job import Cushion
from squab.match.records import Phase, SeamDrift
from squab.plane import Outline, Placement, Points
from squab.units import format_length
from squab.words import say
from squab.worked import WorkedJob

Json = dict[str, Any]
Made = TypeVar("Made")

MOST_SHOWN = 24
"""No more cushions than this are sent to the view; of a long row of equals the first tell everything."""
RINGS = (0.0, 0.04, 0.11, 0.22, 0.38, 0.6, 0.85)
"""A panel is divided along rings at these shares of the crown's reach from its edge."""
EDGE_STEP_MM = 22.0
_ROUND_STEP_MM = 7.0
_BULGE = 0.055
"""How far the boxing of a filled cushion stands out at half height, as a share of its thickness."""
_UNDER = 0.3
"""A bottom is filled out less than a top: it lies on its seat."""
_CORNER_FADE_MM = 45.0
_FLAT_BULGE_STEPS = 7


def scene_of_job(worked: WorkedJob) -> Json:
    """Every cushion of a job, and the cloths they are covered in.

    Each cushion stands at `at`, its place beside its neighbours where the job has rows: the
    seat as it will be, wings turned by the angle of their mitres.
    """
    shown = [(c.cushion_id, number) for c in worked.construction.covers for number in _numbers(worked, c)]
    scenes = [scene_of(worked, cushion_id, number) for cushion_id, number in shown[:MOST_SHOWN]]
    return {
        "cloths": {c.id: cloth_look(c) for c in worked.job.cloths},
        "cushions": scenes,
        "rows": _rows(worked),
        "more": max(0, len(shown) - MOST_SHOWN),
        "inches": worked.job.style.system == "imperial",
    }


def _numbers(worked: WorkedJob, cover: CushionCover) -> range:
    cushion = cushion_of(worked, cover.cushion_id)
    return range(1, max(1, cushion.count if cushion else 1) + 1)


def cloth_look(cloth: Cloth) -> Json:
    """What a cloth looks like: its layout in the frame of the lay, colours, and the lines it can be set by."""
    pattern = drawn_pattern(cloth)
    look: Json = {
        "name": cloth.name,
        "kind": pattern.kind,
        "ground": pattern.ground,
        "across": pattern.repeat_across_mm,
        "along": pattern.repeat_along_mm,
        "drop": pattern.drop_mm,
        "stripes": [{"width": s.width_mm, "colour": s.colour} for s in pattern.stripes],
        "lines": [{"name": name, "at": round(at, 3)} for name, at in pattern.lines],
        "motif": None,
    }
    if pattern.kind == "print":
        motif = motif_of(pattern)
        outline = np.asarray(motif_shape(motif).exterior.coords)[:-1]
        look["motif"] = {"colour": motif.colour, "outline": np.round(outline, 2).tolist()}
        look["across"] = look["across"] or look["along"] or 100.0
        look["along"] = look["along"] or look["across"]
    return look


def scene_of(worked: WorkedJob, cushion_id: str, number: int = 1) -> Json:
    """One finished cushion: its patches of cloth, piping, zip, seams, and what the seams' pattern does.

    Parameters
    ----------
    number
        Which of the cushions of that kind, from 1.

    Raises
    ------
    KeyError
        If the job has no such cushion.
    """
    cover, cushion = cover_of(worked, cushion_id), cushion_of(worked, cushion_id)
    patches = surface_maps(worked, cushion_id, number)
    shape = _body_of(cover, cushion.turned_over if cushion else False)
    done, style = cover.sizes.finished, worked.job.style
    return {
        "id": cushion_id,
        "number": number,
        "count": max(1, cushion.count if cushion else 1),
        "name": cushion.name if cushion else cushion_id,
        "sizes": [format_length(v, style) for v in (done.width_mm, done.depth_mm, done.thickness_mm)],
        "thickness": round(cover.thickness_mm, 2),
        "outline": _rounded(cover.seam_outline.flattened(0.5), 1),
        "sides": _sides(cover.seam_outline),
        "patches": [p for patch in patches for p in [_patch(worked, cover, shape, patch)] if p["faces"]],
        "tubes": _tubes(worked, cover, cushion, shape, number),
        "zip": shape.once("zip", lambda: _zip(cover, shape, patches)),
        "seams": _seams(worked, cover, shape, patches),
        "pin": _pin(worked, cover, cushion),
    }


def _rounded(xy: npt.NDArray[np.float64], digits: int = 2) -> list[list[float]]:
    kept: list[list[float]] = (np.round(xy, digits) + 0.0).tolist()
    return kept


def _sides(outline: Outline) -> list[Json]:
    """Each side's middle and the way it faces, so that the view can say which is the front."""
    sides = []
    for name in outline.side_names():
        ranges = outline.side_ranges(name)
        if not name or not ranges:
            continue
        a, b = max(ranges, key=lambda r: r[1] - r[0])
        x, y = outline.point_at((a + b) / 2)
        tx, ty = outline.tangent_at((a + b) / 2)
        sides.append(
            {"name": name, "at": [round(x, 1), round(y, 1)], "faces": [round(ty, 4), round(-tx, 4)],
             "seen": outline.is_seen(name)}
        )  # fmt: skip
    return sides


def _tangents(outline: Outline, s_mm: npt.NDArray[np.float64]) -> Points:
    """The way round at each of many seam lengths."""
    known, index = np.unique(s_mm, return_inverse=True)
    return np.array([outline.tangent_at(float(s)) for s in known])[index]


# -- the filled body --------------------------------------------------------------------------


class _Body:
    """A cover as it stands when it is filled: crowned above and below, its boxing a little out.

    Seams stay where they are: nothing of what meets at a seam is moved by the filling.
    """

    def __init__(self, cover: CushionCover) -> None:
        self.outline, self.thickness = cover.seam_outline, cover.thickness_mm
        self.plan = Polygon(self.outline.flattened())
        self.ring = LinearRing(self.plan.exterior)
        inner = shapely.maximum_inscribed_circle(self.plan).length
        self.reach = min(130.0, inner * 0.9)
        self.crown = min(0.24 * self.thickness, self.reach * 0.22, 24.0)
        self._corners = [s for s, _ in self.outline.corners()]
        self._kept: dict[object, Any] = {}

    def once(self, what: object, made: Callable[[], Made]) -> Made:
        """What is made of the body alone: it stays when the cloth on it moves, or another cushion changes."""
        if what not in self._kept:
            self._kept[what] = made()
        kept: Made = self._kept[what]
        return kept

    def raised(self, xy: Points) -> npt.NDArray[np.float64]:
        """How far the filling lifts a panel off its seams' plane, at points of the plan."""
        near = np.minimum(shapely.distance(shapely.points(xy), self.ring) / self.reach, 1.0)
        lift: npt.NDArray[np.float64] = self.crown * (1 - (1 - near) ** 2.4)
        return lift

    def placed(self, patch: SurfacePatch, local: Points) -> Solid:
        """Points of a patch on the filled cushion."""
        at = patch.to_solid(local)
        if patch.face == "wall":
            return at + self.bulge(local[:, 0], at[:, 2])
        lift = self.raised(at[:, :2])
        z = self.thickness + lift if patch.face == "top" else -_UNDER * lift
        return np.column_stack((at[:, :2], z))

    def bulge(self, s_mm: npt.NDArray[np.float64], z_mm: npt.NDArray[np.float64]) -> Solid:
        """How far out the boxing stands: nought at its seams and at sharp corners."""
        high = 1 - (2 * z_mm / self.thickness - 1) ** 2
        out = _BULGE * self.thickness * np.clip(high, 0.0, 1.0) * self._clear_of_corners(s_mm)
        ways = _tangents(self.outline, s_mm)
        return np.column_stack((out * ways[:, 1], -out * ways[:, 0], np.zeros(len(out))))

    def _clear_of_corners(self, s_mm: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
        if not self._corners:
            return np.ones(len(s_mm))
        ring = self.outline.length
        apart = np.abs((s_mm[:, None] - np.array(self._corners)[None, :] + ring / 2) % ring - ring / 2)
        t = np.minimum(apart.min(axis=1) / _CORNER_FADE_MM, 1.0)
        return np.asarray(t * t * (3 - 2 * t))


@lru_cache(maxsize=64)
def _body_of(cover: CushionCover, turned_over: bool) -> _Body:
    """The body of a cover; on one that is used either way up the bottom lies the other way."""
    return _Body(cover)


def _mesh(shape: _Body, patch: SurfacePatch) -> Json:
    """Triangles over a patch: where its points are on the piece and on the solid."""
    local, faces = _wall_mesh(patch.region, shape.outline) if patch.face == "wall" else _panel_mesh(patch, shape)
    solid = shape.placed(patch, local) if len(local) else np.empty((0, 3))
    return {"local": _rounded(local, 1), "solid": _rounded(solid, 1), "faces": faces}


def _of_patch(patch: SurfacePatch) -> tuple[object, ...]:
    return (patch.part_id, patch.face, patch.region.wkb)


def _patch(worked: WorkedJob, cover: CushionCover, shape: _Body, patch: SurfacePatch) -> Json:
    mesh = shape.once(_of_patch(patch), lambda: _mesh(shape, patch))
    if not mesh["faces"]:
        return mesh
    place = patch.pattern_place
    placing = worked.match.placings.get(patch.part_id)
    phase = placing.phase if placing else None
    return {
        "part": patch.part_id,
        "name": say(parts_of(worked)[patch.part_id].name, worked.job.words),
        "face": patch.face,
        "cloth": patch.cloth_id,
        **mesh,
        "turn": place.turn_deg,
        "p": round(place.u_mm, 3),
        "q": round(place.v_mm, 3),
        **_followed(worked, cover, phase),
    }


def _followed(worked: WorkedJob, cover: CushionCover, phase: Phase | None) -> Json:
    """The group that a patch goes with, and how, across and along: 1, -1 (mirrored), or 0 for not at all.

    What is pinned across as the top panel is, and goes its own way along, follows it across.
    """
    if phase is None:
        return {"group": None, "follows": [0, 0]}
    ways = [0 if phase.off_p is None else phase.sign_p, 0 if phase.off_q is None else phase.sign_q]
    top = _main_top(cover)
    lead = worked.match.placings[top.id].phase if top is not None and top.id in worked.match.placings else None
    if (
        lead is not None
        and lead.group != phase.group
        and all(worked.match.anchors[g].a is not None for g in (lead.group, phase.group))
    ):
        return {"group": lead.group, "follows": [ways[0], 0]}
    return {"group": phase.group, "follows": ways}


def _panel_mesh(patch: SurfacePatch, shape: _Body) -> tuple[Points, list[int]]:
    """Triangles over a panel, finer where the crown is steep: points along rings inside the seam."""
    whole, region = shape.plan, patch.region
    on_plan = shapely.transform(region, lambda xy: patch.to_solid(xy)[:, :2])
    points = [np.asarray(shapely.segmentize(on_plan, EDGE_STEP_MM).exterior.coords)[:-1]]
    for share in RINGS[1:]:
        inner = whole.buffer(-share * shape.reach)
        step = EDGE_STEP_MM * (1 + share)
        for ring in (p.exterior for p in polygons_of(inner)):
            n = max(6, math.ceil(ring.length / step))
            on_ring = shapely.get_coordinates(ring.interpolate(np.linspace(0, ring.length, n, endpoint=False)))
            points.append(on_ring)
    middle = _grid_inside(whole.buffer(-0.95 * shape.reach), 2.4 * EDGE_STEP_MM)
    if len(middle):
        points.append(middle)
    edge = points[0]
    inside = np.vstack(points[1:]) if len(points) > 1 else np.empty((0, 2))
    if len(inside):
        inside = inside[_clear_of_edges(inside, on_plan, shape.ring)]
    plan = np.vstack((edge, inside))
    faces = _triangles(plan, on_plan)
    local = _back_to_piece(patch, plan)
    return local, faces


def _clear_of_edges(plan: Points, region: Polygon, outer: LinearRing) -> npt.NDArray[np.bool_]:
    """Which points lie well inside a panel: near its own seams with other panels they would only make dents."""
    at = shapely.points(plan)
    own, far = shapely.distance(at, region.exterior), shapely.distance(at, outer)
    inside = shapely.contains_xy(region, plan[:, 0], plan[:, 1])
    clear: npt.NDArray[np.bool_] = inside & (own > np.where(far < own + 1e-6, 2.0, EDGE_STEP_MM / 2))
    return clear


def _grid_inside(region: BaseGeometry, step_mm: float) -> Points:
    if region.is_empty:
        return np.empty((0, 2))
    x0, y0, x1, y1 = region.bounds
    xs = np.arange(x0 + step_mm / 2, x1, step_mm)
    ys = np.arange(y0 + step_mm / 2, y1, step_mm)
    x, y = (g.ravel() for g in np.meshgrid(xs, ys))
    keep = shapely.contains_xy(region, x, y)
    return np.column_stack((x[keep], y[keep]))


def _back_to_piece(patch: SurfacePatch, plan: Points) -> Points:
    """From the cushion's plan to the panel's own frame: both maps are their own inverse there."""
    if patch.face == "top":
        return plan
    flip = patch.to_solid(np.array([(1.0, 1.0)]))[0, :2]
    return plan * flip


def _triangles(points: Points, region: BaseGeometry) -> list[int]:
    """Indices of Delaunay's triangles that lie inside the region, counter-clockwise, three at a time."""
    corners = shapely.get_coordinates(shapely.delaunay_triangles(MultiPoint(points))).reshape(-1, 4, 2)[:, :3]
    middles = corners.mean(axis=1)
    corners = corners[shapely.contains_xy(region.buffer(1e-3), middles[:, 0], middles[:, 1])]
    keys, wanted = points @ [1.0, 1.0j], corners @ [1.0, 1.0j]
    order = np.argsort(keys)
    index = order[np.searchsorted(keys[order], wanted)]
    (ax, ay), (bx, by), (cx, cy) = (corners[:, i].T for i in range(3))
    clockwise = (bx - ax) * (cy - ay) < (by - ay) * (cx - ax)
    index[clockwise] = index[clockwise][:, ::-1]
    faces: list[int] = index.ravel().tolist()
    return faces


def _wall_mesh(region: Polygon, outline: Outline) -> tuple[Points, list[int]]:
    """A grid over a rectangle of boxing: fine along bends, and up it, for the bulge."""
    s0, z0, s1, z1 = region.bounds
    s = _lengths(outline, s0, s1)
    z = np.linspace(z0, z1, _FLAT_BULGE_STEPS)
    local = np.array([(a, b) for a in s for b in z])
    n = len(z)
    faces: list[int] = []
    for i, j in itertools.product(range(len(s) - 1), range(n - 1)):
        a, b, c, d = i * n + j, (i + 1) * n + j, (i + 1) * n + j + 1, i * n + j + 1
        faces += [a, b, c, a, c, d]
    return local, faces


def _lengths(outline: Outline, s0: float, s1: float) -> npt.NDArray[np.float64]:
    """Seam lengths from one to another: at every joint of the outline, and close together on bends."""
    ring = outline.length
    stops = {s0, s1}
    starts = outline.path.edge_starts()
    for turn in range(math.floor(s0 / ring) - 1, math.ceil(s1 / ring) + 1):
        for start, edge in zip(starts, outline.edges, strict=True):
            a, b = start + turn * ring, start + edge.length + turn * ring
            a, b = max(a, s0), min(b, s1)
            if b - a < 1e-6:
                continue
            step = _ROUND_STEP_MM if hasattr(edge, "radius") else EDGE_STEP_MM
            stops |= set(np.linspace(a, b, max(2, math.ceil((b - a) / step) + 1)).tolist())
    merged: list[float] = []
    for v in sorted(stops):
        if not merged or v - merged[-1] > 1e-4:
            merged.append(v)
    return np.array(merged)


# -- piping, zip, seams -----------------------------------------------------------------------


def _tubes(worked: WorkedJob, cover: CushionCover, cushion: Cushion | None, shape: _Body, number: int) -> list[Json]:
    """The piping round each piped edge, and where along it each part of its strip lies on the pattern."""
    strip = next((s for s in cover.strips if s.kind == "piping"), None)
    if cover.piping is None or cushion is None or strip is None:
        return []
    edges = {"both": ("top", "bottom")}.get(cushion.cover.piping.edges, (cushion.cover.piping.edges,))
    cloth = worked.job.cloth(strip.cloth_id)
    round_it = shape.once("round", lambda: _round_from_the_back(shape.outline))
    tubes = []
    for which, edge in enumerate(edges):
        z = round(shape.thickness, 2) if edge == "top" else 0.0
        tubes.append(
            {
                "edge": edge,
                "part": strip.id,
                "name": say(strip.name, worked.job.words),
                "cloth": strip.cloth_id,
                "radius": round(cushion.cover.piping.cord_mm / 2 + cloth.thickness_mm, 2),
                "s": [s for s, _, _ in round_it],
                "path": [(x, y, z) for _, x, y in round_it],
                "parts": _strip_parts(worked, strip, cushion, number, which),
                "s0": strip.s0_mm,
                "middle": round((strip.z0_mm + strip.z1_mm) / 2, 3),
            }
        )
    return tubes


def _round_from_the_back(outline: Outline) -> list[tuple[float, float, float]]:
    """Once round an outline from the middle of its back: length from there, and the point."""
    backs = outline.side_ranges("back")
    start = sum(backs[0]) / 2 if backs else 0.0
    s = _lengths(outline, start, start + outline.length)
    xy = _rounded(outline.path.points_at(s % outline.length))
    return [(round(float(at - start), 2), x, y) for at, (x, y) in zip(s, xy, strict=True)]


def _strip_parts(worked: WorkedJob, strip: Strip, cushion: Cushion, number: int, which: int) -> list[Json]:
    each = max(1, strip.count // max(cushion.count, 1))
    wanted = (number - 1) * each + min(which, each - 1) + 1
    laid = [x for x in laid_parts(worked, strip.cloth_id) if x.part_id == strip.id]
    chosen: Iterable[Laid] = [x for x in laid if x.number == wanted] or [x for x in laid if x.number == 1]
    parts = []
    for x in chosen:
        place = place_on_pattern(worked, strip.cloth_id, strip.id, x.place)
        parts.append(
            {
                "from": round(x.part_mm[0], 2) if x.part_mm else strip.s0_mm,
                "turn": place.turn_deg,
                "p": round(place.u_mm, 3),
                "q": round(place.v_mm, 3),
            }
        )
    return sorted(parts, key=lambda p: p["from"]) or [{"from": 0.0, "turn": strip.turn_deg, "p": 0.0, "q": 0.0}]


def _zip(cover: CushionCover, shape: _Body, patches: Sequence[SurfacePatch]) -> Json | None:
    """Where the zip runs: along its panel at half height, or across the bottom."""
    plan = cover.zip_panel
    if plan is None:
        return None
    if plan.place == "bottom":
        line = _zip_in_bottom(cover, patches)
        if line is None:
            return None
        at = np.array(line)
        xyz = np.column_stack((at, -_UNDER * shape.raised(at)))
        return {"path": _rounded(xyz, 1), "out": [[0.0, 0.0, -1.0]] * len(xyz), "sliders": plan.sliders}
    ends = [p.seam.bounds()[::2] for p in cover.pieces if p.kind == "zip_panel"]
    ends += [(s.s0_mm, s.s1_mm) for s in cover.strips if ".zip" in s.id]
    if not ends:
        return None
    s = _lengths(shape.outline, min(a for a, _ in ends), max(b for _, b in ends))
    half = np.full(len(s), shape.thickness / 2)
    ways = _tangents(shape.outline, s)
    xyz = np.column_stack((np.array([shape.outline.point_at(float(v)) for v in s]), half)) + shape.bulge(s, half)
    out = np.column_stack((ways[:, 1], -ways[:, 0], np.zeros(len(s))))
    return {"path": _rounded(xyz, 1), "out": _rounded(out, 4), "sliders": plan.sliders}


def _zip_in_bottom(cover: CushionCover, patches: Sequence[SurfacePatch]) -> Points | None:
    """The line across the bottom where its two parts meet at the zip."""
    pieces = {p.id: p for p in cover.pieces}
    for patch in (p for p in patches if p.face == "bottom"):
        seam = pieces[patch.part_id].seam
        runs = seam.side_ranges("zip")
        if runs:
            a, b = runs[0]
            on_piece = np.array([seam.point_at(float(v)) for v in np.linspace(a, b, max(2, int((b - a) / 20)))])
            return patch.to_solid(on_piece)[:, :2]
    return None


def _seams(worked: WorkedJob, cover: CushionCover, shape: _Body, patches: Sequence[SurfacePatch]) -> list[Json]:
    """Every seam on the solid, and how far the pattern drifts along it."""
    drifts = {d.seam_id: d for d in worked.match.drifts}
    by_part: dict[str, SurfacePatch] = {}
    for patch in patches:
        by_part.setdefault(patch.part_id, patch)
    seams = []
    for seam in cover.seams:
        on = by_part.get(seam.a.part_id)
        if on is not None and seam.kind != "zip_centre":
            seams.append(_seam(seam, drifts.get(seam.id), on, shape, worked))
    return seams


def _seam(seam: Seam, drift: SeamDrift | None, patch: SurfacePatch, shape: _Body, worked: WorkedJob) -> Json:
    path = seam.a.path
    s = np.linspace(0.0, path.length, max(2, math.ceil(path.length / 12) + 1))
    on_solid = shape.once((seam.id, *_of_patch(patch)), lambda: _rounded(shape.placed(patch, path.points_at(s)), 1))
    entry: Json = {
        "kind": seam.kind,
        "side": seam.side,
        "edge": seam.edge,
        "seen": seam.seen,
        "piped": seam.piped,
        "path": on_solid,
        "verdict": None,
    }
    if drift is None:
        return entry
    entry |= {
        "verdict": drift.verdict,
        "said": say(drift.said, worked.job.words),
        "worst": format_length(drift.worst_mm, worked.job.style),
    }
    off = _off_along(drift, s)
    return entry | {"off": np.round(off, 2).tolist()}


def _off_along(drift: SeamDrift, s: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """The drift's size at each of these lengths along the seam; its worst everywhere where nothing holds it."""
    ways = [d for d in (drift.drift_p_mm, drift.drift_q_mm) if d is not None]
    if not ways or len(drift.s_mm) < 2:
        return np.full(len(s), drift.worst_mm)
    size = np.hypot.reduce([np.asarray(d) for d in ways])
    return np.interp(s, np.asarray(drift.s_mm) - drift.s_mm[0], size)


# -- the stripe's place, and rows -------------------------------------------------------------


def _pin(worked: WorkedJob, cover: CushionCover, cushion: Cushion | None) -> Json | None:
    """How the pattern's place on this cushion is said: which line stands on its centre line.

    The pattern's p there is `across` + the shift of its top panel's group; likewise `along`,
    half-way from front to back.
    """
    top = _main_top(cover)
    if top is None or cushion is None:
        return None
    placing = worked.match.placings.get(top.id)
    turn = placing.turns_deg[0] if placing and placing.turns_deg else top.turn_deg
    x0, y0, x1, y1 = cover.seam_outline.bounds()
    across, along = Placement(turn, 0.0, 0.0).point(((x0 + x1) / 2, (y0 + y1) / 2))
    matching = cushion.cover.matching
    return {
        "part": top.id,
        "cloth": top.cloth_id,
        "centre": [round((x0 + x1) / 2, 3), round((y0 + y1) / 2, 3)],
        "at": [round(across, 3), round(along, 3)],
        "pinned": [matching.pin_across is not None, matching.pin_along is not None],
    }


def _main_top(cover: CushionCover) -> Piece | None:
    """The top panel over the cushion's centre."""
    tops = [p for p in cover.pieces if p.kind == "top"]
    x0, y0, x1, y1 = cover.seam_outline.bounds()
    centre = shapely.Point((x0 + x1) / 2, (y0 + y1) / 2)
    return min(tops, key=lambda p: Polygon(p.seam.flattened()).distance(centre), default=None)


def _rows(worked: WorkedJob) -> list[Json]:
    """The rows of cushions that stand side by side: each one's place, turned by its mitre."""
    rows: dict[str, list[Json]] = {}
    last: dict[str, tuple[CushionCover, Callable[[float, float], tuple[float, float]], float]] = {}
    for cushion in worked.job.cushions:
        row = cushion.cover.matching.row
        cover = next((c for c in worked.construction.covers if c.cushion_id == cushion.id), None)
        if not row or cover is None:
            continue
        turn, x, y = 0.0, 0.0, 0.0
        if row in last:
            before, place, before_turn = last[row]
            turn, x, y = _beside(before, place, before_turn, cover)
        last[row] = (cover, _placing(turn, x, y), turn)
        rows.setdefault(row, []).append(
            {"id": cushion.id, "turn": round(math.degrees(turn), 4), "x": round(x, 2), "y": round(y, 2)}
        )
    return [{"name": name, "cushions": _squared(members)} for name, members in rows.items() if len(members) > 1]


def _squared(members: list[Json]) -> list[Json]:
    """Turn a whole row so that its middle stands square to whoever looks at it."""
    turn = -sum(m["turn"] for m in members) / len(members)
    place = _placing(math.radians(turn), 0.0, 0.0)
    return [
        {**m, "turn": round(m["turn"] + turn, 4), "x": round(x, 2), "y": round(y, 2)}
        for m in members
        for x, y in [place(m["x"], m["y"])]
    ]


def _placing(turn: float, x: float, y: float) -> Callable[[float, float], tuple[float, float]]:
    c, s = math.cos(turn), math.sin(turn)
    return lambda a, b: (c * a - s * b + x, s * a + c * b + y)


def _beside(
    before: CushionCover, place: Callable[[float, float], tuple[float, float]], before_turn: float, cover: CushionCover
) -> tuple[float, float, float]:
    """Set a cushion's left side against the right side of the one before it, finished edge to finished edge."""
    right = _chord(before.seam_outline, "right")
    left = _chord(cover.seam_outline, "left")
    if right is None or left is None:
        _, _, x1, _ = before.seam_outline.bounds()
        x0, _, _, _ = cover.seam_outline.bounds()
        x, y = place(x1 + 12.0 - x0, 0.0)
        return before_turn, x, y
    (r0, r1), (l1, l0) = right, left  # both from the front to the back
    ra, rb = place(*r0), place(*r1)
    turn = math.atan2(rb[1] - ra[1], rb[0] - ra[0]) - math.atan2(l1[1] - l0[1], l1[0] - l0[0])
    gap = before.sizes.stands_proud_mm + cover.sizes.stands_proud_mm
    way = math.atan2(rb[1] - ra[1], rb[0] - ra[0]) - math.pi / 2
    fx, fy = _placing(turn, 0.0, 0.0)(*l0)
    return turn, ra[0] + gap * math.cos(way) - fx, ra[1] + gap * math.sin(way) - fy


def _chord(outline: Outline, side: str) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """A side's two ends, counter-clockwise, where its neighbours' straight lines would meet it."""
    ranges = outline.side_ranges(side)
    if not ranges:
        return None
    a, b = max(ranges, key=lambda r: r[1] - r[0])
    return outline.point_at(a), outline.point_at(b)


__all__ = ["cloth_look", "scene_of", "scene_of_job"]
