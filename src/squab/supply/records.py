"""What supply hands on: what to buy, how long it takes, what it costs and what to charge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal


@dataclass(frozen=True, slots=True)
class BuyLine:
    """One line of the shopping list. `exact` is what is used in `unit`, `buy` what is bought."""

    what: str
    detail: str
    exact: float
    buy: float
    unit: Literal["mm", "m", "m2", "m3", "each", "kg"]
    cost: Decimal
    kind: Literal[
        "cloth", "zip", "slider", "cord", "thread", "basting_tape", "foam", "wrap", "stockinette", "film", "fitting"
    ]
    cushion_id: str = ""


@dataclass(frozen=True, slots=True)
class FoamCut:
    """A block of fill to cut: over-all size and the name of its full-size pattern where it is not square."""

    cushion_id: str
    name: str
    count: int
    width_mm: float
    depth_mm: float
    thickness_mm: float
    wrap_mm: float
    mass_kg: float
    kind: str


@dataclass(frozen=True, slots=True)
class Operation:
    """Minutes of one operation for one kind of cushion, or the job where `cushion_id` is empty."""

    cushion_id: str
    name: str
    quantity: float
    unit: str
    minutes: float


@dataclass(frozen=True)
class Price:
    """How the price is made. All Decimal in `currency`; `total = net + tax`."""

    currency: str
    materials_cost: Decimal
    materials_charge: Decimal
    hours: Decimal
    making: Decimal
    net: Decimal
    tax_name: str
    tax_pct: Decimal
    tax: Decimal
    total: Decimal
    deposit: Decimal
    minimum_applied: bool
    per_cushion: Mapping[str, Decimal]
    """Price with tax of all cushions of one kind, by cushion id; adds up to the total."""


@dataclass(frozen=True)
class Supply:
    """The shopping list, the work, the price."""

    buy: tuple[BuyLine, ...]
    foam: tuple[FoamCut, ...]
    operations: tuple[Operation, ...]
    price: Price
    minutes_per_cushion: Mapping[str, float]
    """Minutes of one cushion of each kind, its share of the job's own minutes included."""
