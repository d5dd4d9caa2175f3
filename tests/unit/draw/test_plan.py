"""The cutting plan: exact to scale, mirrored when the back is up, readable however long."""

from __future__ import annotations

import itertools
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import box

from squab.cloth import Flaw
from squab.draw import svg
from squab.draw.laid import laid_parts, part_of_key
from squab.draw.plan import cutting_plan_svg, cutting_plan_svgs, datum_lines, remnant_mm, ruler_steps
from squab.units import IMPERIAL, METRIC
from squab.words import say
from squab.worked import WorkedJob
from tests.unit.draw.drawn_jobs import eared, rectangle, striped, worked_job

NS = "{http://www.w3.org/2000/svg}"
Box = tuple[float, float, float, float]


def _cut_boxes(made: str) -> list[Box]:
    """Boxes of the cut lines on the sheet: the ink paths 0.5 mm wide with joined corners."""
    boxes = []
    for e in ET.fromstring(made).iter(f"{NS}path"):
        if e.get("stroke-linejoin") == "round" and e.get("stroke-width") == "0.5" and e.get("fill") == "none":
            xy = np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)(?=[MLAZ])", e.get("d", "") + "Z"), dtype=float)
            boxes.append((*xy.min(axis=0), *xy.max(axis=0)))
    return [tuple(map(float, b)) for b in boxes]  # type: ignore[misc]


def _scale(made: str) -> float:
    return 1 / float(re.search(r"1 : (\d+)", made)[1])  # type: ignore[index]


def _expected(worked: WorkedJob, scale: float, *, mirrored: bool) -> list[Box]:
    boxes = []
    for x in laid_parts(worked, "stripe"):
        u0, v0, u1, v1 = x.place.outline(x.cut).bounds()
        if mirrored:
            u0, u1 = 1370 - u1, 1370 - u0
        boxes.append((6 + v0 * scale, 15 + u0 * scale, 6 + v1 * scale, 15 + u1 * scale))
    return boxes


@pytest.mark.parametrize("marked", ["face_up", "back_up"])
def test_every_piece_is_drawn_where_it_lies_to_scale(marked: str) -> None:
    worked = worked_job(marked=marked, outlines={"seat": rectangle(560, 510), "ear": eared()})
    made = cutting_plan_svg(worked, "stripe")
    drawn, expected = _cut_boxes(made), _expected(worked, _scale(made), mirrored=marked == "back_up")
    assert len(drawn) == len(expected) == len(worked.plans["stripe"].lay.placed)
    assert np.allclose(sorted(drawn), sorted(expected), atol=2e-3)


def test_the_face_is_named_and_figures_are_mirrored_when_the_back_is_up() -> None:
    up, down = (cutting_plan_svg(worked_job(marked=m), "stripe") for m in ("face_up", "back_up"))
    assert "FACE UP" in up
    assert "BACK UP" not in up
    assert "BACK UP" in down
    assert sorted(_cut_boxes(up)) != sorted(_cut_boxes(down))


def test_sections_show_all_of_a_long_lay_at_one_to_ten() -> None:
    worked = worked_job(count=4, outlines={"seat": rectangle(560, 510), "ear": eared()})
    sections = cutting_plan_svgs(worked, "stripe")
    assert len(sections) >= 3
    assert {_scale(s) for s in sections} == {0.1}
    sizes = np.array([(b[2] - b[0], b[3] - b[1]) for s in sections for b in _cut_boxes(s)])
    for b in _expected(worked, 0.1, mirrored=False):
        assert np.abs(sizes - (b[2] - b[0], b[3] - b[1])).max(axis=1).min() < 0.01
    texts = [t.text for s in sections for t in ET.fromstring(s).iter(f"{NS}text")]
    assert {f"section {i} of {len(sections)}" in str(texts) for i in range(1, len(sections) + 1)} == {True}


@pytest.mark.parametrize("count", [1, 3])
def test_every_sheet_goes_on_a4_and_on_letter_lying_within_their_margins(count: int) -> None:
    """ISO 216 A4 is 297 x 210 mm, US letter 279.4 x 215.9: both with 10 mm left all round."""
    worked = worked_job(count=count, outlines={"seat": rectangle(560, 510), "ear": eared()})
    for made in cutting_plan_svgs(worked, "stripe"):
        root = ET.fromstring(made)
        assert float(root.get("width", "").removesuffix("mm")) <= 279.4 - 20
        assert float(root.get("height", "").removesuffix("mm")) <= 210 - 20 + 15  # a long key may take a little more


def test_figures_on_the_sheet_are_the_plans() -> None:
    worked = worked_job()
    plan = worked.plans["stripe"]
    made = cutting_plan_svg(worked, "stripe")
    for length in (plan.lay.length_mm, plan.bound.length_mm, plan.handbook_mm, plan.order_mm):
        assert f"{length / 1000:.2f} m" in made


def test_what_is_left_over_is_what_was_ordered_less_what_is_used_and_squared_off() -> None:
    worked = worked_job()
    plan = worked.plans["stripe"]
    assert remnant_mm(worked, "stripe") == pytest.approx(plan.order_mm - 100 - plan.lay.length_mm)


def test_the_datum_is_where_the_pattern_stands_on_this_bolt() -> None:
    plan = worked_job().plans["stripe"]
    there = replace(plan, lay=replace(plan.lay, pattern_at=(53.0 + 3 * 96.0, 40.0)))
    ((way, at),) = datum_lines(striped(), there)
    assert way == "across"
    assert at == pytest.approx(53.0)
    assert "53 mm from the left selvedge" in cutting_plan_svg(worked_job(), "stripe")


def test_a_cloth_that_shrinks_is_drawn_and_measured_as_it_lies_on_the_table() -> None:
    """618.557 mm cut for 600 mm at 3 % (AATCC 135, ISO 5077 turned round)."""
    plain = worked_job()
    cloth = striped(shrink_warp_pct=3.0, shrinks_after_cutting=True)
    worked = replace(plain, job=replace(plain.job, cloths=(cloth,)))
    made = cutting_plan_svg(worked, "stripe")
    flat = cutting_plan_svg(plain, "stripe")
    drawn = max(b[2] for b in _cut_boxes(made)) - 6
    before = max(b[2] for b in _cut_boxes(flat)) - 6
    assert drawn / _scale(made) == pytest.approx(before / _scale(flat) / 0.97, abs=0.2)


def test_running_measure_is_in_the_users_units() -> None:
    assert ruler_steps(METRIC, 0.1) == (50, 200)
    small, figured = ruler_steps(IMPERIAL, 0.1)
    assert (small / 25.4, figured / 25.4) == pytest.approx((3, 6))
    assert "running measure in inches" in cutting_plan_svg(worked_job(style=IMPERIAL), "stripe")


def test_a_key_finds_its_piece() -> None:
    ids = {"seat.top": 0, "seat.top.left": 0, "seat": 0, "seats.top": 0}
    assert part_of_key("seat#2.top", ids) == "seat.top"
    assert part_of_key("seat.top.left#11", ids) == "seat.top.left"
    assert part_of_key("seats.top", ids) == "seats.top"
    assert part_of_key("stool.top#1", ids) is None


def test_a_lay_that_one_page_shows_at_nearly_that_scale_is_not_drawn_twice() -> None:
    worked = worked_job(laid=True, outlines={"seat": rectangle(560, 510)}, count=1)
    assert _scale(cutting_plan_svg(worked, "stripe")) > 0.08
    assert cutting_plan_svgs(worked, "stripe") == []


def test_numbers_of_narrow_strips_side_by_side_do_not_run_into_one_another() -> None:
    """Eighteen strips of 30 mm at one to twelve or smaller: each number is wider than its strip."""
    worked = worked_job(outlines={f"tiny{i}": rectangle(60, 50) for i in range(9)}, count=2)
    made = ET.fromstring(cutting_plan_svg(worked, "stripe"))
    boxes = []
    for t in made.iter(f"{NS}text"):
        if re.fullmatch(r"\d+", t.text or "") and t.get("stroke"):
            x, y, wide = float(t.get("x", "")), float(t.get("y", "")), svg.text_width(t.text or "", 3.2, bold=True)
            boxes.append(box(x - wide / 2, y - 2.2, x + wide / 2, y))
    assert len(boxes) > 10
    run_into = [(a, b) for a, b in itertools.combinations(boxes, 2) if a.intersection(b).area > 0.1]
    assert len(run_into) <= len(boxes) // 20


def test_no_piece_is_left_without_its_words_or_a_line_in_the_key() -> None:
    worked = worked_job(outlines={"tiny": rectangle(60, 50)})
    made = cutting_plan_svg(worked, "stripe")
    assert "bottom" in made
    assert made.count("piping") >= 1


def test_sections_keep_the_numbers_of_the_whole_plan() -> None:
    worked = worked_job(count=4, outlines={"seat": rectangle(560, 510), "ear": eared(), "tiny": rectangle(60, 50)})
    names = {i: say(x.of.name, worked.job.words) for i, x in enumerate(laid_parts(worked, "stripe"), 1)}
    keyed: dict[int, str] = {}
    for made in cutting_plan_svgs(worked, "stripe")[1:]:
        for t in ET.fromstring(made).iter(f"{NS}text"):
            found = re.match(r"(\d+)(?:–\d+)? · (\D.*)", t.text or "")
            keyed |= {int(found[1]): found[2]} if found else {}
    assert keyed
    assert 1 not in keyed
    for number, words in keyed.items():
        assert names[number] in words


def test_a_flaw_is_drawn_as_it_is_shaped() -> None:
    worked = worked_job()
    plan = worked.plans["stripe"]
    flaw = Flaw.outlined([(1200, 100), (1300, 150), (1250, 300)], "burn")
    flawed = replace(plan, problem=replace(plan.problem, flaws=(flaw,)))
    made = cutting_plan_svg(replace(worked, plans={**worked.plans, "stripe": flawed}), "stripe")
    scale = _scale(made)
    ring = {(round(6 + v * scale, 2), round(15 + u * scale, 2)) for u, v in flaw.corners}
    drawn = [
        {(round(float(x), 2), round(float(y), 2)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", e.get("d", ""))}
        for e in ET.fromstring(made).iter(f"{NS}path")
    ]
    assert ring in drawn
    assert "burn" in made
