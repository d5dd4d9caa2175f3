"""Pressing: a sound lay on a shorter cloth than it needs, its pieces then moved apart until it is sound again.

Works on where pieces lie and not on the order in which they are laid, so it finds what no order
gives: pieces that hold one another up. Divisions of strips and turns of the list are the search's;
here a part of a strip is a piece like others.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from squab.lay._gather import gathered
from squab.lay._model import Model, State
from squab.lay._shapes import convex_parts, wide_parts
from squab.plane import Points, cos_sin

MOST_PIECES = 260
MOST_SHAPES = 150
"""Jobs larger than this, or of more kinds of pieces and turns, are not pressed."""
FIRST_SHRINK, LEAST_SHRINK = 0.01, 0.001
"""How much shorter the cloth is made each time, as a part of the length: halved when it does not go."""
FINE_SHRINK, FINEST_SHRINK = 0.0005, 0.00001
TRIES, HALVED = 10, 3
"""So often the cloth is made less short one time after another, of so many tries that have failed."""
STRIKES = 2
"""So often it is gone on with from the least overlap there was, the weights of the pairs as they are by then."""
BETTER = 0.98
"""What is left overlapping has become less where it is below this part of what it was."""
POOL_WIDTH = 0.25
"""Of all that was left overlapping on a cloth, mostly one of the best is gone on with: the width of a half bell."""
EXTRA = 0.02
"""What a pair weighs however little it overlaps, as a part of the least piece's shorter side."""
GATHER_MOVES, GATHERED_MM = 300, 1e-6
"""Drawing together once counts as so many moves; gaining less is none."""
EDGE_MM = 1e-7
"""A piece this far over the edge only touches it."""
LARGE = 0.5
"""Pieces that are exchanged when nothing goes are among the largest of so many."""
ALIKE = 4.0
"""One piece is about as large as another where it has at most so many times its area."""
ANCHOR_SHARE = 0.25
"""How often, when nothing goes, a free anchor is moved instead."""


@dataclass(frozen=True, slots=True)
class Manner:
    """How a job is pressed."""

    wide: bool
    """Whether the convex parts of an outline lie in one another as far as they can."""
    curve: float
    """How much more than twice as much a depth of twice as much weighs; against the pieces' usual side.

    Many pieces a little in one another can be moved apart, one that has sunk into another cannot.
    """
    idle_rounds: int
    """Rounds without gain after which it does not go."""
    tight_share: float
    """How often, when nothing goes, a piece that still overlaps is exchanged, with one about as large."""
    settle: float
    """After this part of the time only the best lay is pressed further, by little."""
    idle_fine: int
    """Rounds without gain after which it does not go then."""
    fine_tries: int
    """So often it is tried then before the cloth is made less short."""
    gathers: bool
    """Whether all pieces are drawn together, once they are clear and when they will not part."""
    alone: float
    """For this part of the time each worker goes on from its own best lay, not from the best of all."""


MANY_PIECES = 50
FEW = Manner(False, 10.0, 300, 0.0, 0.9, 150, 1, False, 0.0)
MANY = Manner(True, 1.0, 150, 0.4, 0.95, 100, 4, True, 0.7)
"""So jobs of at least `MANY_PIECES` are pressed, and those of fewer, as measured on published outlines."""


class Table:
    """Every kind of piece at every turn, and where one overlaps another."""

    @classmethod
    def of(cls, model: Model, state: State) -> Table | None:
        """The pieces of a state; None where there are too many of them, or too many kinds."""
        items = [i for i in range(len(model.keys)) if model.strip_of[i] < 0 or state.lens[i] > 0]
        if not 1 < len(items) <= MOST_PIECES:
            return None
        table = cls(model, state, items)
        if len(table._shapes) > MOST_SHAPES:
            return None
        table._meetings()
        return table

    def __init__(self, model: Model, state: State, items: list[int]) -> None:
        self.model, self.items = model, items
        self.manner = MANY if len(items) >= MANY_PIECES else FEW
        self.half = model.problem.gap_mm / 2
        self._kinds: dict[tuple[Any, ...], int] = {}
        self._shapes: list[list[Points]] = []
        most = int(model.n_mode.max())
        n = len(self.items)
        self.options = np.zeros((n, most, 4))
        self.shape_by = np.zeros((n, most), dtype=np.int64)
        self.corner = np.zeros((n, most, 2))
        self.n_mode = np.array([int(model.n_mode[i]) for i in self.items], dtype=np.int64)
        self.phased = np.array([[int(model.phased[i, a] >= -1) for a in range(2)] for i in self.items], dtype=np.int64)
        starts = _starts(model, state)
        for row, i in enumerate(self.items):
            for k in range(self.n_mode[row]):
                self._option(row, i, k, state, starts[i])
        self.flaws = [np.array(f.corners) for f in model.problem.flaws]
        flaw_shapes = [self._kind(("flaw", j), xy - xy.min(axis=0), 0.0) for j, xy in enumerate(self.flaws)]
        self.flaw_shapes = np.array(flaw_shapes, dtype=np.int64)

    def _option(self, row: int, i: int, k: int, state: State, start: float) -> None:
        model, op = self.model, self.model.options[i, k]
        s = int(model.strip_of[i])
        if s < 0:
            # pieces stand first in the model, in the problem's order
            xy = _turned(model.problem.pieces[i].outline, model.turns[i][k])
            name: tuple[Any, ...] = ("box", *np.round(op[4:6], 6))
            if model.shaped:
                name = ("piece", int(op[8]), int(op[9]))
        else:
            strip = model.problem.strips[s]
            a, b = start - strip.end_mm, start + float(state.lens[i]) + strip.end_mm
            bar = np.array([[a, strip.z0_mm], [b, strip.z0_mm], [b, strip.z1_mm], [a, strip.z1_mm]])
            xy = _turned(bar, model.turns[i][k])
            name = ("bar", model.turns[i][k] % 180, *np.round(np.ptp(xy, axis=0), 6))
        low, size = xy.min(axis=0), np.ptp(xy, axis=0)
        base = op[6:8] + (low if s >= 0 else 0.0)
        self.options[row, k] = [*size, *base]
        self.corner[row, k] = low
        self.shape_by[row, k] = self._kind(name, xy - low, self.half)

    def _kind(self, name: tuple[Any, ...], xy: Points, grow: float) -> int:
        if name not in self._kinds:
            self._kinds[name] = len(self._shapes)
            self._shapes.append(self._cut(name, xy, grow))
        return self._kinds[name]

    def _cut(self, name: tuple[Any, ...], xy: Points, grow: float) -> list[Points]:
        """Convex parts; those of the job's own outlines are kept, for they are cut for every table anew."""
        cut = wide_parts if self.manner.wide else convex_parts
        if name[0] != "piece":
            return cut(xy, grow)
        key = (*name[1:], self.manner.wide)
        if key not in self.model.cuts:
            self.model.cuts[key] = cut(xy, grow)
        return self.model.cuts[key]

    def parts_of(self, shape: int) -> list[Points]:
        """Convex parts of a shape, grown by half the gap, with the piece's lower left corner at nought."""
        return self._shapes[shape]

    def _meetings(self) -> None:
        """For each pair of shapes, half-planes of the places where parts of the one overlap parts of the other."""
        parts = [p for shape in self._shapes for p in shape]
        firsts = np.cumsum([0, *(len(shape) for shape in self._shapes)])
        points = np.concatenate(parts)
        edges = np.concatenate([np.roll(p, -1, axis=0) - p for p in parts])
        long = np.hypot(edges[:, 0], edges[:, 1])
        normals = np.column_stack((edges[:, 1], -edges[:, 0])) / np.maximum(long, 1e-12)[:, None]
        at = np.cumsum([0, *(len(p) for p in parts)])
        along = points @ normals.T
        most, least = np.maximum.reduceat(along, at[:-1], axis=0), np.minimum.reduceat(along, at[:-1], axis=0)
        low = np.array([p.min(axis=0) for p in parts])
        high = np.array([p.max(axis=0) for p in parts])
        shapes = len(self._shapes)
        pair, polys, half = np.zeros(shapes * shapes + 1, dtype=np.int64), [0], []
        self.boxes = np.zeros((shapes * shapes, 4))
        for s in range(shapes):
            for t in range(shapes):
                q = s * shapes + t
                for a in range(firsts[s], firsts[s + 1]):
                    for b in range(firsts[t], firsts[t + 1]):
                        mine, other = slice(at[a], at[a + 1]), slice(at[b], at[b + 1])
                        planes = np.concatenate(
                            [
                                np.column_stack((normals[mine], most[a, mine] - least[b, mine])),
                                np.column_stack((-normals[other], most[b, other] - least[a, other])),
                            ]
                        )
                        half.append(_by_four(_sifted(planes)))
                        polys.append(polys[-1] + len(half[-1]))
                pair[q + 1] = len(polys) - 1
                own, its = slice(firsts[s], firsts[s + 1]), slice(firsts[t], firsts[t + 1])
                du0, dv0 = low[own].min(axis=0) - high[its].max(axis=0)
                du1, dv1 = high[own].max(axis=0) - low[its].min(axis=0)
                self.boxes[q] = [du0, du1, dv0, dv1]
        self.shapes, self.pair = shapes, pair
        self.polys, self.half_planes = np.array(polys, dtype=np.int64), np.ascontiguousarray(np.concatenate(half))

    def based(self, var: Any) -> Any:
        """Sizes and phases of every piece at every turn, with the anchors where they stand in a state."""
        options, phased = self.options.copy(), self.model.phased
        for row, i in enumerate(self.items):
            for axis in range(2):
                anchor, origin = int(phased[i, axis]), int(phased[i, 4 + axis])
                shift = phased[i, 2 + axis] * var[anchor] if anchor >= 0 else 0.0
                options[row, :, 2 + axis] += shift + (var[origin] if origin >= 0 else 0.0)
        return options


def _sifted(planes: Any) -> Any:
    """Half-planes without those told twice, each followed by one that faces another way: a miss shows soon."""
    key = np.round(planes[:, :2], 9) + 0.0
    _, kept = np.unique(key, axis=0, return_index=True)
    planes = planes[kept]
    angle = np.argsort(np.arctan2(planes[:, 1], planes[:, 0]))
    n = len(angle)
    stride = max(1, round(n * 0.382))
    while math.gcd(stride, n) != 1:
        stride += 1
    return planes[angle[(np.arange(n) * stride) % n]]


def _by_four(planes: Any) -> Any:
    """Half-planes four to a row, numbers of a kind side by side; the last stands in where there are fewer."""
    full = np.concatenate([planes, np.repeat(planes[-1:], -len(planes) % 4, axis=0)])
    return full.reshape(-1, 4, 3).transpose(0, 2, 1).reshape(-1, 12)


def _turned(xy: Points, turn: int) -> Points:
    c, s = cos_sin(turn)
    return np.column_stack((c * xy[:, 0] - s * xy[:, 1], s * xy[:, 0] + c * xy[:, 1]))


def _starts(model: Model, state: State) -> Any:
    """Where on its strip each part begins."""
    starts = np.zeros(len(model.keys))
    for strip in model.strips:
        at = float(strip[0])
        for j in range(int(strip[5]), int(strip[6])):
            starts[j] = at
            at += float(state.lens[j])
    return starts


def _stakes(sides_mm: Any, count: int) -> Any:
    """What each pair of so many pieces and flaws weighs: the larger the two the more, a flaw as much as a usual piece.

    With all pairs alike, many outlines of several sizes are laid nearly a point less dense.
    """
    usual = float(np.median(sides_mm))
    sizes = np.full(count, 1.0)
    sizes[: len(sides_mm)] = sides_mm / usual
    return np.sqrt(sizes[:, None] * sizes[None, :])


class Press:
    """One worker's pressing, from a sound lay on.

    Parameters
    ----------
    table
        The pieces of the state.
    state
        The state to begin with; its divisions of strips stay.
    """

    def __init__(self, table: Table, state: State, seed: int) -> None:
        self.table, self.state, self.model = table, state.copy(), table.model
        self.random = np.random.default_rng(seed)
        places = state.places if state.places is not None else self.model.measure(self.state)[:, :2]
        n, flaws = len(table.items), len(table.flaws)
        self.movable, self.count = n, n + flaws
        self.at = np.zeros((self.count, 2))
        self.at[:n] = places[table.items]
        for j, xy in enumerate(table.flaws):
            self.at[n + j] = xy.min(axis=0)
        self.mode = np.array([int(state.mode[i]) for i in table.items], dtype=np.int64)
        self.var = state.var.copy()
        self.options = table.based(self.var)
        heights = np.where(np.arange(table.options.shape[1]) < table.n_mode[:, None], table.options[:, :, 1], 0.0)
        self.tallest_mm = float(heights.max())
        sides = table.options[:, 0, :2]
        self.extra = EXTRA * float(sides.min())
        self.curve = table.manner.curve / float(np.sqrt(np.median(sides[:, 0] * sides[:, 1])))
        self.area = table.options[:, 0, 0] * table.options[:, 0, 1]
        self.length_mm = state.length_mm
        self.best = (self.at.copy(), self.mode.copy(), self.var.copy())
        self.kept = (self.at.copy(), self.mode.copy())
        self.stakes = _stakes(np.sqrt(self.area), self.count)
        self.weights = self.stakes.copy()
        self.target = math.inf
        self.shrink = FIRST_SHRINK
        self.told = np.zeros(3)
        self.failed, self.done = 0, 0.0
        self.strikes, self.struck = 0, math.inf
        self.pool: list[tuple[float, Any, Any, Any]] = []
        self.pool_mm = math.inf

    def adopt(self, other: Press) -> None:
        """Go on from another's lay where it is shorter, unless it is too soon for that."""
        if self.done < self.table.manner.alone:
            return
        if other.length_mm < self.length_mm - 1e-9:
            self.length_mm = other.length_mm
            self.best = tuple(x.copy() for x in other.best)  # type: ignore[assignment]

    def go(self, moves: int, done: float) -> int:
        """Press with so many moves, `done` of the time used up; the moves made, none where it cannot be shorter."""
        from squab.lay._apart import part_pieces

        made, self.done = 0, done
        table, model, manner = self.table, self.model, self.table.manner
        loads = np.zeros(self.count)
        fine = done >= manner.settle
        idle_most = manner.idle_fine if fine else manner.idle_rounds
        if fine and self.target < self.length_mm * (1 - 2 * FINE_SHRINK):
            self.target = math.inf  # begun on too short a cloth to end with
        while made < moves:
            if not self.target < self.length_mm - 1e-9:
                self._aim(done)
                if not self.target < self.length_mm - 1e-9:
                    return made
            shape_of = self._shape_of()
            made += 1 + part_pieces(
                moves - made, int(self.random.integers(2**31)), idle_most, model.lattice,
                table.n_mode, self.mode, self.movable, self.count, table.shapes, self.at, self.options, table.shape_by,
                table.boxes, table.pair, table.half_planes, table.polys, self.stakes, self.weights, shape_of,
                self.extra, self.curve, np.array([float(model.problem.usable_width_mm), self.target]), table.phased,
                *self.kept, loads, self.told,
            )  # fmt: skip
            if self.told[2] > 0:
                self._keep()
                made += self._gather(*self.best[:2])
            elif self.told[1] > idle_most:
                made += self._gather(*self.kept)
                if self.target < self.length_mm - 1e-9 and not self._again():
                    self._give_up(fine)
        return made

    def _gather(self, at: Any, mode: Any) -> int:
        """Draw pieces together; the moves that took. A shorter lay is the best, and the next cloth shorter still."""
        from squab.lay._apart import all_clear

        table = self.table
        if not table.manner.gathers:
            return 0
        length, places, times = gathered(
            table, at, self.options, mode, usual_mm=float(np.sqrt(np.median(self.area))), best_mm=self.length_mm
        )
        if length < self.length_mm - GATHERED_MM:
            self.at[:], self.mode[:] = places, mode
            sound = all_clear(
                self._shape_of(), self.at, table.boxes, table.pair, table.half_planes, table.polys, self.count,
                self.movable, table.shapes,
            )  # fmt: skip
            if sound:
                self._keep()
            self.target = math.inf
        return times * GATHER_MOVES

    def _keep(self) -> None:
        """All pieces are clear: this is the best lay yet, unless an anchor has left one no place on the cloth."""
        sizes = self.options[np.arange(self.movable), self.mode, :2]
        ends = self.at[: self.movable] + sizes
        width = float(self.model.problem.usable_width_mm)
        length = float(ends[:, 1].max())
        self.target = math.inf
        if self.at[: self.movable].min() < -EDGE_MM or ends[:, 0].max() > width + EDGE_MM or length >= self.length_mm:
            self.failed += 1
            return
        self.length_mm = length
        self.best = (self.at.copy(), self.mode.copy(), self.var.copy())
        self.failed = 0

    def _aim(self, done: float) -> None:
        """Take the best lay and make the cloth shorter: what lies behind a line across moves up."""
        part = self.shrink
        settle = self.table.manner.settle
        if done >= settle:
            late = (done - settle) / (1 - settle)
            part = FINE_SHRINK * (FINEST_SHRINK / FINE_SHRINK) ** late
        self._back_to_best()
        # a cloth is no shorter than any piece on it, whichever way that lies
        self.target = max(self.length_mm * (1 - part), self.tallest_mm)
        cut = self.random.random() * self.length_mm
        behind = self.at[: self.movable, 1] > cut
        self.at[: self.movable, 1][behind] -= self.length_mm * part
        self._begin()

    def _back_to_best(self) -> None:
        at, mode, var = self.best
        self.at[:], self.mode[:], self.var = at, mode, var.copy()
        self.options = self.table.based(self.var)

    def _begin(self) -> None:
        """Everything on its places within the cloth, no pair heavier than by its size."""
        self._snap()
        self.weights[:] = self.stakes
        self.told[:] = [math.inf, 0.0, 0.0]
        self.strikes, self.struck = 0, math.inf

    def _snap(self) -> None:
        model, width = self.model, float(self.model.problem.usable_width_mm)
        pu, pv, drop = (float(x) for x in model.lattice)
        for row in range(self.movable):
            w, h, cu, cv = self.options[row, self.mode[row]]
            u, v = self.at[row]
            u = _onto(u, cu, pu if self.table.phased[row, 0] else 0.0, width - w)
            if self.table.phased[row].all() and drop:
                cv += round((u - cu) / pu) * drop
            self.at[row] = u, _onto(v, cv, pv if self.table.phased[row, 1] else 0.0, self.target - h)

    def _again(self) -> bool:
        """Go back to the least overlap there was and on from there; False where that has been tried in vain."""
        self.strikes = 1 if self.told[0] < BETTER * self.struck else self.strikes + 1
        self.struck = float(self.told[0])
        if self.strikes >= STRIKES:
            return False
        self.at[:], self.mode[:] = self.kept
        self.told[1] = 0.0
        return True

    def _give_up(self, fine: bool) -> None:
        """It does not go: try less, and where that is little already, exchange pieces or move an anchor."""
        self.failed += 1
        if fine and self.failed % self.table.manner.fine_tries == 0:
            self.target = math.inf
        elif not fine and self.shrink > LEAST_SHRINK and self.failed % TRIES < HALVED:
            self.shrink = max(self.shrink / 2, LEAST_SHRINK)
            self.target = math.inf
        else:
            self._from_pool()
            self._shake()
            self._begin()

    def _from_pool(self) -> None:
        """One of the states that overlapped least on a cloth of this length, the better the likelier."""
        if self.pool_mm != self.target:
            self.pool, self.pool_mm = [], self.target
        self.pool.append((float(self.told[0]), self.kept[0].copy(), self.kept[1].copy(), self.var.copy()))
        self.pool.sort(key=lambda x: x[0])
        k = min(int(abs(self.random.normal()) * POOL_WIDTH * len(self.pool)), len(self.pool) - 1)
        _, at, mode, var = self.pool[k]
        self.at[:], self.mode[:], self.var = at, mode, var.copy()
        self.options = self.table.based(self.var)

    def _shake(self) -> None:
        movable = self.model.movable
        if len(movable) and self.random.random() < ANCHOR_SHARE:
            x = int(self.random.choice(movable))
            span = float(self.model.spans[x])
            self.var[x] = (self.var[x] + span * self.random.normal() * 0.2) % span
            self.options = self.table.based(self.var)
            return
        if self.random.random() < self.table.manner.tight_share:
            self._exchange_tight()
        else:
            self._exchange_large()

    def _exchange_large(self) -> None:
        """Two large pieces change places."""
        large = np.argsort(-self.area)[: max(2, int(len(self.area) * LARGE))]
        one = int(self.random.choice(large))
        others = [int(j) for j in large if self.table.shape_by[j, 0] != self.table.shape_by[one, 0]]
        if not others:
            others = [int(j) for j in range(self.movable) if j != one]
        other = int(self.random.choice(others))
        self.at[[one, other]] = self.at[[other, one]]

    def _exchange_tight(self) -> None:
        """A piece that overlaps and one about as large change places, by their middles."""
        from squab.lay._apart import burdened

        table, n = self.table, self.movable
        loads = np.zeros(self.count)
        shape_of = self._shape_of()
        burdened(
            loads, shape_of, self.at, table.boxes, table.pair, table.half_planes, table.polys, self.count, n,
            table.shapes, self.stakes,
        )  # fmt: skip
        tight = np.flatnonzero(loads[:n] > 0.0)
        one = int(self.random.choice(tight)) if len(tight) else int(self.random.integers(n))
        times = self.area / self.area[one]
        alike = (times < ALIKE) & (times > 1 / ALIKE) & (table.shape_by[:, 0] != table.shape_by[one, 0])
        others = np.flatnonzero(alike) if alike.any() else np.delete(np.arange(n), one)
        other = int(self.random.choice(others))
        middles = self.at[:n] + self.options[np.arange(n), self.mode, :2] / 2
        shift = middles[other] - middles[one]
        self.at[one] += shift
        self.at[other] -= shift

    def _shape_of(self) -> Any:
        """Which shape each piece has at its turn, then each flaw."""
        table = self.table
        return np.concatenate([table.shape_by[np.arange(self.movable), self.mode], table.flaw_shapes])

    def found(self) -> State:
        """The best lay as a state of the search."""
        at, mode, var = self.best
        state, model = self.state.copy(), self.model
        items = self.table.items
        state.var = var.copy()
        state.mode[items] = mode
        places = np.zeros((len(model.keys), 2))
        places[items] = at[: self.movable]
        rest = [i for i in state.order if i not in set(items)]
        order = sorted(items, key=lambda i: (places[i, 1], places[i, 0]))
        state.order = np.array([*order, *rest], dtype=np.int64)
        for s in range(len(model.strips)):
            state.pours[int(model.strips[s, 5])] = 0.0
        widths = {i: float(self.options[row, mode[row], 0]) for row, i in enumerate(items)}
        room = model.problem.usable_width_mm
        for i in items:
            if model.phased[i, 0] < -1 and room - widths[i] > 1e-9:
                state.hints[i] = min(max(float(places[i, 0]) / (room - widths[i]), 0.0), 1.0)
        joins = state.cost_mm - state.length_mm
        state.length_mm, state.places = self.length_mm, places
        state.cost_mm = self.length_mm + joins
        return state


def _onto(x: float, base: float, period: float, high: float) -> float:
    """The place nearest to x between nought and `high`, on the phase where there is one; beyond where none is."""
    if period <= 0.0:
        return min(max(x, 0.0), max(high, 0.0))
    first, last = math.ceil(-base / period - 1e-10), math.floor((high - base) / period + 1e-10)
    return base + max(min(round((x - base) / period), last), first) * period
