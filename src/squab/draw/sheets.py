"""Every sheet and drawing of a worked job, by file name: what `make` writes into a folder."""

from __future__ import annotations

from typing import Literal

from squab.draw import sheets_names as names
from squab.draw.index import index_html
from squab.draw.sheets_cutlist import cut_list_pdf, labels_pdf
from squab.draw.sheets_marking import marking_sheet_pdf
from squab.draw.sheets_plan import cutting_plan_pdf
from squab.draw.sheets_quote import quote_pdf
from squab.draw.sheets_sewing import sewing_order_pdf
from squab.draw.sheets_shopping import costing_pdf, shopping_list_pdf
from squab.job import Job
from squab.worked import WorkedJob

__all__ = [
    "all_sheets",
    "costing_pdf",
    "cut_list_pdf",
    "cutting_plan_pdf",
    "labels_pdf",
    "marking_sheet_pdf",
    "quote_pdf",
    "sewing_order_pdf",
    "shopping_list_pdf",
]


PLOTTER_WIDTH_MM = 914.4
"""Width of the long sheet: a plotter's roll of 36 in."""


def all_sheets(worked: WorkedJob) -> dict[str, bytes]:
    """Make every sheet, pattern and drawing of a job.

    Returns
    -------
    dict[str, bytes]
        File name to contents, in the order of the work; `index.html` last. The same job gives
        the same bytes.
    """
    from squab.draw.picture import cushion_picture_svg
    from squab.draw.plan import cutting_plan_svg

    job = worked.job
    pictures = {c.id: cushion_picture_svg(worked, c.id) for c in job.cushions}
    plans = {k: cutting_plan_svg(worked, k) for k in worked.plans}
    made: dict[str, bytes] = {
        names.QUOTE: quote_pdf(worked, pictures),
        names.COSTING: costing_pdf(worked),
        names.SHOPPING: shopping_list_pdf(worked),
    }
    for cloth_id in worked.plans:
        made[names.plan_name(job, cloth_id)] = cutting_plan_pdf(worked, cloth_id, plans[cloth_id])
        made[names.marking_name(job, cloth_id)] = marking_sheet_pdf(worked, cloth_id)
    made[names.CUT_LIST] = cut_list_pdf(worked)
    made[names.LABELS] = labels_pdf(worked)
    for cushion in job.cushions:
        if cushion.id in worked.sewing:
            made[names.sewing_name(job, cushion.id)] = sewing_order_pdf(worked, cushion.id)
    made |= _drawings(worked, pictures, plans)
    made[names.INDEX] = index_html(worked, made).encode()
    return made


def _drawings(worked: WorkedJob, pictures: dict[str, str], plans: dict[str, str]) -> dict[str, bytes]:
    """Patterns, cutter files and pictures."""
    from squab.draw.dxf import lay_dxf, pieces_dxf
    from squab.draw.patterns import pattern_pdf, plotter_pdf
    from squab.draw.picture import cushion_back_picture_svg

    job = worked.job
    made: dict[str, bytes] = {
        names.PATTERNS: pattern_pdf(worked, job.paper),
        names.PLOTTER: plotter_pdf(worked, PLOTTER_WIDTH_MM),
        names.DXF_MM: pieces_dxf(worked, "mm"),
        names.DXF_IN: pieces_dxf(worked, "in"),
    }
    for cloth_id in worked.plans:
        made[names.lay_dxf_name(job, cloth_id)] = lay_dxf(worked, cloth_id, lay_unit(job))
        made[names.plan_picture_name(job, cloth_id)] = plans[cloth_id].encode()
    for cushion in job.cushions:
        made[names.picture_name(job, cushion.id)] = pictures[cushion.id].encode()
        made[names.back_picture_name(job, cushion.id)] = cushion_back_picture_svg(worked, cushion.id).encode()
    return made


def lay_unit(job: Job) -> Literal["mm", "in"]:
    """The unit of the lay's cutter file: the job's own."""
    return "in" if job.style.system == "imperial" else "mm"
