"""Read a job file: everything a maker typed, checked in one pass."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from squab.cloth import Cloth
from squab.files.cloths import read_cloth
from squab.files.cushions import INCH_COVER, read_cushion
from squab.files.document import Document, read_document
from squab.files.keys import COVER, CUSTOMER, FACTORS, FILE, FOAM_SHEET, JOB, MINUTES, PRICES
from squab.files.reading import Reader, filled
from squab.findings import Finding, Outcome, Severity, worst_first
from squab.job import AIMS, Cover, Cushion, Customer, FoamSheet, Job
from squab.prices import Factors, Minutes, PriceList
from squab.units import Style, Unit

UNITS: tuple[Unit, ...] = ("mm", "cm", "m", "in")


def read_job(data: bytes, *, name: str = "job file") -> Outcome[Job]:
    """Read the bytes of a job file.

    Parameters
    ----------
    data
        TOML, UTF-8. Any bytes at all are answered, in bounded time.
    name
        What to call the file, and the job where it has no name of its own.

    Returns
    -------
    Outcome[Job]
        The job, or None where a finding stops it. Every fault is reported at once, each with
        its line. Codes JOB-001 to JOB-031 and, for outlines, JOB-101 to JOB-108.

    Examples
    --------
    >>> found = read_job(b'''
    ... [[cloth]]
    ... id = "linen"
    ... usable_width = 1370
    ... [[cushion]]
    ... id = "seat"
    ... size_is = "fill"
    ... width = 560
    ... depth = 510
    ... thickness = "10 cm"
    ... ''')
    >>> found.value.cushions[0].thickness_mm
    100.0
    """
    document = read_document(data, name)
    if document.value is None:
        return Outcome(None, document.findings)
    return _Builder(document.value, name).build()


class _Builder:
    """Builds one job from one document."""

    def __init__(self, document: Document, name: str) -> None:
        self.raw = document.raw
        self.name = name
        unit, style = _unit_and_style(self.raw)
        self.reader = Reader(document.lines, unit, style)

    def build(self) -> Outcome[Job]:
        values = self.reader.table(self.raw, FILE, (), self.name)
        cloths = self._cloths(values.get("cloth", ()))
        cushions = self._cushions(values, {c.id: c for c in cloths})
        self._rows(cushions)
        job = self._job(values, cushions, cloths) if cushions and cloths else None
        findings = self._findings()
        stops = any(f.severity is Severity.STOP for f in findings)
        return Outcome(None if stops else job, findings)

    def _findings(self) -> tuple[Finding, ...]:
        left = self.reader.left_out
        more = Finding(
            "JOB-031",
            Severity.STOP,
            self.name,
            f"{left} more findings are not shown",
            "mend those above and check again",
        )
        return worst_first([*self.reader.findings, more] if left else self.reader.findings)

    def _cloths(self, rows: Sequence[Mapping[str, Any]]) -> tuple[Cloth, ...]:
        self._same_ids(rows, "cloth")
        return tuple(read_cloth(row, self.reader) for row in rows)

    def _cushions(self, values: Mapping[str, Any], cloths: Mapping[str, Cloth]) -> tuple[Cushion, ...]:
        rows: Sequence[Mapping[str, Any]] = values.get("cushion", ())
        self._same_ids(rows, "cushion")
        inches = self.reader.style.system == "imperial"
        house = filled(INCH_COVER if inches else Cover(), values.get("cover", {}), COVER)
        size_is = values.get("job", {}).get("size_is")
        made = [read_cushion(row, house, size_is, cloths, self.reader) for row in rows]
        unsaid = [row["_place"] for row in rows if not row.get("size_is")] if not size_is else []
        if unsaid:
            which = ", ".join(unsaid[:4]) + (f" and {len(unsaid) - 4} more" if len(unsaid) > 4 else "")
            self.reader.say(
                "JOB-027",
                Severity.WARN,
                ("cushion",),
                which,
                "what do these numbers measure? They are taken as the size of the bare fill",
                'say size_is = "seat", "fill", "old cover", "finished" or "seam", here or once under [job]',
            )
        return tuple(c for c in made if c is not None)

    def _same_ids(self, rows: Sequence[Mapping[str, Any]], kind: str) -> None:
        first: dict[str, tuple[Any, ...]] = {}
        for row in rows:
            named = row.get("id")
            if named is None:
                continue
            if named in first:
                where = f"the first is on line {self.reader.line(first[named])}"
                self.reader.stop(
                    "JOB-020",
                    (*row["_at"], "id"),
                    row["_place"],
                    f"two {kind}s have the id `{named[:40]}`; {where}",
                    "give one of them another id; for several alike use count"
                    if kind == "cushion"
                    else "give one another id",
                )
            else:
                first[named] = (*row["_at"], "id")

    def _rows(self, cushions: Sequence[Cushion]) -> None:
        rows = Counter(c.cover.matching.row for c in cushions for _ in range(min(c.count, 2)))
        for cushion in cushions:
            row = cushion.cover.matching.row
            if row and rows[row] < 2:
                self.reader.say(
                    "JOB-026",
                    Severity.WARN,
                    ("cushion",),
                    f"cushion {cushion.id}",
                    f"it is alone in the row `{row}`",
                    "give its neighbours the same row, or leave row out",
                )
            if cushion.mitred and not row:
                self.reader.say(
                    "JOB-026",
                    Severity.WARN,
                    ("cushion",),
                    f"cushion {cushion.id}",
                    "it is mitred against a neighbour, but stands in no row",
                    'add match = { row = "..." } to it and its neighbour',
                )

    def _job(self, values: Mapping[str, Any], cushions: tuple[Cushion, ...], cloths: tuple[Cloth, ...]) -> Job:
        head = values.get("job", {})
        style = self.reader.style
        if head.get("parts_of_inch", 16) not in (8, 16, 32):
            what = f"`parts_of_inch` is {head['parts_of_inch']}; it may be 8, 16 or 32"
            self.reader.stop("JOB-014", ("job", "parts_of_inch"), "job", what, "tape measures are marked in sixteenths")
        for unknown in [x for x in head.get("then", ()) if x not in AIMS]:
            what = f"`then` asks for `{unknown[:40]}`; it may ask for {', '.join(AIMS)}"
            self.reader.stop("JOB-014", ("job", "then"), "job", what, 'then = ["large remnant", "straight cuts"]')
        words = head.get("words", "us" if style.system == "imperial" else "uk")
        usual = Job(
            name=self.name, cushions=cushions, cloths=cloths, prices=self._prices(values.get("prices", {})),
            style=style, words=words, paper="letter" if words == "us" else "a4",
        )  # fmt: skip
        job = filled(usual, {k: v for k, v in head.items() if k != "customer"}, JOB)
        sheets = tuple(filled(FoamSheet(), v, FOAM_SHEET) for v in values.get("foam_sheet", ()))
        return replace(job, customer=filled(Customer(), head.get("customer", {}), CUSTOMER), foam_sheets=sheets)

    def _prices(self, values: Mapping[str, Any]) -> PriceList:
        currency = values.get("currency", "GBP")
        if len(currency) != 3 or not currency.isascii() or not currency.isalpha():
            self.reader.stop(
                "JOB-014",
                ("prices", "currency"),
                "prices",
                f'`currency` is "{currency[:20]}"',
                "three letters, such as GBP, EUR or USD",
            )
        if values.get("round_to") == Decimal(0):
            self.reader.stop(
                "JOB-013", ("prices", "round_to"), "prices", "`round_to` is 0", "0.01 rounds to the smallest coin"
            )
        given = {k: v for k, v in values.items() if k not in ("minutes", "factors")}
        return replace(
            filled(PriceList(), {**given, "currency": currency.upper()}, PRICES),
            minutes=filled(Minutes(), values.get("minutes", {}), MINUTES),
            factors=filled(Factors(), values.get("factors", {}), FACTORS),
        )


def _unit_and_style(raw: Mapping[str, Any]) -> tuple[Unit, Style]:
    """The unit must be known before any length is read; a wrong one is reported with the rest."""
    head = raw.get("job")
    head = head if isinstance(head, Mapping) else {}
    asked = str(head.get("units", "mm")).strip().lower()
    unit: Unit = next((u for u in UNITS if u == asked), "mm")
    printed = head.get("print_in")
    system = "imperial" if (printed or ("in" if unit == "in" else "mm")) == "in" else "metric"
    parts = head.get("parts_of_inch", 16)
    return unit, Style(system, parts if parts in (8, 16, 32) and not isinstance(parts, bool) else 16)  # type: ignore[arg-type]
