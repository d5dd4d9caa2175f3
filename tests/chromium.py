"""The browser that tests drive: found on this machine, never fetched."""

from __future__ import annotations

import os
import shutil

NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome")
ASKED = "SQUAB_CHROMIUM"
WANTED = (
    "The tests of the workroom need Chromium, and there is none here.\n\n"
    f"hint: install the package chromium (apt-get install chromium), or set {ASKED} to where it is"
)
QUIET = ("--no-sandbox", "--disable-background-networking", "--disable-component-update", "--no-first-run")
"""No sandbox, because continuous integration often runs as root; the pages are our own."""


def chromium_path() -> str | None:
    """Where Chromium is; None where there is none."""
    asked = os.environ.get(ASKED)
    return asked or next((path for name in NAMES if (path := shutil.which(name))), None)
