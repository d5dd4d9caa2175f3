"""Laws of matching: what the solver says of a seam is what is measured on the cloth, for any cushion and pattern."""

from __future__ import annotations

import math
import random
from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, Phase, assume, given, settings
from hypothesis import strategies as st

from squab.cloth import Cloth, Pattern, Stripe, stripe_axes
from squab.construct import construct
from squab.construct.records import Construction, Seam
from squab.job import Cover, Cushion, Job, Matching, Wish, Zip
from squab.match import drift_along, plan_match
from squab.match.congruence import repeat_of
from squab.match.drift import SEEN_GOOD_MM
from squab.match.records import MatchPlan
from squab.plane import Arc, Line, Outline, Placement
from tests.laws.draws import draws

FEW = settings(
    max_examples=draws(12),
    deadline=None,
    derandomize=True,
    phases=(Phase.explicit, Phase.generate),
    suppress_health_check=(HealthCheck.too_slow,),
)
SIDES = ("front", "right", "back", "left")
mm = st.integers(60, 900).map(float)


@st.composite
def patterns(draw: st.DrawFn) -> Pattern:
    """Stripes even and uneven, along and across the bolt, prints straight and dropped."""
    kind = draw(st.sampled_from(["warp_stripe", "weft_stripe", "print"]))
    if kind == "print":
        along = draw(mm)
        drop = draw(st.sampled_from([0.0, along / 2, along / 3]))
        return Pattern("print", draw(mm), along, drop, half_turn_same=draw(st.booleans()))
    widths = draw(st.lists(st.integers(6, 60).map(float), min_size=2, max_size=5))
    colours = draw(st.lists(st.sampled_from(["#111111", "#888888", "#eeeeee"]), min_size=5, max_size=5))
    layout = tuple(Stripe(w, c) for w, c in zip(widths, colours, strict=False))
    if len({s.colour for s in layout}) == 1:
        layout = (replace(layout[0], colour="#123456"), *layout[1:])
    repeat = sum(widths)
    axes = stripe_axes(layout)
    if kind == "warp_stripe":
        return Pattern("warp_stripe", repeat, None, stripes=layout, mirror_axes=axes)
    return Pattern("weft_stripe", None, repeat, stripes=layout, mirror_axes=axes)


@st.composite
def outlines(draw: st.DrawFn) -> Outline:
    """Trapezoids, and rectangles with rounded back corners."""
    w, d = draw(st.integers(350, 900)), draw(st.integers(300, 700))
    if draw(st.booleans()):
        lean = draw(st.integers(0, 80))
        c = [(0.0, 0.0), (float(w), 0.0), (float(w - lean), float(d)), (float(lean), float(d))]
        return Outline(tuple(Line(c[i], c[(i + 1) % 4]) for i in range(4)), SIDES)
    r = float(draw(st.integers(20, 120)))
    edges = (
        Line((0, 0), (w, 0)),
        Line((w, 0), (w, d - r)),
        Arc((w, d - r), (w - r, d), (w - r, d - r)),
        Line((w - r, d), (r, d)),
        Arc((r, d), (0, d - r), (r, d - r)),
        Line((0, d - r), (0, 0)),
    )
    return Outline(edges, ("front", "right", "right", "back", "left", "left"))


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """One or two kinds of cushion of one cloth, with any wishes."""
    pattern = draw(patterns())
    wishes_there_are: tuple[Wish, ...] = ("must", "prefer", "ignore")
    wish = st.sampled_from(wishes_there_are)
    cushions = []
    for name in ("seat", "pad")[: draw(st.integers(1, 2))]:
        wishes = Matching(
            draw(wish), draw(wish), draw(wish), draw(wish), draw(wish),
            sides_along=draw(st.booleans()), back_half_turned=draw(st.booleans()),
            front_across_only=draw(st.booleans()), row=draw(st.sampled_from([None, "row"])),
        )  # fmt: skip
        making = draw(st.sampled_from(["fold_and_split", "two_single"]))
        cover = Cover(matching=wishes, zip=Zip(making=making))  # type: ignore[arg-type]
        cushions.append(
            Cushion(
                name,
                name,
                draw(outlines()),
                float(draw(st.integers(60, 120))),
                "seam",
                turned_over=draw(st.booleans()),
                cover=cover,
            )
        )
    return Job("laws", tuple(cushions), (Cloth("cloth", "Cloth", 1400, pattern, one_way=draw(st.booleans())),))


def worked(job: Job) -> tuple[Construction, MatchPlan]:
    """A job with its covers and its match."""
    made = construct(job).value
    assume(made is not None)
    assert made is not None
    plan = plan_match(job, made).value
    assert plan is not None
    return made, plan


def placed(
    plan: MatchPlan, part: str, pattern: Pattern, rng: random.Random, anchors: dict[str, tuple[float, float]]
) -> Placement:
    """A part laid somewhere on a bolt, on its phase but whole repeats away."""
    placing = plan.placings[part]
    phase = placing.phase
    if phase is None:
        return Placement(placing.turns_deg[0], rng.uniform(0, 900), rng.uniform(0, 900))
    a, b = anchors[phase.group]
    repeat = repeat_of(pattern)
    m, n = rng.randint(-3, 3), rng.randint(-3, 3)
    p = rng.uniform(0, 900) if phase.off_p is None else phase.sign_p * a + phase.off_p
    q = rng.uniform(0, 900) if phase.off_q is None else phase.sign_q * b + phase.off_q
    both = phase.off_p is not None and phase.off_q is not None
    q += m * repeat.drop_mm if both else 0.0
    return Placement(placing.turns_deg[0], p + m * (repeat.across_mm or 0.0), q + n * (repeat.along_mm or 0.0))


@FEW
@given(jobs(), st.integers(0, 10**6))
def test_drift_told_is_drift_measured_on_any_lay(job: Job, seed: int) -> None:
    """Lay every part anywhere on its phase, the bolt starting anywhere: the seams measure what was told."""
    made, plan = worked(job)
    pattern, rng = job.cloths[0].pattern, random.Random(seed)
    anchors = {
        g: (rng.uniform(0, 500) if x.a is None else x.a, rng.uniform(0, 500) if x.b is None else x.b)
        for g, x in plan.anchors.items()
    }
    start = (rng.uniform(0, 500), rng.uniform(0, 500))
    seams = {s.id: s for s in made.seams}
    for told in plan.drifts:
        seam = seams[told.seam_id]
        if told.drift_p_mm is None and told.drift_q_mm is None:
            continue
        a, b = (placed(plan, e.part_id, pattern, rng, anchors) for e in (seam.a, seam.b))
        a, b = (Placement(x.turn_deg, x.u_mm + start[0], x.v_mm + start[1]) for x in (a, b))
        ways = [w for w, d in (("p", told.drift_p_mm), ("q", told.drift_q_mm)) if d is not None]
        s, dp, dq = drift_along(seam, a, b, pattern, pattern_at=start, ways=ways)  # type: ignore[arg-type]
        assert np.allclose(s, told.s_mm)
        size = np.hypot(0 if dp is None else dp, 0 if dq is None else dq)
        if pattern.mirror_axes or pattern.half_turn_same:
            # With the anchor free, a mirror may fall right by luck: never worse than was told.
            said = np.hypot(told.drift_p_mm or 0, told.drift_q_mm or 0)
            assert (size > SEEN_GOOD_MM + 1e-6).mean() <= (said > SEEN_GOOD_MM - 1e-6).mean() + 1e-9
        else:
            assert math.isclose(float(size.max()), told.worst_mm, abs_tol=1e-6)


@FEW
@given(jobs(), st.integers(0, 10**6))
def test_order_of_seams_changes_nothing(job: Job, seed: int) -> None:
    """Seams, pieces and covers shuffled give the same placings, anchors and verdicts."""
    made, plan = worked(job)
    rng = random.Random(seed)

    def shuffled(items: tuple[Seam, ...]) -> tuple[Seam, ...]:
        return tuple(rng.sample(items, len(items)))

    covers = [
        replace(c, seams=shuffled(c.seams), pieces=tuple(rng.sample(c.pieces, len(c.pieces)))) for c in made.covers
    ]
    again = plan_match(job, Construction(tuple(rng.sample(covers, len(covers))))).value
    assert again is not None
    assert dict(again.placings) == dict(plan.placings)
    assert dict(again.anchors) == dict(plan.anchors)
    assert {d.seam_id: d for d in again.drifts} == {d.seam_id: d for d in plan.drifts}
    assert again.given_up == plan.given_up


@FEW
@given(jobs())
def test_every_wish_is_kept_or_owned_up_to(job: Job) -> None:
    """A seam that was asked to meet meets, or is among those given up; and every part has its placing."""
    made, plan = worked(job)
    assert set(plan.placings) == {p.id for p in made.pieces} | {s.id for s in made.strips}
    for told in plan.drifts:
        if told.wish == "ignore":
            assert told.verdict == "not matched"
        else:
            assert (told.seam_id in plan.given_up) == (told.verdict != "good")
            assert told.worst_mm <= 3.0 + 1e-6 or told.verdict != "good"


@FEW
@given(jobs())
def test_front_that_must_meet_meets(job: Job) -> None:
    """A straight front asked to meet does, whatever else is asked: nothing seen more goes before it."""
    _, plan = worked(job)
    fronts = [d for d in plan.drifts if d.side == "front" and d.wish == "must" and ".top.front" in d.seam_id]
    assert all(d.worst_mm < 1e-6 for d in fronts)


@FEW
@given(patterns(), mm, mm)
def test_reduced_is_in_its_own_class(pattern: Pattern, dp: float, dq: float) -> None:
    """What is left of a difference differs from it by a lattice point, and by reducing again nothing changes."""
    repeat = repeat_of(pattern)
    p, q = repeat.reduced(np.array([dp]), np.array([dq]))
    again = repeat.reduced(p, q)
    assert np.allclose(again, (p, q))
    if repeat.across_mm and repeat.along_mm:
        m = (dp - p[0]) / repeat.across_mm
        n = (dq - q[0] - round(m) * repeat.drop_mm) / repeat.along_mm
        assert abs(m - round(m)) < 1e-6
        assert abs(n - round(n)) < 1e-6
