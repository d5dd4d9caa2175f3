"""A cloth's lay as things a maker knows: which piece, which of how many, where it lies.

Frames: the piece's own; the cloth's, (u, v), as the lay has it. Where a cloth shrinks after
cutting, the lay's frame is the cloth as it will be; `to_bolt` takes it to the bolt on the table.
"""

from __future__ import annotations

import re
import weakref
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass
from functools import cached_property, lru_cache, wraps
from typing import Concatenate, ParamSpec, TypeVar

from shapely.geometry import LineString, Polygon

from squab.cloth import Cloth
from squab.construct.records import CushionCover, Notch, Piece, Snip, Strip
from squab.draw.svg import Map, affine
from squab.job import Cushion
from squab.lay.records import ClothPlan, Placed
from squab.plane import Line, Outline, Placement, Point
from squab.worked import WorkedJob

Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")
_MARKED_NUMBER = re.compile(r"#\d+")


@dataclass(frozen=True)
class Laid:
    """One thing to be cut: a piece, or a part of a strip, where it lies on its cloth.

    `number` of `count` alike; for a part of a strip, `part` of `parts` of that one strip.
    `cut` and `seam` are in the piece's own frame, `place` takes that frame to the cloth's.
    """

    key: str
    part_id: str
    number: int
    count: int
    place: Placement
    cut: Outline
    seam: Outline
    of: Piece | Strip
    part: int = 1
    parts: int = 1
    part_mm: tuple[float, float] | None = None

    @cached_property
    def on_cloth(self) -> Polygon:
        """What it covers of the cloth, in the lay's frame."""
        return Polygon(self.place.points(self.cut.flattened()))

    @property
    def notches(self) -> tuple[Notch, ...]:
        """The notches that fall on it, in its own frame."""
        if self.part_mm is None:
            return self.of.notches
        a, b = self.part_mm
        return tuple(n for n in self.of.notches if a - 1e-6 <= n.at[0] <= b + 1e-6)

    @property
    def snips(self) -> tuple[Snip, ...]:
        """The snips that fall on it, in its own frame."""
        if self.part_mm is None:
            return self.of.snips
        a, b = self.part_mm
        return tuple(n for n in self.of.snips if a - 1e-6 <= n.at[0] <= b + 1e-6)

    @property
    def front(self) -> tuple[float, float]:
        """The direction of the arrow to the front in its own frame; piping has none."""
        if isinstance(self.of, Piece):
            return self.of.front
        return (0.0, 0.0) if self.of.kind == "piping" else (0.0, -1.0)


def under_the_fold(plan: ClothPlan, *, back_up: bool) -> dict[str, str]:
    """Where cloth is cut double: each piece of the under layer, by key, and the one above it that is marked.

    The half by the left edge, as the maker looks at the cloth, is the one that is seen.
    """
    if plan.fold is None:
        return {}
    placed, outlines = plan.lay.placed, {p.key: p.outline for p in plan.problem.pieces}
    found = {}
    for pair in plan.fold.pairs:
        at = [
            Placement(x.turn_deg, x.u_mm, x.v_mm).points(outlines[x.key])[:, 0].min()
            for x in map(placed.__getitem__, pair)
        ]
        left, right = sorted(pair, key=lambda k: at[pair.index(k)], reverse=back_up)
        found[placed[right].key] = placed[left].key
    return found


def layers_said(plan: ClothPlan, *, back_up: bool) -> dict[str, str]:
    """What is said of each piece that is cut through both layers of its cloth, by key."""
    under = under_the_fold(plan, back_up=back_up)
    return dict.fromkeys(under.values(), "both layers") | dict.fromkeys(under, "under layer")


def rectangle(x0: float, y0: float, x1: float, y1: float) -> Outline:
    """A rectangle from (x0, y0) to (x1, y1), its sides named as a cushion's."""
    a, b, c, d = (x0, y0), (x1, y0), (x1, y1), (x0, y1)
    return Outline((Line(a, b), Line(b, c), Line(c, d), Line(d, a)), ("front", "right", "back", "left"))


def part_of_key(key: str, ids: Collection[str]) -> str | None:
    """Find the piece or strip that a lay's key stands for: the longest id the key begins with.

    A key is an id with a figure for which of its kind it is, behind the id or after a mark
    within it (`seat.top#2`, `seat#2.top`).
    """
    bare = _MARKED_NUMBER.sub("", key)
    if bare in ids:
        return bare
    fitting = (i for i in ids if i in (key, bare) or (bare.startswith(i) and not bare[len(i)].isalnum()))
    return max(fitting, key=len, default=None)


def kept_for_job(
    answer: Callable[Concatenate[WorkedJob, Asked], Answer],
) -> Callable[Concatenate[WorkedJob, Asked], Answer]:
    """Keep a function's answers about the last worked job: it never changes, and every drawing asks."""
    kept: list[tuple[weakref.ref[WorkedJob], dict[tuple[object, ...], Answer]]] = []

    @wraps(answer)
    def asked(worked: WorkedJob, /, *args: Asked.args, **named: Asked.kwargs) -> Answer:
        of, answers = kept[0] if kept else (None, {})
        if of is None or of() is not worked:
            answers = {}
            kept[:] = [(weakref.ref(worked), answers)]
        key = (*args, *named.items())
        if key not in answers:
            answers[key] = answer(worked, *args, **named)
        return answers[key]

    return asked


@kept_for_job
def parts_of(worked: WorkedJob) -> dict[str, Piece | Strip]:
    """Every piece and strip of the job by its id."""
    pieces: dict[str, Piece | Strip] = {p.id: p for p in worked.construction.pieces}
    return pieces | {s.id: s for s in worked.construction.strips}


@kept_for_job
def laid_parts(worked: WorkedJob, cloth_id: str) -> tuple[Laid, ...]:
    """Everything laid on one cloth, from the cut end on; nothing where there is no lay."""
    plan = worked.plans.get(cloth_id)
    if plan is None:
        return ()
    parts = parts_of(worked)
    numbers = _numbers(plan, parts)
    laid = []
    for placed in plan.lay.placed:
        part_id = part_of_key(placed.key, parts)
        if part_id is not None:
            laid.append(_laid(placed, part_id, parts[part_id], numbers[placed.key], plan))
    return tuple(sorted(laid, key=_from_cut_end))


def _from_cut_end(laid: Laid) -> tuple[float, float]:
    u0, v0, _, _ = laid.place.outline(laid.cut).bounds()
    return v0, u0


def _numbers(plan: ClothPlan, parts: Mapping[str, Piece | Strip]) -> dict[str, int]:
    """Which of its kind each key is, 1 up, in the order of the keys' own figures."""
    by_part: dict[str, list[str]] = {}
    for key in dict.fromkeys(p.key for p in plan.lay.placed):
        part_id = part_of_key(key, parts)
        if part_id is not None:
            by_part.setdefault(part_id, []).append(key)
    numbers: dict[str, int] = {}
    for keys in by_part.values():
        keys.sort(key=_own_numbers)
        numbers |= {key: i for i, key in enumerate(keys, 1)}
    return numbers


def _own_numbers(key: str) -> list[tuple[int, str]]:
    """A key in counting order: `seat.top#10` after `seat.top#9`."""
    return [(int(t), "") if t.isdigit() else (0, t) for t in re.split(r"(\d+)", key)]


def _laid(placed: Placed, part_id: str, of: Piece | Strip, number: int, plan: ClothPlan) -> Laid:
    place = Placement(placed.turn_deg, placed.u_mm, placed.v_mm)
    if isinstance(of, Piece):
        return Laid(placed.key, part_id, number, of.count, place, of.cut, of.seam, of)
    a, b = placed.part_mm or (of.s0_mm, of.s1_mm)
    runs = sorted(p.part_mm or (of.s0_mm, of.s1_mm) for p in plan.lay.placed if p.key == placed.key)
    cut = rectangle(a - of.end_mm, of.z0_mm, b + of.end_mm, of.z1_mm)
    low, high = of.seam_z if of.seam_z[1] > of.seam_z[0] else (of.z0_mm, of.z1_mm)
    seam = rectangle(a, low, b, high)
    part = 1 + runs.index((a, b))
    return Laid(placed.key, part_id, number, of.count, place, cut, seam, of, part, len(runs), (a, b))


def to_cut_edge(cut: Outline, at: Point, outward: Point) -> float:
    """From a point on the seam line outward to the cut edge, mm: the allowance there."""
    ray = LineString([at, (at[0] + 80 * outward[0], at[1] + 80 * outward[1])])
    return float(ray.intersection(_grown(cut)).length)


@lru_cache(maxsize=512)
def _grown(cut: Outline) -> Polygon:
    """A cut outline a hair larger, so that an edge that only touches counts."""
    return Polygon(cut.flattened()).buffer(1e-6)


def cushion_of(worked: WorkedJob, cushion_id: str) -> Cushion | None:
    """The cushion of that id, or None (a job's own pieces belong to none)."""
    return next((c for c in worked.job.cushions if c.id == cushion_id), None)


def cover_of(worked: WorkedJob, cushion_id: str) -> CushionCover:
    """The cover of one kind of cushion.

    Raises
    ------
    KeyError
        If the job has no such cushion.
    """
    for cover in worked.construction.covers:
        if cover.cushion_id == cushion_id:
            return cover
    raise KeyError(cushion_id)


def to_bolt(cloth: Cloth) -> Map:
    """From the lay's frame to the bolt on the table: larger where the cloth shrinks after cutting."""
    across, along = cloth.cut_scale
    return affine(across, 0.0, 0.0, along, 0.0, 0.0)


def cut_scale_in_piece(cloth: Cloth, turn_deg: float) -> tuple[float, float]:
    """How much larger a piece is cut along its own x and y, by the turn at which it lies."""
    across, along = cloth.cut_scale
    return (along, across) if round(turn_deg) % 180 == 90 else (across, along)


def first_place(worked: WorkedJob, part: Piece | Strip) -> Placement | None:
    """Where the first of its kind is laid, in the lay's frame; None where there is no lay."""
    return _first_places(worked, part.cloth_id).get(part.id)


@kept_for_job
def _first_places(worked: WorkedJob, cloth_id: str) -> dict[str, Placement]:
    plan = worked.plans.get(cloth_id)
    placed = sorted(plan.lay.placed, key=lambda p: (_own_numbers(p.key), p.part_mm or (0.0, 0.0))) if plan else []
    firsts: dict[str, Placement] = {}
    for p in placed:
        firsts.setdefault(_MARKED_NUMBER.sub("", p.key), Placement(p.turn_deg, p.u_mm, p.v_mm))
    return firsts


def turn_of(worked: WorkedJob, part: Piece | Strip) -> int:
    """The turn at which a piece lies: as laid, else as matched, else as constructed."""
    place = first_place(worked, part)
    if place is not None:
        return int(place.turn_deg)
    placing = worked.match.placings.get(part.id)
    return placing.turns_deg[0] if placing and placing.turns_deg else part.turn_deg


def place_on_pattern(worked: WorkedJob, cloth_id: str, part_id: str, place: Placement) -> Placement:
    """Where a part at `place` on its cloth is on the pattern; on a creeping repeat, as its matched place is."""
    plan = worked.plans[cloth_id]
    (p, q), creep = plan.lay.pattern_at, plan.problem.creep
    along = place.v_mm - q
    if creep is not None:
        placing = worked.match.placings.get(part_id)
        matched = placing.phase.at_mm if placing is not None and placing.phase is not None else (0.0, 0.0)
        up = Placement(place.turn_deg, 0.0, 0.0).point(matched)[1]
        along = float(creep.pattern_mm(place.v_mm + up)) - up
    return Placement(place.turn_deg, place.u_mm - p, along)
