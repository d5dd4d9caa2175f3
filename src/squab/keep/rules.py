"""What may be kept, and what the list is shown of it."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from squab.keep.errors import Unkeepable
from squab.keep.forms import packed
from squab.keep.records import text_digest
from squab.keep.summary import Summary, summary_of

MOST_TEXT_BYTES = 8_000_000
"""The job file's own limit."""
MOST_PHOTO_BYTES = 25_000_000
_NO_LETTER = re.compile("[\0\ud800-\udfff]")
_PICTURES = ((b"\xff\xd8\xff", "image/jpeg"), (b"\x89PNG\r\n\x1a\n", "image/png"))


@dataclass(frozen=True, slots=True)
class NewText:
    """A text made ready to be kept, before anything is locked for it: checked, summed up, packed."""

    text: str
    digest: str
    data: bytes
    summary: Summary | None

    def row(self, before: Mapping[str, Any]) -> dict[str, Any]:
        """What the list shows of it; what it showed before, where the text is no TOML at the moment."""
        found = self.summary
        if found is None:
            title, customer, reference = (str(before.get(n, "")) for n in ("title", "customer", "reference"))
            found_by = f"{title}\n{customer}\n{reference}".casefold()
            cushions, cloths = before.get("cushions", 0), list(before.get("cloths", ()))
        else:
            title, customer, reference = found.title or str(before.get("title", "")), found.customer, found.reference
            found_by = f"{title.casefold()}\n{found.found_by}"
            cushions, cloths = found.cushions, list(found.cloths)
        return {
            "title": title, "customer": customer, "reference": reference, "found_by": found_by,
            "cushions": cushions, "cloths": cloths, "digest": self.digest,
        }  # fmt: skip


def new_text(text: str) -> NewText:
    """Make a text ready to be kept.

    Raises
    ------
    Unkeepable
        If it is too large, or holds what is no letter.
    """
    keepable(text)
    return NewText(text, text_digest(text), packed(text), summary_of(text))


def keepable(text: str) -> None:
    """Refuse a text that is too large, or holds what is no letter."""
    bad = _NO_LETTER.search(text)
    if bad is not None:
        raise Unkeepable(f"the text holds a character that is no letter (U+{ord(bad.group()):04X})", "take it out")
    size = len(text.encode())
    if size > MOST_TEXT_BYTES:
        raise Unkeepable(
            f"the text has {size / 1e6:.0f} MB; a job file may have {MOST_TEXT_BYTES / 1e6:.0f} MB", "split the job"
        )


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
