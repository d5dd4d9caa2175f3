"""Lengths as people write them, exact inside, and printed back.

Inside Squab a length is a float in millimetres; 1 in = 25.4 mm exactly. What a maker typed is
kept beside it as an exact fraction (`Length`), so that `3 3/4` comes back as `3 3/4`.

Rounding is for printing only. Two helpers keep printed figures honest: `format_length` rounds
one figure, `round_chain_mm` rounds a chain so that its parts add up to its printed total.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from squab.errors import LengthError

Unit = Literal["in", "ft", "yd", "mm", "cm", "m"]

MM_PER: dict[Unit, Fraction] = {
    "mm": Fraction(1),
    "cm": Fraction(10),
    "m": Fraction(1000),
    "in": Fraction(254, 10),
    "ft": Fraction(254 * 12, 10),
    "yd": Fraction(254 * 36, 10),
}
"""Exact millimetres in one of each unit (US Navy facilities handbook 1004/6; ASTM D2260)."""

MM_PER_INCH = float(MM_PER["in"])

G_M2_PER_OZ_YD2 = 28.3495 / 0.836127
"""Grams in a square metre for one ounce in a square yard (US Navy facilities handbook 1004/6, App. B)."""
KG_M3_PER_LB_FT3 = 16.0185
"""Kilograms in a cubic metre for one pound in a cubic foot (the same)."""

_WORDS: dict[str, Unit] = {
    **dict.fromkeys(('"', "″", "”", "''", "in", "in.", "inch", "inches"), "in"),
    **dict.fromkeys(("'", "′", "’", "ft", "ft.", "foot", "feet"), "ft"),
    **dict.fromkeys(("yd", "yd.", "yds", "yard", "yards"), "yd"),
    **dict.fromkeys(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), "mm"),
    **dict.fromkeys(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), "cm"),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), "m"),
}  # fmt: skip
_VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5),
    "⅗": (3, 5), "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅐": (1, 7), "⅛": (1, 8), "⅜": (3, 8),
    "⅝": (5, 8), "⅞": (7, 8), "⅑": (1, 9), "⅒": (1, 10),
}  # fmt: skip
_NUMBER = re.compile(
    r"(?P<whole>\d+)(?:(?:\s+|\s*-\s*)(?P<num>\d+)\s*[/⁄]\s*(?P<den>\d+)|\s*-?\s*(?P<glyph>[¼-¾⅐-⅞]))"
    r"|(?P<pnum>\d+)\s*[/⁄]\s*(?P<pden>\d+)"
    r"|(?P<pglyph>[¼-¾⅐-⅞])"
    r"|(?P<dec>\d+(?:[.,]\d+)?|[.,]\d+)"
)
_HALF_FRACTION = re.compile(r"(?:\d+(?:\s+|\s*-\s*))?\d+\s*(?P<stroke>[/⁄])(?!\s*\d)")
_TWO_WAYS = re.compile(r"[1-9]\d{0,2}(?P<comma>,)\d{3}(?!\d)")
_UNIT_WORD = re.compile(r"[A-Za-z]+\.?|''|[\"″”'′’]")
_SPACE = re.compile(r"[\s\u00a0\u2009\u202f]*")
LONGEST_TEXT = 60


def has_unit(text: str) -> bool:
    """Tell whether a length that can be read says its own unit, so that it is read alike in every job.

    >>> has_unit('23 1/2"'), has_unit("23½")
    (True, False)
    """
    return _UNIT_WORD.search(text) is not None


@dataclass(frozen=True, slots=True)
class Length:
    """A length as it was typed: exact millimetres and the maker's own text."""

    exact_mm: Fraction
    text: str

    @property
    def mm(self) -> float:
        """The length in millimetres as a float."""
        return float(self.exact_mm)


def _value_of(match: re.Match[str], text: str) -> Fraction:
    part = match.groupdict()
    if part["dec"]:
        return Fraction(part["dec"].replace(",", "."))
    whole = Fraction(part["whole"] or 0)
    glyph = part["glyph"] or part["pglyph"]
    if glyph:
        return whole + Fraction(*_VULGAR[glyph])
    name = "den" if part["den"] else "pden"
    if int(part[name]) == 0:
        raise LengthError(text, match.start(name), "a fraction cannot be over 0")
    return whole + Fraction(int(part["num"] or part["pnum"]), int(part[name]))


@lru_cache(maxsize=1024)
def parse_length(text: str, default: Unit = "mm") -> Length:
    """Read a length as people write it.

    Accepts `3 3/4`, `3-3/4"`, `3¾`, `1' 2 1/2"`, `95 mm`, `9.5cm`, `0.75 m`, `1,25 m`.
    A figure without a unit is in `default`. Feet may be followed by inches, yards by feet or
    inches, metres by centimetres or millimetres: each part in a smaller unit than the last.

    Raises
    ------
    LengthError
        With the index of the first wrong character and a caret under it.

    Examples
    --------
    >>> parse_length('3-3/4"').mm
    95.25
    >>> str(parse_length("1' 2 1/2\\"").exact_mm)
    '3683/10'
    """
    if len(text) > LONGEST_TEXT:
        raise LengthError(text[:LONGEST_TEXT], LONGEST_TEXT, "too long to be a length")
    at = _skip(text, 0)
    if at == len(text):
        raise LengthError(text, 0, "a length is missing")
    if text[at] in "-−+":
        raise LengthError(text, at, "a length has no sign")
    total, last = Fraction(0), None
    while at < len(text):
        value, start, at = _number_at(text, at)
        unit, after = _unit_at(text, at, default if last is None else _next_smaller(last, default))
        if last is not None and MM_PER[unit] >= MM_PER[last]:
            raise LengthError(text, start, f"after {last} comes a part in a smaller unit")
        if after == at < len(text):
            two = "two numbers need a unit after the first"
            raise LengthError(text, at, two if _NUMBER.match(text, at) else "expected a unit: in, ft, yd, mm, cm or m")
        total, last, at = total + value * MM_PER[unit], unit, _skip(text, after)
    return Length(total, text.strip())


def _number_at(text: str, at: int) -> tuple[Fraction, int, int]:
    """The number at an index, where it starts, and where what follows it starts."""
    half = _HALF_FRACTION.match(text, at)
    if half:
        raise LengthError(text, half.start("stroke"), "a fraction needs a number under its stroke")
    two_ways = _TWO_WAYS.match(text, at)
    if two_ways:
        raise LengthError(
            text, two_ways.start("comma"), "a comma before three figures reads two ways; leave it out or use a point"
        )
    number = _NUMBER.match(text, at)
    if not number:
        raise LengthError(text, at, "expected a number such as 24, 3 3/4 or 95 mm")
    return _value_of(number, text), at, _skip(text, number.end())


def _skip(text: str, at: int) -> int:
    found = _SPACE.match(text, at)
    return found.end() if found else at


def _next_smaller(unit: Unit, default: Unit) -> Unit:
    return {"yd": "in", "ft": "in", "m": "cm", "cm": "mm"}.get(unit, default)  # type: ignore[return-value]


def _unit_at(text: str, at: int, default: Unit) -> tuple[Unit, int]:
    word = _UNIT_WORD.match(text, at)
    if not word:
        return default, at
    name = word.group().lower()
    unit = _WORDS.get(name)
    if unit is None:
        raise LengthError(text, at, "this unit is not known; use in, ft, yd, mm, cm or m")
    return unit, word.end()


Granularity = Literal[8, 16, 32]


@dataclass(frozen=True, slots=True)
class Style:
    """How lengths are printed: inches in eighths, sixteenths or thirty-seconds, or millimetres.

    `fractions_set` chooses typographic fractions (numerator, fraction slash, denominator,
    after a thin space) over plain `3/4`.
    """

    system: Literal["imperial", "metric"] = "metric"
    parts_of_inch: Granularity = 16
    fractions_set: bool = False


METRIC = Style()
IMPERIAL = Style("imperial")


def round_mm(length_mm: float, style: Style = METRIC) -> float:
    """Round a length to what `style` can print, still in millimetres; halves go up."""
    return float(_steps(length_mm, style) * step_mm(style))


def step_mm(style: Style) -> Fraction:
    """Give the smallest printed step in exact millimetres: 1 mm, or 1/16 in by default."""
    return MM_PER["in"] / style.parts_of_inch if style.system == "imperial" else Fraction(1)


def _steps(length_mm: float, style: Style) -> int:
    # A float within a millionth of a millimetre below a half (3 3/4 in typed and halved, say) is that half.
    return ((Fraction(length_mm) + Fraction(1, 10**6)) / step_mm(style) + Fraction(1, 2)).__floor__()


def format_length(length_mm: float, style: Style = METRIC, *, unit: bool = True) -> str:
    """Print a length, rounded for reading.

    >>> format_length(95.25, IMPERIAL)
    '3 3/4 in'
    >>> format_length(95.25)
    '95 mm'
    """
    return _format_steps(_steps(length_mm, style), style, unit)


def format_gauge(length_mm: float, style: Style = METRIC) -> str:
    """Print how thick a thing is that is sold by its thickness, finer than lengths are: cords of 5/32 and 3/16 differ.

    >>> format_gauge(3.96875, IMPERIAL)
    '5/32 in'
    >>> format_gauge(3.5), format_gauge(4.0)
    ('3.5 mm', '4 mm')
    """
    if style.system == "imperial":
        return format_length(length_mm, replace(style, parts_of_inch=32))
    return f"{length_mm:.1f}".removesuffix(".0") + " mm"


def _format_steps(steps: int, style: Style, unit: bool) -> str:
    if style.system == "metric":
        return f"{steps} mm" if unit else f"{steps}"
    sign = "-" if steps < 0 else ""
    whole, rest = divmod(abs(steps), style.parts_of_inch)
    figure = sign + _mixed(whole, Fraction(rest, style.parts_of_inch), style.fractions_set)
    return f"{figure} in" if unit else figure


def _mixed(whole: int, rest: Fraction, typographic: bool) -> str:
    if not rest:
        return str(whole)
    slash, gap = ("\u2044", "\u2009") if typographic else ("/", " ")
    fraction = f"{rest.numerator}{slash}{rest.denominator}"
    return f"{whole}{gap}{fraction}" if whole else fraction


def format_cloth_length(
    length_mm: float, style: Style = METRIC, *, to: Literal["nearest", "enough", "no more"] = "nearest"
) -> str:
    """Print a length of cloth as it is asked for at the counter: metres, or yards in eighths.

    An eighth of a yard is long: what is needed is printed so that it is `enough`, and what nothing
    can beat as `no more` than it is. A hair, 0.01 mm, rounds nothing up.

    >>> format_cloth_length(2700)
    '2.70 m'
    >>> format_cloth_length(1143, IMPERIAL)
    '1 1/4 yd'
    >>> format_cloth_length(1160, IMPERIAL, to="enough"), format_cloth_length(1250, IMPERIAL, to="no more")
    ('1 3/8 yd', '1 1/4 yd')
    """
    hair = Fraction(1, 100)
    step = Fraction(10) if style.system == "metric" else MM_PER["yd"] / 8
    shift = {"nearest": step / 2 + hair / 10**4, "enough": step - hair, "no more": hair}[to]
    eighths = ((Fraction(length_mm) + shift) / step).__floor__()
    if style.system == "metric":
        return f"{eighths / 100:.2f} m"
    whole, rest = divmod(eighths, 8)
    return _mixed(whole, Fraction(rest, 8), style.fractions_set) + " yd"


def round_chain_mm(parts_mm: Sequence[float], style: Style = METRIC) -> list[float]:
    """Round a chain of measurements so that the parts add up to the printed total.

    The running total is rounded, never the parts, so an error cannot build up and no part is
    off by more than one printed step.
    """
    step, run, last = step_mm(style), 0.0, 0
    rounded: list[float] = []
    for part in parts_mm:
        run += part
        now = _steps(run, style)
        rounded.append(float((now - last) * step))
        last = now
    return rounded
