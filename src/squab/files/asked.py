"""The job of a few rough numbers, said on the telephone or typed at the command line: a job file from the first.

So its allowances, cord and lots are those of any job in that unit, and each number is held to what a file is held to.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from fractions import Fraction

from squab.errors import LengthError
from squab.units import MM_PER, Unit, parse_length

USUAL_CLOTH: Mapping[Unit, str] = {"in": "54", "mm": "1370", "cm": "137"}
"""How wide a cloth is that nobody has measured; common practice, no source."""
Keys = dict[str, str | list[str] | bool]


def cloth_keys(
    pattern: str, unit: Unit, *, width: str = "", across: str = "", along: str = "", one_way: bool = False
) -> Keys:
    """The keys of a cloth of which only width and repeats are known, as typed: a stripe is drawn as two equal ones.

    `pattern` is `stripe` (along the cloth), `bands` (across it), `print`, `half` (in half drop), or else plain. An
    empty text stands for a key that is left out.
    """
    keys: Keys = {"usable_width": width or USUAL_CLOTH[unit]}
    repeat = along if pattern == "bands" else across
    if pattern in ("stripe", "bands") and repeat:
        keys["stripes"] = [f"{colour} {_half(repeat, unit)}" for colour in ("slate", "chalk")]
        if pattern == "bands":
            keys["stripes_run"] = "across"
    if pattern in ("print", "half") and (across or along):
        keys |= {"repeat_across": across, "repeat_along": along, "drop": "half" if pattern == "half" else ""}
    if one_way:
        keys["one_way"] = True
    return keys


def asked_text(tables: Mapping[str, Mapping[str, object]]) -> str:
    """The file of a job that stands nowhere else: tables by their heads. What is empty is left out.

    >>> print(asked_text({"[job]": {"units": "in", "name": ""}, "[[cushion]]": {"width": "23 1/2", "count": 2}}))
    [job]
    units = "in"
    [[cushion]]
    width = "23 1/2"
    count = 2
    """
    lines: list[str] = []
    for head, keys in tables.items():
        lines += [head, *(f"{k} = {json.dumps(v)}" for k, v in keys.items() if v not in ("", None))]
    return "\n".join(lines)


def _half(typed: str, unit: Unit) -> str:
    """Half of a length, written as one would; the text itself where it is none."""
    try:
        half: Fraction = parse_length(typed, unit).exact_mm / 2 / MM_PER[unit]
    except LengthError:
        return typed
    whole, rest = divmod(half, 1)
    if unit == "in" and rest:
        return f"{whole} {rest}" if whole else str(rest)
    return str(whole) if not rest else f"{float(half):g}"
