"""Rectangles on plain cloth, crammed into a wanted length with no more waste than it can spare."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from squab.lay._model import Model, State

GRID_MM = 1e-3
"""Sizes are taken as whole numbers of these when the lengths that can be are looked for."""
NODES = 5000
"""Steps of the shortest try; others are up to `LONGER` times as long."""
LONGER = 7
WILD = (0.0, 0.02, 0.05, 0.15, 0.4)
"""How much chance is in the choice of pieces, against a piece's share of the whole area."""
HOPES = (0.85, 0.0, 0.95, 0.6, 1.0, 0.85)
"""Where between the least that can be and just below the best the wanted length stands."""
MOST_PIECES = 400


class Cram:
    """All pieces of a plain job of rectangles, by kind and way of lying."""

    @classmethod
    def of(cls, model: Model) -> Cram | None:
        """For a job of rectangles only that hang on no pattern and keep clear of no flaw; else None."""
        held = model.shaped or len(model.strips) or len(model.flaws) or (model.phased[:, :2] > -2).any()
        return None if held or not 1 < len(model.keys) <= MOST_PIECES else cls(model)

    def __init__(self, model: Model) -> None:
        self.model = model
        gap = float(model.problem.gap_mm)
        self.gap, self.width = gap, float(model.problem.usable_width_mm) + gap
        kinds: dict[tuple[tuple[float, float], ...], list[int]] = {}
        for i in range(len(model.keys)):
            sizes = {tuple(np.round(model.options[i, k, 4:6], 6).tolist()) for k in range(int(model.n_mode[i]))}
            kinds.setdefault(tuple(sorted(sizes)), []).append(i)
        self.items = list(kinds.values())
        self.sizes = [size for kind in kinds for size in kind]
        self.kind = np.array([number for number, kind in enumerate(kinds) for _ in kind], dtype=np.int64)
        self.wide = np.array([w + gap for w, _ in self.sizes])
        self.high = np.array([h + gap for _, h in self.sizes])
        first = [kind[0] for kind in kinds]
        self.area = sum(len(i) * (w + gap) * (h + gap) for i, (w, h) in zip(self.items, first, strict=True))
        self.grid = GRID_MM * math.gcd(*(round(x / GRID_MM) for x in self.high.tolist()))
        self.least = math.ceil(self.area / self.width / self.grid - 1e-6) * self.grid

    def wanted(self, best_mm: float, number: int) -> float | None:
        """The length for a try, a gap behind it included; None where nothing shorter than the best can be."""
        most = math.ceil((best_mm + self.gap) / self.grid - 1 - 1e-6) * self.grid
        if most < self.least - 1e-9:
            return None
        hope = HOPES[number % len(HOPES)]
        return self.least + math.floor((most - self.least) * hope / self.grid + 1e-6) * self.grid

    def tried(self, length: float, number: int, seed: int) -> tuple[State | None, int]:
        """Try a wanted length: a state that keeps it, or None; and the steps it may have taken."""
        from squab.lay._niches import fill

        n = len(self.model.keys)
        left = np.array([len(i) for i in self.items], dtype=np.int64)
        chosen, at = np.zeros(3 * n, dtype=np.int64), np.zeros((2, 3 * n))
        nodes = NODES * (1 + number % LONGER)
        spare = self.width * length - self.area
        laid = fill(
            nodes, seed, WILD[number % len(WILD)], self.width, length, spare, self.wide, self.high, self.kind, left,
            chosen, at[0], at[1],
        )  # fmt: skip
        return (self._state(chosen[:laid], at) if laid else None), nodes

    def _state(self, chosen: Any, at: Any) -> State:
        model = self.model
        state = model.blank_state(np.arange(len(model.keys)))
        places, ends = np.zeros((len(model.keys), 2)), []
        items = [iter(i) for i in self.items]
        for row, way in enumerate(chosen.tolist()):
            if way < 0:
                continue
            i = next(items[self.kind[way]])
            size = self.sizes[way]
            options = model.options[i, : int(model.n_mode[i]), 4:6]
            state.mode[i] = int(np.abs(options - size).sum(axis=1).argmin())
            places[i] = at[:, row]
            ends.append(places[i, 1] + float(options[state.mode[i], 1]))
        state.order = np.lexsort((places[:, 0], places[:, 1])).astype(np.int64)
        state.places, state.length_mm = places, float(max(ends))
        state.cost_mm = state.length_mm
        return state
