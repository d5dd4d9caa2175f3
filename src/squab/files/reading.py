"""Read a table of plain values by its description, noting everything that is wrong with it."""

from __future__ import annotations

import difflib
import math
import re
import unicodedata
from collections.abc import Mapping
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any, TypeVar

from squab.cloth import Stripe
from squab.errors import LengthError
from squab.files.document import TypedFloat
from squab.files.keys import COLOURS, Key, Table
from squab.files.lines import Place, path_of
from squab.findings import Finding, Severity
from squab.units import METRIC, Length, Style, Unit, format_length, has_unit, parse_length

R = TypeVar("R")

MOST_FINDINGS = 200
"""Beyond this many the rest are only counted: nobody reads more in one go."""
LONGEST_NAME = 200
LONGEST_TEXT = 4000
OTHER_WORDS = {
    **dict.fromkeys(("round", "circle", "circular"), "disc"),
    **dict.fromkeys(("square", "oblong", "box"), "rectangle"),
    "tapered": "trapezoid",
    **dict.fromkeys(("half round", "semicircle"), "d"),
}
"""What a maker may call one of our choices that is spelled quite otherwise, as `_plain` has both."""
STRIPE_TEXT = re.compile(r"^(?P<what>.*?\S)\s+(?P<width>[\d.,¼-¾⅐-⅞].*)$")
_HEX = re.compile(r"#[0-9a-fA-F]{6}$")
_MISSING: Any = object()


class Reader:
    """Reads tables, and collects findings with their lines."""

    def __init__(self, lines: Mapping[Place, int], unit: Unit, style: Style = METRIC) -> None:
        self.lines = lines
        self.unit = unit
        self.style = style
        self.findings: list[Finding] = []
        self.left_out = 0
        self._near: dict[tuple[str, str], str] = {}

    def line(self, at: Place) -> int | None:
        """The line of a key, or of the nearest thing round it."""
        while at and at not in self.lines:
            at = at[:-1]
        return self.lines.get(at)

    def say(self, code: str, severity: Severity, at: Place, place: str, message: str, hint: str = "") -> None:
        """Note a finding."""
        if len(self.findings) >= MOST_FINDINGS:
            self.left_out += 1
            return
        self.findings.append(Finding(code, severity, place, message, hint, self.line(at), path_of(at)))

    def stop(self, code: str, at: Place, place: str, message: str, hint: str = "") -> Any:
        """Note a finding that stops the job."""
        self.say(code, Severity.STOP, at, place, message, hint)
        return _MISSING

    def stopped_under(self, at: Place) -> bool:
        """Tell whether something at a place or below it has been found wrong."""
        path = path_of(at)
        return any(f.severity is Severity.STOP and f.path.startswith(path) for f in self.findings)

    def table(self, raw: object, table: Table, at: Place, place: str) -> dict[str, Any]:
        """Read one table. Keys that were left out, or are wrong, are not in the result."""
        if not isinstance(raw, Mapping):
            return self._not_a_table(raw, table, at, place)
        values: dict[str, Any] = {}
        for name, value in raw.items():
            key = table.key(name)
            if key is None and table.open_kind is not None:
                key = Key(name, table.open_kind, "", least=table.least, most=table.most)
            if key is None:
                self._unknown(name, table, (*at, name), place)
                continue
            read = self._value(value, key, (*at, name), place)
            if read is not _MISSING:
                values[name] = read
        for key in table.keys:
            if key.required and key.name not in raw:
                example = f"[[{key.name}]]" if key.kind == "tables" else f"{key.name} = ..."
                self.stop("JOB-015", (*at, key.name), place, f"`{key.name}` is missing", f"add {example}: {key.doc}")
        return values

    def _not_a_table(self, raw: object, table: Table, at: Place, place: str) -> dict[str, Any]:
        if isinstance(raw, list) and raw and all(isinstance(r, Mapping) for r in raw):
            self.stop(
                "JOB-011", at, place, f"there is only one [{table.name}]", f"write [{table.name}], with single brackets"
            )
        else:
            self.stop(
                "JOB-011", at, place, f"`{table.name}` is {_found(raw)}, not a table", f"write it as [{table.name}]"
            )
        return {}

    def _unknown(self, name: str, table: Table, at: Place, place: str) -> None:
        if len(self.findings) >= MOST_FINDINGS:
            self.left_out += 1
            return
        memo = (table.name, name)
        if memo not in self._near:
            self._near[memo] = _nearest(name, table)
        self.stop("JOB-010", at, place, f"the key `{_short(name)}` is not known", self._near[memo])

    def _value(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if key.kind == "table":
            return self._sub_table(raw, key, at, place)
        if key.kind == "tables":
            return self._tables(raw, key, at, place)
        reader = getattr(self, f"_{key.kind}")
        return reader(raw, key, at, place)

    def _sub_table(self, raw: object, key: Key, at: Place, place: str) -> Any:
        assert key.table is not None
        inside = f"{place}: {key.name}" if len(at) > 1 else key.name
        if key.short and not isinstance(raw, (Mapping, list)):
            short = key.table.key(key.short)
            assert short is not None
            read = self._value(raw, replace(short, name=key.name), at, place)
            return _MISSING if read is _MISSING else {key.short: read}
        return self.table(raw, key.table, at, inside)

    def _tables(self, raw: object, key: Key, at: Place, place: str) -> Any:
        assert key.table is not None
        if not isinstance(raw, list):
            found = "a single table" if isinstance(raw, Mapping) else _found(raw)
            return self.stop(
                "JOB-011", at, place, f"`{key.name}` is {found}", f"begin each with [[{key.name}]], in double brackets"
            )
        if not raw and key.required:
            return self.stop("JOB-015", at, place, f"there is no {key.name}", f"add a [[{key.name}]]")
        rows = []
        for i, one in enumerate(raw):
            name = one.get("id") if isinstance(one, Mapping) else None
            called = f"{key.name} {_short(name)}" if isinstance(name, str) and name else f"{key.name} {i + 1}"
            where = called if len(at) == 1 else f"{place}: {key.name} {i + 1}"
            rows.append({**self.table(one, key.table, (*at, i), where), "_at": (*at, i), "_place": where})
        return rows

    # --- single values ---

    def _wrong(self, raw: object, key: Key, at: Place, place: str, wanted: str) -> Any:
        default = f" Left out, it is {key.default}." if key.default else ""
        hint = f"write `{key.name}` as {wanted}. {key.doc}{default}"
        return self.stop("JOB-011", at, place, f"`{key.name}` is {_found(raw)}, not {wanted}", hint)

    def _text(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if not isinstance(raw, str):
            return self._wrong(raw, key, at, place, 'a text in quotes: "..."')
        longest = LONGEST_TEXT if key.name in ("notes", "address", "care") else LONGEST_NAME
        if len(raw) > longest:
            return self.stop(
                "JOB-013", at, place, f"`{key.name}` has {len(raw)} letters; at most {longest} fit", "shorten it"
            )
        bad = next((c for c in raw if not c.isprintable() and c not in "\n\t"), None)
        if bad is not None:
            return self.stop(
                "JOB-013",
                at,
                place,
                f"`{key.name}` holds a character that cannot be printed (U+{ord(bad):04X})",
                "type it again",
            )
        unknown = next((c for c in raw if not _has_letter(c)), None)
        if unknown is not None:
            self.say(
                "JOB-032",
                Severity.WARN,
                at,
                place,
                f"`{key.name}` has {unknown} (U+{ord(unknown):04X}), which the font of the sheets does not have: "
                "on paper it may be an empty box",
                "write it in Latin, Greek or Cyrillic letters, as it is said",
            )
        if not raw.strip() and key.required:
            return self.stop("JOB-015", at, place, f"`{key.name}` is empty", f"give it a text: {key.doc}")
        return raw.strip() if key.name != "notes" else raw

    def _yes_no(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if not isinstance(raw, bool):
            return self._wrong(raw, key, at, place, "true or false")
        return raw

    def _choice(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if not isinstance(raw, str):
            return self._wrong(raw, key, at, place, f"one of {_listed(key.choices)}")
        plain = {_plain(c): c for c in key.choices}
        if _plain(raw) in plain:
            return plain[_plain(raw)]
        meant = OTHER_WORDS.get(_plain(raw))
        near = [meant] if meant in plain else difflib.get_close_matches(_plain(raw)[:60], plain, 1)
        hint = f'did you mean "{plain[near[0]]}"?' if near else f"choose one of {_listed(key.choices)}"
        return self.stop(
            "JOB-014", at, place, f'`{key.name}` is "{_short(raw)}"; it may be {_listed(key.choices)}', hint
        )

    def _length(self, raw: object, key: Key, at: Place, place: str) -> Any:
        length = self.read_length(raw, key.name, at, place)
        if length is _MISSING:
            return _MISSING
        return self._within(length, key, at, place, bare=not has_unit(length.text))

    def _drop(self, raw: object, key: Key, at: Place, place: str) -> Any:
        return (
            "half"
            if isinstance(raw, str) and _plain(raw) in ("half", "half drop")
            else self._length(raw, key, at, place)
        )

    def _offset(self, raw: object, key: Key, at: Place, place: str) -> Any:
        sign = 1
        if isinstance(raw, str) and raw.strip()[:1] in ("-", "−", "+"):
            sign, raw = (1 if raw.strip()[0] == "+" else -1), raw.strip()[1:]
        elif isinstance(raw, (int, float)) and not isinstance(raw, bool) and raw < 0:
            sign, raw = -1, TypedFloat(raw.text.lstrip("-")) if isinstance(raw, TypedFloat) else -raw
        length = self.read_length(raw, key.name, at, place)
        if length is _MISSING:
            return _MISSING
        typed = length.text if sign > 0 else f"-{length.text}"
        return self._within(Length(sign * length.exact_mm, typed), key, at, place, bare=not has_unit(typed))

    def read_length(self, raw: object, name: str, at: Place, place: str) -> Any:
        """Read a length of nought or more: a number in the job's unit, or a text."""
        if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
            return self.stop(
                "JOB-011",
                at,
                place,
                f"`{name}` is {_found(raw)}, not a length",
                'give a number, or a text such as "3 3/4 in"',
            )
        if isinstance(raw, str):
            return self._length_text(raw, name, at, place)
        if isinstance(raw, float) and not math.isfinite(raw):
            return self.stop("JOB-012", at, place, f"`{name}` is {raw}", "give a length")
        if raw < 0:
            return self.stop(
                "JOB-012", at, place, f"`{name}` is {_typed(raw)}; a length has no sign", "leave the minus out"
            )
        if raw > 10**9:
            return self.stop(
                "JOB-013", at, place, f"`{name}` is {_short(_typed(raw))} {self.unit}", "give a length that can be cut"
            )
        typed = _typed(raw)
        if "e" in typed.lower():
            return Length(parse_length("1", self.unit).exact_mm * Fraction(float(raw)), typed)
        return parse_length(typed, self.unit)

    def _length_text(self, raw: str, name: str, at: Place, place: str) -> Any:
        try:
            return parse_length(raw, self.unit)
        except LengthError as error:
            shown = "".join(c if c.isprintable() else " " for c in error.text)
            message = f"`{name}` does not read as a length: {error.reason}\n    {shown}\n    {' ' * error.at}^"
            hint = "write it as 95 mm, 0.75 m, 3 3/4 in or 1' 2 1/2\""
            return self.stop("JOB-012", at, place, message, hint)

    def _within(self, length: Length, key: Key, at: Place, place: str, *, bare: bool) -> Any:
        mm = length.mm
        if (key.least is None or mm >= key.least - 1e-9) and (key.most is None or mm <= key.most + 1e-9):
            return length
        found = f"`{key.name}` is {length.text}" + (f" {self.unit}" if bare else "")
        if mm == 0 and (key.least or 0) > 0:
            found += ", nothing"
        hint = f"{key.doc} {length.text} is read in {self.unit}: if that is wrong, write the unit beside it in quotes"
        if mm == 0 or not bare:
            hint = f"give a length in between. {key.doc}"
        return self.stop("JOB-013", at, place, f"{found}; allowed is {self._limits(key)}", hint)

    def _limits(self, key: Key) -> str:
        low = self.shown(key.least) if key.least is not None else "any"
        return f"{low} to {self.shown(key.most)}" if key.most is not None else f"{low} or more"

    def shown(self, length_mm: float) -> str:
        """A length in the job's style, finer than the sheets print it where that is needed."""
        if self.style.system == "metric":
            return f"{length_mm / 1000:g} m" if abs(length_mm) >= 10000 else f"{length_mm:.6g} mm"
        text = format_length(length_mm, replace(self.style, parts_of_inch=32))
        return text if text != "0 in" or length_mm == 0 else f"{length_mm:g} mm"

    def _number(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if isinstance(raw, bool) or not isinstance(raw, (int, float)):
            return self._wrong(raw, key, at, place, "a number")
        low, high = key.least if key.least is not None else -math.inf, key.most if key.most is not None else math.inf
        if not low <= raw <= high:
            return self._out(raw, key, at, place)
        return float(raw)

    def _whole(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if isinstance(raw, bool) or not isinstance(raw, int):
            return self._wrong(raw, key, at, place, "a whole number")
        if not (key.least or 0) <= raw <= (key.most if key.most is not None else 10**9):
            return self._out(raw, key, at, place)
        return raw

    def _money(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if isinstance(raw, bool) or not isinstance(raw, (int, float)):
            return self._wrong(raw, key, at, place, "an amount such as 12.50")
        if not (key.least or 0) <= raw <= (key.most if key.most is not None else 10**9):
            return self._out(raw, key, at, place)
        return Decimal(_typed(raw))

    def _out(self, raw: float, key: Key, at: Place, place: str) -> Any:
        allowed = f"{key.least if key.least is not None else '-'} to {key.most if key.most is not None else '-'}"
        return self.stop("JOB-013", at, place, f"`{key.name}` is {_short(_typed(raw))}; allowed is {allowed}", key.doc)

    def _date(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if isinstance(raw, datetime):
            return raw.date()
        if isinstance(raw, date):
            return raw
        try:
            return date.fromisoformat(raw if isinstance(raw, str) else "")
        except ValueError:
            return self._wrong(raw, key, at, place, "a date such as 2031-05-14")

    def _colour(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if not isinstance(raw, str):
            return self._wrong(raw, key, at, place, 'a colour: "indigo" or "#2f3e6b"')
        return self.read_colour(raw, at, place)

    def read_colour(self, raw: str, at: Place, place: str) -> Any:
        """Read a colour by its name, or as `#rrggbb`."""
        word = raw.strip().lower()
        if _HEX.match(word):
            return word
        if word in COLOURS:
            return COLOURS[word]
        near = difflib.get_close_matches(word[:40], COLOURS, 1)
        hint = f'did you mean "{near[0]}"?' if near else f"write it as #rrggbb, or one of {', '.join(COLOURS)}"
        return self.stop("JOB-016", at, place, f'the colour "{_short(raw)}" is not known', hint)

    def _names(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if isinstance(raw, str):
            raw = [raw]
        if not isinstance(raw, list) or not all(isinstance(r, str) for r in raw):
            return self._wrong(raw, key, at, place, 'a list of names: ["left", "right"]')
        if len(raw) > LONGEST_NAME:
            return self.stop(
                "JOB-013", at, place, f"`{key.name}` has {len(raw)} entries; at most {LONGEST_NAME}", "shorten it"
            )
        return tuple(dict.fromkeys(r.strip() for r in raw))

    def _lengths(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if not isinstance(raw, list) or not 2 <= len(raw) <= LONGEST_NAME:
            return self._wrong(raw, key, at, place, f"a list of 2 to {LONGEST_NAME} lengths: [120, 763, 1407]")
        each = [replace(key, name=f"{key.name} {i + 1}") for i in range(len(raw))]
        read = [self._length(v, k, (*at, i), place) for i, (v, k) in enumerate(zip(raw, each, strict=True))]
        return _MISSING if any(x is _MISSING for x in read) else tuple(x.mm for x in read)

    def _lines(self, raw: object, key: Key, at: Place, place: str) -> Any:
        assert key.table is not None
        return self.table(raw, key.table, at, place)

    def _point(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if not isinstance(raw, list) or len(raw) != 2:
            return self._wrong(raw, key, at, place, "a point [x, y]")
        axes = [replace(key, name=f"{key.name} {n}", least=-1e6, most=1e6) for n in "xy"]
        x, y = (self._offset(v, k, (*at, i), place) for i, (v, k) in enumerate(zip(raw, axes, strict=True)))
        return _MISSING if x is _MISSING or y is _MISSING else (x.mm, y.mm)

    def _points(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if not isinstance(raw, list) or not 3 <= len(raw) <= LONGEST_NAME:
            return self._wrong(raw, key, at, place, f"a list of 3 to {LONGEST_NAME} points [x, y]")
        read = [self._point(one, key, (*at, i), place) for i, one in enumerate(raw)]
        return _MISSING if any(p is _MISSING for p in read) else tuple(read)

    def _stripes(self, raw: object, key: Key, at: Place, place: str) -> Any:
        if not isinstance(raw, list) or not raw:
            return self._wrong(raw, key, at, place, 'a list such as ["indigo 40", "linen 10"]')
        if len(raw) > LONGEST_NAME:
            return self.stop(
                "JOB-013", at, place, f"`{key.name}` has {len(raw)} stripes; at most {LONGEST_NAME}", "give one repeat"
            )
        read = [self._stripe(one, (*at, i), f"{place}: stripe {i + 1}") for i, one in enumerate(raw)]
        return _MISSING if any(s is None for s in read) else read

    def _stripe(self, raw: object, at: Place, place: str) -> Stripe | None:
        """One stripe: `"indigo 40"`, `"edge #2f3e6b 40"`, or a table."""
        if isinstance(raw, str):
            found = STRIPE_TEXT.match(raw) if len(raw) <= LONGEST_NAME else None
            if not found:
                self.stop("JOB-029", at, place, f'"{_short(raw)}" is no colour and width', 'write it as "indigo 40"')
                return None
            words = found["what"].split()
            raw = {"name": " ".join(words[:-1]) or words[-1], "colour": words[-1], "width": found["width"]}
            if len(words) > 1 and not _HEX.match(words[-1]) and words[-1].lower() not in COLOURS:
                raw["colour"] = found["what"]
        values = self.table(raw, STRIPE, at, place)
        if "width" not in values or "colour" not in values:
            return None
        assert isinstance(raw, Mapping)
        return Stripe(values["width"].mm, values["colour"], values.get("name") or str(raw["colour"]))


STRIPE = Table(
    "stripe",
    "One stripe.",
    (
        Key("colour", "colour", "Its colour.", required=True),
        Key("width", "length", "Its width.", required=True, least=0.2, most=5000),
        Key("name", "text", "Its name, for pinning and for the sheets.", "its colour"),
    ),
)


def filled(record: R, values: Mapping[str, Any], table: Table) -> R:
    """The record with those fields replaced that a table's keys give."""
    changes: dict[str, Any] = {}
    for given, value in values.items():
        key = table.key(given)
        if key is None or not hasattr(record, key.field or given):
            continue
        name = key.field or given
        if key.kind == "table" and key.table is not None and isinstance(value, Mapping):
            changes[name] = filled(getattr(record, name), value, key.table)
        elif isinstance(value, Length):
            changes[name] = value.mm
        else:
            changes[name] = value.replace(" ", "_") if key.kind == "choice" else value
    return replace(record, **changes) if changes else record  # type: ignore[type-var]


def _nearest(name: str, table: Table) -> str:
    known = [k.name for k in table.keys]
    near = difflib.get_close_matches(name[:60].lower(), known, 1, 0.7)
    if near:
        return f"did you mean `{near[0]}`?"
    for key in table.keys:
        if key.table is not None and key.table.key(name) is not None:
            return f"`{name}` belongs inside `{key.name}`: {key.name} = {{ {name} = ... }}"
    listed = ", ".join(known[:12])
    return f"keys here are {listed}" + (", and others: see docs/job-file.md" if len(known) > 12 else "")


def _found(raw: object) -> str:
    if isinstance(raw, bool):
        return "true" if raw else "false"
    if isinstance(raw, (int, float)):
        return f"the number {_short(_typed(raw))}"
    if isinstance(raw, str):
        return f'the text "{_short(raw)}"'
    if isinstance(raw, list):
        return f"a list of {len(raw)}"
    return "a table" if isinstance(raw, Mapping) else "a date or time"


LETTERS = ((0x20, 0x17E), (0x1CD, 0x1DC), (0x386, 0x3CE), (0x400, 0x45F), (0x1EA0, 0x1EF9), (0x1F00, 0x1FFE))
"""Where the letters of the sheets' font are among Unicode's: Latin, Greek, Cyrillic."""
_SIGNS = frozenset("©®°™№℮ﬁﬂ")


def _has_letter(c: str) -> bool:
    """Tell whether the sheets can print a character: letters and pictures are asked after, marks are not."""
    if unicodedata.category(c) not in ("Lu", "Ll", "Lt", "Lm", "Lo", "So") or c in _SIGNS:
        return True
    return any(low <= ord(c) <= high for low, high in LETTERS)


def _typed(raw: float) -> str:
    if isinstance(raw, TypedFloat):
        return raw.text
    return str(raw) if not isinstance(raw, int) or raw.bit_length() < 10000 else "a number of thousands of digits"


def _short(text: str) -> str:
    plain = "".join(c if c.isprintable() else " " for c in text[:41])
    return plain if len(plain) <= 40 else plain[:37] + "..."


def _plain(text: str) -> str:
    return text.strip().lower().replace("_", " ").replace("-", " ")


def _listed(choices: tuple[str, ...]) -> str:
    return " or ".join([", ".join(f'"{c}"' for c in choices[:-1]), f'"{choices[-1]}"'])
