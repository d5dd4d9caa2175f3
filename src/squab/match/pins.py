"""Pins: a named line of the pattern, or the motif, that must stand on a cushion's centre line."""

from __future__ import annotations

from collections.abc import Mapping

from squab.cloth import Pattern
from squab.construct.records import Construction
from squab.findings import Finding, Severity
from squab.job import Cushion, Job
from squab.match.congruence import ways_that_change
from squab.match.parts import Part, main_bottom, main_top
from squab.match.relations import GROUND, Relation, Tie, cushion_centre
from squab.plane import Placement, Point

MOTIF = "motif"


def pins_of(
    job: Job, construction: Construction, parts: Mapping[str, Part]
) -> tuple[tuple[Relation, ...], tuple[Finding, ...]]:
    """The pins of every cushion, as relations to the ground, and what is wrong with them."""
    covers = {c.cushion_id: c for c in construction.covers}
    pins: list[Relation] = []
    findings: list[Finding] = []
    for cushion in job.cushions:
        wishes, cover = cushion.cover.matching, covers.get(cushion.id)
        if cover is None or not (wishes.pin_across or wishes.pin_along):
            continue
        cx, cy = cushion_centre(cover)
        panels: list[tuple[Part, Point]] = []
        top, bottom = main_top(cover), main_bottom(cover, cushion.turned_over)
        panels += [(parts[top.id], (cx, cy))] if top else []
        panels += [(parts[bottom.id], (-cx, cy))] if bottom and cushion.turned_over else []
        for part, centre in panels:
            pin, found = _pin(cushion, part, centre)
            pins += [pin] if pin else []
            findings += found
    return tuple(pins), tuple(findings)


def _pin(cushion: Cushion, part: Part, centre: Point) -> tuple[Relation | None, list[Finding]]:
    pattern, wishes = part.cloth.pattern, cushion.cover.matching
    p, q = Placement(part.turn_deg, 0.0, 0.0).point(centre)
    offs: list[float | None] = []
    findings = []
    for way, name, at in (("p", wishes.pin_across, p), ("q", wishes.pin_along, q)):
        line = _line(pattern, name) if name and way in ways_that_change(pattern) else None
        if name and line is None and way in ways_that_change(pattern):
            findings.append(_unknown(cushion, part, "pin_across" if way == "p" else "pin_along", name))
        offs.append(None if line is None else line - at)
    if offs == [None, None]:
        return None, findings
    return Relation(f"{part.id} pinned", "pin", GROUND, part.id, (Tie(offs[0], offs[1]),), (-1.0,)), findings


def _line(pattern: Pattern, name: str) -> float | None:
    found = pattern.line_mm(name)
    if found is None and name == MOTIF and pattern.kind == "print":
        return 0.0
    return found


def _unknown(cushion: Cushion, part: Part, setting: str, name: str) -> Finding:
    known = [line for line, _ in part.cloth.pattern.lines]
    known += [MOTIF] if part.cloth.pattern.kind == "print" else []
    ways = (
        f"name one of: {', '.join(known)}" if known else f"give {part.cloth.name} a line of that name, or take it out"
    )
    return Finding(
        "MAT-003", Severity.WARN, cushion.name,
        f"{setting} asks for the line `{name}`, but {part.cloth.name} has no line of that name; it was left free",
        ways, cushion.line,
    )  # fmt: skip
