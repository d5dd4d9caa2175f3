"""Pages over a text that is kept by itself: the house numbers, a cloth of the shelf.

As on the page of a job, every field edits one key of the text, what was found stands beside it, and a page
that shows an older text than is kept is told so.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from functools import cached_property
from typing import Any, Literal

from fastapi import Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData

from squab.desk import EditError, Opened
from squab.draw.figures import Figures
from squab.files.jobfile import UNITS
from squab.files.lines import place_of
from squab.keep import Stale
from squab.keep.records import Text
from squab.units import IMPERIAL, METRIC
from squab.web.fields import Form, id_of
from squab.web.problems import Problem
from squab.web.rendering import by_htmx, page, text_of
from squab.words import Shore, say

Change = Callable[[str], str]


class KeptText(ABC):
    """One text that is kept, as its page shows it."""

    here: str
    """Its name in the head of every page."""
    template: str
    aside: str
    """The template of what is worked out of the text and drawn anew with every edit."""
    cushion = cloth = 0

    def __init__(self, record: Text) -> None:
        self.record = record

    @property
    @abstractmethod
    def home(self) -> str:
        """The address under which its fields are set."""

    @property
    @abstractmethod
    def title(self) -> str:
        """What it is called."""

    @property
    @abstractmethod
    def opened(self) -> Opened:
        """The text, read."""

    @abstractmethod
    def kept(self, text: str, version: int, why: str = "saved") -> KeptText:
        """Keep another text in its place, or raise `Stale`."""

    @cached_property
    def unit(self) -> str:
        """The unit of bare numbers."""
        unit = self.opened.typed.get("job.units", "mm")
        return unit if unit in UNITS else "mm"

    @cached_property
    def words(self) -> Shore:
        """Whose words the page speaks."""
        said = self.opened.typed.get("job.words", "us" if self.unit == "in" else "uk")
        return "us" if said == "us" else "uk"

    @cached_property
    def figures(self) -> Figures:
        """Prints figures as the sheets do."""
        if self.opened.job is not None:
            return Figures.of(self.opened.job)
        return Figures(IMPERIAL if self.unit == "in" else METRIC, self.words, "GBP")

    @cached_property
    def form(self) -> Form:
        """Makes the fields."""
        return Form(self.opened, self.words)

    def said(self, text: str) -> str:
        """A text in the page's own words."""
        return say(text, self.words)


def shown(request: Request, text: KeptText, status: int = 200, **values: Any) -> Response:
    """The page of a text."""
    return page(request, text.template, status, here=text.here, view=text, **values)


async def set_key(request: Request, now: Callable[[], KeptText], change: Callable[[str, str], Change]) -> Response:
    """Set one key to what was typed."""
    form = await request.form()
    typed = "\n".join(str(v) for v in form.getlist("value"))
    if form.get("tick") and not typed:
        typed = text_in(form, "otherwise")
    return await changed(request, now, change(text_in(form, "path"), typed))


async def changed(request: Request, now: Callable[[], KeptText], change: Change, *, why: str = "saved") -> Response:
    """Make a change to the text that the page shows, keep it, and answer with what it changes on the page."""
    form = await request.form()
    return await run_in_threadpool(_change, request, now, form, change, why)


def _change(request: Request, now: Callable[[], KeptText], form: FormData, change: Change, why: str) -> Response:
    before = now()
    if before.record.version != whole_in(form, "now", "version"):
        return _conflict(request, before, form)
    try:
        text = change(before.record.text)
    except EditError as error:
        reason = error.finding.message if error.finding else str(error)
        raise Problem(422, "That field cannot be set as the text stands", reason, "go back in its history") from error
    try:
        after = before.kept(text, before.record.version, why)
    except Stale:
        return _conflict(request, now(), form)
    if not by_htmx(request):
        path = text_in(form, "path")
        return RedirectResponse(f"{after.home}#{id_of(path) if path else 'main'}", 303)
    if form.get("whole"):
        return shown(request, after)
    return _parts(request, before, after)


def _parts(request: Request, before: KeptText, after: KeptText) -> Response:
    old, new = before.opened.by_path, after.opened.by_path
    slots = {id_of(p): new.get(p, ()) for p in dict.fromkeys((*old, *new)) if p and old.get(p) != new.get(p)}
    return HTMLResponse(text_of(request, "kept-parts.html", view=after, slots=slots))


def _called(opened: Opened, path: str) -> str:
    """What a key is called, with whose it is."""
    label = Form(opened, "uk").field(path, hint="").label
    place = place_of(path)
    if len(place) < 3 or place[0] not in ("cushion", "cloth"):
        return label
    whose = opened.typed.get(f"{place[0]}[{place[1]}].name", "")
    return f"{label}, {whose}" if whose else label


def conflict(
    request: Request, form: FormData, opened: Opened, *, here: str, title: str, home: str, version: int
) -> Response:
    """Show what was typed beside what is kept now; nothing is written, nothing is lost."""
    path = text_in(form, "path")
    values: dict[str, Any] = {
        "title": title, "home": home, "version": version, "path": path, "kept": opened.typed.get(path, ""),
        "label": _called(opened, path) if path else "",
        "typed": "\n".join(str(v) for v in form.getlist("value")),
        "fields": [(k, str(v)) for k, v in form.multi_items() if k not in ("now", "version", "token", "whole")],
    }  # fmt: skip
    if not by_htmx(request):
        return page(request, "conflict.html", 409, here=here, **values)
    answer = page(request, "conflict-part.html", 409, **values)
    answer.headers["hx-retarget"] = "#told"
    answer.headers["hx-reswap"] = "innerHTML"
    answer.headers["hx-reselect"] = ".conflict"
    return answer


def _conflict(request: Request, newer: KeptText, form: FormData) -> Response:
    return conflict(
        request, form, newer.opened, here=newer.here, title=newer.title, home=newer.home, version=newer.record.version
    )


def text_in(form: FormData, name: str) -> str:
    """A text of a form."""
    return str(form.get(name, ""))


def whole_in(form: FormData, *names: Literal["now", "version", "index", "count"]) -> int:
    """The first whole number that a form gives under these names, else 0."""
    text = next((str(form[n]) for n in names if form.get(n)), "")
    return int(text) if text.isdecimal() and len(text) < 9 else 0
