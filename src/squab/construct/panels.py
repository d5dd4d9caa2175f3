"""Top and bottom panels, in one piece or seamed where they are wider than the cloth."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from squab.cloth import Cloth
from squab.construct.ground import Ground, told
from squab.construct.rules import BOTTOM_ZIP_FROM_BACK, BOTTOM_ZIP_LEAST_MM, LEAST_SIDE_WIDTH_MM
from squab.construct.shape import flips_onto_itself, split
from squab.errors import OutlineError
from squab.findings import Finding, Severity
from squab.job import Cushion, Hand
from squab.plane import Outline

SEAM_SIDE = "panel seam"
ZIP_SIDE = "zip"

SAME_MM = 1e-6
Edge = Literal["top", "bottom"]
EDGES: tuple[Edge, ...] = ("top", "bottom")


@dataclass(frozen=True, slots=True)
class PanelSeamOption:
    """One way to seam a panel that is wider than the cloth.

    The seams stand `at_mm` each side of the centre line. `play_mm` is how much narrower the
    middle piece is than the cloth; where its stripe is fixed it then fits for `fits_starts` of
    the `of_starts` places (whole millimetres) at which the stripe can start at the selvage.
    `always` says that it fits for every one. `on_edge` says that the seams stand on colour edges.
    """

    at_mm: float
    middle_cut_mm: float
    side_cut_mm: float
    play_mm: float
    fits_starts: int
    of_starts: int
    always: bool
    on_edge: bool


@dataclass(frozen=True)
class PanelPart:
    """One piece of a panel, in the frame of the cushion seen from above."""

    id: str
    name: str
    edge: Edge
    outline: Outline
    turn_deg: int


@dataclass(frozen=True)
class Panels:
    """How both panels are divided. `seam_at_mm` is None where neither is seamed."""

    parts: tuple[PanelPart, ...]
    seam_at_mm: float | None
    seam_x: tuple[float, ...]
    zip_y: float | None
    turn_deg: int

    def of(self, edge: Edge) -> tuple[PanelPart, ...]:
        """The parts of one panel."""
        return tuple(p for p in self.parts if p.edge == edge)


def centre_x(outline: Outline) -> float:
    """The cushion's centre line."""
    x0, _, x1, _ = outline.bounds()
    return (x0 + x1) / 2


def is_wider(ground: Ground, cloth: Cloth) -> bool:
    """Tell whether a panel cut up and down is wider than its cloth."""
    return width_mm(ground) + 2 * ground.allowance_mm > cloth.finished_width_mm + SAME_MM


def width_mm(ground: Ground) -> float:
    """Seam width of the panel."""
    x0, _, x1, _ = ground.seam.bounds()
    return x1 - x0


def panel_seam_options(ground: Ground) -> tuple[PanelSeamOption, ...]:
    """List where the seams of a panel wider than its cloth may stand, widest middle first.

    Both seams stand on a colour edge, equally far from the centre; a pinned stripe offers few
    such places. Plain cloth, and a pattern without colour edges across, may be seamed anywhere.
    """
    cloth = ground.top_cloth if is_wider(ground, ground.top_cloth) else ground.bottom_cloth
    if not is_wider(ground, cloth):
        return ()
    usable = min(c.finished_width_mm for c in (ground.top_cloth, ground.bottom_cloth) if is_wider(ground, c))
    widest = usable / 2 - ground.allowance_mm
    places, on_edge = _places(ground, cloth, widest)
    options = [_option(ground, cloth, usable, c, on_edge) for c in sorted(set(places), reverse=True)]
    return tuple(o for o in options if o is not None)


def _option(ground: Ground, cloth: Cloth, usable: float, at: float, on_edge: bool) -> PanelSeamOption | None:
    allowance, half = ground.allowance_mm, width_mm(ground) / 2
    side, middle = half - at + 2 * allowance, 2 * at + 2 * allowance
    if half - at < LEAST_SIDE_WIDTH_MM or at < half / 3 - SAME_MM:
        return None
    if side > usable + SAME_MM or middle > usable + SAME_MM:
        return None
    play = usable - middle
    repeat = cloth.as_finished().pattern.repeat_across_mm
    if repeat is None or not _is_pinned(ground):
        return PanelSeamOption(at, middle, side, play, 1, 1, True, on_edge)
    starts = round(repeat)
    least_play = min(play, usable - side)
    fits = max(0, min(starts, math.floor(least_play + 1e-6) + 1))
    return PanelSeamOption(at, middle, side, play, fits, starts, fits >= starts, on_edge)


def _is_pinned(ground: Ground) -> bool:
    return ground.cover.matching.pin_across is not None


def _places(ground: Ground, cloth: Cloth, widest: float) -> tuple[list[float], bool]:
    pattern = cloth.as_finished().pattern
    repeat = pattern.repeat_across_mm
    edges = pattern.stripe_edges if pattern.kind == "warp_stripe" else ()
    if repeat is None or not edges:
        return _free_places(ground, widest, repeat if _is_pinned(ground) else None), False
    if not _is_pinned(ground):
        return _multiples([0.0], repeat / 2, widest), True
    line = pattern.line_mm(ground.cover.matching.pin_across or "") or 0.0
    here = [(e - line) % repeat for e in edges]
    both = [e for e in here if any(abs((-e - f + repeat / 2) % repeat - repeat / 2) < 1e-3 for f in here)]
    if both:
        return _multiples(both, repeat, widest), True
    return _free_places(ground, widest, repeat), False


def _multiples(starts: Iterable[float], step: float, most: float) -> list[float]:
    places = [s + k * step for s in starts for k in range(int(most / step) + 1)]
    return [round(p, 6) for p in places if SAME_MM < p <= most + SAME_MM]


def _free_places(ground: Ground, widest: float, repeat: float | None) -> list[float]:
    """Anywhere will do: the widest middle, one that leaves a repeat of play, and three equal widths."""
    third = width_mm(ground) / 6
    places = [float(math.floor(widest + 1e-6)), third]
    if repeat:
        places.append((2 * widest - repeat) / 2)
    return [p for p in places if 0 < p <= widest + SAME_MM]


def plan_panels(ground: Ground, at_mm: float | None) -> tuple[Panels | None, list[Finding]]:
    """Divide the panels as their cloths ask."""
    found: list[Finding] = []
    seamed = {e: is_wider(ground, _cloth_of(ground, e)) for e in EDGES}
    turn, at = 0, None
    if any(seamed.values()):
        if ground.cover.panel_seams == "railroad":
            turn, found = _railroad(ground)
        elif ground.cover.panel_seams == "none":
            found = [_too_wide(ground, "no seam is allowed")]
        else:
            at, found = _seam_at(ground, at_mm)
    if any(f.severity is Severity.STOP for f in found):
        return None, found
    zip_y = _zip_line(ground) if ground.cover.zip.place == "bottom" else None
    c = centre_x(ground.seam)
    xs = () if at is None else (c - at, c + at)
    try:
        parts = [
            part
            for edge in EDGES
            for part in _parts(ground, edge, xs if seamed[edge] else (), zip_y if edge == "bottom" else None, turn)
        ]
    except OutlineError as error:
        found.append(
            ground.finding(
                "CON-009",
                Severity.STOP,
                "panel",
                f"cannot be divided there: {told(error, ground.job.style)}",
                _DIVIDE_HINT,
            )
        )
        return None, found
    return Panels(tuple(parts), at, xs, zip_y, turn), found


_DIVIDE_HINT = "use a wider cloth, or railroad it, put the zip in the boxing, or make the cushion in two"


def _cloth_of(ground: Ground, edge: str) -> Cloth:
    return ground.top_cloth if edge == "top" else ground.bottom_cloth


def _too_wide(ground: Ground, but: str, code: str = "CON-005") -> Finding:
    cloth = ground.top_cloth if is_wider(ground, ground.top_cloth) else ground.bottom_cloth
    cut = width_mm(ground) + 2 * ground.allowance_mm
    return ground.finding(
        code,
        Severity.STOP,
        "panel",
        f"is cut {ground.shown(cut)} wide, {cloth.name or cloth.id} is {ground.shown(cloth.finished_width_mm)}, "
        f"and {but}",
        "allow panel seams (panel_seams `middle width`), railroad a cloth that may be turned, or use a wider cloth",
    )


def _not_spanned(ground: Ground) -> Finding:
    """A panel that even a middle width with two side widths does not span, with the ways that would do."""
    stop = _too_wide(ground, "a middle width with two side widths does not span it", "CON-006")
    ways = []
    if ground.cover.panel_seams != "railroad" and not any(f.severity is Severity.STOP for f in _railroad(ground)[1]):
        ways.append("railroad it (panel_seams = `railroad`)")
    cut = width_mm(ground) + 2 * ground.allowance_mm
    ways.append(f"use a cloth at least {ground.shown(cut)} wide, which needs no seam")
    ways.append("make the cushion in two")
    return replace(stop, hint=ground.word("; or ".join(ways)))


def _railroad(ground: Ground) -> tuple[int, list[Finding]]:
    _, y0, _, y1 = ground.seam.bounds()
    cut = y1 - y0 + 2 * ground.allowance_mm
    for cloth in (ground.top_cloth, ground.bottom_cloth, ground.boxing_cloth):
        if not cloth.may_railroad:
            return 0, [_too_wide(ground, f"{cloth.name or cloth.id} may not be railroaded", "CON-007")]
        if cut > cloth.finished_width_mm + SAME_MM:
            return 0, [_too_wide(ground, f"turned it would still be {ground.shown(cut)} wide", "CON-007")]
    return 90, []


def _seam_at(ground: Ground, at_mm: float | None) -> tuple[float | None, list[Finding]]:
    options = panel_seam_options(ground)
    if not options:
        return None, [_not_spanned(ground)]
    if at_mm is not None:
        near = min(options, key=lambda o: abs(o.at_mm - at_mm))
        if abs(near.at_mm - at_mm) > 0.01:
            places = ", ".join(ground.shown(o.at_mm) for o in options)
            message = f"seams {ground.shown(at_mm)} from the centre do not stand where they should"
            return None, [ground.finding("CON-009", Severity.STOP, "panel", message, f"seam it at {places}")]
        return near.at_mm, _seam_said(ground, near)
    best = next((o for o in options if o.always), options[0])
    return best.at_mm, _seam_said(ground, best)


def _seam_said(ground: Ground, option: PanelSeamOption) -> list[Finding]:
    text = (
        f"wider than the cloth: a middle of {ground.shown(option.middle_cut_mm)} and two sides of "
        f"{ground.shown(option.side_cut_mm)}, seamed {ground.shown(option.at_mm)} each side of the centre"
    )
    found = [ground.finding("CON-008", Severity.NOTE, "panel", text + (", on a colour edge" if option.on_edge else ""))]
    if not option.always:
        found.append(
            ground.finding(
                "CON-018",
                Severity.WARN,
                "panel",
                f"the middle width has {ground.shown(option.play_mm)} of play and its stripe is fixed: it fits for "
                f"{option.fits_starts} of {option.of_starts} places where the stripe can start at the selvage",
                "measure the bolt before cutting",
            )
        )
    if not option.on_edge and ground.top_cloth.pattern.kind == "warp_stripe":
        found.append(
            ground.finding(
                "CON-019",
                Severity.WARN,
                "panel",
                "no colour edge stands equally far both sides of the centre, so the panel seams run inside a stripe",
                "pin another line of the stripe to the centre, one about which it is even",
            )
        )
    return found


def _zip_line(ground: Ground) -> float:
    _, y0, _, y1 = ground.seam.bounds()
    return y1 - max(BOTTOM_ZIP_LEAST_MM, BOTTOM_ZIP_FROM_BACK * (y1 - y0))


def _parts(ground: Ground, edge: Edge, xs: tuple[float, ...], zip_y: float | None, turn: int) -> list[PanelPart]:
    label = edge
    columns = [("", "", ground.seam)]
    if xs:
        left, rest = split(ground.seam, 0, xs[0], SEAM_SIDE)
        middle, right = split(rest, 0, xs[1], SEAM_SIDE)
        if edge == "bottom" and ground.cushion.turned_over:  # left and right as it lies face up, front towards you
            left, right = right, left
        columns = [(".left", ", left", left), (".middle", ", middle", middle), (".right", ", right", right)]
    parts = []
    for suffix, said, outline in columns:
        if zip_y is None:
            parts.append(_part(ground, edge, label + suffix, f"{label} panel{said}", outline, turn))
            continue
        front, back = split(outline, 1, zip_y, ZIP_SIDE)
        parts.append(
            _part(ground, edge, f"{label}{suffix}.front", f"{label} panel{said}, front of the zip", front, turn)
        )
        parts.append(_part(ground, edge, f"{label}{suffix}.back", f"{label} panel{said}, behind the zip", back, turn))
    return parts


def _part(ground: Ground, edge: Edge, name: str, said: str, outline: Outline, turn: int) -> PanelPart:
    return PanelPart(ground.piece_id(name), said, edge, outline, turn)


def is_handed(outline: Outline) -> bool:
    """Tell whether an outline has a left and a right hand."""
    return not flips_onto_itself(outline)


def hand_of(cushion: Cushion, outline: Outline) -> Hand:
    """The hand of a top panel: as the maker says, else the side on which the narrow part lies."""
    if not is_handed(outline):
        return ""
    return cushion.hand or own_hand(outline)


def own_hand(outline: Outline) -> Hand:
    """The side on which the narrow part of an outline lies: where less of the area is."""
    pts = outline.flattened(1.0)
    nxt = np.roll(pts, -1, axis=0)
    cross = pts[:, 0] * nxt[:, 1] - nxt[:, 0] * pts[:, 1]
    centroid = float(((pts[:, 0] + nxt[:, 0]) * cross).sum() / (3 * cross.sum()))
    return "left" if centroid > centre_x(outline) else "right"


def other_hand(hand: Hand) -> Hand:
    """The other hand."""
    return {"left": "right", "right": "left"}.get(hand, "")  # type: ignore[return-value]
