"""Search for a short lay: a sound one at once, better ones as time goes.

The method is annealing over the order in which pieces are laid, their turns, the division of
strips and the free anchors; each state is laid out by `squab.lay._kernel`, every piece as low as
it will go on the places its pattern allows. What is returned keeps every phase within 1e-6 mm.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from squab.errors import LayError
from squab.lay._model import MANY_ITEMS, Model, State, build_model, lay_of
from squab.lay.records import Lay, LayProblem

SAME_LENGTH_MM = 1e-6
"""Lays that differ by less are equally long."""
FIRST_CHUNK = 200
CHUNK_S = 0.08
ROUND_SHARES = (0.2, 0.15, 0.2, 0.15, 0.15, 0.15)
FRESH_ROUNDS = (0, 2)
"""Rounds that begin hot: the first from the best plain order, the other from strips in as few parts as will do.

The others go on from the best so far, less hot.
"""


@dataclass(frozen=True, slots=True)
class Progress:
    """The best lay so far, after so many seconds."""

    seconds: float
    length_mm: float


def search(
    problem: LayProblem,
    *,
    seconds: float,
    seed: int = 0,
    steps: int | None = None,
    report: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Lay:
    """Find a short lay of a problem.

    Parameters
    ----------
    seconds
        Time to search. With `steps` it is a limit only, and the same seed and steps give the
        same lay as long as it is not reached.
    seed
        Seed of every random choice.
    steps
        Moves to try in all; None searches by the clock.
    report
        Called with each better lay's length.
    stop
        Polled about ten times a second; the best lay so far is returned once it says so.

    Raises
    ------
    LayError
        If some piece has no place across the cloth at all.
    """
    began = time.monotonic()
    model = build_model(problem)
    if model.warm():
        began = time.monotonic()
    plain = _first_state(model, [model.first_lens])
    best = plain.copy() if len(model.keys) > MANY_ITEMS else _first_state(model, model.divisions())
    state = best.copy()
    told = math.inf

    def tell() -> None:
        nonlocal told
        if best.length_mm < told - 1e-6 and report is not None:
            report(Progress(time.monotonic() - began, best.length_mm))
        told = min(told, best.length_mm)

    if best.length_mm < math.inf:
        tell()
    budget = _Budget(began, seconds, steps)
    for number, share in enumerate(ROUND_SHARES):
        if number:
            state = plain.copy() if number in FRESH_ROUNDS else best.copy()
        if not _round(model, state, best, budget, share, number, seed, tell, stop):
            break
    if not math.isfinite(best.length_mm):
        raise LayError("no lay was found: the places the pattern allows leave no room across the cloth")
    return lay_of(model, _without_idle_joins(model, best))


@dataclass
class _Budget:
    """What is left to spend, in seconds or in steps."""

    began: float
    seconds: float
    steps: int | None
    spent: int = 0

    def used(self) -> float:
        by_clock = (time.monotonic() - self.began) / self.seconds if self.seconds > 0 else 1.0
        if self.steps is None:
            return min(by_clock, 1.0)
        return 1.0 if by_clock >= 1.0 else min(self.spent / self.steps, 1.0) if self.steps else 1.0


def _round(
    model: Model,
    state: State,
    best: State,
    budget: _Budget,
    share: float,
    number: int,
    seed: int,
    tell: Callable[[], None],
    stop: Callable[[], bool] | None,
) -> bool:
    """Anneal once over `share` of the budget; False when the search is to end."""
    from_ = budget.used()
    to = min(1.0, from_ + share) if number < len(ROUND_SHARES) - 1 else 1.0
    hot, cold = _heats(len(model.keys), fresh=number in FRESH_ROUNDS)
    chunk, count = FIRST_CHUNK, 0
    while True:
        now = budget.used()
        if now >= to or (stop is not None and stop()):
            return now < 1.0 and not (stop is not None and stop())
        scale = best.length_mm if math.isfinite(best.length_mm) else model.size_mm
        done = (now - from_) / max(to - from_, 1e-9)
        heat = scale * hot * (cold / hot) ** done
        next_heat = max(heat * 0.8, scale * cold)
        began = time.monotonic()
        model.anneal(state, best, chunk, (seed * 1_000_003 + number * 10_007 + count) % 2**31, heat, next_heat)
        took = time.monotonic() - began
        tell()
        budget.spent += chunk
        count += 1
        if budget.steps is not None:
            chunk = max(1, min(max(FIRST_CHUNK, budget.steps // 200), budget.steps - budget.spent))
        else:
            chunk = max(1, min(int(chunk * CHUNK_S / max(took, 1e-4)), chunk * 4))


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
    """Take out every join that saves no cloth: two parts become one where the lay is then no longer."""
    s = 0
    while s < len(model.strips):
        shorter = next((x for x in model.merged(best, s) if _lies_within(model, x, best.length_mm)), None)
        if shorter is None:
            s += 1
        else:
            best = shorter
    return best


def _lies_within(model: Model, state: State, length_mm: float) -> bool:
    model.measure(state)
    return state.length_mm <= length_mm + SAME_LENGTH_MM
