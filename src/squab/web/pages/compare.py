"""Compare: a job as it is beside one or two other ways, and one of them taken."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from squab.draw.picture import cushion_picture_svg
from squab.keep import Stale
from squab.web.compare_view import LETTERS, Comparison, Otherwise, way_or_none
from squab.web.drawing import uncaptioned
from squab.web.kept_text import text_in, whole_in
from squab.web.problems import Problem
from squab.web.rendering import by_htmx, page
from squab.web.room import room_of
from squab.web.works import prepared_alone, reading_of, sketched

router = APIRouter(prefix="/jobs/{job_id}/compare")


@router.get("")
def compare(request: Request, job_id: str) -> Response:
    """The page; what was chosen stands in its address."""
    room = room_of(request)
    given = {k: str(v) for k, v in request.query_params.items()}
    view = Comparison(room.keep, room.works, room.keep.job(job_id), [Otherwise.of(n, given) for n in LETTERS])
    name = "compare-results.html" if by_htmx(request) else "compare.html"
    return page(request, name, here="jobs", view=view, address=f"/jobs/{job_id}/compare?{request.url.query}")


@router.get("/picture.svg")
def picture(request: Request, job_id: str, letter: str = "") -> Response:
    """The first cushion, made one way."""
    room = room_of(request)
    given = {k: str(v) for k, v in request.query_params.items()}
    text = way_or_none(Otherwise.of(letter[:1], given), room.keep.job(job_id).text, room.keep)
    prepared = prepared_alone(text, 0) if text is not None else None
    if text is None or prepared is None:
        raise HTTPException(404)
    reading = reading_of(text)
    made = room.works.worked(reading) or sketched(reading.prepared or prepared)
    drawn = uncaptioned(cushion_picture_svg(made, prepared.job.cushions[0].id))
    return Response(drawn, media_type="image/svg+xml", headers={"cache-control": "no-store"})


@router.post("/take")
async def take(request: Request, job_id: str) -> Response:
    """Make the job so."""
    form = await request.form()
    way = Otherwise.of(text_in(form, "letter")[:1], {k: str(v) for k, v in form.items()})
    await run_in_threadpool(_take, request, job_id, way, whole_in(form, "version"))
    return RedirectResponse(f"/jobs/{job_id}", 303)


def _take(request: Request, job_id: str, way: Otherwise, version: int) -> None:
    keep = room_of(request).keep
    record = keep.job(job_id)
    text = way_or_none(way, record.text, keep)
    try:
        if text is None or record.version != version:
            raise Stale(record)
        keep.save_job(job_id, text, version, why="taken from a comparison")
    except Stale as error:
        reason = f"{record.title} was changed since these were compared"
        raise Problem(409, "Compare once more", reason, "nothing was changed; open the comparison again") from error
