"""Loads: every line along the cloth crosses pieces that are together no longer than the cloth.

Where pieces lie along the cloth is left out; what stays is where each lies across, its whole width in
one place. For a given length a constraint solver looks for places across at which no line along the
cloth is overloaded. Where it shows that there are none, every lay is longer.

Places and sizes across are rounded down to a grid: pieces that were crossed by one line still are, and
matched pieces keep their places, but for a step where these are not on the grid. An outline counts by
the chords that lie wholly within each slice of it.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from squab.lay._demand import ROUND_UP, STEPS_MM, DemandOf, alike, down, is_rectangle, on_grid, slices, turned
from squab.lay.records import LayPhase, LayPiece, LayProblem
from squab.plane import Points

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

MOST_PIECES, MOST_KINDS = 80, 8
"""Of more pieces than this, or more kinds, nothing has been shown in any time that there was."""
COARSE_MM, FINE_MM = 4.0, 1.0
"""Grids tried first, and last where none holds every size: measured, on a finer one less is shown in the time."""
HEIGHTS_A_MM = 10
"""Heights are counted in so many parts of a millimetre."""
SLICES, MOST_LEVELS = 48, 4
"""Slices of an outline, and how many different heights they are rounded down to."""
FIRST_GAIN, LEAST_GAIN = 0.02, 0.0005
"""A cloth longer by such a part of the best bound is tried first, and last."""
SHARE = 0.6
"""The part of the time left that one length may take."""
LONGER = 1.5
"""Cloths longer than what is shown already by more than this are not looked at."""


@dataclass(frozen=True)
class _Way:
    """A piece in one of the ways it may lie, seen across: from `first` of its frame, so wide, loads on (from, to)."""

    first: float
    width_mm: float
    loads: tuple[tuple[float, float, float], ...]

    @property
    def even(self) -> bool:
        """Whether its mirror image loads the cloth alike."""
        told = {(round(a, 6), round(b, 6), h) for a, b, h in self.loads}
        return told == {(round(self.width_mm - b, 6), round(self.width_mm - a, 6), h) for a, b, h in self.loads}


def few_kinds(problem: LayProblem) -> bool:
    """Whether a job has pieces only, of few kinds."""
    if problem.strips or not 1 < len(problem.pieces) <= MOST_PIECES:
        return False
    return len(alike(problem.pieces)) <= MOST_KINDS


def load_solver() -> None:
    """Have the constraint solver at hand."""
    from ortools.sat.python import cp_model

    assert cp_model.CpSolver


def loads_bound(problem: LayProblem, shown_mm: float, until: float) -> float:
    """The longest cloth found on which some line along it is overloaded, wherever the pieces lie across.

    `shown_mm` is a length that cannot be undercut; it is handed back where nothing more is shown.
    Works `until` (of `time.perf_counter`): longer cloths by greater gains as long as that goes, then
    by smaller ones.
    """
    if not few_kinds(problem) or shown_mm <= 0:
        return shown_mm
    loads, best, gain, more = _Loads(problem), shown_mm, FIRST_GAIN, 2.0
    while gain > LEAST_GAIN and (left := until - time.perf_counter()) > 0:
        room = best * (1 + gain)
        if room <= LONGER * shown_mm and loads.too_short(room, SHARE * left):
            best, gain = room, gain * more
        else:
            gain, more = gain / 2, 1.0
    return best


class _Loads:
    """The pieces of one problem as they load lines along the cloth."""

    def __init__(self, problem: LayProblem) -> None:
        self.problem = problem
        self.across = DemandOf(problem, "across")
        along = DemandOf(problem, "along")
        # A line along keeps `on_line` between the pieces it crosses; rectangles are wider by `wider`.
        self.on_line, self.wider = along.on_bar, along.off_bar
        self.kinds = [(p, n, self._ways(p)) for p, n in alike(problem.pieces)]
        self.steps = (COARSE_MM, self._grid())

    def _ways(self, piece: LayPiece) -> list[_Way]:
        ways: dict[object, _Way] = {}
        for turn in piece.turns_deg:
            uv = turned(piece.outline, turn)
            way = self._way(uv)
            matched = piece.phase is not None and piece.phase.off_p is not None
            told = tuple((round(a, 6), round(b, 6), round(h, 6)) for a, b, h in way.loads)
            ways.setdefault((told, round(way.first, 6) if matched else 0.0), way)
        return list(ways.values())

    def _way(self, uv: Points) -> _Way:
        (u0, _), (width, height) = uv.min(axis=0).tolist(), np.ptp(uv, axis=0).tolist()
        if is_rectangle(uv):
            return _Way(u0, width + self.wider, ((0.0, width + self.wider, height + self.on_line),))
        # Beside rectangles grown by half of `wider` at both ends, outlines lie as much further on.
        return _Way(u0 + self.wider / 2, width, tuple(_layers(uv, self.on_line)))

    def _grid(self) -> float:
        sizes = {self.problem.usable_width_mm + self.wider}
        sizes |= {x for _, _, ways in self.kinds for way in ways for a, b, _ in way.loads for x in (a, b)}
        for step in STEPS_MM:
            if all(on_grid(x, step) for x in sizes):
                return step
        return FINE_MM

    def too_short(self, room_mm: float, seconds: float) -> bool:
        """Tell whether it is shown within so many seconds that no lay is as short as `room_mm`."""
        began, most = time.perf_counter(), down((room_mm + self.on_line) * HEIGHTS_A_MM)
        return any(
            _impossible(_Model(self, step, most).model, began + seconds - time.perf_counter()) for step in self.steps
        )


def _impossible(model: cp_model.CpModel, seconds: float) -> bool:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = max(0.0, seconds)
    # Measured: without its linear programme the solver is done soonest, and reasoning about energy only slows it.
    solver.parameters.linearization_level = 0
    return bool(solver.solve(model) == cp_model.INFEASIBLE)


class _Model:
    """All places across of the pieces at which no line along the cloth has more on it than `most`."""

    def __init__(self, loads: _Loads, step: float, most: int) -> None:
        from ortools.sat.python import cp_model

        self.loads, self.step = loads, step
        self.width = down((loads.problem.usable_width_mm + loads.wider) / step)
        self.model = cp_model.CpModel()
        self.spans: list[cp_model.IntervalVar] = []
        self.heights: list[int] = []
        self.anchors: dict[str, Any] = {}
        free = all(p.phase is None or p.phase.off_p is None for p, _, _ in loads.kinds)
        mirrored = free and all(way.even for _, _, ways in loads.kinds for way in ways)
        for number, (piece, count, ways) in enumerate(loads.kinds):
            places = self._pieces(piece, count, ways)
            if mirrored and number == 0 and len(ways) == 1:
                # Of a lay and its mirror image one is enough.
                self.model.add(places[0] + places[-1] <= self.width - down(ways[0].width_mm / self.step))
        self.model.add_cumulative(self.spans, self.heights, most)

    def _pieces(self, piece: LayPiece, count: int, ways: list[_Way]) -> list[Any]:
        """Pieces that are alike, in order across, as they may be swapped."""
        places: list[Any] = []
        for _ in range(count):
            left = self.model.new_int_var(0, self.width, "")
            chosen = [self.model.new_bool_var("") for _ in ways]
            self.model.add_exactly_one(chosen)
            for way, on in zip(ways, chosen, strict=True):
                self._lie(piece.phase, way, left, on)
            if places:
                self.model.add(places[-1] <= left)
            places.append(left)
        return places

    def _lie(self, phase: LayPhase | None, way: _Way, left: Any, on: Any) -> None:
        model, step = self.model, self.step
        model.add(left + down(way.width_mm / step) <= self.width).only_enforce_if(on)
        for a, b, height in way.loads:
            first, last = _up(a / step), down(b / step)
            if last > first:
                self.spans.append(model.new_optional_fixed_size_interval_var(left + first, last - first, on, ""))
                self.heights.append(down(height * HEIGHTS_A_MM))
        at = self.loads.across.start_of(phase)
        if at is not None:
            self._hold(at[0] + way.first, at[1], at[2], left, on)

    def _hold(self, offset: float, repeat: float, anchor: str, left: Any, on: Any) -> None:
        """Keep a piece a whole number of repeats from its anchor."""
        if anchor not in self.anchors:
            # Where the anchor is known its place is in the offset already.
            last = math.ceil(repeat / self.step) if anchor else 0
            self.anchors[anchor] = self.model.new_int_var(0, last, "")
        if repeat < self.step:
            return
        count = math.ceil(self.width * self.step / repeat) + 3
        first = offset % repeat - 2 * repeat
        places = [(first + m * repeat) / self.step for m in range(count + 1)]
        number = self.model.new_int_var(0, count, "")
        if all(abs(x - round(x)) < ROUND_UP for x in places):
            whole = round(repeat / self.step)
            place: Any = round(places[0]) + whole * number
        else:
            # Two places rounded down may be a step short of their sum rounded down.
            place = self.model.new_int_var(down(places[0]), down(places[-1]) + 1, "")
            least = self.model.new_int_var(down(places[0]), down(places[-1]), "")
            self.model.add_element(number, [down(x) for x in places], least)
            self.model.add(place >= least)
            self.model.add(place <= least + 1)
        self.model.add(left == self.anchors[anchor] + place).only_enforce_if(on)


def _up(x: float) -> int:
    return math.ceil(x - ROUND_UP)


def _layers(uv: Points, on_line: float) -> list[tuple[float, float, float]]:
    """An outline's load on lines along the cloth, as rectangles one on the other: (from, to, height)."""
    ends, heights = [0.0], []
    for run, chords in slices(uv[:, ::-1], SLICES):
        heights.append(math.floor((sum(b - a for a, b in chords) + on_line) * 1e6) / 1e6)
        ends.append(ends[-1] + run)
    lost = max(0.0, float(np.ptp(uv[:, 0])) - ends[-1])  # slices too thin to be told
    levels = _levels(heights, np.diff(ends).tolist())
    held = [max((x for x in levels if x <= h), default=0.0) for h in heights]
    layers, below = [], 0.0
    for level in levels:
        since = None
        for at, h in enumerate([*held, 0.0]):
            if h >= level and since is None:
                since = at
            elif h < level and since is not None:
                layers.append((ends[since] + lost, ends[at], level - below))
                since = None
        below = level
    return layers


def _levels(heights: list[float], runs: list[float]) -> list[float]:
    """Few heights to round down to, at which the least is lost."""
    each = sorted(set(heights))
    weight = [sum(r for h, r in zip(heights, runs, strict=True) if h == x) for x in each]
    # kept[k][i]: the most that is kept of all from the i-th height up, with the i-th a level and k more
    kept: list[list[tuple[float, list[float]]]] = []
    for k in range(min(MOST_LEVELS, len(each))):
        row = []
        for i, level in enumerate(each):
            best = (level * sum(weight[i:]), [level])
            if k:
                for j in range(i + 1, len(each)):
                    rest, levels = kept[k - 1][j]
                    best = max(best, (level * sum(weight[i:j]) + rest, [level, *levels]))
            row.append(best)
        kept.append(row)
    return max(kept[-1])[1]
