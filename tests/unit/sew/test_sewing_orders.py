"""The order of making: this cushion's own numbers, and nothing that does not apply."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from itertools import pairwise
from typing import Literal

import pytest

from squab.cloth import Cloth, Pattern, Stripe
from squab.construct import construct
from squab.construct.records import Construction
from squab.job import Cover, Cushion, Fill, Job, Piping, Zip
from squab.lay.problem import lay_problems
from squab.lay.records import Bound, ClothPlan, Lay, Placed
from squab.match import plan_match
from squab.match.records import MatchPlan
from squab.plane import Arc, Line, Outline
from squab.sew import sewing_orders
from squab.sew.records import SewingOrder, Step
from squab.sew.rules import (
    BACKSTITCH_MM,
    CLIP_CLOSEST_MM,
    CLIP_WIDEST_MM,
    LEAST_RAW_EDGE_MM,
    RUN_OVER_MM,
    SLIT_FROM_CORD_MM,
    STRAIGHT_WITHIN_MM,
    clip_spacing_mm,
    inside_slit_mm,
    tolerance_mm,
)
from squab.units import IMPERIAL
from squab.words import say

INCH = 25.4
SHORES: tuple[Literal["us", "uk"], ...] = ("us", "uk")
PLAIN = Cloth("plain", "Hopsack", 1370.0)
EVEN = (Stripe(30, "#222222"), Stripe(20, "#dddddd"), Stripe(30, "#222222"), Stripe(16, "#aa3333"))
STRIPED = Cloth("stripe", "Ticking", 1370.0, Pattern("warp_stripe", 96.0, stripes=EVEN, mirror_axes=(40.0, 88.0)))


def polygon(*points: tuple[float, float], sides: tuple[str, ...]) -> Outline:
    edges = tuple(Line(p, points[(i + 1) % len(points)]) for i, p in enumerate(points))
    return Outline(edges, sides)


def box(width_mm: float = 500.0, depth_mm: float = 500.0) -> Outline:
    corners = (0.0, 0.0), (width_mm, 0.0), (width_mm, depth_mm), (0.0, depth_mm)
    return polygon(*corners, sides=("front", "right", "back", "left"))


ONE_EAR = polygon(
    (0.0, 130.0), (0.0, 0.0), (700.0, 0.0), (700.0, 600.0), (80.0, 600.0), (80.0, 130.0),
    sides=("ear side", "front", "right", "back", "left", "ear back"),
)  # fmt: skip


def disc(radius_mm: float) -> Outline:
    c = radius_mm * math.sqrt(0.5)
    at = [(-c, -c), (c, -c), (c, c), (-c, c)]
    edges = tuple(Arc(at[i], at[(i + 1) % 4], (0.0, 0.0)) for i in range(4))
    return Outline(edges, ("front", "right", "back", "left"))


def made(cushion: Cushion, cloth: Cloth = PLAIN, **job: object) -> tuple[Job, Construction, SewingOrder]:
    whole = Job("Reading room", (cushion,), (cloth,), **job)  # type: ignore[arg-type]
    construction = construct(whole).value
    assert construction is not None
    return whole, construction, sewing_orders(whole, construction, match_of(whole, construction), {})[cushion.id]


def match_of(job: Job, construction: Construction) -> MatchPlan:
    match = plan_match(job, construction).value
    assert match is not None
    return match


def plans_of(job: Job, construction: Construction, placed: tuple[Placed, ...]) -> Mapping[str, ClothPlan]:
    problems = lay_problems(job, construction, match_of(job, construction)).value
    assert problems is not None
    lay = Lay(placed, {}, (0.0, 0.0), 1000.0)
    return {p.cloth_id: ClothPlan(p.cloth_id, p, lay, Bound(0.0, "area"), 0.0, 0.0, 0.0, None) for p in problems}


def order_of(cushion: Cushion, cloth: Cloth = PLAIN, **job: object) -> SewingOrder:
    return made(cushion, cloth, **job)[2]


def seat(outline: Outline | None = None, **changes: object) -> Cushion:
    cushion = Cushion("seat", "Seat", outline or box(), 80.0, size_is="seam")
    return replace(cushion, **changes)  # type: ignore[arg-type]


UNPIPED = Cover(piping=Piping(edges="none"))


def whole_text(order: SewingOrder) -> str:
    return " ".join([*(f"{s.title} {s.text}" for s in order.steps), *order.cautions]).lower()


def step(order: SewingOrder, words: str) -> Step:
    found = [s for s in order.steps if words in s.title.lower()]
    assert len(found) == 1, [s.title for s in order.steps]
    return found[0]


MANY = {
    "plain": seat(cover=UNPIPED),
    "piped": seat(),
    "round": seat(disc(180.0)),
    "one-eared": seat(ONE_EAR),
    "bench": seat(box(1800.0)),
    "bottom zip": seat(cover=Cover(zip=Zip(place="bottom"))),
    "no zip": seat(cover=Cover(zip=Zip(place="none"))),
    "feather": seat(fill=Fill("feather")),
    "wrapped": seat(fill=Fill("soft_foam", wrap_mm=12.0)),
    "fitted": seat(cover=Cover(ties=2, handle=True, non_slip_base=True)),
}


@cache
def one_of_many(name: str, striped: bool) -> tuple[Job, Construction, SewingOrder]:
    return made(MANY[name], STRIPED if striped else PLAIN)


@pytest.mark.parametrize("name", MANY)
@pytest.mark.parametrize("striped", [False, True], ids=["plain", "striped"])
def test_every_place_has_its_figure_and_every_word_is_known(name: str, striped: bool) -> None:
    _, _, order = one_of_many(name, striped)
    assert [s.number for s in order.steps] == list(range(1, len(order.steps) + 1))
    for s in order.steps:
        assert set(re.findall(r"\{(\w+)\}", s.text)) == {n for n, _ in s.figures}
        for shore in SHORES:
            said = say(f"{s.title} {s.text}", shore)
            assert "[[" not in said


@pytest.mark.parametrize("name", MANY)
def test_every_seam_is_sewn_once(name: str) -> None:
    _, construction, order = one_of_many(name, True)
    sewn = [seam for s in order.steps for seam in s.seams]
    assert sorted(sewn) == sorted(s.id for s in construction.seams)


def test_seams_are_numbered_through_with_the_lengths_of_the_cover() -> None:
    _, construction, order = made(seat())
    numbers = [int(n) for s in order.steps for n in re.findall(r"[Ss]eam (\d+),", s.text)]
    assert numbers == list(range(1, len(numbers) + 1))
    top = step(order, "to the [[top]]")
    printed = sum(mm for name, mm in top.figures if name.startswith("seam_"))
    assert printed == pytest.approx(construction.covers[0].ring_mm)


def test_the_allowance_is_from_the_edge_to_the_innermost_row() -> None:
    """Edge to the farthest parallel stitch line (ASTM D1683-04, 3.1.2): the closing row, on the seam line."""
    order = order_of(seat(cover=Cover(allowance_mm=10.0)))
    assert dict(order.head)["[[seam allowance]]"].startswith("{allowance}")
    assert "just inside the row" in step(order, "to the [[top]]").text


@pytest.mark.parametrize(("size", "within"), [(450.0, 3.0), (600.0, 3.0), (600.1, 6.0), (1830.0, 6.0)])
def test_finished_sizes_have_the_trade_tolerance(size: float, within: float) -> None:
    """3 mm up to 600, 6 mm beyond (common practice)."""
    assert tolerance_mm(size) == within


def test_the_finished_sizes_are_those_of_the_cover() -> None:
    _, construction, order = made(seat(box(900.0)))
    finished = construction.covers[0].sizes.finished
    assert [(mm, within) for _, mm, within in order.checks] == [
        (finished.width_mm, 6.0),
        (finished.depth_mm, 3.0),
        (80.0, 3.0),
    ]


def test_a_plain_unpiped_cushion_has_no_step_it_does_not_need() -> None:
    order = order_of(seat(cover=UNPIPED))
    text = whole_text(order)
    for word in (
        "piping",
        "cord",
        "stay",
        "baste from",
        "film",
        "[[wrap]]",
        "hot knife",
        "glue",
        "ties",
        "inside corner",
    ):
        assert word not in text
    assert "plain cloth needs no basting" in text


def test_a_striped_cushion_is_marked_and_basted_from_the_middle_of_the_front() -> None:
    order = order_of(seat(), STRIPED)
    marking = step(order, "mark where")
    assert "[[colour]] edges" in marking.text
    assert "not on the cut edge" in marking.text
    first = step(order, "to the [[top]]")
    assert "from the middle of the front outward" in first.text
    assert marking.number < first.number
    assert first.seams[0].endswith("front") or "front" in first.text.split("eam ")[1]


def test_a_half_of_a_zip_panels_end_that_alone_meets_is_named_as_that_half() -> None:
    """Fold and split swallows a tape's width of the print: the upper half can meet where the lower cannot."""
    pattern = Pattern("print", 340.0, 320.0, 160.0)
    marking = step(order_of(seat(disc(203.0)), Cloth("print", "Posy", 1370.0, pattern, one_way=True)), "mark where")
    meets, misses = marking.text.split("it cannot meet")[0].rsplit(" At ", 1)
    assert "the upper half of the join at the left" in meets
    assert "the lower half of the join at the left" in misses
    for text in (meets, misses):
        assert "the join at the left" not in text.replace("half of the join at the left", "")


@pytest.mark.parametrize(("cuts", "is_said"), [(0, False), (1, True)])
def test_boxing_lengths_are_joined_first_just_where_the_lay_cuts_several(cuts: int, is_said: bool) -> None:
    """The cloth's width would take the whole of it either time."""
    whole, construction, _ = made(seat())
    strip = next(s for s in construction.covers[0].strips if s.kind == "boxing")
    assert strip.length_mm + 2 * strip.end_mm < PLAIN.usable_width_mm
    ends = [strip.s0_mm, *[strip.s0_mm + 400.0] * cuts, strip.s1_mm]
    placed = tuple(Placed("seat#1.boxing", 0, 0.0, 0.0, part) for part in pairwise(ends))
    order = sewing_orders(whole, construction, match_of(whole, construction), plans_of(whole, construction, placed))
    assert ("several lengths" in step(order["seat"], "join the [[boxing]]").text) is is_said


def test_vinyl_is_neither_pinned_nor_ironed() -> None:
    """A pin's hole stays, and a hot iron melts it (common practice, no source)."""
    vinyl = step(order_of(seat(), replace(PLAIN, vinyl=True)), "check the pieces").text
    assert "clips where a step says pin" in vinyl
    assert "a roller for an iron" in vinyl
    assert "clips where" not in whole_text(order_of(seat()))


def test_lengths_that_are_those_after_washing_are_said_to_be() -> None:
    shrinking = replace(STRIPED, shrink_warp_pct=5.0, shrinks_after_cutting=True)
    assert "those after washing" in step(order_of(seat(), shrinking), "check the pieces").text
    assert "washing" not in whole_text(order_of(seat(), STRIPED))


def test_a_round_pad_is_promised_its_match_at_the_middle_only() -> None:
    """R 180: the drift R(a - sin a) passes 3 mm at 26.7 degrees, 84 mm along the edge (plain geometry)."""
    order = order_of(seat(disc(180.0), thickness_mm=42.0), STRIPED)
    marking = step(order, "mark where")
    front = re.search(r"At front \(.*?it meets for \{(\w+)\} either side of the middle only", marking.text)
    assert front is not None
    assert dict(marking.figures)[front.group(1)] == pytest.approx(84.0, abs=1.0)


def test_the_top_goes_on_front_first_and_back_last() -> None:
    _, construction, order = made(seat())
    sides = {s.id: s.side for s in construction.seams}
    kinds = {s.id: s.kind for s in construction.seams}
    seams = step(order, "to the [[top]]").seams
    assert sides[seams[0]] == "front"
    at_zip = [kinds[s] == "panel_zip" for s in seams]
    assert at_zip == sorted(at_zip)


def test_an_inside_corner_is_stayed_and_slit_short_of_the_stitch() -> None:
    """12 x sqrt 2 less 1.5 is 15.5 (plain geometry; the 1/16 in short is trade habit)."""
    assert inside_slit_mm(12.0) == pytest.approx(15.47, abs=0.01)
    stay = step(order_of(seat(ONE_EAR)), "stay-stitch")
    assert dict(stay.figures)["slit"] == pytest.approx(15.5, abs=0.1)


def test_clips_stand_as_close_as_the_curve_wants() -> None:
    """Every 1/4 to 1/2 in, closer when tighter; V on outward ones (Apparel: Design, Textiles & Construction, 2012)."""
    spacings = [clip_spacing_mm(r, 12.0) for r in (20.0, 60.0, 120.0, 180.0, 400.0)]
    assert spacings == sorted(spacings)
    assert (spacings[0], spacings[-1]) == (INCH / 4, INCH / 2)
    assert (CLIP_CLOSEST_MM, CLIP_WIDEST_MM) == (INCH / 4, INCH / 2)
    clip = dict(step(order_of(seat(disc(180.0))), "[[piping]] on").figures)["clip"]
    assert INCH / 4 <= clip <= INCH / 2


def test_the_slit_stops_short_of_the_cord_and_the_ends_lap() -> None:
    """Slits stop about 1/8 in from the cord; about 2 in of piping to finish with (common practice, no source)."""
    assert pytest.approx(INCH / 8) == SLIT_FROM_CORD_MM
    for style, tail in ((Job("x", (), ()).style, 50.0), (IMPERIAL, 2 * INCH)):
        figures = dict(step(order_of(seat(), style=style), "[[piping]] on").figures)
        assert figures["tail"] == tail
        assert figures["short"] == SLIT_FROM_CORD_MM


def test_a_narrow_house_strip_is_laid_inside_the_edge() -> None:
    """Strip 1 1/4 in, cord 5/32, cloth 3/64: its edge lies 0.194 in inside with SA 1/2 (common practice)."""
    piping = Piping(cord_mm=INCH * 5 / 32, strip_mm=INCH * 1.25)
    cloth = replace(PLAIN, thickness_mm=INCH * 3 / 64)
    found = step(order_of(seat(cover=Cover(allowance_mm=INCH / 2, piping=piping)), cloth), "[[piping]] on")
    assert dict(found.figures)["inside"] == pytest.approx(0.194 * INCH, abs=0.01 * INCH)
    assert "the cord, not the raw edge, is the guide" in found.text


@pytest.mark.parametrize(
    ("making", "words"),
    [
        ("fold_and_split", "Split the fold"),
        ("two_single", "Turn one long edge"),
        ("two_doubled", "in half along its length"),
        ("lapped", "lap the upper over"),
    ],
)
def test_the_zip_panel_is_made_as_it_was_cut(making: str, words: str) -> None:
    _, construction, order = made(seat(cover=Cover(zip=Zip(making=making))))  # type: ignore[arg-type]
    plan = construction.covers[0].zip_panel
    assert plan is not None
    found = step(order, "[[zip panel]]")
    assert words in found.text
    figures = dict(found.figures)
    assert (figures["strip"], figures["made_up"]) == (plan.strip_cut_mm, plan.made_up_mm)
    assert (figures["panel"], figures["zip"]) == (plan.panel_mm, plan.zip_mm)


def test_a_zip_panel_returns_round_both_back_corners() -> None:
    """Back width plus about 2 to 4 in each side, more only where it spares a join (trade habit)."""
    _, construction, _ = made(seat(box(500.0)))
    plan = construction.covers[0].zip_panel
    assert plan is not None
    assert 2 * INCH <= plan.return_mm <= 8 * INCH
    assert plan.panel_mm == pytest.approx(500.0 + 2 * plan.return_mm)


def test_without_a_zip_the_back_is_closed_by_hand() -> None:
    text = whole_text(order_of(seat(cover=Cover(zip=Zip(place="none")))))
    assert "slip stitch" in text
    assert "open the [[zip]]" not in text


def test_the_ring_is_checked_before_it_is_sewn() -> None:
    """Within about 1/8 in a side and 1/4 in a ring (trade habit)."""
    order = order_of(seat(cover=Cover(boxing_ease_mm=4.0)))
    check, sewn = step(order, "check the ring"), step(order, "to the [[top]]")
    assert check.number < sewn.number
    figures = dict(check.figures)
    assert (figures["side_within"], figures["ring_within"]) == (3.0, 6.0)
    assert figures["boxing_ring"] == pytest.approx(figures["ring"] - 4.0)


def test_stitching_is_held_to_published_limits() -> None:
    """Straight within 1/16 in, ends back at least 1/2 in (MIL-L-24778, 3.7.3); at least 1 in run over at a break
    of 301 (Army TM 10-8340-224-13, 5-6)."""
    assert pytest.approx(INCH / 16) == STRAIGHT_WITHIN_MM
    assert BACKSTITCH_MM >= INCH / 2
    assert RUN_OVER_MM >= INCH
    assert dict(step(order_of(seat()), "to the [[top]]").figures)["run_over"] == RUN_OVER_MM


def test_a_narrow_allowance_in_fraying_cloth_gets_a_second_row() -> None:
    """Raw edge of 8 to 15 oz duck to its stitch, 1/2 in (Navy manual, Aircrew Survival Equipmentman, ch. 10)."""
    assert LEAST_RAW_EDGE_MM == INCH / 2
    frays = replace(PLAIN, frays=True)
    narrow = whole_text(order_of(seat(cover=Cover(allowance_mm=9.0)), frays))
    usual = whole_text(order_of(seat(), frays))
    assert "second row" in narrow
    assert "second row" not in usual


def test_foam_is_measured_bare_and_rested_and_marked_at_the_back() -> None:
    """A day undisturbed (10.1), bare (10.2), marked on the back edge (3.2) (Joint Industry Foam Standards, 7/94)."""
    found = step(order_of(seat(fill=Fill("firm_foam", wrap_mm=12.0))), "check the fill")
    assert "measured bare" in found.text
    assert "24 hours undisturbed" in found.text
    assert "back edge only" in found.text
    figures = dict(found.figures)
    assert (figures["over_length"], figures["over_width"], figures["either"]) == pytest.approx(
        (INCH / 2, INCH / 4, INCH / 16)
    )


def test_fittings_go_on_before_the_seams_that_catch_them() -> None:
    order = order_of(seat(cover=Cover(ties=4, handle=True)))
    assert step(order, "fittings").number < step(order, "to the [[top]]").number


@pytest.mark.parametrize(
    ("cushion", "cloth", "job", "word", "there"),
    [
        (seat(), PLAIN, {"knife_gap_mm": 3.0}, "hot knife", True),
        (seat(), replace(PLAIN, vinyl=True), {"knife_gap_mm": 3.0}, "never on pvc", True),
        (seat(), PLAIN, {}, "hot knife", False),
        (seat(fill=Fill("feather")), PLAIN, {}, "dust mask", False),
        (seat(), PLAIN, {}, "dust mask", True),
        (seat(fill=Fill("firm_foam", wrap_mm=6.0)), PLAIN, {}, "spray glue", True),
        (seat(), PLAIN, {}, "spray glue", False),
        (seat(cover=Cover(film=True)), PLAIN, {}, "keep from children", True),
        (seat(), PLAIN, {}, "keep from children", False),
        (seat(), replace(PLAIN, vinyl=True), {}, "iron and steam", False),
        (seat(), replace(PLAIN, pile=True, one_way=True), {}, "crushes", True),
        (seat(), PLAIN, {}, "crushes", False),
    ],
)
def test_only_the_cautions_that_apply(
    cushion: Cushion, cloth: Cloth, job: dict[str, object], word: str, there: bool
) -> None:
    assert (word in " ".join(order_of(cushion, cloth, **job).cautions).lower()) is there


@pytest.mark.parametrize("name", MANY)
def test_law_is_left_to_the_rules_of_the_place(name: str) -> None:
    _, _, order = one_of_many(name, False)
    text = whole_text(order)
    assert "check the rule for your country and use" in text
    assert "compl" not in text.replace("complete", "")


def test_outdoor_fill_gets_its_film_before_it_goes_in() -> None:
    order = order_of(seat(), outdoor=True)
    assert step(order, "film").number < step(order, "fill and dress").number
    vented = order_of(seat(), replace(PLAIN, vinyl=True), outdoor=True)
    assert "vents" in step(vented, "film").text
