"""Every finding that the program can make is told of in plain words, and no other."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_every_finding_code_is_documented_once_and_none_besides() -> None:
    code = r"(?:JOB|CON|MAT|LAY|SUP|SEW|DRW|EST)-\d{3}"
    used = {c for p in (ROOT / "src").rglob("*.py") for c in re.findall(f'"({code})"', p.read_text(encoding="utf-8"))}
    told = re.findall(rf"^- \*\*({code})\*\*", (ROOT / "docs" / "findings.md").read_text(encoding="utf-8"), re.M)
    assert len(used) > 90
    assert sorted(told) == sorted(used)
