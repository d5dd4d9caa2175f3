"""Outlines that are not rectangles laid by a beam, over and over, as `squab.lay._abreast` lays rectangles.

What is laid has a height in every column, about a millimetre wide, so a round or slanted piece finds its hollow; a
column counts with the highest and the lowest of an outline in it, so nothing overlaps. Once a lay is found its pieces
come down truly, by their outlines.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from shapely import Polygon, union_all

from squab.lay._abreast import GRID_MM, MOST_STEMS, Abreast, Learnt, Rows, Worths
from squab.lay._model import Model, State
from squab.lay._seams import ENDS, MOST_POOLED, SAME_MM, THICK
from squab.lay._shapes import chains

FEWEST_OUTLINES, MOST_OUTLINES = 4, 150
"""Jobs of fewer pieces that are not strips, or of more, are left to lists."""
COLUMN_MM, MOST_COLUMNS = 1.0, 1500
"""How wide a column is: about so much, or as many columns as there may be make the cloth."""
RUNGS_AN_OUTLINE, RING = 4, 64
"""Rungs for each piece, and the most that are held at a time."""
RAISES = ((0.0, 0.0), (15.0, 0.0), (10.0, 40.0))
"""So far above the lowest place stretches are looked for, for on a slope there is more room; one of these each try."""
KEPT_OUTLINES = (20, 50, 150)
LONGER = 0.004
"""A lay may be so much longer than the beam's best to be gone on with."""
FEW_OUTLINES, KEPT_FEW, FAVOURS_FEW, BEND_FEW = 12, (100, 100, 200), (0.0, 0.12), 0.03
"""Up to so many outlines that no pattern holds, with strips, are laid by wider beams, small pieces worth nearly as
much as large ones."""


class Columns(Rows):
    """Outlines of a state by kind and way of lying, with their edges in columns across the cloth."""

    rungs_a_piece = RUNGS_AN_OUTLINE

    @staticmethod
    def _lays(model: Model) -> bool:
        period, pieces = float(model.lattice[0]), int((model.strip_of < 0).sum())
        # a repeat far below a column's width would take more columns than there may be
        narrow = 0 < period < _column_mm(model) / 2
        return model.shaped and FEWEST_OUTLINES <= pieces <= MOST_OUTLINES and not narrow

    def __init__(self, model: Model, state: State, items: list[int], free: list[int]) -> None:
        super().__init__(model, state, items, free)
        # on a slope a piece comes to rest at any height
        self.grid = GRID_MM
        # places of the repeat stand whole columns apart
        least = _column_mm(model)
        self.col = self.period / max(1, math.floor(self.period / least + 1e-9)) if self.period else least
        self.cols = math.ceil(self.width / self.col - 1e-9)

    def beam(self, state: State, seed: int) -> Outlines:
        """Beams that begin from a state."""
        return Outlines(self, state, seed)

    @staticmethod
    def for_model(model: Model) -> type[Columns]:
        """The kind of columns that serves a model."""
        return FewColumns if is_few(model) else Columns

    def _area_of(self, row: int) -> float:
        return float(union_all([Polygon(p) for p in self.parts_of(int(self.table.shape_by[row, 0]))]).area)

    def parts_of(self, shape: int) -> list[Any]:
        """The convex parts of a shape, grown by half the gap, from where the grown piece begins across and along."""
        return [part + self.gap / 2 for part in self.table.parts_of(shape)]

    def _beside(self, ways: Any, kind: Any, shapes: list[int]) -> Any:
        """Of each way its area, how far its lower edge rises, columns, first column, columns to the next, and edges."""
        from squab.lay._beam import BASE, PERIOD, WIDE, edges_of

        skip = np.floor(ways[:, BASE] / self.col + 1e-7).astype(np.int64)
        off = np.maximum(ways[:, BASE] - skip * self.col, 0.0)
        span = np.ceil((ways[:, WIDE] + off) / self.col - 1e-7).astype(np.int64)
        step = np.round(ways[:, PERIOD] / self.col).astype(np.int64)
        size = len(ways), int(span.max())
        bottoms, tops = np.full(size, np.inf, dtype=np.float32), np.full(size, -np.inf, dtype=np.float32)
        for k, shape in enumerate(shapes):
            parts, n = self.parts_of(shape), span[k]
            ends = np.cumsum([len(p) for p in parts])
            edges_of(np.concatenate(parts), ends, float(off[k]), 0.0, self.col, bottoms[k, :n], tops[k, :n])
        over = np.array([float(bottoms[k, :n].max()) for k, n in enumerate(span)])
        return self.each[kind], over, span, skip, step, bottoms, tops, np.array(shapes)


class Outlines(Abreast):
    """As `Abreast`, of outlines."""

    rows: Columns
    kept_most = KEPT_OUTLINES

    def __init__(self, rows: Columns, state: State, seed: int) -> None:
        super().__init__(rows, state, seed)
        self.raises = np.zeros(2)
        self.edges: list[list[tuple[int, int, bool]]] = [[], []]
        """Pieces, their turns and the edges by which an anchor is yet to be set, across and along."""

    def _go_on(self, children: int, tried: Worths) -> int:
        from squab.lay._beam import drop_beam

        rows, (kind, ways, _, beside) = self.rows, self.ways
        made: int = drop_beam(
            children, self.at, self.goal, rows.col, rows.width, rows.area, rows.rise, self.raises, kind, ways,
            self.worth, *beside[:-1], rows.names, self.strips, rows.seams.seams_mm, *self.room,
        )  # fmt: skip
        return made

    def _target(self) -> float:
        if math.isfinite(self.kept_mm):
            return self.kept_mm * (1 + LONGER) + self.rows.gap
        return super()._target()

    def _other_anchor(self, var: Any) -> Any:
        """Anchors of which one brings some kind of piece to an edge: each in its turn, for few may be good."""
        rows = self.rows
        axis = int(self.random.integers(2)) if rows.phased_v.any() else 0
        if not self.edges[axis]:
            held = [r[0] for r, at in zip(rows.rows, (rows.phased, rows.phased_v)[axis], strict=True) if at]
            self.edges[axis] = [(r, k, e) for r in held for k in range(rows.table.n_mode[r]) for e in (False, True)]
            self.random.shuffle(self.edges[axis])
        if not self.edges[axis]:
            return var
        row, turn, last = self.edges[axis].pop()
        return self._at_edge(var, axis, row, turn, last=last)

    def _root(self) -> None:
        rows = self.rows
        self.raises = np.array(RAISES[int(self.random.integers(len(RAISES)))])
        size, heap, table, idx, num, edges, stock, rests, lines, _, _ = self.room
        size[:], table[:], num[0] = 0, 0, 0.0
        size[0], heap[0, 0] = 1, 0
        idx[0] = 0, rows.count.sum() + len(rows.seams.seams_mm), -1, -2, 0, 0
        edges[0], lines[0], stock[0], rests[0] = 0.0, 0.0, rows.count, rows.seams.begun()

    def _room(self, kept: int) -> tuple[Any, ...]:
        rows, strips = self.rows, self.rows.seams.kinds
        largest = max(float(rows.each.max()), float((strips[:, THICK] * rows.width).max(initial=0.0)))
        ring = min(int(largest / rows.rise) + 4, RING)
        n, kinds = ring * kept, len(rows.count)
        # each piece moves on at least one rung, however small
        rungs = int(rows.area / rows.rise + rows.count.sum() + 4 * rows.seams.least_parts.sum()) + ring
        stems = min(rungs * kept, MOST_STEMS)
        return (
            np.zeros(ring, dtype=np.int64), np.zeros((ring, kept), dtype=np.int64),
            np.zeros((ring, 4 * kept + 64), dtype=np.int64), np.zeros((n, 6), dtype=np.int64), np.zeros((n, 8)),
            np.zeros((n, rows.cols), dtype=np.float32), np.zeros((n, kinds), dtype=np.int16),
            np.zeros((n, len(strips), 3)), np.zeros(n), np.zeros((stems, 2), dtype=np.int64),
            np.zeros((stems, 3)),
        )  # fmt: skip

    def _found(self) -> tuple[list[tuple[int, float, float, float]], float]:
        """The lay just found, each piece truly down on those before it."""
        from squab.lay._beam import BASE, BASE_V, DROP, HIGH, PERIOD, PERIOD_V, come_down

        laid, _ = super()._found()
        rows, (kind, ways, _, beside) = self.rows, self.ways
        lows: list[Any] = []
        highs: list[Any] = []
        parts, tall = [], []
        base, period = np.zeros(len(laid)), np.zeros(len(laid))
        for n, (way, u, _, part) in enumerate(laid):
            if way < len(kind):
                shape, lie = rows.parts_of(int(beside[-1][way])), ways[way]
                period[n], base[n] = lie[PERIOD_V], lie[BASE_V]
                tall.append(float(lie[HIGH]))
                if lie[DROP]:
                    base[n] += round((u - lie[BASE]) / lie[PERIOD]) * lie[DROP]
            else:
                shape = [_bar(rows.seams.kinds[way - len(kind)], part)]
                tall.append(float(shape[0][2, 1]))
            low, top = zip(*(chains(piece) for piece in shape), strict=True)
            lows += low
            highs += top
            parts.append(len(lows))
        at = np.array([[u, v] for _, u, v, _ in laid])
        ends = [np.cumsum([len(chain) for chain in some]) for some in (lows, highs)]
        come_down(np.concatenate(lows), np.concatenate(highs), *ends, np.array(parts), base, period, at)
        down = [(way, u, float(at[n, 1]), part) for n, (way, u, _, part) in enumerate(laid)]
        return down, float((at[:, 1] + tall).max()) - rows.gap


class FewColumns(Columns):
    """As `Columns`, for few outlines and strips that no pattern holds: strips of a kind are begun all at once."""

    pooled = True

    def beam(self, state: State, seed: int) -> Outlines:
        """Beams that begin from a state, and from strips divided otherwise."""
        return FewOutlines(self, state, seed)


class FewOutlines(Outlines):
    """As `Outlines`, in wide beams, each with worths of its own and one of a few divisions of windowed strips."""

    rows: FewColumns
    kept_most = KEPT_FEW

    def __init__(self, rows: FewColumns, state: State, seed: int) -> None:
        super().__init__(rows, state, seed)
        others = [(FewColumns.of(rows.model, other), other) for other in long_divisions(rows.model, self.state)]
        found = [(rows, self.state), *((r, s) for r, s in others if r is not None and r.ways(s.var) is not None)]
        self.choices = sorted(found, key=lambda choice: int((choice[1].lens > 0).sum()))

    def resume(self, learnt: Learnt | None) -> None:
        """Begin anew, for nothing is learnt from other tries."""

    def adopt(self, other: Abreast) -> None:
        """Take another's lay where it is shorter; the divisions stay."""
        if other.length_mm < self.length_mm - 1e-9:
            self.length_mm, self.best, self.kept_mm = other.length_mm, other.best, other.kept_mm

    def _begin(self) -> Worths | None:
        # mostly those of more parts, which find room in more gaps
        self.rows, self.state = self.choices[int(self.random.integers(len(self.choices), size=3).max())]
        self._rooms, self.room = {}, ()  # as large as the rows want
        return super()._begin()

    def _worths(self) -> Worths:
        draw, n = self.random, len(self.rows.count) + len(self.rows.seams.kinds)
        aims = np.zeros(len(self.rows.seams.kinds))
        return Worths(draw.uniform(*FAVOURS_FEW), 0.0, BEND_FEW * draw.normal(size=n), self.state.var, aims)


def is_few(model: Model) -> bool:
    """Tell whether a job is of few outlines and strips, none of them held by a pattern."""
    few = int((model.strip_of < 0).sum()) <= FEW_OUTLINES and 0 < len(model.strips) <= MOST_POOLED
    return few and model.shaped and not (model.phased[:, :2] >= -1).any()


def long_divisions(model: Model, state: State) -> list[State]:
    """A state with its windowed strips divided otherwise, each with one part as long as the cloth is wide.

    What such a part leaves is one part more, or the shortest that may be and what is then left, one at either end.
    """
    found: list[State] = []
    for parts in (2, 3):
        other = state.copy()
        for strip in model.strips:
            seams = _long_division(model, strip, parts)
            if seams:
                first, last = int(strip[5]), int(strip[6])
                other.lens[first:last] = [*seams, *[0.0] * (last - first - len(seams))]
        if not any(_alike(model, other, known) for known in (state, *found)):
            found.append(other)
    return found


def _alike(model: Model, a: State, b: State) -> bool:
    """Tell whether the strips of two states are of equal parts, in whatever order."""
    spans = [slice(int(strip[5]), int(strip[6])) for strip in model.strips if strip[10] > 0]
    return all(np.allclose(np.sort(a.lens[s]), np.sort(b.lens[s]), rtol=0.0, atol=SAME_MM) for s in spans)


def _long_division(model: Model, strip: Any, parts: int) -> list[float]:
    """Seams of the parts of one strip, none where it may not be so divided."""
    seam, least = float(strip[1] - strip[0]), float(strip[7])
    longest = float(model.problem.usable_width_mm) - 2 * float(strip[4])
    rest = seam - longest - (least if parts == 3 else 0.0)
    short = [least, rest] if parts == 3 else [rest]
    flat = abs(float(model.options[int(strip[5]), 0, 1])) < SAME_MM
    if strip[10] == 0 or not flat or not strip[11] <= parts <= strip[12] or not least <= rest <= longest + SAME_MM:
        return []
    first = int(strip[9])
    windows = model.windows[first : first + int(strip[10])]
    for seams in ([short[0], longest, *short[1:]], [*short[1:], longest, short[0]]):
        joins = float(strip[0]) + np.cumsum(seams)[:-1]
        if all(((windows[:, 0] - SAME_MM <= x) & (x <= windows[:, 1] + SAME_MM)).any() for x in joins):
            return seams
    return []


def _column_mm(model: Model) -> float:
    return max(COLUMN_MM, (model.problem.usable_width_mm + model.problem.gap_mm) / MOST_COLUMNS)


def _bar(strip: Any, part: float) -> Any:
    """A part of a strip as an outline; below 0 it stands."""
    wide, high = (strip[THICK], strip[ENDS] - part) if part < 0 else (part + strip[ENDS], strip[THICK])
    return np.array([[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]])
