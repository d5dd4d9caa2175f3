"""Whatever is to be cut, a lay that comes back is sound."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from squab.errors import LayError
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem, LayStrip
from squab.lay.search import search
from squab.lay.verify import verify
from squab.plane import Points
from tests.laws.draws import draws

size = st.floats(40.0, 700.0).map(lambda x: round(x, 2))


@st.composite
def outlines(draw: st.DrawFn) -> Points:
    w, h = draw(size), draw(size)
    kind = draw(st.sampled_from(("box", "box", "trapezoid", "ell", "disc")))
    if kind == "trapezoid":
        return np.array([[0.0, 0], [w, 0], [w * 0.8, h], [w * 0.3, h]])
    if kind == "ell":
        return np.array([[0.0, 0], [w, 0], [w, h * 0.4], [w * 0.5, h * 0.4], [w * 0.5, h], [0, h]])
    if kind == "disc":
        a = np.linspace(0, 2 * np.pi, 24, endpoint=False)
        return np.column_stack((w / 2 * np.cos(a), w / 2 * np.sin(a)))
    return np.array([[0.0, 0], [w, 0], [w, h], [0, h]])


@st.composite
def problems(draw: st.DrawFn) -> LayProblem:
    across = draw(st.sampled_from((None, 57.3, 170.0)))
    along = draw(st.sampled_from((None, 210.0)))
    drop = 105.0 if across and along and draw(st.booleans()) else 0.0
    phases = st.one_of(
        st.none(),
        st.builds(
            LayPhase,
            st.sampled_from(("a", "b")),
            st.none() if across is None else st.floats(0, 300),
            st.none() if along is None else st.floats(0, 300),
            st.sampled_from((1, -1)),
            st.sampled_from((1, -1)),
        ),
    )
    turns = st.sampled_from(((0,), (0, 180), (90,), (0, 90, 180, 270)))
    pieces = tuple(
        LayPiece(f"p{k}", draw(outlines()), draw(turns), draw(phases)) for k in range(draw(st.integers(1, 5)))
    )
    strips = tuple(
        LayStrip(
            f"s{k}", 0.0, draw(st.floats(300, 2500)), 0.0, draw(st.floats(20, 120)), 12.0, 100.0,
            draw(st.sampled_from(((0,), (90,), (0, 90), (45,), (135,)))), None, 12, draw(phases),
        )
        for k in range(draw(st.integers(0, 2)))
    )  # fmt: skip
    pinned = draw(st.sampled_from(((None, None), (11.0, None), (11.0, 7.0))))
    origin = (draw(st.sampled_from((None, 20.0))), draw(st.sampled_from((None, 35.0))))
    gap = draw(st.sampled_from((0.0, 3.0)))
    return LayProblem("any", 1370.0, Lattice(across, along, drop), pieces, strips, {"a": pinned}, origin, gap)


@settings(max_examples=draws(25), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(problems())
def test_every_lay_passes_the_verifier(problem: LayProblem) -> None:
    lay = search(problem, seconds=5, steps=100)
    assert verify(problem, lay) == ()


@settings(max_examples=draws(15), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(problems(), st.floats(30.0, 600.0))
def test_cloth_too_narrow_is_an_error_never_a_wrong_lay(problem: LayProblem, width: float) -> None:
    narrow = replace(problem, usable_width_mm=width)
    try:
        lay = search(narrow, seconds=5, steps=50)
    except LayError:
        return
    assert verify(narrow, lay) == ()
