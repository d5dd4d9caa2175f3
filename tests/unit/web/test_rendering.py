"""Figures in the text of a page: fractions set, units kept with their figures, a typed unit said once."""

from __future__ import annotations

import pytest

from squab.web.rendering import environment, fractions


@pytest.mark.parametrize(
    ("typed", "set_"),
    [
        ("23 1/2", '23\u202f<span class="frac of one">1⁄2</span>'),
        ("22\u20099⁄16", '22\u202f<span class="frac of">9⁄16</span>'),
        ("3/4 in", '<span class="frac">3⁄4</span>\u00a0in'),
        ("1/2 and 1 1/2", '<span class="frac">1⁄2</span> and 1\u202f<span class="frac of one">1⁄2</span>'),
        ("156 mm, 20 % of 35 kg/m³", "156\u00a0mm, 20\u00a0% of 35\u00a0kg/m³"),
        ("4 innings of 2 mmm", "4 innings of 2 mmm"),
        ("11 across, 1/2 along", '11\u00a0across, <span class="frac">1⁄2</span>\u00a0along'),
        ("12/07/2026", "12/07/2026"),
        ("<b>1/2</b>", '&lt;b&gt;<span class="frac">1⁄2</span>&lt;/b&gt;'),
    ],
)
def test_a_fraction_is_set_and_no_line_end_parts_a_figure_from_its_unit(typed: str, set_: str) -> None:
    assert str(fractions(typed)) == set_


@pytest.mark.parametrize("typed", ["5 m", "84 mm", '3 3/4"', "1' 2 1/2\"", "2 YD", "0.1m"])
def test_a_length_with_its_own_unit_is_known(typed: str) -> None:
    assert environment().filters["names_unit"](typed)


@pytest.mark.parametrize("typed", ["", "84", "3 3/4", "not measured", "by the fill", "cm"])
def test_a_bare_length_and_words_leave_the_unit_beside_the_field(typed: str) -> None:
    assert not environment().filters["names_unit"](typed)
