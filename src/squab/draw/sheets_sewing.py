"""The order of making of one kind of cushion, on one page, with its own figures."""

from __future__ import annotations

from typing import Any

from squab.draw.figures import Figures, shortened
from squab.draw.sheets_common import head_and_foot
from squab.draw.sheets_cutlist import cover_of
from squab.draw.sheets_parts import cushion_name
from squab.draw.typeset import typeset_one_page
from squab.sew.records import Step
from squab.worked import WorkedJob


def sewing_order_pdf(worked: WorkedJob, cushion_id: str) -> bytes:
    """The sewing order of one kind of cushion as a one-page PDF.

    Raises
    ------
    KeyError
        If the job has no sewing order for that cushion.
    """
    job, order, figures = worked.job, worked.sewing[cushion_id], Figures.of(worked.job)
    cushion = next(c for c in job.cushions if c.id == cushion_id)
    cover = cover_of(worked, cushion_id)
    everything = dict(f for s in order.steps for f in s.figures)
    everything.setdefault("allowance", cushion.cover.allowance_mm)
    data = {
        **head_and_foot(job, f"sewing order, {cushion_name(cushion)}"),
        "title": f"Sewing order: {cushion_name(cushion)}",
        "facts": [
            ["make", f"{cushion.count} alike" if cushion.count > 1 else "one"],
            ["seam size", figures.box(cover.sizes.seam)],
            ["finished", figures.box(cover.sizes.finished)],
            *([["hand", cushion.hand]] if cushion.hand else []),
            *([["place", shortened(cushion.place, 40)]] if cushion.place else []),
        ],
        "head": [[capital(figures.said(k)), figures.filled(v, everything)] for k, v in order.head],
        "steps": [_step(s, figures) for s in order.steps],
        "checks": [
            [figures.said(what), figures.length(size), f"±\u00a0{figures.length(tolerance)}"]
            for what, size, tolerance in order.checks
        ],
        "cautions": [figures.said(c) for c in order.cautions],
    }
    return typeset_one_page("sewing", data, {}, job.paper, dated=job.dated)


def _step(step: Step, figures: Figures) -> dict[str, Any]:
    return {
        "number": step.number,
        "title": figures.said(step.title),
        "text": figures.filled(step.text, dict(step.figures)),
    }


def capital(text: str) -> str:
    """The text with its first letter a capital."""
    return text[:1].upper() + text[1:]
