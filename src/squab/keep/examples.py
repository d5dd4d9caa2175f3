"""The example jobs that come with Squab."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

_IN_WHEEL = Path(__file__).parents[1] / "examples"
_IN_REPOSITORY = Path(__file__).parents[3] / "examples"


@dataclass(frozen=True, slots=True)
class Example:
    """An example job: its short name, its title, its text."""

    name: str
    title: str
    text: str


def examples() -> tuple[Example, ...]:
    """The example jobs by name; none where they were not installed."""
    from squab.keep.summary import summary_of

    folder = next((f for f in (_IN_WHEEL, _IN_REPOSITORY) if f.is_dir()), None)
    found = []
    for path in sorted(folder.glob("*.toml")) if folder is not None else ():
        text = path.read_text(encoding="utf-8")
        summary = summary_of(text)
        found.append(Example(path.stem, (summary and summary.title) or path.stem, text))
    return tuple(found)
