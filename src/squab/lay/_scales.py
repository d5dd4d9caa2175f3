"""Both directions at once: sizes rescaled across and along, and their areas added up.

Give every piece a new width so that no pieces that fit side by side across the cloth are together
wider than 1, and a new height so that no pieces that fit behind one another along it are higher
than 1. Then all the new areas together are at most 1. For push every piece of a lay as far left
as the new widths of the pieces wholly to its left make it, and as far down likewise: two pieces
that were apart across (or along) still are, and none leaves the square of 1 by 1.

The new widths and heights are prices of bars (`squab.lay._bars`), so places on the repeat count
in both directions. Each linear programme has the other's answer for its amounts; they take turns.

A piece that is no rectangle, or may lie in ways that differ, counts as loose cloth by its area.
"""

from __future__ import annotations

import time
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

import shapely

from squab.lay._bars import BarsBound, Column, bars_bound
from squab.lay._demand import Demand, DemandOf, Item, Need, fewest_parts, is_rectangle, most_parts
from squab.lay.records import LayPiece, LayProblem, LayStrip

LOOSE = Item(0.0, stretches=True)
MARGIN = Fraction(1, 10**7)
"""New areas must pass 1 by this before a length is held to be too short: the noise of floats."""
SETTLED = Fraction(1, 10**4)
"""The two programmes have come to rest when a turn gains less than this."""
TURNS = 6
SHARES = (Fraction(1), Fraction(1, 2), Fraction(1, 4))
"""Mixtures begun with of the true sizes and those that suit all but the loose cloth."""


@dataclass(frozen=True)
class _Thing:
    """Rectangles of one kind: their items across and along; `amount` mm of a strip in at most `parts`."""

    across: int
    along: int
    amount: Fraction
    parts: int = 0
    strip: bool = False


Sizes = tuple[list[Fraction], list[Fraction]]
"""New sizes of items one way (of a stretch by the mm), and what each part of a stretch adds (nothing or less)."""


@dataclass
class _Run:
    """Turns taken between the two programmes; `heights` are the last new heights that they found."""

    wide: Demand
    tall: Demand
    things: list[_Thing]
    until: float
    heights: Sizes | None = None

    widths: Sizes | None = None

    def passes(self, sizes: Sizes, *, are_heights: bool = True) -> bool:
        """Tell whether the new areas pass 1, beginning with these new heights (or widths)."""
        reached = Fraction(0)
        known: tuple[list[Column], list[Column]] = ([], [])
        for turn in range(TURNS):
            is_across = (turn % 2 == 0) == are_heights
            demand = _rescaled(self.wide if is_across else self.tall, self.things, is_across, sizes)
            shown = bars_bound(demand, self.until, lambda reach: reach > 1 + MARGIN, known[turn % 2])
            if shown.reach_mm > 1 + MARGIN:
                self.widths = _sizes(demand, shown) if is_across else sizes
                return True
            if shown.reach_mm < reached + SETTLED or time.perf_counter() > self.until or not shown.dearest:
                return False
            reached, sizes = shown.reach_mm, _sizes(demand, shown)
            if not is_across:
                self.heights = sizes
        return False


def _mixed(a: Sizes, b: Sizes, share: Fraction) -> Sizes:
    """Sizes between two: what fits with both fits with their mean."""
    return (
        [x + (y - x) * share for x, y in zip(a[0], b[0], strict=True)],
        [x + (y - x) * share for x, y in zip(a[1], b[1], strict=True)],
    )


class Scales:
    """The things of one problem, for cloths of any length."""

    def __init__(self, problem: LayProblem) -> None:
        self.problem = problem
        self.across, self.along = DemandOf(problem, "across"), DemandOf(problem, "along")
        self.widths: Sizes | None = None
        self.wide = self.across.demand(problem.usable_width_mm)

    def too_short(self, room_mm: float, until: float) -> bool:
        """Tell whether it is shown that no lay is as short as `room_mm`."""
        self.along.step = None
        tall = self.along.demand(room_mm)
        things = list(self._things())  # loose cloth may be a new item
        wide = replace(self.wide, items=tuple(self.across.items), spare_mm=0.0)
        tall = replace(tall, items=tuple(self.along.items), spare_mm=0.0)
        run = _Run(wide, tall, things, until)
        if self._passes(run):
            self.widths = run.widths
            return True
        return False

    def _passes(self, run: _Run) -> bool:
        # The widths that did for a shorter cloth are new widths still.
        if self.widths is not None and run.passes(self.widths, are_heights=False):
            return True
        # Else the first new heights are the true ones, as parts of the length.
        items = run.tall.items
        room = Fraction(run.tall.room_mm) + Fraction(run.tall.step_mm)
        true = [Fraction(1 if i.stretches else i.run_mm) / room for i in items], [Fraction(0)] * len(items)
        if run.passes(true):
            return True
        # Where loose cloth fills every hollow, true sizes are a hollow themselves: begin elsewhere.
        firm = replace(run, things=[t for t in run.things if items[t.along] != LOOSE], heights=None)
        if len(firm.things) in (0, len(run.things)):
            return False
        if firm.passes(true):
            run.widths = firm.widths
            return True
        return firm.heights is not None and any(run.passes(_mixed(true, firm.heights, share)) for share in SHARES)

    def _things(self) -> Iterator[_Thing]:
        count = len(self.across.pieces)
        for k in range(count):
            piece, n = self.across.pieces[k]
            yield self._piece(piece, n)
        for strip in self.problem.strips:
            yield self._strip(strip)

    def _loose(self, area: float) -> _Thing:
        return _Thing(self.across._item(LOOSE), self.along._item(LOOSE), Fraction(area * (1 - 1e-9)), strip=True)

    def _piece(self, piece: LayPiece, count: int) -> _Thing:
        ways = self.across._piece_need(piece, count).ways, self.along._piece_need(piece, count).ways
        if (
            is_rectangle(piece.outline)
            and all(t % 90 == 0 for t in piece.turns_deg)
            and len(ways[0]) == len(ways[1]) == 1
        ):
            items = [
                next((i for i, _ in w[0] if not b[i].stretches), -1) for w, b in zip(ways, self._items(), strict=True)
            ]
            if min(items) >= 0:
                return _Thing(items[0], items[1], Fraction(count))
        return self._loose(count * float(shapely.Polygon(piece.outline).area))

    def _items(self) -> tuple[list[Item], list[Item]]:
        return list(self.across.items), list(self.along.items)

    def _strip(self, strip: LayStrip) -> _Thing:
        fewest = fewest_parts(strip, self.problem.usable_width_mm)
        needs = self.across._strip_need(strip), self.along._strip_need(strip)
        lies = {t % 180 for t in strip.turns_deg}
        if lies in ({0}, {90}) and all(len(n.ways) == 1 for n in needs):
            lying, standing = needs if lies == {0} else needs[::-1]
            items = self._items() if lies == {0} else self._items()[::-1]
            stretch = lying.ways[0][0][0]
            stands = next((i for i, _ in standing.ways[0] if not items[1][i].stretches), -1)
            if stands >= 0 and items[0][stretch].stretches:
                pair = (stretch, stands) if lies == {0} else (stands, stretch)
                return _Thing(*pair, lying.amount, most_parts(strip), strip=True)
        length, width = strip.s1_mm - strip.s0_mm, strip.z1_mm - strip.z0_mm
        return self._loose((length + 2 * strip.end_mm * fewest) * width)


def _rescaled(demand: Demand, things: list[_Thing], is_across: bool, other_way: Sizes) -> Demand:
    """The demand one way, with the new sizes the other way for amounts."""
    sizes, parts = other_way
    counts: defaultdict[int, Fraction] = defaultdict(Fraction)
    needs: list[Need] = []
    for thing in things:
        mine, other = (thing.across, thing.along) if is_across else (thing.along, thing.across)
        if thing.parts and not demand.items[mine].stretches:
            # A strip that stands on this bar and lies on the other: all its parts' new lengths at once.
            size = max(Fraction(0), thing.amount * sizes[other] + thing.parts * parts[other])
            needs.append(Need(Fraction(1), (((mine, size),),), True))
        else:
            needs.append(Need(thing.amount, (((mine, sizes[other]),),), thing.strip))
            if thing.parts:
                counts[mine] += thing.parts * sizes[other]
    return replace(demand, needs=tuple(needs), most_parts={i: c for i, c in counts.items() if demand.items[i] != LOOSE})


def _sizes(demand: Demand, shown: BarsBound) -> Sizes:
    """The prices that show a bound, as new sizes: the dearest bar is worth 1."""
    step, count = Fraction(demand.step_mm), len(demand.items)
    each = [Fraction(p, shown.dearest) for p in shown.prices]
    sizes = [p / step if i.stretches else p for p, i in zip(each[:count], demand.items, strict=True)]
    return sizes, each[count:]
