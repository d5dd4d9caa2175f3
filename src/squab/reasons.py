"""Why a job takes the cloth it takes: what holds each lay, what each match costs, what would save most.

A cost is found by laying the job once more without the wish, or with the change. A lay that is
found is a fact: every saving told here has been laid, at the start of the pattern at which the
plan's own lay stands. A longer search may find more, so each is at least what it says. Where the
plan's own lay serves the changed job as it stands it is carried over, so giving up a match never
seems to cost cloth.
"""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

from squab.cloth import Cloth
from squab.construct.records import Piece, Strip
from squab.errors import LayError
from squab.job import Cushion, Job
from squab.lay.creep import up_mm
from squab.lay.cuts import matched
from squab.lay.holding import Holding, what_holds
from squab.lay.problem import part_id_of
from squab.lay.records import ClothPlan, Lay, LayPhase, LayProblem, Placed
from squab.lay.search import Hunt
from squab.lay.verify import verify
from squab.plane import Arc, Edge, Line, Outline, Point
from squab.plane.paths import FLAT_MM, SAME_POINT_MM, moved_edge
from squab.stages import Prepared, changed_job, prepare, surrender_settings
from squab.units import MM_PER_INCH, format_cloth_length, format_length
from squab.words import say
from squab.worked import WorkedJob

USUAL_WIDTHS_MM = (1220.0, 1370.0, 1400.0, 1500.0, 1600.0, 1800.0, 2800.0)
"""Usable widths that cloth is commonly woven to; common practice, no source."""
USUAL_WIDTHS_IN = (48.0, 54.0, 60.0, 72.0, 110.0)
WIDER_MM = 20.0
"""Another width is worth a trial from this much more on."""
MOST_WIDTHS = 2
LEAST_TOLD_MM = 10.0
"""Savings under this are not told in words: no tape on a table finds them."""
MOST_TOLD = 5

Kind = Literal["match", "change"]
Report = Callable[[str], None]
Stop = Callable[[], bool]


@dataclass(frozen=True, slots=True)
class Weighed:
    """One wish dropped, or one thing changed, and the cloth it then takes.

    `saves_mm` is what has been laid: less cloth by at least so much, negative where no lay was
    found that is as short. `carried` says the plan's own lay serves as it stands, so it cannot be
    longer. None lengths: it cannot be laid so, and `why_not` says why.
    """

    what: str
    kind: Kind
    length_mm: float | None
    saves_mm: float | None
    carried: bool = False
    why_not: str = ""


@dataclass(frozen=True)
class Reasons:
    """Why a job takes the cloth it takes.

    `holding` is by cloth id. `base_mm` is the cloth of all the lays together that savings are
    reckoned from; `matches` and `changes` are each the most saving first. `meets` names for every
    piece of a chain the seams at which its pattern meets.
    """

    holding: Mapping[str, Holding]
    base_mm: float
    matches: tuple[Weighed, ...]
    changes: tuple[Weighed, ...]
    meets: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class _Trial:
    what: str
    kind: Kind
    prepared: Prepared | None
    why_not: str = ""


@dataclass(frozen=True)
class _Base:
    """What a trial is compared with: each cloth's problem at the plan's start, its hunt and its best lay."""

    hunts: Mapping[str, Hunt]
    problems: Mapping[str, LayProblem]
    lays: Mapping[str, Lay]

    @property
    def length_mm(self) -> float:
        return sum(x.length_mm for x in self.lays.values())


def reasons(
    worked: WorkedJob,
    *,
    seconds: float = 15.0,
    seed: int = 0,
    report: Report | None = None,
    stop: Stop | None = None,
) -> Reasons:
    """Say what holds a worked job's lays, what each match costs, and what would save most.

    Parameters
    ----------
    worked
        A job that has been through `squab.stages.work`.
    seconds
        For all trial lays together.
    seed
        Seed of the searches.
    report, stop
        Told what is being tried; asked whether to leave the rest untried.

    Returns
    -------
    Reasons
        Trials that `stop` left out are not in it.
    """
    tell = report or (lambda what: None)
    seams = {c.cushion_id: c.panel_seam_at_mm for c in worked.construction.covers if c.panel_seam_at_mm is not None}
    whole = prepare(worked.job, panel_seam_at_mm=seams).value
    holding = {k: what_holds(p.problem, p.lay) for k, p in worked.plans.items()}
    if whole is None:  # a job that was laid can be prepared; this is for the type checker's sake only
        raise LayError("the job can no longer be laid")
    trials = [*_match_trials(whole), *_change_trials(whole)]
    each = seconds / (len(trials) + 2)
    tell("the job as it is")
    base = _base(whole, worked.plans, 2 * each, seed)
    weighed = []
    for trial in trials:
        if stop is not None and stop():
            break
        tell(trial.what)
        weighed.append(_weigh(trial, base, worked.plans, each, seed))
    return Reasons(
        holding, base.length_mm,
        tuple(_most_first(w for w in weighed if w.kind == "match")),
        tuple(_most_first(w for w in weighed if w.kind == "change")),
        _meets(whole),
    )  # fmt: skip


def _most_first(weighed: Iterable[Weighed]) -> list[Weighed]:
    return sorted(weighed, key=lambda w: -math.inf if w.saves_mm is None else w.saves_mm, reverse=True)


def _meets(prepared: Prepared) -> dict[str, tuple[str, ...]]:
    """By piece id, the sides at which its pattern was made to meet a neighbour."""
    at: dict[str, list[str]] = {}
    drifts = {d.seam_id: d for d in prepared.match.drifts if d.wish != "ignore" and d.verdict == "good"}
    for cover in prepared.construction.covers:
        for seam in cover.seams:
            if seam.id in drifts:
                for end in (seam.a, seam.b):
                    side = "its own seam" if seam.side in ("", seam.edge) else f"the {seam.side}"
                    sides = at.setdefault(end.part_id, [])
                    sides += [side] if side not in sides else []
    return {k: tuple(v) for k, v in at.items()}


# --- laying ---


def _at_start(problem: LayProblem, plan: ClothPlan | None) -> LayProblem:
    """A problem from the start of the pattern at which a plan's lay stands, however long the bolt."""
    at = problem.pattern_at if plan is None else plan.lay.pattern_at
    return replace(problem, pattern_at=at, bolt_mm=None)


def _base(prepared: Prepared, plans: Mapping[str, ClothPlan], seconds: float, seed: int) -> _Base:
    problems = {p.cloth_id: _at_start(p, plans[p.cloth_id]) for p in prepared.problems}
    hunts, lays = {}, {}
    for k, problem in problems.items():
        hunts[k] = Hunt(problem, seed=seed)
        hunts[k].go(seconds=seconds / len(problems))
        found = hunts[k].lay()
        # the plan's lay may serve other starts as well, which a lay for this one need not
        lays[k] = min((found, plans[k].lay), key=lambda x: x.length_mm)
    return _Base(hunts, problems, lays)


def _weigh(trial: _Trial, base: _Base, plans: Mapping[str, ClothPlan], seconds: float, seed: int) -> Weighed:
    if trial.prepared is None:
        return Weighed(trial.what, trial.kind, None, None, why_not=trial.why_not)
    problems = {p.cloth_id: _at_start(p, plans.get(p.cloth_id)) for p in trial.prepared.problems}
    changed = {k: p for k, p in problems.items() if k not in base.problems or not _same(p, base.problems[k])}
    total = sum(base.lays[k].length_mm for k in problems if k not in changed)
    carried = True
    for k, problem in changed.items():
        before = _carried_mm(problem, base.lays[k]) if k in base.lays else None
        carried = carried and before is not None
        try:
            found = _found_mm(problem, base.hunts.get(k), seconds / len(changed), seed)
        except LayError as bad:
            found = math.inf
            if before is None:
                return Weighed(trial.what, trial.kind, None, None, why_not=str(bad))
        total += min(found, math.inf if before is None else before)
    return Weighed(trial.what, trial.kind, total, base.length_mm - total, carried)


def _found_mm(problem: LayProblem, like: Hunt | None, seconds: float, seed: int) -> float:
    """The shortest lay found in so long, begun from the order in which the same pieces lay before."""
    hunt = Hunt(problem, seed=seed)
    if like is not None:
        hunt.offer(like)
    hunt.go(seconds=seconds)
    lay = hunt.lay()
    faults = verify(problem, lay)
    if faults:
        raise LayError("a lay fails its proof: " + "; ".join(f.message for f in faults[:3]))
    return lay.length_mm


def _carried_mm(problem: LayProblem, lay: Lay) -> float | None:
    """The length of a lay that serves a changed problem as it stands; None where it does not."""
    there = replace(lay, anchors=_anchors(problem, lay))
    return None if verify(problem, there) else lay.length_mm


def _anchors(problem: LayProblem, lay: Lay) -> dict[str, tuple[float, float]]:
    """Where the anchors of a problem's groups must stand for pieces that lie already."""
    phases: dict[str, LayPhase | None] = {p.key: p.phase for p in problem.pieces}
    phases |= {s.key: s.phase for s in problem.strips}
    found: dict[str, list[float | None]] = {}
    for x in lay.placed:
        phase = phases.get(x.key)
        if phase is None:
            continue
        at = found.setdefault(phase.group, [None, None])
        if at[0] is None and phase.off_p is not None:
            at[0] = phase.sign_p * (x.u_mm - lay.pattern_at[0] - phase.off_p)
        if at[1] is None and phase.off_q is not None:
            at[1] = phase.sign_q * (_along_pattern(problem, lay, x, phase) - phase.off_q)
    return {g: (a or 0.0, b or 0.0) for g, (a, b) in found.items()}


def _along_pattern(problem: LayProblem, lay: Lay, x: Placed, phase: LayPhase) -> float:
    """Where a piece's own origin stands along the pattern."""
    if problem.creep is None:
        return x.v_mm - lay.pattern_at[1]
    up = up_mm(phase, x.turn_deg)
    return float(problem.creep.pattern_mm(x.v_mm + up)) - up


def _same(a: LayProblem, b: LayProblem) -> bool:
    """Tell whether two problems ask for the same."""
    if (a.usable_width_mm, a.lattice, a.strips, a.gap_mm, a.flaws, dict(a.anchors)) != (
        b.usable_width_mm, b.lattice, b.strips, b.gap_mm, b.flaws, dict(b.anchors),
    ):  # fmt: skip
        return False
    return len(a.pieces) == len(b.pieces) and all(
        (p.key, p.turns_deg, p.phase, p.outline.tolist()) == (q.key, q.turns_deg, q.phase, q.outline.tolist())
        for p, q in zip(a.pieces, b.pieces, strict=True)
    )


# --- what is tried ---


def _match_trials(whole: Prepared) -> Iterator[_Trial]:
    """The job with one wish about the pattern dropped at a time, and with all of them."""
    phases = [(p, x.phase) for p in whole.problems for x in p.pieces]
    phases += [(p, s.phase) for p in whole.problems for s in p.strips]
    if not any(any(matched(p, phase)) for p, phase in phases):
        return
    wishes = {
        "front": "matching the front",
        "sides": "matching the sides",
        "back": "matching the back",
        "bottom": "matching the bottom panels",
        "joins": "matching the joins",
    }
    cushions = whole.job.cushions
    for wish, what in wishes.items():
        if any(getattr(c.cover.matching, wish) != "ignore" for c in cushions):
            yield _changed(whole, what, "match", [("", f"matching.{wish}", "ignore")])
    for field, what in (
        ("row", "the pattern flowing on from cushion to cushion"),
        ("pin_across", "a line of the pattern on the centre line"),
        ("pin_along", "a line of the pattern half-way from front to back"),
    ):
        if any(getattr(c.cover.matching, field) for c in cushions):
            yield _changed(whole, what, "match", [("", f"matching.{field}", None)])
    bare = tuple(
        replace(p, pieces=tuple(replace(x, phase=None) for x in p.pieces),
                strips=tuple(replace(x, phase=None) for x in p.strips))
        for p in whole.problems
    )  # fmt: skip
    yield _Trial("matching the pattern at all", "match", replace(whole, problems=bare))


def _change_trials(whole: Prepared) -> Iterator[_Trial]:
    """The job with one thing changed at a time."""
    job = whole.job
    for cloth in job.cloths:
        if cloth.id in {p.cloth_id for p in whole.problems}:
            yield from (_on_width(job, cloth, width) for width in _usual_widths(cloth, job))
    yield from _changes_of_make(whole)
    yield from _smaller(job)
    if job.knife_gap_mm > 0:
        shears = replace(whole, problems=tuple(replace(p, gap_mm=0.0) for p in whole.problems))
        yield _Trial("shears in place of the hot knife: no gap between pieces", "change", shears)


def _changes_of_make(whole: Prepared) -> Iterator[_Trial]:
    job = whole.job
    tried = [job]
    offers = [
        *((what, how) for what, how in surrender_settings(job).items() if not isinstance(how, str)),
        *_piping_otherwise(job),
        *_cures(whole),
    ]
    for what, how in offers:
        other = changed_job(job, how)
        if "no match" not in what and other not in tried:
            tried.append(other)
            yield _changed(whole, what, "change", how)


def _piping_otherwise(job: Job) -> Iterator[tuple[str, list[tuple[str, str, object]]]]:
    named = {"across": "straight across the cloth", "along": "straight along the cloth", "bias": "on the bias"}
    piped = [c for c in job.cushions if c.cover.piping.edges != "none"]
    for cut, said in named.items():
        other = [c for c in piped if c.cover.piping.cut != cut]
        if other and cut != "bias":
            yield f"piping cut {said}", [(c.id, "piping.cut", cut) for c in other]


def _cures(whole: Prepared) -> Iterator[tuple[str, list[tuple[str, str, object]]]]:
    cures = whole.match.cures
    for setting, value in dict.fromkeys((c.setting, c.value) for c in cures if c.setting):
        assert setting is not None
        of = [c for c in cures if (c.setting, c.value) == (setting, value)]
        if setting != "matching.joins":
            yield of[0].what, [(c.cushion_id, setting, value) for c in of]


def _changed(whole: Prepared, what: str, kind: Kind, how: list[tuple[str, str, object]]) -> _Trial:
    return _prepared(what, kind, changed_job(whole.job, how))


def _prepared(what: str, kind: Kind, job: Job) -> _Trial:
    outcome = prepare(job)
    return _Trial(what, kind, outcome.value, "" if outcome.value else outcome.findings[0].message)


def _usual_widths(cloth: Cloth, job: Job) -> list[float]:
    usual = [x * MM_PER_INCH for x in USUAL_WIDTHS_IN] if job.style.system == "imperial" else list(USUAL_WIDTHS_MM)
    return [w for w in usual if w > cloth.usable_width_mm + WIDER_MM][:MOST_WIDTHS]


def _on_width(job: Job, cloth: Cloth, width_mm: float) -> _Trial:
    wide = replace(cloth, usable_width_mm=width_mm)
    cloths = tuple(wide if c.id == cloth.id else c for c in job.cloths)
    return _prepared(f"{cloth.name} woven {format_length(width_mm, job.style)} wide", "change",
                     replace(job, cloths=cloths))  # fmt: skip


def _smaller(job: Job) -> Iterator[_Trial]:
    """Every cushion a little less deep, wide or thick."""
    less = MM_PER_INCH * 3 / 8 if job.style.system == "imperial" else 10.0
    said = format_length(less, job.style)
    ways: tuple[tuple[str, Callable[[Cushion], Cushion | None]], ...] = (
        ("depth", lambda c: _with_outline(c, taken_out(c.outline, less, across=False))),
        ("width", lambda c: _with_outline(c, taken_out(c.outline, less, across=True))),
        ("thickness", lambda c: replace(c, thickness_mm=c.thickness_mm - less) if c.thickness_mm > 2 * less else None),
    )
    for what, smaller in ways:
        cushions = [smaller(c) or c for c in job.cushions]
        if any(new is not old for new, old in zip(cushions, job.cushions, strict=True)):
            yield _prepared(f"{said} less {what}", "change", replace(job, cushions=tuple(cushions)))


def _with_outline(cushion: Cushion, outline: Outline | None) -> Cushion | None:
    return None if outline is None else replace(cushion, outline=outline)


def taken_out(outline: Outline, less_mm: float, *, across: bool) -> Outline | None:
    """An outline less deep (or less wide) by so much, its corners and slants as they were.

    A band is taken out where only edges square to it cross; None where there is no such place,
    as on a disc.
    """
    axis = 0 if across else 1
    at = sorted({round(p[axis], 6) for e in outline.edges for p in (e.start, e.end)})
    for low, high in sorted(itertools.pairwise(at), key=lambda r: r[0] - r[1]):
        middle = (low + high) / 2
        if high - low > less_mm and all(_may_cross(e, axis, middle) for e in outline.edges):
            edges = tuple(_drawn_in(e, axis, middle, less_mm) for e in outline.edges)
            return Outline(edges, outline.sides, outline.seen)
    return None


def _may_cross(edge: Edge, axis: int, middle: float) -> bool:
    """Tell whether an edge lies on one side of a line, or crosses it straight and square to it."""
    points = [*edge.flattened(FLAT_MM), edge.end]
    if all(p[axis] < middle for p in points) or all(p[axis] > middle for p in points):
        return True
    return isinstance(edge, Line) and abs(edge.start[1 - axis] - edge.end[1 - axis]) < SAME_POINT_MM


def _drawn_in(edge: Edge, axis: int, middle: float, less_mm: float) -> Edge:
    """An edge with whatever of it lies beyond a line drawn in; an arc lies on one side as a whole."""
    beyond = edge.start[axis] > middle

    def moved(p: Point) -> Point:
        far = beyond if isinstance(edge, Arc) else p[axis] > middle
        by = less_mm if far else 0.0
        return (p[0] - by, p[1]) if axis == 0 else (p[0], p[1] - by)

    return moved_edge(edge, moved)


# --- in words ---


@dataclass(frozen=True)
class Told:
    """Reasons in words: what holds each lay, what each match costs at least, what would save most at least.

    `holding` is by the cloth's name, its first line what stands on what; `costs` and `saves` are things
    with their amounts. `free` are the matches that were found to cost nothing. `has_matches` says that there
    was something to match.
    """

    holding: tuple[tuple[str, tuple[str, ...]], ...]
    costs: tuple[tuple[str, str], ...]
    free: tuple[str, ...]
    saves: tuple[tuple[str, str], ...]
    has_matches: bool


def told(why: Reasons, worked: WorkedJob) -> Told:
    """Put reasons into words."""
    job = worked.job
    amount = _amounts(job)
    costs = [w for w in why.matches if (w.saves_mm or 0.0) >= LEAST_TOLD_MM]
    saving = [w for w in why.changes if (w.saves_mm or 0.0) >= LEAST_TOLD_MM]
    held = ((job.cloth(k).name, _holding_said(why, worked, holding)) for k, holding in why.holding.items())
    return Told(
        tuple((name, tuple(lines)) for name, lines in held if lines),
        tuple((w.what, amount(w.saves_mm or 0.0)) for w in costs),
        tuple(w.what for w in why.matches if w not in costs),
        tuple((w.what, amount(w.saves_mm or 0.0)) for w in saving[:MOST_TOLD]),
        bool(why.matches),
    )


def reasons_said(why: Reasons, worked: WorkedJob) -> list[str]:
    """Say it in lines, as the command line prints them."""
    said = told(why, worked)
    lines: list[str] = []
    for name, (first, *rest) in said.holding:
        lines += [f"{name}: {first}", *(f"  {x}" for x in rest)]
    if said.has_matches:
        costly = "what each match costs in cloth, at least:"
        lines.append(costly if said.costs else "no match was found to cost any cloth")
        lines += [f"  {what}: {amount}" for what, amount in said.costs]
        lines += [f"  nothing found: {', '.join(said.free)}"] if said.costs and said.free else []
    lines.append("what would save most, at least:" if said.saves else "nothing that was tried saves cloth")
    lines += [f"  {what}: {amount}" for what, amount in said.saves]
    return lines


def _called(key: str, worked: WorkedJob) -> str:
    """What a piece of a lay is called at the table: its cushion, its name, which of several."""
    part_id = part_id_of(key)
    parts: list[Piece | Strip] = [*worked.construction.pieces, *worked.construction.strips]
    part = next((p for p in parts if p.id == part_id), None)
    if part is None:
        return key
    cushion = next((c.name for c in worked.job.cushions if c.id == part.cushion_id), "")
    number = re.search(r"#(\d+)", key)
    which = f" ({number[1]} of {part.count})" if number else ""
    return f"{cushion}: {say(part.name, worked.job.words)}{which}"


def _holding_said(why: Reasons, worked: WorkedJob, holding: Holding) -> list[str]:
    job = worked.job
    if not holding.chain:
        return []
    shown = _amounts(job)
    end = f"from the cut end to the last edge at {shown(holding.chain[0].to_mm)}"
    many = len(holding.chain)
    lines = [f"{many} pieces stand on one another {end}" if many > 1 else f"one piece reaches {end}"]
    if holding.waits_mm >= 1.0:
        lines.append(f"{format_length(holding.waits_mm, job.style)} of it is cloth left free for the pattern:")
    waiting = sorted((h for h in holding.chain if h.by == "pattern"), key=lambda h: -h.waits_mm)
    for h in waiting[:MOST_TOLD]:
        meets = why.meets.get(part_id_of(h.key))
        so = f", so that it meets at {' and '.join(meets)}" if meets else ""
        lines.append(f"{_called(h.key, worked)} lies {format_length(h.waits_mm, job.style)} higher than it need{so}")
    return lines


def _amounts(job: Job) -> Callable[[float], str]:
    """How this job prints lengths of cloth that are told to the centimetre."""
    if job.style.system == "imperial":
        return lambda mm: format_length(mm, job.style)
    return lambda mm: format_cloth_length(mm, job.style)


def reasons_record(why: Reasons) -> dict[str, Any]:
    """The same for programs; lengths in millimetres."""
    return {
        "base_mm": round(why.base_mm, 2),
        "holding": {k: [asdict(h) for h in v.chain] for k, v in why.holding.items()},
        "matches": [asdict(w) for w in why.matches],
        "changes": [asdict(w) for w in why.changes],
    }
