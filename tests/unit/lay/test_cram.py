"""Rectangles on plain cloth: published perfect packings are found, and what is crammed is sound."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from squab.lay._cram import Cram
from squab.lay._model import build_model, lay_of
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem
from squab.lay.search import search
from squab.lay.verify import verify
from tests.unit.lay._jobs import rectangle

PUBLISHED = Path(__file__).parents[2] / "data" / "packing" / "rectangles" / "instances.json"
RECTANGLES: dict[str, Any] = {r["name"]: r for r in json.loads(PUBLISHED.read_text())}


def published(name: str) -> LayProblem:
    told = RECTANGLES[name]
    pieces = tuple(LayPiece(f"p#{k}", rectangle(w, h), (0, 90)) for k, (w, h) in enumerate(told["pieces"]))
    return LayProblem(name, float(told["width"]), Lattice(), pieces, pattern_at=(0.0, 0.0))


@pytest.mark.parametrize(("name", "over"), [("C1_1", 0), ("C3_2", 0), ("C4_1", 1), ("BENG1", 0), ("BENG3", 0)])
def test_published_packings_are_found(name: str, over: int) -> None:
    problem = published(name)
    lay = search(problem, seconds=60, steps=8000)
    assert verify(problem, lay) == ()
    assert lay.length_mm <= RECTANGLES[name]["optimum"] + over + 1e-6


@settings(max_examples=30, deadline=None)
@given(
    st.lists(st.tuples(st.integers(30, 400), st.integers(30, 400)), min_size=2, max_size=12),
    st.sampled_from([(0,), (0, 90)]),
    st.sampled_from([0.0, 2.5]),
    st.integers(0, 20),
)
def test_what_is_crammed_is_sound_and_keeps_the_length(
    sizes: list[tuple[int, int]], turns: tuple[int, ...], gap_mm: float, number: int
) -> None:
    pieces = tuple(LayPiece(f"p#{k}", rectangle(w, h), turns) for k, (w, h) in enumerate(sizes))
    problem = LayProblem("random", 450.0, Lattice(), pieces, pattern_at=(0.0, 0.0), gap_mm=gap_mm)
    model = build_model(problem)
    cram = Cram.of(model)
    assert cram is not None
    length = 1.3 * cram.least + 400.0
    state, _ = cram.tried(length, number, seed=number)
    if state is not None:
        lay = lay_of(model, state)
        assert verify(problem, lay) == ()
        assert lay.length_mm <= length - gap_mm + 1e-6


def test_nothing_is_crammed_that_hangs_on_a_pattern() -> None:
    held = LayPiece("held", rectangle(100, 50), (0,), LayPhase("job", 0.0, None))
    pieces = (held, LayPiece("free", rectangle(80, 40), (0,)))
    assert Cram.of(build_model(LayProblem("stripe", 700.0, Lattice(96.0), pieces, pattern_at=(0.0, 0.0)))) is None
