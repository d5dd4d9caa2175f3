"""What may be kept, and what the list is shown of it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from squab.keep.errors import Unkeepable
from squab.keep.records import text_digest
from squab.keep.summary import summary_of

MOST_TEXT_BYTES = 8_000_000
"""The job file's own limit."""
MOST_PHOTO_BYTES = 25_000_000
_PICTURES = ((b"\xff\xd8\xff", "image/jpeg"), (b"\x89PNG\r\n\x1a\n", "image/png"))


def keepable(text: str) -> None:
    """Refuse a text that is too large, or holds what is no letter."""
    size = len(text.encode("utf-8", "surrogatepass"))
    if size > MOST_TEXT_BYTES:
        raise Unkeepable(
            f"the text has {size / 1e6:.0f} MB; a job file may have {MOST_TEXT_BYTES / 1e6:.0f} MB", "split the job"
        )
    bad = next((c for c in text if c == "\0" or "\ud800" <= c <= "\udfff"), None)
    if bad is not None:
        raise Unkeepable(f"the text holds a character that is no letter (U+{ord(bad):04X})", "take it out")


def derived(text: str, before: Mapping[Any, Any]) -> dict[str, Any]:
    """What the list shows of a text; what it showed before, where the text is no TOML at the moment."""
    row: dict[str, Any] = {"title": "", "customer": "", "reference": "", "cushions": 0, "cloths": []} | dict(before)
    found = summary_of(text)
    if found is not None:
        row = {"title": found.title or row["title"], "customer": found.customer, "reference": found.reference,
               "cushions": found.cushions, "cloths": list(found.cloths), "found_by": found.found_by}  # fmt: skip
    row.setdefault("found_by", "\n".join((row["title"], row["customer"], row["reference"])).casefold())
    if not (found and found.title):
        row["found_by"] = f"{row['title'].casefold()}\n{row['found_by']}"
    return row | {"digest": text_digest(text)}


def media_type_of(data: bytes) -> str:
    """What kind of picture a photograph is; refuses what is none."""
    if len(data) > MOST_PHOTO_BYTES:
        raise Unkeepable(
            f"the photograph has {len(data) / 1e6:.0f} MB; at most {MOST_PHOTO_BYTES / 1e6:.0f} MB are kept",
            "take it smaller",
        )
    for head, media_type in _PICTURES:
        if data.startswith(head):
            return media_type
    if data[:4] == b"RIFF" and data[8:12] == b"WEBP":
        return "image/webp"
    raise Unkeepable("this is no photograph that can be shown", "JPEG, PNG and WebP are kept")
