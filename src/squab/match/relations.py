"""From seams and wishes to relations between parts: t_b = sign t_a + offset, modulo the pattern's lattice.

At a point of a seam the panel shows the place R_a p + t_a of the pattern and the boxing the place
R_b q + t_b. A symmetry S of the pattern that takes the one to the other all along the seam makes
the pattern meet there, and gives t_b = S t_a + (S R_a p - R_b q), the same wherever on the seam it
is taken. Where that is not the same all along (a ring at a side, a curve) it is taken at the place
that is matched first, and the drift grows from there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from squab.construct.records import Construction, CushionCover, Seam, SeamEnd
from squab.job import Cushion, Job
from squab.match.along import Along, along
from squab.match.congruence import Floats, Symmetry, symmetries, ways_that_change
from squab.match.parts import Part, Role, SeamCase, main_bottom, main_top
from squab.plane import Path, Placement, Points, cos_sin

HOLDS_MM = 3.0
"""A seam holds at a place where it is off by no more than this: what passes at a seam that is seen."""
HOLDS_SHARE = 0.5
"""A relation is worth having where it holds along at least this share of its seam."""
GROUND = ""
"""The part that stands still: pins are relations to it."""

RelationKind = Literal["pin", "seam", "alike", "row"]


@dataclass(frozen=True, slots=True)
class Tie:
    """One way to keep a relation: t_b = sign t_a + off; an offset of None leaves that direction free."""

    off_p: float | None
    off_q: float | None
    sign_p: int = 1
    sign_q: int = 1


@dataclass(frozen=True)
class Relation:
    """A wish between two parts: the ties that would keep it, best first, and how soon it is heard.

    `name` is a seam's id, or says what else asks for it. Relations are heard in the order of
    `rank`, so the least visible is the one that finds itself contradicted. `may_pin` allows a
    mirrored tie to fix a free anchor.
    """

    name: str
    kind: RelationKind
    a: str
    b: str
    ties: tuple[Tie, ...]
    rank: tuple[float, ...]
    may_pin: bool = True


def turned(turn_deg: float, points: Points) -> Points:
    """Turn (n, 2) points about the origin of their frame."""
    c, s = cos_sin(turn_deg)
    return np.column_stack((c * points[:, 0] - s * points[:, 1], s * points[:, 0] + c * points[:, 1]))


def offsets_along(places: Along, turn_a: float, turn_b: float, symmetry: Symmetry) -> tuple[Floats, Floats]:
    """The offset (across, along) that each place of a seam would ask for under one symmetry."""
    a, b = turned(turn_a, places.a), turned(turn_b, places.b)
    return (
        symmetry.sign_p * a[:, 0] + symmetry.shift_p - b[:, 0],
        symmetry.sign_q * a[:, 1] + symmetry.shift_q - b[:, 1],
    )


def share_that_holds(places: Along, offsets: Iterable[Floats], at: int) -> float:
    """The share of a seam along which offsets stay within what passes of the one at place `at`."""
    off = np.zeros(len(places.s))
    for values in offsets:
        off = np.maximum(off, np.abs(values - values[at]))
    good = off <= HOLDS_MM
    stretches = np.diff(places.s)
    total = float(stretches.sum())
    return float(stretches[good[1:] & good[:-1]].sum()) / total if total else 1.0


def ties_of_seam(case: SeamCase, turn_a: float | None = None, turn_b: float | None = None) -> tuple[Tie, ...]:
    """The ties under which a seam meets along at least half its length, best first.

    At a front, where no tie holds along half of it, the one that meets at the front centre is
    given all the same. Other turns than the parts' own may be tried.
    """
    turn_a = case.a.turn_deg if turn_a is None else turn_a
    turn_b = case.b.turn_deg if turn_b is None else turn_b
    found = []
    for place, symmetry in enumerate(symmetries(case.a.cloth.pattern)):
        p, q = offsets_along(case.places, turn_a, turn_b, symmetry)
        asked = [values for way, values in (("p", p), ("q", q)) if way in case.ways]
        share = share_that_holds(case.places, asked, case.at)
        if share >= HOLDS_SHARE or (case.role == "front" and case.seam.edge != "bottom" and symmetry.is_identity):
            tie = Tie(
                float(p[case.at]) if "p" in case.ways else None,
                float(q[case.at]) if "q" in case.ways else None,
                symmetry.sign_p,
                symmetry.sign_q,
            )
            found.append((share < HOLDS_SHARE, place, tie))
    return tuple(tie for _, _, tie in sorted(found, key=lambda f: f[:2]))


_PLACE: dict[Role, float] = {"front": 0, "panel": 1, "join": 2, "side": 4, "back": 5}


def seam_rank(case: SeamCase) -> tuple[float, ...]:
    """How soon a seam is heard: must before prefer; front, panel seams, joins, sides, back, bottom, unseen.

    Within one place the nearest to the cushion's centre line comes first; of joins, the foremost, and of
    those the uppermost.
    """
    place = 6.0 + (case.role != "front") + (case.role == "back") if case.seam.edge == "bottom" else _PLACE[case.role]
    if case.seam.kind == "zip_centre":
        place = 5.5
    middle = float(abs(case.places.a[case.at, 0] - case.a.centre[0])) if case.role != "join" else case.behind_mm
    wish = 0.0 if case.wish == "must" else 2.0
    low = -round(float(case.places.b[case.at, 1]), 3) if case.role == "join" else 0.0
    return (wish, place + (0 if case.seam.seen else 10), round(middle, 3), low)


def relations_of(
    job: Job, construction: Construction, parts: Mapping[str, Part], cases: Iterable[SeamCase]
) -> tuple[Relation, ...]:
    """Every relation of a job, in the order in which it is heard, whatever the order of the seams."""
    found = [_seam_relation(case) for case in cases if case.wish != "ignore"]
    cushions = {c.id: c for c in job.cushions}
    found += _over_and_under(construction.covers, cushions, parts)
    found += _rows(job, construction, parts)
    found += _alike(job, construction, cushions, parts)
    return tuple(sorted((r for r in found if r.ties), key=lambda r: (*r.rank, r.name)))


def _seam_relation(case: SeamCase) -> Relation:
    return Relation(
        case.seam.id, "seam", case.a.id, case.b.id, ties_of_seam(case), seam_rank(case),
        may_pin=case.seam.seen and case.role != "join",
    )  # fmt: skip


def alike(a: Part, b: Part, centre_a: tuple[float, float], centre_b: tuple[float, float]) -> Tie:
    """Tie two parts so that the same place of the pattern lies at the middle of both."""
    pa = Placement(a.turn_deg, 0.0, 0.0).point(centre_a)
    pb = Placement(b.turn_deg, 0.0, 0.0).point(centre_b)
    ways = ways_that_change(a.cloth.pattern)
    return Tie(pa[0] - pb[0] if "p" in ways else None, pa[1] - pb[1] if "q" in ways else None)


def cushion_centre(cover: CushionCover) -> tuple[float, float]:
    """The middle of the bounds of a cushion's seam outline, in the top's frame."""
    x0, y0, x1, y1 = cover.seam_outline.bounds()
    return ((x0 + x1) / 2, (y0 + y1) / 2)


def _over_and_under(
    covers: Iterable[CushionCover], cushions: Mapping[str, Cushion], parts: Mapping[str, Part]
) -> list[Relation]:
    """A cushion that is turned over has both panels cut alike, front to front."""
    found = []
    for cover in covers:
        top, bottom = main_top(cover), main_bottom(cover, turned_over=True)
        if not (cushions[cover.cushion_id].turned_over and top and bottom):
            continue
        a, b = parts[top.id], parts[bottom.id]
        if a.is_matched and b.is_matched and a.cloth.id == b.cloth.id:
            cx, cy = cushion_centre(cover)
            tie = alike(a, b, (cx, cy), (-cx, cy))
            found.append(Relation(f"{cover.cushion_id}: top and bottom alike", "alike", a.id, b.id, (tie,), (1.0, 0.0)))
    return found


def _alike(
    job: Job, construction: Construction, cushions: Mapping[str, Cushion], parts: Mapping[str, Part]
) -> list[Relation]:
    """Cushions of one cloth share one anchor: the same line at the centre of each, so that a pair looks alike.

    Those pinned alike share what is left free; neighbours in a row flow on instead, where they can.
    """
    first: dict[tuple[str, int, bool, bool], CushionCover] = {}
    flows_on = {pair.b.id for pair in neighbours_of(job, construction, parts) if ties_of_neighbours(pair)}
    covers = {c.cushion_id: c for c in construction.covers}
    found = []
    for cushion in job.cushions:
        cover, wishes = covers.get(cushion.id), cushion.cover.matching
        top = main_top(cover) if cover else None
        if cover is None or top is None or not parts[top.id].is_matched:
            continue
        part = parts[top.id]
        key = (part.cloth.id, part.turn_deg, bool(wishes.pin_across), bool(wishes.pin_along))
        other = first.setdefault(key, cover)
        if other is cover or part.id in flows_on:
            continue
        tie = _alike_tie(cover, other, cushions, parts)
        if tie.off_p is not None or tie.off_q is not None:
            name = f"{other.cushion_id} and {cushion.id} alike"
            found.append(Relation(name, "alike", _top_id(other), part.id, (tie,), (1.0, 1.0)))
    return found


def _top_id(cover: CushionCover) -> str:
    top = main_top(cover)
    assert top is not None
    return top.id


def _alike_tie(
    cover: CushionCover, other: CushionCover, cushions: Mapping[str, Cushion], parts: Mapping[str, Part]
) -> Tie:
    tie = alike(parts[_top_id(other)], parts[_top_id(cover)], cushion_centre(other), cushion_centre(cover))
    wishes = [cushions[c.cushion_id].cover.matching for c in (cover, other)]
    return Tie(
        None if any(w.pin_across for w in wishes) else tie.off_p,
        None if any(w.pin_along for w in wishes) else tie.off_q,
    )


@dataclass(frozen=True)
class Neighbours:
    """Two cushions that stand side by side, left then right, and where their finished edges meet.

    `places` runs from the front to the back, in the frames of the two tops.
    """

    row: str
    left: Cushion
    right: Cushion
    a: Part
    b: Part
    places: Along
    mitred: bool

    @property
    def name(self) -> str:
        """What the pair is called in findings."""
        return f"{self.left.id} beside {self.right.id}"


def neighbours_of(job: Job, construction: Construction, parts: Mapping[str, Part]) -> tuple[Neighbours, ...]:
    """The pairs of neighbours in the job's rows, in the job's order, left to right as one faces them."""
    covers = {c.cushion_id: c for c in construction.covers}
    last: dict[str, Cushion] = {}
    found = []
    for cushion in job.cushions:
        row = cushion.cover.matching.row
        if not row or cushion.id not in covers:
            continue
        if row in last:
            pair = _neighbours(row, last[row], cushion, covers, parts)
            found += [pair] if pair else []
        last[row] = cushion
    return tuple(found)


def _neighbours(
    row: str, left: Cushion, right: Cushion, covers: Mapping[str, CushionCover], parts: Mapping[str, Part]
) -> Neighbours | None:
    top_a, top_b = main_top(covers[left.id]), main_top(covers[right.id])
    edge_a, edge_b = _edge(covers[left.id], "right", False), _edge(covers[right.id], "left", True)
    if not (top_a and top_b and edge_a and edge_b):
        return None
    a, b = parts[top_a.id], parts[top_b.id]
    if not (a.is_matched and b.is_matched and a.cloth.id == b.cloth.id):
        return None
    both = min(edge_a.length, edge_b.length)
    ends = (SeamEnd(a.id, edge_a.part(0.0, both)), SeamEnd(b.id, edge_b.part(0.0, both)))
    seam = Seam(f"{left.id}|{right.id}", "panel_panel", *ends, side="right", seen=True)
    return Neighbours(row, left, right, a, b, along(seam), "right" in left.mitred or "left" in right.mitred)


def _edge(cover: CushionCover, side: str, backward: bool) -> Path | None:
    """A side's finished edge over its piping, from the front to the back."""
    ranges = cover.seam_outline.side_ranges(side)
    if not ranges:
        return None
    path = cover.seam_outline.part(*max(ranges, key=lambda r: r[1] - r[0]))
    path = path.reversed() if backward else path
    proud = cover.sizes.stands_proud_mm
    edges = tuple(e.offset(-proud if backward else proud) for e in path.edges)
    longest = max(edges, key=lambda e: e.length)
    return Path(edges) if _chained(edges) else Path((longest,))


def _chained(edges: tuple[object, ...]) -> bool:
    try:
        Path(edges)  # type: ignore[arg-type]
    except ValueError:
        return False
    return True


def _rows(job: Job, construction: Construction, parts: Mapping[str, Part]) -> list[Relation]:
    found = []
    for pair in neighbours_of(job, construction, parts):
        ties = ties_of_neighbours(pair)
        found.append(Relation(pair.name, "row", pair.a.id, pair.b.id, ties, (0.0, 3.0)))
    return found


def ties_of_neighbours(pair: Neighbours) -> tuple[Tie, ...]:
    """The ties under which the pattern flows on from one cushion to the next along the gap."""
    ways = ways_that_change(pair.a.cloth.pattern)
    found = []
    for symmetry in symmetries(pair.a.cloth.pattern):
        p, q = offsets_along(pair.places, pair.a.turn_deg, pair.b.turn_deg, symmetry)
        asked = [values for way, values in (("p", p), ("q", q)) if way in ways]
        if share_that_holds(pair.places, asked, 0) > 0.99:
            tie = Tie(
                float(p[0]) if "p" in ways else None,
                float(q[0]) if "q" in ways else None,
                symmetry.sign_p,
                symmetry.sign_q,
            )
            found.append(tie)
    return tuple(found[:1])
