"""The fields of one cloth: of a job's, and of one on the shelf."""

from __future__ import annotations

from abc import ABC, abstractmethod
from functools import cached_property

from squab.desk import Opened
from squab.files.reading import STRIPE_TEXT
from squab.findings import Finding
from squab.web import fields as f

MOST_STRIPES = 60
_MORE = ("thickness", "shrink_warp", "shrink_weft", "shrinks_after_cutting", "mass", "sold_by", "square_off", "care")
_PATTERNS: dict[str, tuple[str, ...]] = {
    "plain": (),
    "stripes": ("stripes_run", "repeat", "even"),
    "print": (
        "repeat_across",
        "repeat_along",
        "repeat_within",
        "drop",
        "motif.shape",
        "motif.colour",
        "motif.across",
        "motif.along",
    ),
}


class ClothFields(ABC):
    """What a page shows of the cloth that is open on it."""

    cloth: int

    @property
    @abstractmethod
    def opened(self) -> Opened:
        """The text in which the cloth stands, read."""

    @cached_property
    @abstractmethod
    def form(self) -> f.Form:
        """Makes the fields."""

    @cached_property
    @abstractmethod
    def unit(self) -> str:
        """The unit of bare numbers."""

    @property
    def cloth_here(self) -> str:
        """Key path of the open cloth."""
        return f"cloth[{self.cloth}]"

    @cached_property
    def pattern(self) -> str:
        """The open cloth's pattern: plain, stripes or print."""
        here, typed = self.cloth_here, self.opened.typed
        if self.opened.count(f"{here}.stripes") or f"{here}.stripes" in typed:
            return "stripes"
        return "print" if f"{here}.repeat_across" in typed or f"{here}.repeat_along" in typed else "plain"

    @cached_property
    def stripes(self) -> list[tuple[int, str, str, str, tuple[Finding, ...]]]:
        """Index, width, colour, name, and what was found, of each stripe of the open cloth."""
        here = f"{self.cloth_here}.stripes"
        made = []
        for i in range(min(self.opened.count(here), MOST_STRIPES)):
            name, colour, width = self._stripe(f"{here}[{i}]")
            made.append((i, width, colour, name, self.opened.under(f"{here}[{i}]")))
        return made

    def _stripe(self, path: str) -> tuple[str, str, str]:
        """Name, colour and width of a stripe as typed, whether in one text or in a table."""
        typed = self._typed(path)
        if typed:
            return stripe_parts(typed)
        return self._typed(f"{path}.name"), self._typed(f"{path}.colour"), self._typed(f"{path}.width")

    @cached_property
    def cloth_fields(self) -> list[f.Field]:
        """The open cloth's fields, those of its pattern with them."""
        first = ["name", "usable_width", "price_per_yd" if self._priced_by_yard else "price_per_m"]
        if self.pattern != "stripes":
            first.insert(1, "colour")
        return self.form.fields(self.cloth_here, first)

    @property
    def _priced_by_yard(self) -> bool:
        if f"{self.cloth_here}.price_per_m" in self.opened.typed:
            return False
        return f"{self.cloth_here}.price_per_yd" in self.opened.typed or self.unit == "in"

    @cached_property
    def pattern_fields(self) -> list[f.Field]:
        """The fields of the open cloth's pattern."""
        made = self.form.fields(self.cloth_here, _PATTERNS[self.pattern])
        return [f.told_apart(x) if x.path.endswith(".even") else x for x in made]

    @cached_property
    def cloth_ticks(self) -> list[f.Field]:
        """What the open cloth is like."""
        names = ["one_way", "pile", "same_both_faces", "may_railroad", "frays", "vinyl", "open_weave"]
        if self.pattern == "plain":
            names.append("cut_double")
        if self.pattern == "print":
            names += ["mirrored", "half_turn_same"]
        return self.form.fields(self.cloth_here, names)

    @cached_property
    def cloth_more(self) -> list[f.Field]:
        """The open cloth's other numbers."""
        return self.form.fields(self.cloth_here, _MORE)

    def _typed(self, path: str) -> str:
        return self.opened.typed.get(path, "")


def stripe_parts(typed: str) -> tuple[str, str, str]:
    """Name, colour and width of a stripe as typed: `edge #2f3e6b 2 1/2`; each empty while it is not typed."""
    text = typed.strip()
    found = STRIPE_TEXT.fullmatch(text)
    if found is None:
        return ("", "", text) if text[:1].isdigit() else ("", text, "")
    name, _, colour = found["what"].rpartition(" ")
    return (name, colour, found["width"]) if name and f.colour_of(colour) else ("", found["what"], found["width"])
