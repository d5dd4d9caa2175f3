"""Laws of construction, for random cushions: seams pair, notches meet, allowances never change the fit."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import Polygon, affinity

from squab.cloth import Cloth, Pattern, Stripe
from squab.construct import construct
from squab.construct.records import CushionCover, Notch
from squab.construct.shape import offset_each, rectangle
from squab.findings import Outcome, Severity
from squab.job import Cover, Cushion, Job, Matching, Piping, Zip
from squab.measure import shapes
from squab.plane import Outline
from tests.laws.draws import draws

FEW = settings(
    max_examples=draws(25), deadline=None, derandomize=True, suppress_health_check=[HealthCheck.filter_too_much]
)

STRIPES = tuple(Stripe(w, c) for w, c in ((40, "#a01010"), (10, "#10a010"), (26, "#1010a0"), (20, "#a0a010")))
CLOTHS = (
    Cloth("plain", "plain", 1370.0),
    Cloth("stripe", "stripe", 1400.0, pattern=Pattern("warp_stripe", 96.0, stripes=STRIPES)),
    Cloth("velvet", "velvet", 1300.0, one_way=True, pile=True),
)


def sizes(low: float, high: float) -> st.SearchStrategy[float]:
    return st.integers(int(low), int(high)).map(float)


OUTLINES: tuple[st.SearchStrategy[Outcome[Outline]], ...] = (
    st.builds(shapes.rectangle, sizes(300, 2400), sizes(300, 900)),
    st.builds(shapes.rounded_rectangle, sizes(400, 1800), sizes(400, 800), sizes(20, 180)),
    st.builds(shapes.l_shape, sizes(900, 1300), sizes(700, 900), sizes(200, 500), sizes(200, 400)),
    st.builds(shapes.t_shape, sizes(400, 800), sizes(400, 700), sizes(60, 150), sizes(100, 200)),
    st.builds(shapes.one_eared, sizes(400, 800), sizes(400, 700), sizes(60, 150), sizes(100, 200), ear=st.just("left")),
    st.builds(shapes.trapezoid, sizes(400, 700), sizes(350, 650), sizes(350, 600)),
    st.builds(shapes.disc, sizes(250, 900)),
    st.builds(shapes.d_shape, sizes(400, 900), sizes(350, 800)),
)
COVERS = st.builds(
    Cover,
    allowance_mm=st.sampled_from([8.0, 10.0, 12.0, 12.7, 15.0]),
    zip=st.builds(
        Zip,
        place=st.sampled_from(["boxing", "boxing", "boxing", "bottom", "none"]),
        making=st.sampled_from(["fold_and_split", "two_single", "two_doubled", "lapped"]),
        tape_mm=st.sampled_from([26.0, 32.0]),
    ),
    piping=st.builds(Piping, edges=st.sampled_from(["none", "top", "both"])),
    matching=st.builds(Matching, sides_along=st.booleans()),
    joins_at_corners=st.booleans(),
    boxing_ease_mm=st.sampled_from([0.0, 0.0, 4.0]),
)


@st.composite
def cushions(draw: st.DrawFn) -> Cushion:
    found = draw(st.one_of(*OUTLINES))
    assert found.value is not None
    return Cushion(
        "c", "c", found.value, draw(sizes(50, 140)), size_is=draw(st.sampled_from(["seam", "fill", "finished"])),
        turned_over=draw(st.booleans()), cover=draw(COVERS),
    )  # fmt: skip


def built(cushion: Cushion, cloth: Cloth) -> CushionCover | None:
    """The cover, or None where it was refused for a reason that a maker would call one."""
    found = construct(Job("job", (cushion,), (cloth,)))
    stops = {f.code for f in found.findings if f.severity is Severity.STOP}
    assert "CON-090" not in stops, found.findings
    assert (found.value is None) == bool(stops)
    assert stops <= {"CON-004", "CON-006", "CON-009", "CON-010", "CON-012", "CON-013", "CON-043"}, found.findings
    return found.value.covers[0] if found.value else None


@FEW
@given(cushion=cushions(), cloth=st.sampled_from(CLOTHS))
def test_seams_pair_and_go_all_round(cushion: Cushion, cloth: Cloth) -> None:
    """Both stretches of a seam are of one length up to the ease; each edge's seams go once round."""
    cover = built(cushion, cloth)
    if cover is None:
        return
    for seam in cover.seams:
        assert 0 <= seam.a.path.length - seam.b.path.length + 1e-6 <= seam.ease_mm + 2e-6
    for edge in ("top", "bottom"):
        ring = [s for s in cover.seams if s.edge == edge and s.kind in ("panel_boxing", "panel_zip")]
        assert sum(s.a.path.length for s in ring) == pytest.approx(cover.ring_mm)
        assert sum(s.b.path.length for s in ring) == pytest.approx(cover.ring_mm - cushion.cover.boxing_ease_mm)


@FEW
@given(cushion=cushions(), cloth=st.sampled_from(CLOTHS))
def test_every_notch_has_its_like_across_the_seam(cushion: Cushion, cloth: Cloth) -> None:
    """The names on the panels' outer edges are the names on the boxing; a pair is alike."""
    cover = built(cushion, cloth)
    if cover is None:
        return
    panel: dict[str, int] = {}
    boxing: dict[str, int] = {}
    for p in cover.pieces:
        into = panel if p.kind in ("top", "bottom") else boxing
        into.update({n.pair: n.strokes for n in p.notches if "S" not in n.pair.split(":")[1]})
    for s in cover.strips:
        boxing.update({n.pair: n.strokes for n in s.notches})
    assert panel == boxing


@FEW
@given(cushion=cushions(), allowance=st.sampled_from([6.0, 9.5, 14.0]))
def test_an_allowance_never_changes_the_seam_size(cushion: Cushion, allowance: float) -> None:
    cover = built(cushion, CLOTHS[0])
    other = built(replace(cushion, cover=replace(cushion.cover, allowance_mm=allowance)), CLOTHS[0])
    if cover is None or other is None:
        return
    assert cover.sizes.seam == other.sizes.seam
    assert cover.seam_outline == other.seam_outline
    assert cover.thickness_mm == other.thickness_mm
    assert cover.fill_outline == other.fill_outline


@FEW
@given(cushion=cushions(), cloth=st.sampled_from(CLOTHS))
def test_no_piece_can_be_sewn_on_turned_or_flipped(cushion: Cushion, cloth: Cloth) -> None:
    """By brute force on the drawn shapes: every turn and flip that lays a piece on itself moves a notch."""
    found = construct(Job("job", (cushion,), (cloth,)))
    if found.value is None or any(f.code == "CON-023" for f in found.findings):
        return
    cover = found.value.covers[0]
    for p in cover.pieces:
        assert not _lies_on_itself(p.seam, p.notches), p.id
    for s in cover.strips:
        if s.kind == "boxing":
            seam = rectangle(s.s0_mm, s.seam_z[0], s.s1_mm, s.seam_z[1])
            assert not _lies_on_itself(seam, s.notches), s.id


def _lies_on_itself(seam: Outline, notches: tuple[Notch, ...]) -> bool:
    shape = Polygon(seam.flattened(0.2))
    c = shape.centroid
    marks = np.array([n.at for n in notches]) - (c.x, c.y)
    strokes = [n.strokes for n in notches]
    centred = affinity.translate(shape, -c.x, -c.y)
    for flip in (1.0, -1.0):
        flipped = affinity.scale(centred, flip, 1.0, origin=(0, 0))
        for turn in _turns(marks * (flip, 1.0), marks, strokes):
            if flip > 0 and abs((turn + 1) % 360 - 1) < 0.5:
                continue
            if affinity.rotate(flipped, turn, origin=(0, 0)).symmetric_difference(centred).area > 0.5 * shape.length:
                continue
            if _falls_on(_turned(marks * (flip, 1.0), turn), marks, strokes):
                return True
    return False


def _turns(moved: np.ndarray, marks: np.ndarray, strokes: list[int]) -> list[float]:
    """Turns that lay the first notch in the direction of some like notch."""
    first = math.degrees(math.atan2(moved[0][1], moved[0][0]))
    return [
        math.degrees(math.atan2(m[1], m[0])) - first for m, k in zip(marks, strokes, strict=True) if k == strokes[0]
    ]


def _turned(marks: np.ndarray, turn: float) -> np.ndarray:
    a = math.radians(turn)
    return np.asarray(marks @ np.array([[math.cos(a), math.sin(a)], [-math.sin(a), math.cos(a)]]))


def _falls_on(moved: np.ndarray, marks: np.ndarray, strokes: list[int]) -> bool:
    return all(
        any(k == j and math.dist(m, n) < 3.0 for n, j in zip(marks, strokes, strict=True))
        for m, k in zip(moved, strokes, strict=True)
    )


@FEW
@given(found=st.one_of(*OUTLINES), by=st.dictionaries(st.sampled_from(["front", "right", "back", "left"]), sizes(0, 8)))
def test_each_side_moves_by_its_own_distance(found: Outcome[Outline], by: dict[str, float]) -> None:
    """Where the sides can be moved at all, every straight side ends up its own distance inside."""
    from squab.errors import OutlineError
    from squab.plane import Line

    assert found.value is not None
    plan = found.value
    try:
        moved = offset_each(plan, [-by.get(side, 0.0) for side in plan.sides])
    except OutlineError:
        return
    shape: Callable[[Outline], Polygon] = lambda o: Polygon(o.flattened(0.02))  # noqa: E731
    assert shape(plan).buffer(0.05).contains(shape(moved))
    if len(moved.edges) != len(plan.edges):
        return
    for before, after, side in zip(plan.edges, moved.edges, plan.sides, strict=True):
        if isinstance(before, Line):
            t, m = before.tangent_at(0.0), after.point_at(after.length / 2)
            gap = (m[1] - before.start[1]) * t[0] - (m[0] - before.start[0]) * t[1]
            assert gap == pytest.approx(by.get(side, 0.0), abs=1e-6)
