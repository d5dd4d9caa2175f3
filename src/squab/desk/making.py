"""New jobs and new parts of jobs, from the workroom's usual numbers and the cloths on its shelf."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from squab.desk.editing import appended, edited, removed, with_value
from squab.desk.reading import opened
from squab.desk.sections import body_end, stretch_of
from squab.desk.tree import EditError


def new_job(house: str, *, name: str, customer: str = "", dated: date | None = None, cloths: Sequence[str] = ()) -> str:
    """A job's text with the workroom's usual numbers in it, so that it keeps the numbers it was begun with.

    Parameters
    ----------
    house
        The workroom's usual numbers: TOML of [job], [cover] and [prices]. May be empty.
    name, customer, dated
        What the job is called, who it is for, the day of its quote.
    cloths
        Texts of cloths from the shelf, each the TOML of one [[cloth]].
    """
    text = house if not house or house.endswith("\n") else house + "\n"
    for path, value in (("job.name", name), ("job.customer", customer), ("job.date", dated and dated.isoformat())):
        if value:
            text = edited(text, path, value)
    for cloth in cloths:
        text = with_cloth(text, cloth)
    return text


def with_cloth(text: str, cloth: str) -> str:
    """Add a cloth of the shelf to a job; its id is changed where the job has one of that id already."""
    row = _row(cloth, "cloth")
    block = cloth.strip("\n")
    own = str(row.get("id") or _id_of(str(row.get("name", "")), "cloth"))
    free = _free_id(text, "cloth", own)
    made = appended(text, "cloth", block)
    return made if row.get("id") == free else edited(made, f"cloth[{_count(made, 'cloth') - 1}].id", free)


def with_cushion(text: str, typed: Mapping[str, str] | None = None, *, like: int | None = None) -> str:
    """Add a cushion: one with the keys given (by key path within the cushion, as typed), or a copy of another.

    It gets an id of its own.
    """
    block = "[[cushion]]\n"
    if like is not None:
        stretch = stretch_of(text, "cushion", like)
        if stretch is None:
            raise EditError(f"cushion[{like}] cannot be copied in this text as it stands")
        block = text[stretch.start : body_end(text, stretch)]
    row = _row(block, "cushion")
    named = (typed or {}).get("name", "") or str(row.get("name", ""))
    made = appended(text, "cushion", block)
    at = _count(made, "cushion") - 1
    made = edited(made, f"cushion[{at}].id", _free_id(text, "cushion", str(row.get("id") or _id_of(named, "cushion"))))
    for path, value in (typed or {}).items():
        if path != "id":
            made = edited(made, f"cushion[{at}].{path}", value)
    return made


def shelf_cloth(text: str, index: int) -> str:
    """The text of one cloth of a job as it may stand on the shelf: without the bolt that was measured for the job."""
    stretch = stretch_of(text, "cloth", index)
    if stretch is None:
        raise EditError(f"cloth[{index}] cannot be taken out of this text as it stands")
    return removed(text[stretch.start : body_end(text, stretch)], "cloth[0].bolt")


def renamed_cloth(text: str, index: int, cloth_id: str) -> str:
    """Give a job's cloth another id, and its name to every cushion that calls it."""
    raw = _loaded(text)
    old = raw["cloth"][index].get("id")
    made = with_value(text, f"cloth[{index}].id", cloth_id)
    rows: list[tuple[str, Any]] = [("cover", raw.get("cover", {}))]
    rows += [(f"cushion[{i}]", row) for i, row in enumerate(raw.get("cushion", ()))]
    for path, row in rows:
        for key in ("panel_cloth", "bottom_cloth", "boxing_cloth", "zip_cloth", "piping_cloth"):
            if isinstance(row, Mapping) and row.get(key) == old and old:
                made = with_value(made, f"{path}.{key}", cloth_id)
    return made


_PRINTED = ("repeat_across", "repeat_along", "drop", "motif", "mirrored", "half_turn_same")
_STRIPED = ("stripes", "stripes_run", "even", "repeat")


def patterned(text: str, here: str, kind: str) -> str:
    """Say what kind of pattern a cloth has (plain, stripes, print): what belongs to another is taken out."""
    for name in (*(_PRINTED if kind != "print" else ()), *(_STRIPED if kind != "stripes" else ())):
        text = removed(text, f"{here}.{name}")
    now = opened(text, check=False)
    inches = now.typed.get("job.units") == "in"
    if kind == "stripes" and not now.count(f"{here}.stripes"):
        width = "2" if inches else "40"
        return with_value(text, f"{here}.stripes", [f"indigo {width}", f"linen {width}"])
    if kind == "print" and f"{here}.repeat_along" not in now.typed:
        for name in ("repeat_across", "repeat_along"):
            text = with_value(text, f"{here}.{name}", "12" if inches else "300")
    return text


def _row(block: str, kind: str) -> Mapping[str, Any]:
    """The keys of one [[cloth]] or [[cushion]], with or without its heading."""
    raw = _loaded(block)
    rows = raw.get(kind)
    row = rows[0] if isinstance(rows, list) and rows else raw
    return row if isinstance(row, Mapping) else {}


def _loaded(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except ValueError as error:
        raise EditError(f"this text is no TOML as it stands: {error}") from error


def _count(text: str, kind: str) -> int:
    rows = _loaded(text).get(kind)
    return len(rows) if isinstance(rows, list) else 0


def _free_id(text: str, kind: str, wanted: str) -> str:
    rows = _loaded(text).get(kind, ())
    taken = {row.get("id") for row in rows if isinstance(row, Mapping)}
    stem = re.sub(r"-\d+$", "", wanted)
    return next(x for x in (wanted, *(f"{stem}-{n}" for n in range(2, len(taken) + 3))) if x not in taken)


def _id_of(name: str, kind: str) -> str:
    """An id made of a name."""
    return re.sub(r"[^a-z0-9]+", "-", name.casefold()).strip("-")[:30] or kind
