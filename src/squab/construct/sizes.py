"""The five sizes of a cushion: seat, fill, old cover, finished over its piping, and seam.

The seam size (stitch line to stitch line) rules; every other size is worked out from it, and
changing an allowance never changes it. An old cover is measured between its seams.
"""

from __future__ import annotations

from dataclasses import dataclass

from squab.construct.records import Size, Sizes
from squab.construct.rules import FIT_MM
from squab.construct.shape import offset_each
from squab.errors import OutlineError
from squab.job import Cushion, Job
from squab.plane import Outline, offset_outline


@dataclass(frozen=True)
class Sized:
    """A cushion brought to its seam size."""

    seam: Outline
    fill: Outline
    thickness_mm: float
    sizes: Sizes


def stands_proud_mm(job: Job, cushion: Cushion) -> float:
    """How far piping stands out beyond the seam: the cord and two cloths, d + 2t; 0 unpiped."""
    piping = cushion.cover.piping
    if piping.edges == "none":
        return 0.0
    return piping.cord_mm + 2 * job.cloth(cushion.cover.piping_cloth or cushion.cover.panel_cloth).thickness_mm


def fit_mm(cushion: Cushion) -> float:
    """How much smaller than the fill the seam size is, overall each way."""
    chosen = cushion.cover.fit_mm
    return FIT_MM[cushion.fill.kind] if chosen is None else chosen


def fit_thickness_mm(cushion: Cushion) -> float:
    """How much thinner than the fill the finished boxing is; nothing unless chosen."""
    chosen = cushion.cover.fit_thickness_mm
    return 0.0 if chosen is None else chosen


def seam_thickness_mm(cushion: Cushion) -> float:
    """Give the finished width of the boxing."""
    given = cushion.thickness_mm
    return given - fit_thickness_mm(cushion) if cushion.thickness_is == "fill" else given


def seam_outline(job: Job, cushion: Cushion) -> Outline:
    """Bring the given outline to the seam line.

    Raises
    ------
    OutlineError
        If nothing of a side is left.
    """
    given = cushion.outline
    if cushion.size_is == "seat":
        return offset_each(given, [-d for d in _off_the_seat(job, cushion)])
    if cushion.size_is == "finished":
        return offset_outline(given, -stands_proud_mm(job, cushion))
    if cushion.size_is == "fill":
        return offset_outline(given, -fit_mm(cushion) / 2)
    return given


def _off_the_seat(job: Job, cushion: Cushion) -> list[float]:
    proud = stands_proud_mm(job, cushion)
    return [cushion.clearance_mm.get(side, 0.0) + proud for side in cushion.outline.sides]


def sized(job: Job, cushion: Cushion) -> Sized:
    """Give the seam outline, the fill outline and every size side by side.

    Raises
    ------
    OutlineError
        If a size leaves nothing of a side.
    """
    seam = seam_outline(job, cushion)
    thickness, fit = seam_thickness_mm(cushion), fit_mm(cushion)
    fill = cushion.outline if cushion.size_is == "fill" else offset_outline(seam, fit / 2)
    proud = stands_proud_mm(job, cushion)
    finished = offset_outline(seam, proud)
    fill_thickness = cushion.fill.bare_thickness_mm or (
        cushion.thickness_mm if cushion.thickness_is == "fill" else thickness + fit_thickness_mm(cushion)
    )
    sizes = Sizes(
        seat=_seat_size(job, cushion, seam, fill_thickness),
        fill=_size(fill, fill_thickness),
        seam=_size(seam, thickness),
        finished=_size(finished, thickness),
        given=cushion.size_is,
        fit_mm=fit,
        fit_thickness_mm=fit_thickness_mm(cushion),
        stands_proud_mm=proud,
    )
    return Sized(seam, fill, thickness, sizes)


def _seat_size(job: Job, cushion: Cushion, seam: Outline, thickness: float) -> Size | None:
    """The hole the cushion goes into: as given, or the smallest with the clearances asked for."""
    if cushion.size_is == "seat":
        return _size(cushion.outline, thickness)
    proud = stands_proud_mm(job, cushion)
    try:
        seat = offset_each(seam, [cushion.clearance_mm.get(side, 0.0) + proud for side in seam.sides])
    except OutlineError:
        return None
    return _size(seat, thickness)


def _size(outline: Outline, thickness_mm: float) -> Size:
    x0, y0, x1, y1 = outline.bounds()
    return Size(x1 - x0, y1 - y0, thickness_mm)
