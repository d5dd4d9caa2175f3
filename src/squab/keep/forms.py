"""How records are kept as plain values, and read back."""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import datetime
from typing import Any

from squab.keep.records import Agreed, Arrival, ClothRecord, FlawNoted, JobLine, JobRecord, Photo, Tick

Row = Mapping[Any, Any]
"""A row of a table by the names of its columns."""


def packed(text: str) -> bytes:
    """A text as it is kept."""
    return zlib.compress(text.encode(), 6)


def unpacked(data: bytes) -> str:
    """The text of what `packed` made."""
    return zlib.decompress(data).decode()


def arrival_form(arrival: tuple[Arrival, ...]) -> list[dict[str, Any]]:
    """Arrivals as plain values."""
    return [asdict(a) | {"at": None if a.at is None else a.at.isoformat()} for a in arrival]


def arrivals(raw: Sequence[Mapping[str, Any]]) -> tuple[Arrival, ...]:
    """Arrivals of plain values."""
    return tuple(_arrival(one) for one in raw)


def _arrival(raw: Mapping[str, Any]) -> Arrival:
    flaws = raw.get("flaws")
    known = {k: v for k, v in raw.items() if k in Arrival.__dataclass_fields__}
    return Arrival(**{
        **known,
        "flaws": None if flaws is None else tuple(FlawNoted(**f) for f in flaws),
        "unsure": tuple(raw.get("unsure", ())),
        "at": None if raw.get("at") is None else datetime.fromisoformat(raw["at"]),
    })  # fmt: skip


def agreed_form(agreed: Agreed) -> dict[str, Any]:
    """Agreed figures as plain values."""
    return {"figures": dict(agreed.figures), "version": agreed.version, "at": agreed.at.isoformat()}


def agreed_of(raw: Mapping[str, Any] | None) -> Agreed | None:
    """Agreed figures of plain values."""
    if raw is None:
        return None
    return Agreed(figures=dict(raw["figures"]), version=raw["version"], at=datetime.fromisoformat(raw["at"]))


def _line(row: Row) -> dict[str, Any]:
    names = (
        "id", "title", "customer", "reference", "state", "promised", "created", "changed", "version", "digest",
        "cushions", "arrived", "hidden",
    )  # fmt: skip
    return {n: row[n] for n in names} | {"cloths": tuple(row["cloths"]), "agreed": agreed_of(row["agreed"])}


def job_line(row: Row) -> JobLine:
    """A job without its text."""
    return JobLine(**_line(row))


def job_record(row: Row) -> JobRecord:
    """A job with its text."""
    return JobRecord(**_line(row), text=unpacked(row["text"]), arrival=arrivals(row["arrival"]))


def cloth_record(row: Row) -> ClothRecord:
    """A cloth of the shelf."""
    return ClothRecord(**{n: row[n] for n in ("id", "name", "text", "version", "created", "changed", "hidden")})


def tick_of(row: Row) -> Tick:
    """A tick."""
    return Tick(**{n: row[n] for n in ("job_id", "piece", "state", "at", "note")})


def photo_of(row: Row) -> Photo:
    """A photograph without its bytes."""
    return Photo(**{n: row[n] for n in ("id", "job_id", "name", "media_type", "size", "at", "note")})
