"""Lays make up the covers that were constructed; every way of not doing so is found."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from squab.cloth import Bolt, Flaw
from squab.construct import construct
from squab.construct.records import Construction, CushionCover, Piece, Strip
from squab.files import read_job
from squab.job import Job
from squab.lay.problem import lay_problems
from squab.lay.records import Bound, ClothPlan, Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
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

    def faults(self) -> set[tuple[str, str]]:
        """Kind, and the first of what it names."""
        return {(f.kind, f.keys[0]) for f in verify_cover(self.job, self.construction, self.match, self.plans)}


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


def problem_with(**fields: object) -> Damage:
    """The first cloth's problem, changed behind the cover's back."""

    def damage(w: Worked) -> Worked:
        cloth_id = next(iter(w.plans))
        plan = w.plans[cloth_id]
        problem = replace(plan.problem, **fields)  # type: ignore[arg-type]
        return replace(w, plans={**w.plans, cloth_id: replace(plan, problem=problem)})

    return damage


def mirrored_piece(w: Worked) -> Worked:
    plan = w.plans["velvet"]
    at = next(i for i, p in enumerate(plan.problem.pieces) if "top" in p.key)
    pieces = [
        replace(p, outline=(p.outline * (-1.0, 1.0))[::-1]) if i == at else p for i, p in enumerate(plan.problem.pieces)
    ]
    problem = replace(plan.problem, pieces=tuple(pieces))
    return replace(w, plans={**w.plans, "velvet": replace(plan, problem=problem)})


def joined_in_front(w: Worked) -> Worked:
    """A strip that may be joined in places only, joined where it may not."""
    strip = next(s for s in w.construction.strips if s.windows is not None)
    spots = np.linspace(strip.s0_mm, strip.s1_mm, 97)[1:-1]
    middle = next(x for x in spots if not any(a <= x <= b for a, b in strip.windows or ()))

    def cut(all_placed: tuple[Placed, ...]) -> tuple[Placed, ...]:
        at = next(i for i, p in enumerate(all_placed) if p.key.split("#")[0] == strip.id or p.key == strip.id)
        whole = all_placed[at]
        two = (
            replace(whole, part_mm=(strip.s0_mm, float(middle))),
            replace(whole, part_mm=(float(middle), strip.s1_mm)),
        )
        return (*all_placed[:at], *two, *all_placed[at + 1 :])

    return placed(cut)(w)


def flaw_forgotten(w: Worked) -> Worked:
    cloth_id = next(iter(w.plans))
    plan = replace(w.plans[cloth_id], bolt_length_mm=5000.0)
    cloths = tuple(
        replace(c, bolt=Bolt(5000.0, flaws=(Flaw.disc(300, 300, 20),))) if c.id == cloth_id else c for c in w.job.cloths
    )
    return replace(w, job=replace(w.job, cloths=cloths), plans={**w.plans, cloth_id: plan})


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


DAMAGES: dict[str, tuple[str, Damage, str, str]] = {
    "a notch forgotten": (
        BAY, cover_changed(lambda c: first_notched(c, without_a_notch)), "unpaired notch", "left.boxing",
    ),
    "a notch 5 mm along": (
        BAY, cover_changed(lambda c: first_notched(c, with_a_notch_moved)), "notches apart", "left.top",
    ),
    "a seam 4 mm short on one side": (PADS, cover_changed(seam_shortened), "seam lengths", "pad.top"),
    "a piece fewer than ordered": (PADS, placed(lambda y: y[1:]), "count", "pad.top"),
    "a piece more than ordered": (PADS, placed(lambda y: (*y, Placed("pad#13.top", 0, 0, 0))), "count", "pad.top"),
    "a piece of no cover": (PADS, placed(lambda y: (*y, Placed("hat", 0, 0, 0))), "stranger", "hat"),
    "cloths mixed up": (PADS, swapped_cloths, "other cloth", "pad#1.top"),
    "a cloth wider than it is": (BAY, problem_with(usable_width_mm=1500.0), "cloth", "ticking"),
    "the repeat of another cloth": (BAY, problem_with(lattice=Lattice(95.0)), "cloth", "ticking"),
    "the knife's gap forgotten": (BAY, problem_with(gap_mm=9.0), "cloth", "ticking"),
    "a flaw of the bolt forgotten": (BAY, flaw_forgotten, "cloth", "ticking"),
    "a piece cut one in a hundred small": (PADS, grown_piece, "outline", "pad#1.top"),
    "a piece cut as its mirror image": (EARED, mirrored_piece, "outline", "left.top"),
    "a strip cut 2 mm narrow": (PADS, grown_strip, "outline", "pad#1.boxing"),
    "boxing joined at the front": (BAY, joined_in_front, "join", "left.boxing"),
    "a panel off the grain": (BAY, placed(lambda y: (replace(y[0], turn_deg=90), *y[1:])), "grain", "left.top"),
    "a half turn in pile": (EARED, placed(half_turned), "direction", "left.top"),
    "piping cut both ways": (EARED, piping_turned, "piping direction", "left"),
    "every top 7 mm off its stripe": (BAY, placed(all_tops_shifted), "drift", "left.top"),
}  # fmt: skip


def test_nothing_is_wrong_before_it_is_damaged() -> None:
    assert all(worked(example).faults() == set() for example in {example for example, *_ in DAMAGES.values()})


@pytest.mark.parametrize("name", DAMAGES)
def test_every_damage_is_found(name: str) -> None:
    """By its kind, and by the name of the piece that it concerns."""
    example, damage, kind, key = DAMAGES[name]
    assert (kind, key) in damage(worked(example)).faults()
