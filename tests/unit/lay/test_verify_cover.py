"""Lays make up the covers that were constructed; every way of not doing so is found."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from squab.construct import construct
from squab.construct.records import Construction, CushionCover, Piece, Strip
from squab.files import read_job
from squab.job import Job
from squab.lay.problem import lay_problems
from squab.lay.records import Bound, ClothPlan, Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.lay.verify import verify
from squab.lay.verify_cover import verify_cover
from squab.match import plan_match
from squab.match.records import MatchPlan

EXAMPLES = Path(__file__).parents[3] / "examples"


@dataclass(frozen=True)
class Worked:
    job: Job
    construction: Construction
    match: MatchPlan
    plans: Mapping[str, ClothPlan]

    def faults(self) -> set[str]:
        return {f.kind for f in verify_cover(self.job, self.construction, self.match, self.plans)}


@cache
def worked(name: str) -> Worked:
    job = read_job((EXAMPLES / name).read_bytes()).value
    assert job is not None
    construction = construct(job).value
    assert construction is not None
    match = plan_match(job, construction).value
    assert match is not None
    problems = lay_problems(job, construction, match).value
    assert problems is not None
    return Worked(job, construction, match, {p.cloth_id: one_under_another(p) for p in problems})


def one_under_another(problem: LayProblem) -> ClothPlan:
    """Every piece in a row of its own, strips whole, each at its place on the pattern: no search needed.

    Strips may stand out over the selvage, which is not what is looked at here.
    """
    at = (problem.pattern_at[0] or 31.0, problem.pattern_at[1] or 17.0)
    parts: list[LayPiece | LayStrip] = [*problem.pieces, *problem.strips]
    groups = {p.phase.group for p in parts if p.phase is not None}
    pins = {g: problem.anchors.get(g, (None, None)) for g in groups}
    anchors = {g: (5.0 if a is None else a, 3.0 if b is None else b) for g, (a, b) in pins.items()}
    laid: list[Placed] = []
    for i, part in enumerate(parts):
        u, v = on_pattern(problem, part.phase, at, anchors, 1000.0 * i)
        whole = (part.s0_mm, part.s1_mm) if isinstance(part, LayStrip) else None
        laid.append(Placed(part.key, part.turns_deg[0], u, v, whole))
    lay = Lay(tuple(laid), anchors, at, 1000.0 * len(laid))
    return ClothPlan(problem.cloth_id, problem, lay, Bound(0.0, "none"), 0.0, lay.length_mm, lay.length_mm, None)


def on_pattern(
    problem: LayProblem,
    phase: LayPhase | None,
    at: tuple[float, float],
    anchors: Mapping[str, tuple[float, float]],
    v: float,
) -> tuple[float, float]:
    """Some place at about v that the phase allows, one repeat further across for every other piece."""
    if phase is None:
        return 0.0, v
    lattice, (a, b) = problem.lattice, anchors[phase.group]
    m = round(v / 1000.0) % 2
    u = at[0] + phase.sign_p * a + (phase.off_p or 0.0) + m * (lattice.across_mm or 0.0)
    if phase.off_q is None or lattice.along_mm is None:
        return u, v
    q = at[1] + phase.sign_q * b + phase.off_q + (m * lattice.drop_mm if lattice.across_mm else 0.0)
    return u, q + lattice.along_mm * round((v - q) / lattice.along_mm)


@pytest.mark.parametrize("name", sorted(p.name for p in EXAMPLES.glob("*.toml")))
def test_every_example_makes_up_its_covers(name: str) -> None:
    w = worked(name)
    assert verify_cover(w.job, w.construction, w.match, w.plans) == ()
    for plan in w.plans.values():
        assert not {f.kind for f in verify(plan.problem, plan.lay)} & {"phase", "anchor", "pattern start", "missing"}


Damage = Callable[[Worked], Worked]
PADS = "chair-pads.toml"
BAY = "bay-window.toml"
EARED = "eared-seats.toml"


def cover_changed(change: Callable[[CushionCover], CushionCover]) -> Damage:
    return lambda w: replace(
        w, construction=Construction((change(w.construction.covers[0]), *w.construction.covers[1:]))
    )


def first_notched(cover: CushionCover, change: Callable[[Piece], Piece]) -> CushionCover:
    at = next(i for i, p in enumerate(cover.pieces) if len(p.notches) > 2)
    return replace(cover, pieces=tuple(change(p) if i == at else p for i, p in enumerate(cover.pieces)))


def placed(change: Callable[[tuple[Placed, ...]], tuple[Placed, ...]], cloth: int = 0) -> Damage:
    def damage(w: Worked) -> Worked:
        cloth_id = list(w.plans)[cloth]
        plan = w.plans[cloth_id]
        lay: Lay = replace(plan.lay, placed=change(plan.lay.placed))
        return replace(w, plans={**w.plans, cloth_id: replace(plan, lay=lay)})

    return damage


def swapped_cloths(w: Worked) -> Worked:
    a, b = w.plans
    return replace(w, plans={a: w.plans[b], b: w.plans[a]})


def without_a_notch(p: Piece) -> Piece:
    return replace(p, notches=p.notches[1:])


def with_a_notch_moved(p: Piece) -> Piece:
    n = p.notches[1]
    along = (-n.outward[1], n.outward[0])
    moved = replace(n, at=(n.at[0] + 5 * along[0], n.at[1] + 5 * along[1]))
    return replace(p, notches=(p.notches[0], moved, *p.notches[2:]))


def seam_shortened(c: CushionCover) -> CushionCover:
    s = c.seams[0]
    short = replace(s.b, path=s.b.path.part(0.0, s.b.path.length - 4.0 - s.ease_mm))
    return replace(c, seams=(replace(s, b=short), *c.seams[1:]))


def grown_piece(w: Worked) -> Worked:
    cloth_id = next(iter(w.plans))
    plan = w.plans[cloth_id]
    first, *rest = plan.problem.pieces
    problem = replace(plan.problem, pieces=(replace(first, outline=first.outline * np.float64(0.99)), *rest))
    return replace(w, plans={**w.plans, cloth_id: replace(plan, problem=problem)})


def grown_strip(w: Worked) -> Worked:
    cloth_id = next(c for c, plan in w.plans.items() if plan.problem.strips)
    plan = w.plans[cloth_id]
    first, *rest = plan.problem.strips
    problem = replace(plan.problem, strips=(replace(first, z1_mm=first.z1_mm - 2.0), *rest))
    return replace(w, plans={**w.plans, cloth_id: replace(plan, problem=problem)})


def half_turned(all_placed: tuple[Placed, ...]) -> tuple[Placed, ...]:
    return (replace(all_placed[0], turn_deg=(all_placed[0].turn_deg + 180) % 360), *all_placed[1:])


def piping_turned(w: Worked) -> Worked:
    piping = {s.id for s in w.construction.strips if isinstance(s, Strip) and s.kind == "piping"}

    def turn(all_placed: tuple[Placed, ...]) -> tuple[Placed, ...]:
        at = next(i for i, p in enumerate(all_placed) if p.key.split("#")[0] in piping or p.key in piping)
        return tuple(replace(p, turn_deg=p.turn_deg + 90) if i == at else p for i, p in enumerate(all_placed))

    return placed(turn)(w)


def all_tops_shifted(all_placed: tuple[Placed, ...]) -> tuple[Placed, ...]:
    return tuple(replace(p, u_mm=p.u_mm + 7.0) if "top" in p.key else p for p in all_placed)


DAMAGES: dict[str, tuple[str, Damage, str]] = {
    "a notch forgotten": (BAY, cover_changed(lambda c: first_notched(c, without_a_notch)), "unpaired notch"),
    "a notch 5 mm along": (BAY, cover_changed(lambda c: first_notched(c, with_a_notch_moved)), "notches apart"),
    "a seam 4 mm short on one side": (PADS, cover_changed(seam_shortened), "seam lengths"),
    "a piece fewer than ordered": (PADS, placed(lambda y: y[1:]), "count"),
    "a piece of no cover": (PADS, placed(lambda y: (*y, Placed("hat", 0, 0, 0))), "stranger"),
    "cloths mixed up": (PADS, swapped_cloths, "other cloth"),
    "a piece cut one in a hundred small": (PADS, grown_piece, "outline"),
    "a strip cut 2 mm narrow": (PADS, grown_strip, "outline"),
    "a half turn in pile": (EARED, placed(half_turned), "direction"),
    "piping cut both ways": (EARED, piping_turned, "piping direction"),
    "every top 7 mm off its stripe": (BAY, placed(all_tops_shifted), "drift"),
}  # fmt: skip


@pytest.mark.parametrize("name", DAMAGES)
def test_every_damage_is_found(name: str) -> None:
    example, damage, kind = DAMAGES[name]
    assert kind in damage(worked(example)).faults()
