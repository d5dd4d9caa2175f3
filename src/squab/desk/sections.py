"""Where each table of a job's text begins and ends.

An edit touches one cushion or one table only. Finding its stretch of the text first keeps all the
rest byte for byte as it was, and keeps an edit quick however many cushions a job has.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass

_TOKEN = re.compile(
    r'"""(?:\\.|(?!""").)*?"{3,5}|\'\'\'(?:(?!\'\'\').)*?\'{3,5}|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'|#[^\n]*|[\[\]{}\n]',
    re.DOTALL,
)


@dataclass(frozen=True, slots=True)
class Header:
    """A `[table]` or `[[table]]` line: where it starts, its keys, and whether its brackets are double."""

    start: int
    keys: tuple[str, ...]
    many: bool


@dataclass(frozen=True, slots=True)
class Stretch:
    """The stretch of a text that holds one thing, from `start` to `end`."""

    start: int
    end: int


def headers(text: str) -> list[Header]:
    """Find every header of a text."""
    return list(_headers(text))


def _headers(text: str) -> Iterator[Header]:
    depth, line_start, header_at = 0, 0, -1
    for token in _TOKEN.finditer(text):
        letter = token.group()
        if letter == "\n":
            line_start = token.end()
        elif letter in "[{" and len(letter) == 1:
            if depth == 0 and not text[line_start : token.start()].strip("\ufeff \t\r"):
                header_at = token.start()
            depth += 1
        elif letter in "]}" and len(letter) == 1:
            depth = max(depth - 1, 0)
            if depth == 0 and header_at >= 0:
                yield from _header(text, header_at, token.end())
                header_at = -1


def _header(text: str, start: int, end: int) -> Iterator[Header]:
    try:
        raw: object = tomllib.loads(text[start:end])
    except ValueError:
        return  # the text is no sound TOML here; the edit will say so
    keys = []
    while isinstance(raw, dict) and raw:
        key, raw = next(iter(raw.items()))
        keys.append(key)
        raw = raw[0] if isinstance(raw, list) else raw
    yield Header(start, tuple(keys), text.startswith("[[", start))


def begins_at(text: str) -> int | None:
    """Where the first header stands, or the notes directly above it; None where there is none."""
    at = next((h.start for h in _headers(text)), None)
    while at:
        line = text.rfind("\n", 0, at - 1) + 1
        if not text[line:at].lstrip().startswith("#"):
            break
        at = line
    return at


def stretch_of(text: str, name: str, index: int | None) -> Stretch | None:
    """The stretch of a top-level table, or of one `[[name]]` with the tables within it.

    None where there is none of that name, or where it does not lie in one stretch.
    """
    every = headers(text)
    own = [i for i, h in enumerate(every) if h.keys[0] == name]
    if not own:
        return None
    parts = _parts(every, own, name) if index is not None else [own]
    return _stretch(text, every, parts[index or 0]) if 0 <= (index or 0) < len(parts) else None


def last_stretch(text: str, name: str) -> Stretch | None:
    """The stretch of the last `[[name]]`; None where there is none."""
    every = headers(text)
    parts = _parts(every, [i for i, h in enumerate(every) if h.keys[0] == name], name)
    return _stretch(text, every, parts[-1]) if parts else None


def _stretch(text: str, every: list[Header], part: list[int]) -> Stretch | None:
    if part != list(range(part[0], part[-1] + 1)):
        return None
    last = part[-1] + 1
    return Stretch(every[part[0]].start, every[last].start if last < len(every) else len(text))


def _parts(every: list[Header], own: list[int], name: str) -> list[list[int]]:
    """Headers by the `[[name]]` they belong to."""
    parts: list[list[int]] = []
    for i in own:
        if every[i].many and every[i].keys == (name,):
            parts.append([i])
        elif parts:
            parts[-1].append(i)
    return parts


def body_end(text: str, stretch: Stretch) -> int:
    """Where the last line of a stretch ends that is neither blank nor a note: what follows speaks of the next thing."""
    end = stretch.start
    inside = text[stretch.start : stretch.end]
    at = 0
    for token in _TOKEN.finditer(inside):
        if inside[at : token.start()].strip():
            end = stretch.start + token.start()
        if token.group()[0] not in "#\n":
            end = stretch.start + token.end()
        at = token.end()
    if inside[at:].strip():
        end = stretch.end
    line_end = text.find("\n", end, stretch.end)
    return stretch.end if line_end < 0 else line_end + 1
