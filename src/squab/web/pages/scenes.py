"""The job as plain numbers for what runs in the browser: the finished cushions, the lay."""

from __future__ import annotations

from typing import Any

import msgspec
from fastapi import APIRouter, Request
from fastapi.responses import Response
from starlette.exceptions import HTTPException

from squab.web.layview import lay_view
from squab.web.pages.job import view_of
from squab.web.room import room_of
from squab.web.scene import scene_of_job
from squab.web.works import sketched

router = APIRouter(prefix="/jobs/{job_id}")


@router.get("/scene.json")
def scene(request: Request, job_id: str) -> Response:
    """The finished cushions, each face's cloth where its piece is cut."""
    view = view_of(request, room_of(request).keep.job(job_id))
    if view.prepared is None:
        raise HTTPException(404)
    return _json(scene_of_job(view.worked or sketched(view.prepared)))


@router.get("/lay.json")
def lay(request: Request, job_id: str, cloth: str) -> Response:
    """A cloth with its pieces on it."""
    view = view_of(request, room_of(request).keep.job(job_id))
    if view.worked is None or cloth not in view.worked.plans:
        raise HTTPException(404)
    return _json(lay_view(view.worked, cloth))


def _json(value: Any) -> Response:
    written = msgspec.json.encode(value)
    return Response(written, media_type="application/json", headers={"cache-control": "no-store"})
