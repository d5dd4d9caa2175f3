"""From a job to plain lay problems, and what cannot be cut at all."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from squab.cloth import Bolt, Cloth, Flaw, Pattern
from squab.construct.records import Construction, CushionCover, Piece, Size, Sizes, Strip
from squab.errors import LayError
from squab.findings import Outcome
from squab.job import Cushion, Job
from squab.lay.problem import flattened_outward, instance_keys, lay_problems, part_id_of, problem_from_record
from squab.lay.records import LayProblem
from squab.match.records import Anchor, MatchPlan, Phase, Placing
from squab.plane import Arc, Line, Outline


def rectangle(w: float, h: float) -> Outline:
    p = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)]
    return Outline(tuple(Line(p[i], p[(i + 1) % 4]) for i in range(4)), ("front", "right", "back", "left"), (True,) * 4)


def disc(r: float) -> Outline:
    return Outline((Arc((r, 0.0), (r, 0.0), (0.0, 0.0)),), ("round",), (True,))


def planned(
    cloth: Cloth,
    *,
    cut: Outline | None = None,
    count: int = 2,
    strip: Strip | None = None,
    phase: Phase | None = None,
    anchor: Anchor | None = None,
    gap_mm: float = 0.0,
) -> Outcome[tuple[LayProblem, ...]]:
    cut = cut or rectangle(600.0, 500.0)
    piece = Piece("seat.top", "seat", "top", "top panel", cloth.id, cut, cut, count)
    size = Size(576.0, 476.0, 75.0)
    cover = CushionCover(
        "seat", Sizes(None, size, size, size, "seam", 0.0, 0.0, 0.0), cut, 75.0, cut.length, (piece,),
        (strip,) if strip else (), (), None, None, cut,
    )  # fmt: skip
    job = Job("chairs", (Cushion("seat", "seat", cut, 75.0, count=count),), (cloth,), knife_gap_mm=gap_mm)
    match = MatchPlan(
        {"seat.top": Placing("seat.top", (0,), phase)}, {} if anchor is None else {anchor.group: anchor}, ()
    )
    return lay_problems(job, Construction((cover,)), match)


PLAIN = Cloth("plain", "plain weave", 1370.0)
STRIPE = Cloth("stripe", "ticking", 1370.0, Pattern("warp_stripe", 96.0))


def boxing(**change: object) -> Strip:
    whole = Strip("seat.boxing", "seat", "boxing", "boxing", "plain", 0.0, 1800.0, -12.0, 87.0, 12.0, 1, 150.0)
    return replace(whole, **change)  # type: ignore[arg-type]


def test_each_instance_is_named_by_its_cushion() -> None:
    outcome = planned(PLAIN, count=3, strip=boxing(count=3))
    assert outcome.value is not None
    (problem,) = outcome.value
    assert [p.key for p in problem.pieces] == ["seat#1.top", "seat#2.top", "seat#3.top"]
    assert [s.key for s in problem.strips] == ["seat#1.boxing", "seat#2.boxing", "seat#3.boxing"]
    assert {part_id_of(p.key) for p in problem.pieces} == {"seat.top"}
    assert {p.kind for p in problem.pieces} == {"panel"}


def test_counts_that_are_no_multiple_of_the_cushions_are_numbered() -> None:
    assert instance_keys("seat.tie", "seat", 3, 2) == ("seat.tie#1", "seat.tie#2", "seat.tie#3")
    assert instance_keys("seat.top", "seat", 1, 1) == ("seat.top",)


def test_phase_anchor_gap_and_bolt_are_handed_on() -> None:
    bolt = Bolt(5000.0, "lot", 33.0, None, 97.0, flaws=(Flaw(0, 100, 50, 120, "slub"), Flaw.disc(700, 300, 20)))
    outcome = planned(replace(STRIPE, bolt=bolt), phase=Phase("g", 8.0, 5.0), anchor=Anchor("g", 4.0, None), gap_mm=3.0)
    assert outcome.value is not None
    (problem,) = outcome.value
    assert problem.lattice.across_mm == 97.0
    phase = problem.pieces[0].phase
    assert phase is not None
    assert (phase.off_p, phase.off_q) == (8.0, None)
    assert problem.anchors == {"g": (4.0, None)}
    assert problem.pattern_at == (33.0, 0.0)
    assert (problem.gap_mm, problem.bolt_mm) == (3.0, 5000.0)
    assert problem.flaws == bolt.flaws


def test_a_cloth_that_shrinks_is_described_as_it_will_be() -> None:
    cloth = replace(STRIPE, shrink_weft_pct=5.0, shrink_warp_pct=10.0, shrinks_after_cutting=True, bolt=Bolt(1000.0))
    outcome = planned(cloth)
    assert outcome.value is not None
    (problem,) = outcome.value
    assert problem.usable_width_mm == pytest.approx(1370 * 0.95)
    assert problem.lattice.across_mm == pytest.approx(96 * 0.95)
    assert problem.bolt_mm == pytest.approx(900.0)


def test_a_disc_is_flattened_outside_itself_and_no_wider() -> None:
    xy = flattened_outward(disc(200.0))
    spans = xy.max(axis=0) - xy.min(axis=0)
    assert spans == pytest.approx([400.0, 400.0], abs=1e-9)
    edges = np.roll(xy, -1, axis=0) - xy
    distance = np.abs(xy[:, 0] * edges[:, 1] - xy[:, 1] * edges[:, 0]) / np.hypot(*edges.T)
    assert distance.min() >= 200.0 - 1e-9
    assert np.hypot(*xy.T).max() <= 200.1


def test_a_piece_wider_than_the_cloth_says_what_is_missing_and_what_would_fit() -> None:
    outcome = planned(PLAIN, cut=rectangle(1500.0, 500.0))
    assert outcome.value is None
    (finding,) = outcome.findings
    assert finding.code == "LAY-001"
    assert "130 mm are missing" in finding.message
    assert "turned a quarter" in finding.hint
    assert "1500 mm wide" in finding.hint


def test_a_measured_stripe_that_leaves_a_wide_piece_no_place_is_found() -> None:
    cloth = replace(STRIPE, bolt=Bolt(stripe_at_u_mm=50.0))
    pinned = {"phase": Phase("g", 0.0, None), "anchor": Anchor("g", 0.0, None), "cut": rectangle(1328.0, 500.0)}
    outcome = planned(cloth, **pinned)  # type: ignore[arg-type]
    assert [f.code for f in outcome.findings] == ["LAY-002"]
    assert planned(replace(cloth, bolt=Bolt(stripe_at_u_mm=40.0)), **pinned).findings == ()  # type: ignore[arg-type]


def test_a_least_part_longer_than_its_strip_is_said_and_the_strip_cut_in_one() -> None:
    outcome = planned(PLAIN, strip=boxing(s1_mm=100.0))
    assert outcome.value is not None
    assert [f.code for f in outcome.findings] == ["LAY-004"]


def test_a_strip_that_cannot_be_joined_is_refused() -> None:
    outcome = planned(PLAIN, strip=boxing(windows=()))
    assert [f.code for f in outcome.findings] == ["LAY-003"]


def test_flaws_from_selvage_to_selvage_leave_no_room() -> None:
    bolt = Bolt(1000.0, flaws=(Flaw(0.0, 0.0, 1370.0, 1000.0),))
    assert [f.code for f in planned(replace(PLAIN, bolt=bolt)).findings] == ["LAY-005"]


def test_two_flaws_on_one_another_do_not_take_the_bolt_twice() -> None:
    half = Flaw(0.0, 0.0, 1370.0, 600.0)
    for flaws, codes in (((half, half), []), ((half, Flaw(0.0, 550.0, 1370.0, 1000.0)), ["LAY-005"])):
        assert [f.code for f in planned(replace(PLAIN, bolt=Bolt(1000.0, flaws=flaws))).findings] == codes


def test_a_hundred_thousand_pieces_are_refused_at_once() -> None:
    outcome = planned(PLAIN, count=100_000)
    assert [f.code for f in outcome.findings] == ["LAY-006"]
    assert "100000 pieces" in outcome.findings[0].message
    assert "into 20 or more" in outcome.findings[0].hint
    assert "5000 of seat would fit" in outcome.findings[0].hint


def test_a_benchmark_record_that_is_not_one_is_named() -> None:
    with pytest.raises(LayError, match="broken"):
        problem_from_record({"name": "broken", "cloth": {"usable_width_mm": "wide"}, "pieces": []})


def test_least_length_of_a_record_is_a_cut_length() -> None:
    problem = problem_from_record(
        {
            "cloth": {"usable_width_mm": 1370},
            "pieces": [],
            "strips": [{"width_mm": 32, "total_mm": 4400, "least_length_mm": 400, "extra_per_part_mm": 32}],
        }
    )
    (strip,) = problem.strips
    assert (strip.least_part_mm, strip.end_mm) == (368.0, 16.0)
    assert math.isclose(strip.s1_mm, 4400.0)
