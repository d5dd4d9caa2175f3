"""Fill: blocks of foam to cut with their mass, loose fill by weight, wrap, sleeve and film."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from squab.job import Cushion, Fill, Job
from squab.prices import PriceList
from squab.supply.records import FoamCut
from squab.units import MM_PER_INCH

FilmUse = Literal["none", "dry", "dry_vented", "stuffing"]
"""None; round fill that must stay dry; the same with vents; a bag to suck the block down in."""

LOOSE: tuple[str, ...] = ("fibre", "feather")
FOAM: tuple[str, ...] = ("firm_foam", "medium_foam", "soft_foam")
WRAP_OVERLAP = 1.05
"""Wrap is bought 5 % over its faces, for the overlap at the back; common practice."""
SLEEVE_SPARE_MM = 100.0
FILM_SPARE_MM = 150.0


@dataclass(frozen=True, slots=True)
class Limits:
    """What a cut slab may measure, least and most, mm."""

    length_mm: tuple[float, float]
    width_mm: tuple[float, float]
    thickness_mm: tuple[float, float]


def slab_limits(length_mm: float, width_mm: float, thickness_mm: float) -> Limits | None:
    """Give what to accept of a slab ordered at a size, bare and after a day's rest.

    Length +1/2 in and nothing under, width +1/4 in and nothing under, thickness 1/16 in either
    way, for slabs of 1 in or more; None for thinner ones (Joint Industry Foam Standards and
    Guidelines, 7/94, 10.2).
    """
    if thickness_mm < MM_PER_INCH:
        return None
    inch = MM_PER_INCH
    return Limits(
        (length_mm, length_mm + inch / 2),
        (width_mm, width_mm + inch / 4),
        (thickness_mm - inch / 16, thickness_mm + inch / 16),
    )


def mass_kg(area_mm2: float, thickness_mm: float, density_kg_m3: float) -> float:
    """Give the mass of a block.

    >>> round(mass_kg(609.6**2, 101.6, 28.833), 4)
    1.0886
    """
    return area_mm2 * thickness_mm * 1e-9 * density_kg_m3


def foam_thickness_mm(fill: Fill, fill_thickness_mm: float) -> float:
    """Give the thickness of the bare block."""
    return fill.bare_thickness_mm if fill.bare_thickness_mm is not None else fill_thickness_mm


def is_loose(fill: Fill) -> bool:
    """Tell whether the fill is loose, in an inner case, rather than a block."""
    return fill.kind in LOOSE


def loose_density_kg_m3(fill: Fill, prices: PriceList) -> float:
    """Give how densely loose fill is stuffed."""
    return prices.fibre_kg_m3 if fill.kind == "fibre" else prices.feather_kg_m3


def foam_cut(cushion: Cushion, *, width_mm: float, depth_mm: float, thickness_mm: float, area_mm2: float) -> FoamCut:
    """Give the block of one kind of cushion; mass by its true outline, not its box."""
    thick = foam_thickness_mm(cushion.fill, thickness_mm)
    shaped = abs(width_mm * depth_mm - area_mm2) > 1.0
    return FoamCut(
        cushion_id=cushion.id,
        name=f"{cushion.name}: fill, to its own pattern" if shaped else f"{cushion.name}: fill",
        count=cushion.count,
        width_mm=width_mm,
        depth_mm=depth_mm,
        thickness_mm=thick,
        wrap_mm=cushion.fill.wrap_mm,
        mass_kg=mass_kg(area_mm2, thick, cushion.fill.density_kg_m3),
        kind=cushion.fill.kind,
    )


def wrap_area_mm2(area_mm2: float, perimeter_mm: float, thickness_mm: float) -> float:
    """Give the wrap for one block: both faces and the edge, with the overlap."""
    return (2.0 * area_mm2 + perimeter_mm * thickness_mm) * WRAP_OVERLAP


def sleeve_mm(longest_mm: float, thickness_mm: float) -> float:
    """Give the stockinette tube for one wrapped block: over its length, both ends tied."""
    return longest_mm + thickness_mm + SLEEVE_SPARE_MM


def film_mm(longest_mm: float, thickness_mm: float) -> float:
    """Give the film tube for one block: over its length, with the ends folded in."""
    return longest_mm + thickness_mm + FILM_SPARE_MM


def film_use(job: Job, cushion: Cushion) -> FilmUse:
    """Decide what film is for on this cushion.

    Round outdoor fill that must stay dry, vented where the cover does not breathe; none where
    quick-drying foam and open cloth are meant to drain, even where film was asked for. On any
    other cushion film is there only to stuff it, and only where it was asked for.
    """
    cloth = job.cloth(cushion.cover.panel_cloth)
    if cushion.fill.quick_drying and cloth.open_weave:
        return "none"
    stay_dry = cushion.fill.keep_dry or (job.outdoor and not cushion.fill.quick_drying)
    if stay_dry:
        return "dry_vented" if cloth.vinyl else "dry"
    return "stuffing" if cushion.cover.film and cushion.fill.kind in FOAM else "none"


def can_be_sucked_down(fill: Fill) -> bool:
    """Tell whether a film-wrapped block goes flat under suction: polyurethane foam does, bonded polyester not."""
    return fill.kind in FOAM


def round_up(value: float, step: float) -> float:
    """Round up to whole steps; a value within a millionth of a step is that step."""
    return round(math.ceil(value / step - 1e-6) * step, 9)
