"""Check a lay against its problem, knowing nothing of how the lay was made.

Everything is taken from the problem as it stands, on its own unrounded outlines: no grid, no
offsets prepared beforehand, no help from whoever made the lay. A lay that fails here is a fault
of the program, never a sheet.

The gap is kept between any two pieces as the shortest distance. Between two rectangles that lie
square with the cloth it is kept squared: across or along, not only from corner to corner,
because a knife run along one edge goes on a little past the corner.
"""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from squab.lay.records import Fault, Fold, Lattice, Lay, LayPhase, LayProblem, LayStrip, Placed
from squab.plane import Placement, Points

TOUCH_MM = 1e-3
"""Pieces that overlap, edges that are passed, parts that miss one another by less than this are
said to touch: far above the rounding of floats over 100 m of cloth, far under a chalk line."""
PHASE_MM = 1e-2
"""A place on the pattern may be off by this: room for the rounding of a hundred repeats added
up, a two-hundredth of the 2 mm that a matched front seam is allowed."""
LONGER_MM = 0.1
"""A lay may call itself longer than its last cut edge by this, as when it is rounded up to the
next tenth; shorter only by `TOUCH_MM`."""
FOLDED_MM = 0.05
"""Two outlines under a fold differ by no more than what they are taken for mirror images at."""
_DROPS = 24
"""Columns looked at where a piece is matched along a dropped repeat but not across it."""


@dataclass(frozen=True)
class _Cut:
    """One placed outline on the cloth. `square` says it is a rectangle square with the cloth."""

    placed: Placed
    polygon: BaseGeometry
    bounds: tuple[float, float, float, float]
    square: bool


def verify(problem: LayProblem, lay: Lay) -> tuple[Fault, ...]:
    """List everything that is wrong with a lay; nothing when it is sound.

    Returns
    -------
    tuple of Fault
        In a fixed order: what is placed, then strips, turns, phases, then the geometry. `amount_mm`
        is by how much, where that means something. `kind` is one of `unknown piece`, `missing`,
        `twice`, `number`, `outline`, `part of a piece`, `part not said`, `part outside the strip`,
        `strip gap`, `strip double`, `part too short`, `join outside its window`, `too few parts`, `too many parts`,
        `turn`, `anchor`, `pattern start`, `phase`, `outside the width`, `before the cut end`,
        `past the bolt`, `length`, `flaw`, `overlap`, `gap`.

    Notes
    -----
    Lays that are exact pass, and so do those within `TOUCH_MM` and `PHASE_MM` of one. Cost grows
    with the pieces and their near neighbours: a thousand pieces take well under a second.
    """
    known, faults = _known(problem, lay)
    faults += _all_there(problem, known)
    parts: defaultdict[str, list[Placed]] = defaultdict(list)
    for p in known:
        parts[p.key].append(p)
    for strip in problem.strips:
        faults += _strip_faults(strip, parts[strip.key])
    faults += _turn_faults(problem, known)
    faults += _start_faults(problem, lay)
    faults += _phase_faults(problem, lay, known)
    cuts = _cuts(problem, known)
    faults += _edge_faults(problem, lay, cuts)
    faults += _flaw_faults(problem, cuts)
    faults += _neighbour_faults(problem.gap_mm, cuts)
    return tuple(faults)


def verify_fold(problem: LayProblem, lay: Lay, fold: Fold) -> tuple[Fault, ...]:
    """List what is wrong with a lay that is cut double as far as `fold` says.

    Returns
    -------
    tuple of Fault
        `kind` is `not mirrored` (two pieces of a pair do not lie on one another), `across the fold`,
        `beyond the fold` (a pair lies where the cloth is not folded) or `twice` (a piece of two pairs).
    """
    known, _ = _known(problem, lay)
    cuts = {id(c.placed): c for c in _cuts(problem, known)}
    by_number = [cuts.get(id(p)) for p in lay.placed]
    middle, faults = problem.usable_width_mm / 2, []
    for a, b in fold.pairs:
        one, other = by_number[a], by_number[b]
        if one is None or other is None:
            continue
        keys = (one.placed.key, other.placed.key)
        image = shapely.transform(one.polygon, lambda uv: np.column_stack((2 * middle - uv[:, 0], uv[:, 1])))
        off = float(shapely.hausdorff_distance(image, other.polygon))
        if off > FOLDED_MM:
            faults.append(Fault("not mirrored", keys, f"{keys[0]} and {keys[1]} lie {off:.2f} mm off one another", off))
        for lies in (one, other):
            key, (u0, _, u1, v1) = lies.placed.key, lies.bounds
            if u0 < middle - TOUCH_MM and u1 > middle + TOUCH_MM:
                faults.append(Fault("across the fold", (key,), f"{key} lies across the fold"))
            if v1 > fold.until_mm + TOUCH_MM:
                faults.append(Fault("beyond the fold", (key,), f"{key} lies where the cloth is not folded"))
    for k, n in Counter(k for pair in fold.pairs for k in pair).items():
        if n > 1:
            key = lay.placed[k].key
            faults.append(Fault("twice", (key,), f"{key} is in {n} pairs"))
    return tuple(faults)


# -- what is placed ---------------------------------------------------------------------------


def _known(problem: LayProblem, lay: Lay) -> tuple[list[Placed], list[Fault]]:
    """The placements that can be looked at at all, and faults for the others."""
    pieces, strips = {p.key: p.outline for p in problem.pieces}, {s.key for s in problem.strips}
    whole: dict[int, bool] = {}
    known, faults = [], []
    for p in lay.placed:
        numbers = (p.u_mm, p.v_mm, float(p.turn_deg), *(p.part_mm or ()))
        if p.key not in pieces and p.key not in strips:
            faults.append(Fault("unknown piece", (p.key,), f"{p.key} is laid but nothing asks for it"))
        elif not all(math.isfinite(x) for x in numbers):
            faults.append(Fault("number", (p.key,), f"{p.key} lies at no place that can be measured"))
        elif p.key in pieces and not _is_outline(pieces[p.key], whole):
            faults.append(Fault("outline", (p.key,), f"{p.key} has an outline that crosses itself or holds no cloth"))
        elif p.key in pieces and p.part_mm is not None:
            faults.append(Fault("part of a piece", (p.key,), f"{p.key} is cut whole, but a part of it is laid"))
        elif p.key in strips and p.part_mm is None:
            faults.append(Fault("part not said", (p.key,), f"{p.key} is a strip, but the part laid is not said"))
        else:
            known.append(p)
    return known, faults


def _is_outline(outline: Points, seen: dict[int, bool]) -> bool:
    """Tell whether an outline can be cut; many pieces share one."""
    if id(outline) not in seen:
        sound = outline.ndim == 2 and len(outline) >= 3 and bool(np.isfinite(outline).all())
        polygon = shapely.Polygon(outline) if sound else shapely.Polygon()
        seen[id(outline)] = bool(polygon.is_valid and polygon.area > 0)
    return seen[id(outline)]


def _all_there(problem: LayProblem, known: Iterable[Placed]) -> Iterator[Fault]:
    count = Counter(p.key for p in known)
    for piece in problem.pieces:
        n = count[piece.key]
        if n == 0:
            yield Fault("missing", (piece.key,), f"{piece.key} is not laid")
        elif n > 1:
            yield Fault("twice", (piece.key,), f"{piece.key} is laid {n} times, asked for once")
    for strip in problem.strips:
        if count[strip.key] == 0:
            yield Fault("missing", (strip.key,), f"no part of the strip {strip.key} is laid")


def _strip_faults(strip: LayStrip, parts: list[Placed]) -> Iterator[Fault]:
    """Parts must tile the strip, be long enough, not too many, and meet where a join may stand."""
    if not parts:
        return
    ends = sorted(p.part_mm for p in parts if p.part_mm is not None)
    key = (strip.key,)
    if ends[0][0] < strip.s0_mm - TOUCH_MM or max(b for _, b in ends) > strip.s1_mm + TOUCH_MM:
        yield Fault("part outside the strip", key, f"{strip.key}: a part runs beyond the strip's own ends")
    reached = strip.s0_mm
    for a, b in ends:
        yield from _meeting_faults(strip, reached, a)
        shortest = min(strip.least_part_mm, strip.s1_mm - strip.s0_mm)
        if b - a < shortest - TOUCH_MM:
            said = f"{strip.key}: a part of {b - a:.2f} mm, at least {shortest:.2f} mm is allowed"
            yield Fault("part too short", key, said, shortest - (b - a))
        reached = max(reached, b)
    if reached < strip.s1_mm - TOUCH_MM:
        yield Fault("strip gap", key, f"{strip.key}: {strip.s1_mm - reached:.2f} mm missing at its end")
    if len(parts) < strip.least_parts:
        yield Fault(
            "too few parts", key, f"{strip.key}: {len(parts)} parts, at least {strip.least_parts} are asked for"
        )
    if len(parts) > strip.most_parts:
        yield Fault("too many parts", key, f"{strip.key}: {len(parts)} parts, at most {strip.most_parts} are allowed")


def _meeting_faults(strip: LayStrip, reached: float, start: float) -> Iterator[Fault]:
    """What is wrong where one part ends and the next starts (or where the first one starts)."""
    key = (strip.key,)
    if start > reached + TOUCH_MM:
        yield Fault("strip gap", key, f"{strip.key}: nothing covers {reached:.2f} to {start:.2f} mm", start - reached)
    elif start < reached - TOUCH_MM and start >= strip.s0_mm - TOUCH_MM:
        said = f"{strip.key}: {start:.2f} to {reached:.2f} mm is cut twice"
        yield Fault("strip double", key, said, reached - start)
    is_join = start > strip.s0_mm + TOUCH_MM
    if is_join and strip.windows is not None and not _in_window(start, strip.windows):
        yield Fault("join outside its window", key, f"{strip.key}: a join at {start:.2f} mm stands in no window")


def _in_window(at: float, windows: Iterable[tuple[float, float]]) -> bool:
    return any(a - TOUCH_MM <= at <= b + TOUCH_MM for a, b in windows)


# -- grain, nap and pattern -------------------------------------------------------------------


def _turn_faults(problem: LayProblem, known: Iterable[Placed]) -> Iterator[Fault]:
    allowed = {p.key: p.turns_deg for p in problem.pieces} | {s.key: s.turns_deg for s in problem.strips}
    for p in known:
        if p.turn_deg % 360 not in {t % 360 for t in allowed[p.key]}:
            ways = ", ".join(str(t) for t in allowed[p.key])
            yield Fault("turn", (p.key,), f"{p.key} is turned by {p.turn_deg} degrees, allowed are {ways}")


def pattern_misfit_mm(lattice: Lattice, dp: float | None, dq: float | None) -> float:
    """How far a shift (dp, dq) of the pattern is from one that leaves it as it was, mm.

    None, or a direction in which the pattern does not repeat, does not count. Where only the
    way along counts on a dropped repeat, any column will do.
    """
    across = lattice.across_mm if dp is not None else None
    along = lattice.along_mm if dq is not None else None
    if across is not None and dp is not None:
        m = round(dp / across)
        off_p = abs(dp - m * across)
        off_q = _off_mm(dq - m * lattice.drop_mm, along) if along is not None and dq is not None else 0.0
        return max(off_p, off_q)
    if along is not None and dq is not None:
        columns = range(_DROPS) if lattice.across_mm is not None and lattice.drop_mm else range(1)
        return min(_off_mm(dq - m * lattice.drop_mm, along) for m in columns)
    return 0.0


def _off_mm(x: float, period: float) -> float:
    return abs(x - round(x / period) * period)


def _start_faults(problem: LayProblem, lay: Lay) -> Iterator[Fault]:
    """The pattern must start where it was measured, and pinned anchors be where they are pinned."""
    wanted, got = problem.pattern_at, lay.pattern_at
    if not all(math.isfinite(x) for x in got):
        yield Fault("pattern start", (), "the pattern starts at no place that can be measured")
        return
    off = pattern_misfit_mm(problem.lattice, *_differences(got, wanted))
    if off > PHASE_MM:
        yield Fault("pattern start", (), f"the pattern starts {off:.2f} mm from where it was measured", off)
    for group, pinned in sorted(problem.anchors.items()):
        if group in lay.anchors:
            off = pattern_misfit_mm(problem.lattice, *_differences(lay.anchors[group], pinned))
            if not off <= PHASE_MM:
                said = f"group {group} stands {off:.2f} mm from the line it is pinned to"
                yield Fault("anchor", (group,), said, off)


def _differences(
    got: tuple[float, float], wanted: tuple[float | None, float | None]
) -> tuple[float | None, float | None]:
    du = None if wanted[0] is None else got[0] - wanted[0]
    dv = None if wanted[1] is None else got[1] - wanted[1]
    return du, dv


def _phase_faults(problem: LayProblem, lay: Lay, known: Iterable[Placed]) -> Iterator[Fault]:
    """Every matched piece must lie where its group's anchor and its own offset put it."""
    if not all(math.isfinite(x) for x in lay.pattern_at):
        return
    phases: dict[str, LayPhase | None] = {p.key: p.phase for p in problem.pieces}
    phases |= {s.key: s.phase for s in problem.strips}
    for p in known:
        phase = phases[p.key]
        if phase is None or not _counts(problem.lattice, phase):
            continue
        anchor = _anchor(problem, lay, phase.group)
        if anchor is None:
            yield Fault("anchor", (phase.group, p.key), f"{p.key} belongs to group {phase.group}, which has no anchor")
            continue
        off = pattern_misfit_mm(problem.lattice, *_shift(phase, anchor, _on_pattern(problem, phase, p, lay)))
        if not off <= PHASE_MM:
            yield Fault("phase", (p.key,), f"{p.key} lies {off:.2f} mm from its place on the pattern", off)


def _counts(lattice: Lattice, phase: LayPhase) -> bool:
    across = lattice.across_mm is not None and phase.off_p is not None
    return across or (lattice.along_mm is not None and phase.off_q is not None)


def _anchor(problem: LayProblem, lay: Lay, group: str) -> tuple[float, float] | None:
    """The group's anchor: as pinned where it is pinned, else as the lay says; None if it says nothing."""
    said = lay.anchors.get(group)
    a, b = problem.anchors.get(group, (None, None))
    if a is not None and b is not None:
        return a, b
    if said is None or not all(math.isfinite(x) for x in said):
        return None
    return (said[0] if a is None else a, said[1] if b is None else b)


def _on_pattern(problem: LayProblem, phase: LayPhase, p: Placed, lay: Lay) -> tuple[float, float]:
    """Where a placement's own origin stands on the pattern, (p, q).

    Where the repeat creeps it is judged at the place that the phase names: what the pattern truly
    shows there, less the way from it to the origin.
    """
    at_p = p.u_mm - lay.pattern_at[0]
    if problem.creep is None:
        return at_p, p.v_mm - lay.pattern_at[1]
    up = Placement(p.turn_deg, 0.0, 0.0).point(phase.at_mm)[1]
    return at_p, float(problem.creep.pattern_mm(p.v_mm + up)) - up


def _shift(
    phase: LayPhase, anchor: tuple[float, float], on_pattern: tuple[float, float]
) -> tuple[float | None, float | None]:
    """How far a placement is, across and along, from where its phase says."""
    dp = None if phase.off_p is None else on_pattern[0] - phase.sign_p * anchor[0] - phase.off_p
    dq = None if phase.off_q is None else on_pattern[1] - phase.sign_q * anchor[1] - phase.off_q
    return dp, dq


# -- geometry ---------------------------------------------------------------------------------


def _cuts(problem: LayProblem, known: Iterable[Placed]) -> list[_Cut]:
    outlines = {p.key: p.outline for p in problem.pieces}
    strips = {s.key: s for s in problem.strips}
    cuts = []
    for p in known:
        local = outlines[p.key] if p.key in outlines else _part_outline(strips[p.key], p)
        xy = Placement(p.turn_deg, p.u_mm, p.v_mm).points(local)
        polygon = shapely.Polygon(xy)
        bounds = (float(xy[:, 0].min()), float(xy[:, 1].min()), float(xy[:, 0].max()), float(xy[:, 1].max()))
        cuts.append(_Cut(p, polygon, bounds, _is_square(float(polygon.area), bounds)))
    return cuts


def _part_outline(strip: LayStrip, p: Placed) -> Points:
    assert p.part_mm is not None
    a, b = p.part_mm[0] - strip.end_mm, p.part_mm[1] + strip.end_mm
    return np.array([(a, strip.z0_mm), (b, strip.z0_mm), (b, strip.z1_mm), (a, strip.z1_mm)], dtype=np.float64)


def _is_square(area: float, bounds: tuple[float, float, float, float]) -> bool:
    box = (bounds[2] - bounds[0]) * (bounds[3] - bounds[1])
    return box > 0 and abs(area - box) <= 1e-9 * box


def _edge_faults(problem: LayProblem, lay: Lay, cuts: Iterable[_Cut]) -> Iterator[Fault]:
    last = 0.0
    for c in cuts:
        key, (u0, v0, u1, v1) = c.placed.key, c.bounds
        out = max(-u0, u1 - problem.usable_width_mm)
        if out > TOUCH_MM:
            yield Fault("outside the width", (key,), f"{key} lies {out:.2f} mm outside the usable width", out)
        if -v0 > TOUCH_MM:
            yield Fault("before the cut end", (key,), f"{key} lies {-v0:.2f} mm before the cut end", -v0)
        if problem.bolt_mm is not None and v1 > problem.bolt_mm + TOUCH_MM:
            over = v1 - problem.bolt_mm
            yield Fault("past the bolt", (key,), f"{key} lies {over:.2f} mm past the end of the bolt", over)
        last = max(last, v1)
    if not last - TOUCH_MM <= lay.length_mm <= last + LONGER_MM:
        said = f"the lay calls itself {lay.length_mm:.2f} mm long, its last cut edge is at {last:.2f} mm"
        yield Fault("length", (), said, abs(lay.length_mm - last))


def _flaw_faults(problem: LayProblem, cuts: Iterable[_Cut]) -> Iterator[Fault]:
    flaws = [(f, shapely.Polygon(f.corners)) for f in problem.flaws]
    for c in cuts:
        for flaw, where in flaws:
            depth = _depth_mm(c.polygon, where)
            if depth > TOUCH_MM:
                said = f"{c.placed.key} lies on a {flaw.what} at {flaw.u0_mm:.0f}, {flaw.v0_mm:.0f} mm"
                yield Fault("flaw", (c.placed.key,), said, depth)


def _depth_mm(a: BaseGeometry, b: BaseGeometry) -> float:
    """How deep two outlines run into one another: about the narrow side of what they share."""
    shared = shapely.intersection(a, b)
    parts = [g for g in shapely.get_parts(shared) if g.area > 0]
    return max((2 * g.area / g.length for g in parts), default=0.0)


def _neighbour_faults(gap_mm: float, cuts: list[_Cut]) -> Iterator[Fault]:
    """Overlaps, and neighbours nearer than the gap."""
    if len(cuts) < 2:
        return
    polygons = [c.polygon for c in cuts]
    # Squared gaps reach further from corner to corner than the gap itself.
    pairs = shapely.STRtree(polygons).query(polygons, predicate="dwithin", distance=gap_mm * math.sqrt(2) + TOUCH_MM)
    for i, j in sorted(zip(pairs[0].tolist(), pairs[1].tolist(), strict=True)):
        if i < j:
            yield from _pair_faults(gap_mm, cuts[i], cuts[j])


def _pair_faults(gap_mm: float, a: _Cut, b: _Cut) -> Iterator[Fault]:
    keys = (a.placed.key, b.placed.key)
    depth = _square_depth_mm(a, b) if a.square and b.square else _depth_mm(a.polygon, b.polygon)
    if depth > TOUCH_MM:
        yield Fault("overlap", keys, f"{keys[0]} and {keys[1]} overlap by {depth:.2f} mm", depth)
        return
    between = _clear_mm(a, b)
    if between < gap_mm - TOUCH_MM:
        said = f"{keys[0]} and {keys[1]} lie {between:.2f} mm apart, a gap of {gap_mm:.2f} mm must be kept"
        yield Fault("gap", keys, said, gap_mm - between)


def _square_depth_mm(a: _Cut, b: _Cut) -> float:
    return max(0.0, -_clear_mm(a, b))


def _clear_mm(a: _Cut, b: _Cut) -> float:
    if a.square and b.square:
        (au0, av0, au1, av1), (bu0, bv0, bu1, bv1) = a.bounds, b.bounds
        return max(bu0 - au1, au0 - bu1, bv0 - av1, av0 - bv1)
    return float(shapely.distance(a.polygon, b.polygon))
