"""What is done by hand on the page of a job: the stripe slid, the outline drawn, pieces moved on the cloth."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import JSONResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from squab.desk import EditError
from squab.draw.laid import laid_parts
from squab.web.by_hand import laid_round, moved, outlined, slid, told
from squab.web.kept_text import text_in
from squab.web.outlineview import outline_view
from squab.web.pages.job import changed, view_of
from squab.web.problems import Problem
from squab.web.rendering import by_htmx, page
from squab.web.room import room_of

router = APIRouter(prefix="/jobs/{job_id}")

ROUND_PINNED_S = 4.0
"""How long the rest is searched round what is pinned."""


@router.post("/slide")
async def slide(request: Request, job_id: str) -> Response:
    """Pin the pattern where it was slid to."""
    form = await request.form()
    return await changed(request, job_id, form, lambda text: slid(text, told(text_in(form, "slid"))))


@router.get("/outline.json")
def outline(request: Request, job_id: str, cushion: int = 0) -> JSONResponse:
    """A cushion's outline, for the editor."""
    view = view_of(request, room_of(request).keep.job(job_id), cushion=cushion)
    if view.made is None or view.job is None:
        raise HTTPException(404)
    return JSONResponse(outline_view(view.made, view.job.style), headers={"cache-control": "no-store"})


@router.get("/outline")
def outline_editor(request: Request, job_id: str, cushion: int = 0, cloth: int = 0) -> Response:
    """The part of the page in which an outline is drawn, brought when it is opened."""
    view = view_of(request, room_of(request).keep.job(job_id), cushion=cushion, cloth=cloth)
    return page(request, "job-outline.html", view=view)


@router.post("/outline")
async def set_outline(request: Request, job_id: str) -> Response:
    """Give a cushion the outline that was drawn."""
    form = await request.form()
    at = text_in(form, "cushion")
    index = int(at) if at.isdecimal() else 0
    return await changed(request, job_id, form, lambda text: outlined(text, index, told(text_in(form, "outline"))))


@router.post("/lay/moved")
async def set_moved(request: Request, job_id: str) -> Response:
    """Keep a lay in which pieces were moved, if the verifier finds it sound; or lay the rest round what is pinned."""
    form = await request.form()
    return await run_in_threadpool(_moved, request, job_id, text_in(form, "moved"), bool(text_in(form, "rest")))


def _moved(request: Request, job_id: str, field: str, rest: bool) -> Response:
    room = room_of(request)
    record = room.keep.job(job_id)
    view = view_of(request, record)
    try:
        detail = told(field)
        plan = view.worked.plans.get(str(detail.get("cloth"))) if view.worked else None
        if view.worked is None or plan is None:
            raise EditError("nothing is laid on that cloth any more")
        names = {x.key: x.of.name for x in laid_parts(view.worked, plan.cloth_id)}
        if rest:
            cloth = view.worked.job.cloth(plan.cloth_id)
            plan = laid_round(plan, detail, names, cloth, seconds=ROUND_PINNED_S)
        else:
            plan = moved(plan, detail, names)
        room.works.keep_moved(view.reading, plan)
    except EditError as error:
        hint = (
            "pin fewer pieces, or others; the lay is as it was"
            if rest
            else "move them to where they fit, or put them back"
        )
        title = "The rest was not laid anew" if rest else "The pieces were not moved"
        raise Problem(422, title, str(error), hint) from error
    if not by_htmx(request):
        return Response(status_code=303, headers={"location": f"/jobs/{job_id}#lay"})
    return page(request, "job.html", here="jobs", view=view_of(request, record))
