"""Outlines from the numbers of a tape measure."""

from __future__ import annotations

import math

import pytest

from squab.findings import Outcome, Severity
from squab.measure import (
    Step,
    d_shape,
    disc,
    l_shape,
    one_eared,
    rectangle,
    rounded_rectangle,
    run,
    t_shape,
    trapezoid,
)
from squab.plane import Arc, Line, Outline
from squab.units import IMPERIAL


def _some(found: Outcome[Outline]) -> Outline:
    assert found.value is not None, found.findings
    return found.value


def _only(found: Outcome[Outline], code: str) -> str:
    assert found.value is None
    assert {f.code for f in found.findings} == {code}
    assert all(f.severity is Severity.STOP and f.hint for f in found.findings)
    return found.findings[0].text()


def test_a_rectangle_starts_at_its_front_left_corner() -> None:
    """Front first, counter-clockwise, x to the right and y to the back."""
    shape = _some(rectangle(560, 510))
    assert shape.sides == ("front", "right", "back", "left")
    assert [e.start for e in shape.edges] == [(0, 0), (560, 0), (560, 510), (0, 510)]


def test_each_corner_has_its_own_radius() -> None:
    """Half of a rounded corner belongs to each side beside it."""
    shape = _some(rounded_rectangle(400, 300, {"front_left": 40, "back_right": 20}))
    assert shape.length == pytest.approx(1400 - (40 + 20) * (2 - math.pi / 2))
    assert shape.area == pytest.approx(120_000 - (40**2 + 20**2) * (1 - math.pi / 4))
    ((start, end),) = shape.side_ranges("front")
    assert start == 0.0
    assert end == pytest.approx(360 + 40 * math.pi / 4)
    assert shape.point_at(0.0) == pytest.approx((40 - 40 * math.sqrt(0.5),) * 2)
    assert len(shape.corners()) == 2


def test_fully_round_ends_keep_their_sides() -> None:
    """A radius of half the depth leaves no straight at the ends, yet each end is still a side."""
    shape = _some(rounded_rectangle(400, 300, 150))
    assert shape.length == pytest.approx(200 + 300 * math.pi)
    assert set(shape.side_names()) == {"front", "right", "back", "left"}
    assert all(e.length > 1.0 for e in shape.edges)


def test_a_trapezoid_may_lean() -> None:
    """Half of a bay: square on the left, mitred on the right."""
    shape = _some(trapezoid(513.6, 700, 450, offset_mm=93.2))
    assert [e.start for e in shape.edges] == [
        pytest.approx(p, abs=1e-9) for p in ((0, 0), (513.6, 0), (700, 450), (0, 450))
    ]


@pytest.mark.parametrize("corner", ["front_left", "front_right", "back_right", "back_left"])
def test_an_l_is_a_rectangle_less_a_rectangle(corner: str) -> None:
    """Its perimeter is the whole rectangle's; its two inner sides are named by the way they face."""
    shape = _some(l_shape(900, 700, 300, 250, out_corner=corner))  # type: ignore[arg-type]
    assert shape.area == pytest.approx(900 * 700 - 300 * 250)
    assert shape.length == pytest.approx(3200)
    end, side = corner.split("_")
    assert set(shape.side_names()) == {"front", "right", "back", "left", f"inner {end}", f"inner {side}"}
    assert shape.side_at(0.0) == "front"
    assert shape.bounds() == pytest.approx((0, 0, 900, 700))


def test_a_pair_of_ears_is_a_pair_in_shape() -> None:
    """The right-eared cushion is the left-eared one in a mirror: x counted from the other side."""
    left = _some(one_eared(620, 600, 80, 130, ear="left"))
    right = _some(one_eared(620, 600, 80, 130, ear="right"))
    assert {(700 - e.start[0], e.start[1]) for e in left.edges} == {e.start for e in right.edges}
    assert left.length == pytest.approx(2600)  # 2 (700 + 600): an inward corner adds nothing
    assert left.side_ranges("back")[0][1] - left.side_ranges("back")[0][0] == pytest.approx(620)


def test_a_t_has_two_ears() -> None:
    """Body 500, ears 80 x 130."""
    shape = _some(t_shape(500, 600, 80, 130))
    assert shape.area == pytest.approx(500 * 600 + 2 * 80 * 130)
    assert shape.bounds() == pytest.approx((0, 0, 660, 600))
    assert len(shape.side_names()) == 8


def test_a_disc_has_its_front_in_front() -> None:
    """Four quarters; the middle of the front one is the nearest point to the sitter."""
    shape = _some(disc(360))
    ((start, end),) = shape.side_ranges("front")
    assert shape.point_at((start + end) / 2) == pytest.approx((180, 0), abs=1e-9)
    assert end - start == pytest.approx(90 * math.pi)
    assert shape.side_names() == ("front", "right", "back", "left")
    assert shape.corners() == []


@pytest.mark.parametrize("depth", [100.0, 200.0, 420.0])
def test_a_d_has_a_straight_back(depth: float) -> None:
    """Shallow, half a disc, or half a disc before straight sides: as wide and deep as asked."""
    shape = _some(d_shape(400, depth))
    assert shape.bounds() == pytest.approx((0, 0, 400, depth))
    back = [e for e, s in zip(shape.edges, shape.sides, strict=True) if s == "back"]
    assert [type(e) for e in back] == [Line]
    assert back[0].length == pytest.approx(400)
    ((start, end),) = shape.side_ranges("front")
    assert shape.point_at((start + end) / 2) == pytest.approx((200, 0))


def test_hidden_sides_are_not_seen() -> None:
    """What stands against the wall is nobody's seam to match."""
    shape = _some(rounded_rectangle(560, 510, 30, hidden=["back"]))
    assert not shape.is_seen("back")
    assert shape.is_seen("front")
    assert "front, right, back, left" in _only(rectangle(560, 510, hidden=["bakc"]), "JOB-025")


# --- runs ---


def test_a_run_by_lengths_and_turns_is_the_run_by_points() -> None:
    """The same bay seat either way; the last side closes by itself."""
    turns = _some(run([Step("front", 600, 90), Step("right", 400, 90), Step("window", 600, 90), Step("left")]))
    ends = [(600.0, 0.0), (600.0, 400.0), (0.0, 400.0), (0.0, 0.0)]
    names = ("front", "right", "window", "left")
    points = _some(run([Step(s, to=p) for s, p in zip(names, ends, strict=True)]))
    assert turns.sides == points.sides == names
    assert [e.start for e in turns.edges] == [pytest.approx(e.start, abs=1e-9) for e in points.edges]


def test_a_run_with_arcs_and_rounded_corners() -> None:
    """A front that bulges 40 (chord 600) rounded into straight sides; all joints of the corners are smooth."""
    steps = [Step("front", 600, 90, rise_mm=40, corner_mm=30), Step("right", 400, 90, corner_mm=25),
             Step("back", 600, 90, corner_mm=25), Step("left", corner_mm=30)]  # fmt: skip
    shape = _some(run(steps))
    assert shape.corners() == []
    front = next(e for e in shape.edges if isinstance(e, Arc) and e.radius > 500)
    assert front.radius == pytest.approx((300**2 + 40**2) / 80)
    assert shape.bounds()[1] == pytest.approx(-40)


def test_a_radius_is_the_same_arc_as_its_rise() -> None:
    """Chord 480 and radius 510 rise 60 (the 8-15-17 triangle); negative is hollow."""
    square = [Step("right", 400, 90), Step("back", 480, 90), Step("left")]
    by_radius = _some(run([Step("front", 480, 90, radius_mm=510), *square]))
    by_rise = _some(run([Step("front", 480, 90, rise_mm=60), *square]))
    hollow = _some(run([Step("front", 480, 90, radius_mm=-510), *square]))
    assert by_radius.length == pytest.approx(by_rise.length)
    assert by_radius.area - 480 * 400 == pytest.approx(480 * 400 - hollow.area)


def test_a_small_miss_is_shared_out() -> None:
    """Two millimetres over a run of four sides is a tape's rounding, closed by the compass rule, and said."""
    found = run([Step("front", 600, 90), Step("right", 400, 90), Step("back", 598, 90), Step("left", 400)])
    shape = _some(found)
    assert [f.code for f in found.findings] == ["JOB-107"]
    assert found.findings[0].severity is Severity.NOTE
    assert shape.edges[0].length == pytest.approx(600, abs=1.0)
    assert shape.edges[2].length == pytest.approx(598, abs=1.0)


# --- what is refused ---


def test_a_run_that_does_not_close_says_by_how_much() -> None:
    """It ends 20 mm to the right of where it began."""
    said = _only(run([Step("front", 600, 90), Step("r", 400, 90), Step("b", 580, 90), Step("left", 400)]), "JOB-104")
    assert "20 mm to the right" in said
    assert "0 mm to the front" in said or "0 mm to the back" in said


@pytest.mark.parametrize(
    "ends",
    [
        [(600, 0), (0, 400), (600, 400), (0, 0)],
        [(600, 0), (600, 400), (300, -100), (0, 400), (0, 0)],
    ],
)
def test_a_run_that_crosses_itself_names_the_sides(ends: list[tuple[float, float]]) -> None:
    """The two sides that meet, and where."""
    said = _only(run([Step(f"side {i}", to=p) for i, p in enumerate(ends)]), "JOB-103")
    assert "crosses itself: side" in said


def test_an_arc_may_cross_too() -> None:
    """A hollow front deeper than the cushion comes out at its sides."""
    steps = [Step("front", 600, 90, rise_mm=-450), Step("right", 400, 90), Step("back", 600, 90), Step("left")]
    assert "front meets left" in _only(run(steps), "JOB-103")


def test_a_clockwise_run_is_told_the_right_way_round() -> None:
    """Left first makes it clockwise."""
    said = _only(run([Step("a", to=(0, 400)), Step("b", to=(600, 400)), Step("c", to=(600, 0)), Step("d")]), "JOB-105")
    assert "counter-clockwise" in said


def test_a_corner_that_is_too_round_is_told_what_would_fit() -> None:
    """Two corners of 200 on a side of 300 have room for 150 each; in inches the answer is in inches."""
    said = _only(rounded_rectangle(560, 300, 200), "JOB-102")
    assert "200 mm is too large" in said
    assert "150 mm would fit" in said
    inches = _only(rounded_rectangle(560, 254, 200, style=IMPERIAL), "JOB-102")
    assert "5 in would fit" in inches
    assert rounded_rectangle(560, 300, 150).value is not None


def test_only_the_corner_that_does_not_fit_is_named() -> None:
    """A radius of 20 beside one of 400 is not at fault."""
    found = rounded_rectangle(560, 300, {"front_left": 400, "back_right": 20})
    assert [f.place for f in found.findings] == ["outline: corner of left and front"]


def test_an_arc_too_tight_for_its_chord() -> None:
    """No circle of radius 200 spans 600."""
    said = _only(
        run([Step("front", 600, 90, radius_mm=200), Step("r", 400, 90), Step("b", 600, 90), Step("l")]), "JOB-106"
    )
    assert "300 mm or more" in said


@pytest.mark.parametrize("bad", [0.0, -5.0, math.nan, math.inf, -math.inf])
def test_sizes_that_are_none(bad: float) -> None:
    """Nought, negative, NaN and infinite sizes are refused by every builder, with the number's name."""
    for found in (
        rectangle(bad, 500), rounded_rectangle(500, bad, 10), trapezoid(400, bad, 400), l_shape(900, 700, bad, 200),
        t_shape(500, 600, 80, bad), one_eared(bad, 600, 80, 130, ear="left"), disc(bad), d_shape(400, bad),
        run([Step("front", bad, 90), Step("r", 400, 90), Step("b", 600, 90), Step("l")]),
    ):  # fmt: skip
        assert "greater than nought" in _only(found, "JOB-101")


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_radii_that_are_none(bad: float) -> None:
    """A radius of nought is a square corner; these are not radii."""
    assert "radius" in _only(rounded_rectangle(500, 400, bad), "JOB-101")
    assert "corner" in _only(run([Step("f", 600, 90, corner_mm=bad), Step("r", 400, 90), Step("l")]), "JOB-101")


def test_what_is_missing_must_leave_something() -> None:
    """An ear as deep as the cushion is no ear; a missing corner as wide as the cushion leaves nothing."""
    assert "less than 600 mm" in _only(one_eared(620, 600, 80, 600, ear="left"), "JOB-108")
    assert "less than 900 mm" in _only(l_shape(900, 700, 900, 200), "JOB-108")


@pytest.mark.parametrize("steps", [[], [Step("front", 600)], [Step("a", 600, 90), Step("b", turn_deg=90), Step("c")]])
def test_runs_of_too_little(steps: list[Step]) -> None:
    """One side encloses nothing, and only the last may leave its length out."""
    _only(run(steps), "JOB-104")


def test_sides_that_turn_straight_back_are_refused_for_no_needle_turns_there() -> None:
    """Three half circles on one line: at each of their ends one side leaves along the other (plain geometry)."""
    steps = [
        Step("left", to=(150, 0), rise_mm=-75),
        Step("right", to=(400, 0), rise_mm=-125),
        Step("round", rise_mm=200),
    ]
    said = _only(run(steps), "JOB-109")
    assert "no needle turns there" in said
    assert "at least 10 degrees" in said
    shallower = [Step("left", to=(150, 0), rise_mm=-50), Step("right", to=(400, 0), rise_mm=-90), steps[2]]
    assert run(shallower).value is not None
