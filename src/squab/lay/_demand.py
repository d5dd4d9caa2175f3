"""What a lay must cover, seen along one direction: the ground that the bounds stand on.

Cut the cloth by a line (a *bar*): it crosses pieces that fit side by side on it, with the gap
between them and each on its place of the repeat. Every piece is crossed along its whole extent
the other way. This module says, without any search, what a bar may hold (`Item`) and how much
of it is needed in all (`Need`).

Rounding is always to the side that makes a lay easier: what a bar holds is rounded down to the
grid, the cloth up, and a place on the repeat that is not on the grid may be taken at either
neighbour. The line crossed is called the bar's *run*, the extent the other way its *reach*.

Gaps. Two rectangles square with the cloth keep their gap squared, so each may be thought larger
by the gap both ways, in a cloth larger by it. Other outlines keep the shortest distance: two that
are crossed by one bar are a full gap apart on it, and a rectangle widened by half a gap at each
end of its reach is at least cos 30 degrees of a gap from any of them.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import Literal

import numpy as np
import shapely

from squab.lay.records import LayPhase, LayPiece, LayProblem, LayStrip
from squab.plane import Placement, Points

Direction = Literal["across", "along"]

NOISE_MM = 1e-6
"""Sizes nearer than this to a step of the grid are on it: the noise of floats."""
JOIN_MM = 2e-3
"""Joins may be off their place by so much: what a verifier takes for touching."""
SLICES = 64
"""Slices into which the outlines that are no rectangles are cut, all kinds together."""
FEWEST_SLICES, MOST_SLICES = 8, 200
"""Slices of one outline, at the least and at the most."""
ROUND_UP = 1e-5
"""So much less than a whole step is a whole one."""
LONG = 1.1
"""A strip's longest part is counted apart where it is longer than the least part by this."""
WINDOWS_STEP_MM = 0.1
"""To this is worked out how short a strip's longest parts can be."""
TOLD_APART = 60
"""Of more strips than this none is looked at by itself: measured, with so many items no programme is closed in time."""
MOST_WINDOWS = 12
"""Of more windows than this there are joins nearly anywhere."""
SHY_MM = 1e-3
"""Taken off both ends of a slice's chord, against the noise of cutting it."""
THINNEST_MM = 2.0
"""What takes less room on a bar than this is left out: it could not be told from nothing on the grid."""
STEPS_MM = (1.0, 25.4 / 16, 0.5, 25.4 / 32)
"""Grids tried, in this order: the first on which everything lies is taken, else the first."""


@dataclass(frozen=True)
class Item:
    """Something a bar may hold.

    `run_mm` is the room it takes on the bar, its gap counted in. `start` is None where it may
    stand anywhere, else its place within `period_mm`, from the anchor of the class `anchor`. A
    stretch (`stretches`) may be longer than `run_mm` and counts by its length, others by one.
    """

    run_mm: float
    start: float | None = None
    period_mm: float = 0.0
    anchor: str = ""
    stretches: bool = False
    before_mm: float = 0.0
    """How far its piece reaches out before it, elsewhere than on the bar: so far from the edge it must stay."""
    after_mm: float = 0.0
    ends_mm: float = 0.0
    """Of a stretch that is a part of a strip: how much of its run is no length of the strip."""


@dataclass(frozen=True)
class Reach:
    """How far a rectangle reaches beside the bar, its gap counted in, and where it stands on the repeat there.

    `start` is from the anchor of the class `anchor`, None where it may stand anywhere. Of a part that stands each mm
    counts (`each_mm`), and `size_mm` is the least that any such part has. It all counts `times` over.
    """

    size_mm: Fraction
    start: float | None = None
    anchor: str = ""
    each_mm: bool = False
    times: Fraction = Fraction(1)

    @property
    def as_laid(self) -> Fraction:
        """What it counts for on the cloth: mm, or so many for each mm of a part that stands."""
        return self.times * (1 if self.each_mm else self.size_mm)

    @property
    def once(self) -> Reach:
        """The same, counted once."""
        return replace(self, times=Fraction(1))


Rise = Callable[["Reach | Fraction"], Fraction]
"""New sizes for what reaches: of a fraction, which is so much loose cloth, as of a reach."""
AskedWay = tuple[tuple[int, Reach | Fraction], ...]
Ways = tuple[tuple[tuple[int, Fraction], ...], ...]


@dataclass(frozen=True)
class Need:
    """`amount` of something, each unit of it met by one of its `ways` of lying.

    A way lists items and how much of each a unit brings: a piece crossed along its reach of
    510 mm brings 510 of its item. `~i` stands for the parts of the stretch i, by their number.
    """

    amount: Fraction
    ways: Ways
    parts: bool = False
    """Whether it is a length to be cut in parts, rather than a number of pieces."""


@dataclass(frozen=True)
class Asked:
    """A need before its reaches are measured; those of loose cloth are fractions already."""

    amount: Fraction
    ways: tuple[AskedWay, ...]
    parts: bool = False

    def need(self, rise: Rise) -> Need:
        """The need with each reach as `rise` has it; ways that then are one are told once."""
        ways = dict.fromkeys(tuple((i, rise(m)) for i, m in way) for way in self.ways)
        return Need(self.amount, tuple(ways), self.parts)


Limits = Mapping[int, Sequence[tuple[Fraction, Reach]]]
"""How many there may be of a stretch, and how far each of them reaches."""


def as_it_is(measure: Reach | Fraction) -> Fraction:
    """A reach as it is on the cloth."""
    return measure.as_laid if isinstance(measure, Reach) else measure


@dataclass(frozen=True)
class Measured:
    """All of a demand in whole numbers, each of them so many `unit`-ths."""

    unit: int
    needs: tuple[tuple[tuple[tuple[int, int], ...], ...], ...]
    """For each need and way the items it brings, and how much of each in all (a stretch by step)."""
    limits: tuple[tuple[int, int], ...]


@dataclass(frozen=True)
class Demand:
    """All that must be covered by bars in one direction.

    `spare_mm` is what is added to the cloth the other way (one gap, where pieces were widened).
    """

    items: tuple[Item, ...]
    needs: tuple[Need, ...]
    room_mm: float
    spare_mm: float
    step_mm: float
    has_stretches: bool
    most_parts: Mapping[int, Fraction] = field(default_factory=dict)
    """For stretches that are parts of strips: how many there may be, times the reach of each."""
    exact_parts: Mapping[int, Fraction] = field(default_factory=dict)
    """For stretches that are each strip's longest part: how many there are, times the reach of each."""

    @cached_property
    def measured(self) -> Measured:
        """The needs and limits in whole numbers: exact, and quick to price again and again."""
        each = [Fraction(self.step_mm) if i.stretches else Fraction(1) for i in self.items]
        each += [Fraction(1)] * len(self.items)  # things ~i, counted from the end: the parts of stretches
        needs = [[[(i, n.amount * m / each[i]) for i, m in way] for way in n.ways] for n in self.needs]
        limits = [*self.most_parts.items(), *self.exact_parts.items()]
        found = [m.denominator for ways in needs for way in ways for _, m in way]
        unit = math.lcm(*found, *(m.denominator for _, m in limits))
        return Measured(
            unit,
            tuple(tuple(tuple((i, int(m * unit)) for i, m in way) for way in ways) for ways in needs),
            tuple((i, int(m * unit)) for i, m in limits),
        )


def is_rectangle(xy: Points) -> bool:
    """Tell whether an outline is a rectangle square with its frame."""
    box = np.ptp(xy[:, 0]) * np.ptp(xy[:, 1])
    return bool(box > 0 and abs(float(shapely.Polygon(xy).area) - box) <= 1e-9 * box)


def turned(xy: Points, turn_deg: float) -> Points:
    """Points turned about the frame's origin."""
    return Placement(turn_deg, 0.0, 0.0).points(xy)


def alike(pieces: Iterable[LayPiece]) -> list[tuple[LayPiece, int]]:
    """Pieces of one outline, turns and phase, counted together."""
    first: dict[object, LayPiece] = {}
    count: Counter[object] = Counter()
    for p in pieces:
        key = (p.outline.round(6).tobytes(), p.turns_deg, p.phase)
        first.setdefault(key, p)
        count[key] += 1
    return [(p, count[key]) for key, p in first.items()]


class DemandOf:
    """Builds the demand of a problem in one direction.

    With `in_parts` the parts of strips are counted; with `within_mm` all must lie within so much the other way.
    """

    def __init__(
        self,
        problem: LayProblem,
        direction: Direction,
        slices: int = SLICES,
        *,
        in_parts: bool = False,
        within_mm: float = math.inf,
    ) -> None:
        self.problem = problem
        self.in_parts = in_parts
        self.within_mm = within_mm
        self.along = direction == "along"
        self.gap = problem.gap_mm
        self.items: dict[Item, int] = {}
        self.step: float | None = None
        self.pieces = alike(problem.pieces)
        self.slices = max(FEWEST_SLICES, min(MOST_SLICES, slices // max(1, self.sliced)))
        self._gaps()

    @property
    def sliced(self) -> int:
        """How many outlines are cut in slices, each way they may lie."""
        return sum(not is_rectangle(turned(p.outline, t)) for p, _ in self.pieces for t in p.turns_deg)

    def _gaps(self) -> None:
        """How much each item is widened on the bar (`on_bar`) and rectangles across it (`off_bar`)."""
        square = [is_rectangle(turned(p.outline, t)) for p, _ in self.pieces for t in p.turns_deg]
        square += [t % 90 == 0 for s in self.problem.strips for t in s.turns_deg]
        mixed = any(square) and not all(square)
        self.on_bar = self.gap * math.cos(math.pi / 6) if mixed else self.gap
        self.off_bar = self.gap if any(square) else 0.0

    def demand(self, room_mm: float, rise: Rise = as_it_is) -> Demand:
        """The demand on a cloth that is `room_mm` wide on the bar, with new sizes for what reaches beside it."""
        asked, most, exact = self.asked()
        merged: defaultdict[tuple[Ways, bool], Fraction] = defaultdict(Fraction)
        for need in (a.need(rise) for a in asked):
            merged[need.ways, need.parts] += need.amount
        items, limits = tuple(self.items), []
        for each in (most, exact):
            limits.append({i: sum((n * rise(r) for n, r in found), Fraction(0)) for i, found in each.items()})
        assert self.step is not None
        return Demand(
            items,
            tuple(Need(amount, ways, parts) for (ways, parts), amount in merged.items()),
            room_mm + self.on_bar,
            self.off_bar,
            self.step,
            any(i.stretches for i in items),
            *limits,
        )

    def asked(self) -> tuple[list[Asked], Limits, Limits]:
        """What is needed, the most parts there may be of a stretch, and how many there are of it."""
        needs = self._needs()
        if self.step is None:
            self.step = grid_step(self.items)
            needs = self._needs()
        return needs, *self._limits()

    def _limits(self) -> tuple[Limits, Limits]:
        """Limits on the number of parts, where all strips of an item lie one way; and the longest parts there are."""
        limits: defaultdict[int, list[tuple[Fraction, Reach]]] = defaultdict(list)
        exact: defaultdict[int, list[tuple[Fraction, Reach]]] = defaultdict(list)
        anyone: set[int] = set()  # items of any part, not of a strip's longest
        loose = self.items.get(Item(0.0, stretches=True), -1)
        unlimited, items = {loose}, list(self.items)
        for strip in self.problem.strips:
            ways, longest = self._strip_need(strip).ways, self._longest_parts(strip)
            for i in longest:
                exact[i].append((Fraction(1), self._lying_reach(strip)))
            ways = tuple(way for way in ways if way[0][0] not in longest)
            lying = [i for way in ways for i, _ in way if i >= 0 and i != loose and items[i].stretches]
            anyone |= set(lying)
            if len(ways) == 1 and len(ways[0]) == 1 and lying:
                limits[lying[0]].append((Fraction(most_parts(strip) - len(longest)), self._lying_reach(strip)))
            else:
                unlimited |= set(lying)
        # how many there are of what is one strip's longest part and any part of another is not known
        unlimited |= anyone & set(exact)
        return (
            {i: limit for i, limit in limits.items() if i not in unlimited},
            {i: limit for i, limit in exact.items() if i not in anyone},
        )

    def _needs(self) -> list[Asked]:
        self.items = {}
        needs = [self._piece_need(p, n) for p, n in self.pieces]
        needs += [self._strip_need(s) for s in self.problem.strips]
        return needs + [n for s in self.problem.strips for n in self._parts_needed(s)]

    def _item(self, item: Item) -> int:
        return self.items.setdefault(item, len(self.items))

    # -- pieces

    def _piece_need(self, piece: LayPiece, count: int) -> Asked:
        ways = {self._way(turned(piece.outline, t), piece.phase) for t in piece.turns_deg}
        return Asked(Fraction(count), tuple(sorted(ways, key=_order)))

    def _way(self, uv: Points, phase: LayPhase | None) -> AskedWay:
        xy = uv[:, ::-1] if self.along else uv
        if is_rectangle(xy):
            x0, y0 = (float(v) for v in xy.min(axis=0))
            x1, y1 = (float(v) for v in xy.max(axis=0))
            return self._whole(x0, x1, self._reach(y0, y1, phase), phase)
        chords = [(x0, x1, Fraction(height)) for height, found in slices(xy, self.slices) for x0, x1 in found]
        covered = sum((Fraction(x1 - x0) * height for x0, x1, height in chords), Fraction(0))
        return self._brought(chords, phase, Fraction(float(shapely.Polygon(xy).area) * (1 - 1e-9)) - covered)

    def _brought(
        self, chords: Sequence[tuple[float, float, Fraction]], phase: LayPhase | None, left: Fraction = Fraction(0)
    ) -> tuple[tuple[int, Fraction], ...]:
        """How much of which items chords (from, to, reach in mm) bring, and of loose cloth what is `left`.

        What a chord has over whole steps of the grid is loose cloth too: it counts by its area.
        """
        brings: defaultdict[int, Fraction] = defaultdict(Fraction)
        first, last = min((c[0] for c in chords), default=0.0), max((c[1] for c in chords), default=0.0)
        for x0, x1, reach in chords:
            run = x1 - x0 + self.on_bar
            held = run if self.step is None else math.floor((run + NOISE_MM) / self.step) * self.step
            if run >= THINNEST_MM:
                out = (math.floor((x0 - first) * 100) / 100, math.floor((last - x1) * 100) / 100)
                brings[self._item(replace(self._placed_item(x0, phase, held), before_mm=out[0], after_mm=out[1]))] += (
                    reach
                )
                left += max(Fraction(0), Fraction(run - held)) * reach
            else:
                left += Fraction(x1 - x0) * reach
        if left > NOISE_MM:
            brings[self._item(Item(0.0, stretches=True))] += left
        return tuple(sorted(brings.items()))

    def _whole(self, x0: float, x1: float, reach: Reach, phase: LayPhase | None) -> AskedWay:
        """What one chord brings that has the same reach all along."""
        brought = self._brought([(x0, x1, reach.as_laid)], phase)
        items = list(self.items)
        return tuple((i, mm if items[i].stretches else reach) for i, mm in brought)

    def _reach(self, low: float, high: float, phase: LayPhase | None) -> Reach:
        """What lies from `low` to `high` beside the bar."""
        size, at = Fraction(high - low) + Fraction(self.off_bar), self.start_of(phase, along=not self.along)
        if at is None:
            return Reach(size)
        offset, period, anchor = at
        return Reach(size, round((offset + low) % period, 9) % period, anchor)

    def _placed_item(self, x0: float, phase: LayPhase | None, run: float) -> Item:
        at = self.start_of(phase)
        if at is None:
            return Item(run)
        offset, period, anchor = at
        return Item(run, round(math.fmod(offset + x0, period) % period, 9), period, anchor)

    def start_of(self, phase: LayPhase | None, *, along: bool | None = None) -> tuple[float, float, str] | None:
        """Offset, period and class of anchor of a phase on the bar (or that way); None where it is free."""
        if phase is None:
            return None
        along = self.along if along is None else along
        lattice, i = self.problem.lattice, int(along)
        off, sign = (phase.off_q, phase.sign_q) if along else (phase.off_p, phase.sign_p)
        period = row_step(lattice.across_mm, lattice.along_mm, lattice.drop_mm) if along else lattice.across_mm
        if off is None or period is None:
            return None
        pinned, started = self.problem.anchors.get(phase.group, (None, None))[i], self.problem.pattern_at[i]
        if pinned is None:
            return off, period, f"{phase.group} {sign:+d}"
        if started is None:
            return off + sign * pinned, period, "start"
        return off + sign * pinned + started, period, ""

    # -- strips

    def _strip_need(self, strip: LayStrip) -> Asked:
        """Length of parts with the fewest joins; lying on the bar a part stretches, across it it stands."""
        length = strip.s1_mm - strip.s0_mm
        ways: list[AskedWay] = []
        often = self._parts_a_mm(strip)
        for turn in strip.turns_deg:
            if turn % 90:
                return self._bias_need(strip)
            if (turn % 180 == 0) != self.along:
                lying, reach = self._lying(strip), self._lying_reach(strip)
                more = replace(reach, times=often[0])
                ways.append(((lying, reach), *([(~lying, more)] if often[0] else [])))
            else:
                ways.append(self._standing(strip, turn, 1 + often[1] * self._standing_ends(strip)))
        ways += [((i, self._lying_reach(strip)),) for i in self._longest_parts(strip)]
        if self._lies(strip):
            return Asked(Fraction(length), tuple(sorted(set(ways), key=_order)), True)
        extra = 2 * Fraction(strip.end_mm) + min(Fraction(self.on_bar), Fraction(self.off_bar))
        return Asked(
            Fraction(length) + fewest_parts(strip, self.problem.usable_width_mm) * extra,
            tuple(sorted(set(ways), key=_order)),
            True,
        )

    def _lying_reach(self, strip: LayStrip) -> Reach:
        """How far the parts of a strip reach that lie on the bar; from anywhere, where it hangs on how they lie.

        All parts must have one reach, for what is known of them is their number, whichever way each lies.
        """
        found = set()
        for turn in strip.turns_deg:
            if (turn % 180 == 0) != self.along:
                edge = turned(np.array([(0.0, strip.z0_mm), (0.0, strip.z1_mm)]), turn)[:, int(not self.along)]
                found.add(self._reach(float(edge.min()), float(edge.max()), strip.phase))
        first, *others = found
        return replace(first, start=None, anchor="") if others else first

    # A strip that may lie on the bar (`_lies`) is counted by its bare length, and each of its parts by its own ends.

    def _lying(self, strip: LayStrip) -> int:
        """The item of any part that lies on the bar."""
        run = min(strip.least_part_mm, strip.s1_mm - strip.s0_mm) + 2 * strip.end_mm + self.on_bar
        return self._item(Item(run, stretches=True, ends_mm=self._ends(strip)))

    def _lies(self, strip: LayStrip) -> bool:
        return self._ends(strip) > 0

    def _ends(self, strip: LayStrip) -> float:
        """How much of the run of a part that lies is no length of its strip; 0 where parts are not counted."""
        turns = strip.turns_deg
        if not self.in_parts or any(t % 90 for t in turns) or all((t % 180 == 0) == self.along for t in turns):
            return 0.0
        return math.floor((2 * strip.end_mm + self.on_bar) * 1e6) / 1e6

    def _standing_ends(self, strip: LayStrip) -> Fraction:
        """By how much the reach of a part that stands is more than its length of the strip."""
        return Fraction(math.floor((2 * strip.end_mm + self.off_bar) * 1e6), 10**6)

    def _parts_a_mm(self, strip: LayStrip) -> tuple[Fraction, Fraction]:
        """The fewest parts for each mm that lies, and for each that stands, of a strip that may do either."""
        turns = {t % 180 for t in strip.turns_deg}
        if not self._lies(strip) or len(turns) == 1 or len(self.problem.strips) > TOLD_APART:
            return Fraction(0), Fraction(0)
        length = strip.s1_mm - strip.s0_mm
        longest = length - (strip.least_parts - 1) * min(strip.least_part_mm, length) + JOIN_MM
        stands = min(longest, self.within_mm - 2 * strip.end_mm + JOIN_MM)
        each = [Fraction(math.floor(1e9 / max(most, 1.0)), 10**9) for most in (longest, stands)]
        return each[0], each[1]

    def _parts_needed(self, strip: LayStrip) -> Iterator[Asked]:
        """The fewest parts, beyond those that are counted by its length or as its longest ones."""
        if not self._lies(strip):
            return
        longest = self._longest_parts(strip)
        standing = [t for t in strip.turns_deg if (t % 180 == 0) == self.along]
        found: set[AskedWay] = {((~self._lying(strip), self._lying_reach(strip)),)}
        found |= {self._standing(strip, t, self._standing_ends(strip)) for t in standing if self._standing_ends(strip)}
        counted = len(longest) + Fraction(strip.s1_mm - strip.s0_mm) * max(self._parts_a_mm(strip))
        more = fewest_parts(strip, self.problem.usable_width_mm) - counted
        if more > 0 and (not standing or self._standing_ends(strip)):
            yield Asked(more, tuple(sorted(found, key=_order)), True)

    def _longest_parts(self, strip: LayStrip) -> list[int]:
        """A strip's longest part, its next longest and so on, where they lie on the bar.

        Of at most k parts, none longer than the bar, the j-th is at least what the j - 1 before it
        must leave, shared among the rest; and more where joins have their windows. As many are
        looked at as there must be parts; each is counted apart from the others where that says
        much more than the least part does.
        """
        most, length = most_parts(strip), strip.s1_mm - strip.s0_mm
        lies = all(t % 90 == 0 and (t % 180 == 0) != self.along for t in strip.turns_deg)
        if not self.in_parts or not lies or len(self.problem.strips) > TOLD_APART:
            return []
        width = self.problem.usable_width_mm
        fewest = 1 if self.along else fewest_parts(strip, width)
        found = []
        for before in range(fewest):
            longest = width - 2 * strip.end_mm + JOIN_MM
            left = (length - before * longest) / (most - before)
            if strip.windows and len(strip.windows) <= MOST_WINDOWS:
                left = max(left, _least_longest(_joined(strip), before, longest))
            if left < LONG * min(strip.least_part_mm, length):
                break
            run = left - 2 * JOIN_MM + 2 * strip.end_mm + self.on_bar
            found.append(self._item(Item(run, stretches=True, ends_mm=self._ends(strip))))
        return found

    def _standing(self, strip: LayStrip, turn: int, times: Fraction) -> AskedWay:
        """What each mm of a part that stands brings, `times` over."""
        edge = turned(np.array([(0.0, strip.z0_mm), (0.0, strip.z1_mm)]), turn)[:, int(self.along)]
        least = Fraction(min(strip.least_part_mm, strip.s1_mm - strip.s0_mm)) + self._standing_ends(strip)
        reach = Reach(least, each_mm=True, times=times)
        return self._whole(float(edge.min()), float(edge.max()), reach, strip.phase)

    def _bias_need(self, strip: LayStrip) -> Asked:
        """A slanting strip: chords right across it, and what is left by its bare area.

        A part of length l and width w at t to the bar is crossed by whole chords of w / sin t,
        over a reach of l sin t - w cos t.
        """
        length, width = strip.s1_mm - strip.s0_mm, strip.z1_mm - strip.z0_mm
        fewest, most = fewest_parts(strip, self.problem.usable_width_mm), most_parts(strip)
        area = (length + 2 * strip.end_mm * fewest) * width
        loose = self._item(Item(0.0, stretches=True))
        ways: set[tuple[tuple[int, Fraction], ...]] = set()
        for turn in strip.turns_deg:
            angle = math.radians(90 - turn if self.along else turn)
            sine, cosine = abs(math.sin(angle)), abs(math.cos(angle))
            run = width / max(sine, 1e-9) - 2 * SHY_MM + self.on_bar
            held = run if self.step is None else math.floor((run + NOISE_MM) / self.step) * self.step
            reach = length * sine + min(n * (2 * strip.end_mm * sine - width * cosine) for n in (fewest, most))
            left = area - reach * (held - self.on_bar)
            if turn % 90 == 0 or min(reach, left, held - THINNEST_MM) <= 0:
                return Asked(Fraction(area * (1 - 1e-9)), (((loose, Fraction(1)),),), True)
            item = self._item(Item(held))
            ways.add(((item, Fraction(reach * (1 - 1e-9))), (loose, Fraction(left * (1 - 1e-9)))))
        return Asked(Fraction(1), tuple(sorted(ways)), True)


def _order(way: AskedWay) -> list[tuple[int, Fraction, str]]:
    """Ways in one order, whatever they are made of."""
    return [(i, as_it_is(m), repr(m)) for i, m in way]


def fewest_parts(strip: LayStrip, width_mm: float) -> int:
    """The fewest parts a strip can be cut in: as asked, and more where every part must lie across.

    Joins are set as far on as the width allows, each in a window.
    """
    longest = width_mm - 2 * strip.end_mm
    if any(t % 180 for t in strip.turns_deg) or longest <= 0:
        return strip.least_parts
    at, parts = strip.s0_mm, 1
    while at + longest < strip.s1_mm - JOIN_MM and parts < strip.most_parts:
        reach = at + longest + JOIN_MM
        joins = [min(b, reach) for a, b in strip.windows or () if a <= reach and b > at + JOIN_MM]
        at = reach if strip.windows is None else max(joins, default=strip.s1_mm)
        parts += 1
    return max(strip.least_parts, parts)


def most_parts(strip: LayStrip) -> int:
    """The most parts a strip can be cut in: joins set as early as can be, each in a window."""
    least = max(strip.least_part_mm, 1.0)
    at, parts = strip.s0_mm, 1
    while parts < strip.most_parts:
        reach = at + least - JOIN_MM
        joins = [max(a, reach) for a, b in strip.windows or () if b >= reach - JOIN_MM]
        at = reach if strip.windows is None else min(joins, default=math.inf)
        if at + least > strip.s1_mm + JOIN_MM:
            break
        parts += 1
    return parts


@dataclass(frozen=True)
class _Joined:
    """How a strip may be joined."""

    from_mm: float
    to_mm: float
    windows: tuple[tuple[float, float], ...]
    least_mm: float
    parts: int


def _joined(strip: LayStrip) -> _Joined:
    least = min(strip.least_part_mm, strip.s1_mm - strip.s0_mm)
    return _Joined(strip.s0_mm, strip.s1_mm, tuple(sorted(strip.windows or ())), least, strip.most_parts)


@lru_cache(maxsize=4096)
def _least_longest(strip: _Joined, before: int, longest_mm: float) -> float:
    """A length below which the longest part but `before` others never is, wherever the joins are.

    The others are at most `longest_mm`.
    """
    low, high = 0.0, strip.to_mm - strip.from_mm
    while high - low > WINDOWS_STEP_MM:
        middle = (low + high) / 2
        if _divides(strip, middle, before, longest_mm):
            high = middle
        else:
            low = middle
    return low


def _divides(strip: _Joined, most_mm: float, before: int, longest_mm: float) -> bool:
    """Whether joins can be set so that all parts but `before` are at most `most_mm`, those at most `longest_mm`."""
    reached = [[(strip.from_mm, strip.from_mm)], *([] for _ in range(before))]  # by the long parts so far
    for _ in range(strip.parts):
        ends: list[list[tuple[float, float]]] = [[] for _ in reached]
        for long, spans in enumerate(reached):
            for after, most in ((long, most_mm), (long + 1, longest_mm)):
                if after <= before:
                    ends[after] += [(a + strip.least_mm - JOIN_MM, b + most + JOIN_MM) for a, b in spans]
        if any(a <= strip.to_mm + JOIN_MM and b >= strip.to_mm - JOIN_MM for spans in ends for a, b in spans):
            return True
        reached = [_within(spans, strip.windows) for spans in ends]
    return False


def _within(spans: list[tuple[float, float]], windows: tuple[tuple[float, float], ...]) -> list[tuple[float, float]]:
    """What spans share with windows, as spans apart from one another."""
    shared = sorted(
        (max(a, c - JOIN_MM), min(b, d + JOIN_MM))
        for a, b in spans for c, d in windows if a <= d + JOIN_MM and b >= c - JOIN_MM
    )  # fmt: skip
    apart: list[tuple[float, float]] = []
    for a, b in shared:
        if apart and a <= apart[-1][1]:
            apart[-1] = (apart[-1][0], max(b, apart[-1][1]))
        else:
            apart.append((a, b))
    return apart


def with_whole_strips(problem: LayProblem) -> LayProblem:
    """The same problem with each strip that cannot be divided as the piece that it is."""
    whole = [s for s in problem.strips if most_parts(s) == 1]
    if not whole:
        return problem
    pieces = (
        *problem.pieces,
        *(LayPiece(s.key, part_outline(s, s.s0_mm, s.s1_mm), s.turns_deg, s.phase) for s in whole),
    )
    return replace(problem, pieces=pieces, strips=tuple(s for s in problem.strips if s not in whole))


def part_outline(strip: LayStrip, a: float, b: float) -> Points:
    """The outline of the part [a, b] of a strip."""
    a, b = a - strip.end_mm, b + strip.end_mm
    return np.array([(a, strip.z0_mm), (b, strip.z0_mm), (b, strip.z1_mm), (a, strip.z1_mm)], dtype=np.float64)


def row_step(across: float | None, along: float | None, drop: float) -> float | None:
    """Distance along the cloth between rows of the pattern, any column; None where it is not known.

    >>> row_step(170, 640, 320)
    320.0
    """
    if along is None or across is None or not drop:
        return along
    for parts in range(1, 13):
        if abs(drop * parts / along - round(drop * parts / along)) * along < NOISE_MM:
            return along / parts
    return None


def grid_step(items: Iterable[Item]) -> float:
    """The coarsest grid on which all sizes lie; a millimetre where there is none."""
    sizes = set()
    for i in items:
        sizes |= {i.run_mm, i.period_mm, i.start or 0.0}
    for step in STEPS_MM:
        if all(on_grid(x, step) for x in sizes):
            return step
    return STEPS_MM[0]


def on_grid(x: float, step: float) -> bool:
    """Tell whether a size lies on the grid, but for the noise of floats."""
    return abs(x - round(x / step) * step) < NOISE_MM


def down(steps: float) -> int:
    """Whole steps of a size; what is whole but for the rounding of floats counts as whole."""
    return math.floor(steps + ROUND_UP)


def slices(xy: Points, count: int = 12) -> Iterator[tuple[float, list[tuple[float, float]]]]:
    """Slices of an outline, low to high: height, and the chords that lie wholly within the slice."""
    ys = np.unique(np.round(xy[:, 1], 6))
    low, high = float(ys[0]), float(ys[-1])
    shoulders = {float(a[1]) for a, b in zip(xy, np.roll(xy, -1, axis=0), strict=True) if abs(a[1] - b[1]) < NOISE_MM}
    cuts = sorted(shoulders | {low + (high - low) * i / count for i in range(count + 1)})
    for y0, y1 in itertools.pairwise(cuts):
        if y1 - y0 < 10 * NOISE_MM:
            continue
        inside = [float(y) for y in ys if y0 < y < y1]
        heights = [y0 + NOISE_MM, y1 - NOISE_MM, *(y + d for y in inside for d in (-NOISE_MM, NOISE_MM))]
        chords = chords_at(xy, heights[0])
        for y in heights[1:]:
            chords = _shared(chords, chords_at(xy, y))
        yield y1 - y0, [(a + SHY_MM, b - SHY_MM) for a, b in chords if b - a > 4 * SHY_MM]


def chords_at(xy: Points, y: float) -> list[tuple[float, float]]:
    """Where a level line at y runs inside an outline, left to right."""
    a, b = xy, np.roll(xy, -1, axis=0)
    crosses = (a[:, 1] < y) != (b[:, 1] < y)
    p, q = a[crosses], b[crosses]
    xs = np.sort(p[:, 0] + (y - p[:, 1]) * (q[:, 0] - p[:, 0]) / (q[:, 1] - p[:, 1]))
    return [(float(l), float(r)) for l, r in zip(xs[::2], xs[1::2], strict=True)]  # noqa: E741


def _shared(a: list[tuple[float, float]], b: list[tuple[float, float]]) -> list[tuple[float, float]]:
    both = [(max(p[0], q[0]), min(p[1], q[1])) for p in a for q in b]
    return sorted(c for c in both if c[0] < c[1])
