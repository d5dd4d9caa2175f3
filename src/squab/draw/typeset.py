"""Set a page template to PDF: in memory, from our own fonts, the same bytes each time.

Templates (`templates/*.typ`) never see a user's text as source: everything comes as one JSON
value and is printed as text, so a customer called `#set page` is a customer. Pictures are SVG
texts by name; a template draws one with `image(name)`.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Mapping
from datetime import UTC, date, datetime
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

FONT = "Source Sans Pro"
PAPERS = {"a4": "a4", "letter": "us-letter"}
LONGEST_TEXT = 900
"""No text on a sheet is longer; what is longer is cut with an ellipsis."""
_LONG_RUN = re.compile(r"[^\s\u200b]{26,}")
_BIDI = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\ufeff")
_PLAIN_FRACTION = re.compile(r"(?<![\d/.,])(?:(\d+)[ \u00a0])?(\d+)/(\d+)(?=[ \u00a0](?:in|yd)\b)")
"""A fraction of an inch or yard in a text, written plainly."""
SCALES = tuple(round(1.2 - 0.01 * k, 2) for k in range(76))
"""Sizes tried, largest first, for a sheet that must stay on one page."""


def typeset(
    template: str,
    data: Mapping[str, Any],
    pictures: Mapping[str, str],
    paper: str,
    *,
    dated: date | None = None,
) -> bytes:
    """Set `template` with `data` and `pictures` on `paper` and give the PDF.

    Parameters
    ----------
    template
        Name of a file in `templates`, without `.typ`.
    data
        Anything JSON can hold. Texts are cleaned: control and direction marks dropped, over-long
        words given places to break.
    pictures
        SVG texts by the name the template uses.
    paper
        `a4` or `letter`.
    dated
        The date written into the file; without one, 1 January 1980. Same input, same bytes.

    Raises
    ------
    RuntimeError
        If a font of the template is missing.
    """
    import typst

    files = {
        "main": _template(template).encode(),
        "common.typ": _template("common").encode(),
        "data.json": json.dumps(cleaned({**data, "paper": PAPERS[paper]})).encode(),
        **{name: svg.encode() for name, svg in pictures.items()},
    }
    when = datetime.combine(dated or date(1980, 1, 1), datetime.min.time(), UTC)
    made, warnings = typst.compile_with_warnings(
        files, format="pdf", font_paths=fonts(), timestamp=when, ignore_system_fonts=True
    )
    missing = [w.message for w in warnings if "unknown font" in w.message]
    if missing:
        raise RuntimeError(f"template {template}: {missing[0]}")
    return bytes(made)


def typeset_one_page(
    template: str, data: Mapping[str, Any], pictures: Mapping[str, str], paper: str, *, dated: date | None = None
) -> bytes:
    """Set a template that must stay on one page: it takes the largest of its sizes that fits.

    The template does the trying, with `data.scales`.
    """
    return typeset(template, {**data, "scales": SCALES}, pictures, paper, dated=dated)


def page_count(pdf: bytes) -> int:
    """Count the pages of a PDF that `typeset` made."""
    return len(re.findall(rb"/Type\s*/Page\b", pdf))


@cache
def _template(name: str) -> str:
    return resources.files("squab.draw").joinpath("templates", f"{name}.typ").read_text("utf-8")


@cache
def fonts() -> Any:
    """Our fonts and nobody else's; a missing one is an error here, not a substitute on the page."""
    import font_source_sans_pro
    import typst

    folder = Path(font_source_sans_pro.font_directory)
    found = typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[folder])
    if FONT not in found.families():
        raise RuntimeError(f"the font {FONT} is missing from {folder.name}: install font-source-sans-pro again")
    return found


def cleaned(value: Any) -> Any:
    """Make every text in a value safe to print: one line, no control marks, long words breakable."""
    if isinstance(value, str):
        return _clean_text(value)
    if isinstance(value, Mapping):
        return {str(k): cleaned(v) for k, v in value.items()}
    if isinstance(value, list | tuple):
        return [cleaned(v) for v in value]
    return value


def _clean_text(text: str) -> str:
    kept = text
    if not text.isascii() or not text.isprintable():
        kept = "".join(" " if c.isspace() and c not in "\u2009\u00a0\u202f" else c for c in text if _printable(c))
    if len(kept) > LONGEST_TEXT:
        kept = kept[: LONGEST_TEXT - 1] + "…"
    kept = _PLAIN_FRACTION.sub(_set_fraction, kept)
    return _LONG_RUN.sub(lambda run: "\u200b".join(re.findall(r".{1,13}", run.group())), kept)


def _set_fraction(found: re.Match[str]) -> str:
    whole, over, under = found.groups()
    return f"{whole}\u202f{over}\u2044{under}" if whole else f"{over}\u2044{under}"


def _printable(c: str) -> bool:
    return (c.isspace() or unicodedata.category(c) not in ("Cc", "Cs", "Co", "Cn")) and c not in _BIDI
