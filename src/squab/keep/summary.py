"""What a list shows of a job, taken from its text once, when it is saved."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

LONGEST_SHOWN = 200
MOST_CLOTHS = 100


@dataclass(frozen=True, slots=True)
class Summary:
    """The little of a text that the list needs."""

    title: str = ""
    customer: str = ""
    reference: str = ""
    cushions: int = 0
    cloths: tuple[str, ...] = ()
    cloth_names: tuple[str, ...] = ()

    @property
    def found_by(self) -> str:
        """What a search looks through."""
        return "\n".join((self.title, self.customer, self.reference, *self.cloths, *self.cloth_names)).casefold()


def summary_of(text: str) -> Summary | None:
    """Take from a text what the list needs; None where it is not TOML at the moment."""
    try:
        raw = tomllib.loads(text.removeprefix("\ufeff"))
    except (ValueError, RecursionError):
        return None
    head = _table(raw.get("job"))
    customer = head.get("customer")
    cloths = [c for c in _tables(raw.get("cloth")) if isinstance(c.get("id"), str)][:MOST_CLOTHS]
    return Summary(
        title=_shown(head.get("name")),
        customer=_shown(_table(customer).get("name") if isinstance(customer, Mapping) else customer),
        reference=_shown(head.get("reference")),
        cushions=sum(_count(c.get("count", 1)) for c in _tables(raw.get("cushion"))),
        cloths=tuple(dict.fromkeys(_shown(c["id"]) for c in cloths)),
        cloth_names=tuple(dict.fromkeys(_shown(c.get("name")) for c in cloths)),
    )


def _table(raw: object) -> Mapping[str, Any]:
    return raw if isinstance(raw, Mapping) else {}


def _tables(raw: object) -> list[Mapping[str, Any]]:
    return [r for r in raw if isinstance(r, Mapping)] if isinstance(raw, list) else []


def _shown(raw: object) -> str:
    return raw.strip()[:LONGEST_SHOWN].replace("\0", "") if isinstance(raw, str) else ""


def _count(raw: object) -> int:
    return min(raw, 10_000) if isinstance(raw, int) and not isinstance(raw, bool) and raw > 0 else 1
