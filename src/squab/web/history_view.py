"""The history of a text as its page shows it: what changed when, version by version."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from squab.desk import differences
from squab.files.lines import place_of
from squab.keep import JobVersion
from squab.web.fields import Form

MOST_TOLD = 12
"""Changes told of one version; the rest are counted."""
MOST_LETTERS = 1_500_000
"""Texts of this many letters together are compared in one list; a version beyond them has its own page."""


def bare(typed: str) -> bool:
    """Whether a length was typed without its unit."""
    return typed[-1:].isdigit() or typed.endswith(tuple("½¼¾⅛⅜⅝⅞."))


class Difference(NamedTuple):
    """One key that changed: where it stands, what it is called, what stood there, what stands there now."""

    where: str
    label: str
    before: str
    after: str


class Told(NamedTuple):
    """One version and what made it."""

    version: JobVersion
    latest: bool
    differences: list[Difference]
    more: int
    unread: str = ""
    """Why nothing is told by key, where something changed."""


@dataclass
class TextHistory:
    """The newest versions of a text, each with what it changed."""

    title: str
    home: str
    versions: Sequence[JobVersion]
    text_at: Callable[[int], str]
    form: Form
    most: int = 30
    has_texts: bool = False
    """Whether each version has a page of its own."""

    @cached_property
    def told(self) -> list[Told]:
        """The newest versions, newest first."""
        shown = self.versions[: max(self.most, 1) + 1]
        texts = [self.text_at(v.version) for v in shown]
        made, letters = [], 0
        for i, version in enumerate(shown[: max(self.most, 1)]):
            before = texts[i + 1] if i + 1 < len(texts) else None
            letters += len(texts[i])
            made.append(self._told(version, i == 0, before, texts[i], large=letters > MOST_LETTERS and i > 0))
        return made

    @property
    def more(self) -> int:
        """How many older versions there are."""
        return max(len(self.versions) - self.most, 0)

    def _told(self, version: JobVersion, latest: bool, before: str | None, after: str, *, large: bool) -> Told:
        if before is None:
            return Told(version, latest, [], 0)
        if before == after:
            return Told(version, latest, [], 0, "it was changed, and changed back")
        if large:
            return Told(version, latest, [], 0, "it is too large to be compared in a list")
        found = self.between(before, after)
        why = "" if found else "only its notes, order or spacing were changed"
        return Told(version, latest, found[:MOST_TOLD], len(found) - MOST_TOLD, why)

    def between(self, before: str, after: str) -> list[Difference]:
        """What differs between two texts, in the maker's words."""
        return [self._named(path, old, new) for path, old, new in differences(before, after)]

    def _named(self, path: str, before: str, after: str) -> Difference:
        place = place_of(path)
        where = ""
        if place[0] in ("cushion", "cloth") and len(place) > 1 and isinstance(place[1], int):
            here = f"{place[0]}[{place[1]}]"
            typed = self.form.opened.typed
            where = typed.get(f"{here}.name") or typed.get(f"{here}.id") or f"{place[0]} {place[1] + 1}"
            where = "" if where == self.title else where
        if len(place) == 2 and where:
            return Difference("", where, before, after)
        field = self.form.field(path, hint="")
        label = f"Stripe {place[-1] + 1}" if isinstance(place[-1], int) and "stripes" in place else field.label
        words = dict(field.choices)
        unit = self.form.opened.typed.get("job.units", "mm") if field.kind == "length" else ""
        was, now = (words.get(x, f"{x} {unit}" if unit and bare(x) else x) for x in (before, after))
        return Difference(where, label, was, now)
