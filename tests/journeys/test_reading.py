"""Every page by the rules of WCAG 2.2, A and AA, as far as a machine can tell, on a telephone and at a desk."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from fastapi.routing import APIRoute
from playwright.sync_api import Browser, Page

from squab.web.pages import ROUTERS
from tests.journeys.conftest import Opening
from tests.journeys.pages import NOT_PAGES, PAGES, Filled, begun, filled
from tests.journeys.room import PATIENCE_S, serving, settled

RULES = Path(__file__).parents[2] / "browser" / "node_modules" / "axe-core" / "axe.min.js"
LEVELS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
CHECK = """async levels => {
    for (const fold of document.querySelectorAll("details")) fold.open = true;
    const told = await axe.run(document, {runOnly: levels, resultTypes: ["violations"]});
    const where = v => v.nodes.slice(0, 3).map(n => n.target.join(" ")).join(" | ");
    return told.violations.map(v => `${v.id}: ${v.help}: ${where(v)}`);
}"""


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Filled]:
    """A keep with something for every page."""
    folder = tmp_path_factory.mktemp("full")
    return folder, filled(folder)


@pytest.fixture(scope="module")
def room(full: tuple[Path, Filled], chromium: Browser) -> Iterator[str]:
    """The workroom over it, its cutting begun."""
    with serving(full[0]) as address:
        page = chromium.new_page(base_url=address)
        page.set_default_timeout(PATIENCE_S * 1000)
        begun(page, full[1])
        page.close()
        yield address


def _violations(page: Page, width: int) -> list[str]:
    """What is wrong with a page at that width; its modules draw themselves anew for it first."""
    page.set_viewport_size({"width": width, "height": 900})
    settled(page)
    told: list[str] = page.evaluate(CHECK, LEVELS)
    wide = page.evaluate("document.documentElement.scrollWidth")
    return told + ([f"{wide} px wide"] if wide > width else [])


def test_no_page_violates_a_rule_or_is_wider_than_its_window(window: Opening, full: tuple[Path, Filled]) -> None:
    page = window()
    told = {}
    for name, address in PAGES.items():
        page.set_viewport_size({"width": 360, "height": 900})
        page.goto(address.format(**full[1]))
        settled(page)
        page.evaluate(RULES.read_text())
        for width in (360, 1440):
            told[name, width] = _violations(page, width)
    assert {at: said for at, said in told.items() if said} == {}


def test_every_page_of_the_workroom_is_among_those_that_are_checked() -> None:
    """A page that is added is checked too, or this fails."""
    checked = {re.sub(r"{[^}]*}", "{}", address.partition("?")[0]) for address in PAGES.values()}
    for route in (route for router in ROUTERS for route in router.routes if isinstance(route, APIRoute)):
        last = route.path.rpartition("/")[2]
        if "GET" in (route.methods or ()) and last not in NOT_PAGES and "." not in last:
            assert re.sub(r"{[^}]*}", "{}", route.path) in checked, route.path
