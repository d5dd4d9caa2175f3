"""W2 to W5, worked by hand: a round stool, a seamed bench, one-eared velvet seats, motif seats.

Common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from squab.cloth import Cloth, Pattern, Stripe
from squab.construct import construct, panel_seam_options
from squab.construct.records import Construction, CushionCover, Piece
from squab.construct.snips import slit_mm
from squab.findings import Outcome
from squab.job import Cover, Cushion, Job, Matching, Piping, Zip
from squab.measure.shapes import disc, one_eared, rectangle
from squab.plane import Outline

STRIPE = Pattern(
    "warp_stripe",
    96.0,
    stripes=(Stripe(40, "#a01010", "A"), Stripe(10, "#10a010"), Stripe(26, "#1010a0"), Stripe(20, "#a0a010")),
    lines=(("A", 20.0),),
)
STRIPED = Cloth("stripe", "unequal stripe", 1370.0, pattern=STRIPE)


def outline(found: Outcome[Outline]) -> Outline:
    assert found.value is not None
    return found.value


def built(*cushions: Cushion, cloth: Cloth = STRIPED, at: float | None = None) -> Construction:
    places = {c.id: at for c in cushions if at is not None}
    found = construct(Job("job", cushions, (cloth,)), panel_seam_at_mm=places)
    assert found.value is not None, found.findings
    return found.value


def codes(*cushions: Cushion, cloth: Cloth = STRIPED) -> set[str]:
    return {f.code for f in construct(Job("job", cushions, (cloth,))).findings}


def cut(piece: Piece) -> tuple[float, float]:
    x0, y0, x1, y1 = piece.cut.bounds()
    return x1 - x0, y1 - y0


def piece(cover: CushionCover, name: str) -> Piece:
    return next(p for p in cover.pieces if p.id == f"{cover.cushion_id}.{name}")


# --- W2: a round stool pad ------------------------------------------------------------------


def stool(thickness: float = 40.0, **cover: object) -> Cushion:
    make = replace(Cover(piping=Piping(strip_mm=32.0), matching=Matching(pin_across="A")), **cover)  # type: ignore[arg-type]
    return Cushion("stool", "stool", outline(disc(360)), thickness, size_is="seam", thickness_is="seam", cover=make)


def test_stool_piping_strip_narrower_than_the_allowance() -> None:
    """The flange of a 32 strip is 8.46; it lies 3.54 inside, and the ring stays 1131.0."""
    plan = built(stool()).covers[0].piping
    assert plan is not None
    assert (plan.wrap_mm, plan.flange_mm, plan.inside_edge_mm) == pytest.approx((15.08, 8.46, 3.54), abs=0.005)
    assert plan.ring_mm == pytest.approx(1131.0, abs=0.05)
    assert "CON-031" in codes(stool())
    cured = built(stool(piping=Piping())).covers[0].piping
    assert cured is not None
    assert cured.strip_cut_mm == 40


def test_stool_panel_and_boxing() -> None:
    """Panel 384; zip half 590 x 96, plain half 590 x 64."""
    cover = built(stool()).covers[0]
    assert cut(piece(cover, "top")) == pytest.approx((384, 384))
    assert cut(piece(cover, "zip_panel")) == pytest.approx((589.5, 96), abs=0.05)
    (band,) = [s for s in cover.strips if s.kind == "boxing"]
    assert band.length_mm + 2 * band.end_mm == pytest.approx(589.5, abs=0.05)
    assert band.cut_width_mm == 64


def test_stool_notches() -> None:
    """Eight at 141.4, the back one double; the zip joins at 3 and 9 o'clock; marks tell a turned one."""
    cover = built(stool()).covers[0]
    top = piece(cover, "top")
    angles = sorted((math.degrees(math.atan2(n.at[1] - 180, n.at[0] - 180)) % 360, n.strokes) for n in top.notches)
    eighths = [(a, k) for a, k in angles if abs(a / 45 - round(a / 45)) < 1e-6]
    assert len(eighths) == 8
    assert [a for a, k in eighths if k == 2] == pytest.approx([90])
    assert len(angles) == 9
    joins = [s for s in cover.seams if s.kind == "zip_join"]
    assert {s.side for s in joins} == {"left", "right"}
    assert cover.zip_panel is not None
    assert cover.zip_panel.panel_mm == pytest.approx(cover.ring_mm / 2)


def test_stool_too_thin_for_its_zip() -> None:
    """Tape 32 in 40 leaves 4 each side and passes; in 36 it leaves 2 and fails; the bottom is the way out."""
    assert "CON-010" not in codes(stool())
    found = construct(Job("job", (stool(36.0),), (STRIPED,)))
    (thin,) = [f for f in found.findings if f.code == "CON-010"]
    assert "36 mm" in thin.message
    assert "2 mm" in thin.message
    assert "bottom" in thin.hint
    assert found.value is None
    in_bottom = built(stool(36.0, zip=Zip(place="bottom"))).covers[0]
    assert {p.id for p in in_bottom.pieces} == {"stool.top", "stool.bottom.front", "stool.bottom.back"}
    assert in_bottom.zip_panel is not None
    assert in_bottom.zip_panel.place == "bottom"


# --- W3: a bench wider than the cloth --------------------------------------------------------


def bench(**cover: object) -> Cushion:
    make = replace(Cover(piping=Piping(strip_mm=40.0), matching=Matching(pin_across="A")), **cover)  # type: ignore[arg-type]
    plan = outline(rectangle(1830, 500, hidden=("back",)))
    return Cushion("bench", "bench", plan, 75.0, size_is="seam", thickness_is="seam", cover=make)


def test_bench_seam_options() -> None:
    """Only A's edges stand at both +c and -c: 96 k + 20 or + 76. 652 fits 43 of 96 starts, 596 every one."""
    options = panel_seam_options(Job("job", (bench(),), (STRIPED,)), bench())
    assert all(round(o.at_mm) % 96 in (20, 76) and o.on_edge for o in options)
    first, second = options[:2]
    assert (first.at_mm, first.middle_cut_mm, first.side_cut_mm) == (652, 1328, 287)
    assert (first.play_mm, first.fits_starts, first.of_starts, first.always) == (42, 43, 96, False)
    assert (second.at_mm, second.middle_cut_mm, second.side_cut_mm, second.always) == (596, 1216, 343, True)


@pytest.mark.parametrize(("at", "middle", "side"), [(None, 1216, 343), (652.0, 1328, 287)])
def test_bench_pieces(at: float | None, middle: float, side: float) -> None:
    """Three widths, the same three in the front boxing, sides 524 x 99, zip panel 131 high over the whole back."""
    cover = built(bench(), at=at).covers[0]
    for edge in ("top", "bottom"):
        assert cut(piece(cover, f"{edge}.middle")) == pytest.approx((middle, 524))
        assert cut(piece(cover, f"{edge}.left")) == cut(piece(cover, f"{edge}.right")) == pytest.approx((side, 524))
    assert cut(piece(cover, "boxing.front_middle")) == pytest.approx((middle, 99))
    assert cut(piece(cover, "boxing.front_left")) == pytest.approx((side, 99))
    assert cut(piece(cover, "boxing.left")) == cut(piece(cover, "boxing.right")) == pytest.approx((524, 99))
    (zipped,) = [s for s in cover.strips if s.id == "bench.zip_panel"]
    assert (zipped.length_mm, zipped.cut_width_mm) == (1830, 131)
    assert cover.zip_panel is not None
    assert cover.zip_panel.sliders == 2
    assert sum(s.kind == "panel_panel" for s in cover.seams) == 4


def test_bench_front_is_seamed_under_the_panel_seams() -> None:
    cover = built(bench()).covers[0]
    joins = [s for s in cover.seams if s.kind == "boxing_join" and s.side == "front"]
    at = sorted({round(s.a.path.point_at(0)[0] % cover.ring_mm) for s in joins})
    assert 915 - 596 in at
    assert 915 + 596 in at


def test_bench_piping() -> None:
    """Ring 4660; with 50 to spare 4710; a square end gives half its 40 to each join."""
    cover = built(bench()).covers[0]
    (strip,) = [s for s in cover.strips if s.kind == "piping"]
    assert (cover.ring_mm, strip.length_mm, strip.end_mm, strip.count) == (4660, 4710, 20, 2)


def test_bench_where_the_bolt_must_be_measured_is_said() -> None:
    found = construct(Job("job", (bench(),), (STRIPED,)), panel_seam_at_mm={"bench": 652.0})
    (said,) = [f for f in found.findings if f.code == "CON-018"]
    assert "43 of 96" in said.message


def test_bench_railroaded() -> None:
    """Where the cloth may be turned and the maker asks, the panel stays whole and runs along the bolt."""
    cloth = replace(STRIPED, may_railroad=True)
    cover = built(bench(panel_seams="railroad"), cloth=cloth).covers[0]
    assert piece(cover, "top").turn_deg == 90
    assert cut(piece(cover, "top")) == pytest.approx((1854, 524))
    assert "CON-007" in codes(bench(panel_seams="railroad"))
    assert "CON-005" in codes(bench(panel_seams="none"))


# --- W4: two one-eared velvet seats ----------------------------------------------------------

VELVET = Cloth("velvet", "velvet", 1370.0, one_way=True, pile=True)


def eared(hand: str, **cover: object) -> Cushion:
    plan = outline(one_eared(620, 600, 80, 130, ear=hand))  # type: ignore[arg-type]
    return Cushion(
        hand, hand, plan, 110.0, size_is="seam", thickness_is="seam", hand=hand, turned_over=True,  # type: ignore[arg-type]
        cover=replace(Cover(), **cover),  # type: ignore[arg-type]
    )  # fmt: skip


def test_pair_has_two_left_and_two_right_panels() -> None:
    cut_sizes, hands = set(), []
    for p in built(eared("left"), eared("right"), cloth=VELVET).pieces:
        if p.kind in ("top", "bottom"):
            hands.append(p.hand)
            cut_sizes.add(tuple(round(x) for x in cut(p)))
            assert p.front == (0.0, -1.0)
    assert sorted(hands) == ["left", "left", "right", "right"]
    assert cut_sizes == {(724, 624)}


def test_every_left_panel_is_the_same_shape() -> None:
    """The right cushion's bottom is the left cushion's top."""
    from shapely import Polygon

    pieces = built(eared("left"), eared("right"), cloth=VELVET).pieces
    left = [p for p in pieces if p.hand == "left"]
    shapes = []
    for p in left:
        x0, y0, _, _ = p.cut.bounds()
        shapes.append(Polygon(p.cut.moved(-x0, -y0).flattened()))
    assert shapes[0].symmetric_difference(shapes[1]).area < 1.0


def test_eared_boxing_and_zip() -> None:
    """Zip panel 820 (cut 844); the rest 1780 (cut 1804), two parts joined behind, 134 high, nothing turned."""
    cover = built(eared("left"), cloth=VELVET).covers[0]
    assert cover.ring_mm == pytest.approx(2600)
    assert cut(piece(cover, "zip_panel"))[0] == pytest.approx(844)
    (band,) = [s for s in cover.strips if s.kind == "boxing"]
    assert (band.length_mm, band.cut_width_mm, band.turn_deg) == (1780, 134, 0)
    assert band.windows
    for a, b in band.windows:
        assert b <= 2600 - 76 + 1e-6 or a >= 2600 + 700 + 76 - 1e-6


def test_eared_join_keeps_clear_of_the_front_corners() -> None:
    cover = built(eared("left", join_clear_of_front_mm=150.0), cloth=VELVET).covers[0]
    (band,) = [s for s in cover.strips if s.kind == "boxing"]
    for a, b in band.windows or ():
        assert b <= 2600 - 150 + 1e-6 or a >= 2600 + 700 + 150 - 1e-6


def test_eared_inward_corner_is_slit() -> None:
    """12 x sqrt 2 = 17.0, stopping 1.5 short: 15.5, on both panels; the boxing is clipped at outward corners."""
    cover = built(eared("left"), cloth=VELVET).covers[0]
    assert slit_mm(12) == pytest.approx(15.47, abs=0.005)
    for name in ("top", "bottom"):
        (slit,) = piece(cover, name).snips
        assert slit.why == "inward_corner"
        assert slit.depth_mm == pytest.approx(15.5, abs=0.05)
        assert abs(slit.outward[0]) == pytest.approx(abs(slit.outward[1]))
    of_pieces = [s for p in cover.pieces for s in p.snips if s.why == "outward_corner"]
    of_strips = [s for p in cover.strips for s in p.snips if s.why == "outward_corner"]
    clips = [*of_pieces, *of_strips]
    assert len(clips) == 2 * 5


def test_one_eared_cannot_be_turned_over_in_its_own_place() -> None:
    assert "CON-042" in codes(eared("left"), cloth=VELVET)
    assert "CON-043" in codes(eared("left", matching=Matching(sides_along=True)), cloth=VELVET)


# --- W5: four reversible seats in one big motif ---------------------------------------------

MOTIF = Cloth("motif", "big motif", 1370.0, pattern=Pattern("print", 685.0, 640.0), one_way=True)


def test_motif_seats() -> None:
    plan = outline(rectangle(600, 576))
    make = Cover(piping=Piping("none"), matching=Matching(pin_across="motif", pin_along="motif"))
    seat = Cushion(
        "seat", "seat", plan, 100.0, size_is="seam", thickness_is="seam", count=4, turned_over=True, cover=make
    )
    cover = built(seat, cloth=MOTIF).covers[0]
    for name in ("top", "bottom"):
        panel = piece(cover, name)
        assert cut(panel) == pytest.approx((624, 600))
        assert (panel.count, panel.front) == (4, (0.0, -1.0))
    (band,) = [s for s in cover.strips if s.kind == "boxing"]
    assert (band.cut_width_mm, band.count) == (124, 4)
    assert "CON-015" in codes(seat, cloth=MOTIF)
