"""The front door: from a job and its covers to where on the repeat every piece must sit."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from squab.construct.records import Construction
from squab.findings import Outcome, worst_first
from squab.job import Job
from squab.match.congruence import Symmetry, repeat_of, symmetries
from squab.match.drift import Judged, drift_at, judge
from squab.match.parts import Part, SeamCase, main_bottom, main_top, parts_of, seam_cases
from squab.match.pins import pins_of
from squab.match.records import Anchor, MatchPlan, Phase, Placing, SeamDrift
from squab.match.relations import neighbours_of, relations_of, seam_rank
from squab.match.say import Said, cures_of, findings_of, is_apart, said_of
from squab.match.solve import Held, Solution, Solver
from squab.plane import Placement, Point


def plan_match(job: Job, construction: Construction) -> Outcome[MatchPlan]:
    """Find where on the cloth's repeat every piece and strip must sit so that the pattern meets.

    Relations are heard in the order in which they are seen; one that contradicts those before
    it is given up, and said so. Every piece and strip of the construction gets a placing;
    those that nothing asks to meet get no phase.

    Returns
    -------
    Outcome[MatchPlan]
        Findings MAT-001 to MAT-010. Only a mitre that cannot meet stops.
    """
    parts = parts_of(job, construction)
    cases = seam_cases(job, construction, parts)
    pins, pin_findings = pins_of(job, construction, parts)
    solver = Solver({p.id: repeat_of(p.cloth.pattern) for p in parts.values()})
    for relation in (*pins, *relations_of(job, construction, parts, cases)):
        solver.hear(relation)
    solution = solver.solution(_leaders_first(job, construction, parts))
    drifts = tuple(_drift(case, solution, job) for case in cases)
    said = Said(job, construction, parts, cases, drifts, solution, neighbours_of(job, construction, parts))
    plan = MatchPlan(
        placings=_placings(construction, parts, solution, _matched_first(cases, drifts)),
        anchors={g: Anchor(g, a, b) for g, (a, b) in solution.pinned.items()},
        drifts=drifts,
        cures=cures_of(said),
        mitres_apart=tuple((n.left.id, n.right.id) for n in said.neighbours if is_apart(n)),
        given_up=tuple(sorted(d.seam_id for d in drifts if d.wish != "ignore" and d.verdict in ("say so", "miss"))),
    )
    return Outcome(plan, worst_first((*pin_findings, *findings_of(said))))


def _leaders_first(job: Job, construction: Construction, parts: Mapping[str, Part]) -> list[str]:
    """Part ids in the order in which they may name a group: main tops, main bottoms, then the rest by id."""
    cushions = {c.id: c for c in job.cushions}
    covers = {c.cushion_id: c for c in construction.covers}
    in_order = [covers[c.id] for c in job.cushions if c.id in covers]
    tops = [p.id for p in map(main_top, in_order) if p]
    bottoms = [p.id for p in (main_bottom(c, cushions[c.cushion_id].turned_over) for c in in_order) if p]
    return list(dict.fromkeys([*tops, *bottoms, *sorted(parts)]))


def shift_of(held: Held | None, solution: Solution) -> tuple[float | None, float | None]:
    """A part's shift on the pattern, free anchors at 0; None in a direction in which it is not held."""
    if held is None:
        return (None, None)
    a, b = solution.pinned[held.group]
    return (
        held.p[0] * (a or 0.0) + held.p[1] if held.p else None,
        held.q[0] * (b or 0.0) + held.q[1] if held.q else None,
    )


def _drift(case: SeamCase, solution: Solution, job: Job) -> SeamDrift:
    held_a, held_b = solution.held.get(case.a.id), solution.held.get(case.b.id)
    shift_a, shift_b = shift_of(held_a, solution), shift_of(held_b, solution)
    known = case.wish != "ignore" and all(_fixed(w, held_a, held_b, solution) for w in case.ways)
    empty = SeamDrift(
        case.seam.id, case.seam.side, case.seam.seen, case.wish, tuple(map(float, case.places.s)), None, None,
        0.0, "not matched", across_only=case.across_only,
    )  # fmt: skip
    if case.wish == "ignore":
        return replace(empty, said=said_of(case, None, job.style))
    if not known:
        judged = Judged(_at_random(case), "miss", 0.0, _at_random(case))
        return replace(
            empty, worst_mm=judged.worst_mm, verdict="miss", good_to_mm=0.0, said=said_of(case, judged, job.style)
        )
    s, dp, dq = drift_at(
        case.places,
        Placement(case.a.turn_deg, shift_a[0] or 0.0, shift_a[1] or 0.0),
        Placement(case.b.turn_deg, shift_b[0] or 0.0, shift_b[1] or 0.0),
        case.a.cloth.pattern,
        ways=case.ways,
        among=_sure(case, held_a, held_b, solution),
    )
    front = case.role == "front" and case.seam.edge != "bottom"
    judged = judge(s, dp, dq, case.at, front=front, pattern=case.a.cloth.pattern)
    return replace(
        empty,
        drift_p_mm=None if dp is None else tuple(map(float, dp)),
        drift_q_mm=None if dq is None else tuple(map(float, dq)),
        worst_mm=judged.worst_mm,
        verdict=judged.verdict,
        good_to_mm=judged.good_to_mm,
        said=said_of(case, judged, job.style),
    )


def _sure(case: SeamCase, a: Held | None, b: Held | None, solution: Solution) -> tuple[Symmetry, ...]:
    """The symmetries under which a drift is the same wherever the lay puts a free anchor.

    Under another, two parts might meet by luck; that is nothing to promise.
    """
    assert a is not None
    assert b is not None
    signs = {"p": (a.p or (1, 0))[0] * (b.p or (1, 0))[0], "q": (a.q or (1, 0))[0] * (b.q or (1, 0))[0]}
    pinned = dict(zip(("p", "q"), (v is not None for v in solution.pinned[a.group]), strict=True))
    return tuple(
        s
        for s in symmetries(case.a.cloth.pattern)
        if all(pinned[w] or signs[w] == (s.sign_p if w == "p" else s.sign_q) for w in case.ways)
    )


def _fixed(way: str, a: Held | None, b: Held | None, solution: Solution) -> bool:
    """Tell whether two parts keep their places to one another in one direction."""
    if a is None or b is None:
        return False
    held = (a.p, b.p) if way == "p" else (a.q, b.q)
    pinned = [solution.pinned[h.group][0 if way == "p" else 1] is not None for h in (a, b)]
    return None not in held and (a.group == b.group or all(pinned))


def _at_random(case: SeamCase) -> float:
    """Half a repeat: the worst there is where nothing holds two pieces to one another."""
    repeat = repeat_of(case.a.cloth.pattern)
    halves = [(repeat.modulus(w) or 0.0) / 2 for w in case.ways]
    return max(halves, default=0.0)


def _matched_first(cases: Sequence[SeamCase], drifts: Sequence[SeamDrift]) -> dict[str, Point]:
    """For each part, the place on it where the first seen of the seams that meet is matched."""
    found: dict[str, Point] = {}
    for case, _ in sorted(
        ((c, d) for c, d in zip(cases, drifts, strict=True) if c.wish != "ignore" and d.verdict != "miss"),
        key=lambda x: (*seam_rank(x[0]), x[0].seam.id),
    ):
        for part, points in ((case.a, case.places.a), (case.b, case.places.b)):
            x, y = points[case.at].tolist()
            found.setdefault(part.id, (x, y))
    return found


def _placings(
    construction: Construction, parts: Mapping[str, Part], solution: Solution, at: Mapping[str, Point]
) -> dict[str, Placing]:
    placings: dict[str, Placing] = {}
    for piece in construction.pieces:
        part, phase = parts[piece.id], _phase(solution.held.get(piece.id), at.get(piece.id))
        may_turn = piece.may_half_turn and not part.cloth.one_way and phase is None
        turns = (part.turn_deg, (part.turn_deg + 180) % 360) if may_turn else (part.turn_deg,)
        placings[piece.id] = Placing(piece.id, turns, phase)
    for strip in construction.strips:
        placings[strip.id] = Placing(
            strip.id, (parts[strip.id].turn_deg,), _phase(solution.held.get(strip.id), at.get(strip.id))
        )
    return placings


def _phase(held: Held | None, at: Point | None) -> Phase | None:
    if held is None:
        return None
    sign_p, off_p = held.p or (1, None)
    sign_q, off_q = held.q or (1, None)
    return Phase(held.group, off_p, off_q, sign_p, sign_q, at or (0.0, 0.0))
