"""Money: Decimal throughout, rounded where it is printed, shared out so that parts add up exactly."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

MINOR_PLACES: Mapping[str, int] = {
    **dict.fromkeys(("CLP", "ISK", "JPY", "KRW", "VND", "XAF", "XOF", "XPF"), 0),
    **dict.fromkeys(("BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"), 3),
}
"""Decimal places of the currencies that have not two (ISO 4217)."""


def minor_unit(currency: str) -> Decimal:
    """Give the smallest coin of a currency.

    >>> minor_unit("GBP"), minor_unit("JPY")
    (Decimal('0.01'), Decimal('1'))
    """
    return Decimal(1).scaleb(-MINOR_PLACES.get(currency.upper(), 2))


def to_minor(amount: Decimal, currency: str) -> Decimal:
    """Round to the smallest coin, halves up."""
    return amount.quantize(minor_unit(currency), ROUND_HALF_UP)


def up_to_step(amount: Decimal, step: Decimal, currency: str) -> Decimal:
    """Round up to whole steps of a price list; a step of nought is the smallest coin."""
    step = max(step, minor_unit(currency))
    return ((amount / step).to_integral_value(ROUND_CEILING) * step).quantize(minor_unit(currency))


def decimal_of(value: float) -> Decimal:
    """Give a measured quantity as Decimal, as it is written."""
    return Decimal(repr(float(value)))


def share_out(total: Decimal, weights: Mapping[str, Decimal], step: Decimal) -> dict[str, Decimal]:
    """Divide a total over named weights in whole steps; the parts add up to it exactly.

    The running total is rounded, never the parts, so that no part is off by more than one step.
    What is left of a step goes to the last part. Without any weight all share alike.

    Examples
    --------
    >>> share_out(Decimal("100"), {"a": Decimal(1), "b": Decimal(1), "c": Decimal(1)}, Decimal("0.01"))
    {'a': Decimal('33.33'), 'b': Decimal('33.34'), 'c': Decimal('33.33')}
    """
    if not weights:
        return {}
    whole = sum(weights.values())
    even = {name: Decimal(1) for name in weights} if whole <= 0 else weights
    whole = sum(even.values())
    shares, run, given = {}, Decimal(0), Decimal(0)
    for i, (name, weight) in enumerate(even.items(), 1):
        run += weight
        now = (total * run / whole / step).to_integral_value(ROUND_HALF_UP) * step if i < len(even) else total
        shares[name] = now - given
        given = now
    return shares
