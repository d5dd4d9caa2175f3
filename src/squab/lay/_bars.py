"""Bars: a linear programme by columns, its bound checked in whole numbers.

Price every piece. If no bar that fits on the cloth is worth more than 1 a millimetre, the cloth
must be at least as long as all the pieces together are worth. The linear programme finds prices;
whatever they are, the dearest bar for them is found by dynamic programming and the worth is
divided by it (Farley's bound), so stopping early only makes the bound weaker, never wrong.

The last word is exact: prices are rounded to whole numbers, the dearest bar is found among whole
numbers, and the bound is a fraction of whole numbers. Nothing of the programme's own floats is
believed.
"""

from __future__ import annotations

import copy
import math
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

from squab.lay._demand import NOISE_MM, Demand, Item

SCALE = 10**10
"""Whole units of price in 1: bars of a thousand steps still fit a 64-bit whole number."""
MOST_WORK = 500_000_000
"""Anchors x steps x matched items x items above which anchors are not told apart."""
MOST_STATES = 3_000_000
"""Counted states x anchors x steps above which no further kind of piece is counted."""
COLUMNS_A_ROUND = 12
OTHERS = 8
"""Further bars looked for where there is one anchor only: measured, the time is halved."""
STEADY = 0.5
"""How far prices stay near the best ones so far: the programme's own jump about until it is nearly done."""
ENOUGH = 1e-7
FEW = 8
"""One anchor in so many is looked at in most rounds."""
LOOK_AT_ALL = 12
"""Every so many rounds all anchors are looked at."""
SLACK_STEPS = 2
"""By how much the grid may move an item from where it stands."""
TOO_LONG = 50.0
"""What a bar costs that does not fit, against 1: so much that no cover wants it."""
BEYOND_MM = 1.0
"""So far beyond the next one an anchor is raised before that one is looked at."""
NEVER = 10**9
"""More than any bar can hold."""

Column = tuple[tuple[int, int], ...]
"""What a bar holds: (item, how many; for a stretch how many steps), and (items + item, how many parts)."""


@dataclass(frozen=True)
class BarsBound:
    """What the bars show: a reach that cannot be undercut, the spare already taken off."""

    reach_mm: Fraction
    rounds: int
    closed: bool
    """Whether the programme came to its end, rather than to that of its time."""
    prices: tuple[int, ...] = ()
    """The whole prices that show it, of the items and then of their parts."""
    dearest: int = 0
    """The most that any bar is worth at these prices; 0 where nothing is shown."""


class Bars:
    """The bars of one demand, filled again and again for changing prices."""

    def __init__(self, demand: Demand, *, apart: bool = True) -> None:
        self.demand = demand
        self.step = demand.step_mm
        steps = demand.room_mm / self.step
        self.room = max(0, _down(steps))
        # A bar that ends between two steps holds as much less of one stretch on the lower one.
        rest = steps - self.room
        self.rest = Fraction(min(1.0, rest + 10 * NOISE_MM)) if rest > NOISE_MM else Fraction(0)
        self.pieces = [i for i, item in enumerate(demand.items) if not item.stretches]
        self.stretches = [i for i, item in enumerate(demand.items) if item.stretches]
        self.runs = np.array([max(1, _down(demand.items[i].run_mm / self.step)) for i in self.pieces], np.int64)
        self.stretch_runs = np.array(
            [max(1, _down(demand.items[i].run_mm / self.step)) for i in self.stretches], np.int64
        )
        self.ends = [Fraction(i.ends_mm) / Fraction(self.step) for i in demand.items]
        self.low, self.high = self._within()
        self.in_parts = {i for i, ends in enumerate(self.ends) if ends} | {*demand.most_parts, *demand.exact_parts}
        self.kinds = _kinds(demand)
        self.counted: list[int] = []
        self._count()
        self._starts(apart=apart)
        self.weight = self.anchors * self.room

    def at(self, anchor: int) -> Bars:
        """The bars of one anchor alone, of those that are told apart."""
        alone = copy.copy(self)
        alone.counted = list(self.counted)
        alone.starts = np.ascontiguousarray(self.starts[:, anchor : anchor + 1])
        alone.anchors = 1
        return alone

    def _within(self) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int64]]:
        """Steps from and to which items may start, their whole pieces on the cloth."""
        items = [self.demand.items[i] for i in self.pieces]
        low = [math.floor(i.before_mm / self.step) - SLACK_STEPS for i in items]
        high = [math.ceil((self.demand.room_mm - i.run_mm - i.after_mm) / self.step) + SLACK_STEPS for i in items]
        return np.array(low, np.int64), np.array(high, np.int64)

    def _count(self) -> None:
        """States for the kinds of pieces that are counted, one digit each."""
        self.states = 1
        self.stride, self.most = np.zeros((2, len(self.pieces)), np.int64)
        for kind in self.counted:
            members, most = self.kinds[kind]
            for at, i in enumerate(self.pieces):
                if i in members:
                    self.stride[at], self.most[at] = self.states, most
            self.states *= most + 1

    def too_many(self, column: Column) -> list[int]:
        """The kinds of which a bar holds more than there are."""
        held = dict(column)
        return [k for k, (members, most) in enumerate(self.kinds) if sum(held.get(i, 0) for i in members) > most]

    def count_too(self, columns: list[Column]) -> bool:
        """Count the kinds of which these bars hold too many, as far as that stays quick; False if none could be."""
        before = len(self.counted)
        for kind in sorted({k for c in columns for k in self.too_many(c)}, key=lambda k: self.kinds[k][1]):
            states = self.states * (self.kinds[kind][1] + 1)
            if kind not in self.counted and states * self.weight <= MOST_STATES:
                self.counted.append(kind)
                self._count()
        return len(self.counted) > before

    def _starts(self, *, apart: bool) -> None:
        """Where matched items may start, by anchor of the class told apart (with `apart` off: of none)."""
        items = [self.demand.items[i] for i in self.pieces]
        self.told = _class_told_apart(self.demand)
        fixed = [i for i, item in enumerate(items) if item.start is not None and item.anchor == ""]
        told = [i for i, item in enumerate(items) if item.start is not None and self.told and item.anchor == self.told]
        told = told if apart else []
        periods = {items[i].period_mm for i in told}
        self.anchors = max((math.ceil(p / self.step - NOISE_MM) for p in periods), default=1)
        if self.anchors * self.room * (len(told) + len(fixed)) * len(items) > MOST_WORK:
            told, self.anchors = [], 1
        masked = fixed + told
        self.mask_of = np.full(len(items), -1, np.int64)
        self.starts = np.zeros((max(1, len(masked)), self.anchors, self.room + 1), np.uint8)
        for row, i in enumerate(masked):
            self.mask_of[i] = row
            places = self._places(items[i])
            for a in range(self.anchors):
                at = places + (a if i in told else 0)
                self.starts[row, a, at[(at >= 0) & (at <= self.room)]] = 1

    def _places(self, item: Item) -> npt.NDArray[np.int64]:
        """Steps at which an item may start at anchor 0: both neighbours of a place that is not on the grid."""
        assert item.start is not None
        first, places = (item.start - item.period_mm * 2) / self.step, []
        for m in range(int(self.room * self.step / item.period_mm) + 5):
            at = first + m * item.period_mm / self.step
            places += [_down(at), _up(at)]
        return np.unique(np.array(places, np.int64))

    def dearest(self, prices: npt.NDArray[np.int64], anchors: slice = slice(None)) -> tuple[int, list[Column]]:
        """The greatest worth of a bar at whole prices (by item; a stretch by step), and good bars.

        Prices of parts may follow those of the items. Only for all anchors it is the greatest of
        any bar.
        """
        best, what, since = self._filled(prices, anchors)
        order = np.argsort(-best, kind="stable")[: COLUMNS_A_ROUND * 4]
        columns = dict.fromkeys(self._retrace(what[a], since[a]) for a in order)
        if self.anchors == 1:
            columns |= dict.fromkeys(self._others(prices, next(iter(columns))))
        return int(best.max()), list(columns)[:COLUMNS_A_ROUND]

    def _others(self, prices: npt.NDArray[np.int64], column: Column) -> Iterator[Column]:
        """Good bars without the pieces of the best one, nor of one another: with them there are fewer rounds."""
        left = prices.copy()
        for _ in range(OTHERS):
            left[[i for i, _ in column if i < len(self.demand.items) and not self.demand.items[i].stretches]] = 0
            _, what, since = self._filled(left, slice(None))
            column = self._retrace(what[0], since[0])
            yield column

    def dearest_by_anchor(self, prices: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        """The greatest worth of a bar of each anchor."""
        return self._filled(prices, slice(None))[0]

    def has_place(self, item: int) -> bool:
        """Whether an item has a place anywhere on the cloth, for any of the anchors."""
        if self.demand.items[item].stretches:
            return True
        at = self.pieces.index(item)
        if self.mask_of[at] < 0:
            return True
        low, high = max(0, int(self.low[at])), int(self.high[at])
        return bool(self.starts[self.mask_of[at], :, low : high + 1].any())

    def _filled(
        self, prices: npt.NDArray[np.int64], anchors: slice
    ) -> tuple[npt.NDArray[np.int64], npt.NDArray[np.int32], npt.NDArray[np.int32]]:
        from squab.lay._fill import fill_bars  # the compiler is heavy: only when it is needed

        starts = np.ascontiguousarray(self.starts[:, anchors])
        filled: tuple[npt.NDArray[np.int64], npt.NDArray[np.int32], npt.NDArray[np.int32]] = fill_bars(
            self.room, starts.shape[1], self.runs, prices[self.pieces], self.low, self.high, self.mask_of, starts,
            self.stretch_runs, prices[self.stretches], self._part_prices(prices), self.states, self.stride, self.most,
        )  # fmt: skip
        return filled

    def _part_prices(self, prices: npt.NDArray[np.int64]) -> npt.NDArray[np.int64]:
        """What each part of a stretch is worth beside its length: its price, less what its ends do not count."""
        count = len(self.demand.items)
        by_part = prices[count:][self.stretches] if len(prices) > count else np.zeros(len(self.stretches), np.int64)
        ends = [math.floor(self.ends[i] * int(prices[i])) for i in self.stretches]
        return by_part - np.array(ends, np.int64)

    def beyond_the_grid(self, prices: npt.NDArray[np.int64]) -> int:
        """What a bar may be worth more than `dearest` says, because the room ends between two steps."""
        return math.ceil(self.rest * int(max(prices[self.stretches], default=0)))

    def _retrace(self, what: npt.NDArray[np.int32], since: npt.NDArray[np.int32]) -> Column:
        held: dict[int, int] = {}
        count = len(self.demand.items)
        u, n, state = self.room, len(self.pieces), int(since[0, 0])
        while u > 0:
            ends, began = int(what[state, u]), int(since[state, u])
            state -= int(self.stride[ends]) if 0 <= ends < n else 0
            if ends >= n:
                i = self.stretches[ends - n]
                held[i] = held.get(i, 0) + u - began
                if i in self.in_parts:
                    held[count + i] = held.get(count + i, 0) + 1
            elif ends >= 0:
                held[self.pieces[ends]] = held.get(self.pieces[ends], 0) + 1
            u = began
        return tuple(sorted(held.items()))


def load() -> None:
    """Have the inner loop compiled (or fetched, where it has been before) and the solver at hand."""
    import highspy

    from squab.lay._fill import fill_bars

    none, starts = np.zeros(0, np.int64), np.zeros((1, 1, 2), np.uint8)
    fill_bars(1, 1, none, none, none, none, none, starts, none, none, none, 1, none, none)
    assert highspy.Highs


def _down(x: float) -> int:
    return math.floor(x + NOISE_MM)


def _up(x: float) -> int:
    return math.ceil(x - NOISE_MM)


def _kinds(demand: Demand) -> list[tuple[frozenset[int], int]]:
    """Pieces that can be counted on a bar: the items that stand for them, and how many there are.

    Needs that share an item make one kind. Only rectangles are counted: of them a bar holds one
    item a piece.
    """
    kinds: list[tuple[set[int], int]] = []
    for need in demand.needs:
        ways = [[i for i, _ in way if i >= 0 and not demand.items[i].stretches] for way in need.ways]
        members = {i for way in ways for i in way}
        whole = not need.parts and all(len(way) == 1 for way in ways)
        most = int(need.amount) if whole else NEVER
        for kind in [k for k in kinds if k[0] & members]:
            members, most = members | kind[0], most + kind[1]
            kinds.remove(kind)
        kinds.append((members, most))
    return [(frozenset(m), n) for m, n in kinds if n < NEVER]


def _class_told_apart(demand: Demand) -> str:
    """The class of anchors with the most to cover; the others' places are left free."""
    weight: dict[str, Fraction] = {}
    for need in demand.needs:
        for way in need.ways:
            for i, measure in way:
                item = demand.items[i]
                if i >= 0 and item.start is not None and item.anchor:
                    gain = need.amount * measure * Fraction(item.run_mm)
                    weight[item.anchor] = weight.get(item.anchor, Fraction(0)) + gain
    return max(weight, key=lambda k: weight[k]) if weight else ""


class _Programme:
    """Cover every need with bars of the least length in all, over the bars known so far."""

    def __init__(self, demand: Demand) -> None:
        import highspy

        self.solver = highspy.Highs()
        self.solver.setOptionValue("output_flag", False)
        self.solver.setOptionValue("log_to_console", False)
        self.solver.setOptionValue("threads", 1)
        # the last cover stays one when a bar is added: go on from it
        self.solver.setOptionValue("simplex_strategy", 4)
        self.solver.setOptionValue("presolve", "off")
        self.infinity = highspy.kHighsInf
        self.columns: dict[int, Column] = {}
        self.items, self.step = demand.items, demand.step_mm
        asked = {i for need in demand.needs for way in need.ways for i, _ in way}
        self.rows = {i: self._row(0.0) for i in (*range(len(demand.items)), *sorted(i for i in asked if i < 0))}
        for need in demand.needs:
            at = self._row(float(need.amount))
            for way in need.ways:
                rows = np.array([self.rows[i] for i, _ in way] + [at], np.int32)
                values = np.array([-float(m) for _, m in way] + [1.0], np.float64)
                self.solver.addCol(0.0, 0.0, self.infinity, len(rows), rows, values)
        self._limit(demand)

    def _row(self, least: float, most: float = math.inf) -> int:
        """A new, empty row."""
        self.solver.addRow(least, min(most, self.infinity), 0, np.array([], np.int32), np.array([], np.float64))
        return int(self.solver.getNumRow()) - 1

    def _limit(self, demand: Demand) -> None:
        """Rows for the number of parts, each with a dear way out, so that there is always an answer."""
        self.limit_rows: dict[int, int] = {}
        self.exact = frozenset(demand.exact_parts)
        for i, limit in (*demand.most_parts.items(), *demand.exact_parts.items()):
            row = self.limit_rows[i] = self._row(float(limit) if i in self.exact else -self.infinity, float(limit))
            for sign in (-1.0, 1.0)[: 2 if i in self.exact else 1]:
                self.solver.addCol(TOO_LONG, 0.0, self.infinity, 1, np.array([row], np.int32), np.array([sign]))

    def add(self, column: Column, cost: float = 1.0) -> None:
        """Take in one more bar."""
        self.columns[self.solver.getNumCol()] = column
        count, held, brings = len(self.items), dict(column), dict[int, float]()
        for i, n in column:
            if i - count in self.limit_rows:
                brings[self.limit_rows[i - count]] = float(n)
            if (thing := i if i < count else ~(i - count)) in self.rows:
                brings[self.rows[thing]] = float(n)
            if i < count and self.items[i].stretches:
                brings[self.rows[i]] = n * self.step - held.get(count + i, 0) * self.items[i].ends_mm
        rows, values = np.array([*brings], np.int32), np.array([*brings.values()], np.float64)
        self.solver.addCol(cost, 0.0, self.infinity, len(rows), rows, values)

    def used(self) -> list[Column]:
        """The bars that the best cover uses."""
        values = self.solver.getSolution().col_value
        return [c for at, c in self.columns.items() if values[at] > 1e-9]

    def forbid(self, too_many: Callable[[Column], bool]) -> None:
        """Leave out the bars known that hold more than there is."""
        for at, column in self.columns.items():
            if too_many(column):
                self.solver.changeColBounds(at, 0.0, 0.0)

    def prices(self) -> npt.NDArray[np.float64]:
        """A price for each item (a stretch by step), then for its parts, from the best cover with the bars known."""
        self.solver.run()
        count, dual = len(self.items), self.solver.getSolution().row_dual
        by_step = np.array([self.step if i.stretches else 1.0 for i in self.items])
        prices = np.zeros(2 * count)
        prices[:count] = np.maximum(np.array(dual[:count], np.float64), 0.0) * by_step
        for i, row in self.rows.items():
            if i < 0:
                prices[count + ~i] = max(0.0, dual[row])
        for i, row in self.limit_rows.items():
            prices[count + i] += dual[row] if i in self.exact else min(0.0, dual[row])
        return prices


def whole_prices(prices: npt.NDArray[np.float64]) -> npt.NDArray[np.int64]:
    """Prices in whole units."""
    return np.floor(prices * SCALE).astype(np.int64)


def worth(demand: Demand, prices: npt.NDArray[np.int64]) -> Fraction:
    """What all needs are worth at whole prices, exactly: each by its cheapest way, with as many parts as may be."""
    count, measured = len(demand.items), demand.measured
    each = [int(p) for p in prices]
    parts = each[count:] if len(each) > count else [0] * count
    # of parts that are asked for there may be more; the parts of i are thing ~i, counted from the end
    each = each[:count] + [max(p, 0) for p in reversed(parts)]
    total = sum(min(sum(each[i] * m for i, m in way) for way in ways) for ways in measured.needs)
    # what is limited, not known, may be less
    limited = sum(limit * (parts[i] if i in demand.exact_parts else min(parts[i], 0)) for i, limit in measured.limits)
    return Fraction(total + limited, measured.unit)


class _Pricing:
    """Bars of one demand, priced better and better: may be stopped and gone on with.

    `known` are bars to begin with; new ones are added to it. `trusted` are prices to begin near.
    """

    def __init__(
        self,
        bars: Bars,
        known: list[Column] | None = None,
        trusted: npt.NDArray[np.float64] | None = None,
    ) -> None:
        self.bars, self.programme = bars, _Programme(bars.demand)
        self.known = known if known is not None else []
        self.best, self.rounds, self.closed = Fraction(0), 0, False
        self.showing: tuple[tuple[int, ...], int] = ((), 0)
        self.steady, self.trust = _by_area(bars) if trusted is None else trusted, STEADY
        for column, cost in _single(bars):
            self.programme.add(column, cost)
        for column in self.known:
            self.programme.add(column)

    def go(self, until: float, enough: Callable[[Fraction], bool]) -> None:
        """Go on until the programme is closed, time is up, or what is shown will do."""
        while not self.closed:
            late = time.perf_counter() > until
            prices = self.programme.prices()
            whole = whole_prices(self.trust * self.steady + (1 - self.trust) * prices)
            if not late and self._looked_at_few(whole, prices):
                continue
            dearest, columns = self.bars.dearest(whole)
            self.rounds += 1
            self._show(whole, dearest)
            if enough(self.best) or late:
                return
            fresh = self._fresh(columns, prices)
            if fresh:
                self.trust = STEADY
                self._take(fresh)
            elif self.trust > 0:
                self.trust = 0.0  # the steady prices hide what the programme lacks: ask at its own
            elif self.bars.count_too(self.programme.used()):
                self.programme.forbid(lambda c: any(k in self.bars.counted for k in self.bars.too_many(c)))
            else:
                self.closed = True

    def _looked_at_few(self, whole: npt.NDArray[np.int64], prices: npt.NDArray[np.float64]) -> bool:
        """In most rounds look at a few anchors only: they find bars, they show nothing. False where none were found."""
        if self.bars.anchors <= 2 * FEW or not self.rounds % LOOK_AT_ALL:
            return False
        _, columns = self.bars.dearest(whole, slice(self.rounds % FEW, None, FEW))
        fresh = self._fresh(columns, prices)
        self._take(fresh)
        self.rounds += bool(fresh)
        return bool(fresh)

    def _show(self, whole: npt.NDArray[np.int64], dearest: int) -> None:
        if dearest <= 0:
            return
        most = dearest + self.bars.beyond_the_grid(whole)
        shown = worth(self.bars.demand, whole) / most - Fraction(self.bars.demand.spare_mm)
        if shown > self.best:
            self.best, self.steady = shown, whole / dearest
            self.showing = tuple(int(p) for p in whole), most

    def _fresh(self, columns: list[Column], prices: npt.NDArray[np.float64]) -> list[Column]:
        """The bars that are worth more than they cost: those that the programme lacks."""
        count = len(self.bars.demand.items)
        by_part = prices[count:] - np.array(self.bars.ends, np.float64) * prices[:count]
        each = np.concatenate((prices[:count], by_part))
        return [c for c in columns if sum(each[i] * n for i, n in c) > 1 + ENOUGH]

    def _take(self, columns: list[Column]) -> None:
        for column in columns:
            self.programme.add(column)
            self.known.append(column)

    def shown(self) -> BarsBound:
        """What has been shown so far."""
        return BarsBound(self.best, self.rounds, self.closed, *self.showing)


def bars_bound(
    demand: Demand,
    until: float,
    enough: Callable[[Fraction], bool] = lambda _: False,
    start: list[Column] | None = None,
    anchor: int | None = None,
    *,
    apart: bool = True,
) -> BarsBound:
    """The least reach that bars of this demand allow.

    Works until the programme is closed, `until` (of `time.perf_counter`) has come, or `enough`
    says that the reach shown will do. `start` are bars to begin with; new ones are added to it.
    With `anchor` all bars are of that one anchor, of those that are told apart; with `apart` off
    none are, which is quicker.
    """
    bars = Bars(demand, apart=apart)
    pricing = _Pricing(bars if anchor is None else bars.at(anchor), start)
    pricing.go(until, enough)
    return pricing.shown()


def _by_area(bars: Bars) -> npt.NDArray[np.float64]:
    """Prices by the room that things take: at these the bound is that of the area."""
    items, room = bars.demand.items, max(1, bars.room)
    by_item = np.array([1.0 / room if i.stretches else i.run_mm / bars.step / room for i in items])
    return np.concatenate((by_item, np.zeros(len(items))))


def _single(bars: Bars) -> list[tuple[Column, float]]:
    """A bar for each item alone, dear where it does not fit: so the programme always has an answer."""
    runs = [*zip(bars.pieces, bars.runs, strict=True), *zip(bars.stretches, bars.stretch_runs, strict=True)]
    count, singles = len(bars.demand.items), []
    for i, run in runs:
        held = [(i, max(1, bars.room) if bars.demand.items[i].stretches else 1)]
        held += [(count + i, 1)] * (i in bars.in_parts)
        singles.append((tuple(held), 1.0 if run <= bars.room and bars.has_place(i) else TOO_LONG))
    return singles


def anchored_bound(demand: Demand, until: float, shown: BarsBound) -> Fraction:
    """The least reach, where all bars of a lay are known to have one anchor: for whichever allows the least.

    `shown` is what bars of any anchors allow. Prices found for one anchor count for all, by the
    dearest bar of each; so only the anchor that allows the least is looked at, until it no longer
    does.
    """
    bars = Bars(demand)
    if bars.anchors == 1 or not shown.dearest:
        return shown.reach_mm
    reach = [shown.reach_mm] * bars.anchors
    _raise_all(bars, reach, shown.prices)
    trusted, alone = np.array(shown.prices, np.float64) / shown.dearest, dict[int, _Pricing]()
    while time.perf_counter() < until:
        least, second = sorted(range(bars.anchors), key=lambda a: reach[a])[:2]
        level = reach[second] + BEYOND_MM
        if least not in alone:
            alone[least] = _Pricing(bars.at(least), trusted=trusted)
        pricing = alone[least]
        if pricing.closed:
            break
        pricing.go(until, lambda found, level=level: found > level)  # type: ignore[misc]
        if pricing.showing[1]:
            _raise_all(bars, reach, pricing.showing[0])
        reach[least] = max(reach[least], pricing.best)
    return min(reach)


def _raise_all(bars: Bars, reach: list[Fraction], prices: tuple[int, ...]) -> None:
    """Let prices show what they can for each anchor."""
    whole = np.array(prices, np.int64)
    all_worth, beyond = worth(bars.demand, whole), bars.beyond_the_grid(whole)
    for a, dearest in enumerate(bars.dearest_by_anchor(whole).tolist()):
        if dearest > 0:
            reach[a] = max(reach[a], all_worth / (dearest + beyond) - Fraction(bars.demand.spare_mm))
