"""Construction: every piece of the cover, with seam line, cut line, notches, grain, count and name."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

from squab.construct.cover import construct_cover
from squab.construct.ground import Ground
from squab.construct.panels import PanelSeamOption
from squab.construct.panels import panel_seam_options as _options
from squab.construct.records import Construction, CushionCover
from squab.construct.refusals import number_findings
from squab.construct.sizes import sized
from squab.errors import OutlineError
from squab.findings import Finding, Outcome
from squab.job import Cushion, Job

__all__ = ["PanelSeamOption", "construct", "panel_seam_options"]


def construct(job: Job, *, panel_seam_at_mm: Mapping[str, float] | None = None) -> Outcome[Construction]:
    """Work out every cover of a job.

    Parameters
    ----------
    job:
        The job as the maker asks for it.
    panel_seam_at_mm:
        By cushion id, how far from the centre line the seams of a panel wider than its cloth
        are to stand; by default the widest place that fits wherever the stripe starts.

    Returns
    -------
    Outcome[Construction]
        The covers in the order of the job's cushions, those that can be sewn; None where none
        can. Findings CON-001 to CON-053.
    """
    places = panel_seam_at_mm or {}
    ground = repr((job.cloths, job.style, job.words))
    outcomes = [_cover_of(_Asked((ground, repr(c), places.get(c.id)), job, c)) for c in job.cushions]
    findings: tuple[Finding, ...] = tuple(f for o in outcomes for f in o.findings)
    covers = tuple(o.value for o in outcomes if o.value is not None)
    return Outcome(Construction(covers) if covers else None, findings)


@dataclass(frozen=True)
class _Asked:
    """One cover to be made. `key` holds all that it depends on, written out."""

    key: tuple[str, str, float | None]
    job: Job = field(compare=False)
    cushion: Cushion = field(compare=False)


@lru_cache(maxsize=256)
def _cover_of(asked: _Asked) -> Outcome[CushionCover]:
    """A cover; the same cushion in the same cloths is not worked out twice, as when another of its job is changed."""
    return construct_cover(asked.job, asked.cushion, asked.key[2])


def panel_seam_options(job: Job, cushion: Cushion) -> tuple[PanelSeamOption, ...]:
    """List where the seams of a cushion's panel may stand, widest middle first; nothing where it needs none."""
    if number_findings(job, cushion) or cushion.cover.panel_seams != "middle_width":
        return ()
    try:
        return _options(Ground(job, cushion, sized(job, cushion)))
    except OutlineError:
        return ()
