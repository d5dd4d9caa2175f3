"""The shopping list: needs gathered by what is bought, rounded up once as it is sold, and costed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

from squab.job import Cushion, Job
from squab.prices import PriceList
from squab.supply.fill import (
    FilmUse,
    film_mm,
    foam_cut,
    foam_thickness_mm,
    is_loose,
    loose_density_kg_m3,
    mass_kg,
    round_up,
    slab_limits,
    sleeve_mm,
    wrap_area_mm2,
)
from squab.supply.money import decimal_of, to_minor
from squab.supply.needs import CoverNeeds, sewing_passes
from squab.supply.records import BuyLine, FoamCut
from squab.supply.thread import thread_mm
from squab.supply.zips import size_group, zip_to_cut_mm
from squab.units import Style, format_gauge, format_length

if TYPE_CHECKING:
    from squab.lay.blocks import SheetsToBuy  # it brings the lay's compiler with it

BuyKind = Literal[
    "cloth", "zip", "slider", "cord", "thread", "basting_tape", "foam", "wrap", "stockinette", "film", "fitting"
]
BuyUnit = Literal["mm", "m", "m2", "m3", "each", "kg"]
LEAST_REST_MM = 100.0
"""A rest of foam narrower than this is not spoken of; common practice, no source."""
CLOTH_STEP_M = 1e-6
"""The length to order is rounded already: shares of it are only put together again."""


@dataclass(frozen=True, slots=True)
class Need:
    """What all the cushions of one kind take of one thing to buy. Needs with one `what` are bought together."""

    cushion_id: str
    kind: BuyKind
    what: str
    exact: float
    unit: BuyUnit
    unit_price: Decimal
    sold_by: float
    detail: str = ""
    remark: str = ""
    """Said once of the line, where `detail` is said of each kind."""


def needs_of(needs: CoverNeeds, cushion: Cushion, prices: PriceList, style: Style) -> tuple[Need, ...]:
    """List what all cushions of one kind take, cloth apart."""
    step = sold_step_m(style)
    return (
        *_zip_needs(needs, prices, style, step),
        *_sewing_needs(needs, prices, style, step),
        *_fill_needs(needs, cushion, prices, style, step),
        *_fitting_needs(needs, cushion, prices),
    )


def sold_step_m(style: Style) -> float:
    """Give the step in which goods by the length are asked for: a tenth of a metre, or an eighth of a yard."""
    return 0.1143 if style.system == "imperial" else 0.1


def _zip_needs(needs: CoverNeeds, prices: PriceList, style: Style, step: float) -> list[Need]:
    if needs.zip_mm <= 0.0:
        return []
    tolerance = prices.zip_tolerance_mm
    length, plus = format_length(needs.zip_mm, style), format_length(tolerance, style)
    each = zip_to_cut_mm(needs.zip_mm, tolerance)
    what = f"[[Zip]] by the length, tape {format_length(needs.zip_tape_mm, style)}"
    what += f", size group {size_group(prices.zip_slider_mouth_mm)}"
    cut = f"{needs.name}: {needs.count} of {length}"
    about = f"each give or take {plus}: it ends on a whole element"
    n = float(needs.count)
    return [
        Need(needs.cushion_id, "zip", what, each * n / 1000.0, "m", prices.zip_per_m, step, cut, about),
        Need(needs.cushion_id, "slider", "Sliders", needs.sliders * n, "each", prices.slider, 1.0, ""),
    ]


def _sewing_needs(needs: CoverNeeds, prices: PriceList, style: Style, step: float) -> list[Need]:
    found: list[Need] = []
    n, mine = float(needs.count), needs.cushion_id
    if needs.piping_rings:
        ring = needs.piping_ring_mm + needs.piping_spare_mm
        what = f"[[Piping cord]], {format_gauge(needs.cord_diameter_mm, style)}"
        rings = needs.piping_rings * needs.count
        detail = f"{needs.name}: {rings} of {format_length(ring, style)}"
        found.append(
            Need(
                mine,
                "cord",
                what,
                ring * rings / 1000.0,
                "m",
                prices.cord_per_m,
                step,
                detail,
                "spare for the join counted",
            )
        )
    thread = thread_mm(sewing_passes(needs, prices.stitch_class), waste_pct=prices.thread_waste_pct) * n / 1000.0
    detail = f"waste of {prices.thread_waste_pct:g} % counted"
    found.append(Need(mine, "thread", "Thread", thread, "m", prices.thread_per_1000_m / 1000, 10.0, detail))
    if needs.matched_mm > 0.0:
        length = needs.matched_mm * n / 1000.0
        found.append(
            Need(mine, "basting_tape", "Basting tape", length, "m", prices.basting_tape_per_m, step, "matched seams")
        )
    return found


def _density(kg_m3: float, style: Style) -> str:
    """A foam's density as it is sold: 1 lb/ft³ is 16.0185 kg/m³ (US Navy facilities handbook 1004/6, appendix B)."""
    return f"{kg_m3:g} kg/m³" if style.system == "metric" else f"{kg_m3 / 16.0185:.1f} lb/ft³"


def _fill_needs(needs: CoverNeeds, cushion: Cushion, prices: PriceList, style: Style, step: float) -> list[Need]:
    mine, n, fill = needs.cushion_id, float(needs.count), cushion.fill
    width, depth, thickness = needs.fill_size_mm
    thick = foam_thickness_mm(fill, thickness)
    if is_loose(fill):
        return _loose_needs(needs, cushion, prices, thick)
    what = f"{_kind_words(fill.kind)}, {_density(fill.density_kg_m3, style)}: {needs.name}"
    block_m3 = width * depth * thick * 1e-9
    found = [Need(mine, "foam", what, block_m3 * n, "m3", prices.foam_per_m3, 0.0, _slab_words(needs, thick, style))]
    longest = max(width, depth)
    if fill.wrap_mm > 0.0:
        area = wrap_area_mm2(needs.fill_area_mm2, needs.fill_perimeter_mm, thick) * 1e-6
        what = f"[[Wrap]], {format_length(fill.wrap_mm, style)} thick"
        sleeve = sleeve_mm(longest, thick) / 1000.0
        found.append(Need(mine, "wrap", what, area * n, "m2", prices.wrap_per_m2, 0.1, "both faces and the edge"))
        found.append(Need(mine, "stockinette", "Stockinette sleeve", sleeve * n, "m", prices.stockinette_per_m, step))
    if needs.film != "none":
        length = film_mm(longest, thick) / 1000.0
        detail = _FILM_WORDS[needs.film]
        found.append(Need(mine, "film", "Film, by the length", length * n, "m", prices.film_per_m, step, detail))
    return found


_FILM_WORDS: Mapping[FilmUse, str] = {
    "dry": "round the fill, to keep it dry",
    "dry_vented": "round the fill, to keep it dry; vented, for the cover does not breathe",
    "stuffing": "to draw the block down for stuffing",
}


def _kind_words(kind: str) -> str:
    words = kind.replace("_", " ")
    return (words[0].upper() + words[1:]).replace("fibre", "[[fibre]]").replace("Fibre", "[[Fibre]]")


def _slab_words(needs: CoverNeeds, thick: float, style: Style) -> str:
    width, depth, _ = needs.fill_size_mm
    size = " × ".join(format_length(x, style, unit=False) for x in (width, depth))
    words = f"{needs.count} of {size} × {format_length(thick, style)}"
    limits = slab_limits(max(width, depth), min(width, depth), thick)
    if limits is None:
        return words
    over_length, over_width = limits.length_mm[1] - limits.length_mm[0], limits.width_mm[1] - limits.width_mm[0]
    either = (limits.thickness_mm[1] - limits.thickness_mm[0]) / 2.0
    return (
        f"{words}; accept up to {format_length(over_length, style)} over in length, "
        f"{format_length(over_width, style)} over in width and nothing under, "
        f"{format_length(either, style)} either way in thickness"
    )


def with_sheets(needs: Sequence[Need], sheets: Sequence[SheetsToBuy], prices: PriceList, style: Style) -> list[Need]:
    """The needs with whole sheets in place of the foam of every cushion whose blocks are cut from them.

    A cushion's share of the sheets is by the area of its blocks, so what is left of a sheet is shared likewise.
    """
    found, by_sheet = list(needs), []
    for bought in sheets:
        areas, sheet = bought.areas_mm2(), bought.sheet
        found = [n for n in found if n.kind != "foam" or n.cushion_id not in areas]
        volume_m3 = sheet.width_mm * sheet.length_mm * sheet.thickness_mm * 1e-9
        price = decimal_of(volume_m3) * prices.foam_per_m3 if sheet.price is None else sheet.price
        size = " × ".join(format_length(x, style, unit=False) for x in (sheet.width_mm, sheet.length_mm))
        what = f"{_kind_words(sheet.foam)}, sheets of {size} × {format_length(sheet.thickness_mm, style)}"
        whole = sum(areas.values())
        left = _left_words(bought, style)
        for cushion_id, area in areas.items():
            share = bought.count * area / whole
            by_sheet.append(Need(cushion_id, "foam", what, share, "each", price, 1.0, "", left))
    return found + by_sheet


def _left_words(bought: SheetsToBuy, style: Style) -> str:
    """What stays whole of the sheets that are cut, the larger pieces first."""
    left = []
    for cut in bought.cuts:
        u0, v0, u1, v1 = cut.left_mm
        if min(u1 - u0, v1 - v0) >= LEAST_REST_MM:
            size = f"{format_length(u1 - u0, style, unit=False)} × {format_length(v1 - v0, style)}"
            left.append(((u1 - u0) * (v1 - v0), f"{cut.count} of {size}"))
    said = ", ".join(x for _, x in sorted(left, reverse=True))
    return f"whole sheets; left over {said}" if said else "whole sheets; little is left over"


def _loose_needs(needs: CoverNeeds, cushion: Cushion, prices: PriceList, thick: float) -> list[Need]:
    mine, n, fill = needs.cushion_id, float(needs.count), cushion.fill
    mass = mass_kg(needs.fill_area_mm2, thick, loose_density_kg_m3(fill, prices)) * n
    price = prices.fibre_per_kg if fill.kind == "fibre" else prices.feather_per_kg
    case_m2 = wrap_area_mm2(needs.fill_area_mm2, needs.fill_perimeter_mm, thick) * 1e-6
    case = "Down-proof inner case" if fill.kind == "feather" else "Inner case"
    return [
        Need(mine, "foam", f"{_kind_words(fill.kind)} fill", mass, "kg", price, 0.1, f"{needs.name}: {needs.count}"),
        Need(mine, "fitting", f"{case}, cloth", case_m2 * n, "m2", prices.inner_case_per_m2, 0.1, "seams counted"),
    ]


def _fitting_needs(needs: CoverNeeds, cushion: Cushion, prices: PriceList) -> list[Need]:
    mine, n, cover, found = needs.cushion_id, float(needs.count), cushion.cover, []
    if cover.ties:
        found.append(Need(mine, "fitting", "Ties", cover.ties * n, "each", prices.tie_each, 1.0))
    if cover.handle:
        found.append(Need(mine, "fitting", "Handles", n, "each", prices.handle_each, 1.0))
    if cover.non_slip_base:
        area = needs.panel_area_mm2 * 1e-6 * n
        found.append(Need(mine, "fitting", "Non-slip base cloth", area, "m2", prices.base_cloth_per_m2, 0.1))
    return found


def cloth_needs(job: Job, order_mm: Mapping[str, float], covers: Sequence[CoverNeeds]) -> tuple[Need, ...]:
    """List what each kind of cushion takes of each cloth: its share, by cut area, of the length to order."""
    found = []
    given = [c.name for c in job.cloths]
    names = {c.id: c.name if c.name and given.count(c.name) == 1 else f"{c.name} ({c.id})".strip() for c in job.cloths}
    for cloth in job.cloths:
        if cloth.id not in order_mm:
            continue
        areas = {n.cushion_id: n.cloth_area_mm2.get(cloth.id, 0.0) * n.count for n in covers}
        whole = sum(areas.values())
        price = cloth.price_per_m or Decimal(0)
        grams = cloth.mass_g_per_m
        weighs = "" if grams is None else f"weighs {grams * order_mm[cloth.id] / 1e6:.1f} kg, {grams:.0f} g a metre"
        shares = {k: a / whole for k, a in areas.items() if a > 0.0} if whole > 0.0 else {"": 1.0}
        for cushion_id, share in shares.items():
            exact = order_mm[cloth.id] * share / 1000.0
            found.append(Need(cushion_id, "cloth", names[cloth.id], exact, "m", price, CLOTH_STEP_M, "", weighs))
    return tuple(found)


def buy_lines(needs: Sequence[Need], currency: str) -> tuple[BuyLine, ...]:
    """Gather needs into lines: what is alike is bought together and rounded up once."""
    groups: dict[tuple[str, str], list[Need]] = defaultdict(list)
    for need in needs:
        if need.exact > 0.0:
            groups[(need.kind, need.what)].append(need)
    return tuple(_line(group, currency) for group in groups.values())


def _line(group: list[Need], currency: str) -> BuyLine:
    first = group[0]
    exact = sum(n.exact for n in group)
    buy = round_up(exact, first.sold_by) if first.sold_by else exact
    owners = {n.cushion_id for n in group}
    return BuyLine(
        what=first.what,
        detail="; ".join(dict.fromkeys(x for x in (*(n.detail for n in group), *(n.remark for n in group)) if x)),
        exact=exact,
        buy=buy,
        unit=first.unit,
        cost=to_minor(decimal_of(buy) * first.unit_price, currency),
        kind=first.kind,
        cushion_id=owners.pop() if len(owners) == 1 else "",
    )


def cost_by_cushion(needs: Sequence[Need], lines: Sequence[BuyLine]) -> dict[str, dict[BuyKind, Decimal]]:
    """Divide the cost of every line over the cushions that need it, by how much each takes."""
    lines_by = {(x.kind, x.what): x for x in lines}
    found: dict[str, dict[BuyKind, Decimal]] = defaultdict(lambda: defaultdict(Decimal))
    for need in needs:
        line = lines_by.get((need.kind, need.what))
        if line is not None:
            found[need.cushion_id][need.kind] += line.cost * decimal_of(need.exact / line.exact)
    return {k: dict(v) for k, v in found.items()}


def foam_cuts(covers: Sequence[CoverNeeds], cushions: Mapping[str, Cushion]) -> tuple[FoamCut, ...]:
    """List the blocks to cut, loose fill left out."""
    return tuple(
        foam_cut(
            cushions[n.cushion_id],
            width_mm=n.fill_size_mm[0],
            depth_mm=n.fill_size_mm[1],
            thickness_mm=n.fill_size_mm[2],
            area_mm2=n.fill_area_mm2,
        )
        for n in covers
        if not is_loose(cushions[n.cushion_id].fill)
    )
