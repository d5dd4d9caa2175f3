"""Laws of the arrangements: a cloth on which everything lies is never shown to be too short for the strips.

Lays are planted: a cloth is cut through, edge to edge, until it is all pieces and parts of strips. Others are found by
the search, which knows nothing of the proof.
"""

from __future__ import annotations

import math
import random
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import replace

from hypothesis import given, settings
from hypothesis import strategies as st

from squab.errors import LayError
from squab.lay._arranged import Setting, arranged_bound, few_matched
from squab.lay._demand import with_whole_strips
from squab.lay.bound import lower_bound
from squab.lay.records import Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.lay.search import search
from squab.lay.verify import verify
from tests.laws.draws import draws
from tests.laws.test_lay_proof import Box, within_box

Size = Callable[[float, float], float]
SMALLEST_MM = 12.0


def cut_through(r: random.Random, box: Box, gap: float, size: Size) -> list[Box]:
    """A box cut edge to edge into at most a dozen, large ones rather than small ones."""
    boxes = [box]
    for _ in range(r.randint(2, 12)):
        i = max(range(len(boxes)), key=lambda j: r.random() * _area(boxes[j]))
        axis = r.randint(0, 1)
        first, last = boxes[i][axis], boxes[i][axis + 2] - gap
        if last - first > 2.5 * SMALLEST_MM:
            at = first + size(SMALLEST_MM, last - first - SMALLEST_MM)
            one, two = list(boxes[i]), list(boxes[i])
            one[axis + 2], two[axis] = at, at + gap
            boxes[i : i + 1] = [(*one,), (*two,)]  # type: ignore[list-item]
    return boxes


def _area(box: Box) -> float:
    return (box[2] - box[0]) * (box[3] - box[1])


def planted(seed: int) -> tuple[LayProblem, Lay]:
    """A job on a stripe with strips, and a lay of it that wastes nothing but its gaps."""
    r = random.Random(seed)
    size: Size = (lambda a, b: float(r.randint(int(a), int(b)))) if r.random() < 0.6 else r.uniform
    width, length, gap = size(80, 900), size(60, 700), r.choice((0.0, 0.0, 1.0, 3.0))
    repeat, at, anchor = size(10, 200), size(0, 100), size(0, 100)
    pieces, placed, parts = [], [], defaultdict(list)
    for i, box in enumerate(cut_through(r, (0.0, 0.0, width, length), gap, size)):
        if r.random() < 0.45:
            wide, high = box[2] - box[0], box[3] - box[1]
            turn = 0 if (wide >= high) == (r.random() < 0.85) else 90
            parts[round(high if turn == 0 else wide, 9)].append((turn, box))
            continue
        turns, phase = r.choice(((0,), (0, 90))), None
        if r.random() < 0.75:
            sign = 1 if r.random() < 0.85 else -1
            off = box[0] - at - sign * anchor + repeat * r.randint(-2, 2)
            turns, phase = (0,), LayPhase(r.choice("aaaaaaaab"), off, None, sign)
        pieces.append(LayPiece(f"p{i}", within_box(box), turns, phase))
        placed.append(Placed(f"p{i}", 0, box[0], box[1]))
    strips: list[LayStrip] = []
    for thick, held in parts.items():
        while held:
            mine = [held.pop() for _ in range(r.randint(1, min(4, len(held))))]
            strip, lying = _strip(r, f"s{len(strips)}", thick, mine)
            strips.append(strip)
            placed += lying
    pinned = {g: (anchor if r.random() < 0.3 else None, None) for g in "ab"}
    start = (at if r.random() < 0.3 else None, None)
    problem = LayProblem("planted", width, Lattice(repeat), tuple(pieces), tuple(strips), pinned, start, gap)
    return problem, Lay(tuple(placed), dict.fromkeys("ab", (anchor, 0.0)), (at, 0.0), length)


def _strip(r: random.Random, key: str, thick: float, mine: list[tuple[int, Box]]) -> tuple[LayStrip, list[Placed]]:
    """A strip whose parts are these, and where they lie."""
    end, lengths, placed, reached = r.choice((0.0, 1.0, 2.0)), [], [], 0.0
    for turn, (u0, v0, u1, v1) in mine:
        lengths.append((u1 - u0 if turn == 0 else v1 - v0) - 2 * end)
        along = end - reached
        place = (u0 + along, v0) if turn == 0 else (u1, v0 + along)
        placed.append(Placed(key, turn, *place, (reached, reached + lengths[-1])))
        reached += lengths[-1]
    turns = {turn for turn, _ in mine} | ({0, 90} if r.random() < 0.4 else set())
    least, most = min(lengths) * r.choice((1.0, r.uniform(0.5, 1.0))), len(mine) + r.randint(0, 2)
    fewest = r.choice((1, len(mine)))
    strip = LayStrip(key, 0.0, reached, 0.0, thick, end, least, tuple(sorted(turns)), None, most, least_parts=fewest)
    return strip, placed


@settings(max_examples=draws(60), deadline=None)
@given(st.integers(0, 10**6))
def test_a_cloth_on_which_all_lies_is_not_too_short(seed: int) -> None:
    problem, lay = planted(seed)
    assert verify(problem, lay) == ()
    rigid = with_whole_strips(problem)
    if few_matched(rigid):
        assert not Setting(rigid).too_short(lay.length_mm + 1e-6, time.perf_counter() + 0.4)


@settings(max_examples=draws(15), deadline=None)
@given(st.integers(0, 10**6), st.floats(0.8, 0.999))
def test_the_bound_keeps_below_a_lay(seed: int, part: float) -> None:
    problem, lay = planted(seed)
    shown = arranged_bound(with_whole_strips(problem), part * lay.length_mm, time.perf_counter() + 0.4)
    assert shown <= lay.length_mm + 1e-6


def striped(seed: int) -> LayProblem:
    """A cushion or so on a stripe: three or four matched pieces, perhaps a free one, and strips that may be divided."""
    r = random.Random(seed)
    size: Size = (lambda a, b: float(r.randint(int(a), int(b)))) if r.random() < 0.7 else r.uniform
    width, repeat, gap = size(150, 500), size(15, 120), r.choice((0.0, 0.0, 1.0, 3.0))
    pieces = [
        LayPiece(
            f"p{i}",
            within_box((0.0, 0.0, size(30, 0.55 * width), size(15, 200))),
            (0,),
            LayPhase("a", size(0, repeat), None, 1 if r.random() < 0.9 else -1),
        )
        for i in range(r.randint(2, 4))
    ]
    pieces += [replace(p, key=f"{p.key}'") for p in pieces[: r.randint(0, 1)]]
    if r.random() < 0.4:
        pieces.append(
            LayPiece("free", within_box((0.0, 0.0, size(30, 0.7 * width), size(15, 90))), r.choice(((0,), (0, 90))))
        )
    strips = []
    for i in range(r.randint(1, 2)):
        length, thick, end = size(60, 4 * width), size(SMALLEST_MM, 50), r.choice((0.0, 2.0, thickest := 6.0))
        least = min(length, size(20, 0.3 * width) + thickest)
        turns = r.choice(((0,), (0, 90), (0, 90)))
        most = max(math.ceil(length / (width - 2 * end)), min(int(length / least), r.randint(1, 8)))
        strips.append(LayStrip(f"s{i}", 0.0, length, 0.0, thick, end, least, turns, None, most))
    anchors = {"a": (size(0, repeat) if r.random() < 0.3 else None, None)}
    return LayProblem("striped", width, Lattice(repeat), tuple(pieces), tuple(strips), anchors, (0.0, 0.0), gap)


@settings(max_examples=draws(8), deadline=None)
@given(st.integers(0, 10**6))
def test_the_bound_keeps_below_what_a_search_finds(seed: int) -> None:
    problem = striped(seed)
    try:
        lay = search(problem, seconds=60.0, steps=draws(2000))
    except LayError:
        return  # no place across for some piece
    assert verify(problem, lay) == ()
    rigid = with_whole_strips(problem)
    if few_matched(rigid):
        assert not Setting(rigid).too_short(lay.length_mm + 1e-6, time.perf_counter() + 0.4)
    assert lower_bound(problem, seconds=0.8).length_mm <= lay.length_mm + 1e-6


def test_most_cloths_shorter_by_a_tenth_are_shown_to_be_too_short() -> None:
    """The laws above would hold of a proof that never shows anything."""
    told: list[bool] = []
    for seed in range(300):
        problem, lay = planted(seed)
        rigid = with_whole_strips(problem)
        if len(told) < 8 and few_matched(rigid):
            told.append(Setting(rigid).too_short(0.9 * lay.length_mm, time.perf_counter() + 4.0))
    assert sum(told) >= 6
