"""Matched pieces in every arrangement across the cloth, and the strips that must find room round them.

Pieces matched on one anchor stand whole repeats from one another, so few of them have few arrangements
across. A cloth is too short where it is in each of them (`squab.lay._segments`). Where pieces and strips lie along
the cloth is left out.

Everything is in whole numbers. The edges of a lay, each piece grown by the gap, are rounded down to a grid: what was
apart stays apart, and no size loses a whole step. What is not matched counts as parts of one length
that may lie anywhere.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from dataclasses import replace
from typing import Any

import numpy as np

from squab.lay._demand import (
    ROUND_UP,
    STEPS_MM,
    DemandOf,
    alike,
    down,
    fewest_parts,
    is_rectangle,
    most_parts,
    on_grid,
    turned,
)
from squab.lay._segments import Arrangement, Box, Kind, Proof, TooMany
from squab.lay.records import LayPiece, LayProblem, LayStrip

MOST_PIECES, MOST_MATCHED, MOST_KINDS = 16, 10, 6
"""Of more pieces, more matched ones, or more kinds of other things, nothing is looked at."""
MOST_ARRANGEMENTS, MOST_LOOKED_AT = 400, 20_000
"""Of more arrangements than this, or more pieces placed to find them, nothing is shown."""
SMALLEST = 3
"""Steps that each size must have."""
MOST_GAIN, LEAST_GAIN = 0.02, 0.001
"""Cloths longer by such a part of the best bound are tried, at the most and at the least."""
FIRST_PART = 0.25
"""The step from one length to the next, as a part of what is between the bound and the lay."""
SHARE = 0.8
"""The part of the time left that one length may take."""
THREADS = 2
"""So many constraint solvers are at work side by side, beside the programmes."""
LONGER = 1.5
"""Cloths longer than what is shown already by more than this are not looked at."""


def few_matched(problem: LayProblem) -> bool:
    """Whether a job has strips, and rectangles some of which are matched across, and few of all."""
    if not problem.strips or len(problem.pieces) > MOST_PIECES:
        return False
    if any(t % 90 for s in problem.strips for t in s.turns_deg):
        return False
    if not all(is_rectangle(p.outline) and not any(t % 90 for t in p.turns_deg) for p, _ in alike(problem.pieces)):
        return False
    setting = Setting(problem)
    return 0 < sum(n for _, n, _ in setting.matched) <= MOST_MATCHED and setting.is_small


def arranged_bound(problem: LayProblem, shown_mm: float, until: float, laid_mm: float | None = None) -> float:
    """The greatest length found for which the strips find no room in any arrangement of the matched pieces.

    `shown_mm` is a length that cannot be undercut; it is handed back where nothing more is shown. `laid_mm` is one
    that is known to do. Works `until` (of `time.perf_counter`), by steps of a part of what is between them, so that
    something is shown where there is no time for all; then by halving.
    """
    if shown_mm <= 0 or not few_matched(problem):
        return shown_mm
    setting, best, most = Setting(problem), shown_mm, math.inf if laid_mm is None else laid_mm
    step, tried = min((most - best) * FIRST_PART, best * MOST_GAIN), best
    while most - best > LEAST_GAIN * best and (now := time.perf_counter()) < until:
        room = min(max(best, tried + step), (best + most) / 2)
        if room <= LONGER * shown_mm and setting.too_short(room, now + SHARE * (until - now)):
            best, tried = setting.next_mm(room), room
        else:
            most = room
    return best


class Setting:
    """One problem on its grid."""

    def __init__(self, problem: LayProblem) -> None:
        self.problem, self.gap = problem, problem.gap_mm
        self.across = DemandOf(problem, "across")
        self.matched, self.period, self.anchor = self._on_one_anchor()
        self.step = self._grid()
        self.width = down((problem.usable_width_mm + self.gap) / self.step)
        held = {id(p) for p, _, _ in self.matched}
        self.kinds = _merged(
            [self._piece(p, n) for p, n in self.across.pieces if id(p) not in held]
            + [self._strip(s) for s in problem.strips]
        )
        self.hard: list[Arrangement] = []
        self.shown: dict[Arrangement, int] = {}
        """The longest cloth that each has been shown not to do on, and so on no shorter one."""

    @property
    def is_small(self) -> bool:
        """Whether there are few enough kinds, and each large enough for the grid."""
        sizes = [x for p, n, _ in self.matched for x in self._size(p, 0)] + [
            x for k in self.kinds for x in (k.thick, k.least)
        ]
        return len(self.kinds) <= MOST_KINDS and min(sizes) >= SMALLEST

    def too_short(self, room_mm: float, until: float) -> bool:
        """Tell whether it is shown in time that no lay is as short as `room_mm`."""
        high, open_ = self._steps(room_mm), dict[Future[bool], Proof]()
        with ThreadPoolExecutor(THREADS) as pool:
            try:
                arrangements = self.arrangements(high)
                arrangements.sort(key=lambda a: a not in self.hard)  # what held out before does so again
                for arrangement in arrangements:
                    if self.shown.get(arrangement, 0) < high:
                        proof = Proof(self.kinds, arrangement, (self.width, high), until)
                        if proof.done:
                            self.shown[arrangement] = high
                        else:
                            open_[pool.submit(proof.finish)] = proof
                    if not self._all_shown(open_, [f for f in open_ if f.done()]):
                        return False
                return self._all_shown(open_, as_completed(list(open_)))
            except TooMany:
                return False
            finally:
                for proof in open_.values():
                    proof.give_up()

    def _all_shown(self, open_: dict[Future[bool], Proof], ended: Iterable[Future[bool]]) -> bool:
        """Take note of what has ended; whether each of these showed what it was to show."""
        for future in ended:
            proof = open_.pop(future)
            if not future.result():
                self.hard = [proof.arrangement, *(a for a in self.hard if a != proof.arrangement)]
                return False
            self.shown[proof.arrangement] = proof.cloth[1]
        return True

    def _steps(self, room_mm: float) -> int:
        return down((room_mm + self.gap) / self.step)

    def next_mm(self, room_mm: float) -> float:
        """What the shortest lay is at the least, where `room_mm` is too short: the next step."""
        return max(room_mm, (self._steps(room_mm) + 1 - 2 * ROUND_UP) * self.step - self.gap)

    def _on_one_anchor(self) -> tuple[list[tuple[LayPiece, int, float]], float, str]:
        """Pieces that hang on the anchor with the most of them, how many of each, and the left edge's offset."""
        classes: dict[tuple[str, float], list[tuple[LayPiece, int, float]]] = {}
        for piece, count in self.across.pieces:
            at = self.across.start_of(piece.phase)
            if at is not None and len({t % 360 for t in piece.turns_deg}) == 1:
                left = float(turned(piece.outline, piece.turns_deg[0])[:, 0].min())
                classes.setdefault((at[2], at[1]), []).append((piece, count, at[0] + left))
        if not classes:
            return [], 0.0, ""
        (anchor, period), held = max(classes.items(), key=lambda c: sum(n for _, n, _ in c[1]))
        held.sort(key=lambda h: -float(np.prod(np.ptp(h[0].outline, axis=0))))
        return held, period, anchor

    def _grid(self) -> float:
        sizes = {self.problem.usable_width_mm + self.gap, self.period}
        for piece, _ in self.across.pieces:
            sizes |= {float(x) + self.gap for x in np.ptp(piece.outline, axis=0)}
        sizes |= (
            {at for _, _, at in self.matched}
            if not self.anchor
            else {at - self.matched[0][2] for _, _, at in self.matched}
        )
        sizes |= {s.z1_mm - s.z0_mm + self.gap for s in self.problem.strips}
        return next((step for step in STEPS_MM if all(on_grid(x, step) for x in sizes)), min(STEPS_MM))

    def _size(self, piece: LayPiece, turn: int) -> tuple[int, int]:
        wide, high = (float(x) + self.gap for x in np.ptp(turned(piece.outline, turn), axis=0))
        return down(wide / self.step), down(high / self.step)

    def _piece(self, piece: LayPiece, count: int) -> Kind:
        turns = {t % 180 for t in piece.turns_deg}
        long, thick = self._size(piece, 0)
        return Kind(thick, long, long, 0, long, (count, count), 0 in turns, 90 in turns)

    def _strip(self, strip: LayStrip) -> Kind:
        length, extra = strip.s1_mm - strip.s0_mm, 2 * strip.end_mm + self.gap
        fewest, most = fewest_parts(strip, self.problem.usable_width_mm), most_parts(strip)
        least = min(strip.least_part_mm, length)
        turns = {t % 180 for t in strip.turns_deg}
        return Kind(
            down((strip.z1_mm - strip.z0_mm + self.gap) / self.step),
            down((least + extra) / self.step),
            down((length - (fewest - 1) * least + extra) / self.step) + 1,
            # each part may lose less than a step
            math.floor(length / self.step) + 1,
            math.floor(extra / self.step) - 1,
            (fewest, most),
            0 in turns,
            90 in turns,
        )

    # -- arrangements

    def arrangements(self, high: int) -> list[Arrangement]:
        """All of them on a cloth so long, but for mirror images where these are as good.

        Raises
        ------
        TooMany
            If there are.
        """
        found: dict[object, Arrangement] = {}
        self.looked_at = 0
        for boxes in self._placed([], [(p, at) for p, n, at in self.matched for _ in range(n)], high):
            for a in self._moved(boxes):
                key: Any = (a.left, tuple(sorted((b.at, b.wide, b.high) for b in a.boxes)))
                if self.anchor:
                    wide = a.wide
                    key = min(key, (a.left, tuple(sorted((wide - b.at - b.wide, b.wide, b.high) for b in a.boxes))))
                found.setdefault(key, a)
            if len(found) > MOST_ARRANGEMENTS:
                raise TooMany
        return list(found.values())

    def _placed(self, boxes: list[Box], left: Sequence[tuple[LayPiece, float]], high: int) -> Iterator[list[Box]]:
        if not left:
            yield boxes
            return
        (piece, at), rest = left[0], left[1:]
        wide, tall = self._size(piece, piece.turns_deg[0])
        if not boxes:
            yield from self._placed([Box(0, wide, tall)], rest, high)
            return
        first, last = min(b.at for b in boxes), max(b.at + b.wide for b in boxes)
        away, period = (at - self.matched[0][2]) / self.step, self.period / self.step
        exact = abs(away - round(away)) < ROUND_UP and abs(period - round(period)) < ROUND_UP
        low = math.ceil((last - self.width - wide - 2 - away) / period)
        for m in range(low, math.floor((first + self.width + 2 - away) / period) + 1):
            x = away + m * period
            # Beside the first piece's place rounded down, another's rounded down is one of two neighbours.
            self.looked_at += 1
            if self.looked_at > MOST_LOOKED_AT:
                raise TooMany
            box = Box(round(x), wide, tall) if exact else Box(math.floor(x) + 1, max(1, wide - 1), tall)
            if max(last, box.at + box.wide) - min(first, box.at) > self.width:
                continue
            if (
                boxes[-1].wide == box.wide
                and boxes[-1].high == box.high
                and self._alike(boxes)
                and box.at < boxes[-1].at
            ):
                continue
            if self._load([*boxes, box]) <= high:
                yield from self._placed([*boxes, box], rest, high)

    def _alike(self, boxes: list[Box]) -> bool:
        """Whether the next piece to be placed is like the last one."""
        number, k = 0, len(boxes)
        for _, n, _ in self.matched:
            if number < k < number + n:
                return True
            number += n
        return False

    @staticmethod
    def _load(boxes: list[Box]) -> int:
        return max(sum(b.high for b in boxes if b.at <= x.at < b.at + b.wide) for x in boxes)

    def _moved(self, boxes: list[Box]) -> Iterator[Arrangement]:
        first = min(b.at for b in boxes)
        moved = tuple(Box(b.at - first, b.wide, b.high) for b in boxes)
        margin = self.width - max(b.at + b.wide for b in moved)
        if self.anchor:
            yield Arrangement(moved, (0, margin))
            return
        at, period = self.matched[0][2] / self.step, self.period / self.step
        for m in range(math.floor((-at - self.width) / period), math.ceil((2 * self.width - at) / period) + 1):
            left = down(at + m * period) + first
            if 0 <= left <= margin:
                yield Arrangement(moved, (left, left))


def _merged(kinds: list[Kind]) -> list[Kind]:
    """Kinds that differ in their length or number only, as one."""
    found: dict[object, Kind] = {}
    for k in kinds:
        key = (k.thick, k.least, k.each, k.lies, k.stands, k.least == k.most)
        same = found.get(key)
        if same is not None:
            k = replace(
                k,
                most=max(k.most, same.most),
                total=k.total + same.total,
                parts=(k.parts[0] + same.parts[0], k.parts[1] + same.parts[1]),
            )
        found[key] = k
    return list(found.values())
