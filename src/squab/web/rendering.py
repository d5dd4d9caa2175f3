"""Pages from templates: one environment, everything escaped, figures as the sheets print them."""

from __future__ import annotations

import re
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from squab.desk.reading import shown_of
from squab.draw.figures import Figures, written_date
from squab.files.keys import COLOURS
from squab.units import Style
from squab.web.fields import id_of
from squab.web.security import token_of
from squab.web.spoken import spoken

HERE = Path(__file__).parent
STATIC = HERE / "static"
_KEY = re.compile(r"`([^`<>]{1,60})`")
_FRACTION = re.compile(r"(?<![\d/⁄])(?:(\d+)[ \u00a0\u2009\u202f])?(\d+)[/⁄](\d+)(?![\d/⁄])")
_UNITS = "mm|cm|m|in|ft|yd|mm²|cm²|m²|m³|yd²|kg|kg/m³|lb/ft³|g|lb|oz|kB|MB|%|across|along"
_BEFORE_UNIT = re.compile(rf"(?:(?<=\d)|(?<=\d</span>)) (?=(?:{_UNITS})(?!\w))")
_NAMES_UNIT = re.compile(r"\d\s*(?:mm|cm|m|in|ft|yd|['\"′″’”]+)\s*$", re.IGNORECASE)


@cache
def environment() -> Environment:
    """The environment of every template: pages stand beside their modules, what they share in `templates`."""
    made = Environment(
        loader=FileSystemLoader([HERE / "pages", HERE / "templates"]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {
        "day": _day,
        "moment": _moment,
        "fractions": fractions,
        "names_unit": lambda typed: _NAMES_UNIT.search(str(typed)) is not None,
        "money": money,
        "capitalize_first": capital,
        "message": message,
        "spoken": spoken,
        "key_id": id_of,
        "typed": shown_of,
    }
    made.globals |= {"static": static_address, "nav": NAVIGATION, "colours": list(COLOURS)}
    return made


NAVIGATION: list[tuple[str, str, str]] = []
"""Name, address and words of every page in the head of all pages; a page's module adds its own."""


def page(request: Request, name: str, /, status: int = 200, **values: Any) -> HTMLResponse:
    """Render a template as an answer."""
    return HTMLResponse(text_of(request, name, **values), status)


def text_of(request: Request, name: str, /, **values: Any) -> str:
    """Render a template as text."""
    shared = {
        "request": request,
        "token": token_of(request),
        "asked_by_htmx": by_htmx(request),
        "here_alone": _on_it(request),
    }
    return environment().get_template(name).render(shared | values)


def _on_it(request: Request) -> bool:
    """Whether a page is looked at on the very machine that keeps everything, rather than from the network."""
    return request.url.hostname in ("127.0.0.1", "localhost", "::1", None)


def by_htmx(request: Request) -> bool:
    """Tell whether a part of a page is asked for rather than a page."""
    return request.headers.get("hx-request") == "true" and request.headers.get("hx-boosted") != "true"


@cache
def _stamp(name: str, changed: float) -> str:
    return sha256((STATIC / name).read_bytes()).hexdigest()[:10]


def static_address(name: str) -> str:
    """Address of one of our own files, by its contents: a browser may keep it for good."""
    path = STATIC / name
    return f"/static/{name}?{_stamp(name, path.stat().st_mtime)}" if path.is_file() else f"/static/{name}"


def money(amount: Decimal | str, currency: str) -> str:
    """An amount as the sheets print it."""
    return Figures(Style(), "uk", currency).money(Decimal(amount))


def fractions(text: object) -> Markup:
    """Set fractions in a text as fractions: a stroke that joins its figures, kept with the whole number before.

    No line end parts a figure from its unit.
    """
    return Markup(_BEFORE_UNIT.sub("\u00a0", _FRACTION.sub(_set, str(escape(text)))))


def _set(found: re.Match[str]) -> str:
    whole, over, under = found.groups()
    kind = "frac" if whole is None else "frac of one" if over.startswith("1") else "frac of"
    before = "" if whole is None else f"{whole}\u202f"
    return f'{before}<span class="{kind}">{over}⁄{under}</span>'


def message(text: str) -> Markup:
    """A finding's words; what it shows of a text, with the caret under its fault, stands as it was typed."""
    said, _, shown = text.partition("\n    ")
    words = Markup(_KEY.sub(r"<i>\1</i>", str(fractions(said))))
    if not shown:
        return words
    return Markup("{}<pre>{}</pre>").format(words, "\n".join(x.removeprefix("    ") for x in shown.split("\n")))


def capital(text: str) -> str:
    """A sentence from a message: its first letter large, no stop at its end."""
    return text[:1].upper() + text[1:].rstrip(".")


def _day(value: date | datetime | None) -> str:
    return "" if value is None else written_date(value.date() if isinstance(value, datetime) else value)


def _moment(value: datetime) -> str:
    """A time as the clock on the wall shows it, with its day where that is not today."""
    local = (value if value.tzinfo else value.replace(tzinfo=UTC)).astimezone()
    clock = f"{local:%H:%M}"
    return clock if local.date() == datetime.now().astimezone().date() else f"{_day(local.date())}, {clock}"
