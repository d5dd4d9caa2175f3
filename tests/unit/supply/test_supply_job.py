"""The front door: a laid job says what to buy, and its joins are those of the lay."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

import pytest

from squab.construct.records import Construction
from squab.job import Job
from squab.lay.problem import instance_keys
from squab.lay.records import Bound, ClothPlan, Lattice, Lay, LayProblem, Placed
from squab.supply import cover_needs, supply_job
from tests.unit.supply.handmade import a_construction, a_cushion, a_job, a_match, no_match


def a_plan(job: Job, made: Construction, order_mm: float, *, parts: Mapping[str, int]) -> dict[str, ClothPlan]:
    """A plan in which each strip of a kind is cut into so many parts."""
    placed = []
    counts = {c.id: c.count for c in job.cushions}
    for strip in made.strips:
        n = parts[strip.kind]
        for key in instance_keys(strip.id, strip.cushion_id, strip.count, counts[strip.cushion_id]):
            ends = [strip.s0_mm + strip.length_mm * i / n for i in range(n + 1)]
            placed += [Placed(key, 0, 0.0, 0.0, (ends[i], ends[i + 1])) for i in range(n)]
    lay = Lay(tuple(placed), {}, (0.0, 0.0), order_mm - 100.0)
    problem = LayProblem("main", 1370.0, Lattice(), ())
    bound = Bound(order_mm - 200.0, "by hand")
    return {"main": ClothPlan("main", problem, lay, bound, order_mm, order_mm - 100.0, order_mm, None)}


def test_the_cloth_to_order_is_bought_and_charged() -> None:
    job = a_job(a_cushion(count=2))
    made = a_construction(job)
    plans = a_plan(job, made, 2700.0, parts={"boxing": 1, "piping": 2})
    supply = supply_job(job, made, no_match(made), plans).value
    assert supply is not None
    cloth = supply.buy[0]
    assert (cloth.kind, cloth.buy, cloth.unit, cloth.cost) == ("cloth", 2.7, "m", Decimal("54.00"))
    assert supply.price.per_cushion == {"seat": supply.price.total}


@pytest.mark.parametrize("piping_parts", [1, 2, 4])
def test_joins_are_counted_from_the_lay(piping_parts: int) -> None:
    """Each ring of piping in n parts has n joins, the closing one counted; boxing n - 1 and two at the zip."""
    job = a_job(a_cushion(count=3))
    made = a_construction(job)
    plans = a_plan(job, made, 4000.0, parts={"boxing": 2, "piping": piping_parts})
    needs = cover_needs(job, made, no_match(made), plans)[0]
    assert needs.piping_joins == 2 * piping_parts
    assert needs.boxing_joins == 1 + 2
    assert needs.pieces_plain == 2 + 1 + 2


def test_matched_pieces_and_sides_are_those_of_the_match() -> None:
    job = a_job(a_cushion(), stripe=True)
    made = a_construction(job)
    needs = cover_needs(job, made, a_match(made, ("front", "back")), {})[0]
    assert (needs.pieces_plain, needs.pieces_matched) == (0.0, 4.0 + 1.0 * (needs.boxing_joins - 2))
    assert needs.matched_sides == 4.0
    assert needs.matched_mm == 4 * 500.0


def test_a_cloth_without_a_plan_is_spoken_of() -> None:
    job = a_job(a_cushion())
    made = a_construction(job)
    outcome = supply_job(job, made, no_match(made), {})
    assert [f.code for f in outcome.findings] == ["SUP-002"]
    assert outcome.value is not None
    assert not [x for x in outcome.value.buy if x.kind == "cloth"]


def test_the_same_job_gives_the_same_supply() -> None:
    job = a_job(a_cushion(count=2), a_cushion(cushion_id="bench", width_mm=1200.0))
    made = a_construction(job)
    plans = a_plan(job, made, 5000.0, parts={"boxing": 1, "piping": 2})
    assert supply_job(job, made, no_match(made), plans) == supply_job(job, made, no_match(made), plans)
