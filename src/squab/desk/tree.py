"""One change made twice: to the editing library's tree, and to plain values to check it by."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from itertools import pairwise
from typing import Any

import tomlkit
from tomlkit.items import AoT, Array, InlineTable

from squab.errors import SquabError
from squab.files.keys import FILE, Key, Kind, Table
from squab.files.lines import Place
from squab.files.reading import STRIPE
from squab.findings import Finding

Plain = Any
"""A value of TOML: text, number, truth, date, list or table."""
Node = Any
"""A container of the editing library, or of plain values."""


_FILE: Table | None = FILE


class EditError(SquabError, ValueError):
    """A text that cannot be edited by key path as it stands; `finding` says why, with line and caret."""

    def __init__(self, reason: str, finding: Finding | None = None) -> None:
        self.finding = finding
        super().__init__(reason if finding is None else f"{reason}: {finding.text()}")


_ENTRIES: dict[str, tuple[Kind, Table | None]] = {
    "names": ("text", None),
    "lengths": ("length", None),
    "stripes": ("text", STRIPE),
    "point": ("offset", None),
    "points": ("point", None),
}
"""What one entry of a list is, and the table it may be written as."""


def key_of(place: Place) -> Key | None:
    """The description of the key at a place, or None where a job file has none."""
    table: Table | None = FILE
    key: Key | None = None
    for part in place:
        if isinstance(part, int):
            if key is not None and key.kind in _ENTRIES:
                kind, table = _ENTRIES[key.kind]
                key = Key(key.name, kind, key.doc)
            continue
        if table is None:
            return None
        key = table.key(part)
        if key is None and table.open_kind is not None:
            key = Key(part, table.open_kind, table.doc, least=table.least, most=table.most)
        if key is None:
            return None
        table = key.table
        if key.kind == "lines" and table is None:
            return None
    return key


def set_node(doc: Node, place: Place, value: Plain) -> None:
    node, table = doc, _FILE
    for here, then in pairwise(place):
        node, table = _stepped(node, here, then, table, tomlkit_made=True)
    _put(node, place[-1], value, table)


def set_plain(raw: dict[str, Any], place: Place, value: Plain) -> None:
    node: Any = raw
    table = _FILE
    for here, then in pairwise(place):
        node, table = _stepped(node, here, then, table, tomlkit_made=False)
    _put(node, place[-1], _unwrapped(value), table)


def _stepped(
    node: Any, here: str | int, then: str | int, table: Table | None, *, tomlkit_made: bool
) -> tuple[Any, Table | None]:
    """Step down one key, making the table or list that is not there yet."""
    if isinstance(here, int):
        if here == len(node):
            _append(node, {})
        return node[here], table
    key = table.key(here) if table is not None else None
    if here not in node:
        node[here] = _empty(then, tomlkit_made)
    elif not isinstance(node[here], (dict, list)):
        node[here] = _spread(node[here], key, tomlkit_made)
    return node[here], key.table if key is not None else None


def _empty(then: str | int, tomlkit_made: bool) -> Any:
    if isinstance(then, int):
        return tomlkit.array() if tomlkit_made else []
    return tomlkit.inline_table() if tomlkit_made else {}


def _spread(bare: Any, key: Key | None, tomlkit_made: bool) -> Any:
    """A bare value as the table it stands for: `piping = "both"` is `piping = { edges = "both" }`."""
    if key is None or not key.short:
        raise EditError(f"{key.name if key else 'this key'} holds one value, not several")
    table = tomlkit.inline_table() if tomlkit_made else {}
    table[key.short] = _bare_item(bare) if tomlkit_made else bare
    return table


def _bare_item(item: Any) -> Any:
    """A value without the note that stood behind it, which stays on its line."""
    fresh = copy.copy(item)
    if hasattr(fresh, "_trivia"):
        fresh._trivia = tomlkit.items.Trivia()
    return fresh


def _put(node: Any, last: str | int, value: Plain, table: Table | None) -> None:
    if isinstance(last, int):
        if last == len(node):
            _append(node, value)
        else:
            node[last] = value
        return
    key = table.key(last) if table is not None else None
    there = node.get(last)
    if key is not None and key.short and isinstance(there, dict) and not isinstance(value, Mapping):
        there[key.short] = value  # a bare value into a table that is there: its short key
    else:
        node[last] = value


def _append(node: Any, value: Plain) -> None:
    if isinstance(node, AoT):
        node.append(tomlkit.item(value) if value else tomlkit.table())
    elif isinstance(node, Array) and isinstance(value, dict):
        table: InlineTable = tomlkit.inline_table()
        table.update(value)
        node.append(table)
    else:
        node.append(value)


def _unwrapped(value: Plain) -> Plain:
    if isinstance(value, Mapping):
        return {k: _unwrapped(v) for k, v in value.items()}
    if isinstance(value, list):
        return [_unwrapped(v) for v in value]
    return value.unwrap() if hasattr(value, "unwrap") else copy.copy(value)


def has(node: Node, part: str | int) -> bool:
    """Tell whether a table has a key, or a list an entry."""
    if isinstance(node, dict):
        return part in node
    return isinstance(node, list) and isinstance(part, int) and part < len(node)


def remove(doc: Any, place: Place) -> None:
    node: Any = doc
    for i, part in enumerate(place[:-1]):
        if not has(node, part):
            return
        node = node[part]
        if not isinstance(node, (dict, list)):
            _remove_bare(doc, place, i + 1, node)
            return
    last = place[-1]
    if isinstance(node, list) and isinstance(last, int):
        if last < len(node):
            del node[last]
    elif isinstance(node, dict) and last in node:
        del node[last]
        if not node and len(place) > 2 and isinstance(place[-2], str):
            remove(doc, place[:-1])  # a table that says nothing more is taken out with its last key


def _remove_bare(doc: Any, place: Place, depth: int, bare: Any) -> None:
    """Take out a bare value by the short key it stands for."""
    key = key_of(place[:depth])
    if key is not None and key.short == place[depth] and depth == len(place) - 1:
        remove(doc, place[:depth])


def tidy_at(doc: Node, place: Place) -> None:
    """Set the outermost inline table on the way out evenly."""
    node = doc
    for part in place:
        if not has(node, part):
            return
        inner = node[part]
        if isinstance(inner, InlineTable):
            node[part] = tomlkit.value(_inline(inner))
            return
        node = inner


def _inline(item: Any) -> str:
    if isinstance(item, InlineTable):
        pairs = [f"{k.as_string().strip()} = {_inline(v)}" for k, v in item.value.body if k is not None]
        return "{ " + ", ".join(pairs) + " }" if pairs else "{}"
    if isinstance(item, Array) and "\n" not in item.as_string():
        return "[" + ", ".join(_inline(x) for x in item) + "]"
    return str(item.as_string()).strip()
