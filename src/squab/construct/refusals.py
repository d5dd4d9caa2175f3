"""Numbers of a cushion that make no sense, or that no cover can be sewn from."""

from __future__ import annotations

import math
from dataclasses import replace

from squab.construct.boxing import zip_side
from squab.construct.ground import Ground
from squab.construct.panels import is_handed, own_hand
from squab.construct.rules import MOST_ALLOWANCE_MM, MOST_EASE_MM
from squab.findings import Finding, Severity
from squab.job import Cover, Cushion, Job, Notching
from squab.units import format_length


def number_findings(job: Job, cushion: Cushion) -> list[Finding]:
    """Refuse numbers that are not lengths at all, before anything is worked out from them."""
    cover, found = cushion.cover, []

    def stop(code: str, part: str, message: str, hint: str) -> None:
        place = f"{cushion.name or cushion.id}: {part}"
        found.append(Finding(code, Severity.STOP, place, message, hint, cushion.line))

    wanted = {
        "thickness": cushion.thickness_mm,
        "seam allowance": cover.allowance_mm,
        "zip tape": cover.zip.tape_mm,
        "piping cord": cover.piping.cord_mm,
        "notch spacing on straights": cover.notching.straight_every_mm,
        "notch spacing on curves": cover.notching.curve_every_mm,
    }
    for what, value in wanted.items():
        if not (math.isfinite(value) and value > 0):
            stop("CON-001", what, f"is {value:g} mm; it must be more than nought", f"give the {what}")
    optional: dict[str, float | None] = {
        "fit": cover.fit_mm, "fit in thickness": cover.fit_thickness_mm, "zip return": cover.zip.return_mm,
        "boxing to spare": cover.boxing_spare_mm, "piping to spare": cover.piping.spare_mm,
        "piping strip": cover.piping.strip_mm, "zip longer than its panel": cover.zip.longer_than_panel_mm,
        **{f"clearance at {side}": taken for side, taken in cushion.clearance_mm.items()},
    }  # fmt: skip
    for what, given in optional.items():
        if given is not None and not (math.isfinite(given) and given >= 0):
            stop(
                "CON-001", what, f"is {given:g} mm; it cannot be less than nought", f"give the {what}, or leave it out"
            )
    if cushion.count < 1:
        stop("CON-052", "count", f"is {cushion.count}; at least 1 is made", "give how many are made")
    if cover.allowance_mm > MOST_ALLOWANCE_MM:
        text = (
            f"is {format_length(cover.allowance_mm, job.style)}; "
            f"at most {format_length(MOST_ALLOWANCE_MM, job.style)} is sewn"
        )
        stop("CON-003", "seam allowance", text, "12 mm (1/2 in) is usual")
    if not 0 <= cover.boxing_ease_mm <= MOST_EASE_MM + 1e-6:
        text = (
            f"boxing shorter than the panel's seam by {format_length(cover.boxing_ease_mm, job.style)}; "
            f"up to {format_length(MOST_EASE_MM, job.style)} can be eased in"
        )
        stop("CON-040", "boxing ease", text, "0 makes it exactly the panel's length")
    found += _cloth_findings(job, cushion)
    return found


def _cloth_findings(job: Job, cushion: Cushion) -> list[Finding]:
    cover, found = cushion.cover, []
    known = {c.id for c in job.cloths}
    for field in ("panel_cloth", "bottom_cloth", "boxing_cloth", "zip_cloth", "piping_cloth"):
        wanted = getattr(cover, field)
        if wanted and wanted not in known:
            message = f"{field} is {wanted!r}, which is no cloth of this job"
            hint = f"its cloths are: {', '.join(sorted(known))}"
            place = f"{cushion.name or cushion.id}: cloth"
            found.append(Finding("CON-051", Severity.STOP, place, message, hint, cushion.line))
    if not known:
        place = f"{cushion.name or cushion.id}: cloth"
        found.append(Finding("CON-051", Severity.STOP, place, "the job has no cloth", "give a cloth", cushion.line))
    return found


def settled(cushion: Cushion) -> tuple[Cover, str]:
    """The cover with the program's own notch depth made to fit a narrow allowance, and what to say of it."""
    cover = cushion.cover
    notching, half = cover.notching, cover.allowance_mm / 2
    usual = Notching()
    if notching.way == "inward" and notching.depth_mm == usual.depth_mm and notching.depth_mm > half + 1e-6:
        depth = math.floor(half * 2) / 2
        return replace(cover, notching=replace(notching, depth_mm=depth)), f"{depth:g}"
    return cover, ""


def make_findings(ground: Ground) -> list[Finding]:
    """Judge the make of cover against the cushion and its cloths."""
    return [*_notch_findings(ground), *_direction_findings(ground), *_mitre_findings(ground)]


def _notch_findings(ground: Ground) -> list[Finding]:
    notching, found = ground.cover.notching, []
    half = ground.allowance_mm / 2
    _, clamped = settled(ground.cushion)
    if clamped:
        found.append(
            ground.finding(
                "CON-021", Severity.NOTE, "notches", f"are {clamped} mm deep, to stay within half the allowance"
            )
        )
    elif notching.way == "inward" and notching.depth_mm > half + 1e-6:
        found.append(
            ground.finding(
                "CON-020",
                Severity.STOP,
                "notches",
                f"are {ground.shown(notching.depth_mm)} deep; half the seam allowance is {ground.shown(half)}",
                f"make them {ground.shown(half)} or less, or mark them outward or in chalk",
            )
        )
    cloths = {c.id: c for c in (ground.top_cloth, ground.bottom_cloth, ground.boxing_cloth)}
    if notching.way == "inward":
        for cloth in cloths.values():
            if cloth.frays or cloth.open_weave:
                what = "frays" if cloth.frays else "is of open weave"
                message = f"are cut inward, but {cloth.name or cloth.id} {what}"
                hint = "mark them in chalk, or cut them outward"
                found.append(ground.finding("CON-022", Severity.WARN, "notches", message, hint))
    return found


def _zip_is_turned(ground: Ground) -> bool:
    """Tell whether the zip panel is on a side whose strip is to be turned a quarter."""
    if ground.cover.zip.place != "boxing":
        return False
    a, b = zip_side(ground)
    (x0, y0), (x1, y1) = ground.seam.point_at(a), ground.seam.point_at(b)
    return abs(y1 - y0) > abs(x1 - x0)


def _direction_findings(ground: Ground) -> list[Finding]:
    found = []
    cushion, cloth = ground.cushion, ground.boxing_cloth
    if not cloth.one_way and _zip_is_turned(ground):
        cloth = ground.zip_cloth
    if ground.cover.matching.sides_along and cloth.one_way:
        what = "pile" if cloth.pile else "one-way cloth"
        found.append(
            ground.finding(
                "CON-043",
                Severity.STOP,
                "[[boxing]]",
                f"the side strips are to be turned along the [[bolt]], but {cloth.name or cloth.id} is {what}, "
                "which runs down on every side",
                "leave the side strips across the [[bolt]] (match sides_along = false)",
            )
        )
    if cushion.turned_over and is_handed(ground.seam):
        found.append(
            ground.finding(
                "CON-042",
                Severity.NOTE,
                "shape",
                "turned over, left becomes right: it can be turned over only by changing places with its opposite "
                "hand, so both panels are cut front to front",
            )
        )
    if cushion.hand and is_handed(ground.seam) and cushion.hand != own_hand(ground.seam):
        other = own_hand(ground.seam)
        found.append(
            ground.finding(
                "CON-053",
                Severity.NOTE,
                "hand",
                f"is called {cushion.hand}, but its narrow part lies on the {other} as you face the seat",
                "check it on the picture: as you sit in it, left and right change places",
            )
        )
    return found


def _mitre_findings(ground: Ground) -> list[Finding]:
    found = []
    cloth = ground.top_cloth
    for side in ground.cushion.mitred:
        if side not in ground.seam.side_names():
            names = ", ".join(ground.seam.side_names())
            message = f"mitred at {side!r}, which is no side of this cushion"
            found.append(ground.finding("CON-050", Severity.STOP, "[[mitre]]", message, f"its sides are: {names}"))
        elif cloth.pattern.kind == "warp_stripe" and not cloth.pattern.is_even and cloth.one_way:
            found.append(
                ground.finding(
                    "CON-050",
                    Severity.STOP,
                    "[[mitre]]",
                    f"at {side}: {cloth.name or cloth.id} is one-way and its stripe is uneven, so it cannot meet "
                    "its neighbour at a [[mitre]]",
                    "use an even stripe or a plain cloth, or let the neighbours butt square",
                )
            )
    return found
