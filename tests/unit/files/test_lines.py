"""On which line a key stands."""

from __future__ import annotations

import tomllib
from typing import Any

import pytest

from squab.files import read_job
from squab.files.lines import Place, key_lines, path_of, place_of

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


@pytest.mark.parametrize(
    ("place", "path"),
    [
        (("cushion", 0, "front"), "cushion[0].front"),
        (("cloth", 1, "stripes", 2), "cloth[1].stripes[2]"),
        (("cushion", 0, "clearance", 'the "sill" side'), 'cushion[0].clearance."the \\"sill\\" side"'),
        (("lines", "a\\b"), 'lines."a\\\\b"'),
    ],
)
def test_a_place_is_written_as_a_path_and_read_back(place: Place, path: str) -> None:
    assert path_of(place) == path
    assert place_of(path) == place


@pytest.mark.parametrize("path", ["a..b", ".a", "a[", "a b", "[0].a.", "a[1]b", 'a."b'])
def test_what_is_no_path_is_said(path: str) -> None:
    with pytest.raises(ValueError, match="no key path"):
        place_of(path)


def test_a_finding_names_the_key_it_is_about() -> None:
    """Wrong values, missing keys and shapes that cannot be: each is at its key."""
    found = read_job(
        b'[[cloth]]\nid = "a"\nusable_width = "x"\n[[cushion]]\nid = "a"\nwidth = "24 3/"\nthickness = 75\n'
        b'clearance = { left = "?" }\n[[cushion]]\nid = "b"\nwidth = 400\ndepth = 300\nthickness = 50\nradius = 280\n'
    ).findings
    by_code = {(f.code, f.path) for f in found}
    assert ("JOB-012", "cloth[0].usable_width") in by_code
    assert ("JOB-012", "cushion[0].width") in by_code
    assert ("JOB-015", "cushion[0].depth") in by_code
    assert ("JOB-012", "cushion[0].clearance.left") in by_code
    assert ("JOB-102", "cushion[1].radius") in by_code
