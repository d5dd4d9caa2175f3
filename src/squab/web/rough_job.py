"""What is asked on the telephone: a job file from the first, so that what is answered is what is kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from squab.construct import construct
from squab.desk import (
    Opened,
    amount_of,
    edited,
    new_job,
    opened,
    unit_of,
    with_cloth,
    with_cushion,
    with_units,
    with_value,
)
from squab.draw.figures import Figures
from squab.files.asked import USUAL_CLOTH, cloth_keys
from squab.findings import Finding, Outcome, Severity
from squab.prices import PriceList
from squab.rough import Estimate, estimate_job
from squab.units import IMPERIAL, METRIC

SIZE_IS = {
    "seat": "the seat it goes in",
    "fill": "the bare foam",
    "old cover": "an old cover",
    "finished": "the finished cushion",
    "seam": "stitch line to stitch line",
}
LENGTHS = {
    "width": ("Width", "left to right"),
    "depth": ("Depth", "front to back"),
    "thickness": ("Thickness", "of the bare foam"),
    "cloth_width": ("Usable width", "inside the [[selvages]]"),
    "repeat_across": ("Repeat across", "from [[selvage]] to [[selvage]]"),
    "repeat_along": ("Repeat along", "up the [[bolt]]"),
}
SIZES = ("width", "depth", "thickness")
PATHS = {
    "width": "cushion[0].width", "depth": "cushion[0].depth", "thickness": "cushion[0].thickness",
    "count": "cushion[0].count", "cloth_width": "cloth[0].usable_width", "repeat_across": "cloth[0].repeat_across",
    "repeat_along": "cloth[0].repeat_along",
}  # fmt: skip


@dataclass(frozen=True)
class Asking:
    """A telephone call: what was typed by field, over the workroom's usual numbers."""

    typed: Mapping[str, str]
    house: str = ""

    def text(self, name: str) -> str:
        """A field as it was typed."""
        return self.typed.get(name, "")

    @property
    def unit(self) -> Literal["in", "mm"]:
        """The unit of bare numbers."""
        return "in" if self.text("unit") == "in" else "mm"

    @property
    def spoken(self) -> dict[str, str]:
        """Words on the page that follow the unit, by where they stand."""
        said = self.figures.said
        hints = {f"{name}-hint": said(about) for name, (_, about) in LENGTHS.items()}
        hints["cloth_width-hint"] += f", {USUAL_CLOTH[self.unit]}\u00a0{self.unit} if nothing is typed"
        return hints | {
            "sold-by-said": "yard" if self.unit == "in" else "metre",
            "piping-said": said("[[Piping]]"),
            "pile-said": said("[[nap]]"),
            "stripe-said": said("stripe up the [[bolt]]"),
        }

    @property
    def missing(self) -> list[str]:
        """The sizes that are not typed yet."""
        return [name for name in SIZES if not self.text(name).strip()]

    @cached_property
    def read(self) -> Opened:
        """The job that the call is about so far."""
        return opened(rough_text(self.typed, self.house), check=False)

    @cached_property
    def outcome(self) -> Outcome[Estimate]:
        """The answer, where all that it needs was typed."""
        return Outcome(None) if self.read.job is None else estimate_job(self.read.job)

    @property
    def said(self) -> tuple[Finding, ...]:
        """What stands in the way of the cushion itself, where every field can be read."""
        return tuple(f for f in self.outcome.findings if f.severity is Severity.STOP)

    @property
    def to_mind(self) -> tuple[Finding, ...]:
        """What is to be minded when it is made."""
        return tuple(f for f in self.outcome.findings if f.severity is Severity.WARN)

    @cached_property
    def wrong(self) -> dict[str, tuple[Finding, ...]]:
        """What cannot be read yet, by field."""
        paths = {**PATHS, "cloth_price": f"cloth[0].{price_key(self.unit)}"}
        if self.text("pattern") in ("stripe", "bands"):
            paths |= dict.fromkeys(("repeat_across", "repeat_along"), "cloth[0].stripes")
        found = {name: self.read.under(path) for name, path in paths.items()}
        return {k: v for k, v in found.items() if v and self.text(k).strip()}

    @cached_property
    def prices(self) -> PriceList:
        """The workroom's own prices."""
        usual = {"unit": self.unit, "width": "500 mm", "depth": "500 mm", "thickness": "75 mm"}
        job = self.read.job or opened(rough_text(usual, self.house), check=False).job
        return job.prices if job is not None else PriceList()

    @cached_property
    def figures(self) -> Figures:
        """Prints figures in the call's own unit."""
        style = replace(IMPERIAL if self.unit == "in" else METRIC, fractions_set=True)
        return Figures(style, "us" if self.unit == "in" else "uk", self.prices.currency)


def reasons(answer: Estimate) -> tuple[str, ...]:
    """Why the answer is what it is, in a few sentences."""
    job = answer.job
    figures, cushion, prices = Figures.of(job), job.cushions[0], job.prices
    built = construct(job).value
    assert built is not None  # the estimate stands on it
    cover = built.covers[0]
    tops = [p for p in cover.pieces if p.kind in ("top", "bottom")]
    x0, y0, x1, y1 = tops[0].cut.bounds()
    each, size = sum(p.count for p in tops) // cushion.count, cover.sizes.seam
    rings = cover.piping.rings if cover.piping else 0
    piped = f", and {figures.cloth(cover.ring_mm * rings)} of [[piping]]" if rings else ""
    repeats = (
        ", each cut at the next whole repeat, and a repeat over because nobody knows yet where the print starts"
        if job.cloths[0].pattern.repeat_along_mm
        else ""
    )
    minimum = f"; the smallest charge is {figures.money(prices.minimum)} before it" if prices.minimum else ""
    said = [
        f"Sewn {figures.size(size.width_mm, size.depth_mm, size.thickness_mm)}, stitch line to stitch line: "
        f"{each} panels cut {figures.size(x1 - x0, y1 - y0)} each{piped}.",
        f"The least is what the pieces cover, with a little lost between them; the most lays them in rows{repeats}.",
        f"About {answer.minutes_per_cushion:.0f} minutes a cushion at {figures.money(prices.hour)} an hour; "
        f"{figures.tax(prices.tax_name, prices.tax_pct)} is in it{minimum}.",
    ]
    if answer.without_cloth_price:
        said.append("The cloth itself is not in the price: nobody has said what it costs.")
    return tuple(figures.said(s) for s in said)


def price_key(unit: str) -> str:
    """The key of the cloth's price: by the yard where one speaks in inches."""
    return "price_per_yd" if unit == "in" else "price_per_m"


def unit_at_first(kept: str | None, house: str) -> Literal["in", "mm"]:
    """The unit of bare numbers before anybody chose one: as this browser chose last, else as the house's numbers are.

    Parameters
    ----------
    kept
        What the browser keeps of its last choice; None where it keeps nothing.
    house
        The text of the house numbers.
    """
    return "in" if (kept or unit_of(house)) == "in" else "mm"


def rough_text(typed: Mapping[str, str], house: str = "") -> str:
    """The job file of a call: sizes as typed, whether they can be read or not."""
    unit: Literal["in", "mm"] = "in" if typed.get("unit") == "in" else "mm"
    customer = typed.get("customer", "").strip()
    text = new_job(
        with_units(house, unit), name=f"Cushion for {customer}" if customer else "New job", customer=customer
    )
    size_is = typed.get("size_is", "")
    text = edited(text, "job.size_is", size_is if size_is in SIZE_IS else "seat")
    text = with_cloth(text, 'id = "cloth"\nname = "Cloth"\n')
    cloth = cloth_keys(
        typed.get("pattern", ""),
        unit,
        width=typed.get("cloth_width", "").strip(),
        across=typed.get("repeat_across", "").strip(),
        along=typed.get("repeat_along", "").strip(),
        one_way=bool(typed.get("one_way")),
    )
    cloth[price_key(unit)] = amount_of(typed.get("cloth_price", "")).strip()
    for name, value in cloth.items():
        set_to = edited if isinstance(value, str) else with_value
        text = set_to(text, f"cloth[0].{name}", value)  # type: ignore[arg-type]
    cushion = {"name": "Cushion"} | {n: typed[n] for n in (*SIZES, "count") if typed.get(n, "").strip()}
    if typed.get("piping") == "none":
        cushion["piping"] = "none"
    return with_cushion(text, cushion)
