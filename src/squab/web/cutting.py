"""The plan that is being cut: frozen when cutting begins, and planned again when a cut goes wrong.

It is kept as plain values: the job's text as it was, where every piece lies, and every piece with its
figures as the marking sheet prints them, so that the table needs nothing worked out and a change
anywhere else moves nothing that is chalked already.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import msgspec

from squab import __version__
from squab.cloth import Cloth, Flaw
from squab.draw.figures import Figures, shortened
from squab.draw.sheets_marking import TITLES, MarkedPart, left_on_cloth_mm, marked_parts, marking_rules
from squab.errors import SquabError
from squab.files.jobfile import read_job
from squab.findings import Finding
from squab.job import Job
from squab.keep import Tick
from squab.lay.again import lay_again
from squab.lay.records import Bound, ClothPlan, Lay
from squab.remnants import Shares, as_shared, shares_of
from squab.stages import Prepared, prepare
from squab.web.rendering import capital
from squab.web.works import sketched
from squab.worked import WorkedJob

CUT_WRONG = "cut wrong"
"""What planning again calls cloth that is gone with a piece."""
TOUCHES_MM = 0.5
"""A piece that ends nearer to the cloth's end than this still lies on it."""
SHORT = " short"
"""How a length ends that a cloth is too short by."""
AGAIN_S = 2.0
"""How long the rest is laid again while one waits at the table."""


def too_short(worked: WorkedJob) -> list[str]:
    """Cloths whose bolt is shorter than what their lay takes, in words."""
    figures, said = Figures.of(worked.job), []
    for cloth_id, plan in worked.plans.items():
        cloth = worked.job.cloth(cloth_id)
        there = cloth.bolt.length_mm if cloth.bolt is not None else None
        needs = plan.bolt_length_mm if plan.bolt_length_mm is not None else plan.order_mm
        if there is not None and needs > there + 1e-6:
            there_said, takes = figures.cloth(there, to="no more"), figures.cloth(needs, to="enough")
            said.append(f"{cloth.name}: there are {there_said}, and this lay takes {takes}")
    return said


@dataclass(frozen=True)
class CutPiece:
    """One piece to cut, as the telephone shows it. `key` is its place in its cloth's lay: it never changes."""

    key: str
    cloth_id: str
    sort: str
    """What comes together in cutting order: panels, matched fronts ..."""
    number: int
    name: str
    cushion: str
    hand: str
    which: str
    """Which of how many."""
    across: tuple[str, str]
    along: tuple[str, str]
    diagonal: str
    diagonal_of: str
    corners: tuple[tuple[str, str, str], ...]
    to_pattern: bool
    match: str
    front: str
    note: str
    sketch: str
    box_mm: tuple[float, float, float, float]
    """Cut edge from the left and from the cut end, as the maker looks at it."""
    left: str
    """Cloth beyond it."""
    beyond: bool
    """Whether it lies beyond the end of the cloth there is."""


@dataclass(frozen=True)
class CutCloth:
    """One cloth on the table: its lay, and what must be kept clear of on it."""

    id: str
    name: str
    lay: Lay
    bound: Bound
    handbook_mm: float
    needs_mm: float
    order_mm: float
    bolt_length_mm: float | None
    flaws: tuple[Flaw, ...]
    width_mm: float
    """Usable width as it lies there."""
    whole: str
    """How much there is, from the squared end."""
    whole_mm: float
    takes: str
    lost_mm: float
    """How far from the cut end what was cut wrong reaches; 0 where nothing was."""
    lost_left: str
    """Cloth beyond that."""
    rules: tuple[str, ...]
    datum: str


@dataclass(frozen=True)
class Cutting:
    """The plan that is being cut. `round` counts how often it was planned: 1 is the first."""

    made_by: str
    text: str
    version: int
    panel_seams: Mapping[str, float]
    unit: str
    back_up: bool
    cloths: tuple[CutCloth, ...]
    pieces: tuple[CutPiece, ...]
    round: int = 1
    told: tuple[str, ...] = ()
    """What the last planning said."""
    moved: tuple[str, ...] = ()
    """Keys of pieces that the last planning gave another place."""
    homeless: tuple[str, ...] = ()
    """Keys of pieces cut wrong for which no place is left."""

    def place(self, key: str) -> int | None:
        """Where a piece stands in cutting order."""
        return next((i for i, p in enumerate(self.pieces) if p.key == key), None)

    def has_place(self, piece: CutPiece) -> bool:
        """Whether a piece can be cut from the cloth there is."""
        return not piece.beyond and piece.key not in self.homeless

    @property
    def is_short(self) -> bool:
        """Whether there are pieces that cannot."""
        return not all(self.has_place(p) for p in self.pieces)

    def cloth(self, cloth_id: str) -> CutCloth:
        """A cloth by its id."""
        return next(c for c in self.cloths if c.id == cloth_id)


def packed(cutting: Cutting) -> bytes:
    """The plan as it is kept."""
    return msgspec.msgpack.encode(cutting)


class PlanError(SquabError):
    """The plan that is being cut was kept by another Squab, in a form that this one does not know."""


@lru_cache(maxsize=8)
def unpacked(data: bytes | None) -> Cutting | None:
    """The plan of what was kept; None where cutting has not begun.

    Raises
    ------
    PlanError
        If it cannot be read: it is never taken for none, for there are pieces cut by it.
    """
    if not data:
        return None
    try:
        return msgspec.msgpack.decode(data, type=Cutting)
    except (msgspec.DecodeError, ValueError) as error:
        reason = "the plan that is being cut was kept by another Squab and cannot be read by this one"
        raise PlanError(f"{reason}; cut on with the Squab it was begun with, or from its printed sheet") from error


def cutting_of(worked: WorkedJob, text: str, version: int) -> Cutting:
    """Freeze a worked job as the plan that is being cut."""
    seams = {c.cushion_id: c.panel_seam_at_mm for c in worked.construction.covers if c.panel_seam_at_mm is not None}
    return _frozen(worked, text, version, seams, 1)


def _frozen(worked: WorkedJob, text: str, version: int, seams: Mapping[str, float], turn: int) -> Cutting:
    job, figures = worked.job, Figures.of(worked.job)
    used = [c.id for c in job.cloths if c.id in worked.plans and worked.plans[c.id].lay.placed]
    pieces = [p for cloth_id in used for p in _pieces(worked, cloth_id, figures)]
    return Cutting(
        made_by=__version__,
        text=text,
        version=version,
        panel_seams=seams,
        unit=figures.unit_name,
        back_up=job.marked == "back_up",
        cloths=tuple(_cloth(worked, cloth_id, figures) for cloth_id in used),
        pieces=tuple(pieces),
        round=turn,
    )


def _cloth(worked: WorkedJob, cloth_id: str, figures: Figures) -> CutCloth:
    plan, cloth = worked.plans[cloth_id], worked.job.cloth(cloth_id)
    rules, datum = marking_rules(worked, cloth_id)
    across, along = cloth.cut_scale
    whole = left_on_cloth_mm(plan, cloth)
    lost = max((f.v1_mm * along for f in plan.problem.flaws if f.what == CUT_WRONG), default=0.0)
    return CutCloth(
        id=cloth_id,
        name=shortened(cloth.name, 60),
        lay=plan.lay,
        bound=plan.bound,
        handbook_mm=plan.handbook_mm,
        needs_mm=plan.needs_mm,
        order_mm=plan.order_mm,
        bolt_length_mm=plan.bolt_length_mm,
        flaws=plan.problem.flaws,
        width_mm=plan.problem.usable_width_mm * across,
        whole=_cloth_left(whole, figures),
        whole_mm=whole,
        takes=figures.cloth(plan.lay.length_mm * along),
        lost_mm=lost,
        lost_left=_cloth_left(whole - lost, figures),
        rules=tuple(rules),
        datum=datum,
    )


def _pieces(worked: WorkedJob, cloth_id: str, figures: Figures) -> list[CutPiece]:
    plan, cloth = worked.plans[cloth_id], worked.job.cloth(cloth_id)
    places = {(p.key, p.part_mm): i for i, p in enumerate(plan.lay.placed)}
    whole = left_on_cloth_mm(plan, cloth)
    return [
        _piece(m, cloth_id, _place_of(places, m), whole - m.part.box[3], figures)
        for m in marked_parts(worked, cloth_id)
    ]


def _place_of(places: Mapping[tuple[str, tuple[float, float] | None], int], marked: MarkedPart) -> int:
    key, part = marked.part.key, marked.part.s_mm
    return places[key, part] if (key, part) in places else places[key, None]


def _cloth_left(mm: float, figures: Figures) -> str:
    return figures.cloth(mm) if mm >= 0 else f"{figures.cloth(-mm)}{SHORT}"


def _piece(marked: MarkedPart, cloth_id: str, place: int, left_mm: float, figures: Figures) -> CutPiece:
    said = marked.figures
    return CutPiece(
        key=f"{cloth_id}#{place}",
        cloth_id=cloth_id,
        sort=figures.said(TITLES[marked.part.rank]),
        number=marked.part.number,
        name=said["name"],
        cushion=said["cushion"],
        hand=said["hand"],
        which=said["n_of_m"],
        across=(said["u"][0], said["u"][1]),
        along=(said["v"][0], said["v"][1]),
        diagonal=said["diagonal"],
        diagonal_of=said["diagonal_of"],
        corners=tuple((a, b, c) for a, b, c in said["corners"]),
        to_pattern=said["to_pattern"],
        match=said["match"],
        front=said["front"],
        note=said["note"],
        sketch=marked.sketch,
        box_mm=marked.part.box,
        left=_cloth_left(left_mm, figures),
        beyond=left_mm < -TOUCHES_MM,
    )


# --- what is ticked ---


def done_count(cutting: Cutting, ticks: Mapping[str, Tick]) -> int:
    """How many of the pieces are cut."""
    return sum(p.key in ticks and ticks[p.key].state == "done" for p in cutting.pieces)


def next_uncut(cutting: Cutting, ticks: Mapping[str, Tick]) -> int | None:
    """The first piece in cutting order that is not cut."""
    for i, piece in enumerate(cutting.pieces):
        if piece.key not in ticks or ticks[piece.key].state != "done":
            return i
    return None


def left_now(cutting: Cutting, ticks: Mapping[str, Tick], cloth_id: str) -> str:
    """Cloth beyond all that has been cut of it, well or wrong."""
    cloth = cutting.cloth(cloth_id)
    done = [p for p in cutting.pieces if p.cloth_id == cloth_id and p.key in ticks and ticks[p.key].state == "done"]
    reaches = [(0.0, cloth.whole), (cloth.lost_mm, cloth.lost_left), *((p.box_mm[3], p.left) for p in done)]
    return max(reaches, key=lambda r: r[0])[1]


def left_said(left: str) -> str:
    """Cloth left in words: `0.39 m left`; where a piece was cut from another length of the lot, `0.07 m short`."""
    return left if left.endswith(SHORT) else f"{left} left"


# --- planning again ---


def planned_again(
    cutting: Cutting,
    cloth_id: str,
    *,
    done: Collection[str],
    spoiled: Collection[str] = (),
    flaws: Collection[Flaw] = (),
) -> Cutting | None:
    """Lay what is not cut on what is left of a cloth; what is cut stays where it is.

    Parameters
    ----------
    cutting
        The plan being cut.
    cloth_id
        The cloth on the table.
    done
        Keys of the pieces that are cut well.
    spoiled
        Keys of those that were cut wrong just now: their cloth is gone.
    flaws
        Flaws found just now, as the maker looks at the cloth, mm.

    Returns
    -------
    Cutting or None
        The new plan, with what it says of itself; the old one, with what was cut wrong named as
        without a place, where the rest cannot be laid. None where this Squab no longer makes the
        pieces of a plan that an earlier one began.
    """
    shares = shares_of({c.id: c.lay for c in cutting.cloths})
    job, prepared = _as_begun(cutting.text, tuple(sorted(cutting.panel_seams.items())), shares)
    plans = {c.id: _plan(prepared, c) for c in cutting.cloths} if prepared is not None else {}
    found = {k: p for k, p in plans.items() if p is not None}
    if job is None or prepared is None or len(found) < len(cutting.cloths):
        return None
    kept, cloth, lost = cutting.cloth(cloth_id), job.cloth(cloth_id), {*spoiled, *cutting.homeless} - {*done}
    seen = [_in_lay(f, kept, cloth.cut_scale, back_up=cutting.back_up) for f in flaws]
    value, told = _laid_again(found[cloth_id], cloth, _numbers(cloth_id, done), _numbers(cloth_id, lost), seen)
    if value is None:
        cloths = tuple(_with_lost(c, cutting, lost) if c.id == cloth_id else c for c in cutting.cloths)
        return replace(cutting, cloths=cloths, told=told, moved=(), homeless=tuple(sorted(lost)))
    worked = replace(sketched(prepared), plans={**found, cloth_id: value})
    made = _frozen(worked, cutting.text, cutting.version, cutting.panel_seams, cutting.round + 1)
    before = {p.key: p.box_mm for p in cutting.pieces}
    return replace(
        made,
        told=told,
        moved=tuple(p.key for p in made.pieces if before.get(p.key) != p.box_mm),
        homeless=tuple(k for k in cutting.homeless if not k.startswith(f"{cloth_id}#")),
    )


def _with_lost(cloth: CutCloth, cutting: Cutting, keys: Collection[str]) -> CutCloth:
    """A cloth on which these pieces were cut wrong where they lie."""
    lost = [p for p in cutting.pieces if p.key in keys and p.cloth_id == cloth.id and p.box_mm[3] > cloth.lost_mm]
    furthest = max(lost, key=lambda p: p.box_mm[3], default=None)
    return cloth if furthest is None else replace(cloth, lost_mm=furthest.box_mm[3], lost_left=furthest.left)


def _laid_again(
    plan: ClothPlan, cloth: Cloth, done: list[int], spoiled: list[int], flaws: list[Flaw]
) -> tuple[ClothPlan | None, tuple[str, ...]]:
    """Moving as little as can be; all that is not cut where the cloth would not do otherwise."""
    least = lay_again(plan, cloth, done=done, spoiled=spoiled, flaws=flaws, seconds=AGAIN_S)
    if least.value is not None and not _too_short(least.findings):
        return least.value, _told(least.findings)
    whole = lay_again(plan, cloth, done=done, spoiled=spoiled, flaws=flaws, move="all", seconds=AGAIN_S)
    if whole.value is None or (least.value is not None and _too_short(whole.findings)):
        return least.value, _told(least.findings)
    return whole.value, (*_told(whole.findings), ALL_MOVED)


ALL_MOVED = (
    "Everything that is not cut yet has a new place, so that the cloth may do: rub out what is chalked and mark it anew"
)


def _told(findings: Collection[Finding]) -> tuple[str, ...]:
    return tuple(capital(f.message) + (f". {capital(f.hint)}" if f.hint else "") for f in findings)


def _too_short(findings: Collection[Finding]) -> bool:
    return any(f.code == "LAY-010" for f in findings)


@lru_cache(maxsize=4)
def _as_begun(text: str, seams: tuple[tuple[str, float], ...], shares: Shares) -> tuple[Job | None, Prepared | None]:
    job = read_job(text.encode("utf-8", "surrogatepass")).value
    job = None if job is None else as_shared(job, shares)
    return job, None if job is None else prepare(job, panel_seam_at_mm=dict(seams) or None).value


def _plan(prepared: Prepared, kept: CutCloth) -> ClothPlan | None:
    """The plan of a cloth again, as it lies on the table; None where its pieces are made otherwise by now."""
    problem = next((p for p in prepared.problems if p.cloth_id == kept.id), None)
    if problem is None:
        return None
    made = {x.key for x in problem.pieces} | {x.key for x in problem.strips}
    if {p.key for p in kept.lay.placed} != made:
        return None
    problem = replace(problem, pattern_at=kept.lay.pattern_at, flaws=kept.flaws, bolt_mm=None)
    return ClothPlan(
        kept.id, problem, kept.lay, kept.bound, kept.handbook_mm, kept.needs_mm, kept.order_mm, kept.bolt_length_mm
    )


def _numbers(cloth_id: str, keys: Collection[str]) -> list[int]:
    return [int(n) for of, _, n in (k.rpartition("#") for k in keys) if of == cloth_id and n.isdecimal()]


def _in_lay(flaw: Flaw, kept: CutCloth, scale: tuple[float, float], *, back_up: bool) -> Flaw:
    """A flaw as the maker sees it, in the lay's frame: face up, and as the cloth is once it has shrunk."""
    across, along = scale
    return on_face(flaw, kept.width_mm, back_up=back_up).scaled(1 / across, 1 / along)


def on_face(flaw: Flaw, width_mm: float, *, back_up: bool) -> Flaw:
    """A flaw as the maker sees it, measured on the face."""
    return flaw.turned_over(width_mm) if back_up else flaw


def ninths(piece: CutPiece) -> list[list[Flaw]]:
    """The cut box of a piece in parts one can point at, furthest from the cut end first."""
    u0, v0, u1, v1 = piece.box_mm
    columns, rows = _parts(u1 - u0), _parts(v1 - v0)
    wide, high = (u1 - u0) / columns, (v1 - v0) / rows
    return [
        [
            Flaw(u0 + i * wide, v0 + j * high, u0 + (i + 1) * wide, v0 + (j + 1) * high)
            for i in range(columns)
        ]
        for j in reversed(range(rows))
    ]  # fmt: skip


def _parts(mm: float) -> int:
    return 1 if mm < 150 else 3
