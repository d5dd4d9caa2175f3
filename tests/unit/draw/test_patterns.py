"""Full-size patterns are full size: measured back from the files, not from what was meant."""

from __future__ import annotations

import io
import math
import re
from dataclasses import replace
from typing import Literal

import numpy as np
import pymupdf
import pypdf
import pytest

from squab.cloth import Cloth
from squab.construct.records import Piece
from squab.draw.figures import Figures
from squab.draw.patterns import (
    MARGIN_MM,
    MOST_UNITS,
    OVERLAP_MM,
    PAPER_MM,
    PT_PER_MM,
    best_tiling,
    datum_segments,
    is_by_measure,
    pattern_pdf,
    pattern_place,
    pattern_svg,
    pattern_svgs,
    plotter_pdf,
    sheet_name,
    tiling,
)
from squab.draw.sheets import marking_sheet_pdf
from squab.draw.sheets_cutlist import cut_list_pdf, strip_cut
from squab.units import IMPERIAL
from squab.worked import WorkedJob
from tests.unit.draw.drawn_jobs import LEAVES, eared, rectangle, rounded, striped, worked_job

MM = 1 / PT_PER_MM


def _lines(page: pymupdf.Page) -> list[tuple[float, float, float, float]]:
    """Every straight line and edge of a rectangle drawn on a page, mm."""
    found = []
    for d in page.get_drawings():
        for item in d["items"]:
            if item[0] == "l":
                found.append((item[1].x * MM, item[1].y * MM, item[2].x * MM, item[2].y * MM))
            if item[0] == "re":
                r = item[1]
                found += [(r.x0 * MM, r.y0 * MM, r.x1 * MM, r.y0 * MM), (r.x0 * MM, r.y0 * MM, r.x0 * MM, r.y1 * MM)]
    return found


def _is_bar(line: tuple[float, float, float, float], *, upright: bool) -> bool:
    x0, y0, x1, y1 = line
    across, along = abs(x1 - x0), abs(y1 - y0)
    long, other = (along, across) if upright else (across, along)
    return abs(long - 100.0) < 0.002 and other < 0.002


@pytest.fixture(scope="module")
def worked() -> WorkedJob:
    return worked_job(outlines={"seat": rounded(420, 300, 60), "ear": eared()})


@pytest.fixture(scope="module")
def a4(worked: WorkedJob) -> bytes:
    return pattern_pdf(worked, "a4")


def test_paper_sizes_and_points() -> None:
    """ISO 216 A4 is 210 x 297 mm = 595.276 x 841.890 pt; 100 mm = 283.465 pt (ISO 32000-1, Table 30)."""
    assert PAPER_MM["a4"] == (210.0, 297.0)
    assert [round(v * PT_PER_MM, 3) for v in (210, 297, 100)] == [595.276, 841.890, 283.465]
    assert PAPER_MM["letter"] == pytest.approx((8.5 * 25.4, 11 * 25.4))


def test_a_drawing_1200_by_600_takes_21_sheets_upright_and_20_lying() -> None:
    """A4, margins and overlap of 10 mm (arithmetic)."""
    upright, lying = tiling(1200, 600, (210, 297)), tiling(1200, 600, (297, 210))
    assert (upright.columns, upright.rows, upright.pages) == (7, 3, 21)
    assert (lying.columns, lying.rows, lying.pages) == (5, 4, 20)
    assert best_tiling(1200, 600, "a4") == lying


@pytest.mark.parametrize("size", [(190.0, 277.0), (190.1, 277.0), (370.0, 544.0), (370.01, 1.0)])
def test_tiles_reach_to_the_end_and_no_further_than_they_must(size: tuple[float, float]) -> None:
    t = tiling(*size, (210, 297))
    for n, step, window, length in zip((t.columns, t.rows), t.step_mm, t.window_mm, size, strict=True):
        assert (n - 1) * step + window >= length - 1e-6
        assert n == 1 or (n - 2) * step + window < length
    assert t.window_mm[0] - t.step_mm[0] == OVERLAP_MM == 10
    assert MARGIN_MM == 10


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_bars_of_100_mm_both_ways_on_every_page_and_the_square_on_the_first(worked: WorkedJob, paper: str) -> None:
    """Printers differ in x and y: tiles were found 12 % too large after hours of taping (several reports)."""
    book = pymupdf.open(stream=pattern_pdf(worked, paper), filetype="pdf")  # type: ignore[arg-type]
    sizes = {tuple(sorted((round(p.rect.width * MM, 2), round(p.rect.height * MM, 2)))) for p in book}
    assert sizes == {tuple(sorted(round(v, 2) for v in PAPER_MM[paper]))}
    for page in book:
        if "continued" in page.get_text():
            continue
        lines = _lines(page)
        assert any(_is_bar(line, upright=False) for line in lines)
        assert any(_is_bar(line, upright=True) for line in lines)
    assert "100 mm each way" in book[0].get_text()


def test_nothing_is_printed_within_10_mm_of_the_edge(a4: bytes) -> None:
    for page in pymupdf.open(stream=a4, filetype="pdf"):
        pixels = page.get_pixmap(dpi=36, colorspace=pymupdf.csGRAY)
        edge = round(8.5 / 25.4 * 36)
        ink = np.frombuffer(pixels.samples, dtype=np.uint8).reshape(pixels.height, pixels.stride)[:, : pixels.width]
        assert (ink[:edge] > 200).all()
        assert (ink[-edge:] > 200).all()
        assert (ink[:, :edge] > 200).all()
        assert (ink[:, -edge:] > 200).all()


def test_the_viewer_is_asked_not_to_scale_and_the_file_is_sound(a4: bytes) -> None:
    """PrintScaling None in the viewer preferences (ISO 32000-1, 12.2); never trusted, hence the bars."""
    reader = pypdf.PdfReader(io.BytesIO(a4), strict=True)
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"  # type: ignore[index]
    assert len(reader.pages) == len(pymupdf.open(stream=a4, filetype="pdf"))


def test_each_sheet_has_its_name_its_row_and_its_column(a4: bytes) -> None:
    pages = [p.get_text() for p in pymupdf.open(stream=a4, filetype="pdf")]
    tiles = [t for t in pages if "row A of" in t or "row B of" in t or "row C of" in t]
    names = [re.search(r"([A-Z]+)(\d+) · ", t) for t in tiles]
    assert len(tiles) > 8
    for text, name in zip(tiles, names, strict=True):
        assert name
        assert f"row {name[1]} of" in text
        assert f"column {name[2]} of" in text
    assert [sheet_name(r, 0) for r in (0, 25, 26)] == ["A1", "Z1", "AA1"]


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_sheets_laid_mark_on_mark_make_up_the_whole_piece(worked: WorkedJob, paper: str) -> None:
    """A sheet further on shows the cut line shifted by a page less both margins and the overlap, and nothing else."""
    found: dict[str, set[tuple[float, float, float, float]]] = {}
    for page in pymupdf.open(stream=pattern_pdf(worked, paper), filetype="pdf"):  # type: ignore[arg-type]
        name = re.search(r"([A-Z])(\d+) · (.+)", page.get_text())
        if not name:
            continue
        steps = (page.rect.width * MM - 30, page.rect.height * MM - 30)
        shift = ((int(name[2]) - 1) * steps[0], (ord(name[1]) - ord("A")) * steps[1])
        cut = max(
            (d["rect"] for d in page.get_drawings() if d["width"] and abs(d["width"] * MM - 0.7) < 0.01),
            key=lambda r: r.width * r.height,
        )
        edges = zip((cut.x0, cut.y0, cut.x1, cut.y1), (*shift, *shift), strict=True)
        found.setdefault(name[3], set()).add(tuple(round(v * MM + by, 1) for v, by in edges))
    assert len(found) == 4
    for piece, places in found.items():
        left, top, right, bottom = np.array(sorted(places)).T
        assert max(np.ptp(v) for v in (left, top, right, bottom)) < 0.15, f"{piece}: {places}"
        assert 10 <= left.min() < 20, f"{piece}: {places}"
        assert 10 <= top.min() < 20, f"{piece}: {places}"
        wide, high = (584, 534) if "ear" in piece.lower() else (444, 324)
        assert (right[0] - left[0], bottom[0] - top[0]) == pytest.approx((wide, high), abs=0.2)


def test_the_ring_to_ring_length_said_is_the_length_drawn(worked: WorkedJob) -> None:
    made = pattern_svg(worked, "ear.top")
    rings = [(float(x), float(y)) for x, y in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="2.6"', made)]
    said = float(re.search(r"check ([\d.]+) mm from ring to ring", made)[1])  # type: ignore[index]
    assert len(rings) == 2
    assert math.dist(*rings) == pytest.approx(said, abs=0.5)  # said to the millimetre
    assert said > 500


def test_the_svg_has_a_square_of_100_mm_and_the_piece_at_one_to_one(worked: WorkedJob) -> None:
    made = pattern_svg(worked, "ear.top")
    assert re.search(r'<rect [^>]*width="100" height="100"', made)
    d = re.search(r'<path d="([^"]+)"[^>]*stroke-width="0.7"', made)[1]  # type: ignore[index]
    xy = np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", d), dtype=float)
    assert tuple(xy.max(axis=0) - xy.min(axis=0)) == pytest.approx((584.0, 534.0), abs=2e-3)


def test_arcs_are_arcs_with_the_allowance_added(worked: WorkedJob) -> None:
    made = pattern_svg(worked, "seat.top")
    assert "A72 72 0 0" in made  # radius 60 and 12 of allowance
    assert "A60 60 0 0" in made


def test_a_mirror_pair_is_a_pair_and_pieces_alike_come_once() -> None:
    worked = worked_job(outlines={"left": rectangle(300, 250), "right": rectangle(300, 250), "ear": eared()})
    kinds = pattern_svgs(worked)
    tops = [k for k in kinds if k.endswith(".top")]
    assert tops == ["left.top", "ear.top"]
    assert "ear.bottom" in kinds  # the mirror image of its top
    book = pymupdf.open(stream=pattern_pdf(worked, "a4"), filetype="pdf")
    assert "also Right · top" in "".join(p.get_text() for p in book)


def test_plain_strips_are_marked_with_a_rule_and_stand_on_the_cover(worked: WorkedJob) -> None:
    strips = [p for p in worked.construction.pieces if is_by_measure(p)]
    assert {p.kind for p in strips} == {"zip_panel"}
    front = "".join(p.get_text() for p in list(pymupdf.open(stream=pattern_pdf(worked, "a4"), filetype="pdf"))[:3])
    assert "Straight strips are marked with a rule" in front
    assert {p.id: f"cut {p.count}: {_cut_size(worked, p)}" in front for p in strips} == {p.id: True for p in strips}


def test_strips_in_parts_are_on_the_cover_with_the_lengths_of_the_cut_list(worked: WorkedJob) -> None:
    """A strip that is cut in parts has no paper: its cover says what the cut list says."""
    pages = list(pymupdf.open(stream=pattern_pdf(worked, "a4"), filetype="pdf"))[:4]
    front = re.sub(r"\s+", " ", " ".join(p.get_text() for p in pages))
    listed = pymupdf.open(stream=cut_list_pdf(worked), filetype="pdf")
    listing = re.sub(r"\s+", "", "".join(p.get_text() for p in listed))
    assert worked.construction.strips
    for strip in worked.construction.strips:
        size = strip_cut(worked, strip, Figures.of(worked.job))
        assert f"cut {strip.count}: {size}" in front
        assert re.sub(r"\s+", "", size) in listing


def _cut_size(worked: WorkedJob, piece: Piece) -> str:
    x0, y0, x1, y1 = piece.cut.bounds()
    return f"{x1 - x0:.0f} × {y1 - y0:.0f}"


def test_reference_lines_are_where_the_lay_puts_the_stripe() -> None:
    worked = worked_job()
    top = worked.construction.pieces[0]
    place = pattern_place(worked, top)
    assert place is not None
    segments, name = datum_segments(worked, top, place)
    assert name == "red"
    assert len(segments) in (5, 6)
    for a, b in segments:
        for end in (a, b):
            assert place.point(end)[0] % 96.0 == pytest.approx(20.0)
        assert abs(b[1] - a[1]) == pytest.approx(510.0)


def test_a_print_has_a_cross_at_every_motif() -> None:
    worked = worked_job(cloth=Cloth("leaf", "Leaf", 1370.0, LEAVES))
    top = worked.construction.pieces[0]
    place = pattern_place(worked, top)
    assert place is not None
    segments, _ = datum_segments(worked, top, place)
    assert segments
    for a, b in segments:
        p, q = place.point(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
        if math.dist(a, b) > 29.9:
            i = round(p / 170)
            assert p == pytest.approx(i * 170, abs=1e-6)
            assert (q - i * 320) % 640 == pytest.approx(0.0, abs=1e-6) or (q - i * 320) % 640 == pytest.approx(640.0)


def test_shrinking_cloth_has_larger_patterns() -> None:
    """600 mm at 3 % is cut 618.557 (AATCC 135, ISO 5077 turned round)."""
    plain = worked_job(outlines={"seat": rectangle(576, 500)})
    cloth = striped(shrink_weft_pct=3.0, shrink_warp_pct=1.0, shrinks_after_cutting=True)
    worked = replace(plain, job=replace(plain.job, cloths=(cloth,)))
    made = pattern_svg(worked, "seat.top")
    d = re.search(r'<path d="([^"]+)"[^>]*stroke-width="0.7"', made)[1]  # type: ignore[index]
    xy = np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", d), dtype=float)
    assert tuple(xy.max(axis=0) - xy.min(axis=0)) == pytest.approx((618.557, 524 / 0.99), abs=2e-3)


@pytest.mark.parametrize(("marked", "says"), [("face_up", "face up"), ("back_up", "print down on the back")])
def test_a_pattern_says_which_way_up_it_lies_on_the_cloth(marked: Literal["face_up", "back_up"], says: str) -> None:
    """On the back a one-eared panel is its own mirror image: laid print up it would be cut with the wrong hand."""
    worked = worked_job(outlines={"ear": eared(), "seat": rounded(420, 300, 60)}, marked=marked)
    assert f" · {says}<" in pattern_svg(worked, "ear.top")
    cover = pymupdf.open(stream=pattern_pdf(worked, "a4"), filetype="pdf")[0].get_text()
    assert ("print down" in cover, "Face up" in cover) == (marked == "back_up", marked == "face_up")
    marking = marking_sheet_pdf(worked, next(iter(worked.plans)))
    sheet = "".join(p.get_text() for p in pymupdf.open(stream=marking, filetype="pdf"))
    assert ("print down" in sheet) == (marked == "back_up")


def test_inches_are_printed_for_those_who_think_in_inches() -> None:
    worked = worked_job(style=IMPERIAL, words="us", outlines={"seat": rectangle(20 * 25.4, 18 * 25.4)})
    assert "stitch line 20 × 18 in" in pattern_svg(worked, "seat.top")


def test_one_long_sheet_for_a_plotter(worked: WorkedJob) -> None:
    made = plotter_pdf(worked, 914.0)
    page = pymupdf.open(stream=made, filetype="pdf")[0]
    assert page.rect.width * MM == pytest.approx(914.0, abs=0.01)
    lines = _lines(page)
    assert any(_is_bar(line, upright=True) for line in lines)
    assert any(_is_bar(line, upright=False) for line in lines)
    reader = pypdf.PdfReader(io.BytesIO(made), strict=True)
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"  # type: ignore[index]


def test_a_piece_too_wide_for_the_plotter_is_named_never_cut_off() -> None:
    worked = worked_job(outlines={"seat": rectangle(700, 650), "foot": rectangle(300, 250)}, laid=False)
    text = pymupdf.open(stream=plotter_pdf(worked, 610.0), filetype="pdf")[0].get_text()
    assert "Too wide for this sheet" in text
    assert "Seat · top" in text.replace("\n", " ")
    assert "Foot · top" in text


def test_a_sheet_over_200_inches_is_written_in_larger_units_at_full_size() -> None:
    """No side of a page over 14 400 units (PDF Reference 1.6, implementation limits)."""
    outlines = {f"s{i}": rectangle(700, 500 + i) for i in range(6)}
    made = plotter_pdf(worked_job(outlines=outlines, laid=False), 760.0)
    page = pypdf.PdfReader(io.BytesIO(made), strict=True).pages[0]
    unit = float(str(page["/UserUnit"]))
    assert unit >= 2
    assert max(float(v) for v in page.mediabox) <= MOST_UNITS
    assert float(page.mediabox.width) * unit * MM == pytest.approx(760.0, abs=0.01)
    assert float(page.mediabox.height) * unit * MM > 5080
    drawn = pymupdf.open(stream=made, filetype="pdf")[0]
    whole = drawn.rect.width * MM / 760.0  # a reader that honours UserUnit gives 1
    square = [line for line in _lines(drawn) if line[0] == line[2] and abs(abs(line[3] - line[1]) - 100 * whole) < 0.01]
    assert square


def test_the_same_job_has_the_same_bytes(worked: WorkedJob, a4: bytes) -> None:
    assert pattern_pdf(worked, "a4") == a4


def test_an_unknown_piece_is_a_key_error(worked: WorkedJob) -> None:
    with pytest.raises(KeyError):
        pattern_svg(worked, "seat.boxing")
