"""A workroom, a browser and windows of it, for journeys."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.journeys.room import PATIENCE_S, serving

PATIENCE_MS = PATIENCE_S * 1000
expect.set_options(timeout=PATIENCE_MS)

Opening = Callable[..., Page]


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The address of a workroom that nobody has opened before, one for a module."""
    with serving(tmp_path_factory.mktemp("workroom")) as address:
        yield address


@pytest.fixture
def window(chromium: Browser, room: str) -> Iterator[Opening]:
    """Open a window of a given width; whatever it complains of, or asks of another machine, fails the journey."""
    complaints: list[str] = []
    contexts: list[BrowserContext] = []

    def opened(width: int = 1440, height: int = 900, *, beside: Page | None = None) -> Page:
        context = beside.context if beside else chromium.new_context(
            viewport={"width": width, "height": height}, base_url=room, accept_downloads=True
        )  # fmt: skip
        if beside is None:
            contexts.append(context)
        page = context.new_page()
        page.set_default_timeout(PATIENCE_MS)
        page.on("pageerror", lambda error: complaints.append(f"{page.url}: {error}"))
        page.on("console", lambda m: complaints.append(f"{page.url}: {m.text}") if _is_fault(m.type, m.text) else None)
        page.on("request", lambda r: complaints.append(f"asked {r.url}") if not _is_own(r.url, room) else None)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []


EXPECTED = ("the server responded with a status of 4", "htmx:", "net::ERR_CONNECTION_REFUSED", "net::ERR_INTERNET_DISC")
"""What a browser writes down though nothing is wrong: refusals that pages tell, questions overtaken, a network away."""


def _is_fault(kind: str, text: str) -> bool:
    return kind == "error" and ("oobErrorNoTarget" in text or not any(x in text for x in EXPECTED))


def _is_own(url: str, room: str) -> bool:
    return url.startswith((f"{room}/", "blob:", "data:"))
