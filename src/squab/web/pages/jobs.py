"""The jobs: a list one can search and sort, a small picture of each, and where each stands."""

from __future__ import annotations

from typing import Any, cast, get_args

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from squab.keep import STATES, Sort, examples
from squab.web.rendering import NAVIGATION, by_htmx, page, text_of
from squab.web.room import room_of
from squab.web.small import smalls

router = APIRouter()
NAVIGATION.append(("jobs", "/jobs", "Jobs"))

SORTS = {
    "changed": "last changed",
    "promised": "day promised",
    "customer": "customer",
    "title": "name",
    "state": "where it stands",
    "created": "newest",
}
PAGE = 100
"""Jobs shown at once; the rest come when asked for."""


@router.get("/")
def first(request: Request) -> Response:
    """Where the workroom opens: on today's board once there are jobs."""
    return RedirectResponse("/jobs" if room_of(request).keep.is_empty() else "/board", 303)


@router.get("/jobs")
def jobs(request: Request, q: str = "", sort: str = "changed", state: str = "", most: int = PAGE) -> Response:
    """The list, or its lines alone as one types."""
    keep = room_of(request).keep
    by = cast(Sort, sort if sort in get_args(Sort) else "changed")
    states = tuple(s for s in STATES if s == state)
    found = keep.jobs(q[:200], by, states=states)
    shown = found[:most]
    values: dict[str, Any] = {
        "jobs": shown, "pictures": smalls(keep, shown), "more": len(found) - len(shown), "q": q[:200], "sort": by,
        "state": state, "most": most + PAGE,
    }  # fmt: skip
    if by_htmx(request):
        return HTMLResponse(text_of(request, "jobs-lines.html", **values))
    empty = not found and not q and not states
    return page(request, "jobs.html", here="jobs", sorts=SORTS, states=STATES,
                examples=examples() if empty and keep.is_empty() else (), empty=empty, **values)  # fmt: skip


@router.post("/jobs/examples")
async def bring_examples(request: Request) -> Response:
    """Put the example jobs into the list."""
    keep = room_of(request).keep

    def bring() -> None:
        for example in examples():
            keep.add_job(example.text, title=example.title, why="an example")

    await run_in_threadpool(bring)
    return RedirectResponse("/jobs", 303)


@router.post("/jobs/new")
async def new(request: Request) -> Response:
    """Begin a job without a call before it."""
    from squab.web.rough_job import rough_text, unit_at_first

    room = room_of(request)
    house = room.keep.house().text
    text = rough_text({"unit": unit_at_first(request.cookies.get("squab_unit"), house)}, house)
    job = await run_in_threadpool(lambda: room.keep.add_job(text, title="New job"))
    return RedirectResponse(f"/jobs/{job.id}", 303)
