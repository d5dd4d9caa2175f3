"""How a worked job is kept: what its lay found, without what can be worked out again in a breath.

Plain values in MessagePack, read back into the records of the lay and proved anew: nothing that
lies in a database is run, and a lay that does not fit the job any more is thrown away. What it has to
say names cushions and cloths by a mark, so that they may be called otherwise by then.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from hashlib import sha256

import msgspec

from squab import __version__
from squab.findings import Finding, worst_first
from squab.foam import supplied
from squab.job import Customer, Job
from squab.lay.order import cloth_cost
from squab.lay.records import Bound, ClothPlan, Fold, Improved, Lay, LayProblem, StartRange, Surrender
from squab.lay.verify import verify, verify_fold
from squab.lay.verify_cover import verify_cover
from squab.prices import PriceList
from squab.remnants import as_shared, shares_of
from squab.sew import sewing_orders
from squab.stages import prepare
from squab.worked import WorkedJob

_LAYS_FINDINGS = ("LAY-", "MAT-090")
"""What only a search can say; everything else is found anew."""


@dataclass(frozen=True)
class _KeptPlan:
    cloth_id: str
    lay: Lay
    bound: Bound
    handbook_mm: float
    needs_mm: float
    order_mm: float
    bolt_length_mm: float | None
    starts: tuple[StartRange, ...]
    surrenders: tuple[Surrender, ...]
    risk: str
    pattern_at: tuple[float | None, float | None]
    has_flaws: bool
    has_bolt: bool
    """The lay shown may be one for a start to come, without this bolt's flaws and length."""
    fold: Fold | None = None
    aims: tuple[Improved, ...] = ()


@dataclass(frozen=True)
class KeptWork:
    """What a search found: its plans, the panel seams it chose, how long it looked, what it has to say."""

    made_by: str
    seconds: float
    whole: bool
    """Whether cures and surrenders were tried as well."""
    panel_seams: Mapping[str, float]
    plans: tuple[_KeptPlan, ...]
    findings: tuple[Finding, ...]

    @property
    def order_mm(self) -> float:
        """Cloth to order, of all cloths."""
        return sum(p.order_mm for p in self.plans)

    @property
    def length_mm(self) -> float:
        """The lays' own lengths."""
        return sum(p.lay.length_mm for p in self.plans)


def names_of(job: Job) -> dict[str, str]:
    """The mark that stands for each name in what is kept: of what may be renamed without another lay.

    None of two that are called alike, and none where whole cushions are cut from remnants, whose parts are named after
    them: there a name that is changed is laid anew.
    """
    if any(c.remnants for c in job.cloths):
        return {}
    called = [(x.name, f"\x02cushion {x.id}\x03") for x in job.cushions if x.name]
    called += [(x.name, f"\x02cloth {x.id}\x03") for x in job.cloths if x.name]
    alike = Counter(name for name, _ in called)
    return {name: mark for name, mark in called if alike[name] == 1}


def cut_digest(job: Job) -> str:
    """Digest everything of a job that its lay depends on: neither customer, name nor price, nor lines of the file."""
    marks = names_of(job)
    bare = replace(
        job,
        name="",
        prices=PriceList(),
        customer=Customer(),
        reference="",
        workroom="",
        dated=None,
        validity_days=0,
        lead_time_weeks=0,
        notes="",
        paper="a4",
        marked="face_up",
        outdoor=False,
        foam_sheets=(),
        foam_gap_mm=0.0,
        cushions=tuple(
            replace(c, line=None, typed=(), place="", name="" if c.name in marks else c.name) for c in job.cushions
        ),
        cloths=tuple(replace(c, price_per_m=None, care="", name="" if c.name in marks else c.name) for c in job.cloths),
    )
    return sha256(f"{__version__} {bare!r}".encode()).hexdigest()


def kept_of(worked: WorkedJob, *, seconds: float, whole: bool) -> KeptWork:
    """What is worth keeping of a worked job."""
    found = tuple(f for f in worked.findings if f.code.startswith(_LAYS_FINDINGS))
    return KeptWork(
        made_by=__version__,
        seconds=seconds,
        whole=whole,
        panel_seams={
            c.cushion_id: c.panel_seam_at_mm for c in worked.construction.covers if c.panel_seam_at_mm is not None
        },
        plans=tuple(_kept_plan(p) for p in worked.plans.values()),
        findings=_with_names(found, names_of(worked.job)),
    )


def _with_names(findings: tuple[Finding, ...], instead: Mapping[str, str]) -> tuple[Finding, ...]:
    """Findings with one name, or the mark of one, in place of another: whole names alone, the longest first."""
    if not instead or not findings:
        return findings
    names = "|".join(re.escape(name) for name in sorted(instead, key=len, reverse=True))
    whole = re.compile(rf"(?<!\w)(?:{names})(?!\w)")

    def said(text: str) -> str:
        return whole.sub(lambda m: instead[m[0]], text)

    return tuple(replace(f, place=said(f.place), message=said(f.message), hint=said(f.hint)) for f in findings)


def _kept_plan(plan: ClothPlan) -> _KeptPlan:
    return _KeptPlan(
        plan.cloth_id,
        plan.lay,
        plan.bound,
        plan.handbook_mm,
        plan.needs_mm,
        plan.order_mm,
        plan.bolt_length_mm,
        plan.starts,
        plan.surrenders,
        plan.risk,
        plan.problem.pattern_at,
        bool(plan.problem.flaws),
        plan.problem.bolt_mm is not None,
        plan.fold,
        plan.aims,
    )


def packed(kept: KeptWork) -> bytes:
    """Kept work as bytes."""
    return msgspec.msgpack.encode(kept)


def unpacked(data: bytes) -> KeptWork | None:
    """Kept work of bytes; None where they are none."""
    try:
        return msgspec.msgpack.decode(data, type=KeptWork)
    except (msgspec.DecodeError, ValueError):
        return None


def restored(job: Job, kept: KeptWork) -> WorkedJob | None:
    """The worked job again; None where the lay does not fit the job any more."""
    job = as_shared(job, shares_of({p.cloth_id: p.lay for p in kept.plans}))
    prepared = prepare(job, panel_seam_at_mm=kept.panel_seams or None)
    if prepared.value is None:
        return None
    plans: dict[str, ClothPlan] = {}
    by_cloth = {p.cloth_id: p for p in kept.plans}
    for problem in prepared.value.problems:
        found = by_cloth.get(problem.cloth_id)
        if found is None:
            return None
        shown = _as_laid(problem, found)
        if verify(shown, found.lay) or (found.fold is not None and verify_fold(shown, found.lay, found.fold)):
            return None
        price = job.cloth(problem.cloth_id).price_per_m
        plans[problem.cloth_id] = ClothPlan(
            problem.cloth_id, shown, found.lay, found.bound, found.handbook_mm, found.needs_mm, found.order_mm,
            found.bolt_length_mm, found.starts, found.surrenders,
            None if price is None else cloth_cost(price, found.order_mm), found.risk, found.aims, found.fold,
        )  # fmt: skip
    construction, match = prepared.value.construction, prepared.value.match
    if verify_cover(job, construction, match, plans):
        return None
    bought = supplied(job, construction, match, plans)
    if bought.value is None:
        return None
    said = _with_names(kept.findings, {mark: name for name, mark in names_of(job).items()})
    findings = worst_first((*prepared.findings, *said, *bought.findings))
    sewing = sewing_orders(job, construction, match, plans)
    return WorkedJob(job, construction, match, plans, bought.value.supply, sewing, findings, bought.value.foam)


def _as_laid(problem: LayProblem, found: _KeptPlan) -> LayProblem:
    return replace(
        problem,
        pattern_at=found.pattern_at,
        flaws=problem.flaws if found.has_flaws else (),
        bolt_mm=problem.bolt_mm if found.has_bolt else None,
    )
