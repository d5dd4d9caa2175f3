"""The options of `squab lay` that ask for more than the shortest lay."""

from __future__ import annotations

import json
from pathlib import Path

from typer.testing import CliRunner

from squab.cli import app

JOB = """
[job]
size_is = "finished"
[[foam_sheet]]
thickness = 44
width = 1000
length = 2000
[[cloth]]
id = "plain"
usable_width = 1400
price_per_m = 20
[[cushion]]
id = "pad"
count = 2
width = 420
depth = 400
thickness = 50
piping = "none"
"""


def test_every_question_is_answered_for_programs(tmp_path: Path) -> None:
    job = tmp_path / "pads.toml"
    job.write_text(JOB, encoding="utf-8")
    asked = [
        "lay",
        str(job),
        "--seconds",
        "0.3",
        "--then",
        "together",
        "--may-add",
        "5mm",
        "--why",
        "--json",
    ]
    ran = CliRunner().invoke(app, asked)
    assert ran.exit_code == 0, ran.output
    told = json.loads(ran.stdout)
    (lay,) = told["lays"]
    assert lay["aims"][0]["aim"] == "cushions together"
    assert set(lay["aims"][0]["spread_mm"]) == {"pad#1", "pad#2"}
    assert lay["double"] is None
    assert told["why"]["holding"]["plain"][-1]["on"] is None
    assert {w["what"] for w in told["why"]["changes"]} >= {"10 mm less depth"}
    assert isinstance(told["foam"], list)


def test_cut_double_is_told_for_programs_and_in_words(tmp_path: Path) -> None:
    job = tmp_path / "pads.toml"
    job.write_text(JOB, encoding="utf-8")
    ran = CliRunner().invoke(app, ["lay", str(job), "--seconds", "0.3", "--double", "--json"])
    assert ran.exit_code == 0, ran.output
    (lay,) = json.loads(ran.stdout)["lays"]
    assert len(lay["double"]["pairs"]) >= 2
    assert lay["double"]["folded_mm"] <= lay["length_mm"]
    said = CliRunner().invoke(app, ["lay", str(job), "--seconds", "0.3", "--double"])
    assert f"{len(lay['double']['pairs'])} cuts through both layers" in said.stdout
    assert "LAY-022" in said.stderr


def test_an_aim_that_is_not_known_is_misuse(tmp_path: Path) -> None:
    job = tmp_path / "pads.toml"
    job.write_text(JOB, encoding="utf-8")
    ran = CliRunner().invoke(app, ["lay", str(job), "--then", "scraps"])
    assert ran.exit_code == 2
    assert "remnant, cuts, together" in ran.stderr
