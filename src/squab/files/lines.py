"""On which line of a job file each key stands.

The standard library reads TOML but forgets where things stood. This walks a text that is known
to be sound TOML and notes the line of every table, key and list entry, by its path.
"""

from __future__ import annotations

import re
from bisect import bisect_right

Place = tuple[str | int, ...]

_BLANK = re.compile(r"(?:[ \t\n]|#[^\n]*)*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_STRING = re.compile(
    r'"""(?:\\.|(?!""").)*?"{3,5}|\'\'\'(?:(?!\'\'\').)*?\'{3,5}|"(?:\\.|[^"\\\n])*"|\'[^\'\n]*\'', re.DOTALL
)
_SCALAR = re.compile(r"[^,\]\}#\n]*")
_ESCAPE = re.compile(r"\\(?:u([0-9A-Fa-f]{4})|U([0-9A-Fa-f]{8})|(.))")
_ESCAPED = {"b": "\b", "t": "\t", "n": "\n", "f": "\f", "r": "\r", '"': '"', "\\": "\\", "e": "\x1b"}

_PART = re.compile(r"\[(\d+)\]|\.?([A-Za-z0-9_-]+)|\.?\"((?:[^\"\\]|\\.)*)\"")


def path_of(place: Place) -> str:
    """Write a place as one key path.

    >>> path_of(("cushion", 0, "clearance", "window side"))
    'cushion[0].clearance."window side"'
    """
    path = ""
    for part in place:
        if isinstance(part, int):
            path += f"[{part}]"
        else:
            name = part if _BARE.fullmatch(part) else '"' + part.replace("\\", "\\\\").replace('"', '\\"') + '"'
            path += f".{name}" if path else name
    return path


def place_of(path: str) -> Place:
    """Read a key path.

    >>> place_of("cushion[0].front")
    ('cushion', 0, 'front')

    Raises
    ------
    ValueError
        If it is none.
    """
    place: list[str | int] = []
    at = 0
    while at < len(path):
        part = _PART.match(path, at)
        if part is None or (part.group().startswith(".") != (at > 0) and part.group(1) is None):
            raise ValueError(f"{path[:80]!r} is no key path; write it as cushion[0].front")
        index, bare, quoted = part.groups()
        place.append(int(index) if index else bare or re.sub(r"\\(.)", r"\1", quoted))
        at = part.end()
    return tuple(place)


def key_lines(text: str) -> dict[Place, int]:
    """Find the line (from 1) of every table, key and list entry of a sound TOML text.

    >>> key_lines('[[cushion]]\\nid = "seat"\\n')
    {('cushion',): 1, ('cushion', 0): 1, ('cushion', 0, 'id'): 2}
    """
    return _Walk(text).walk()


class _Walk:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.newlines = [m.start() for m in re.finditer("\n", text)]
        self.lines: dict[Place, int] = {}
        self.counts: dict[Place, int] = {}

    def walk(self) -> dict[Place, int]:
        here: Place = ()
        self._blank()
        while self.at < len(self.text):
            if self.text.startswith("[[", self.at):
                here = self._header("]]", many=True)
            elif self.text[self.at] == "[":
                here = self._header("]", many=False)
            else:
                self._pair(here)
            self._blank()
        return self.lines

    def _blank(self) -> None:
        found = _BLANK.match(self.text, self.at)
        self.at = found.end() if found else self.at

    def _line(self) -> int:
        return bisect_right(self.newlines, self.at - 1) + 1 if self.at else 1

    def _note(self, place: Place) -> None:
        self.lines.setdefault(place, self._line())

    def _header(self, close: str, *, many: bool) -> Place:
        start = self.at
        self.at += len(close)
        *parents, last = self._key()
        self.at = self.text.index(close, self.at) + len(close)
        end, self.at = self.at, start
        here: Place = ()
        for part in parents:
            here = self._inside((*here, part))
        here = (*here, last)
        self._note(here)
        if many:
            self.counts[here] = self.counts.get(here, -1) + 1
            here = (*here, self.counts[here])
            self._note(here)
        else:
            here = self._inside(here)
        self.at = end
        return here

    def _inside(self, place: Place) -> Place:
        self._note(place)
        return (*place, self.counts[place]) if place in self.counts else place

    def _key(self) -> list[str]:
        parts = []
        while True:
            self._blank()
            quoted = _STRING.match(self.text, self.at)
            bare = _BARE.match(self.text, self.at)
            if quoted:
                parts.append(_unquoted(quoted.group()))
                self.at = quoted.end()
            elif bare:
                parts.append(bare.group())
                self.at = bare.end()
            else:
                raise ValueError("no key here")
            self._blank()
            if not self.text.startswith(".", self.at):
                return parts
            self.at += 1

    def _pair(self, here: Place) -> None:
        start = self.at
        keys = self._key()
        end, self.at = self.at, start
        place = here
        for key in keys:
            place = (*place, key)
            self._note(place)
        self.at = end + 1  # over the equals sign
        self._value(place)

    def _value(self, place: Place) -> None:
        self._blank()
        string = _STRING.match(self.text, self.at)
        if string:
            self.at = string.end()
        elif self.text.startswith("[", self.at):
            self._list(place)
        elif self.text.startswith("{", self.at):
            self._inline(place)
        else:
            scalar = _SCALAR.match(self.text, self.at)
            self.at = scalar.end() if scalar else self.at

    def _list(self, place: Place) -> None:
        self.at += 1
        self._blank()
        n = 0
        while self.text[self.at] != "]":
            self._note((*place, n))
            self._value((*place, n))
            n += 1
            self._after_comma()
        self.at += 1

    def _inline(self, place: Place) -> None:
        self.at += 1
        self._blank()
        while self.text[self.at] != "}":
            self._pair(place)
            self._after_comma()
        self.at += 1

    def _after_comma(self) -> None:
        self._blank()
        if self.text[self.at] == ",":
            self.at += 1
            self._blank()
        elif self.text[self.at] not in "]}":
            raise ValueError("no end of a list here")


def _unquoted(quoted: str) -> str:
    if quoted[0] == "'":
        return quoted[1:-1]

    def plain(m: re.Match[str]) -> str:
        code = m.group(1) or m.group(2)
        return chr(int(code, 16)) if code else _ESCAPED.get(m.group(3), m.group(3))

    return _ESCAPE.sub(plain, quoted[1:-1])
