"""Planning again at the table: what is cut stays, the rest is laid on what is left.

What lies on the cloth is named by its number in the lay, for a strip's parts share their key.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Collection
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely

from squab.cloth import Cloth, Flaw
from squab.errors import LayError
from squab.findings import Finding, Outcome, Severity
from squab.lay.order import squared_off_mm
from squab.lay.problem import part_id_of
from squab.lay.records import ClothPlan, Lay, LayPhase, LayPiece, LayProblem, Placed
from squab.lay.search import Progress, search
from squab.plane import Placement, Points
from squab.units import format_cloth_length

SLICES = 24
"""Cloth taken by a piece that is no rectangle is kept clear in so many slices across."""
CLEAR_MM = 1e-6


def lay_again(
    plan: ClothPlan,
    cloth: Cloth,
    *,
    done: Collection[int] = (),
    spoiled: Collection[int] = (),
    flaws: Collection[Flaw] = (),
    move: Literal["least", "all"] = "least",
    seconds: float,
    seed: int = 0,
    workers: int = 1,
    report: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Outcome[ClothPlan]:
    """Lay what is not cut yet on what is left of the cloth.

    Parameters
    ----------
    plan
        The plan being cut.
    done
        Numbers, in `plan.lay.placed`, of what has been cut and is good: it stays where it is.
    spoiled
        Numbers of what has been cut wrong: its cloth is gone, and it is laid once more.
    flaws
        Flaws found on the table, in the cloth's frame; no piece is laid on them.
    move
        `least` leaves every piece in its place that can stay there; `all` lays whatever is not
        cut anew, which may take less cloth.
    seconds, seed, workers, report, stop
        As for `squab.lay.search.search`.

    Returns
    -------
    Outcome[ClothPlan]
        The plan with the same pieces in the same order, the flaws and the spoiled cloth among its
        problem's flaws; cloth that was to be cut double is opened. Its bound is the first plan's,
        which still holds. None where the rest has no place. Findings: LAY-012 a flaw lies on a piece
        that is cut, LAY-013 the rest has no place, LAY-014 what it takes beside the first plan,
        LAY-010 the bolt is too short.

    Raises
    ------
    LayError
        If a number is not one of the lay's, or a piece is said to be both good and spoiled.
    """
    _check_numbers(plan, done, spoiled)
    cuts = [_outline(plan.problem, p) for p in plan.lay.placed]
    marred = {k for k, uv in enumerate(cuts) if any(_on(uv, f) for f in flaws)}
    findings = [_cut_on_flaw(cloth, plan.lay.placed[k]) for k in sorted(marred & set(done))]
    moved = _moved(len(cuts), set(done), set(spoiled), marred, move)
    if not moved and not flaws:
        return Outcome(plan, tuple(findings))
    stays = [cuts[k] for k in range(len(cuts)) if k not in moved]
    clear = tuple(f for f in flaws if not any(_on(cuts[k], f) for k in done))
    holes = tuple(h for k in sorted(spoiled) for h in _hole(cuts[k], stays))
    problem = replace(plan.problem, pattern_at=plan.lay.pattern_at, flaws=(*plan.problem.flaws, *clear, *holes))
    if not moved:
        return Outcome(replace(plan, problem=problem), tuple(findings))
    rest = _rest(replace(problem, flaws=(*plan.problem.flaws, *flaws, *holes)), plan.lay, moved, cuts)
    try:
        found = search(rest.problem, seconds=seconds, seed=seed, workers=workers, report=report, stop=stop)
    except LayError as bad:
        hint = "lay more of it anew, take the flaw out, or start on another length of the same lot"
        return Outcome(None, (*findings, Finding("LAY-013", Severity.STOP, cloth.name, str(bad), hint)))
    lay = _joined(problem, plan.lay, rest, found)
    if move == "all":  # never longer than where everything stays that can
        least = lay_again(plan, cloth, done=done, spoiled=spoiled, flaws=flaws, seconds=seconds / 4, seed=seed)
        if least.value is not None and least.value.lay.length_mm < lay.length_mm:
            return least
    return Outcome(_plan(plan, problem, cloth, lay), (*findings, *_cost(plan, cloth, lay)))


@dataclass(frozen=True)
class _Rest:
    """What is to be laid: each piece of its problem by the number it has in the lay."""

    problem: LayProblem
    numbers: dict[str, int]


def _check_numbers(plan: ClothPlan, done: Collection[int], spoiled: Collection[int]) -> None:
    known = range(len(plan.lay.placed))
    for k in (*done, *spoiled):
        if k not in known:
            raise LayError(f"the lay has pieces 0 to {len(known) - 1}; {k} is none of them")
    both = set(done) & set(spoiled)
    if both:
        raise LayError(f"piece {min(both)} cannot be both cut well and cut wrong")


def _moved(count: int, done: set[int], spoiled: set[int], marred: set[int], move: Literal["least", "all"]) -> list[int]:
    if move == "all":
        return [k for k in range(count) if k not in done]
    return sorted(spoiled | (marred - done))


def _part(problem: LayProblem, placed: Placed) -> tuple[Points, tuple[int, ...], LayPhase | None, str]:
    """Outline in its own frame, turns, phase and cushion of a piece, or of a part of a strip."""
    for piece in problem.pieces:
        if piece.key == placed.key:
            return piece.outline, piece.turns_deg, piece.phase, piece.cushion
    strip = next(s for s in problem.strips if s.key == placed.key)
    a, b = placed.part_mm or (strip.s0_mm, strip.s1_mm)
    x0, x1 = a - strip.end_mm, b + strip.end_mm
    outline = np.array([[x0, strip.z0_mm], [x1, strip.z0_mm], [x1, strip.z1_mm], [x0, strip.z1_mm]])
    return outline, strip.turns_deg, strip.phase, strip.cushion


def _outline(problem: LayProblem, placed: Placed) -> Points:
    """A placed piece's cut line on the cloth."""
    outline = _part(problem, placed)[0]
    return Placement(placed.turn_deg, placed.u_mm, placed.v_mm).points(outline)


def _on(uv: Points, flaw: Flaw) -> bool:
    cut = shapely.Polygon(uv).buffer(-CLEAR_MM)
    return bool(cut.intersects(shapely.Polygon(flaw.corners)))


def _slices(uv: Points, gap_mm: float) -> list[tuple[float, float, float, float]]:
    """Rectangles, across the cloth, that cover a cut outline and the gap round it."""
    (u0, v0), (u1, v1) = uv.min(axis=0), uv.max(axis=0)
    cut = shapely.Polygon(uv)
    whole = abs(cut.area - (u1 - u0) * (v1 - v0)) < 1e-6 * max(1.0, cut.area)
    edges = [v0, v1] if whole else np.linspace(v0, v1, SLICES + 1).tolist()
    found = []
    for low, high in itertools.pairwise(edges):
        band = cut.intersection(shapely.box(u0 - 1, low, u1 + 1, high))
        if not band.is_empty:
            left, below, right, above = band.bounds
            found.append((left - gap_mm, below - gap_mm, right + gap_mm, above + gap_mm))
    return found


def _hole(cut: Points, stays: list[Points]) -> list[Flaw]:
    """Cloth that is gone with a piece cut wrong; beside what stays, no more than is surely gone."""
    others = shapely.STRtree([shapely.Polygon(uv).buffer(-CLEAR_MM) for uv in stays])
    found = []
    for rect in _slices(cut, 0.0):
        hole: tuple[float, float, float, float] | None = rect
        if len(others.query(shapely.box(*rect), predicate="intersects")):
            hole = _within(cut, rect)
        if hole is not None:
            found.append(Flaw(*hole, what="cut wrong"))
    return found


def _within(cut: Points, rect: tuple[float, float, float, float]) -> tuple[float, float, float, float] | None:
    """The part of a slice that is within the cut at its lower and its upper edge alike."""
    left, below, right, above = rect
    for v in (below + CLEAR_MM, above - CLEAR_MM):
        across = shapely.Polygon(cut).intersection(shapely.LineString([(left - 1, v), (right + 1, v)]))
        if across.is_empty:
            return None
        left, right = max(left, across.bounds[0]), min(right, across.bounds[2])
    return (left, below, right, above) if right - left > CLEAR_MM else None


def _rest(problem: LayProblem, lay: Lay, moved: list[int], cuts: list[Points]) -> _Rest:
    """The problem of what is to be laid: what stays is cloth to keep clear of, its anchors are settled."""
    stays = [k for k in range(len(cuts)) if k not in set(moved)]
    taken = tuple(Flaw(*r, what="cut") for k in stays for r in _slices(cuts[k], problem.gap_mm))
    settled = {phase.group for k in stays if (phase := _part(problem, lay.placed[k])[2]) is not None}
    anchors = {**problem.anchors, **{g: lay.anchors[g] for g in settled if g in lay.anchors}}
    pieces, numbers = [], {}
    for k in moved:
        outline, turns, phase, cushion = _part(problem, lay.placed[k])
        key = f"{lay.placed[k].key} {k}"
        numbers[key] = k
        pieces.append(LayPiece(key, outline, turns, phase, cushion))
    rest = replace(
        problem, pieces=tuple(pieces), strips=(), anchors=anchors, flaws=(*problem.flaws, *taken), bolt_mm=None
    )
    return _Rest(rest, numbers)


def _joined(problem: LayProblem, lay: Lay, rest: _Rest, found: Lay) -> Lay:
    """The whole lay: what stays, and what has been laid anew, in the first lay's order."""
    placed = list(lay.placed)
    for p in found.placed:
        k = rest.numbers[p.key]
        placed[k] = replace(p, key=lay.placed[k].key, part_mm=lay.placed[k].part_mm)
    length = max(float(_outline(problem, p)[:, 1].max()) for p in placed)
    settled = {g: found.anchors.get(g, at) for g, at in lay.anchors.items()}
    return Lay(tuple(placed), settled, lay.pattern_at, length)


def _plan(plan: ClothPlan, problem: LayProblem, cloth: Cloth, lay: Lay) -> ClothPlan:
    from squab.lay.verify import verify

    problem = replace(problem, bolt_mm=None)
    faults = verify(problem, lay)
    assert not faults, "; ".join(f"{f.kind} {', '.join(f.keys)}: {f.message}" for f in faults)
    needs = squared_off_mm(lay.length_mm, cloth)
    bolt_length = None if cloth.bolt is None else needs
    return replace(
        plan, problem=problem, lay=lay, needs_mm=max(plan.needs_mm, lay.length_mm), bolt_length_mm=bolt_length,
        surrenders=(), fold=None,
    )  # fmt: skip


def _cost(plan: ClothPlan, cloth: Cloth, lay: Lay) -> list[Finding]:
    style = plan.problem.style
    more = lay.length_mm - plan.lay.length_mm
    findings = []
    if math.fabs(more) >= 0.5:
        amount = format_cloth_length(abs(more) * cloth.cut_scale[1], style)
        word = "more" if more > 0 else "less"
        findings.append(
            Finding("LAY-014", Severity.NOTE, cloth.name, f"laid again, it takes {amount} {word} cloth than before")
        )
    bolt = None if cloth.bolt is None else cloth.bolt.length_mm
    needs = squared_off_mm(lay.length_mm, cloth)
    if bolt is not None and needs > bolt + CLEAR_MM:
        short, all_of_it = format_cloth_length(needs - bolt, style), format_cloth_length(needs, style)
        findings.append(
            Finding(
                "LAY-010", Severity.WARN, cloth.name,
                f"the bolt is {short} too short: laid again, all of it needs {all_of_it}, squared off at both ends",
                "lay all that is not cut anew, or cut the piece from another length of the same lot",
            )
        )  # fmt: skip
    return findings


def _cut_on_flaw(cloth: Cloth, placed: Placed) -> Finding:
    return Finding(
        "LAY-012", Severity.WARN, cloth.name, f"{part_id_of(placed.key)} is cut, and the flaw is on it",
        "call it cut wrong if it can't be used; it stays as it is until then",
    )  # fmt: skip
