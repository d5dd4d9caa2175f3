"""The house numbers as their page shows them: every key a new job begins with, in the order of a maker's work."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import cached_property

from squab.desk import Opened, opened_house
from squab.desk.tree import key_of
from squab.files.lines import place_of
from squab.keep import HouseNumbers, Keep
from squab.rough import Estimate, estimate_job
from squab.web import fields as f
from squab.web.kept_text import KeptText
from squab.web.rough_job import reasons

_SHORE_WORDS = re.compile(r"\b(zip panel|zip|piping|boxing|colour|centre line|metre|fibre|bolt)(s?)\b", re.IGNORECASE)
"""Words of a key's description that differ from shore to shore."""

SECTIONS: tuple[tuple[str, str, str, tuple[str, ...]], ...] = (
    ("room", "The workroom", "", (
        "job.workroom", "job.units", "job.print_in", "job.parts_of_inch", "job.words", "job.paper", "job.marked",
        "job.size_is", "job.knife_gap", "job.outdoor",
    )),
    ("charge", "What to charge", "", (
        *(f"prices.{n}" for n in f.PRICE_FIRST), "job.quote_valid_days", "job.lead_time_weeks",
    )),
    ("seams", "Seams and fit", "", (
        "cover.allowance", "cover.fit", "cover.fit_thickness", "cover.overlock", "cover.panel_seams", "cover.film",
    )),
    ("piping", "[[Piping]]", "", (
        "cover.piping.edges", "cover.piping.cut", "cover.piping.cord", "cover.piping.strip", "cover.piping.square_ends",
        "cover.piping.least_part", "cover.piping.spare",
    )),
    ("zip", "[[Zip]]", "", (
        "cover.zip.place", "cover.zip.side", "cover.zip.making", "cover.zip.tape", "cover.zip.return",
        "cover.zip.longer_by", "cover.zip.sliders", "cover.zip.trim",
    )),
    ("boxing", "[[Boxing]]", "", (
        "cover.boxing_ease", "cover.boxing_spare", "cover.join_clear_of_front", "cover.least_boxing_part",
        "cover.joins_at_corners",
    )),
    ("notches", "Notches", "", (
        "cover.notches.straight_every", "cover.notches.curve_every", "cover.notches.depth", "cover.notches.way",
    )),
    ("match", "Where a pattern shall meet", "", (
        *(f"cover.{n}" for n in (*f.MATCH_WISHES, *f.MATCH_MORE)), "cover.match.pin_across", "cover.match.pin_along",
    )),
    ("extras", "Ties, handles, base", "", ("cover.ties", "cover.handle", "cover.non_slip_base")),
    ("material", "Prices of material", "What you pay, before any mark-up.", (
        *(f"prices.{n}" for n in f.price_names() if n not in f.PRICE_FIRST),
    )),
    ("minutes", "Minutes by operation", "A first cushion of ordinary size; put your own bench's in.", (
        *(f"prices.{n}" for n in f.minute_names() if n.startswith("minutes.")),
    )),
    ("factors", "What multiplies the minutes", "1.25 is a quarter more; 0.92 a little less.", (
        *(f"prices.{n}" for n in f.minute_names() if n.startswith("factors.")),
    )),
    ("seldom", "Seldom the same twice", "Which cloth a part is cut from, by its short name; the row.", (
        *(f"cover.{n}" for n in f.CLOTHS_OF_PARTS), "cover.match.row",
    )),
)  # fmt: skip
_USUAL = {
    "job.print_in": "as they are typed", "job.words": "US with inches, else UK", "job.paper": "Letter with US, else A4",
    "job.size_is": "asked each time", "cover.zip.side": "back",
}  # fmt: skip
"""What holds where nothing is said, in a maker's words."""
LATE = ("material", "minutes", "factors", "seldom")
"""Sections that are opened when they are wanted."""


class HouseView(KeptText):
    """The house numbers, read."""

    here = "house"
    template = "house.html"
    aside = "house-aside.html"
    home = "/house"
    title = "House numbers"

    def __init__(self, keep: Keep, record: HouseNumbers) -> None:
        super().__init__(record)
        self._keep = keep

    @cached_property
    def opened(self) -> Opened:
        """The numbers, read."""
        return opened_house(self.record.text)

    def kept(self, text: str, version: int, why: str = "saved") -> HouseView:
        """Keep other numbers in their place."""
        return HouseView(self._keep, self._keep.save_house(text, version, why=why))

    @cached_property
    def sections(self) -> list[tuple[str, str, str, list[f.Field], bool, int]]:
        """Each section: anchor, title, a word about it, fields, whether opened when wanted, how many are set."""
        made = []
        for anchor, title, about, names in SECTIONS:
            fields = [self._field(n) for n in names]
            made.append((anchor, self.said(title), about, fields, anchor in LATE, sum(bool(x.value) for x in fields)))
        return made

    def _field(self, path: str) -> f.Field:
        """A field that says what its key means, in full where the label does not."""
        field = self.form.field(path, usual=_USUAL.get(path, ""), reshapes=path in ("job.units", "job.words"))
        key = key_of(place_of(path))
        if path == "job.words" or path.startswith(("prices.minutes.", "prices.factors.")):  # told by choices, by labels
            return replace(field, hint="")
        doc = self.said(_SHORE_WORDS.sub(r"[[\1\2]]", key.doc)) if key is not None else ""
        meaning = f.plain_code(field.hint or doc)
        meaning = meaning[:1].lower() + meaning[1:] if meaning[1:2].islower() else meaning
        return replace(field, hint="" if _same(meaning, field.label) else meaning)

    @cached_property
    def usual(self) -> Estimate | None:
        """What a usual cushion comes to by these numbers."""
        return None if self.opened.job is None else estimate_job(self.opened.job).value

    @cached_property
    def usual_said(self) -> list[str]:
        """The same in words; its cloth costs nothing here."""
        return list(reasons(self.usual)[:1]) if self.usual is not None else []

    @property
    def stops(self) -> int:
        """How many findings stand in the way of a new job."""
        return sum(x.severity.name == "STOP" for x in self.opened.findings)


def _same(meaning: str, label: str) -> bool:
    """Whether a description says no more than its label."""
    told, label_words = ({*re.findall(r"[a-z]+", text.lower())} for text in (meaning, label.replace("%", "percent")))
    return told - {"the", "a", "an", "its", "of", "how", "many", "which", "it", "is"} <= label_words
