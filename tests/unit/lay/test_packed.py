"""A general packer's lay as a start: in our frame, sound once pressed, and never needed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from squab.lay import search as searching
from squab.lay._model import lay_of
from squab.lay._packed import Packer
from squab.lay._press import Press, Table
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem, LayStrip
from squab.lay.search import Hunt, search
from squab.lay.verify import verify
from tests.unit.lay._jobs import rectangle

TRAPEZOID = np.array([[0.0, 0.0], [300.0, 0.0], [220.0, 260.0], [60.0, 260.0]])
HOOK = np.array([[20.0, -50.0], [300.0, -50.0], [300.0, 40.0], [120.0, 40.0], [120.0, 190.0], [20.0, 190.0]])
SLANT = np.array([[0.0, 0.0], [200.0, 0.0], [310.0, 150.0], [110.0, 150.0]])


def outlines(*, lattice: Lattice = Lattice(), phase: LayPhase | None = None) -> LayProblem:  # noqa: B008
    """Eighteen pieces that fill no box, and a strip in parts."""
    turns = ((0, 180), (0, 90, 180, 270), (90, 180))
    pieces = tuple(LayPiece(f"p#{k}", (TRAPEZOID, HOOK, SLANT)[k % 3], turns[k % 3], phase) for k in range(18))
    strip = LayStrip("s", 0.0, 900.0, 0.0, 40.0, 5.0, 200.0, (0, 90))
    return LayProblem("outlines", 700.0, lattice, pieces, (strip,), pattern_at=(0.0, 0.0), gap_mm=3.0)


def packed(problem: LayProblem, seconds: float = 4.0) -> tuple[Hunt, Table, Packer]:
    """The packer's lay of a problem, after so many seconds."""
    hunt = Hunt(problem)
    table = Table.of(hunt.model, hunt.best)
    assert table is not None
    with Packer(table, seconds=seconds, seed=1) as packer:
        packer.wait(seconds)
    return hunt, table, packer


def test_its_lay_is_sound_once_pressed() -> None:
    problem = outlines()
    hunt, table, packer = packed(problem)
    found = packer.lay()
    assert found is not None
    length, places, modes = found
    assert length < hunt.length_mm
    press = Press(table, hunt.best, 0)
    press.begin_at(places, modes, 1.001 * length)
    press.go(4000, 0.0)
    state = press.found()
    assert state.length_mm <= 1.001 * length
    assert verify(problem, lay_of(hunt.model, state)) == ()


def test_it_is_ended_and_leaves_no_process() -> None:
    hunt = Hunt(outlines())
    table = Table.of(hunt.model, hunt.best)
    assert table is not None
    packer = Packer(table, seconds=60.0, seed=0)
    process = packer._process
    assert process is not None
    packer.end()
    assert process.poll() is not None
    assert not packer.works


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> list[Packer]:
    """Every packer that a search asks; a short search is long enough for it, and half of the pressing its own."""
    made: list[Packer] = []

    def noted(*args: Any, **more: Any) -> Packer:
        made.append(Packer(*args, **more))
        return made[-1]

    monkeypatch.setattr(searching, "Packer", noted)
    monkeypatch.setattr(searching, "PACKED_S", 0.2)
    monkeypatch.setattr(searching, "PACKED_SHARE", 0.5)
    return made


def test_outlines_on_plain_cloth_are_begun_with_it(asked: list[Packer]) -> None:
    problem = outlines()
    lay = search(problem, seconds=6.0, workers=2)
    assert len(asked) == 1
    found = asked[0].lay()
    assert found is not None
    assert lay.length_mm <= found[0] * 1.001
    assert verify(problem, lay) == ()


@pytest.mark.parametrize("gone", ["missing", "broken", "no interpreter"])
def test_without_it_the_search_stands(
    gone: str, asked: list[Packer], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    if gone == "no interpreter":
        monkeypatch.setattr("sys.executable", str(tmp_path / "nothing"))
    else:
        said = "raise ImportError" if gone == "missing" else "print('[[0, 1')"
        (tmp_path / "spyrrow.py").write_text(f"{said}\n")
        monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    problem = outlines()
    lay = search(problem, seconds=3.0, workers=2)
    assert [p.lay() for p in asked] == [None]
    assert verify(problem, lay) == ()
    assert lay.length_mm < Hunt(problem).length_mm


def test_what_it_cannot_do_is_not_asked_of_it(asked: list[Packer]) -> None:
    matched = outlines(lattice=Lattice(90.0), phase=LayPhase("job", 0.0, None))
    search(matched, seconds=2.0, workers=2)
    boxes = tuple(LayPiece(f"b#{k}", rectangle(250, 120 + k), (0, 90)) for k in range(8))
    search(LayProblem("boxes", 700.0, Lattice(), boxes, pattern_at=(0.0, 0.0)), seconds=2.0, workers=2)
    assert asked == []


def test_a_search_in_steps_never_asks_it(asked: list[Packer]) -> None:
    problem = outlines()
    assert search(problem, seconds=60.0, steps=3000, workers=2) == search(problem, seconds=60.0, steps=3000, workers=2)
    assert asked == []
