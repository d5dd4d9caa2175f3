"""The reference page of the job file, made from the same keys as the reader.

`python -m squab.files.reference docs` writes `job-file.md` and `job.schema.json` into a folder.
"""

from __future__ import annotations

import sys
from pathlib import Path

from squab.files.keys import BOLT, CLOTH, COLOURS, COVER, CUSHION, FILE, FOAM_SHEET, JOB, PRICES, Key, Table
from squab.files.reading import STRIPE
from squab.files.schema import schema_text

PAGE = "job-file.md"
SCHEMA = "job.schema.json"
_KINDS = {
    "text": "text", "yes_no": "true or false", "length": "length", "offset": "length, may be negative",
    "drop": '`"half"` or length', "number": "number", "whole": "whole number", "money": "amount", "date": "date",
    "colour": "colour", "names": "list of names", "lengths": "list of lengths", "point": "[x, y]",
    "points": "list of [x, y]", "stripes": "list of stripes",
    "lines": "table of lengths", "table": "table", "tables": "list of tables",
}  # fmt: skip
_HEAD = """# The job file

{doc} One key to a line; `#` begins a note. Every key that is left out has the default shown. A key
that is not known, a wrong type and a number that makes no sense are all reported at once, with their lines.

Lengths: `24`, `3 3/4`, `3-3/4"`, `3¾`, `1' 2 1/2"`, `95 mm`, `9.5cm`, `0.75 m`; fractions and units stand in quotes.
A whole table can be written on one line: `piping = {{ edges = "top", cord = 4 }}`.

This page is made by `python -m squab.files.reference docs`; `job.schema.json` beside it lets an editor complete keys.
"""


def reference_page() -> str:
    """Give the reference page as Markdown."""
    parts = [_HEAD.format(doc=FILE.doc)]
    for table, title in ((JOB, "[job]"), (COVER, "[cover]"), (CLOTH, "[[cloth]]"), (CUSHION, "[[cushion]]")):
        own = [k for k in table.keys if table is not CUSHION or k not in COVER.keys]
        parts.append(_section(table, title, own))
    parts.append(_section(FOAM_SHEET, "[[foam_sheet]]", list(FOAM_SHEET.keys)))
    parts.append(_section(PRICES, "[prices]", list(PRICES.keys)))
    parts.append(f"## Colours\n\nAny `#rrggbb`, or: {', '.join(COLOURS)}.\n")
    return "\n".join(parts)


def _section(table: Table, title: str, keys: list[Key]) -> str:
    parts = [f"## {title}\n\n{table.doc}\n", _rows(keys)]
    for key in keys:
        if key.table is not None and key.kind in ("table", "tables"):
            parts.append(_below(key, key.table, title))
        if key.kind == "stripes":
            parts.append(f"### a stripe as a table\n\n{_rows(list(STRIPE.keys))}")
        if key.table is BOLT:
            flaws = next(k for k in BOLT.keys if k.table is not None)
            assert flaws.table is not None
            parts.append(_below(flaws, flaws.table, title))
    return "\n".join(parts)


def _below(key: Key, table: Table, title: str) -> str:
    rows = _rows(list(table.keys)) if table.keys else ""
    return f"### {key.name} in {title}\n\n{table.doc}\n\n{rows}"


def _rows(keys: list[Key]) -> str:
    lines = ["| key | takes | meaning | default |", "|---|---|---|---|"]
    for key in keys:
        takes = " or ".join(f'`"{c}"`' for c in key.choices) or _KINDS[key.kind]
        default = "must be given" if key.required else key.default
        lines.append(f"| `{key.name}` | {takes} | {key.doc} | {default} |".replace("  ", " "))
    return "\n".join(lines) + "\n"


def main(folder: str) -> None:
    """Write the page and the schema into `folder`."""
    Path(folder, PAGE).write_text(reference_page(), encoding="utf-8")
    Path(folder, SCHEMA).write_text(schema_text(), encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "docs")
