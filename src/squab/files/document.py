# ruff: noqa: E501  one message, one line
"""The bytes of a job file as plain values, with the line of every key."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from squab.files.lines import Place, key_lines
from squab.findings import Finding, Outcome, Severity

LARGEST_BYTES = 8_000_000
"""Ten thousand cushions, each with every key, take about half of this."""
MOST_DOTS_IN_A_LINE = 100
"""Keys nested deeper than this by dots cost the reader time that grows with their square."""

_WHERE = re.compile(r" ?\(at (?:line (\d+), column (\d+)|end of document)\)$")
_REASONS = (
    ("Cannot overwrite", "this key is given a second time", "keep one of the two"),
    ("Cannot declare", "this table is given a second time", "a second cushion or cloth starts with [[cushion]] or [[cloth]]"),
    ("Cannot mutate immutable", "this table was closed above", "put the key inside the braces { } or brackets [ ] above"),
    ("Unclosed", "something opened here is never closed", "look for a missing quote, ] or }"),
    ("Unterminated", "a text that begins here never ends", "close it with a quote on the same line"),
    ("Invalid value", "there is no value here", 'lengths with a unit or a fraction stand in quotes: "3 3/4 in"'),
    ("Expected '='", "a key needs = and a value", "write it as key = value"),
    ("Expected newline", "something follows the value", 'one key to a line; texts and fractions stand in quotes: "3 3/4 in"'),
    ("Illegal character", "a character that cannot stand here", "type the line again"),
    ("Unescaped '\\'", "a backslash begins a special letter in a text", "write two backslashes, or use single quotes"),
    ("Expected ']", "a heading is not closed", "write it as [job] or [[cushion]]"),
    ("Invalid statement", "this line is neither a heading nor a key", "write it as key = value, or begin a note with #"),
    ("Duplicate inline", "this key is given twice within the braces", "keep one of the two"),
)  # fmt: skip


class TypedFloat(float):
    """A number with the text that was typed for it."""

    text: str

    def __new__(cls, text: str) -> TypedFloat:
        """Read the text."""
        made = super().__new__(cls, text)
        made.text = text.replace("_", "")
        return made


@dataclass(frozen=True, slots=True)
class Document:
    """A job file read as plain values. `lines` gives the line of every key."""

    raw: Mapping[str, Any]
    lines: Mapping[Place, int]


@lru_cache(maxsize=2)
def read_document(data: bytes, name: str) -> Outcome[Document]:
    """Read TOML, or say in one finding why it is none. Time and memory stay bounded for any bytes.

    The last two are kept at hand: a page asks for what was typed and for the job, of one text.
    """
    if len(data) > LARGEST_BYTES:
        size = f"{len(data) / 1e6:.0f} MB; a job file may have {LARGEST_BYTES / 1e6:.0f} MB"
        return _none("JOB-003", name, f"the file has {size}", "split the job, or check that this is the right file")
    try:
        text = data.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        what = f"byte {error.start + 1} (0x{data[error.start]:02x}) is not UTF-8 text"
        return _none("JOB-002", name, what, "save the file as UTF-8 from a text editor", line)
    if not text.strip():
        return _none("JOB-001", name, "the file is empty", "begin with [job], a [[cloth]] and a [[cushion]]")
    for number, line_text in enumerate(text.split("\n"), 1):
        if line_text.count(".") > MOST_DOTS_IN_A_LINE:
            what = f"a line with {line_text.count('.')} dots; at most {MOST_DOTS_IN_A_LINE} are read"
            return _none("JOB-005", name, what, "break the line", number)
    return _parse(text, name)


def _parse(text: str, name: str) -> Outcome[Document]:
    try:
        raw = tomllib.loads(text, parse_float=TypedFloat)
    except RecursionError:
        return _none(
            "JOB-005", name, "lists or tables are nested too deeply", "a job file never needs more than four levels"
        )
    except ValueError as error:  # TOMLDecodeError, and whole numbers of thousands of digits
        return _broken(str(error), text, name)
    try:
        return Outcome(Document(raw, key_lines(text)))
    except (ValueError, IndexError, RecursionError):
        return Outcome(Document(raw, {}))


def _broken(message: str, text: str, name: str) -> Outcome[Document]:
    where = _WHERE.search(message)
    reason = _WHERE.sub("", message)
    said, hint = next(
        ((w, h) for start, w, h in _REASONS if reason.startswith(start)), (reason, "see docs/job-file.md")
    )
    lines = text.split("\n")
    at_end = where is None or where.group(1) is None
    line = len(lines) if where is None or where.group(1) is None else int(where.group(1))
    column = len(lines[-1]) + 1 if at_end or where is None else int(where.group(2))
    return _none("JOB-004", name, f"{said}\n{_caret(lines[line - 1], column)}", hint, line)


def _caret(line: str, column: int) -> str:
    start = max(0, column - 60)
    shown = "".join(c if c.isprintable() else " " for c in line[start : start + 100])
    return f"    {shown}\n    {' ' * (column - 1 - start)}^"


def _none(code: str, place: str, message: str, hint: str, line: int | None = None) -> Outcome[Document]:
    return Outcome(None, (Finding(code, Severity.STOP, place, message, hint, line),))
