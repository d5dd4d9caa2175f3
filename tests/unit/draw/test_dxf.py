"""DXF read back by another reader: areas, layers, units, the bar of 100 mm."""

from __future__ import annotations

import io
import itertools
import math
import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from ezdxf import path as ezpath
from shapely.geometry import Point, Polygon

from squab.cloth import Cloth
from squab.draw.dxf import INSUNITS, LAYERS, TEST_BLOCK, block_name, lay_dxf, pieces_dxf
from squab.draw.laid import laid_parts
from squab.worked import WorkedJob
from tests.unit.draw.drawn_jobs import LEAVES, SA, eared, rectangle, rounded, striped, worked_job


@pytest.fixture(scope="module")
def worked() -> WorkedJob:
    return worked_job(outlines={"seat": rounded(560, 510, 90), "ear": eared()}, count=2)


@pytest.fixture(scope="module")
def document(worked: WorkedJob) -> Any:
    return _read(pieces_dxf(worked))


def _read(data: bytes) -> Any:
    return ezdxf.read(io.StringIO(data.decode("cp1252")))


def _polygons(space: Any, layer: str) -> list[Polygon]:
    found = []
    for entity in space.query(f'POLYLINE[layer=="{layer}"]'):
        assert entity.is_closed
        points = [(v.x, v.y) for v in ezpath.make_path(entity).flattening(0.001)]
        found.append(Polygon(points))
    return found


def _area(line: Any) -> float:
    """Area within a polyline: its corners' polygon, and a circle's segment for each bulge (tan of a quarter sweep)."""
    vertices = [(v.dxf.location.x, v.dxf.location.y, v.dxf.bulge) for v in line.vertices]
    total = 0.0
    for (x0, y0, bulge), (x1, y1, _) in zip(vertices, [*vertices[1:], vertices[0]], strict=True):
        total += (x0 * y1 - x1 * y0) / 2
        if bulge:
            sweep = 4 * math.atan(bulge)
            radius = math.dist((x0, y0), (x1, y1)) / (2 * math.sin(abs(sweep) / 2))
            total += radius**2 * (sweep - math.sin(sweep)) / 2
    return total


def _pieces(document: Any) -> list[Any]:
    return [b for b in document.blocks if not b.name.startswith("*") and b.name != TEST_BLOCK]


def test_units_version_and_layers(document: Any) -> None:
    """$INSUNITS 1 inch, 4 mm (system-variable reference); $ACADVER of R2000 is AC1015 (header reference)."""
    assert INSUNITS == {"in": 1, "mm": 4}
    assert document.header["$INSUNITS"] == 4
    assert document.header["$ACADVER"] == "AC1015"
    assert document.dxfversion == "AC1015"
    assert {layer.dxf.name for layer in document.layers} - {"0", "Defpoints"} == set(LAYERS)
    assert not document.audit().errors


def test_every_layer_has_something_and_the_pages_on_cutters_tell_of_each() -> None:
    """Layers 6 (mirrored halves), 11 (cut-outs) and 13 (drill holes) are left out: no piece of a cushion has any."""
    outlines = {"seat": rounded(560, 510, 90), "ear": eared()}
    doc = _read(pieces_dxf(worked_job(outlines=outlines, cloth=Cloth("leaf", "Leaf", 1370.0, LEAVES))))
    assert {e.dxf.layer for space in (doc.modelspace(), *_pieces(doc)) for e in space} == set(LAYERS)
    told = Path(__file__).parents[3] / "docs" / "cutter-files.md"
    said = re.findall(r"^\| (\d+) \|", told.read_text("utf-8"), re.M)
    assert said == list(LAYERS)


def test_every_piece_is_one_block_with_its_area_read_back(worked: WorkedJob, document: Any) -> None:
    for piece in worked.construction.pieces:
        block = document.blocks.get(block_name(piece.id, set()))
        for layer, outline in (("1", piece.cut), ("14", piece.seam)):
            (line,) = block.query(f'POLYLINE[layer=="{layer}"]')
            assert _area(line) == pytest.approx(outline.area, rel=1e-9)


def test_arcs_are_written_as_arcs(document: Any) -> None:
    line = next(iter(document.blocks.get("SEAT_TOP").query('POLYLINE[layer=="1"]')))
    bulges = [v.dxf.bulge for v in line.vertices if v.dxf.bulge]
    assert bulges == pytest.approx([math.tan(math.pi / 8)] * 4)


def test_the_stitch_line_lies_inside_by_exactly_the_allowance(document: Any) -> None:
    checked = 0
    for block in _pieces(document):
        if "BOXING" in block.name or "PIPING" in block.name:
            continue
        (cut,), (sew,) = _polygons(block, "1"), _polygons(block, "14")
        assert cut.contains(sew)
        assert cut.exterior.distance(sew.exterior) == pytest.approx(SA, abs=0.02)
        drawn_in = cut.buffer(-SA, join_style="mitre", mitre_limit=10)
        assert drawn_in.symmetric_difference(sew).area < 0.02 * sew.length
        checked += 1
    assert checked == 6


def test_turn_and_curve_points_lie_on_a_line_of_the_piece(document: Any) -> None:
    for block in _pieces(document):
        lines = [p.exterior for layer in ("1", "14") for p in _polygons(block, layer)]
        points = [p for layer in ("2", "3") for p in block.query(f'POINT[layer=="{layer}"]')]
        assert points
        for p in points:
            at = Point((p.dxf.location.x, p.dxf.location.y))
            assert min(line.distance(at) for line in lines) < 0.03  # the reader's curves: 2.7e-4 r
    assert len(document.blocks.get("EAR_TOP").query('POINT[layer=="2"]')) == 12
    assert len(document.blocks.get("SEAT_TOP").query('POINT[layer=="2"]')) == 0


def test_notches_begin_on_the_cut_edge_and_go_in_no_further_than_half_the_allowance(
    worked: WorkedJob, document: Any
) -> None:
    block = document.blocks.get("EAR_TOP")
    edge = _polygons(block, "1")[0].exterior
    strokes = list(block.query('LINE[layer=="4"]'))
    piece = next(p for p in worked.construction.pieces if p.id == "ear.top")
    assert len(strokes) == sum(n.strokes for n in piece.notches)
    for s in strokes:
        assert edge.distance(Point((s.dxf.start.x, s.dxf.start.y))) < 0.01
        assert (s.dxf.end - s.dxf.start).magnitude <= SA / 2


def test_a_striped_job_has_stripe_reference_lines_at_the_repeat(document: Any) -> None:
    lines = list(document.blocks.get("SEAT_TOP").query('LINE[layer=="9"]'))
    at = sorted({round(line.dxf.start.x, 6) for line in lines})
    assert len(at) >= 5
    assert [b - a for a, b in itertools.pairwise(at)] == pytest.approx([96.0] * (len(at) - 1))
    assert all(abs(line.dxf.start.x - line.dxf.end.x) < 1e-6 for line in lines)


def test_the_grain_is_the_warp(document: Any) -> None:
    (line,) = document.blocks.get("SEAT_TOP").query('LINE[layer=="7"]')
    assert line.dxf.start.x == pytest.approx(line.dxf.end.x)
    assert line.dxf.end.y > line.dxf.start.y


def test_inch_and_millimetre_files_differ_by_25_4(worked: WorkedJob, document: Any) -> None:
    """A DXF number has no unit of its own, and block units are not converted (DXF library documentation)."""
    inches = _read(pieces_dxf(worked, "in"))
    assert inches.header["$INSUNITS"] == 1
    for block in _pieces(document):
        a, b = (_polygons(d.blocks.get(block.name), "1")[0].bounds for d in (document, inches))
        assert a == pytest.approx([v * 25.4 for v in b], abs=1e-3)


def test_the_bar_of_100_mm(worked: WorkedJob, document: Any) -> None:
    for doc, length in ((document, 100.0), (_read(pieces_dxf(worked, "in")), 100 / 25.4)):
        (bar,) = doc.blocks.get(TEST_BLOCK).query("LINE")
        assert (bar.dxf.end - bar.dxf.start).magnitude == pytest.approx(length)


def test_words_say_name_count_and_cloth(document: Any) -> None:
    texts = [t.dxf.text for t in document.blocks.get("EAR_TOP").query("TEXT")]
    assert "QUANTITY: 2" in texts
    assert "MATERIAL: Wickle ticking" in texts
    assert any(t.startswith("PIECE NAME: Ear") for t in texts)
    heads = [t.dxf.text for t in document.modelspace().query("TEXT")]
    assert "UNITS: METRIC" in heads
    assert not any("ASTM" in t or "D6673" in t for t in heads + texts)


def test_blocks_do_not_lie_on_one_another(document: Any) -> None:
    boxes = []
    for insert in document.modelspace().query("INSERT"):
        block = document.blocks.get(insert.dxf.name)
        for polygon in _polygons(block, "1"):
            x0, _, x1, _ = polygon.bounds
            boxes.append((x0 + insert.dxf.insert.x, x1 + insert.dxf.insert.x))
    boxes.sort()
    assert all(a[1] < b[0] for a, b in itertools.pairwise(boxes))


def test_the_lay_has_every_piece_where_it_lies(worked: WorkedJob) -> None:
    doc = _read(lay_dxf(worked, "stripe"))
    laid = laid_parts(worked, "stripe")
    cut = _polygons(doc.modelspace(), "CUT")
    assert len(cut) == len(laid)
    assert sum(p.area for p in cut) == pytest.approx(sum(x.cut.area for x in laid), rel=1e-4)
    expected = sorted(round(x.place.outline(x.cut).bounds()[1], 2) for x in laid)
    assert sorted(round(p.bounds[0], 2) for p in cut) == pytest.approx(expected, abs=0.02)
    (cloth,) = _polygons(doc.modelspace(), "CLOTH")
    assert cloth.bounds == pytest.approx((0, 0, worked.plans["stripe"].lay.length_mm, 1370.0))
    assert not set(LAYERS) & {e.dxf.layer for e in doc.modelspace()}


def _largest(marked: str) -> list[tuple[float, float]]:
    worked = worked_job(outlines={"ear": eared()}, marked=marked)
    big = max(_polygons(_read(lay_dxf(worked, "stripe")).modelspace(), "CUT"), key=lambda p: p.area)
    return [(round(x, 1), round(y, 1)) for x, y in big.exterior.coords]


def test_the_lay_is_a_turn_of_the_cloth_face_up_and_its_mirror_back_up() -> None:
    up, down = _largest("face_up"), _largest("back_up")
    assert [(x, round(1370.0 - y, 1)) for x, y in up] == down
    assert Polygon(up).exterior.is_ccw  # a turn keeps the piece's own way round
    assert not Polygon(down).exterior.is_ccw


def test_a_shrinking_cloth_is_cut_larger() -> None:
    plain = worked_job(outlines={"seat": rectangle(576, 500)})
    cloth = striped(shrink_weft_pct=3.0, shrinks_after_cutting=True)
    worked = replace(plain, job=replace(plain.job, cloths=(cloth,)))
    x0, y0, x1, y1 = _polygons(_read(pieces_dxf(worked)).blocks.get("SEAT_TOP"), "1")[0].bounds
    assert (x1 - x0, y1 - y0) == pytest.approx((618.557, 524.0), abs=1e-3)


def test_the_same_job_has_the_same_bytes(worked: WorkedJob) -> None:
    assert pieces_dxf(worked) == pieces_dxf(worked)
    assert lay_dxf(worked, "stripe") == lay_dxf(worked, "stripe")


def test_names_that_a_block_cannot_have_are_made_over() -> None:
    used: set[str] = set()
    assert block_name("Küche|*/<top>", used) == "K_CHE____TOP_"
    assert block_name("Küche|*/<top>", used) == "K_CHE____TOP__2"
    worked = worked_job(outlines={"s": rectangle(200, 200)}, name="日本 \n<x>")
    assert b"SECTION" in pieces_dxf(worked)
