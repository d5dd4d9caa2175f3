"""Where CI is set, the laws draw the same examples every time, so that a red run can be repeated."""

from __future__ import annotations

import os

from hypothesis import settings

settings.register_profile("ci", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("ci")
