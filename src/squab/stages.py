"""One job through every stage, in the order of the work.

Both doors, the command line and the browser, call `work`; so may a program (`import squab`).
The stages are pure; only the lay takes time, and that time is an argument.
"""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from squab.cloth import Cloth
from squab.construct import construct, panel_seam_options
from squab.construct.records import Construction
from squab.errors import LayError
from squab.findings import Finding, Outcome, Severity, worst_first
from squab.foam import supplied
from squab.job import Cover, Cushion, Job
from squab.lay.order import plan_cloth, squared_off_mm
from squab.lay.problem import lay_problems
from squab.lay.records import ClothPlan, Lay, LayProblem, Surrender
from squab.lay.verify_cover import verify_cover
from squab.match import plan_match
from squab.match.records import Cure, MatchPlan
from squab.sew import sewing_orders
from squab.units import format_cloth_length, format_length
from squab.worked import WorkedJob

TRIAL_SECONDS, TRIALS_SECONDS = 0.4, 20.0
"""Time given to each trial lay by which a cure or a surrender is priced in cloth; and after which no more are begun."""
MOST_TRIALS = 8
SMALL_DIFFERENCE_MM = 10.0
"""Trial lays that differ by less than this are called no different."""
DOUBLE_SHARE = 0.4
"""Laying once more for cloth cut double takes this much more time again."""
DEAR_FOLD_MM = 100.0
AIMS_SHARE = 0.5
"""Second aims take this much more time again."""
DEAR_GAP = 0.05
"""A knife gap that takes more than this share of the cloth is spoken of."""

Report = Callable[[str, float], None]
"""Told the stage's name and, while laying, the length so far in mm (0.0 where there is none)."""


@dataclass
class _Notes:
    """Findings gathered on the way through the stages."""

    found: list[Finding] = field(default_factory=list)

    def take(self, outcome: Outcome[Any]) -> Any:
        """Keep an outcome's findings and hand on its value."""
        self.found.extend(outcome.findings)
        return outcome.value

    @property
    def stop(self) -> bool:
        """Tell whether the job cannot go on."""
        return any(f.severity is Severity.STOP for f in self.found)


@dataclass(frozen=True)
class Prepared:
    """A job as far as its lay problems: what must be cut, and where it must sit on the repeat."""

    job: Job
    construction: Construction
    match: MatchPlan
    problems: tuple[LayProblem, ...]


def prepare(job: Job, *, panel_seam_at_mm: Mapping[str, float] | None = None) -> Outcome[Prepared]:
    """Take a job through construction and matching to its lay problems, one a cloth."""
    notes = _Notes()
    construction = notes.take(construct(job, panel_seam_at_mm=panel_seam_at_mm))
    if construction is None or notes.stop:
        return Outcome(None, worst_first(notes.found))
    match = notes.take(plan_match(job, construction))
    if match is None or notes.stop:
        return Outcome(None, worst_first(notes.found))
    problems = notes.take(lay_problems(job, construction, match))
    if problems is None or notes.stop:
        return Outcome(None, worst_first(notes.found))
    return Outcome(Prepared(job, construction, match, problems), worst_first(notes.found))


def work(
    job: Job,
    *,
    seconds: float = 10.0,
    seed: int = 0,
    workers: int = 1,
    trials: bool = True,
    report: Report | None = None,
    stop: Callable[[], bool] | None = None,
) -> Outcome[WorkedJob]:
    """Take a job through every stage.

    Parameters
    ----------
    job
        The job as asked for.
    seconds
        Time for the lay searches of all cloths together.
    seed
        Seed of the searches.
    workers
        Threads that search beside one another.
    trials
        Price cures and surrenders in cloth by short trial lays, for as long again, or `TRIALS_SECONDS`.
    report, stop
        Told of progress; asked whether to stop with the best lay so far, and with what has been priced by then.

    Returns
    -------
    Outcome[WorkedJob]
        None where a finding stops the job.
    """
    tell = report or (lambda stage, length_mm: None)
    notes = _Notes()
    tell("measuring and constructing", 0.0)
    job, in_hand = _shared_out(job, notes, seconds=seconds, seed=seed)
    prepared, findings = _best_prepared(job, seconds=min(2.0, seconds / 5), seed=seed)
    notes.found.extend(findings)
    if prepared is None:
        return Outcome(None, worst_first(notes.found))
    plans = {}
    for problem, share in zip(prepared.problems, _shares(prepared.problems, seconds), strict=True):
        name = job.cloth(problem.cloth_id).name

        def laid(progress: Any, name: str = name) -> None:
            tell(f"laying {name}", progress.length_mm)

        tell(f"laying {name}", 0.0)
        plan = notes.take(
            plan_cloth(
                problem,
                job.cloth(problem.cloth_id),
                seconds=share,
                seed=seed,
                workers=workers,
                report=laid,
                stop=stop,
            )
        )
        if plan is None:
            return Outcome(None, worst_first(notes.found))
        plan = _fitting(plan, job, in_hand, notes)
        plan = _doubled(job, plan, notes, seconds=DOUBLE_SHARE * share, seed=seed)
        plans[problem.cloth_id] = _with_aims(job, plan, notes, seconds=AIMS_SHARE * share, seed=seed, stop=stop)
    faults = verify_cover(job, prepared.construction, prepared.match, plans)
    if faults:
        raise LayError("a cover fails its proof: " + "; ".join(f.message for f in faults[:5]))
    if trials:
        tell("trying what could be done otherwise", 0.0)
        tried = _Trials(prepared, seed, time.monotonic() + max(seconds, TRIALS_SECONDS), stop)
        plans = {k: _with_surrenders(tried, plan) for k, plan in plans.items()}
        notes.found.extend(_priced_cures(tried))
        notes.found.extend(_priced_gap(tried))
    bought = notes.take(supplied(job, prepared.construction, prepared.match, plans, seed=seed))
    if bought is None:
        return Outcome(None, worst_first(notes.found))
    sewing = sewing_orders(job, prepared.construction, prepared.match, plans)
    findings = worst_first(notes.found)
    worked = WorkedJob(
        job, prepared.construction, prepared.match, plans, bought.supply, sewing, findings, bought.foam
    )  # fmt: skip
    return Outcome(worked, findings)


def check(job: Job) -> tuple[Finding, ...]:
    """Find what is wrong or worth saying about a job, without laying it."""
    return prepare(job).findings


def _shared_out(job: Job, notes: _Notes, *, seconds: float, seed: int) -> tuple[Job, Mapping[str, Lay]]:
    """The job with whole cushions cut from remnants in hand, where it has any, and the lays on them."""
    if not any(c.remnants for c in job.cloths):
        return job, {}
    from squab.remnants import share_out

    def pose(other: Job) -> tuple[LayProblem, ...] | None:
        prepared = prepare(other).value
        return None if prepared is None else prepared.problems

    shared = notes.take(share_out(job, pose, seconds=min(TRIAL_SECONDS, seconds / 8), seed=seed))
    return shared.job, shared.lays


def _fitting(plan: ClothPlan, job: Job, in_hand: Mapping[str, Lay], notes: _Notes) -> ClothPlan:
    """On a remnant, the lay that was found to fit it, where the longer search has found none as short."""
    from squab.lay.aims import with_lay
    from squab.lay.verify import verify

    known = in_hand.get(plan.cloth_id)
    if known is None or known.length_mm >= plan.lay.length_mm or verify(plan.problem, known):
        return plan
    cloth = job.cloth(plan.cloth_id)
    notes.found = [f for f in notes.found if (f.code, f.place) != ("LAY-010", cloth.name)]  # it is not too short
    return replace(with_lay(plan, cloth, known), surrenders=())


def _doubled(job: Job, plan: ClothPlan, notes: _Notes, *, seconds: float, seed: int) -> ClothPlan:
    """The plan with its pairs cut through both layers, where the cloth is to be and can be."""
    from squab.lay.aims import with_lay
    from squab.lay.double import cut_double

    cloth = job.cloth(plan.cloth_id)
    if not cloth.cut_double or not plan.lay.placed:
        return plan
    why, found = _not_double(cloth), None
    if not why:
        try:
            found = cut_double(plan.problem, seconds=seconds, seed=seed)
            why = "no two pieces are each other's mirror image and fit on half its width" if found is None else ""
        except LayError as bad:
            why = str(bad)
    if found is not None and _past_the_bolt(plan, cloth, found.lay) and not _past_the_bolt(plan, cloth, plan.lay):
        why = "cut double it would take more than there is"
    if found is None or why:
        said = f"cannot be cut double: {why}; it is laid open"
        notes.found.append(Finding("LAY-023", Severity.WARN, cloth.name, said, "leave cut_double out"))
        return plan
    more = found.lay.length_mm - plan.lay.length_mm
    cost = "about as much cloth as" if abs(more) < 1.0 else (
        f"{format_cloth_length(abs(more), job.style)} {'more' if more > 0 else 'less'} cloth than"
    )  # fmt: skip
    cuts = "1 cut gives" if len(found.pairs) == 1 else f"{len(found.pairs)} cuts give"
    said = (
        f"folded face to face for {format_cloth_length(found.folded_mm, job.style)} from the cut end, "
        f"{cuts} {2 * len(found.pairs)} pieces; that takes {cost} laid open"
    )
    hint = "laid open it takes less cloth, and more cuts: leave cut_double out" if more > DEAR_FOLD_MM else ""
    notes.found.append(Finding("LAY-022", Severity.NOTE, cloth.name, said, hint))
    return replace(with_lay(plan, cloth, found.lay), fold=found.fold(plan.lay.length_mm))


def _not_double(cloth: Cloth) -> str:
    """Why a cloth is never cut double; nothing where it may be."""
    if cloth.pattern.kind != "plain":
        return "under the fold nobody sees where the pattern lies"
    if cloth.pile:
        return "pile creeps on pile"
    return "it has an up and a down, and the under layer would be turned over" if cloth.one_way else ""


def _past_the_bolt(plan: ClothPlan, cloth: Cloth, lay: Lay) -> bool:
    bolt = cloth.bolt.length_mm if cloth.bolt else None
    return bolt is not None and squared_off_mm(lay.length_mm, cloth) > bolt + 1e-6


def _with_aims(
    job: Job, plan: ClothPlan, notes: _Notes, *, seconds: float, seed: int, stop: Callable[[], bool] | None
) -> ClothPlan:
    """The plan with the lay that serves the maker's second aims best, where there are any."""
    from squab.lay.aims import improve, with_lay

    cloth = job.cloth(plan.cloth_id)
    if not job.then or not plan.lay.placed:
        return plan
    if plan.fold is not None:
        said = f"cut double, its pairs keep their places; {', '.join(job.then)} wait"
        notes.found.append(Finding("LAY-015", Severity.NOTE, cloth.name, said, "leave cut_double out"))
        return plan
    if plan.starts:
        said = f"before the bolt is measured the lay can be for no more than its length; {', '.join(job.then)} wait"
        hint = "give stripe_at or print_at under the cloth's bolt, once it is on the table"
        notes.found.append(Finding("LAY-015", Severity.NOTE, cloth.name, said, hint))
        return plan
    found = improve(
        plan.problem, plan.lay, job.then, allowance_mm=job.then_may_add_mm, seconds=seconds, seed=seed, stop=stop
    )
    return with_lay(replace(plan, aims=found), cloth, [x for x in found if x.aim == job.then[0]][-1].lay)


def _shares(problems: tuple[LayProblem, ...], seconds: float) -> list[float]:
    """Split the search time by how much there is to lay, each cloth at least a tenth."""
    weights = [len(p.pieces) + 4 * len(p.strips) + 1 for p in problems]
    total = sum(weights)
    return [seconds * (0.1 / len(weights) + 0.9 * w / total) for w in weights]


def _best_prepared(job: Job, *, seconds: float, seed: int) -> tuple[Prepared | None, tuple[Finding, ...]]:
    """Prepare a job, choosing between panel seams where a measured bolt leaves a choice.

    Before the bolt is measured only a seam that is possible for every start is safe. Once it
    is, other seams may take less: each is laid shortly and the shortest kept.
    """
    base = prepare(job)
    if base.value is None:
        return None, base.findings
    best, length = base, None
    for cushion in job.cushions:
        for at_mm in _other_seams(job, cushion, base.value):
            if length is None:
                length = _trial_length(base.value, seed, seconds)
            other = prepare(job, panel_seam_at_mm={cushion.id: at_mm})
            if other.value is None:
                continue
            tried = _trial_length(other.value, seed, seconds)
            if tried is not None and length is not None and tried < length - SMALL_DIFFERENCE_MM:
                best, length = other, tried
    return best.value, best.findings


def _other_seams(job: Job, cushion: Cushion, base: Prepared) -> list[float]:
    cloth = job.cloth(cushion.cover.panel_cloth)
    if cloth.bolt is None or cloth.bolt.stripe_at_u_mm is None:
        return []
    cover = next(c for c in base.construction.covers if c.cushion_id == cushion.id)
    if cover.panel_seam_at_mm is None:
        return []
    options = panel_seam_options(job, cushion)
    return [o.at_mm for o in options if abs(o.at_mm - cover.panel_seam_at_mm) > 1e-6][:3]


def _trial_length(
    prepared: Prepared, seed: int, seconds: float = TRIAL_SECONDS, stop: Callable[[], bool] | None = None
) -> float | None:
    """Length that all cloths of a job need together by a short search, or None if it cannot be laid."""
    total = 0.0
    for problem in prepared.problems:
        cloth = prepared.job.cloth(problem.cloth_id)
        outcome = plan_cloth(replace(problem, bolt_mm=None), cloth, seconds=seconds, seed=seed, stop=stop)
        if outcome.value is None:
            return None
        total += outcome.value.needs_mm
    return total


@dataclass
class _Trials:
    """Short lays of a job as it could be otherwise."""

    prepared: Prepared
    seed: int
    until: float
    stop: Callable[[], bool] | None

    @property
    def over(self) -> bool:
        """Whether no more are to be laid."""
        return time.monotonic() >= self.until or (self.stop is not None and self.stop())

    @cached_property
    def base_mm(self) -> float | None:
        """What the job as it is needs by as short a search."""
        return self.length_mm(self.prepared)

    def length_mm(self, prepared: Prepared) -> float | None:
        """What all cloths need; None if it cannot be laid, or is over before it has been."""
        length = None if self.over else _trial_length(prepared, self.seed, stop=lambda: self.over)
        return None if self.over else length

    def needs_mm(self, prepared: Prepared, cloth_id: str) -> float | None:
        """What one cloth needs; None likewise."""
        problems = tuple(p for p in prepared.problems if p.cloth_id == cloth_id)
        return self.length_mm(replace(prepared, problems=problems))


def changed_cover(cover: Cover, setting: str, value: object) -> Cover:
    """Change one setting of a cover by its dotted name, such as `matching.sides_along`.

    Raises
    ------
    AttributeError
        If a cover has no such setting.
    """
    first, _, rest = setting.partition(".")
    if first not in {f.name for f in dataclasses.fields(cover)}:
        raise AttributeError(f"a cover has no setting {first!r}")
    if not rest:
        return replace(cover, **{first: value})  # type: ignore[arg-type]
    inner = getattr(cover, first)
    if rest not in {f.name for f in dataclasses.fields(inner)}:
        raise AttributeError(f"{first} has no setting {rest!r}")
    return replace(cover, **{first: replace(inner, **{rest: value})})


def changed_job(job: Job, settings: Iterable[tuple[str, str, object]]) -> Job:
    """Change settings of cushions' covers: (cushion id, dotted setting, value); an empty id means every cushion."""
    cushions = list(job.cushions)
    for cushion_id, setting, value in settings:
        cushions = [
            replace(c, cover=changed_cover(c.cover, setting, value)) if cushion_id in ("", c.id) else c
            for c in cushions
        ]
    return replace(job, cushions=tuple(cushions))


def _priced_cures(trials: _Trials) -> list[Finding]:
    """Say what each cure would cost, or save, in cloth."""
    prepared = trials.prepared
    cures = list(dict.fromkeys((c.setting, c.value) for c in prepared.match.cures if c.setting))[:MOST_TRIALS]
    if not cures:
        return []
    base = trials.base_mm
    if base is None:
        return []
    said = []
    for setting, value in cures:
        if trials.over:
            break
        assert setting is not None
        of = [c for c in prepared.match.cures if (c.setting, c.value) == (setting, value)]
        other = prepare(changed_job(prepared.job, [(c.cushion_id, setting, value) for c in of])).value
        length = trials.length_mm(other) if other else None
        if length is None:
            continue
        said.append(_cure_finding(prepared.job, of, length - base))
    return said


def _cure_finding(job: Job, cures: list[Cure], more_mm: float) -> Finding:
    amount = format_cloth_length(abs(more_mm), job.style)
    cost = (
        "about the same cloth"
        if abs(more_mm) < SMALL_DIFFERENCE_MM
        else f"about {amount} more cloth"
        if more_mm > 0
        else f"about {amount} less cloth"
    )
    names = ", ".join(dict.fromkeys(c.name for c in job.cushions if c.id in {x.cushion_id for x in cures}))
    return Finding("MAT-090", Severity.NOTE, names, f"{cures[0].what}: {cost}")


def _priced_gap(trials: _Trials) -> list[Finding]:
    """Say where the knife's gap is dear: a millimetre too much can throw a row out, or cost a whole repeat."""
    prepared = trials.prepared
    job, gap_mm = prepared.job, prepared.job.knife_gap_mm
    if gap_mm <= 0.0:
        return []
    base = trials.base_mm
    bare = trials.length_mm(_with_gap(prepared, 0.0))
    if base is None or bare is None or base - bare < DEAR_GAP * base:
        return []
    narrower = [float(g) for g in range(1, 4) if g < gap_mm]
    laid = {g: trials.length_mm(_with_gap(prepared, g)) for g in narrower}
    if trials.over:
        return []  # what was not tried is not said to need none
    enough = max((g for g, x in laid.items() if x is not None and x <= bare + (base - bare) / 4), default=0.0)
    gap, frees = format_length(gap_mm, job.style), format_cloth_length(base - (laid.get(enough) or bare), job.style)
    with_less = f"a gap of {format_length(enough, job.style)} would do" if enough else "cut by shears, it needs none"
    return [
        Finding(
            "LAY-090",
            Severity.WARN,
            "the lay",
            f"the knife gap of {gap} takes about {frees} more cloth than need be",
            f"{with_less}; or take the difference off an allowance where the pieces stand in one another's way",
        )
    ]


def _with_gap(prepared: Prepared, gap_mm: float) -> Prepared:
    return replace(prepared, problems=tuple(replace(p, gap_mm=gap_mm) for p in prepared.problems))


def _with_surrenders(trials: _Trials, plan: ClothPlan) -> ClothPlan:
    """Where the bolt is too short, list what could be given up, least seen first, with what each frees."""
    bolt_mm, need_mm = plan.problem.bolt_mm, plan.bolt_length_mm or plan.order_mm
    if bolt_mm is None or need_mm <= bolt_mm:
        return plan
    base = trials.needs_mm(trials.prepared, plan.cloth_id)
    if base is None:
        return plan
    surrenders = []
    for what, other in _surrendered(trials.prepared, plan.cloth_id):
        if trials.over:
            return plan
        needs = trials.needs_mm(other, plan.cloth_id)
        if needs is not None and base - needs > SMALL_DIFFERENCE_MM:
            frees = base - needs
            surrenders.append(Surrender(what, frees, enough=frees >= need_mm - bolt_mm))
    return plan if trials.over else replace(plan, surrenders=tuple(surrenders))


def _surrendered(prepared: Prepared, cloth_id: str) -> Iterator[tuple[str, Prepared]]:
    """The job with one thing given up at a time, least seen first."""
    kinds = {p.id: p.kind for p in prepared.construction.pieces}
    strip_kinds = {s.id: s.kind for s in prepared.construction.strips}

    def without(kind: str) -> Prepared:
        def kept(key: str) -> bool:
            part = _part_of(key)
            return kinds.get(part) != kind and strip_kinds.get(part) != kind

        problems = tuple(
            replace(
                p,
                pieces=tuple(x for x in p.pieces if kept(x.key)),
                strips=tuple(x for x in p.strips if kept(x.key)),
            )
            if p.cloth_id == cloth_id
            else p
            for p in prepared.problems
        )
        return replace(prepared, problems=problems)

    kind_of = {"zip_cloth": "zip_panel", "bottom_cloth": "bottom", "piping_cloth": "piping"}
    for what, settings in surrender_settings(prepared.job).items():
        other = without(kind_of[settings]) if isinstance(settings, str) else _rerun(prepared, settings)
        if other is not None:
            yield what, other


def surrender_settings(job: Job) -> dict[str, list[tuple[str, str, object]] | str]:
    """What could be given up for want of cloth, least seen first, and the settings that do it.

    Settings as `changed_job` takes them; a single name is the setting that wants another cloth named.
    """
    return {
        "the zip panels in another cloth": "zip_cloth",
        "the bottom edges left unpiped": _unpiped(job),
        "the bottoms in plain cloth": "bottom_cloth",
        "the piping in a contrast cloth": "piping_cloth",
        "a seam allowance of 10 mm": [("", "allowance_mm", 10.0), ("", "notching.depth_mm", 5.0)],
        "boxing joined at the corners": [("", "joins_at_corners", True)],
        "no match asked for at the back": [("", "matching.back", "ignore")],
        "no match asked for at the sides": [("", "matching.sides", "ignore")],
    }


def _part_of(key: str) -> str:
    """The piece id within a lay key: `seat#2.top` is a cut of `seat.top`."""
    head, mark, tail = key.partition("#")
    return head + tail.lstrip("0123456789") if mark else key


def _unpiped(job: Job) -> list[tuple[str, str, object]]:
    fewer = {"both": "top", "bottom": "none"}
    return [(c.id, "piping.edges", fewer[c.cover.piping.edges]) for c in job.cushions if c.cover.piping.edges in fewer]


def _rerun(prepared: Prepared, settings: list[tuple[str, str, object]]) -> Prepared | None:
    job = changed_job(prepared.job, settings)
    return None if job == prepared.job else prepare(job).value
