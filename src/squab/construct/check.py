"""Prove a cover by a second, plainer method than the one that made it.

Paths are flattened to short chords and their lengths added; notches are found along the chords;
cut lines are compared with a general polygon library's buffer. Nothing here uses the offsets,
the stations or the seam planning of the stage.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from squab.construct.records import CushionCover, Notch, Piece, Seam, Strip
from squab.findings import Finding, Severity
from squab.plane import Path, Points

FINE_MM = 0.02
"""Sagitta of the chords: a whole circle then measures short by 2/3 pi times that, under 0.05 mm."""
LENGTH_TOL_MM = 0.1
MEETS_TOL_MM = 0.1
ON_PATH_MM = 0.05
AREA_TOL = 2e-3


def check_cover(cover: CushionCover, allowance_mm: float) -> tuple[Finding, ...]:
    """Give a finding that stops for everything in a cover that does not hold; none for a sound cover."""
    found = [*_seam_faults(cover), *_notch_faults(cover), *_perimeter_faults(cover)]
    for piece in cover.pieces:
        found += _cut_faults(piece, allowance_mm)
    return tuple(Finding("CON-090", Severity.STOP, cover.cushion_id, text, "please report this job") for text in found)


def _length(path: Path) -> float:
    pts = path.flattened(FINE_MM)
    return float(np.hypot(*np.diff(pts, axis=0).T).sum())


def _seam_faults(cover: CushionCover) -> list[str]:
    found = []
    for seam in cover.seams:
        a, b = _length(seam.a.path), _length(seam.b.path)
        if not -LENGTH_TOL_MM <= a - b <= seam.ease_mm + LENGTH_TOL_MM:
            found.append(f"seam {seam.id}: {a:.2f} mm of {seam.a.part_id} meet {b:.2f} mm of {seam.b.part_id}")
    return found


def _perimeter_faults(cover: CushionCover) -> list[str]:
    """Every panel is sewn all the way round, once."""
    found = []
    for piece in cover.pieces:
        if piece.kind not in ("top", "bottom"):
            continue
        sewn = sum(_length(e.path) for s in cover.seams for e in (s.a, s.b) if e.part_id == piece.id)
        round_it = _length(piece.seam.path)
        if abs(sewn - round_it) > LENGTH_TOL_MM * (1 + len(cover.seams)):
            found.append(f"{piece.id}: seams cover {sewn:.2f} mm of its {round_it:.2f} mm")
    return found


# --- notches --------------------------------------------------------------------------------


def _notch_faults(cover: CushionCover) -> list[str]:
    notches = _by_part([*cover.pieces, *cover.strips])
    found = []
    for seam in cover.seams:
        if seam.kind in ("zip_join", "boxing_join", "zip_centre"):
            continue
        found += _meeting_faults(seam, notches.get(seam.a.part_id, ()), notches.get(seam.b.part_id, ()))
    return found


def _by_part(parts: Sequence[Piece | Strip]) -> dict[str, tuple[Notch, ...]]:
    return {p.id: p.notches for p in parts}


def _meeting_faults(seam: Seam, a: Sequence[Notch], b: Sequence[Notch]) -> list[str]:
    on_a, on_b = _along(seam.a.path, a), _along(seam.b.path, b)
    found = [f"seam {seam.id}: notch {name} is on one side only" for name in sorted(set(on_a) ^ set(on_b))]
    for name in on_a.keys() & on_b.keys():
        (s, strokes), (t, other) = on_a[name], on_b[name]
        if abs(s - t) > seam.ease_mm + MEETS_TOL_MM or strokes != other:
            found.append(f"seam {seam.id}: notch {name} at {s:.2f} mm meets one at {t:.2f} mm")
    return found


def _along(path: Path, notches: Sequence[Notch]) -> dict[str, tuple[float, int]]:
    """Distance along a path of the notches that lie on it, by pair."""
    if not notches:
        return {}
    s, off = _projected(path.flattened(FINE_MM), np.array([n.at for n in notches]))
    near = np.flatnonzero(off < ON_PATH_MM).tolist()
    return {notches[i].pair: (float(s[i]), notches[i].strokes) for i in near}


def _projected(pts: Points, at: Points) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Of many points: how far along a chain of chords each one's nearest place lies, and how far off it is."""
    p, d = pts[:-1], np.diff(pts, axis=0)
    lengths = np.hypot(d[:, 0], d[:, 1])
    rest = at[:, None, :] - p
    f = np.clip((rest * d).sum(axis=2) / np.maximum(lengths**2, 1e-12), 0.0, 1.0)
    away = rest - f[:, :, None] * d
    off = np.hypot(away[:, :, 0], away[:, :, 1])
    each, nearest = np.arange(len(at)), off.argmin(axis=1)
    starts = np.concatenate(([0.0], np.cumsum(lengths)[:-1]))
    return starts[nearest] + f[each, nearest] * lengths[nearest], off[each, nearest]


# --- cut lines ------------------------------------------------------------------------------


def _cut_faults(piece: Piece, allowance_mm: float) -> list[str]:
    from shapely import Polygon

    seam, cut = Polygon(piece.seam.flattened(FINE_MM)), Polygon(piece.cut.flattened(FINE_MM))
    if not (seam.is_valid and cut.is_valid):
        return [f"{piece.id}: its outline crosses itself"]
    if not cut.buffer(0.01).contains(seam):
        return [f"{piece.id}: its cut line does not enclose its seam line"]
    if piece.kind not in ("top", "bottom") or "zip" in piece.seam.sides:
        return []
    plain = seam.buffer(allowance_mm, join_style="mitre", mitre_limit=4.0, quad_segs=64)
    if abs(plain.area - cut.area) > AREA_TOL * cut.area:
        return [f"{piece.id}: its cut area is {cut.area:.0f} mm2, a plain buffer gives {plain.area:.0f} mm2"]
    return []
