"""What leaves a pattern as it was: its lattice, the ways in which it does not change, its mirrors and half turns.

Frame: the pattern's own, (p, q): p across the bolt, q along it. A drift (dp, dq) is what is left
of a difference of two places when the pattern's lattice has been taken out of it, wrapped to
(-P/2, P/2].
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
import numpy.typing as npt

from squab.cloth import Pattern, Stripe

Floats = npt.NDArray[np.float64]
Way = Literal["p", "q"]

SAME_MM = 1e-4
"""Two places of a pattern nearer than this are one: far under what cloth can show."""


def wrap(length_mm: float, period_mm: float) -> float:
    """Take whole periods out of a length: what is left lies in (-period/2, period/2].

    >>> wrap(1190, 130)
    20.0
    """
    return float(-((-length_mm + period_mm / 2) % period_mm - period_mm / 2))


def wrap_all(lengths_mm: Floats, period_mm: float) -> Floats:
    """Wrap many lengths to (-period/2, period/2]."""
    wrapped: Floats = -((-lengths_mm + period_mm / 2) % period_mm - period_mm / 2)
    return wrapped


@dataclass(frozen=True, slots=True)
class Symmetry:
    """A map (p, q) to (sign_p p + shift_p, sign_q q + shift_q) that leaves the pattern as it was."""

    sign_p: int = 1
    sign_q: int = 1
    shift_p: float = 0.0
    shift_q: float = 0.0

    @property
    def is_identity(self) -> bool:
        """Tell whether nothing is turned over."""
        return self.sign_p == self.sign_q == 1 and not self.shift_p and not self.shift_q


IDENTITY = Symmetry()


@dataclass(frozen=True, slots=True)
class Repeat:
    """The lattice (across, drop), (0, along) of a pattern; None where it does not change.

    The drop is held in [0, along). With no repeat across or none along there is no drop.
    """

    across_mm: float | None = None
    along_mm: float | None = None
    drop_mm: float = 0.0

    @property
    def has_drop(self) -> bool:
        """Tell whether a step of one repeat across also steps along."""
        return min(self.drop_mm, (self.along_mm or 0.0) - self.drop_mm) > SAME_MM

    @property
    def steps_to_level(self) -> int:
        """How many repeats across bring the pattern back to its own level (1 straight, 2 half drop)."""
        if not self.has_drop or self.along_mm is None:
            return 1
        for steps in range(2, 61):
            if abs(wrap(self.drop_mm * steps, self.along_mm)) < SAME_MM * steps:
                return steps
        return 60

    def modulus(self, way: Way) -> float | None:
        """The period of the pattern where only one way is looked at; None where it does not change.

        Along a bolt with a drop that is the greatest common divisor of drop and repeat.
        """
        if way == "p" or self.along_mm is None:
            return self.across_mm if way == "p" else None
        return self.along_mm / self.steps_to_level

    def reduced(self, dp: Floats, dq: Floats) -> tuple[Floats, Floats]:
        """Take the nearest lattice point from each (dp, dq); what remains is the drift both ways."""
        if self.across_mm is None or self.along_mm is None or not self.has_drop:
            return (
                wrap_all(dp, self.across_mm) if self.across_mm else np.zeros_like(dp),
                wrap_all(dq, self.along_mm) if self.along_mm else np.zeros_like(dq),
            )
        return _less_nearest(dp, dq, *self._short_basis())

    def _short_basis(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """Lagrange's reduction of the lattice's basis to its two shortest steps."""
        assert self.across_mm is not None
        assert self.along_mm is not None
        a, b = (self.across_mm, wrap(self.drop_mm, self.along_mm)), (0.0, self.along_mm)
        while True:
            if math.hypot(*a) > math.hypot(*b):
                a, b = b, a
            times = round((a[0] * b[0] + a[1] * b[1]) / (a[0] ** 2 + a[1] ** 2))
            if not times:
                return a, b
            b = (b[0] - times * a[0], b[1] - times * a[1])


def _less_nearest(dp: Floats, dq: Floats, a: tuple[float, float], b: tuple[float, float]) -> tuple[Floats, Floats]:
    area = a[0] * b[1] - a[1] * b[0]
    m0, n0 = np.round((dp * b[1] - dq * b[0]) / area), np.round((dq * a[0] - dp * a[1]) / area)
    best_p, best_q = dp - m0 * a[0] - n0 * b[0], dq - m0 * a[1] - n0 * b[1]
    near_p, near_q = best_p, best_q
    for i, j in itertools.product((-1, 0, 1), repeat=2):
        p, q = near_p - i * a[0] - j * b[0], near_q - i * a[1] - j * b[1]
        nearer = np.hypot(p, q) < np.hypot(best_p, best_q) - 1e-9
        best_p, best_q = np.where(nearer, p, best_p), np.where(nearer, q, best_q)
    return best_p, best_q


def repeat_of(pattern: Pattern) -> Repeat:
    """The lattice of a pattern."""
    across, along = pattern.repeat_across_mm, pattern.repeat_along_mm
    return Repeat(across, along, pattern.drop_mm % along if across and along else 0.0)


def symmetries(pattern: Pattern) -> tuple[Symmetry, ...]:
    """The pattern's symmetries, one of each kind up to its lattice, the identity first.

    A mirror is left out where it would not leave a drop as it was.
    """
    repeat = repeat_of(pattern)
    found = [IDENTITY]
    along = pattern.kind == "weft_stripe"
    for axis in pattern.mirror_axes if repeat.steps_to_level <= 2 else ():
        found.append(Symmetry(1, -1, 0.0, 2 * axis) if along else Symmetry(-1, 1, 2 * axis, 0.0))
    if pattern.kind == "print" and pattern.half_turn_same:
        found += [Symmetry(-m.sign_p, -m.sign_q, m.shift_p, m.shift_q) for m in list(found)]
    once: list[Symmetry] = []
    for s in found:
        if not any(_same(s, t, repeat) for t in once):
            once.append(s)
    return tuple(once)


def _same(s: Symmetry, t: Symmetry, repeat: Repeat) -> bool:
    if (s.sign_p, s.sign_q) != (t.sign_p, t.sign_q):
        return False
    dp, dq = repeat.reduced(np.array([s.shift_p - t.shift_p]), np.array([s.shift_q - t.shift_q]))
    return float(np.hypot(dp, dq)[0]) < SAME_MM


def ways_that_change(pattern: Pattern) -> tuple[Way, ...]:
    """The directions in which the pattern differs from place to place."""
    ways: list[Way] = ["p"] if pattern.changes_across else []
    return (*ways, "q") if pattern.changes_along else tuple(ways)


def stripe_at(pattern: Pattern, place_mm: float) -> Stripe:
    """The stripe at a place of a striped pattern (p of a warp stripe, q of a weft stripe)."""
    rest = place_mm % sum(s.width_mm for s in pattern.stripes)
    for stripe in pattern.stripes:
        if rest < stripe.width_mm:
            return stripe
        rest -= stripe.width_mm
    return pattern.stripes[-1]


def best_reflection(pattern: Pattern) -> tuple[float, float]:
    """Find the shift at which a stripe laid against its own mirror image shows the least misfit.

    The mirror image of place x is shift - x. Returns the shift (mm) and the share of the
    repeat, 0 to 1, on which the colours still differ there; 0 for an even stripe. The misfit
    is piecewise linear in the shift with its knees where two colour edges meet, so only those
    shifts are tried.
    """
    edges = pattern.stripe_edges
    total = sum(s.width_mm for s in pattern.stripes)
    best = (0.0, 1.0)
    for shift in sorted({round((a + b) % total, 9) for a in edges for b in edges}):
        knees = sorted({*(e % total for e in edges), *((shift - e) % total for e in edges), 0.0, total})
        differs = sum(
            b - a
            for a, b in itertools.pairwise(knees)
            if b - a > 1e-9 and stripe_at(pattern, (a + b) / 2).colour != stripe_at(pattern, shift - (a + b) / 2).colour
        )
        if differs / total < best[1] - 1e-12:
            best = (shift, differs / total)
    return best
