"""From cost and minutes to a price: mark-ups, minimum, tax, rounding, deposit, shares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import ROUND_HALF_UP, Decimal

from squab.prices import PriceList
from squab.supply.buy import BuyKind
from squab.supply.money import decimal_of, minor_unit, share_out, to_minor, up_to_step
from squab.supply.records import BuyLine, Operation, Price

CENT_OF_HOUR = Decimal("0.01")
HUNDRED = Decimal(100)


def price_of(
    lines: Sequence[BuyLine],
    operations: Sequence[Operation],
    costs: Mapping[str, Mapping[BuyKind, Decimal]],
    counts: Mapping[str, int],
    prices: PriceList,
) -> Price:
    """Make the price.

    Materials at cost and mark-up and hours at their rate make the net sum, never under the
    minimum. The sum with tax is rounded up to the price list's step; the tax is then what that
    sum holds, to the coin, and the net sum the rest, so the three agree to the coin.

    Parameters
    ----------
    lines, operations:
        What is bought, and the minutes.
    costs:
        Cost of materials by cushion id and kind of material (`squab.supply.buy.cost_by_cushion`).
    counts:
        How many there are of each kind of cushion, by id, in the job's order.
    prices:
        The price list.
    """
    currency = prices.currency
    cost = sum((x.cost for x in lines), Decimal(0))
    charge = to_minor(sum((_charged(x.cost, x.kind, prices) for x in lines), Decimal(0)), currency)
    hours = hours_of(sum(o.minutes for o in operations))
    making = to_minor(hours * prices.hour, currency)
    least = charge + making
    bare = max(least, prices.minimum)
    total = up_to_step(bare * (1 + prices.tax_pct / HUNDRED), prices.round_to, currency)
    tax = to_minor(total * prices.tax_pct / (HUNDRED + prices.tax_pct), currency)
    return Price(
        currency=currency,
        materials_cost=cost,
        materials_charge=charge,
        hours=hours,
        making=making,
        net=total - tax,
        tax_name=prices.tax_name,
        tax_pct=prices.tax_pct,
        tax=tax,
        total=total,
        deposit=deposit_of(total, prices),
        minimum_applied=least < prices.minimum,
        per_cushion=_per_cushion(total, operations, costs, counts, prices),
    )


def hours_of(minutes: float) -> Decimal:
    """Give minutes as hours, to the hundredth, halves up."""
    return (decimal_of(minutes) / 60).quantize(CENT_OF_HOUR, ROUND_HALF_UP)


def _charged(cost: Decimal, kind: str, prices: PriceList) -> Decimal:
    markup = prices.cloth_markup_pct if kind == "cloth" else prices.material_markup_pct
    return cost * (1 + markup / HUNDRED)


def deposit_of(total: Decimal, prices: PriceList) -> Decimal:
    """Give the deposit, rounded up to the price list's step, never above the total."""
    return min(total, up_to_step(total * prices.deposit_pct / HUNDRED, prices.round_to, prices.currency))


def _per_cushion(
    total: Decimal,
    operations: Sequence[Operation],
    costs: Mapping[str, Mapping[BuyKind, Decimal]],
    counts: Mapping[str, int],
    prices: PriceList,
) -> dict[str, Decimal]:
    """Share the total over the kinds of cushion by what each costs; the job's own work is shared by number."""
    shared = sum(o.minutes for o in operations if not o.cushion_id)
    everything = sum(counts.values())
    weights = {}
    for cushion_id, count in counts.items():
        minutes = sum(o.minutes for o in operations if o.cushion_id == cushion_id) + shared * count / everything
        materials = sum((_charged(c, k, prices) for k, c in costs.get(cushion_id, {}).items()), Decimal(0))
        weights[cushion_id] = materials + decimal_of(minutes) / 60 * prices.hour
    shares = share_out(total, weights, _share_step(total, len(counts), prices))
    return {cushion_id: to_minor(share, prices.currency) for cushion_id, share in shares.items()}


def _share_step(total: Decimal, kinds: int, prices: PriceList) -> Decimal:
    """The price list's step, unless it is so coarse that a share could vanish in it."""
    step, coin = prices.round_to, minor_unit(prices.currency)
    return step if step > coin and total >= step * 20 * kinds and total % step == 0 else coin
