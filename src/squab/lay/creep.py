"""A bolt whose repeat creeps: pieces are laid on an even pattern, then each is set where its line truly stands.

The even pattern has the shortest repeat there is on the bolt. Between it and the true one lies a map of
the cloth along its length that only draws it out; so what lay above another piece still does, and what is
moved as its own line is moved stays clear. A piece is stiff, and is moved as the one place on it that is
matched first. Where pieces with slanted edges come to touch for it, the upper one is moved on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from squab.cloth import Creep, Flaw
from squab.errors import LayError
from squab.lay.cuts import cut_outlines, cut_pieces, flaw_outline, matched
from squab.lay.records import Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.plane import Placement, Points

CLEAR_MM = 1e-6
STEP_MM = 0.25
"""A free piece that touches another is moved on by steps of this."""
MOST_MOVES = 40
"""So many times for each piece, on an average, one is moved on; then no lay is found so."""


def has_creep(problem: LayProblem) -> bool:
    """Tell whether some piece has its place along a pattern whose repeat creeps."""
    creep = problem.creep
    if creep is None or problem.lattice.along_mm is None or creep.most_mm - creep.least_mm < CLEAR_MM:
        return False
    phases = [p.phase for p in problem.pieces] + [s.phase for s in problem.strips]
    return any(phase is not None and phase.off_q is not None for phase in phases)


def even_problem(problem: LayProblem) -> LayProblem:
    """The same problem on an even pattern that has the bolt's shortest repeat; itself where nothing creeps."""
    if not has_creep(problem):
        return problem
    on = _Even.of(problem)
    lattice = replace(problem.lattice, along_mm=on.repeat_mm * on.ratio, drop_mm=problem.lattice.drop_mm * on.ratio)
    return replace(
        problem,
        lattice=lattice,
        pieces=tuple(replace(p, phase=on.phase(p)) for p in problem.pieces),
        strips=tuple(replace(s, phase=on.phase(s)) for s in problem.strips),
        anchors={g: (a, None if b is None else b * on.ratio) for g, (a, b) in problem.anchors.items()},
        pattern_at=(problem.pattern_at[0], on.even_mm(float(on.creep.lines_mm[0]))),
        flaws=tuple(on.flaw(f) for f in problem.flaws),
        bolt_mm=None if problem.bolt_mm is None else on.even_mm(problem.bolt_mm),
        creep=None,
    )  # fmt: skip


def on_true_lines(problem: LayProblem, even: Lay) -> Lay:
    """A lay of `even_problem` with every piece set where its line truly stands on the bolt.

    Raises
    ------
    LayError
        If pieces cannot be moved clear of one another.
    """
    if not has_creep(problem):
        return even
    on = _Even.of(problem)
    wished = [on.moved(x, piece) for x, piece in zip(even.placed, cut_pieces(problem, even), strict=True)]
    anchors = {g: (a, b / on.ratio) for g, (a, b) in even.anchors.items()}
    lay = replace(
        even, placed=tuple(wished), anchors=anchors, pattern_at=(even.pattern_at[0], float(on.creep.lines_mm[0]))
    )
    return _cleared(problem, lay, on)


@dataclass(frozen=True)
class _Even:
    """The even pattern: its cut end is the bolt's, its repeat the shortest."""

    creep: Creep
    repeat_mm: float
    ratio: float
    q0_mm: float

    @classmethod
    def of(cls, problem: LayProblem) -> _Even:
        creep = problem.creep
        assert creep is not None
        return cls(creep, creep.repeat_mm, creep.least_mm / creep.repeat_mm, float(creep.pattern_mm(0.0)))

    def even_mm(self, v_mm: float) -> float:
        """From the bolt to the even cloth."""
        return (float(self.creep.pattern_mm(v_mm)) - self.q0_mm) * self.ratio

    def true_mm(self, even_mm: float) -> float:
        """From the even cloth to the bolt."""
        return float(self.creep.true_mm(even_mm / self.ratio + self.q0_mm))

    def flaw(self, flaw: Flaw) -> Flaw:
        return replace(
            flaw, v0_mm=self.even_mm(flaw.v0_mm), v1_mm=self.even_mm(flaw.v1_mm),
            outline=tuple((u, self.even_mm(v)) for u, v in flaw.outline),
        )  # fmt: skip

    def phase(self, part: LayPiece | LayStrip) -> LayPhase | None:
        phase = part.phase
        if phase is None or phase.off_q is None:
            return phase
        up = up_mm(phase, part.turns_deg[0])
        return replace(phase, off_q=(phase.off_q + up) * self.ratio - up)

    def moved(self, x: Placed, piece: LayPiece) -> Placed:
        """A piece from the even cloth to the bolt: matched, as its matched place is; else as its lowest edge is."""
        phase = piece.phase
        if phase is None or phase.off_q is None:
            low = float(Placement(x.turn_deg, x.u_mm, x.v_mm).points(piece.outline)[:, 1].min())
            return replace(x, v_mm=x.v_mm + self.true_mm(low) - low)
        asked, up = up_mm(phase, piece.turns_deg[0]), up_mm(phase, x.turn_deg)
        q = (x.v_mm + asked) / self.ratio + self.q0_mm - asked
        return replace(x, v_mm=float(self.creep.true_mm(q + up)) - up)

    def next_up(self, x: Placed, phase: LayPhase) -> Placed:
        """A matched piece one repeat further on."""
        up = up_mm(phase, x.turn_deg)
        q = float(self.creep.pattern_mm(x.v_mm + up)) + self.repeat_mm
        return replace(x, v_mm=float(self.creep.true_mm(q)) - up)


def up_mm(phase: LayPhase, turn_deg: float) -> float:
    """How far up from a piece's origin its matched place lies on the cloth."""
    return float(Placement(turn_deg, 0.0, 0.0).point(phase.at_mm)[1])


def _cleared(problem: LayProblem, lay: Lay, on: _Even) -> Lay:
    """The lay with every piece clear of the others, the flaws and the cut end: from the lowest on, each moved on."""
    pieces, placed = cut_pieces(problem, lay), list(lay.placed)
    outlines = cut_outlines(problem, lay)
    order = sorted(range(len(placed)), key=lambda k: (float(outlines[k][:, 1].min()), k))
    flaws = [shapely.Polygon(flaw_outline(f)) for f in problem.flaws]
    cleared = np.empty(len(placed), dtype=object)
    boxes = np.empty((len(placed), 4))
    moves_left = MOST_MOVES * len(placed)
    for count, k in enumerate(order):
        phase = pieces[k].phase
        has_place = phase is not None and matched(problem, phase)[1]
        shape = shapely.Polygon(outlines[k])
        while _in_the_way(shape, cleared[:count], boxes[:count], flaws, problem.gap_mm):
            if not moves_left:
                raise LayError("no lay was found on the true lines of a pattern that creeps")
            moves_left -= 1
            x = placed[k]
            placed[k] = on.next_up(x, phase) if phase and has_place else replace(x, v_mm=x.v_mm + STEP_MM)
            x = placed[k]
            outlines[k] = Placement(x.turn_deg, x.u_mm, x.v_mm).points(pieces[k].outline)
            shape = shapely.Polygon(outlines[k])
        cleared[count], boxes[count] = shape, shape.bounds
    length = max((float(uv[:, 1].max()) for uv in outlines), default=0.0)
    return replace(lay, placed=tuple(placed), length_mm=length)


def _in_the_way(
    shape: shapely.Polygon, cleared: NDArray[np.object_], boxes: Points, flaws: list[shapely.Polygon], gap_mm: float
) -> bool:
    """Tell whether a piece lies before the cut end, on a flaw or too near a piece that is cleared already."""
    u0, v0, u1, v1 = shape.bounds
    if v0 < -CLEAR_MM or any(_deep(shape, flaw) for flaw in flaws):
        return True
    apart = np.maximum.reduce([boxes[:, 0] - u1, u0 - boxes[:, 2], boxes[:, 1] - v1, v0 - boxes[:, 3]])
    return any(_too_near(shape, other, gap_mm) for other in cleared[apart < gap_mm + CLEAR_MM])


def _too_near(a: shapely.Polygon, b: shapely.Polygon, gap_mm: float) -> bool:
    if _is_box(a) and _is_box(b):
        (au0, av0, au1, av1), (bu0, bv0, bu1, bv1) = a.bounds, b.bounds
        return bool(max(bu0 - au1, au0 - bu1, bv0 - av1, av0 - bv1) < gap_mm - CLEAR_MM * 100)
    if gap_mm > 0:
        return bool(a.distance(b) < gap_mm - CLEAR_MM * 100)
    return _deep(a, b)


def _deep(a: shapely.Polygon, b: shapely.Polygon) -> bool:
    shared = [g for g in shapely.get_parts(a.intersection(b)) if g.area > 0]
    return any(2 * g.area / g.length > CLEAR_MM * 100 for g in shared)


def _is_box(polygon: shapely.Polygon) -> bool:
    u0, v0, u1, v1 = polygon.bounds
    return bool(abs(polygon.area - (u1 - u0) * (v1 - v0)) < 1e-9 * max(1.0, polygon.area))


# --- what is said ---


def inside_mm(problem: LayProblem, lay: Lay) -> list[float]:
    """For each piece laid, by how much at the most the pattern on it is off an even one; 0 where it has no place."""
    creep = problem.creep
    if creep is None or not has_creep(problem):
        return [0.0] * len(lay.placed)
    pieces, found = cut_pieces(problem, lay), []
    for x, piece in zip(lay.placed, pieces, strict=True):
        phase = piece.phase
        if phase is None or not matched(problem, phase)[1]:
            found.append(0.0)
            continue
        vs = Placement(x.turn_deg, x.u_mm, x.v_mm).points(piece.outline)[:, 1]
        low, high, at = float(vs.min()), float(vs.max()), x.v_mm + up_mm(phase, x.turn_deg)
        v = np.array([low, high, *(y for y in creep.lines_mm if low < y < high)])
        off = creep.pattern_mm(v) - creep.pattern_mm(at) - (v - at)
        found.append(float(np.abs(off).max()))
    return found
