"""The workroom's price list: materials, minutes by operation, and how a price is made of them.

Every figure is a setting. The minutes are common practice, no source; they are tried against
the sanity band of a cushion in the tests. Money is Decimal in `currency`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal


@dataclass(frozen=True, slots=True)
class Minutes:
    """Minutes by operation, for a first cushion of ordinary size."""

    visit_and_template_per_job: float = 0.0
    admin_per_job: float = 15.0
    check_and_square_per_m: float = 1.5
    mark_and_cut_plain_per_piece: float = 2.0
    mark_and_cut_matched_per_piece: float = 3.5
    panel_seam_per_m: float = 4.0
    strips_cut_and_joined_per_join: float = 3.5
    cord_covered_per_m: float = 1.75
    piping_sewn_on_per_m: float = 3.0
    zip_panel: float = 12.0
    boxing_joined_per_join: float = 2.5
    boxing_sewn_per_m: float = 3.0
    matched_side: float = 5.5
    overlocking_per_m: float = 0.75
    foam_cut_and_wrapped: float = 9.0
    fill_and_dress: float = 10.0
    inspect_and_pack: float = 5.0
    tie: float = 4.0
    handle: float = 10.0
    non_slip_base: float = 8.0


@dataclass(frozen=True, slots=True)
class Factors:
    """What multiplies sewing and cutting minutes."""

    pile: float = 1.25
    vinyl: float = 1.2
    first_off: float = 1.05
    long_over_1500_mm: float = 1.05
    repeat: float = 0.92
    """Applied to the second and further cushions of one kind."""


@dataclass(frozen=True)
class PriceList:
    """Prices and rules of the workroom, in `currency` (ISO 4217 code)."""

    currency: str = "GBP"
    hour: Decimal = Decimal("32")
    cloth_markup_pct: Decimal = Decimal("25")
    material_markup_pct: Decimal = Decimal("25")
    tax_pct: Decimal = Decimal("20")
    tax_name: str = "VAT"
    deposit_pct: Decimal = Decimal("50")
    minimum: Decimal = Decimal("60")
    round_to: Decimal = Decimal("1")
    zip_per_m: Decimal = Decimal("1.60")
    slider: Decimal = Decimal("0.45")
    cord_per_m: Decimal = Decimal("0.35")
    thread_per_1000_m: Decimal = Decimal("6.50")
    basting_tape_per_m: Decimal = Decimal("0.12")
    foam_per_m3: Decimal = Decimal("420")
    wrap_per_m2: Decimal = Decimal("3.80")
    stockinette_per_m: Decimal = Decimal("2.20")
    film_per_m: Decimal = Decimal("0.40")
    tie_each: Decimal = Decimal("0.60")
    handle_each: Decimal = Decimal("1.50")
    base_cloth_per_m2: Decimal = Decimal("6.00")
    fibre_per_kg: Decimal = Decimal("6.50")
    feather_per_kg: Decimal = Decimal("18.00")
    inner_case_per_m2: Decimal = Decimal("4.50")
    thread_waste_pct: float = 12.5
    """Added to the thread that the stitch formula gives: ends, tests, bobbin changes."""
    stitch_class: Literal["301", "401"] = "301"
    """Plain lockstitch or two-thread chain (ISO 4915), for the thread that is used."""
    zip_tolerance_mm: float = 6.0
    """How far a zip may differ from its stated length: it ends on a whole element."""
    zip_slider_mouth_mm: float = 6.0
    """Width of the slider's mouth, which gives the zip's size group."""
    film_thickness_mm: float = 0.05
    fibre_kg_m3: float = 18.0
    feather_kg_m3: float = 55.0
    minutes: Minutes = field(default_factory=Minutes)
    factors: Factors = field(default_factory=Factors)
