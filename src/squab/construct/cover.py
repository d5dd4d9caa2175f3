"""The whole cover of one cushion, from its sizes to its seams."""

from __future__ import annotations

import re
from dataclasses import replace

from squab.construct.boxing import Boxing, plan_boxing
from squab.construct.check import check_cover
from squab.construct.ground import Ground, told
from squab.construct.notches import stations_that_tell
from squab.construct.panels import Panels, plan_panels
from squab.construct.pieces import boxing_pieces, joined_names, panel_pieces
from squab.construct.piping import piping_findings, piping_plan, piping_strip
from squab.construct.records import CushionCover, Piece, Strip, ZipPanelPlan
from squab.construct.refusals import make_findings, number_findings
from squab.construct.seams import cushion_seams, frames_of
from squab.construct.sizes import sized
from squab.construct.zips import zip_findings, zip_plan
from squab.errors import OutlineError
from squab.findings import Finding, Outcome, Severity
from squab.job import Cushion, Job
from squab.units import format_length


def construct_cover(job: Job, cushion: Cushion, panel_seam_at_mm: float | None) -> Outcome[CushionCover]:
    """Work out one cushion's cover, or say why it cannot be sewn."""
    found = number_findings(job, cushion)
    if found:
        return Outcome(None, tuple(found))
    ground, size_found = _ground(job, cushion)
    found += size_found
    if ground is None:
        return Outcome(None, tuple(found))
    found += make_findings(ground)
    panels, panel_found = plan_panels(ground, panel_seam_at_mm)
    found += panel_found
    if panels is None:
        return Outcome(None, tuple(found))
    boxing, boxing_found = plan_boxing(ground, panels)
    found += boxing_found
    if boxing is None:
        return Outcome(None, tuple(found))
    try:
        cover, cover_found = _cover(ground, panels, boxing)
    except OutlineError as error:
        hint = "make the seam allowance smaller, or the rounded corners larger"
        stop = ground.finding(
            "CON-004", Severity.STOP, "cut line", f"the allowance does not fit: {told(error, job.style)}", hint
        )
        return Outcome(None, (*found, stop))
    found += [*cover_found, *check_cover(cover, ground.allowance_mm)]
    if any(f.severity is Severity.STOP for f in found):
        return Outcome(None, tuple(found))
    return Outcome(cover, tuple(found))


def _ground(job: Job, cushion: Cushion) -> tuple[Ground | None, list[Finding]]:
    place = cushion.name or cushion.id
    try:
        size = sized(job, cushion)
    except OutlineError as error:
        return None, [
            Finding(
                "CON-002",
                Severity.STOP,
                f"{place}: size",
                f"brought from its {cushion.size_is.replace('_', ' ')} size to the seam, {_used_up(error, job)}",
                "check the size, the clearances and the fit; rounded corners may need a larger radius",
                cushion.line,
            )
        ]
    if size.thickness_mm <= 0:
        text = f"the finished boxing would be {format_length(size.thickness_mm, job.style)}"
        stop = Finding(
            "CON-002", Severity.STOP, f"{place}: thickness", text, "check thickness and its fit", cushion.line
        )
        return None, [stop]
    return Ground(job, cushion, size), []


_USED_UP = re.compile(r"an arc of radius (\d+(?:\.\d+)?) mm cannot be offset by -?(\d+(?:\.\d+)?) mm")


def _used_up(error: OutlineError, job: Job) -> str:
    """What an outline says of itself; of a rounded corner, how much is taken off and what radius would do."""
    arc = _USED_UP.search(str(error))
    if arc is None:
        return told(error, job.style)
    radius, taken = (format_length(float(x), job.style) for x in arc.groups())
    return (
        f"a rounded corner or curved side of {radius} radius is used up: {taken} is taken off it; "
        f"a radius of more than {taken} would do, or a square corner"
    )


def _cover(ground: Ground, panels: Panels, boxing: Boxing) -> tuple[CushionCover, list[Finding]]:
    frames = frames_of(ground)
    stations, unsure = stations_that_tell(ground, panels, boxing.parts)
    seams = cushion_seams(ground, panels, boxing, frames)
    pieces = panel_pieces(ground, panels, stations, frames)
    more, strips = boxing_pieces(ground, boxing.parts, stations, frames)
    plan = piping_plan(ground)
    zipped, opening = _zip(ground, panels, boxing)
    found = zip_findings(ground, opening) if zipped else []
    if plan:
        strips.append(piping_strip(ground, plan))
        found += piping_findings(ground, plan)
    found += [_unsure(ground, name) for name in unsure]
    parts: list[Piece | Strip] = [*pieces, *more, *strips]
    names = {p.id: p.name for p in parts}
    cover = CushionCover(
        cushion_id=ground.cushion.id,
        sizes=ground.sized.sizes,
        seam_outline=ground.seam,
        thickness_mm=ground.thickness_mm,
        ring_mm=ground.ring_mm,
        pieces=tuple(replace(p, joins=joined_names(p.id, seams, names)) for p in [*pieces, *more]),
        strips=tuple(replace(s, joins=joined_names(s.id, seams, names)) for s in strips),
        seams=seams,
        zip_panel=zipped,
        piping=plan,
        fill_outline=ground.sized.fill,
        panel_seam_at_mm=panels.seam_at_mm,
    )
    return cover, found


def _zip(ground: Ground, panels: Panels, boxing: Boxing) -> tuple[ZipPanelPlan | None, float]:
    """The zip's plan and the length of the opening."""
    if ground.cover.zip.place == "none":
        return None, 0.0
    if boxing.zip_range is not None:
        panel = boxing.zip_range[1] - boxing.zip_range[0]
        return zip_plan(ground, panel, boxing.return_mm), panel
    panel = sum(
        e.length
        for p in panels.of("bottom")
        for e, side in zip(p.outline.edges, p.outline.sides, strict=True)
        if side == "zip" and p.id.endswith(".front")
    )
    return zip_plan(ground, panel, 0.0), panel


def _unsure(ground: Ground, name: str) -> Finding:
    return ground.finding(
        "CON-023",
        Severity.WARN,
        name,
        "too short for notches that tell it from itself turned or flipped",
        "mark its top edge in chalk",
    )
