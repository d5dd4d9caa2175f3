"""The arrival of a cloth: what is noted of it, and the job's text with the bolt as it was measured.

What was typed is kept as it was typed. What reads as a length goes into the job's text too, so that
the lay follows it; what does not read yet is told beside its field and counts as not noted.
"""

from __future__ import annotations

import re
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from squab.cloth import Cloth, Flaw, Pattern
from squab.desk import EditError, Opened, opened, removed, with_bolt
from squab.errors import LengthError
from squab.findings import Finding, Severity
from squab.keep import Arrival, FlawNoted, JobRecord, Keep, Stale
from squab.units import parse_length

NONE = "none"
TOWARDS, AWAY = "smooth towards the cut end", "smooth away from the cut end"
"""How a pile may run on the table."""
MEASURED = ("lines_at", "width", "length", "lot", "stripe_at", "print_at", "measured_line", "repeat_across",
            "repeat_along", "bow", "skew")  # fmt: skip
ALONG = ("repeat_along", "print_at")
"""What the lines of a repeat that creeps stand for: kept as noted, and out of the job's text while they do."""
NOTED = (*MEASURED, "face", "pile", "shade")
_OVER = re.compile(r"(.*?)\s+over\s+(\d{1,3})", re.DOTALL)
_writing = threading.Lock()
"""Notes are read, changed and kept one after the other."""


class ChangedMeanwhile(Exception):  # noqa: N818  it says what happened
    """A note says by now something else than the page showed. `kept` is what."""

    def __init__(self, kept: str) -> None:
        self.kept = kept
        super().__init__(kept)


@dataclass(frozen=True)
class ClothThere:
    """One cloth of a job with what is noted of it, for its page."""

    index: int
    id: str
    name: str
    cloth: Cloth | None
    arrival: Arrival
    unit: str = "mm"
    findings: Mapping[str, tuple[Finding, ...]] = field(default_factory=dict)

    @property
    def pattern(self) -> Pattern:
        """Its pattern; plain where the job cannot be read."""
        return self.cloth.pattern if self.cloth is not None else Pattern()

    @property
    def kind(self) -> str:
        """Which way its pattern changes; both where the job cannot be read."""
        return self.pattern.kind if self.cloth is not None else "print"

    @property
    def missing(self) -> tuple[str, ...]:
        """What is not noted of it yet."""
        return self.arrival.missing

    @property
    def lines(self) -> list[str]:
        """Lines of its pattern that one can measure to."""
        return [name for name, _ in self.pattern.lines if name != "motif"]

    def one(self, name: str) -> str:
        """One repeat of what was measured over several; "" where there is nothing to say."""
        typed = getattr(self.arrival, name)
        counted = split_over(typed)[1] not in ("0", "1") and name not in self.arrival.unsure
        return (one_repeat(typed, self.unit) or "") if counted else ""

    @property
    def of_pile(self) -> str:
        """What is to be minded of the way its pile runs; "" where nothing is."""
        noted, cloth = self.arrival.pile, self.cloth
        if cloth is None or not noted:
            return ""
        if cloth.pile and noted == NONE:
            return "the job says that this cloth has a pile: look again, or take the pile out of the cloth there"
        if not cloth.pile and noted != NONE:
            return "the job says that this cloth is flat: give it its pile there, or pieces may lie the wrong way round"
        if noted == AWAY:
            return (
                "squared and counted from the other end of the roll, its smooth stroke runs to the front of every piece"
            )
        return ""

    def over(self, name: str) -> tuple[str, str]:
        """A measured repeat as it was typed: the length, and over how many repeats."""
        return split_over(getattr(self.arrival, name))


def split_over(typed: str) -> tuple[str, str]:
    """Part `3205 over 5` into the length and the count; 1 where none is said."""
    found = _OVER.fullmatch(typed.strip())
    return (found.group(1).strip(), found.group(2)) if found else (typed if typed != NONE else "", "1")


def joined_over(length: str, count: str) -> str:
    """A measured repeat as it is noted."""
    return f"{length.strip()} over {count.strip()}" if length.strip() and count.strip() not in ("", "1") else length


def cloths_there(record: JobRecord, read: Opened | None = None) -> list[ClothThere]:
    """Every cloth of a job with what is noted of it."""
    read = read or opened(record.text, check=False)
    noted = {a.cloth: a for a in record.arrival}
    rows = [r for r in read.raw.get("cloth", ()) if isinstance(r, Mapping)]
    cloths = {c.id: c for c in read.job.cloths} if read.job is not None else {}
    unit, found = read.typed.get("job.units", "mm"), []
    for index, row in enumerate(rows):
        cloth_id = row.get("id")
        if not isinstance(cloth_id, str) or cloth_id not in record.cloths:
            continue
        cloth = cloths.get(cloth_id)
        arrival = _without_what_it_has_not(cloth, noted.get(cloth_id) or Arrival(cloth=cloth_id))
        told = {n: _findings(record.text, cloth_id, index, n, arrival) for n in arrival.unsure if n in MEASURED}
        found.append(ClothThere(index, cloth_id, str(row.get("name") or cloth_id), cloth, arrival, unit, told))
    return found


def note(keep: Keep, job_id: str, cloth_id: str, name: str, typed: str, was: str | None = None) -> JobRecord:
    """Note one thing of a cloth as it was typed, and write the bolt into the job's text where it reads.

    Raises
    ------
    ChangedMeanwhile
        If what is noted is by now neither what the page showed (`was`) nor what was typed.
    EditError
        If the job's text cannot be changed as it stands.
    """
    if name not in NOTED:
        raise EditError(f"nothing called {name[:40]!r} is noted of a cloth")

    def change(arrival: Arrival) -> Arrival:
        kept = getattr(arrival, name)
        if was is not None and kept not in (was, typed):
            raise ChangedMeanwhile(kept)
        changed: Mapping[str, Any] = {name: typed}
        return replace(arrival, **changed)

    return _noted(keep, job_id, cloth_id, change)


def note_flaws(keep: Keep, job_id: str, cloth_id: str, change: Any) -> JobRecord:
    """Change what is noted of a cloth's flaws; `change` is from the rows there are (None: not looked) to new ones."""
    return _noted(keep, job_id, cloth_id, lambda a: replace(a, flaws=change(a.flaws)))


def noted_flaw(keep: Keep, job_id: str, cloth_id: str, flaw: Flaw, what: str = "found at the table") -> JobRecord:
    """Note a flaw that was found while cutting, measured on the face in mm."""
    said = {n: f"{mm:.0f} mm" for n, mm in (("left", flaw.u0_mm), ("right", flaw.u1_mm), ("to", flaw.v1_mm))}
    row = FlawNoted(left=said["left"], right=said["right"], from_=f"{flaw.v0_mm:.0f} mm", to=said["to"], what=what)
    return note_flaws(keep, job_id, cloth_id, lambda rows: (*(rows or ()), row))


def _noted(keep: Keep, job_id: str, cloth_id: str, change: Any) -> JobRecord:
    with _writing:
        for _ in range(3):
            record = keep.job(job_id)
            before = next((a for a in record.arrival if a.cloth == cloth_id), Arrival(cloth=cloth_id))
            after = _without_what_it_has_not(_cloth_of(record, cloth_id), change(before))
            text, arrival = with_arrival(record.text, before, after)
            try:
                return keep.set_arrival(job_id, arrival, text=text, expected_version=record.version)
            except Stale:
                continue
        raise Stale(keep.job(job_id))


def _without_what_it_has_not(cloth: Cloth | None, arrival: Arrival) -> Arrival:
    """A plain cloth has no repeat and no start: nobody is asked for them."""
    if cloth is None:
        return arrival
    if cloth.pattern.kind == "plain":
        return replace(arrival, repeat_across=NONE, stripe_at=NONE, lines_at="")
    if cloth.pattern.kind == "warp_stripe":
        arrival = replace(arrival, lines_at="")
    blank: dict[str, Any] = {
        n: "" for n in ("repeat_across", "repeat_along", "stripe_at", "print_at") if getattr(arrival, n) == NONE
    }
    return replace(arrival, **blank)


def _cloth_of(record: JobRecord, cloth_id: str) -> Cloth | None:
    job = opened(record.text, check=False).job
    return next((c for c in job.cloths if c.id == cloth_id), None) if job is not None else None


def with_arrival(text: str, before: Arrival, after: Arrival) -> tuple[str, Arrival]:
    """The job's text with what reads of an arrival written in, and the arrival with the rest marked as unsure."""
    read = opened(text, check=False)
    index = _index(read, after.cloth)
    if index is None:
        raise EditError(f"there is no cloth {after.cloth[:40]!r} in the job any more")
    unit = read.typed.get("job.units", "mm")
    text, unsure = _with_lines(text, index, unit, before, after)
    if after.by_lines and not unsure:  # what stood in the job alone comes back with the lines gone
        there: dict[str, Any] = {n: read.typed.get(_path(index, n), "") for n in ALONG if not getattr(after, n).strip()}
        after = replace(after, **there)
    for name in MEASURED:
        if after.by_lines and name in ("lines_at", *ALONG):
            continue
        typed, was = getattr(after, name), getattr(before, name)
        if typed == was and name not in before.unsure and not (name in ALONG and before.by_lines):
            continue
        if typed.strip() in ("", NONE):
            text = removed(text, _path(index, name)) if was.strip() not in ("", NONE) and name != "width" else text
            continue
        made = _written(text, after.cloth, name, typed, unit)
        if made is None or _stops(made, index, name):
            unsure.append(name)
        else:
            text = made
    text, flaws_read = _with_flaws(text, index, before, after)
    if not flaws_read:
        unsure.append("flaws")
    return text, replace(after, unsure=(*unsure, *_wanting(read, after)))


def _with_lines(text: str, index: int, unit: str, before: Arrival, after: Arrival) -> tuple[str, list[str]]:
    """The text with the lines of a repeat that creeps in place of what they stand for, as soon as they read."""
    if not after.by_lines or (after.lines_at == before.lines_at and "lines_at" not in before.unsure):
        return text, []
    bare = text
    for name in ALONG:
        bare = removed(bare, _path(index, name))
    made = _written(bare, after.cloth, "lines_at", after.lines_at, unit)
    return (text, ["lines_at"]) if made is None or _stops(made, index, "lines_at") else (made, [])


def _wanting(read: Opened, arrival: Arrival) -> list[str]:
    """What a print wants both ways."""
    cloth = next((c for c in read.job.cloths if c.id == arrival.cloth), None) if read.job is not None else None
    if cloth is None or cloth.pattern.kind != "print":
        return []
    wanted = ("repeat_across", "stripe_at") if arrival.by_lines else ("repeat_across", "stripe_at", *ALONG)
    return [n for n in wanted if not getattr(arrival, n).strip()]


def _index(read: Opened, cloth_id: str) -> int | None:
    rows = read.raw.get("cloth", ())
    return next((i for i, r in enumerate(rows) if isinstance(r, Mapping) and r.get("id") == cloth_id), None)


def _path(index: int, name: str) -> str:
    return f"cloth[{index}].usable_width" if name == "width" else f"cloth[{index}].bolt.{name}"


def _written(text: str, cloth_id: str, name: str, typed: str, unit: str) -> str | None:
    """The text with one measure written in; None where a repeat over several cannot be divided yet."""
    if name in ("repeat_across", "repeat_along"):
        one = one_repeat(typed, unit)
        if one is None:
            return None
        typed = one
    return with_bolt(text, cloth_id, {name: typed})


def one_repeat(typed: str, unit: str) -> str | None:
    """One repeat of what was measured over several, as a length of a job file; None where it cannot be read."""
    length, count = split_over(typed)
    if count == "1":
        return typed
    if int(count) == 0:
        return None
    try:
        read = parse_length(length, unit if unit in ("mm", "cm", "m", "in") else "mm")
    except LengthError:
        return None
    each = read.mm / int(count)
    return (
        f"{each / 25.4:.4f}".rstrip("0").rstrip(".") + " in"
        if unit == "in"
        else f"{each:.2f}".rstrip("0").rstrip(".") + " mm"
    )


def _stops(text: str, index: int, name: str) -> bool:
    return any(f.severity is Severity.STOP for f in opened(text, check=False).under(_path(index, name)))


def _with_flaws(text: str, index: int, before: Arrival, after: Arrival) -> tuple[str, bool]:
    """The text with the flaws that read as rectangles; False where one does not yet."""
    rows = after.flaw_rows
    if rows is None:
        return (removed(text, f"cloth[{index}].bolt.flaws") if before.flaws else text), True
    if after.flaws == before.flaws and "flaws" not in before.unsure:
        return text, True
    whole = [r for r in rows if all(r[n].strip() for n in ("left", "right", "from", "to"))]
    sound = []
    for row in whole:
        made = with_bolt(text, after.cloth, {}, [row])
        if not _stops(made, index, "flaws"):
            sound.append(row)
    return with_bolt(text, after.cloth, {}, sound), len(sound) == len(rows)


def flaw_findings(text: str, there: ClothThere) -> list[str]:
    """What is wrong with each row of flaws, "" where nothing is."""
    told = []
    for row in there.arrival.flaw_rows or ():
        if not all(row[n].strip() for n in ("left", "right", "from", "to")):
            told.append("its four edges are wanted")
            continue
        made = with_bolt(text, there.id, {}, [row])
        found = [f for f in opened(made, check=False).under(_path(there.index, "flaws")) if f.severity is Severity.STOP]
        told.append(found[0].message if found else "")
    return told


def _findings(text: str, cloth_id: str, index: int, name: str, arrival: Arrival) -> tuple[Finding, ...]:
    """What is wrong with what was typed, as the job file's reader says it."""
    typed = getattr(arrival, name)
    if not typed.strip():
        return ()
    read = opened(text, check=False)
    length, count = split_over(typed)
    if name.startswith("repeat") and count == "0":
        return (
            Finding("JOB-013", Severity.STOP, "", "measured over no repeat", "measure over several and say how many"),
        )
    made = _written(text, cloth_id, name, typed, read.typed.get("job.units", "mm"))
    if made is None:  # the length itself does not read: told as a length of one
        made = with_bolt(text, cloth_id, {name: length})
    return tuple(f for f in opened(made, check=False).under(_path(index, name)) if f.severity is not Severity.NOTE)
