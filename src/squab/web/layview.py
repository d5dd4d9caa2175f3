"""A cloth's lay as plain numbers for the browser, and a lay in which pieces were moved by hand, verified.

Frame: the cloth's, (u, v), as the lay has it. The browser draws the cloth from its layout, keeps a
dragged piece to places that the match allows, and shows at once what is wrong; whether a moved
lay is sound is said here alone, by the verifier.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from squab.draw.laid import Laid, cushion_of, laid_parts, layers_said
from squab.draw.sheets_common import on_bolt
from squab.errors import LayError
from squab.lay.records import ClothPlan, Fault, Lay, LayPhase, LayStrip, Placed
from squab.lay.verify import verify
from squab.plane import Placement, Points
from squab.units import format_cloth_length
from squab.web.scene import cloth_look
from squab.words import say
from squab.worked import WorkedJob

Json = dict[str, Any]


def lay_view(worked: WorkedJob, cloth_id: str) -> Json:
    """Everything the browser needs to draw a cloth's lay and to check a piece that is moved.

    Raises
    ------
    KeyError
        If nothing of the job is laid on such a cloth.
    """
    plan = worked.plans[cloth_id]
    problem, lay, cloth = plan.problem, plan.lay, worked.job.cloth(cloth_id)
    return {
        "cloth": cloth_id,
        "look": cloth_look(cloth),
        "width": round(problem.usable_width_mm, 3),
        "length": round(lay.length_mm, 3),
        "lattice": {
            "across": problem.lattice.across_mm,
            "along": problem.lattice.along_mm,
            "drop": problem.lattice.drop_mm,
        },
        "pattern_at": list(lay.pattern_at),
        "lines": None if problem.creep is None else list(problem.creep.lines_mm),
        "anchors": {group: list(at) for group, at in sorted(_anchors(plan).items())},
        "gap": problem.gap_mm,
        "bolt": problem.bolt_mm,
        "folded": None if plan.fold is None else round(plan.fold.until_mm, 3),
        "flaws": [{"u0": f.u0_mm, "v0": f.v0_mm, "u1": f.u1_mm, "v1": f.v1_mm, "what": f.what} for f in problem.flaws],
        "pieces": _pieces(worked, plan),
        "facts": lay_facts(worked, plan),
        "selvage": say("left [[selvage]]", worked.job.words),
        "inches": worked.job.style.system == "imperial",
    }


def lay_facts(worked: WorkedJob, plan: ClothPlan) -> Json:
    """What is said of a lay: its length, what nothing can beat, the handbook's, what to order."""
    style, lengths = worked.job.style, on_bolt(worked.job, plan)

    def said(length_mm: float) -> str:
        return format_cloth_length(length_mm, style)

    by_rows = lengths.by_rows_mm
    return {
        "uses": said(lengths.lay_mm),
        "least": format_cloth_length(lengths.least_mm, style, to="no more"),
        "rows": said(by_rows) if by_rows else None,
        "saved": said(by_rows - lengths.lay_mm) if by_rows and by_rows > lengths.lay_mm else None,
        "order": said(plan.order_mm),
    }


def _anchors(plan: ClothPlan) -> dict[str, tuple[float, float]]:
    """Each group's anchor: as pinned where it is pinned, else as the lay chose it."""
    anchors = {}
    for group in {*plan.problem.anchors, *plan.lay.anchors}:
        a, b = plan.problem.anchors.get(group, (None, None))
        chosen = plan.lay.anchors.get(group, (0.0, 0.0))
        anchors[group] = (chosen[0] if a is None else a, chosen[1] if b is None else b)
    return anchors


def _pieces(worked: WorkedJob, plan: ClothPlan) -> list[Json]:
    laid = {(x.key, x.part_mm): x for x in laid_parts(worked, plan.cloth_id)}
    outlines = {p.key: p.outline for p in plan.problem.pieces}
    strips = {s.key: s for s in plan.problem.strips}
    layers = layers_said(plan, back_up=worked.job.marked == "back_up")
    phases: dict[str, LayPhase | None] = {p.key: p.phase for p in plan.problem.pieces}
    phases |= {s.key: s.phase for s in plan.problem.strips}
    turns = {p.key: p.turns_deg for p in plan.problem.pieces} | {s.key: s.turns_deg for s in plan.problem.strips}
    pieces = []
    for placed in plan.lay.placed:
        strip = strips.get(placed.key)
        outline = outlines[placed.key] if strip is None else part_outline(strip, placed)
        pieces.append(
            {
                "key": placed.key,
                "part_mm": list(placed.part_mm) if placed.part_mm else None,
                **_named(worked, laid.get((placed.key, placed.part_mm)), placed.key),
                "outline": (np.round(outline, 3) + 0.0).tolist(),
                "layer": layers.get(placed.key, ""),
                "turn": placed.turn_deg,
                "turns": list(turns[placed.key]),
                "u": placed.u_mm,
                "v": placed.v_mm,
                "phase": _phase(phases[placed.key]),
            }
        )
    return pieces


def _named(worked: WorkedJob, laid: Laid | None, key: str) -> Json:
    """What a piece is called: its cushion and its own name, with a figure where there are several."""
    if laid is None:
        return {"part": key, "number": 1, "cushion": "", "name": key}
    cushion = cushion_of(worked, laid.of.cushion_id)
    name = say(laid.of.name, worked.job.words)
    if laid.parts > 1:
        name = f"{name}, part {laid.part} of {laid.parts}"
    if laid.count > 1:
        name = f"{name} ({laid.number} of {laid.count})"
    return {"part": laid.part_id, "number": laid.number, "cushion": cushion.name if cushion else "", "name": name}


def _phase(phase: LayPhase | None) -> Json | None:
    if phase is None:
        return None
    return {
        "group": phase.group, "p": phase.off_p, "q": phase.off_q, "signs": [phase.sign_p, phase.sign_q],
        "at": list(phase.at_mm),
    }  # fmt: skip


def part_outline(strip: LayStrip, placed: Placed) -> Points:
    """The cut outline of one part of a strip, in the strip's own frame."""
    a, b = placed.part_mm or (strip.s0_mm, strip.s1_mm)
    x0, x1 = a - strip.end_mm, b + strip.end_mm
    return np.array([(x0, strip.z0_mm), (x1, strip.z0_mm), (x1, strip.z1_mm), (x0, strip.z1_mm)])


def moved_lay(plan: ClothPlan, moved: Iterable[Placed]) -> tuple[Lay, tuple[Fault, ...]]:
    """Put pieces where a hand laid them, and say what is wrong with the lay then.

    Parameters
    ----------
    moved
        New places, each named by its key and, for a strip, the very part that is laid.

    Returns
    -------
    tuple
        The lay with its new length, and the verifier's faults: none when it is sound.

    Raises
    ------
    LayError
        If something is moved that is not in the lay.
    """
    wanted = {(p.key, p.part_mm): p for p in moved}
    unknown = wanted.keys() - {(p.key, p.part_mm) for p in plan.lay.placed}
    if unknown:
        raise LayError(f"{min(k for k, _ in unknown)} is not in this lay, so it cannot be moved")
    placed = tuple(wanted.get((p.key, p.part_mm), p) for p in plan.lay.placed)
    lay = replace(plan.lay, placed=placed, length_mm=_length(plan, placed))
    return lay, verify(plan.problem, lay)


def _length(plan: ClothPlan, placed: Iterable[Placed]) -> float:
    """From the cut end to the last cut edge."""
    outlines: Mapping[str, Points] = {p.key: p.outline for p in plan.problem.pieces}
    strips = {s.key: s for s in plan.problem.strips}
    ends = [
        Placement(p.turn_deg, p.u_mm, p.v_mm)
        .points(outlines[p.key] if p.key in outlines else part_outline(strips[p.key], p))[:, 1]
        .max()
        for p in placed
    ]
    return float(max(ends, default=0.0))


def fault_said(fault: Fault, names: Mapping[str, str]) -> str:
    """A fault with the pieces' own names in place of their keys."""
    said = fault.message
    for key in sorted(fault.keys, key=len, reverse=True):
        said = said.replace(key, names.get(key, key))
    return said


__all__ = ["fault_said", "lay_facts", "lay_view", "moved_lay"]
