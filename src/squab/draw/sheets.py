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
    alone = _alone(worked)
    begun = {name: executor.submit(sheet) for name, sheet in alone.items()} if executor else {}
    made = _drawn_here(worked)
    made |= {name: begun[name].result() if name in begun else sheet() for name, sheet in alone.items()}
    ordered = {name: made[name] for name in _order_of_work(worked)} | _pattern_drawings(worked)
    ordered[names.INDEX] = index_html(worked, ordered).encode()
    return ordered


def _drawn_here(worked: WorkedJob) -> dict[str, bytes]:
    """Pictures and cutting plans, and the two sheets on which they stand."""
    from squab.draw.picture import cushion_back_picture_svg, cushion_picture_svg
    from squab.draw.plan import cutting_plan_svg

    job = worked.job
    pictures = {c.id: cushion_picture_svg(worked, c.id) for c in job.cushions}
    made = {names.QUOTE: quote_pdf(worked, pictures)}
    for k in worked.plans:
        plan = cutting_plan_svg(worked, k)
        made[names.plan_name(job, k)] = cutting_plan_pdf(worked, k, plan)
        made[names.plan_picture_name(job, k)] = plan.encode()
    for c in job.cushions:
        made[names.picture_name(job, c.id)] = pictures[c.id].encode()
        made[names.back_picture_name(job, c.id)] = cushion_back_picture_svg(worked, c.id).encode()
    return made


def _alone(worked: WorkedJob) -> dict[str, Callable[[], bytes]]:
    """The sheets that need no other's drawing, the longest to make first."""
    job = worked.job
    made: dict[str, Callable[[], bytes]] = {
        names.PATTERNS: partial(_pattern_pdf, worked),
        names.DXF_MM: partial(_pieces_dxf, worked, "mm"),
        names.DXF_IN: partial(_pieces_dxf, worked, "in"),
        names.PLOTTER: partial(_plotter_pdf, worked),
    }
    for cushion in job.cushions:
        if cushion.id in worked.sewing:
            made[names.sewing_name(job, cushion.id)] = partial(sewing_order_pdf, worked, cushion.id)
    for cloth_id in worked.plans:
        made[names.marking_name(job, cloth_id)] = partial(marking_sheet_pdf, worked, cloth_id)
        made[names.lay_dxf_name(job, cloth_id)] = partial(_lay_dxf, worked, cloth_id)
    made |= {
        names.COSTING: partial(costing_pdf, worked),
        names.SHOPPING: partial(shopping_list_pdf, worked),
        names.CUT_LIST: partial(cut_list_pdf, worked),
        names.LABELS: partial(labels_pdf, worked),
    }
    return made


def load_writers() -> None:
    """Import everything that drawing needs, so that a worker process is ready before its first sheet."""
    import ezdxf
    import typst

    import squab.draw.dxf
    import squab.draw.patterns

    assert all((ezdxf, typst, squab.draw.dxf, squab.draw.patterns))


# The heavy writers are imported where they run, which may be another process.
def _pattern_pdf(worked: WorkedJob) -> bytes:
    from squab.draw.patterns import pattern_pdf

    return pattern_pdf(worked, worked.job.paper)


def _plotter_pdf(worked: WorkedJob) -> bytes:
    from squab.draw.patterns import plotter_pdf

    return plotter_pdf(worked, PLOTTER_WIDTH_MM)


def _pieces_dxf(worked: WorkedJob, unit: Literal["mm", "in"]) -> bytes:
    from squab.draw.dxf import pieces_dxf

    return pieces_dxf(worked, unit)


def _lay_dxf(worked: WorkedJob, cloth_id: str) -> bytes:
    from squab.draw.dxf import lay_dxf

    return lay_dxf(worked, cloth_id, lay_unit(worked.job))


def _pattern_drawings(worked: WorkedJob) -> dict[str, bytes]:
    """Each full-size pattern as a drawing of its own."""
    from squab.draw.patterns import pattern_svgs

    drawn = pattern_svgs(worked)
    files = names.plain_names(list(drawn))
    return {f"patterns/{files[k]}.svg": svg.encode() for k, svg in drawn.items()}


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
