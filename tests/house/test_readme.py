"""What the README tells a newcomer to type works as it stands there."""

from __future__ import annotations

import re
from pathlib import Path

from squab.files import read_job
from squab.stages import check

ROOT = Path(__file__).resolve().parents[2]
README = (ROOT / "README.md").read_text("utf-8")


def test_the_smallest_job_is_a_job_with_nothing_to_mend() -> None:
    blocks = re.findall(r"```toml\n(.*?)```", README, re.DOTALL)
    assert blocks
    for block in blocks:
        found = read_job(block.encode())
        assert found.value is not None, [f.text() for f in found.findings]
        assert not found.findings
        assert not any(f.severity.name == "STOP" for f in check(found.value))


def test_every_file_it_names_is_there() -> None:
    named = re.findall(r"\]\(([^)#:]+)\)", README) + re.findall(r"examples/[\w-]+\.toml", README)
    assert len(named) > 6
    assert [n for n in named if not (ROOT / n).exists()] == []


def test_every_option_it_types_is_one_of_the_commands() -> None:
    source = (ROOT / "src" / "squab" / "cli.py").read_text("utf-8")
    options = set(re.findall(r"--([a-z-]+)", " ".join(re.findall(r"^squab .*$", README, re.MULTILINE))))
    assert {"into", "seconds", "cloth-price"} <= options
    for option in options:
        name = option.removeprefix("no-").replace("-", "_")
        assert re.search(rf"\b{name}: ", source), option
