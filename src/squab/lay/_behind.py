"""One behind another on an endless cloth: how far pieces reach with their waits for a place on the repeat.

Stand on a line along the cloth. Pieces lie on it one behind another, and one that must wait for its place
leaves cloth before it that nothing may fit. Give every place on the repeat a height, none higher than another by
more than the way up to it. Going along the line, a piece *rises* by its size and by how much lower the place
at its far end is than the one where it begins; a wait rises by nothing or more. Heights cancel from one end of the
line to the other, so pieces each wholly behind the next (whether or not one line crosses them all) rise together by
no more than the cloth is long plus what the heights at its two ends are apart.

A piece that may begin anywhere rises by the least that it does from any place. What pieces rise are new sizes along
the cloth, of which no such row has too much; the prices of bars (`squab.lay._bars`) are new sizes across, of which no
bar has too much; and as in `squab.lay._scales` their areas add up to no more than the cloth. Prices say which pieces
had better rise, and a linear programme finds the heights that make the sum greatest; what rises has other prices. They
take turns.

What is believed is the heights alone, rounded to whole numbers: what they make of each piece is worked out from them.
"""

from __future__ import annotations

import math
import time
from collections import defaultdict
from dataclasses import dataclass, field, replace
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from squab.lay._bars import BarsBound, Column, anchored_bound, bars_bound
from squab.lay._demand import (
    NOISE_MM,
    STEPS_MM,
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
LOOSE_MM = Fraction(0)
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
        """So many whole parts of a step, rounded down: what lay behind one another still does, places and sizes so."""
        return math.floor(Fraction(mm) / self.step_mm * FINE + Fraction(NOISE_MM))

    def seen(self, measure: Reach | Fraction) -> Reach:
        """A reach as it is known on this repeat: places of other anchors are free, a fraction is loose cloth."""
        if not isinstance(measure, Reach):
            return Reach(LOOSE_MM, each_mm=True, times=measure)
        return measure if measure.anchor == self.anchor else replace(measure, start=None, anchor=self.anchor)

    def begins(self, reach: Reach) -> Ints:
        """Where something seen may begin, in parts of a step: wherever it may rise least."""
        if reach.start is not None:
            return np.array([self.fine(reach.start) % (self.cells * FINE)])
        # heights are straight from step to step, so that is where the one end or the other is at one
        steps, size = np.arange(self.cells, dtype=np.int64) * FINE, self.fine(reach.size_mm)
        return steps if size % FINE == 0 else np.concatenate((steps, (steps - size) % (self.cells * FINE)))


@dataclass(frozen=True)
class Heights:
    """A whole height for every step of a repeat, between them on a slope: none rises by more than the way."""

    repeat: Repeat
    at: Ints
    _known: dict[Reach, Fraction] = field(default_factory=dict)

    def __call__(self, measure: Reach | Fraction) -> Fraction:
        """What something counts for with its waits: mm that a piece rises, or a factor for each mm of what stands."""
        reach = self.repeat.seen(measure)
        if reach.once not in self._known:
            self._known[reach.once] = self._each_mm(reach) if reach.each_mm else self._whole(reach)
        return reach.times * self._known[reach.once]

    def _whole(self, reach: Reach) -> Fraction:
        size, first = self.repeat.fine(reach.size_mm), self.repeat.begins(reach)
        rise = size * UNITS + self._between(first) - self._between(first + size)
        return max(Fraction(0), self._mm(int(rise.min())))

    def _each_mm(self, reach: Reach) -> Fraction:
        """Of a part of any length, the least: over the whole of it no more is lost than the heights are apart."""
        steepest = int((np.roll(self.at, -1) - self.at).max())
        least = Fraction(UNITS - steepest, UNITS)
        if reach.size_mm > 0:
            least = max(least, Fraction(math.floor((1 - self.apart_mm / reach.size_mm) * UNITS), UNITS))
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


def repeat_along(build: DemandOf) -> Repeat | None:
    """The repeat along the cloth of what bars across have to cover; None where there is none that counts."""
    lattice = build.problem.lattice
    period = row_step(lattice.across_mm, lattice.along_mm, lattice.drop_mm)
    asked, items = build.asked()[0], list(build.items)
    weight: defaultdict[str, Fraction] = defaultdict(Fraction)
    for need in asked:
        for i, reach in need.ways[0]:
            if isinstance(reach, Reach) and reach.start is not None and i >= 0:
                run = 1 if items[i].stretches else Fraction(items[i].run_mm)
                weight[reach.anchor] += need.amount * reach.as_laid * run
    if period is None or not weight:
        return None
    anchor = max(weight, key=lambda a: weight[a])
    own = Repeat(Fraction(period), 1, anchor, None)
    reaches = {own.seen(m).once for need in asked for way in need.ways for _, m in way}
    free = sum(r.start is None and not r.each_mm for r in reaches)
    most = max(2, min(MOST_CELLS, MOST_ROWS // max(1, 2 * free)))
    sizes = [period, *(float(r.size_mm) for r in reaches), *(r.start for r in reaches if r.start is not None)]
    grids = [s for s in STEPS_MM if period / s <= most and all(on_grid(x, s) for x in sizes)]
    cells = max(2, round(period / grids[0]) if grids else min(most, math.ceil(period)))
    return Repeat(Fraction(period) / cells, cells, anchor, 0 if anchor == "" else None)


def behind_bound(build: DemandOf, demand: Demand, shown: BarsBound, known: list[Column], until: float) -> Fraction:
    """The least length that bars across and heights along allow, in turn; where nothing waits, what bars allow.

    `shown` is what bars of this demand have shown, `known` are the bars met with; more are added. Works until neither
    gains more, or `until` (of `time.perf_counter`) has come.
    """
    repeat, best = repeat_along(build), shown.reach_mm
    reached, gains = 0.0, math.inf
    while repeat is not None and shown.dearest and gains > SETTLED_MM and time.perf_counter() < until:
        heights = best_heights(build, repeat, demand, shown, until)
        demand = build.demand(build.problem.usable_width_mm, heights)
        shown = bars_bound(demand, until, start=known)
        reach = shown.reach_mm - heights.ends_mm
        gains, reached = float(reach) - reached, float(reach)
        if gains <= SETTLED_MM:
            reach = max(reach, anchored_bound(demand, until, shown) - heights.ends_mm)
        best = max(best, reach)
    return best


def best_heights(build: DemandOf, repeat: Repeat, demand: Demand, shown: BarsBound, until: float) -> Heights:
    """The heights that make most of the prices that bars across have shown; some heights where time is up before."""
    asked, most, exact = build.asked()
    programme = _Programme(repeat)
    each = _prices(demand, shown)
    for need in asked:
        programme.need(float(need.amount), [_worth(way, each, programme) for way in need.ways])
    _limited(most, exact, demand, shown, programme)
    return Heights(repeat, _whole_heights(programme.solved(until), repeat.cells))


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
        reach = programme.repeat.seen(measure)
        found[programme.rise(reach)] += each[i] * float(reach.times)
    return found


def _limited(most: Limits, exact: Limits, demand: Demand, shown: BarsBound, programme: _Programme) -> None:
    """What the prices of limited parts are worth."""
    parts = shown.prices[len(demand.items) :]
    for limits, at_most in ((most, True), (exact, False)):
        for i, found in limits.items():
            price = (min(parts[i], 0) if at_most else parts[i]) / shown.dearest
            for number, reach in found:
                seen = programme.repeat.seen(reach)
                programme.need(float(number), [{programme.rise(seen): price * float(seen.times)}])


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
        begin = self.apart if repeat.cut_end is None else repeat.cut_end
        self.rows.append((0.0, [(begin, 1.0), (self.ends, -1.0)]))

    def rise(self, seen: Reach) -> int:
        """The column of what something rises, once over."""
        reach = seen.once
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
        size = self.repeat.fine(reach.size_mm)
        for at in self.repeat.begins(reach).tolist():
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

    def solved(self, until: float) -> npt.NDArray[np.float64]:
        """The heights, in steps; none where time is up before."""
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
        solver.silent()
        solver.setOptionValue("threads", 1)
        solver.setOptionValue("time_limit", max(until - time.perf_counter(), 0.01))
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
