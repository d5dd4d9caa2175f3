"""Every figure that stands on a sheet, printed one way: lengths, sizes, money, minutes, quantities.

All sheets print through this module, so that no two of them can disagree on a number. Lengths
follow the job's own style; fractions are set (fraction slash, narrow space before it), which the
page templates turn into true fractions.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

from squab.construct.records import Size
from squab.job import Job
from squab.units import MM_PER, Style, format_cloth_length, format_gauge, format_length, round_chain_mm
from squab.words import say, word

_FIGURE = re.compile(r"\{(\w+)\}")
_BREAKS = re.compile(r"[ \t\r\n\f\v\x1c-\x1f\x85\u2028\u2029]+")
_SYMBOLS = {"GBP": "£", "USD": "$", "EUR": "€"}
_MM_PER_YARD = float(MM_PER["yd"])
_MM_PER_FOOT = float(MM_PER["ft"])
_WHOLE_M = 100.0
"""From so many metres on, thread and its like are told in whole metres."""
_LB_PER_KG = 1 / 0.45359237
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December")  # fmt: skip


@dataclass(frozen=True)
class Figures:
    """Prints the figures of one job in its own units and words."""

    style: Style
    words: str
    currency: str

    @classmethod
    def of(cls, job: Job) -> Figures:
        """The figures of a job, with fractions set."""
        return cls(replace(job.style, fractions_set=True), job.words, job.prices.currency)

    @property
    def unit(self) -> str:
        """The one unit of lengths on every sheet: `in` or `mm`."""
        return "in" if self.style.system == "imperial" else "mm"

    @property
    def unit_name(self) -> str:
        """The unit of lengths written out."""
        return "inches" if self.style.system == "imperial" else self.said("milli[[metres]]")

    @property
    def step(self) -> str:
        """The smallest printed step, in words: `1 mm`, `1/16 in`."""
        return f"1\u2044{self.style.parts_of_inch}\u00a0in" if self.style.system == "imperial" else "1\u00a0mm"

    def length(self, mm: float) -> str:
        """A length with its unit."""
        return _unbroken(format_length(mm, self.style))

    def bare(self, mm: float) -> str:
        """A length without its unit, where a heading names it."""
        return _unbroken(format_length(mm, self.style, unit=False))

    def gauge(self, mm: float) -> str:
        """How thick a thing is that is sold by its thickness, such as a cord."""
        return _unbroken(format_gauge(mm, self.style))

    def size(self, *sides_mm: float) -> str:
        """Sides multiplied out: `560 × 510 × 85 mm`."""
        return " × ".join(self.bare(s) for s in sides_mm) + f"\u00a0{self.unit}"

    def box(self, size: Size) -> str:
        """Width × depth × thickness of a cushion."""
        return self.size(size.width_mm, size.depth_mm, size.thickness_mm)

    def cloth(self, mm: float, *, to: Literal["nearest", "enough", "no more"] = "nearest") -> str:
        """A length of cloth as asked for at the counter."""
        return _unbroken(format_cloth_length(mm, self.style, to=to))

    def running(self, stations_mm: Sequence[float]) -> list[str]:
        """Figures run from nought, ascending: each as near as it can be printed, none the sum of others' errors."""
        steps, last = [], 0.0
        for at in stations_mm:
            steps.append(at - last)
            last = at
        total, printed = 0.0, []
        for step in round_chain_mm(steps, self.style):
            total += step
            printed.append(self.bare(total))
        return printed

    def quantity(self, amount: float, unit: str, *, as_sold: bool = False) -> str:
        """An amount of a shopping line in the units of the shop."""
        if unit == "mm":
            return self.length(amount)
        if unit == "each":
            return f"{amount:g}"
        if unit == "m":
            whole = self.style.system == "metric" and amount >= _WHOLE_M
            return f"{math.ceil(amount - 1e-9)}\u00a0m" if whole else self.cloth(amount * 1000)
        return self._measured(amount, unit)

    def _measured(self, amount: float, unit: str) -> str:
        if self.style.system == "metric":
            return {"m2": f"{amount:.2f} m²", "m3": f"{amount:.4f} m³", "kg": f"{amount:.2f} kg"}[unit]
        return {
            "m2": f"{amount * 1e6 / _MM_PER_YARD**2:.2f} sq yd",
            "m3": f"{amount * 1e9 / _MM_PER_FOOT**3:.2f} cu ft",
            "kg": f"{amount * _LB_PER_KG:.2f} lb",
        }[unit]

    def money(self, amount: Decimal) -> str:
        """An amount of money to the penny: `£1,204.50`; another currency by its code."""
        figure = f"{amount.quantize(Decimal('0.01'), ROUND_HALF_UP):,}"
        symbol = _SYMBOLS.get(self.currency)
        return f"{symbol}{figure}" if symbol else f"{figure} {self.currency}"

    def percent(self, pct: Decimal | float) -> str:
        """A percentage without idle noughts: `20 %`, kept together."""
        return f"{float(pct):g}\u00a0%"

    def tax(self, name: str, pct: Decimal | float) -> str:
        """A tax by its name and rate, kept together on one line: `VAT 20 %`."""
        return f"{shortened(name, 20)} {self.percent(pct)}".replace(" ", "\u00a0")

    def minutes(self, minutes: float) -> str:
        """Minutes to the nearest whole."""
        return f"{minutes:.0f}"

    def filled(self, text: str, figures: Mapping[str, float]) -> str:
        """Fill the `{name}` places of a text with lengths, `{cord}` with a gauge; put in the job's own words."""

        def length_of(found: re.Match[str]) -> str:
            name = found.group(1)
            if name not in figures:
                return found.group(0)
            return (self.gauge if name == "cord" else self.length)(figures[name])

        return self.said(_FIGURE.sub(length_of, text))

    def said(self, text: str) -> str:
        """Put the job's own words in place of `[[marked]]` ones; a mark that is no word of ours stays as written."""
        try:
            return say(text, self.words)  # type: ignore[arg-type]
        except KeyError:
            return text

    def word(self, code: str) -> str:
        """One word of the code in the job's own."""
        return word(code, self.words)  # type: ignore[arg-type]


def _unbroken(figure: str) -> str:
    """A figure that no line end parts from its fraction or its unit."""
    return figure.replace("\u2009", "\u202f").replace(" ", "\u00a0")


def written_date(day: date | None) -> str:
    """A date with its month in letters, which no shore misreads."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}" if day else ""


def valid_until(job: Job) -> str:
    """How long a quotation stands: `until` a date where the job is dated, else `for` a number of days."""
    if job.dated is None:
        return f"for {job.validity_days} days"
    return "until " + written_date(job.dated + timedelta(days=job.validity_days))


def shortened(text: str, most: int) -> str:
    """A text on one line, cut to `most` characters with an ellipsis."""
    line = _BREAKS.sub(" ", text).strip()
    return line if len(line) <= most else line[: most - 1].rstrip() + "…"
