"""Read a job's text as a page needs it: the job, what was typed at every key, what was found beside each."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property, lru_cache
from typing import Any

from squab.desk.tree import key_of
from squab.files.document import LARGEST_BYTES, TypedFloat, read_document
from squab.files.jobfile import read_job
from squab.files.keys import FILE
from squab.files.lines import Place, path_of, place_of
from squab.findings import Finding, Outcome, Severity, worst_first
from squab.job import Job

_KEY_OF = {
    "CON-003": "allowance", "CON-004": "allowance", "CON-005": "panel_seams", "CON-006": "panel_seams",
    "CON-007": "panel_seams", "CON-008": "panel_seams", "CON-009": "panel_seams", "CON-010": "zip.tape",
    "CON-011": "zip.return", "CON-012": "zip.return", "CON-013": "zip.return", "CON-014": "zip.side",
    "CON-015": "zip.making", "CON-016": "zip.return", "CON-017": "zip.return", "CON-018": "panel_seams",
    "CON-019": "match.pin_across", "CON-020": "notches.depth", "CON-021": "notches.depth", "CON-022": "notches.way",
    "CON-023": "notches.way", "CON-030": "piping.strip", "CON-031": "piping.strip", "CON-032": "piping.cut",
    "CON-033": "piping.least_part", "CON-040": "boxing_ease", "CON-041": "joins_at_corners",
    "CON-042": "turned_over", "CON-043": "match.sides_along", "CON-050": "mitred", "CON-052": "count",
    "CON-053": "hand", "MAT-001": "match", "MAT-002": "match", "MAT-003": "match.pin_across",
    "MAT-004": "match.back_half_turned", "MAT-005": "match.front", "MAT-006": "match.row", "MAT-007": "match",
    "MAT-008": "mitred", "MAT-009": "mitred", "MAT-090": "match", "JOB-026": "match.row",
    "SUP-003": "film", "SUP-004": "film", "SUP-005": "fill.keep_dry",
}  # fmt: skip
"""The key of a cushion that a finding is about, by its code."""
_CLOTH_KEY_OF = {
    "LAY-005": "bolt.flaws", "LAY-008": "bolt.stripe_at", "LAY-009": "bolt.stripe_at", "LAY-010": "bolt.length",
    "MAT-010": "bolt.skew", "SUP-001": "price_per_m",
}  # fmt: skip
"""The key of a cloth that a finding is about, by its code."""
_ELSEWHERE = {"JOB-027": "job.size_is", "LAY-090": "job.knife_gap"}


@dataclass(frozen=True)
class Opened:
    """A job's text, read.

    `job` is None where a finding stops it. `typed` gives what stands at each key path, as it was
    typed; a bare value stands at the key it is short for too (`piping` and `piping.edges`).
    """

    text: str
    job: Job | None
    findings: tuple[Finding, ...]
    typed: Mapping[str, str]
    raw: Mapping[str, Any]

    @cached_property
    def by_path(self) -> dict[str, tuple[Finding, ...]]:
        """The findings by the key path they are about; what is about the job as a whole is at ""."""
        return findings_by_path(self.findings, self.raw)

    def at(self, path: str) -> tuple[Finding, ...]:
        """The findings about a key."""
        return self.by_path.get(path, ())

    def under(self, path: str) -> tuple[Finding, ...]:
        """The findings about a key or anything within it, the worst first."""
        place = place_of(path)
        near = (found for p, found in self.by_path.items() if place_of(p)[: len(place)] == place)
        return worst_first(f for found in near for f in found)

    def count(self, path: str) -> int:
        """How many entries a list has: cushions, cloths, sides of a run."""
        node: Any = self.raw
        for part in place_of(path):
            known = (isinstance(node, dict) and part in node) or (isinstance(node, list) and isinstance(part, int))
            node = node[part] if known else None
        return len(node) if isinstance(node, list) else 0


def opened(text: str, *, name: str = "job", check: bool = True) -> Opened:
    """Read a job's text.

    Parameters
    ----------
    text
        The text, finished or not.
    name
        What to call the job where its text does not.
    check
        Take it through construction and matching as well, so that their findings are there too.
    """
    data = text.encode("utf-8", "surrogatepass")
    document = read_document(data, name).value
    raw: Mapping[str, Any] = document.raw if document is not None else {}
    read = read_job(data, name=name)
    job, findings = (None if read.stops else read.value), read.findings
    if job is not None and check:
        from squab.stages import check as found_in

        findings = worst_first((*findings, *found_in(job)))
    return Opened(text, job, findings, dict(_typed(raw)), raw)


@lru_cache(maxsize=8)
def typed_in(text: str) -> Mapping[str, str]:
    """What stands at each key path of a text, as it was typed; nothing where it is no TOML at the moment."""
    document = read_document(text.encode("utf-8", "surrogatepass"), "the text").value
    return {} if document is None else dict(_typed(document.raw))


def brought_in(data: bytes, *, name: str = "the file") -> Outcome[str]:
    """Take the bytes of an uploaded job file as a job's text, or say in a finding why they are none.

    A job that is not finished comes in with its faults: they are found when it is opened.
    """
    document = read_document(data, name)
    if document.value is None:
        return Outcome(None, document.findings)
    known = {k.name for k in FILE.keys}
    if not known & set(document.value.raw):
        found = ", ".join(list(document.value.raw)[:5]) or "nothing"
        what = f"this is no job file: it holds {found[:100]}, and neither a cushion nor a cloth"
        hint = "choose a file that begins with [job], [[cloth]] or [[cushion]]"
        return Outcome(None, (Finding("JOB-015", Severity.STOP, name, what, hint),))
    return Outcome(data.decode("utf-8"))


MOST_BYTES = LARGEST_BYTES
"""No more of an upload need be read: what is longer is no job file."""


def findings_by_path(findings: Iterable[Finding], raw: Mapping[str, Any]) -> dict[str, tuple[Finding, ...]]:
    """Sort findings to the key paths they are about.

    What a later stage found names a cushion or a cloth; it goes to the key it is about, by its
    code: in the cushion where that gives it, else in the make of cover where that does.
    """
    where = _Whereabouts(raw)
    sorted_out: dict[str, list[Finding]] = {}
    for finding in findings:
        path = where.path(finding)
        sorted_out.setdefault(path, []).append(replace(finding, path=path))
    return {path: tuple(found) for path, found in sorted_out.items()}


class _Whereabouts:
    """Which cushion or cloth a finding names."""

    def __init__(self, raw: Mapping[str, Any]) -> None:
        self.raw = raw
        self.cushions = {n: i for i, row in _rows(raw, "cushion") for n in _names(row, "cushion", i)}
        self.cloths = {n: i for i, row in _rows(raw, "cloth") for n in _names(row, "cloth", i)}

    def path(self, finding: Finding) -> str:
        """The key path a finding is about."""
        if finding.code in _ELSEWHERE:
            return _ELSEWHERE[finding.code]
        if finding.path and finding.path != "cushion":
            return finding.path
        index = self._cushion(finding.place)
        if index is not None and finding.code in _CLOTH_KEY_OF:
            return f"cloth[{self._panel_cloth(index)}].{_CLOTH_KEY_OF[finding.code]}"
        if index is not None:
            return self._in_cushion(index, _KEY_OF.get(finding.code, ""))
        cloth = next((self.cloths[n] for n in _heads(finding.place) if n in self.cloths), None)
        if cloth is not None:
            key = _CLOTH_KEY_OF.get(finding.code, "")
            return f"cloth[{cloth}].{key}" if key else f"cloth[{cloth}]"
        return ""

    def _cushion(self, place: str) -> int | None:
        first = place.split(" and ")[0]
        return next((self.cushions[n] for n in (*_heads(place), *_heads(first)) if n in self.cushions), None)

    def _panel_cloth(self, index: int) -> int:
        cover = self.raw.get("cover")
        named = [t.get("panel_cloth") for t in (self.raw["cushion"][index], cover) if isinstance(t, Mapping)]
        return next((self.cloths[n] for n in named if isinstance(n, str) and n in self.cloths), 0)

    def _in_cushion(self, index: int, key: str) -> str:
        own = f"cushion[{index}]"
        if not key:
            return own
        place = place_of(key)
        row = self.raw["cushion"][index]
        if key != "match" and not gives(row, place) and gives(self.raw.get("cover"), place):
            return f"cover.{key}"
        return f"{own}.{key}"


def _rows(raw: Mapping[str, Any], name: str) -> Iterator[tuple[int, Mapping[str, Any]]]:
    rows = raw.get(name)
    for i, row in enumerate(rows if isinstance(rows, list) else ()):
        if isinstance(row, Mapping):
            yield i, row


def _names(row: Mapping[str, Any], kind: str, index: int) -> Iterator[str]:
    """What a finding may call a cushion or a cloth: its name, its id, its place in the file."""
    for name in (row.get("name"), row.get("id")):
        if isinstance(name, str) and name.strip():
            yield name.strip()
            yield f"{kind} {name.strip()}"
    yield f"{kind} {index + 1}"


def _heads(place: str) -> Iterator[str]:
    """The beginnings of a place, longest first, up to each comma or colon."""
    yield place
    for at in range(len(place) - 1, 0, -1):
        if place[at] in ":,":
            yield place[:at].strip()


def gives(raw: object, place: Place) -> bool:
    """Tell whether a table gives a key, or the bare value it belongs to."""
    for part in place:
        if not isinstance(raw, Mapping):
            return raw is not None
        if part not in raw:
            return False
        raw = raw[part]
    return True


# --- what was typed ---


def _typed(raw: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for name, value in raw.items():
        yield from _typed_at(value, (name,))


def _typed_at(value: Any, place: Place) -> Iterator[tuple[str, str]]:
    if isinstance(value, Mapping):
        for name, inner in value.items():
            yield from _typed_at(inner, (*place, name))
        return
    if isinstance(value, list):
        for i, inner in enumerate(value):
            yield from _typed_at(inner, (*place, i))
        key = key_of(place)
        if any(isinstance(v, (dict, list)) for v in value) and (key is None or key.kind != "stripes"):
            return
    shown = shown_of(value, place)
    yield path_of(place), shown
    key = key_of(place)
    if key is not None and key.short and not isinstance(value, list):
        yield path_of((*place, key.short)), shown


def shown_of(value: Any, place: Place = ()) -> str:
    """A value as it is typed into a field."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):  # a stripe written as a table: name, colour, width
        return " ".join(shown_of(value[k]) for k in ("name", "colour", "width") if k in value)
    if isinstance(value, TypedFloat):
        return value.text
    if isinstance(value, list):
        key = key_of(place)
        parts = [shown_of(v) for v in value]
        if key is not None and key.kind == "stripes":
            return "\n".join(parts)
        return ", ".join(parts) or "none"
    return value.isoformat() if isinstance(value, date) else str(value)
