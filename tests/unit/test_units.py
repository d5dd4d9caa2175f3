"""Lengths as people write them, exact inside, and printed back."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from squab.errors import LengthError
from squab.units import (
    IMPERIAL,
    METRIC,
    MM_PER,
    Style,
    format_cloth_length,
    format_gauge,
    format_length,
    parse_length,
    round_chain_mm,
    round_mm,
)


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("3 3/4", "95.25"), ('3-3/4"', "95.25"), ("3¾", "95.25"), ("3 ¾ in", "95.25"), ("3 - 3/4 in.", "95.25"),
        ("1' 2 1/2\"", "368.3"), ("1' 2½\"", "368.3"), ("1'2''", "355.6"), ("1 ft 2 in", "355.6"),
        ("95 mm", "95"), ("9.5cm", "95"), ("0.75 m", "750"), ("1,25 m", "1250"), (".5", "12.7"), (",5 m", "500"),
        ("15 7/8 inches", "403.225"), ("2 yd 1 ft 3 in", "2209.8"), ("1 m 25", "1250"), ("1 m 25 mm", "1025"),
        ("3⁄4", "19.05"), ("24\u00a0MM", "24"), ("0", "0"), ("2\u2009½\u2033", "63.5"),
    ],
)  # fmt: skip
def test_what_people_write_is_read_exactly(text: str, mm: str) -> None:
    """Each way of writing gives its exact millimetres, and keeps the maker's own text."""
    length = parse_length(text, "in")
    assert length.exact_mm == Fraction(mm)
    assert length.text == text.strip()


def test_a_bare_number_is_in_the_default_unit() -> None:
    """24 is 24 of whatever the job is measured in."""
    assert [parse_length("24", u).mm for u in ("mm", "cm", "m", "in")] == [24.0, 240.0, 24000.0, 609.6]


@pytest.mark.parametrize(
    ("text", "at", "word"),
    [
        ("3 3/", 3, "under its stroke"), ("3/", 1, "under its stroke"), ("5 ft 3 1/ in", 8, "under its stroke"),
        ("3/0", 2, "over 0"), ("", 0, "missing"), ("   ", 0, "missing"), ("-3", 0, "sign"), ("+3", 0, "sign"),
        ("24x", 2, "not known"), ("24 22", 3, "two numbers"), ("1 m 25 30", 7, "two numbers"),
        ("3é", 1, "expected a unit"),
        ("abc", 0, "expected a number"), ("3 in 4 ft", 5, "smaller unit"), ("3 in 4 in", 5, "smaller unit"),
        ("1,250 mm", 1, "two ways"), ("3-4", 1, "expected a unit"), ("1.2.3", 3, "two numbers"),
        ("9" * 80, 60, "too long"),
        ("nan", 0, "expected a number"), ("1e3", 1, "not known"),
    ],
)  # fmt: skip
def test_the_caret_stands_under_the_first_wrong_character(text: str, at: int, word: str) -> None:
    """A text that is no length says why, with a caret under where it goes wrong."""
    with pytest.raises(LengthError) as caught:
        parse_length(text, "in")
    error = caught.value
    assert error.at == at
    assert word in error.reason
    shown = str(error).split("\n")
    assert shown[-1].index("^") - 2 == at
    assert shown[-2][2:] == text[:60]


def test_tabs_keep_the_caret_in_place() -> None:
    """A tab is shown as one space, so that the caret is not pushed aside."""
    with pytest.raises(LengthError) as caught:
        parse_length("3\tx")
    assert str(caught.value).split("\n")[1:] == ["  3 x", "    ^"]


def test_inch_and_yard_are_exact() -> None:
    """US Navy facilities handbook 1004/6, App. B: 1 in = 25.4 mm; ASTM D2260 Table 1: 1 yd = 0.9144 m."""
    assert parse_length("1 in").exact_mm == Fraction("25.4")
    assert parse_length("1 yd").exact_mm == Fraction("914.4")
    assert MM_PER["ft"] * 3 == MM_PER["yd"] == MM_PER["in"] * 36


def test_sixteenths_are_exact() -> None:
    """From the inch (US Navy facilities handbook 1004/6): 1/16 in = 1.5875 mm, 15 7/8 in = 403.225 mm."""
    assert parse_length("1/16 in").exact_mm == Fraction("1.5875")
    assert parse_length("15 7/8 in").mm == 403.225


def test_a_published_round_metric_figure_is_not_a_conversion() -> None:
    """2010 ADA Standards 903 prints 42 in as 1065 mm and 17 in as 430 mm; the exact figures are 1.8 mm more."""
    assert parse_length("42 in").exact_mm - 1065 == Fraction("1.8")
    assert parse_length("17 in").exact_mm - 430 == Fraction("1.8")


@pytest.mark.parametrize(
    ("mm", "style", "printed"),
    [
        (95.25, IMPERIAL, "3 3/4 in"), (95.25, METRIC, "95 mm"), (0.0, IMPERIAL, "0 in"), (12.7, IMPERIAL, "1/2 in"),
        (609.6, IMPERIAL, "24 in"), (-12.7, IMPERIAL, "-1/2 in"), (94.5, METRIC, "95 mm"), (94.49, METRIC, "94 mm"),
        (25.4 * 3.03, Style("imperial", 8), "3 in"), (25.4 * 3.03, Style("imperial", 32), "3 1/32 in"),
        (25.4 * 17.9375, Style("imperial", 16, True), "17\u200915\u204416 in"),
    ],
)  # fmt: skip
def test_lengths_print_rounded(mm: float, style: Style, printed: str) -> None:
    """Sixteenths by default, eighths and thirty-seconds on request; whole millimetres."""
    assert format_length(mm, style) == printed


def test_half_a_step_rounds_the_same_everywhere() -> None:
    """A half, a hair under it for want of binary digits, goes up in every helper alike."""
    step = 25.4 / 16
    for n in range(200):
        half = (n + 0.5) * step - 1e-9
        assert format_length(half, IMPERIAL) == format_length(round_mm(half, IMPERIAL), IMPERIAL)
        assert round_chain_mm([half], IMPERIAL) == [round_mm(half, IMPERIAL)]
        assert round_mm(half, IMPERIAL) == pytest.approx((n + 1) * step)


def test_cloth_is_asked_for_in_metres_or_eighths_of_a_yard() -> None:
    """2.70 m at one counter, 1 1/4 yd at the other."""
    assert format_cloth_length(2700) == "2.70 m"
    assert format_cloth_length(1143, IMPERIAL) == "1 1/4 yd"
    assert format_cloth_length(914.4, IMPERIAL) == "1 yd"


@given(mm=st.floats(0, 60_000), style=st.sampled_from([METRIC, IMPERIAL]))
def test_cloth_that_is_needed_is_printed_as_enough_and_a_proof_as_no_more(mm: float, style: Style) -> None:
    """The nearest eighth of a yard can be 57 mm less than a measured bolt needs: more than one squaring off."""
    enough, no_more = (parse_length(format_cloth_length(mm, style, to=to)).mm for to in ("enough", "no more"))
    step = 114.3 if style is IMPERIAL else 10.0
    assert mm - 0.011 <= enough < mm + step
    assert mm - step < no_more <= mm + 0.011


def test_a_cord_is_named_by_its_own_thickness() -> None:
    """A cord of 5/32 in, the usual one, is not one of 3/16."""
    assert format_gauge(25.4 * 5 / 32, IMPERIAL) == "5/32 in"
    assert format_gauge(25.4 / 4, IMPERIAL) == "1/4 in"
    assert (format_gauge(3.5), format_gauge(4.0)) == ("3.5 mm", "4 mm")


def test_a_printed_chain_adds_up() -> None:
    """Three thirds of 100 mm print as 33, 34 and 33, which is 100."""
    assert round_chain_mm([100 / 3] * 3) == [33.0, 34.0, 33.0]
