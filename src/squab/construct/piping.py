"""Piping: the width of its strip, how its edge lies to the panel's, how much of it."""

from __future__ import annotations

import math

from squab.construct.ground import Ground
from squab.construct.records import PipingPlan, Strip
from squab.construct.rules import JOIN_ALLOWANCE_MM, STRAIGHT_PIPING_RADIUS_MM
from squab.findings import Finding, Severity
from squab.plane import Arc

MATTERS_MM = 0.6
"""Flange and allowance that differ by no more than this are sewn as equal."""


def wrap_mm(cord_mm: float, cloth_mm: float) -> float:
    """Length of cloth once round a cord, on the neutral line: pi (d + t)."""
    return math.pi * (cord_mm + cloth_mm)


def piping_strip_mm(cord_mm: float, cloth_mm: float, flange_mm: float) -> float:
    """Exact width of a piping strip: once round cord and cloth, and two flanges."""
    return wrap_mm(cord_mm, cloth_mm) + 2 * flange_mm


def piping_plan(ground: Ground) -> PipingPlan | None:
    """Work the piping out; None where no edge is piped."""
    p = ground.cover.piping
    rings = {"none": 0, "top": 1, "bottom": 1, "both": 2}[p.edges]
    if not rings:
        return None
    wrap = wrap_mm(p.cord_mm, ground.piping_cloth.thickness_mm)
    strip = p.strip_mm or _markable(wrap + 2 * ground.allowance_mm, ground.imperial)
    flange = (strip - wrap) / 2
    return PipingPlan(strip, wrap, flange, ground.allowance_mm - flange, ground.ring_mm, rings, p.cut)


def _markable(width_mm: float, imperial: bool) -> float:
    """A width that can be marked with a rule: the nearest sixteenth, or the next whole millimetre."""
    return round(width_mm / 25.4 * 16) / 16 * 25.4 if imperial else math.ceil(width_mm - 1e-6)


def piping_strip(ground: Ground, plan: PipingPlan) -> Strip:
    """Describe the piping of a cushion as strips to be cut: one for each ring, with its spare.

    A square-ended strip loses its own width at each 45-degree join, a bias-ended one
    2 SA sqrt 2: half of that is each end's.
    """
    p = ground.cover.piping
    return Strip(
        id=ground.piece_id("piping"),
        cushion_id=ground.cushion.id,
        kind="piping",
        name=ground.word("[[piping]]"),
        cloth_id=ground.piping_cloth.id,
        s0_mm=0.0,
        s1_mm=plan.ring_mm + p.spare_mm,
        z0_mm=0.0,
        z1_mm=plan.strip_cut_mm,
        end_mm=_lost_mm(ground, plan) / 2,
        count=plan.rings * ground.cushion.count,
        least_part_mm=min(p.least_part_mm, _longest_equal_part_mm(ground, plan)),
        seam_z=(plan.flange_mm, plan.strip_cut_mm - plan.flange_mm),
        turn_deg={"across": 0, "along": 90, "bias": 45}[p.cut],
    )


def _lost_mm(ground: Ground, plan: PipingPlan) -> float:
    """What a part of the strip loses at its two ends together."""
    p = ground.cover.piping
    return plan.strip_cut_mm if p.square_ends and p.cut != "bias" else 2 * JOIN_ALLOWANCE_MM * math.sqrt(2)


def _longest_equal_part_mm(ground: Ground, plan: PipingPlan) -> float:
    """The whole strip's length over the fewest equal parts that the cloth's width allows; inf where it cannot be."""
    turn = math.radians({"across": 0.0, "along": 90.0, "bias": 45.0}[ground.cover.piping.cut])
    width, wide = ground.piping_cloth.finished_width_mm, plan.strip_cut_mm
    total = plan.ring_mm + ground.cover.piping.spare_mm
    if math.cos(turn) < 1e-9:
        return math.inf
    longest = (width - wide * math.sin(turn)) / math.cos(turn) - _lost_mm(ground, plan)
    if longest <= 0:
        return math.inf
    parts = math.ceil(total / longest - 1e-9)
    return math.inf if parts < 2 else math.floor(total / parts * 10) / 10


def piping_findings(ground: Ground, plan: PipingPlan) -> list[Finding]:
    """Say where the strip's flange is not the allowance, or the curve too tight for a straight strip."""
    found = []
    if plan.flange_mm < 3.0:
        need = plan.wrap_mm + 2 * ground.allowance_mm
        left = ground.shown(max(plan.flange_mm, 0.0))
        found.append(
            ground.finding(
                "CON-030",
                Severity.STOP,
                "[[piping]]",
                f"a strip of {ground.shown(plan.strip_cut_mm)} leaves {left} of flange "
                f"beside the cord; at least {ground.shown(3.0)} is needed",
                f"cut the strip {ground.shown(need)} wide",
            )
        )
    elif abs(plan.inside_edge_mm) > MATTERS_MM:
        found.append(_flange_unlike_allowance(ground, plan))
    most = _longest_equal_part_mm(ground, plan)
    if most < ground.cover.piping.least_part_mm:
        found.append(
            ground.finding(
                "CON-033",
                Severity.NOTE,
                "[[piping]]",
                f"no strip shorter than {ground.shown(ground.cover.piping.least_part_mm)} was to be joined in, but the "
                f"width of the cloth allows none so long: equal strips of {ground.shown(most)} will do",
                "a wider cloth, or strips cut along the [[bolt]], would need fewer joins",
            )
        )
    tight = min((e.radius for e in ground.seam.edges if isinstance(e, Arc)), default=math.inf)
    if tight < STRAIGHT_PIPING_RADIUS_MM and plan.cut != "bias":
        found.append(
            ground.finding(
                "CON-032",
                Severity.NOTE,
                "[[piping]]",
                f"cut straight, it must go round a curve of {ground.shown(tight)} radius",
                "[[clip]] its flange closely there, or cut it on the bias",
            )
        )
    return found


def _flange_unlike_allowance(ground: Ground, plan: PipingPlan) -> Finding:
    inside = plan.inside_edge_mm
    lies = f"{ground.shown(abs(inside))} {'inside' if inside > 0 else 'beyond'} the panel's edge"
    if not ground.imperial:
        lies = f"{abs(inside):.1f} mm {'inside' if inside > 0 else 'beyond'} the panel's edge"
    return ground.finding(
        "CON-031",
        Severity.WARN,
        "[[piping]]",
        f"the strip's flange is {ground.shown(plan.flange_mm)}, the seam allowance {ground.shown(ground.allowance_mm)}",
        f"lay the strip's edge {lies}: the cord, not the raw edge, is the guide; or cut the strip "
        f"{ground.shown(_markable(plan.wrap_mm + 2 * ground.allowance_mm, ground.imperial))} wide",
    )
