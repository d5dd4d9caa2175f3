"""The stage's front doors: supply of a job that has been laid, or of one that is only estimated."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from squab.construct.records import Construction
from squab.findings import Finding, Outcome, worst_first
from squab.job import Job
from squab.lay.records import ClothPlan
from squab.match.records import MatchPlan
from squab.supply.advice import supply_findings
from squab.supply.buy import buy_lines, cloth_needs, cost_by_cushion, foam_cuts, needs_of, with_sheets
from squab.supply.needs import CoverNeeds, cover_needs
from squab.supply.price import price_of
from squab.supply.records import Supply
from squab.supply.work import cushion_operations, job_operations, minutes_per_cushion

if TYPE_CHECKING:
    from squab.lay.blocks import SheetsToBuy  # it brings the lay's compiler with it


def supply_job(
    job: Job,
    construction: Construction,
    match: MatchPlan,
    plans: Mapping[str, ClothPlan],
    *,
    sheets: Sequence[SheetsToBuy] = (),
) -> Outcome[Supply]:
    """Say what to buy for a job, how long it takes, what it costs and what to charge.

    Parameters
    ----------
    job, construction, match:
        The job and the stages before.
    plans:
        The plan of each cloth by its id; a cloth without one is not bought, and said so.
    sheets:
        Sheets of foam that blocks are cut from; what is cut from none is bought by its volume.

    Returns
    -------
    Outcome[Supply]
        With findings SUP-001 to SUP-006.
    """
    order_mm = {k: 0.0 if job.cloth(k).in_hand else plan.order_mm for k, plan in plans.items()}
    return supply_from(job, cover_needs(job, construction, match, plans), order_mm, sheets)


def supply_from(
    job: Job, covers: Sequence[CoverNeeds], order_mm: Mapping[str, float], sheets: Sequence[SheetsToBuy] = ()
) -> Outcome[Supply]:
    """Say the same from plain quantities and the lengths of cloth to order (mm, by cloth id)."""
    cushions = {c.id: c for c in job.cushions}
    prices, style = job.prices, replace(job.style, fractions_set=True)
    needs = list(cloth_needs(job, order_mm, covers))
    for n in covers:
        needs += needs_of(n, cushions[n.cushion_id], prices, style)
    needs = with_sheets(needs, sheets, prices, style)
    lines = buy_lines(needs, prices.currency)
    operations = list(job_operations(job, order_mm.values()))
    for n in covers:
        operations += cushion_operations(n, cushions[n.cushion_id], prices.minutes, prices.factors)
    counts = {n.cushion_id: n.count for n in covers}
    supply = Supply(
        buy=lines,
        foam=foam_cuts(covers, cushions),
        operations=tuple(operations),
        price=price_of(lines, operations, cost_by_cushion(needs, lines), counts, prices),
        minutes_per_cushion=minutes_per_cushion(operations, counts),
    )
    findings: tuple[Finding, ...] = worst_first(supply_findings(job, covers, order_mm))
    return Outcome(supply, findings)
