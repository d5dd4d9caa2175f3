"""Laws of the price: parts add up, more is never cheaper, tax is what the total holds."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from squab.cloth import Cloth
from squab.job import Cushion, Job
from squab.plane import Line, Outline
from squab.prices import PriceList
from squab.supply import CoverNeeds, supply_from
from squab.supply.money import share_out
from squab.supply.records import Supply
from tests.laws.draws import draws

POINTS = ((0.0, 0.0), (500.0, 0.0), (500.0, 500.0), (0.0, 500.0))
SQUARE = Outline(tuple(Line(POINTS[i], POINTS[(i + 1) % 4]) for i in range(4)), ("front", "right", "back", "left"))
money = st.decimals(min_value=0, max_value=400, places=2)
percents = st.decimals(min_value=0, max_value=90, places=2)


def supplied(counts: list[int], order_mm: float, prices: PriceList) -> Supply:
    cushions = tuple(Cushion(f"c{i}", f"Cushion {i}", SQUARE, 80.0, count=n) for i, n in enumerate(counts))
    needs = tuple(
        CoverNeeds(
            c.id, c.name, c.count, ring_mm=2000.0 + 300.0 * i, zip_mm=700.0, sliders=1, piping_rings=i % 3,
            piping_ring_mm=2000.0, piping_joins=4.0, fill_size_mm=(510.0, 510.0, 80.0), fill_area_mm2=260_100.0,
            cloth_area_mm2={"main": 900_000.0 + 70_000.0 * i},
        )
        for i, c in enumerate(cushions)
    )  # fmt: skip
    job = Job("Job", cushions, (Cloth("main", "Ticking", 1370.0, price_per_m=Decimal("23.45")),), prices)
    outcome = supply_from(job, needs, {"main": order_mm})
    assert outcome.value is not None
    return outcome.value


price_lists = st.builds(
    PriceList,
    currency=st.sampled_from(["GBP", "JPY", "KWD"]),
    hour=money,
    cloth_markup_pct=percents,
    material_markup_pct=percents,
    tax_pct=percents,
    deposit_pct=st.decimals(min_value=0, max_value=100, places=1),
    minimum=money,
    round_to=st.sampled_from([Decimal("0"), Decimal("0.01"), Decimal("0.5"), Decimal("1"), Decimal("5")]),
)
some_counts = st.lists(st.integers(1, 9), min_size=1, max_size=5)


@settings(max_examples=draws(60), deadline=None)
@given(some_counts, st.floats(500.0, 30_000.0), price_lists)
def test_parts_add_up_to_the_total(counts: list[int], order_mm: float, prices: PriceList) -> None:
    price = supplied(counts, order_mm, prices).price
    assert sum(price.per_cushion.values()) == price.total
    assert price.net + price.tax == price.total
    assert all(share >= 0 for share in price.per_cushion.values())
    assert list(price.per_cushion) == [f"c{i}" for i in range(len(counts))]
    assert 0 <= price.deposit <= price.total


@settings(max_examples=draws(60), deadline=None)
@given(some_counts, st.floats(500.0, 30_000.0), price_lists)
def test_the_tax_is_that_of_the_net_sum_to_the_coin(counts: list[int], order_mm: float, prices: PriceList) -> None:
    price = supplied(counts, order_mm, prices).price
    coin = {"GBP": Decimal("0.01"), "JPY": Decimal(1), "KWD": Decimal("0.001")}[price.currency]
    assert abs(price.tax - price.net * price.tax_pct / 100) <= coin
    assert price.total % coin == 0
    assert price.net >= prices.minimum - coin
    if price.minimum_applied:
        assert price.materials_charge + price.making < prices.minimum


@settings(max_examples=draws(60), deadline=None)
@given(some_counts, st.floats(500.0, 30_000.0), price_lists, st.data())
def test_more_cushions_are_never_cheaper(
    counts: list[int], order_mm: float, prices: PriceList, data: st.DataObject
) -> None:
    i = data.draw(st.integers(0, len(counts) - 1))
    more = [n + (k == i) for k, n in enumerate(counts)]
    assert supplied(more, order_mm + 10.0, prices).price.total >= supplied(counts, order_mm, prices).price.total


@settings(max_examples=draws(40), deadline=None)
@given(some_counts, st.floats(500.0, 30_000.0))
def test_the_lines_add_up_and_cover_what_is_used(counts: list[int], order_mm: float) -> None:
    supply = supplied(counts, order_mm, PriceList())
    assert sum(x.cost for x in supply.buy) == supply.price.materials_cost
    assert all(x.buy >= x.exact - 1e-6 for x in supply.buy)


@settings(max_examples=draws(100), deadline=None)
@given(
    st.integers(0, 10**7),
    st.lists(st.decimals(min_value=0, max_value=10**5, places=3), min_size=1, max_size=12),
    st.sampled_from([Decimal("0.001"), Decimal("0.01"), Decimal("1")]),
)
def test_sharing_out_never_drifts(steps: int, weights: list[Decimal], step: Decimal) -> None:
    total = steps * step
    named = {str(i): w for i, w in enumerate(weights)}
    shares = share_out(total, named, step)
    assert sum(shares.values()) == total
    whole = sum(weights) or Decimal(len(weights))
    for name, weight in named.items():
        fair = total * (weight if sum(weights) else Decimal(1)) / whole
        assert abs(shares[name] - fair) <= step


def test_the_minimum_is_charged_before_tax() -> None:
    free = replace(PriceList(), hour=Decimal(0), minimum=Decimal(500), round_to=Decimal("0.01"))
    price = supplied([1], 1000.0, free).price
    assert price.minimum_applied
    assert (price.net, price.tax, price.total) == (Decimal("500.00"), Decimal("100.00"), Decimal("600.00"))
