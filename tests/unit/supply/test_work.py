"""Minutes by operation: named as the trade names them, and inside the trade's own bands."""

from __future__ import annotations

from dataclasses import replace

import pytest

from squab.prices import Factors
from squab.supply import CoverNeeds, bench_minutes, cover_needs, cushion_operations, supply_from
from squab.supply.records import Supply
from tests.unit.supply.handmade import a_construction, a_cushion, a_job, a_match, no_match

BANDS = {"plain": (60.0, 75.0), "piped": (90.0, 120.0), "matched": (120.0, 180.0), "bench": (180.0, 270.0)}
"""Minutes a cushion; common practice, no source."""


def worked(width_mm: float, depth_mm: float, thickness_mm: float, count: int, make: str) -> Supply:
    cushion = a_cushion(
        width_mm=width_mm, depth_mm=depth_mm, thickness_mm=thickness_mm, count=count, piped=make != "plain"
    )
    job = a_job(cushion, stripe=make in ("matched", "bench"))
    made = a_construction(job)
    sides = ("front", "back") if make == "bench" else ("front", "left", "right", "back")
    match = a_match(made, sides) if make in ("matched", "bench") else no_match(made)
    needs = cover_needs(job, made, match, {})
    if make == "bench":
        needs = tuple(
            replace(n, panel_seam_mm=4 * depth_mm, pieces_matched=12.0, matched_sides=n.matched_sides + 4)
            for n in needs
        )
    supply = supply_from(job, needs, {"main": 1300.0 * count}).value
    assert supply is not None
    return supply


@pytest.mark.parametrize("make", ["plain", "piped", "matched"])
@pytest.mark.parametrize("size", [(450.0, 450.0, 50.0), (500.0, 500.0, 80.0), (560.0, 510.0, 85.0)])
@pytest.mark.parametrize("count", [1, 2, 4])
def test_an_ordinary_cushion_is_within_its_band(make: str, size: tuple[float, float, float], count: int) -> None:
    low, high = BANDS[make]
    assert low <= bench_minutes(worked(*size, count, make).operations, "seat", count) <= high


@pytest.mark.parametrize("size", [(1500.0, 450.0, 75.0), (1800.0, 500.0, 80.0)])
@pytest.mark.parametrize("count", [1, 2])
def test_a_matched_bench_is_within_its_band(size: tuple[float, float, float], count: int) -> None:
    low, high = BANDS["bench"]
    assert low <= bench_minutes(worked(*size, count, "bench").operations, "seat", count) <= high


@pytest.mark.parametrize("make", ["plain", "piped", "matched"])
def test_a_set_of_four_is_within_its_band_with_its_share_of_the_job(make: str) -> None:
    low, high = BANDS[make]
    assert low <= worked(500.0, 500.0, 80.0, 4, make).minutes_per_cushion["seat"] <= high


def test_the_operations_are_those_of_the_trade() -> None:
    names = [o.name for o in worked(500.0, 500.0, 80.0, 1, "bench").operations]
    assert names == [
        "admin", "check and square off", "mark and cut, matched", "panel seam", "strips cut and joined",
        "cord covered", "[[piping]] sewn on", "[[zip panel]]", "[[boxing]] joined", "[[boxing]] sewn",
        "pinning or basting each matched side", "overlocking", "foam cut and wrapped", "fill and dress",
        "inspect and pack",
    ]  # fmt: skip


def test_minutes_add_up_to_the_hours_that_are_priced() -> None:
    supply = worked(500.0, 500.0, 80.0, 4, "piped")
    assert float(supply.price.hours) == pytest.approx(sum(o.minutes for o in supply.operations) / 60, abs=0.005)
    assert supply.minutes_per_cushion["seat"] * 4 == pytest.approx(sum(o.minutes for o in supply.operations))


@pytest.mark.parametrize(
    ("change", "factor"),
    [
        ({"pile": True}, Factors().pile),
        ({"vinyl": True}, Factors().vinyl),
        ({"longest_mm": 1501.0}, Factors().long_over_1500_mm),
    ],
)
def test_factors_slow_cutting_and_sewing_but_not_filling(change: dict[str, object], factor: float) -> None:
    plain = CoverNeeds("seat", "Seat", 1, ring_mm=2000.0, zip_mm=700.0)
    slow = replace(plain, **change)  # type: ignore[arg-type]
    cushion, prices = a_cushion(), a_job(a_cushion()).prices
    before = {o.name: o.minutes for o in cushion_operations(plain, cushion, prices.minutes, prices.factors)}
    after = {o.name: o.minutes for o in cushion_operations(slow, cushion, prices.minutes, prices.factors)}
    assert after["[[boxing]] sewn"] == pytest.approx(before["[[boxing]] sewn"] * factor)
    assert after["fill and dress"] == before["fill and dress"]


def test_the_first_of_a_kind_is_slowest_and_repeats_are_quicker() -> None:
    one = bench_minutes(worked(500.0, 500.0, 80.0, 1, "piped").operations, "seat", 1)
    six = bench_minutes(worked(500.0, 500.0, 80.0, 6, "piped").operations, "seat", 6)
    assert six < one
