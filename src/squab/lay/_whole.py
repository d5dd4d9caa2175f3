"""Places on the repeat, each piece whole in one of them: what prices on points cannot tell apart.

`_places` lets half a piece lie here and half there. Here every place of every piece is a yes or
a no, at most one piece over any point of the cloth, and a constraint solver shows that there is
no such choice. Of a job in which a few dozen pieces have their places both ways it shows much
more, mostly the least length itself.

Two pieces that overlap share the point at the one's left and the one's lower edge, so only such
points are looked at. What is not known is taken in turn as in `_places`: which columns the anchor
leaves on the cloth, and where on the repeat the cut end stands. Cases that are each other's mirror
image are asked once. Pieces without a place both ways are left out, which makes a lay only easier.
"""

from __future__ import annotations

import math
import sys
import time
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from squab.lay._places import CLEAR_MM, NEAR_MM, ROOM_MM, UNDER_MM, Case, Floats, Frame, Ints, cases, frames
from squab.lay.records import LayProblem

MOST_PLACES, MOST_CROSSINGS, MOST_POINTS = 1000, 20_000, 4000
"""Places of all pieces on the cloth, the points where a left edge's line crosses a lower one's, and those of them that
several places share in ways of their own: above any of these nothing is asked."""
FIRST_GAIN, LEAST_GAIN = 0.025, 0.0005
"""A cloth longer by such a part is tried first, and last."""
CASE_SHARE = 0.25
"""Part of the time that is left after which one case alone is given up."""
LOADING_S = 2.5
"""What the solver may take to load: where there is less time, and it has not been loaded, nothing is asked."""


def whole_bound(problem: LayProblem, shown_mm: float, until: float) -> float:
    """The length below which the pieces of some group cannot all lie whole; `shown_mm` where that is as long.

    Works until that length is found, or `until` (of `time.perf_counter`) has come.
    """
    best = shown_mm
    if "ortools.sat.python.cp_model" not in sys.modules and until - time.perf_counter() < LOADING_S:
        return best
    for frame in frames(problem):
        best = max(best, _Whole(frame, until).least(best + problem.gap_mm, until) - problem.gap_mm)
    return best


@dataclass(frozen=True)
class _Places:
    """Every place of every piece on a cloth so long: its kind, and the box that it covers."""

    kind: Ints
    box: Floats
    """(n, 4): left, lower, right and upper edge."""

    def told(self) -> bytes:
        """The same for places that are mirror images of one another, across or along."""
        u0, v0, u1, v1 = self.box.T
        ways = []
        for left, right in ((u0 - u0.min(), u1 - u0.min()), (u1.max() - u1, u1.max() - u0)):
            for low, high in ((v0 - v0.min(), v1 - v0.min()), (v1.max() - v1, v1.max() - v0)):
                table = np.column_stack((self.kind, left, low, right, high)).round(4) + 0.0
                ways.append(table[np.lexsort(table.T)].tobytes())
        return min(ways)

    def shared_points(self) -> npt.NDArray[np.bool_] | None:
        """The points that several places share, a row of places each; none that another's places hold.

        None where they are too many.
        """
        u0, v0, u1, v1 = self.box.T
        us, vs = np.unique(u0.round(7)), np.unique(v0.round(7))
        if len(us) * len(vs) > MOST_CROSSINGS:
            return None
        behind = (v0 <= vs[:, None] + NEAR_MM) & (v1 > vs[:, None] + CLEAR_MM)
        rows: dict[bytes, npt.NDArray[np.bool_]] = {}
        for u in us:
            both = behind & ((u0 <= u + NEAR_MM) & (u1 > u + CLEAR_MM))
            rows.update((row.tobytes(), row) for row in both[both.sum(axis=1) > 1])
            if len(rows) > MOST_POINTS:
                return None
        points = np.array(list(rows.values())).reshape(len(rows), len(self.kind))
        size, as_float = points.sum(axis=1), points.astype(np.float32)
        held = (as_float @ as_float.T >= size[:, None]) & (size[None, :] > size[:, None])
        kept: npt.NDArray[np.bool_] = points[~held.any(axis=1)]
        return kept


class _Whole:
    """One frame, on cloths of one length after another."""

    def __init__(self, frame: Frame, until: float) -> None:
        self.frame = frame
        self.cases = cases(frame, until)
        self.most = math.inf
        """A length on which places for all have been found."""

    def least(self, shown_mm: float, until: float) -> float:
        """A length that cannot be undercut, no less than `shown_mm`: tried by greater gains as long as that goes."""
        gain, more = FIRST_GAIN, 2.0
        while self.cases and gain > LEAST_GAIN and shown_mm < self.most - 2 * UNDER_MM and time.perf_counter() < until:
            length = min(shown_mm * (1 + gain), self.most - UNDER_MM)
            found = self._too_short(length, until)
            if found is None:
                gain, more = gain / 2, 1.0
            else:
                shown_mm, gain = max(shown_mm, found), gain * more
        return shown_mm

    def _too_short(self, length_mm: float, until: float) -> float | None:
        """The length from which on there may be places for all, where there are none on `length_mm`; None unshown."""
        asked: set[bytes] = set()
        next_mm = math.inf
        for at, case in enumerate(self.cases):
            now = time.perf_counter()
            if now > until:
                return None
            next_mm = min(next_mm, case.next_place(length_mm))
            if case.too_short(length_mm):
                continue
            places = self._places(case, length_mm)
            told = b"" if places is None else places.told()
            if places is not None and told in asked:
                continue
            if places is None or not self._cannot_be(places, now + CASE_SHARE * (until - now)):
                self.cases.insert(0, self.cases.pop(at))  # what said no is asked first the next time
                return None
            asked.add(told)
        return next_mm

    def _places(self, case: Case, length_mm: float) -> _Places | None:
        """All places on a cloth so long; None where they are too many."""
        frame, rows = self.frame, case.rows
        count = np.floor((length_mm - frame.reach_mm[rows] - case.begin + ROOM_MM) / frame.repeat_mm).astype(int) + 1
        count = np.maximum(count, 0)
        if count.sum() > MOST_PLACES:
            return None
        row = np.repeat(np.arange(len(rows)), count)
        nth = np.concatenate([np.arange(n) for n in count]) if len(count) else np.zeros(0)
        low = case.begin[row] + nth * frame.repeat_mm
        at = rows[row]
        left = frame.u_mm[at]
        box = np.column_stack((left, low, left + frame.run_mm[at], low + frame.reach_mm[at]))
        return _Places(frame.kind[at], box)

    def _cannot_be(self, places: _Places, until: float) -> bool:
        """Tell whether it is shown that no choice of places serves all pieces."""
        from ortools.sat.python import cp_model

        points = places.shared_points()
        if points is None:
            return False
        model = cp_model.CpModel()
        on = [model.new_bool_var("") for _ in places.kind]
        for point in points:
            model.add_at_most_one(on[i] for i in np.flatnonzero(point))
        for kind, count in enumerate(self.frame.counts):
            model.add(sum(on[i] for i in np.flatnonzero(places.kind == kind)) == int(count))
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.max_time_in_seconds = max(until - time.perf_counter(), 0.01)
        # Measured: with all of its linear programme and symmetries the solver is done in a tenth of the time.
        solver.parameters.linearization_level = 2
        solver.parameters.symmetry_level = 3
        status = solver.solve(model)
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            chosen = [i for i, x in enumerate(on) if solver.boolean_value(x)]
            self.most = min(self.most, float(places.box[chosen, 3].max()))
        return bool(status == cp_model.INFEASIBLE)
