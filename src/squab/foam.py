"""The job's foam blocks, the sheets of foam they are cut from, and what that makes the price."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from squab.construct.records import Construction
from squab.findings import Finding, Outcome, Severity
from squab.job import Job
from squab.lay.blocks import MOST_BLOCKS, Block, Sheet, SheetsToBuy, cut_from_sheets
from squab.lay.problem import flattened_outward
from squab.lay.records import ClothPlan
from squab.match.records import MatchPlan
from squab.supply import supply_job
from squab.supply.records import Supply


@dataclass(frozen=True)
class Supplied:
    """What a job takes and costs, and the sheets its foam is cut from, where it names any."""

    supply: Supply
    foam: tuple[SheetsToBuy, ...]


def supplied(
    job: Job, construction: Construction, match: MatchPlan, plans: Mapping[str, ClothPlan], *, seed: int = 0
) -> Outcome[Supplied]:
    """Say what to buy for a job and what to charge, its foam by the sheet where the job names sheets."""
    bare = supply_job(job, construction, match, plans)
    if bare.value is None:
        return Outcome(None, bare.findings)
    foam = foam_from_sheets(job, construction, bare.value, seed=seed)
    sheets = foam.value or ()
    supply = supply_job(job, construction, match, plans, sheets=sheets).value if sheets else bare.value
    assert supply is not None
    return Outcome(Supplied(supply, sheets), (*bare.findings, *foam.findings))


def foam_from_sheets(
    job: Job, construction: Construction, supply: Supply, *, seed: int = 0
) -> Outcome[tuple[SheetsToBuy, ...]]:
    """Say how many of the job's sheets of foam to buy, and how its blocks are cut from them.

    Returns
    -------
    Outcome
        Nothing where the job names no sheets. Findings SUP-020 and SUP-021: a block for which there
        is none; SUP-022: more blocks than are laid out on sheets.
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
    many = sum(b.count for b in blocks)
    if many > MOST_BLOCKS:
        said = f"{many} blocks of foam; at most {MOST_BLOCKS} are laid out on sheets, so they are bought by volume"
        hint = "make several jobs of it, or leave the sheets out"
        return Outcome((), (Finding("SUP-022", Severity.WARN, "foam sheets", said, hint),))
    sheets = [
        Sheet(s.kind.replace("_", " "), s.thickness_mm, s.width_mm, s.length_mm, s.price) for s in job.foam_sheets
    ]
    return cut_from_sheets(blocks, sheets, gap_mm=job.foam_gap_mm, seed=seed, style=job.style)
