"""The shopping list: as it is sold, rounded once, with the allowances of the trade."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

import pytest

from squab.job import Cover, Fill, Job, Piping
from squab.supply import cover_needs, supply_from
from squab.supply.advice import BAG_TYPE_POINTS, bag_is_child_hazard
from squab.supply.fill import film_use, mass_kg, slab_limits
from squab.supply.records import BuyLine, Supply
from squab.supply.zips import size_group, zip_limits_mm, zip_to_cut_mm
from squab.units import IMPERIAL
from tests.unit.supply.handmade import a_construction, a_cushion, a_job, no_match

INCH = 25.4


def supplied(job: Job, order_mm: float = 1500.0) -> Supply:
    made = a_construction(job)
    outcome = supply_from(job, cover_needs(job, made, no_match(made), {}), {"main": order_mm})
    assert outcome.value is not None
    return outcome.value


def line(supply: Supply, kind: str) -> BuyLine:
    found = [x for x in supply.buy if x.kind == kind]
    assert len(found) == 1, found
    return found[0]


@pytest.mark.parametrize(
    ("mouth_mm", "group"),
    [
        (2.0, "1-2"),
        (3.8, "1-2"),
        (3.81, "3-4"),
        (5.7, "3-4"),
        (5.71, "5-6"),
        (7.0, "5-6"),
        (7.01, "7-10"),
        (12, "7-10"),
    ],
)
def test_zip_size_groups(mouth_mm: float, group: str) -> None:
    """Boundaries belong to the lower group (ASTM D3657-03, Table 1)."""
    assert size_group(mouth_mm) == group


def test_a_mouth_of_nothing_has_no_group() -> None:
    with pytest.raises(ValueError, match="above 0 mm"):
        size_group(0.0)


def test_a_zip_length_carries_its_tolerance() -> None:
    """A stated zip length is never exact (ASTM D3657, 5.3.1: whole elements only)."""
    low, high = zip_limits_mm(600.0, 6.0)
    assert low < 600.0 < high
    assert zip_limits_mm(zip_to_cut_mm(600.0, 6.0), 6.0)[0] == 600.0
    bought = line(supplied(a_job(a_cushion(count=4))), "zip")
    assert bought.exact == pytest.approx(4 * 0.781)
    assert "give or take 6 mm" in bought.detail


def test_the_zip_is_bought_by_the_length_and_rounded_once() -> None:
    bought = line(supplied(a_job(a_cushion(count=2), a_cushion(cushion_id="bench", width_mm=900.0))), "zip")
    assert bought.exact == pytest.approx(2 * 0.781 + 1.181)
    assert bought.buy == pytest.approx(2.8)
    assert bought.cost == Decimal("4.48")


def test_cord_is_bought_by_the_ring_with_spare_for_the_join() -> None:
    bought = line(supplied(a_job(a_cushion(count=3))), "cord")
    assert bought.exact == pytest.approx(3 * 2 * 2.05)
    assert bought.buy == pytest.approx(12.3)


def test_a_cord_is_asked_for_by_its_own_thickness_not_the_nearest_sixteenth() -> None:
    cushion = replace(a_cushion(), cover=Cover(piping=Piping(cord_mm=25.4 * 5 / 32)))
    assert line(supplied(replace(a_job(cushion), style=IMPERIAL)), "cord").what.endswith(", 5\u204432 in")


def test_an_unpiped_cushion_buys_no_cord_and_a_plain_one_no_basting_tape() -> None:
    kinds = {x.kind for x in supplied(a_job(a_cushion(piped=False))).buy}
    assert not kinds & {"cord", "basting_tape", "film", "stockinette", "wrap"}


def test_foam_mass() -> None:
    """24 x 24 x 4 in at 1.8 lb/ft3 is 2.4 lb = 1.0886 kg (arithmetic)."""
    got = mass_kg((24 * INCH) ** 2, 4 * INCH, 1.8 * 16.018463)
    assert got == pytest.approx(1.0886, rel=1e-4)
    assert got / 0.45359237 == pytest.approx(2.4, rel=1e-5)


def test_what_to_accept_of_a_cut_slab() -> None:
    """L +1/2 -0, W +1/4 -0, T 1/16 either way, 1 in or thicker (Joint Industry Foam Standards, 7/94, 10.2)."""
    limits = slab_limits(24 * INCH, 22 * INCH, 4 * INCH)
    assert limits is not None
    assert limits.length_mm == (24 * INCH, 24.5 * INCH)
    assert limits.width_mm == (22 * INCH, 22.25 * INCH)
    assert limits.thickness_mm == pytest.approx((3.9375 * INCH, 4.0625 * INCH))
    assert slab_limits(600.0, 600.0, 20.0) is None
    bought = line(supplied(a_job(a_cushion())), "foam")
    assert "13 mm over in length, 6 mm over in width and nothing under, 2 mm either way" in bought.detail


def test_the_fill_is_larger_than_the_seam_size() -> None:
    """The block is the cover's fill outline: 12 mm over each way here (trade habit, no source)."""
    cut = supplied(a_job(a_cushion(count=2))).foam[0]
    assert (cut.width_mm, cut.depth_mm, cut.thickness_mm, cut.count) == (512.0, 512.0, 80.0, 2)
    assert cut.mass_kg == pytest.approx(0.512 * 0.512 * 0.08 * 35)


def test_a_wrapped_block_is_measured_bare() -> None:
    """Strip the wrap and measure bare foam (Joint Industry Foam Standards, 7/94, 10.2)."""
    fill = Fill("firm_foam", wrap_mm=12.0, bare_thickness_mm=75.0)
    supply = supplied(a_job(a_cushion(fill=fill)))
    assert supply.foam[0].thickness_mm == 75.0
    assert line(supply, "wrap").exact == pytest.approx((2 * 0.512**2 + 4 * 0.512 * 0.075) * 1.05)
    assert line(supply, "stockinette").buy >= 0.512 + 0.075


def test_loose_fill_is_bought_by_weight_in_an_inner_case() -> None:
    supply = supplied(a_job(a_cushion(fill=Fill("feather"))))
    assert line(supply, "foam").unit == "kg"
    assert line(supply, "fitting").what.startswith("Down-proof")
    assert not supply.foam


@pytest.mark.parametrize(
    ("outdoor", "quick", "open_weave", "vinyl", "asked", "keep_dry", "use"),
    [
        (True, False, False, False, False, False, "dry"),
        (True, False, False, True, False, False, "dry_vented"),
        (True, True, True, False, True, False, "none"),
        (True, True, False, False, False, False, "none"),
        (False, False, False, False, False, True, "dry"),
        (False, False, False, False, True, False, "stuffing"),
        (False, False, False, False, False, False, "none"),
    ],
)
def test_film_where_it_makes_sense(
    outdoor: bool, quick: bool, open_weave: bool, vinyl: bool, asked: bool, keep_dry: bool, use: str
) -> None:
    """Round outdoor fill that must stay dry, vented in coated cloth; none where it is to drain (common practice)."""
    cushion = a_cushion(fill=Fill(quick_drying=quick, keep_dry=keep_dry), film=asked)
    job = a_job(cushion)
    cloth = replace(job.cloths[0], open_weave=open_weave, vinyl=vinyl)
    assert film_use(replace(job, cloths=(cloth,), outdoor=outdoor), cushion) == use


def codes(job: Job) -> set[str]:
    made = a_construction(job)
    return {f.code for f in supply_from(job, cover_needs(job, made, no_match(made), {}), {"main": 1500.0}).findings}


def test_film_that_cannot_help_is_spoken_of() -> None:
    """A polyurethane block can be sucked down, bonded polyester cannot (common practice)."""
    job = a_job(a_cushion(fill=Fill("wrapped_polyester"), film=True))
    assert "SUP-004" in codes(job)
    assert "SUP-004" not in codes(a_job(a_cushion(film=True)))


def test_thin_large_bags_take_a_warning() -> None:
    """Film under 0.001 in, opening over 25 sq in or over 125 cu in (Cal. Business & Professions Code 22200-22202)."""
    film = 0.0009 * INCH
    assert not bag_is_child_hazard(film, 5 * 5 * INCH**2, 0.0)
    assert bag_is_child_hazard(film, 6 * 5 * INCH**2, 0.0)
    assert bag_is_child_hazard(film, 5 * 5 * INCH**2, 126 * INCH**3)
    assert not bag_is_child_hazard(0.001 * INCH, 30 * 30 * INCH**2, 900 * INCH**3)


def test_a_thin_film_bag_is_found_with_its_type_sizes() -> None:
    """10 to 24 point, with the bag's length and width (same code, 22202, summary)."""
    job = a_job(a_cushion(film=True))
    assert "SUP-006" not in codes(job)
    assert "SUP-006" in codes(replace(job, prices=replace(job.prices, film_thickness_mm=0.02)))
    assert BAG_TYPE_POINTS == (10, 24)


def test_cloth_without_a_price_is_warned_of_and_costs_nothing() -> None:
    assert "SUP-001" in codes(a_job(a_cushion(), price=None))
    assert "SUP-001" not in codes(a_job(a_cushion(), price="0"))
    assert line(supplied(a_job(a_cushion(), price=None)), "cloth").cost == 0


def test_cloth_is_bought_as_ordered() -> None:
    job = a_job(a_cushion(), a_cushion(cushion_id="stool", width_mm=350.0, depth_mm=333.0), a_cushion(cushion_id="b"))
    bought = line(supplied(job, 2700.0), "cloth")
    assert bought.buy == 2.7
    assert bought.cost == Decimal("54.00")


def test_the_block_of_a_shaped_cushion_weighs_what_its_outline_holds() -> None:
    job = a_job(a_cushion())
    made = a_construction(job)
    needs = replace(cover_needs(job, made, no_match(made), {})[0], fill_area_mm2=200_000.0)
    supply = supply_from(job, (needs,), {"main": 1500.0}).value
    assert supply is not None
    assert supply.foam[0].mass_kg == pytest.approx(0.2 * 0.08 * 35)
    assert "own pattern" in supply.foam[0].name
