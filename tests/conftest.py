"""What all tests share: settled draws where CI is set, and the browser of this machine."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from hypothesis import settings

from tests.chromium import QUIET, WANTED, chromium_path

if TYPE_CHECKING:
    from playwright.sync_api import Browser

# Where CI is set, the laws draw the same examples every time, so that a red run can be repeated.
settings.register_profile("ci", derandomize=True)
# The laws of tests/laws on a hundred times as many jobs (see `tests.laws.draws`): hours, for a quiet machine.
settings.register_profile("long", max_examples=10_000)
if os.environ.get("CI"):
    settings.load_profile("ci")


@pytest.fixture(scope="module")
def chromium() -> Iterator[Browser]:
    """One browser for the tests of a module; where CI is set there must be one."""
    path = chromium_path()
    if path is None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)(WANTED)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=list(QUIET))
        yield browser
        browser.close()
