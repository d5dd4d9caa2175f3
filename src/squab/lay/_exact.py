"""A few rigid rectangles: the least length itself, by a constraint solver's own proof of what cannot be.

Every place and size is rounded down to a grid. Pieces that were apart stay apart, and a lay that
fitted fits still, so the least length on the grid is no longer than the true one. Where places
and sizes lie on the grid nothing is lost.

A matched piece lies at its group's anchor plus its own offset plus whole repeats; off the grid,
the sum of two places rounded down may be a step short of their sum rounded down, and either is
allowed. Pieces of one group that count from its anchor in opposite directions are let free of
one another, which makes a lay only easier.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from squab.lay._demand import STEPS_MM, alike, is_rectangle, on_grid, row_step, turned
from squab.lay.records import LayPhase, LayPiece, LayProblem

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

MOST_PIECES = 16
FINE_MM = 0.1
"""The grid where no coarser one holds every size."""
ROUND_UP = 1e-5
"""A size that is whole but for the rounding of floats counts as whole, in steps."""
MOST_REPEATS = 10_000
LONGER = 1.3
"""Cloths longer than what is shown already by more than this are not looked at."""


def few_and_rigid(problem: LayProblem) -> bool:
    """Whether a job is small enough, and of rectangles only, to be worked out in full."""
    if problem.strips or not 1 < len(problem.pieces) <= MOST_PIECES:
        return False
    return all(is_rectangle(turned(p.outline, t)) for p in problem.pieces for t in p.turns_deg)


def exact_bound(problem: LayProblem, shown_mm: float, until: float) -> tuple[float, bool]:
    """The least length of a few rigid rectangles, or as much of it as is proved in time.

    `shown_mm` is a length that cannot be undercut; it is handed back where nothing more is shown.
    Works `until` (of `time.perf_counter`). The second value says whether it came to its end.
    """
    if not few_and_rigid(problem) or shown_mm <= 0:
        return shown_mm, False
    best, proved = shown_mm, False
    for step in _grids(problem):
        proved = False
        while not proved and time.perf_counter() < until:
            best, proved = _Model(problem, best, step).solved(until - time.perf_counter())
    return best, proved


def _down(x: float) -> int:
    return math.floor(x + ROUND_UP)


class _Model:
    """All lays of a problem on the grid, up to a length beyond which nobody looks."""

    def __init__(self, problem: LayProblem, shown_mm: float, step_mm: float) -> None:
        from ortools.sat.python import cp_model

        self.problem, self.shown = problem, shown_mm
        self.model = cp_model.CpModel()
        self.step = step_mm
        # The gap is counted into each piece, and into the cloth.
        self.width = _down((problem.usable_width_mm + problem.gap_mm) / self.step)
        self.highest = _down((shown_mm * LONGER + problem.gap_mm) / self.step) + 1
        least = max(0, _down((shown_mm + problem.gap_mm) / self.step) - 1)
        self.end = self.model.new_int_var(least, self.highest, "")
        self.anchors: dict[tuple[str, int, int], Any] = {}
        self.us: list[cp_model.IntervalVar] = []
        self.vs: list[cp_model.IntervalVar] = []
        self.sizes: list[tuple[int, int]] = []
        for piece, count in alike(problem.pieces):
            self._pieces(piece, count)
        self.model.add_no_overlap_2d(self.us, self.vs)
        self.model.add_cumulative(self.us, [h for _, h in self.sizes], self.end)
        self.model.add_cumulative(self.vs, [w for w, _ in self.sizes], self.width)
        self.model.minimize(self.end)

    def solved(self, seconds: float) -> tuple[float, bool]:
        """The least length proved within so many seconds, and whether it is the least on the grid."""
        from ortools.sat.python import cp_model

        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_time_in_seconds = seconds
        # Measured: without its linear programme the solver is done in half the time or less.
        solver.parameters.linearization_level = 0
        solver.parameters.use_timetabling_in_no_overlap_2d = True
        solver.parameters.use_energetic_reasoning_in_no_overlap_2d = True
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return self._length(self.highest + 1), False
        return self._length(math.ceil(solver.best_objective_bound - 1e-6)), status == cp_model.OPTIMAL

    def _length(self, steps: int) -> float:
        return max(self.shown, steps * self.step - self.problem.gap_mm)

    def _pieces(self, piece: LayPiece, count: int) -> None:
        """Pieces that are alike: each a place in one of its ways; in order along, as they may be swapped."""
        before = None
        for _ in range(count):
            low = self.model.new_int_var(0, self.highest, "")
            ways = list(_ways(piece))
            chosen = [self.model.new_bool_var("") for _ in ways] if len(ways) > 1 else [self.model.new_constant(1)]
            for way, on in zip(ways, chosen, strict=True):
                self._lie(piece.phase, way, low, on)
            self.model.add_exactly_one(chosen)
            if before is not None:
                self.model.add(low >= before)
            before = low

    def _lie(self, phase: LayPhase | None, way: tuple[float, ...], low: cp_model.IntVar, on: cp_model.IntVar) -> None:
        du, dv = (_down((x + self.problem.gap_mm) / self.step) for x in way[2:])
        if du > self.width:
            self.model.add(on == 0)
            return
        left = self.model.new_int_var(0, max(0, self.width - du), "")
        self.us.append(self.model.new_optional_fixed_size_interval_var(left, du, on, ""))
        self.vs.append(self.model.new_optional_fixed_size_interval_var(low, dv, on, ""))
        self.sizes.append((du, dv))
        self.model.add(low + dv <= self.end).only_enforce_if(on)
        if phase is not None:
            self._hold(phase, way, left, low, on)

    def _hold(
        self, phase: LayPhase, way: tuple[float, ...], left: cp_model.IntVar, low: cp_model.IntVar, on: cp_model.IntVar
    ) -> None:
        """Keep a piece on its places: a whole number of repeats from its group's anchor."""
        lattice = self.problem.lattice
        column = None
        if phase.off_p is not None and lattice.across_mm is not None:
            column = self._repeats(0, lattice.across_mm, phase.off_p + way[0], phase, left, on)
        if phase.off_q is None or lattice.along_mm is None:
            return
        rows = row_step(lattice.across_mm, lattice.along_mm, lattice.drop_mm)
        if rows is None:
            return
        row = self._repeats(1, rows, phase.off_q + way[1], phase, low, on)
        if column is not None and lattice.drop_mm:
            # A repeat along is so many rows, a column's drop so many more.
            each, drop = round(lattice.along_mm / rows), round(lattice.drop_mm / rows)
            whole = self.model.new_int_var(-MOST_REPEATS, MOST_REPEATS, "")
            self.model.add(row == each * whole + drop * column).only_enforce_if(on)

    def _repeats(
        self, axis: int, repeat: float, offset: float, phase: LayPhase, at: cp_model.IntVar, on: cp_model.IntVar
    ) -> cp_model.IntVar:
        """How many repeats from the anchor a place is."""
        anchor, from_mm, reach_mm = self._anchor(axis, phase)
        room = (self.width if axis == 0 else self.highest) * self.step
        first = math.floor((-offset - from_mm - reach_mm) / repeat) - 1
        last = math.ceil((room - offset - from_mm) / repeat) + 1
        count = self.model.new_int_var(first, last, "")
        places = [(offset + from_mm + m * repeat) / self.step for m in range(first, last + 1)]
        if all(abs(x - round(x)) < ROUND_UP for x in places):
            whole = round(repeat / self.step)
            self.model.add(at == anchor + round(places[0]) + whole * (count - first)).only_enforce_if(on)
            return count
        place = self.model.new_int_var(_down(places[0]), _down(places[-1]), "")
        self.model.add_element(count - first, [_down(x) for x in places], place)
        short = self.model.new_int_var(0, 1, "")
        self.model.add(at == anchor + place + short).only_enforce_if(on)
        return count

    def _anchor(self, axis: int, phase: LayPhase) -> tuple[Any, float, float]:
        """A group's anchor as a number to be found, what of it is known, and how far it may be beyond that."""
        lattice = self.problem.lattice
        pinned, start = self.problem.anchors.get(phase.group, (None, None))[axis], self.problem.pattern_at[axis]
        sign = (phase.sign_p, phase.sign_q)[axis]
        if pinned is not None and start is not None:
            return 0, start + sign * pinned, 0.0
        reach = lattice.across_mm if axis == 0 else lattice.along_mm
        assert reach is not None
        rows = row_step(lattice.across_mm, lattice.along_mm, lattice.drop_mm)
        if axis == 0 and rows is not None and lattice.along_mm is not None and self._counts_columns():
            reach *= round(lattice.along_mm / rows)  # so many columns on, the drop has come round
        key = (phase.group, axis, sign) if pinned is None else ("", axis, 1)
        if key not in self.anchors:
            self.anchors[key] = self.model.new_int_var(0, math.ceil(reach / self.step), "")
        return self.anchors[key], 0.0 if pinned is None else sign * pinned, reach + self.step

    def _counts_columns(self) -> bool:
        """Whether it matters in which column an anchor stands: some place along is known, or there are several anchors.

        One anchor alone may be taken a column back, and what hangs on it a drop along; of two that
        share their place along, only one may.
        """
        pins = self.problem.anchors
        if self.problem.pattern_at[1] is not None and any(b is not None for _, b in pins.values()):
            return True
        held = [p.phase for p in self.problem.pieces if p.phase is not None and p.phase.off_p is not None]
        free = {(p.group, p.sign_p) if pins.get(p.group, (None, None))[0] is None else ("", 1) for p in held}
        return len(free) > 1


def _offsets(problem: LayProblem, phase: LayPhase | None, way: tuple[float, ...]) -> Iterator[float]:
    """Where a piece lies beside its group's anchor, and how far it is from one such place to the next."""
    lattice = problem.lattice
    rows = row_step(lattice.across_mm, lattice.along_mm, lattice.drop_mm)
    if phase is not None and phase.off_p is not None and lattice.across_mm is not None:
        yield from (phase.off_p + way[0], lattice.across_mm)
    if phase is not None and phase.off_q is not None and rows is not None:
        yield from (phase.off_q + way[1], rows)


def _ways(piece: LayPiece) -> Iterator[tuple[float, float, float, float]]:
    """Lower left corner and size, each way a rectangle may lie, once."""
    seen = set()
    for turn in piece.turns_deg:
        uv = turned(piece.outline, turn)
        way = (*uv.min(axis=0).tolist(), *np.ptp(uv, axis=0).tolist())
        told = tuple(round(x, 6) for x in (way if piece.phase is not None else way[2:]))
        if told not in seen:
            seen.add(told)
            yield way[0], way[1], way[2], way[3]


def _grids(problem: LayProblem) -> list[float]:
    """The coarsest grid that holds every size, on which a solver is done soonest; then one for the places too."""
    sizes, places = {problem.gap_mm, problem.usable_width_mm}, set()
    for piece, _ in alike(problem.pieces):
        for way in _ways(piece):
            sizes |= set(way[2:])
            places |= set(_offsets(problem, piece.phase, way))
    first, finer = _grid(sizes), _grid(sizes | places)
    return [first, finer] if finer < first else [first]


def _grid(measures: set[float]) -> float:
    """The coarsest grid that holds all of these; a fine one where none does."""
    return next((step for step in STEPS_MM if all(on_grid(x, step) for x in measures)), FINE_MM)
