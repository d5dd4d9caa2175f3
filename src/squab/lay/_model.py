"""A lay problem as flat arrays for the compiled search, and the way back."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from squab.cloth import Flaw
from squab.errors import LayError
from squab.lay._shapes import chains, convex_parts, is_box
from squab.lay.records import Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.plane import Points, cos_sin

MANY_ITEMS = 200
"""From this many items on a piece is laid only within `WINDOW` heights of the last edge."""
WINDOW = 2.5
POUR_SHARES = (0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95)
"""Shortest parts tried, as shares of the longest, once the lay is found."""
MOST_PAIRED = 40
"""Up to so many parts, where one overlaps another is worked out beforehand."""
POUR_ANY = 1e-6
"""A strip is poured into whatever stretch takes its least part (the search's own `pours`)."""


@dataclass
class State:
    """One state of the search. `length_mm` is that of its lay, inf before it has been laid."""

    order: Any
    mode: Any
    lens: Any
    hints: Any
    pours: Any
    var: Any
    length_mm: float = math.inf
    cost_mm: float = math.inf
    """The length and what its joins weigh."""
    places: Any = None
    """Where the items lie (u, v of their boxes), if not as low as they go in their order."""

    def copy(self) -> State:
        """A copy that shares nothing."""
        return State(
            self.order.copy(), self.mode.copy(), self.lens.copy(), self.hints.copy(), self.pours.copy(),
            self.var.copy(), self.length_mm, self.cost_mm, None if self.places is None else self.places.copy(),
        )  # fmt: skip


@dataclass(eq=False)
class Model:
    """The arrays that `squab.lay._kernel` works on; see `build_model`."""

    problem: LayProblem
    keys: list[str]
    turns: list[list[int]]
    n_mode: Any
    options: Any
    phased: Any
    area: Any
    strip_of: Any
    strips: Any
    windows: Any
    spans: Any
    movable: Any
    first_var: Any
    first_lens: Any
    first_mode: Any
    first_pours: Any
    pourable: Any
    lattice: Any
    flaws: Any
    shaped: bool
    flaw_part: int
    window_mm: float
    chain: Any
    cx: Any
    cy: Any
    heights: Any
    widths: Any
    areas: Any
    size_mm: float
    variables: _Variables
    cuts: dict[tuple[Any, ...], list[Points]] = field(default_factory=dict)
    """Convex parts of outlines, by what tells them apart; all twins have the same."""
    stack: Any = field(init=False)
    stack_p: Any = field(init=False)
    cands: Any = field(init=False)

    def __post_init__(self) -> None:
        room = len(self.keys) + len(self.flaws) + 1
        self.stack = np.zeros((5, room))
        self.stack_p = np.zeros((2, room), dtype=np.int64)
        self.cands = np.zeros(max(4000, 4 * room))

    def twin(self) -> Model:
        """The same problem with working room of its own, for another thread."""
        return replace(self, chain=self.chain.copy(), cx=self.cx.copy(), cy=self.cy.copy())

    def blank_state(self, order: Any) -> State:
        """A state with the first divisions, first turns and first anchors."""
        n = len(self.keys)
        return State(
            np.asarray(order, dtype=np.int64),
            self.first_mode.copy(),
            self.first_lens.copy(),
            np.full(n, -1.0),
            self.first_pours.copy(),
            self.first_var.copy(),
        )

    def _fixed(self) -> tuple[Any, ...]:
        return (
            float(self.problem.usable_width_mm), float(self.problem.gap_mm), self.lattice, self.strip_of, self.strips,
            self.options, self.phased, self.area, self.flaws, self.shaped, self.flaw_part, self.window_mm,
        )  # fmt: skip

    def measure(self, state: State) -> Any:
        """Lay a state out; its boxes (u, v, w, h) by item."""
        from squab.lay._kernel import JOIN_MM, MEMORY, decode

        n = len(self.keys)
        laid = np.zeros((n, 4))
        length = decode(
            0, 1e14, state.order, state.mode, state.lens, state.hints, state.pours, state.var, np.zeros(n),
            *self._fixed(),
            laid, np.zeros(n), np.zeros(n), self.stack, self.stack_p, self.cands, np.zeros((2 + MEMORY, 4)),
            self.chain, self.cx, self.cy,
        )  # fmt: skip
        state.length_mm = length if length < 1e14 else math.inf
        state.cost_mm = state.length_mm + JOIN_MM * int((state.lens > 0).sum())
        state.places = None
        return laid

    def divisions(self) -> list[Any]:
        """The first division of the strips, and those with each freely joined strip in more equal parts."""
        found = [self.first_lens]
        slots = self.strips[:, 6] - self.strips[:, 5]
        for more in range(1, int(slots.max(initial=0.0))):
            lens = self.first_lens.copy()
            for strip in self.strips:
                first, last = int(strip[5]), int(strip[6])
                total = float(strip[1] - strip[0])
                parts = min(int((lens[first:last] > 0).sum()) + more, last - first)
                if strip[10] == 0 and total / parts >= strip[7]:
                    lens[first:last] = 0.0
                    lens[first : first + parts] = total / parts
            if not any(np.array_equal(lens, x) for x in found):
                found.append(lens)
        return found

    def merged(self, state: State, s: int) -> list[State]:
        """The states in which two neighbouring parts of strip `s` are one, wherever it then may lie in the order."""
        first, last = int(self.strips[s, 5]), int(self.strips[s, 6])
        used = [j for j in range(first, last) if state.lens[j] > 0]
        if state.pours[first] > 0:
            return self._poured_longer(state, first)
        if len(used) <= max(1, int(self.strips[s, 11])):
            return []
        found = []
        for k in range(len(used) - 1):
            lens = [float(state.lens[j]) for j in used]
            lens[k : k + 2] = [lens[k] + lens[k + 1]]
            for keep in (used[k], used[k + 1]):
                other = state.copy()
                other.lens[used] = 0.0
                slots = [j for j in used if j != (used[k + 1] if keep == used[k] else used[k])]
                other.lens[slots] = lens
                other.hints[slots] = -1.0
                found.append(other)
        return found

    def _poured_longer(self, state: State, first: int) -> list[State]:
        """The state with a poured strip's shortest part longer, where that spares a join."""
        found = []
        for share in POUR_SHARES:
            standing = 2.0 * int(state.pours[first] / 2)
            if standing + share <= state.pours[first]:
                continue
            other = state.copy()
            other.pours[first] = standing + share
            self.measure(other)
            if int((other.lens > 0).sum()) < int((state.lens > 0).sum()):
                found.append(other)
        return found

    def warm(self) -> bool:
        """Compile the search if it has not been used before; tell whether it took a while.

        Compiled code is kept on disk, so that this happens once after an installation.
        """
        began = time.monotonic()
        state = self.blank_state(np.arange(len(self.keys)))
        self.anneal(state, state.copy(), 0, 0, 1.0, 1.0)
        return time.monotonic() - began > 0.5

    def anneal(self, state: State, best: State, steps: int, seed: int, hot: float, cold: float) -> None:
        """Anneal `state` in place, keeping the best in `best`."""
        from squab.lay._kernel import MEMORY, anneal

        n = len(self.keys)
        both = (state, state, best)
        ints = np.array([[x.order, x.mode] for x in both], dtype=np.int64)
        floats = np.array([[x.lens, x.hints, x.pours] for x in both])
        anchors = np.array([x.var for x in both]).reshape(3, -1)
        bars = (self.strips[:, 1] - self.strips[:, 0]) * (self.strips[:, 3] - self.strips[:, 2])
        cost = anneal(
            steps, seed, hot, cold, best.cost_mm if math.isfinite(best.cost_mm) else 1e14,
            max(float(self.area.sum() + bars.sum()), 1.0),
            ints, floats, anchors, np.zeros((2, n, 4)), np.zeros((2, 2, n)), np.zeros(n), bool(self.n_mode.max() > 1),
            self.n_mode, self.movable, self.spans, self.windows, *self._fixed(), bool((self.phased[:, 0] < -1).any()),
            self.pourable,
            self.stack, self.stack_p, self.cands, np.zeros((2 + MEMORY, 4)), self.chain, self.cx, self.cy,
        )  # fmt: skip
        state.order, state.mode, state.lens, state.hints, state.pours, state.var = (
            ints[0, 0], ints[0, 1], floats[0, 0], floats[0, 1], floats[0, 2], anchors[0],
        )  # fmt: skip
        if cost < min(best.cost_mm, 1e14):
            best.order, best.mode, best.lens, best.hints, best.pours, best.var = (
                ints[2, 0], ints[2, 1], floats[2, 0], floats[2, 1], floats[2, 2], anchors[2],
            )  # fmt: skip
            self.measure(best)


class _Variables:
    """Free anchors and unknown pattern origins as one vector, each within one repeat."""

    def __init__(self, problem: LayProblem) -> None:
        self.problem = problem
        self.index: dict[tuple[str, int], int] = {}
        self.spans: list[float] = []
        self.periods = (problem.lattice.across_mm, problem.lattice.along_mm)
        self.origin = [self._variable("", axis) if self._origin_matters(axis) else -1 for axis in range(2)]

    def _origin_matters(self, axis: int) -> bool:
        """Tell whether the pattern's origin is not known and some pinned part hangs on it."""
        if self.problem.pattern_at[axis] is not None or self.periods[axis] is None:
            return False
        phases = [p.phase for p in self.problem.pieces] + [s.phase for s in self.problem.strips]
        return any(
            p is not None
            and (p.off_p, p.off_q)[axis] is not None
            and self.problem.anchors.get(p.group, (None, None))[axis] is not None
            for p in phases
        )

    def of(self, phase: LayPhase, axis: int) -> tuple[int, int, int, float]:
        """(variable or -1, its sign, origin's variable or -1, constant) of a phase on the cloth."""
        off = phase.off_p if axis == 0 else phase.off_q
        sign = phase.sign_p if axis == 0 else phase.sign_q
        assert off is not None
        pinned = self.problem.anchors.get(phase.group, (None, None))[axis]
        constant = off + (self.problem.pattern_at[axis] or 0.0)
        if pinned is None:
            return self._variable(phase.group, axis), sign, self.origin[axis], constant
        return self.origin[axis], 1, -1, constant + sign * pinned

    def _variable(self, group: str, axis: int) -> int:
        at = self.index.setdefault((group, axis), len(self.spans))
        if at == len(self.spans):
            period = self.periods[axis]
            assert period is not None
            self.spans.append(period)
        return at

    def value(self, group: str, axis: int, var: Any) -> float:
        """The value of an anchor (or, with an empty group, of the pattern's origin) in a state."""
        if not group:
            known = self.problem.pattern_at[axis]
            return (
                known
                if known is not None
                else float(var[self.index[group, axis]])
                if (group, axis) in self.index
                else 0.0
            )
        pinned = self.problem.anchors.get(group, (None, None))[axis]
        if pinned is not None:
            return pinned
        at = self.index.get((group, axis))
        return float(var[at]) if at is not None else 0.0


def build_model(problem: LayProblem) -> Model:
    """Build the arrays of a problem.

    Raises
    ------
    LayError
        If the width is not positive, there is nothing to lay, or a piece has no place across.
    """
    if not problem.usable_width_mm > 0:
        raise LayError(f"the cloth is {problem.usable_width_mm} mm wide")
    if not problem.pieces and not problem.strips:
        raise LayError("there is nothing to lay")
    return _Builder(problem).model()


class _Builder:
    def __init__(self, problem: LayProblem) -> None:
        self.problem = problem
        self.half = problem.gap_mm / 2
        self.variables = _Variables(problem)
        self.parts: list[tuple[Points, Points]] = []
        self.fixed: set[int] = set()
        """Parts that stay as they are; the others are bars, written anew with every division."""
        self.seen: dict[tuple[bytes, int], tuple[int, int, float, float, float, float]] = {}
        turns = [x.turns_deg for x in problem.pieces] + [x.turns_deg for x in problem.strips]
        slanted = any(t % 90 for found in turns for t in found)
        outlined = any(not is_box(p.outline) for p in problem.pieces) or any(f.outline for f in problem.flaws)
        self.shaped = slanted or outlined
        self.keys: list[str] = []
        self.turns: list[list[int]] = []
        self.options: list[list[list[float]]] = []
        self.phased: list[list[int]] = []
        self.area: list[float] = []
        self.strip_of: list[int] = []
        self.lens: list[float] = []
        self.modes: list[int] = []
        self.pours: list[float] = []
        self.pourable: list[bool] = []
        self.sizes: list[tuple[float, float]] = []

    def model(self) -> Model:
        p = self.problem
        for piece in p.pieces:
            self._add_piece(piece)
        strips: list[list[float]] = []
        windows: list[tuple[float, float]] = []
        for strip in p.strips:
            self._add_strip(strip, strips, windows)
        flaw_part = len(self.parts)
        flaws = [part for f in p.flaws for part in _flaw_parts(f)]
        self.parts += [chains(part - part.min(axis=0)) for part in flaws]
        n, most = len(self.keys), max(len(o) for o in self.options)
        options = np.zeros((n, most, 11))
        kinds: dict[tuple[float, ...], int] = {}
        for i, per_item in enumerate(self.options):
            for k, option in enumerate(per_item):
                kind = (*self.phased[i], *np.round(option, 6).tolist())
                options[i, k] = [*option, kinds.setdefault(kind, len(kinds))]
        chain, cx, cy = self._flat_parts()
        sizes = np.array(self.sizes)
        phased = np.array(self.phased, dtype=np.int64).reshape(n, 6)
        var = np.zeros(len(self.variables.spans))
        window = WINDOW * float(sizes[:, 1].max()) if n > MANY_ITEMS else 0.0
        if window and p.lattice.along_mm and (phased[:, 1] > -2).any():
            window += p.lattice.along_mm
        model = Model(
            problem=p, keys=self.keys, turns=self.turns, n_mode=np.array([len(o) for o in self.options]),
            options=options, phased=phased, area=np.array(self.area), strip_of=np.array(self.strip_of, dtype=np.int64),
            strips=np.array(strips, dtype=np.float64).reshape(-1, 14),
            windows=np.array(windows, dtype=np.float64).reshape(-1, 2),
            spans=np.array(self.variables.spans, dtype=np.float64),
            movable=np.arange(len(var)), first_var=var, first_lens=np.array(self.lens, dtype=np.float64),
            first_mode=np.array(self.modes, dtype=np.int64), first_pours=np.array(self.pours),
            pourable=np.array(self.pourable, dtype=np.int64),
            lattice=np.array([p.lattice.across_mm or 0, p.lattice.along_mm or 0, p.lattice.drop_mm], dtype=np.float64),
            flaws=np.array([[*x.min(axis=0), *x.max(axis=0)] for x in flaws], dtype=np.float64).reshape(-1, 4),
            shaped=self.shaped, flaw_part=flaw_part, window_mm=window, chain=chain, cx=cx, cy=cy,
            heights=sizes[:, 1], widths=sizes[:, 0], areas=sizes[:, 0] * sizes[:, 1],
            size_mm=max(float((sizes[:, 0] * sizes[:, 1]).sum()) / p.usable_width_mm, 1.0), variables=self.variables,
        )  # fmt: skip
        _settle_anchors(model)
        return model

    def _flat_parts(self) -> tuple[Any, Any, Any]:
        """The parts' edges end to end, a row each.

        (lower at, count, upper at, count, first of its pairs, its number, lowest point, highest point)

        Behind the parts stand, for pairs of them that do not change, the places of one against
        the other where they overlap: row `first of its pairs` of the one plus `number` of the
        other. A count of nought: to be worked out when asked.
        """
        fixed = [i for i in range(len(self.parts)) if i in self.fixed][:MOST_PAIRED]
        rows = [[*at[:4], -1, -1, *at[4:]] for at in self._chains(self.parts, 0)]
        at = sum(len(lower) + len(upper) for lower, upper in self.parts)
        pairs: list[tuple[Points, Points]] = []
        for number, a in enumerate(fixed):
            rows[a][4:6] = [len(self.parts) + number * len(fixed), number]
            pairs += [_overlaps(self.parts[a], self.parts[b]) for b in fixed]
        rows += [[*x[:4], -1, -1, *x[4:]] for x in self._chains(pairs, at)]
        if not rows:
            return np.zeros((1, 8), dtype=np.int64), np.zeros(1), np.zeros(1)
        points = np.concatenate([p for pair in (*self.parts, *pairs) for p in pair])
        return np.array(rows, dtype=np.int64), points[:, 0].copy(), points[:, 1].copy()

    @staticmethod
    def _chains(parts: list[tuple[Points, Points]], at: int) -> list[list[int]]:
        rows = []
        for lower, upper in parts:
            # a bar at a slant, which is written later, turns at the middle one of its three points
            bar = len(lower) == 3 and not lower.any()
            lowest = 1 if bar else int(lower[:, 1].argmin()) if len(lower) else 0
            highest = 1 if bar else int(upper[:, 1].argmax()) if len(upper) else 0
            above = at + len(lower)
            rows.append([at, len(lower), above, len(upper), at + lowest, above + highest])
            at += len(lower) + len(upper)
        return rows

    def _phase(self, phase: LayPhase | None) -> tuple[list[int], list[float]]:
        row, constant = [-2, -2, 1, 1, -1, -1], [0.0, 0.0]
        for axis in range(2):
            off = None if phase is None else (phase.off_p, phase.off_q)[axis]
            if phase is None or off is None or self.variables.periods[axis] is None:
                continue
            row[axis], row[2 + axis], row[4 + axis], constant[axis] = self.variables.of(phase, axis)
        return row, constant

    def _add_piece(self, piece: LayPiece) -> None:
        row, constant = self._phase(piece.phase)
        per_item: list[list[float]] = []
        turns: list[int] = []
        told: set[tuple[Any, ...]] = set()
        for turn in piece.turns_deg:
            first, last, ox, oy, w, h = self._shape(piece.outline, turn)
            # two turns are one where shape and phase agree
            period = self.variables.periods
            same = (
                first,
                round((constant[0] + ox) % (period[0] or 1.0), 6) if row[0] > -2 else None,
                round((constant[1] + oy) % (period[1] or 1.0), 6) if row[1] > -2 else None,
            )
            if same in told or w > self.problem.usable_width_mm + 1e-7:
                continue
            told.add(same)
            turns.append(turn)
            per_item.append([0, 0, ox, oy, w, h, constant[0] + ox, constant[1] + oy, first, last])
        if not per_item:
            raise LayError(f"{piece.key}: no turn of it fits across {self.problem.usable_width_mm:.1f} mm of cloth")
        self._add_item(piece.key, turns, per_item, row, -1, 0.0, (per_item[0][4], per_item[0][5]))
        x, y = piece.outline[:, 0], piece.outline[:, 1]
        self.area[-1] = abs(float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())) / 2

    def _add_item(
        self, key: str, turns: list[int], options: list[list[float]], row: list[int], strip: int, length: float,
        size: tuple[float, float],
    ) -> None:  # fmt: skip
        self.keys.append(key)
        self.turns.append(turns)
        self.options.append(options)
        self.phased.append(row)
        self.strip_of.append(strip)
        self.lens.append(length)
        self.modes.append(0)
        self.pours.append(0.0)
        self.sizes.append(size)
        self.area.append(0.0)

    def _shape(self, outline: Points, turn: int) -> tuple[int, int, float, float, float, float]:
        c, s = cos_sin(turn)
        xy = np.column_stack((c * outline[:, 0] - s * outline[:, 1], s * outline[:, 0] + c * outline[:, 1]))
        (ox, oy), (x1, y1) = xy.min(axis=0), xy.max(axis=0)
        local = xy - (ox, oy)
        # the same outline whatever corner it starts from
        start = int(np.lexsort((local[:, 1].round(6), local[:, 0].round(6)))[0])
        key = (np.roll(local, -start, axis=0).round(6).tobytes(), 0)
        if key not in self.seen:
            first = len(self.parts)
            if self.shaped:
                self.parts += [chains(part) for part in convex_parts(local, self.half)]
                self.fixed |= set(range(first, len(self.parts)))
            else:
                self.parts.append((np.zeros((1, 2)), np.zeros((1, 2))))
            self.seen[key] = (first, len(self.parts), 0.0, 0.0, float(x1 - ox), float(y1 - oy))
        first, last = self.seen[key][:2]
        return first, last, float(ox), float(oy), float(x1 - ox), float(y1 - oy)

    def _add_strip(self, strip: LayStrip, strips: list[list[float]], windows: list[tuple[float, float]]) -> None:
        row, constant = self._phase(strip.phase)
        turns = _distinct_turns(strip, row)
        joints, mode = _first_division(strip, self.problem, turns, row[0] > -2)
        if joints is None:
            raise LayError(f"{strip.key}: cannot be cut in at most {strip.most_parts} parts from this cloth")
        total, least = strip.s1_mm - strip.s0_mm, max(strip.least_part_mm, 1.0)
        pourable = row[0] == row[1] == -2 and strip.windows is None and turns[0] % 180 == 0
        more = strip.most_parts if pourable else len(joints) + 3
        slots = min(strip.most_parts, max(len(joints) - 1, min(more, int(total // least))))
        self.pourable.append(pourable)
        first = len(self.keys)
        wins = list(strip.windows or ())
        for k in range(slots):
            length = joints[k + 1] - joints[k] if k + 1 < len(joints) else 0.0
            part = len(self.parts)
            self.parts.append((np.zeros((3, 2)), np.zeros((3, 2))))
            per_item = [[*cos_sin(t), 0, 0, 0, 0, *constant, part, part + 1] for t in turns]
            flat = abs(per_item[mode][1]) < 0.5
            long, wide = length + 2 * strip.end_mm, strip.z1_mm - strip.z0_mm
            size = (long, wide) if flat else (wide, long)
            self._add_item(strip.key, turns, per_item, list(row), len(strips), length, size)
            self.modes[-1] = 0 if pourable else mode
        self.pours[first] = POUR_ANY if pourable else 0.0
        stands = pourable and self.problem.lattice.along_mm is None  # measured: beside a repeat along it only distracts
        upright = next((k for k, t in enumerate(turns) if t % 180 == 90), -1) if stands else -1
        strips.append(
            [
                strip.s0_mm, strip.s1_mm, strip.z0_mm, strip.z1_mm, strip.end_mm, first, first + slots,
                least, self.half, len(windows), len(wins) if strip.windows is not None else 0, strip.least_parts, slots,
                upright,
            ]
        )  # fmt: skip
        windows += wins


def _flaw_parts(flaw: Flaw) -> list[Points]:
    """A flaw as convex parts on the cloth, each kept clear of by itself."""
    corners = np.array(flaw.corners, dtype=np.float64)
    return convex_parts(corners, 0.0) if flaw.outline else [corners]


def cross_span(xy: Points, turn_deg: int) -> tuple[float, float]:
    """Least u and extent across of an outline at a turn."""
    c, s = cos_sin(turn_deg)
    u = c * xy[:, 0] - s * xy[:, 1]
    return float(u.min()), float(u.max() - u.min())


def _distinct_turns(strip: LayStrip, row: list[int]) -> list[int]:
    """Half turns of an unmatched bar are the same bar; turns across the bolt come first."""
    kept: dict[int, int] = {}
    for t in strip.turns_deg:
        kept.setdefault(t % 180 if row[0] == row[1] == -2 else t % 360, t)
    return sorted(kept.values(), key=lambda t: t % 180 != 0)


def _first_division(
    strip: LayStrip, problem: LayProblem, turns: list[int], phased_across: bool
) -> tuple[list[float] | None, int]:
    """The first division that works and the turn (by number) it is for, turns across the bolt first."""
    for spare in (problem.lattice.across_mm or 0.0, 0.0) if phased_across else (0.0,):
        for along in (False, True):
            for k, turn in enumerate(turns):
                longest = longest_part_mm(strip, problem.usable_width_mm - spare, turn)
                if math.isinf(longest) == along and (joints := first_joints(strip, longest)) is not None:
                    return joints, k
    return None, 0


def longest_part_mm(strip: LayStrip, width_mm: float, turn_deg: int) -> float:
    """Seam length of the longest part of a strip that lies across the cloth at a turn (inf along it)."""
    c, s = (abs(x) for x in cos_sin(turn_deg))
    wide = strip.z1_mm - strip.z0_mm
    if c < 1e-9:
        return math.inf if wide <= width_mm + 1e-9 else 0.0
    return (width_mm - wide * s) / c - 2 * strip.end_mm


def first_joints(strip: LayStrip, longest_mm: float) -> list[float] | None:
    """Cut a strip into as few parts as will do, none longer than `longest_mm`; None where it cannot be.

    Without windows the parts are equal; with them the joins are found by going over the window
    ends, and the points one longest part from each, in order.
    """
    total = strip.s1_mm - strip.s0_mm
    if longest_mm <= 0:
        return None
    if strip.windows is None:
        count = max(1, strip.least_parts, math.ceil(total / longest_mm - 1e-9))
        if count > strip.most_parts or (count > 1 and total / count < strip.least_part_mm - 1e-9):
            return None
        return [strip.s0_mm + total * k / count for k in range(count)] + [strip.s1_mm]
    return _windowed_joints(strip, longest_mm, strip.windows)


def _windowed_joints(strip: LayStrip, longest: float, windows: Sequence[tuple[float, float]]) -> list[float] | None:
    spots = {strip.s0_mm, strip.s1_mm}
    for w0, w1 in windows:
        spots |= {w0, w1, (w0 + w1) / 2}
        for k in range(1, strip.most_parts):
            for at in (strip.s0_mm + k * longest, strip.s1_mm - k * longest, strip.s0_mm + k * strip.least_part_mm):
                if w0 <= at <= w1:
                    spots.add(at)
    points = sorted(x for x in spots if strip.s0_mm <= x <= strip.s1_mm)
    fewest: dict[float, tuple[int, float]] = {strip.s0_mm: (0, strip.s0_mm)}
    for x in points[1:]:
        reach = [
            (fewest[y][0] + 1, -y)
            for y in points
            if y < x and y in fewest and strip.least_part_mm - 1e-9 <= x - y <= longest + 1e-9
        ]
        whole = x == strip.s1_mm and x - strip.s0_mm <= longest + 1e-9
        if whole:
            reach.append((1, -strip.s0_mm))
        if reach:
            count, y = min(reach)
            fewest[x] = (count, -y)
    if strip.s1_mm not in fewest or fewest[strip.s1_mm][0] > strip.most_parts:
        return None
    path = [strip.s1_mm]
    while path[-1] != strip.s0_mm:
        path.append(fewest[path[-1]][1])
    return path[::-1]


def _overlaps(a: tuple[Points, Points], b: tuple[Points, Points]) -> tuple[Points, Points]:
    """The places of convex part b, by its corner, at which it overlaps a: a's sum with b turned by a half.

    Two upright rectangles are left to the search.
    """
    nothing = np.zeros((0, 2))
    if len(a[0]) == len(a[1]) == len(b[0]) == len(b[1]) == 2 and all(x[0, 1] == x[1, 1] for x in (*a, *b)):
        return nothing, nothing
    return _summed(a[0], -b[1][::-1], below=True), _summed(a[1], -b[0][::-1], below=False)


def _summed(p: Points, q: Points, *, below: bool) -> Points:
    """The sum of two lower (or two upper) edges of convex parts: their runs in the order of their slopes."""
    runs = np.concatenate([np.diff(p, axis=0), np.diff(q, axis=0)])
    runs = runs[runs[:, 0] > 0]
    slopes = runs[:, 1] / runs[:, 0]
    runs = runs[np.argsort(slopes if below else -slopes, kind="stable")]
    return np.concatenate([[p[0] + q[0]], p[0] + q[0] + np.cumsum(runs, axis=0)])


def _settle_anchors(model: Model) -> None:
    """Start each free anchor where every piece of it has a place across, lowest piece at the cut end.

    Raises
    ------
    LayError
        If no value leaves a place for every piece.
    """
    width, across = model.problem.usable_width_mm, float(model.lattice[0])
    for (group, axis), x in model.variables.index.items():
        items = [i for i in range(len(model.keys)) if model.phased[i, axis] == x and model.strip_of[i] < 0]
        if not items:
            continue
        if axis == 1:
            i = max(items, key=lambda k: model.options[k, 0, 5])
            model.first_var[x] = (-model.phased[i, 3] * model.options[i, 0, 7]) % model.spans[x]
            continue
        kinds = {tuple(model.options[i, : model.n_mode[i], 10]): i for i in items}
        items = list(kinds.values())  # of many alike one tells for all
        choices = [0.0, *(at for i in items for at in at_selvages(model, i, 0, model.first_var))]
        counts = [(sum(_places(model, i, a) for i in items), -k, a) for k, a in enumerate(choices)]
        fits = [c for c in counts if all(_places(model, i, c[2]) for i in items)]
        if not fits:
            name = group or "the pattern"
            raise LayError(f"{name}: no start of the pattern gives every matched piece a place across {width:.1f} mm")
        model.first_var[x] = max(fits)[2]
    _check_fixed(model, across)


def at_selvages(model: Model, i: int, k: int, var: Any) -> tuple[float, float]:
    """Values of item i's anchor across that bring it, in its turn k, to the left selvage and to the right one."""
    x, sign, origin = int(model.phased[i, 0]), float(model.phased[i, 2]), int(model.phased[i, 4])
    left = float(model.options[i, k, 6]) + (float(var[origin]) if origin >= 0 else 0.0)
    room = model.problem.usable_width_mm - float(model.options[i, k, 4])
    return -sign * left % float(model.spans[x]), sign * (room - left) % float(model.spans[x])


def _places(model: Model, i: int, value: float) -> int:
    """How many places across the cloth item i has, over its turns."""
    total, width, across = 0, model.problem.usable_width_mm, float(model.lattice[0])
    for k in range(int(model.n_mode[i])):
        base = model.options[i, k, 6] + model.phased[i, 2] * value
        if model.phased[i, 4] >= 0:
            base += model.first_var[model.phased[i, 4]]
        first = base + math.ceil(-base / across - 1e-10) * across
        room = width - model.options[i, k, 4] - first
        total += 0 if room < -1e-7 else 1 + int((room + 1e-7) // across)
    return total


def _check_fixed(model: Model, across: float) -> None:
    for i in range(len(model.keys)):
        if model.phased[i, 0] == -1 and model.strip_of[i] < 0 and not _places(model, i, 0.0):
            raise LayError(f"{model.keys[i]}: the pattern as it stands leaves it no place across the cloth")


def lay_of(model: Model, state: State) -> Lay:
    """Lay a state out as records."""
    laid = state.places if state.places is not None else model.measure(state)
    placed: list[Placed] = []
    strips = model.problem.strips
    at = {s: strip.s0_mm for s, strip in enumerate(strips)}
    for i, key in enumerate(model.keys):
        turn = model.turns[i][int(state.mode[i])]
        u, v, s = float(laid[i, 0]), float(laid[i, 1]), int(model.strip_of[i])
        if s < 0:
            option = model.options[i, int(state.mode[i])]
            placed.append(Placed(key, turn, u - float(option[2]), v - float(option[3])))
        elif state.lens[i] > 0:
            strip, a = strips[s], at[s]
            b = a + float(state.lens[i])
            at[s] = b
            b = strip.s1_mm if abs(b - strip.s1_mm) < 1e-6 else b
            ox, oy = _strip_corner(strip, a, b, turn)
            placed.append(Placed(key, turn, u - ox, v - oy, (a, b)))
    values = model.variables
    phases = [p.phase for p in model.problem.pieces] + [p.phase for p in strips]
    groups = {p.group for p in phases if p is not None}
    return Lay(
        tuple(placed),
        {g: (values.value(g, 0, state.var), values.value(g, 1, state.var)) for g in sorted(groups)},
        (values.value("", 0, state.var), values.value("", 1, state.var)),
        state.length_mm,
    )


def _strip_corner(strip: LayStrip, a: float, b: float, turn: int) -> tuple[float, float]:
    c, s = cos_sin(turn)
    corners = [(x, y) for x in (a - strip.end_mm, b + strip.end_mm) for y in (strip.z0_mm, strip.z1_mm)]
    return min(c * x - s * y for x, y in corners), min(s * x + c * y for x, y in corners)
