"""Remnants: which cushions are cut from what is in hand already, so that less cloth is bought.

A cushion is cut from one length as a whole, so dye lots never meet within one. What comes of it is
the same job with every used remnant a cloth of its own, and the cushions that are cut from it
standing by themselves: every later stage and sheet then treats a remnant like any bolt.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

import numpy as np

from squab.cloth import Cloth, Remnant
from squab.errors import LayError
from squab.findings import Finding, Outcome, Severity
from squab.job import Cover, Cushion, Job
from squab.lay.aims import cushion_of
from squab.lay.order import squared_off_mm, unknown_directions
from squab.lay.records import Lay, LayProblem
from squab.lay.search import search
from squab.units import format_cloth_length, format_length

ROLES = ("panel_cloth", "bottom_cloth", "boxing_cloth", "zip_cloth", "piping_cloth")
SAVES_MM = 10.0
"""A remnant is cut into only where at least so much less is then taken from the bolt."""
TRY_S = 0.4
FITS_MM = 1e-6

Pose = Callable[[Job], tuple[LayProblem, ...] | None]
"""From a job to its lay problems; None where it cannot be made so."""


@dataclass(frozen=True)
class SharedOut:
    """A job shared out over its remnants, and the lay found on each of them by cloth id."""

    job: Job
    lays: Mapping[str, Lay]


def share_out(job: Job, pose: Pose, *, seconds: float = TRY_S, seed: int = 0) -> Outcome[SharedOut]:
    """Cut whole cushions from the remnants in hand, wherever that saves cloth to be bought.

    Parameters
    ----------
    job
        A job some of whose cloths have remnants.
    pose
        Gives the lay problems of a job.
    seconds
        For each trial lay.
    seed
        Seed of the searches.

    Returns
    -------
    Outcome[SharedOut]
        The job as it is where no remnant helps. Findings: LAY-016 what is cut from a remnant and
        what that saves, LAY-017 why one is left, LAY-018 cushions come from different lots.
    """
    hand = _Hand(pose, seconds, seed)
    findings: list[Finding] = []
    lays: dict[str, Lay] = {}
    for cloth in job.cloths:
        smallest_first = sorted(
            enumerate(cloth.remnants, 1), key=lambda r: (r[1].width_mm or cloth.usable_width_mm) * r[1].length_mm
        )
        lots = {cloth.bolt.lot if cloth.bolt else ""}
        for number, remnant in smallest_first:
            filled, found = _fill(job, cloth, number, remnant, hand)
            findings.append(found)
            if filled is not None:
                job, lay = filled
                lays[_remnant_id(cloth, number)] = lay
                lots.add(remnant.bolt.lot or f"remnant {number}")
        if len(lots) > 1:
            findings.append(_shades(cloth, job))
    return Outcome(SharedOut(job, lays), tuple(findings))


@dataclass(frozen=True)
class _Hand:
    pose: Pose
    seconds: float
    seed: int

    def problem(self, job: Job, cloth_id: str) -> LayProblem | None:
        return next((p for p in self.pose(job) or () if p.cloth_id == cloth_id), None)

    def lay(self, problem: LayProblem) -> Lay | None:
        try:
            return search(replace(problem, bolt_mm=None), seconds=self.seconds, seed=self.seed)
        except LayError:
            return None

    def bolt_mm(self, job: Job, cloth_id: str) -> float:
        """What the bolt itself is needed for; nought where nothing is cut from it."""
        problem = self.problem(job, cloth_id)
        lay = None if problem is None else self.lay(problem)
        return 0.0 if lay is None else lay.length_mm


def _fill(job: Job, cloth: Cloth, number: int, remnant: Remnant, hand: _Hand) -> tuple[tuple[Job, Lay] | None, Finding]:
    """Put as many cushions on a remnant as it holds, the largest first."""
    taken: dict[str, int] = {}
    best: tuple[Job, Lay] | None = None
    place = f"{cloth.name}, remnant {number}"
    missing: float | None = None
    for cushion in _largest_first(job, cloth):
        while taken.get(cushion.id, 0) < cushion.count:
            more = {**taken, cushion.id: taken.get(cushion.id, 0) + 1}
            other = moved(job, cloth, number, more)
            problem = hand.problem(other, _remnant_id(cloth, number))
            if problem is None:
                break
            if any(unknown_directions(problem)):
                return None, _left(place, "where its pattern stands is not measured",
                                   "give its stripe_at or print_at")  # fmt: skip
            lay = hand.lay(problem) if _area_mm2(problem) <= _room_mm2(problem) else None
            over = (
                None
                if lay is None
                else squared_off_mm(lay.length_mm, other.cloth(problem.cloth_id)) - remnant.length_mm
            )
            if lay is None or over is None or over > FITS_MM:
                missing = over if over is not None and (missing is None or over < missing) else missing
                break
            taken, best = more, (other, lay)
    if best is None:
        short = f"; {format_length(missing, job.style)} are missing" if missing is not None else ""
        return None, _left(place, f"no whole cushion can be cut from it{short}", "keep it for piping or a smaller job")
    saves = hand.bolt_mm(job, cloth.id) - hand.bolt_mm(best[0], cloth.id)
    if saves < SAVES_MM:
        return None, _left(place, "cutting from it would save no cloth to be bought", "keep it for another job")
    names = " and ".join(f"{n} of {c.name}" if c.count > 1 else c.name for c in job.cushions if (n := taken.get(c.id)))
    said = f"{names} cut from it; {format_cloth_length(saves, job.style)} less are taken from the bolt"
    return best, Finding("LAY-016", Severity.NOTE, place, said)


def _left(place: str, why: str, hint: str) -> Finding:
    return Finding("LAY-017", Severity.NOTE, place, f"{why}; it is left as it is", hint)


def _shades(cloth: Cloth, job: Job) -> Finding:
    said = "its cushions come from different lengths, which may differ a little in shade; no cushion is cut from two"
    changes = cloth.pattern.kind != "plain"
    also = "; pin a line of the pattern (pin_across) if all are to show the same at their centre" if changes else ""
    return Finding("LAY-018", Severity.NOTE, cloth.name, said, f"set those of one length side by side{also}")


def _largest_first(job: Job, cloth: Cloth) -> list[Cushion]:
    def size(c: Cushion) -> float:
        x0, y0, x1, y1 = c.outline.bounds()
        return (x1 - x0) * (y1 - y0)

    return sorted((c for c in job.cushions if uses(job, c, cloth.id)), key=size, reverse=True)


def _area_mm2(problem: LayProblem) -> float:
    x = [p.outline for p in problem.pieces]
    pieces = sum(abs(float((o[:, 0] * np.roll(o[:, 1], -1) - np.roll(o[:, 0], -1) * o[:, 1]).sum())) / 2 for o in x)
    return pieces + sum((s.s1_mm - s.s0_mm) * (s.z1_mm - s.z0_mm) for s in problem.strips)


def _room_mm2(problem: LayProblem) -> float:
    return problem.usable_width_mm * (problem.bolt_mm or 0.0)


# --- the job with a remnant as a cloth of its own ---


def cloths_of(job: Job, cover: Cover) -> dict[str, str]:
    """The cloth of each part of a cover, spelt out."""
    panel = cover.panel_cloth or job.cloths[0].id
    return {role: getattr(cover, role) or panel for role in ROLES}


def uses(job: Job, cushion: Cushion, cloth_id: str) -> bool:
    """Tell whether anything of a cushion is cut from a cloth."""
    return cloth_id in cloths_of(job, cushion.cover).values()


def _remnant_id(cloth: Cloth, number: int) -> str:
    return f"{cloth.id}-remnant-{number}"


def moved(job: Job, cloth: Cloth, number: int, taken: Mapping[str, int]) -> Job:
    """The job with so many of each cushion cut from a remnant in place of its cloth.

    The remnant becomes a cloth in hand, and the cushions cut from it stand by themselves, under
    the id and name of their kind with the remnant's number.
    """
    remnant = cloth.remnants[number - 1]
    own = replace(
        cloth, id=_remnant_id(cloth, number), name=f"{cloth.name}, remnant {number}", remnants=(), in_hand=True,
        usable_width_mm=remnant.width_mm or cloth.usable_width_mm, bolt=remnant.bolt, price_per_m=Decimal(0),
    )  # fmt: skip
    cushions: list[Cushion] = []
    for c in job.cushions:
        count = taken.get(c.id, 0)
        on: dict[str, Any] = {r: own.id if k == cloth.id else k for r, k in cloths_of(job, c.cover).items()}
        there = replace(c, cover=replace(c.cover, **on))
        if count == c.count:
            cushions.append(there)
        elif count:
            part = replace(
                there, id=f"{c.id}-r{number}", name=f"{c.name} (remnant {number})", count=count,
                sold_as=c.sold_as or c.name,
            )  # fmt: skip
            cushions += [replace(c, count=c.count - count), part]
        else:
            cushions.append(c)
    return replace(job, cushions=tuple(cushions), cloths=_beside(job.cloths, cloth.id, own))


Shares = tuple[tuple[str, tuple[tuple[str, int], ...]], ...]
"""For each remnant's cloth id, the cushions laid on it and how many of each."""
_OF_REMNANT = re.compile(r"(?P<cloth>.+)-remnant-(?P<number>[1-9][0-9]*)")


def shares_of(lays: Mapping[str, Lay]) -> Shares:
    """Which cushions lie on which remnant, from the lays of a job that was shared out.

    >>> from squab.lay.records import Placed
    >>> placed = (Placed("pad-r1#1.top", 0, 0, 0), Placed("pad-r1#2.top", 0, 0, 0), Placed("stool.top", 0, 0, 0))
    >>> shares_of({"linen-remnant-1": Lay(placed, {}, (0.0, 0.0), 0.0)})
    (('linen-remnant-1', (('pad-r1', 2), ('stool', 1))),)
    """
    found = []
    for cloth_id, lay in lays.items():
        if _OF_REMNANT.fullmatch(cloth_id):
            each = Counter(
                cushion_of(key).split("#")[0] for key in {cushion_of(x.key): x.key for x in lay.placed}.values()
            )
            found.append((cloth_id, tuple(sorted(each.items()))))
    return tuple(found)


def as_shared(job: Job, shares: Shares) -> Job:
    """A job shared out again as it was before, so that lays kept from then are lays of its pieces."""
    left = list(shares)
    while left:
        tried = [(x, again) for x in left if (again := _once_more(job, *x)) is not None]
        if not tried:
            return job
        done, job = tried[0]
        left.remove(done)
    return job


def _once_more(job: Job, cloth_id: str, laid: tuple[tuple[str, int], ...]) -> Job | None:
    """One remnant's cushions moved to it; None where it is not there, or another has its turn first."""
    named = _OF_REMNANT.fullmatch(cloth_id)
    cloth = next((c for c in job.cloths if named and c.id == named["cloth"]), None)
    if named is None or cloth is None or not 0 < int(named["number"]) <= len(cloth.remnants):
        return None
    number, counts = int(named["number"]), {c.id: c.count for c in job.cushions}
    taken = {}
    for cushion_id, count in laid:
        if counts.get(cushion_id) == count:
            taken[cushion_id] = count
        elif (own := cushion_id.removesuffix(f"-r{number}")) != cushion_id and counts.get(own, 0) > count:
            taken[own] = count
        else:
            return None
    return moved(job, cloth, number, taken)


def _beside(cloths: Sequence[Cloth], cloth_id: str, own: Cloth) -> tuple[Cloth, ...]:
    """The cloths with one more after the cloth it is a remnant of."""
    at = next(k for k, c in enumerate(cloths) if c.id == cloth_id) + 1
    return (*cloths[:at], own, *cloths[at:])
