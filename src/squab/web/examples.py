"""The example jobs, which lie beside the program or in it."""

from __future__ import annotations

from functools import cache
from pathlib import Path

_PLACES = (Path(__file__).parents[1] / "examples", Path(__file__).parents[3] / "examples")


@cache
def examples() -> tuple[tuple[str, str], ...]:
    """Name and text of every example job."""
    folder = next((p for p in _PLACES if p.is_dir()), None)
    files = sorted(folder.glob("*.toml")) if folder is not None else []
    return tuple((f.stem.replace("-", " ").capitalize(), f.read_text(encoding="utf-8")) for f in files)
