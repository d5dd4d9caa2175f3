"""The lay problem in plain numbers, and its answer.

A lay problem knows nothing of cushions: outlines, strips, phases, one cloth. Search, bound and
verifier share this module, the problem's own geometry, and nothing else.

Frame of the cloth: u across from the left usable edge, v along from the (squared) cut end, face
up, mm. Where the bolt shrinks after cutting, the cloth is described as it will be afterwards
(`squab.lay.problem` scales it), so pieces keep their finished size.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from squab.cloth import Creep, Flaw
from squab.job import Aim
from squab.plane import Points
from squab.units import METRIC, Style, format_length


@dataclass(frozen=True, slots=True)
class Lattice:
    """The pattern's lattice: (across, drop) and (0, along); None where it does not repeat."""

    across_mm: float | None = None
    along_mm: float | None = None
    drop_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class LayPhase:
    """A piece's shift t on the pattern: t_p = sign_p * a + off_p, t_q = sign_q * b + off_q, mod the lattice.

    None: that direction is free. `group` names the anchor (a, b).
    """

    group: str
    off_p: float | None
    off_q: float | None
    sign_p: int = 1
    sign_q: int = 1
    at_mm: tuple[float, float] = (0.0, 0.0)
    """On a bolt whose repeat creeps: the place in the piece's own frame that stands true on the pattern."""


@dataclass(frozen=True)
class LayPiece:
    """One piece to be cut, once. `outline` is its cut line, (n, 2), counter-clockwise, own frame."""

    key: str
    outline: Points
    turns_deg: tuple[int, ...]
    phase: LayPhase | None = None
    cushion: str = ""
    kind: str = ""
    """What sort of piece it is (panel, boxing, zip panel): the handbook lays each sort in rows of its own."""


@dataclass(frozen=True)
class LayStrip:
    """One strip to be cut in parts. See `squab.construct.records.Strip` for the frame.

    A part covering [a, b] of s is the rectangle [a - end, b + end] x [z0, z1] in the strip's
    frame; all parts share the strip's phase (joins carry on). Parts are at least
    `least_part_mm` of seam length, at most `most_parts` of them; joins only in `windows`
    (None: anywhere).
    """

    key: str
    s0_mm: float
    s1_mm: float
    z0_mm: float
    z1_mm: float
    end_mm: float
    least_part_mm: float
    turns_deg: tuple[int, ...]
    windows: tuple[tuple[float, float], ...] | None = None
    most_parts: int = 12
    phase: LayPhase | None = None
    cushion: str = ""
    least_parts: int = 1


@dataclass(frozen=True)
class LayProblem:
    """Everything to be cut from one cloth.

    `anchors` maps a group to its pinned (a, b), either None where free. `pattern_at` is where
    the pattern's origin stands on the bolt, (u, v); None in a direction that has not been
    measured: `squab.lay.order` then answers for every start. `bolt_mm` is the length there
    is, None where it will be bought. `gap_mm` is kept between pieces, not at edges or ends.
    """

    cloth_id: str
    usable_width_mm: float
    lattice: Lattice
    pieces: tuple[LayPiece, ...]
    strips: tuple[LayStrip, ...] = ()
    anchors: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)
    pattern_at: tuple[float | None, float | None] = (None, None)
    gap_mm: float = 0.0
    flaws: tuple[Flaw, ...] = ()
    bolt_mm: float | None = None
    style: Style = METRIC
    creep: Creep | None = None
    """Where the pattern's lines truly stand along the bolt; the lattice then has the mean repeat."""

    def shown(self, length_mm: float) -> str:
        """A length as this job prints it."""
        return format_length(length_mm, self.style)


@dataclass(frozen=True, slots=True)
class Placed:
    """Where a piece, or a part [s0, s1] of a strip, lies: (u, v) = R(turn) * local + (u, v)."""

    key: str
    turn_deg: int
    u_mm: float
    v_mm: float
    part_mm: tuple[float, float] | None = None


@dataclass(frozen=True)
class Lay:
    """A lay: every piece placed, from one start of the pattern."""

    placed: tuple[Placed, ...]
    anchors: Mapping[str, tuple[float, float]]
    pattern_at: tuple[float, float]
    length_mm: float
    """From the cut end to the last cut edge."""


@dataclass(frozen=True, slots=True)
class Bound:
    """A length that no lay can beat, and how it was shown."""

    length_mm: float
    method: str


@dataclass(frozen=True, slots=True)
class Fault:
    """Something the verifier found wrong with a lay."""

    kind: str
    keys: tuple[str, ...]
    message: str
    amount_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Surrender:
    """Something that could be given up when the bolt is too short, least seen first."""

    what: str
    frees_mm: float
    enough: bool


@dataclass(frozen=True, slots=True)
class StartRange:
    """Starts of the pattern (from the selvage, or from the cut end) and the length they need."""

    direction: Literal["across", "along"]
    from_mm: float
    to_mm: float
    length_mm: float


@dataclass(frozen=True)
class Figures:
    """How a lay does by the second aims.

    `left_mm` is the largest rectangle left whole (u0, v0, u1, v1), between the cut end and the
    last edge. `knife_runs` counts the straight cuts, each begun and ended once: neighbours' edges in
    one line are one run, selvages and cut end none. `cuts_across` counts the lines right across the
    cloth that cut no piece. `spread_mm` says of each cushion how far along the cloth its pieces lie.
    """

    left_mm: tuple[float, float, float, float]
    knife_runs: int
    cuts_across: int
    spread_mm: Mapping[str, float]

    @property
    def left_mm2(self) -> float:
        """Area of the largest rectangle left."""
        u0, v0, u1, v1 = self.left_mm
        return (u1 - u0) * (v1 - v0)


@dataclass(frozen=True)
class Improved:
    """A lay that serves one aim first and the others after it, and what that costs in cloth (0: nothing)."""

    aim: Aim
    lay: Lay
    figures: Figures
    costs_mm: float


@dataclass(frozen=True, slots=True)
class Fold:
    """Cloth that is folded along its length, face to face, from the cut end up to `until_mm`.

    What lies there is cut through both layers: `pairs` are the numbers, in the lay's `placed`, of the
    two pieces of each cut. The lay itself is that of the cloth once it is opened; `open_mm` is how long
    it would be with nothing cut double.
    """

    until_mm: float
    pairs: tuple[tuple[int, int], ...]
    open_mm: float


@dataclass(frozen=True)
class ClothPlan:
    """The answer for one cloth.

    `order_mm` is what to buy (squared off, rounded as sold, safe for every start), `needs_mm`
    the longest lay over the starts before that, and over the repeats that the label allows; `lay`
    is the lay shown: the bolt's own where it has been measured, else the one for the start that
    decides the order. `bolt_length_mm`
    is what the measured bolt needs, squared off, None before it is measured. `bound` is for the
    lay shown, or, where the pattern's start is unknown, for any order that is safe for every start.
    """

    cloth_id: str
    problem: LayProblem
    lay: Lay
    bound: Bound
    handbook_mm: float
    needs_mm: float
    order_mm: float
    bolt_length_mm: float | None
    starts: tuple[StartRange, ...] = ()
    surrenders: tuple[Surrender, ...] = ()
    cloth_cost: Decimal | None = None
    risk: str = ""
    """In words, where one start needs far more than another."""
    aims: tuple[Improved, ...] = ()
    """Lays that serve the maker's second aims, where there are any; the first aim's is `lay`."""
    fold: Fold | None = None
    """Where the cloth is cut double."""

    @property
    def bound_said(self) -> str:
        """What the bound's length goes behind: "... less than 2.88 m"."""
        return "no order for every start of the pattern can use" if self.starts else "nothing can use"

    @property
    def gap(self) -> float:
        """How far the lay is above what is proved, as a fraction."""
        return self.lay.length_mm / self.bound.length_mm - 1 if self.bound.length_mm else 0.0
