"""A keep in a folder of its own, with a clock that stands."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from squab.keep import Keep, open_keep
from tests.unit.keep.keeping import Clock


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def keep(tmp_path: Path, clock: Clock) -> Iterator[Keep]:
    opened = open_keep(tmp_path / "keep", clock=clock)
    yield opened
    opened.close()
