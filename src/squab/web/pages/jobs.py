"""The jobs: a list one can search and sort, and where each stands."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response

from squab.web.rendering import NAVIGATION, page
from squab.web.room import room_of

router = APIRouter()
NAVIGATION.append(("jobs", "/jobs", "Jobs"))


@router.get("/")
def first() -> Response:
    """Where the workroom opens."""
    return RedirectResponse("/jobs", 303)


@router.get("/jobs")
def jobs(request: Request) -> Response:
    """The list."""
    return page(request, "jobs.html", here="jobs", jobs=room_of(request).keep.jobs())
