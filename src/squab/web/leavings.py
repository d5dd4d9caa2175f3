"""What is left of a bolt once all is cut, put aside on the shelf and offered to a job in the same cloth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from squab.cloth import Cloth
from squab.desk import onto_shelf, opened_shelf_cloth, removed, unit_of
from squab.errors import LengthError
from squab.job import Job
from squab.keep import JobRecord, Left, Remnant
from squab.units import MM_PER_INCH, Unit, parse_length
from squab.web.cutting import CutCloth, Cutting

SAME_MM = 0.5
"""Two lengths that differ by less are one, however they were typed."""
LEAST_MM = 100.0
"""A shorter end is not worth a place on the shelf."""


def left_of(cutting: Cutting, record: JobRecord, job: Job, aside: Iterable[Remnant]) -> dict[str, Left]:
    """By cloth id, what is left of every bolt beyond its last piece, where that is not put aside already.

    Where the stripe stands across is known still; where the print starts along is not, for the cloth begins at a
    new cut end. A length cut from a remnant is no bolt and is not offered again.
    """
    gone = {r.name for r in aside if r.job_id == record.id}
    found = {}
    for at, cloth in enumerate(job.cloths):
        there = next((c for c in cutting.cloths if c.id == cloth.id), None)
        if there is None or cloth.name in gone:
            continue
        along = _beyond_mm(cutting, there)
        if along >= LEAST_MM:
            found[cloth.id] = _left(cutting.text, at, cloth, record, there.width_mm, along)
    return found


def _beyond_mm(cutting: Cutting, there: CutCloth) -> float:
    """How much of a length on the table is left beyond its last piece."""
    reach = max((p.box_mm[3] for p in cutting.pieces if p.cloth_id == there.id), default=0.0)
    return there.whole_mm - max(reach, there.lost_mm)


@dataclass(frozen=True)
class CutInto:
    """A remnant of the shelf that a job was cut from, and what is left of it where that is worth keeping."""

    remnant: Remnant
    rest: Left | None


def cut_into(cutting: Cutting, job: Job, rows: Mapping[str, object], remnants: Iterable[Remnant]) -> list[CutInto]:
    """The unused remnants of the shelf that a job was cut from, found by their sizes and lots.

    `rows` are the job's values by key, as they stood when cutting began. What is left has the place, lot and stripe
    of the whole; where its print starts along is known no more, for it begins at a new cut end.
    """
    unit = unit_of(cutting.text)
    inches, unused, found = unit == "in", [r for r in remnants if not r.used], []
    for at, cloth in enumerate(job.cloths):
        typed = _rows(_rows(rows.get("cloth"))[at].get("remnants"))
        for number, row in enumerate(typed, 1):
            there = next((c for c in cutting.cloths if c.id == f"{cloth.id}-remnant-{number}"), None)
            of = _counted_on([r for r in unused if _is_of(r, cloth)], row, unit)
            if there is None or of is None:
                continue
            unused.remove(of)
            along = _beyond_mm(cutting, there)
            rest = Left(**{n: getattr(of, n) for n in Left.__dataclass_fields__})
            shorter = (
                replace(rest, along=typed_length(along, inches=inches), print_at="") if along >= LEAST_MM else None
            )
            found.append(CutInto(of, shorter))
    return found


def _rows(raw: object) -> list[dict[str, object]]:
    """A list of tables with what they hold as text, tables within kept."""
    rows = [r for r in raw if isinstance(r, Mapping)] if isinstance(raw, list) else []
    return [{str(k): v if isinstance(v, list) else str(v) for k, v in row.items()} for row in rows]


def _left(text: str, at: int, cloth: Cloth, record: JobRecord, across_mm: float, along_mm: float) -> Left:
    inches = unit_of(text) == "in"
    noted = next((a for a in record.arrival if a.cloth == cloth.id), None)
    return Left(
        name=cloth.name,
        cloth=removed(onto_shelf(text, at), "cloth[0].remnants"),
        across=typed_length(across_mm, inches=inches),
        along=typed_length(along_mm, inches=inches),
        lot=noted.lot if noted is not None else "",
        stripe_at=_stripe_at(cloth, inches=inches),
        job_id=record.id,
        job_title=record.title,
    )


def _stripe_at(cloth: Cloth, *, inches: bool) -> str:
    """Where the first stripe stands from the left edge, as it is all along the bolt; "" where none measured it."""
    at = cloth.bolt.stripe_at_u_mm if cloth.bolt is not None and cloth.pattern.changes_across else None
    if at is None:
        return ""
    if not inches:
        return f"{at:.1f} mm"
    whole, parts = divmod(round(at / MM_PER_INCH * 32), 32)
    return f"{whole} {Fraction(parts, 32)} in" if parts else f"{whole} in"


def typed_length(mm: float, *, inches: bool) -> str:
    """A length as one would type it, never longer than it is: whole millimetres, or eighths of an inch."""
    if not inches:
        return f"{int(mm)} mm"
    whole, eighths = divmod(int(mm / MM_PER_INCH * 8), 8)
    return f"{whole} {Fraction(eighths, 8)} in" if eighths else f"{whole} in"


@lru_cache(maxsize=256)
def cloth_of(text: str) -> Cloth | None:
    """The cloth of a remnant; None where its text cannot be read."""
    job = opened_shelf_cloth(text).job
    return job.cloths[0] if job is not None else None


def in_hand(
    cloth: Cloth, remnants: Iterable[Remnant], rows: Iterable[Mapping[str, object]], unit: Unit
) -> list[Remnant]:
    """The unused remnants of the very same cloth that a job does not count on already; `unit` is that of its rows."""
    free = [r for r in remnants if not r.used and _is_of(r, cloth)]
    for row in rows:
        counted = _counted_on(free, row, unit)
        if counted is not None:
            free.remove(counted)
    return free


def _counted_on(remnants: list[Remnant], row: Mapping[str, object], unit: Unit) -> Remnant | None:
    """The remnant that a row of a job means: the one that says the very same, else the first that it may be."""
    said = {str(k): str(v) for k, v in row.items()}
    same = next((r for r in remnants if keys_of(r) == said), None)
    return same or next((r for r in remnants if _is_counted_on(r, row, unit)), None)


def _is_counted_on(remnant: Remnant, row: Mapping[str, object], unit: Unit) -> bool:
    """Tell whether a row of a job is this remnant: as long, as wide and of the same lot, however it is written."""
    mine = keys_of(remnant)
    if "length" not in row or mine.get("lot", "").casefold() != str(row.get("lot", "")).strip().casefold():
        return False
    # left out, its width is the cloth's
    return all(_as_long(mine.get(k, ""), str(row.get(k, "")), unit) for k in ("length", "width") if k in row)


def _as_long(mine: str, its: str, unit: Unit) -> bool:
    try:
        return abs(parse_length(mine, unit).mm - parse_length(its, unit).mm) < SAME_MM
    except LengthError:
        return mine == its


def _is_of(remnant: Remnant, cloth: Cloth) -> bool:
    of = cloth_of(remnant.cloth)
    return of is not None and (of.name.casefold(), of.pattern) == (cloth.name.casefold(), cloth.pattern)


def keys_of(left: Left) -> dict[str, str]:
    """A remnant by the job file's own keys; what is not known is left out."""
    return {name: typed for name, typed in left.bolt.items() if typed.strip()}


def with_place(left: Left, place: str) -> Left:
    """The same, lying in that place."""
    return replace(left, place=place.strip()[:200])
