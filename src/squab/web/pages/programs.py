"""For programs: the operations of the JSON interface on a page of our own, and its description."""

from __future__ import annotations

from functools import cache
from typing import Any, NamedTuple

from fastapi import APIRouter, Request
from fastapi.openapi.utils import get_openapi
from fastapi.responses import JSONResponse, Response

from squab import __version__
from squab.web.programs import PREFIX
from squab.web.programs import router as programs
from squab.web.rendering import page
from squab.web.security import PROGRAM_HEADER

router = APIRouter()

_ABOUT = (
    "The use cases of the workroom for programs on this machine. What changes anything carries the header "
    f"`{PROGRAM_HEADER}` with the program's name. Refusals are JSON: `problem` with title, reason and hint."
)


_KINDS = {
    "string": "text", "integer": "whole number", "boolean": "true or false", "object": "values by name",
    "null": "nothing", "date": "date", "date-time": "time",
}  # fmt: skip


class Operation(NamedTuple):
    """One operation as the page lists it."""

    method: str
    path: str
    summary: str
    about: str
    takes: str
    gives: str
    asks: list[tuple[str, str]]


@cache
def description() -> dict[str, Any]:
    """The interface described as OpenAPI."""
    return get_openapi(title="Squab workroom", version=__version__, description=_ABOUT, routes=programs.routes)


@router.get("/openapi.json", include_in_schema=False)
def openapi() -> Response:
    """The description itself."""
    return JSONResponse(description())


@router.get("/programs", include_in_schema=False)
def for_programs(request: Request) -> Response:
    """The page that lists the operations."""
    schemas = {n: _fields(s) for n, s in description()["components"]["schemas"].items()}
    return page(request, "programs.html", here="keep", groups=_groups(), schemas=schemas, prefix=PREFIX,
                header=PROGRAM_HEADER, base=str(request.base_url).rstrip("/"))  # fmt: skip


def _groups() -> dict[str, list[Operation]]:
    groups: dict[str, list[Operation]] = {}
    for path, methods in description()["paths"].items():
        for method, told in methods.items():
            groups.setdefault(told["tags"][0], []).append(_operation(method, path, told))
    return groups


def _operation(method: str, path: str, told: dict[str, Any]) -> Operation:
    body = told.get("requestBody", {}).get("content", {})
    answers: dict[str, Any] = told["responses"]
    good = next(a for code, a in answers.items() if code.startswith("2")).get("content", {})
    asks = [(p["name"], p.get("description", "")) for p in told.get("parameters", ()) if p["in"] == "query"]
    return Operation(
        method.upper(), path, told["summary"], told.get("description", ""), _named(body), _named(good), asks
    )


def _named(content: dict[str, Any]) -> str:
    """The name of what is sent: of a schema, of a list of it, or the kind of file."""
    for kind, told in content.items():
        schema = told.get("schema")
        return _type(schema) if schema else str(kind)
    return ""


def _type(schema: dict[str, Any]) -> str:
    if "$ref" in schema:
        return str(schema["$ref"].rpartition("/")[2])
    if "anyOf" in schema:
        return " or ".join(_type(s) for s in schema["anyOf"])
    if "enum" in schema:
        return ", ".join(str(v) or "nothing" for v in schema["enum"])
    if "const" in schema:
        return str(schema["const"])
    if schema.get("type") == "array":
        return f"list of {_type(schema.get('items', {}))}"
    kinds = {
        "string": "text",
        "integer": "whole number",
        "boolean": "true or false",
        "object": "values by name",
        "null": "nothing",
    }
    return {"date": "date", "date-time": "time"}.get(
        schema.get("format", ""), kinds.get(schema.get("type", ""), "number")
    )


def _fields(schema: dict[str, Any]) -> tuple[str, list[tuple[str, str, str]]]:
    """What a schema is, and its fields: name, type, what it means."""
    rows = [(n, _type(s), s.get("description", "")) for n, s in schema.get("properties", {}).items()]
    return schema.get("description", ""), rows
