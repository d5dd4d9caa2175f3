"""Every sheet and drawing of a worked job, by file name: what `make` writes into a folder."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import Executor
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


def all_sheets(worked: WorkedJob, *, executor: Executor | None = None) -> dict[str, bytes]:
    """Make every sheet, pattern and drawing of a job.

    Parameters
    ----------
    worked
        The job as it came through the stages.
    executor
        Where to make the sheets that stand alone while the pictures are drawn here; a pool of
        processes halves the time on two cores. None: all is made here, one after another.

    Returns
    -------
    dict[str, bytes]
        File name to contents, in the order of the work; `index.html` last. The same job gives
        the same bytes, whoever makes them.
    """
    batches = _batches(worked)
    begun = [executor.submit(batch) for batch in batches] if executor else []
    made = _drawn_here(worked)
    for files in (b.result() for b in begun) if begun else (batch() for batch in batches):
        made |= files
    order = _order_of_work(worked)
    ordered = {name: made[name] for name in [*order, *(k for k in made if k not in order)] if name in made}
    ordered[names.INDEX] = index_html(worked, ordered).encode()
    return ordered


def _drawn_here(worked: WorkedJob) -> dict[str, bytes]:
    """Pictures and cutting plans, and the two sheets on which they stand."""
    from squab.draw.foam import foam_sheets_svg
    from squab.draw.picture import (
        cushion_back_picture_svg,
        cushion_picture_svg,
        cushion_underside_svg,
        shows_underside,
    )
    from squab.draw.plan import cutting_plan_svg

    job = worked.job
    pictures = {c.id: cushion_picture_svg(worked, c.id) for c in job.cushions}
    made = {names.QUOTE: quote_pdf(worked, pictures)}
    for k in worked.plans:
        plan = cutting_plan_svg(worked, k)
        made[names.plan_name(job, k)] = cutting_plan_pdf(worked, k, plan)
        made[names.plan_picture_name(job, k)] = plan.encode()
    if worked.foam:
        made[names.FOAM] = foam_sheets_svg(worked).encode()
    for c in job.cushions:
        made[names.picture_name(job, c.id)] = pictures[c.id].encode()
        made[names.back_picture_name(job, c.id)] = cushion_back_picture_svg(worked, c.id).encode()
        if shows_underside(worked, c.id):
            made[names.underside_picture_name(job, c.id)] = cushion_underside_svg(worked, c.id).encode()
    return made


def _batches(worked: WorkedJob) -> list[Callable[[], dict[str, bytes]]]:
    """The sheets that need no other's drawing, gathered by what they share; the longest to make first."""
    return [partial(f, worked) for f in (_patterns, _for_cutters, _for_the_table, _for_the_machine)]


def load_writers() -> None:
    """Import everything that drawing needs, so that a worker process is ready before its first sheet."""
    import ezdxf
    import typst

    import squab.draw.dxf
    import squab.draw.patterns

    assert all((ezdxf, typst, squab.draw.dxf, squab.draw.patterns))


# The heavy writers are imported where they run, which may be another process.
def _patterns(worked: WorkedJob) -> dict[str, bytes]:
    """Full-size patterns: on paper, on one long sheet, and each as a drawing of its own."""
    from squab.draw.patterns import pattern_pdf, pattern_svgs, plotter_pdf

    made = {names.PATTERNS: pattern_pdf(worked, worked.job.paper), names.PLOTTER: plotter_pdf(worked, PLOTTER_WIDTH_MM)}
    drawn = pattern_svgs(worked)
    files = names.plain_names(list(drawn))
    return made | {f"patterns/{files[k]}.svg": svg.encode() for k, svg in drawn.items()}


def _for_cutters(worked: WorkedJob) -> dict[str, bytes]:
    """Pieces and lays for a cutter or another drawing program."""
    from squab.draw.dxf import lay_dxf, pieces_dxf

    made = {names.DXF_MM: pieces_dxf(worked, "mm"), names.DXF_IN: pieces_dxf(worked, "in")}
    return made | {names.lay_dxf_name(worked.job, k): lay_dxf(worked, k, lay_unit(worked.job)) for k in worked.plans}


def _for_the_table(worked: WorkedJob) -> dict[str, bytes]:
    """What is marked, bought and counted by."""
    made = {names.marking_name(worked.job, k): marking_sheet_pdf(worked, k) for k in worked.plans}
    return made | {
        names.COSTING: costing_pdf(worked),
        names.SHOPPING: shopping_list_pdf(worked),
        names.CUT_LIST: cut_list_pdf(worked),
        names.LABELS: labels_pdf(worked),
    }


def _for_the_machine(worked: WorkedJob) -> dict[str, bytes]:
    """The sewing orders."""
    job = worked.job
    return {names.sewing_name(job, c.id): sewing_order_pdf(worked, c.id) for c in job.cushions if c.id in worked.sewing}


def _order_of_work(worked: WorkedJob) -> list[str]:
    """The files' names in the order in which a maker needs them."""
    job = worked.job
    order = [names.QUOTE, names.COSTING, names.SHOPPING]
    for cloth_id in worked.plans:
        order += [names.plan_name(job, cloth_id), names.marking_name(job, cloth_id)]
    order += [names.FOAM, names.CUT_LIST, names.LABELS]
    order += [names.sewing_name(job, c.id) for c in job.cushions if c.id in worked.sewing]
    order += [names.PATTERNS, names.PLOTTER, names.DXF_MM, names.DXF_IN]
    for cloth_id in worked.plans:
        order += [names.lay_dxf_name(job, cloth_id), names.plan_picture_name(job, cloth_id)]
    for c in job.cushions:
        order += [names.picture_name(job, c.id), names.back_picture_name(job, c.id)]
        order.append(names.underside_picture_name(job, c.id))
    return order


def lay_unit(job: Job) -> Literal["mm", "in"]:
    """The unit of the lay's cutter file: the job's own."""
    return "in" if job.style.system == "imperial" else "mm"
