"""Jobs from a job file's text through every stage, for the tests of whole jobs worked by hand."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from squab.construct.records import CushionCover, Piece, Strip
from squab.files import read_job
from squab.findings import Finding
from squab.job import Job
from squab.lay.problem import part_id_of
from squab.lay.records import ClothPlan, Lay, LayProblem
from squab.lay.search import search
from squab.lay.verify import verify
from squab.stages import Prepared, prepare, work
from squab.worked import WorkedJob


@cache
def read(text: str) -> Job:
    """The job of a file, which must hold no fault."""
    found = read_job(text.encode())
    assert found.value is not None, found.findings
    return found.value


@cache
def prepared(text: str) -> tuple[Prepared, tuple[Finding, ...]]:
    """A job as far as its lay problems, with what was found."""
    found = prepare(read(text))
    assert found.value is not None, found.findings
    return found.value, found.findings


@cache
def worked(text: str, seconds: float = 1.5, *, trials: bool = False) -> WorkedJob:
    """A job through every stage."""
    found = work(read(text), seconds=seconds, trials=trials)
    assert found.value is not None, found.findings
    return found.value


def plan_of(job: WorkedJob) -> ClothPlan:
    """The plan of a job in one cloth, proved sound."""
    (plan,) = job.plans.values()
    assert verify(plan.problem, plan.lay) == ()
    assert plan.bound.length_mm <= plan.lay.length_mm + 1e-6
    return plan


def some(problem: LayProblem, *names: str) -> LayProblem:
    """A problem with only those pieces whose part is named, and no strips."""

    def named(key: str) -> bool:
        return any(part_id_of(key).endswith(n) for n in names)

    return replace(problem, pieces=tuple(p for p in problem.pieces if named(p.key)), strips=())


def laid(problem: LayProblem, *, steps: int = 4000) -> Lay:
    """A sound lay of a problem by so many steps of the search."""
    lay = search(problem, seconds=20, steps=steps)
    assert verify(problem, lay) == ()
    return lay


def cut(piece: Piece) -> tuple[float, float]:
    """Cut size of a piece over all, across and along."""
    x0, y0, x1, y1 = piece.cut.bounds()
    return x1 - x0, y1 - y0


def piece(cover: CushionCover, name: str) -> Piece:
    """The piece of a cover by the end of its id."""
    return next(p for p in cover.pieces if p.id == f"{cover.cushion_id}.{name}")


def strip(cover: CushionCover, name: str) -> Strip:
    """The strip of a cover by the end of its id."""
    return next(s for s in cover.strips if s.id == f"{cover.cushion_id}.{name}")


def codes(findings: tuple[Finding, ...]) -> set[str]:
    """The codes of what was found."""
    return {f.code for f in findings}
