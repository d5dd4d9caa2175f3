"""What was found in a job, said as a page says it: a key by the words of its field, without the file's grammar."""

from __future__ import annotations

import re
from dataclasses import replace

from squab.files.lines import place_of
from squab.findings import Finding
from squab.web.labels import LABELS
from squab.words import Shore, say

WANTED = "JOB-015"
"""The code of what is not given yet."""
_KEY = re.compile(r"`([a-z_]+(?:\.[a-z_]+)?)`")
_ASSIGNED = re.compile(r"\b(?:say|add|write|give) (\w+) = \.\.\.")


def spoken(finding: Finding, words: Shore = "uk") -> Finding:
    """A finding in the words of the page.

    Parameters
    ----------
    finding
        As the job file's reader or a stage told it.
    words
        Whose words the page speaks.
    """
    tables = [p for p in (place_of(finding.path) if finding.path else ()) if isinstance(p, str)]
    if finding.code == WANTED and tables:
        label = _label(tables[-1], tables, words)
        hint = "left or right, as you face the seat" if tables[-1] == "hand" else finding.hint
        hint = "" if hint.startswith("add ") else hint
        return replace(finding, message=f"{label} is needed", hint=hint)

    def called(found: re.Match[str]) -> str:
        return f"`{_label(found[1], tables, words)}`"

    hint = finding.hint.removesuffix(" in quotes") if finding.path else finding.hint  # a field needs none
    hint = _ASSIGNED.sub(lambda m: f"give {_label(m[1], tables, words)}", hint)
    message = _KEY.sub(called, finding.message).replace(", measured` as measured", "` as measured")
    return replace(finding, message=message, hint=_KEY.sub(called, hint))


def _label(key: str, tables: list[str], words: Shore) -> str:
    """What the field of a key is called, looked for in the tables it may stand in; else the key itself."""
    if "." in key:
        return say(LABELS[key], words) if key in LABELS else key
    near = [*reversed(tables[:-1]), *tables[-1:]]
    label = next((LABELS[f"{table}.{key}"] for table in near if f"{table}.{key}" in LABELS), None)
    return key if label is None else say(label, words)
