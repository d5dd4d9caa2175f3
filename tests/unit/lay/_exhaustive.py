"""The least length of a small lay in whole millimetres, proved by a constraint solver.

A reference for the bound: it shares no code with the search or the bound, and knows only
rectangles. A strip's parts have whole lengths, so it is the length of some lay in any case.
"""

from __future__ import annotations

import random
from dataclasses import replace

from ortools.sat.python import cp_model

from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem, LayStrip
from tests.unit.lay._jobs import rectangle


def least_length_mm(problem: LayProblem, longest: int = 400, seconds: float = 5.0) -> int | None:
    """The least length, or None where it was not proved in time (or nothing fits)."""
    model = cp_model.CpModel()
    g, width = int(problem.gap_mm), int(problem.usable_width_mm)
    end = model.new_int_var(0, longest, "end")
    starts = _Starts(model, problem, longest)
    us, vs = [], []
    for piece in problem.pieces:
        w, h = (int(x) for x in piece.outline.max(axis=0) - piece.outline.min(axis=0))
        chosen = []
        for turn in piece.turns_deg:
            on = model.new_bool_var("")
            du, dv = (w, h) if turn % 180 == 0 else (h, w)
            u, v = model.new_int_var(0, max(0, width - du), ""), model.new_int_var(0, longest, "")
            if du > width:
                model.add(on == 0)
            us.append(model.new_optional_interval_var(u, du + g, u + du + g, on, ""))
            vs.append(model.new_optional_interval_var(v, dv + g, v + dv + g, on, ""))
            model.add(v + dv <= end).only_enforce_if(on)
            # The frame's origin from the lower left corner of the turned outline.
            au, av = {0: (0, 0), 90: (h, 0), 180: (w, h), 270: (0, w)}[turn]
            starts.hold(piece.phase, u + au, v + av, on)
            chosen.append(on)
        model.add_exactly_one(chosen)
    for strip in problem.strips:
        _strip(model, strip, g, width, longest, end, us, vs)
    model.add_no_overlap_2d(us, vs)
    model.minimize(end)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = seconds
    return int(solver.objective_value) if solver.solve(model) == cp_model.OPTIMAL else None


class _Starts:
    """Places on the repeat: one anchor a group, one start of the pattern."""

    def __init__(self, model: cp_model.CpModel, problem: LayProblem, longest: int) -> None:
        self.model, self.problem, self.longest = model, problem, longest
        reach = int(max(problem.lattice.across_mm or 1, problem.lattice.along_mm or 1))
        self.reach = reach
        self.at = [self._known(x) for x in problem.pattern_at]
        self.anchors: dict[str, list[cp_model.IntVar]] = {}

    def _known(self, x: float | None) -> cp_model.IntVar:
        low, high = (0, self.reach) if x is None else (int(x), int(x))
        return self.model.new_int_var(low, high, "")

    def hold(self, phase: LayPhase | None, u: cp_model.LinearExpr, v: cp_model.LinearExpr, on: cp_model.IntVar) -> None:
        lattice = self.problem.lattice
        if phase is None:
            return
        if phase.group not in self.anchors:
            pinned = self.problem.anchors.get(phase.group, (None, None))
            self.anchors[phase.group] = [self._known(x) for x in pinned]
        a, b = self.anchors[phase.group]
        m = self.model.new_int_var(-50, 50, "")
        n = self.model.new_int_var(-50, 50, "")
        if phase.off_p is not None and lattice.across_mm is not None:
            shift = self.at[0] + phase.sign_p * a + int(phase.off_p) + m * int(lattice.across_mm)
            self.model.add(u == shift).only_enforce_if(on)
        if phase.off_q is not None and lattice.along_mm is not None:
            drop = int(lattice.drop_mm) if lattice.across_mm is not None else 0
            shift = self.at[1] + phase.sign_q * b + int(phase.off_q) + n * int(lattice.along_mm) + m * drop
            self.model.add(v == shift).only_enforce_if(on)


def _strip(
    model: cp_model.CpModel, strip: LayStrip, g: int, width: int, longest: int, end: cp_model.IntVar,
    us: list[cp_model.IntervalVar], vs: list[cp_model.IntervalVar],
) -> None:  # fmt: skip
    total, thick = int(strip.s1_mm - strip.s0_mm), int(strip.z1_mm - strip.z0_mm)
    ends, least = int(2 * strip.end_mm), min(int(strip.least_part_mm), total)
    lengths = []
    for _ in range(strip.most_parts):
        used = model.new_bool_var("")
        length = model.new_int_var(0, total, "")
        model.add(length >= least).only_enforce_if(used)
        model.add(length == 0).only_enforce_if(~used)
        lengths.append(length)
        ways = []
        for across in sorted({t % 180 == 0 for t in strip.turns_deg}):
            on = model.new_bool_var("")
            u, v = model.new_int_var(0, width, ""), model.new_int_var(0, longest, "")
            long_end, long_start = model.new_int_var(0, longest + width + ends + g, ""), u if across else v
            size = model.new_int_var(0, total + ends + g, "")
            model.add(size == length + ends + g).only_enforce_if(on)
            model.add(long_end == long_start + size)
            lying = model.new_optional_interval_var(long_start, size, long_end, on, "")
            other = v if across else u
            standing = model.new_optional_interval_var(other, thick + g, other + thick + g, on, "")
            us.append(lying if across else standing)
            vs.append(standing if across else lying)
            model.add((long_end if across else other + thick + g) <= width + g).only_enforce_if(on)
            model.add((other + thick if across else long_end - g) <= end).only_enforce_if(on)
            ways.append(on)
        model.add(sum(ways) == used)
    model.add(sum(lengths) == total)


def random_problem(seed: int) -> LayProblem:
    """A small job: any kind of cloth, pinned or free, with or without strips and a gap."""
    r = random.Random(seed)
    width, gap = r.randint(40, 90), r.choice((0, 0, 1, 3))
    lattice = r.choice(
        (Lattice(), Lattice(r.randint(7, 30)), Lattice(None, r.randint(9, 40)),
         Lattice(r.randint(9, 30), r.randint(9, 40)),
         _half_drop(r))
    )  # fmt: skip
    kinds = [_random_piece(r, width, i) for i in range(r.randint(1, 3))]
    pieces = [replace(r.choice(kinds), key=f"p{i}") for i in range(r.randint(2, 5))]
    strips = [_random_strip(r, width, i) for i in range(r.choice((0, 0, 1, 2)))]
    anchors = {"a": (_maybe(r), _maybe(r))} if r.random() < 0.4 else {}
    at = (_maybe(r), _maybe(r)) if r.random() < 0.4 else (None, None)
    return LayProblem("small", float(width), lattice, tuple(pieces), tuple(strips), anchors, at, float(gap))


def _half_drop(r: random.Random) -> Lattice:
    drop = r.randint(5, 20)
    return Lattice(r.randint(9, 30), 2 * drop, drop)


def _maybe(r: random.Random) -> float | None:
    return float(r.randint(0, 30)) if r.random() < 0.5 else None


def _random_piece(r: random.Random, width: int, i: int) -> LayPiece:
    w, h = r.randint(6, width), r.randint(6, 40)
    turns = r.choice(((0,), (0,), (0, 180), (0, 90), (0, 90, 180, 270)))
    phase = None
    if r.random() < 0.7:
        offs = [float(r.randint(0, 30)) if r.random() < 0.8 else None for _ in range(2)]
        signs = [r.choice((1, 1, -1)) for _ in range(2)]
        phase = LayPhase(r.choice("aab"), offs[0], offs[1], signs[0], signs[1])
    return LayPiece(f"k{i}", rectangle(w, h), turns, phase)


def _random_strip(r: random.Random, width: int, i: int) -> LayStrip:
    turns = r.choice(((0,), (90,), (0, 90)))
    thick, end = r.randint(4, 12), r.choice((0, 1, 3))
    most, least = r.randint(1, 4), r.randint(5, 20)
    longest = (width - 2 * end) * (most - 1 if most > 1 else 1)
    total = r.randint(min(10, longest), max(10, min(longest, 150)))
    return LayStrip(f"s{i}", 0.0, float(total), 0.0, float(thick), float(end), float(least), turns, None, most)


def main(first: int, last: int, seconds: float = 2.0) -> None:
    """Print the proved least lengths of small jobs, by seed, as JSON."""
    import json

    proved = {}
    for seed in range(first, last):
        length = least_length_mm(random_problem(seed), seconds=seconds)
        if length is not None:
            proved[seed] = length
    print(json.dumps(proved))


if __name__ == "__main__":
    import sys

    main(int(sys.argv[1]), int(sys.argv[2]))
