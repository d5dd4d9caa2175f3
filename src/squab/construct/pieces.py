"""Pieces and strips as they are cut: seam line, cut line, notches, snips, arrow, count, name."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import replace

from squab.construct.boxing import BoxingPart
from squab.construct.ground import Ground
from squab.construct.notches import Stations, boxing_notches, panel_notches
from squab.construct.panels import EDGES, ZIP_SIDE, PanelPart, Panels, hand_of, other_hand
from squab.construct.records import Notch, Piece, Seam, Snip, Strip
from squab.construct.seams import Frames, shared_edges
from squab.construct.shape import mirrored_outline, mirrored_point, offset_each, rectangle
from squab.construct.snips import boxing_snips, panel_snips


def panel_pieces(ground: Ground, panels: Panels, stations: Stations, frames: Frames) -> list[Piece]:
    """The panels' pieces."""
    inner = _inner_notches(ground, panels)
    return [_panel_piece(ground, part, stations, frames, inner.get(part.id, [])) for part in panels.parts]


def _panel_piece(ground: Ground, part: PanelPart, stations: Stations, frames: Frames, inner: list[Notch]) -> Piece:
    zip_edge = ground.cover.zip.tape_mm / 2
    distances = [zip_edge if side == ZIP_SIDE else ground.allowance_mm for side in part.outline.sides]
    notches = [*panel_notches(ground, part, stations), *inner]
    snips = panel_snips(ground, part)
    seam, cut = part.outline, offset_each(part.outline, distances)
    hand = hand_of(ground.cushion, ground.seam)
    front = (0.0, -1.0)
    if part.edge == "bottom":
        axis = frames.bottom_axis
        seam, cut = mirrored_outline(seam, axis), mirrored_outline(cut, axis)
        notches = [_mirrored_notch(n, axis) for n in notches]
        snips = [replace(s, at=mirrored_point(s.at, axis), outward=mirrored_point(s.outward, axis)) for s in snips]
        hand = other_hand(hand)
        front = mirrored_point(front, axis)
    cloth = ground.top_cloth if part.edge == "top" else ground.bottom_cloth
    return Piece(
        id=part.id,
        cushion_id=ground.cushion.id,
        kind=part.edge,
        name=ground.word(part.name),
        cloth_id=cloth.id,
        seam=seam,
        cut=cut,
        count=ground.cushion.count,
        hand=hand,
        front=front,
        notches=tuple(notches),
        snips=tuple(snips),
        turn_deg=part.turn_deg,
    )


def _mirrored_notch(notch: Notch, axis: int) -> Notch:
    return replace(notch, at=mirrored_point(notch.at, axis), outward=mirrored_point(notch.outward, axis))


def _inner_notches(ground: Ground, panels: Panels) -> dict[str, list[Notch]]:
    """Notches along the seams inside a panel, on both pieces."""
    found: dict[str, list[Notch]] = {}
    every = ground.cover.notching.straight_every_mm
    for edge in EDGES:
        for k, (p, q, line, _) in enumerate(shared_edges(panels.of(edge))):
            n = max(2, math.ceil(line.length / every))
            tx, ty = line.tangent_at(0.0)
            for i in range(1, n):
                at = line.point_at(line.length * i / n)
                pair = f"{ground.cushion.id}:{edge[0].upper()}S{k + 1}.{i}"
                found.setdefault(p.id, []).append(Notch(at, (ty, -tx), 1, pair))
                found.setdefault(q.id, []).append(Notch(at, (-ty, tx), 1, pair))
    return found


def boxing_pieces(
    ground: Ground, parts: Iterable[BoxingPart], stations: Stations, frames: Frames
) -> tuple[list[Piece], list[Strip]]:
    """The boxing's pieces, and its strips that the lay may divide."""
    pieces, strips = [], []
    for part in parts:
        if part.is_strip:
            strips.append(_boxing_strip(ground, part, stations, frames))
        else:
            pieces.append(_boxing_piece(ground, part, stations, frames))
    return pieces, strips


def _marks(
    ground: Ground, part: BoxingPart, stations: Stations, frames: Frames
) -> tuple[tuple[Notch, ...], tuple[Snip, ...]]:
    notches = tuple(replace(n, at=(frames.box(part, n.at[0]), n.at[1])) for n in boxing_notches(ground, part, stations))
    snips = tuple(replace(s, at=(frames.box(part, s.at[0]), s.at[1])) for s in boxing_snips(ground, part))
    return notches, snips


def _boxing_piece(ground: Ground, part: BoxingPart, stations: Stations, frames: Frames) -> Piece:
    sa, a, b = ground.allowance_mm, frames.box(part, part.s0), frames.box(part, part.s1)
    notches, snips = _marks(ground, part, stations, frames)
    cloth = ground.zip_cloth if part.is_zip else ground.boxing_cloth
    names = ("bottom", "end", "top", "start")
    at_back = ground.seam.side_at((part.s0 + part.s1) / 2) in ("back", ground.cover.zip.side)
    return Piece(
        id=part.id,
        cushion_id=ground.cushion.id,
        kind="zip_panel" if part.is_zip else "boxing",
        name=ground.word(part.name),
        cloth_id=cloth.id,
        seam=rectangle(a, part.seam_z[0], b, part.seam_z[1], names),
        cut=rectangle(a - sa, part.cut_z[0], b + sa + part.spare_mm, part.cut_z[1], names),
        count=ground.cushion.count,
        notches=notches,
        snips=snips,
        turn_deg=part.turn_deg,
        may_half_turn=ground.cover.matching.back_half_turned and at_back and not cloth.one_way,
        note=f"{ground.shown(part.spare_mm)} to spare at one end, trimmed when it meets" if part.spare_mm else "",
    )


def _boxing_strip(ground: Ground, part: BoxingPart, stations: Stations, frames: Frames) -> Strip:
    notches, snips = _marks(ground, part, stations, frames)
    cloth = ground.zip_cloth if part.is_zip else ground.boxing_cloth
    windows = None
    if part.windows is not None:
        windows = tuple((frames.box(part, a), frames.box(part, b)) for a, b in part.windows)
    return Strip(
        id=part.id,
        cushion_id=ground.cushion.id,
        kind="boxing",
        name=ground.word(part.name),
        cloth_id=cloth.id,
        s0_mm=frames.box(part, part.s0),
        s1_mm=frames.box(part, part.s1) + part.spare_mm,
        z0_mm=part.cut_z[0],
        z1_mm=part.cut_z[1],
        end_mm=ground.allowance_mm,
        count=ground.cushion.count,
        least_part_mm=ground.cover.least_boxing_part_mm,
        windows=windows,
        most_parts=part.most_parts,
        seam_z=part.seam_z,
        turn_deg=part.turn_deg,
        notches=notches,
        snips=snips,
        note=f"{ground.shown(part.spare_mm)} to spare at the last join, trimmed when it meets" if part.spare_mm else "",
    )


def joined_names(part_id: str, seams: Iterable[Seam], names: Mapping[str, str]) -> tuple[str, ...]:
    """Names of what a part is sewn to, once each, in the order of the seams."""
    others = []
    for seam in seams:
        if seam.a.part_id == part_id and seam.b.part_id != part_id:
            others.append(seam.b.part_id)
        elif seam.b.part_id == part_id and seam.a.part_id != part_id:
            others.append(seam.a.part_id)
    return tuple(dict.fromkeys(names[o] for o in others))
