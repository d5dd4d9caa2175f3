"""Ctrl-C in `squab make`, at the moments at which a real one seldom falls."""

from __future__ import annotations

import os
import signal
import weakref
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from squab.cli import _drawing_pool, app

STOOL = Path(__file__).parents[2] / "examples" / "round-stool.toml"


def make(into: Path) -> Result:
    return CliRunner().invoke(app, ["make", str(STOOL), "--into", str(into), "--seconds", "0.2"])


@pytest.mark.skipif(os.name == "nt", reason="a signal can't be sent so there")
def test_a_terminals_ctrl_c_never_reaches_the_processes_that_draw(capfd: pytest.CaptureFixture[str]) -> None:
    """A terminal sends it to all of them at once; those that were just starting died of it, and the job with them."""
    with _drawing_pool() as pool:
        workers = list(pool._processes)  # type: ignore[attr-defined]
        assert len(workers) == 2
        for worker in workers:
            os.kill(worker, signal.SIGINT)
        assert pool.submit(int).result(timeout=60) == 0
    assert "Traceback" not in capfd.readouterr().err


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_ctrl_c_in_a_callback_that_drops_it_still_writes_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Python drops what is raised while it collects an object, as importing does."""

    def drawn(*_: Any, **__: Any) -> dict[str, bytes]:
        thing = type("Thing", (), {})()
        kept = weakref.ref(thing, lambda _: signal.raise_signal(signal.SIGINT))
        del thing
        return {"kept.txt": str(kept).encode()}

    monkeypatch.setattr("squab.draw.sheets.all_sheets", drawn)
    told = make(tmp_path / "made")
    assert told.exit_code == 130
    assert "stopped; nothing was written" in told.stderr
    assert not (tmp_path / "made").exists()


def test_ctrl_c_while_writing_leaves_the_new_folder_whole_and_says_so(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What it said was once "nothing was written", beside a folder that was."""
    from squab.files import folder

    swap = folder._swap

    def swapped(fresh: Path, target: Path) -> None:
        signal.raise_signal(signal.SIGINT)
        swap(fresh, target)

    monkeypatch.setattr(folder, "_swap", swapped)
    told = make(tmp_path / "made")
    assert told.exit_code == 130
    written = [p for p in (tmp_path / "made").rglob("*") if p.is_file() and not p.name.startswith(".")]
    assert f"stopped; all {len(written)} files were written to {tmp_path / 'made'} first" in told.stderr
    assert "nothing was written" not in told.stderr
    assert [p.name for p in tmp_path.iterdir()] == ["made"]
