"""The first question: how much cloth, and about what will it cost?

Answered from three rough numbers by the same stages as the whole job, but without a search: the
least is a little above what no lay can beat, the most is the handbook method with a whole
repeat for the unknown start.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from squab.cloth import Cloth
from squab.construct import construct
from squab.construct.records import Construction
from squab.findings import Outcome, worst_first
from squab.job import Job
from squab.lay.handbook import handbook_length
from squab.lay.problem import lay_problems
from squab.lay.records import Bound, ClothPlan, Lay, LayProblem
from squab.match import plan_match
from squab.match.records import MatchPlan
from squab.plane import Points
from squab.supply import supply_job

LEAST_OVER_AREA = 1.05
"""Good lays of box cushions come this near the bare area of their pieces; measured, not promised."""


@dataclass(frozen=True)
class Estimate:
    """Cloth to order and the price with tax, each from the least to the most likely needed."""

    cloth_least_mm: float
    cloth_most_mm: float
    price_least: Decimal
    price_most: Decimal
    currency: str
    minutes_per_cushion: float
    without_cloth_price: bool
    job: Job


def estimate_job(job: Job) -> Outcome[Estimate]:
    """Answer for a whole job as it stands, without a search: its cloth and its price, each as a range."""
    built = construct(job)
    if built.value is None or built.stops:
        return Outcome(None, worst_first(built.findings))
    matched = plan_match(job, built.value)
    if matched.value is None or matched.stops:
        return Outcome(None, worst_first((*built.findings, *matched.findings)))
    posed = lay_problems(job, built.value, matched.value)
    if posed.value is None or posed.stops:
        return Outcome(None, worst_first((*built.findings, *posed.findings)))
    return Outcome(
        estimate_from(job, built.value, matched.value, posed.value), worst_first((*built.findings, *posed.findings))
    )


def estimate_from(job: Job, built: Construction, match: MatchPlan, problems: tuple[LayProblem, ...]) -> Estimate | None:
    """Answer for a job whose pieces are known already; None where what is needed cannot be reckoned."""
    least, most = {}, {}
    for problem in problems:
        cloth = job.cloth(problem.cloth_id)
        low, high = _lengths(problem, cloth, match)
        least[cloth.id], most[cloth.id] = _plan(problem, cloth, low), _plan(problem, cloth, high)
    cheap, dear = (supply_job(job, built, match, p).value for p in (least, most))
    if cheap is None or dear is None:
        return None
    return Estimate(
        cloth_least_mm=sum(p.order_mm for p in least.values()),
        cloth_most_mm=sum(p.order_mm for p in most.values()),
        price_least=cheap.price.total,
        price_most=dear.price.total,
        currency=dear.price.currency,
        minutes_per_cushion=dear.minutes_per_cushion.get(job.cushions[0].id, 0.0),
        without_cloth_price=any(job.cloth(k).price_per_m is None for k in least),
        job=job,
    )


def _lengths(problem: LayProblem, cloth: Cloth, match: MatchPlan) -> tuple[float, float]:
    """Least and most cloth likely to be bought, mm."""
    area = sum(_area(p.outline) for p in problem.pieces)
    area += sum((s.s1_mm - s.s0_mm + 2 * s.end_mm) * (s.z1_mm - s.z0_mm) for s in problem.strips)
    longest = max((float(p.outline[:, 1].max() - p.outline[:, 1].min()) for p in problem.pieces), default=0.0)
    handbook = handbook_length(problem)
    start = cloth.pattern.repeat_along_mm or 0.0
    low = max(area * LEAST_OVER_AREA / problem.usable_width_mm, longest)
    return _bought(min(low, handbook), cloth), _bought(handbook + start, cloth)


def _area(outline: Points) -> float:
    x, y = outline[:, 0], outline[:, 1]
    return float(abs((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) / 2)


def _bought(length_mm: float, cloth: Cloth) -> float:
    steps = -(-(length_mm + 2 * cloth.square_off_mm - 1e-6) // cloth.sold_by_mm)
    return float(steps * cloth.sold_by_mm)


def _plan(problem: LayProblem, cloth: Cloth, order_mm: float) -> ClothPlan:
    lay = Lay((), {}, (0.0, 0.0), order_mm)
    cost = None if cloth.price_per_m is None else cloth.price_per_m * Decimal(str(order_mm)) / 1000
    return ClothPlan(cloth.id, problem, lay, Bound(0.0, "none"), order_mm, order_mm, order_mm, None, cloth_cost=cost)
