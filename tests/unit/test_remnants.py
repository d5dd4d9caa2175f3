"""Remnants in hand: whole cushions are cut from them where that saves cloth; nothing else changes."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from functools import cache

import pymupdf
from hypothesis import given, settings
from hypothesis import strategies as st

from squab.draw.sheets import quote_pdf
from squab.files import read_job
from squab.job import Job
from squab.lay.aims import cushion_of
from squab.lay.cuts import cut_outlines
from squab.lay.order import squared_off_mm
from squab.lay.records import LayProblem
from squab.lay.verify import verify
from squab.remnants import PARTS, as_shared, cloths_of, moved, share_out, shares_of, uses
from squab.stages import prepare, work
from squab.worked import WorkedJob

PADS = """
[job]
size_is = "finished"
[[cloth]]
id = "ochre"
name = "Ochre sateen"
usable_width = 1400
price_per_m = 20
bolt = {{ lot = "K2" }}
[[cloth.remnants]]
length = {length}
width = 1100
lot = "H7"
[[cloth.remnants]]
length = 300
width = 300
[[cushion]]
id = "pad"
name = "Pad"
count = 4
width = 420
depth = 400
thickness = 50
piping = "none"
"""


def pads(length_mm: float) -> Job:
    job = read_job(PADS.format(length=length_mm).encode()).value
    assert job is not None
    return job


def pose(job: Job) -> tuple[LayProblem, ...] | None:
    made = prepare(job).value
    return None if made is None else made.problems


@cache
def worked() -> WorkedJob:
    found = work(pads(980), seconds=1.0, trials=False).value
    assert found is not None
    return found


def test_a_remnant_is_read_like_a_bolt_with_a_width_of_its_own() -> None:
    large, small = pads(620).cloths[0].remnants
    assert (large.length_mm, large.width_mm, large.bolt.lot) == (620.0, 1100.0, "H7")
    assert (small.length_mm, small.width_mm, small.bolt.lot) == (300.0, 300.0, "")


def test_whole_cushions_are_cut_from_a_remnant_and_less_is_bought() -> None:
    made = worked()
    assert set(made.plans) == {"ochre", "ochre-remnant-1"}
    on_bolt = {cushion_of(x.key) for x in made.plans["ochre"].lay.placed}
    in_hand = {cushion_of(x.key) for x in made.plans["ochre-remnant-1"].lay.placed}
    assert (on_bolt, in_hand) == ({"pad#1", "pad#2", "pad#3"}, {"pad-r1"})
    alone = work(replace(pads(980), cloths=(replace(pads(980).cloths[0], remnants=()),)), seconds=1.0, trials=False)
    assert alone.value is not None
    assert made.plans["ochre"].order_mm < alone.value.plans["ochre"].order_mm
    bought = [line for line in made.supply.buy if line.kind == "cloth"]
    assert [(line.what, line.buy) for line in bought] == [("Ochre sateen", made.plans["ochre"].order_mm / 1000)]
    assert {f.code for f in made.findings} >= {"LAY-016", "LAY-017", "LAY-018"}


def test_no_remnant_is_overfull_and_no_cushion_is_cut_from_two_lengths() -> None:
    made = worked()
    plan, cloth = made.plans["ochre-remnant-1"], made.job.cloth("ochre-remnant-1")
    assert verify(plan.problem, plan.lay) == ()
    assert squared_off_mm(plan.lay.length_mm, cloth) <= 980.0
    assert max(float(uv[:, 0].max()) for uv in cut_outlines(plan.problem, plan.lay)) <= 1100.0 + 1e-6
    lengths: dict[str, set[str]] = defaultdict(set)
    for k, p in made.plans.items():
        for x in p.lay.placed:
            lengths[cushion_of(x.key)].add(k)
    assert all(len(on) == 1 for on in lengths.values())


def test_what_is_missing_is_said_where_a_remnant_is_a_little_too_short() -> None:
    # one pad takes 604 mm of a cloth of 1100, and 50 at each end for squaring: 704
    shared = share_out(pads(620), pose, seconds=0.2)
    assert shared.value is not None
    assert shared.value.job == pads(620)
    left = [f for f in shared.findings if f.code == "LAY-017"]
    assert "84 mm are missing" in left[1].message


def test_a_stripe_whose_place_is_not_measured_is_left() -> None:
    text = PADS.format(length=980).replace("bolt = ", 'stripes = ["indigo 60", "linen 40"]\nbolt = ')
    job = read_job((text + 'match = { pin_across = "indigo" }\n').encode()).value
    assert job is not None
    shared = share_out(job, pose, seconds=0.1)
    assert shared.value is not None
    assert not shared.value.lays
    assert all("not measured" in f.message for f in shared.findings)


@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_shared_again_from_its_lays_it_is_the_same_job(data: st.DataObject) -> None:
    job = replace(
        pads(980), cushions=tuple(replace(pads(980).cushions[0], id=i, count=n) for i, n in (("a", 3), ("b", 1)))
    )
    shared = job
    for number in data.draw(st.permutations([1, 2])):
        cloth = next(c for c in shared.cloths if c.id == "ochre")
        rest = {c.id: c.count for c in shared.cushions if uses(shared, c, "ochre")}
        taken = {k: data.draw(st.integers(0, n)) for k, n in rest.items()}
        if sum(taken.values()):
            shared = moved(shared, cloth, number, {k: n for k, n in taken.items() if n})
    assert sum(c.count for c in shared.cushions) == 4
    assert all(len(set(cloths_of(shared, c.cover).values())) == 1 for c in shared.cushions)
    shares = tuple(
        (cloth.id, tuple(sorted((c.id, c.count, ()) for c in shared.cushions if uses(shared, c, cloth.id))))
        for cloth in shared.cloths
        if cloth.in_hand
    )
    again = as_shared(job, shares)
    assert {(c.id, c.count, c.cover.panel_cloth or "ochre") for c in again.cushions} == {
        (c.id, c.count, c.cover.panel_cloth or "ochre") for c in shared.cushions
    }


def test_shares_are_found_in_lays() -> None:
    made = worked()
    shares = shares_of({k: p.lay for k, p in made.plans.items()})
    assert shares == (("ochre-remnant-1", (("pad-r1", 1, ()),)),)
    assert as_shared(pads(980), shares) == made.job


def test_a_quotation_names_cushions_as_they_are_sold_whatever_they_are_cut_from() -> None:
    """Two alike, one of them from a remnant, are one line of two at their price together."""
    text = """
[job]
name = "Two stools"
[[cloth]]
id = "ticking"
usable_width = 1370
stripes = ["indigo 40", "linen 56"]
price_per_m = 28
[[cloth.remnants]]
length = 900
width = 1370
lot = "7"
[[cushion]]
id = "stool"
width = 400
depth = 400
thickness = 60
count = 2
"""
    job = read_job(text.encode()).value
    assert job is not None
    worked = work(job, seconds=0.5, trials=False).value
    assert worked is not None
    assert [c.name for c in worked.job.cushions] == ["stool", "stool (remnant 1)"]
    page = pymupdf.open(stream=quote_pdf(worked, {}))[0].get_text()
    assert "(remnant 1)" not in page
    assert "each cushion comes from" in " ".join(page.split())
    total = sum(worked.supply.price.per_cushion.values())
    assert f"£{total:.2f}" in page


SHARED = """
[job]
name = "Four pads"
size_is = "finished"
[[cloth]]
id = "ochre"
name = "Ochre sateen"
usable_width = 1400
price_per_m = 20
bolt = {{ lot = "K2" }}
{pattern}
[[cloth.remnants]]
length = {length}
width = 700
lot = "{lot}"
[[cushion]]
id = "pad"
name = "Pad"
count = 4
width = 420
depth = 400
thickness = 50
"""


def of(length_mm: float, lot: str, pattern: str = "") -> Job:
    job = read_job(SHARED.format(length=length_mm, lot=lot, pattern=pattern).encode()).value
    assert job is not None
    return job


def parts_on(made: WorkedJob, cloth_id: str) -> set[str]:
    return {x.key.partition(".")[2].partition("#")[0] for x in made.plans[cloth_id].lay.placed}


def test_a_remnant_of_the_same_lot_takes_single_parts_least_seen_first() -> None:
    found = work(of(600, "K2"), seconds=1.5, trials=False)
    made = found.value
    assert made is not None
    assert "ochre-remnant-1" in made.plans  # 700 x 600 holds no whole pad with its piping
    assert "piping" in parts_on(made, "ochre-remnant-1")
    assert "top" not in parts_on(made, "ochre-remnant-1")
    told = next(f for f in found.findings if f.code == "LAY-016")
    assert "the piping" in told.message
    assert "LAY-018" not in {f.code for f in found.findings}  # one lot: no shade to mind
    alone = work(replace(of(600, "K2"), cloths=(replace(of(600, "K2").cloths[0], remnants=()),)), seconds=1.5)
    assert alone.value is not None
    assert made.plans["ochre"].order_mm < alone.value.plans["ochre"].order_mm
    # the customer reads of one cloth, and of four pads alike
    page = " ".join(pymupdf.open(stream=quote_pdf(made, {}))[0].get_text().split())
    assert "piped on both edges" in page
    assert "(in part" not in page
    assert "edges in Ochre" not in page
    # what is kept of it is the same job again
    assert as_shared(of(600, "K2"), shares_of({k: p.lay for k, p in made.plans.items()})) == made.job


def test_no_cushion_ever_has_two_lots() -> None:
    for lot in ("H7", ""):
        made = work(of(600, lot), seconds=1.0, trials=False).value
        assert made is not None
        assert set(made.plans) == {"ochre"}


def test_of_a_pattern_only_piping_leaves_its_cushion() -> None:
    stripe = 'stripes = ["indigo 60", "linen 40"]'
    # one long panel fills the width, so piping takes rows of its own from the bolt
    text = SHARED.format(length=600, lot="K2", pattern=stripe).replace("count = 4\nwidth = 420", "width = 1250")
    job = read_job(text.encode()).value
    assert job is not None
    made = work(job, seconds=1.5, trials=False).value
    assert made is not None
    assert parts_on(made, "ochre-remnant-1") == {"piping"}


@settings(max_examples=25, deadline=None)
@given(data=st.data())
def test_parts_shared_again_are_the_same_job(data: st.DataObject) -> None:
    job = of(600, "K2")
    whole = data.draw(st.integers(0, 3))
    some = data.draw(st.integers(0, 4 - whole))
    roles = tuple(r for r, _ in PARTS if data.draw(st.booleans()))
    parts = {"pad": (some, roles)} if some and roles else {}
    if not whole and not parts:
        return
    shared = moved(job, job.cloths[0], 1, {"pad": whole} if whole else {}, parts)
    assert sum(c.count for c in shared.cushions) == 4
    laid = []
    for c in shared.cushions:
        on = tuple(r for r, k in cloths_of(shared, c.cover).items() if k == "ochre-remnant-1")
        if on:
            laid.append((c.id, c.count, () if "panel_cloth" in on else tuple(r for r, _ in PARTS if r in on)))
    again = as_shared(job, (("ochre-remnant-1", tuple(laid)),))
    assert again == shared
