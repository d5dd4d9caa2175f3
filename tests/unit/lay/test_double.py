"""Plain cloth cut double: pairs mirrored about the fold, sound on the open cloth."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from squab.errors import LayError
from squab.lay.cuts import cut_outlines
from squab.lay.double import cut_double, mirrored
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem, LayStrip
from squab.lay.verify import verify
from tests.unit.lay._jobs import rectangle

LEFT = np.array([(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (10.0, 30.0)])


def test_a_left_and_a_right_come_away_together() -> None:
    right = mirrored(LEFT) + (40.0, 0.0)  # noqa: RUF005  an array, shifted
    pieces = (LayPiece("left", LEFT, (0,)), LayPiece("right", right, (0,)))
    found = cut_double(LayProblem("c", 100.0, Lattice(), pieces), seconds=1.0, steps=20)
    assert found is not None
    assert found.pairs == (("left", "right"),)
    assert (found.folded_mm, found.lay.length_mm) == (30.0, 30.0)
    a, b = cut_outlines(LayProblem("c", 100.0, Lattice(), pieces), found.lay)
    assert np.allclose(sorted(100.0 - a[:, 0]), sorted(b[:, 0]))


def test_a_left_and_a_left_are_no_pair() -> None:
    pieces = (LayPiece("one", LEFT, (0,)), LayPiece("two", LEFT, (0,)))
    assert cut_double(LayProblem("c", 100.0, Lattice(), pieces), seconds=1.0, steps=20) is None


def test_what_has_no_partner_is_cut_from_the_open_cloth_beyond() -> None:
    # four of 50 x 20 are two pairs, one beyond the other on half the width of 100; the fifth lies open
    pieces = tuple(LayPiece(f"p{k}", rectangle(50, 20), (0,)) for k in range(5))
    found = cut_double(LayProblem("c", 100.0, Lattice(), pieces), seconds=1.0, steps=20)
    assert found is not None
    assert (found.folded_mm, found.lay.length_mm, len(found.pairs)) == (40.0, 60.0, 2)


def test_a_pattern_is_not_cut_under_the_fold() -> None:
    piece = LayPiece("p", rectangle(50, 20), (0,), LayPhase("g", 0.0, None))
    with pytest.raises(LayError, match="cannot be seen"):
        cut_double(LayProblem("c", 100.0, Lattice(30.0), (piece,)))


@settings(max_examples=15, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.integers(10, 70), st.integers(10, 50)), min_size=1, max_size=3),
    gap=st.sampled_from([0.0, 3.0]),
    slant=st.booleans(),
)
def test_the_opened_lay_is_sound_and_mirrored(sizes: list[tuple[int, int]], gap: float, slant: bool) -> None:
    pieces = []
    for k, (w, h) in enumerate(sizes):
        outline = LEFT * (w / 40.0, h / 30.0) if slant else rectangle(w, h)
        other = mirrored(outline) + np.array((float(w), 0.0))
        pieces += [LayPiece(f"a{k}", outline, (0, 180)), LayPiece(f"b{k}", other, (0, 180))]
    strip = LayStrip("s.piping", 0.0, 120.0, 0.0, 8.0, 1.0, 30.0, (0,))
    problem = LayProblem("c", 160.0, Lattice(), tuple(pieces), (strip,), gap_mm=gap)
    found = cut_double(problem, seconds=1.0, steps=20)
    assert found is not None
    assert verify(problem, found.lay) == ()
    at = {x.key: uv for x, uv in zip(found.lay.placed, cut_outlines(problem, found.lay), strict=True)}
    for a, b in found.pairs:
        image = np.column_stack([160.0 - at[a][:, 0], at[a][:, 1]])
        assert np.allclose(np.sort(image, axis=0), np.sort(at[b], axis=0), atol=0.02)
