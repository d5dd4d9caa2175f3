"""Placements on the repeat: pieces that have their place both ways, counted by column of the pattern.

Once a group's anchor is chosen, a matched piece has only a few columns of the pattern to lie in,
and in each of them a place every repeat. Take any point of one repeat. Of the pieces that cover
it where they lie no two can lie in the same repeat, so there are no more of them than the point
comes by on the cloth. The numbers of pieces in each column must keep all these limits at once:
a linear programme says whether they can, and where they can't its prices prove it.

Prices are checked in whole numbers: with a price on every limit, each piece costs what it covers
in its cheapest column; where all pieces together cost more than all limits together allow, no lay
is so short. Nothing of the programme's own floats is believed.

What is not known is taken in turn. The anchor across counts only by which columns it leaves on
the cloth (a handful of sets), the cut end's place on the repeat by where it cuts a piece off: the
best places for it are those where some piece begins. Pieces without a place both ways are left
out, which makes a lay only easier.
"""

from __future__ import annotations

import math
import time
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from squab.lay._demand import alike, is_rectangle, turned
from squab.lay.records import LayPhase, LayPiece, LayProblem
from squab.plane import Points

ROOM_MM = 1e-5
"""Pieces that fit but for the rounding of floats do fit."""
WHOLE = 10**9
"""Whole units of price in 1."""
NEAR_MM = 1e-6
"""Places nearer than this are one: the noise of floats."""
CLEAR_MM = 1e-4
"""Pieces must overlap by more than nearly this to be held apart."""
UNDER_MM = 2 * ROOM_MM
"""By how much a length must fall short of a place's end before that place is lost."""
MOST_WAYS, MOST_POINTS = 800, 6000
"""Pieces by their columns, and points at which one may begin, above which a group is left alone."""

Ints = npt.NDArray[np.int64]
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Frame:
    """Pieces whose places hang on one another: every column in which each may lie, one row each.

    Sizes are with the gap, in a cloth larger by it. `u_mm` is from the anchor, `q_mm` from the
    anchor up to whole repeats.
    """

    kind: Ints
    u_mm: Floats
    run_mm: Floats
    q_mm: Floats
    reach_mm: Floats
    counts: Ints
    """How many there are of each kind."""
    width_mm: float
    repeat_mm: float
    anchors_mm: tuple[float, ...]
    """Anchors across that leave the most columns on the cloth; the one, where it is known."""
    cut_end_mm: float | None
    """Where on the repeat the cut end stands, where it is known."""

    def on_cloth(self, anchor_mm: float) -> npt.NDArray[np.bool_]:
        """Which rows lie between the selvages."""
        left = self.u_mm + anchor_mm
        on: npt.NDArray[np.bool_] = (left >= -ROOM_MM) & (left + self.run_mm <= self.width_mm + ROOM_MM)
        return on


def frames(problem: LayProblem) -> list[Frame]:
    """The groups of rectangles with places both ways, two of them at least."""
    if problem.lattice.across_mm is None or problem.lattice.along_mm is None:
        return []
    groups: defaultdict[tuple[str, int, int], list[tuple[LayPiece, int]]] = defaultdict(list)
    for piece, count in alike(problem.pieces):
        phase = piece.phase
        if phase is None or phase.off_p is None or phase.off_q is None:
            continue
        if all(is_rectangle(turned(piece.outline, t)) for t in piece.turns_deg):
            pinned = None not in problem.anchors.get(phase.group, (None, None))
            groups[("", 1, 1) if pinned else (phase.group, phase.sign_p, phase.sign_q)].append((piece, count))
    return [
        frame
        for members in groups.values()
        if sum(n for _, n in members) > 1 and (frame := _frame(problem, members)) is not None
    ]


def _frame(problem: LayProblem, members: Sequence[tuple[LayPiece, int]]) -> Frame | None:
    """All columns of all members. Where both anchors are pinned the frame is the pattern's own."""
    across, along, gap = problem.lattice.across_mm, problem.lattice.along_mm, problem.gap_mm
    assert across is not None
    assert along is not None
    width = problem.usable_width_mm + gap
    rows: list[tuple[int, float, float, float, float]] = []
    for kind, (piece, _) in enumerate(members):
        assert piece.phase is not None
        p, q = _offsets(problem, piece.phase)
        for low, size in _lying(piece):
            run, reach = float(size[0]) + gap, float(size[1]) + gap
            first = math.ceil((-ROOM_MM - across - p - low[0]) / across)
            last = math.floor((width + ROOM_MM - run - p - low[0]) / across)
            for m in range(first, last + 1):
                bottom = (q + low[1] + m * problem.lattice.drop_mm) % along
                rows.append((kind, p + low[0] + m * across, run, bottom, reach))
    if not rows or len(rows) > MOST_WAYS:
        return None
    table = np.array(rows)
    if math.prod(len(np.unique(table[:, k].round(7))) for k in (1, 3)) > MOST_POINTS:
        return None
    phase = members[0][0].phase
    assert phase is not None
    at = [_anchor(problem, phase, axis) for axis in range(2)]
    left = table[:, 1]
    # A set of columns on the cloth is largest where the anchor is as far left as one of them allows.
    anchors = {0.0, *(-left[(left <= 0) & (left > -across)]).round(9).tolist()} if at[0] is None else {at[0] % across}
    # Columns are counted from the anchor nearest the selvage: so far it has moved up or down the drop.
    drop = problem.lattice.drop_mm
    dropped = 0.0 if at[0] is None else at[0] // across * drop
    if at[0] is None and drop:
        at[1] = None  # whichever column the anchor stands in, so much higher it may stand
    return Frame(
        table[:, 0].astype(np.int64), table[:, 1], table[:, 2], table[:, 3], table[:, 4],
        np.array([n for _, n in members], np.int64), width, along, tuple(sorted(anchors)),
        None if at[1] is None else (dropped - at[1]) % along,
    )  # fmt: skip


def _lying(piece: LayPiece) -> list[tuple[tuple[float, float], Points]]:
    """Lower left corner and size of a rectangle, each way it may lie."""
    found: dict[bytes, tuple[tuple[float, float], Points]] = {}
    for turn in piece.turns_deg:
        uv = turned(piece.outline, turn)
        low, size = uv.min(axis=0), np.ptp(uv, axis=0)
        found[np.concatenate((low, size)).round(6).tobytes()] = ((float(low[0]), float(low[1])), size)
    return list(found.values())


def _offsets(problem: LayProblem, phase: LayPhase) -> tuple[float, float]:
    assert phase.off_p is not None
    assert phase.off_q is not None
    a, b = problem.anchors.get(phase.group, (None, None))
    if a is None or b is None:
        return phase.off_p, phase.off_q
    return phase.off_p + phase.sign_p * a, phase.off_q + phase.sign_q * b


def _anchor(problem: LayProblem, phase: LayPhase, axis: int) -> float | None:
    """Where the frame's anchor is from the selvage (or the cut end), where that is known."""
    pinned, start = problem.anchors.get(phase.group, (None, None)), problem.pattern_at[axis]
    at = pinned[axis]
    if start is None or at is None:
        return None
    return start if None not in pinned else start + (phase.sign_p, phase.sign_q)[axis] * at


# -- how long the cloth must be ---------------------------------------------------------------


def places_bound(problem: LayProblem, shown_mm: float, until: float) -> float:
    """The length below which some group has no places enough; `shown_mm` where that is as long.

    Works until that length is found, or `until` (of `time.perf_counter`) has come.
    """
    best = shown_mm
    for frame in frames(problem):
        best = max(best, _least(frame, best + problem.gap_mm, until) - problem.gap_mm)
    return best


def _least(frame: Frame, shown_mm: float, until: float) -> float:
    """The least length (gap counted in) at which the pieces of a frame have places, as far as shown in time.

    First by whole repeats, for any place of the cut end; then each place of the cut end is
    taken in turn, and asked only whether it does with less than the best so far.
    """
    anchors = _anchored(frame, until)
    if anchors is None:
        return shown_mm
    lows: dict[int, float] = {}
    for anchor in anchors:
        if time.perf_counter() > until:
            return shown_mm
        lows[id(anchor)] = max(shown_mm, anchor.whole_repeats() * frame.repeat_mm)
    shown, best = min(lows.values(), default=shown_mm), math.inf
    for anchor in sorted(anchors, key=lambda a: lows[id(a)]):
        for start in anchor.starts():
            best = min(best, start.least(lows[id(anchor)], best, until))
            if time.perf_counter() > until:
                return shown
    return best if best < math.inf else shown


def cases(frame: Frame, until: float) -> list[Case]:
    """What is not known of a frame, one case each: whatever a lay is, it is one of them. None where time is up."""
    return [case for a in _anchored(frame, until) or () for case in a.starts()]


def _anchored(frame: Frame, until: float) -> list[_Anchored] | None:
    """Every set of columns that an anchor may leave, where each kind has one; None where time is up before."""
    found = []
    for rows in _largest([frame.on_cloth(a) for a in frame.anchors_mm]):
        if time.perf_counter() > until:
            return None
        anchored = _Anchored(frame, rows)
        if anchored.all_have_columns():
            found.append(anchored)
    return found


def _largest(sets: list[npt.NDArray[np.bool_]]) -> list[Ints]:
    """The sets that no other holds, each once, as numbers of rows."""
    kept = {x.tobytes(): x for x in sets}.values()
    return [np.flatnonzero(x) for x in kept if not any((x <= y).all() and (x != y).any() for y in kept)]


@dataclass(frozen=True)
class _Limits:
    """Limits on the numbers of pieces, a row of `times` each: how much each piece counts, and how much may be."""

    times: Ints
    most: Ints


class _Anchored:
    """A frame with its anchor across chosen, and the points that matter."""

    def __init__(self, frame: Frame, rows: Ints) -> None:
        self.frame, self.rows = frame, rows
        self.times, self.after = _points(frame, rows)
        self.prices: Ints | None = None

    def all_have_columns(self) -> bool:
        """Whether every kind has a column at all."""
        return len(np.unique(self.frame.kind[self.rows])) == len(self.frame.counts)

    def whole_repeats(self) -> int:
        """So many whole repeats are too short, wherever the cut end stands."""
        limits = _Limits(self.times, np.ones(len(self.times), np.int64))
        prices, share = _prices(self.frame, self.rows, limits)
        count = math.ceil(1 / share - NEAR_MM) - 1 if share > 0 else 0
        while count > 0 and not _too_dear(self.frame, self.rows, limits, prices, count):
            count -= 1
        return count

    def starts(self) -> Iterator[Case]:
        """The places of the cut end that matter: those where some row begins."""
        frame, q = self.frame, self.frame.q_mm[self.rows]
        ends = [frame.cut_end_mm] if frame.cut_end_mm is not None else sorted(set(q.round(7).tolist()))
        for end in ends:
            yield Case(self, (q - end + ROOM_MM) % frame.repeat_mm - ROOM_MM)


class Case:
    """An anchor and a place of the cut end: how far from it (`begin`) the first place of each row (`rows`) is."""

    def __init__(self, anchored: _Anchored, begin_mm: Floats) -> None:
        self.frame, self.rows, self.anchored = anchored.frame, anchored.rows, anchored
        self.begin = begin_mm

    def least(self, low_mm: float, best_mm: float, until: float) -> float:
        """A length that cannot be undercut, no less than `low_mm`; infinity where that is `best_mm` or more."""
        high = best_mm
        if high == math.inf:
            high = low_mm + self.frame.repeat_mm / 2
            while self.too_short(high) and time.perf_counter() < until:
                high += self.frame.repeat_mm / 2
        elif self.too_short(best_mm):
            return math.inf
        steps = self._steps(low_mm, high)
        low, beyond = -1, len(steps)
        while beyond - low > 1 and time.perf_counter() < until:
            middle = (low + beyond) // 2
            if self.too_short(steps[middle]):
                low = middle
            else:
                beyond = middle
        return steps[low] if low >= 0 else low_mm

    def next_place(self, length_mm: float) -> float:
        """Just under the length from `length_mm` on at which some row gains a place: so far nothing changes."""
        beyond = length_mm + 2 * self.frame.repeat_mm
        # a step lies so far under the place it stands for, and the place may not be counted yet
        return max(length_mm, min(self._steps(length_mm - UNDER_MM, beyond), default=beyond))

    def _steps(self, low_mm: float, high_mm: float) -> list[float]:
        """Lengths just under those at which some row gains a place."""
        repeat = self.frame.repeat_mm
        first = self.begin + self.frame.reach_mm[self.rows] - UNDER_MM
        times = np.arange(math.ceil((high_mm + repeat) / repeat))
        at = np.unique((first[:, None] + times * repeat).round(7))
        return [float(x) for x in at if low_mm < x < high_mm]

    def too_short(self, length_mm: float) -> bool:
        """Tell whether it is shown that the pieces have no places on so much cloth."""
        frame = self.frame
        room = length_mm - frame.reach_mm[self.rows] - self.begin + ROOM_MM
        places = np.maximum(np.floor(room / frame.repeat_mm).astype(np.int64) + 1, 0)
        fits = places > 0
        rows = self.rows[fits]
        if len(np.unique(frame.kind[rows])) < len(frame.counts):
            return True
        limits = self._limits(fits, places[fits])
        known = self.anchored.prices
        if known is not None and _too_dear(frame, rows, limits, known, 1):
            return True
        prices, share = _prices(frame, rows, limits)
        if share < 1 and _too_dear(frame, rows, limits, prices, 1):
            self.anchored.prices = prices
            return True
        return False

    def _limits(self, fits: npt.NDArray[np.bool_], places: Ints) -> _Limits:
        """How often each point comes by: for all its rows, and for those that miss its first or last coming."""
        times = self.anchored.times[:, fits]
        at = np.where(times > 0, self.begin[fits] + self.anchored.after[:, fits], np.inf)
        seen = np.isfinite(at).any(axis=1)
        lowest = np.where(seen, at.min(axis=1, initial=np.inf), 0.0)[:, None]
        first = np.where(times > 0, np.round((np.where(times > 0, at, 0.0) - lowest) / self.frame.repeat_mm), -1)
        last = np.where(times > 0, first + places + times - 2, -1)
        top = last.max(axis=1, initial=-1)
        found, most = [], []
        for start in range(2):
            for short in range(3):
                within = (first >= start) & (last <= (top - short)[:, None])
                found.append(np.where(within, times, 0))
                most.append(np.maximum(top - short - start + 1, 0))
        return _Limits(np.concatenate(found).astype(np.int64), np.concatenate(most).astype(np.int64))


def _points(frame: Frame, rows: Ints) -> tuple[Ints, Floats]:
    """Points covered by sets of rows that no other point's set holds.

    For each point and row how often the row covers it (0: never), and how far after the row's
    own beginning the point comes.
    """
    u, q = frame.u_mm[rows], frame.q_mm[rows]
    across = np.unique(u.round(7))[:, None] - u
    along = (np.unique(q.round(7))[:, None] - q + NEAR_MM) % frame.repeat_mm - NEAR_MM
    beside = (across > -NEAR_MM) & (across < frame.run_mm[rows] - CLEAR_MM)
    behind = along < frame.reach_mm[rows] - CLEAR_MM
    both = (beside[:, None, :] & behind[None, :, :]).reshape(len(beside) * len(behind), len(rows))
    first = list({x.tobytes(): i for i, x in enumerate(both)}.values())
    both = both[first]
    shared = both.astype(np.float32) @ both.T.astype(np.float32)
    size = both.sum(axis=1)
    held = (shared >= size[:, None]) & (size[None, :] > size[:, None])
    kept = ~held.any(axis=1) & (size > 0)
    after = np.tile(along, (len(across), 1))[first][kept]
    times = 1 + np.floor((frame.reach_mm[rows] - CLEAR_MM - after) / frame.repeat_mm).astype(np.int64)
    return np.where(both[kept], times, 0), after


# -- prices -----------------------------------------------------------------------------------


def _prices(frame: Frame, rows: Ints, limits: _Limits) -> tuple[Ints, float]:
    """Whole prices of the limits, and what share of all pieces they have room for."""
    import highspy

    table = np.column_stack((limits.times, limits.most))
    told = [i for i in {x.tobytes(): i for i, x in enumerate(table)}.values() if limits.times[i].any()]
    kinds, n, count = len(frame.counts), len(rows), len(told)
    of_kind = (frame.kind[rows][None, :] == np.arange(kinds)[:, None]).astype(np.int64)
    matrix = np.zeros((count + kinds, n + 1))
    matrix[:count, :n], matrix[count:, :n], matrix[count:, n] = limits.times[told], of_kind, -frame.counts
    at, index = np.nonzero(matrix)
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = n + 1, count + kinds
    lp.sense_ = highspy.ObjSense.kMaximize
    lp.col_cost_ = np.append(np.zeros(n), 1.0)
    lp.col_lower_, lp.col_upper_ = np.zeros(n + 1), np.full(n + 1, highspy.kHighsInf)
    lp.row_lower_ = np.append(np.full(count, -highspy.kHighsInf), np.zeros(kinds))
    lp.row_upper_ = np.append(limits.most[told].astype(np.float64), np.full(kinds, highspy.kHighsInf))
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.searchsorted(at, np.arange(count + kinds + 1)).astype(np.int32)
    lp.a_matrix_.index_, lp.a_matrix_.value_ = index.astype(np.int32), matrix[at, index]
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("log_to_console", False)
    solver.setOptionValue("threads", 1)
    solver.passModel(lp)
    solver.run()
    solution = solver.getSolution()
    prices = np.zeros(len(limits.most), np.int64)
    if not solution.dual_valid:
        return prices, 1.0
    prices[told] = np.floor(np.abs(np.array(solution.row_dual[:count])) * WHOLE)
    return prices, float(solver.getInfo().objective_function_value)


def _too_dear(frame: Frame, rows: Ints, limits: _Limits, prices: Ints, repeats: int) -> bool:
    """Tell, in whole numbers, whether all pieces cost more than the limits allow, taken `repeats` times."""
    cost = prices @ limits.times
    room = sum(int(p) * int(m) for p, m in zip(prices, limits.most, strict=True)) * repeats
    dear = sum(int(c) * int(cost[frame.kind[rows] == k].min()) for k, c in enumerate(frame.counts))
    return dear > room
