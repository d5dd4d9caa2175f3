"""The JSON Schema of a job file, made from the same keys as the reader.

An editor that knows the schema completes keys and shows what they mean. The schema is a little
looser than the reader: it cannot read a length from a text, nor add stripes up.
"""

from __future__ import annotations

import json
from typing import Any

from squab.files.keys import FILE, Key, Table
from squab.files.reading import STRIPE

TITLE = "Squab job file"
_LENGTH = {"anyOf": [{"type": "number", "minimum": 0}, {"type": "string", "minLength": 1}]}
_SIGNED = {"anyOf": [{"type": "number"}, {"type": "string", "minLength": 1}]}
_POINT = {"type": "array", "items": _SIGNED, "minItems": 2, "maxItems": 2}
_PLAIN: dict[str, dict[str, Any]] = {
    "text": {"type": "string"},
    "yes_no": {"type": "boolean"},
    "length": _LENGTH,
    "drop": _LENGTH,
    "offset": _SIGNED,
    "date": {"type": "string", "format": "date"},
    "colour": {"type": "string"},
    "names": {"anyOf": [{"type": "string"}, {"type": "array", "items": {"type": "string"}}]},
    "lengths": {"type": "array", "items": _LENGTH, "minItems": 2},
    "point": _POINT,
    "points": {"type": "array", "items": _POINT, "minItems": 3},
}


def job_schema() -> dict[str, Any]:
    """Give the JSON Schema (draft 2020-12) of a job file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": TITLE,
        "description": FILE.doc,
        **_object(FILE),
    }


def schema_text() -> str:
    """The schema as it is stored beside the documentation."""
    return json.dumps(job_schema(), indent=2, ensure_ascii=False) + "\n"


def _object(table: Table) -> dict[str, Any]:
    made: dict[str, Any] = {
        "type": "object",
        "properties": {key.name: _property(key) for key in table.keys},
        "additionalProperties": _PLAIN[table.open_kind] if table.open_kind else False,
    }
    required = [key.name for key in table.keys if key.required]
    return {**made, "required": required} if required else made


def _property(key: Key) -> dict[str, Any]:
    said = f"{key.doc} Default: {key.default}." if key.default else key.doc
    return {"description": said, **_type(key)}


def _type(key: Key) -> dict[str, Any]:
    if key.kind == "choice":
        return {"enum": list(key.choices)}
    if key.kind in ("number", "whole", "money"):
        limits = {n: v for n, v in (("minimum", key.least), ("maximum", key.most)) if v is not None}
        return {"type": "integer" if key.kind == "whole" else "number", **limits}
    if key.kind == "stripes":
        return {"type": "array", "minItems": 1, "items": {"anyOf": [{"type": "string"}, _object(STRIPE)]}}
    if key.table is not None:
        return _of_table(key, key.table)
    return _PLAIN[key.kind]


def _of_table(key: Key, table: Table) -> dict[str, Any]:
    if key.kind == "tables":
        return {"type": "array", "items": _object(table), **({"minItems": 1} if key.required else {})}
    if key.short:
        short = table.key(key.short)
        assert short is not None
        return {"anyOf": [_type(short), _object(table)]}
    return _object(table)
