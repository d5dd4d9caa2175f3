"""Change a job's text by key path, as a field of a form does, and leave the rest as it stands."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from datetime import date
from typing import Any

import tomlkit

from squab.desk.reading import shown_of
from squab.desk.sections import Stretch, begins_at, body_end, last_stretch, stretch_of
from squab.desk.tree import EditError, Node, Plain, has, key_of, remove, set_node, set_plain, tidy_at
from squab.files.document import TypedFloat, read_document
from squab.files.keys import Key
from squab.files.lines import Place, path_of, place_of

_CANNOT = (ValueError, KeyError, IndexError, TypeError, AttributeError, RecursionError)
"""What the editing library and the standard reader raise over texts they cannot take."""
PLAIN_NUMBER = re.compile(r"-?(?:0|[1-9]\d{0,11})(?:\.\d{1,12})?")
"""What is plainly a number: nothing else is kept as one, so that `24 3/4` and `24 3/` stay as typed."""
_DECIMAL_COMMA = re.compile(r"(\d{1,12}),(\d{1,2})")
"""A comma before three figures reads two ways; before one or two it parts the whole from its part."""
_NUMBERS = ("length", "offset", "drop", "number", "whole", "money")
_YES, _NO = ("true", "yes", "on"), ("false", "no", "off")
_LISTED = {"names": re.compile(r"[,\n]"), "stripes": re.compile(r"[;\n]")}


def edited(text: str, path: str, typed: str) -> str:
    """Set what stands at a key path to what was typed.

    Parameters
    ----------
    text
        The job's text, TOML.
    path
        The key, such as `cushion[0].front` or `job.customer.name`. Tables on the way are made; an
        index one beyond the last makes a new entry.
    typed
        What was typed. It is kept as a number only where it plainly is one and the key takes one;
        an empty text takes the key out.

    Returns
    -------
    str
        The text with that key changed, all else byte for byte as it was where it can be.

    Raises
    ------
    EditError
        If the path names no key of a job file, or the text is no TOML at that place.

    Examples
    --------
    >>> print(edited('[[cushion]]\\nwidth = 560   # by the tape\\n', "cushion[0].width", "22 3/"))
    [[cushion]]
    width = "22 3/"   # by the tape
    <BLANKLINE>
    """
    place = _place(path)
    if not typed.strip():
        return removed(text, path)
    key = key_of(place)
    if key is None:
        raise EditError(f"{path} names no key of a job file")
    if _stands(text, place) == typed.strip().replace("\r\n", "\n"):
        return text
    return with_value(text, path, plain_of(typed, key))


def _stands(text: str, place: Place) -> str | None:
    """What stands at a place now, as it is shown in a field; None where nothing does."""
    body = text.removeprefix("\ufeff")
    stretch, local = _stretch_at(body, place)
    chunk = body if stretch is None else body[stretch.start : stretch.end]
    try:
        node: Any = tomllib.loads(chunk, parse_float=TypedFloat)
    except _CANNOT:
        return None
    for i, part in enumerate(local):
        if has(node, part):
            node = node[part]
        elif isinstance(node, (dict, list)) or getattr(key_of(local[:i]), "short", None) != part:
            return None
    return shown_of(node, place)


def _stretch_at(text: str, place: Place) -> tuple[Stretch | None, Place]:
    """The stretch that a place lies in, and the place within it; the place as it is where there is no one stretch."""
    index = place[1] if len(place) > 1 and isinstance(place[1], int) else None
    stretch = stretch_of(text, str(place[0]), index)
    return stretch, place if stretch is None or index is None else (place[0], 0, *place[2:])


def with_value(text: str, path: str, value: Plain) -> str:
    """Set what stands at a key path to a value of TOML (text, number, truth, date, list, table)."""
    place = _place(path)
    return _changed(text, place, lambda doc, at: set_node(doc, at, value), lambda raw, at: set_plain(raw, at, value))


def removed(text: str, path: str) -> str:
    """Take out what stands at a key path; the text as it is where nothing does."""
    place = _place(path)
    if len(place) == 2 and isinstance(place[1], int):
        stretch = stretch_of(text, str(place[0]), place[1])
        if stretch is not None:
            return _without(text, stretch)
    return _changed(text, place, remove, remove)


def appended(text: str, name: str, toml: str) -> str:
    """Add a `[[cushion]]` or `[[cloth]]` after the last of its kind. `toml` is the text of its keys.

    A heading with which `toml` begins is its own; otherwise it is put before it.
    """
    block = toml.strip("\n")
    if not re.match(rf"(?:[ \t]*(?:#[^\n]*)?\n)*[ \t]*\[\[\s*{re.escape(name)}\s*\]\]", block):
        block = f"[[{name}]]\n{block}"
    if not _is_one(_loaded(block, f"the new [[{name}]]"), name):
        raise EditError(f"a text with one [[{name}]] was expected, and it holds other things too")
    last = last_stretch(text, name)
    if last is None and _at_root(text, name):
        raise EditError(f"{name} is written as one list here; write the new one into it by hand")
    at = len(text) if last is None else body_end(text, last)
    before, after = text[:at], text[at:]
    gap = "" if not before else "\n" if before.endswith("\n") else "\n\n"
    return before + gap + block + "\n" + after


def _is_one(raw: Mapping[str, Any], name: str) -> bool:
    return raw.keys() == {name} and isinstance(raw[name], list) and len(raw[name]) == 1


def plain_of(typed: str, key: Key) -> Plain:
    """The value of TOML that a typed text stands for at a key."""
    told = typed.replace("\r\n", "\n").replace("\r", "\n")
    if key.kind in ("table", "tables") and not key.short:
        raise EditError(f"{key.name} holds several keys; name one of them")
    if key.kind == "table" and key.table is not None:
        short = key.table.key(key.short)
        return plain_of(typed, short) if short is not None else told.strip()
    if key.kind in ("money", "number"):
        told = amount_of(told)
    if key.kind in _NUMBERS and PLAIN_NUMBER.fullmatch(told.strip()):
        return tomlkit.value(told.strip())
    if key.kind == "yes_no":
        word = told.strip().lower()
        return True if word in _YES else False if word in _NO else told.strip()
    if key.kind == "date":
        return _date(told.strip())
    if key.kind in _LISTED:
        if told.strip().lower() == "none":
            return []
        return [part.strip() for part in _LISTED[key.kind].split(told) if part.strip()]
    if key.kind == "lengths":
        return [_number(part.strip()) for part in re.split(r"[,;\n]", told) if part.strip()]
    if key.kind == "point":
        return [_number(part) for part in told.split(",", 1)]
    if key.kind == "points":
        return [[_number(part) for part in one.split(",", 1)] for one in told.split(";") if one.strip()]
    return told if key.name == "notes" else told.strip()


def amount_of(typed: str) -> str:
    """An amount as people type it, `24,50` or `£24.50`, as the plain number that it is; as typed where it is none."""
    bare = typed.strip().strip("£$€").strip()
    comma = _DECIMAL_COMMA.fullmatch(bare)
    bare = f"{comma[1]}.{comma[2]}" if comma else bare
    return bare if PLAIN_NUMBER.fullmatch(bare) else typed


def _number(typed: str) -> Plain:
    return tomlkit.value(typed.strip()) if PLAIN_NUMBER.fullmatch(typed.strip()) else typed.strip()


def _date(typed: str) -> Plain:
    try:
        return date.fromisoformat(typed)
    except ValueError:
        return typed


# --- one change to one stretch ---


def _changed(
    text: str, place: Place, change: Callable[[Node, Place], None], expect: Callable[[Any, Place], None]
) -> str:
    """Change the stretch a place lies in; where that does not do what it should, the text as a whole.

    What comes out is read back and compared with the change made to plain values: either all else
    stays as it was or nothing is changed.
    """
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    body = text[len(mark) :]
    stretch, local = _stretch_at(body, place)
    name = str(place[0])
    if stretch is not None:
        end = body_end(body, stretch)
        made = _tried(body[stretch.start : end], local, change, expect)
        if made is not None:
            return mark + body[: stretch.start] + made + body[end:]
    elif name in ("job", "cover", "prices") and not _at_root(body, name):
        return mark + _with_section(body, name, place, change, expect)
    made = _tried(body, place, change, expect)
    if made is None:
        document = read_document(text.encode("utf-8", "replace"), "the job's text")
        finding = document.findings[0] if document.findings else None
        raise EditError(f"{path_of(place)} cannot be changed in this text as it stands", finding)
    return mark + made


def _tried(
    chunk: str, place: Place, change: Callable[[Node, Place], None], expect: Callable[[Any, Place], None]
) -> str | None:
    """The chunk with the change made, or None where it cannot be made without changing anything else."""
    try:
        expected = tomllib.loads(chunk)
        expect(expected, place)
        doc = tomlkit.parse(chunk)
        change(doc, place)
    except EditError:
        raise
    except _CANNOT:
        return None
    tidy = _reshaped(tomllib.loads(chunk), expected, place)
    return next((made for made in _written(doc, place, chunk, tidy) if _reads_as(made, expected)), None)


def _written(doc: Node, place: Place, like: str, tidy: bool) -> Iterator[str]:
    """The text of a changed tree: with an inline table that was changed set out evenly, or as it came."""
    untidy = doc.as_string()
    if tidy:
        with suppress(*_CANNOT):
            tidy_at(doc, place)
            yield _line_ends(doc.as_string(), like)
    yield _line_ends(untidy, like)


def _reads_as(made: str, expected: Plain) -> bool:
    try:
        return _same(tomllib.loads(made), expected)
    except _CANNOT:
        return False


def _reshaped(before: Plain, after: Plain, place: Place) -> bool:
    """Tell whether a key was put in or taken out on the way to a place, not only a value changed."""
    for part in place:
        if type(before) is not type(after) or (isinstance(before, dict) and before.keys() != after.keys()):
            return True
        if not isinstance(before, (dict, list)) or (isinstance(part, int) and part >= min(len(before), len(after))):
            return True
        if isinstance(part, str) and part not in before:
            return False
        before, after = before[part], after[part]  # type: ignore[index]
    return isinstance(before, dict) and isinstance(after, dict) and before.keys() != after.keys()


def _same(a: Plain, b: Plain) -> bool:
    """Tell whether two values are the same to the reader: a table that says nothing is as good as none."""
    if isinstance(a, dict) and isinstance(b, dict):
        a, b = ({k: v for k, v in one.items() if v != {}} for one in (a, b))
        return a.keys() == b.keys() and all(_same(a[k], b[k]) for k in a)
    if isinstance(a, list) and isinstance(b, list):
        return len(a) == len(b) and all(_same(x, y) for x, y in zip(a, b, strict=True))
    return (a == b and isinstance(a, bool) == isinstance(b, bool)) or (a != a and b != b)


def _line_ends(made: str, like: str) -> str:
    return re.sub(r"(?<!\r)\n", "\r\n", made) if "\r\n" in like else made


def _at_root(text: str, name: str) -> bool:
    """Tell whether a table is written in the keys before the first header: `job.name = "x"`, `job = { ... }`."""
    return name in _loaded(text, name)


def _with_section(
    text: str, name: str, place: Place, change: Callable[[Node, Place], None], expect: Callable[[Any, Place], None]
) -> str:
    """Put a new `[name]` in: the job's own at the beginning, others at the end."""
    made = _tried(f"[{name}]\n", place, change, expect)
    if made is None:
        raise EditError(f"{path_of(place)} cannot be set")
    if made == f"[{name}]\n":
        return text
    first = begins_at(text)
    if name != "job" or first is None:
        gap = "" if not text else "\n" if text.endswith("\n") else "\n\n"
        return text + gap + made
    return text[:first] + made + "\n" + text[first:]


def _without(text: str, stretch: Stretch) -> str:
    """Take a stretch out, with the blank line before it; notes that follow it speak of the next thing and stay."""
    end = body_end(text, stretch)
    before, after = text[: stretch.start], text[end:]
    if before.endswith("\n\n") and after.startswith("\n"):
        after = after[1:]
    made = before + after
    return made if after.strip() else made.rstrip("\n") + "\n" if before.strip() else made


def _place(path: str) -> Place:
    try:
        place = place_of(path)
    except ValueError as error:
        raise EditError(str(error)) from error
    if not place:
        raise EditError("a key path is missing; write it as cushion[0].front")
    return place


def _loaded(text: str, what: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except (ValueError, RecursionError) as error:
        document = read_document(text.encode("utf-8", "replace"), "the job's text")
        finding = document.findings[0] if document.findings else None
        raise EditError(f"{what or 'the text'} cannot be changed as it stands", finding) from error
