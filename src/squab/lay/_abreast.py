"""Rectangles laid by a beam, over and over, with another worth of the kinds of pieces each time.

What a piece's area is worth when it is laid decides which beginnings are kept: large pieces laid early leave
the small ones to fill what is left. How much more each kind is worth than its area is found by
trying: worths that led to the shortest lay are changed a little and tried again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any, Self

import numpy as np

from squab.lay._model import Model, State
from squab.lay._press import Table
from squab.lay._seams import AIM, EACH, THICK, UPRIGHT, Seams, poured
from squab.lay._waits import with_waits

GRID_MM = 1e-3
"""Sizes are taken as whole numbers of these when the lengths that can be are looked for."""
FEWEST, MOST_KINDS, MOST_STRIP_KINDS = 12, 400, 48
"""Jobs of fewer pieces that are not strips are left to annealing; so are those of more kinds than this. Of more kinds
of strips none is divided as it is laid: every beginning holds what is left of each."""
MOST_ITEMS = 20_000
"""Pieces and parts of strips, however few their kinds."""
KEPT, KEPT_SHARES, OPENING = (10, 30, 100), (0.6, 0.3, 0.1), 12
"""Beginnings kept on a rung, and how often so many are: the least in the opening tries."""
RUNGS_A_PIECE = 8
"""Most rungs for each piece, for a rung is as large as the smallest, however small that is."""
RING = 256
"""Most rungs held at a time."""
MOST_STEMS = 2_000_000
"""Of jobs with strips, so many beginnings are gone on with, or as many as without."""
MOST_TABLES = 4
"""Tables kept of what can be filled: one is as large as the width squared."""
CHILDREN_A_STEP = 500
FRESH = 0.3
"""How often a try begins with worths of its own."""
FAVOURS = (0.05, 0.4)
"""The power of a piece's area by which its worth for area grows."""
DOUBTS = (0.3, 0.6, 1.0, 2.0)
"""How much of what niches seem to lose is counted."""
BENDS = (0.01, 0.03)
AIMS, AIMLESS, OTHER_AIMS = (0.2, 0.97), 0.3, 0.3
"""Parts of strips that are not worth a cut, as shares of the longest; how often any is, and is changed."""
CHANGES = (0.005, 0.01, 0.03, 0.1)
"""By how much worths are bent by chance, and changed."""
SLACK = 0.004
FIRST_SLACK = 0.5
"""A lay may be so much longer than the best, or at first than its area, to be gone on with."""
OTHER_ANCHOR, OPENING_ANCHOR = 0.3, 0.8
"""How often an anchor is moved, later and in the opening."""


@dataclass(frozen=True)
class Worths:
    """What decides which beginnings are kept."""

    favour: float
    doubt: float
    bent: Any
    var: Any
    aims: Any


@dataclass(frozen=True)
class Learnt:
    """The worths that led to the shortest lay of these kinds, its length, and how many beams were begun."""

    kinds: tuple[Any, ...]
    kept: Worths
    kept_mm: float
    number: int


class Rows:
    """Pieces of a state by kind and way of lying."""

    rungs_a_piece = RUNGS_A_PIECE
    pooled = False
    """Whether strips of a kind are begun all at once."""

    @classmethod
    def of(cls, model: Model, state: State, *, divided: bool = False) -> Self | None:
        """For pieces of the beam's kind that keep clear of no flaw, else None; `divided`: strips stay as they are."""
        if not cls._lays(model) or len(model.flaws):
            return None
        free = [] if divided else poured(model)
        seams = set(free)
        items = [i for i, s in enumerate(model.strip_of.tolist()) if s < 0 or (state.lens[i] > 0 and s not in seams)]
        if len(items) > MOST_ITEMS:
            return None
        rows = cls(model, state, items, free)
        if len(rows.seams.kinds) > MOST_STRIP_KINDS:
            return cls.of(model, state, divided=True)
        if len(rows.count) > MOST_KINDS:
            return None
        rows.waits = rows._waits()
        return rows

    @staticmethod
    def _lays(model: Model) -> bool:
        return not model.shaped and int((model.strip_of < 0).sum()) >= FEWEST

    def __init__(self, model: Model, state: State, items: list[int], free: list[int]) -> None:
        self.model = model
        self.table = Table(model, state, items)
        self.gap = float(model.problem.gap_mm)
        self.width = float(model.problem.usable_width_mm) + self.gap
        self.period, self.period_v, self.drop = (float(x) for x in model.lattice)
        kinds: dict[tuple[Any, ...], list[int]] = {}
        for row, i in enumerate(items):
            lies = np.round(self.table.options[row, : self.table.n_mode[row]], 6).tolist()
            phase = model.phased[i].tolist()
            held, shapes = self.table.phased[row], self.table.shape_by[row, : self.table.n_mode[row]].tolist()
            at = ((w, h, cu if held[0] else 0.0, cv if held[1] else 0.0) for w, h, cu, cv in lies)
            key = (*phase, *shapes, *at)
            kinds.setdefault(key, []).append(row)
        self.rows, self.kinds = list(kinds.values()), tuple(kinds)
        self.count = np.array([len(rows) for rows in self.rows], dtype=np.int64)
        self.each = np.array([self._area_of(rows[0]) for rows in self.rows])
        self.seams = Seams(model, free, self.width, self.gap, pooled=self.pooled)
        self.area = float((self.each * self.count).sum()) + self.seams.area_mm2
        self.phased, self.phased_v = (self.table.phased[[rows[0] for rows in self.rows]] > 0).T
        self.waits = np.ones(len(self.rows))
        anywhere = self.phased_v.any() or self.seams.kinds[:, UPRIGHT].any()
        self.grid = GRID_MM * (1 if anywhere else self._common())
        smallest, count = float(self.seams.part_mm2.min(initial=self.each.min())), self.count.sum()
        self.rise = max(smallest, self.area / (self.rungs_a_piece * int(count + self.seams.least_parts.sum())))
        self.names = np.random.default_rng(0).integers(-(2**62), 2**62, len(self.rows) + len(self.seams.kinds))
        self._ways: dict[bytes, tuple[Any, Any, Any, Any]] = {}

    def beam(self, state: State, seed: int) -> Abreast:
        """Beams that begin from a state."""
        return Abreast(self, state, seed)

    def _area_of(self, row: int) -> float:
        w, h = self.table.options[row, 0, :2] + self.gap
        return float(w * h)

    def _waits(self) -> Any:
        """The area of each kind with what is waited for on a repeat along, against its own.

        Measured: where there are strips to fill the waits, a place across too, or outlines, that says too little.
        """
        held = self.phased_v.any() and not self.phased.any() and self.period_v < self.least
        if self.model.shaped or len(self.seams.kinds) or not held:
            return np.ones(len(self.rows))
        based = self.table.based(np.zeros(len(self.model.first_var)))
        ways = tuple(
            tuple(
                (w + self.gap, h + self.gap, float(cv) if waits else None)
                for w, h, _, cv in based[rows[0], : self.table.n_mode[rows[0]]].tolist()
            )
            for rows, waits in zip(self.rows, self.phased_v, strict=True)
        )
        return with_waits(ways, tuple(self.count.tolist()), self.period_v, self.width)

    def _common(self) -> int:
        heights = {
            round((float(self.table.options[rows[0], k, 1]) + self.gap) / GRID_MM)
            for rows in self.rows
            for k in range(int(self.table.n_mode[rows[0]]))
        } | {round(float(thick) / GRID_MM) for thick in self.seams.kinds[:, THICK]}
        return math.gcd(*heights)

    @property
    def least(self) -> float:
        """The area as a length, with the gap behind it."""
        return math.ceil(self.area / self.width / self.grid - 1e-6) * self.grid

    def ways(self, var: Any) -> tuple[Any, Any, Any, Any] | None:
        """Kind and (width, height, period and base across, the same along, drop) by way, option, and `_beside`.

        None where some kind has no place across with these anchors.
        """
        key = var.tobytes()
        found = self._ways.get(key)
        if found is None:
            found = self._new_ways(var)
            kept = list(self._ways.items())[1 - MOST_TABLES :]  # other workers read the old ones meanwhile
            self._ways = dict([*kept, (key, found)])
        return found if len(found[0]) else None

    def _new_ways(self, var: Any) -> tuple[Any, Any, Any, Any]:
        nothing = np.zeros(0, dtype=np.int64)
        told = self._told(var)
        ways = sorted(told)
        if len({way[1] for way in ways}) < len(self.rows):
            return nothing, nothing, nothing, nothing
        kind = np.array([way[1] for way in ways], dtype=np.int64)
        lies = np.array([[way[0], *way[2:8]] for way in ways])
        shapes = [int(way[8]) for way in ways]
        return kind, lies, np.array([told[way] for way in ways], dtype=np.int64), self._beside(lies, kind, shapes)

    def _told(self, var: Any) -> dict[tuple[float, ...], int]:
        """Ways of lying with these anchors: (width, kind, height, period, base, the same along, drop, shape); turn."""
        options = self.table.based(var)
        told: dict[tuple[float, ...], int] = {}
        for number, rows in enumerate(self.rows):
            for k in range(int(self.table.n_mode[rows[0]])):
                w, h, cu, cv = options[rows[0], k].tolist()
                period = self.period if self.phased[number] else 0.0
                period_v = self.period_v if self.phased_v[number] else 0.0
                drop = self.drop if period and period_v else 0.0
                base = cu % period if period else 0.0
                base_v = (cv - math.floor(cu / period) * drop if drop else cv) % period_v if period_v else 0.0
                if base + w <= self.width - self.gap + 1e-6:
                    size = (round(w + self.gap, 6), number, round(h + self.gap, 6))
                    places = (period, round(base, 6), period_v, round(base_v, 6), drop)
                    told.setdefault((*size, *places, int(self.table.shape_by[rows[0], k])), k)
        return told

    def _beside(self, ways: Any, kind: Any, shapes: list[int]) -> Any:
        """What the beam must know beside the ways: how much pieces side by side can fill."""
        return self._fill(ways)

    def _fill(self, ways: Any) -> Any:
        from squab.lay._beam import filled

        end = int(self.width + 0.5)
        free = np.unique(ways[ways[:, 2] == 0.0, 0])
        starts: list[list[float]] = [[] for _ in range(end + 1)]
        for w, _, period, base in {tuple(way[:4]) for way in ways.tolist() if way[2] > 0}:
            for u in np.arange(base, self.width - w + 1e-6, period):
                if w not in starts[int(u + 0.5)]:
                    starts[int(u + 0.5)].append(w)
        first = np.cumsum([0, *(len(s) for s in starts)])
        fill = np.zeros((end + 1 if self.phased.any() else 1, end + 1))
        filled(free, len(free), first, np.array([w for s in starts for w in s]), fill)
        return fill


class Abreast:
    """One worker's beams, from a state on; its anchors may move, and strips of `Rows.seams` are divided anew."""

    kept_most = KEPT

    def __init__(self, rows: Rows, state: State, seed: int) -> None:
        self.rows, self.state, self.model = rows, state.copy(), rows.model
        self.random = np.random.default_rng(seed)
        self.length_mm = state.length_mm
        self.best: State | None = None
        self.kept: Worths | None = None
        self.kept_mm = math.inf
        self.tried: Worths | None = None
        self.ways: tuple[Any, Any, Any, Any] = (None, None, None, None)
        self.worth: Any = None
        self.strips: Any = None
        self.room: tuple[Any, ...] = ()
        self.number = 0
        self.at = np.zeros(8, dtype=np.int64)
        self.goal = np.zeros(5)
        self._rooms: dict[int, tuple[Any, ...]] = {}

    @property
    def learnt(self) -> Learnt | None:
        """What the shortest lay was found with; None where there is none yet."""
        return Learnt(self.rows.kinds, self.kept, self.kept_mm, self.number) if self.kept is not None else None

    def resume(self, learnt: Learnt | None) -> None:
        """Go on from what an earlier search for the same kinds of pieces and strips learnt."""
        if learnt is None or learnt.kinds != self.rows.kinds or len(learnt.kept.aims) != len(self.rows.seams.kinds):
            return
        self.kept, self.kept_mm, self.number = learnt.kept, learnt.kept_mm, learnt.number

    def adopt(self, other: Abreast) -> None:
        """Go on from another's worths where its lay is shorter."""
        if other.length_mm < self.length_mm - 1e-9:
            self.length_mm, self.best = other.length_mm, other.best
            self.state = other.state
            self.kept, self.kept_mm = other.kept, other.kept_mm

    def go(self, children: int) -> int:
        """Make about so many children; how many were made, none where no shorter lay can be."""
        from squab.lay._beam import DONE, FOUND

        made = 0
        while made < children:
            if self.tried is None:
                self.tried = self._begin()
            if self.tried is None:
                return made
            made += 1 + self._go_on(children - made, self.tried)
            if self.at[FOUND]:
                self._keep()
            if self.at[DONE]:
                self.tried = None
        return made

    def _go_on(self, children: int, tried: Worths) -> int:
        from squab.lay._beam import beam

        rows, (kind, ways, _, fill) = self.rows, self.ways
        made: int = beam(
            children, self.at, self.goal, rows.width, rows.area, rows.grid, rows.rise, tried.doubt, kind, ways,
            self.worth, rows.names, fill, self.strips, rows.seams.seams_mm, *self.room,
        )  # fmt: skip
        return made

    def _target(self) -> float:
        grid, least = self.rows.grid, self.rows.least
        if not math.isfinite(self.kept_mm):
            longest = max(
                least * (1 + FIRST_SLACK), self.length_mm * (1 + SLACK) if math.isfinite(self.length_mm) else 0
            )
        else:
            longest = min(self.length_mm, self.kept_mm) * (1 + SLACK)
        return math.floor((longest + self.rows.gap) / grid + 1e-6) * grid

    def _begin(self) -> Worths | None:
        """Begin a beam; None where no shorter lay can be."""
        rows = self.rows
        if self.length_mm + rows.gap <= rows.least + 1e-6:
            return None
        tried = self._worths()
        found = rows.ways(tried.var)
        if found is None:
            tried = replace(tried, var=self.state.var)
            found = rows.ways(tried.var)
        if found is None:
            return None
        self.ways = found
        self._weigh(tried)
        kept = self.kept_most[0] if self.number < OPENING else int(self.random.choice(self.kept_most, p=KEPT_SHARES))
        self.number += 1
        if kept not in self._rooms:
            self._rooms[kept] = self._room(kept)
        self.room = self._rooms[kept]
        self._root()
        self.at[:] = 0
        self.goal[:] = [self._target(), math.inf, 0.0, 0.0, 0.0]
        return tried

    def _root(self) -> None:
        """The beginning with nothing laid."""
        rows = self.rows
        size, heap, table, idx, num, su, sv, stock, rests, _, _ = self.room
        size[:], table[:], num[0] = 0, 0, 0.0
        size[0], heap[0, 0] = 1, 0
        idx[0] = 1, rows.count.sum() + len(rows.seams.seams_mm), -1, -2, 0, 0
        su[0, 0], su[0, 1], sv[0, 0], stock[0] = 0.0, rows.width, 0.0, rows.count
        rests[0] = rows.seams.begun()

    def _weigh(self, tried: Worths) -> None:
        """Worths of pieces and of seam, together what everything is worth by its area."""
        rows, seams = self.rows, self.rows.seams
        n = len(rows.each)
        taken = np.concatenate([rows.each * rows.waits, seams.part_mm2])
        worth = np.exp((1 + tried.favour) * np.log(taken) + tried.bent)
        worth_mm = worth[n:] / seams.shortest_mm
        share = rows.area / float((worth[:n] * rows.count).sum() + (worth_mm * seams.sum_mm).sum())
        self.worth = worth[:n][self.ways[0]] * share
        self.strips = seams.kinds.copy()
        self.strips[:, EACH], self.strips[:, AIM] = worth_mm * share, tried.aims * seams.across_mm

    def _room(self, kept: int) -> tuple[Any, ...]:
        from squab.lay._beam import MOST_STEPS

        rows = self.rows
        longest = max(float(self.ways[1][:, 1].max()), float(rows.seams.kinds[:, THICK].max(initial=0.0)))
        ring = min(RING, int((2 * rows.each.max() + rows.width * longest) / rows.rise) + 4)
        n, kinds = ring * kept + 1, len(rows.count)
        # a rung takes in children of its own where there are strips, so more than it keeps are gone on with
        stems = kept * (int(rows.width * (self._target() + longest) / rows.rise) + 10)
        stems = min(4 * stems, max(stems, MOST_STEMS)) if len(rows.seams.kinds) else stems
        return (
            np.zeros(ring, dtype=np.int64), np.zeros((ring, kept), dtype=np.int64),
            np.zeros((ring, 4 * kept + 64), dtype=np.int64), np.zeros((n, 6), dtype=np.int64), np.zeros((n, 7)),
            np.zeros((n, MOST_STEPS + 1)), np.zeros((n, MOST_STEPS)), np.zeros((n, kinds), dtype=np.int16),
            np.zeros((n, len(rows.seams.kinds), 3)), np.zeros((stems, 2), dtype=np.int64), np.zeros((stems, 3)),
        )  # fmt: skip

    def _worths(self) -> Worths:
        """Worths of their own, or the ones kept, changed a little."""
        draw, n = self.random, len(self.rows.count) + len(self.rows.seams.kinds)
        if self.kept is None or draw.random() < FRESH:
            bent = draw.choice(BENDS) * draw.normal(size=n)
            var = self.state.var if self.kept is None else self.kept.var
            aims = self._aims()
            new = Worths(draw.uniform(*FAVOURS), float(draw.choice(DOUBTS)), bent, var, aims)
        else:
            favour, doubt = self.kept.favour, self.kept.doubt
            if draw.random() < 0.5:
                favour = max(0.0, favour + 0.03 * draw.normal())
                doubt *= math.exp(0.2 * draw.normal())
            some = draw.random(n) < draw.choice([0.2, 1.0])
            aims = self.kept.aims
            if len(aims) and draw.random() < OTHER_AIMS:
                aims = np.where(draw.random(len(aims)) < 0.5, self._aims(), aims)
            new = Worths(
                favour, doubt, self.kept.bent + draw.choice(CHANGES) * some * draw.normal(size=n), self.kept.var, aims
            )
        if len(new.var) and draw.random() < (OPENING_ANCHOR if self.number < OPENING else OTHER_ANCHOR):
            new = replace(new, var=self._other_anchor(new.var))
        return new

    def _aims(self) -> Any:
        """Of each kind of strip the longest part that is not worth a cut, as a share of what lies across."""
        draw, kinds = self.random, len(self.rows.seams.kinds)
        if not kinds:
            return np.zeros(0)
        aims = np.full(kinds, draw.uniform(*AIMS)) if draw.random() < 0.5 else draw.uniform(*AIMS, size=kinds)
        return np.where(draw.random(kinds) < AIMLESS, 0.0, aims)

    def _other_anchor(self, var: Any) -> Any:
        """Anchors of which one brings some piece to an edge."""
        rows, draw = self.rows, self.random
        row, axis = int(draw.integers(len(rows.table.items))), int(draw.integers(2)) if rows.phased_v.any() else 0
        if self._anchor_of(row, axis)[0] < 0:
            return var
        return self._at_edge(
            var, axis, row, int(draw.integers(rows.table.n_mode[row])), last=bool(draw.random() >= 0.5)
        )

    def _anchor_of(self, row: int, axis: int) -> tuple[int, int]:
        """Which anchor moves a piece, and which way; -1 where none does."""
        phased = self.model.phased[self.rows.table.items[row]]
        return (int(phased[axis]), int(phased[2 + axis])) if phased[axis] >= 0 else (int(phased[4 + axis]), 1)

    def _at_edge(self, var: Any, axis: int, row: int, turn: int, *, last: bool) -> Any:
        """Anchors that bring a piece to the first edge or to the last one."""
        x, sign = self._anchor_of(row, axis)
        if x < 0:
            return var
        option = self.rows.table.based(var)[row, turn]
        room = self.rows.width - self.rows.gap if axis == 0 else min(self.length_mm, self.kept_mm)
        to = room - option[axis] if last and math.isfinite(room) else 0.0
        var = var.copy()
        var[x] = (var[x] + sign * (to - option[2 + axis])) % self.model.spans[x]
        return var

    def _keep(self) -> None:
        from squab.lay._beam import FOUND

        self.at[FOUND] = 0
        laid, length = self._found()
        if length <= self.kept_mm + 1e-9:
            self.kept, self.kept_mm = self.tried, length
        if length < self.length_mm - 1e-9:
            self.length_mm = length
            self.best = self._laid(laid)

    def _found(self) -> tuple[list[tuple[int, float, float, float]], float]:
        """The lay just found, from its first piece on (way, u, v, seam), and its length."""
        stems, stem_at = self.room[-2:]
        laid = [(int(self.at[7]), *self.goal[2:].tolist())]
        me = int(self.at[6])
        while me >= 0:
            if stems[me, 1] >= 0:
                laid.append((int(stems[me, 1]), *stem_at[me].tolist()))
            me = int(stems[me, 0])
        return laid[::-1], float(self.goal[1]) - self.rows.gap

    def _laid(self, laid: list[tuple[int, float, float, float]]) -> State:
        """A lay as a state of the search."""
        from squab.lay._kernel import JOIN_MM

        assert self.tried is not None
        rows, model, state = self.rows, self.model, self.state.copy()
        kind, _, option, _ = self.ways
        left = [iter(r) for r in rows.rows]
        places = np.zeros((len(model.keys), 2))
        seams = [(way - len(kind), u, v, part) for way, u, v, part in laid if way >= len(kind)]
        parts = iter(rows.seams.divide(state, model, seams, places))
        order: list[int] = []
        for way, u, v, _ in laid:
            if way >= len(kind):
                if (part := next(parts)) >= 0:  # a line left over is no part
                    order.append(part)
                continue
            i = rows.table.items[next(left[kind[way]])]
            places[i] = u, v
            state.mode[i] = option[way]
            order.append(i)
        state.var = self.tried.var.copy()
        done = set(order)
        state.order = np.array([*order, *(i for i in state.order.tolist() if i not in done)], dtype=np.int64)
        for s in range(len(model.strips)):
            state.pours[int(model.strips[s, 5])] = 0.0
        state.length_mm, state.places = self.length_mm, places
        state.cost_mm = self.length_mm + JOIN_MM * int((state.lens > 0).sum())
        return state
