"""The trade's words on both shores: one table, and `say`, which puts the right ones into a text.

Texts made by the program mark a word that differs with double square brackets round the code's
word, in any form that stands in the table: `Pin the [[boxing]] to the top.` Plural and capital
are kept: `[[Zip panels]]` gives `Zipper panels` or `Zip panels`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Literal

Shore = Literal["us", "uk"]

WORDS: Mapping[str, tuple[str, str]] = {
    "boxing": ("boxing", "border"),
    "boxing strip": ("boxing strip", "border strip"),
    "zip panel": ("zipper panel", "zip panel"),
    "zip": ("zipper", "zip"),
    "zip foot": ("zipper foot", "zip foot"),
    "zip tape": ("zipper tape", "zip tape"),
    "piping": ("welt", "piping"),
    "piped": ("welted", "piped"),
    "piping foot": ("welt foot", "piping foot"),
    "piping strip": ("welt strip", "piping strip"),
    "piping cord": ("welt cord", "piping cord"),
    "cord": ("cord", "cord"),
    "notch": ("notch", "notch"),
    "clip": ("clip", "snip"),
    "clipped": ("clipped", "snipped"),
    "clipping": ("clipping", "snipping"),
    "repeat": ("repeat", "repeat"),
    "drop": ("half-drop", "half-drop"),
    "half drop": ("half-drop", "half-drop"),
    "nap": ("nap", "pile"),
    "selvage": ("selvage", "selvedge"),
    "warp": ("grain", "warp"),
    "weft": ("cross grain", "weft"),
    "bias": ("bias", "bias"),
    "bolt": ("bolt", "roll"),
    "lay": ("cutting plan", "cutting plan"),
    "remnant": ("remnant", "remnant"),
    "wrap": ("batting", "wadding"),
    "seam allowance": ("seam allowance", "seam allowance"),
    "top": ("top", "top"),
    "bottom": ("bottom", "bottom"),
    "panel": ("panel", "panel"),
    "colour": ("color", "colour"),
    "centre": ("center", "centre"),
    "centred": ("centered", "centred"),
    "centre line": ("center line", "centre line"),
    "metre": ("meter", "metre"),
    "fibre": ("fiber", "fibre"),
    "mitre": ("miter", "mitre"),
    "mitred": ("mitered", "mitred"),
}
"""Code's word: (US, UK), singular, lower case."""

_MARKED = re.compile(r"\[\[([^\[\]]+)\]\]")


def say(text: str, words: Shore) -> str:
    """Put one shore's words into a text in place of its marked words.

    Parameters
    ----------
    text:
        A text with `[[code word]]` marks; `{figure}` places are left alone.
    words:
        `us` or `uk`.

    Raises
    ------
    KeyError
        If a marked word is not in the table: the text is wrong, not the job.

    Examples
    --------
    >>> say("[[Clip]] the [[boxing]]; leave the [[zip panels]].", "uk")
    'Snip the border; leave the zip panels.'
    >>> say("[[Clip]] the [[boxing]]; leave the [[zip panels]].", "us")
    'Clip the boxing; leave the zipper panels.'
    """
    return _MARKED.sub(lambda found: word(found.group(1), words), text)


def word(code: str, words: Shore) -> str:
    """Give one word of the code in a shore's own, with the plural and capitals it came with.

    Raises
    ------
    KeyError
        If the word is not in the table.

    Examples
    --------
    >>> word("Notches", "us"), word("WRAP", "uk"), word("selvages", "uk")
    ('Notches', 'WADDING', 'selvedges')
    """
    column = 0 if words == "us" else 1
    lower = code.lower()
    if lower in WORDS:
        return _cased(WORDS[lower][column], code)
    single = _singular(lower)
    if single is None:
        raise KeyError(f"{code!r} is not a word of the table")
    return _cased(_plural(WORDS[single][column]), code)


def _singular(lower: str) -> str | None:
    for ending in ("es", "s"):
        if lower.endswith(ending) and lower.removesuffix(ending) in WORDS:
            return lower.removesuffix(ending)
    return None


def _plural(single: str) -> str:
    return single + ("es" if single.endswith(("ch", "sh", "s", "x")) else "s")


def _cased(said: str, like: str) -> str:
    if len(like) > 1 and like.isupper():
        return said.upper()
    return said[0].upper() + said[1:] if like[0].isupper() else said
