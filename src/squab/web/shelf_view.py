"""A cloth of the shelf as its page shows it."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from functools import cached_property, lru_cache

from squab.cloth import Cloth
from squab.desk import Opened, opened_house, opened_shelf_cloth
from squab.keep import ClothRecord, JobLine, Keep
from squab.prices import PriceList
from squab.web.cloth_fields import ClothFields
from squab.web.kept_text import KeptText
from squab.web.rendering import money

MOST_JOBS = 200
"""Jobs offered for a cloth to be put into."""
MOST_NAMED = 8

_read = lru_cache(maxsize=256)(opened_shelf_cloth)


class ShelfCloth(KeptText, ClothFields):
    """One cloth of the shelf, read."""

    here = "cloths"
    template = "cloth.html"
    aside = "cloth-aside.html"
    record: ClothRecord

    def __init__(self, keep: Keep, record: ClothRecord) -> None:
        super().__init__(record)
        self._keep = keep

    @property
    def id(self) -> str:
        """Its id on the shelf."""
        return self.record.id

    @property
    def home(self) -> str:
        """The address under which its fields are set."""
        return f"/cloths/{self.id}"

    @property
    def title(self) -> str:
        """What it is called."""
        return self.record.name

    @cached_property
    def opened(self) -> Opened:
        """Its text, read."""
        return _read(self.record.text)

    def kept(self, text: str, version: int, why: str = "saved") -> ShelfCloth:
        """Keep another text in its place; its name follows."""
        name = _read(text).typed.get("cloth[0].name", "").strip() or self.record.name
        return ShelfCloth(self._keep, self._keep.save_cloth(self.id, name[:200], text, version, why=why))

    @cached_property
    def made(self) -> Cloth | None:
        """The cloth itself, where it can be read."""
        return self.opened.job.cloths[0] if self.opened.job is not None else None

    @cached_property
    def facts(self) -> list[tuple[str, str]]:
        """What its numbers come to, in words."""
        cloth = self.made
        if cloth is None:
            return []
        told = [("Usable width", self.figures.length(cloth.usable_width_mm))]
        pattern = cloth.pattern
        if pattern.repeat_across_mm:
            told.append(("Repeat across", self.figures.length(pattern.repeat_across_mm)))
        if pattern.repeat_along_mm:
            told.append(("Repeat along", self.figures.length(pattern.repeat_along_mm)))
        if pattern.drop_mm:
            told.append(("Drop", self.figures.length(pattern.drop_mm)))
        if pattern.stripes:
            told.append(("Reads the same both ways", "yes" if pattern.mirror_axes else "no, it has a left and a right"))
        return told

    @property
    def kind(self) -> str:
        """Its pattern in a few words."""
        cloth = self.made
        if cloth is None:
            return "cannot be read yet"
        pattern = cloth.pattern
        words = {"plain": "plain", "warp_stripe": "stripe", "weft_stripe": "stripe across", "print": "print"}
        size = pattern.repeat_across_mm or pattern.repeat_along_mm
        told = words[pattern.kind] + (f", repeat {self.figures.length(size)}" if size else "")
        return told + (", half drop" if pattern.drop_mm and pattern.drop_mm * 2 == pattern.repeat_along_mm else "")

    @cached_property
    def jobs(self) -> tuple[JobLine, ...]:
        """Jobs into which it may be put."""
        return self._keep.jobs()[:MOST_JOBS]

    @cached_property
    def in_jobs(self) -> tuple[JobLine, ...]:
        """Jobs in which its name is found."""
        return self._keep.jobs(self.title)[:MOST_NAMED]

    @property
    def price(self) -> str:
        """What it costs, in the money of the house; as typed where that is no sum."""
        for key, each in (("price_per_m", "a [[metre]]"), ("price_per_yd", "a yard")):
            typed = self.opened.typed.get(f"cloth[0].{key}")
            if typed:
                return f"{_money(typed, _currency(self._keep.house().text))} {self.said(each)}"
        return ""


@lru_cache(maxsize=4)
def _currency(house: str) -> str:
    """The currency of the house numbers."""
    job = opened_house(house).job
    return job.prices.currency if job is not None else PriceList().currency


def _money(typed: str, currency: str) -> str:
    try:
        return money(Decimal(typed), currency)
    except InvalidOperation:
        return typed
