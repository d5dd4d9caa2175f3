"""Strips that a beam divides as it lays them: their kinds, and the way back to a state of the search."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from squab.lay._model import Model, State

THICK, ENDS, LEAST, LONGEST, SLOTS, FIRST, BEHIND, UPRIGHT, POOLED, EACH, AIM = range(11)
"""A kind of strip: how high its parts are; what a part has beyond its seam; its shortest and longest part,
by seam; most parts of a strip; where its strips stand among all, from the first to the one behind the last;
whether parts may stand; whether its strips are begun all at once; in one try, the worth of a mm of seam, and the
longest part that is not worth a cut.
Heights and ends with the gap."""
REST, USED, NTH = range(3)
"""What is left of a kind of strip: seam of the strip begun, its parts so far, which of the strips it is."""
FEW_PARTS = 2
"""Strips of no more parts than this are begun in any order, so each length is a kind of its own."""
MOST_POOLED, POOL = 12, -1.0
"""So many strips may be begun all at once; what tells their kind."""
SAME_MM = 1e-6


class Seams:
    """The strips of a model that need no place on the pattern and may be cut anywhere.

    `model_strips` are their numbers in the model, kind by kind, the longest first; `seams_mm` how long
    each is, and `area_mm2` how much they take together at the least; `kinds` what each kind is like (see `THICK`,
    ...). Strips that are `pooled`, if each takes several parts, are laid as lines, each as long as there is room;
    which line is which strip's is settled once all are laid. Of each kind: `across_mm` is the longest seam that lies
    across, `sum_mm` the seam of all its strips, `least_parts` how many parts these must have, `shortest_mm` and
    `part_mm2` the length and area of its shortest part.
    """

    def __init__(self, model: Model, which: list[int], width_mm: float, gap_mm: float, *, pooled: bool = False) -> None:
        strips = model.strips
        found: dict[tuple[float, ...], list[tuple[float, int]]] = {}
        for s in which:
            seam = float(strips[s, 1] - strips[s, 0])
            ends, upright = 2 * float(strips[s, 4]) + gap_mm, float(strips[s, 13] >= 0)
            few = round(seam, 6) if seam <= FEW_PARTS * (width_mm - ends) else 0.0
            if pooled and seam > width_mm - ends and len(which) <= MOST_POOLED:
                few = POOL
            thick = round(float(strips[s, 3] - strips[s, 2]), 6) + gap_mm
            found.setdefault((thick, ends, float(strips[s, 7]), float(strips[s, 12]), upright, few), []).append(
                (-seam, s)
            )
        self.across_mm = np.array([width_mm - key[1] for key in found])
        self.kinds = np.zeros((len(found), AIM + 1))
        self.model_strips: list[int] = []
        for c, ((thick, ends, least, slots, upright, few), its) in enumerate(found.items()):
            its.sort()
            first = len(self.model_strips)
            self.model_strips += [s for _, s in its]
            longest = -its[0][0] if upright else width_mm - ends
            self.kinds[c, : UPRIGHT + 1] = thick, ends, least, longest, slots, first, len(self.model_strips), upright
            self.kinds[c, POOLED] = few == POOL and len(its) > 1
        self.seams_mm = np.array([float(strips[s, 1] - strips[s, 0]) for s in self.model_strips])
        self.sum_mm = np.array([self._of(kind).sum() for kind in self.kinds])
        self.least_parts = np.array([np.ceil(self._begun(kind) / kind[LONGEST] - 1e-9).sum() for kind in self.kinds])
        self.area_mm2 = float(((self.sum_mm + self.least_parts * self.kinds[:, ENDS]) * self.kinds[:, THICK]).sum())
        shortest = [min(float(self._of(kind).min()), float(kind[LEAST])) for kind in self.kinds]
        self.shortest_mm = np.array(shortest) + self.kinds[:, ENDS]
        self.part_mm2 = self.shortest_mm * self.kinds[:, THICK]

    def _of(self, kind: Any) -> Any:
        return self.seams_mm[int(kind[FIRST]) : int(kind[BEHIND])]

    def _begun(self, kind: Any) -> Any:
        return self._of(kind).sum(keepdims=True) if kind[POOLED] else self._of(kind)

    def begun(self) -> Any:
        """What is left of each kind before anything is laid."""
        first = np.array([[self._begun(kind)[0], 0.0, kind[FIRST]] for kind in self.kinds])
        return first.reshape(len(self.kinds), 3)

    def divide(self, state: State, model: Model, laid: list[tuple[int, float, float, float]], places: Any) -> list[int]:
        """Divide a state's strips as their parts (kind, u, v, seam; below 0 where it stands) were laid.

        Puts down where they lie in `places`; the items that they are, in the same order, -1 for a line left over.
        """
        items = []
        for s in self.model_strips:
            state.lens[int(model.strips[s, 5]) : int(model.strips[s, 6])] = 0.0
        for (_, u, v, part), (s, nth, seam) in zip(laid, self._parts_of(laid), strict=True):
            if s < 0:
                items.append(-1)
                continue
            row = model.strips[self.model_strips[s]]
            i = int(row[5]) + nth
            state.lens[i], state.hints[i], state.mode[i] = seam, -1.0, 0 if part > 0 else int(row[13])
            places[i] = u, v
            items.append(i)
        return items

    def _parts_of(self, laid: list[tuple[int, float, float, float]]) -> Iterator[tuple[int, int, float]]:
        """Of each part laid its strip, which part of it it is, and its seam; a strip of -1 where it is left over."""
        left, shares = self.begun(), {c: self._shares(laid, c) for c, _, _, _ in laid if self.kinds[c, POOLED]}
        for c, _, _, part in laid:
            if c in shares:
                yield next(shares[c])
                continue
            yield int(left[c, NTH]), int(left[c, USED]), abs(part)
            left[c, REST] -= abs(part)
            left[c, USED] += 1
            if left[c, REST] <= SAME_MM and left[c, NTH] + 1 < self.kinds[c, BEHIND]:
                left[c, NTH] += 1
                left[c, REST], left[c, USED] = self.seams_mm[int(left[c, NTH])], 0

    def _shares(self, laid: list[tuple[int, float, float, float]], c: int) -> Iterator[tuple[int, int, float]]:
        """As `_parts_of`, of the lines of one kind."""
        from squab.lay._beam import shared_out

        lines = np.array([abs(part) for kind, _, _, part in laid if kind == c])
        to, seam = np.zeros(len(lines), dtype=np.int64), np.zeros(len(lines))
        if not shared_out(lines, self._of(self.kinds[c]), self.kinds[c, LEAST], self.kinds[c, SLOTS], to, seam):
            raise AssertionError("lines that make no strips")
        used = [0] * len(self.seams_mm)
        for s, part in zip(to.tolist(), seam.tolist(), strict=True):
            strip = s + int(self.kinds[c, FIRST]) if s >= 0 else -1
            yield strip, used[strip] if s >= 0 else 0, part
            if s >= 0:
                used[strip] += 1


def poured(model: Model) -> list[int]:
    """The strips of a model that may be divided as they are laid."""
    return [s for s in range(len(model.strips)) if model.pourable[s] and model.strips[s, 11] <= 1]
