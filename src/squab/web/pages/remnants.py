"""Remnants: what a cut job left of its bolts is put aside, found on the shelf, and counted on by another job."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from squab.desk import EditError, with_value
from squab.keep import JobRecord, Left
from squab.web.cutting import Cutting, done_count, unpacked
from squab.web.drawing import swatch_svg
from squab.web.kept_text import text_in, whole_in
from squab.web.leavings import CutInto, cloth_of, cut_into, keys_of, left_of, with_place
from squab.web.pages.job import changed
from squab.web.problems import Problem
from squab.web.rendering import page
from squab.web.room import Room, room_of
from squab.web.works import reading_of

router = APIRouter()


@router.get("/remnants/{remnant_id}/swatch.svg")
def swatch(request: Request, remnant_id: str) -> Response:
    """A stretch of its cloth, which never changes."""
    cloth = cloth_of(room_of(request).keep.remnant(remnant_id).cloth)
    if cloth is None:
        raise HTTPException(404)
    kept = {"cache-control": "private, max-age=31536000, immutable"}
    return Response(swatch_svg(cloth), media_type="image/svg+xml", headers=kept)


@router.post("/remnants/{remnant_id}")
async def change(request: Request, remnant_id: str) -> Response:
    """Say where it lies, or whether it is used up."""
    form = await request.form()
    changes: dict[str, str | bool] = {"used": text_in(form, "used") == "yes"} if form.get("used") else {}
    if "place" in form:
        changes["place"] = text_in(form, "place").strip()[:200]
    version = whole_in(form, "version")
    await run_in_threadpool(lambda: room_of(request).keep.change_remnant(remnant_id, version, **changes))
    return RedirectResponse(f"/cloths#remnant-{remnant_id}", 303)


@router.get("/jobs/{job_id}/table/left")
def ask_left(request: Request, job_id: str) -> Response:
    """What is left of each bolt, to be put aside."""
    room = room_of(request)
    record = room.keep.job(job_id)
    aside = [r for used in (False, True) for r in room.keep.remnants(used=used) if r.job_id == job_id]
    cutting, left = _all_cut(room, record), _left(room, record)
    return page(request, "table-left.html", here="table", job=record, left=left, aside=aside,
                cut_into=_cut_into(room, cutting))  # fmt: skip


@router.post("/jobs/{job_id}/table/remnant")
async def use_up(request: Request, job_id: str) -> Response:
    """Say that a remnant is used, now that the job is cut from it; what is left of it is kept where one asks so."""
    form = await request.form()
    remnant_id, keep_rest = text_in(form, "remnant"), text_in(form, "rest") == "yes"

    def use() -> None:
        room = room_of(request)
        there = _cut_into(room, _all_cut(room, room.keep.job(job_id)))
        found = next((x for x in there if x.remnant.id == remnant_id), None)
        if found is None:
            reason = "it is said to be used already, or this job was not cut from it"
            raise Problem(409, "That remnant is not to be used up here", reason, "see the cloth shelf", "/cloths")
        version = whole_in(form, "version")
        if keep_rest and found.rest is not None:
            room.keep.add_remnant(found.rest)  # first, so that nothing is lost if the other write fails
        room.keep.change_remnant(remnant_id, version, used=True)

    await run_in_threadpool(use)
    return RedirectResponse(f"/jobs/{job_id}/table/left", 303)


@router.post("/jobs/{job_id}/table/left")
async def put_aside(request: Request, job_id: str) -> Response:
    """Put what is left of one bolt on the shelf."""
    form = await request.form()
    cloth_id, place = text_in(form, "cloth_id"), text_in(form, "place")

    def put() -> None:
        room = room_of(request)
        left = _left(room, room.keep.job(job_id)).get(cloth_id)
        if left is None:
            reason = "it is on the shelf already, or too short to keep"
            raise Problem(
                409, "There is nothing left of that bolt to put aside", reason, "see the cloth shelf", "/cloths"
            )
        room.keep.add_remnant(with_place(left, place))

    await run_in_threadpool(put)
    return RedirectResponse(f"/jobs/{job_id}/table/left", 303)


def _all_cut(room: Room, record: JobRecord) -> Cutting:
    """The plan that was cut, once all of it is."""
    cutting = unpacked(room.keep.cutting(record.id))
    if cutting is None or done_count(cutting, room.keep.ticks(record.id)) < len(cutting.pieces):
        raise Problem(409, "Not all is cut yet", "what is left of a bolt is known once its last piece is cut",
                      "tick every piece first", f"/jobs/{record.id}/table")  # fmt: skip
    return cutting


def _cut_into(room: Room, cutting: Cutting) -> list[CutInto]:
    reading = reading_of(cutting.text)
    return [] if reading.job is None else cut_into(cutting, reading.job, reading.opened.raw, room.keep.remnants())


def _left(room: Room, record: JobRecord) -> Mapping[str, Left]:
    cutting = _all_cut(room, record)
    job = reading_of(cutting.text).job
    aside = [r for used in (False, True) for r in room.keep.remnants(used=used)]
    return {} if job is None else left_of(cutting, record, job, aside)


@router.post("/jobs/{job_id}/remnant")
async def count_on(request: Request, job_id: str) -> Response:
    """Let a job count on a remnant in hand."""
    form = await request.form()
    at, remnant_id = whole_in(form, "index"), text_in(form, "remnant")
    remnant = await run_in_threadpool(room_of(request).keep.remnant, remnant_id)

    def counted(text: str) -> str:
        read = reading_of(text).opened
        if at >= read.count("cloth"):
            raise EditError(f"there is no cloth {at + 1} in this job")
        here = f"cloth[{at}].remnants"
        return with_value(text, f"{here}[{read.count(here)}]", keys_of(remnant))

    return await changed(request, job_id, form, counted)
