"""Two or three ways of making one job, side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cached_property

from squab.desk import EditError, VariantFigures, figures_of, from_shelf, made_otherwise, without_lost_pins
from squab.draw.figures import Figures
from squab.findings import Finding, Severity
from squab.keep import ClothRecord, JobRecord, Keep, NotInKeep
from squab.web.searching import Search
from squab.web.works import Reading, Works, reading_of
from squab.words import say

LETTERS = ("a", "b")
SECONDS = 4.0
"""How long each way is laid."""
_OFTEN = 60
"""Cloths of the shelf that are offered."""

PIPING = {"both": "both edges", "top": "the top edge only", "bottom": "the bottom edge only", "none": "none"}
MATCH: Mapping[str, tuple[str, Mapping[str, str]]] = {
    "hard": ("must meet at the front, both ways", {"match.front": "must", "match.front_across_only": "false"}),
    "across": ("must meet at the front, across only", {"match.front": "must", "match.front_across_only": "true"}),
    "loose": ("should meet, where it costs nothing", {
        "match.front": "prefer", "match.sides": "prefer", "match.back": "prefer", "match.bottom": "ignore",
    }),
    "none": ("need not meet anywhere", dict.fromkeys(
        ("match.front", "match.sides", "match.back", "match.bottom", "match.joins"), "ignore")),
}  # fmt: skip
SIDES = {"false": "cut across, as a ring", "true": "turned along the [[bolt]]"}
CHANGES = ("cloth", "piping", "match", "sides")


@dataclass(frozen=True)
class Otherwise:
    """One way to make a job otherwise: what was chosen, empty where it stays as it is."""

    letter: str
    cloth: str = ""
    piping: str = ""
    match: str = ""
    sides: str = ""

    @classmethod
    def of(cls, letter: str, given: Mapping[str, str]) -> Otherwise:
        """What a form or an address says."""
        return cls(letter, **{n: given.get(f"{letter}_{n}", "")[:80] for n in CHANGES})

    @property
    def chosen(self) -> bool:
        """Tell whether anything is otherwise."""
        return any(getattr(self, n) for n in CHANGES)

    @property
    def fields(self) -> dict[str, str]:
        """The same as fields of a form."""
        return {f"{self.letter}_{n}": getattr(self, n) for n in CHANGES if getattr(self, n)}

    def made(self, text: str, keep: Keep) -> str:
        """The job's text made otherwise.

        Raises
        ------
        EditError
            If the text cannot be changed so as it stands.
        NotInKeep
            If the cloth is not on the shelf any more.
        """
        if self.cloth.startswith("shelf-"):
            tried = keep.cloth(self.cloth.removeprefix("shelf-")).text
            text = without_lost_pins(from_shelf(text, tried, instead=0))
        elif self.cloth:
            text = made_otherwise(text, "panel_cloth", self.cloth)
        settings = {"piping.edges": self.piping} if self.piping in PIPING else {}
        settings |= MATCH[self.match][1] if self.match in MATCH else {}
        settings |= {"match.sides_along": self.sides} if self.sides in SIDES else {}
        for key, typed in settings.items():
            text = made_otherwise(text, key, typed)
        return text

    def named(self, cloths: Mapping[str, str]) -> str:
        """What is otherwise, in words."""
        told = [cloths.get(self.cloth, "")]
        if self.piping in PIPING:
            told.append("no [[piping]]" if self.piping == "none" else f"[[piping]] at {PIPING[self.piping]}")
        told += [f"pattern {MATCH[self.match][0]}"] if self.match in MATCH else []
        told += [f"sides {SIDES[self.sides]}"] if self.sides in SIDES else []
        return "; ".join(t for t in told if t)


@dataclass(frozen=True)
class Way:
    """One way, as far as it is worked out."""

    way: Otherwise
    name: str
    reading: Reading
    figures: VariantFigures | None
    search: Search | None

    @property
    def running(self) -> bool:
        """Tell whether it is being laid."""
        return self.figures is None and self.search is not None and self.search.running

    @property
    def apart(self) -> int:
        """At how many mitres the pattern cannot meet."""
        return len(self.reading.prepared.match.mitres_apart) if self.reading.prepared is not None else 0

    @property
    def stops(self) -> tuple[Finding, ...]:
        """What stands in its way."""
        found = (*self.reading.findings, *(self.search.findings if self.search is not None else ()))
        return tuple(dict.fromkeys(f for f in found if f.severity is Severity.STOP))

    @property
    def fault(self) -> str:
        """Why there is nothing to show, where no finding says it."""
        if self.figures is not None or self.running or self.stops:
            return ""
        return self.search.fault if self.search is not None and self.search.fault else "it could not be laid"


class Comparison:
    """A job as it is, beside one or two other ways."""

    def __init__(self, keep: Keep, works: Works, record: JobRecord, ways: Sequence[Otherwise]) -> None:
        self.keep = keep
        self.works = works
        self.record = record
        self.asked = tuple(ways)

    @cached_property
    def here(self) -> Reading:
        """The job as it is."""
        return reading_of(self.record.text)

    @cached_property
    def printed(self) -> Figures | None:
        """Prints figures as the sheets do; None where the job cannot be read."""
        return Figures.of(self.here.job) if self.here.job is not None else None

    def said(self, text: str) -> str:
        """A text in the job's own words."""
        return say(text, self.here.job.words if self.here.job is not None else "uk")

    @cached_property
    def shelf(self) -> tuple[ClothRecord, ...]:
        """The cloths that may be tried."""
        return self.keep.cloths()[:_OFTEN]

    @cached_property
    def cloths(self) -> dict[str, str]:
        """The cloths that may be tried, by what a form says of them."""
        own = {c.id: c.name for c in self.here.job.cloths[1:]} if self.here.job is not None else {}
        return own | {f"shelf-{c.id}": c.name for c in self.shelf}

    @property
    def choices(self) -> list[tuple[str, str, list[tuple[str, str]]]]:
        """What may be otherwise: name, label, choices."""
        return [
            ("cloth", "Cloth", list(self.cloths.items())),
            ("piping", self.said("[[Piping]]"), list(PIPING.items())),
            ("match", "The pattern", [(k, words) for k, (words, _) in MATCH.items()]),
            ("sides", "The sides' strips", [(k, self.said(w)) for k, w in SIDES.items()]),
        ]

    @cached_property
    def ways(self) -> list[Way]:
        """The job as it is and each other way that was chosen; what is not laid yet begins to be."""
        asked = [Otherwise(""), *(w for w in self.asked if w.chosen)]
        return [self._way(w) for w in asked] if len(asked) > 1 else []

    def _way(self, way: Otherwise) -> Way:
        name = self.said(way.named(self.cloths)) or "As it is"
        reading = reading_of(way.made(self.record.text, self.keep))
        worked = self.works.worked(reading)
        if worked is not None:
            return Way(way, name, reading, figures_of(name, reading.text, worked, reading.findings), None)
        search = self.works.searching(reading, whole=False)
        if search is None:
            search = self.works.search(reading, seconds=SECONDS)
        return Way(way, name, reading, None, search)

    @property
    def running(self) -> bool:
        """Tell whether anything is being laid."""
        return any(w.running for w in self.ways)

    @property
    def first(self) -> VariantFigures | None:
        """What the job comes to as it is."""
        return self.ways[0].figures if self.ways else None

    def cloth_mm(self, figures: VariantFigures) -> float:
        """All cloth to order."""
        return sum(mm for _, mm in figures.cloths)

    def more_cloth(self, figures: VariantFigures) -> str:
        """How much more or less cloth than as it is."""
        if self.first is None or self.printed is None or figures is self.first:
            return ""
        mm = self.cloth_mm(figures) - self.cloth_mm(self.first)
        return _signed(mm, self.printed.cloth(abs(mm)))

    def shows(self, figures: VariantFigures) -> tuple[list[str], list[str]]:
        """What shows: of the job as it is, everything; of another way, what is new and what shows no more."""
        if self.first is None or figures is self.first:
            return list(figures.shows), []
        before = self.first.shows
        return [x for x in figures.shows if x not in before], [x for x in before if x not in figures.shows]

    def more_money(self, figures: VariantFigures) -> str:
        """How much more or less it costs than as it is."""
        if self.first is None or self.printed is None or figures is self.first:
            return ""
        amount = (figures.total or Decimal(0)) - (self.first.total or Decimal(0))
        return _signed(float(amount), self.printed.money(abs(amount)))


def _signed(amount: float, words: str) -> str:
    if abs(amount) < 0.005:
        return "the same"
    return f"{words} {'more' if amount > 0 else 'less'}"


def way_or_none(way: Otherwise, text: str, keep: Keep) -> str | None:
    """The text made otherwise; None where that cannot be done any more."""
    try:
        return way.made(text, keep)
    except (EditError, NotInKeep):
        return None
