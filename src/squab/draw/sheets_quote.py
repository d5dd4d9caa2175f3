"""The quotation: one page for the customer, with what matches and what will not."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from squab.cloth import Cloth
from squab.draw.figures import Figures, shortened, valid_until
from squab.draw.sheets_common import head_and_foot, typed_sizes
from squab.draw.sheets_cutlist import cover_of
from squab.draw.sheets_matching import joins_said, matching_said
from squab.draw.sheets_parts import cushion_name
from squab.draw.typeset import typeset_one_page
from squab.job import Cushion
from squab.lay.creep import inside_mm
from squab.match.drift import SEEN_GOOD_MM
from squab.worked import WorkedJob

_FILLS = {
    "firm_foam": "firm foam",
    "medium_foam": "medium foam",
    "soft_foam": "soft foam",
    "wrapped_polyester": "wrapped polyester",
    "fibre": "[[fibre]]",
    "feather": "feather",
}
_EDGES = {"both": "both edges", "top": "the top edge", "bottom": "the bottom edge"}
_COUNTS = {1: "one", 2: "two", 3: "three", 4: "four", 5: "five", 6: "six", 7: "seven", 8: "eight"}


def quote_pdf(worked: WorkedJob, pictures: Mapping[str, str]) -> bytes:
    """The quotation as a one-page PDF; `pictures` are SVG texts by cushion id."""
    job, figures, price = worked.job, Figures.of(worked.job), worked.supply.price
    sold = _sold(worked, figures)
    drawn = {f"cushion{i}.svg": pictures[c.id] for i, (c, *_) in enumerate(sold, 1) if c.id in pictures}
    data = {
        **head_and_foot(job, "quotation"),
        "workroom": shortened(job.workroom, 60),
        "customer": [
            x for x in (shortened(job.customer.name, 70), shortened(job.customer.address, 110),
                        shortened(job.customer.contact, 70)) if x
        ],
        "job": shortened(job.name, 80),
        "cushions": [_row(worked, alike, i, figures, drawn) for i, alike in enumerate(sold, 1)],
        "cloths": [_cloth(worked, k, figures) for k in worked.plans],
        "price": [
            ["Net", figures.money(price.net)],
            [figures.tax(price.tax_name, price.tax_pct), figures.money(price.tax)],
        ],
        "total": figures.money(price.total),
        "deposit": figures.money(price.deposit),
        "valid": valid_until(job),
        "lead": f"about {_count(job.lead_time_weeks)} week{'' if job.lead_time_weeks == 1 else 's'} "
        "from the deposit and the cloth's arrival",
        "care": _care(worked),
        "caveats": _caveats(worked, figures),
        "columns": 1 if len(sold) == 1 else 2 if len(sold) in (2, 4) else 3,
    }  # fmt: skip
    return typeset_one_page("quote", data, drawn, job.paper, dated=job.dated)


def _count(n: int) -> str:
    return _COUNTS.get(n, str(n))


def _sold(worked: WorkedJob, figures: Figures) -> list[list[Cushion]]:
    """The cushions as they are sold: one cut from a remnant with the others of its kind, where they end up alike."""
    found: list[tuple[dict[str, Any], list[Cushion]]] = []
    for cushion in worked.job.cushions:
        said = _cushion(worked, cushion, figures)
        alike = next((kind for told, kind in found if told == said and (cushion.sold_as or kind[0].sold_as)), None)
        if alike is None:
            found.append((said, [cushion]))
        else:
            alike.append(cushion)
    return [kind for _, kind in found]


def _row(
    worked: WorkedJob, alike: Sequence[Cushion], number: int, figures: Figures, drawn: Mapping[str, str]
) -> dict[str, Any]:
    picture, prices = f"cushion{number}.svg", worked.supply.price.per_cushion
    return {
        **_cushion(worked, alike[0], figures),
        "picture": picture if picture in drawn else "",
        "count": sum(c.count for c in alike),
        "price": figures.money(sum((prices.get(c.id, Decimal(0)) for c in alike), Decimal(0))),
    }


def _cushion(worked: WorkedJob, cushion: Cushion, figures: Figures) -> dict[str, Any]:
    """What is said of a cushion, whatever it is cut from."""
    cover = cover_of(worked, cushion.id)
    finished = cover.sizes.finished
    return {
        "name": cushion_name(replace(cushion, name=cushion.sold_as or cushion.name)),
        "place": shortened(cushion.place, 40),
        "given": f"From your {typed_sizes(cushion)}" if cushion.typed else "",
        "hand": cushion.hand,
        "size": figures.box(finished),
        "make": figures.said(f"{_fill(cushion, figures)}; {_zip(worked, cushion)}; {_piping(worked, cushion)}"),
        "joins": " ".join(joins_said(worked, cover, figures)),
        "matching": [list(said) for said in matching_said(worked, cushion, figures)],
    }


def _fill(cushion: Cushion, figures: Figures) -> str:
    fill = cushion.fill
    said = _FILLS.get(fill.kind, fill.kind.replace("_", " "))
    return f"{said} with {figures.length(fill.wrap_mm)} [[wrap]]" if fill.wrap_mm else said


def _zip(worked: WorkedJob, cushion: Cushion) -> str:
    plan = cover_of(worked, cushion.id).zip_panel
    if plan is None:
        return "no [[zip]]"
    return "[[zip]] in the bottom" if plan.place == "bottom" else f"[[zip]] at the {cushion.cover.zip.side}"


def _piping(worked: WorkedJob, cushion: Cushion) -> str:
    edges = cushion.cover.piping.edges
    if edges == "none" or cover_of(worked, cushion.id).piping is None:
        return "no [[piping]]"
    own = _bought_as(worked, cushion.cover.panel_cloth)
    cloth = _bought_as(worked, cushion.cover.piping_cloth or cushion.cover.panel_cloth)
    where = _EDGES.get(edges, edges)
    return f"[[piped]] on {where}" + ("" if cloth.id == own.id else f" in {shortened(cloth.name, 30)}")


def _bought_as(worked: WorkedJob, cloth_id: str) -> Cloth:
    """The cloth itself, where a part is cut from a remnant of it."""
    cloth = worked.job.cloth(cloth_id)
    return worked.job.cloth(cloth.remnant_of) if cloth.remnant_of else cloth


def _cloth(worked: WorkedJob, cloth_id: str, figures: Figures) -> str:
    cloth, plan = worked.job.cloth(cloth_id), worked.plans[cloth_id]
    lot = f", lot {shortened(cloth.bolt.lot, 20)}" if cloth.bolt and cloth.bolt.lot else ""
    return f"{shortened(cloth.name, 50)}{lot}, {'in hand' if cloth.in_hand else figures.cloth(plan.order_mm)}"


def _not_promised(worked: WorkedJob, figures: Figures) -> list[str]:
    """Where this very cloth is out of true, or its repeat creeps, by more than a match bears."""
    slanting = list(dict.fromkeys(f.place for f in worked.findings if f.code == "MAT-010"))
    said = []
    if slanting:
        said.append(f"This length of cloth is out of true by more than a match bears: on {' and '.join(slanting)} the "
                    "pattern may slant, and that it meets there is not promised.")  # fmt: skip
    for cloth_id, plan in worked.plans.items():
        off = max(inside_mm(plan.problem, plan.lay), default=0.0)
        if off > SEEN_GOOD_MM:
            name = shortened(worked.job.cloth(cloth_id).name, 40)
            said.append(f"The repeat of {name} creeps along its length: inside one piece the pattern may be off "
                        f"by up to {figures.length(off)}.")  # fmt: skip
    return said


def _care(worked: WorkedJob) -> str:
    cares = dict.fromkeys(shortened(worked.job.cloth(k).care, 160) for k in worked.plans)
    said = " ".join(c.rstrip(".") + "." for c in cares if c)
    return said or "Follow the cloth maker's care label."


def _caveats(worked: WorkedJob, figures: Figures) -> list[str]:
    """What a customer must know before the cloth is cut."""
    of_remnants = any(k.startswith(f"{cloth.id}-remnant-") for k in worked.plans for cloth in worked.job.cloths)
    said = [
        f"Colour and pattern differ from lot to lot: {'each cushion' if of_remnants else 'all the cloth'} comes from "
        "one lot, seen before it is cut. Once it is cut it cannot go back.",
    ]
    if any(worked.job.cloth(k).pattern.kind != "plain" for k in worked.plans):
        said.append("Woven and printed patterns wander a little; a seam that meets may be out by about "
                    f"{figures.length(3.0)}.")  # fmt: skip
    said += _not_promised(worked, figures)
    said.append(f"Finished sizes are to within {figures.length(3.0)} up to {figures.length(600.0)} and "
                f"{figures.length(6.0)} beyond.")  # fmt: skip
    said.append("Fire safety of cover and fill: check the rule for your country and use before you order.")
    return [figures.said(s.replace("Colour", "[[Colour]]")) for s in said]
