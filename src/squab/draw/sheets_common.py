"""What every sheet carries: its head, its foot, and the job's own name and reference."""

from __future__ import annotations

from typing import Any

from squab.draw.figures import shortened, written_date
from squab.job import Job


def head_and_foot(job: Job, sheet: str) -> dict[str, Any]:
    """The head's right-hand lines and the foot of a sheet."""
    name = shortened(job.name, 60)
    reference = " · ".join(x for x in (shortened(job.reference, 30), written_date(job.dated)) if x)
    foot = " · ".join(x for x in (shortened(job.workroom, 40), sheet, shortened(job.reference or job.name, 40)) if x)
    return {"head_right": [x for x in (name, reference) if x], "foot": foot, "workroom": shortened(job.workroom, 60)}
