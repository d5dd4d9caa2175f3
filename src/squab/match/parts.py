"""What matching needs to know of each piece and strip, and of each seam: its cloth, its turn, its wish."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from squab.cloth import Cloth
from squab.construct.records import Construction, CushionCover, Piece, Seam, Strip
from squab.job import Cushion, Job, Matching, Wish
from squab.match.along import Along, along, match_index
from squab.match.congruence import Way, ways_that_change
from squab.plane import Point

Role = Literal["front", "side", "back", "join", "panel"]
FACES_FROM = 0.6
"""A side faces the front when its average outward direction lies within about 53 degrees of it."""
UNMATCHED_KINDS = ("piping", "tie", "handle", "base")


@dataclass(frozen=True)
class Part:
    """A piece or a strip as matching sees it. `centre` is the middle of its seam outline's bounds, own frame."""

    id: str
    cushion_id: str
    kind: str
    cloth: Cloth
    turn_deg: int
    is_strip: bool
    front: Point
    centre: Point
    count: int

    @property
    def is_matched(self) -> bool:
        """Tell whether this part could have a phase: its cloth changes, and it is no piping or fitting."""
        return self.kind not in UNMATCHED_KINDS and bool(ways_that_change(self.cloth.pattern))


@dataclass(frozen=True)
class SeamCase:
    """A seam with all that matching asks of it.

    `wish` is what is really asked (ignored where the cloths differ or nobody sees it); `why`
    says why nothing is asked. `ways` are the directions asked to meet. `at` is the index of
    the place matched first.
    """

    seam: Seam
    a: Part
    b: Part
    role: Role
    wish: Wish
    why: str
    ways: tuple[Way, ...]
    places: Along
    at: int
    behind_mm: float = 0.0
    """How far a join of the boxing lies behind the front of the cushion."""

    @property
    def across_only(self) -> bool:
        """Whether a pattern that changes both ways is asked to meet across only."""
        both = ways_that_change((self.a if self.a.is_matched else self.b).cloth.pattern)
        return self.ways == ("p",) and len(both) == 2


def cloth_of(job: Job, cloth_id: str) -> Cloth:
    """The cloth of a part: its repeat as measured where it was, and as it is in the finished cover."""
    return job.cloth(cloth_id).as_finished()


def parts_of(job: Job, construction: Construction) -> dict[str, Part]:
    """Every piece and strip by id, with the turn at which it will be cut."""
    cushions = {c.id: c for c in job.cushions}
    at_back = _at_back(construction)
    found: dict[str, Part] = {}
    for cover in construction.covers:
        wishes = cushions[cover.cushion_id].cover.matching
        for piece in cover.pieces:
            part = _part_of_piece(job, piece)
            asked = wishes.back_half_turned and piece.id in at_back and piece.may_half_turn
            found[part.id] = _half_turned(part, asked)
        for strip in cover.strips:
            found[strip.id] = _half_turned(_part_of_strip(job, strip), wishes.back_half_turned and strip.id in at_back)
    return found


def _half_turned(part: Part, asked: bool) -> Part:
    """Turn a part by half where that is asked; never on cloth that runs one way, whoever asks."""
    if part.cloth.one_way and part.turn_deg == 180:
        return replace(part, turn_deg=0)
    if asked and part.turn_deg == 0 and not part.cloth.one_way:
        return replace(part, turn_deg=180)
    return part


def _part_of_piece(job: Job, piece: Piece) -> Part:
    x0, y0, x1, y1 = piece.seam.bounds()
    return Part(
        piece.id, piece.cushion_id, piece.kind, cloth_of(job, piece.cloth_id), piece.turn_deg % 360, False,
        piece.front, ((x0 + x1) / 2, (y0 + y1) / 2), piece.count,
    )  # fmt: skip


def _part_of_strip(job: Job, strip: Strip) -> Part:
    centre = ((strip.s0_mm + strip.s1_mm) / 2, (strip.z0_mm + strip.z1_mm) / 2)
    return Part(
        strip.id, strip.cushion_id, strip.kind, cloth_of(job, strip.cloth_id), strip.turn_deg % 360, True,
        (0.0, -1.0), centre, strip.count,
    )  # fmt: skip


def _at_back(construction: Construction) -> set[str]:
    """Ids of the boxing parts that lie along the back for more than half their length."""
    back: dict[str, float] = {}
    for seam in construction.seams:
        if seam.kind in ("panel_boxing", "panel_zip"):
            length = seam.b.path.length * (1 if seam.side == "back" else -1)
            back[seam.b.part_id] = back.get(seam.b.part_id, 0.0) + length
    return {part for part, balance in back.items() if balance > 0}


def seam_cases(job: Job, construction: Construction, parts: Mapping[str, Part]) -> tuple[SeamCase, ...]:
    """Every seam whose two parts could be matched or stand on a patterned cloth, with its wish."""
    cushions = {c.id: c for c in job.cushions}
    found = []
    for cover in construction.covers:
        for seam in cover.seams:
            a, b = parts[seam.a.part_id], parts[seam.b.part_id]
            if a.is_matched or b.is_matched:
                found.append(_case(seam, a, b, cushions[cover.cushion_id], cover))
    return tuple(found)


def _case(seam: Seam, a: Part, b: Part, cushion: Cushion, cover: CushionCover) -> SeamCase:
    places = along(seam)
    role = role_of(seam, a, places)
    wishes = cushion.cover.matching
    seen = seam.seen and (role != "join" or _both_sides_seen(cover, places))
    wish, why = _wish(seam, a, b, role, wishes, seen)
    ways = ways_that_change((a if a.is_matched else b).cloth.pattern)
    if role == "front" and wishes.front_across_only and not b.is_strip and len(ways) == 2:
        ways = ("p",)
    behind = 0.0
    if role == "join":
        behind = cover.seam_outline.point_at(float(places.a[0, 0]))[1] - cover.seam_outline.bounds()[1]
    return SeamCase(seam, a, b, role, wish, why, ways, places, match_index(places, role, a.front), behind)


def role_of(seam: Seam, panel: Part, places: Along) -> Role:
    """The part a seam plays: by its side's name, else by the way it faces."""
    if seam.kind in ("boxing_join", "zip_join", "zip_centre"):
        return "join"
    if seam.kind == "panel_panel":
        return "panel"
    if seam.side in ("front", "back"):
        return "front" if seam.side == "front" else "back"
    if seam.side in ("left", "right"):
        return "side"
    return _role_by_way(panel, places)


def _role_by_way(panel: Part, places: Along) -> Role:
    """A side of the user's own name is a front or a back where it faces that way, or runs right round."""
    fx, fy = panel.front
    steps = places.a[1:] - places.a[:-1]
    run = float(np.hypot(steps[:, 0], steps[:, 1]).sum()) or 1.0
    if float(np.hypot(*(places.a[-1] - places.a[0]))) < 1e-3 * run:
        return "front"
    outward = 1.0 if (panel.kind == "top") == bool(places.b[-1, 0] >= places.b[0, 0]) else -1.0
    share = outward * float((steps[:, 1] * fx - steps[:, 0] * fy).sum()) / run
    return "front" if share > FACES_FROM else "back" if share < -FACES_FROM else "side"


def _both_sides_seen(cover: CushionCover, places: Along) -> bool:
    """Tell whether a join of the boxing is seen: at a corner, only where both its sides are."""
    outline, s = cover.seam_outline, float(places.a[0, 0])
    return all(outline.is_seen(outline.side_at(s + step)) for step in (-1.0, 1.0))


def _wish(seam: Seam, a: Part, b: Part, role: Role, wishes: Matching, seen: bool) -> tuple[Wish, str]:
    if not (a.is_matched and b.is_matched):
        return "ignore", "one of the two cloths is plain"
    if a.cloth.id != b.cloth.id:
        return "ignore", "the two pieces are of different cloths"
    if role in ("join", "panel") and a.turn_deg != b.turn_deg:
        return "ignore", "the cloth turns here"
    wish = _asked(seam, role, wishes)
    if wish == "ignore":
        return wish, "as asked"
    if not seen and (wish == "prefer" or role == "join"):
        return "ignore", "out of sight"
    return wish, ""


def _asked(seam: Seam, role: Role, wishes: Matching) -> Wish:
    if role == "panel":
        return "must"
    if role == "join":
        return wishes.back if seam.kind == "zip_centre" else wishes.joins
    if seam.edge == "bottom":
        return wishes.bottom
    return {"front": wishes.front, "back": wishes.back}.get(role, wishes.sides)


def main_top(cover: CushionCover) -> Piece | None:
    """The top panel on which the cushion's centre line lies: the only one, or the middle width."""
    x0, y0, x1, y1 = cover.seam_outline.bounds()
    return _main(cover, "top", ((x0 + x1) / 2, (y0 + y1) / 2))


def _main(cover: CushionCover, kind: str, centre: Point) -> Piece | None:
    def off(piece: Piece) -> tuple[float, str]:
        px0, py0, px1, py1 = piece.seam.bounds()
        out_x = max(px0 - centre[0], centre[0] - px1, 0.0)
        out_y = max(py0 - centre[1], centre[1] - py1, 0.0)
        return (out_x + out_y, piece.id)

    return min((p for p in cover.pieces if p.kind == kind), key=off, default=None)


def main_bottom(cover: CushionCover, turned_over: bool) -> Piece | None:
    """The bottom panel on which the cushion's centre line lies."""
    x0, y0, x1, y1 = cover.seam_outline.bounds()
    cx, cy = (x0 + x1) / 2, (y0 + y1) / 2
    return _main(cover, "bottom", (-cx, cy) if turned_over else (cx, -cy))
