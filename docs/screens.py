"""Make a picture of every page of the workroom, and the few that stand in the README.

    python docs/screens.py INTO [--only NAME] [--width PX ...]
    python docs/screens.py --readme

Pictures are taken in Chromium of a workroom over a folder that is thrown away.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, Page, sync_playwright

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from tests.chromium import QUIET, WANTED, chromium_path  # noqa: E402
from tests.journeys.pages import PAGES, begun, filled  # noqa: E402
from tests.journeys.room import serving, settled  # noqa: E402

WIDTHS = (360, 820, 1440)
README = {"telephone-answered": (820, 700), "job": (1280, 900), "table": (360, 720)}
"""What stands in the README, with the window it is seen in."""


def shown(browser: Browser, address: str, width: int, height: int) -> Page:
    """A window on a page that stands as it will."""
    page = browser.new_page(viewport={"width": width, "height": height})
    page.set_default_timeout(90_000)
    page.goto(address)
    settled(page)
    return page


def main() -> None:
    """Fill a workroom, serve it, and take the pictures."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("into", nargs="?", type=Path)
    parser.add_argument("--only", default="")
    parser.add_argument("--width", type=int, nargs="*", default=list(WIDTHS))
    parser.add_argument("--readme", action="store_true")
    asked = parser.parse_args()
    path = chromium_path()
    if path is None:
        sys.exit(WANTED)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as play:
        made = filled(Path(folder))
        with serving(Path(folder)) as address:
            browser = play.chromium.launch(executable_path=path, args=list(QUIET))
            page = browser.new_page(base_url=address)
            page.set_default_timeout(90_000)
            begun(page, made)
            page.close()
            where = {name: address + part.format(**made) for name, part in PAGES.items() if asked.only in name}
            if asked.readme:
                for name, (width, height) in README.items():
                    page = shown(browser, where[name], width, height)
                    page.screenshot(path=HERE / "pictures" / f"workroom-{name}.png")
                    page.close()
            if asked.into is not None:
                asked.into.mkdir(parents=True, exist_ok=True)
                for name, there in where.items():
                    for width in asked.width:
                        page = shown(browser, there, width, 900)
                        page.screenshot(path=asked.into / f"{name}-{width}.png", full_page=True)
                        page.close()
                    print(name, flush=True)
            browser.close()


if __name__ == "__main__":
    main()
