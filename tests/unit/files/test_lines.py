"""On which line a key stands."""

from __future__ import annotations

import tomllib
from typing import Any

from squab.files.lines import Place, key_lines

TEXT = '''# a note with [brackets] and "quotes"
title = "x = [y]"   # another
[job]
"quoted key" = 1
dotted.inner = 2
note = """
[not.a.table]
a = "b"
"""

[[cloth]]
id = 'a'
stripes = [
  "indigo 40",   # a comment, with ] in it
  { colour = "sage", width = "2 1/2" },
]
[cloth.bolt]
flaws = [{ left = 1, right = 2 }, { left = 3 }]
[[cloth]]
id = "b"
[cloth.bolt]
lot = '7'
[a.b.c]
d = 1979-05-27T07:32:00Z
'''


def _paths(value: Any, at: Place = ()) -> set[Place]:
    found = {at} if at else set()
    if isinstance(value, dict):
        for key, inner in value.items():
            found |= _paths(inner, (*at, key))
    if isinstance(value, list):
        for i, inner in enumerate(value):
            found |= _paths(inner, (*at, i))
    return found


def test_every_key_of_the_text_has_a_line() -> None:
    """Exactly the keys that the standard library's reader finds."""
    assert set(key_lines(TEXT)) == _paths(tomllib.loads(TEXT))


def test_the_lines_are_right() -> None:
    """Strings, notes, dotted keys, inline tables and second tables of one name do not mislead it."""
    lines = key_lines(TEXT)
    assert lines["title",] == 2
    assert lines["job", "quoted key"] == 4
    assert lines["job", "dotted", "inner"] == 5
    assert lines["cloth", 0, "id"] == 12
    assert lines["cloth", 0, "stripes", 1, "width"] == 15
    assert lines["cloth", 0, "bolt", "flaws", 1, "left"] == 18
    assert lines["cloth", 1] == 19
    assert lines["cloth", 1, "bolt", "lot"] == 22
    assert lines["a", "b", "c", "d"] == 24
