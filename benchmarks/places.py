"""Whether the outlines matched both ways can be laid as short as their target at all.

    python -m benchmarks.places [--step MM] [--only NAME] [--length MM]

A matched piece lies on the points of the repeat, so a lay of the matched pieces alone is a choice of
points. Where the repeat starts across matters only by which points each kind has across the cloth: every
such case is tried, at the starts where it changes and between them. Along, starts `step` apart are tried on a
cloth a step longer, which holds every lay from a start up to a step before. If a constraint solver shows
for all of them that no choice keeps the pieces a gap apart, no lay of the whole job is so short.
"""

from __future__ import annotations

import argparse
from dataclasses import dataclass
from typing import Any

import numpy as np
from ortools.sat.python import cp_model
from shapely import Polygon
from shapely.affinity import translate

from benchmarks.instances import outlines
from squab.lay.records import LayProblem
from squab.plane import Placement

SURE_S = 20.0
"""A start that is not decided in this time counts as one that may do."""


@dataclass(frozen=True)
class Way:
    """One kind of piece at one turn, about its place on the pattern."""

    kind: int
    outline: Any

    @property
    def box(self) -> tuple[float, float, float, float]:
        u0, v0 = self.outline.min(axis=0)
        u1, v1 = self.outline.max(axis=0)
        return float(u0), float(v0), float(u1), float(v1)


def ways_of(problem: LayProblem) -> tuple[list[Way], list[int]]:
    """Every way each kind of matched piece may lie, and how many there are of each kind."""
    counts: dict[tuple[bytes, tuple[int, ...]], int] = {}
    ways: list[Way] = []
    for piece in problem.pieces:
        if piece.phase is None:
            continue
        assert (piece.phase.off_p, piece.phase.off_q) == (0.0, 0.0)
        kind = (piece.outline.tobytes(), piece.turns_deg)
        if kind not in counts:
            ways += [Way(len(counts), Placement(t, 0.0, 0.0).points(piece.outline)) for t in piece.turns_deg]
        counts[kind] = counts.get(kind, 0) + 1
    return ways, list(counts.values())


def starts_across(problem: LayProblem, ways: list[Way]) -> list[float]:
    """Where some way gains or loses a place across, and between each two of those."""
    across = problem.lattice.across_mm
    assert across is not None
    turning = sorted({round(x % across, 6) for w in ways for x in (-w.box[0], problem.usable_width_mm - w.box[2])})
    between = [(a + b) / 2 % across for a, b in zip(turning, [*turning[1:], turning[0] + across], strict=True)]
    return [*turning, *between]


class Apart:
    """Whether one way keeps the gap to another, so far off; each asked once."""

    def __init__(self, ways: list[Way], gap_mm: float) -> None:
        self.polygons = [Polygon(w.outline) for w in ways]
        self.gap = gap_mm
        self.known: dict[tuple[int, int, int, int], bool] = {}

    def __call__(self, a: int, b: int, du: float, dv: float) -> bool:
        key = (a, b, round(1000 * du), round(1000 * dv))
        if key not in self.known:
            off = translate(self.polygons[b], du, dv).distance(self.polygons[a])
            self.known[key] = off >= self.gap - 1e-6
        return self.known[key]


def may_do(
    problem: LayProblem, ways: list[Way], counts: list[int], apart: Apart, start: tuple[float, float], length_mm: float
) -> bool:
    """Tell whether the matched pieces may go on a cloth of this length, the repeat starting at (u, v)."""
    lattice, width = problem.lattice, problem.usable_width_mm
    assert lattice.across_mm is not None
    assert lattice.along_mm is not None
    model = cp_model.CpModel()
    placed: list[tuple[int, float, float, Any]] = []
    for w, way in enumerate(ways):
        u0, v0, u1, v1 = way.box
        for m in range(-9, int(width / lattice.across_mm) + 9):
            u = start[0] + m * lattice.across_mm
            if u + u0 < -1e-6 or u + u1 > width + 1e-6:
                continue
            for n in range(-9, int(length_mm / lattice.along_mm) + 9):
                v = start[1] + m * lattice.drop_mm + n * lattice.along_mm
                if v + v0 >= -1e-6 and v + v1 <= length_mm + 1e-6:
                    placed.append((w, u, v, model.new_bool_var("")))
    reach = 2 * max(float(np.hypot(*np.abs(w.outline).max(axis=0))) for w in ways) + problem.gap_mm
    for i, (a, ua, va, one) in enumerate(placed):
        for b, ub, vb, other in placed[:i]:
            if abs(ub - ua) < reach and abs(vb - va) < reach and not apart(a, b, ub - ua, vb - va):
                model.add_bool_or([one.negated(), other.negated()])
    for kind, count in enumerate(counts):
        model.add(sum(x for w, _, _, x in placed if ways[w].kind == kind) == count)
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = SURE_S
    return bool(solver.solve(model) != cp_model.INFEASIBLE)


def none_as_short(problem: LayProblem, length_mm: float, step_mm: float) -> bool:
    """Tell whether it is shown that no lay is as short as this."""
    ways, counts = ways_of(problem)
    apart = Apart(ways, problem.gap_mm)
    along = problem.lattice.along_mm
    assert along is not None
    # the drop makes of a start a repeat further across one further along: across one repeat is enough, along all of it
    starts = [(u, float(v)) for u in starts_across(problem, ways) for v in np.arange(0.0, along, step_mm)]
    return not any(may_do(problem, ways, counts, apart, start, length_mm + step_mm) for start in starts)


def main() -> None:
    """Print a line for each set of outlines matched both ways."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", default="")
    parser.add_argument("--step", type=float, default=20.0)
    parser.add_argument("--length", type=float)
    asked = parser.parse_args()
    for instance in outlines():
        problem = instance.problem
        if problem.lattice.across_mm is None or problem.lattice.along_mm is None or asked.only not in instance.name:
            continue
        length = asked.length or instance.target.length_mm
        assert length is not None
        shown = none_as_short(problem, length, asked.step)
        said = "no lay is as short: shown" if shown else "not shown to be out of reach"
        print(f"{instance.name}  {length:.1f} mm  {said}", flush=True)


if __name__ == "__main__":
    main()
