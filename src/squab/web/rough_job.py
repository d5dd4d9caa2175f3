"""What is asked on the telephone: read as typed, answered by the core's estimate, kept as a job file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal, InvalidOperation
from functools import cached_property, lru_cache
from typing import Any, Literal

import tomlkit

from squab.construct import construct
from squab.draw.figures import Figures
from squab.errors import LengthError
from squab.files.jobfile import read_job
from squab.job import Job
from squab.prices import PriceList
from squab.rough import Asked, Estimate
from squab.units import IMPERIAL, METRIC, MM_PER, parse_length

SIZE_IS = {
    "seat": "the seat it goes in",
    "fill": "the bare foam",
    "old_cover": "an old cover",
    "finished": "the finished cushion",
    "seam": "stitch line to stitch line",
}
LENGTHS = {
    "width": ("Width", "left to right"),
    "depth": ("Depth", "front to back"),
    "thickness": ("Thickness", "of the bare foam"),
    "cloth_width": ("Usable width", "inside the selvedges"),
    "repeat_across": ("Repeat across", "selvedge to selvedge"),
    "repeat_along": ("Repeat along", "up the roll"),
}
_REPEATS = (2.0, 5000.0)
_LIMITS = {
    "thickness": (5.0, 1000.0), "cloth_width": (100.0, 5000.0), "repeat_across": _REPEATS, "repeat_along": _REPEATS,
}  # fmt: skip
_USUAL_LIMITS = (40.0, 20_000.0)
USUAL_CLOTH = {"in": ("54", 1371.6), "mm": ("1370", 1370.0)}


@dataclass
class Asking:
    """A telephone call: what was typed by field, and what is wrong with it, once it was read."""

    typed: Mapping[str, str]
    house: str = ""
    wrong: dict[str, str] = field(default_factory=dict)

    def text(self, name: str) -> str:
        """A field as it was typed."""
        return self.typed.get(name, "")

    @property
    def unit(self) -> Literal["in", "mm"]:
        """The unit of bare numbers."""
        return "in" if self.text("unit") == "in" else "mm"

    @cached_property
    def prices(self) -> PriceList:
        """The workroom's own prices."""
        return house_job(self.house, self.unit).prices

    @cached_property
    def figures(self) -> Figures:
        """Prints figures in the call's own unit."""
        style = replace(IMPERIAL if self.unit == "in" else METRIC, fractions_set=True)
        return Figures(style, "us" if self.unit == "in" else "uk", self.prices.currency)

    @property
    def missing(self) -> list[str]:
        """The sizes that are not typed yet."""
        return [name for name in ("width", "depth", "thickness") if not self.text(name).strip()]

    @property
    def usual_cloth(self) -> str:
        """The usual width of cloth, as one would type it."""
        return USUAL_CLOTH[self.unit][0]

    def asked(self) -> Asked | None:
        """The question, where it can be answered; else what is wrong stands in `wrong`."""
        sizes = {name: self._length(name) for name in ("width", "depth", "thickness", "cloth_width")}
        pattern = self.text("pattern")
        across = self._length("repeat_across") if pattern in ("stripe", "print", "half") else None
        along = self._length("repeat_along") if pattern in ("print", "half", "bands") else None
        count, price = self._count(), self._price()
        if self.wrong or any(sizes[n] is None for n in ("width", "depth", "thickness")):
            return None
        return Asked(
            width_mm=sizes["width"] or 0.0,
            depth_mm=sizes["depth"] or 0.0,
            thickness_mm=sizes["thickness"] or 0.0,
            size_is=self.text("size_is") if self.text("size_is") in SIZE_IS else "seat",  # type: ignore[arg-type]
            count=count,
            cloth_width_mm=sizes["cloth_width"] or USUAL_CLOTH[self.unit][1],
            repeat_across_mm=across,
            repeat_along_mm=along,
            half_drop=pattern == "half",
            one_way=bool(self.text("one_way")),
            piped=self.text("piping") != "none",
            cloth_price_per_m=price,
            prices=self.prices,
            style=IMPERIAL if self.unit == "in" else METRIC,
        )

    def _length(self, name: str) -> float | None:
        typed = self.text(name).strip()
        if not typed:
            return None
        try:
            mm = parse_length(typed, self.unit).mm
        except LengthError as error:
            self.wrong[name] = error.reason
            return None
        least, most = _LIMITS.get(name, _USUAL_LIMITS)
        if not least - 1e-6 <= mm <= most + 1e-6:
            f = self.figures
            self.wrong[name] = f"{typed} is read in {self.unit}; {f.length(least)} to {f.length(most)} can be made"
            return None
        return mm

    def _count(self) -> int:
        typed = self.text("count").strip() or "1"
        if typed.isdecimal() and len(typed) < 6 and 1 <= int(typed) <= 10_000:
            return int(typed)
        self.wrong["count"] = "a whole number from 1 to 10 000"
        return 1

    def _price(self) -> Decimal | None:
        """Price of a metre; it is typed for a yard where inches are spoken."""
        typed = self.text("cloth_price").strip().lstrip("£$€").replace(",", ".")
        if not typed:
            return None
        try:
            value = Decimal(typed)
        except InvalidOperation:
            self.wrong["cloth_price"] = "an amount such as 24.50"
            return None
        if not value.is_finite() or not 0 <= value <= 10_000:
            self.wrong["cloth_price"] = "an amount from 0 to 10 000"
            return None
        return value * 1000 / Decimal(float(MM_PER["yd"])) if self.unit == "in" else value


def reasons(answer: Estimate) -> tuple[str, ...]:
    """Why the answer is what it is, in a few sentences."""
    job = answer.job
    figures, cushion, prices = Figures.of(job), job.cushions[0], job.prices
    built = construct(job).value
    assert built is not None  # the estimate stands on it
    cover = built.covers[0]
    pieces = [p for p in cover.pieces if p.kind in ("top", "bottom")]
    x0, y0, x1, y1 = pieces[0].cut.bounds()
    each = sum(p.count for p in pieces) // cushion.count
    size = cover.sizes.seam
    rings = cover.piping.rings if cover.piping else 0
    piped = f", and {figures.cloth(cover.ring_mm * rings)} of [[piping]]" if rings else ""
    repeats = (
        ", each cut at the next whole repeat, and a repeat over because nobody knows yet where the print starts"
        if job.cloths[0].pattern.repeat_along_mm
        else ""
    )
    minimum = f"; less than {figures.money(prices.minimum)} before it is not charged" if prices.minimum else ""
    said = [
        f"Sewn {figures.size(size.width_mm, size.depth_mm, size.thickness_mm)}, stitch line to stitch line: "
        f"{each} panels cut {figures.size(x1 - x0, y1 - y0)} each{piped}.",
        f"The least is what the pieces cover, with a little lost between them; the most lays them in rows{repeats}.",
        f"About {answer.minutes_per_cushion:.0f} minutes a cushion at {figures.money(prices.hour)} an hour; "
        f"{prices.tax_name} {figures.percent(prices.tax_pct)} is in it{minimum}.",
    ]
    if answer.without_cloth_price:
        said.append("The cloth itself is not in the price: nobody has said what it costs.")
    return tuple(figures.said(s) for s in said)


@lru_cache(maxsize=16)
def house_job(house: str, unit: str) -> Job:
    """A job made of the workroom's usual numbers, for its prices; the program's own where they cannot be read."""
    read = read_job(_whole(_document(house, {"unit": unit})).encode()).value
    return read or read_job(_whole(_document("", {"unit": unit})).encode()).value  # type: ignore[return-value]


def rough_text(typed: Mapping[str, str], house: str = "") -> str:
    """The job file of a telephone call: sizes as typed, whether they can be read or not."""
    document = _document(house, typed)
    cushion = tomlkit.table()
    cushion["id"] = "cushion"
    cushion["name"] = "Cushion"
    if typed.get("count", "").strip() not in ("", "1"):
        cushion["count"] = _whole_number(typed["count"])
    for name in ("width", "depth", "thickness"):
        if typed.get(name, "").strip():
            cushion[name] = _typed_length(typed[name])
    if typed.get("piping") == "none":
        cushion["piping"] = "none"
    document["cloth"] = tomlkit.aot()
    document["cloth"].append(_cloth(typed))
    document["cushion"] = tomlkit.aot()
    document["cushion"].append(cushion)
    return tomlkit.dumps(document)


def _document(house: str, typed: Mapping[str, str]) -> tomlkit.TOMLDocument:
    """The workroom's usual numbers with the call's own head."""
    document = tomlkit.parse(house)
    head = document.setdefault("job", tomlkit.table())
    customer = typed.get("customer", "").strip()
    head["name"] = f"Cushion for {customer}" if customer else "New job"
    if customer:
        head["customer"] = customer
    head["units"] = "in" if typed.get("unit") == "in" else "mm"
    head["size_is"] = typed.get("size_is", "seat").replace("_", " ") or "seat"
    return document


def _whole(document: tomlkit.TOMLDocument) -> str:
    """With a cloth and a cushion, so that it can be read as a job."""
    sizes = "".join(f'{name} = "{mm} mm"\n' for name, mm in (("width", 500), ("depth", 500), ("thickness", 75)))
    more = f'\n[[cloth]]\nid = "cloth"\nusable_width = "1370 mm"\n[[cushion]]\nid = "cushion"\n{sizes}'
    return tomlkit.dumps(document).rstrip("\n") + "\n" + more


def _cloth(typed: Mapping[str, str]) -> Any:
    cloth = tomlkit.table()
    cloth["id"] = "cloth"
    cloth["name"] = "Cloth"
    inches = typed.get("unit") == "in"
    cloth["usable_width"] = _typed_length(
        typed.get("cloth_width", "").strip() or USUAL_CLOTH["in" if inches else "mm"][0]
    )
    pattern = typed.get("pattern", "")
    across, along = typed.get("repeat_across", "").strip(), typed.get("repeat_along", "").strip()
    if pattern in ("stripe", "bands") and (along if pattern == "bands" else across):
        half = _half(along if pattern == "bands" else across, "in" if inches else "mm")
        cloth["stripes"] = [f"slate {half}", f"chalk {half}"]
        if pattern == "bands":
            cloth["stripes_run"] = "across"
    if pattern in ("print", "half"):
        for name, given in (("repeat_across", across), ("repeat_along", along)):
            if given:
                cloth[name] = _typed_length(given)
        if pattern == "half":
            cloth["drop"] = "half"
    if typed.get("one_way"):
        cloth["one_way"] = True
    if typed.get("cloth_price", "").strip():
        cloth["price_per_yd" if inches else "price_per_m"] = _amount(typed["cloth_price"])
    return cloth


def _half(typed: str, unit: Literal["in", "mm"]) -> str:
    """Half of a length, written as one would; the text itself where it is none."""
    try:
        half = parse_length(typed, unit).exact_mm / 2 / MM_PER[unit]
    except LengthError:
        return typed
    whole, rest = divmod(half, 1)
    if unit == "in" and rest:
        return f"{whole} {rest}" if whole else str(rest)
    return str(whole) if not rest else f"{float(half):g}"


def _typed_length(typed: str) -> Any:
    """A length as it is written in a job file: a bare number where it is one, else the text."""
    plain = typed.strip()
    return tomlkit.value(plain) if _is_number(plain) else plain


def _is_number(text: str) -> bool:
    whole, _, part = text.partition(".")
    figures = [whole, part] if "." in text else [whole]
    plain = all(f.isdecimal() and f.isascii() for f in figures)
    return plain and len(text) < 12 and (whole == "0" or not whole.startswith("0"))


def _whole_number(typed: str) -> Any:
    plain = typed.strip()
    return int(plain) if plain.isdecimal() and plain.isascii() and len(plain) < 9 else plain


def _amount(typed: str) -> Any:
    plain = typed.strip().lstrip("£$€").replace(",", ".")
    return tomlkit.value(plain) if _is_number(plain) else typed.strip()
