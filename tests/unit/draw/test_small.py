"""The small picture is small, and tells the truth as the large one does: its cloth stands where it is cut."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from shapely.geometry import LineString, Point, Polygon

from squab.cloth import Motif, Pattern, Stripe
from squab.draw.picture import FRONT, SurfacePatch, surface_maps
from squab.draw.small import HIGH, MARK, WIDE, mean_colour, small_picture_svg
from squab.plane import Outline
from squab.worked import WorkedJob
from tests.unit.draw.drawn_jobs import LEAVES, UNEVEN, H, eared, rectangle, rounded, striped, worked_job

SVG = "{http://www.w3.org/2000/svg}"
ROUND = rounded(420.0, 420.0, 190.0)
"""Nearly round: its walls bend."""


def _drawn(worked: WorkedJob) -> tuple[list[tuple[Polygon, str]], dict[str, ET.Element]]:
    """The filled shapes of a picture from the bottom up with their fills, and what the fills are by id."""
    root = ET.fromstring(small_picture_svg(worked, "seat"))
    by_id = {e.attrib["id"]: e for e in root.iter() if "id" in e.attrib}
    shapes = []
    for path in root.findall(f"{SVG}path"):
        steps = np.array([int(n) for n in re.findall(r"-?\d+", path.attrib["d"])]).reshape(-1, 2)
        if path.attrib["fill"] != "none" and len(steps) > 2:
            shapes.append((Polygon(np.cumsum(steps, axis=0)), path.attrib["fill"]))
    return shapes, by_id


def _own(by_id: dict[str, ET.Element], fill: str) -> dict[str, str]:
    """A fill's attributes, with those it has from another."""
    of = by_id[fill[5:-1]]
    base = by_id[of.attrib["href"][1:]].attrib if "href" in of.attrib else {}
    return {**base, **of.attrib}


def _sheet(outline: Outline, xyz: np.ndarray[Any, Any]) -> np.ndarray[Any, Any]:
    """The fitted view, worked out apart: what is seen fills the sheet but for 5 px at each side."""
    xy = outline.flattened()
    every = FRONT.sheet(np.vstack([np.column_stack((xy, np.full(len(xy), z))) for z in (0.0, H)]))
    low, high = every.min(axis=0), every.max(axis=0)
    scale = min((WIDE - 100) / (high - low)[0], (HIGH - 100) / (high - low)[1])
    made: np.ndarray[Any, Any] = (FRONT.sheet(xyz) - (low + high) / 2) * scale + np.array([WIDE / 2, HIGH / 2])
    return made


def _hidden(outline: Outline, xyz: np.ndarray[Any, Any]) -> bool:
    """Whether the way to the eye goes through the cushion."""
    up = (H - xyz[2]) / FRONT.eye[2]
    way = LineString([xyz[:2] + FRONT.eye[:2] * k for k in (1.0, up)])
    return bool(way.intersects(Polygon(outline.flattened()).buffer(-0.5)))


def _seen(patches: tuple[SurfacePatch, ...], outline: Outline) -> list[tuple[SurfacePatch, Any, Any]]:
    """Places on the top and on walls that face the eye: the patch, the point in its piece, the point on the sheet."""
    found = []
    for patch in patches:
        if patch.face == "bottom":
            continue
        x0, y0, x1, y1 = patch.region.bounds
        for fx, fy in ((0.2, 0.3), (0.5, 0.5), (0.81, 0.66)):
            at = np.array([(x0 + fx * (x1 - x0), y0 + fy * (y1 - y0))])
            if not patch.region.buffer(-8.0).contains(Point(at[0])):
                continue
            if patch.face == "wall":
                t = outline.tangent_at(float(at[0, 0]) % outline.length)
                if t[1] * FRONT.eye[0] - t[0] * FRONT.eye[1] < 0.35:
                    continue
            solid = patch.to_solid(at)
            if patch.face == "wall" and _hidden(outline, solid[0]):
                continue
            if patch.face == "top":
                solid[:, 2] = H  # drawn without its crown
            found.append((patch, at, _sheet(outline, solid)[0]))
    return found


@pytest.mark.parametrize("outline", [rectangle(560.0, 510.0), ROUND, rounded(560.0, 500.0, 60.0), eared()])
@pytest.mark.parametrize("kind", ["warp_stripe", "weft_stripe"])
def test_a_stripe_stands_where_it_is_cut(outline: Outline, kind: Any) -> None:
    """At any place of top and wall: the repeat's share read off the gradient is that of the cloth there."""
    pattern = replace(UNEVEN, kind=kind)
    if kind == "weft_stripe":
        pattern = replace(pattern, repeat_across_mm=None, repeat_along_mm=96.0)
    worked = worked_job(cloth=striped(pattern=pattern), outlines={"seat": outline})
    shapes, by_id = _drawn(worked)
    patches = surface_maps(worked, "seat")
    read = 0
    for patch, at, on_sheet in _seen(patches, outline):
        striped_there = [f for shape, f in shapes if shape.contains(Point(on_sheet))
                         and f.startswith("url(") and "spreadMethod" in _own(by_id, f)]  # fmt: skip
        if not striped_there:  # foreshortened beyond what is seen
            continue
        own = _own(by_id, striped_there[-1])
        begin = np.array([float(own["x1"]), float(own.get("y1", 0))])
        way = np.array([float(own["x2"]), float(own.get("y2", 0))]) - begin
        if "y1" not in own:
            begin[1] = on_sheet[1]
        told = (on_sheet - begin) @ way / (way @ way)
        true = patch.to_pattern(at)[0, 0 if kind == "warp_stripe" else 1] / 96.0
        assert abs((told - true + 0.5) % 1.0 - 0.5) < 0.04, (patch.part_id, at)
        read += 1
    assert read >= 3


@pytest.mark.parametrize("outline", [rectangle(560.0, 510.0), ROUND])
def test_a_print_stands_where_it_is_cut(outline: Outline) -> None:
    """A tile's corner is the middle of a motif, half drop and all."""
    worked = worked_job(cloth=striped(pattern=LEAVES), outlines={"seat": outline})
    shapes, by_id = _drawn(worked)
    across, along, drop = LEAVES.repeat_across_mm, LEAVES.repeat_along_mm, LEAVES.drop_mm
    assert across is not None and along is not None  # noqa: PT018
    read = 0
    for patch, at, on_sheet in _seen(surface_maps(worked, "seat"), outline):
        tiles = [f for shape, f in shapes if shape.contains(Point(on_sheet)) and f.startswith("url(")]
        own = next((o for o in (_own(by_id, f) for f in reversed(tiles)) if "patternTransform" in o), None)
        if own is None:
            continue
        a, b, c, d, e, f = (float(n) for n in own["patternTransform"][7:-1].split())
        s, t = np.linalg.solve(np.array([(a, c), (b, d)]), on_sheet - np.array([e, f]))
        p, q = patch.to_pattern(at)[0]
        assert abs((s - p + across / 2) % across - across / 2) < 0.04 * across
        assert abs((t - (q - p * drop / across) + along / 2) % along - along / 2) < 0.04 * along
        read += 1
    assert read >= 3


@pytest.mark.parametrize("outline", [rectangle(560.0, 510.0), ROUND, rounded(560.0, 500.0, 60.0), eared()])
@pytest.mark.parametrize("pattern", [UNEVEN, LEAVES, Pattern()])
def test_it_is_small(outline: Outline, pattern: Pattern) -> None:
    """A few kilobytes, well-formed, no lettering, and every fill it names is there under a marked id."""
    text = small_picture_svg(worked_job(cloth=striped(pattern=pattern), outlines={"seat": outline}), "seat")
    assert len(text) < 7000
    assert "<text" not in text
    used = set(re.findall(rf"#({MARK}\d+)", text))
    assert used <= set(re.findall(rf'id="({MARK}\d+)"', text))
    root = ET.fromstring(text)
    assert root.attrib["viewBox"] == f"0 0 {WIDE} {HIGH}"


def test_a_pattern_too_fine_to_be_seen_is_its_mean_colour() -> None:
    """Stripes by their widths, a print by the share its motif covers."""
    fine = Pattern("warp_stripe", 4.0, stripes=(Stripe(1, "#000000"), Stripe(3, "#ffffff")))
    assert mean_colour(fine) == "#bfbfbf"
    text = small_picture_svg(worked_job(cloth=striped(pattern=fine)), "seat")
    assert "#bfbfbf" in text
    assert "spreadMethod" not in text
    lozenges = Pattern("print", 10.0, 10.0, ground="#000000", motif=Motif(10, 10, "#ffffff", "lozenge"))
    assert mean_colour(lozenges) == "#808080"  # half the tile
    assert "<pattern" not in small_picture_svg(worked_job(cloth=striped(pattern=lozenges)), "seat")


def test_it_does_without_a_lay() -> None:
    """A job that was never laid has its picture as its pieces match."""
    assert "spreadMethod" in small_picture_svg(worked_job(laid=False), "seat")
