"""On a bolt whose repeat creeps: every lay is sound, and an even bolt is laid as if nobody had measured it."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from squab.cloth import Creep, Flaw
from squab.errors import LayError
from squab.lay.aims import improve
from squab.lay.bound import lower_bound
from squab.lay.creep import has_creep, inside_mm
from squab.lay.records import Lay, LayProblem, Placed
from squab.lay.search import search
from squab.lay.verify import PHASE_MM, verify
from squab.plane import Placement
from tests.laws.draws import draws
from tests.laws.test_lay_search_laws import problems

QUIET = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]


@st.composite
def creeping(draw: st.DrawFn) -> LayProblem:
    """A problem with a place along the pattern, its lines as measured on the bolt."""
    problem = draw(problems())
    assume(problem.lattice.along_mm is not None)
    lines, at = [], draw(st.floats(0.0, 250.0))
    for _ in range(draw(st.integers(2, 25))):
        lines.append(at)
        at += draw(st.floats(205.0, 216.0))
    creep = Creep(tuple(lines))
    ratio = creep.repeat_mm / 210.0
    lattice = replace(problem.lattice, along_mm=creep.repeat_mm, drop_mm=problem.lattice.drop_mm * ratio)
    place = st.tuples(st.floats(-50, 400), st.floats(-50, 400))
    pieces = tuple(replace(p, phase=p.phase and replace(p.phase, at_mm=draw(place))) for p in problem.pieces)
    flaws = (Flaw(100.0, 300.0, 160.0, 340.0),) if draw(st.booleans()) else ()
    made = replace(
        problem, lattice=lattice, pieces=pieces, creep=creep, flaws=flaws,
        pattern_at=(problem.pattern_at[0], creep.lines_mm[0]),
    )  # fmt: skip
    assume(has_creep(made))
    return made


def laid(problem: LayProblem) -> Lay:
    try:
        return search(problem, seconds=5.0, steps=60)
    except LayError:
        assume(False)
        raise


def stands_at(problem: LayProblem, lay: Lay, x: Placed) -> float | None:
    """By how much a piece misses its line, measured along the bolt by hand: None where it has no place."""
    phase = {p.key: p.phase for p in problem.pieces}.get(x.key)
    creep, across = problem.creep, problem.lattice.across_mm
    assert creep is not None
    if phase is None or phase.off_q is None:
        return None
    up = Placement(x.turn_deg, 0.0, 0.0).point(phase.at_mm)[1]
    b = problem.anchors.get(phase.group, (None, None))[1]
    wanted = phase.sign_q * (lay.anchors[phase.group][1] if b is None else b) + phase.off_q + up
    # every place the pattern repeats to, drawn on the bolt between its measured lines
    drops = range(2) if problem.lattice.drop_mm and across else range(1)
    repeats = range(-60, 90)
    drawn = [creep.true_mm(wanted + m * problem.lattice.drop_mm + n * creep.repeat_mm) for m in drops for n in repeats]
    return min(abs(float(v) - (x.v_mm + up)) for v in drawn)


@settings(max_examples=draws(20), deadline=None, suppress_health_check=QUIET)
@given(creeping())
def test_a_lay_on_a_creeping_bolt_is_sound_and_on_its_lines(problem: LayProblem) -> None:
    lay = laid(problem)
    assert verify(problem, lay) == ()
    for x in lay.placed:
        off = stands_at(problem, lay, x)
        assert off is None or off < 2 * PHASE_MM
    assert lower_bound(problem, seconds=0.3).length_mm <= lay.length_mm + 1e-6
    assert len(inside_mm(problem, lay)) == len(lay.placed)


@settings(max_examples=draws(15), deadline=None, suppress_health_check=QUIET)
@given(creeping())
def test_second_aims_keep_to_the_lines(problem: LayProblem) -> None:
    lay = laid(problem)
    for found in improve(problem, lay, ["cushions together", "straight cuts"], seconds=3.0, steps=15):
        assert verify(problem, found.lay) == ()
        assert found.lay.length_mm <= lay.length_mm + 1e-6


@settings(max_examples=draws(25), deadline=None, suppress_health_check=QUIET)
@given(creeping())
def test_where_nothing_creeps_the_lay_is_the_same(problem: LayProblem) -> None:
    creep = problem.creep
    assert creep is not None
    lines = creep.lines_mm
    even = replace(problem, creep=Creep(tuple(lines[0] + n * creep.repeat_mm for n in range(len(lines)))))
    measured, plain = laid(even), laid(replace(problem, creep=None))
    assert verify(even, plain) == verify(even, measured) == ()
    assert measured.length_mm == plain.length_mm
    assert measured.placed == plain.placed
    assert max(inside_mm(even, measured), default=0.0) < 1e-6
