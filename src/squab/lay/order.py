"""The two lengths of a cloth: what to order before the bolt is seen, and what this bolt needs.

Where a pinned piece's place depends on where the pattern starts, and that has not been measured,
the order is made safe for every start:

- across, the starts of one repeat are cut into ranges at which no pinned piece gains or loses a
  place. A lay found at the beginning of a range of length r, with what every pinned piece sweeps on
  its way r to the right kept clear, serves every start of the range, so its length holds for all of
  them;
- along, a lay for one start, slid up by d, is a lay for the start d further on; so the length for a
  few starts plus the step between them covers all, and no start needs more than one repeat above
  the best.
"""

from __future__ import annotations

import itertools
import math
import threading
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from decimal import Decimal

import numpy as np
from shapely import Polygon, unary_union
from shapely.geometry.polygon import orient

from squab.cloth import Cloth
from squab.errors import LayError
from squab.findings import Finding, Outcome, Severity
from squab.lay._model import cross_span
from squab.lay._shapes import is_box
from squab.lay.creep import inside_mm
from squab.lay.problem import part_id_of
from squab.lay.records import Bound, ClothPlan, Lay, LayPiece, LayProblem, LayStrip, Placed, StartRange, Surrender
from squab.lay.search import Hunt, Progress
from squab.match.drift import SEEN_GOOD_MM
from squab.plane import Points, cos_sin
from squab.units import format_cloth_length, format_length

LEAST_CREEP_MM = 0.5
"""A pattern that is off an even one by less inside a piece is not spoken of."""
MOST_RANGES = 48
ALONG_STEPS = 8
SAME_MM = 0.5
"""Starts whose lengths differ by less than this are told as one range."""
FIRST_SHARE = 0.2
"""Part of the time in which every range is searched once."""
PROOF_SHARE = 0.3
"""Part of the time for the proof; with several workers the search goes on beside it."""
LEAST_LEFT_S = 0.5
"""From so much time on, what the proof has left goes to the search again."""
STOPPED_PROOF_S = 3.0
"""Who stops a search waits for no long proof of what it found."""
ALLOWING_SHARE = 0.1
"""Part of the time, beyond the rest, for the lay on the shortest repeat that the label allows."""
TURNS = 10
LEAST_TURN_S = 0.1
"""The range that decides the order is searched in turns of this long, or a tenth of what there is."""
IDLE_TURNS = 1
LEAST_RANGE_MM = 2.0
"""A range that has not got shorter in so many turns is halved, down to ranges as long as this."""
FAR_MM = 250.0
"""From this much between the best and the worst start on, the risk is said in words."""


@dataclass
class _Slide:
    """A hunt for a lay whose pinned pieces can be slid across.

    `bars` are the pieces laid there as bars right across, `whole` the strips laid as pieces.
    """

    hunt: Hunt
    bars: dict[str, LayPiece] = field(default_factory=dict)
    whole: dict[str, LayStrip] = field(default_factory=dict)

    def lay(self) -> Lay:
        lay = self.hunt.lay()
        return replace(lay, placed=tuple(self._as_asked(x) for x in lay.placed))

    def _as_asked(self, x: Placed) -> Placed:
        if x.key in self.bars:
            return replace(x, u_mm=-cross_span(self.bars[x.key].outline, x.turn_deg)[0])
        if x.key in self.whole:
            return replace(x, part_mm=(self.whole[x.key].s0_mm, self.whole[x.key].s1_mm))
        return x


@dataclass
class _Tried:
    """A hunt at one start, and the best lay it has found (None: there is none)."""

    slide: _Slide | None
    lay: Lay | None


@dataclass
class _Start:
    """A range of starts across, and what serves all of it.

    `first` leaves the start along to the search. Where the order must be safe for every start
    along as well, `along` holds lays for starts `step_mm` apart.
    """

    from_mm: float
    to_mm: float
    first: _Tried
    along: list[_Tried] = field(default_factory=list)
    step_mm: float = 0.0
    unsettled_mm: float = 0.0
    """Added where starts along have not been laid one by one: a whole repeat."""

    def deciding(self) -> tuple[_Tried, float]:
        """What decides the order: the lay, and how far it is slid along for the worst start it serves."""
        if not self.along:
            return self.first, self.unsettled_mm
        return max(self.served(), key=_needs)

    def served(self) -> list[tuple[_Tried, float]]:
        """For each range of starts along, the lay that serves it and how far it is slid.

        Every lay slid up serves the starts after it, so a start needs no more than any earlier
        lay (going round the repeat) slid that far.
        """
        n, step = len(self.along), self.step_mm
        served = []
        for k in range(n):
            slid = [(x, step * ((k - j) % n + 1)) for j, x in enumerate(self.along) if x.lay is not None]
            if self.first.lay is not None:
                slid.append((self.first, (k * step - self.first.lay.pattern_at[1]) % (n * step) + step))
            served.append(min(slid, key=_needs))
        return served

    @property
    def needs_mm(self) -> float:
        return _needs(self.deciding())


def _needs(served: tuple[_Tried, float]) -> float:
    tried, slid_mm = served
    return math.inf if tried.lay is None else tried.lay.length_mm + slid_mm


@dataclass
class _Way:
    """How to search: seed, threads, callbacks; and every hunt so far, for what one found may serve another."""

    seed: int
    workers: int
    report: Callable[[Progress], None] | None
    stop: Callable[[], bool] | None
    hunts: list[Hunt] = field(default_factory=list)

    def hunt(self, problem: LayProblem) -> Hunt | None:
        """A hunt that knows what the others found; None where some piece has no place."""
        try:
            hunt = Hunt(problem, seed=self.seed, workers=self.workers)
        except LayError:
            return None
        self.hunts.append(hunt)
        return hunt

    def ending(self, when: Callable[[], bool]) -> _Way:
        """The same way, with an end as soon as this holds."""
        return replace(self, stop=lambda: when() or (self.stop is not None and self.stop()))

    def go(self, hunt: Hunt | None, seconds: float) -> bool:
        """Go on with a hunt from the best that any has found; False where it has found no lay."""
        if hunt is None:
            return False
        for other in self.hunts:
            if other is not hunt:
                hunt.offer(other)
        hunt.busy = self.workers
        hunt.go(seconds=seconds, report=self.report, stop=self.stop)
        return math.isfinite(hunt.length_mm)

    def lay(self, problem: LayProblem, seconds: float) -> Lay | None:
        hunt = self.hunt(problem)
        return hunt.lay() if hunt is not None and self.go(hunt, seconds) else None

    def tried(self, slide: _Slide | None, seconds: float) -> _Tried:
        """Go on with a slide."""
        found = slide is not None and self.go(slide.hunt, seconds)
        return _Tried(slide, slide.lay() if slide is not None and found else None)


WAYS_OUT = (
    "ask less of the boxing (match front, sides, back or joins = `prefer` or `ignore`), join it at the corners "
    "(joins_at_corners = true), or use a wider cloth"
)


def plan_cloth(
    problem: LayProblem,
    cloth: Cloth,
    *,
    seconds: float,
    seed: int = 0,
    workers: int = 1,
    report: Callable[[Progress], None] | None = None,
    stop: Callable[[], bool] | None = None,
) -> Outcome[ClothPlan]:
    """Lay one cloth, prove it, and say what to buy.

    Parameters
    ----------
    seconds
        For everything: about six tenths go to the lay shown, the rest to other starts and the
        bound; what the bound does not need of it goes to the lay again.
    workers
        Threads that search beside one another.

    Returns
    -------
    Outcome
        The plan, or None where nothing can be laid. Findings: LAY-007 no start of the pattern
        will do, LAY-008 some starts will not do, LAY-009 one start needs far more than another,
        LAY-010 the bolt is too short, LAY-011 some piece has no place.
    """
    way = _Way(seed, workers, report, stop)
    unknown = unknown_directions(problem)
    if unknown == (False, False):
        return _measured(problem, cloth, way, seconds)
    return _to_order(problem, cloth, way, seconds, unknown)


def unknown_directions(problem: LayProblem) -> tuple[bool, bool]:
    """In which directions (across, along) the lay hangs on a start that has not been measured."""
    found = [False, False]
    phases = {p.phase for p in problem.pieces} | {s.phase for s in problem.strips}
    for phase in phases - {None}:
        assert phase is not None
        pinned = problem.anchors.get(phase.group, (None, None))
        for axis, off in enumerate((phase.off_p, phase.off_q)):
            repeat = (problem.lattice.across_mm, problem.lattice.along_mm)[axis]
            if off is not None and repeat and pinned[axis] is not None and problem.pattern_at[axis] is None:
                found[axis] = True
    return found[0], found[1]


def _measured(problem: LayProblem, cloth: Cloth, way: _Way, seconds: float) -> Outcome[ClothPlan]:
    until, proof_s = time.monotonic() + seconds, PROOF_SHARE * seconds
    try:
        hunt = Hunt(problem, seed=way.seed, workers=way.workers)
        hunt.go(seconds=seconds - proof_s, report=way.report, stop=way.stop)
        lay = hunt.lay()
        bound = _proved([problem], lay.length_mm, proof_s, way, lambda on: on.go(hunt, proof_s))
        if (left := _left(until, hunt.length_mm, bound, way)) > 0.0:
            way.ending(lambda: hunt.length_mm <= bound.length_mm + SAME_MM).go(hunt, left)
        lay = _shorter(lay, hunt)
    except LayError as bad:
        return Outcome(None, (Finding("LAY-011", Severity.STOP, cloth.name, str(bad), WAYS_OUT),))
    findings = _drawn_out(problem, cloth, lay)
    bolt_length = None
    surrenders: tuple[Surrender, ...] = ()
    if cloth.bolt is not None:
        bolt_length = squared_off_mm(lay.length_mm, cloth)
        if problem.bolt_mm is not None:
            short = bolt_length - problem.bolt_mm * cloth.cut_scale[1]
            if short > 1e-6:
                surrenders = _surrenders(problem, lay, short / cloth.cut_scale[1], way, 0.1 * seconds)
                findings.append(_too_short(problem, cloth, bolt_length, short, surrenders))
    needs, allowed = _allowing(problem, cloth, lay, lay.length_mm, way, ALLOWING_SHARE * seconds)
    plan = _plan(problem, cloth, lay, needs, bound)
    return Outcome(replace(plan, bolt_length_mm=bolt_length, surrenders=surrenders), (*findings, *allowed))


def _to_order(
    problem: LayProblem, cloth: Cloth, way: _Way, seconds: float, unknown: tuple[bool, bool]
) -> Outcome[ClothPlan]:
    findings: list[Finding] = []
    until, first_s = time.monotonic() + seconds, FIRST_SHARE * seconds
    starts = _starts_across(problem, way, first_s) if unknown[0] else [_whole(problem, way, first_s)]
    possible = [s for s in starts if s.first.lay is not None]
    if not possible:
        return Outcome(None, (_no_start(cloth),))
    lost = [s for s in starts if s.first.lay is None]
    if lost:
        findings.append(_lost_starts(problem, cloth, lost))
    if unknown[1]:
        _settle_along(problem, possible, way, 0.2 * seconds)
    # an order for every start of the pattern takes what any one start takes
    hard = [_from_middle(problem, s) for s in sorted(possible, key=lambda s: -s.needs_mm)]
    proof_s = PROOF_SHARE * seconds
    worst = _deciding(problem, possible, way, seconds - proof_s - first_s - (0.2 * seconds if unknown[1] else 0.0))
    if unknown[1]:
        hard = [_at(problem, _lay_of(worst))]
    bound = _proved(hard, worst.needs_mm, proof_s, way, lambda on: _deciding(problem, possible, on, proof_s))
    worst = max(possible, key=lambda s: s.needs_mm)
    if (left := _left(until, worst.needs_mm, bound, way)) > 0.0:
        to_bound = way.ending(lambda: max(s.needs_mm for s in possible) <= bound.length_mm + SAME_MM)
        worst = _deciding(problem, possible, to_bound, left)
    lay = _lay_of(worst)
    shown = _at(problem, lay)
    ranges = _told(sorted(possible + lost, key=lambda s: s.from_mm)) if unknown[0] else ()
    risk = _risk(ranges, problem, cloth)
    if risk:
        findings.append(Finding("LAY-009", Severity.WARN, cloth.name, risk, "measure the bolt before ordering, or ask"))
    needs, allowed = _allowing(shown, cloth, lay, worst.needs_mm, way, ALLOWING_SHARE * seconds)
    findings += allowed
    plan = _plan(shown, cloth, lay, needs, bound)
    return Outcome(replace(plan, starts=(*ranges, *_told_along(worst)), risk=risk), tuple(findings))


def _allowing(
    problem: LayProblem, cloth: Cloth, lay: Lay, needs_mm: float, way: _Way, seconds: float
) -> tuple[float, list[Finding]]:
    """What to allow for bolts whose repeats are as far off the label's as may be, one by one.

    A lay for the shortest repeat serves every bolt of longer ones, whose lines only draw it out
    (`squab.lay.creep`): to the longest repeat at the most. It is laid for the start that decides
    at the label's repeat; that this start decides at the shortest one too is likely, not proved.
    """
    part, along = cloth.repeat_within_pct / 100, problem.lattice.along_mm
    phases = [p.phase for p in problem.pieces] + [s.phase for s in problem.strips]
    if not part or cloth.repeat_is_measured or not along or not any(p and p.off_q is not None for p in phases):
        return needs_mm, []
    lattice = replace(problem.lattice, along_mm=along * (1 - part), drop_mm=problem.lattice.drop_mm * (1 - part))
    shortest = way.lay(replace(problem, lattice=lattice, flaws=(), bolt_mm=None), seconds)
    if shortest is None:
        said = f"where its repeat is {cloth.repeat_within_pct:g} % shorter than the label's, no lay was found"
        return needs_mm, [
            Finding(
                "LAY-021", Severity.WARN, cloth.name, said, "measure the repeat of the very bolt before it is bought"
            )
        ]
    more = max(shortest.length_mm - lay.length_mm, 0.0)
    needs = (needs_mm + more) * (1 + part) / (1 - part)
    said = (
        f"the order allows {format_cloth_length(needs - needs_mm, problem.style)} for a repeat that may be "
        f"{cloth.repeat_within_pct:g} % off the label's"
    )
    far = needs - needs_mm > FAR_MM
    hint = "measure the repeat along the bolt before it is bought" if far else ""
    return needs, [Finding("LAY-021", Severity.WARN if far else Severity.NOTE, cloth.name, said, hint)]


def _drawn_out(problem: LayProblem, cloth: Cloth, lay: Lay) -> list[Finding]:
    """Where the repeat creeps: what that leaves inside the piece that feels it most."""
    creep, inside = problem.creep, inside_mm(problem, lay)
    worst = max(inside, default=0.0)
    if creep is None or worst < LEAST_CREEP_MM:
        return []
    style = problem.style
    least, most, off, good = (format_length(x, style) for x in (creep.least_mm, creep.most_mm, worst, SEEN_GOOD_MM))
    beyond = sum(x > SEEN_GOOD_MM for x in inside)
    said = (
        f"the repeat creeps from {least} to {most} along the bolt; every piece is set on its true line, but on "
        f"{part_id_of(lay.placed[inside.index(worst)].key)} the pattern is off an even one by up to {off}"
    )
    if not beyond:
        return [Finding("LAY-019", Severity.NOTE, cloth.name, said, f"a seam that is seen is good within {good}")]
    many = f"; {beyond} pieces are off by more than {good}" if beyond > 1 else ""
    hint = (
        "agree it with the customer, lay the longest pieces where the repeats are most alike, or ask for another bolt"
    )
    return [Finding("LAY-019", Severity.WARN, cloth.name, said + many, hint)]


def _lay_of(start: _Start) -> Lay:
    """The lay that decides a start for which there is one."""
    lay = start.deciding()[0].lay
    assert lay is not None
    return lay


def _from_middle(problem: LayProblem, start: _Start) -> LayProblem:
    """The problem from the middle of a range: at its ends some piece just has one place more."""
    lay = _lay_of(start)
    return _at(problem, replace(lay, pattern_at=((start.from_mm + start.to_mm) / 2, lay.pattern_at[1])))


def _at(problem: LayProblem, lay: Lay) -> LayProblem:
    """The problem from the start at which a lay stands."""
    return replace(problem, pattern_at=lay.pattern_at, flaws=(), bolt_mm=None)


def _proved(
    problems: list[LayProblem], laid_mm: float, seconds: float, way: _Way, go_on: Callable[[_Way], object]
) -> Bound:
    """The proof of the hardest problem; `laid_mm` is known to do for each.

    With several workers all but one search on beside it, and end with it.
    """
    from squab.lay.bound import bound_of_hardest

    if way.stop is not None and way.stop():
        seconds = min(seconds, STOPPED_PROOF_S)
    if way.workers == 1:
        return bound_of_hardest(problems, seconds=seconds, laid_mm=laid_mm)
    proved = threading.Event()
    # the proof keeps this thread: its solver does not bear being left behind in another
    with ThreadPoolExecutor(1) as beside:
        going = beside.submit(go_on, replace(way.ending(proved.is_set), workers=way.workers - 1))
        try:
            bound = bound_of_hardest(problems, seconds=seconds, laid_mm=laid_mm)
        finally:
            proved.set()
        going.result()
    return bound


def _shorter(lay: Lay, hunt: Hunt) -> Lay:
    """A lay, or what has been found since; that may be longer once drawn out onto true lines, or none."""
    try:
        later = hunt.lay()
    except LayError:
        return lay
    return later if later.length_mm < lay.length_mm else lay


def _left(until: float, laid_mm: float, bound: Bound, way: _Way) -> float:
    """Seconds in which to search on after a proof that was done sooner; 0 where nothing shorter can be."""
    if laid_mm <= bound.length_mm + SAME_MM or (way.stop is not None and way.stop()):
        return 0.0
    left = until - time.monotonic()
    return left if left > LEAST_LEFT_S else 0.0


def _plan(problem: LayProblem, cloth: Cloth, lay: Lay, needs_mm: float, bound: Bound) -> ClothPlan:
    from squab.lay.handbook import handbook_length
    from squab.lay.verify import verify

    if problem.bolt_mm is not None and lay.length_mm > problem.bolt_mm:
        problem = replace(problem, bolt_mm=None)  # a bolt too short has been said already
    faults = verify(problem, lay)
    assert not faults, "; ".join(f"{f.kind} {', '.join(f.keys)}: {f.message}" for f in faults)
    order = round_up(squared_off_mm(needs_mm, cloth), cloth.sold_by_mm)
    return ClothPlan(
        problem.cloth_id, problem, lay, bound, handbook_length(problem), needs_mm, order, None,
        cloth_cost=None if cloth.price_per_m is None else cloth_cost(cloth.price_per_m, order),
    )  # fmt: skip


def round_up(length_mm: float, step_mm: float) -> float:
    """Round a length up to how cloth is sold.

    >>> round_up(2666.0, 100.0)
    2700.0
    """
    return math.ceil(length_mm / step_mm - 1e-9) * step_mm if step_mm > 0 else length_mm


def cloth_cost(price_per_m: Decimal, length_mm: float) -> Decimal:
    """Price of a length of cloth, to the hundredth."""
    return (price_per_m * Decimal(repr(length_mm)) / 1000).quantize(Decimal("0.01"))


def squared_off_mm(length_mm: float, cloth: Cloth) -> float:
    """Length to have on the bolt: as it is before shrinking, squared off at both ends."""
    return length_mm * cloth.cut_scale[1] + 2 * cloth.square_off_mm


# --- starts across ---


def _pinned_across(problem: LayProblem) -> list[tuple[float, float]]:
    """(least u at start 0, width) of each pinned piece at each of its turns, each kind once."""
    kinds: set[tuple[float, float]] = set()
    for piece in problem.pieces:
        phase = piece.phase
        if phase is None or phase.off_p is None:
            continue
        pinned = problem.anchors.get(phase.group, (None, None))[0]
        if pinned is None:
            continue
        for turn in piece.turns_deg:
            low, wide = cross_span(piece.outline, turn)
            kinds.add((round(phase.sign_p * pinned + phase.off_p + low, 6), round(wide, 6)))
    return sorted(kinds)


def start_ranges(problem: LayProblem) -> list[tuple[float, float]]:
    """Cut one repeat of starts across where a pinned piece gains or loses a place at an edge.

    At most `MOST_RANGES`; long ranges are halved, so that a lay that serves a whole range is not
    found on a cloth much narrower than it is.
    """
    across = problem.lattice.across_mm
    assert across is not None
    cuts = {0.0, across}
    for low, wide in _pinned_across(problem):
        cuts.add((-low) % across)
        cuts.add((problem.usable_width_mm - wide - low) % across)
    edges: list[float] = []
    for x in sorted(cuts):
        if not edges or x - edges[-1] > 1e-6:
            edges.append(x)
    edges[-1] = across
    ranges = list(itertools.pairwise(edges))
    while len(ranges) < MOST_RANGES // 4:
        a, b = max(ranges, key=lambda r: r[1] - r[0])
        if b - a < 30.0:
            break
        ranges.remove((a, b))
        ranges += [(a, (a + b) / 2), ((a + b) / 2, b)]
    return sorted(ranges)


def _starts_across(problem: LayProblem, way: _Way, seconds: float) -> list[_Start]:
    ranges = start_ranges(problem)
    share = seconds / len(ranges)
    y = problem.pattern_at[1]
    return [_Start(a, b, way.tried(_slide(problem, a, b, y, way), share)) for a, b in ranges]


def _slide(problem: LayProblem, a: float, b: float, y: float | None, way: _Way) -> _Slide | None:
    """A hunt for a lay at start a that serves every start up to b."""
    at_start = replace(problem, pattern_at=(a, y), flaws=(), bolt_mm=None)
    swept = _swept(at_start, b - a)
    if swept is None:
        return _on_narrower(at_start, b - a, way)
    hunt = way.hunt(swept)
    laid = {p.key for p in swept.pieces}
    return None if hunt is None else _Slide(hunt, whole={s.key: s for s in problem.strips if s.key in laid})


def _swept(problem: LayProblem, by_mm: float) -> LayProblem | None:
    """The problem with every piece pinned across as wide as what it sweeps, sliding `by_mm` to the right.

    Everything else may stay where it is: groups with a free anchor let it go back as the pattern
    goes on. None where a pinned strip may be divided, or a pinned piece may be turned.
    """
    pieces, strips = list(problem.pieces), []
    for strip in problem.strips:
        if not _is_pinned(problem, strip):
            strips.append(strip)
        elif strip.most_parts == 1:
            pieces.append(_whole_strip(strip))
        else:
            return None
    for k, piece in enumerate(pieces):
        if _is_pinned(problem, piece):
            if len(piece.turns_deg) != 1:
                return None
            c, s = cos_sin(piece.turns_deg[0])
            pieces[k] = replace(piece, outline=_swept_outline(piece.outline, (c * by_mm, -s * by_mm)))
    return replace(problem, pieces=tuple(pieces), strips=tuple(strips))


def _is_pinned(problem: LayProblem, part: LayPiece | LayStrip) -> bool:
    phase = part.phase
    return (
        phase is not None and phase.off_p is not None and problem.anchors.get(phase.group, (None, None))[0] is not None
    )


def _whole_strip(strip: LayStrip) -> LayPiece:
    x0, x1 = strip.s0_mm - strip.end_mm, strip.s1_mm + strip.end_mm
    outline = np.array([[x0, strip.z0_mm], [x1, strip.z0_mm], [x1, strip.z1_mm], [x0, strip.z1_mm]])
    return LayPiece(strip.key, outline, strip.turns_deg, strip.phase, strip.cushion)


def _swept_outline(outline: Points, by: tuple[float, float]) -> Points:
    """What an outline sweeps on its way along a vector."""
    xy = np.asarray(outline)
    there = xy + by
    edges = [Polygon([a, b, d, c]) for a, b, c, d in zip(
        xy, np.roll(xy, -1, axis=0), there, np.roll(there, -1, axis=0), strict=True
    )]  # fmt: skip
    swept = unary_union([Polygon(xy), Polygon(there), *(e for e in edges if e.area > 0.0)])
    assert isinstance(swept, Polygon)
    return np.asarray(orient(Polygon(swept.exterior)).exterior.coords)[:-1]


def _on_narrower(problem: LayProblem, by_mm: float, way: _Way) -> _Slide | None:
    """A hunt on a cloth narrower by as much as the whole lay is to be slid.

    A free piece that only the full width takes is laid there as a bar right across, so that
    nothing shares its rows, and then needs not slide.
    """
    width = problem.usable_width_mm - by_mm + 1e-7
    pieces = tuple(_full_width_bar(p, width, problem.usable_width_mm) for p in problem.pieces)
    hunt = way.hunt(replace(problem, usable_width_mm=width, pieces=pieces))
    bars = {p.key: p for p, q in zip(problem.pieces, pieces, strict=True) if p is not q}
    return None if hunt is None else _Slide(hunt, bars)


def _full_width_bar(piece: LayPiece, width: float, full: float) -> LayPiece:
    """A free box wider than `width` at all its turns, but not than `full`, made `width` wide."""
    spans = [(cross_span(piece.outline, t)[1], t) for t in piece.turns_deg]
    if piece.phase is not None and piece.phase.off_p is not None:
        return piece
    least, turn = min(spans)
    if least <= width or least > full + 1e-9 or not is_box(piece.outline) or turn % 90:
        return piece
    outline = piece.outline.copy()
    axis = 0 if turn % 180 == 0 else 1
    low, high = outline[:, axis].min(), outline[:, axis].max()
    outline[:, axis] = np.where(outline[:, axis] > (low + high) / 2, low + width - 1e-7, low)
    return replace(piece, outline=outline, turns_deg=(turn,))


def _whole(problem: LayProblem, way: _Way, seconds: float) -> _Start:
    across = problem.lattice.across_mm or 0.0
    return _Start(0.0, across, way.tried(_unslid(problem, problem.pattern_at[1], way), seconds))


def _unslid(problem: LayProblem, y: float | None, way: _Way) -> _Slide | None:
    hunt = way.hunt(replace(problem, pattern_at=(problem.pattern_at[0], y), flaws=(), bolt_mm=None))
    return None if hunt is None else _Slide(hunt)


def _deciding(problem: LayProblem, starts: list[_Start], way: _Way, seconds: float) -> _Start:
    """Search on where the order is decided, until time is up.

    A range that will not get shorter is halved: each half has to be slid less, on a cloth less
    narrow. `starts` gets the halves.
    """
    until = time.monotonic() + seconds
    idle: dict[int, int] = {}
    while True:
        worst = max(starts, key=lambda s: s.needs_mm)
        left = until - time.monotonic()
        if left <= 0.0 or (way.stop is not None and way.stop()):
            return worst
        if _again(worst, way, min(left, max(seconds / TURNS, LEAST_TURN_S))):
            idle[id(worst)] = 0
            continue
        idle[id(worst)] = idle.get(id(worst), 0) + 1
        wide = worst.to_mm - worst.from_mm
        if (
            idle[id(worst)] >= IDLE_TURNS
            and not worst.along
            and unknown_directions(problem)[0]
            and wide > LEAST_RANGE_MM
        ):
            at = starts.index(worst)
            starts[at : at + 1] = _halves(problem, worst, way)


def _again(start: _Start, way: _Way, seconds: float) -> bool:
    """Go on with what decides a range; tell whether it has become shorter."""
    tried, _ = start.deciding()
    before = start.needs_mm
    if tried.slide is None or not way.go(tried.slide.hunt, seconds):
        return False
    lay = tried.slide.lay()
    if tried.lay is None or lay.length_mm < tried.lay.length_mm:
        tried.lay = lay
    return start.needs_mm < before - 1e-6


def _halves(problem: LayProblem, start: _Start, way: _Way) -> list[_Start]:
    """The two halves of a range, each with the whole's lay, which serves both."""
    middle, y = (start.from_mm + start.to_mm) / 2, problem.pattern_at[1]
    spans = ((start.from_mm, middle), (middle, start.to_mm))
    return [
        _Start(a, b, _Tried(_slide(problem, a, b, y, way), start.first.lay), unsettled_mm=start.unsettled_mm)
        for a, b in spans
    ]


# --- starts along ---


def _settle_along(problem: LayProblem, starts: list[_Start], way: _Way, seconds: float) -> None:
    """Make the starts across that decide the order safe for every start along, one after another."""
    along = problem.lattice.along_mm
    assert along is not None
    for s in starts:
        s.unsettled_mm = along
    step = along / ALONG_STEPS
    left = seconds
    while left > 0.0:
        start = max(starts, key=lambda s: s.needs_mm)
        if start.along:
            return
        share = min(left, seconds / 2) / ALONG_STEPS
        start.step_mm = step
        start.along = [way.tried(_slide_at(problem, start, k * step, way), share) for k in range(ALONG_STEPS)]
        left -= share * ALONG_STEPS


def _slide_at(problem: LayProblem, start: _Start, y: float, way: _Way) -> _Slide | None:
    if unknown_directions(problem)[0]:
        return _slide(problem, start.from_mm, start.to_mm, y, way)
    return _unslid(problem, y, way)


# --- what is said ---


def _told(starts: list[_Start]) -> tuple[StartRange, ...]:
    return _joined(tuple(StartRange("across", s.from_mm, s.to_mm, s.needs_mm) for s in starts))


def _told_along(start: _Start) -> tuple[StartRange, ...]:
    step = start.step_mm
    served = start.served() if start.along else []
    return _joined(tuple(StartRange("along", k * step, (k + 1) * step, _needs(x)) for k, x in enumerate(served)))


def _joined(ranges: tuple[StartRange, ...]) -> tuple[StartRange, ...]:
    """Join neighbouring ranges of like length, the longer length standing."""
    out: list[StartRange] = []
    for r in ranges:
        if (
            out
            and abs(out[-1].to_mm - r.from_mm) < 1e-6
            and (out[-1].length_mm == r.length_mm or abs(out[-1].length_mm - r.length_mm) < SAME_MM)
        ):
            out[-1] = replace(out[-1], to_mm=r.to_mm, length_mm=max(out[-1].length_mm, r.length_mm))
        else:
            out.append(r)
    return tuple(out)


def _risk(ranges: tuple[StartRange, ...], problem: LayProblem, cloth: Cloth) -> str:
    finite = [r for r in ranges if math.isfinite(r.length_mm)]
    if not finite:
        return ""
    low, high = min(r.length_mm for r in finite), max(r.length_mm for r in finite)
    if high - low < FAR_MM:
        return ""
    good = [r for r in finite if r.length_mm < low + (high - low) / 2]
    merged = _merged([(r.from_mm, r.to_mm) for r in good])
    where = " or ".join(_span(problem, a, b) for a, b in merged)
    what = "motif's centre" if cloth.pattern.kind == "print" else "first stripe's edge"
    least = max(r.length_mm for r in good)
    return (
        f"if the {what} stands {where} from the left edge {format_cloth_length(least, problem.style)} will do, "
        f"else up to {format_cloth_length(high, problem.style)} are needed"
    )


def _span(problem: LayProblem, a: float, b: float) -> str:
    return f"between {format_length(a, problem.style, unit=False)} and {problem.shown(b)}"


def _merged(spans: list[tuple[float, float]]) -> list[tuple[float, float]]:
    out: list[tuple[float, float]] = []
    for a, b in sorted(spans):
        if out and a - out[-1][1] < 1e-6:
            out[-1] = (out[-1][0], b)
        else:
            out.append((a, b))
    return out


def _no_start(cloth: Cloth) -> Finding:
    return Finding(
        "LAY-007", Severity.STOP, cloth.name,
        "wherever the pattern starts at the left edge, some pinned piece has no place across the cloth",
        "let its place on the pattern be free, seam it narrower, or use a wider cloth",
    )  # fmt: skip


def _lost_starts(problem: LayProblem, cloth: Cloth, lost: list[_Start]) -> Finding:
    spans = _merged([(s.from_mm, s.to_mm) for s in lost])
    where = " or ".join(_span(problem, a, b) for a, b in spans)
    return Finding(
        "LAY-008", Severity.WARN, cloth.name,
        f"where the pattern stands {where} from the left edge, some pinned piece has no place across the cloth; "
        "the order covers every other start",
        "measure the bolt before ordering, or seam the widest piece narrower",
    )  # fmt: skip


def _too_short(
    problem: LayProblem, cloth: Cloth, needs: float, short: float, surrenders: tuple[Surrender, ...]
) -> Finding:
    enough = [s.what for s in surrenders if s.enough]
    hint = f"giving up {enough[0]} is enough" if enough else "use another bolt, or give up several of the things listed"
    return Finding(
        "LAY-010", Severity.WARN, cloth.name,
        f"the bolt is {problem.shown(short)} too short: the lay needs {problem.shown(needs)}, squared off at both ends",
        hint,
    )  # fmt: skip


SURRENDERS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("the zip panels in this cloth", ("zip",)),
    ("the bottoms in this cloth", ("bottom", "base")),
    ("the piping in this cloth", ("piping",)),
    ("the ties and handles in this cloth", ("tie", "handle")),
    ("the boxing in this cloth", ("boxing",)),
)
"""What can be given up, least seen first, and the words in the names of the parts it takes away."""


def _surrenders(problem: LayProblem, lay: Lay, short_mm: float, way: _Way, seconds: float) -> tuple[Surrender, ...]:
    tried: list[Surrender] = []
    for what, words in SURRENDERS:
        without = _without(problem, words)
        if without is None:
            continue
        shorter = way.lay(without, seconds / len(SURRENDERS))
        if shorter is not None:
            frees = max(0.0, lay.length_mm - shorter.length_mm)
            tried.append(Surrender(what, frees, frees >= short_mm - 1e-6))
    return tuple(tried)


def _without(problem: LayProblem, words: tuple[str, ...]) -> LayProblem | None:
    def stays(part: LayPiece | LayStrip) -> bool:
        name = part_id_of(part.key).removeprefix(part.cushion)
        return not any(w in name for w in words)

    pieces, strips = tuple(filter(stays, problem.pieces)), tuple(filter(stays, problem.strips))
    if len(pieces) + len(strips) in (0, len(problem.pieces) + len(problem.strips)):
        return None
    return replace(problem, pieces=pieces, strips=strips)
