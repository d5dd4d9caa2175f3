"""Laws of the proof: no bound is longer than a sound lay, whatever was cut, on whatever cloth.

Lays are planted. A strip of cloth is cut through, edge to edge, again and again, until it is all
pieces; the problem is then read off the pieces, with the places on the repeat that they happen to
have. The lay is perfect, or nearly so, which is where a bound that claims too much is caught.
"""

from __future__ import annotations

import math
import time
from dataclasses import dataclass

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from squab.lay._bars import Column, anchored_bound, bars_bound
from squab.lay._behind import behind_bound
from squab.lay._demand import DemandOf, with_whole_strips
from squab.lay._exact import exact_bound
from squab.lay._places import places_bound
from squab.lay._scales import Scales
from squab.lay._whole import whole_bound
from squab.lay.bound import lower_bound
from squab.lay.records import Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.lay.verify import verify
from squab.plane import Placement, Points
from tests.laws.draws import draws

Box = tuple[float, float, float, float]


@dataclass
class Planted:
    problem: LayProblem
    lay: Lay


def cut_through(draw: st.DrawFn, box: Box, gap: float, cuts: int, sizes: st.SearchStrategy[float]) -> list[Box]:
    """Cut one box edge to edge into at most `cuts` + 1, a gap lost at each cut."""
    boxes = [box]
    for _ in range(cuts):
        i = draw(st.integers(0, len(boxes) - 1))
        u0, v0, u1, v1 = boxes[i]
        at = draw(sizes)
        if draw(st.booleans()):
            if u0 + 5 < u0 + at < u1 - gap - 5:
                boxes[i : i + 1] = [(u0, v0, u0 + at, v1), (u0 + at + gap, v0, u1, v1)]
        elif v0 + 5 < v0 + at < v1 - gap - 5:
            boxes[i : i + 1] = [(u0, v0, u1, v0 + at), (u0, v0 + at + gap, u1, v1)]
    return boxes


def within(draw: st.DrawFn, box: Box) -> Points:
    """An outline within a box: the box itself, most often, or a slant, an L, a lozenge in it."""
    w, h = box[2] - box[0], box[3] - box[1]
    shape = draw(st.sampled_from(("box", "box", "slant", "ell", "lozenge")))
    if shape == "slant":
        return np.array([(0, 0), (w, 0), (w * 0.75, h), (0, h)])
    if shape == "ell":
        return np.array([(0, 0), (w, 0), (w, h / 2), (w / 3, h / 2), (w / 3, h), (0, h)])
    if shape == "lozenge":
        return np.array([(w / 2, 0), (w, h / 2), (w / 2, h), (0, h / 2)])
    return np.array([(0, 0), (w, 0), (w, h), (0, h)], dtype=np.float64)


@st.composite
def planted_lays(draw: st.DrawFn, whole: bool, outlines: bool) -> Planted:
    size = st.integers(6, 400).map(float) if whole else st.floats(6, 400)
    width, length, gap = draw(size) + 60, draw(size) + 60, draw(st.sampled_from((0.0, 0.0, 1.0, 3.0)))
    boxes = cut_through(draw, (0.0, 0.0, width, length), gap, draw(st.integers(0, 9)), size)
    lattice = draw(lattices(size))
    known = [draw(st.booleans()) for _ in range(4)]
    at = (draw(size), draw(size))
    anchors = {g: (draw(size), draw(size)) for g in "ab"}
    pieces, strips, placed = [], [], []
    for i, box in enumerate(boxes):
        if not outlines and draw(st.integers(0, 4)) == 0:
            strip, parts = _strip(draw, f"s{i}", box, gap)
            strips.append(strip)
            placed += parts
            continue
        turn = draw(st.sampled_from((0, 90, 180, 270)))
        uv = (within(draw, box) if outlines else within_box(box)) + np.array(box[:2])
        local = Placement(-turn % 360, 0.0, 0.0).points(uv)
        corner = local.min(axis=0)
        u, v = Placement(turn, 0.0, 0.0).point((float(corner[0]), float(corner[1])))
        others = draw(st.sets(st.sampled_from((0, 90, 180, 270)), max_size=2))
        phase = draw(phases(u, v, at, anchors))
        pieces.append(LayPiece(f"p{i}", local - corner, tuple(sorted({turn, *others})), phase))
        placed.append(Placed(f"p{i}", turn, u, v))
    last = max(box[3] for box in boxes)
    if outlines:
        tops = [
            Placement(y.turn_deg, y.u_mm, y.v_mm).points(x.outline)[:, 1].max()
            for x, y in zip(pieces, placed, strict=True)
        ]
        last = float(max(tops))
    problem = LayProblem(
        "planted", width, lattice, tuple(pieces), tuple(strips),
        {g: (a if known[0] else None, b if known[1] else None) for g, (a, b) in anchors.items()},
        (at[0] if known[2] else None, at[1] if known[3] else None), gap,
    )  # fmt: skip
    return Planted(problem, Lay(tuple(placed), anchors, at, last))


def within_box(box: Box) -> Points:
    w, h = box[2] - box[0], box[3] - box[1]
    return np.array([(0, 0), (w, 0), (w, h), (0, h)], dtype=np.float64)


@st.composite
def lattices(draw: st.DrawFn, size: st.SearchStrategy[float]) -> Lattice:
    kind = draw(st.sampled_from(("plain", "stripe", "weft", "print", "half drop")))
    across, along = draw(size), draw(size)
    return {
        "plain": Lattice(), "stripe": Lattice(across), "weft": Lattice(None, along),
        "print": Lattice(across, along), "half drop": Lattice(across, along, along / 2),
    }[kind]  # fmt: skip


@st.composite
def phases(
    draw: st.DrawFn, u: float, v: float, at: tuple[float, float], anchors: dict[str, tuple[float, float]]
) -> LayPhase | None:
    """The phase that a placed piece happens to have, in one of the groups, perhaps seen from a mirror axis."""
    if draw(st.integers(0, 3)) == 0:
        return None
    group = draw(st.sampled_from("aab"))
    sp, sq = (draw(st.sampled_from((1, 1, -1))) for _ in range(2))
    off_p = u - at[0] - sp * anchors[group][0] if draw(st.integers(0, 4)) else None
    off_q = v - at[1] - sq * anchors[group][1] if draw(st.integers(0, 4)) else None
    return LayPhase(group, off_p, off_q, sp, sq)


def _strip(draw: st.DrawFn, key: str, box: Box, gap: float) -> tuple[LayStrip, list[Placed]]:
    """The box as up to four parts of a strip, side by side, that lie in it or stand in it."""
    w, h = box[2] - box[0], box[3] - box[1]
    turn = draw(st.sampled_from((0, 90)))
    run, side = (w, h) if turn == 0 else (h, w)
    rows = draw(st.integers(1, 4)) if side > 4 * (gap + 2) else 1
    thick, end = (side - (rows - 1) * gap) / rows, draw(st.sampled_from((0.0, 2.0)))
    each, placed = run - 2 * end, []
    for row in range(rows):
        along, beside = end - row * each, row * (thick + gap)
        origin = (box[0] + along, box[1] + beside) if turn == 0 else (box[2] - beside, box[1] + along)
        placed.append(Placed(key, turn, *origin, (row * each, (row + 1) * each)))
    turns = draw(st.sampled_from(((turn,), (0, 90))))
    least, fewest = each / draw(st.integers(1, 4)), draw(st.integers(1, rows))
    return LayStrip(key, 0.0, rows * each, 0.0, thick, end, least, turns, None, 4, least_parts=fewest), placed


def check(planted: Planted) -> None:
    assert verify(planted.problem, planted.lay) == ()
    bound = lower_bound(planted.problem, seconds=0.05)
    assert bound.length_mm <= planted.lay.length_mm + 1e-6, bound
    assert math.isfinite(bound.length_mm)
    assert bound.length_mm > 0


@settings(max_examples=draws(14), deadline=None)
@given(planted_lays(whole=True, outlines=False))
def test_no_bound_is_longer_than_a_lay_in_whole_millimetres(planted: Planted) -> None:
    check(planted)


@settings(max_examples=draws(14), deadline=None)
@given(planted_lays(whole=False, outlines=False))
def test_no_bound_is_longer_than_a_lay_of_any_sizes(planted: Planted) -> None:
    check(planted)


@settings(max_examples=draws(12), deadline=None)
@given(planted_lays(whole=False, outlines=True))
def test_no_bound_is_longer_than_a_lay_of_any_outlines(planted: Planted) -> None:
    check(planted)


@settings(max_examples=draws(14), deadline=None)
@given(planted_lays(whole=False, outlines=False))
def test_new_widths_and_heights_do_not_crowd_a_lay(planted: Planted) -> None:
    """A cloth on which everything lies is never shown to be too short, however long is worked at it."""
    scales = Scales(with_whole_strips(planted.problem))
    assert not scales.too_short(planted.lay.length_mm + 1e-6, time.perf_counter() + 0.5)


@settings(max_examples=draws(25), deadline=None)
@given(planted_lays(whole=False, outlines=False))
def test_every_method_by_itself_keeps_below_a_lay(planted: Planted) -> None:
    """Each with time to come to its end, and begun from nothing: what one misses another would hide."""
    problem, most = with_whole_strips(planted.problem), planted.lay.length_mm + 1e-6
    shown = places_bound(problem, 0.0, time.perf_counter() + 2.0)
    assert shown <= whole_bound(problem, shown, time.perf_counter() + 0.5) <= most
    build = DemandOf(problem, "across", in_parts=True)
    demand, known = build.demand(problem.usable_width_mm), list[Column]()
    mixed = bars_bound(demand, time.perf_counter() + 0.5, start=known)
    assert mixed.reach_mm <= anchored_bound(demand, time.perf_counter() + 0.5, mixed) <= most
    assert behind_bound(build, demand, mixed, known, time.perf_counter() + 1.0) <= most
    short = DemandOf(problem, "across", in_parts=True, within_mm=most).demand(problem.usable_width_mm)
    assert bars_bound(short, time.perf_counter() + 0.5).reach_mm <= most
    length, _ = exact_bound(problem, 0.8 * planted.lay.length_mm, time.perf_counter() + 0.3)
    assert length <= most
