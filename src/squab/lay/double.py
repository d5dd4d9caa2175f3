"""Plain cloth cut double: folded along its length, face to face, and cut through both layers.

What is cut through both is a pair, one the mirror image of the other: two alike pieces that are
their own mirror image, or a left and a right. The fold lies on the middle of the cloth. Once they are
cut the cloth is opened, and what has no partner, and every strip, is laid beside and beyond them.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from squab.cloth import Flaw
from squab.errors import LayError
from squab.lay.cuts import cut_outlines, grown, matched
from squab.lay.records import Fold, Lay, LayPiece, LayProblem, Placed
from squab.lay.search import search
from squab.lay.verify import verify, verify_fold
from squab.plane import Placement, Points, cos_sin

SAME_MM = 0.01
"""Outlines that differ by less are the same, or each other's mirror image."""


@dataclass(frozen=True)
class Doubled:
    """A lay of which some pieces are cut double, the cloth folded as far as `folded_mm`.

    `pairs` names the pieces that come away together, the lower layer's first. `lay` is for the open
    cloth: both layers of a pair lie mirrored about its middle, one after the other in `lay.placed`.
    """

    lay: Lay
    folded_mm: float
    pairs: tuple[tuple[str, str], ...]

    def fold(self, open_mm: float) -> Fold:
        """The same for a plan, by numbers."""
        at = {x.key: k for k, x in enumerate(self.lay.placed)}
        return Fold(self.folded_mm, tuple((at[a], at[b]) for a, b in self.pairs), open_mm)


def cut_double(problem: LayProblem, *, seconds: float = 2.0, seed: int = 0, steps: int | None = None) -> Doubled | None:
    """Lay plain cloth to be cut double, on the fold.

    Parameters
    ----------
    problem
        A lay problem whose pieces need no place on a pattern.
    seconds, seed, steps
        As for `squab.lay.search.search`; shared by the folded and the open part.

    Returns
    -------
    Doubled or None
        A sound lay of the problem; None where no two pieces make a pair that the folded cloth holds.

    Raises
    ------
    LayError
        If a piece has its place on a pattern: under the fold nobody sees where it lies; or if no
        sound lay was found.

    Notes
    -----
    A flaw of either layer is kept clear of on both.
    """
    if any(any(matched(problem, p.phase)) for p in problem.pieces) or any(
        any(matched(problem, s.phase)) for s in problem.strips
    ):
        raise LayError("a cloth with a pattern to be matched is cut open, face up: under the fold it cannot be seen")
    gap = problem.gap_mm
    # half the gap is kept on this side of the fold, half on the other
    half = (problem.usable_width_mm - gap) / 2
    pairs = [(a, b) for a, b in _pairs(problem.pieces) if _fits(a, half)]
    if not pairs:
        return None
    flaws = (*problem.flaws, *(f.turned_over(problem.usable_width_mm) for f in problem.flaws))
    folded = replace(
        problem, usable_width_mm=half, pieces=tuple(a for a, _ in pairs), strips=(), bolt_mm=None,
        flaws=tuple(f for f in flaws if f.u0_mm < half),
    )  # fmt: skip
    below = search(folded, seconds=seconds / 2, seed=seed, steps=steps)
    placed = [p for x in below.placed for p in _both(x, {a.key: (a, b) for a, b in pairs}, problem)]
    paired = {x.key for pair in pairs for x in pair}
    rest = replace(problem, pieces=tuple(p for p in problem.pieces if p.key not in paired), bolt_mm=None)
    length = below.length_mm
    if rest.pieces or rest.strips:
        # once the pairs are cut the cloth is opened, and what is left between them is cloth like any other
        cut = replace(problem, pieces=tuple(x for pair in pairs for x in pair), strips=())
        gone = cut_outlines(cut, Lay(tuple(placed), {}, (0.0, 0.0), length))
        taken = tuple(Flaw.outlined(grown(uv, gap).tolist(), "cut") for uv in gone)
        beside = search(replace(rest, flaws=(*problem.flaws, *taken)), seconds=seconds / 2, seed=seed, steps=steps)
        placed += beside.placed
        length = max(length, beside.length_mm)
    lay = Lay(tuple(placed), {}, (problem.pattern_at[0] or 0.0, problem.pattern_at[1] or 0.0), length)
    found = Doubled(lay, below.length_mm, tuple((a.key, b.key) for a, b in pairs))
    whole = replace(problem, bolt_mm=None)
    faults = (*verify(whole, lay), *verify_fold(whole, lay, found.fold(0.0)))
    if faults:
        raise LayError("under the fold no sound lay was found: " + "; ".join(f.message for f in faults[:3]))
    return found


def mirrored(outline: Points) -> Points:
    """An outline as the other layer has it, counter-clockwise again."""
    return np.column_stack([-outline[:, 0], outline[:, 1]])[::-1]


def _pairs(pieces: tuple[LayPiece, ...]) -> list[tuple[LayPiece, LayPiece]]:
    left, found = list(pieces), []
    while left:
        a = left.pop(0)
        b = next((x for x in left if _shift(a, x) is not None and _turns_serve(a, x)), None)
        if b is not None:
            left.remove(b)
            found.append((a, b))
    return found


def _turns_serve(a: LayPiece, b: LayPiece) -> bool:
    """Whichever way one is turned, the other may lie as its mirror image."""
    return {-t % 360 for t in a.turns_deg} <= {t % 360 for t in b.turns_deg}


def _shift(a: LayPiece, b: LayPiece) -> tuple[float, float] | None:
    """How far b's outline lies from the mirror image of a's; None where it is not that."""
    if len(a.outline) != len(b.outline):
        return None
    image = mirrored(a.outline)
    by = b.outline.min(axis=0) - image.min(axis=0)
    there = image + by
    for start in range(len(there)):
        if np.abs(np.roll(there, -start, axis=0) - b.outline).max() < SAME_MM:
            return float(by[0]), float(by[1])
    return None


def _fits(piece: LayPiece, width_mm: float) -> bool:
    spans = [np.ptp(Placement(t, 0.0, 0.0).points(piece.outline)[:, 0]) for t in piece.turns_deg]
    return bool(min(spans) <= width_mm)


def _both(x: Placed, pairs: dict[str, tuple[LayPiece, LayPiece]], problem: LayProblem) -> tuple[Placed, Placed]:
    """A piece under the fold and its mirror image on the other layer, where both lie once the cloth is opened."""
    a, b = pairs[x.key]
    by = _shift(a, b)
    assert by is not None
    turn = -x.turn_deg % 360
    c, s = cos_sin(turn)
    du, dv = c * by[0] - s * by[1], s * by[0] + c * by[1]
    other = Placed(b.key, turn, problem.usable_width_mm - x.u_mm - du, x.v_mm - dv)
    return x, other
