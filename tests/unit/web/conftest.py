"""A workroom over a keep of its own."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from squab.keep import Keep, open_keep
from squab.web import create_app
from squab.web.security import TOKEN_COOKIE

TOKEN = "a-token-of-the-tests-own-0123456789"
EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.fixture
def keep(tmp_path: Path) -> Iterator[Keep]:
    """An empty keep."""
    made = open_keep(tmp_path / "keep")
    yield made
    made.close()


@pytest.fixture
def client(keep: Keep) -> Iterator[TestClient]:
    """A browser that has opened the workroom before, and does what a page of it would."""
    with TestClient(create_app(keep), base_url="http://127.0.0.1:8024", follow_redirects=False) as made:
        made.cookies.set(TOKEN_COOKIE, TOKEN)
        made.headers["x-squab-token"] = TOKEN
        yield made
