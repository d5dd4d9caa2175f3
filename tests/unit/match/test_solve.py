"""The solver of relations by itself: parts on a line, loops, mirrors, pins."""

from __future__ import annotations

import pytest

from squab.match.congruence import Repeat, wrap
from squab.match.relations import GROUND, Relation, Tie
from squab.match.solve import Solver


def heard(repeat: Repeat, *relations: tuple[str, str, Tie], may_pin: bool = True) -> Solver:
    """A solver that has heard relations named by their order."""
    solver = Solver(dict.fromkeys("abcdef", repeat))
    for i, (a, b, tie) in enumerate(relations):
        solver.hear(Relation(f"r{i}", "seam", a, b, (tie,), (float(i),), may_pin))
    return solver


def test_chain_adds_up() -> None:
    """t_c = t_b + 5 = t_a + 15."""
    found = heard(Repeat(96), ("a", "b", Tie(10, None)), ("b", "c", Tie(5, None))).solution("abc")
    assert [found.held[x].p for x in "abc"] == [(1, 0.0), (1, 10.0), (1, 15.0)]
    assert found.held["c"].q is None
    assert found.pinned == {"a": (None, None)}


def test_signs_multiply_along_a_chain() -> None:
    """t_b = 80 - t_a, t_c = 80 - t_b = t_a."""
    found = heard(Repeat(96), ("a", "b", Tie(80, None, -1)), ("b", "c", Tie(80, None, -1))).solution("abc")
    assert found.held["b"].p == (-1, 80.0)
    assert found.held["c"].p == (1, 0.0)


def test_loop_that_does_not_close_names_itself() -> None:
    """10 + 5 + 7 = 22 against 96: out by 22, by way of r0 and r1."""
    solver = heard(
        Repeat(96), ("a", "b", Tie(10, None)), ("b", "c", Tie(5, None)), ("c", "a", Tie(7, None))
    )  # fmt: skip
    (found,) = solver.solution("abc").contradictions
    assert found.relation.name == "r2"
    assert found.miss_p is not None
    assert abs(found.miss_p) == pytest.approx(22)
    assert set(found.loop) == {"r0", "r1"}


def test_loop_that_closes_on_a_repeat_is_kept() -> None:
    """10 + 5 + 81 = 96."""
    solver = heard(
        Repeat(96), ("a", "b", Tie(10, None)), ("b", "c", Tie(5, None)), ("c", "a", Tie(81, None))
    )  # fmt: skip
    assert solver.solution("abc").kept == ("r0", "r1", "r2")


def test_parts_pinned_across_go_their_own_ways_along() -> None:
    """a and b stand still across, c hangs along from b alone: a need not keep step with them along."""
    ties = (
        (GROUND, "a", Tie(20, None)),
        ("a", "b", Tie(5, None)),
        ("b", "c", Tie(None, 7)),
        (GROUND, "c", Tie(9, None)),
    )
    found = heard(Repeat(230, 320, 160), *ties, ("a", "d", Tie(None, 3))).solution("abcd")
    assert {m: h.group for m, h in found.held.items()} == {"a": "a", "d": "a", "b": "b", "c": "b"}
    assert found.pinned == {"a": (20, None), "b": (25, None)}
    assert found.held["b"].p == (1, 0)
    assert found.held["c"].q == (1, 7)


def test_parts_with_a_free_place_across_keep_together() -> None:
    """With nothing pinned, what holds a and b across is their one anchor, whatever else hangs on it."""
    found = heard(Repeat(230, 320, 160), ("a", "b", Tie(5, None)), ("b", "c", Tie(None, 7))).solution("abc")
    assert {h.group for h in found.held.values()} == {"a"}


def test_mirror_loop_fixes_the_anchor_unless_it_may_not() -> None:
    """t_b = t_a and t_b = 80 - t_a: t_a is 40 or 88."""
    ties = (("a", "b", Tie(0, None)), ("a", "b", Tie(80, None, -1)))
    found = heard(Repeat(96), *ties).solution("ab")
    assert found.pinned["a"][0] == pytest.approx(40)
    assert not found.contradictions
    assert heard(Repeat(96), *ties, may_pin=False).solution("ab").contradictions


def test_half_drop_along_only_has_half_the_period() -> None:
    """Along alone 160 closes on a 320 half drop; both ways it does only with an odd count across."""
    half = Repeat(340, 320, 160)
    assert not heard(half, ("a", "b", Tie(None, 0)), ("a", "b", Tie(None, 160))).solution("ab").contradictions
    assert heard(half, ("a", "b", Tie(0, 0)), ("a", "b", Tie(0, 160))).solution("ab").contradictions
    assert not heard(half, ("a", "b", Tie(0, 0)), ("a", "b", Tie(340, 160))).solution("ab").contradictions


def test_half_drop_brings_the_other_way_along() -> None:
    """Held across already, one repeat apart: the tie both ways is kept with its drop."""
    half = Repeat(340, 320, 160)
    found = heard(half, ("a", "b", Tie(340, None)), ("a", "b", Tie(0, 0))).solution("ab")
    assert not found.contradictions
    (p, q) = found.held["b"].p, found.held["b"].q
    assert p is not None
    assert q is not None
    steps = round(p[1] / 340)
    assert wrap(q[1] - steps * 160, 320) == pytest.approx(0)


def test_pins_hang_from_the_ground() -> None:
    """Two pinned parts that a repeat apart agree; ten apart they do not."""
    repeat = Repeat(96)
    found = heard(repeat, (GROUND, "a", Tie(7, None)), (GROUND, "b", Tie(113, None)), ("a", "b", Tie(10, None)))
    assert not found.solution("ab").contradictions
    assert found.solution("ab").pinned["a"][0] == 7
    bad = heard(repeat, (GROUND, "a", Tie(7, None)), (GROUND, "b", Tie(17, None)), ("a", "b", Tie(0, None)))
    (contradiction,) = bad.solution("ab").contradictions
    assert contradiction.miss_p == pytest.approx(10)


def test_pin_on_a_mirrored_part_pins_the_group() -> None:
    """t_b = 80 - t_a, t_b pinned at 30: t_a is 50."""
    found = heard(Repeat(96), ("a", "b", Tie(80, None, -1)), (GROUND, "b", Tie(30, None))).solution("ab")
    assert found.pinned["a"][0] == pytest.approx(50)
    assert found.held["b"].p == (1, -20.0)
