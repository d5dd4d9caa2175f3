"""The lay of a job: the short one that follows each edit, the long one that is watched, and its stop."""

from __future__ import annotations

import asyncio
import time
from collections.abc import AsyncIterator

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response, StreamingResponse
from starlette.concurrency import run_in_threadpool

from squab.lay.bound import lower_bound
from squab.lay.handbook import handbook_length
from squab.web.job_view import JobView
from squab.web.pages.job import view_of
from squab.web.rendering import by_htmx, text_of
from squab.web.room import Room, is_left, room_of
from squab.web.searching import Search
from squab.web.works import reading_of

router = APIRouter(prefix="/jobs/{job_id}")

SECONDS = (10, 60, 300)
LONGEST_WAIT_S = 120.0
TOLD_EVERY_S = 0.3


@router.get("/figures")
async def figures(request: Request, job_id: str, version: int, cushion: int = 0, cloth: int = 0) -> Response:
    """Lay the job shortly and answer with what hangs on it; nothing where a newer text is kept by then."""
    room = room_of(request)
    record = await run_in_threadpool(room.keep.job, job_id)
    if record.version != version:
        return Response(status_code=204)
    reading = await run_in_threadpool(reading_of, record.text)
    worked = await run_in_threadpool(room.works.worked, reading)
    if worked is None:
        search = await run_in_threadpool(room.works.search_short, job_id, reading)
        await _done(room, job_id, search, request)
        newest = await run_in_threadpool(room.keep.job, job_id)
        if newest.version != version:
            return Response(status_code=204)
        record = newest
    text = await run_in_threadpool(_worked, request, record.id, cushion, cloth)
    return HTMLResponse(text, headers={"hx-trigger-after-settle": "edited"})


@router.get("/lay")
async def laid(request: Request, job_id: str, cushion: int = 0, cloth: int = 0) -> Response:
    """What hangs on the lay, as it stands now."""
    text = await run_in_threadpool(_worked, request, job_id, cushion, cloth)
    return HTMLResponse(text, headers={"hx-trigger-after-settle": "edited"})


@router.post("/lay/begin")
async def begin(request: Request, job_id: str) -> Response:
    """Begin a search."""
    form = await request.form()
    asked = str(form.get("seconds", ""))
    seconds = next((s for s in SECONDS if str(s) == asked), SECONDS[0])
    room = room_of(request)
    record = await run_in_threadpool(room.keep.job, job_id)
    reading = await run_in_threadpool(reading_of, record.text)
    await run_in_threadpool(lambda: room.works.search(reading, seconds=float(seconds), whole=True))
    if not by_htmx(request):
        return RedirectResponse(f"/jobs/{job_id}#lay", 303)
    return HTMLResponse(await run_in_threadpool(_worked, request, job_id, 0, 0, lay_only=True))


@router.post("/lay/stop")
async def stop(request: Request, job_id: str) -> Response:
    """Stop the search with the best lay so far."""
    room = room_of(request)
    record = await run_in_threadpool(room.keep.job, job_id)
    search = room.works.searching(await run_in_threadpool(reading_of, record.text), whole=True)
    if search is not None and search.running:
        room.works.searches.stop(search)
    return Response(status_code=204) if by_htmx(request) else RedirectResponse(f"/jobs/{job_id}#lay", 303)


@router.post("/lay/why")
async def ask_why(request: Request, job_id: str) -> Response:
    """Begin to find out what holds the lay and what would save most."""
    return await run_in_threadpool(_why, request, job_id, begin=True)


@router.get("/lay/why")
async def told_why(request: Request, job_id: str) -> Response:
    """What was found out by now."""
    return await run_in_threadpool(_why, request, job_id, begin=False)


def _why(request: Request, job_id: str, *, begin: bool) -> Response:
    room = room_of(request)
    record = room.keep.job(job_id)
    if begin:
        room.works.reasons(reading_of(record.text), begin=True)
    if not by_htmx(request):
        return RedirectResponse(f"/jobs/{job_id}#lay", 303)
    return HTMLResponse(text_of(request, "job-why.html", view=view_of(request, record)))


@router.get("/lay/watch")
async def watch(request: Request, job_id: str) -> Response:
    """Tell how a search goes, as server-sent events, until it is done."""
    room = room_of(request)
    record = await run_in_threadpool(room.keep.job, job_id)
    view = await run_in_threadpool(view_of, request, record)
    return StreamingResponse(_events(request, view), media_type="text/event-stream")


async def _events(request: Request, view: JobView) -> AsyncIterator[str]:
    search, (handbook_mm, least_mm) = view.search, await run_in_threadpool(_bounds_mm, view)
    while search is not None and search.running:
        saved = 1 - search.length_mm / handbook_mm if handbook_mm and search.length_mm else 0.0
        words = f"{saved:.0%} less than by rows" if saved >= 0.005 else ""
        told = text_of(request, "lay-progress.html", view=view, search=search, saved=words, bound=least_mm)
        yield _event("told", told)
        await asyncio.sleep(TOLD_EVERY_S)
        if await is_left(request):
            return
    yield _event("done", "done")


def _bounds_mm(view: JobView) -> tuple[float, float]:
    """What the handbook's rows take, and what nothing can beat at first sight; nought where cloths are several."""
    problems = view.reading.prepared.problems if view.reading.prepared else ()
    if len(problems) != 1:
        return 0.0, 0.0
    return handbook_length(problems[0]), lower_bound(problems[0], seconds=0.0).length_mm


def _event(name: str, data: str) -> str:
    lines = "".join(f"data: {line}\n" for line in data.splitlines() if line.strip())
    return f"event: {name}\n{lines}\n"


async def _done(room: Room, job_id: str, search: Search | None, request: Request) -> None:
    began = time.monotonic()
    while search is not None and room.works.awaited(job_id, search) and time.monotonic() - began < LONGEST_WAIT_S:
        await asyncio.sleep(0.1)
        if await is_left(request):
            return


def _worked(request: Request, job_id: str, cushion: int, cloth: int, *, lay_only: bool = False) -> str:
    record = room_of(request).keep.job(job_id)
    view = view_of(request, record, cushion=cushion, cloth=cloth)
    return text_of(request, "job-lay-part.html" if lay_only else "job-worked.html", view=view, search=view.search)
