"""Carry a text from one unit to another without changing a size: its bare numbers are given the unit they were in."""

from __future__ import annotations

import re

from squab.desk.editing import edited, with_value
from squab.desk.reading import Opened, opened
from squab.desk.tree import key_of
from squab.files.jobfile import UNITS
from squab.files.lines import place_of
from squab.files.reading import STRIPE_TEXT
from squab.units import Unit

_LENGTHS = ("length", "offset", "drop")
_BARE = re.compile(r"[\d\s.,/⁄¼-¾⅐-⅞+-]*\d[\d\s.,/⁄¼-¾⅐-⅞+-]*|[¼-¾⅐-⅞]")
"""A length to which nobody wrote a unit."""


def unit_of(text: str) -> Unit:
    """The unit of a text's bare numbers."""
    return _unit_of(opened(text, check=False))


def _unit_of(now: Opened) -> Unit:
    typed = now.typed.get("job.units", "").strip().lower()
    return next((u for u in UNITS if u == typed), "mm")


def with_units(text: str, unit: Unit) -> str:
    """Set the unit of a text, every size in it staying what it is.

    A number without a unit is given the one that it was in: `12` of a text in millimetres becomes
    `12 mm`. What has its unit already, and what is no length, stays as it was typed.

    Examples
    --------
    >>> print(with_units('[cover]\\nallowance = 12\\nboxing_spare = "2 in"\\n', "in"))
    [job]
    units = "in"
    <BLANKLINE>
    [cover]
    allowance = "12 mm"
    boxing_spare = "2 in"
    <BLANKLINE>
    """
    now = opened(text, check=False)
    before = _unit_of(now)
    if before != unit:
        for path, typed in now.typed.items():
            if path.rpartition(".")[0] in now.typed:
                continue  # a bare value is set at the key that it is short for
            told = _with_unit(path, typed, before)
            if told is not None:
                text = with_value(text, path, told)
    return edited(text, "job.units", unit)


def _with_unit(path: str, typed: str, unit: Unit) -> str | None:
    """What stands at a path with its unit, or None where there is nothing to be told."""
    place = place_of(path)
    key = key_of(place)
    if key is None:
        return None
    if key.kind in _LENGTHS and _BARE.fullmatch(typed.strip()):
        return f"{typed.strip()} {unit}"
    if len(place) > 1 and place[-2] == "stripes":
        stripe = STRIPE_TEXT.fullmatch(typed.strip())
        if stripe is not None and _BARE.fullmatch(stripe["width"].strip()):
            return f"{typed.strip()} {unit}"
    return None
