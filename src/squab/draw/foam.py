"""Sheets of foam and how blocks are cut from them: in words, and drawn to scale."""

from __future__ import annotations

from collections import Counter

import numpy as np

from squab.draw import svg
from squab.job import Job
from squab.lay.blocks import CutSheet, SheetsToBuy
from squab.lay.cuts import cut_outlines
from squab.plane import Points
from squab.supply.buy import LEAST_REST_MM
from squab.units import Style, format_length
from squab.worked import WorkedJob

SHEET_WIDE_MM = 120.0
"""How wide the widest sheet is drawn."""
SIDE_MM = 12.0
HEAD_MM = 22.0
UNDER_MM = 19.0
CARE = (
    "Long blades and hot wires: keep hands clear, air the room, no flame near foam; "
    "keep to its maker's data sheet and local rules."
)


def sheet_said(bought: SheetsToBuy, style: Style) -> str:
    """How many sheets to buy, of what."""
    s = bought.sheet
    size = f"{format_length(s.width_mm, style, unit=False)} x {format_length(s.length_mm, style)}"
    thick = format_length(s.thickness_mm, style)
    noun = "sheet" if bought.count == 1 else "sheets"
    return f"{s.foam[:1].upper()}{s.foam[1:]}, {thick} thick: {bought.count} {noun} of {size}"


def ways_said(bought: SheetsToBuy, job: Job) -> list[str]:
    """What each way of cutting a sheet gives."""
    names = {c.id: c.sold_as or c.name for c in job.cushions}
    said = []
    for cut in bought.cuts:
        held: Counter[str] = Counter()
        for k, n in cut.holds().items():
            held[names.get(k, k)] += n
        blocks = ", ".join(f"{n} of {name}" for name, n in held.items())
        u0, v0, u1, v1 = cut.left_mm
        left = f"{format_length(u1 - u0, job.style, unit=False)} x {format_length(v1 - v0, job.style)}"
        rest = f"; {'each leaves' if cut.count > 1 else 'it leaves'} {left}"
        said.append(f"{cut.count} cut for {blocks}{rest if min(u1 - u0, v1 - v0) >= LEAST_REST_MM else ''}")
    return said


def foam_sheets_svg(worked: WorkedJob) -> str:
    """Draw every way in which a sheet is cut, all to one scale, with each block's size and cushion."""
    cuts = [(bought, cut) for bought in worked.foam for cut in bought.cuts]
    scale = SHEET_WIDE_MM / max(b.sheet.width_mm for b, _ in cuts)
    x, parts, tall = SIDE_MM, [], 0.0
    for bought, cut in cuts:
        parts += _drawn(worked, bought, cut, x, scale)
        x += max(bought.sheet.width_mm * scale, SHEET_WIDE_MM * 0.75) + SIDE_MM
        tall = max(tall, bought.sheet.length_mm * scale)
    height = HEAD_MM + tall + UNDER_MM
    care, lettering = svg.fitted(CARE, svg.LETTERING_MM, x - 2 * SIDE_MM)
    parts.append(svg.text(SIDE_MM, height - 10.0, care, lettering, fill=svg.FAINT_INK))
    parts.append(svg.text(SIDE_MM, 9.0, "Foam from sheets", 5.0, bold=True))
    parts.append(svg.scale_bar(SIDE_MM, height - 4.0, scale, worked.job.style))
    return svg.document(x, height, parts, title="Foam from sheets")


def _drawn(worked: WorkedJob, bought: SheetsToBuy, cut: CutSheet, x: float, scale: float) -> list[str]:
    style, sheet = worked.job.style, cut.sheet
    wide, tall = sheet.width_mm * scale, sheet.length_mm * scale
    size = f"{format_length(sheet.width_mm, style, unit=False)} x {format_length(sheet.length_mm, style)}"
    head = f"{cut.count} x {sheet.foam} {format_length(sheet.thickness_mm, style)}, {size}"
    words, lettering = svg.fitted(head, 3.6, max(wide, SHEET_WIDE_MM * 0.75))
    parts = [
        svg.text(x, HEAD_MM - 3.5, words, lettering),
        svg.rect(x, HEAD_MM, wide, tall, fill="none", stroke=svg.INK, stroke_width=svg.THICK_MM),
    ]

    def to_page(uv: Points) -> Points:
        page = uv * scale
        page[:, 0] += x
        page[:, 1] = HEAD_MM + tall - page[:, 1]
        return page

    names = {c.id: c.name for c in worked.job.cushions}
    for placed, uv in zip(cut.lay.placed, cut_outlines(cut.problem, cut.lay), strict=True):
        page = to_page(uv)
        parts.append(
            svg.path(svg.polyline_d(page, closed=True), fill="#ffffff", stroke=svg.INK, stroke_width=svg.THIN_MM)
        )
        (x0, y0), (x1, y1) = page.min(axis=0), page.max(axis=0)
        key = placed.key.rpartition("#")[0]
        (u0, v0), (u1, v1) = uv.min(axis=0), uv.max(axis=0)
        size = f"{format_length(u1 - u0, style, unit=False)} x {format_length(v1 - v0, style, unit=False)}"
        for row, said in enumerate((names.get(key, key), size)):
            fits, mm = svg.fitted(said, svg.LETTERING_MM, float(x1 - x0) - 2.0)
            middle = float(y0 + y1) / 2 + row * 4.0 - 1.0
            parts.append(svg.text(float(x0 + x1) / 2, middle, fits, mm, anchor="middle"))
    u0, v0, u1, v1 = cut.left_mm
    if min(u1 - u0, v1 - v0) >= LEAST_REST_MM:
        (x0, y1), (x1, y0) = to_page(np.array([(u0, v0), (u1, v1)]))
        dashed = {"fill": "none", "stroke": svg.CHALK, "stroke_width": svg.THIN_MM, "stroke_dasharray": "2 1.2"}
        parts.append(svg.rect(x0 + 0.6, y0 + 0.6, x1 - x0 - 1.2, y1 - y0 - 1.2, **dashed))
        size = f"{format_length(u1 - u0, style, unit=False)} x {format_length(v1 - v0, style, unit=False)}"
        fits, mm = svg.fitted(f"left over {size}", svg.LETTERING_MM, float(x1 - x0) - 2.0)
        parts.append(svg.text(float(x0 + x1) / 2, float(y0 + y1) / 2, fits, mm, anchor="middle", fill=svg.CHALK))
    return parts
