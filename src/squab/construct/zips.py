"""The zip panel: how it is made, how far it returns, and whether it can be sewn at all."""

from __future__ import annotations

from squab.construct.ground import Ground
from squab.construct.records import ZipPanelPlan
from squab.construct.rules import (
    LOOSE_FILLS,
    SQUASHY_FILLS,
    TWO_SLIDERS_FROM_MM,
    ZIP_MARGIN_MM,
)
from squab.construct.shape import narrowest_mm
from squab.findings import Finding, Severity
from squab.job import ZipMaking


def strip_cut_mm(making: ZipMaking, thickness_mm: float, allowance_mm: float, tape_mm: float, trim_mm: float) -> float:
    """Cut width of each strip of a zip panel.

    Fold and split: one strip, boxing cut width + tape (+ trim). Two single strips: half the
    boxing's cut width + half a tape. Two doubled: the boxing's cut width each, folded. Lapped:
    as single, and half a tape more for the lap.
    """
    boxing_cut = thickness_mm + 2 * allowance_mm
    if making == "fold_and_split":
        return boxing_cut + tape_mm + trim_mm
    if making == "two_doubled":
        return boxing_cut
    single = boxing_cut / 2 + tape_mm / 2
    return single + (lap_mm(tape_mm) / 2 if making == "lapped" else 0.0)


def lap_mm(tape_mm: float) -> float:
    """How far the upper strip of a lapped zip covers the lower: half a tape."""
    return tape_mm / 2


def made_up_mm(thickness_mm: float, allowance_mm: float) -> float:
    """Width of the made-up (and trimmed) zip panel: the boxing's cut width."""
    return thickness_mm + 2 * allowance_mm


def zip_plan(ground: Ground, panel_mm: float, return_mm: float) -> ZipPanelPlan:
    """Put the making of the zip panel into figures."""
    z = ground.cover.zip
    zip_mm = panel_mm + z.longer_than_panel_mm
    sliders = z.sliders or (2 if zip_mm > TWO_SLIDERS_FROM_MM else 1)
    in_bottom = z.place == "bottom"
    return ZipPanelPlan(
        making=z.making,
        panel_mm=panel_mm,
        zip_mm=zip_mm,
        sliders=sliders,
        strip_count=0 if in_bottom else (1 if z.making == "fold_and_split" else 2),
        strip_cut_mm=0.0
        if in_bottom
        else strip_cut_mm(z.making, ground.thickness_mm, ground.allowance_mm, z.tape_mm, z.trim_mm),
        made_up_mm=0.0 if in_bottom else made_up_mm(ground.thickness_mm, ground.allowance_mm),
        stitched_from_fold_mm=z.tape_mm / 2,
        return_mm=return_mm,
        place="bottom" if in_bottom else "boxing",
    )


def zip_findings(ground: Ground, opening_mm: float) -> list[Finding]:
    """Say what is wrong with the zip: too thin a boxing, a foam that cannot pass, a print that will not match."""
    z, found = ground.cover.zip, []
    margin = (ground.thickness_mm - z.tape_mm) / 2
    if z.place == "boxing" and margin < ZIP_MARGIN_MM - 1e-6:
        found.append(
            ground.finding(
                "CON-010",
                Severity.STOP,
                "[[zip panel]]",
                f"finished [[boxing]] is {ground.shown(ground.thickness_mm)}, zip tape {ground.shown(z.tape_mm)}: "
                f"{ground.shown(max(margin, 0.0))} shows each side of the tape, "
                f"{ground.shown(ZIP_MARGIN_MM)} is needed",
                "put the zip in the bottom panel (zip place `bottom`), "
                f"or use a tape of {ground.shown(max(ground.thickness_mm - 2 * ZIP_MARGIN_MM, 0.0))} or less",
            )
        )
    need = foam_needs_mm(ground)
    if opening_mm < need - 1e-6:
        found.append(
            ground.finding(
                "CON-013",
                Severity.STOP,
                "[[zip panel]]",
                f"the opening is {ground.shown(opening_mm)} long; this fill needs {ground.shown(need)} to pass, "
                "even folded in two",
                "let the [[zip panel]] return further round the corners, or put the zip on a longer side",
            )
        )
    matched = ground.zip_cloth.pattern.changes_along and z.place == "boxing" and z.making == "fold_and_split"
    if matched and ground.cover.matching.back != "ignore":
        found.append(
            ground.finding(
                "CON-015",
                Severity.WARN,
                "[[zip panel]]",
                f"fold and split swallows {ground.shown(z.tape_mm)} of the print, so it cannot run on across the zip",
                "make it of two strips (zip making `two single`), each cut in its own place on the print",
            )
        )
    return found


def foam_needs_mm(ground: Ground) -> float:
    """The least opening through which the fill can be put, flat or folded in two.

    A block goes through flat where the opening is nine tenths of its least width b, and folded
    in two where it is half of b and once and a quarter the thickness, for it squashes on the
    way. Soft fill needs two thirds of that, loose fill a hand's breadth. Common practice, no
    source.
    """
    kind = ground.cushion.fill.kind
    if kind in LOOSE_FILLS:
        return 150.0
    b, h = narrowest_mm(ground.sized.fill), ground.sized.sizes.fill.thickness_mm
    squash = 2 / 3 if kind in SQUASHY_FILLS else 1.0
    return min(0.9 * b, b / 2 + 1.25 * h) * squash
