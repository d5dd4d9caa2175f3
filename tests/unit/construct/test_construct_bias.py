"""Bias strips and piping widths against published figures; inches as printed."""

from __future__ import annotations

import pytest

from squab.construct import bias
from squab.construct.piping import piping_strip_mm, wrap_mm

BALDT = {
    0.5: 0.75, 1: 1.375, 1.5: 2.125, 2: 2.75, 2.5: 3.5, 3: 4.25, 3.5: 5, 4: 5.625, 4.5: 6.375, 5: 7.125, 5.5: 7.75,
    6: 8.5, 6.5: 9.125, 7: 9.875, 7.5: 10.625, 8: 11.25, 8.5: 12, 9: 12.75, 9.5: 13.375, 10: 14.125, 10.5: 14.875,
    11: 15.5,
}  # fmt: skip


def test_strip_from_a_square_by_area() -> None:
    """B1, B2: community sewing pages on bias tape from a square, S^2 / w."""
    assert bias.strip_by_area_mm(12, 2) == 72
    assert bias.strip_by_area_mm(36, 2) == 648


def test_square_for_a_strip() -> None:
    """B3: a quilting blog's answer, August 2021: 350 square inches, 18.71 in, take 19."""
    assert bias.square_for_strip_mm(100, 3.5) == pytest.approx(18.71, abs=0.01)


def test_strip_for_eight_mats() -> None:
    """B4: the same article as B2: eight items 18 x 12 with 2 in overlaps take 496 in."""
    assert bias.strip_for_edges_mm((60,) * 8, 2) == 496


def test_single_binding() -> None:
    """B5: the same article: 1/2 in finished is cut 2 in."""
    assert bias.binding_strip_mm(0.5) == 2


@pytest.mark.parametrize(("strip", "printed"), BALDT.items())
def test_selvage_run(strip: float, printed: float) -> None:
    """B6: Baldt, Clothing for Women (1916), chapter XXII (author and year from memory): within an eighth."""
    assert bias.selvage_run_mm(strip) == pytest.approx(printed, abs=0.125)


def test_run_for_one_strip() -> None:
    """B7: a sewing-class handout on piped bias edges: 46 in long takes 32.53."""
    assert bias.run_for_one_strip_mm(46) == pytest.approx(32.53, abs=0.01)


def test_strips_cut_both_sides_of_the_diagonal() -> None:
    """B8, B9, derived: 24 strips from 36 in at 2 in, 645.88 in; after 23 joins with 1/4 in, 629.6."""
    strips = bias.strips_from_square(36, 2)
    assert len(strips) == 24
    assert sum(strips) == pytest.approx(645.88, abs=0.01)
    assert bias.lost_at_a_join_mm(0.25) == pytest.approx(0.7071, abs=1e-4)
    assert bias.joined_length_mm(strips, 0.25) == pytest.approx(629.6, abs=0.1)


def test_continuous_strip() -> None:
    """B10, derived: the tube from 36 in at 2 in with 1/4 in seams yields 630, within 1 % of B9."""
    assert bias.continuous_strip_mm(36, 2, 0.25) == 630
    joined = bias.joined_length_mm(bias.strips_from_square(36, 2), 0.25)
    assert bias.continuous_strip_mm(36, 2, 0.25) == pytest.approx(joined, rel=0.01)


@pytest.mark.parametrize(
    ("cord", "width"), [(5 / 32, 1.491), (3 / 16, 1.589), (0.25, 1.785), (0.375, 2.178), (0.5, 2.571)]
)
def test_piping_strip_of_thin_cloth(cord: float, width: float) -> None:
    """B11, B12: community piping tutorials: once round the cord and two allowances of 1/2 in."""
    assert piping_strip_mm(cord, 0.0, 0.5) == pytest.approx(width, abs=0.001)


def test_piping_strip_counts_the_cloth() -> None:
    """B13, derived on the neutral line: d 5/32, t 0.03: 1.585 in."""
    assert piping_strip_mm(5 / 32, 0.03, 0.5) == pytest.approx(1.585, abs=0.001)


def test_habitual_strip() -> None:
    """T23, common practice, no source: 1 1/4 in over 5/32 cord, 3/64 cloth: flange 0.306, 0.194 inside at SA 1/2."""
    flange = (1.25 - wrap_mm(5 / 32, 3 / 64)) / 2
    assert flange == pytest.approx(0.306, abs=5e-4)
    assert 0.5 - flange == pytest.approx(0.194, abs=5e-4)
