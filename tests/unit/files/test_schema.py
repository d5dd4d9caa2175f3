"""The schema and the reference page come from the reader's own keys."""

from __future__ import annotations

import json
import tomllib
from dataclasses import fields
from datetime import date
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from squab.cloth import Bolt, Cloth
from squab.files import read_job
from squab.files.keys import (
    BOLT,
    CLOTH,
    COVER,
    CUSHION,
    FACTORS,
    FILL,
    JOB,
    MATCH,
    MINUTES,
    NOTCHES,
    PIPING,
    PRICES,
    ZIP,
    Table,
)
from squab.files.reference import reference_page
from squab.files.schema import job_schema, schema_text
from squab.job import Cover, Cushion, Fill, Job, Matching, Notching, Piping, Zip
from squab.prices import Factors, Minutes, PriceList

ROOT = Path(__file__).parents[3]
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))


def _plain(path: Path) -> Any:
    def text(value: object) -> str:
        assert isinstance(value, date)
        return value.isoformat()

    return json.loads(json.dumps(tomllib.loads(path.read_text(encoding="utf-8")), default=text))


def test_the_stored_schema_and_page_are_current() -> None:
    """`python -m squab.files.reference docs` has been run since the keys last changed."""
    assert (ROOT / "docs" / "job.schema.json").read_text(encoding="utf-8") == schema_text()
    assert (ROOT / "docs" / "job-file.md").read_text(encoding="utf-8") == reference_page()


def test_the_schema_is_a_schema() -> None:
    """By the meta-schema of JSON Schema, draft 2020-12."""
    jsonschema.Draft202012Validator.check_schema(job_schema())


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_example_is_valid_by_the_schema(path: Path) -> None:
    """What the reader takes, an editor takes."""
    jsonschema.Draft202012Validator(job_schema()).validate(_plain(path))


@pytest.mark.parametrize(
    ("place", "value"),
    [(("job", "unit"), "mm"), (("cloth", 0, "usable_width"), True), (("cushion", 0, "shape"), "octagon"),
     (("cushion", 0, "count"), 0), (("cloth", 0, "stripes"), []), (("cushion", 0, "piping"), 4),
     (("prices", "hour"), "x")],
)  # fmt: skip
def test_the_schema_and_the_reader_refuse_alike(place: tuple[str | int, ...], value: object) -> None:
    """The same fault stops both."""
    plain = _plain(EXAMPLES[0])
    inner = plain
    for part in place[:-1]:
        inner = inner.setdefault(part, {}) if isinstance(inner, dict) else inner[part]
    inner[place[-1]] = value
    assert list(jsonschema.Draft202012Validator(job_schema()).iter_errors(plain))
    assert read_job(_as_toml(plain).encode()).value is None


def _as_toml(plain: dict[str, Any]) -> str:
    return "".join(f"{key} = {_inline(value)}\n" for key, value in plain.items())


def _inline(value: Any) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k} = {_inline(v)}" for k, v in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(_inline, value)) + "]"
    return json.dumps(value)


@pytest.mark.parametrize(
    ("table", "record", "set_elsewhere"),
    [
        (COVER, Cover, set()), (PIPING, Piping, set()), (ZIP, Zip, set()), (NOTCHES, Notching, set()),
        (MATCH, Matching, set()), (FILL, Fill, set()), (MINUTES, Minutes, set()), (FACTORS, Factors, set()),
        (PRICES, PriceList, set()), (BOLT, Bolt, {"stripe_at_u_mm", "print_at_v_mm", "creep"}),
        (CLOTH, Cloth, {"pattern", "price_per_m", "in_hand", "remnant_of"}),
        (CUSHION, Cushion, {"outline", "thickness_mm", "clearance_mm", "cover", "typed", "line", "sold_as"}),
        (JOB, Job, {"cushions", "cloths", "prices", "style", "foam_sheets"}),
    ],
)  # fmt: skip
def test_every_field_of_a_record_can_be_set(table: Table, record: type, set_elsewhere: set[str]) -> None:
    """No setting of the records is out of a maker's reach."""
    reached = {key.field or key.name for key in table.keys} | set_elsewhere
    assert {f.name for f in fields(record)} - reached == set()


def test_every_key_is_explained() -> None:
    """In the page, with its meaning."""
    page = reference_page()
    for table in (JOB, CLOTH, COVER, CUSHION, PRICES, PIPING, ZIP, NOTCHES, MATCH, FILL, BOLT):
        for key in table.keys:
            assert key.doc
            assert f"| `{key.name}` |" in page
