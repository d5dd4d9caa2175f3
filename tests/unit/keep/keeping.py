"""What the tests of the keep share."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

from squab.keep import Arrival

TEXT = """\
[job]
name = "Window seat"
reference = "NW-07"
customer = { name = "Reading room <committee>", address = "The Old School" }

[[cloth]]
id = "ticking"
name = "Wherry stripe"
usable_width = 1370

[[cushion]]
id = "left"
count = 2
width = "24 3/"
"""
CHECKED = Arrival(
    cloth="ticking", width="1365", repeat_across="84", stripe_at="12", face="out", pile="none", flaws=(), lot="3",
    shade="as the sample",
)  # fmt: skip


class Clock:
    """A clock that stands until it is moved on."""

    def __init__(self) -> None:
        self.now = datetime(2031, 3, 10, 9, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.now

    def on(self, **by: float) -> None:
        """Move on."""
        self.now += timedelta(**by)
