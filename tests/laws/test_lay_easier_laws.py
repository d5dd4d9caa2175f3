"""Less that is asked never takes more cloth; the order in which pieces are named never matters."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from squab.cloth import Flaw
from squab.errors import LayError
from squab.lay.bound import lower_bound
from squab.lay.records import LayProblem
from squab.lay.search import search
from squab.lay.verify import verify
from tests.laws.draws import draws
from tests.laws.test_lay_search_laws import problems
from tests.unit.lay._exhaustive import least_length_mm, random_problem

LAWS = settings(max_examples=draws(6), deadline=None, suppress_health_check=[HealthCheck.too_slow])


def easier(problem: LayProblem, wider_mm: float, random: Random) -> list[LayProblem]:
    """The same job on wider cloth, with one match given up, off its pins, and with one turn more."""
    freed = list(problem.pieces)
    at = random.randrange(len(freed))
    freed[at] = replace(freed[at], phase=None)
    turned = list(problem.pieces)
    turned[at] = replace(turned[at], turns_deg=(*turned[at].turns_deg, (turned[at].turns_deg[0] + 180) % 360))
    return [
        replace(problem, usable_width_mm=problem.usable_width_mm + wider_mm),
        replace(problem, pieces=tuple(freed)),
        replace(problem, anchors={}),
        replace(problem, pieces=tuple(turned)),
    ]


@LAWS
@given(problems(), st.floats(0.1, 600.0), st.randoms(use_true_random=False))
def test_what_asks_less_needs_no_more(problem: LayProblem, wider_mm: float, random: Random) -> None:
    """The shorter lay is carried over: it is sound for the easier job, whose bound therefore never passes it."""
    lay = search(problem, seconds=5, steps=60)
    jobs = easier(problem, wider_mm, random)
    assert [verify(job, lay) for job in jobs] == [()] * len(jobs)
    assert lower_bound(random.choice(jobs), seconds=0.02).length_mm <= lay.length_mm + 1e-6


@LAWS
@given(problems(), st.randoms(use_true_random=False))
def test_the_order_of_pieces_changes_nothing_but_time(problem: LayProblem, random: Random) -> None:
    """Each order's lay is sound for the other, and neither order's bound passes either lay."""
    pieces = list(problem.pieces)
    random.shuffle(pieces)
    other = replace(problem, pieces=tuple(pieces), strips=problem.strips[::-1])
    lays = [search(job, seconds=5, steps=60) for job in (problem, other)]
    assert [verify(job, lay) for job in (problem, other) for lay in lays] == [()] * 4
    assert lower_bound(other, seconds=0.02).length_mm <= min(lay.length_mm for lay in lays) + 1e-6


@st.composite
def flawed(draw: st.DrawFn) -> LayProblem:
    """A job on cloth with a few flaws of any shape."""
    flaws = []
    for _ in range(draw(st.integers(1, 3))):
        u, v, r = draw(st.floats(0, 1370)), draw(st.floats(0, 1500)), draw(st.floats(2, 90))
        box = Flaw(u - r, v - r / 2, u + r, v + r / 2)
        slash = Flaw.outlined([(u, v), (u + 4, v), (u + 4 + 2 * r, v + r), (u + 2 * r, v + r)])
        t = r / 4
        hook = Flaw.outlined([(u, v), (u + r, v), (u + r, v + t), (u + t, v + t), (u + t, v + r), (u, v + r)])
        flaws.append(draw(st.sampled_from((box, Flaw.disc(u, v, r), slash, hook))))
    return replace(draw(problems()), flaws=tuple(flaws))


@LAWS
@given(flawed())
def test_every_lay_is_clear_of_every_flaw(problem: LayProblem) -> None:
    """Whatever its shape; and the lay is one for the same cloth without it, which can need no more."""
    lay = search(problem, seconds=5, steps=60)
    assert verify(problem, lay) == ()
    assert verify(replace(problem, flaws=()), lay) == ()


@settings(max_examples=draws(4), deadline=None)
@given(st.integers(10_000, 10**7))
def test_small_jobs_against_every_lay_there_is(seed: int) -> None:
    """All lays in whole millimetres, gone through by a constraint solver: the bound passes none of them."""
    problem = random_problem(seed)
    least = least_length_mm(problem, seconds=0.5)
    bound = lower_bound(problem, seconds=0.2)
    if least is not None:
        assert bound.length_mm <= least + 1e-6, bound
    try:
        lay = search(problem, seconds=5, steps=200)
    except LayError:
        assert least is None or problem.strips
        return
    assert verify(problem, lay) == ()
    assert bound.length_mm <= lay.length_mm + 1e-6, bound
