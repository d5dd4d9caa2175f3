"""The whole folder of a real job: every bar of 100 mm is 100 mm, and no two sheets disagree on a number."""

from __future__ import annotations

import io
import json
import re
from functools import cache
from pathlib import Path
from typing import Any

import ezdxf
import numpy as np
import pymupdf
import pypdf
import pytest
from shapely import Polygon

from squab.draw.dxf import TEST_BLOCK
from squab.draw.figures import Figures
from squab.draw.sheets import all_sheets
from squab.draw.summary import worked_json
from squab.files import read_job
from squab.stages import work
from squab.worked import WorkedJob
from tests.unit.draw.test_sheets import tidy

EXAMPLES = Path(__file__).parents[2] / "examples"
PT_PER_MM = 72 / 25.4
"""PDF default unit, 1/72 in (ISO 32000-1, Table 30)."""
NAMES = ("armchair", "eared-seats")
"""One in inches with plain cloth, one in millimetres with pieces of both hands."""


@cache
def made(name: str) -> tuple[WorkedJob, dict[str, bytes]]:
    job = read_job((EXAMPLES / f"{name}.toml").read_bytes()).value
    assert job is not None
    worked = work(job, seconds=1.0, trials=False).value
    assert worked is not None
    return worked, all_sheets(worked)


def text_of(contents: bytes) -> str:
    return tidy("\n".join(p.get_text() for p in pymupdf.open(stream=contents)))


def bars_mm(page: pymupdf.Page) -> list[tuple[float, bool]]:
    """Length and uprightness of every line of about 100 mm on a page, from its drawing orders."""
    found = []
    for drawing in page.get_drawings():
        for item in drawing["items"]:
            if item[0] == "l":
                across, along = abs(item[2].x - item[1].x), abs(item[2].y - item[1].y)
                found.append((max(across, along) / PT_PER_MM, along > across))
            elif item[0] == "re":
                found += [(item[1].width / PT_PER_MM, False), (item[1].height / PT_PER_MM, True)]
    return [(x, upright) for x, upright in found if abs(x - 100) < 2]


@pytest.mark.parametrize("name", NAMES)
def test_the_bar_of_100_mm_measured_back_from_every_pdf_dxf_and_svg(name: str) -> None:
    """Every page that speaks of 100 mm has a line exactly so long; every cutter's file has a bar in its own unit."""
    worked, folder = made(name)
    pages = 0
    for file, contents in folder.items():
        if file.endswith(".pdf"):
            for page in pymupdf.open(stream=contents):
                if "100 mm" not in page.get_text() and not file.startswith(("patterns", "cutting-plan")):
                    continue
                if "continued" in page.get_text():
                    continue
                lengths = bars_mm(page)
                assert any(x == pytest.approx(100, abs=0.01) for x, _ in lengths), file
                if file.startswith("patterns"):
                    assert {u for x, u in lengths if x == pytest.approx(100, abs=0.01)} == {True, False}, file
                pages += 1
        elif file.endswith(".dxf"):
            document = ezdxf.read(io.StringIO(contents.decode("cp1252")))
            unit = {1: 25.4, 4: 1.0}[document.header["$INSUNITS"]]
            (bar,) = document.blocks.get(TEST_BLOCK).query("LINE")
            assert (bar.dxf.end - bar.dxf.start).magnitude * unit == pytest.approx(100, abs=1e-6), file
            (insert,) = document.modelspace().query(f'INSERT[name=="{TEST_BLOCK}"]')
            assert (insert.dxf.xscale, insert.dxf.yscale) == (1, 1)
        elif file.endswith(".svg"):
            head = re.search(rb'width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 ([\d.]+) ([\d.]+)"', contents)
            assert head, file
            width, height, across, along = map(float, head.groups())
            assert (width, height) == pytest.approx((across, along)), f"{file}: a millimetre is a millimetre"
    assert pages > 5
    assert worked.plans


@pytest.mark.parametrize("name", NAMES)
def test_the_lay_for_the_cutter_is_the_lay_that_was_proved(name: str) -> None:
    """Cut lines read back from the DXF: as many as were laid, of the area that was constructed."""
    worked, folder = made(name)
    for file, contents in folder.items():
        if not (file.endswith(".dxf") and file.startswith("cutting-plan")):
            continue
        document: Any = ezdxf.read(io.StringIO(contents.decode("cp1252")))
        unit = {1: 25.4, 4: 1.0}[document.header["$INSUNITS"]]
        cut = [
            Polygon(np.array([(v.dxf.location.x, v.dxf.location.y) for v in e.vertices]) * unit)
            for e in document.modelspace().query("POLYLINE") if e.dxf.layer == "CUT"
        ]  # fmt: skip
        (plan,) = [p for k, p in worked.plans.items() if f"-{k}." in file] or list(worked.plans.values())[:1]
        assert len(cut) == len(plan.lay.placed)
        far = max(p.bounds[2] for p in cut)
        assert far == pytest.approx(plan.lay.length_mm * worked.job.cloth(plan.cloth_id).cut_scale[1], abs=0.05)


@pytest.mark.parametrize("name", NAMES)
def test_no_two_sheets_disagree_on_a_number(name: str) -> None:
    """Order, seam and finished sizes, cut sizes and the price read the same wherever they stand."""
    worked, folder = made(name)
    figures = Figures.of(worked.job)
    texts = {k: text_of(v) for k, v in folder.items() if k.endswith(".pdf")}
    html = tidy(re.sub(r"<[^>]+>", " ", folder["index.html"].decode()))
    sewing = {k: t for k, t in texts.items() if k.startswith("sewing")}
    for cover in worked.construction.covers:
        finished, seam = tidy(figures.box(cover.sizes.finished)), tidy(figures.box(cover.sizes.seam))
        assert finished in texts["quote.pdf"]
        assert any(finished in t and seam in t for t in sewing.values())
        for piece in cover.pieces:
            x0, y0, x1, y1 = piece.cut.bounds()
            assert tidy(f"{figures.bare(x1 - x0)} × {figures.bare(y1 - y0)}") in texts["cut-list.pdf"], piece.id
    for plan in worked.plans.values():
        order = tidy(figures.cloth(plan.order_mm))
        for sheet in ("quote.pdf", "shopping-list.pdf", "cut-list.pdf"):
            assert order in texts[sheet], sheet
        assert order in html
        for other in re.findall(r"order ([\d.,]+(?: \d+/\d+)? (?:m|yd))\b", " ".join(texts.values())):
            assert other in {tidy(figures.cloth(p.order_mm)) for p in worked.plans.values()}
    total = figures.money(worked.supply.price.total)
    for told in (texts["quote.pdf"], texts["costing.pdf"], html):
        assert total in told
    summary = json.loads(json.dumps(worked_json(worked)))
    assert summary["price"]["total"] == str(worked.supply.price.total)
    for told, plan in zip(summary["cloths"], worked.plans.values(), strict=True):
        assert plan.order_mm in {v for v in told.values() if isinstance(v, float)}
    assert all(len(pypdf.PdfReader(io.BytesIO(folder[k])).pages) > 0 for k in texts)
