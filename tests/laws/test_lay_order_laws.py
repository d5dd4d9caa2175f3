"""What is laid is what was to be cut, each piece on cloth of its own; what is ordered is enough for every start."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Polygon, STRtree

from squab.cloth import Cloth, Pattern
from squab.errors import LayError
from squab.lay.order import plan_cloth
from squab.lay.records import Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip
from squab.lay.search import search
from squab.plane import Points
from tests.laws.draws import draws
from tests.laws.test_lay_search_laws import problems


def cut_out(problem: LayProblem, lay: Lay) -> list[tuple[LayPiece | LayStrip, Polygon]]:
    """What the shears would cut, turned and moved by Shapely's own arithmetic."""
    parts: dict[str, LayPiece | LayStrip] = {p.key: p for p in problem.pieces}
    parts |= {s.key: s for s in problem.strips}
    found = []
    for placed in lay.placed:
        part = parts[placed.key]
        if isinstance(part, LayPiece):
            xy: Points = part.outline
        else:
            assert placed.part_mm is not None
            a, b = placed.part_mm[0] - part.end_mm, placed.part_mm[1] + part.end_mm
            xy = np.array([(a, part.z0_mm), (b, part.z0_mm), (b, part.z1_mm), (a, part.z1_mm)])
        c, s = math.cos(math.radians(placed.turn_deg)), math.sin(math.radians(placed.turn_deg))
        turned = np.column_stack((xy[:, 0] * c - xy[:, 1] * s, xy[:, 0] * s + xy[:, 1] * c))
        found.append((part, Polygon(turned + np.array([placed.u_mm, placed.v_mm]))))
    return found


@settings(max_examples=draws(12), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(problems())
def test_placed_pieces_are_congruent_and_disjoint(problem: LayProblem) -> None:
    """By a polygon library that knows nothing of the verifier: whole, on the cloth, nothing cut twice."""
    lay = search(problem, seconds=5, steps=80)
    cut = cut_out(problem, lay)
    for part, shape in cut:
        if isinstance(part, LayPiece):
            assert shape.area == pytest.approx(Polygon(part.outline).area, rel=1e-9)
            assert shape.exterior.is_ccw == Polygon(part.outline).exterior.is_ccw, "never a mirror image"
        u0, v0, u1, v1 = shape.bounds
        assert u0 >= -1e-3
        assert u1 <= problem.usable_width_mm + 1e-3
        assert v0 >= -1e-3
        assert v1 <= lay.length_mm + 1e-3
    shapes = [s.buffer(problem.gap_mm / 2 - 0.002) for _, s in cut]
    tree = STRtree(shapes)
    for i, shape in enumerate(shapes):
        for j in tree.query(shape, predicate="intersects"):
            assert int(j) == i or shape.intersection(shapes[int(j)]).area < 1.0
    for strip in problem.strips:
        covered = sorted(p.part_mm for p in lay.placed if p.key == strip.key and p.part_mm)
        assert covered[0][0] == pytest.approx(strip.s0_mm)
        assert covered[-1][1] == pytest.approx(strip.s1_mm)
        for (_, end), (start, _) in itertools.pairwise(covered):
            assert end == pytest.approx(start)


@st.composite
def pinned(draw: st.DrawFn) -> tuple[LayProblem, Cloth]:
    """A few panels pinned on a print or a stripe, and a border free of it, on a roll nobody has seen."""
    across = draw(st.sampled_from((96.0, 340.0, 685.0)))
    along = draw(st.sampled_from((None, 320.0)))
    phase = LayPhase("seat", draw(st.floats(0, 300)), None if along is None else draw(st.floats(0, 300)))
    w, h = draw(st.integers(200, 660)), draw(st.integers(150, 500))
    panel = np.array([(0, 0), (w, 0), (w, h), (0, h)], dtype=np.float64)
    border = np.array([(0, 0), (900, 0), (900, 90), (0, 90)], dtype=np.float64)
    pieces = tuple(LayPiece(f"panel#{k}", panel, (0,), phase) for k in range(draw(st.integers(1, 4))))
    problem = LayProblem(
        "cloth", 1370.0, Lattice(across, along), (*pieces, LayPiece("border", border, (0,))),
        anchors={"seat": (0.0, None if along is None else 0.0)},
    )  # fmt: skip
    return problem, Cloth("cloth", "cloth", 1370.0, Pattern("print", across, along), price_per_m=Decimal(20))


@settings(max_examples=draws(8), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(pinned(), st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), min_size=3, max_size=3))
def test_the_length_to_order_covers_every_start(
    asked: tuple[LayProblem, Cloth], starts: list[tuple[float, float]]
) -> None:
    """Whatever the pattern does at the selvage and at the cut end, the pieces come out of what was bought."""
    problem, cloth = asked
    plan = plan_cloth(problem, cloth, seconds=0.4).value
    assert plan is not None
    assert plan.needs_mm + 2 * cloth.square_off_mm <= plan.order_mm + 1e-6
    assert plan.order_mm < plan.needs_mm + 2 * cloth.square_off_mm + cloth.sold_by_mm
    assert plan.lay.length_mm <= plan.needs_mm + 1e-6
    for a, b in starts:
        at = (a * (problem.lattice.across_mm or 0.0), b * (problem.lattice.along_mm or 0.0))
        lost = [r for r in plan.starts if r.direction == "across" and r.length_mm == math.inf]
        if any(r.from_mm - 1e-6 <= at[0] <= r.to_mm + 1e-6 for r in lost):
            continue
        try:
            lay = search(replace(problem, pattern_at=at), seconds=5, steps=400)
        except LayError as bad:
            raise AssertionError(f"a start at {at} was not said to be lost") from bad
        assert lay.length_mm <= plan.needs_mm + 1e-6, at
