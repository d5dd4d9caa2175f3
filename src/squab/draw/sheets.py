"""Every sheet and drawing of a worked job, by file name: what `make` writes into a folder."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
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

    Two threads set pages while this one draws: the typesetter does without the interpreter's
    lock, so that drawing and setting go on side by side.

    Returns
    -------
    dict[str, bytes]
        File name to contents, in the order of the work; `index.html` last. The same job gives
        the same bytes.
    """
    from concurrent.futures import ThreadPoolExecutor

    from squab.draw.picture import cushion_back_picture_svg, cushion_picture_svg
    from squab.draw.plan import cutting_plan_svg

    job = worked.job
    with ThreadPoolExecutor(2) as pool:
        begun = {name: pool.submit(sheet) for name, sheet in _alone(worked).items()}
        pictures = {c.id: cushion_picture_svg(worked, c.id) for c in job.cushions}
        begun[names.QUOTE] = pool.submit(quote_pdf, worked, pictures)
        plans = {k: cutting_plan_svg(worked, k) for k in worked.plans}
        for k, plan in plans.items():
            begun[names.plan_name(job, k)] = pool.submit(cutting_plan_pdf, worked, k, plan)
        drawn = {names.plan_picture_name(job, k): plan for k, plan in plans.items()}
        for c in job.cushions:
            drawn[names.picture_name(job, c.id)] = pictures[c.id]
            drawn[names.back_picture_name(job, c.id)] = cushion_back_picture_svg(worked, c.id)
        done = {name: sheet.result() for name, sheet in begun.items()}
    done |= {name: svg.encode() for name, svg in drawn.items()}
    made = {name: done[name] for name in _order_of_work(worked)}
    made[names.INDEX] = index_html(worked, made).encode()
    return made


def _alone(worked: WorkedJob) -> dict[str, Callable[[], bytes]]:
    """The sheets that need no other's drawing, the longest to make first."""
    from squab.draw.dxf import lay_dxf, pieces_dxf
    from squab.draw.patterns import pattern_pdf, plotter_pdf

    job = worked.job
    made: dict[str, Callable[[], bytes]] = {
        names.PATTERNS: lambda: pattern_pdf(worked, job.paper),
        names.PLOTTER: lambda: plotter_pdf(worked, PLOTTER_WIDTH_MM),
    }
    for cushion in job.cushions:
        if cushion.id in worked.sewing:
            made[names.sewing_name(job, cushion.id)] = partial(sewing_order_pdf, worked, cushion.id)
    for cloth_id in worked.plans:
        made[names.marking_name(job, cloth_id)] = partial(marking_sheet_pdf, worked, cloth_id)
    made |= {
        names.DXF_MM: lambda: pieces_dxf(worked, "mm"),
        names.DXF_IN: lambda: pieces_dxf(worked, "in"),
        **{names.lay_dxf_name(job, k): partial(lay_dxf, worked, k, lay_unit(job)) for k in worked.plans},
        names.COSTING: lambda: costing_pdf(worked),
        names.SHOPPING: lambda: shopping_list_pdf(worked),
        names.CUT_LIST: lambda: cut_list_pdf(worked),
        names.LABELS: lambda: labels_pdf(worked),
    }
    return made


def _order_of_work(worked: WorkedJob) -> list[str]:
    """The files' names in the order in which a maker needs them."""
    job = worked.job
    order = [names.QUOTE, names.COSTING, names.SHOPPING]
    for cloth_id in worked.plans:
        order += [names.plan_name(job, cloth_id), names.marking_name(job, cloth_id)]
    order += [names.CUT_LIST, names.LABELS]
    order += [names.sewing_name(job, c.id) for c in job.cushions if c.id in worked.sewing]
    order += [names.PATTERNS, names.PLOTTER, names.DXF_MM, names.DXF_IN]
    for cloth_id in worked.plans:
        order += [names.lay_dxf_name(job, cloth_id), names.plan_picture_name(job, cloth_id)]
    for c in job.cushions:
        order += [names.picture_name(job, c.id), names.back_picture_name(job, c.id)]
    return order


def lay_unit(job: Job) -> Literal["mm", "in"]:
    """The unit of the lay's cutter file: the job's own."""
    return "in" if job.style.system == "imperial" else "mm"
