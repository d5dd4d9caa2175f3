"""Laws of outlines and their offsets."""

from __future__ import annotations

import math

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from squab.measure import Step, one_eared, rounded_rectangle, run, trapezoid
from squab.plane import Arc, offset_outline
from tests.laws.draws import draws

SIZE = st.floats(60, 3000)


@settings(max_examples=draws(60), deadline=None)
@given(w=SIZE, d=SIZE, radii=st.tuples(*[st.floats(0, 400)] * 4), sa=st.floats(3, 25))
def test_rounded_rectangles_obey_steiner(w: float, d: float, radii: tuple[float, ...], sa: float) -> None:
    """Each square corner adds 2 SA, each rounded one half pi SA; too large a radius is refused and what fits, fits."""
    names = ("front_left", "front_right", "back_right", "back_left")
    found = rounded_rectangle(w, d, dict(zip(names, radii, strict=True)))
    if found.value is None:
        assert {f.code for f in found.findings} == {"JOB-102"}
        assert any(radii[i] + radii[(i + 1) % 4] > (w if i % 2 == 0 else d) - 1e-6 for i in range(4))
        return
    assume(all(radii[i] + radii[(i + 1) % 4] < 0.999 * (w if i % 2 == 0 else d) for i in range(4)))
    square = sum(abs(turn) > 1.5 for _, turn in found.value.corners())
    cut = offset_outline(found.value, sa)
    grown = 2 * sa * square + math.pi / 2 * sa * (4 - square)
    assert math.isclose(cut.length, found.value.length + grown, rel_tol=1e-6)


@settings(max_examples=draws(60), deadline=None)
@given(front=SIZE, back=SIZE, depth=SIZE, lean=st.floats(-300, 300), sa=st.floats(3, 15))
def test_an_offset_and_back_is_where_it_was(front: float, back: float, depth: float, lean: float, sa: float) -> None:
    """The seam size does not depend on the allowance."""
    seam = trapezoid(front, back, depth, offset_mm=lean).value
    assert seam is not None
    cut = offset_outline(seam, sa)
    assert cut.area > seam.area
    if len(cut.edges) == 4:  # no corner so sharp that it was blunted
        again = offset_outline(cut, -sa)
        assert math.isclose(again.length, seam.length, rel_tol=1e-9)
        assert math.isclose(again.area, seam.area, rel_tol=1e-9)


@settings(max_examples=draws(40), deadline=None)
@given(w=SIZE, d=st.floats(200, 3000), e=st.floats(20, 300), f=st.floats(20, 150), r=st.floats(0, 9))
def test_a_pair_of_hands_is_alike(w: float, d: float, e: float, f: float, r: float) -> None:
    """Left and right differ in shape only by a mirror: same length, same area, same sides."""
    left = one_eared(w, d, e, f, ear="left", radius_mm=r).value
    right = one_eared(w, d, e, f, ear="right", radius_mm=r).value
    assert left is not None
    assert right is not None
    assert math.isclose(left.length, right.length)
    assert math.isclose(left.area, right.area)
    assert set(left.side_names()) == set(right.side_names())


@settings(max_examples=draws(60), deadline=None)
@given(
    lengths=st.lists(st.floats(50, 900), min_size=2, max_size=6),
    turns=st.lists(st.floats(20, 120), min_size=6, max_size=6),
    rises=st.lists(st.floats(-80, 80), min_size=6, max_size=6),
    corner=st.floats(0, 60),
)
def test_any_run_is_an_outline_or_a_finding(
    lengths: list[float], turns: list[float], rises: list[float], corner: float
) -> None:
    """An outline comes out closed and starts at (0, 0) or on its rounded corner; otherwise it is said why not."""
    steps = [
        Step(f"side {i}", length, turn, rise_mm=rise, corner_mm=corner)
        for i, (length, turn, rise) in enumerate(zip(lengths, turns, rises, strict=False))
    ]
    found = run([*steps, Step("last", corner_mm=corner)])
    if found.value is None:
        assert found.stops
        return
    assert found.value.area > 0
    assert math.dist(found.value.edges[-1].end, found.value.edges[0].start) < 1e-6
    turned = sum(turn for _, turn in found.value.corners())
    turned += sum(e.sweep for e in found.value.edges if isinstance(e, Arc))
    joints = len(found.value.edges)  # turns of under a degree are no corners
    assert abs(turned - math.tau) < math.radians(1.0) * joints
