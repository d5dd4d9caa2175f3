"""The editor is given the corners a maker would draw, and the run they make is the outline they came from."""

from __future__ import annotations

from typing import Any

import pytest

from squab.findings import Outcome
from squab.measure import Step, d_shape, disc, l_shape, one_eared, rounded_rectangle, run, t_shape, trapezoid
from squab.plane import Outline
from squab.web.outlineview import corners_of

SHAPES: dict[str, Outcome[Outline]] = {
    "square": rounded_rectangle(560, 510, {}, hidden=("back",)),
    "round": rounded_rectangle(560, 510, 60, hidden=("back", "left")),
    "front corners round": rounded_rectangle(560, 510, {"front_left": 60, "front_right": 40}),
    "one corner round": rounded_rectangle(560, 510, {"back_left": 30}),
    "trapezoid": trapezoid(500, 400, 450, offset_mm=30, radii_mm=20),
    "L": l_shape(600, 500, 200, 150, radius_mm=15),
    "T": t_shape(500, 450, 60, 120, radius_mm=20),
    "one-eared": one_eared(500, 450, 60, 120, ear="left"),
    "disc": disc(400),
    "D": d_shape(500, 450),
    "shallow D": d_shape(500, 200),
    "bow front": run(
        [Step("front", to=(500, 0), rise_mm=40, corner_mm=30), Step("right", to=(500, 450)), Step("back", to=(0, 450)),
         Step("left", to=(0, 0))]
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", SHAPES)
def test_the_corners_make_the_same_outline_again(name: str) -> None:
    outline = SHAPES[name].value
    assert outline is not None
    sides = corners_of(outline)
    hidden = tuple({s["name"] for s in sides if not s["seen"]})
    steps = [Step(s["name"], to=tuple(s["to"]), rise_mm=s["rise"], corner_mm=s["corner"]) for s in sides]
    again = run(steps, hidden=hidden).value
    assert again is not None
    assert again.area == pytest.approx(outline.area, rel=1e-6)
    assert again.length == pytest.approx(outline.length, rel=1e-6)
    assert set(again.side_names()) == set(outline.side_names())
    assert {n: again.is_seen(n) for n in again.side_names()} == {n: outline.is_seen(n) for n in outline.side_names()}


def test_a_rounded_corner_is_a_corner_with_a_radius() -> None:
    outline = SHAPES["front corners round"].value
    assert outline is not None
    sides: list[dict[str, Any]] = corners_of(outline)
    assert [(s["name"], s["to"], s["corner"]) for s in sides] == [
        ("front", [560.0, 0.0], 40.0), ("right", [560.0, 510.0], 0.0), ("back", [0.0, 510.0], 0.0),
        ("left", [0.0, 0.0], 60.0),
    ]  # fmt: skip


def test_a_disc_is_four_bows() -> None:
    outline = SHAPES["disc"].value
    assert outline is not None
    assert [round(s["rise"], 1) for s in corners_of(outline)] == [58.6] * 4
