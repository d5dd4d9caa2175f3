"""What matching hands on: where on the repeat each piece must sit, and how well seams meet.

Frame: the pattern's own, (p, q) (see `squab.cloth`). A placement of a piece in that frame is
(p, q) = R(turn) * local + t.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

Verdict = Literal["good", "say so", "miss", "not matched"]


@dataclass(frozen=True, slots=True)
class Phase:
    """Where a piece (or strip) must sit on the repeat, relative to its group's anchor (a, b).

    t_p = sign_p * a + off_p and t_q = sign_q * b + off_q, modulo the pattern's lattice. `off_p`
    or `off_q` is None where that direction does not matter. A sign of -1 comes from a mirror
    axis of an even stripe, or from a half turn that leaves the print as it was.
    """

    group: str
    off_p: float | None
    off_q: float | None
    sign_p: int = 1
    sign_q: int = 1
    at_mm: tuple[float, float] = (0.0, 0.0)
    """The place on its seam that is matched first, in the part's own frame: true even where the repeat creeps."""


@dataclass(frozen=True, slots=True)
class Anchor:
    """The anchor of a group: pinned coordinates in the pattern frame, or None where free.

    With no piece that changes under it a free anchor may be chosen by the lay.
    """

    group: str
    a: float | None = None
    b: float | None = None


@dataclass(frozen=True, slots=True)
class Placing:
    """How one piece or strip must be laid: its turns, and its phase (None: anywhere)."""

    part_id: str
    turns_deg: tuple[int, ...]
    phase: Phase | None = None


@dataclass(frozen=True)
class SeamDrift:
    """How the pattern drifts along a seam: boxing minus panel, modulo the pattern's symmetries.

    `s_mm` are lengths along the seam, `drift_p_mm` and `drift_q_mm` the drift there across and
    along the bolt (None in a direction in which the pattern does not change or was not asked
    to meet). `worst_mm` is the largest, `good_to_mm` the seam length from its middle within
    which the seam stays good, where that is less than the whole. `wish` is what was asked;
    `across_only` says that a pattern which changes both ways was asked to meet across only.
    """

    seam_id: str
    side: str
    seen: bool
    wish: Literal["must", "prefer", "ignore"]
    s_mm: tuple[float, ...]
    drift_p_mm: tuple[float, ...] | None
    drift_q_mm: tuple[float, ...] | None
    worst_mm: float
    verdict: Verdict
    good_to_mm: float | None = None
    said: str = ""
    """The verdict in the maker's words."""
    across_only: bool = False


@dataclass(frozen=True, slots=True)
class Cure:
    """Something the maker could change, in words, and the changed setting to try for its price in cloth.

    `setting` is the dotted name of a field of `squab.job.Cover` (`matching.sides_along`) and
    `value` what to set; None where nothing of the program's needs setting.
    """

    cushion_id: str
    what: str
    setting: str | None = None
    value: object = None


@dataclass(frozen=True)
class MatchPlan:
    """Where every piece must sit."""

    placings: Mapping[str, Placing]
    """By piece or strip id; every piece and strip of the construction is here."""
    anchors: Mapping[str, Anchor]
    drifts: tuple[SeamDrift, ...]
    cures: tuple[Cure, ...] = ()
    given_up: tuple[str, ...] = ()
    """Seam ids whose wish could not be kept."""
    mitres_apart: tuple[tuple[str, str], ...] = ()
    """Neighbours (cushion ids, left and right) at whose mitre the pattern does not meet."""
