"""What can go wrong with a request, as a page in our own words."""

from __future__ import annotations


class Problem(Exception):  # noqa: N818  it is shown under this name
    """Something that is told on a page of its own: what, why, and a way out, with its address where there is one."""

    def __init__(self, status: int, title: str, reason: str, hint: str = "", address: str = "") -> None:
        self.status = status
        self.title = title
        self.reason = reason
        self.hint = hint
        self.address = address
        super().__init__(f"{title}: {reason}")
