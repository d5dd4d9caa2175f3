"""A whole job through the command line, as a maker would do it."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.toml"))


def squab(*words: str | Path, **more: object) -> subprocess.CompletedProcess[str]:
    """Run the command line as a maker does."""
    command = [sys.executable, "-m", "squab.cli", *map(str, words)]
    return subprocess.run(command, capture_output=True, text=True, timeout=120, **more)  # type: ignore[call-overload,no-any-return]


def test_there_are_at_least_five_examples() -> None:
    """The demo holds the five jobs of the reading room and more."""
    assert len(EXAMPLES) >= 5


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_example_makes_everything(path: Path, tmp_path: Path) -> None:
    """Each example goes from its file to a folder of sheets, and the JSON agrees with what is there."""
    folder = tmp_path / "made"
    done = squab("make", path, "--into", folder, "--seconds", "0.5", "--json")
    assert done.returncode == 0, done.stderr
    told = json.loads(done.stdout)
    assert sorted(told["files"]) == sorted(
        str(p.relative_to(folder)) for p in folder.rglob("*") if p.is_file() and not p.name.startswith(".")
    )
    assert {"index.html", "quote.pdf", "costing.pdf", "cut-list.pdf", "labels.pdf", "patterns.pdf"} <= set(
        told["files"]
    )
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_example_passes_its_check(path: Path) -> None:
    """`check` lays nothing and finds nothing that stops in an example."""
    done = squab("check", path, "--json")
    assert done.returncode == 0, done.stdout
    assert all(f["severity"] != "stop" for f in json.loads(done.stdout)["findings"])


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b"\xff\xfe\x00", "UTF-8"),
        (b"[[cushion]]\nwidht = 5\n", "widht"),
        (b"a = " + b"[" * 50_000, "nested"),
        (b"x" * 20_000_000, "20 MB"),
    ],
    ids=["empty", "not UTF-8", "unknown key", "deep", "huge"],
)
def test_a_bad_job_file_is_told_plainly(tmp_path: Path, content: bytes, said: str) -> None:
    """Exit 1 with a finding that names what is wrong; never a traceback."""
    bad = tmp_path / "bad.toml"
    bad.write_bytes(content)
    done = squab("check", bad)
    assert done.returncode == 1
    assert said.lower() in done.stderr.lower()
    assert "Traceback" not in done.stderr


def test_a_failed_make_leaves_the_old_folder_untouched(tmp_path: Path) -> None:
    """A job that stops writes nothing: what was made before stays as it was."""
    folder, job = tmp_path / "made", tmp_path / "job.toml"
    job.write_text((ROOT / "examples" / "round-stool.toml").read_text())
    assert squab("make", job, "--into", folder, "--seconds", "0.5").returncode == 0
    before = {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()}
    job.write_text("[job]\nname = 3\n")
    assert squab("make", job, "--into", folder).returncode == 1
    assert {p: p.read_bytes() for p in folder.rglob("*") if p.is_file()} == before
    assert [p.name for p in tmp_path.iterdir() if p.is_dir()] == ["made"]


def test_a_make_stopped_while_drawing_leaves_the_old_folder_and_says_so(tmp_path: Path) -> None:
    """Ctrl-C once the lay is done."""
    made, example = tmp_path / "made", ROOT / "examples" / "armchair.toml"
    assert squab("make", example, "--into", made, "--seconds", "0.3").returncode == 0
    before = {p: p.read_bytes() for p in made.rglob("*") if p.is_file()}
    # Drawing takes a fraction of a second: it is held, so that a slow machine's Ctrl-C is not too late.
    held = "import squab.draw.sheets as s, squab.cli, time; s._drawn_here = lambda _: time.sleep(60); squab.cli.main()"
    command = [sys.executable, "-c", held, "make", str(example), "--into", str(made), "--seconds", "0.3"]
    with subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True) as running:
        assert running.stderr
        for line in running.stderr:
            if line.startswith("drawing"):
                running.send_signal(signal.SIGINT)
                break
        said = running.stderr.read()
    assert running.returncode == 130
    assert "squab: stopped; nothing was written" in said
    assert "Traceback" not in said
    assert {p: p.read_bytes() for p in made.rglob("*") if p.is_file()} == before
    assert [p.name for p in tmp_path.iterdir()] == ["made"]


def test_make_refuses_a_folder_that_is_not_its_own(tmp_path: Path) -> None:
    """A folder with somebody's photographs in it is never replaced."""
    (tmp_path / "photos").mkdir()
    (tmp_path / "photos" / "a.jpg").write_bytes(b"x")
    example = ROOT / "examples" / "round-stool.toml"
    done = squab("make", example, "--into", tmp_path / "photos", "--seconds", "0.3")
    assert done.returncode in (1, 2)
    assert (tmp_path / "photos" / "a.jpg").read_bytes() == b"x"
    assert "Traceback" not in done.stderr


def test_misuse_exits_2(tmp_path: Path) -> None:
    """A file that is not there, a length that is none, an option that is none."""
    assert squab("check", tmp_path / "none.toml").returncode == 2
    assert squab("estimate", "24", "x", "4").returncode == 2
    assert squab("estimate", "24", "22", "4", "--unit", "furlong").returncode == 2
    assert squab("nonsense").returncode == 2


def test_a_wrong_length_shows_a_caret() -> None:
    """The caret stands under the first wrong character."""
    done = squab("estimate", "24", "22q", "4")
    assert "  22q\n    ^" in done.stderr


def test_estimate_answers_in_inches_and_in_json() -> None:
    """The telephone question: cloth to order and a price range."""
    text = squab("estimate", "24", "22", "4", "--cloth-price", "40")
    assert text.returncode == 0, text.stderr
    assert "yd" in text.stdout
    told = json.loads(squab("estimate", "24", "22", "4", "--cloth-price", "40", "--json").stdout)
    assert 0 < told["cloth_least_mm"] <= told["cloth_most_mm"]
    assert 0 < float(told["price_least"]) <= float(told["price_most"])
    more = json.loads(squab("estimate", "24", "22", "4", "--cloth-price", "40", "--count", "4", "--json").stdout)
    assert float(more["price_least"]) > float(told["price_least"])


@pytest.mark.parametrize("size", ["0", "1e400", "99999 m"])
def test_estimate_refuses_sizes_that_make_no_sense(size: str) -> None:
    """Nought, the infinite and the absurd are told, not computed."""
    done = squab("estimate", size, "22", "4")
    assert done.returncode in (1, 2)
    assert "Traceback" not in done.stderr
    assert done.stderr.strip()


def test_lay_stopped_half_way_keeps_the_best() -> None:
    """Ctrl-C during the search prints the best lay so far and its proof."""
    command = [
        sys.executable,
        "-m",
        "squab.cli",
        "lay",
        str(ROOT / "examples" / "bay-window.toml"),
        "--seconds",
        "60",
        "--json",
    ]
    begun = time.monotonic()
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
        assert running.stderr is not None
        for line in running.stderr:
            if line.startswith("laying"):
                break
        time.sleep(3.0)
        os.kill(running.pid, signal.SIGINT)
        out, err = running.communicate(timeout=40)
    assert running.returncode == 0, err
    assert time.monotonic() - begun < 50
    for plan in json.loads(out)["lays"]:
        assert plan["bound_mm"] <= plan["length_mm"] + 1e-6


def test_the_schema_is_printed() -> None:
    """Editors can be given the schema of the job file."""
    assert json.loads(squab("schema").stdout)["type"] == "object"
