"""The fields of a job's page: which keys of the job file stand where, under which words.

What a key takes, its limits and its usual value come from the one description of the job file; the
words of a label are the maker's. Nothing here reads or changes a job.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from zlib import crc32

from squab.desk import Opened
from squab.files.cushions import MAY_TAKE, TAKES
from squab.files.keys import COLOURS, COVER, FACTORS, MINUTES, PRICES, Key, Table
from squab.files.lines import path_of, place_of
from squab.findings import Finding
from squab.units import IMPERIAL, METRIC, format_length, parse_length
from squab.web.labels import CHOICES, CHOICES_OF, HINTS, LABELS
from squab.web.spoken import WANTED
from squab.words import Shore, say

_EITHER = re.compile(r"([\d.]+ mm?), or ([\d /]+ (?:in|yd))")
_MM, _INCHES = re.compile(r"\b[\d.]+ mm\b"), re.compile(r"\b(?:\d+ )?\d+/\d+ in\b")
_NOT_PLAIN = re.compile(r"[^a-zA-Z0-9]+")

SHAPE_WORDS = {
    "rectangle": "four-sided", "trapezoid": "wider in front or behind", "L": "L", "T": "T, two ears",
    "one-eared": "one ear",
    "disc": "round", "D": "D", "run": "any outline",
}  # fmt: skip

MAKE_FIRST = (
    "allowance", "piping.edges", "piping.cord", "piping.cut", "zip.place", "zip.side", "zip.making", "ties", "handle",
    "non_slip_base",
)  # fmt: skip
MAKE_MORE: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("Fit", ("fit", "fit_thickness", "film", "overlock", "panel_seams")),
    ("[[Piping]]", ("piping.strip", "piping.square_ends", "piping.least_part", "piping.spare")),
    ("[[Zip]]", ("zip.tape", "zip.return", "zip.longer_by", "zip.sliders", "zip.trim")),
    ("[[Boxing]]", ("joins_at_corners", "boxing_spare", "join_clear_of_front", "least_boxing_part", "boxing_ease")),
    ("Notches", ("notches.straight_every", "notches.curve_every", "notches.depth", "notches.way")),
)
MAKE = (*MAKE_FIRST, *(name for _, group in MAKE_MORE for name in group))
"""Everything of a make of cover that a cushion may have otherwise."""
CLOTHS_OF_PARTS = ("panel_cloth", "bottom_cloth", "boxing_cloth", "zip_cloth", "piping_cloth")
MATCH_WISHES = ("match.front", "match.sides", "match.back", "match.bottom", "match.joins")
MATCH_MORE = ("match.front_across_only", "match.sides_along", "match.back_half_turned")
PRICE_FIRST = (
    "hour", "cloth_markup_pct", "material_markup_pct", "tax_pct", "tax_name", "deposit_pct", "minimum", "round_to",
    "currency",
)  # fmt: skip


@dataclass(frozen=True)
class Field:
    """One field: the key it sets, its words, what was typed in it, what is wrong with it."""

    path: str
    label: str
    kind: str
    value: str
    usual: str = ""
    hint: str = ""
    choices: tuple[tuple[str, str], ...] = ()
    findings: tuple[Finding, ...] = ()
    reshapes: bool = False
    """Whether other fields come or go with it."""

    @cached_property
    def id(self) -> str:
        """Its name within a page."""
        return id_of(self.path)

    @property
    def ticked(self) -> bool:
        """Whether it is a yes."""
        return self.value == "true" or (not self.value and self.usual.startswith("true"))

    @property
    def stops(self) -> bool:
        """Whether what was given in it stands in the way."""
        return any(f.severity.name == "STOP" and f.code != WANTED for f in self.findings)


def id_of(path: str) -> str:
    """A name for the parts of a page that are about a key."""
    plain = _NOT_PLAIN.sub("-", path).strip("-")
    return f"k-{plain}" if re.fullmatch(r"[\w.\[\]-]*", path, re.ASCII) else f"k-{plain}-{crc32(path.encode()):08x}"


@dataclass(frozen=True)
class Form:
    """Makes fields over one read text."""

    opened: Opened
    words: Shore

    def field(self, path: str, *, label: str = "", usual: str = "", hint: str | None = None, kind: str = "",
              choices: Sequence[tuple[str, str]] | None = None, reshapes: bool = False) -> Field:  # fmt: skip
        """The field of a key."""
        from squab.desk.tree import key_of

        place = place_of(path)
        key = key_of(place) or Key(str(place[-1]), "text", "")
        named = _named(place)
        return Field(
            path=path,
            label=self.said(label or LABELS.get(named) or str(place[-1]).replace("_", " ").capitalize()),
            kind=kind or ("choice" if choices is not None else _kind(key)),
            value=self.opened.typed.get(path, ""),
            usual=usual or self._usual(key.default),
            hint=self._measured(self.said(HINTS.get(named, ""))) if hint is None else self.said(hint),
            choices=tuple(choices) if choices is not None else self._choices(key, named),
            findings=self.opened.at(path),
            reshapes=reshapes,
        )

    def fields(self, under: str, names: Sequence[str]) -> list[Field]:
        """The fields of several keys of one table."""
        return [self.field(f"{under}.{name}") for name in names]

    def said(self, text: str) -> str:
        """A text in the job's own words."""
        return say(text, self.words)

    def _usual(self, default: str) -> str:
        """The usual value in the job's own unit, where there is one for each."""
        both = _EITHER.match(default)
        if both is None:
            return self._measured(default)
        return both.group(2) if self._inches else both.group(1)

    @property
    def _inches(self) -> bool:
        return self.opened.typed.get("job.units") == "in"

    def _measured(self, text: str) -> str:
        """A text with the lengths in it brought to the job's own unit."""
        found, style = (_MM, IMPERIAL) if self._inches else (_INCHES, METRIC)
        return found.sub(lambda m: format_length(parse_length(m[0], "mm").mm, style), text)

    def _choices(self, key: Key, named: str) -> tuple[tuple[str, str], ...]:
        own = CHOICES_OF.get(named) or CHOICES_OF.get(named.rpartition(".")[2])
        words = {**CHOICES, **own} if own else {} if own == {} else CHOICES
        return tuple((c, self.said(words.get(c, c))) for c in key.choices)

    def inherited(self, index: int, names: Sequence[str]) -> list[Field]:
        """Fields by which one cushion is made otherwise, each saying what it is made as where it says nothing."""
        made = []
        for name in names:
            as_job = self.opened.typed.get(f"cover.{name}", "")
            field = told_apart(self.field(f"cushion[{index}].{name}", usual="as the job"))
            words = dict(field.choices).get(as_job, as_job)
            made.append(replace(field, usual=f"as the job: {words}") if words else field)
        return made


def told_apart(field: Field) -> Field:
    """A yes or no that may also be left to the job."""
    yes_no = (("true", "yes"), ("false", "no"))
    return replace(field, kind="choice", choices=yes_no) if field.kind == "tick" else field


def size_names(shape: str) -> tuple[str, ...]:
    """The keys that give a shape its size, in the order of the tape."""
    order = (
        "width", "diameter", "front", "back", "depth", "offset", "out_width", "out_depth", "out_corner", "ear_width",
        "ear_depth", "hand",
    )  # fmt: skip
    takes = {*TAKES.get(shape, ()), *MAY_TAKE.get(shape, ())}
    return tuple(n for n in order if n in takes)


def takes_radius(shape: str) -> bool:
    """Tell whether a shape's corners may be rounded by a radius of their own."""
    return "radius" in MAY_TAKE.get(shape, ())


def cover_names() -> tuple[str, ...]:
    """Every key of a make of cover, dotted."""
    return tuple(_dotted(COVER))


def _dotted(table: Table, before: str = "") -> list[str]:
    names: list[str] = []
    for key in table.keys:
        if key.kind == "table" and key.table is not None:
            names += _dotted(key.table, f"{before}{key.name}.")
        else:
            names.append(f"{before}{key.name}")
    return names


def price_names() -> tuple[str, ...]:
    """Every price of the list."""
    return tuple(k.name for k in PRICES.keys if k.table is None)


def minute_names() -> tuple[str, ...]:
    """Minutes by operation and factors, dotted."""
    return (*(f"minutes.{k.name}" for k in MINUTES.keys), *(f"factors.{k.name}" for k in FACTORS.keys))


def colour_of(word: str) -> str:
    """A colour's `#rrggbb`; nothing where the word is none."""
    plain = word.strip().lower()
    return plain if re.fullmatch(r"#[0-9a-f]{6}", plain) else COLOURS.get(plain, "")


def _named(place: tuple[str | int, ...]) -> str:
    """Table and key of a place: `zip.place`, `cushion.width`; a cover's key in a cushion is the cover's."""
    words = [p for p in place if isinstance(p, str)]
    table = words[-2] if len(words) > 1 else ""
    name = f"{table}.{words[-1]}"
    if table == "cushion" and f"cushion.{words[-1]}" not in LABELS:
        return f"cover.{words[-1]}"
    return name


def _kind(key: Key) -> str:
    kinds = {"yes_no": "tick", "offset": "length", "drop": "length", "money": "number"}
    known = ("choice", "date", "whole", "number", "colour", "length")
    return kinds.get(key.kind, key.kind if key.kind in known else "text")


def plain_code(text: str) -> str:
    """A description without the quotes of a file's own grammar."""
    return re.sub(r"`\"?([^`\"]*)\"?`", "\\1", text).rstrip(".")


def dotted_path(parts: Sequence[str | int]) -> str:
    """A key path of its parts."""
    return path_of(tuple(parts))
