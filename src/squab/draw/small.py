"""The finished cushion small, for a line of a list: 120 by 88 pixels, one to four kilobytes.

The same solid, the same view and the same places on the pattern as the large picture, without what is
too fine to be seen so small: lettering, zip, joins, the crown. Every bit of cover is flat here, so its
pattern is an even map of the cloth's: a stripe is a gradient that begins again with every repeat, a
print a tile, and a pattern finer than the eye parts at this size its own mean colour.

Frames: the pattern's, (p, q); the sheet's, y downwards, in tenths of a pixel, written as whole figures.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import Polygon

from squab.cloth import Pattern
from squab.draw.cloth import drawn_pattern, motif_of, motif_shape
from squab.draw.laid import cover_of, cushion_of
from squab.draw.picture import (
    FRONT,
    Run,
    Scene,
    SurfacePatch,
    View,
    darkness,
    has_corner,
    in_painters_order,
    patches_behind,
    piped_at,
    piping_strip,
    runs_seen,
    surface_maps,
    tube_mm,
)
from squab.draw.svg import INK, element, polygons_of
from squab.plane import Points
from squab.worked import WorkedJob

WIDE, HIGH = 1200, 880
_MARGIN = 50.0
_FINEST = 24.0
"""A repeat smaller than this is shown as its mean colour."""
_BEND = 130.0
"""A round wall is shown as flat bits of about this width."""
_LAP = 5.0
_SAME = 1.5
_SOFT = 3.5
"""Half the width over which one stripe goes into the next, so that slanting edges are smooth."""
_SHADE_STOPS = 5

MARK = "\u00b7"
"""Begins every id in the picture. A page that holds several puts something of each one's own in its place."""


def small_picture_svg(worked: WorkedJob, cushion_id: str) -> str:
    """Draw a finished cushion small, from above the front left, in its own cloth.

    Raises
    ------
    KeyError
        If the job has no such cushion.
    """
    cover = cover_of(worked, cushion_id)
    cushion, patches = cushion_of(worked, cushion_id), surface_maps(worked, cushion_id)
    scene = Scene(worked, cover, cushion, patches, FRONT, 1)
    scene = replace(scene, view=_fitted(scene))
    paint = _Paint(scene)
    walls = [_wall(scene, paint, run) for run in in_painters_order(scene, runs_seen(scene))]
    parts = [_shadow(scene), *walls, _top(scene, paint)]
    return element(
        "svg", paint.defs + "".join(parts), xmlns="http://www.w3.org/2000/svg", width=WIDE // 10, height=HIGH // 10,
        viewBox=f"0 0 {WIDE} {HIGH}",
    )  # fmt: skip


def _fitted(scene: Scene) -> View:
    xy = scene.outline.flattened()
    at = FRONT.sheet(np.vstack([np.column_stack((xy, np.full(len(xy), z))) for z in (0.0, scene.high)]))
    (x0, y0), (x1, y1) = at.min(axis=0), at.max(axis=0)
    scale = min((WIDE - 2 * _MARGIN) / (x1 - x0), (HIGH - 2 * _MARGIN) / (y1 - y0))
    x, y = (WIDE - scale * (x0 + x1)) / 2, (HIGH - scale * (y0 + y1)) / 2
    return replace(FRONT, scale=scale, x_mm=x, y_mm=y)


def _d(xy: Points, *, closed: bool = True) -> str:
    """Path data through points of the sheet, each from the one before, without those that make no bend to be seen."""
    ring = np.vstack((xy, xy[:1])) if closed else xy
    kept = shapely.get_coordinates(shapely.simplify(shapely.linestrings(ring), _SAME, preserve_topology=False))
    whole = np.rint(kept[:-1] if closed else kept).astype(int)
    steps = np.diff(whole, axis=0, prepend=np.zeros((1, 2), dtype=int))
    return "m" + " ".join(map(str, steps.ravel().tolist())) + ("z" if closed else "")


def _level(scene: Scene, xy: Points, z_mm: float) -> Points:
    return scene.view.sheet(np.column_stack((xy, np.full(len(xy), z_mm))))


def _shadow(scene: Scene) -> str:
    grown = Polygon(scene.outline.flattened(0.5)).buffer(26.0 / scene.view.scale).exterior
    xy = shapely.get_coordinates(grown) + np.array([7.0, -2.0])
    return element("path", d=_d(_level(scene, xy[:-1], 0.0)), fill=INK, fill_opacity=0.12)


def _top(scene: Scene, paint: _Paint) -> str:
    parts, whole = [], _level(scene, scene.outline.flattened(), scene.high)
    tops = [p for p in scene.patches if p.face == "top"]
    for patch in tops:
        for shape in polygons_of(patch.region):
            xy = shapely.get_coordinates(shape.exterior)[:-1]
            at = _level(scene, xy, scene.high)
            parts += paint.under(patch, _d(at))
            if paint.is_drawn(patch):
                parts += paint.over(patch, xy[_spread(xy)], at[_spread(xy)], _d(at))
            if len(tops) > 1:
                parts.append(_line(_d(at), 5.0))
    return "".join([*parts, _edge(scene, _d(whole), "top", fill=paint.glow())])


def _spread(xy: Points) -> list[int]:
    """Three of a ring's points that lie far apart: by them a flat map is known."""
    a = 0
    b = int(np.argmax(np.hypot(*(xy - xy[a]).T)))
    way = xy[b] - xy[a]
    c = int(np.argmax(np.abs((xy - xy[a]) @ np.array([-way[1], way[0]]))))
    return [a, b, c]


def _wall(scene: Scene, paint: _Paint, run: Run) -> str:
    """One stretch of wall between corners: its cloth in flat bits, its shade, its lower edge."""
    parts: list[str] = []
    low, high = _level(scene, run.xy, 0.0), _level(scene, run.xy, scene.high)
    whole = _d(np.vstack((low, high[::-1])))
    bends = _bends(run, low)
    lap = _LAP / scene.view.scale  # over the edge of the next bit: no hairline between
    for patch, lo, hi, ahead in patches_behind(scene, run):
        _, z0, _, z1 = patch.region.bounds
        end = min(hi + lap, float(run.s[-1]) + ahead)
        s = np.unique([lo, end, *(x for x in (run.s + ahead).tolist() if lo < x < end)])
        parts += paint.under(patch, _d(_band(scene, patch, s, z0, z1)))
        cuts = [lo, *(x + ahead for x in bends if lo < x + ahead < hi), hi]
        for left, right in itertools.pairwise(cuts if paint.is_drawn(patch) else ()):
            lapped = min(hi, right + lap)
            corners = np.array([(left, z0), (lapped, z0), (lapped, z1), (left, z1)])
            at = scene.view.sheet(patch.to_solid(corners))
            parts += paint.over(patch, corners[[0, 1, 3]], at[[0, 1, 3]], _d(at))
    parts.append(element("path", d=whole, **paint.shade(scene, run, low)))
    for x in (0, -1):
        if has_corner(scene, float(run.s[x])):
            parts.append(_line(_d(np.array([low[x], high[x]]), closed=False), 6.0))
    return "".join([*parts, _edge(scene, _d(low, closed=False), "bottom")])


def _bends(run: Run, low: Points) -> list[float]:
    """Where a round wall is broken into flat bits."""
    if len(run.s) < 3:
        return []
    far = np.concatenate(([0.0], np.cumsum(np.hypot(*np.diff(low, axis=0).T))))
    wanted = np.arange(1, math.ceil(far[-1] / _BEND)) * _BEND
    return [float(s) for s in np.interp(wanted, far, run.s)]


def _band(scene: Scene, patch: SurfacePatch, s: npt.NDArray[np.float64], z0: float, z1: float) -> Points:
    low, high = (scene.view.sheet(patch.to_solid(np.column_stack((s, np.full(len(s), z))))) for z in (z0, z1))
    return np.vstack((low, high[::-1]))


def _edge(scene: Scene, d: str, edge: str, fill: str = "none") -> str:
    """The seam along an edge: covered cord in the mean colour of its cloth, or a thin line."""
    strip = piping_strip(scene)
    if not piped_at(scene, edge) or strip is None:
        return _line(d, 6.0, fill=fill)
    wide = max(12.0, tube_mm(scene) * scene.view.scale)
    colour = mean_colour(drawn_pattern(scene.worked.job.cloth(strip.cloth_id)))
    return _line(d, wide + 9.0, fill=fill) + _line(d, wide, colour)


def _line(d: str, wide: float, colour: str = INK, *, fill: str = "none") -> str:
    return element("path", d=d, fill=fill, stroke=colour, stroke_width=round(wide), stroke_linejoin="round")


def _mixed(colours: list[tuple[str, float]]) -> str:
    """Colours mixed by their shares."""
    whole = sum(share for _, share in colours) or 1.0
    rgb = [sum(int(c[i : i + 2], 16) * share for c, share in colours) / whole for i in (1, 3, 5)]
    return "#" + "".join(f"{round(v):02x}" for v in rgb)


def mean_colour(pattern: Pattern) -> str:
    """The one colour that a pattern comes to from far off, `#rrggbb`."""
    if pattern.stripes:
        return _mixed([(s.colour, s.width_mm) for s in pattern.stripes])
    if pattern.kind == "print":
        motif, (across, along) = motif_of(pattern), _lattice_mm(pattern)
        share = min(1.0, motif_shape(motif).area / (across * along))
        return _mixed([(pattern.ground, 1 - share), (motif.colour, share)])
    return pattern.ground


def _lattice_mm(pattern: Pattern) -> tuple[float, float]:
    across = pattern.repeat_across_mm or pattern.repeat_along_mm or 100.0
    return across, pattern.repeat_along_mm or across


@dataclass
class _Paint:
    """Fills for bits of cover, and what they need to be named for."""

    scene: Scene
    _ids: dict[tuple[str, str, tuple[tuple[str, object], ...]], str] = field(default_factory=dict)
    _bases: dict[str, tuple[str, Mapping[str, object]]] = field(default_factory=dict)

    def under(self, patch: SurfacePatch, d: str) -> list[str]:
        """What lies under a patch's pattern: a print's ground, or all there is of a cloth in one colour."""
        pattern = self._pattern(patch)
        if not self.is_drawn(patch):
            return [element("path", d=d, fill=mean_colour(pattern))]
        return [element("path", d=d, fill=pattern.ground)] if pattern.kind == "print" else []

    def over(self, patch: SurfacePatch, xy_piece: Points, at: Points, d: str) -> list[str]:
        """The pattern over a flat bit of a patch; three points of it in the piece's frame and on the sheet."""
        pattern = self._pattern(patch)
        to_sheet = _flat_map(patch.to_pattern(xy_piece), at)
        if to_sheet is None:  # seen edge on
            return []
        if pattern.kind == "print":
            return [element("path", d=d, fill=self._tile(pattern, patch.cloth_id, to_sheet))]
        return [element("path", d=d, fill=self._stripe(pattern, patch.cloth_id, to_sheet, at.mean(axis=0)))]

    def is_drawn(self, patch: SurfacePatch) -> bool:
        """Tell whether a patch shows a pattern: it has one, and its repeat is not too fine to be seen."""
        pattern = self._pattern(patch)
        repeats = [r for r in (pattern.repeat_across_mm, pattern.repeat_along_mm) if r]
        many = pattern.kind == "print" or len(pattern.stripes) > 1
        return many and bool(repeats) and min(repeats) * self.scene.view.scale >= _FINEST

    def glow(self) -> str:
        """The light on the middle of the top."""
        return self._fill("radialGradient", _stop(0, "#ffffff", 0.2) + _stop(1, "#ffffff", 0))

    def shade(self, scene: Scene, run: Run, low: Points) -> dict[str, object]:
        """How a stretch of wall is darkened: evenly, or by the way each bit of it faces."""
        middles = np.linspace(run.s[0], run.s[-1], 2 * _SHADE_STOPS + 1)[1::2]
        darks = [darkness(scene, float(s)) for s in middles]
        x0, x1 = float(low[0, 0]), float(low[-1, 0])
        if max(darks) - min(darks) < 0.03 or abs(x1 - x0) < 1.0:  # evenly, too, where it is seen end on
            return {"fill": INK, "fill_opacity": f"{darks[0]:.2f}"}
        xs = np.interp(middles, run.s, low[:, 0])
        stops = "".join(_stop((x - x0) / (x1 - x0), INK, k) for x, k in zip(xs.tolist(), darks, strict=True))
        level = {"gradientUnits": "userSpaceOnUse", "x1": round(x0), "x2": round(x1)}
        return {"fill": self._fill("linearGradient", stops, **level)}

    def _pattern(self, patch: SurfacePatch) -> Pattern:
        return drawn_pattern(self.scene.worked.job.cloth(patch.cloth_id))

    def _stripe(self, pattern: Pattern, cloth_id: str, to_sheet: _FlatMap, near: Points) -> str:
        """A gradient across the stripes that begins again with every repeat."""
        axis = 1 if pattern.kind == "weft_stripe" else 0
        period = sum(s.width_mm for s in pattern.stripes)
        back = np.linalg.inv(to_sheet.linear)
        across = back[axis]  # how fast p (or q) grows over the sheet
        step = across / (across @ across) * period
        if math.hypot(*step) < _FINEST:
            return mean_colour(pattern)
        begun = back @ (near - to_sheet.origin)
        begun[axis] -= begun[axis] % period
        x, y = to_sheet.linear @ begun + to_sheet.origin
        ends = {"x1": f"{x:.1f}", "x2": f"{x + step[0]:.1f}"}
        if abs(step[1]) > 1e-6:  # a level gradient is the same at every height
            ends |= {"y1": f"{y:.1f}", "y2": f"{y + step[1]:.1f}"}
        stops = _stripe_stops(pattern, period, _SOFT / (period * self.scene.view.scale))
        shared = {"gradientUnits": "userSpaceOnUse", "spreadMethod": "repeat"}
        return self._shared(cloth_id, "linearGradient", stops, shared, ends)

    def _tile(self, pattern: Pattern, cloth_id: str, to_sheet: _FlatMap) -> str:
        """A tile of the print's lattice with the motifs that reach into it."""
        across, along = _lattice_mm(pattern)
        (a, c), (b, d) = to_sheet.linear
        lean = pattern.drop_mm / across
        # the tile leans with the drop, so that its edges are the lattice's own; the motif in it stands upright
        matrix = (a + c * lean, b + d * lean, c, d)
        placed = " ".join([*(f"{v:.4g}" for v in matrix), *(f"{v:.1f}" for v in to_sheet.origin)])
        motifs = _motifs(pattern, across, along, lean, self.scene.view.scale)
        shared = {"patternUnits": "userSpaceOnUse", "width": float(across), "height": float(along)}
        return self._shared(cloth_id, "pattern", motifs, shared, {"patternTransform": f"matrix({placed})"})

    def _shared(
        self, cloth_id: str, name: str, inner: str, shared: Mapping[str, object], own: Mapping[str, object]
    ) -> str:
        """A fill of a cloth: the first says all, the others what is their own."""
        base = self._bases.get(cloth_id)
        if base is not None and base[1] != own:
            return self._fill(name, "", href=f"#{base[0]}", **own)
        made = self._fill(name, inner, **shared, **own)
        self._bases[cloth_id] = (made[5:-1], own)
        return made

    def _fill(self, name: str, inner: str, **attributes: object) -> str:
        """What is filled with something, which is named once."""
        key = (name, inner, tuple(attributes.items()))
        return f"url(#{self._ids.setdefault(key, f'{MARK}{len(self._ids)}')})"

    @property
    def defs(self) -> str:
        """Everything that is named."""
        named = [element(name, inner, id=key, **dict(own)) for (name, inner, own), key in self._ids.items()]
        return element("defs", "".join(named)) if named else ""


@dataclass(frozen=True)
class _FlatMap:
    """From the pattern to the sheet: `linear` (2 by 2), then `origin`."""

    linear: npt.NDArray[np.float64]
    origin: Points


def _flat_map(pq: Points, at: Points) -> _FlatMap | None:
    """The flat map that takes three points there; None where they lie in a line."""
    on_pattern = np.column_stack((pq[1] - pq[0], pq[2] - pq[0]))
    on_sheet = np.column_stack((at[1] - at[0], at[2] - at[0]))
    if abs(np.linalg.det(on_pattern)) < 1e-6 or abs(np.linalg.det(on_sheet)) < 1e-3:
        return None
    linear = on_sheet @ np.linalg.inv(on_pattern)
    return _FlatMap(linear, at[0] - linear @ pq[0])


def _stop(offset: float, colour: str, opacity: float | None = None) -> str:
    seen = None if opacity is None else f"{opacity:.2f}"
    return element("stop", offset=f"{offset:.3f}".rstrip("0").rstrip("."), stop_color=colour, stop_opacity=seen)


def _stripe_stops(pattern: Pattern, period_mm: float, soft: float) -> str:
    """A repeat's colours, each going into the next over twice `soft` (a part of the repeat)."""
    between = _mixed([(pattern.stripes[-1].colour, 1.0), (pattern.stripes[0].colour, 1.0)])
    stops, begun = [_stop(0, between)], 0.0
    for stripe in pattern.stripes:
        wide = stripe.width_mm / period_mm
        inside = min(soft, wide / 2)
        stops += [_stop(begun + inside, stripe.colour), _stop(begun + wide - inside, stripe.colour)]
        begun += wide
    return "".join([*stops, _stop(1, between)])


def _motifs(pattern: Pattern, across_mm: float, along_mm: float, lean: float, scale: float) -> str:
    motif = motif_of(pattern)
    shape = shapely.simplify(motif_shape(motif), 5.0 / scale)
    tile = shapely.box(0.0, 0.0, across_mm, along_mm)
    xy = shapely.get_coordinates(shape)[:-1]
    drawn = []
    for i, j in itertools.product((-1, 0, 1, 2), repeat=2):  # the motif stands at the corners of its tile
        s = xy[:, 0] + i * across_mm
        moved = np.column_stack((s, xy[:, 1] - xy[:, 0] * lean + j * along_mm))
        if Polygon(moved).intersects(tile):
            points = "L".join(f"{x:.0f} {y:.0f}" for x, y in moved.tolist())
            drawn.append(f"M{points}Z")
    return element("path", d="".join(drawn), fill=motif.colour)
