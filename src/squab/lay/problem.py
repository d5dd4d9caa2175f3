"""From pieces, places on the pattern and cloth to plain lay problems, one a cloth."""

from __future__ import annotations

import itertools
import math
import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from squab.cloth import Bolt, Cloth
from squab.construct.records import Construction, Piece, Strip
from squab.errors import LayError
from squab.findings import Finding, Outcome, Severity
from squab.job import Job
from squab.lay._model import cross_span, first_joints, longest_part_mm
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem, LayStrip
from squab.match.records import MatchPlan, Phase, Placing
from squab.plane import Outline, Points

FLAT_MM = 0.05
"""How far outside its true cut line a flattened outline may run."""
MOST_PIECES = 5000
"""More pieces than this on one cloth are refused: they are several jobs."""


def part_id_of(key: str) -> str:
    """The piece or strip id of an instance's key: `seat#2.top` is a `seat.top`.

    >>> part_id_of("seat#2.top")
    'seat.top'
    """
    return re.sub(r"#\d+", "", key)


def instance_keys(part_id: str, cushion_id: str, count: int, cushions: int) -> tuple[str, ...]:
    """Name each of `count` equal parts by the cushion it is for.

    >>> instance_keys("seat.top", "seat", 2, 2)
    ('seat#1.top', 'seat#2.top')
    >>> instance_keys("seat.tie", "seat", 4, 2)
    ('seat#1.tie#1', 'seat#1.tie#2', 'seat#2.tie#1', 'seat#2.tie#2')
    """
    rest = part_id[len(cushion_id) :]
    if count == 1:
        return (part_id,)
    if not part_id.startswith(cushion_id + ".") or cushions < 2 or count % cushions:
        return tuple(f"{part_id}#{k}" for k in range(1, count + 1))
    each = count // cushions
    if each == 1:
        return tuple(f"{cushion_id}#{k}{rest}" for k in range(1, count + 1))
    return tuple(f"{cushion_id}#{k}{rest}#{j}" for k in range(1, cushions + 1) for j in range(1, each + 1))


def sort_of(kind: str) -> str:
    """The sort of piece a cutter lays together: tops and bottoms are both panels.

    >>> sort_of("bottom"), sort_of("zip_panel")
    ('panel', 'zip panel')
    """
    return "panel" if kind in ("top", "bottom") else kind.replace("_", " ")


def lay_problems(job: Job, construction: Construction, match: MatchPlan) -> Outcome[tuple[LayProblem, ...]]:
    """Gather what is to be cut from each cloth of a job.

    Returns
    -------
    Outcome
        One problem a cloth that has anything cut from it, in the job's order. Findings:
        LAY-001 a piece wider than the cloth, LAY-002 a matched piece that the measured pattern
        leaves no place, LAY-003 a strip that cannot be divided, LAY-004 a least part longer
        than its strip, LAY-005 flaws right across the bolt, LAY-006 too many pieces.
    """
    findings: list[Finding] = []
    problems = []
    counts = {c.id: c.count for c in job.cushions}
    for cloth in job.cloths:
        pieces = [p for p in construction.pieces if job.cloth(p.cloth_id).id == cloth.id]
        strips = [s for s in construction.strips if job.cloth(s.cloth_id).id == cloth.id]
        total = sum(p.count for p in pieces) + sum(s.count for s in strips)
        if not total:
            continue
        if total > MOST_PIECES:
            findings.append(_too_many(cloth, total, job, [*pieces, *strips]))
            continue
        problem = _problem(job, cloth, pieces, strips, match, counts)
        findings += _checked(problem, cloth, {p.id: p.name for p in pieces} | {s.id: s.name for s in strips})
        problems.append(problem)
    stops = any(f.severity is Severity.STOP for f in findings)
    return Outcome(None if stops else tuple(problems), tuple(findings))


def _problem(
    job: Job,
    cloth: Cloth,
    pieces: list[Piece],
    strips: list[Strip],
    match: MatchPlan,
    counts: Mapping[str, int],
) -> LayProblem:
    measured = cloth.as_measured()
    fu, fv = measured.cut_scale
    pattern, bolt = measured.pattern, cloth.bolt or Bolt()
    laid: list[LayPiece] = []
    bars: list[LayStrip] = []
    for p in pieces:
        placing, phase = _placing(match, p.id, (p.turn_deg,), cloth)
        outline = flattened_outward(p.cut)
        for key in instance_keys(p.id, p.cushion_id, p.count, counts.get(p.cushion_id, 1)):
            laid.append(LayPiece(key, outline, placing.turns_deg, phase, p.cushion_id, sort_of(p.kind)))
    for s in strips:
        placing, phase = _placing(match, s.id, (s.turn_deg,), cloth)
        for key in instance_keys(s.id, s.cushion_id, s.count, counts.get(s.cushion_id, 1)):
            bars.append(
                LayStrip(
                    key, s.s0_mm, s.s1_mm, s.z0_mm, s.z1_mm, s.end_mm, s.least_part_mm, placing.turns_deg,
                    s.windows, s.most_parts, phase, s.cushion_id,
                )
            )  # fmt: skip
    phases = [x.phase for x in laid] + [x.phase for x in bars]
    used = {x.group for x in phases if x is not None}
    return LayProblem(
        cloth.id,
        measured.usable_width_mm / fu,
        Lattice(
            pattern.repeat_across_mm / fu if pattern.repeat_across_mm else None,
            pattern.repeat_along_mm / fv if pattern.repeat_along_mm else None,
            pattern.drop_mm / fv,
        ),
        tuple(laid),
        tuple(bars),
        {g: (a.a, a.b) for g, a in match.anchors.items() if g in used},
        (
            _origin(bolt.stripe_at_u_mm, pattern.changes_across, fu),
            _origin(bolt.print_at_v_mm, pattern.changes_along, fv),
        ),
        job.knife_gap_mm,
        tuple(f.scaled(1 / fu, 1 / fv) for f in bolt.flaws),
        bolt.length_mm / fv if bolt.length_mm is not None else None,
        job.style,
        bolt.creep.scaled(1 / fv) if bolt.creep is not None and pattern.changes_along else None,
    )


def _origin(at_mm: float | None, changes: bool, scale: float) -> float | None:
    if not changes:
        return 0.0
    return None if at_mm is None else at_mm / scale


def _placing(match: MatchPlan, part_id: str, turns: tuple[int, ...], cloth: Cloth) -> tuple[Placing, LayPhase | None]:
    placing = match.placings.get(part_id) or Placing(part_id, turns)
    return placing, _lay_phase(placing.phase, cloth)


def _lay_phase(phase: Phase | None, cloth: Cloth) -> LayPhase | None:
    if phase is None or (phase.off_p is None and phase.off_q is None):
        return None
    pattern = cloth.pattern
    return LayPhase(
        phase.group,
        phase.off_p if pattern.changes_across else None,
        phase.off_q if pattern.changes_along else None,
        phase.sign_p,
        phase.sign_q,
        phase.at_mm if cloth.bolt is not None and cloth.bolt.creep is not None else (0.0, 0.0),
    )


def flattened_outward(outline: Outline) -> Points:
    """Flatten a cut line so that no part of it lies outside the polygon, nor far inside.

    An arc that bulges outward is replaced by tangents a little outside it, one that bulges
    inward by chords, which lie in the hollow already.
    """
    points: list[tuple[float, float]] = []
    for edge in outline.edges:
        flat = edge.flattened(FLAT_MM)
        if len(flat) == 1 or not getattr(edge, "ccw", False):
            points += flat
            continue
        points += _tangents(flat, edge.end, edge.centre)  # type: ignore[union-attr]
    xy = np.array(points, dtype=np.float64)
    area = float((xy[:, 0] * np.roll(xy[:, 1], -1) - np.roll(xy[:, 0], -1) * xy[:, 1]).sum())
    return xy if area > 0 else xy[::-1].copy()


def _tangents(
    flat: list[tuple[float, float]], end: tuple[float, float], centre: tuple[float, float]
) -> list[tuple[float, float]]:
    """Points on an arc, replaced by its ends and the corners of the tangents at them.

    Where an arc's extreme across or along lies between two tangent points a corner would stand
    out beyond the piece's true width, so the corner is cut off there: see `_clipped`.
    """
    on = [*flat, end]
    out = [on[0]]
    r = math.dist(on[0], centre)
    for p, q in itertools.pairwise(on):
        half = math.dist(p, q) / 2
        mid = ((p[0] + q[0]) / 2 - centre[0], (p[1] + q[1]) / 2 - centre[1])
        scale = r * r / max(r * r - half * half, 1e-12)
        corner = (centre[0] + mid[0] * scale, centre[1] + mid[1] * scale)
        out += _clipped(out[-1], corner, q, centre, r)
    return out[:-1]


def _clipped(
    p: tuple[float, float], corner: tuple[float, float], q: tuple[float, float], centre: tuple[float, float], r: float
) -> list[tuple[float, float]]:
    """The way from p over the corner to q, cut off at the circle's own extremes."""
    for axis in range(2):
        for sign in (1.0, -1.0):
            edge = centre[axis] + sign * r
            over = sign * (corner[axis] - edge)
            if over > 1e-12:
                return [_at(p, corner, axis, edge), _at(corner, q, axis, edge), q]
    return [corner, q]


def _at(a: tuple[float, float], b: tuple[float, float], axis: int, value: float) -> tuple[float, float]:
    run = b[axis] - a[axis]
    t = min(max((value - a[axis]) / run, 0.0), 1.0) if abs(run) > 1e-12 else 0.0
    point = [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
    point[axis] = value
    return (point[0], point[1])


def _too_many(cloth: Cloth, total: int, job: Job, parts: list[Piece | Strip]) -> Finding:
    most = max(job.cushions, key=lambda c: sum(p.count for p in parts if p.cushion_id == c.id))
    each = sum(p.count for p in parts if p.cushion_id == most.id) / most.count
    return Finding(
        "LAY-006", Severity.STOP, cloth.name,
        f"{total} pieces are to be cut from one cloth; at most {MOST_PIECES} are laid at once",
        f"split the job into {math.ceil(total / MOST_PIECES)} or more, each with its own bolt: "
        f"{math.floor(MOST_PIECES / each)} of {most.name} would fit",
    )  # fmt: skip


def _checked(problem: LayProblem, cloth: Cloth, names: Mapping[str, str]) -> list[Finding]:
    """Findings about parts that cannot be cut from this cloth, each kind of part once."""
    findings: dict[str, Finding] = {}
    for p in problem.pieces:
        found = _piece_fits(problem, p, names[part_id_of(p.key)], cloth)
        if found is not None:
            findings.setdefault(part_id_of(p.key), found)
    for s in problem.strips:
        found = _strip_fits(problem, s, names[part_id_of(s.key)])
        if found is not None:
            findings.setdefault(part_id_of(s.key), found)
    return [*findings.values(), *_flaws_leave_room(problem, cloth)]


def _piece_fits(problem: LayProblem, piece: LayPiece, name: str, cloth: Cloth) -> Finding | None:
    width = problem.usable_width_mm
    need = min(cross_span(piece.outline, t)[1] for t in piece.turns_deg)
    place = f"{piece.cushion}: {name}" if piece.cushion else name
    if need > width + 1e-6:
        turned = min(cross_span(piece.outline, (t + 90) % 360)[1] for t in piece.turns_deg)
        ways = [f"a cloth at least {problem.shown(need)} wide", "a seam in the piece"]
        if turned <= width:
            ways.insert(0, f"turned a quarter it takes {problem.shown(turned)}, if the cloth may be railroaded")
        return Finding(
            "LAY-001", Severity.STOP, place,
            f"is {problem.shown(need)} across and {cloth.name} has {problem.shown(width)}: "
            f"{problem.shown(need - width)} are missing",
            "; or ".join(ways),
        )  # fmt: skip
    if not _has_place(problem, piece):
        return Finding(
            "LAY-002", Severity.STOP, place,
            f"is {problem.shown(need)} across; with the pattern where it stands on the bolt and its place on it fixed "
            f"it has no place within {problem.shown(width)} of {cloth.name}",
            "let the pattern's place on this piece be free, seam it narrower, or use another bolt",
        )  # fmt: skip
    return None


def _has_place(problem: LayProblem, piece: LayPiece) -> bool:
    phase, across, origin = piece.phase, problem.lattice.across_mm, problem.pattern_at[0]
    if phase is None or phase.off_p is None or across is None or origin is None:
        return True
    pinned = problem.anchors.get(phase.group, (None, None))[0]
    if pinned is None:
        return True
    for turn in piece.turns_deg:
        low, wide = cross_span(piece.outline, turn)
        first = (origin + phase.sign_p * pinned + phase.off_p + low + 1e-9) % across
        if first + wide <= problem.usable_width_mm + 1e-6:
            return True
    return False


def _strip_fits(problem: LayProblem, strip: LayStrip, name: str) -> Finding | None:
    total, place = strip.s1_mm - strip.s0_mm, f"{strip.cushion}: {name}" if strip.cushion else name
    if total + 1e-6 < strip.least_part_mm:
        return Finding(
            "LAY-004", Severity.WARN, place,
            f"is {problem.shown(total)} long in all and its least part is {problem.shown(strip.least_part_mm)}; "
            "it is cut in one",
            "set a shorter least part",
        )  # fmt: skip
    width = problem.usable_width_mm
    longest = max(longest_part_mm(strip, width, t) for t in strip.turns_deg)
    if first_joints(strip, longest) is not None:
        return None
    return Finding(
        "LAY-003", Severity.STOP, place,
        f"is {problem.shown(total)} long; no part across {problem.shown(width)} of cloth is longer than "
        f"{problem.shown(max(longest, 0))}, and "
        f"with parts of at least {problem.shown(strip.least_part_mm)}, at most {strip.most_parts} of them, "
        "and joins only where they are allowed it cannot be made up",
        "allow a join elsewhere, a shorter least part, or cut it along the bolt",
    )  # fmt: skip


def _flaws_leave_room(problem: LayProblem, cloth: Cloth) -> list[Finding]:
    findings = []
    for f in problem.flaws:
        if not (f.u1_mm > f.u0_mm and f.v1_mm > f.v0_mm):
            findings.append(
                Finding(
                    "LAY-005", Severity.STOP, cloth.name, f"{f.what} has no size",
                    "give its left and right edges, and where it begins and ends from the cut end",
                )
            )  # fmt: skip
    if problem.bolt_mm is not None:
        across = [f for f in problem.flaws if f.u0_mm <= 0 and f.u1_mm >= problem.usable_width_mm and not f.outline]
        gone_to = 0.0
        for f in sorted(across, key=lambda f: f.v0_mm):
            if f.v0_mm > gone_to + 1e-6:
                break
            gone_to = max(gone_to, f.v1_mm)
        if across and gone_to >= problem.bolt_mm - 1e-6:
            findings.append(
                Finding(
                    "LAY-005", Severity.STOP, cloth.name,
                    f"the flaws take all {problem.shown(problem.bolt_mm)} of the bolt from selvage to selvage",
                    "measure the flaws again, or use another bolt",
                )
            )  # fmt: skip
    return findings


def problem_from_record(record: Mapping[str, Any]) -> LayProblem:
    """Read one benchmark instance: a plain mapping of cloth, pieces and strips in millimetres.

    `phase_across_mm` and `phase_along_mm` are for a piece's lower left corner; all matched
    pieces share one free anchor. A strip's `least_length_mm` and `extra_per_part_mm` are cut
    lengths.

    Raises
    ------
    LayError
        If something is missing or is not a number.
    """
    try:
        return _from_record(record)
    except (KeyError, TypeError, ValueError) as bad:
        raise LayError(f"{record.get('name', 'an instance')}: {type(bad).__name__}: {bad}") from bad


def _from_record(record: Mapping[str, Any]) -> LayProblem:
    cloth = record["cloth"]
    pieces = []
    for number, p in enumerate(record["pieces"]):
        w, h = float(p["across_mm"]), float(p["along_mm"])
        outline = np.array([[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]])
        across, along = p.get("phase_across_mm"), p.get("phase_along_mm")
        phase = None if across is None and along is None else LayPhase("job", across, along)
        turns = (0, 90) if p.get("may_turn_a_quarter") else (0,)
        for k in range(int(p.get("count", 1))):
            pieces.append(LayPiece(f"{p.get('kind', 'piece')}{number}#{k + 1}", outline, turns, phase))
    strips = []
    for number, s in enumerate(record.get("strips", ())):
        extra = float(s.get("extra_per_part_mm", 0.0))
        strips.append(
            LayStrip(
                f"{s.get('kind', 'strip')}{number}.strip", 0.0, float(s["total_mm"]), 0.0, float(s["width_mm"]),
                extra / 2, max(0.0, float(s["least_length_mm"]) - extra), (0, 90),
                most_parts=int(s.get("most_parts", 12)), least_parts=int(s.get("least_parts", 1)),
            )
        )  # fmt: skip
    lattice = Lattice(cloth.get("repeat_across_mm"), cloth.get("repeat_along_mm"), float(cloth.get("drop_mm") or 0.0))
    return LayProblem(
        str(record.get("name", "")),
        float(cloth["usable_width_mm"]),
        lattice,
        tuple(pieces),
        tuple(strips),
        pattern_at=(0.0, 0.0),
        gap_mm=float(record.get("gap_mm", 0.0)),
    )


def with_origin(problem: LayProblem, across_mm: float | None, along_mm: float | None) -> LayProblem:
    """The problem with the pattern's origin where given; None leaves it as it is."""
    u, v = problem.pattern_at
    return replace(problem, pattern_at=(u if across_mm is None else across_mm, v if along_mm is None else along_mm))
