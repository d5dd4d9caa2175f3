"""Rectangles laid abreast: sound whatever the cloth, as short as is asked, and the same from the same seed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from squab.cloth import Flaw
from squab.lay._abreast import FEWEST, Abreast, Rows
from squab.lay._model import State, lay_of
from squab.lay.bound import lower_bound
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem
from squab.lay.search import Hunt
from squab.lay.verify import verify
from tests.unit.lay._beams import lengths_by_turns, strips
from tests.unit.lay._jobs import jobs, problem_of, rectangle


def laid(problem: LayProblem, *, children: int, seed: int = 0) -> tuple[Hunt, State | None]:
    """The hunt before it has searched, and what laying abreast finds for it."""
    hunt = Hunt(problem, seed=seed)
    rows = Rows.of(hunt.model, hunt.best)
    assert rows is not None
    beam = Abreast(rows, hunt.best, seed)
    while children > 0 and (made := beam.go(children)):
        children -= made
    return hunt, beam.best


@pytest.mark.parametrize(
    ("name", "gap"),
    [("S30p", 0.025), ("S60p", 0.025), ("S120p", 0.025), ("S120s", 0.03), ("S30b", 0.115), ("S60b", 0.487)],
)
def test_many_rectangles_lie_close_to_the_least_there_can_be(name: str, gap: float) -> None:
    """As far as that was proved: of prints (the last two) little was, and annealing lays those shorter still."""
    job = jobs()[name]
    problem = problem_of(job)
    hunt, state = laid(problem, children=10_000_000)
    assert state is not None
    assert verify(problem, lay_of(hunt.model, state)) == ()
    least_mm = job["reference"]["proved_bound_mm"]
    assert least_mm - 1e-6 <= state.length_mm <= (1 + gap) * least_mm


@st.composite
def problems(draw: st.DrawFn) -> LayProblem:
    across = draw(st.sampled_from([None, 90.0, 76.2]))
    along = draw(st.sampled_from([None, 120.0, 95.25]))
    drop = along / 2 if across and along and draw(st.booleans()) else 0.0
    sizes = draw(st.lists(st.tuples(st.integers(40, 400), st.integers(40, 400)), min_size=FEWEST, max_size=18))
    pieces = []
    for k, (w, h) in enumerate(sizes):
        off = draw(st.one_of(st.none(), st.integers(0, 89))) if across else None
        off_q = draw(st.one_of(st.none(), st.floats(0.0, 120.0))) if along else None
        phase = None
        if off is not None or off_q is not None:
            phase = LayPhase(draw(st.sampled_from(["a", "b"])), None if off is None else float(off), off_q)
        pieces.append(LayPiece(f"p#{k}", rectangle(w, h), draw(st.sampled_from([(0,), (0, 180), (0, 90)])), phase))
    return LayProblem(
        "random", 700.0, Lattice(across, along, drop), tuple(pieces), draw(strips(4)),
        gap_mm=draw(st.sampled_from([0.0, 3.0])), pattern_at=(draw(st.sampled_from([None, 0.0])), 0.0),
    )  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(problems(), st.integers(0, 9))
def test_what_is_laid_abreast_is_sound_and_not_longer(problem: LayProblem, seed: int) -> None:
    hunt, state = laid(problem, children=30_000, seed=seed)
    assume(state is not None)  # about one in ten is laid no shorter than by its first plain order
    assert state is not None
    lay = lay_of(hunt.model, state)
    assert verify(problem, lay) == ()
    assert lay.length_mm < hunt.length_mm
    assert lay.length_mm >= lower_bound(problem, seconds=0).length_mm - 1e-6


@pytest.mark.parametrize("name", ["S60s", "J6"])
def test_the_same_seed_gives_the_same_lay_in_turns_of_any_length(name: str) -> None:
    problem = problem_of(jobs()[name])
    hunt = Hunt(problem)
    rows = Rows.of(hunt.model, hunt.best)
    assert rows is not None
    lengths = lengths_by_turns(rows, hunt.best, 400_000)
    assert lengths[0] < hunt.length_mm
    assert lengths[1] == lengths[2] == lengths[0]


def test_a_stripe_across_the_cloth_is_laid_close_to_the_least_there_can_be() -> None:
    """The pieces of a job with a stripe along the cloth, here centred along on one of 120 mm; area knows no waste."""
    problem = problem_of(jobs()["S60s"])
    pieces = tuple(
        replace(p, phase=p.phase and LayPhase("job", None, float(-np.ptp(p.outline[:, 1]) / 2 % 120.0)))
        for p in problem.pieces
    )
    problem = replace(problem, pieces=pieces, lattice=Lattice(None, 120.0))
    hunt, state = laid(problem, children=6_000_000)
    assert state is not None
    assert verify(problem, lay_of(hunt.model, state)) == ()
    assert state.length_mm <= 1.16 * lower_bound(problem, seconds=0).length_mm


def test_what_keeps_clear_of_a_flaw_is_left_to_others() -> None:
    pieces = tuple(LayPiece(f"p#{k}", rectangle(200, 100), (0,)) for k in range(FEWEST))
    plain = LayProblem("plain", 700.0, Lattice(), pieces, pattern_at=(0.0, 0.0))
    for other in (
        LayProblem(
            "flawed", 700.0, Lattice(), pieces, pattern_at=(0.0, 0.0), flaws=(Flaw(300.0, 150.0, 360.0, 220.0),)
        ),
        LayProblem("few", 700.0, Lattice(), pieces[: FEWEST - 1], pattern_at=(0.0, 0.0)),
    ):
        hunt = Hunt(other)
        assert Rows.of(hunt.model, hunt.best) is None, other.cloth_id
    hunt = Hunt(plain)
    assert Rows.of(hunt.model, hunt.best) is not None
