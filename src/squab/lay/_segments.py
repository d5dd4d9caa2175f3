"""One arrangement of matched pieces across: whether strips and other things find room round them.

The pieces cut the cloth into stretches across (*segments*) with a known load. What is left of the length there
holds strips: parts that lie, over one another, and parts that stand, beside one another. A linear
programme says whether they can: how much of each segment has which number of lying parts on it, how many parts
begin, end and go on from segment to segment, how many stand in each run of segments where one can stand.
Numbers of parts are whole, so it is branched on them. The numbers of parts that lie and stand for which that does not
do are left to a constraint solver, which looks for their places across, as in `squab.lay._loads`.

All is in whole steps of a grid. A programme that has no solution must show it by multipliers of its rows,
which are rounded and checked in whole numbers; where they do not show it, it is held to have one.
"""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

MOST_COLUMNS = 3000
"""Of more ways to fill a line than this nothing is shown."""
MOST_NODES = 2
"""So many programmes are solved for parts of one number before they are left to the constraint solver."""
MULTIPLIER, MOST_TOTAL = 1 << 30, 1 << 62
"""The greatest multiplier of a row, once they are whole; what their sums must stay below."""
NOT_WHOLE = 1e-6
ROUNDS = 20

Whole = npt.NDArray[np.int64]
Numbers = tuple[tuple[int, int], ...]
"""How many parts of each kind lie, and how many stand."""


@dataclass(frozen=True)
class Box:
    """A piece that has its place across: from, width and height, in steps."""

    at: int
    wide: int
    high: int


@dataclass(frozen=True)
class Kind:
    """A strip, or pieces that are alike and may stand anywhere, in steps.

    Its parts are `thick`, each at least `least` and at most `most` long. All its `n` parts are
    together at least `total` + n * `each` long. `lies` and `stands` say what its turns allow.
    """

    thick: int
    least: int
    most: int
    total: int
    each: int
    parts: tuple[int, int]
    lies: bool
    stands: bool


@dataclass(frozen=True)
class Arrangement:
    """Where the matched pieces stand beside one another, the first of them at 0, and how far from the left edge."""

    boxes: tuple[Box, ...]
    left: tuple[int, int]

    @property
    def wide(self) -> int:
        """From the first edge to the last."""
        return max(b.at + b.wide for b in self.boxes)


@dataclass
class _Rows:
    """Rows `coefficients . x <= limit` in whole numbers, over columns with whole bounds."""

    low: list[int] = field(default_factory=list)
    high: list[int] = field(default_factory=list)
    rows: list[tuple[dict[int, int], int]] = field(default_factory=list)

    def column(self, low: int, high: int) -> int:
        """A new column."""
        self.low.append(low)
        self.high.append(max(low, high))
        return len(self.low) - 1

    def most(self, row: dict[int, int], limit: int) -> None:
        """The row is at most this."""
        self.rows.append((row, limit))

    def least(self, row: dict[int, int], limit: int) -> None:
        """The row is at least this."""
        self.rows.append(({i: -a for i, a in row.items()}, -limit))

    def same(self, row: dict[int, int], limit: int) -> None:
        """The row is this."""
        self.most(row, limit)
        self.least(row, limit)


class TooMany(Exception):  # noqa: N818 (an answer, not a fault)
    """More to look at than there is time for."""


@dataclass
class Proof:
    """What is left to be shown of one arrangement on a cloth so (wide, long), once programmes have shown what they can.

    Raises
    ------
    TooMany
        If there are too many ways to fill a line, or no time for the programmes.
    """

    kinds: Sequence[Kind]
    arrangement: Arrangement
    cloth: tuple[int, int]
    until: float

    def __post_init__(self) -> None:
        self._case = _Case(self.kinds, self.arrangement, self.cloth)
        self._left = _Branches(self._case, self.until).left()
        self._solver: cp_model.CpSolver | None = None

    @property
    def done(self) -> bool:
        """Whether it has been shown already that not all finds room."""
        return not self._left

    def finish(self) -> bool:
        """Tell whether the constraint solver shows the rest in time; may run in a thread of its own."""
        from ortools.sat.python import cp_model

        if self.done or time.perf_counter() >= self.until:
            return self.done
        model = _Places(self._case, self._left).model
        # a solver cannot be stopped before it has begun, so it is asked again whether it is still wanted
        seconds = self.until - time.perf_counter()
        if seconds <= 0:
            return False
        self._solver = _solver(seconds)
        return bool(self._solver.solve(model) == cp_model.INFEASIBLE)

    def give_up(self) -> None:
        """Have `finish` come to an end soon."""
        self.until = -math.inf
        if self._solver is not None:
            self._solver.stop_search()


@dataclass(frozen=True)
class _Segment:
    """A stretch across with one load: how wide (None: a margin), and what length is left on each of its lines."""

    wide: int | None
    rest: int


class _Case:
    """One arrangement on a cloth of one length, as a programme."""

    def __init__(self, kinds: Sequence[Kind], arrangement: Arrangement, cloth: tuple[int, int]) -> None:
        self.kinds, self.arrangement = kinds, arrangement
        self.width, self.high = cloth
        self.margin = self.width - arrangement.wide
        high = self.high
        cuts = sorted({x for b in arrangement.boxes for x in (b.at, b.at + b.wide)})
        inner = [
            _Segment(b - a, high - sum(x.high for x in arrangement.boxes if x.at <= a and b <= x.at + x.wide))
            for a, b in itertools.pairwise(cuts)
        ]
        self.segments = [_Segment(None, high), *inner, _Segment(None, high)]
        self.last = len(self.segments) - 1
        self.runs = self._runs()
        self.stands = [[self._stands(run, kind) for kind in self.kinds] for run in self.runs]
        self.caps = [self._caps(kind) for kind in self.kinds]
        self.rows = _Rows()
        self.whole: list[int] = []
        self.crossing: list[list[int]] = []
        self.lengths: list[dict[int, int]] = []
        self.numbers: list[list[int]] = []
        self.sums: list[list[int]] = []
        self._fill()

    def wide(self, s: int) -> int:
        """How wide a segment is at the most."""
        wide = self.segments[s].wide
        return self.margin if wide is None else wide

    def _runs(self) -> list[list[int]]:
        """Neighbouring segments in which something can stand."""
        least = min((k.least for k in self.kinds if k.stands), default=self.high + 1)
        runs: list[list[int]] = []
        for s, segment in enumerate(self.segments):
            if segment.rest >= least:
                if runs and runs[-1][-1] == s - 1:
                    runs[-1].append(s)
                else:
                    runs.append([s])
        return runs

    def _stands(self, run: list[int], kind: Kind) -> int:
        """The longest part of a kind that can stand in a run; 0 where none can."""
        best = 0
        for level in {self.segments[s].rest for s in run}:
            room = 0
            for s in run:
                room = room + self.wide(s) if self.segments[s].rest >= level else 0
                if room >= kind.thick:
                    best = max(best, level)
        best = min(best, kind.most)
        return best if kind.stands and best >= kind.least else 0

    def _caps(self, kind: Kind) -> list[int]:
        """How many parts of a kind can lie over one another in each segment.

        In segments together narrower than the least part, each part sticks out at one side.
        """
        caps = [min(s.rest // kind.thick, kind.parts[1]) if kind.lies else 0 for s in self.segments]
        for _ in range(ROUNDS):  # each makes them only smaller: there is no need to come to the end
            before = list(caps)
            for i in range(self.last + 1):
                for j in range(i, self.last + 1):
                    room = sum(self.wide(s) for s in range(i, j + 1))
                    if i == 0 and j == self.last:
                        room -= self.margin
                    if room >= kind.least:
                        break
                    limit = (caps[i - 1] if i else 0) + (caps[j + 1] if j < self.last else 0)
                    caps[i : j + 1] = [min(c, limit) for c in caps[i : j + 1]]
            if caps == before:
                break
        return caps

    def _fill(self) -> None:
        rows, kinds = self.rows, self.kinds
        margins = [rows.column(0, self.margin), rows.column(0, self.margin)]
        low, high = self.arrangement.left
        rows.low[margins[0]], rows.high[margins[0]] = low, high
        self.margins = margins
        rows.same(dict.fromkeys(margins, 1), self.margin)
        self.lying = [rows.column(0, k.parts[1] if any(caps) else 0) for k, caps in zip(kinds, self.caps, strict=True)]
        self.standing = [
            rows.column(0, kind.parts[1] if any(stands[k] for stands in self.stands) else 0)
            for k, kind in enumerate(kinds)
        ]
        self.whole += [*self.lying, *self.standing]
        self._lines()
        for k in range(len(kinds)):
            self._lie(k)
        for r in range(len(self.runs)):
            self._long(r)
        for k in range(len(kinds)):
            self._all(k)
        for s in range(self.last):
            rest = min(self.segments[s].rest, self.segments[s + 1].rest)
            rows.most({self.crossing[k][s]: kind.thick for k, kind in enumerate(kinds)}, rest)

    def _across(self, s: int) -> tuple[dict[int, int], int]:
        """A segment's width as columns (to be taken off a row) and a limit."""
        wide = self.segments[s].wide
        if wide is None:
            return {self.margins[0 if s == 0 else 1]: -1}, 0
        return {}, wide

    def _lines(self) -> None:
        """How much of each segment has which parts on it."""
        rows, n = self.rows, len(self.kinds)
        self.covered: list[list[dict[int, int]]] = [[{} for _ in self.segments] for _ in range(n)]
        self.room: list[list[dict[int, int]]] = [[{} for _ in self.runs] for _ in range(n)]
        self.counts: list[tuple[int, tuple[int, ...]]] = []
        run_of = {s: r for r, run in enumerate(self.runs) for s in run}
        for s, segment in enumerate(self.segments):
            row, limit = self._across(s)
            can = [
                k for k in range(n) if s in run_of and self.stands[run_of[s]][k] and segment.rest >= self.kinds[k].least
            ]
            if math.prod(self.caps[k][s] + 1 for k in range(n)) > 20 * MOST_COLUMNS:
                raise TooMany
            for counts in itertools.product(*(range(self.caps[k][s] + 1) for k in range(n))):
                rest = segment.rest - sum(c * kind.thick for c, kind in zip(counts, self.kinds, strict=True))
                if rest < 0:
                    continue
                fits = [k for k in can if rest >= self.kinds[k].least]
                for k in fits or [-1]:
                    if len(self.counts) > MOST_COLUMNS:
                        raise TooMany
                    column = rows.column(0, self.wide(s))
                    self.counts.append((column, counts))
                    row[column] = 1
                    for i, c in enumerate(counts):
                        if c:
                            self.covered[i][s][column] = c
                    if k >= 0:
                        self.room[k][run_of[s]][column] = rest
            rows.most(row, limit)

    def waste(self) -> Iterator[tuple[int, int, int]]:
        """Where nothing can stand, what parts that lie must leave empty: from the first edge, how wide, how high."""
        at, least = 0, min((k.least for k in self.kinds if k.stands), default=self.high + 1)
        for segment in self.segments[1:-1]:
            assert segment.wide is not None
            sums = {0}
            for kind in self.kinds if segment.rest < least else ():
                if kind.lies:
                    sums = {s + n * kind.thick for s in sums for n in range((segment.rest - s) // kind.thick + 1)}
            if segment.rest < least and max(sums) < segment.rest:
                yield at, segment.wide, segment.rest - max(sums)
            at += segment.wide

    def _lie(self, k: int) -> None:
        """Parts that lie: they begin, go on over borders, and end."""
        rows, kind, count = self.rows, self.kinds[k], self.lying[k]
        borders, n = [], self.last + 1
        for s in range(n):
            most = min(self.caps[k][s], self.caps[k][s + 1]) if s < self.last else 0
            borders.append(rows.column(0, min(most, kind.parts[1])))
        begins = [rows.column(0, kind.parts[1] if self.caps[k][s] else 0) for s in range(n)]
        ends = [rows.column(0, kind.parts[1] if self.caps[k][s] else 0) for s in range(n)]
        self.crossing.append(borders)
        self.whole += [*borders, *begins, *ends]
        rows.same(dict.fromkeys(begins, 1) | {count: -1}, 0)
        for s in range(n):
            before = {borders[s - 1]: 1} if s else {}
            rows.same({borders[s]: 1, begins[s]: -1, ends[s]: 1} | dict.fromkeys(before, -1), 0)
            covered, wide = self.covered[k][s], self.wide(s)
            rows.most(covered | {begins[s]: -wide} | dict.fromkeys(before, -wide), 0)
            if self.segments[s].wide is not None:
                rows.most(covered | {count: -wide}, 0)
                rows.least(covered | {ends[s]: wide} | dict.fromkeys(before, -wide), 0)
            if wide < kind.least:
                rows.most({ends[s]: 1} | dict.fromkeys(before, -1), 0)
        length: dict[int, int] = {}
        for s in range(n):
            length |= self.covered[k][s]
        rows.most(length | {count: -min(kind.most, self.width)}, 0)
        rows.least(length | {count: -kind.least}, 0)
        self.lengths.append(length)

    def _long(self, r: int) -> None:
        """Parts that stand in a run: no two longer than half of the cloth stand behind one another."""
        rows, run, half = self.rows, self.runs[r], self.high // 2
        levels = [half, *(x for x in sorted({self.segments[s].rest for s in run})[:-1] if x > half)]
        numbers = [rows.column(0, kind.parts[1] if self.stands[r][k] else 0) for k, kind in enumerate(self.kinds)]
        sums = [rows.column(0, kind.parts[1] * self.stands[r][k]) for k, kind in enumerate(self.kinds)]
        self.numbers.append(numbers)
        self.sums.append(sums)
        self.whole += numbers
        for k, kind in enumerate(self.kinds):
            rows.most({sums[k]: kind.thick} | {i: -x for i, x in self.room[k][r].items()}, 0)
            rows.least({sums[k]: 1, numbers[k]: -kind.least}, 0)
        for level in levels:
            row: dict[int, int] = {}
            for k, kind in enumerate(self.kinds):
                longest = self.stands[r][k]
                longer = rows.column(0, kind.parts[1] if longest > level else 0)
                self.whole.append(longer)
                rows.most({longer: 1, numbers[k]: -1}, 0)
                if kind.least > level:
                    rows.least({longer: 1, numbers[k]: -1}, 0)
                short = min(level, longest)
                rows.most({sums[k]: 1, longer: short - longest, numbers[k]: -short}, 0)
                row[longer] = kind.thick
            limit = 0
            for s in run:
                if self.segments[s].rest > level:
                    across, wide = self._across(s)
                    row |= across
                    limit += wide
            rows.most(row, limit)

    def _all(self, k: int) -> None:
        """All parts of a kind together."""
        rows, kind = self.rows, self.kinds[k]
        numbers = {numbers[k]: 1 for numbers in self.numbers}
        rows.same(numbers | {self.standing[k]: -1}, 0)
        both = {self.lying[k]: 1, self.standing[k]: 1}
        rows.least(both, kind.parts[0])
        rows.most(both, kind.parts[1])
        sums = {sums[k]: 1 for sums in self.sums}
        rows.least(self.lengths[k] | sums | dict.fromkeys(both, -kind.each), kind.total)


class _Solver:
    """The programmes of one case, one after another, with bounds that change."""

    def __init__(self, case: _Case) -> None:
        import highspy

        self.case, rows = case, case.rows
        self.low, self.high = np.array(rows.low, np.int64), np.array(rows.high, np.int64)
        m, n = len(rows.rows), len(rows.low)
        self.matrix = np.zeros((m, n), np.int64)
        for i, (row, _) in enumerate(rows.rows):
            for j, a in row.items():
                self.matrix[i, j] = a
        self.limits = np.array([x for _, x in rows.rows], np.int64)
        self.multiplier = min(MULTIPLIER, MOST_TOTAL // max(1, m * int(np.abs(self.matrix).max(initial=1))))
        at, of = np.nonzero(self.matrix.T)  # by column, then row
        lp = highspy.HighsLp()
        lp.num_col_, lp.num_row_ = n + 1, m
        lp.col_cost_ = np.append(np.zeros(n), 1.0)
        lp.col_lower_ = np.append(self.low.astype(float), 0.0)
        lp.col_upper_ = np.append(self.high.astype(float), highspy.kHighsInf)
        lp.row_lower_ = np.full(m, -highspy.kHighsInf)
        lp.row_upper_ = self.limits.astype(float)
        starts = np.searchsorted(at, np.arange(n + 1))
        lp.a_matrix_.format_ = highspy.MatrixFormat.kColwise
        lp.a_matrix_.start_ = np.append(starts, len(at) + m).astype(np.int32)
        lp.a_matrix_.index_ = np.append(of, np.arange(m)).astype(np.int32)
        lp.a_matrix_.value_ = np.append(self.matrix.T[at, of].astype(float), np.full(m, -1.0))
        self.solver = highspy.Highs()
        self.solver.setOptionValue("output_flag", False)
        self.solver.setOptionValue("log_to_console", False)
        self.solver.setOptionValue("threads", 1)
        self.solver.setOptionValue("presolve", "off")
        self.solver.passModel(lp)
        self.columns = np.arange(n, dtype=np.int32)
        self.counted = [(c, counts) for c, counts in case.counts if any(counts)]

    def solved(self, low: Whole, high: Whole) -> npt.NDArray[np.float64] | None:
        """A solution within these bounds, whole or not; None where it is shown that there is none."""
        self.solver.changeColsBounds(len(self.columns), self.columns, low.astype(float), high.astype(float))
        self.solver.run()
        solution = self.solver.getSolution()
        if self._impossible(np.array(solution.row_dual), low, high):
            return None
        x: npt.NDArray[np.float64] = np.nan_to_num(np.array(solution.col_value[:-1]))
        return x

    def _impossible(self, dual: npt.NDArray[np.float64], low: Whole, high: Whole) -> bool:
        """Tell whether these multipliers show in whole numbers that all rows cannot hold at once."""
        size = np.maximum(-dual, 0.0)
        if not len(size) or not np.isfinite(size).all() or size.max() <= 0:
            return False
        whole = np.rint(size / size.max() * self.multiplier).astype(np.int64)
        total = whole @ self.matrix
        least = np.where(total > 0, low, high)
        # beyond 64 bits: by Python's own whole numbers
        reached = sum(a * b for a, b in zip(total.tolist(), least.tolist(), strict=True) if a)
        return bool(reached > sum(a * b for a, b in zip(whole.tolist(), self.limits.tolist(), strict=True) if a))

    def with_counts(self, low: Whole, high: Whole) -> Whole:
        """Upper bounds without the lines on which more parts lie than there are."""
        high = high.copy()
        most = high[self.case.lying]
        for column, counts in self.counted:
            if any(c > m for c, m in zip(counts, most, strict=True)):
                high[column] = 0
        return high


class _Branches:
    """All cases of one arrangement by whole numbers."""

    def __init__(self, case: _Case, until: float) -> None:
        self.case, self.solver, self.until = case, _Solver(case), until
        self.nodes = 0

    def left(self) -> list[Numbers]:
        """The numbers of parts that are not excluded.

        Raises
        ------
        TooMany
            If time runs out.
        """
        found: list[Numbers] = []
        numbers = [*self.case.lying, *self.case.standing]
        stack = [(self.solver.low, self.solver.high)]
        while stack:
            low, high = stack.pop()
            high = self.solver.with_counts(low, high)
            self._count()
            x = self.solver.solved(low, high)
            if x is None:
                continue
            open_ = [i for i in numbers if low[i] < high[i]]
            if not open_:
                if not self._whole(low, high, x):
                    found.append(
                        tuple(
                            (int(low[a]), int(low[b])) for a, b in zip(self.case.lying, self.case.standing, strict=True)
                        )
                    )
                continue
            i = open_[0]
            at = int(np.clip(round(x[i]), low[i], high[i]))
            stack += list(_split(low, high, i, ((int(low[i]), at - 1), (at + 1, int(high[i])), (at, at))))
        return found

    def _count(self) -> None:
        self.nodes += 1
        if time.perf_counter() > self.until:
            raise TooMany

    def _whole(self, low: Whole, high: Whole, x: npt.NDArray[np.float64]) -> bool:
        """Tell whether branching on all that is whole excludes a case, `x` its first solution."""
        stack: list[tuple[Whole, Whole]] = []
        most = self.nodes + MOST_NODES
        while True:
            loose = [i for i in self.case.whole if abs(x[i] - round(x[i])) > NOT_WHOLE]
            if not loose:
                return False
            i = max(loose, key=lambda i: 0.5 - abs(x[i] - math.floor(x[i]) - 0.5))
            at = math.floor(x[i])
            stack += list(_split(low, high, i, ((int(low[i]), at), (at + 1, int(high[i])))))
            found = None
            while found is None and stack:
                low, high = stack.pop()
                self._count()
                if self.nodes > most:
                    return False
                found = self.solver.solved(low, high)
            if found is None:
                return True
            x = found


def _split(low: Whole, high: Whole, i: int, ranges: Sequence[tuple[int, int]]) -> Iterator[tuple[Whole, Whole]]:
    for a, b in ranges:
        if a <= b:
            lower, upper = low.copy(), high.copy()
            lower[i], upper[i] = a, b
            yield lower, upper


# -- places across ---------------------------------------------------------------------------------


def _solver(seconds: float) -> cp_model.CpSolver:
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = max(0.0, seconds)
    # Measured: without its linear programme, and with a look at how much must be where, the solver is done soonest.
    solver.parameters.linearization_level = 0
    solver.parameters.use_overload_checker_in_cumulative = True
    return solver


class _Places:
    """Places across at which no line along has more on it than the cloth is long, with any of the parts' numbers left.

    Where there are none, not all finds room.
    """

    def __init__(self, case: _Case, left: Sequence[Numbers]) -> None:
        from ortools.sat.python import cp_model

        self.case, self.model = case, cp_model.CpModel()
        self.spans: list[cp_model.IntervalVar] = []
        self.loads: list[Any] = []
        first = self.model.new_int_var(*case.arrangement.left, "")
        for box in case.arrangement.boxes:
            self._load(first + box.at, box.wide, box.high)
        for at, wide, high in case.waste():
            self._load(first + at, wide, high)
        counts: list[Any] = []
        for k, kind in enumerate(case.kinds):
            lie, lying = self._parts(kind, [n[k][0] for n in left], lies=True)
            stand, standing = self._parts(kind, [n[k][1] for n in left], lies=False)
            self.model.add(sum(lying) + sum(standing) >= kind.total + (lie + stand) * kind.each)
            counts += [lie, stand]
        self.model.add_allowed_assignments(counts, [[n for pair in numbers for n in pair] for numbers in left])
        self.model.add_cumulative(self.spans, self.loads, case.high)

    def _load(self, start: Any, wide: Any, high: Any, on: Any = True) -> None:
        end = self.model.new_int_var(0, self.case.width, "")
        self.spans.append(self.model.new_optional_interval_var(start, wide, end, on, ""))
        self.loads.append(high)

    def _parts(self, kind: Kind, numbers: Sequence[int], *, lies: bool) -> tuple[Any, list[Any]]:
        """How many parts of a kind lie (or stand), and how long each is: in order, as they may be swapped."""
        model, surely = self.model, min(numbers)
        longest = min(kind.most, self.case.width if lies else self.case.high)
        lengths: list[Any] = []
        here: list[Any] = [True] * surely
        before = None
        for number in range(max(numbers)):
            if number >= surely:
                here.append(model.new_bool_var(""))
                if number:
                    model.add_implication(here[-1], here[-2])
            start = model.new_int_var(0, self.case.width, "")
            length: Any = model.new_int_var(kind.least, longest, "") if kind.least < longest else kind.least
            wide, high = (length, kind.thick) if lies else (kind.thick, length)
            self._load(start, wide, high, here[number])
            by = start if kind.least == longest else length
            if before is not None:
                model.add(before >= by)
            before = by
            counted = model.new_int_var(0, kind.most, "")
            model.add(counted == length).only_enforce_if(here[number])
            model.add(counted == 0).only_enforce_if(~here[number] if number >= surely else False)
            lengths.append(counted)
        count = model.new_int_var(surely, max(numbers), "")
        model.add(count == sum(here))
        return count, lengths
