"""The names of the files of a made job, and what each is, for the index page."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from squab.draw.figures import Figures, shortened
from squab.draw.picture import shows_underside
from squab.draw.sheets_parts import cushion_name
from squab.job import Job
from squab.worked import WorkedJob

_NOT_PLAIN = re.compile(r"[^a-z0-9]+")


def plain_names(ids: Sequence[str]) -> dict[str, str]:
    """A file-safe name for each id: lower letters, figures and hyphens, each name once."""
    names: dict[str, str] = {}
    for identity in ids:
        ascii_only = unicodedata.normalize("NFKD", identity).encode("ascii", "ignore").decode().lower()
        base = _NOT_PLAIN.sub("-", ascii_only).strip("-")[:40].strip("-") or "item"
        name, n = base, 2
        while name in names.values():
            name, n = f"{base}-{n}", n + 1
        names[identity] = name
    return names


def _cushion(job: Job, cushion_id: str) -> str:
    return plain_names([c.id for c in job.cushions])[cushion_id]


def _cloth(job: Job, cloth_id: str) -> str:
    return plain_names([c.id for c in job.cloths])[cloth_id]


def picture_name(job: Job, cushion_id: str) -> str:
    """File name of a cushion's picture."""
    return f"picture-{_cushion(job, cushion_id)}.svg"


def back_picture_name(job: Job, cushion_id: str) -> str:
    """File name of a cushion's picture from behind."""
    return f"picture-{_cushion(job, cushion_id)}-back.svg"


def underside_picture_name(job: Job, cushion_id: str) -> str:
    """File name of a cushion's picture from below, where there is something to see."""
    return f"picture-{_cushion(job, cushion_id)}-below.svg"


def plan_picture_name(job: Job, cloth_id: str) -> str:
    """File name of a cloth's cutting plan as a drawing."""
    return f"cutting-plan-{_cloth(job, cloth_id)}.svg"


def plan_name(job: Job, cloth_id: str) -> str:
    """File name of a cloth's cutting plan."""
    return f"cutting-plan-{_cloth(job, cloth_id)}.pdf"


def lay_dxf_name(job: Job, cloth_id: str) -> str:
    """File name of a cloth's lay for a cutter."""
    return f"cutting-plan-{_cloth(job, cloth_id)}.dxf"


def marking_name(job: Job, cloth_id: str) -> str:
    """File name of a cloth's marking sheet."""
    return f"marking-{_cloth(job, cloth_id)}.pdf"


def sewing_name(job: Job, cushion_id: str) -> str:
    """File name of a cushion's sewing order."""
    return f"sewing-{_cushion(job, cushion_id)}.pdf"


QUOTE, COSTING, CUT_LIST, LABELS, SHOPPING = (
    "quote.pdf", "costing.pdf", "cut-list.pdf", "labels.pdf", "shopping-list.pdf",
)  # fmt: skip
FOAM = "foam-sheets.svg"
PATTERNS, PLOTTER, DXF_MM, DXF_IN, INDEX = (
    "patterns.pdf", "patterns-plotter.pdf", "pieces-mm.dxf", "pieces-in.dxf", "index.html",
)  # fmt: skip


def sheet_titles(worked: WorkedJob) -> dict[str, tuple[str, str]]:
    """File name: (title, what it is for), in the order of the work."""
    job, figures = worked.job, Figures.of(worked.job)
    titles = {
        QUOTE: ("Quotation", "one page for the customer, to sign"),
        COSTING: ("Costing", "for the workroom only: minutes, materials, price"),
        SHOPPING: ("Shopping list", "cloth, zip, cord, fill as they are sold"),
    }
    if worked.foam:
        titles[FOAM] = ("Foam from sheets", "how each sheet is cut, to scale; SVG")
    for cloth_id in worked.plans:
        cloth = shortened(job.cloth(cloth_id).name, 50)
        titles[plan_name(job, cloth_id)] = (f"Cutting plan, {cloth}", "every piece on the cloth, to scale")
        titles[marking_name(job, cloth_id)] = (f"Marking sheet, {cloth}", "running figures, in cutting order")
        titles[plan_picture_name(job, cloth_id)] = (f"Cutting plan, {cloth}, drawing", "SVG")
        titles[lay_dxf_name(job, cloth_id)] = (f"Lay for a cutter, {cloth}", "DXF, in the job's units")
    titles |= {
        CUT_LIST: ("Cut list", "cut and seam sizes, fill, zip, cord"),
        LABELS: ("Bundle labels", "one for each part that is cut"),
    }
    for cushion in job.cushions:
        name = cushion_name(cushion)
        titles[sewing_name(job, cushion.id)] = (f"Sewing order, {name}", "the order of making, one page")
    titles |= {
        PATTERNS: ("Full-size patterns", "on pages to be taped; print at 100 %"),
        PLOTTER: ("Full-size patterns on one sheet", "for a plotter"),
        DXF_MM: ("Pieces for a cutter, mm", "DXF"),
        DXF_IN: ("Pieces for a cutter, inches", "DXF"),
    }
    for cushion in job.cushions:
        name = cushion_name(cushion)
        titles[picture_name(job, cushion.id)] = (f"Picture, {name}", "SVG")
        titles[back_picture_name(job, cushion.id)] = (f"Picture from behind, {name}", "SVG")
        if shows_underside(worked, cushion.id):
            titles[underside_picture_name(job, cushion.id)] = (f"Picture from below, {name}", "SVG")
    return {k: (title, figures.said(what.replace("zip", "[[zip]]"))) for k, (title, what) in titles.items()}
