"""Every sheet on its paper: true sizes, one page where promised, figures that agree, hostile text harmless."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from decimal import Decimal
from functools import cache
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import pymupdf
import pypdf
import pytest

from squab.cli import _plan_text
from squab.cloth import Bolt
from squab.construct import construct
from squab.construct.records import Piece
from squab.draw.figures import Figures
from squab.draw.sheets import (
    costing_pdf,
    cut_list_pdf,
    cutting_plan_pdf,
    labels_pdf,
    marking_sheet_pdf,
    quote_pdf,
    sewing_order_pdf,
    shopping_list_pdf,
)
from squab.draw.sheets_common import on_bolt
from squab.draw.sheets_cutlist import fill_rows, strip_cut
from squab.draw.sheets_marking import marking_rules
from squab.draw.sheets_parts import Seen, cut_parts, datum_at
from squab.draw.typeset import page_count
from squab.files.jobfile import read_job
from squab.supply.records import FoamCut
from squab.units import IMPERIAL, METRIC
from squab.web.layview import lay_facts
from squab.worked import WorkedJob
from tests.unit.draw.worked_fixture import hand_made

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"
POINTS_PER_MM = 72 / 25.4
"""PDF default unit, 1/72 in (ISO 32000-1, Table 30)."""
PAPER_POINTS = {"a4": (210 * POINTS_PER_MM, 297 * POINTS_PER_MM), "letter": (612.0, 792.0)}
"""ISO 216 A4; ANSI A, 8.5 x 11 in."""
PICTURE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="120mm" height="80mm" viewBox="0 0 120 80">'
    '<rect width="120" height="80" fill="#eee"/></svg>'
)
HOSTILE = "#set page(width: 1mm) <script>alert(1)</script> $x$ *b* @a \\u{41} // " + "W" * 180 + "\x00\u202e\n\tend"


def text_of(pdf: bytes) -> str:
    """The text of a PDF as read, thin spaces as spaces, break marks gone, runs of space as one."""
    return tidy("\n".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(pdf)).pages))


def quick_text_of(pdf: bytes) -> str:
    """The same by a quicker reader, where only words matter."""
    return tidy("\n".join(page.get_text() for page in pymupdf.open(stream=pdf)))


def tidy(text: str) -> str:
    """Figures and spaces as plain text."""
    plain = text.replace("\u200b", "").replace("\u202f", " ").replace("\xa0", " ").replace("\u2044", "/")
    return re.sub(r"\s+", " ", plain)


@cache
def made(**changes: object) -> tuple[WorkedJob, dict[str, bytes]]:
    """A fixture with its sheets, made once."""
    worked = hand_made(**changes)  # type: ignore[arg-type]
    return worked, sheets_of(worked)


def sheets_of(worked: WorkedJob) -> dict[str, bytes]:
    """Every paged sheet of the fixture but the cutting plan."""
    pictures = {c.id: PICTURE for c in worked.job.cushions}
    return {
        "quote": quote_pdf(worked, pictures),
        "costing": costing_pdf(worked),
        "cut list": cut_list_pdf(worked),
        "labels": labels_pdf(worked),
        "shopping": shopping_list_pdf(worked),
        **{f"marking {k}": marking_sheet_pdf(worked, k) for k in worked.plans},
        **{f"sewing {k}": sewing_order_pdf(worked, k) for k in worked.sewing},
    }


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_every_page_is_exactly_its_paper(paper: str) -> None:
    """A4 is 595.276 x 841.890 pt and Letter 612 x 792 pt, upright or lying."""
    worked, sheets = made(paper=paper)
    for name, pdf in (sheets | {"plan": cutting_plan_pdf(worked, "ticking")}).items():
        for page in pymupdf.open(stream=pdf):
            size = sorted((page.mediabox.width, page.mediabox.height))
            assert size == pytest.approx(PAPER_POINTS[paper], abs=0.001), name


def test_same_job_same_bytes() -> None:
    """A sheet holds no clock and no chance."""
    assert sheets_of(hand_made()) == made()[1]
    assert cutting_plan_pdf(hand_made(), "canvas") == cutting_plan_pdf(hand_made(), "canvas")


@pytest.mark.parametrize("count", [1, 2, 6])
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_quotation_is_one_page_even_with_long_names(count: int, paper: str) -> None:
    """Six kinds of cushion with long names still make one page, and the total is on it."""
    names = tuple(f"Seat {i} for the very long north-east window of the upper reading room" for i in range(count))
    worked = hand_made(paper=paper, cushion_names=names)
    pdf = quote_pdf(worked, {c.id: PICTURE for c in worked.job.cushions})
    assert page_count(pdf) == len(pypdf.PdfReader(io.BytesIO(pdf)).pages) == 1
    text = quick_text_of(pdf)
    assert Figures.of(worked.job).money(worked.supply.price.total) in text
    assert "Signature" in text
    for i in range(count):
        assert f"Seat {i} for" in text


def test_quotation_says_what_matches_and_what_will_not_and_keeps_the_workrooms_own_figures_to_itself() -> None:
    """Never hours, mark-up, minutes, the cutting plan, or a claim to comply."""
    worked = hand_made()
    text = quick_text_of(quote_pdf(worked, {})).lower()
    for forbidden in ("hour", "mark-up", "markup", "minute", "cutting plan", "compl", "bound", "handbook"):
        assert forbidden not in text
    price = worked.supply.price
    for private in (price.making, price.materials_cost, price.materials_charge):
        assert Figures.of(worked.job).money(private) not in text
    assert "pattern meets at the front" in text
    assert "not matched at the left side and the right side" in text
    assert "lot nw-17" in text
    assert "check the rule for your country and use" in text
    assert "valid until 1 april 2026" in text
    assert "sponge clean" in text
    assert "about four weeks" in text


def test_marking_sheet_has_no_prices_and_one_unit() -> None:
    """The sheet on the table carries no money and, in inches, no millimetres."""
    for style, unit, other in ((IMPERIAL, " in", " mm"), (replace(IMPERIAL, system="metric"), " mm", " in ")):
        text = quick_text_of(marking_sheet_pdf(hand_made(style=style), "ticking")).replace("rounded to 1/16 in by", "")
        assert "£" not in text
        assert unit in text
        figures_in_other = re.findall(r"\d" + re.escape(other) + r"\b(?! the| this)", text)
        assert not figures_in_other


def test_marking_sheet_runs_in_cutting_order() -> None:
    """Panels first, zip panels before boxing, piping last."""
    text = quick_text_of(marking_sheet_pdf(hand_made(), "ticking"))
    at = [text.index(word) for word in ("Panels", "Zip panels", "Border", "Piping last")]
    assert at == sorted(at)
    assert "FACE UP" in text
    assert "lot" in text.lower()


def test_a_repeat_that_creeps_from_the_labels_is_told() -> None:
    """96 on the label, 94 on the bolt: over 1370 mm of cloth that is 1370 / 94 repeats of 2 mm each, 29 mm."""
    worked = hand_made(style=METRIC)
    assert not [rule for rule in marking_rules(worked, "ticking")[0] if "label" in rule]
    (cloth,) = (c for c in worked.job.cloths if c.id == "ticking")
    crept = replace(cloth, bolt=replace(cloth.bolt or Bolt(), repeat_across_mm=94.0))
    cloths = tuple(crept if c is cloth else c for c in worked.job.cloths)
    rules, _ = marking_rules(replace(worked, job=replace(worked.job, cloths=cloths)), "ticking")
    (said,) = (rule.replace("\xa0", " ") for rule in rules if "label" in rule)
    width = worked.plans["ticking"].problem.usable_width_mm
    assert said.startswith("The repeat across is 94 mm on this bolt, 96 mm on its label")
    assert f"off by up to {round(width * 2 / 94)} mm" in said


def test_back_up_figures_are_mirrored() -> None:
    """Back up, a part's left edge is as far from the left as its right edge was from the right."""
    face, back = hand_made(), hand_made(marked="back_up")
    width = face.plans["ticking"].problem.usable_width_mm
    mirrored = {p.key + str(p.s_mm): p for p in cut_parts(back, back.plans["ticking"])}
    for part in cut_parts(face, face.plans["ticking"]):
        u0, v0, u1, v1 = part.box
        other = mirrored[part.key + str(part.s_mm)]
        assert other.box == pytest.approx((width - u1, v0, width - u0, v1))
        assert other.match_at[0] == pytest.approx(width - part.match_at[0])
    assert "BACK UP" in quick_text_of(marking_sheet_pdf(back, "ticking"))


def test_datum_names_the_line_that_stands_nearest() -> None:
    """The match point's distance to the named line is a true distance on the cloth, in either view."""
    for marked in ("face_up", "back_up"):
        worked = hand_made(marked=marked)
        plan, cloth = worked.plans["ticking"], worked.job.cloth("ticking")
        seen = Seen.of(worked, plan)
        for part in cut_parts(worked, plan):
            datum = datum_at(plan, cloth, part.match_at, seen)
            assert datum is not None
            assert datum.right_mm is not None
            line_seen = part.match_at[0] - datum.right_mm
            line_u = seen.width_mm - line_seen if seen.mirrored else line_seen
            at = dict(cloth.pattern.lines)[datum.name]
            repeats = (line_u - plan.lay.pattern_at[0] - at) / 96.0
            assert repeats == pytest.approx(round(repeats), abs=1e-9)
            assert abs(datum.right_mm) <= 48.0


def test_shrinking_cloth_is_marked_larger() -> None:
    """Figures on the table are those before the shrinking: 600 at 3 % is cut 618.557 (AATCC 135 turned round)."""
    worked = hand_made()
    cloths = tuple(
        replace(c, shrink_warp_pct=3.0, shrinks_after_cutting=True) if c.id == "ticking" else c
        for c in worked.job.cloths
    )
    shrinking = replace(worked, job=replace(worked.job, cloths=cloths))
    before = {p.key + str(p.s_mm): p.box for p in cut_parts(worked, worked.plans["ticking"])}
    for part in cut_parts(shrinking, shrinking.plans["ticking"]):
        u0, v0, u1, v1 = before[part.key + str(part.s_mm)]
        assert part.box == pytest.approx((u0, v0 / 0.97, u1, v1 / 0.97))


def test_the_cut_list_of_a_shrinking_cloth_has_strips_as_they_are_marked() -> None:
    """Boxing cut to its finished size comes out of the wash too narrow and too short for its panels."""
    worked = hand_made()
    ticking = replace(worked.job.cloth("ticking"), shrink_warp_pct=5.0, shrink_weft_pct=3.0, shrinks_after_cutting=True)
    shrinking = replace(worked, job=replace(worked.job, cloths=(ticking, *worked.job.cloths[1:])))
    figures, listing = Figures.of(worked.job), text_of(cut_list_pdf(shrinking))
    strips = {s.id: s for s in worked.construction.strips}
    marked = [p for p in cut_parts(shrinking, shrinking.plans["ticking"]) if p.part_id in strips]
    assert marked
    for part in marked:
        u0, v0, u1, v1 = part.box
        assert tidy(figures.bare(u1 - u0)) in listing, part.key
        assert tidy(figures.bare(v1 - v0)) in listing, part.key
        assert tidy(strip_cut(shrinking, strips[part.part_id], figures)) in listing
    assert "cut 3.1 % larger across and 5.3 % along, as it will shrink" in listing


def test_rows_that_count_no_joins_are_not_told_where_nothing_can_be_so_short() -> None:
    """A remnant of piping alone: by rows 0.44 m, said the sheet beside a proof of 0.46 m."""
    worked = hand_made()
    plan = worked.plans["ticking"]
    short = replace(plan, handbook_mm=plan.bound.length_mm - 10.0)
    rows = replace(worked, plans={**worked.plans, "ticking": short})
    for sheet, words in (
        (shopping_list_pdf, "by rows and whole"),
        (lambda w: cutting_plan_pdf(w, "ticking"), "by rows"),
    ):
        assert words in text_of(sheet(worked))
        assert text_of(sheet(rows)).count(words) == text_of(sheet(worked)).count(words) - 1
    assert [on_bolt(worked.job, p).by_rows_mm for p in (plan, short)] == [plan.handbook_mm, None]
    facts = lay_facts(rows, short)
    assert (facts["rows"], facts["saved"]) == (None, None)
    assert "handbook" in _plan_text(plan, worked)
    assert "handbook" not in _plan_text(short, rows)


def test_a_zip_in_the_bottom_has_no_strips_to_cut() -> None:
    """The cut list asked for `0 × 0 mm, made up 0 mm`."""
    worked = hand_made()
    cover = worked.construction.covers[0]
    assert cover.zip_panel is not None
    below = replace(cover.zip_panel, place="bottom", strip_count=0, strip_cut_mm=0.0, made_up_mm=0.0)
    covers = (replace(cover, zip_panel=below), *worked.construction.covers[1:])
    listing = text_of(cut_list_pdf(replace(worked, construction=replace(worked.construction, covers=covers))))
    assert "in the bottom panel, between its two widths" in listing
    assert "made up 0" not in listing
    assert "made up" in text_of(cut_list_pdf(worked))


def test_the_block_of_a_cushion_that_is_no_rectangle_has_its_outline_from_the_panels_pattern() -> None:
    """Seat and fill are one outline, the fit apart: firm foam 1/4 to 1/2 in over all (common practice, no source)."""
    job = read_job((EXAMPLES / "round-stool.toml").read_bytes()).value
    assert job is not None
    construction = construct(job).value
    assert construction is not None
    seam, fill = construction.covers[0].seam_outline.bounds(), construction.covers[0].fill_outline.bounds()
    foam = FoamCut(job.cushions[0].id, "", 1, 400.0, 400.0, 40.0, 0.0, 1.0, "firm_foam")
    worked = SimpleNamespace(job=job, construction=construction, supply=SimpleNamespace(foam=(foam,)))
    figures = Figures.of(job)
    shape = fill_rows(cast(WorkedJob, worked), figures)[0]["shape"]
    assert shape.endswith(f", {figures.length((fill[2] - fill[0] - seam[2] + seam[0]) / 2)} larger all round")
    assert "pattern of the top" in shape


def test_a_shrinking_lay_is_as_long_on_one_sheet_as_on_another() -> None:
    worked = hand_made()
    ticking = replace(worked.job.cloth("ticking"), shrink_warp_pct=5.0, shrinks_after_cutting=True)
    shrinking = replace(worked, job=replace(worked.job, cloths=(ticking, *worked.job.cloths[1:])))
    takes = Figures.of(worked.job).cloth(worked.plans["ticking"].lay.length_mm / 0.95)
    assert tidy(f"The lay takes {takes}") in text_of(shopping_list_pdf(shrinking))
    assert tidy(f"uses {takes}") in text_of(cutting_plan_pdf(shrinking, "ticking"))


@pytest.mark.parametrize("style", [IMPERIAL, replace(IMPERIAL, system="metric")])
def test_sheets_agree_on_their_figures(style: object) -> None:
    """Seam sizes, cut sizes, lengths to order and the price read the same wherever they stand."""
    worked, sheets = made(style=style)
    figures = Figures.of(worked.job)
    texts = {k: text_of(v) for k, v in sheets.items() if k != "labels" and not k.startswith("marking")}

    for cover in worked.construction.covers:
        finished, seam = tidy(figures.box(cover.sizes.finished)), tidy(figures.box(cover.sizes.seam))
        assert finished in texts["quote"]
        assert finished in texts[f"sewing {cover.cushion_id}"]
        assert seam in texts[f"sewing {cover.cushion_id}"]
        for piece in cover.pieces:
            for size in _sizes(piece, figures):
                assert tidy(size) in texts["cut list"]
        assert tidy(figures.length(cover.ring_mm)) in texts[f"sewing {cover.cushion_id}"] + texts["cut list"]
    for plan in worked.plans.values():
        order = tidy(figures.cloth(plan.order_mm))
        for sheet in ("quote", "shopping", "cut list"):
            assert order in texts[sheet], sheet
    total = figures.money(worked.supply.price.total)
    assert total in texts["quote"]
    assert total in texts["costing"]
    each = worked.supply.price.per_cushion
    assert sum(each.values(), Decimal(0)) == worked.supply.price.total
    for amount in each.values():
        assert figures.money(amount) in texts["quote"]
        assert figures.money(amount) in texts["costing"]


def _sizes(piece: Piece, figures: Figures) -> tuple[str, str]:
    x0, y0, x1, y1 = piece.cut.bounds()
    a0, b0, a1, b1 = piece.seam.bounds()
    return (
        f"{figures.bare(x1 - x0)} × {figures.bare(y1 - y0)}",
        f"{figures.bare(a1 - a0)} × {figures.bare(b1 - b0)}",
    )


def test_fractions_read_back_apart_from_their_whole() -> None:
    """53 15/16 is never read as 5315/16."""
    text = text_of(marking_sheet_pdf(hand_made(style=IMPERIAL), "ticking"))
    assert re.search(r"\b53 15/16 in\b", text)
    assert not re.search(r"\d{3,}/16", text)


def test_a_bar_of_100_mm_stands_on_every_page_of_the_cutting_plan() -> None:
    """The bar measured back from the PDF is 100 mm (283.465 pt)."""
    for paper in ("a4", "letter"):
        document = pymupdf.open(stream=cutting_plan_pdf(hand_made(paper=paper), "ticking"))
        for page in document:
            foot = page.rect.height - 20 * POINTS_PER_MM
            bars = [d["rect"].width for d in page.get_drawings() if d["rect"].y0 > foot and d["rect"].width > 200]
            assert any(width == pytest.approx(100 * POINTS_PER_MM, abs=0.01) for width in bars)


def test_hostile_text_stays_text_and_on_the_page() -> None:
    """Markup of the templates or of the web in a name is printed, not obeyed, and nothing runs off the paper."""
    worked = hand_made(name=HOSTILE, customer=HOSTILE, cushion_names=(HOSTILE, f"{HOSTILE} two"))
    for name, pdf in sheets_of(worked).items():
        document = pymupdf.open(stream=pdf)
        for page in document:
            assert page.rect.width == pytest.approx(PAPER_POINTS["a4"][0], abs=0.01)
            for x0, y0, x1, y1, *_ in page.get_text("words"):
                assert x0 >= 28 and x1 <= page.rect.width - 28, (name, page.number)  # noqa: PT018
                assert y0 >= 20 and y1 <= page.rect.height - 20, (name, page.number)  # noqa: PT018
    assert "#set page(width: 1mm)" in quick_text_of(quote_pdf(worked, {}))


@pytest.mark.parametrize("words", ["uk", "us"])
def test_sheets_speak_the_jobs_words(words: str) -> None:
    """A border here is boxing there."""
    sheets = made(words=words)[1]
    text = quick_text_of(sheets["marking ticking"])
    assert ("Boxing" in text) == (words == "us")
    assert ("Border" in text) == (words == "uk")
    assert "[[" not in "".join(quick_text_of(p) for p in sheets.values())


def test_cloth_left_after_the_last_cut_is_what_the_lay_leaves() -> None:
    """5.2 m on the table less 50 mm squared off, less the lay."""
    worked = hand_made()
    left = 5200.0 - 50.0 - worked.plans["ticking"].lay.length_mm
    text = quick_text_of(marking_sheet_pdf(worked, "ticking"))
    found = re.findall(r"after this cut: ([\d.]+ m)", text)
    assert found[-1] == tidy(Figures.of(worked.job).cloth(left))
    assert len(found) == len(worked.plans["ticking"].lay.placed)


def test_every_cut_part_has_a_label() -> None:
    """One label a part, n of m."""
    worked = hand_made()
    text = quick_text_of(labels_pdf(worked))
    assert text.count("pinned to the") == sum(len(p.lay.placed) for p in worked.plans.values())
    assert "part 2 of 2" in text
    assert "RIGHT" in text
