"""Laws of lengths."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from squab.errors import LengthError
from squab.units import IMPERIAL, METRIC, Style, format_length, parse_length, round_chain_mm, step_mm
from tests.laws.draws import draws

PARTS = st.sampled_from([8, 16, 32])


@settings(max_examples=draws(80), deadline=None)
@given(whole=st.integers(0, 400), n=st.integers(0, 31), parts=PARTS)
def test_inch_to_millimetre_to_inch_is_the_same_fraction(whole: int, n: int, parts: int) -> None:
    """Typed in eighths, sixteenths or thirty-seconds it prints as the same fraction in its lowest terms."""
    value = Fraction(whole) + Fraction(n % parts, parts)
    typed = f"{whole} {n % parts}/{parts} in"
    style = Style("imperial", parts)  # type: ignore[arg-type]
    printed = format_length(parse_length(typed).mm, style)
    assert parse_length(printed).exact_mm == value * Fraction("25.4")
    again = parse_length(printed.removesuffix(" in"), "in")
    assert again.exact_mm == value * Fraction("25.4")


@settings(max_examples=draws(100), deadline=None)
@given(tenths=st.integers(0, 10**6))
def test_decimals_are_exact(tenths: int) -> None:
    """A tenth of a millimetre is a tenth, with a point or a comma."""
    assert parse_length(f"{tenths // 10}.{tenths % 10} mm").exact_mm == Fraction(tenths, 10)
    assert parse_length(f"{tenths // 10},{tenths % 10}").exact_mm == Fraction(tenths, 10)


@settings(max_examples=draws(120), deadline=None)
@given(text=st.one_of(st.text(max_size=70), st.text("0123456789 /-.,'\"¾½⅞inftydcm é\u2009⁄", max_size=20)))
def test_any_text_is_a_length_or_a_length_error(text: str) -> None:
    """Nothing else is ever raised, and the caret is within the text."""
    wrong: LengthError | None = None
    try:
        length = parse_length(text, "in")
    except LengthError as error:
        wrong = error
    if wrong is None:
        assert length.exact_mm >= 0
        assert length.text == text.strip()
    else:
        assert 0 <= wrong.at <= len(text)
        assert str(wrong).endswith("^")


@settings(max_examples=draws(80), deadline=None)
@given(parts=st.lists(st.floats(0, 3000), min_size=1, max_size=15), imperial=st.booleans())
def test_a_chain_adds_up_and_no_part_is_off_by_more_than_a_step(parts: list[float], imperial: bool) -> None:
    """The printed parts add up to the printed total."""
    style = IMPERIAL if imperial else METRIC
    rounded = round_chain_mm(parts, style)
    step = float(step_mm(style))
    assert format_length(sum(rounded), style) == format_length(sum(parts), style)
    assert all(abs(r - p) <= step * 1.0001 + 2e-6 for r, p in zip(rounded, parts, strict=True))
