"""The job's foam blocks, and the sheets of foam they are cut from."""

from __future__ import annotations

from squab.construct.records import Construction
from squab.findings import Outcome
from squab.job import Job
from squab.lay.blocks import Block, Sheet, SheetsToBuy, cut_from_sheets
from squab.lay.problem import flattened_outward
from squab.supply.records import Supply


def foam_from_sheets(
    job: Job, construction: Construction, supply: Supply, *, seed: int = 0
) -> Outcome[tuple[SheetsToBuy, ...]]:
    """Say how many of the job's sheets of foam to buy, and how its blocks are cut from them.

    Returns
    -------
    Outcome
        Nothing where the job names no sheets. Findings SUP-020 and SUP-021: a block for which there
        is none.
    """
    if not job.foam_sheets:
        return Outcome((), ())
    outlines = {c.cushion_id: c.fill_outline for c in construction.covers}
    blocks = [
        Block(
            f.cushion_id, flattened_outward(outlines[f.cushion_id]), f.thickness_mm, f.kind.replace("_", " "), f.count
        )
        for f in supply.foam
    ]
    sheets = [Sheet(s.kind.replace("_", " "), s.thickness_mm, s.width_mm, s.length_mm) for s in job.foam_sheets]
    return cut_from_sheets(blocks, sheets, gap_mm=job.foam_gap_mm, seed=seed, style=job.style)
