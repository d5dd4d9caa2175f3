"""Laws of the job file: no bytes raise, lines are found, what is read is what was written."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from squab.files import read_job
from squab.files.keys import BOLT, CLOTH, COVER, CUSHION, JOB, MATCH, PIPING, PRICES, ZIP
from squab.files.lines import Place, key_lines
from tests.laws.draws import draws

EXAMPLES = [p.read_bytes() for p in sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))]
NAMES = sorted({k.name for t in (JOB, CLOTH, COVER, CUSHION, PIPING, ZIP, MATCH, BOLT, PRICES) for k in t.keys})

SCALARS = st.one_of(
    st.integers(-5, 10**6), st.floats(), st.booleans(), st.text(max_size=8),
    st.sampled_from(["3 3/4", "95 mm", "indigo 40", "left", "both", "disc", "run", "half", "#ffffff", "seat"]),
)  # fmt: skip
VALUES = st.recursive(
    SCALARS,
    lambda v: st.lists(v, max_size=4) | st.dictionaries(st.sampled_from(NAMES), v, max_size=4),
    max_leaves=8,
)


def _toml(value: Any) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, str):
        return (
            '"' + "".join(c if (c.isalnum() and c.isascii()) or c in " /#" else f"\\U{ord(c):08x}" for c in value) + '"'
        )
    if isinstance(value, list):
        return "[" + ", ".join(map(_toml, value)) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{k} = {_toml(v)}" for k, v in value.items()) + "}"
    return str(value)


@settings(max_examples=draws(120), deadline=None)
@given(data=st.one_of(st.binary(max_size=200), st.text(max_size=100).map(lambda t: t.encode("utf-8", "surrogatepass"))))
def test_no_bytes_raise(data: bytes) -> None:
    """Any bytes give a job or a finding that stops."""
    found = read_job(data)
    assert found.value is not None or found.stops


@settings(max_examples=draws(50), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(which=st.sampled_from(EXAMPLES), at=st.floats(0, 1), cut=st.integers(0, 12), put=st.binary(max_size=6))
def test_no_damaged_example_raises(which: bytes, at: float, cut: int, put: bytes) -> None:
    """A slip of the hand anywhere in a good file."""
    i = int(at * len(which))
    found = read_job(which[:i] + put + which[i + cut :])
    assert found.value is not None or found.stops
    assert all(f.line is None or 1 <= f.line <= which.count(b"\n") + put.count(b"\n") + 1 for f in found.findings)


@settings(max_examples=draws(80), deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(
    cloth=st.dictionaries(st.sampled_from([k.name for k in CLOTH.keys]), VALUES, max_size=6),
    cushion=st.dictionaries(st.sampled_from([k.name for k in CUSHION.keys]), VALUES, max_size=8),
    job=st.dictionaries(st.sampled_from([k.name for k in JOB.keys]), VALUES, max_size=4),
)
def test_no_values_raise(cloth: dict[str, Any], cushion: dict[str, Any], job: dict[str, Any]) -> None:
    """Right keys with any values: each is taken or told."""
    cloth = {"id": "a", "usable_width": 1370, **cloth}
    cushion = {"id": "s", "width": 560, "depth": 510, "thickness": 100, **cushion}
    text = f"job = {_toml(job)}\ncloth = [{_toml(cloth)}]\ncushion = [{_toml(cushion)}]\n"
    tomllib.loads(text)
    found = read_job(text.encode())
    assert found.value is not None or found.stops
    assert all(f.message and f.place for f in found.findings)


def _paths(value: Any, at: Place = ()) -> set[Place]:
    found = {at} if at else set()
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, one in inner:
        found |= _paths(one, (*at, key))
    return found


@settings(max_examples=draws(50), deadline=None)
@given(values=st.dictionaries(st.sampled_from(NAMES), VALUES, max_size=5))
def test_every_key_has_a_line(values: dict[str, Any]) -> None:
    """Lines are found for exactly the keys of a sound text, in the order they stand."""
    text = "".join(f"# note\n{k} = {_toml(v)}\n" for k, v in values.items())
    lines = key_lines(text)
    assert set(lines) == _paths(tomllib.loads(text))
    assert [lines[k,] for k in values] == [2 * i + 2 for i in range(len(values))]


@pytest.mark.parametrize("data", EXAMPLES)
def test_the_same_bytes_give_the_same_job(data: bytes) -> None:
    """Read twice, equal."""
    assert read_job(data) == read_job(data)


@settings(max_examples=draws(25), deadline=None)
@given(
    width=st.integers(40, 3000), depth=st.integers(40, 3000), sixteenths=st.integers(4, 160),
    allowance=st.integers(3, 50), count=st.integers(1, 99),
)  # fmt: skip
def test_what_is_written_is_read(width: int, depth: int, sixteenths: int, allowance: int, count: int) -> None:
    """Numbers come through to the outline, the cover and what was typed."""
    text = (
        '[[cloth]]\nid = "a"\nusable_width = 1370\n[[cushion]]\nid = "s"\nsize_is = "fill"\n'
        f"width = {width}\ndepth = {depth}\nallowance = {allowance}\ncount = {count}\n"
        f'thickness = "{sixteenths}/16 in"\n'
    )
    job = read_job(text.encode()).value
    assert job is not None
    cushion = job.cushions[0]
    assert cushion.outline.bounds() == (0.0, 0.0, width, depth)
    assert cushion.thickness_mm == float(Fraction(sixteenths, 16) * Fraction("25.4"))
    assert (cushion.cover.allowance_mm, cushion.count) == (allowance, count)
    assert dict(cushion.typed)["thickness"] == f"{sixteenths}/16 in"
