"""The picture tells the truth: what the drawn faces show at a seam is what was cut there."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from squab.cloth import Cloth
from squab.draw.cloth import colour_at, drawn_pattern
from squab.draw.picture import (
    SurfacePatch,
    cushion_back_picture_svg,
    cushion_picture_svg,
    cushion_underside_svg,
    shows_underside,
    surface_maps,
    view_from,
)
from squab.lay.records import Placed
from squab.plane import Outline
from squab.worked import WorkedJob
from tests.unit.draw.drawn_jobs import LEAVES, H, eared, rectangle, rounded, striped, worked_job


def _patch_at(patches: tuple[SurfacePatch, ...], face: str, s: float, ring: float) -> tuple[SurfacePatch, float]:
    """The wall patch that covers seam length s, and s as that patch counts it."""
    for patch in patches:
        a, _, b, _ = patch.region.bounds
        for turn in (0, 1, 2):
            if patch.face == face and a - 1e-9 <= s + turn * ring <= b + 1e-9:
                return patch, s + turn * ring
    raise AssertionError(f"nothing covers {s}")


def _drawn_drift(worked: WorkedJob, outline: Outline, s: float) -> tuple[float, float]:
    """Pattern of the boxing less that of the top where both meet on the solid, at seam length s."""
    patches = surface_maps(worked, "seat")
    top = next(p for p in patches if p.face == "top")
    wall, at = _patch_at(patches, "wall", s, outline.length)
    on_top, on_wall = np.array([outline.point_at(s)]), np.array([(at, H)])
    assert np.allclose(
        top.to_solid(on_top), wall.to_solid(on_wall), atol=0.05
    )  # arcs are flattened to 0.05 mm for the crown
    d = wall.to_pattern(on_wall)[0] - top.to_pattern(on_top)[0]
    return float(d[0]), float(d[1])


def _wrapped(drift: float, period: float) -> float:
    return drift - period * round(drift / period)


def test_a_matched_front_meets_along_its_whole_length_in_the_picture() -> None:
    outline = rectangle(560, 510)
    worked = worked_job()
    for s in np.linspace(1, 559, 25):
        assert _wrapped(_drawn_drift(worked, outline, float(s))[0], 96.0) == pytest.approx(0.0, abs=1e-6)


@settings(max_examples=15, deadline=None)
@given(st.floats(-40.0, 40.0))
def test_a_strip_cut_off_the_pattern_shows_by_just_so_much(shift: float) -> None:
    worked = _shifted(worked_job(), shift)
    for s in (5.0, 280.0, 555.0):
        drift = _drawn_drift(worked, rectangle(560, 510), s)[0]
        assert _wrapped(drift - shift, 96.0) == pytest.approx(0.0, abs=1e-6)


def _shifted(worked: WorkedJob, shift: float) -> WorkedJob:
    plan = worked.plans["stripe"]

    def moved(p: Placed) -> Placed:
        return replace(p, u_mm=p.u_mm + shift) if "boxing" in p.key else p

    lay = replace(plan.lay, placed=tuple(moved(p) for p in plan.lay.placed))
    return replace(worked, plans={"stripe": replace(plan, lay=lay)})


@pytest.mark.parametrize("radius", [25.0, 50.0, 100.0])
def test_a_ring_round_a_corner_drifts_by_arc_length_less_its_projection(radius: float) -> None:
    """Within the arc the drift is r (phi - sin phi); at its end r (pi/2 - 1) (solid geometry, derived)."""
    outline = rounded(560, 510, radius)
    worked = worked_job(outlines={"seat": outline})
    start = 560 - 2 * radius
    for phi in (0.3, 0.9, math.pi / 2):
        across, along = _drawn_drift(worked, outline, start + radius * phi - 1e-9)
        assert _wrapped(across - radius * (phi - math.sin(phi)), 96.0) == pytest.approx(0.0, abs=1e-5)
        flat = _drawn_drift(worked, outline, start - 1.0)[1]
        assert along - flat == pytest.approx(-radius * (1 - math.cos(phi)), abs=1e-5)


def test_pieces_turned_along_the_bolt_flow_over_all_four_edges() -> None:
    """The four-turn placement: drift nought along all four top seams (solid geometry, derived).

    W 560, D 510, H 85, the panel at (13, 41): front (s+a, z+b-H), right (-z+W+a+H, s+b), back
    (-s+W+a, -z+D+b+H), left (z+a-H, -s+D+b), s from each side's own start.
    """
    w, d, a, b = 560.0, 510.0, 13.0, 41.0
    worked = worked_job()
    plan = worked.plans["stripe"]
    turns = {
        0: (0.0, 0, a, b - H),
        1: (w, 90, w + a + H, b),
        2: (w + d, 180, w + a, d + b + H),
        3: (2 * w + d, 270, a - H, d + b),
    }
    ring = 2 * (w + d)
    placed = [p for p in plan.lay.placed if "boxing" not in p.key and "zip" not in p.key]
    placed = [replace(p, u_mm=a, v_mm=b) if p.key.startswith("seat.top") else p for p in placed]
    for start, turn, u, v in turns.values():
        c, s = round(math.cos(math.radians(turn))), round(math.sin(math.radians(turn)))
        for lift in (0.0, ring):
            first = start + lift
            part = (first, first + (w if turn in (0, 180) else d))
            placed.append(Placed("seat.boxing#1", turn, u - c * first, v - s * first, part))
    placed.append(Placed("seat.zip#1", 180, w + a + w + d, d + b + H))
    lay = replace(plan.lay, placed=tuple(placed), pattern_at=(0.0, 0.0))
    worked = replace(worked, plans={"stripe": replace(plan, lay=lay)})
    for s in np.linspace(0.5, ring - 0.5, 40):
        assert np.allclose(_drawn_drift(worked, rectangle(w, d), float(s)), 0.0, atol=1e-9)


def test_colours_on_the_page_are_the_cloths_own_on_both_sides_of_the_seam() -> None:
    """Sample the rendered page just above and below the front seam: it is the same stripe, at its true place."""
    pymupdf = pytest.importorskip("pymupdf")
    worked = worked_job()
    worked = replace(worked, job=_unpiped(worked))
    made = cushion_picture_svg(worked, "seat")
    page = pymupdf.open(stream=made.encode(), filetype="svg")[0]
    k = 8.0
    pixels = page.get_pixmap(matrix=pymupdf.Matrix(k, k))
    mm = page.rect.width / float(re.search(r'width="([\d.]+)mm"', made)[1]) * k  # type: ignore[index]
    to_page = _page_map(made, worked)
    pattern = drawn_pattern(striped())
    top = next(p for p in surface_maps(worked, "seat") if p.face == "top")
    checked = 0
    for x in np.arange(8.0, 552.0, 7.0):
        edges = [colour_at(pattern, *top.to_pattern(np.array([(x + e, 3.0)]))[0]) for e in (-3.0, 0.0, 3.0)]
        if len(set(edges)) > 1:
            continue
        for at in (top.to_solid(np.array([(x, 4.0)])), np.array([(x, 0.0, H - 5.0)])):
            px, py = to_page(at) * mm
            assert _nearest(pixels.pixel(round(px), round(py))) == edges[1]
        checked += 1
    assert checked > 25


def _unpiped(worked: WorkedJob):  # type: ignore[no-untyped-def]
    cushion = worked.job.cushions[0]
    cover = replace(cushion.cover, piping=replace(cushion.cover.piping, edges="none"))
    return replace(worked.job, cushions=(replace(cushion, cover=cover),))


def _page_map(made: str, worked: WorkedJob):  # type: ignore[no-untyped-def]
    """From the solid to the page, told by the drawing's own front upright corner lines and its scale."""
    from squab.draw.laid import cover_of
    from squab.draw.picture import _fitted

    view, _, _ = _fitted(view_from(27.0), cover_of(worked, "seat"))
    return lambda xyz: view.sheet(np.asarray(xyz))[0]


def _nearest(pixel: tuple[int, ...]) -> str:
    """The stripe colour nearest in hue and lightness order; shading darkens or lightens all alike."""
    names = {"#b23a2e": (178, 58, 46), "#f3ead6": (243, 234, 214), "#2f4858": (47, 72, 88)}
    r, g, b = pixel[:3]
    if r - b > 60:
        return "#b23a2e"
    return "#f3ead6" if r + g + b > 450 else "#2f4858" if b >= r else min(names)


def test_each_cushion_of_a_kind_is_drawn_from_its_own_place_on_the_bolt() -> None:
    worked = worked_job(count=3, cloth=Cloth("leaf", "Leaf", 1370.0, LEAVES))
    tops = {k: next(p for p in surface_maps(worked, "seat", k) if p.face == "top").pattern_place for k in (1, 2, 3)}
    assert len({(p.u_mm, p.v_mm) for p in tops.values()}) == 3


def test_without_a_lay_the_phases_of_the_match_are_used() -> None:
    worked = worked_job(laid=False)
    for patch in surface_maps(worked, "seat"):
        assert (patch.pattern_place.u_mm, patch.pattern_place.v_mm) == (0.0, 0.0)
    assert "Seat" in cushion_picture_svg(worked, "seat")


def test_the_bottom_is_the_top_rolled_under() -> None:
    worked = worked_job()
    patches = {p.face: p for p in surface_maps(worked, "seat")}
    bottom = patches["bottom"].to_solid(np.array([(100.0, -200.0)]))
    assert np.allclose(bottom, [(100.0, 200.0, 0.0)])


def test_walls_stand_on_the_seam_line_and_faces_are_covered_once() -> None:
    for name, outline in {"r": rectangle(560, 510), "o": rounded(560, 510, 80), "l": eared()}.items():
        worked = worked_job(outlines={name: outline})
        patches = surface_maps(worked, name)
        walls = sum(p.region.area for p in patches if p.face == "wall")
        assert walls == pytest.approx(outline.length * H, rel=1e-6)
        assert sum(p.region.area for p in patches if p.face == "top") == pytest.approx(outline.area, rel=1e-3)


@pytest.mark.parametrize("outline", [rectangle(560, 510), rounded(560, 510, 90), eared()], ids=["square", "round", "L"])
def test_pictures_are_whole_drawings_from_both_ways(outline: Outline) -> None:
    worked = worked_job(outlines={"seat": outline})
    front, back = cushion_picture_svg(worked, "seat"), cushion_back_picture_svg(worked, "seat")
    for made in (front, back):
        root = ET.fromstring(made)
        width, height = (float(root.get(k, "").removesuffix("mm")) for k in ("width", "height"))
        for e in root.iter("{http://www.w3.org/2000/svg}path"):
            xy = np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", e.get("d", "")), dtype=float)
            assert (xy > -0.5).all()
            assert (xy < (width + 0.5, height + 0.5)).all()
    assert "from behind" in back
    assert "finished sizes" in front


def test_a_hidden_wall_is_drawn_before_what_hides_it() -> None:
    from squab.draw.laid import cover_of, cushion_of
    from squab.draw.picture import Scene, _fitted, in_painters_order, runs_seen

    worked = worked_job(outlines={"seat": eared()})
    view = _fitted(view_from(27.0), cover_of(worked, "seat"))[0]
    scene = Scene(worked, cover_of(worked, "seat"), cushion_of(worked, "seat"), (), view, 1)
    order = in_painters_order(scene, list(reversed(runs_seen(scene))))
    recessed = next(i for i, r in enumerate(order) if np.allclose(r.xy[:, 0], 0.0))
    ear = next(i for i, r in enumerate(order) if np.allclose(r.xy[:, 0], -80.0))
    assert recessed < ear


def test_an_underside_is_drawn_only_where_there_is_something_to_see() -> None:
    """A face that is turned up in use is one; a plain bottom nobody sees is none."""
    worked = worked_job()
    assert not shows_underside(worked, "seat")
    turned = replace(worked.job.cushions[0], turned_over=True)
    job = replace(worked.job, cushions=(turned, *worked.job.cushions[1:]))
    assert shows_underside(replace(worked, job=job), "seat")


def test_seen_from_below_the_front_is_at_the_head_and_every_colour_where_it_was_cut() -> None:
    """Rolled over about the front edge: right stays right, and the pattern is the bottom piece's own."""
    worked = worked_job()
    made = ET.fromstring(cushion_underside_svg(worked, "seat"))
    (bottom,) = (p for p in surface_maps(worked, "seat") if p.face == "bottom")
    x0, y0, x1, y1 = bottom.region.bounds
    solid = bottom.to_solid(np.array([((x0 + x1) / 2, y1), ((x0 + x1) / 2, y0)]))
    assert solid[0, 1] < solid[1, 1]  # the piece's own upper edge is the front
    pattern = drawn_pattern(worked.job.cloth(bottom.cloth_id))
    boxes = [p for p in made.iter("{http://www.w3.org/2000/svg}path") if p.get("fill-rule") == "evenodd"]
    xy = np.vstack([np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", p.get("d", "")), dtype=float) for p in boxes])
    left, right = xy[:, 0].min(), xy[:, 0].max()
    for share in (0.13, 0.37, 0.61, 0.88):
        at = np.array([(x0 + share * (x1 - x0), (y0 + y1) / 2)])
        shown = [
            p.get("fill") for p in boxes if _covers(p.get("d", ""), left + share * (right - left), xy[:, 1].mean())
        ]
        assert shown[-1] == colour_at(pattern, *bottom.to_pattern(at)[0])


def _covers(d: str, x: float, y: float) -> bool:
    rings = [np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", part), dtype=float) for part in d.split("Z") if part]
    return any(Polygon(ring).contains(Point(x, y)) for ring in rings)
