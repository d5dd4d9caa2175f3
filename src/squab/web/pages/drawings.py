"""Drawings of a job, each under an address of its own: the cushion, the lay, a swatch, the small picture of a list."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import Response
from starlette.exceptions import HTTPException

from squab.draw.picture import cushion_picture_svg
from squab.draw.plan import cutting_plan_svg
from squab.web.drawing import swatch_svg
from squab.web.pages.job import view_of
from squab.web.room import room_of
from squab.web.small import small_of
from squab.web.works import sketched

router = APIRouter(prefix="/jobs/{job_id}")
KEPT = "private, max-age=31536000, immutable"
"""A drawing whose address names its version never changes."""


@router.get("/picture.svg")
def picture(request: Request, job_id: str, cushion: int = 0, version: int = 0, laid: str = "") -> Response:
    """One cushion in its own cloth."""
    view = view_of(request, room_of(request).keep.job(job_id), cushion=cushion)
    if view.made is None or view.prepared is None:
        raise HTTPException(404)
    drawn = cushion_picture_svg(view.worked or sketched(view.prepared), view.made.id)
    fits = version == view.record.version and bool(laid) == (view.worked is not None)
    return _svg(drawn, KEPT if fits else "no-store")


@router.get("/plan.svg")
def plan(request: Request, job_id: str, cloth: str, version: int = 0) -> Response:
    """The lay of one cloth, to scale."""
    view = view_of(request, room_of(request).keep.job(job_id))
    if view.worked is None or cloth not in view.worked.plans:
        raise HTTPException(404)
    return _svg(cutting_plan_svg(view.worked, cloth), "no-cache")


@router.get("/swatch.svg")
def swatch(request: Request, job_id: str, cloth: int = 0, version: int = 0, look: str = "") -> Response:
    """A stretch of a cloth over its whole width."""
    view = view_of(request, room_of(request).keep.job(job_id), cloth=cloth)
    if view.job is None or view.cloth >= len(view.job.cloths):
        raise HTTPException(404)
    return _svg(
        swatch_svg(view.job.cloths[view.cloth]),
        KEPT if look == view.swatch or version == view.record.version else "no-store",
    )


@router.get("/small.svg")
def small(request: Request, job_id: str, of: str = "") -> Response:
    """The small picture of a list as it stands now; kept by the browser where it is asked for by its name."""
    room = room_of(request)
    drawn, name = small_of(room, room.keep.job(job_id))
    return _svg(drawn, KEPT if of == name else "no-store")


def _svg(drawn: str, cache: str) -> Response:
    return Response(drawn, media_type="image/svg+xml", headers={"cache-control": cache})
