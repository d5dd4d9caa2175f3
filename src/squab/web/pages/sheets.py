"""The sheets of a job, drawn beside by the same writers as the command line."""

from __future__ import annotations

import asyncio
from concurrent.futures import CancelledError
from concurrent.futures.process import BrokenProcessPool
from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import Response
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from squab.draw.sheets_names import QUOTE, plain_names
from squab.keep import JobRecord
from squab.web.kept_work import packed
from squab.web.pages.job import view_of
from squab.web.problems import Problem
from squab.web.room import Room, room_of
from squab.web.works import Reading, reading_of

router = APIRouter(prefix="/jobs/{job_id}")

KINDS = {"pdf": "application/pdf", "svg": "image/svg+xml", "dxf": "image/vnd.dxf", "zip": "application/zip"}


@router.get("/sheets/{name}")
async def sheet(request: Request, job_id: str, name: str, paper: str = "") -> Response:
    """One sheet by its file name; `all.zip` is every one."""
    room = room_of(request)
    record = await run_in_threadpool(room.keep.job, job_id)
    figures = dict(record.agreed.figures) if record.agreed else None
    view = await run_in_threadpool(view_of, request, record)
    reading = await run_in_threadpool(_of_agreed, room, record) if name == QUOTE and figures else view.reading
    if view.worked is None and reading is view.reading:
        raise Problem(
            409, "There is nothing to draw yet", "the job is not laid", "open the job; it says what is missing"
        )
    if name != "all.zip" and name not in view.titles and name != QUOTE:
        raise HTTPException(404)
    data = await _drawn(room, reading, name, paper if paper in ("a4", "letter") else "", figures)
    return Response(data, media_type=KINDS.get(name.rpartition(".")[2], "application/octet-stream"),
                    headers={"content-disposition": _disposition(record, name)})  # fmt: skip


async def _drawn(room: Room, reading: Reading, name: str, paper: str, figures: dict[str, str] | None) -> bytes:
    kept = await run_in_threadpool(room.works.kept, reading)
    if kept is None or reading.job is None:
        raise Problem(
            409, "There is nothing to draw yet", "the job is not laid", "open the job; it says what is missing"
        )
    future = room.works.searches.drawn(reading.text, packed(kept), name, paper or reading.job.paper, figures)
    try:
        return await asyncio.wrap_future(future)
    except (BrokenProcessPool, CancelledError) as error:
        raise Problem(
            503, "The sheet was not drawn", "the process that drew it was ended", "ask for it again"
        ) from error


def _of_agreed(room: Room, record: JobRecord) -> Reading:
    """The text that the customer agreed to: what the quotation shows stays as it was."""
    assert record.agreed is not None
    return reading_of(room.keep.text_at(record.id, record.agreed.version))


def _disposition(record: JobRecord, name: str) -> str:
    job = plain_names([record.title])[record.title]
    shown = "inline" if name.endswith((".pdf", ".svg")) else "attachment"
    file = f"{job}.zip" if name == "all.zip" else f"{job}-{name}"
    return f"{shown}; filename*=UTF-8''{quote(file)}"
