"""What every page of the workroom works with: the keep, and the searches that run beside."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from fastapi import Request

from squab.keep import Keep
from squab.web.replanning import Replanning
from squab.web.searching import Search
from squab.web.works import Works


@dataclass
class Room:
    """The things of one workroom."""

    keep: Keep
    works: Works
    again: Replanning = field(init=False)
    closing: Callable[[], bool] = bool
    """Whether the workroom is being closed (`bool` says no): what waits for a search then ends of itself."""

    def __post_init__(self) -> None:
        """What is planned again is planned by the same processes."""
        self.again = Replanning(self.keep, self.works.searches)


async def is_left(request: Request) -> bool:
    """Tell whether nobody waits for an answer any more, or the workroom closes."""
    return room_of(request).closing() or await request.is_disconnected()


LONGEST_WAIT_S = 60.0
"""So long an answer waits for a lay."""


async def until_searched(request: Request, search: Search | None) -> None:
    """Wait until a search has ended, or nobody waits any more."""
    until = time.monotonic() + LONGEST_WAIT_S
    while search is not None and search.running and time.monotonic() < until:
        await asyncio.sleep(0.1)
        if await is_left(request):
            return


def room_of(request: Request) -> Room:
    """The room in which a request is answered."""
    room = request.app.state.room
    assert isinstance(room, Room)
    return room
