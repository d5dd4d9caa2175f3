"""Check that what is laid makes up the covers that were constructed, and meets as was promised.

The lay's own verifier knows nothing of cushions. This one knows nothing of the lay's problem: it
goes from the covers to the pieces as they lie on the cloth, and measures.
"""

from __future__ import annotations

import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Literal

import numpy as np
import numpy.typing as npt
import shapely

from squab.cloth import Cloth, Creep, Pattern
from squab.construct.records import Construction, CushionCover, Notch, Piece, Seam, SeamEnd, Strip
from squab.job import Job
from squab.lay.records import ClothPlan, Fault, Placed
from squab.match import drift_along
from squab.match.records import MatchPlan, SeamDrift
from squab.plane import Path, Placement

SEWN_MM = 0.1
"""Two seam lengths, or two notches, that differ by less than this are sewn as equal."""
ON_SEAM_MM = 0.5
"""A notch nearer to a seam line than this stands on it."""
DRIFT_MM = 0.05
"""A drift may be measured larger than promised by this: samples along a curve, and the lay's own
tolerance on both pieces; a fortieth of the 2 mm that a matched front seam is allowed."""
OUTLINE_MM = 0.25
"""A laid outline may differ from the cut line by this, which is what flattening an arc takes."""


def verify_cover(
    job: Job, construction: Construction, match: MatchPlan, plans: Mapping[str, ClothPlan]
) -> tuple[Fault, ...]:
    """List everything in which the lays do not make up the covers.

    Returns
    -------
    tuple of Fault
        `kind` is one of `unpaired notch`, `notches apart`, `seam lengths`, `count`, `stranger`,
        `other cloth`, `cloth`, `outline`, `join`, `grain`, `direction`, `piping direction`, `drift`.
    """
    faults: list[Fault] = []
    for cover in construction.covers:
        faults += _notch_faults(cover)
        faults += _seam_faults(cover)
    faults += _count_faults(job, construction, plans)
    faults += _cloth_faults(job, plans)
    faults += _outline_faults(construction, plans)
    faults += _join_faults(construction, plans)
    faults += _grain_faults(construction, match, plans)
    faults += _direction_faults(job, construction, plans)
    faults += _drift_faults(job, construction, match, plans)
    return tuple(faults)


def part_of(key: str) -> str:
    """The piece or strip that a laid key is an instance of: `seat#2.top` is a `seat.top`."""
    return re.sub(r"#\d+", "", key)


def _parts(construction: Construction) -> dict[str, Piece | Strip]:
    parts: list[Piece | Strip] = [*construction.pieces, *construction.strips]
    return {p.id: p for p in parts}


# -- what is sewn together --------------------------------------------------------------------


def _notch_faults(cover: CushionCover) -> Iterator[Fault]:
    """Every notch must have its like on another part, at the same place along the seam."""
    notches = {p.id: p.notches for p in cover.pieces} | {s.id: s.notches for s in cover.strips}
    count = Counter(n.pair for found in notches.values() for n in found)
    for part, found in notches.items():
        for n in found:
            if count[n.pair] < 2:
                yield Fault("unpaired notch", (part,), f"{part}: notch {n.pair} has nothing to meet")
    for seam in cover.seams:
        a, b = (_on_seam(end, notches.get(end.part_id, ())) for end in (seam.a, seam.b))
        allowed = seam.ease_mm + SEWN_MM
        for pair in sorted(a.keys() & b.keys()):
            apart = min(abs(x - y) for x in a[pair] for y in b[pair])
            if apart > allowed:
                said = f"seam {seam.id}: the notches {pair} stand {apart:.2f} mm apart along it"
                yield Fault("notches apart", (seam.a.part_id, seam.b.part_id), said, apart)
        yield from _missing_on_seam(seam, a, b, notches)


def _missing_on_seam(
    seam: Seam, a: Mapping[str, list[float]], b: Mapping[str, list[float]], notches: Mapping[str, tuple[Notch, ...]]
) -> Iterator[Fault]:
    """Notches that stand on this seam on one part, and on the other part elsewhere."""
    for here, there, end in ((a, b, seam.b), (b, a, seam.a)):
        others = {n.pair for n in notches.get(end.part_id, ())}
        for pair in sorted((here.keys() - there.keys()) & others):
            said = f"seam {seam.id}: notch {pair} stands on it on one part only"
            yield Fault("notches apart", (seam.a.part_id, seam.b.part_id), said)


def _on_seam(end: SeamEnd, notches: Iterable[Notch]) -> dict[str, list[float]]:
    """Where along a seam line notches stand, by name."""
    line = shapely.LineString(_points(end.path))
    scale = end.path.length / line.length if line.length else 1.0
    found: defaultdict[str, list[float]] = defaultdict(list)
    for n in notches:
        at = shapely.Point(n.at)
        if line.distance(at) <= ON_SEAM_MM:
            found[n.pair].append(float(line.project(at)) * scale)
    return found


def _points(path: Path) -> npt.NDArray[np.float64]:
    return path.points_at(np.linspace(0.0, path.length, max(2, math.ceil(path.length / 5.0))))


def _seam_faults(cover: CushionCover) -> Iterator[Fault]:
    for seam in cover.seams:
        apart = abs(seam.a.path.length - seam.b.path.length)
        if apart > seam.ease_mm + SEWN_MM:
            said = f"seam {seam.id}: its two sides differ by {apart:.2f} mm, {seam.ease_mm:.2f} mm is allowed"
            yield Fault("seam lengths", (seam.a.part_id, seam.b.part_id), said, apart)


# -- what is laid -----------------------------------------------------------------------------


def _laid(plans: Mapping[str, ClothPlan]) -> Iterator[tuple[str, Placed]]:
    for cloth_id, plan in plans.items():
        for p in plan.lay.placed:
            yield cloth_id, p


def _count_faults(job: Job, construction: Construction, plans: Mapping[str, ClothPlan]) -> Iterator[Fault]:
    parts = _parts(construction)
    laid: defaultdict[str, set[str]] = defaultdict(set)
    for cloth_id, p in _laid(plans):
        part = parts.get(part_of(p.key))
        if part is None:
            yield Fault("stranger", (p.key,), f"{p.key} is laid, but no cover has such a piece")
            continue
        if job.cloth(part.cloth_id).id != cloth_id:
            said = f"{p.key} is laid on {cloth_id}, to be cut from {job.cloth(part.cloth_id).id}"
            yield Fault("other cloth", (p.key,), said)
        laid[part.id].add(p.key)
    for part in parts.values():
        if len(laid[part.id]) != part.count:
            said = f"{part.id}: {len(laid[part.id])} are laid, {part.count} are to be cut"
            yield Fault("count", (part.id,), said)


def _cloth_faults(job: Job, plans: Mapping[str, ClothPlan]) -> Iterator[Fault]:
    """The lay must be one for the job's own cloth: as wide, with its pattern, the gap it is cut with and its flaws."""
    for cloth_id, plan in plans.items():
        cloth, problem = job.cloth(cloth_id), plan.problem
        pattern, (fu, fv) = laid_pattern(cloth), cloth.cut_scale
        known = (
            ("usable width", problem.usable_width_mm, cloth.finished_width_mm),
            ("repeat across", problem.lattice.across_mm or 0.0, pattern.repeat_across_mm or 0.0),
            ("repeat along", problem.lattice.along_mm or 0.0, pattern.repeat_along_mm or 0.0),
            ("drop", problem.lattice.drop_mm, pattern.drop_mm),
            ("knife gap", problem.gap_mm, job.knife_gap_mm),
        )
        for name, laid, own in known:
            if not abs(laid - own) <= SEWN_MM / 100:
                said = f"{cloth_id} is laid with a {name} of {laid:.2f} mm, its own is {own:.2f} mm"
                yield Fault("cloth", (cloth_id,), said, abs(laid - own))
        if _lines(problem.creep) != _lines(
            cloth.bolt.creep.scaled(1 / fv) if cloth.bolt and cloth.bolt.creep else None
        ):
            yield Fault("cloth", (cloth_id,), f"{cloth_id} is laid without regard to where its pattern truly stands")
        if cloth.bolt is not None and plan.bolt_length_mm is not None:
            for flaw in cloth.bolt.flaws:
                if flaw.scaled(1 / fu, 1 / fv) not in problem.flaws:
                    yield Fault("cloth", (cloth_id,), f"{cloth_id} is laid without regard to its {flaw.what}")


def _lines(creep: Creep | None) -> tuple[float, ...]:
    return () if creep is None else tuple(round(x, 3) for x in creep.lines_mm)


def _join_faults(construction: Construction, plans: Mapping[str, ClothPlan]) -> Iterator[Fault]:
    """Strips may be joined only where their cover allows it, in parts long enough, and not too often."""
    strips = {s.id: s for s in construction.strips}
    for plan in plans.values():
        parts: defaultdict[str, list[tuple[float, float]]] = defaultdict(list)
        for p in plan.lay.placed:
            if p.part_mm is not None and part_of(p.key) in strips:
                parts[p.key].append(p.part_mm)
        for key, found in sorted(parts.items()):
            strip = strips[part_of(key)]
            least = min(strip.least_part_mm, strip.s1_mm - strip.s0_mm)
            if len(found) > strip.most_parts:
                said = f"{key} is cut in {len(found)} parts, its cover allows {strip.most_parts}"
                yield Fault("join", (key,), said)
            for a, b in found:
                if b - a < least - SEWN_MM:
                    said = f"{key} has a part of {b - a:.2f} mm, its cover asks for {least:.2f} mm"
                    yield Fault("join", (key,), said, least - (b - a))
                if a > strip.s0_mm + SEWN_MM and not _may_join(strip, a):
                    yield Fault("join", (key,), f"{key} is joined at {a:.2f} mm, where its cover allows no join")


def _may_join(strip: Strip, at: float) -> bool:
    return strip.windows is None or any(a - SEWN_MM <= at <= b + SEWN_MM for a, b in strip.windows)


def _grain_faults(construction: Construction, match: MatchPlan, plans: Mapping[str, ClothPlan]) -> Iterator[Fault]:
    """Every piece lies along the grain it was made for, turned no other way than its match allows."""
    parts = _parts(construction)
    for _, p in _laid(plans):
        part = parts.get(part_of(p.key))
        if part is None:
            continue
        placing = match.placings.get(part.id)
        ways = (part.turn_deg,) if placing is None else placing.turns_deg
        if p.turn_deg % 360 not in {w % 360 for w in ways}:
            said = f"{p.key} is turned by {p.turn_deg} degrees, its grain allows {', '.join(str(w) for w in ways)}"
            yield Fault("grain", (p.key,), said)


def _outline_faults(construction: Construction, plans: Mapping[str, ClothPlan]) -> Iterator[Fault]:
    """What is laid must be the cut line of the cover, not something like it."""
    pieces = {p.id: p for p in construction.pieces}
    strips = {s.id: s for s in construction.strips}
    for plan in plans.values():
        for laid in plan.problem.pieces:
            piece = pieces.get(part_of(laid.key))
            if piece is not None:
                cut, as_laid = shapely.Polygon(piece.cut.flattened()), shapely.Polygon(laid.outline)
                off = float(shapely.hausdorff_distance(cut.exterior, as_laid.exterior))
                if off > OUTLINE_MM:
                    yield Fault("outline", (laid.key,), f"{laid.key} is laid {off:.2f} mm unlike its cut line", off)
        for bar in plan.problem.strips:
            strip = strips.get(part_of(bar.key))
            if strip is not None:
                sizes = ("s0_mm", "s1_mm", "z0_mm", "z1_mm", "end_mm")
                off = max(abs(getattr(bar, n) - getattr(strip, n)) for n in sizes)
                if off > SEWN_MM:
                    yield Fault("outline", (bar.key,), f"{bar.key} is laid {off:.2f} mm unlike its strip", off)


def _direction_faults(job: Job, construction: Construction, plans: Mapping[str, ClothPlan]) -> Iterator[Fault]:
    """On one-way cloth like pieces lie one way; the piping of a cushion lies one way on any."""
    parts = _parts(construction)
    turns: defaultdict[str, set[int]] = defaultdict(set)
    piping: defaultdict[tuple[str, str], set[int]] = defaultdict(set)
    for _, p in _laid(plans):
        part = parts.get(part_of(p.key))
        if part is None:
            continue
        turns[part.id].add(p.turn_deg % 360)
        if isinstance(part, Strip) and part.kind == "piping":
            piping[part.cushion_id, part.cloth_id].add(p.turn_deg % 180)
    for part_id, found in sorted(turns.items()):
        part = parts[part_id]
        if job.cloth(part.cloth_id).one_way and (len(found) > 1 or (part.turn_deg + 180) % 360 in found):
            ways = ", ".join(str(t) for t in sorted(found))
            yield Fault("direction", (part_id,), f"{part_id} lies turned by {ways} degrees on a one-way cloth")
    for (cushion, _), found in sorted(piping.items()):
        if len(found) > 1:
            yield Fault("piping direction", (cushion,), f"the piping of {cushion} is cut more than one way")


# -- how it meets -----------------------------------------------------------------------------


def _drift_faults(
    job: Job, construction: Construction, match: MatchPlan, plans: Mapping[str, ClothPlan]
) -> Iterator[Fault]:
    """Measure every matched seam again on the pieces as they lie, and hold it to what was promised."""
    parts, seams = _parts(construction), {s.id: s for s in construction.seams}
    placed: defaultdict[str, list[Placed]] = defaultdict(list)
    for _, p in _laid(plans):
        placed[part_of(p.key)].append(p)
    for promised in match.drifts:
        seam = seams.get(promised.seam_id)
        if seam is None or not _is_promised(promised, match, seam):
            continue
        a, b = parts.get(seam.a.part_id), parts.get(seam.b.part_id)
        if a is None or b is None or job.cloth(a.cloth_id).id != job.cloth(b.cloth_id).id:
            continue
        cloth_id = job.cloth(a.cloth_id).id
        if cloth_id in plans and placed[a.id] and placed[b.id]:
            yield from _seam_drift(
                seam, promised, placed[a.id], placed[b.id], job.cloth(cloth_id), plans[cloth_id], match
            )


def _is_promised(promised: SeamDrift, match: MatchPlan, seam: Seam) -> bool:
    """Whether both parts have a place on the pattern that ties them together."""
    if promised.wish == "ignore" or promised.verdict == "not matched" or seam.id in match.given_up:
        return False
    phases = [match.placings[e.part_id].phase if e.part_id in match.placings else None for e in (seam.a, seam.b)]
    a, b = phases
    if a is None or b is None:
        return False
    return a.group == b.group or all(_both_pinned(match, a.group, b.group, way) for way in _ways(promised))


def _both_pinned(match: MatchPlan, a: str, b: str, way: Literal["p", "q"]) -> bool:
    """Whether two groups stand still against one another in a direction: both anchors are pinned that way."""
    pins = [match.anchors[g].a if way == "p" else match.anchors[g].b for g in (a, b)]
    return None not in pins


def _seam_drift(
    seam: Seam,
    promised: SeamDrift,
    a: list[Placed],
    b: list[Placed],
    cloth: Cloth,
    plan: ClothPlan,
    match: MatchPlan,
) -> Iterator[Fault]:
    pattern = laid_pattern(cloth)
    at = (plan.lay.pattern_at[0], 0.0 if plan.problem.creep else plan.lay.pattern_at[1])
    for pa, pb in {(id(x), id(y)): (x, y) for x, y in [*((x, b[0]) for x in a), *((a[0], y) for y in b)]}.values():
        _, dp, dq = drift_along(
            seam,
            _on_even_pattern(pa, match, plan),
            _on_even_pattern(pb, match, plan),
            pattern,
            pattern_at=at,
            ways=_ways(promised),
        )
        measured = _worst(dp, dq)
        allowed = _worst(promised.drift_p_mm, promised.drift_q_mm)
        if measured > allowed + DRIFT_MM:
            said = f"seam {seam.id}: as laid it drifts by {measured:.2f} mm, promised were {allowed:.2f} mm"
            yield Fault("drift", (pa.key, pb.key), said, measured)
            return


def _on_even_pattern(placed: Placed, match: MatchPlan, plan: ClothPlan) -> Placement:
    """Where a part lies; on a bolt whose repeat creeps, where it would lie on an even one by its matched place."""
    phase, creep = match.placings[part_of(placed.key)].phase, plan.problem.creep
    if creep is None or phase is None:
        return Placement(placed.turn_deg, placed.u_mm, placed.v_mm)
    up = Placement(placed.turn_deg, 0.0, 0.0).point(phase.at_mm)[1]
    return Placement(placed.turn_deg, placed.u_mm, float(creep.pattern_mm(placed.v_mm + up)) - up)


def _worst(*drifts: Iterable[float] | None) -> float:
    return max((float(np.max(np.abs(np.asarray(list(d))))) for d in drifts if d is not None), default=0.0)


def _ways(promised: SeamDrift) -> list[Literal["p", "q"]]:
    """The directions in which a seam was promised to meet."""
    ways: list[Literal["p", "q"]] = []
    if promised.drift_p_mm is not None:
        ways.append("p")
    if promised.drift_q_mm is not None:
        ways.append("q")
    return ways


def laid_pattern(cloth: Cloth) -> Pattern:
    """The pattern in the frame of the lay: as measured, and as large as it is once the cloth has shrunk."""
    measured = cloth.as_measured()
    (fu, fv), p = measured.cut_scale, measured.pattern
    f = fv if p.kind == "weft_stripe" else fu
    return replace(
        p,
        repeat_across_mm=p.repeat_across_mm / fu if p.repeat_across_mm else None,
        repeat_along_mm=p.repeat_along_mm / fv if p.repeat_along_mm else None,
        drop_mm=p.drop_mm / fv,
        stripes=tuple(replace(s, width_mm=s.width_mm / f) for s in p.stripes),
        mirror_axes=tuple(m / f for m in p.mirror_axes),
        lines=tuple((n, at / f) for n, at in p.lines),
    )
