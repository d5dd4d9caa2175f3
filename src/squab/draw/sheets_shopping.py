"""The shopping list, and the maker's own costing sheet."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from squab.draw.figures import Figures, shortened
from squab.draw.foam import sheet_said, ways_said
from squab.draw.sheets_common import head_and_foot, on_bolt
from squab.draw.sheets_names import FOAM
from squab.draw.sheets_parts import cushion_name
from squab.draw.typeset import typeset
from squab.lay.blocks import SheetsToBuy
from squab.supply.records import BuyLine
from squab.worked import WorkedJob

GROUPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Cloth", ("cloth",)),
    ("[[Zips]] and sliders", ("zip", "slider")),
    ("[[Cord]], thread, tape", ("cord", "thread", "basting_tape")),
    ("Fill and [[wrap]]", ("foam", "wrap", "stockinette", "film")),
    ("Fittings", ("fitting",)),
)


def shopping_list_pdf(worked: WorkedJob) -> bytes:
    """What to buy: what is used, what to ask for at the counter, and what it costs the maker."""
    job, figures = worked.job, Figures.of(worked.job)
    data = {
        **head_and_foot(job, "shopping list"),
        "groups": shopping_groups(worked, figures),
        "cloths": _cloth_notes(worked, figures),
        "total": figures.money(sum((line.cost for line in worked.supply.buy), Decimal(0))),
    }
    return typeset("shopping", data, {}, job.paper, dated=job.dated)


def shopping_groups(worked: WorkedJob, figures: Figures) -> list[dict[str, Any]]:
    """The lines of the shopping list under their headings."""
    names = {c.id: cushion_name(c) for c in worked.job.cushions}
    groups = []
    for title, kinds in GROUPS:
        lines = [line for line in worked.supply.buy if line.kind in kinds]
        if lines:
            groups.append({"title": figures.said(title), "lines": [_line(x, names, figures) for x in lines]})
    return groups


def _line(line: BuyLine, names: dict[str, str], figures: Figures) -> dict[str, Any]:
    detail = [shortened(figures.said(line.detail), 280), names.get(line.cushion_id, "")]
    return {
        "what": shortened(figures.said(line.what), 60),
        "detail": " · ".join(x for x in detail if x),
        "exact": figures.quantity(line.exact, line.unit),
        "buy": figures.quantity(line.buy, line.unit),
        "cost": figures.money(line.cost),
    }


def _cloth_notes(worked: WorkedJob, figures: Figures) -> list[dict[str, str]]:
    """What must be said at the counter about each cloth: both lengths, the proof, and the risk."""
    notes = []
    for cloth_id, plan in worked.plans.items():
        cloth = worked.job.cloth(cloth_id)
        lengths = on_bolt(worked.job, plan)
        by_rows = figures.cloth(lengths.by_rows_mm) if lengths.by_rows_mm else ""
        said = [f"Order {figures.cloth(plan.order_mm)} in one length, one lot."]
        if cloth.in_hand:
            said = ["In hand: nothing of it is bought."]
        if plan.bolt_length_mm is not None:
            said.append(
                f"The [[bolt]] as measured needs {figures.cloth(plan.bolt_length_mm, to='enough')}, squared off."
            )
        said.append(
            f"The lay takes {figures.cloth(lengths.lay_mm)}; "
            f"none can take less than {figures.cloth(lengths.least_mm, to='no more')}"
            + (f"; by rows and whole repeats it would take {by_rows}." if by_rows else ".")
        )
        if plan.risk:
            said.append(plan.risk[0].upper() + plan.risk[1:].rstrip(".") + ".")
        if plan.surrenders:
            said.append("Short cloth: giving up " + "; or ".join(
                f"{s.what} frees {figures.cloth(s.frees_mm)}{' (enough)' if s.enough else ''}" for s in plan.surrenders
            ) + ".")  # fmt: skip
        notes.append({"name": shortened(cloth.name, 60), "text": figures.said(" ".join(said))})
    return notes + [_foam_note(worked, bought) for bought in worked.foam]


def _foam_note(worked: WorkedJob, bought: SheetsToBuy) -> dict[str, str]:
    """How many sheets of foam, and how they are cut."""
    ways = "; ".join(ways_said(bought, worked.job))
    said = f"By area no fewer than {bought.at_least}. {ways}; see {FOAM}."
    return {"name": shortened(sheet_said(bought, worked.job.style), 90), "text": shortened(said, 400)}


def costing_pdf(worked: WorkedJob) -> bytes:
    """The maker's own costing: minutes by operation, materials, how the price is made. Not for the customer."""
    job, figures, supply = worked.job, Figures.of(worked.job), worked.supply
    price = supply.price
    data = {
        **head_and_foot(job, "costing, for the workroom only"),
        "work": _work(worked, figures),
        "groups": shopping_groups(worked, figures),
        "in_hand": _in_hand_notes(worked, figures),
        "price": [
            ["Materials at cost", figures.money(price.materials_cost)],
            ["Materials as charged", figures.money(price.materials_charge)],
            [f"Making, {price.hours:g} h at {figures.money(job.prices.hour)}", figures.money(price.making)],
            ["Net" + (", minimum charge" if price.minimum_applied else ""), figures.money(price.net)],
            [figures.tax(price.tax_name, price.tax_pct), figures.money(price.tax)],
            ["Price", figures.money(price.total)],
            ["Deposit", figures.money(price.deposit)],
        ],
        "cushions": [
            {
                "name": cushion_name(c),
                "count": c.count,
                "minutes": figures.minutes(supply.minutes_per_cushion.get(c.id, 0.0)),
                "price": figures.money(price.per_cushion.get(c.id, Decimal(0))),
            }
            for c in job.cushions
        ],
        "total_minutes": figures.minutes(sum(o.minutes for o in supply.operations)),
    }
    return typeset("costing", data, {}, job.paper, dated=job.dated)


def _in_hand_notes(worked: WorkedJob, figures: Figures) -> list[dict[str, str]]:
    """What cloth the price has nothing of, because it is there already, and what it would cost bought."""
    notes = []
    for cloth_id, plan in worked.plans.items():
        cloth = worked.job.cloth(cloth_id)
        if not cloth.in_hand:
            continue
        whole = worked.job.cloth(cloth.remnant_of) if cloth.remnant_of else cloth
        what = "a remnant" if cloth.remnant_of else "in hand"
        length = plan.lay.length_mm
        said = f"{what}: {figures.cloth(length)} of it are used, none is bought, and nothing is charged for it."
        if whole.price_per_m:
            worth = figures.money(whole.price_per_m * Decimal(repr(length)) / 1000)
            said += f" As much cut from a new [[bolt]] would cost {worth}."
        notes.append({"name": shortened(cloth.name, 60), "text": figures.said(said[0].upper() + said[1:])})
    return notes


def _work(worked: WorkedJob, figures: Figures) -> list[dict[str, Any]]:
    names = {c.id: f"{c.count} × {cushion_name(c)}" for c in worked.job.cushions}
    groups = []
    for cushion_id in (*names, ""):
        operations = [o for o in worked.supply.operations if o.cushion_id == cushion_id]
        if operations:
            groups.append(
                {
                    "title": names.get(cushion_id, "The whole job"),
                    "minutes": figures.minutes(sum(o.minutes for o in operations)),
                    "rows": [
                        [
                            shortened(figures.said(o.name), 70),
                            work_quantity(o.quantity, o.unit, figures),
                            figures.minutes(o.minutes),
                        ]
                        for o in operations
                    ],
                }
            )
    return groups


def work_quantity(quantity: float, unit: str, figures: Figures) -> str:
    """How much of an operation: metres in the job's units, else a count and its unit."""
    if unit == "m":
        return figures.cloth(quantity * 1000)
    return f"{quantity:g} {unit.removesuffix('s') if quantity == 1 else unit}".strip()
