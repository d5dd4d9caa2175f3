"""What supply has to say besides its figures: cloth without a price, film, bags."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from squab.findings import Finding, Severity
from squab.job import Cushion, Job
from squab.supply.fill import FilmUse, can_be_sucked_down, foam_thickness_mm
from squab.supply.needs import CoverNeeds
from squab.units import MM_PER_INCH

THIN_FILM_MM = 0.001 * MM_PER_INCH
BAG_OPENING_MM2 = 25.0 * MM_PER_INCH**2
BAG_VOLUME_MM3 = 125.0 * MM_PER_INCH**3


def supply_findings(job: Job, covers: Sequence[CoverNeeds], order_mm: Mapping[str, float]) -> list[Finding]:
    """Collect the stage's findings."""
    cushions = {c.id: c for c in job.cushions}
    found = [*_cloth_findings(job, covers, order_mm)]
    for needs in covers:
        found += _film_findings(job, cushions[needs.cushion_id], needs)
    return found


def _cloth_findings(job: Job, covers: Sequence[CoverNeeds], order_mm: Mapping[str, float]) -> Iterator[Finding]:
    used = {cloth_id for n in covers for cloth_id in n.cloth_area_mm2}
    for cloth in job.cloths:
        place = f"cloth {cloth.name or cloth.id}"
        if cloth.id in order_mm and cloth.price_per_m is None:
            yield Finding(
                "SUP-001", Severity.WARN, place,
                "it has no price, so it is counted at nothing and the price is too low by its cost",
                "give its price a metre, or 0 where it is the customer's own",
            )  # fmt: skip
        if cloth.id in used and cloth.id not in order_mm:
            yield Finding(
                "SUP-002", Severity.WARN, place,
                "pieces are cut from it but there is no cutting plan, so none is bought or charged",
                "see what the cutting plan found wrong with it, and put that right",
            )  # fmt: skip


def _film_findings(job: Job, cushion: Cushion, needs: CoverNeeds) -> Iterator[Finding]:
    cloth = job.cloth(cushion.cover.panel_cloth)
    place = f"{cushion.name}: fill"
    if needs.film == "none" and cushion.cover.film and cushion.fill.quick_drying and cloth.open_weave:
        yield Finding(
            "SUP-003", Severity.NOTE, place,
            "film was asked for, but quick-drying foam in open cloth is meant to drain: none is bought",
            "leave film out, or choose a cloth that is not open",
        )  # fmt: skip
    elif needs.film == "none" and cushion.cover.film and not can_be_sucked_down(cushion.fill):
        kind = cushion.fill.kind.replace("_", " ")
        yield Finding(
            "SUP-004", Severity.NOTE, place,
            f"film was asked for to stuff it, but {kind} does not go flat under suction: none is bought",
            "put it in by hand through the opening, or make the zip longer",
        )  # fmt: skip
    if cushion.fill.keep_dry and cushion.fill.quick_drying and cloth.open_weave:
        yield Finding(
            "SUP-005", Severity.WARN, place,
            "it is to be kept dry, yet it is quick-drying foam in open cloth, which lets the wet through",
            "choose one: a close cloth with film, or open cloth that drains",
        )  # fmt: skip
    if needs.film != "none" and bag_is_child_hazard(
        job.prices.film_thickness_mm, _bag_opening_mm2(cushion, needs), _bag_volume_mm3(cushion, needs)
    ):
        yield _bag_finding(job, needs)


def bag_is_child_hazard(film_mm: float, opening_mm2: float, volume_mm3: float) -> bool:
    """Tell whether a bag is so thin and so large that it takes a warning for children.

    Film under 0.001 in, and an opening over 25 sq in or over 125 cu in inside (California
    Business and Professions Code, 22200 to 22202). Other countries have rules of their own.

    Examples
    --------
    >>> inch = 25.4
    >>> [bag_is_child_hazard(0.02, side * 5 * inch**2, 0.0) for side in (5, 6)]
    [False, True]
    """
    large = opening_mm2 > BAG_OPENING_MM2 * (1 + 1e-9) or volume_mm3 > BAG_VOLUME_MM3 * (1 + 1e-9)
    return film_mm < THIN_FILM_MM and large


def _bag_opening_mm2(cushion: Cushion, needs: CoverNeeds) -> float:
    width, depth, thickness = needs.fill_size_mm
    return min(width, depth) * foam_thickness_mm(cushion.fill, thickness)


def _bag_volume_mm3(cushion: Cushion, needs: CoverNeeds) -> float:
    return needs.fill_area_mm2 * foam_thickness_mm(cushion.fill, needs.fill_size_mm[2])


BAG_TYPE_POINTS = (10, 24)
"""Height of the warning's type, growing with the bag's length and width together (same code, 22202)."""


def _bag_finding(job: Job, needs: CoverNeeds) -> Finding:
    thin = f"{job.prices.film_thickness_mm:g} mm"
    small, large = BAG_TYPE_POINTS
    use: Mapping[FilmUse, str] = {"stuffing": "the bag it is stuffed in", "dry": "its film", "dry_vented": "its film"}
    return Finding(
        "SUP-006", Severity.WARN, f"{needs.name}: film",
        f"{use[needs.film]} is {thin} thick; thinner than {THIN_FILM_MM:.4f} mm and this large it wants a "
        f"warning for children, in type of {small} to {large} point as the bag is larger",
        "use thicker film, or print the warning; keep bags from children; check the rule for your country and use",
    )  # fmt: skip
