"""Cloth: its usable width, its pattern and where the pattern stands on a bolt.

Frame: u across the bolt from the left usable edge, v along it from the cut end, face up, mm.
The pattern has a frame of its own, (p, q): p = u - stripe_at_u_mm, q = v - print_at_v_mm. For a
stripe, p = 0 is the left edge of the first stripe of its layout; for a print, (0, 0) is the
centre of the motif. The pattern repeats under the lattice (across, drop), (0, along).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import cached_property
from itertools import pairwise
from typing import Literal

import numpy as np

from squab.plane import Points

PatternKind = Literal["plain", "warp_stripe", "weft_stripe", "print"]


@dataclass(frozen=True, slots=True)
class Stripe:
    """One stripe of a layout: its width, colour (`#rrggbb`) and the maker's name for it."""

    width_mm: float
    colour: str
    name: str = ""


@dataclass(frozen=True, slots=True)
class Motif:
    """A plain shape that stands for a print on drawings, centred at (0, 0) of the pattern."""

    across_mm: float
    along_mm: float
    colour: str
    shape: Literal["oval", "lozenge", "leaf"] = "oval"


@dataclass(frozen=True)
class Pattern:
    """What repeats on a cloth.

    `stripes` is the layout across one repeat (warp stripe) or along it (weft stripe); its
    widths add up to the repeat. `mirror_axes` are positions (mm, pattern frame, across for a
    warp stripe or print, along for a weft stripe) about which the pattern is its own mirror
    image; `half_turn_same` says that a half turn about (0, 0) leaves a print as it was.
    `lines` names positions across the repeat that a maker may ask to stand on a cushion's
    centre line.
    """

    kind: PatternKind = "plain"
    repeat_across_mm: float | None = None
    repeat_along_mm: float | None = None
    drop_mm: float = 0.0
    stripes: tuple[Stripe, ...] = ()
    ground: str = "#e9e2d3"
    motif: Motif | None = None
    mirror_axes: tuple[float, ...] = ()
    half_turn_same: bool = False
    lines: tuple[tuple[str, float], ...] = ()

    @cached_property
    def changes_across(self) -> bool:
        """Tell whether the pattern differs from place to place across the bolt."""
        return self.repeat_across_mm is not None

    @cached_property
    def changes_along(self) -> bool:
        """Tell whether the pattern differs from place to place along the bolt."""
        return self.repeat_along_mm is not None

    @property
    def is_even(self) -> bool:
        """Tell whether the pattern has mirror axes."""
        return bool(self.mirror_axes)

    @cached_property
    def stripe_edges(self) -> tuple[float, ...]:
        """Positions of the colour edges within one repeat, from 0, ascending."""
        run, edges = 0.0, []
        for i, s in enumerate(self.stripes):
            if s.colour != self.stripes[i - 1].colour or len(self.stripes) == 1:
                edges.append(run)
            run += s.width_mm
        return tuple(edges)

    @property
    def narrowest_stripe_mm(self) -> float | None:
        """Width of the narrowest stripe, where there are stripes."""
        return min((s.width_mm for s in self.stripes), default=None)

    def line_mm(self, name: str) -> float | None:
        """Position of a named line in the pattern frame, or None where no line has that name."""
        return dict(self.lines).get(name)


def stripe_axes(stripes: tuple[Stripe, ...]) -> tuple[float, ...]:
    """Find the mirror axes of a stripe layout within one repeat, ascending.

    An even stripe reads the same both ways from the centre of a stripe, or from an edge.
    Neighbouring stripes of one colour count as one.
    """
    merged: list[Stripe] = []
    for s in stripes:
        if merged and merged[-1].colour == s.colour:
            merged[-1] = replace(merged[-1], width_mm=merged[-1].width_mm + s.width_mm)
        else:
            merged.append(s)
    if not merged:
        return ()
    total = sum(s.width_mm for s in merged)
    shift = 0.0
    if len(merged) > 1 and merged[0].colour == merged[-1].colour:
        shift = merged[-1].width_mm
        merged[0] = replace(merged[0], width_mm=merged[0].width_mm + shift)
        merged.pop()
    n = len(merged)
    if n == 1:
        return ()
    starts = [sum(s.width_mm for s in merged[:i]) - shift for i in range(n)]
    axes = []
    for i in range(n):
        if all(
            merged[(i - k) % n].colour == merged[(i + k) % n].colour
            and abs(merged[(i - k) % n].width_mm - merged[(i + k) % n].width_mm) < 1e-6
            for k in range(1, n // 2 + 1)
        ):
            axes.append((starts[i] + merged[i].width_mm / 2) % total)
    return tuple(sorted(axes))


ROUND_SIDES = 48
"""A round flaw is kept clear of as a figure of so many sides drawn about it: a 460th of its radius more."""


@dataclass(frozen=True, slots=True)
class Flaw:
    """Cloth to keep clear of, in the cloth's frame: a rectangle, or the outline within it.

    `outline` holds the corners in order, counter-clockwise; empty for the whole rectangle.
    """

    u0_mm: float
    v0_mm: float
    u1_mm: float
    v1_mm: float
    what: str = "flaw"
    outline: tuple[tuple[float, float], ...] = ()

    @classmethod
    def outlined(cls, corners: Sequence[tuple[float, float]], what: str = "flaw") -> Flaw:
        """A flaw by its corners, in order either way round."""
        twice = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise((*corners, corners[0])))
        us, vs = [u for u, _ in corners], [v for _, v in corners]
        return cls(min(us), min(vs), max(us), max(vs), what, tuple(corners if twice > 0 else corners[::-1]))

    @classmethod
    def disc(cls, u_mm: float, v_mm: float, radius_mm: float, what: str = "flaw") -> Flaw:
        """A round flaw: a figure that touches the circle at the ends of both its axes and lies about it."""
        step = math.tau / ROUND_SIDES
        reach = radius_mm / math.cos(step / 2)
        angles = [(k + 0.5) * step for k in range(ROUND_SIDES)]
        return cls.outlined([(u_mm + reach * math.cos(a), v_mm + reach * math.sin(a)) for a in angles], what)

    @property
    def corners(self) -> tuple[tuple[float, float], ...]:
        """Its corners, counter-clockwise."""
        if self.outline:
            return self.outline
        return (
            (self.u0_mm, self.v0_mm), (self.u1_mm, self.v0_mm), (self.u1_mm, self.v1_mm), (self.u0_mm, self.v1_mm),
        )  # fmt: skip

    def scaled(self, across: float, along: float) -> Flaw:
        """The flaw on a cloth so much larger, across and along."""
        return Flaw(
            self.u0_mm * across, self.v0_mm * along, self.u1_mm * across, self.v1_mm * along, self.what,
            tuple((u * across, v * along) for u, v in self.outline),
        )  # fmt: skip

    def turned_over(self, width_mm: float) -> Flaw:
        """The flaw seen from the other side of a cloth so wide."""
        outline = tuple((width_mm - u, v) for u, v in reversed(self.outline))
        return replace(self, u0_mm=width_mm - self.u1_mm, u1_mm=width_mm - self.u0_mm, outline=outline)


@dataclass(frozen=True, slots=True)
class Creep:
    """Where a pattern truly stands along a bolt whose repeat creeps: the v of q = 0, at one repeat after another.

    Between two lines the pattern is evenly drawn out or in; before the first and beyond the last it goes on with
    the mean repeat. Pattern lengths q count every repeat as the mean.

    >>> creep = Creep((100.0, 740.0, 1384.0))
    >>> creep.repeat_mm, creep.least_mm, float(creep.true_mm(642.0)), float(creep.pattern_mm(1384.0))
    (642.0, 640.0, 740.0, 1284.0)
    """

    lines_mm: tuple[float, ...]

    @property
    def repeat_mm(self) -> float:
        """The mean repeat."""
        return (self.lines_mm[-1] - self.lines_mm[0]) / (len(self.lines_mm) - 1)

    @property
    def least_mm(self) -> float:
        """The shortest repeat there is on the bolt."""
        return min(b - a for a, b in pairwise(self.lines_mm))

    @property
    def most_mm(self) -> float:
        """The longest repeat there is on the bolt."""
        return max(b - a for a, b in pairwise(self.lines_mm))

    def true_mm(self, q_mm: float | Points) -> Points:
        """Where on the bolt, v, a place along the pattern truly stands."""
        knots, lines = self._knots(), np.array(self.lines_mm)
        q = np.asarray(q_mm, dtype=np.float64)
        inside = np.interp(q, knots, lines)
        return np.asarray(inside + np.minimum(q - knots[0], 0.0) + np.maximum(q - knots[-1], 0.0))

    def pattern_mm(self, v_mm: float | Points) -> Points:
        """The place along the pattern, q, that stands at v on the bolt."""
        knots, lines = self._knots(), np.array(self.lines_mm)
        v = np.asarray(v_mm, dtype=np.float64)
        inside = np.interp(v, lines, knots)
        return np.asarray(inside + np.minimum(v - lines[0], 0.0) + np.maximum(v - lines[-1], 0.0))

    def _knots(self) -> Points:
        return np.arange(len(self.lines_mm), dtype=np.float64) * self.repeat_mm

    def scaled(self, along: float) -> Creep:
        """The same on a bolt so much longer."""
        return Creep(tuple(x * along for x in self.lines_mm))

    def begun_at(self, line_mm: float) -> Creep:
        """The lines of q = 0 where those measured are of a line that stands so far beyond it on the pattern."""
        if line_mm == 0.0:
            return self
        return Creep(tuple(float(x) for x in self.true_mm(self._knots() - line_mm)))


@dataclass(frozen=True, slots=True)
class Bolt:
    """The bolt on the table, as measured. What is None has not been measured.

    `stripe_at_u_mm` is the u of the pattern's p = 0 (the first edge of the layout, or a
    motif's centre) counted from the left usable edge; `print_at_v_mm` the v of q = 0 counted
    from the cut end.
    """

    length_mm: float | None = None
    lot: str = ""
    stripe_at_u_mm: float | None = None
    print_at_v_mm: float | None = None
    repeat_across_mm: float | None = None
    repeat_along_mm: float | None = None
    flaws: tuple[Flaw, ...] = ()
    bow_mm: float = 0.0
    """How far the weft bows over the usable width, at the worst place of the roll (ASTM D3882, 5.2)."""
    skew_mm: float = 0.0
    """How far the weft runs out of square over the usable width, at the worst place of the roll."""
    creep: Creep | None = None
    """Where the pattern stands at one repeat after another, where that was measured along the bolt."""


@dataclass(frozen=True, slots=True)
class Remnant:
    """A length of a cloth in hand from before: a bolt as measured, and its usable width (None: the cloth's)."""

    bolt: Bolt
    width_mm: float | None = None

    @property
    def length_mm(self) -> float:
        """How long it is."""
        return self.bolt.length_mm or 0.0


@dataclass(frozen=True)
class Cloth:
    """A cloth as a job uses it.

    `one_way` is true for nap and for prints with an up and a down: half turns are forbidden.
    `pile` says that the one way is a pile, which costs time as well. Shrinkage is in percent,
    positive for a cloth that gets smaller, along the warp and the weft, and counts only where
    `shrinks_after_cutting`.
    """

    id: str
    name: str
    usable_width_mm: float
    pattern: Pattern = field(default_factory=Pattern)
    thickness_mm: float = 0.8
    one_way: bool = False
    pile: bool = False
    vinyl: bool = False
    frays: bool = False
    open_weave: bool = False
    same_both_faces: bool = False
    may_railroad: bool = False
    shrink_warp_pct: float = 0.0
    shrink_weft_pct: float = 0.0
    shrinks_after_cutting: bool = False
    price_per_m: Decimal | None = None
    sold_by_mm: float = 100.0
    square_off_mm: float = 50.0
    """Lost at each end of a bought length when it is squared."""
    bolt: Bolt | None = None
    remnants: tuple[Remnant, ...] = ()
    repeat_within_pct: float = 0.0
    """How far any repeat along the bolt may be off the label's, in percent, before it has been measured."""
    cut_double: bool = False
    """It is folded along its length and cut through both layers, as far as its pieces make mirrored pairs."""
    remnant_of: str = ""
    """The id of the cloth it is a remnant of, where it is one."""
    in_hand: bool = False
    """It is there already, as a remnant is: nothing of it is bought."""
    care: str = ""
    mass_g_m2: float | None = None

    @property
    def repeat_is_measured(self) -> bool:
        """Tell whether the repeat along this very bolt is known, so that nothing need be allowed for it."""
        return self.bolt is not None and self.bolt.repeat_along_mm is not None

    @property
    def mass_g_per_m(self) -> float | None:
        """Mass of a metre of the bolt over its usable width, where the cloth's mass is known."""
        return None if self.mass_g_m2 is None else self.mass_g_m2 * self.usable_width_mm / 1000

    @property
    def bow_pct(self) -> float:
        """Bow in percent of the width, 100 D / W (ASTM D3882)."""
        return 100 * self.bolt.bow_mm / self.usable_width_mm if self.bolt else 0.0

    @property
    def skew_pct(self) -> float:
        """Skew in percent of the width, 100 s / W (ASTM D3882)."""
        return 100 * self.bolt.skew_mm / self.usable_width_mm if self.bolt else 0.0

    def bow_at_mm(self, u_mm: float) -> float:
        """How far a bowed weft, taken as a parabola, stands from the line between its ends, at u from the edge."""
        across = min(max(u_mm / self.usable_width_mm, 0.0), 1.0)
        return 4 * (self.bolt.bow_mm if self.bolt else 0.0) * across * (1 - across)

    def out_of_true_mm(self, width_mm: float) -> float:
        """How far a stripe across, or a print, may slant over a piece so wide: its skew, and its bow at the edge."""
        width = min(width_mm, self.usable_width_mm)
        skew = self.skew_pct / 100 * width
        return skew + self.bow_at_mm(min(width, self.usable_width_mm / 2))

    def as_measured(self) -> Cloth:
        """The cloth with the bolt's own repeat in place of the label's."""
        bolt = self.bolt
        if bolt is None or (bolt.repeat_across_mm is None and bolt.repeat_along_mm is None):
            return self
        old = self.pattern
        across = bolt.repeat_across_mm or old.repeat_across_mm
        along = bolt.repeat_along_mm or old.repeat_along_mm
        fu = across / old.repeat_across_mm if across and old.repeat_across_mm else 1.0
        fv = along / old.repeat_along_mm if along and old.repeat_along_mm else 1.0
        f = fv if old.kind == "weft_stripe" else fu
        pattern = replace(
            old,
            repeat_across_mm=across,
            repeat_along_mm=along,
            drop_mm=old.drop_mm * fv,
            stripes=tuple(replace(s, width_mm=s.width_mm * f) for s in old.stripes),
            mirror_axes=tuple(m * f for m in old.mirror_axes),
            lines=tuple((name, at * f) for name, at in old.lines),
        )
        return replace(self, pattern=pattern)

    @property
    def cut_scale(self) -> tuple[float, float]:
        """How much larger (across, along) a piece is cut so that it finishes right after shrinking."""
        if not self.shrinks_after_cutting:
            return (1.0, 1.0)
        return (1 / (1 - self.shrink_weft_pct / 100), 1 / (1 - self.shrink_warp_pct / 100))

    def as_finished(self) -> Cloth:
        """The cloth as measured, with its pattern as large as it is once the cut pieces have shrunk."""
        measured = self.as_measured()
        fu, fv = self.cut_scale
        if (fu, fv) == (1.0, 1.0):
            return measured
        old = measured.pattern
        f = fv if old.kind == "weft_stripe" else fu
        pattern = replace(
            old,
            repeat_across_mm=old.repeat_across_mm and old.repeat_across_mm / fu,
            repeat_along_mm=old.repeat_along_mm and old.repeat_along_mm / fv,
            drop_mm=old.drop_mm / fv,
            stripes=tuple(replace(s, width_mm=s.width_mm / f) for s in old.stripes),
            mirror_axes=tuple(m / f for m in old.mirror_axes),
            lines=tuple((name, at / f) for name, at in old.lines),
        )
        return replace(measured, pattern=pattern)

    @property
    def finished_width_mm(self) -> float:
        """The usable width as it will be after shrinking: what pieces at their finished size must fit."""
        return self.usable_width_mm / self.cut_scale[0]
