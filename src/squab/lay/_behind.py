"""One behind another on an endless cloth: how far pieces reach with their waits for a place on the repeat.

Stand on a line along the cloth. Pieces lie on it one behind another, and one that must wait for its place
leaves cloth before it that nothing may fit. Give every place on the repeat a height, none higher than another by
more than the way up to it. Going along the line, a piece *rises* by its size and by how much lower the place
at its far end is than the one where it begins; a wait rises by nothing or more. Heights cancel from one end of the
line to the other, so all pieces on it rise together by no more than the cloth is long, and the heights at its two
ends are apart.

A piece that may begin anywhere rises by the least that it does from any place. What pieces rise are new sizes along
the cloth that no line has too much of; the prices of bars (`squab.lay._bars`) are new sizes across that no bar has too
much of; and as in `squab.lay._scales` their areas add up to no more than the cloth. Prices say which pieces had better
rise, and a linear programme finds the heights that make the sum greatest; what rises has other prices. They take turns.

What is believed is the heights alone, rounded to whole numbers: what they make of each piece is worked out from them.
"""

from __future__ import annotations

import math
import time
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from squab.lay._bars import BarsBound, Column, anchored_bound, bars_bound
from squab.lay._demand import (
    NOISE_MM,
    STEPS_MM,
    Asked,
    AskedWay,
    Demand,
    DemandOf,
    Limits,
    Reach,
    on_grid,
    row_step,
)

SETTLED_MM = 0.5
"""The two have come to rest when a turn gains less than this."""
MOST_CELLS = 1200
"""Steps of a repeat, at the most."""
MOST_ROWS = 60_000
"""Rows of the programme above which the steps are wider."""
FINE = 1000
"""Sizes and places are rounded down to such a part of a step."""
UNITS = 10**6
"""Whole units of height in the height of a step."""
ANYWHERE = Fraction(0)
"""The least part of loose cloth."""

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Repeat:
    """The repeat along the cloth in steps, and what is known of where it stands."""

    step_mm: Fraction
    cells: int
    anchor: str
    """The class of anchors whose places are told; those of others are thought free."""
    cut_end: int | None
    """The step at which the cut end stands, where that is known."""

    def fine(self, mm: Fraction | float) -> int:
        """So many whole parts of a step."""
        return math.floor(Fraction(mm) / self.step_mm * FINE + Fraction(NOISE_MM))

    def begins(self, reach: Reach) -> int | None:
        """Where something begins, in parts of a step; None where it may anywhere."""
        if reach.start < 0 or reach.anchor != self.anchor:
            return None
        return self.fine(reach.start) % (self.cells * FINE)


@dataclass(frozen=True)
class Heights:
    """A whole height for every step of a repeat, between them on a slope: none rises by more than the way."""

    repeat: Repeat
    at: Ints
    _known: dict[Reach, Fraction] = field(default_factory=dict)

    def __call__(self, measure: Reach | Fraction) -> Fraction:
        """How far something rises along the cloth, in mm; loose cloth by each mm."""
        reach = measure if isinstance(measure, Reach) else Reach(ANYWHERE, each_mm=True, times=measure)
        if reach not in self._known:
            self._known[reach] = reach.times * (self._each_mm(reach) if reach.each_mm else self._whole(reach))
        return self._known[reach]

    def _whole(self, reach: Reach) -> Fraction:
        size, begins = self.repeat.fine(reach.size_mm), self.repeat.begins(reach)
        # a slope's least is where it bends: where the one end or the other is at a step
        first = _bends(self.repeat.cells, size) if begins is None else np.array([begins])
        rise = size * UNITS + self._between(first) - self._between(first + size)
        return max(Fraction(0), self._mm(int(rise.min())))

    def _each_mm(self, reach: Reach) -> Fraction:
        """Of a part of any length, the least: over the whole of it no more is lost than the heights are apart."""
        steepest = int((np.roll(self.at, -1) - self.at).max())
        least = Fraction(UNITS - steepest, UNITS)
        if reach.size_mm > 0:
            least = max(least, 1 - self.apart_mm / reach.size_mm)
        return max(Fraction(0), least)

    def _between(self, fine: Ints) -> Ints:
        """Heights at parts of steps, `FINE` times over."""
        step, part = np.divmod(fine % (self.repeat.cells * FINE), FINE)
        beside: Ints = self.at[step] * (FINE - part) + self.at[(step + 1) % self.repeat.cells] * part
        return beside

    def _mm(self, height: int) -> Fraction:
        return Fraction(height, UNITS * FINE) * self.repeat.step_mm

    @property
    def apart_mm(self) -> Fraction:
        """How far the highest is above the lowest."""
        return self._mm(FINE * int(self.at.max() - self.at.min()))

    @property
    def ends_mm(self) -> Fraction:
        """By how much all on a line may rise more than the cloth is long."""
        first = self.at.max() if self.repeat.cut_end is None else self.at[self.repeat.cut_end]
        return self._mm(FINE * int(first - self.at.min()))


def _bends(cells: int, size: int) -> Ints:
    """Places at which something so large begins or ends at a step, in parts of a step."""
    steps = np.arange(cells, dtype=np.int64) * FINE
    return steps if size % FINE == 0 else np.concatenate((steps, (steps - size) % (cells * FINE)))


def repeat_along(build: DemandOf) -> Repeat | None:
    """The repeat along the cloth of what bars across have to cover; None where there is none that counts."""
    lattice = build.problem.lattice
    period = row_step(lattice.across_mm, lattice.along_mm, lattice.drop_mm)
    reaches = _reaches(build.asked()[0])
    weight: defaultdict[str, Fraction] = defaultdict(Fraction)
    for reach, amount in reaches.items():
        if reach.start >= 0:
            weight[reach.anchor] += amount * reach.size_mm
    if period is None or not weight:
        return None
    free = sum(r.start < 0 and not r.each_mm for r in reaches)
    most = max(2, min(MOST_CELLS, MOST_ROWS // max(1, 2 * free)))
    sizes = [period, *(float(r.size_mm) for r in reaches), *(r.start for r in reaches if r.start >= 0)]
    grids = [s for s in STEPS_MM if period / s <= most and all(on_grid(x, s) for x in sizes)]
    cells = round(period / grids[0]) if grids else min(most, math.ceil(period))
    step, anchor = Fraction(period) / cells, max(weight, key=lambda a: weight[a])
    return Repeat(step, cells, anchor, 0 if anchor == "" else None)


def _reaches(asked: Sequence[Asked]) -> dict[Reach, Fraction]:
    """All there are, once over, and how much is asked of each."""
    found: defaultdict[Reach, Fraction] = defaultdict(Fraction)
    for need in asked:
        for way in need.ways:
            for _, measure in way:
                if isinstance(measure, Reach):
                    found[_once(measure)] += need.amount
    return found


def _once(reach: Reach) -> Reach:
    return Reach(reach.size_mm, reach.start, reach.anchor, reach.each_mm)


def waits_bound(build: DemandOf, demand: Demand, shown: BarsBound, known: list[Column], until: float) -> Fraction:
    """The least length that bars across and heights along allow, in turn; where nothing waits, what bars allow.

    `shown` is what bars of this demand have shown, `known` are the bars met with; more are added. Works until neither
    gains more, or `until` (of `time.perf_counter`) has come.
    """
    repeat, best = repeat_along(build), shown.reach_mm
    reached, gains = 0.0, math.inf
    while repeat is not None and shown.dearest and gains > SETTLED_MM and time.perf_counter() < until:
        heights = best_heights(build, repeat, demand, shown)
        demand = build.demand(build.problem.usable_width_mm, heights)
        shown = bars_bound(demand, until, start=known)
        reach = shown.reach_mm - heights.ends_mm
        gains, reached = float(reach) - reached, float(reach)
        if gains <= SETTLED_MM:
            reach = max(reach, anchored_bound(demand, until, shown) - heights.ends_mm)
        best = max(best, reach)
    return best


def best_heights(build: DemandOf, repeat: Repeat, demand: Demand, shown: BarsBound) -> Heights:
    """The heights that make most of the prices that bars across have shown."""
    asked, most, exact = build.asked()
    programme = _Programme(repeat)
    each = _prices(demand, shown)
    for need in asked:
        programme.need(float(need.amount), [_worth(way, each, programme) for way in need.ways])
    _limited(most, exact, demand, shown, programme)
    return Heights(repeat, _whole_heights(programme.solved(), repeat.cells))


def _prices(demand: Demand, shown: BarsBound) -> dict[int, float]:
    """Prices of items (a stretch's by the mm) and of parts (~i), where the dearest bar is worth 1."""
    count, dearest = len(demand.items), float(shown.dearest)
    found = {
        i: p / dearest / (demand.step_mm if item.stretches else 1.0)
        for i, (item, p) in enumerate(zip(demand.items, shown.prices, strict=False))
    }
    return found | {~i: max(0, p) / dearest for i, p in enumerate(shown.prices[count:])}


def _worth(way: AskedWay, each: dict[int, float], programme: _Programme) -> dict[int, float]:
    """What a way is worth by the columns of the programme."""
    found: defaultdict[int, float] = defaultdict(float)
    for i, measure in way:
        reach = measure if isinstance(measure, Reach) else Reach(ANYWHERE, each_mm=True, times=measure)
        found[programme.rise(_once(reach))] += each[i] * float(reach.times)
    return found


def _limited(most: Limits, exact: Limits, demand: Demand, shown: BarsBound, programme: _Programme) -> None:
    """What the prices of limited parts are worth."""
    parts = shown.prices[len(demand.items) :]
    for limits, at_most in ((most, True), (exact, False)):
        for i, found in limits.items():
            price = (min(parts[i], 0) if at_most else parts[i]) / shown.dearest if parts else 0.0
            for number, reach in found:
                programme.need(float(number), [{programme.rise(_once(reach)): price * float(reach.times)}])


class _Programme:
    """Heights that make a sum of what rises greatest. Columns: heights, their range, their fall from the cut end."""

    def __init__(self, repeat: Repeat) -> None:
        self.repeat, self.step = repeat, float(repeat.step_mm)
        n = repeat.cells
        self.apart, self.ends, self.columns = n, n + 1, n + 2
        self.gain: defaultdict[int, float] = defaultdict(float, {self.ends: -1.0})
        self.known: dict[Reach, int] = {}
        self.rows: list[tuple[float, list[tuple[int, float]]]] = []
        """Each at most so much: columns and their factors."""
        for c in range(n):
            self.rows.append((self.step, [((c + 1) % n, 1.0), (c, -1.0)]))
            self.rows.append((0.0, [(c, 1.0), (self.apart, -1.0)]))
        if repeat.cut_end is None:
            self.rows.append((0.0, [(self.apart, 1.0), (self.ends, -1.0)]))
        else:
            self.rows.append((0.0, [(repeat.cut_end, 1.0), (self.ends, -1.0)]))

    def rise(self, reach: Reach) -> int:
        """The column of what something rises, once over."""
        if reach not in self.known:
            self.known[reach] = self.columns
            self.columns += 1
            if reach.each_mm:
                self._each_mm(reach, self.known[reach])
            else:
                self._whole(reach, self.known[reach])
        return self.known[reach]

    def _each_mm(self, reach: Reach, column: int) -> None:
        if reach.size_mm > 0:
            self.rows.append((1.0, [(column, 1.0), (self.apart, 1.0 / float(reach.size_mm))]))
            return
        n = self.repeat.cells
        for c in range(n):
            self.rows.append((self.step, [(column, self.step), ((c + 1) % n, 1.0), (c, -1.0)]))

    def _whole(self, reach: Reach, column: int) -> None:
        size, begins = self.repeat.fine(reach.size_mm), self.repeat.begins(reach)
        first = _bends(self.repeat.cells, size) if begins is None else np.array([begins])
        for at in first.tolist():
            row = defaultdict[int, float](float, {column: 1.0})
            for fine, sign in ((at, -1.0), (at + size, 1.0)):
                step, part = divmod(fine % (self.repeat.cells * FINE), FINE)
                row[step] += sign * (FINE - part) / FINE
                row[(step + 1) % self.repeat.cells] += sign * part / FINE
            self.rows.append((size * self.step / FINE, [(c, x) for c, x in row.items() if x]))

    def need(self, amount: float, ways: list[dict[int, float]]) -> None:
        """Add what is needed to the sum: by whichever of its ways is worth least."""
        if len(ways) == 1:
            for column, x in ways[0].items():
                self.gain[column] += amount * x
            return
        least = self.columns
        self.columns += 1
        self.gain[least] = amount
        self.rows += [(0.0, [(least, 1.0), *((c, -x) for c, x in way.items())]) for way in ways]

    def solved(self) -> npt.NDArray[np.float64]:
        """The heights, in steps."""
        import highspy

        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = self.columns, len(self.rows)
        lp.sense_ = highspy.ObjSense.kMaximize
        lp.col_cost_ = np.array([self.gain[c] for c in range(self.columns)])
        lp.col_lower_, lp.col_upper_ = np.zeros(self.columns), np.full(self.columns, highspy.kHighsInf)
        lp.row_lower_ = np.full(len(self.rows), -highspy.kHighsInf)
        lp.row_upper_ = np.array([most for most, _ in self.rows])
        lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
        lp.a_matrix_.start_ = np.cumsum([0] + [len(row) for _, row in self.rows]).astype(np.int32)
        lp.a_matrix_.index_ = np.array([c for _, row in self.rows for c, _ in row], np.int32)
        lp.a_matrix_.value_ = np.array([x for _, row in self.rows for _, x in row], np.float64)
        solver = highspy.Highs()
        solver.setOptionValue("output_flag", False)
        solver.setOptionValue("log_to_console", False)
        solver.setOptionValue("threads", 1)
        solver.passModel(lp)
        solver.run()
        found = np.array(solver.getSolution().col_value[: self.repeat.cells], np.float64)
        return found / self.step if found.size else np.zeros(self.repeat.cells)


def _whole_heights(steps: npt.NDArray[np.float64], cells: int) -> Ints:
    """Heights in whole units, none higher than the one before it by more than a step."""
    heights = np.maximum(np.floor(steps * UNITS), 0).astype(np.int64)
    for c in range(2 * cells):
        heights[(c + 1) % cells] = min(heights[(c + 1) % cells], heights[c % cells] + UNITS)
    return heights
