"""Rules of paper and screen that hold for every drawing, each with its published source."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np
import pymupdf
import pytest
import typst

from squab.draw.index import STYLE, index_html
from squab.draw.patterns import PAPER_MM, pattern_pdf, pattern_svg, plotter_pdf
from squab.draw.plan import cutting_plan_svg
from squab.draw.svg import CAPITAL_OF_SIZE, THICK_MM, THIN_MM
from squab.draw.typeset import fonts
from squab.findings import Finding, Severity
from squab.worked import WorkedJob
from tests.unit.draw.drawn_jobs import eared, rounded, worked_job
from tests.unit.draw.test_patterns import MM, _lines


@pytest.fixture(scope="module")
def worked() -> WorkedJob:
    return worked_job(outlines={"seat": rounded(420, 300, 60), "ear": eared()})


@pytest.fixture(scope="module")
def book(worked: WorkedJob) -> pymupdf.Document:
    return pymupdf.open(stream=pattern_pdf(worked, "a4"), filetype="pdf")


def test_papers() -> None:
    """ISO 216 A4, 210 x 297 mm; ANSI A, 8.5 x 11 in (ANSI/ASME Y14.1)."""
    assert PAPER_MM["a4"] == (210, 297)
    assert PAPER_MM["letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


def test_cut_and_stitch_lines_are_two_to_one(worked: WorkedJob) -> None:
    """0.7 mm thick and 0.35 thin (ISO 128-24 through a drawing manual): the cut line thick, the stitch line thin."""
    assert (THIN_MM, THICK_MM) == (0.35, 0.7)
    made = pattern_svg(worked, "ear.top")
    widths = {float(w) for w in re.findall(r'<path [^>]*stroke-width="([\d.]+)"', made)}
    assert {THIN_MM, THICK_MM} <= widths
    stitch = re.search(r'<path [^>]*stroke-dasharray="[^"]+"[^>]*>', made)
    assert stitch
    assert f'stroke-width="{THIN_MM:g}"' in stitch[0]


def test_words_of_a_pattern_are_large_enough(worked: WorkedJob) -> None:
    """Capitals at least 3.2 mm high (ISO 128-24 through a drawing manual; patent drawing rules).

    Not the size of the font, of which the capitals are about two thirds.
    """
    capital_of_size = _capital_height()
    assert capital_of_size == pytest.approx(CAPITAL_OF_SIZE, abs=0.002)
    for piece in ("seat.top", "ear.top"):
        sizes = [float(x) for x in re.findall(r'font-size="([\d.]+)"', pattern_svg(worked, piece))]
        assert sizes
        assert min(sizes) * capital_of_size >= 3.2


def _capital_height() -> float:
    """The height of the printed font's capital H, to its size: as high as a page renders it."""
    inputs = {"main": b'#set text(font: "Source Sans Pro", size: 100pt)\nH'}
    made: Any = typst.compile(inputs, font_paths=fonts(), ignore_system_fonts=True)
    pixels = pymupdf.open(stream=bytes(made), filetype="pdf")[0].get_pixmap(dpi=720, colorspace=pymupdf.csGRAY)
    ink = np.frombuffer(pixels.samples, dtype=np.uint8).reshape(pixels.height, pixels.stride)[:, : pixels.width]
    return float((ink < 128).any(axis=1).sum()) / 1000


def test_neighbouring_sheets_share_their_marks(book: pymupdf.Document) -> None:
    """Corner ticks half an overlap in, so that they outlive the first cut; a name, row, column and map on each."""
    tiles = [p for p in book if re.search(r"row [A-Z]+ of", p.get_text())]
    assert len(tiles) > 8
    for page in tiles:
        wide, high = page.rect.width * MM, page.rect.height * MM
        ticks = {
            (round((x0 + x1) / 2, 1), round(y0, 1))
            for x0, y0, x1, y1 in _lines(page)
            if abs(abs(x1 - x0) - 8) < 0.01 and abs(y1 - y0) < 0.01
        }
        for x in (15.0, wide - 15):
            for y in (15.0, high - 15):
                assert (round(x, 1), round(y, 1)) in ticks


def test_one_printed_length_over_the_assembled_sheets(book: pymupdf.Document) -> None:
    """From check ring to check ring, said on the cover for every piece that is printed."""
    cover = book[0].get_text()
    assert len(re.findall(r"ring to ring [\d.]+ mm", cover)) >= 2
    assert "Print at 100 %" in cover


@pytest.mark.parametrize("number", [0, 1])
def test_what_was_measured_stands_on_patterns(worked: WorkedJob, number: int) -> None:
    """Asked once and printed on every sheet of patterns' first page; common practice, no source."""
    made = (pattern_pdf(worked, "letter"), plotter_pdf(worked, 914.4))[number]
    text = re.sub(r"\s+", " ", pymupdf.open(stream=made, filetype="pdf")[0].get_text())
    assert "Sizes were given as the seam, stitch line to stitch line." in text


def test_links_are_large_enough_to_touch() -> None:
    """A target of at least 24 x 24 CSS px (WCAG 2.2, 2.5.8; from memory): 16 px to the rem."""
    (height,) = [float(x) * 16 for x in re.findall(r"\.sheets a \{ display: block; min-height: ([\d.]+)rem", STYLE)]
    assert height >= 24
    width = float(re.findall(r"minmax\(([\d.]+)rem, 1fr\)", STYLE)[0]) * 16
    assert width >= 24


def test_colour_is_never_the_only_sign(worked: WorkedJob) -> None:
    """WCAG 2.2, 1.4.1 (from memory): stripes have names, the arrow its word, a warning its own word."""
    plan = re.sub(r"<[^>]+>", " ", cutting_plan_svg(worked, "stripe"))
    assert re.search(r"\bred\b", plan)
    assert "face up" in plan.lower()
    assert "front" in re.sub(r"<[^>]+>", " ", pattern_svg(worked, "ear.top")).lower()
    told = replace(worked, findings=(Finding("MAT-001", Severity.WARN, "seat", "it cannot meet"),))
    page = re.sub(r"<style.*?</style>|<[^>]+>", " ", index_html(told, []), flags=re.DOTALL)
    assert re.search(r"\bmind\b", page)
