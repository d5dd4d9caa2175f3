"""What every page of the workroom works with: the keep, and the searches that run beside."""

from __future__ import annotations

from dataclasses import dataclass, field

from fastapi import Request

from squab.keep import Keep
from squab.web.replanning import Replanning
from squab.web.works import Works


@dataclass
class Room:
    """The things of one workroom."""

    keep: Keep
    works: Works
    again: Replanning = field(init=False)

    def __post_init__(self) -> None:
        """What is planned again is planned by the same processes."""
        self.again = Replanning(self.keep, self.works.searches)


def room_of(request: Request) -> Room:
    """The room in which a request is answered."""
    room = request.app.state.room
    assert isinstance(room, Room)
    return room
