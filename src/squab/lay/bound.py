"""A length that no lay can beat, by methods that share nothing with the search.

Every method leaves something out that a lay must keep, so what it shows holds for every lay; the
greatest is taken. Lays are taken as exact: a verifier's tolerances are the noise of floats, and a
lay that lives off them may undercut the bound by as little.
"""

from __future__ import annotations

import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np
import shapely

from squab.lay._arranged import arranged_bound, few_matched
from squab.lay._bars import Column, anchored_bound, bars_bound, load
from squab.lay._behind import behind_bound
from squab.lay._demand import (
    JOIN_MM,
    NOISE_MM,
    SLICES,
    TOLD_APART,
    DemandOf,
    alike,
    fewest_parts,
    is_rectangle,
    most_parts,
    on_grid,
    part_outline,
    row_step,
    turned,
    with_whole_strips,
)
from squab.lay._exact import exact_bound, few_and_rigid
from squab.lay._loads import few_kinds, load_solver, loads_bound
from squab.lay._places import places_bound
from squab.lay._scales import Scales
from squab.lay._whole import whole_bound
from squab.lay.records import Bound, LayProblem, LayStrip
from squab.plane import Points

ROUNDING_MM = 1e-5
"""Pieces that fill the width but for the rounding of floats do fit."""
LOOKED_AT_SHARE = 0.35
"""The part of the time in which the hardest of several problems is found."""
SURELY_LOOKED_AT = 4
"""So many of them at least have their share of it; bars are mostly shown in much less."""
LOADS_SHARE = 0.8
"""The part of the time left after the bars in which places across are looked through."""
ARRANGED_SHARE = 0.9
"""The part of the time left after the bars in which matched pieces are arranged in every way."""
EXACT_SHARE = 0.9
"""The part of the time after which a few rigid pieces are no longer worked out in full."""
NOTHING = Bound(0.0, "nothing to cut")


def lower_bound(problem: LayProblem, *, seconds: float, laid_mm: float | None = None) -> Bound:
    """Show a length that no lay of this problem can beat.

    Parameters
    ----------
    problem
        The lay problem; flaws and the bolt's length are left out of account.
    seconds
        How long to work. The area and the tallest piece are there at once, with nothing heavy
        loaded; at 0 seconds they are all. Loading solvers, once a process, comes on top: a second or two.
    laid_mm
        The length of a lay, where one is known: nothing as long is tried.

    Returns
    -------
    Bound
        `method` names what showed it: `area`, `tallest piece`, `bars across`, `bars along`,
        `every arrangement`, `loads across`, `places on the repeat`, `all lays` or `both ways`.

    Notes
    -----
    *Area*: pieces and gaps against the cloth. *Tallest piece*. *Bars across*: a line across the
    cloth crosses pieces that fit side by side on their places of the repeat; a linear programme
    prices them, for each anchor of the repeat alone, its prices are checked in whole numbers.
    *Bars along*: the same with lines along the cloth; the longest cloth on which they do not fit
    into the width is found by halving. *Loads across*: of pieces of few kinds a constraint solver
    shows that wherever they lie across, some line along the cloth crosses too many of them.
    *Every arrangement*: of a few pieces matched on one anchor every arrangement across is gone through, and
    programmes checked in whole numbers, or a constraint solver, show that the strips find no room in what it leaves.
    *Places on the repeat*: pieces with a place both ways have
    a few columns to lie in, and in each a place a repeat; prices on the points that they cover
    show where there are too few, and of a few dozen pieces a constraint solver does, with each
    whole in one place. *All lays*: of a few rigid rectangles a constraint solver
    excludes all shorter lays. *Both ways*: the prices of bars across and along, as new widths and
    heights, on ever longer cloths; and where pieces wait for a place on a repeat along the cloth, the prices of bars
    across as new widths, and heights with the waits that a linear programme finds, on a cloth without end.
    """
    if not problem.pieces and not problem.strips:
        return NOTHING
    problem = with_whole_strips(_known_to_hold(problem))
    best = max(_at_once(problem), key=lambda b: b.length_mm)
    if seconds <= 0:
        return best
    load()  # a machine's first compiling is not counted
    if few_kinds(problem) or few_matched(problem):
        load_solver()
    began = time.perf_counter()
    until = began + seconds
    across, places, whole, along, both = (0.8, 0.5, 0.5, 0.15, 0.7)  # of what is left, one after the other
    if _matched_along(problem):
        across, places, whole, along, both = (0.2, 0.3, 0.8, 0.1, 0.9)
    if few_and_rigid(problem):
        across = places = whole = 0.1
    elif few_kinds(problem) or few_matched(problem):
        across = 0.2

    def share(part: float) -> float:
        now = time.perf_counter()
        return now + part * (until - now)

    best = _bars_across(problem, best, share(across))
    if not few_and_rigid(problem):
        loads = loads_bound(problem, best.length_mm, share(LOADS_SHARE))
        best = _better(best, _rounded(problem, Fraction(loads)), "loads across")
    placed = places_bound(problem, best.length_mm, share(places))
    placed = whole_bound(problem, placed, share(whole))
    best = _better(best, _rounded(problem, Fraction(placed)), "places on the repeat")
    few, proved = exact_bound(problem, best.length_mm, share(EXACT_SHARE))
    best = _better(best, Fraction(few), "all lays")
    if proved:
        return best
    best = _bars_along(problem, best, share(along))
    arranged = arranged_bound(problem, best.length_mm, share(ARRANGED_SHARE), laid_mm)
    best = _better(best, Fraction(arranged), "every arrangement")
    best = _both_ways(problem, best, share(both))
    return _bars_along(problem, best, until)


def bound_of_hardest(problems: Sequence[LayProblem], *, seconds: float, laid_mm: float | None = None) -> Bound:
    """The bound of the one of several problems that seems to need the most cloth.

    For one cloth from several starts of its pattern: what has to serve each of them is as long as
    any one needs. Which one that is, the bars of each show in a part of the time, the first ones
    first. `laid_mm` is known to do for each.
    """
    if len(problems) == 1 or seconds <= 0:
        return lower_bound(problems[0], seconds=seconds, laid_mm=laid_mm)
    load()  # a machine's first compiling is not counted
    began = time.perf_counter()
    looked_at = LOOKED_AT_SHARE * seconds
    shown: list[Fraction] = []
    for problem in map(with_whole_strips, map(_known_to_hold, problems)):
        now = time.perf_counter()
        if shown and now > began + looked_at:
            break
        demand = DemandOf(problem, "across", in_parts=True).demand(problem.usable_width_mm)
        shown.append(bars_bound(demand, now + looked_at / SURELY_LOOKED_AT, apart=False).reach_mm)
    hardest = problems[max(range(len(shown)), key=lambda k: shown[k])]
    return lower_bound(hardest, seconds=seconds - (time.perf_counter() - began), laid_mm=laid_mm)


def _known_to_hold(problem: LayProblem) -> LayProblem:
    """Where the repeat creeps along the bolt, no place along it is counted on: every lay is still one of these."""
    if problem.creep is None:
        return problem
    pieces = tuple(replace(p, phase=p.phase and replace(p.phase, off_q=None)) for p in problem.pieces)
    strips = tuple(replace(s, phase=s.phase and replace(s.phase, off_q=None)) for s in problem.strips)
    return replace(problem, pieces=pieces, strips=strips, creep=None)


def _matched_along(problem: LayProblem) -> bool:
    if problem.lattice.along_mm is None:
        return False
    phases = [p.phase for p in problem.pieces] + [s.phase for s in problem.strips]
    return any(phase is not None and phase.off_q is not None for phase in phases)


def _better(best: Bound, length: Fraction, method: str) -> Bound:
    """Keep the greater; a fraction becomes the float just under it."""
    as_float = float(length)
    if Fraction(as_float) > length:
        as_float = math.nextafter(as_float, -math.inf)
    return Bound(as_float, method) if as_float > best.length_mm else best


# -- at once ----------------------------------------------------------------------------------


def _at_once(problem: LayProblem) -> Iterator[Bound]:
    yield Bound(0.0, "area")
    yield _better(NOTHING, _rounded(problem, _area(problem)), "area")
    yield _better(NOTHING, _tallest(problem), "tallest piece")


def _area(problem: LayProblem) -> Fraction:
    """Everything thought larger by its share of the gap, in a cloth larger by the gap."""
    gap = problem.gap_mm
    pieces = alike(problem.pieces)
    square = {
        id(p): all(is_rectangle(turned(p.outline, t)) for t in p.turns_deg) for p, _ in pieces
    } | {id(s): all(t % 90 == 0 for t in s.turns_deg) for s in problem.strips}  # fmt: skip
    # Beside a rectangle thought larger with square corners, a round one may reach only so far.
    round_mm = gap * (1 - math.sqrt(0.5)) if any(square.values()) else gap / 2
    total = 0.0
    for piece, count in pieces:
        if square[id(piece)]:
            x, y = piece.outline.max(axis=0) - piece.outline.min(axis=0)
            total += count * float((x + gap) * (y + gap))
        else:
            total += count * float(shapely.Polygon(piece.outline).buffer(round_mm).area)
    for strip in problem.strips:
        total += _strip_area(strip, problem.usable_width_mm, gap if square[id(strip)] else 0.0)
    noise = 1 - 1e-12
    return Fraction(total * noise / (problem.usable_width_mm + gap) - gap)


def _strip_area(strip: LayStrip, width_mm: float, gap: float) -> float:
    parts = fewest_parts(strip, width_mm)
    return (strip.s1_mm - strip.s0_mm + parts * (2 * strip.end_mm + gap)) * (strip.z1_mm - strip.z0_mm + gap)


def _tallest(problem: LayProblem) -> Fraction:
    heights = [0.0]
    for piece in problem.pieces:
        heights.append(min(_height(piece.outline, t) for t in piece.turns_deg))
    for strip in problem.strips:
        # However it is divided, one part is at least the mean of as many as there may be.
        longest = (strip.s1_mm - strip.s0_mm) / most_parts(strip)
        part = part_outline(strip, 0.0, max(0.0, longest - JOIN_MM))
        heights.append(min(_height(part, t) for t in strip.turns_deg))
    return Fraction(max(heights) - 1e-9)


def _height(xy: Points, turn_deg: float) -> float:
    return float(np.ptp(turned(xy, turn_deg)[:, 1]))


# -- whole millimetres ------------------------------------------------------------------------


def _rounded(problem: LayProblem, length: Fraction) -> Fraction:
    """Rounded up to the grid where every lay can be moved down onto it without getting longer.

    Without strips, and with every size along on the grid, the places along of any lay may be
    rounded down: neighbours stay clear, matched pieces stay matched. So the least length is on
    the grid.
    """
    for step in (1.0, 25.4 / 16, 25.4 / 32):
        if _all_on_grid(problem, step):
            exact = Fraction(step)
            return math.ceil((length - Fraction(1, 10**7)) / exact) * exact
    return length


def _all_on_grid(problem: LayProblem, step: float) -> bool:
    if problem.strips or not on_grid(problem.gap_mm, step):
        return False
    period = row_step(problem.lattice.across_mm, problem.lattice.along_mm, problem.lattice.drop_mm)
    for piece, _ in alike(problem.pieces):
        for turn in piece.turns_deg:
            uv = turned(piece.outline, turn)
            low, high = float(uv[:, 1].min()), float(uv[:, 1].max())
            if not is_rectangle(uv) or not on_grid(high - low, step):
                return False
            phase = piece.phase
            if phase is None or phase.off_q is None or problem.lattice.along_mm is None:
                continue
            if phase.sign_q != 1 or period is None:
                return False
            pinned = problem.anchors.get(phase.group, (None, None))[1] or 0.0
            at = phase.off_q + pinned + (problem.pattern_at[1] or 0.0) + low
            if not on_grid(period, step) or not on_grid(at, step):
                return False
    return True


# -- bars across ------------------------------------------------------------------------------

FINER = (1, 3, 5, 8)
"""By how much outlines are sliced finer and finer, where there is time."""


def _bars_across(problem: LayProblem, best: Bound, until: float) -> Bound:
    build = DemandOf(problem, "across", in_parts=True)
    if not build.sliced:
        demand, known = build.demand(problem.usable_width_mm), list[Column]()
        shown = bars_bound(demand, until, start=known)
        best = _better(best, _rounded(problem, shown.reach_mm), "bars across")
        best = _better(best, _rounded(problem, behind_bound(build, demand, shown, known, until)), "both ways")
        best = _better(best, _rounded(problem, anchored_bound(demand, until, shown)), "bars across")
        return _with_strips_within(problem, best, until)
    for finer in FINER:  # measured: finer slices show more than anchors told apart, and sooner
        demand = DemandOf(problem, "across", SLICES * finer, in_parts=True).demand(problem.usable_width_mm)
        best = _better(best, _rounded(problem, bars_bound(demand, until, apart=False).reach_mm), "bars across")
        if time.perf_counter() > until:
            break
    return best


LONGER_BY = (1.05, 1.01, 1.003)
"""Cloths tried on which strips that may stand stand."""


def _with_strips_within(problem: LayProblem, best: Bound, until: float) -> Bound:
    """On a cloth of a given length no part that stands is longer: more of them, and more of their ends.

    Either the lay is longer than that cloth, or it is as long as bars show for it.
    """
    either = [s.s1_mm - s.s0_mm for s in problem.strips if len({t % 180 for t in s.turns_deg}) == 2]
    if max(either, default=0.0) <= best.length_mm or len(problem.strips) > TOLD_APART:
        return best
    for longer in LONGER_BY:
        within = best.length_mm * longer
        if time.perf_counter() > until:
            break
        demand = DemandOf(problem, "across", in_parts=True, within_mm=within).demand(problem.usable_width_mm)
        reach = bars_bound(demand, until, lambda reach, within=within: reach > within, apart=False).reach_mm  # type: ignore[misc]
        best = _better(best, _rounded(problem, min(reach, Fraction(within))), "bars across")
    return best


# -- bars along -------------------------------------------------------------------------------

LONGEST_BAR_MM = 8000.0
"""Bars along are tried on lays up to this long: on longer ones they never decide."""


def _bars_along(problem: LayProblem, best: Bound, until: float) -> Bound:
    """Find the longest cloth on whose width bars along do not fit, by halving a stretch that may move on."""
    if best.length_mm > LONGEST_BAR_MM:
        return best
    build = DemandOf(problem, "along")
    step = build.demand(best.length_mm).step_mm
    width = Fraction(problem.usable_width_mm) + Fraction(ROUNDING_MM)
    low = math.floor((best.length_mm + build.on_bar) / step)
    high = highest = low + max(2, math.ceil(low * 0.25))
    while high - low > 1 and time.perf_counter() < until:
        steps = (low + high) // 2
        # All lays shorter than the next step, at once.
        next_step = steps * step + step
        demand = build.demand(next_step - NOISE_MM * 4 - build.on_bar)
        shown = bars_bound(demand, until, enough=lambda reach: reach > width)
        if shown.reach_mm > width:
            low = steps
            best = _better(best, Fraction(next_step) - Fraction(build.on_bar), "bars along")
            if high - low == 1 and high == highest:
                high = highest = low + max(2, math.ceil(low * 0.25))
        else:
            high = steps
    return best


# -- both ways at once ------------------------------------------------------------------------

LONGEST_SCALED_MM = 40_000.0
"""Both ways are tried on cloths up to this long."""
FIRST_GAIN, MOST_GAIN = 0.005, 0.25
LEAST_GAIN = 0.002
"""A cloth longer by such a part of the best bound is tried first, at the most, and last."""
PATIENCE_S, MORE_PATIENCE = 0.5, 4.0
"""Seconds for each cloth in the first round, and how many times more in the next."""


def _both_ways(problem: LayProblem, best: Bound, until: float) -> Bound:
    """Try longer and longer cloths: by greater gains as long as that goes, then by smaller and smaller ones.

    That a cloth is too short shows soon, or it shows late or never: so each is given little time at first, and more
    once all gains have been tried.
    """
    patience, scales = PATIENCE_S, Scales(problem)
    while time.perf_counter() < until:
        gain, more, cut_short = FIRST_GAIN, 2.0, False
        while gain > LEAST_GAIN and (now := time.perf_counter()) < until:
            room = best.length_mm * (1 + gain)
            if room <= LONGEST_SCALED_MM and scales.too_short(room, min(until, now + patience)):
                best = _better(best, _rounded(problem, Fraction(room)), "both ways")
                gain = min(gain * more, MOST_GAIN)
            else:
                cut_short = cut_short or time.perf_counter() > now + patience
                gain, more = gain / 2, 1.0
        if not cut_short:
            break
        patience *= MORE_PATIENCE
    return best
