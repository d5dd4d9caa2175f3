"""The cutting plan as a paged document: the whole lay on one page, then its sections at exact scale."""

from __future__ import annotations

import re

from squab.draw.figures import shortened
from squab.draw.plan import cutting_plan_svg, cutting_plan_svgs
from squab.draw.sheets_common import head_and_foot
from squab.draw.typeset import typeset
from squab.worked import WorkedJob

_WIDTH = re.compile(r'<svg[^>]*?\swidth="([0-9.]+)mm"')


def cutting_plan_pdf(worked: WorkedJob, cloth_id: str, whole: str | None = None) -> bytes:
    """The cutting plan of one cloth as a PDF, every drawing at its own true width: the whole, then its sections.

    `whole` is the drawing of the whole lay where it has been made already.

    Raises
    ------
    KeyError
        If the job has no plan for that cloth.
    """
    job = worked.job
    name = shortened(job.cloth(cloth_id).name, 50)
    drawings = [whole or cutting_plan_svg(worked, cloth_id), *cutting_plan_svgs(worked, cloth_id)]
    pictures = {f"plan{i}.svg": svg for i, svg in enumerate(drawings)}
    data = {
        **head_and_foot(job, "cutting plan"),
        "title": f"Cutting plan: {name}",
        "drawings": [{"name": k, "width": width_mm(svg)} for k, svg in pictures.items()],
    }
    return typeset("plan", data, pictures, job.paper, dated=job.dated)


def width_mm(svg: str) -> float:
    """The width a drawing gives itself, mm.

    Raises
    ------
    ValueError
        If it gives none.
    """
    found = _WIDTH.search(svg)
    if found is None:
        raise ValueError("a drawing without a width in millimetres cannot be set at its true size")
    return float(found.group(1))
