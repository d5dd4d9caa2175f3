"""The law of the picture: drift as matching computes it is drift as measured on the drawn cushion."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Point as Dot

from squab.cloth import Pattern
from squab.construct import construct
from squab.draw.cloth import drawn_pattern
from squab.draw.picture import SurfacePatch, surface_maps
from squab.files import read_job
from squab.match import plan_match
from squab.match.records import SeamDrift
from squab.plane import Point, Points
from squab.supply.records import Price, Supply
from squab.worked import WorkedJob

EXAMPLES = Path(__file__).parents[2] / "examples"
NOUGHT = Decimal(0)


def _matched(name: str) -> WorkedJob:
    job = read_job((EXAMPLES / f"{name}.toml").read_bytes()).value
    assert job is not None
    construction = construct(job).value
    assert construction is not None
    match = plan_match(job, construction).value
    assert match is not None
    price = Price("GBP", NOUGHT, NOUGHT, NOUGHT, NOUGHT, NOUGHT, "VAT", NOUGHT, NOUGHT, NOUGHT, NOUGHT, False, {})
    return WorkedJob(job, construction, match, {}, Supply((), (), (), price, {}), {}, ())


def _on(patches: tuple[SurfacePatch, ...], part_id: str, at: Point) -> tuple[Points, Points]:
    """A point of a part on the pattern and on the solid, by the maps the picture is drawn with."""
    xy = np.array([at])
    mine = [p for p in patches if p.part_id == part_id]
    assert mine, part_id
    patch = min(mine, key=lambda p: p.region.distance(Dot(at)))
    return patch.to_pattern(xy)[0], patch.to_solid(xy)[0]


@pytest.mark.parametrize("name", ["bay-window", "benches", "round-stool"])
def test_drift_computed_is_drift_drawn(name: str) -> None:
    """Where a placing is a plain shift (no mirror axis, no half turn of the print) the two agree to a micrometre."""
    worked = _matched(name)
    seams = {s.id: s for s in worked.construction.seams}
    placings = worked.match.placings
    compared = 0
    for drift in worked.match.drifts:
        seam = seams.get(drift.seam_id)
        if seam is None or seam.kind not in ("panel_boxing", "panel_zip") or seam.edge != "top":
            continue
        phases = [placings[e.part_id].phase for e in (seam.a, seam.b)]
        if any(p is None or p.sign_p < 0 or p.sign_q < 0 for p in phases):
            continue
        groups = {p.group for p in phases if p is not None}
        pinned = all(worked.match.anchors[g].a is not None for g in groups)
        if len(groups) > 1 and not (pinned and drift.across_only):
            continue
        patches = surface_maps(worked, seam.cushion_id)
        cloth = next(p for p in patches if p.part_id == seam.a.part_id).cloth_id
        pattern = drawn_pattern(worked.job.cloth(cloth))
        for i, s in enumerate(drift.s_mm):
            at_a, solid_a = _on(patches, seam.a.part_id, seam.a.path.point_at(s))
            at_b, solid_b = _on(patches, seam.b.part_id, seam.b.path.point_at(s))
            assert np.allclose(solid_a, solid_b, atol=0.1)
            off_p, off_q = _off(at_b - at_a, drift, i, pattern)
            assert off_p == pytest.approx(0.0, abs=1e-3), (drift.seam_id, s)
            assert off_q == pytest.approx(0.0, abs=1e-3), (drift.seam_id, s)
            compared += 1
    assert compared > 10


def _off(drawn: Points, said: SeamDrift, i: int, pattern: Pattern) -> tuple[float, float]:
    """Drawn less computed drift, modulo the lattice (across, drop), (0, along); nought where not asked."""
    p = float(drawn[0]) - said.drift_p_mm[i] if said.drift_p_mm is not None else 0.0
    q = float(drawn[1]) - said.drift_q_mm[i] if said.drift_q_mm is not None else 0.0
    if pattern.repeat_across_mm is not None:
        k = round(p / pattern.repeat_across_mm)
        p, q = p - k * pattern.repeat_across_mm, q - k * pattern.drop_mm
    if pattern.repeat_along_mm is not None:
        q -= pattern.repeat_along_mm * round(q / pattern.repeat_along_mm)
    return p, q if said.drift_q_mm is not None else 0.0
