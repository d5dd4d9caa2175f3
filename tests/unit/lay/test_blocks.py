"""Foam blocks from sheets: counts worked by hand, every sheet sound, every block there once."""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from squab.errors import LayError
from squab.lay.blocks import Block, Sheet, cut_from_sheets
from squab.lay.verify import verify
from tests.unit.lay._jobs import rectangle

SHEET = Sheet("firm foam", 50.0, 1000.0, 2000.0)


def block(key: str, width: float, depth: float, count: int, thickness: float = 50.0) -> Block:
    """A rectangular block of firm foam."""
    return Block(key, rectangle(width, depth), thickness, "firm foam", count)


def test_eight_to_a_sheet_and_the_rest_from_a_second() -> None:
    (bought,) = cut_from_sheets([block("pad", 500, 500, 10)], [SHEET]).value or ()
    assert [(c.count, c.holds()) for c in bought.cuts] == [(1, {"pad": 8}), (1, {"pad": 2})]
    assert (bought.count, bought.at_least) == (2, 2)


def test_a_saws_gap_can_cost_sheets() -> None:
    # with 5 lost at every cut one stands across (2 would take 1005), and 3 along (4 would take 2015)
    (bought,) = cut_from_sheets([block("pad", 500, 500, 10)], [SHEET], gap_mm=5.0).value or ()
    assert [(c.count, c.holds()) for c in bought.cuts] == [(3, {"pad": 3}), (1, {"pad": 1})]


def test_small_blocks_fill_what_large_ones_leave() -> None:
    blocks = [block("seat", 1000, 1500, 2), block("back", 500, 500, 4)]
    (bought,) = cut_from_sheets(blocks, [SHEET]).value or ()
    assert [(c.count, c.holds()) for c in bought.cuts] == [(2, {"seat": 1, "back": 2})]


def test_the_sheet_is_taken_of_which_the_least_foam_is_bought() -> None:
    small = Sheet("firm foam", 50.0, 600.0, 1100.0)
    (bought,) = cut_from_sheets([block("pad", 500, 500, 2)], [SHEET, small]).value or ()
    assert (bought.sheet, bought.count) == (small, 1)


def test_thickness_must_agree_and_a_block_must_fit() -> None:
    blocks = [block("thick", 400, 400, 1, 75.0), block("long", 300, 2100, 1), block("pad", 400, 400, 1)]
    outcome = cut_from_sheets(blocks, [SHEET])
    assert {f.code: f.place for f in outcome.findings} == {"SUP-020": "thick", "SUP-021": "long"}
    assert "75 mm thick" in next(f.message for f in outcome.findings if f.code == "SUP-020")
    assert outcome.value is not None
    assert [b.cuts[0].holds() for b in outcome.value] == [{"pad": 1}]


def test_too_many_blocks_are_refused_at_once() -> None:
    with pytest.raises(LayError, match="at most 2000"):
        cut_from_sheets([block("pad", 10, 10, 100_000)], [SHEET])


@settings(max_examples=8, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.integers(150, 950), st.integers(150, 950), st.integers(1, 4)), min_size=1, max_size=3),
    gap=st.sampled_from([0.0, 4.0]),
)
def test_every_block_is_cut_once_and_every_sheet_is_sound(sizes: list[tuple[int, int, int]], gap: float) -> None:
    angles = np.linspace(0, 2 * np.pi, 24, endpoint=False)
    blocks = [block(f"b{k}", w, d, n) for k, (w, d, n) in enumerate(sizes)]
    blocks.append(Block("disc", np.column_stack([200 * np.cos(angles), 200 * np.sin(angles)]), 50.0, "firm foam", 2))
    cut: Counter[str] = Counter()
    for bought in cut_from_sheets(blocks, [SHEET], gap_mm=gap).value or ():
        assert bought.count >= bought.at_least
        for one in bought.cuts:
            assert verify(one.problem, one.lay) == ()
            assert one.lay.length_mm <= SHEET.length_mm + 1e-6
            cut.update({k: n * one.count for k, n in one.holds().items()})
    assert cut == {b.key: b.count for b in blocks}
