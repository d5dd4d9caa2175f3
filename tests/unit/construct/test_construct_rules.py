"""The trade's usual numbers, and covers that cannot be sewn. Common practice, no source, unless named."""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping
from dataclasses import replace

import pytest

from squab.cloth import Cloth, Pattern, Stripe
from squab.construct import construct, panel_seam_options
from squab.construct.check import check_cover
from squab.construct.notches import confusions
from squab.construct.records import CushionCover, Piece
from squab.construct.rules import FIT_MM
from squab.construct.shape import offset_each
from squab.construct.zips import strip_cut_mm
from squab.findings import Finding, Outcome, Severity
from squab.job import Cover, Cushion, Fill, Job, Matching, Notching, Piping, Zip
from squab.measure.shapes import d_shape, disc, l_shape, one_eared, rectangle, rounded_rectangle, trapezoid
from squab.plane import Arc, Outline

IN = 25.4
PLAIN = Cloth("plain", "plain linen", 1370.0)


def outline(found: Outcome[Outline]) -> Outline:
    assert found.value is not None
    return found.value


def cushion(plan: Outcome[Outline], thickness: float = 80.0, **fields: object) -> Cushion:
    base = Cushion("seat", "seat", outline(plan), thickness, size_is="seam", thickness_is="seam")
    return replace(base, **fields)  # type: ignore[arg-type]


def findings(c: Cushion, cloth: Cloth = PLAIN, at: Mapping[str, float] | None = None) -> dict[str, Finding]:
    return {f.code: f for f in construct(Job("job", (c,), (cloth,)), panel_seam_at_mm=at).findings}


def cover_of(c: Cushion, cloth: Cloth = PLAIN) -> CushionCover:
    found = construct(Job("job", (c,), (cloth,)))
    assert found.value is not None, found.findings
    return found.value.covers[0]


def cut(piece: Piece) -> tuple[float, float]:
    x0, y0, x1, y1 = piece.cut.bounds()
    return x1 - x0, y1 - y0


# --- sizes ----------------------------------------------------------------------------------


def test_short_rule_of_boxing_t20() -> None:
    """T20: wrapped fill 3 1/4 lightly pressed, fit 1/2, SA 1/2: seam thickness 2 3/4, cut 3 3/4."""
    make = Cover(allowance_mm=0.5 * IN, fit_thickness_mm=0.5 * IN, zip=Zip(tape_mm=1.25 * IN))
    c = cushion(rectangle(24 * IN, 22 * IN), 3.25 * IN, thickness_is="fill", cover=make)
    cover = cover_of(c)
    (band,) = [s for s in cover.strips if s.kind == "boxing"]
    assert cover.thickness_mm / IN == pytest.approx(2.75)
    assert band.cut_width_mm / IN == pytest.approx(3.75)


def test_fold_and_split_t21() -> None:
    """T21: T20 with tape 1 1/4: 5 in, stitched 5/8 from the fold, made up 3 3/4."""
    assert strip_cut_mm("fold_and_split", 2.75, 0.5, 1.25, 0.0) == pytest.approx(5)
    make = Cover(allowance_mm=0.5 * IN, fit_thickness_mm=0.5 * IN, zip=Zip(tape_mm=1.25 * IN))
    plan = cover_of(cushion(rectangle(24 * IN, 22 * IN), 3.25 * IN, thickness_is="fill", cover=make)).zip_panel
    assert plan is not None
    assert plan.stitched_from_fold_mm / IN == pytest.approx(0.625)
    assert plan.made_up_mm / IN == pytest.approx(3.75)


@pytest.mark.parametrize(("allowance", "cut_in"), [(0.5, 24.0), (0.375, 23.75)])
def test_panels_cut_the_size_of_the_fill_t22(allowance: float, cut_in: float) -> None:
    """T22: with SA 1/2 it is a fit of 1 in; at 3/8 the cut is 1/4 smaller and the seam size the same."""
    make = Cover(allowance_mm=allowance * IN, fit_mm=IN)
    c = cushion(rectangle(24 * IN, 22 * IN), 4 * IN, size_is="fill", cover=make)
    cover = cover_of(c)
    assert cut(next(p for p in cover.pieces if p.kind == "top"))[0] / IN == pytest.approx(cut_in)
    assert cover.sizes.seam.width_mm / IN == pytest.approx(23)


def test_cut_sizes_k1() -> None:
    """K1: a public thread on bench-cushion yardage: foam 32 5/8 x 14 5/8 x 3, SA 5/8, finished at foam size."""
    make = Cover(allowance_mm=0.625 * IN, fit_mm=0.0, joins_at_corners=True)
    c = cushion(rectangle(32.625 * IN, 14.625 * IN), 3 * IN, size_is="fill", thickness_is="fill", cover=make)
    by_id = {p.id: tuple(x / IN for x in cut(p)) for p in cover_of(c).pieces}
    assert by_id["seat.top"] == pytest.approx((33.875, 15.875))
    assert by_id["seat.boxing.front"] == pytest.approx((33.875, 4.25))
    assert by_id["seat.boxing.left"] == by_id["seat.boxing.right"] == pytest.approx((15.875, 4.25))
    assert strip_cut_mm("two_single", 3, 0.625, 0.0, 0.0) == pytest.approx(3 / 2 + 0.625)


def test_ring_and_panels_k4() -> None:
    """K4: a sewing newsgroup, May 2008: a 12 in square, SA 1/2: panels 13, ring 48."""
    make = Cover(allowance_mm=0.5 * IN, fit_mm=0.0)
    cover = cover_of(cushion(rectangle(12 * IN, 12 * IN), 3 * IN, size_is="fill", cover=make))
    assert cut(next(p for p in cover.pieces if p.kind == "top")) == pytest.approx((13 * IN, 13 * IN))
    assert cover.ring_mm / IN == pytest.approx(48)
    assert sum(s.length_mm for s in cover.strips if s.kind == "boxing") < 48 * IN


@pytest.mark.parametrize("kind", list(FIT_MM))
def test_fit_stands_in_the_trades_bands(kind: str) -> None:
    """Firm 1/4 to 1/2 in, medium 1/2 to 3/4, soft and wrapped polyester 3/4 to 1, fibre and feather 1 to 2."""
    bands = {
        "firm_foam": (0.25, 0.5), "medium_foam": (0.5, 0.75), "soft_foam": (0.75, 1), "wrapped_polyester": (0.75, 1),
        "fibre": (1, 2), "feather": (1, 2),
    }  # fmt: skip
    low, high = bands[kind]
    c = cushion(rectangle(500, 400), size_is="fill", fill=Fill(kind=kind))  # type: ignore[arg-type]
    taken = 500 - cover_of(c).sizes.seam.width_mm
    assert low * IN - 1e-6 <= taken <= high * IN + 1e-6


@pytest.mark.parametrize("size_is", ["seat", "fill", "old_cover", "finished", "seam"])
def test_each_size_leads_back_to_what_was_given(size_is: str) -> None:
    c = cushion(rectangle(500, 400), size_is=size_is, clearance_mm={"left": 5.0})
    sizes = cover_of(c).sizes
    given = {"seat": sizes.seat, "fill": sizes.fill, "old_cover": sizes.seam, "finished": sizes.finished}
    size = given.get(size_is, sizes.seam)
    assert size is not None
    assert (size.width_mm, size.depth_mm) == pytest.approx((500, 400))
    assert sizes.given == size_is


def test_clearance_is_taken_off_its_own_side_only() -> None:
    c = cushion(rectangle(500, 400), size_is="seat", clearance_mm={"left": 6.0}, cover=Cover(piping=Piping("none")))
    seam = cover_of(c).seam_outline
    assert seam.bounds() == pytest.approx((6, 0, 500, 400))


def test_clearance_of_a_rounded_corner() -> None:
    """A rounded corner between sides with unlike clearances stays round, its radius less by their mean."""
    plan = outline(rounded_rectangle(500, 400, 60))
    moved = offset_each(plan, [-6.0 if side in ("left", "right") else 0.0 for side in plan.sides])
    assert moved.bounds() == pytest.approx((6, 0, 494, 400))
    assert {round(e.radius, 6) for e in moved.edges if isinstance(e, Arc)} == {57.0}
    assert moved.sides == plan.sides
    for a, b in zip(moved.edges, [*moved.edges[1:], moved.edges[0]], strict=True):
        assert math.dist(a.end, b.start) < 1e-9
        assert a.tangent_at(a.length) == pytest.approx(b.tangent_at(0.0))


def test_ease_shortens_the_boxing_and_keeps_the_centre_front() -> None:
    c = cushion(rectangle(500, 400), cover=Cover(boxing_ease_mm=5.0))
    cover = cover_of(c)
    boxed = sum(s.b.path.length for s in cover.seams if s.edge == "top")
    assert cover.ring_mm - boxed == pytest.approx(5.0)
    front = next(s for s in cover.seams if s.id == "seat.top.front")
    middle = front.b.path.point_at(front.b.path.length / 2)[0]
    assert middle % cover.ring_mm == pytest.approx(250.0)


# --- zip ------------------------------------------------------------------------------------


def test_two_strips_meet_at_the_zip() -> None:
    cover = cover_of(cushion(rectangle(500, 400), cover=Cover(zip=Zip(making="two_single"))))
    (centre,) = [s for s in cover.seams if s.kind == "zip_centre"]
    assert centre.a.path.point_at(0)[1] == centre.b.path.point_at(0)[1] == 40.0


def test_fold_and_split_swallows_a_tapes_width() -> None:
    """The lower seam of the one strip lies a tape's width below its finished place."""
    cover = cover_of(cushion(rectangle(500, 400)))
    (low,) = [s for s in cover.seams if s.kind == "panel_zip" and s.edge == "bottom" and s.side == "back"]
    assert low.b.path.point_at(0)[1] == -32.0


@pytest.mark.parametrize(
    ("code", "settings"),
    [
        ("CON-011", Zip(return_mm=700.0)),
        ("CON-012", Zip(return_mm=350.0)),
        ("CON-014", Zip(side="sofa")),
        ("CON-001", Zip(tape_mm=0.0)),
        ("CON-001", Zip(return_mm=math.nan)),
    ],
)
def test_zip_refusals(code: str, settings: Zip) -> None:
    found = findings(cushion(rectangle(500, 400), cover=Cover(zip=settings)))
    assert found[code].severity is Severity.STOP
    assert found[code].hint


def test_foam_that_cannot_pass_its_opening() -> None:
    """A deep, narrow-backed wedge of a plan: firm foam cannot pass, loose fibre can."""
    plan = trapezoid(800, 200, 700)
    firm = findings(cushion(plan, 120.0, cover=Cover(zip=Zip(return_mm=0.0))))
    assert "200 mm" in firm["CON-013"].message
    loose = cushion(plan, 120.0, cover=Cover(zip=Zip(return_mm=0.0)), fill=Fill(kind="fibre"))
    assert "CON-013" not in findings(loose)


def test_zip_panel_may_return_only_where_strips_are_not_turned() -> None:
    make = Cover(zip=Zip(return_mm=60.0), matching=Matching(sides_along=True))
    c = cushion(rectangle(500, 400), cover=make)
    assert "CON-017" in findings(c)
    cover = cover_of(c)
    turns = {p.id.removeprefix("seat."): p.turn_deg for p in cover.pieces}
    assert turns["boxing.right"] == 90
    assert turns["zip_panel"] == 180
    assert turns["boxing.left"] == 270
    assert turns["boxing.front"] == 0
    assert cover.zip_panel is not None
    assert cover.zip_panel.panel_mm == 500


# --- joins ----------------------------------------------------------------------------------


def test_a_front_too_wide_to_hide_its_joins_is_joined_at_the_corners() -> None:
    c = cushion(rectangle(1340, 500))
    found = findings(c)
    assert found["CON-041"].severity is Severity.WARN
    assert {p.id for p in cover_of(c).pieces} >= {"seat.boxing.front", "seat.boxing.left", "seat.boxing.right"}


def test_unseen_sides_take_the_join() -> None:
    plan = rectangle(1000, 500, hidden=("left",))
    (band,) = [s for s in cover_of(cushion(plan)).strips if s.kind == "boxing"]
    assert band.windows
    lengths = [b - a for a, b in band.windows]
    assert max(lengths) > 250
    assert band.most_parts >= 2


def test_joins_at_corners_make_pieces() -> None:
    cover = cover_of(cushion(rectangle(500, 400), cover=Cover(joins_at_corners=True)))
    assert not [s for s in cover.strips if s.kind == "boxing"]
    assert sum(s.kind == "boxing_join" for s in cover.seams) == 2


# --- panels ---------------------------------------------------------------------------------


def test_even_stripe_is_seamed_the_same_both_sides() -> None:
    pattern = Pattern(
        "warp_stripe", 80.0, stripes=(Stripe(40, "#111111"), Stripe(40, "#eeeeee")), lines=(("dark", 20),)
    )
    cloth = Cloth("even", "even", 1370.0, pattern=pattern)
    c = cushion(rectangle(1800, 500), cover=Cover(matching=Matching(pin_across="dark")))
    for option in panel_seam_options(Job("job", (c,), (cloth,)), c):
        assert option.at_mm % 40 == pytest.approx(20)


def test_stripe_without_like_edges_says_so() -> None:
    stripes = (Stripe(40, "#a01010"), Stripe(10, "#10a010"), Stripe(26, "#1010a0"), Stripe(20, "#a0a010"))
    cloth = Cloth("odd", "odd", 1370.0, pattern=Pattern("warp_stripe", 96.0, stripes=stripes, lines=(("off", 3.0),)))
    c = cushion(rectangle(1800, 500), cover=Cover(matching=Matching(pin_across="off")))
    assert findings(c, cloth)["CON-019"].severity is Severity.WARN


def test_a_seam_asked_for_where_none_can_stand() -> None:
    c = cushion(rectangle(1800, 500))
    assert findings(c, at={"seat": 111.0})["CON-009"].severity is Severity.STOP


def test_panel_beyond_three_widths() -> None:
    assert findings(cushion(rectangle(4500, 500)))["CON-006"].severity is Severity.STOP


def test_whole_panels_have_no_options() -> None:
    c = cushion(rectangle(500, 400))
    assert panel_seam_options(Job("job", (c,), (PLAIN,)), c) == ()


def test_bottom_of_a_turned_over_cushion_is_cut_front_to_front() -> None:
    plan = one_eared(500, 500, 80, 120, ear="left")
    rolled, turned = (cover_of(cushion(plan, turned_over=t)).pieces[1] for t in (False, True))
    assert (rolled.front, turned.front) == ((0.0, 1.0), (0.0, -1.0))
    top = cover_of(cushion(plan)).pieces[0]
    assert (top.hand, rolled.hand, turned.hand) == ("left", "right", "right")


# --- notches --------------------------------------------------------------------------------


def test_notches_on_straights_t24() -> None:
    """T24: at every corner and side centre, at most 2 to 3 ft apart."""
    cover = cover_of(cushion(rectangle(1300, 900)))
    top = cover.pieces[0]
    for want in [(0, 0), (1300, 0), (1300, 900), (0, 900), (650, 0), (1300, 450), (650, 900), (0, 450)]:
        assert min(math.dist(n.at, want) for n in top.notches) < 1e-6
    along = sorted(n.at[0] for n in top.notches if n.at[1] == 0)
    assert max(b - a for a, b in itertools.pairwise(along)) <= 406.4
    assert {n.strokes for n in top.notches if n.at == (650, 900)} == {2}
    assert {n.strokes for n in top.notches if n.at == (650, 0)} == {1}


def test_the_checker_finds_a_piece_that_can_be_turned() -> None:
    """Without the marks that tell, a symmetric cushion's panel could be sewn on flipped."""
    top = cover_of(cushion(rectangle(500, 400))).pieces[0]
    assert not confusions(top.seam, top.notches)
    even = [n for n in top.notches if min(abs(n.at[0] - x) for x in (0, 250, 500)) < 1e-6]
    assert confusions(top.seam, even)
    assert confusions(top.seam, [])


def test_notches_deeper_than_half_the_allowance() -> None:
    make = Cover(allowance_mm=10.0, notching=Notching(depth_mm=6.0))
    stop = findings(cushion(rectangle(500, 400), cover=make))["CON-020"]
    assert stop.severity is Severity.STOP
    assert "6 mm" in stop.message
    assert "5 mm" in stop.message
    outward = replace(make, notching=Notching(depth_mm=6.0, way="outward"))
    assert "CON-020" not in findings(cushion(rectangle(500, 400), cover=outward))
    usual = findings(cushion(rectangle(500, 400), cover=Cover(allowance_mm=8.0)))
    assert usual["CON-021"].severity is Severity.NOTE


def test_fraying_cloth_wants_chalk() -> None:
    assert "chalk" in findings(cushion(rectangle(500, 400)), replace(PLAIN, frays=True))["CON-022"].hint


# --- other refusals -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("code", "fields"),
    [
        ("CON-001", {"thickness_mm": -5.0}),
        ("CON-001", {"thickness_mm": math.inf}),
        ("CON-001", {"cover": Cover(allowance_mm=0.0)}),
        ("CON-001", {"cover": Cover(fit_mm=-1.0)}),
        ("CON-001", {"clearance_mm": {"left": math.nan}}),
        ("CON-002", {"cover": Cover(fit_mm=600.0), "size_is": "fill"}),
        ("CON-002", {"cover": Cover(fit_thickness_mm=90.0), "thickness_is": "fill"}),
        ("CON-003", {"cover": Cover(allowance_mm=60.0)}),
        ("CON-030", {"cover": Cover(piping=Piping(strip_mm=18.0))}),
        ("CON-040", {"cover": Cover(boxing_ease_mm=8.0)}),
        ("CON-050", {"mitred": ("nowhere",)}),
        ("CON-051", {"cover": Cover(zip_cloth="silk")}),
        ("CON-052", {"count": 0}),
    ],
)
def test_refusals(code: str, fields: dict[str, object]) -> None:
    found = construct(
        Job(
            "job",
            (
                replace(cushion(rectangle(500, 400)), **fields),  # type: ignore[arg-type]
            ),
            (PLAIN,),
        )
    )
    stops = {f.code: f for f in found.findings if f.severity is Severity.STOP}
    assert found.value is None
    assert stops[code].place.startswith("seat")
    assert stops[code].message
    assert stops[code].hint


def test_hollow_corner_smaller_than_the_allowance() -> None:
    """An inward rounded corner of 8 mm cannot carry 12 mm of allowance."""
    plan = l_shape(900, 800, 300, 300, radius_mm=8)
    assert findings(cushion(plan))["CON-004"].severity is Severity.STOP


def test_uneven_one_way_stripe_at_a_mitre() -> None:
    stripes = (Stripe(40, "#a01010"), Stripe(10, "#10a010"), Stripe(26, "#1010a0"), Stripe(20, "#a0a010"))
    cloth = Cloth("odd", "odd", 1370.0, pattern=Pattern("warp_stripe", 96.0, stripes=stripes), one_way=True)
    assert findings(cushion(rectangle(500, 400), mitred=("left",)), cloth)["CON-050"].severity is Severity.STOP
    assert "CON-050" not in findings(cushion(rectangle(500, 400), mitred=("left",)))


def test_one_bad_cushion_does_not_hide_the_others() -> None:
    good, bad = cushion(rectangle(500, 400)), cushion(rectangle(500, 400), id="bad", thickness_mm=0.0)
    found = construct(Job("job", (bad, good), (PLAIN,)))
    assert found.stops
    assert found.value is not None
    assert [c.cushion_id for c in found.value.covers] == ["seat"]


def test_a_makers_brackets_are_no_word_of_ours() -> None:
    found = findings(cushion(rectangle(500, 400)), replace(PLAIN, name="[[oddity]]", frays=True))
    assert "[[oddity]]" in found["CON-022"].message


# --- the check ------------------------------------------------------------------------------


@pytest.mark.parametrize("damage", ["seam", "notch", "strokes", "cut", "gap"])
def test_the_check_catches_damage(damage: str) -> None:
    cover = cover_of(cushion(disc(400)))
    assert check_cover(cover, 12.0) == ()
    top, seam = cover.pieces[0], cover.seams[0]
    if damage == "seam":
        shorter = replace(seam.b, path=seam.b.path.part(0, seam.b.path.length - 1))
        cover = replace(cover, seams=(replace(seam, b=shorter), *cover.seams[1:]))
    elif damage == "gap":
        cover = replace(cover, seams=cover.seams[1:])
    elif damage == "cut":
        cover = replace(cover, pieces=(replace(top, cut=top.cut.moved(20, 0)), *cover.pieces[1:]))
    else:
        first = top.notches[1]
        wrong = replace(first, strokes=3 - first.strokes) if damage == "strokes" else replace(first, pair="lost")
        notches = (top.notches[0], wrong, *top.notches[2:])
        cover = replace(cover, pieces=(replace(top, notches=notches), *cover.pieces[1:]))
    assert check_cover(cover, 12.0)


def test_piping_round_a_tight_curve_is_said_not_refused() -> None:
    """Straight-cut piping is fine on a radius of 180; on 50 it is worth a word."""
    assert "CON-032" not in findings(cushion(disc(360)))
    assert findings(cushion(rounded_rectangle(500, 400, 50)))["CON-032"].severity is Severity.NOTE


def test_bias_piping() -> None:
    c = cushion(d_shape(500, 450), cover=Cover(piping=Piping("top", cut="bias")))
    (strip,) = [s for s in cover_of(c).strips if s.kind == "piping"]
    assert (strip.turn_deg, strip.count) == (45, 1)
    assert 2 * strip.end_mm == pytest.approx(2 * 0.25 * IN * math.sqrt(2))


def test_piping_to_spare_t25() -> None:
    """T25: the ring's ends overlap by about 2 in, which the strip has to spare."""
    cover = cover_of(cushion(rectangle(500, 400)))
    (strip,) = [s for s in cover.strips if s.kind == "piping"]
    assert (strip.length_mm - cover.ring_mm) / IN == pytest.approx(2, abs=0.05)


@pytest.mark.parametrize(
    "plan", [rectangle(500, 400), trapezoid(450, 380, 420), one_eared(500, 550, 80, 120, ear="right")]
)
def test_zip_returns_a_few_inches_z4(plan: Outcome[Outline]) -> None:
    """Z4, trade habit, from memory: back width and 2 to 4 in round each back corner."""
    zipped = cover_of(cushion(plan)).zip_panel
    assert zipped is not None
    assert 2 * IN <= zipped.return_mm <= 4 * IN


def test_halves_of_a_turned_over_bottom_are_named_as_they_lie() -> None:
    """Face up with the front towards you, the piece called left lies to the left."""
    for turned in (False, True):
        cover = cover_of(cushion(rectangle(1800, 500), turned_over=turned))
        middles = {p.id: sum(p.seam.bounds()[::2]) for p in cover.pieces if p.kind == "bottom"}
        assert middles["seat.bottom.left"] < middles["seat.bottom.middle"] < middles["seat.bottom.right"]


def test_by_hand_the_narrow_part_gives_the_hand() -> None:
    for ear in ("left", "right"):
        top, bottom = cover_of(cushion(one_eared(500, 550, 80, 120, ear=ear))).pieces[:2]
        assert top.hand == ear
        assert bottom.hand != ear
    assert cover_of(cushion(rectangle(500, 400), hand="left")).pieces[0].hand == ""


def test_a_hand_that_does_not_agree_with_its_shape_is_said() -> None:
    left_ear = cushion(one_eared(500, 550, 80, 120, ear="left"), hand="right")
    assert "left as you face" in findings(left_ear)["CON-053"].message
    assert "CON-053" not in findings(replace(left_ear, hand="left"))


def test_piping_on_narrow_cloth_relaxes_its_least_part() -> None:
    """A ring of 942 mm and its spare, on 450 mm of contrast cloth: three equal strips, each under 400 mm."""
    narrow = replace(PLAIN, id="contrast", usable_width_mm=450.0)
    stool = cushion(disc(300), cover=Cover(piping_cloth="contrast"))
    built = construct(Job("job", (stool,), (PLAIN, narrow)))
    assert built.value is not None
    assert [f.severity for f in built.findings if f.code == "CON-033"] == [Severity.NOTE]
    (strip,) = (s for s in built.value.covers[0].strips if s.kind == "piping")
    total = strip.s1_mm - strip.s0_mm
    assert strip.least_part_mm <= total / math.ceil(total / (450.0 - 2 * strip.end_mm))
    assert "CON-033" not in findings(cushion(disc(300)))


def test_a_panel_that_no_three_widths_span_is_offered_only_what_would_do() -> None:
    hint = findings(cushion(rectangle(4500, 500)), replace(PLAIN, may_railroad=False))["CON-006"].hint
    assert "middle width" not in hint
    assert "railroad" not in hint
    assert "4524 mm" in hint


def test_a_rounded_corner_used_up_is_said_in_a_makers_words() -> None:
    """A 5 mm corner with a fit of 24, 12 a side: nothing of it is left, and more than 12 would do."""
    plan = rounded_rectangle(400, 400, 5.0)
    told = findings(cushion(plan, size_is="fill", cover=Cover(fit_mm=24.0)))["CON-002"].message
    assert "offset" not in told
    assert "5 mm radius is used up" in told
    assert "more than 12 mm would do" in told
