"""Search for a short lay: a sound one at once, better ones as time goes.

The method is annealing over the order in which pieces are laid, their turns, the division of
strips and the free anchors; each state is laid out by `squab.lay._kernel`, every piece as low as
it will go on the places its pattern allows. Then `squab.lay._press` squeezes the best lay into ever
shorter cloths. What is returned keeps every phase within 1e-6 mm.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np

from squab.errors import LayError
from squab.lay._abreast import CHILDREN_A_STEP, Learnt, Rows
from squab.lay._anchors import anchor_places
from squab.lay._columns import Columns, is_few
from squab.lay._cram import Cram
from squab.lay._model import MANY_ITEMS, Model, State, build_model, lay_of
from squab.lay._press import MANY_PIECES, MOST_PIECES, Press, Table
from squab.lay._seams import poured
from squab.lay.creep import even_problem, on_true_lines
from squab.lay.records import Lay, LayProblem

SAME_LENGTH_MM = 1e-6
"""Lays that differ by less are equally long."""
FIRST_CHUNK = 200
CHUNK_S = 0.08
ROUND_SHARES = (0.2, 0.15, 0.2, 0.15, 0.15, 0.15)
SHORT_S = 1.5
SHORT_SHARES = (1.0,)
"""Below so many seconds there is one round only, and a round cools in at least `COOLINGS` steps."""
COOLINGS = 10
FRESH_ROUNDS = (0, 2)
"""Rounds that begin hot: the first from the best plain order, the other from strips in as few parts as will do.

The others go on from the best so far, less hot.
"""

MOST_MERGED = 400
"""Pairs of parts that are tried as one."""
PRESS_PLAIN, PRESS_FREE, PRESS_STRIPED, PRESS_HELD = 0.95, 0.8, 0.1, 0.3
"""Part of the time that goes to pressing: for outlines without strips that no pattern holds, for others that none
holds, for those held across only, and for the rest.

Pressing soon has a shorter lay of plain outlines than lists ever find; where a piece must move a
whole stripe to get past another, lists do.
"""
CRAM_SHARE = 0.2
"""Until so much of the time is used, rectangles on plain cloth are crammed; so many nodes count as a step."""
NODES_A_STEP = 500
ANCHOR_TRIES = ((16, 0.05), (6, 0.05), (2, 0.05))
"""How many places of anchors are gone on with, and in which part of the time."""
LEAST_LISTS = 100
"""So many lists at least are laid from each."""
ABREAST_SHARE, ABREAST_EARLY, ABREAST_LATE, ABREAST_BOTH = 0.85, 0.3, 0.3, 0.15
"""Part of the time in which rectangles are laid abreast; where strips are divided, before and after annealing; where
pieces have their place both ways, before it."""

FEW_SHARES = (0.85, 0.0, 0.05)
"""The same of few outlines and strips that no pattern holds: laid abreast at first, once more, and pressed."""
MOST_SHARED = 0.8
"""Of other outlines with strips, annealing keeps the rest."""
OUTLINES_HELD, OUTLINES_FREE, OUTLINES_DIVIDED = 0.8, 0.08, 0.3
"""Part of the time in which other outlines are laid abreast at first: where a stripe holds some, where no pattern does,
and where there are strips besides. A few dozen that none holds are pressed further from what a list has laid."""


@dataclass(frozen=True, slots=True)
class Progress:
    """The best lay so far, after so many seconds."""

    seconds: float
    length_mm: float


Report = Callable[[Progress], None]
Stop = Callable[[], bool]


def search(
    problem: LayProblem,
    *,
    seconds: float,
    seed: int = 0,
    steps: int | None = None,
    workers: int = 1,
    report: Report | None = None,
    stop: Stop | None = None,
) -> Lay:
    """Find a short lay of a problem.

    Parameters
    ----------
    seconds
        Time to search. With `steps` it is a limit only, and the same seed, steps and workers
        give the same lay as long as it is not reached.
    seed
        Seed of every random choice.
    steps
        Moves for each worker to try; None searches by the clock.
    workers
        Threads that search beside one another and share the best.
    report
        Called with each better lay's length.
    stop
        Polled about ten times a second; the best lay so far is returned once it says so.

    Raises
    ------
    LayError
        If some piece has no place across the cloth at all.
    """
    hunt = Hunt(problem, seed=seed, workers=workers)
    hunt.go(seconds=seconds, steps=steps, report=report, stop=stop)
    return hunt.lay()


class Hunt:
    """A search that can be gone on with, and told of lays found for problems of the same pieces.

    Parameters
    ----------
    problem, seed, workers
        As for `search`.

    Raises
    ------
    LayError
        If some piece has no place across the cloth at all.
    """

    def __init__(self, problem: LayProblem, *, seed: int = 0, workers: int = 1) -> None:
        self.asked = problem
        self.model = build_model(even_problem(problem))
        self.model.warm()
        self.seed = seed
        self.workers = [self.model, *(self.model.twin() for _ in range(workers - 1))]
        self.busy = workers
        """How many of the workers search."""
        self._plain = _first_state(self.model, [self.model.first_lens])
        many = len(self.model.keys) > MANY_ITEMS
        self.best = self._plain.copy() if many else _first_state(self.model, self.model.divisions())
        self._led = False
        self._gone = self._goes = 0
        self._learnt: Learnt | None = None

    @property
    def length_mm(self) -> float:
        """Length of the best lay so far; inf where there is none yet."""
        return self.best.length_mm

    def offer(self, other: Hunt) -> None:
        """Try the order in which another hunt laid the same pieces; go on from it where it is better.

        Pieces are the same where they may be turned the same ways, strips where they are as long.
        """
        mine, its = self.model, other.model
        same = (
            mine.keys == its.keys and mine.turns == its.turns and np.array_equal(mine.strips[:, :2], its.strips[:, :2])
        )
        if not same or not math.isfinite(other.length_mm):
            return
        state = other.best.copy()
        self.model.measure(state)
        self._led = self._led or math.isfinite(state.length_mm)
        if state.cost_mm < self.best.cost_mm:
            self.best = state

    def go(
        self, *, seconds: float, steps: int | None = None, report: Report | None = None, stop: Stop | None = None
    ) -> None:
        """Search so much longer; see `search`."""
        budget = _Budget(time.monotonic(), seconds, steps)
        told = math.inf

        def tell() -> None:
            nonlocal told
            if self.length_mm < told - 1e-6 and report is not None:
                report(Progress(time.monotonic() - budget.began, self.length_mm))
            told = min(told, self.length_mm)

        if math.isfinite(self.length_mm):
            tell()
        with ThreadPoolExecutor(len(self.workers)) as pool:
            shares = ROUND_SHARES if budget.is_long else SHORT_SHARES
            if not self._cram(pool, budget, tell, stop):
                return
            tried = self._try_anchors(pool, budget, tell, stop)
            # measured: once anchors have been tried, a beam has rectangles on a print end worse
            beams = self._early_share() > 0.0 and (not tried or self.model.shaped)
            rows = self._rows(budget) if beams else None
            early, late, press = self._shares_of(budget, rows)
            self._abreast(pool, budget, tried + early, rows, tell, stop)
            end = 1.0 - press - late
            for number, share in enumerate(shares):
                fresh = number in FRESH_ROUNDS and not self._led
                to = min(end, budget.used() + share * end) if number < len(shares) - 1 else end
                if not self._round(pool, budget, to, self._beginnings(number, fresh, budget), tell, stop):
                    break
            if late > 0.0:
                self._abreast(pool, budget, 1.0 - press, self._late_rows(budget), tell, stop)
            self._press(pool, budget, tell, stop)
        self._led = True
        self._goes += 1

    def _beginnings(self, number: int, fresh: bool, budget: _Budget) -> list[tuple[State, bool]]:
        """For each worker a state to begin a round from, and whether hot.

        A search gone on with in short turns would stay where it is: half of them begin anew.
        """
        plain, count = self._plain if fresh and number else self.best, self.busy
        if budget.is_long or not self._led:
            return [(plain, fresh)] * count
        return [((self._plain, True) if (k + self._goes) % 2 else (self.best, False)) for k in range(count)]

    def _round(
        self,
        pool: ThreadPoolExecutor,
        budget: _Budget,
        to: float,
        beginnings: list[tuple[State, bool]],
        tell: Callable[[], None],
        stop: Stop | None,
    ) -> bool:
        """Anneal once until `to` of the budget is used; False when the search is to end."""
        heats = [_heats(len(self.model.keys), fresh=fresh) for _, fresh in beginnings]
        return self._anneal(pool, budget, to, [start for start, _ in beginnings], heats, tell, stop)

    def _anneal(
        self,
        pool: ThreadPoolExecutor,
        budget: _Budget,
        to: float,
        starts: list[State],
        heats: list[tuple[float, float]],
        tell: Callable[[], None],
        stop: Stop | None,
        own: list[State] | None = None,
    ) -> bool:
        """Anneal from each of some starts until `to` of the budget is used, each for the best of all or for its `own`.

        False when the search is to end.
        """
        from_ = budget.used()
        workers, states = self.workers[: len(starts)], [start.copy() for start in starts]
        chunk, model = FIRST_CHUNK if own is None else LEAST_LISTS // 2, self.model
        while True:
            now = budget.used()
            if now >= to or (stop is not None and stop()):
                return now < 1.0 and not (stop is not None and stop())
            scale = self.length_mm if math.isfinite(self.length_mm) else model.size_mm
            done = (now - from_) / max(to - from_, 1e-9)
            now_at = [scale * hot * (cold / hot) ** done for hot, cold in heats]
            then_at = [max(now * 0.8, scale * cold) for now, (_, cold) in zip(now_at, heats, strict=True)]
            began = time.monotonic()
            bests = [self.best.copy() for _ in workers] if own is None else own
            self._gone += 1
            list(
                pool.map(
                    lambda w, s, b, hot, cold, k=self._gone: w.anneal(s, b, chunk, self._seed(k, w), hot, cold),  # noqa: B023
                    workers, states, bests, now_at, then_at,
                )
            )  # fmt: skip
            best = min(bests, key=lambda b: b.cost_mm)
            self.best = best if own is None else min(self.best, best.copy(), key=lambda b: b.cost_mm)
            took = time.monotonic() - began
            tell()
            budget.spent += chunk
            if budget.steps is not None:
                left = math.ceil((to - budget.used()) * budget.steps)
                chunk = max(1, min(max(FIRST_CHUNK, budget.steps // 200), left))
            else:
                aim = min(CHUNK_S, budget.seconds * (to - from_) / COOLINGS)
                chunk = max(1, min(int(chunk * aim / max(took, 1e-4)), chunk * 4))

    def _try_anchors(
        self, pool: ThreadPoolExecutor, budget: _Budget, tell: Callable[[], None], stop: Stop | None
    ) -> float:
        """Anneal a little from many places of the anchors, more from the best of them: once cold none moves far.

        As many as there is time for, each with `LEAST_LISTS` at the least. Returns the part of the time that took.
        """
        if self._led or not self._both_ways():
            return 0.0
        began = budget.used()
        tries, lists = self._measured(budget, stop)
        if not tries:
            return 0.0
        heat = _heats(len(self.model.keys), fresh=True)
        for count, share in ANCHOR_TRIES:
            most = min(count, int(share * lists / LEAST_LISTS))
            if most < 2:
                break
            tries = sorted(tries, key=lambda t: t.cost_mm)[:most]
            from_, bests = budget.used(), []
            for k in range(0, len(tries), self.busy):
                own = [t.copy() for t in tries[k : k + self.busy]]
                to = from_ + share * (k + len(own)) / len(tries)
                self._anneal(pool, budget, to, tries[k : k + self.busy], [heat] * len(own), tell, stop, own)
                bests += own
            tries = bests
            heat = heat[0] / 2, heat[1]
        best = min(tries, key=lambda t: t.cost_mm)
        self.best = min(self.best, best.copy(), key=lambda t: t.cost_mm)
        plain = self._plain.copy()
        plain.var = best.var.copy()
        self.model.measure(plain)
        if math.isfinite(plain.length_mm):
            self._plain = plain
        tell()
        return budget.used() - began

    def _measured(self, budget: _Budget, stop: Stop | None) -> tuple[list[State], float]:
        """The first lists, laid with an anchor elsewhere, as long as a part of the time lasts: the best of them.

        And how many lists all of the time is worth.
        """
        (most, share), began, laid, tried = ANCHOR_TRIES[0], time.monotonic(), list[State](), 0
        until, places = budget.used() + share, anchor_places(self.model, self._plain)
        for k in np.random.default_rng(self.seed).permutation(len(places)).tolist():
            if budget.used() >= until or (stop is not None and stop()):
                break
            state = self._plain.copy()
            state.var[places[k][0]] = places[k][1]
            self.model.measure(state)
            tried += 1
            budget.spent += 1
            if math.isfinite(state.length_mm):
                laid = sorted([*laid, state], key=lambda t: t.cost_mm)[:most]
        took = time.monotonic() - began
        return laid, budget.steps if budget.steps is not None else budget.seconds * tried / max(took, 1e-6)

    def _cram(self, pool: ThreadPoolExecutor, budget: _Budget, tell: Callable[[], None], stop: Stop | None) -> bool:
        """Cram rectangles on plain cloth into lengths near the least that can be; False where that is reached."""
        cram = Cram.of(self.model) if budget.is_long else None
        if cram is None:
            return True
        number = 0
        while budget.used() < CRAM_SHARE and not (stop is not None and stop()):
            wanted = [cram.wanted(self.length_mm, number + k) for k in range(len(self.workers))]
            if None in wanted:
                return False
            self._gone += 1
            seeds = [self._seed(self._gone, w) for w in self.workers]
            tries = list(
                pool.map(lambda k, n=number, w=wanted, s=seeds: cram.tried(w[k], n + k, s[k]), range(len(wanted)))
            )
            number += len(wanted)
            found = [state for state, _ in tries if state is not None]
            self.best = min([self.best, *found], key=lambda state: state.cost_mm)
            tell()
            budget.spent += max(nodes for _, nodes in tries) // NODES_A_STEP
        return True

    def _abreast(
        self, pool: ThreadPoolExecutor, budget: _Budget, to: float, rows: Rows | None, tell: Callable[[], None],
        stop: Stop | None,
    ) -> None:  # fmt: skip
        """Lay abreast until `to` of the budget is used."""
        if rows is None:
            return
        self._gone += 1
        beams = [rows.beam(self.best, self._seed(self._gone, w)) for w in self.workers[: self.busy]]
        for beam in beams:
            beam.resume(self._learnt)
        chunk = CHILDREN_A_STEP * (max(1, budget.steps // 200) if budget.steps is not None else 40)
        while budget.used() < to and not (stop is not None and stop()):
            began = time.monotonic()
            if not any(list(pool.map(lambda beam, k=chunk: beam.go(k), beams))):
                break
            best = min(beams, key=lambda beam: beam.length_mm)
            if best.best is not None and best.length_mm < self.length_mm - SAME_LENGTH_MM:
                self.best, self._led = best.best, True
                tell()
            for beam in beams:
                beam.adopt(best)
            budget.spent += chunk // CHILDREN_A_STEP
            if budget.steps is None:
                took = time.monotonic() - began
                chunk = max(CHILDREN_A_STEP, min(int(chunk * CHUNK_S / max(took, 1e-4)), chunk * 4))
        self._learnt = min(beams, key=lambda beam: beam.kept_mm).learnt or self._learnt

    def _rows(self, budget: _Budget, *, divided: bool = False) -> Rows | None:
        if not budget.is_long:
            return None
        beams = Columns.for_model(self.model) if self.model.shaped else Rows
        return beams.of(self.model, self.best, divided=divided)

    def _press_share(self, budget: _Budget) -> float:
        """Part of the budget for pressing: less where much is strips, for their divisions stay as they are in it."""
        pieces = int((self.model.strip_of < 0).sum()) + int((self.best.lens > 0).sum())
        if not budget.is_long or pieces > MOST_PIECES:
            return 0.0
        across, along = ((self.model.phased[:, axis] >= -1).any() for axis in range(2))
        if not self.model.shaped or along:
            return PRESS_HELD * self._rigid_share()
        if across:
            return PRESS_STRIPED * self._rigid_share()
        return PRESS_FREE * self._rigid_share() if len(self.model.strips) else PRESS_PLAIN

    def _shares_of(self, budget: _Budget, rows: Rows | None) -> tuple[float, float, float]:
        """Parts of the budget for laying abreast, early and late, and for pressing; the rest is annealing's."""
        late = ABREAST_LATE * self._rigid_share(poured(self.model)) if self._is_late(rows) else 0.0
        early, press = self._early_share(), self._press_share(budget)
        if not (self.model.shaped and len(self.model.strips)):
            return early, late, press
        if rows is not None and is_few(self.model):
            return FEW_SHARES
        # annealing alone divides some strips otherwise
        part = min(1.0, MOST_SHARED / max(early + late + press, MOST_SHARED))
        return part * early, part * late, part * press

    def _is_late(self, rows: Rows | None) -> bool:
        """Tell whether to lay abreast once more after annealing."""
        return rows is not None and len(self.model.strips) > 0 and not self._both_ways()

    def _early_share(self) -> float:
        """Part of the budget for laying abreast at first."""
        if self.model.shaped:
            if len(self.model.strips):
                return OUTLINES_DIVIDED
            if (self.model.phased[:, 1] >= -1).any():
                return ABREAST_BOTH
            if (self.model.phased[:, :2] >= -1).any():
                return OUTLINES_HELD
            return OUTLINES_FREE if len(self.model.keys) >= MANY_PIECES else 0.0
        if self._both_ways():
            return ABREAST_BOTH * self._rigid_share(poured(self.model))
        return ABREAST_EARLY * self._rigid_share(poured(self.model)) if len(self.model.strips) else ABREAST_SHARE

    def _both_ways(self) -> bool:
        """Tell whether some piece has its place across and along."""
        return bool((self.model.phased[:, :2] >= -1).all(axis=1).any())

    def _late_rows(self, budget: _Budget) -> Rows | None:
        """Measured: on a weft stripe the strips as annealing divided them, else divided once more."""
        return self._rows(budget, divided=bool((self.model.phased[:, 1] >= -1).any()))

    def _rigid_share(self, also: Sequence[int] = ()) -> float:
        """How much of the area is not strips, or is the strips of these numbers."""
        strips, rigid = self.model.strips, float(self.model.area.sum())
        bars = (strips[:, 1] - strips[:, 0]) * (strips[:, 3] - strips[:, 2])
        return (rigid + float(bars[list(also)].sum())) / max(rigid + float(bars.sum()), 1.0)

    def _press(self, pool: ThreadPoolExecutor, budget: _Budget, tell: Callable[[], None], stop: Stop | None) -> None:
        """Press the best lay into shorter cloths with what is left of the budget."""
        from_ = budget.used()
        if not budget.is_long or from_ >= 1.0 or not math.isfinite(self.length_mm) or (stop is not None and stop()):
            return
        table = Table.of(self.model, self.best)
        if table is None:
            return
        self._gone += 1
        presses = [Press(table, self.best, self._seed(self._gone, w)) for w in self.workers]
        chunk = FIRST_CHUNK
        while (now := budget.used()) < 1.0 and not (stop is not None and stop()):
            began = time.monotonic()
            done = (now - from_) / (1.0 - from_)
            if not any(list(pool.map(lambda p, k=chunk, d=done: p.go(k, d), presses))):
                return
            best = min(presses, key=lambda p: p.length_mm)
            if best.length_mm < self.length_mm - SAME_LENGTH_MM:
                self.best = best.found()
                tell()
            for press in presses:
                press.adopt(best)
            took = time.monotonic() - began
            budget.spent += chunk
            if budget.steps is not None:
                chunk = max(1, min(max(FIRST_CHUNK, budget.steps // 200), budget.steps - budget.spent))
            else:
                chunk = max(1, min(int(chunk * CHUNK_S / max(took, 1e-4)), chunk * 4))

    def _seed(self, chunk: int, worker: Model) -> int:
        return (self.seed * 1_000_003 + chunk * 10_007 + self.workers.index(worker)) % 2**31

    def lay(self) -> Lay:
        """The best lay so far.

        Raises
        ------
        LayError
            If none has been found.
        """
        if not math.isfinite(self.length_mm):
            raise LayError("no lay was found: the places the pattern allows leave no room across the cloth")
        return on_true_lines(self.asked, lay_of(self.model, _without_idle_joins(self.model, self.best)))


@dataclass
class _Budget:
    """What is left to spend, in seconds or in steps."""

    began: float
    seconds: float
    steps: int | None
    spent: int = 0

    @property
    def is_long(self) -> bool:
        """Tell whether several rounds each have time to cool."""
        return self.steps is not None or self.seconds >= SHORT_S

    def used(self) -> float:
        by_clock = (time.monotonic() - self.began) / self.seconds if self.seconds > 0 else 1.0
        if self.steps is None:
            return min(by_clock, 1.0)
        return 1.0 if by_clock >= 1.0 else min(self.spent / self.steps, 1.0) if self.steps else 1.0


def _heats(items: int, *, fresh: bool) -> tuple[float, float]:
    """First and last heat of a round as parts of the length; measured, large jobs want less."""
    if items > 40:
        return (0.01, 0.0001) if fresh else (0.004, 0.0001)
    return (0.03, 0.0002) if fresh else (0.008, 0.0001)


def _first_state(model: Model, divisions: list[Any]) -> State:
    """The best of a few plain orders, by height, width and area, each with the given divisions of the strips."""
    states = []
    for key in (model.heights, model.widths, model.areas):
        for lens in divisions:
            state = model.blank_state(np.argsort(-key, kind="stable"))
            state.lens = lens.copy()
            model.measure(state)
            states.append(state)
    return min(states, key=lambda s: s.length_mm)


def _without_idle_joins(model: Model, best: State) -> State:
    """Take out every join that saves no cloth: two parts become one where the lay is then no longer.

    In a large job only the first are tried, for each try lays it anew.
    """
    s, tries = 0, 0
    while s < len(model.strips) and tries < MOST_MERGED:
        merged = model.merged(best, s)
        tries += len(merged)
        shorter = next((x for x in merged if _lies_within(model, x, best.length_mm)), None)
        if shorter is None:
            s += 1
        else:
            best = shorter
    return best


def _lies_within(model: Model, state: State, length_mm: float) -> bool:
    model.measure(state)
    return state.length_mm <= length_mm + SAME_LENGTH_MM
