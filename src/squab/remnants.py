"""Remnants: which cushions are cut from what is in hand already, so that less cloth is bought.

A cushion is cut from one length as a whole; from a remnant of the bolt's own lot it may also take single
parts, least seen first. So dye lots never meet within a cushion. What comes of it is the same job with every
used remnant a cloth of its own, and the cushions that are cut from it standing by themselves: every later
stage and sheet then treats a remnant like any bolt.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
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

PARTS = (("piping_cloth", "piping"), ("zip_cloth", "zip panel"), ("bottom_cloth", "bottom"))
"""What a remnant of the same lot may take of a cushion, least seen first, and its name."""
ROLES = ("panel_cloth", "bottom_cloth", "boxing_cloth", "zip_cloth", "piping_cloth")
SAVES_MM = 10.0
"""A remnant is cut into only where at least so much less is then taken from the bolt."""
TRY_S = 0.4
FITS_MM = 1e-6

Taken = Mapping[str, int]
"""How many of each cushion, by id, are cut from a remnant as a whole."""
Parts = Mapping[str, tuple[int, tuple[str, ...]]]
"""Of how many of each cushion some roles are cut from a remnant, and which."""
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
        """What the bolt itself is needed for; nought where nothing is cut from it, inf where no lay was found."""
        problem = self.problem(job, cloth_id)
        lay = None if problem is None else self.lay(problem)
        return 0.0 if problem is None else math.inf if lay is None else lay.length_mm


def _fill(job: Job, cloth: Cloth, number: int, remnant: Remnant, hand: _Hand) -> tuple[tuple[Job, Lay] | None, Finding]:
    """Put as many cushions on a remnant as it holds, the largest first, then parts of others where lots agree."""
    place = f"{cloth.name}, remnant {number}"
    on = _On(job, cloth, number, remnant, hand)
    unmeasured = _unmeasured(job, cloth, number, hand)
    for cushion in [] if unmeasured else _largest_first(job, cloth):
        if _is_shared(job, cushion, cloth):
            continue
        while on.whole(cushion.id) < cushion.count and on.tries({**on.taken, cushion.id: on.whole(cushion.id) + 1}):
            pass
    if _may_share(cloth, remnant):
        _fill_with_parts(on)
    if on.best is None and unmeasured:
        return None, _left(place, "where its pattern stands is not measured", "give its stripe_at or print_at")
    if on.best is None:
        short = f"; {format_length(on.missing_mm, job.style)} are missing" if on.missing_mm is not None else ""
        return None, _left(place, f"no whole cushion can be cut from it{short}", "keep it for piping or a smaller job")
    saves = hand.bolt_mm(job, cloth.id) - hand.bolt_mm(on.best[0], cloth.id)
    if not SAVES_MM <= saves < math.inf:
        return None, _left(place, "cutting from it would save no cloth to be bought", "keep it for another job")
    said = f"{on.said()} cut from it; {format_cloth_length(saves, job.style)} less are taken from the bolt"
    return on.best, Finding("LAY-016", Severity.NOTE, place, said)


def _may_share(cloth: Cloth, remnant: Remnant) -> bool:
    """Tell whether a cushion may have parts of both: only within one dye lot, which both must name."""
    return (
        bool(remnant.bolt.lot.strip()) and cloth.bolt is not None and cloth.bolt.lot.strip() == remnant.bolt.lot.strip()
    )


def _is_shared(job: Job, cushion: Cushion, cloth: Cloth) -> bool:
    """Tell whether a cushion has parts on a remnant already: the rest of it stays with the bolt, in its lot."""
    return any(job.cloth(k).remnant_of == cloth.id for k in cloths_of(job, cushion.cover).values())


def _unmeasured(job: Job, cloth: Cloth, number: int, hand: _Hand) -> bool:
    """Tell whether some cushion on the remnant would hang on a start of the pattern that nobody has measured."""
    if cloth.pattern.kind == "plain":
        return False
    for cushion in _largest_first(job, cloth):
        problem = hand.problem(moved(job, cloth, number, {cushion.id: 1}), _remnant_id(cloth, number))
        if problem is not None and any(unknown_directions(problem)):
            return True
    return False


@dataclass
class _On:
    """What has been put on a remnant so far, and the lay of it; `missing_mm` is what the nearest miss was short of."""

    job: Job
    cloth: Cloth
    number: int
    remnant: Remnant
    hand: _Hand
    taken: Taken = field(default_factory=dict)
    parts: Parts = field(default_factory=dict)
    best: tuple[Job, Lay] | None = None
    missing_mm: float | None = None

    def whole(self, cushion_id: str) -> int:
        return self.taken.get(cushion_id, 0)

    def left(self, cushion: Cushion) -> int:
        """How many of a kind are still cut from the bolt as a whole."""
        return cushion.count - self.whole(cushion.id)

    def tries(self, taken: Taken, parts: Parts | None = None) -> bool:
        """Take it, where it fits on the remnant, squared off."""
        parts = self.parts if parts is None else parts
        other = moved(self.job, self.cloth, self.number, taken, parts)
        problem = self.hand.problem(other, _remnant_id(self.cloth, self.number))
        if problem is None or _area_mm2(problem) > _room_mm2(problem):
            return False
        lay = self.hand.lay(problem)
        if lay is None:
            return False
        over = squared_off_mm(lay.length_mm, other.cloth(problem.cloth_id)) - self.remnant.length_mm
        if over > FITS_MM:
            self.missing_mm = over if self.missing_mm is None else min(self.missing_mm, over)
            return False
        self.taken, self.parts, self.best = dict(taken), dict(parts), (other, lay)
        return True

    def said(self) -> str:
        """What is cut from it, in words."""
        names = []
        for c in self.job.cushions:
            if n := self.whole(c.id):
                names.append(self._of(c, n))
            count, roles = self.parts.get(c.id, (0, ()))
            if count:
                what = " and ".join(name for role, name in PARTS if role in roles)
                names.append(f"the {what} of {self._of(c, count)}")
        return ", ".join(names[:-1]) + (" and " if len(names) > 1 else "") + names[-1]

    def _of(self, cushion: Cushion, count: int) -> str:
        return f"{count} of {cushion.name}" if cushion.count > 1 else cushion.name


def _fill_with_parts(on: _On) -> None:
    """Put parts of the cushions that stay on the bolt on what is left of a remnant of the same lot.

    Where the pattern has to be met only piping may leave its cushion: it needs no place on the pattern.
    """
    plain = on.cloth.pattern.kind == "plain"
    for role, _ in PARTS if plain else PARTS[:1]:
        for cushion in _largest_first(on.job, on.cloth):
            if on.left(cushion) and _has_part(on.job, cushion, role, on.cloth):
                _put_part(on, cushion, role)


def _put_part(on: _On, cushion: Cushion, role: str) -> None:
    """One part of as many of a kind as fit: of those that have other parts there already, all or none."""
    count, roles = on.parts.get(cushion.id, (0, ()))
    tried = count or on.left(cushion)
    while tried and not on.tries(on.taken, {**on.parts, cushion.id: (tried, (*roles, role))}):
        tried = 0 if count else tried // 2


def _has_part(job: Job, cushion: Cushion, role: str, cloth: Cloth) -> bool:
    """Tell whether a part is there, and is cut from a cloth which the panel is cut from too."""
    of = cloths_of(job, cushion.cover)
    there = {"piping_cloth": cushion.cover.piping.edges != "none", "zip_cloth": cushion.cover.zip.place == "boxing"}
    return of[role] == cloth.id and of["panel_cloth"] == cloth.id and there.get(role, True)


def _left(place: str, why: str, hint: str) -> Finding:
    return Finding("LAY-017", Severity.NOTE, place, f"{why}; it is left as it is", hint)


def _shades(cloth: Cloth, job: Job) -> Finding:
    said = (
        "its cushions come from different lengths, which may differ a little in shade; no cushion is cut from two lots"
    )
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


def moved(job: Job, cloth: Cloth, number: int, taken: Taken, parts: Parts | None = None) -> Job:
    """The job with so many of each cushion, and parts of so many others, cut from a remnant in place of its cloth.

    The remnant becomes a cloth in hand, and the cushions cut from it stand by themselves, under
    the id and name of their kind with the remnant's number.
    """
    remnant, parts = cloth.remnants[number - 1], parts or {}
    own = replace(
        cloth, id=_remnant_id(cloth, number), name=f"{cloth.name}, remnant {number}", remnants=(), in_hand=True,
        usable_width_mm=remnant.width_mm or cloth.usable_width_mm, bolt=remnant.bolt, price_per_m=Decimal(0),
        remnant_of=cloth.id,
    )  # fmt: skip
    cushions: list[Cushion] = []
    for c in job.cushions:
        some, roles = parts.get(c.id, (0, ()))
        whole = taken.get(c.id, 0)
        split = (
            (whole, ROLES, f"r{number}", f"remnant {number}"),
            (some, roles, f"p{number}", f"in part remnant {number}"),
        )
        if whole + some < c.count:
            cushions.append(replace(c, count=c.count - whole - some))
        for count, only, mark, of in split:
            cloths = cloths_of(job, c.cover)
            on: dict[str, Any] = {r: own.id if k == cloth.id and r in only else k for r, k in cloths.items()}
            there = replace(c, cover=replace(c.cover, **on))
            if count == c.count:
                cushions.append(there)
            elif count:
                name = f"{c.name} ({of})"
                cushions.append(
                    replace(there, id=f"{c.id}-{mark}", name=name, count=count, sold_as=c.sold_as or c.name)
                )
    return replace(job, cushions=tuple(cushions), cloths=_beside(job.cloths, cloth.id, own))


Shares = tuple[tuple[str, tuple[tuple[str, int, tuple[str, ...]], ...]], ...]
"""For each remnant's cloth id, the cushions laid on it, how many of each, and which roles where not all."""
_OF_REMNANT = re.compile(r"(?P<cloth>.+)-remnant-(?P<number>[1-9][0-9]*)")


def shares_of(lays: Mapping[str, Lay]) -> Shares:
    """Which cushions, or parts of them, lie on which remnant, from the lays of a job that was shared out.

    >>> from squab.lay.records import Placed
    >>> keys = ("pad-r1#1.top", "pad-r1#2.top", "stool.top", "bench.piping", "bench.piping")
    >>> placed = tuple(Placed(key, 0, 0, 0) for key in keys)
    >>> for share in shares_of({"linen-remnant-1": Lay(placed, {}, (0.0, 0.0), 0.0)})[0][1]:
    ...     print(share)
    ('bench', 1, ('piping_cloth',))
    ('pad-r1', 2, ())
    ('stool', 1, ())
    """
    found = []
    for cloth_id, lay in lays.items():
        if _OF_REMNANT.fullmatch(cloth_id):
            cushions = {cushion_of(x.key) for x in lay.placed}
            each = Counter(c.split("#")[0] for c in cushions)
            roles: dict[str, set[str]] = {k: set() for k in each}
            for x in lay.placed:
                roles[cushion_of(x.key).split("#")[0]].add(_role_of(x.key))
            found.append((cloth_id, tuple((k, n, _only(roles[k])) for k, n in sorted(each.items()))))
    return tuple(found)


def _role_of(key: str) -> str:
    """The role of a piece by its key; "" where it is none that leaves its cushion alone."""
    part = key.partition(".")[2]
    return next((role for role, name in PARTS if part.startswith(name.split()[0])), "")


def _only(roles: set[str]) -> tuple[str, ...]:
    """The roles, where they are no more than may leave their cushion."""
    return () if "" in roles else tuple(role for role, _ in PARTS if role in roles)


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


def _once_more(job: Job, cloth_id: str, laid: tuple[tuple[str, int, tuple[str, ...]], ...]) -> Job | None:
    """One remnant's cushions moved to it; None where it is not there, or another has its turn first."""
    named = _OF_REMNANT.fullmatch(cloth_id)
    cloth = next((c for c in job.cloths if named and c.id == named["cloth"]), None)
    if named is None or cloth is None or not 0 < int(named["number"]) <= len(cloth.remnants):
        return None
    number, counts = int(named["number"]), {c.id: c.count for c in job.cushions}
    taken: dict[str, int] = {}
    parts: dict[str, tuple[int, tuple[str, ...]]] = {}
    for cushion_id, count, roles in laid:
        own, in_part = cushion_id, bool(roles)
        if counts.get(cushion_id) != count:
            own = cushion_id.removesuffix(f"-r{number}")
            in_part = own == cushion_id
            own = own.removesuffix(f"-p{number}") if in_part else own
            if own == cushion_id or counts.get(own, 0) <= count:
                return None
        if in_part and roles:
            parts[own] = (count, roles)
        else:
            taken[own] = count
    return moved(job, cloth, number, taken, parts)


def _beside(cloths: Sequence[Cloth], cloth_id: str, own: Cloth) -> tuple[Cloth, ...]:
    """The cloths with one more after the cloth it is a remnant of."""
    at = next(k for k, c in enumerate(cloths) if c.id == cloth_id) + 1
    return (*cloths[:at], own, *cloths[at:])
