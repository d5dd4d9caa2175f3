"""What every page of the workroom works with: the keep, and the searches that run beside."""

from __future__ import annotations

from dataclasses import dataclass

from fastapi import Request

from squab.keep import Keep
from squab.web.works import Works


@dataclass
class Room:
    """The things of one workroom."""

    keep: Keep
    works: Works


def room_of(request: Request) -> Room:
    """The room in which a request is answered."""
    room = request.app.state.room
    assert isinstance(room, Room)
    return room
