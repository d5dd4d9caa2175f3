"""Matching over covers as construction makes them up: the round stool, the bench, the motif seats, two-strip zips."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from squab.construct import construct
from squab.findings import Finding
from squab.job import Cover, Cushion, Job, Matching, Zip
from squab.match import plan_match
from squab.match.congruence import wrap
from squab.match.records import MatchPlan
from squab.plane import Arc, Outline
from tests.unit.match.boxcover import cushion, job_of, printed, stripes

UNEVEN = stripes(40, 10, 26, 20, lines=(("A", 20.0),))
WIDE = stripes(150, 110, 140, 120)


def worked(job: Job, **panel_seam_at_mm: float) -> tuple[MatchPlan, tuple[Finding, ...]]:
    """Construct a job and match it."""
    made = construct(job, panel_seam_at_mm=panel_seam_at_mm or None).value
    assert made is not None
    outcome = plan_match(job, made)
    assert outcome.value is not None
    assert set(outcome.value.placings) == {p.id for p in made.pieces} | {s.id for s in made.strips}
    return outcome.value, outcome.findings


def p_of(plan: MatchPlan, part: str, a: float = 0.0) -> float:
    """Where a part's own origin stands across the pattern."""
    phase = plan.placings[part].phase
    assert phase is not None
    assert phase.off_p is not None
    anchor = plan.anchors[phase.group].a
    return phase.sign_p * (a if anchor is None else anchor) + phase.off_p


def test_round_stool_is_promised_at_the_front_centre() -> None:
    """W2 (common practice, no source): R 180, good for +/- 84 mm of edge."""
    quarter = [(0.0, -180.0), (180.0, 0.0), (0.0, 180.0), (-180.0, 0.0)]
    edges = tuple(Arc(quarter[i], quarter[(i + 1) % 4], (0.0, 0.0)) for i in range(4))
    disc = Outline(edges, ("edge",) * 4)
    kind = replace(cushion(360, 360, 40), outline=disc)
    plan, findings = worked(job_of(WIDE, kind))
    front = max((d for d in plan.drifts if ".top." in d.seam_id), key=lambda d: d.good_to_mm or 0.0)
    assert front.good_to_mm == pytest.approx(84, abs=0.5)
    assert any(f.code == "MAT-001" and "84 mm each way" in f.message for f in findings)


@pytest.mark.parametrize(("at", "phases"), [(652.0, (8, 33, 64)), (596.0, (64, 33, 8))])
def test_bench_panels_stand_at_their_phases(at: float, phases: tuple[int, int, int]) -> None:
    """W3 (common practice, no source): cut left edges from A's centre: middle, left, right; c = 652 and 596."""
    kind = cushion(1830, 500, 75, Matching(pin_across="A"))
    plan, _ = worked(job_of(UNEVEN, kind), seat=at)
    middle, left, right = phases
    assert (915 - at - 12 + p_of(plan, "seat.top.middle") - 20) % 96 == pytest.approx(middle)
    assert (-12 + p_of(plan, "seat.top.left") - 20) % 96 == pytest.approx(left)
    assert (915 + at - 12 + p_of(plan, "seat.top.right") - 20) % 96 == pytest.approx(right)
    seams = [d for d in plan.drifts if "panel_seam" in d.seam_id or ".front" in d.seam_id]
    assert len(seams) >= 10
    assert all(d.worst_mm < 1e-6 for d in seams)


def test_bench_against_a_wall_leaves_its_back_free() -> None:
    """W3: the back unseen, its zip panel may be cut anywhere; bottoms are matched as the tops are."""
    kind = cushion(1830, 500, 75, Matching(pin_across="A"))
    kind = replace(kind, outline=Outline(kind.outline.edges, kind.outline.sides, (True, True, False, True)))
    plan, _ = worked(job_of(UNEVEN, kind), seat=652.0)
    assert plan.placings["seat.zip_panel"].phase is None
    for name in ("left", "middle", "right"):
        difference = p_of(plan, f"seat.bottom.{name}") - p_of(plan, f"seat.top.{name}")
        assert wrap(difference, 96) == pytest.approx(0, abs=1e-9)


def test_motif_seats_front_boxing() -> None:
    """W5 (common practice, no source): the front boxing [-100, 24] against the panel's cut [0, 600]."""
    wishes = Matching(pin_across="motif", pin_along="motif", sides="ignore", back="ignore", bottom="ignore")
    kind = replace(cushion(600, 576, 100, wishes), count=4, turned_over=True)
    kind = replace(kind, cover=replace(kind.cover, joins_at_corners=True))
    plan, _ = worked(job_of(printed(685, 640), kind, one_way=True))
    top, front = plan.placings["seat.top"].phase, plan.placings["seat.boxing.front"].phase
    assert top is not None
    assert front is not None
    assert top.off_q is not None
    assert front.off_q is not None
    lower = front.off_q - 12 - (top.off_q - 12)
    assert (lower, lower + 124) == (-100, 24)
    bottom = plan.placings["seat.bottom"].phase
    assert bottom is not None


def test_zip_panel_of_two_strips_carries_a_print_on_across_the_zip() -> None:
    """Each strip in its own phase: both joins and the zip meet; folded and split, one join is out by the tape."""
    print_ = printed(500, 320)
    for making, out in (("two_single", 0.0), ("fold_and_split", 32.0)):
        cover = Cover(matching=Matching(sides="ignore"), zip=Zip(making=making))  # type: ignore[arg-type]
        kind: Cushion = replace(cushion(560, 510, 85), cover=cover)
        plan, _ = worked(job_of(print_, kind))
        ends = [d for d in plan.drifts if d.seam_id.startswith("seat.zip_join.end")]
        assert len(ends) == 2
        assert max(d.worst_mm for d in ends) == pytest.approx(out, abs=1e-6)


def test_eased_boxing_still_meets_at_the_front_centre() -> None:
    """Boxing 6 mm short in the round drifts by its share of the ease, not more."""
    kind = cushion(560, 510, 85)
    kind = replace(kind, cover=replace(kind.cover, boxing_ease_mm=6.0))
    plan, _ = worked(job_of(UNEVEN, kind))
    front = next(d for d in plan.drifts if d.side == "front" and ".top." in d.seam_id)
    share = 6.0 * 280 / (2 * (560 + 510))
    assert front.worst_mm == pytest.approx(share, abs=1e-3)
    assert front.verdict == "good"


def test_turned_sides_flow_over_rounded_corners_in_the_middle_of_each_side() -> None:
    """A ring drifts r (phi - sin phi) round a corner: turned strips meet along each straight."""
    kind = cushion(560, 510, 85, Matching(sides_along=True))
    plan, _ = worked(job_of(UNEVEN, kind))
    tops = [d for d in plan.drifts if ".top." in d.seam_id]
    assert {d.side for d in tops} == {"front", "right", "back", "left"}
    assert all(d.worst_mm < 1e-6 for d in tops)
    assert math.isfinite(p_of(plan, "seat.boxing.right"))


def test_cures_can_be_constructed() -> None:
    """A cure that names a setting is one construction takes: nothing is offered that would be refused."""
    for one_way in (False, True):
        job = job_of(UNEVEN, cushion(560, 510, 85), one_way=one_way)
        plan, _ = worked(job)
        settings = {c.setting: c.value for c in plan.cures if c.setting}
        assert bool(settings) != one_way
        before = sum(d.verdict == "good" for d in plan.drifts if ".top." in d.seam_id)
        for setting, value in settings.items():
            wishes = replace(Matching(), **{str(setting).split(".")[1]: value})  # type: ignore[arg-type]
            cured, _ = worked(job_of(UNEVEN, cushion(560, 510, 85, wishes), one_way=one_way))
            assert sum(d.verdict == "good" for d in cured.drifts if ".top." in d.seam_id) > before


def test_railroaded_bench_meets_at_front() -> None:
    """Panels and boxing turned a quarter: one stripe runs along the front edge of both."""
    kind = cushion(1830, 500, 75)
    kind = replace(kind, cover=replace(kind.cover, panel_seams="railroad"))
    job = job_of(UNEVEN, kind)
    job = replace(job, cloths=(replace(job.cloths[0], may_railroad=True),))
    plan, _ = worked(job)
    assert plan.placings["seat.top"].turns_deg == (90,)
    front = next(d for d in plan.drifts if d.side == "front" and ".top." in d.seam_id)
    assert front.worst_mm < 1e-6
