"""What every sheet carries: its head, its foot, and the job's own name and reference."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Any

from squab.draw.figures import shortened, written_date
from squab.job import Cushion, Job, SizeIs
from squab.lay.records import ClothPlan


def head_and_foot(job: Job, sheet: str) -> dict[str, Any]:
    """The head's right-hand lines and the foot of a sheet."""
    name = shortened(job.name, 60)
    reference = " · ".join(x for x in (shortened(job.reference, 30), written_date(job.dated)) if x)
    foot = " · ".join(x for x in (shortened(job.workroom, 40), sheet, shortened(job.reference or job.name, 40)) if x)
    return {
        "head_right": [x for x in (name, reference) if x],
        "foot": foot,
        "given": given_as(job),
        "workroom": shortened(job.workroom, 60),
    }


MINUS = "\u2212"
MEASURED: dict[SizeIs, str] = {
    "seat": "the seat, the hole the cushion goes in",
    "fill": "the bare fill",
    "old_cover": "an old cover laid flat",
    "finished": "the finished cushion over its piping",
    "seam": "the seam, stitch line to stitch line",
}


def given_as(job: Job) -> str:
    """What the maker's numbers measure: asked once, and printed on every sheet."""
    kinds = list(dict.fromkeys(c.size_is for c in job.cushions))
    if len(kinds) == 1:
        return f"Sizes were given as {MEASURED[kinds[0]]}."
    named = {k: [shortened(c.name or c.id, 24) for c in job.cushions if c.size_is == k] for k in kinds}
    said = "; ".join(
        f"{MEASURED[k]} ({', '.join(n[:3])}{' and others' if len(n) > 3 else ''})" for k, n in named.items()
    )
    return f"Sizes were given as {said}."


@dataclass(frozen=True, slots=True)
class OnBolt:
    """Lengths of a lay along the bolt, mm: what it takes, what none can beat, what rows and whole repeats take.

    The handbooks count no joins: of many strips and little else they promise less than there can be, and then
    `by_rows_mm` is None.
    """

    lay_mm: float
    least_mm: float
    by_rows_mm: float | None


def on_bolt(job: Job, plan: ClothPlan) -> OnBolt:
    """A plan's lengths as they are cut: longer than the lay's own where the cloth shrinks afterwards."""
    along = job.cloth(plan.cloth_id).cut_scale[1]
    by_rows = plan.handbook_mm * along if plan.handbook_mm >= plan.bound.length_mm else None
    return OnBolt(plan.lay.length_mm * along, plan.bound.length_mm * along, by_rows)


def typed_sizes(cushion: Cushion) -> str:
    """A cushion's sizes in the maker's own figures, as typed; fractions set as fractions, never reduced or rounded."""
    return ", ".join(f"{label} {_set_figure(text)}" for label, text in cushion.typed[:6])


def _set_figure(text: str) -> str:
    """A figure as typed, its fraction set after a narrow space; `23-3/4` is a whole and its part."""
    set_apart = re.sub(r"(?<=\d)(?:\s*-\s*|\s+)(?=\d+/\d)", "\u2009", shortened(text, 20).strip())
    return re.sub("^-", MINUS, re.sub(r"(\d+)/(\d+)", "\\1\u2044\\2", set_apart))
