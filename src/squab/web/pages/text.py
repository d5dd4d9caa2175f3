"""The job's text itself: the very file that the command line takes, out and in."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import UploadFile

from squab.desk import MOST_BYTES, brought_in
from squab.draw.sheets_names import plain_names
from squab.keep import Stale
from squab.web.problems import Problem
from squab.web.rendering import page
from squab.web.room import room_of
from squab.web.works import reading_of

router = APIRouter(prefix="/jobs")


@router.get("/{job_id}/job.toml")
def job_file(request: Request, job_id: str) -> Response:
    """The job file, to be kept or worked on elsewhere."""
    record = room_of(request).keep.job(job_id)
    name = plain_names([record.title])[record.title]
    headers = {"content-disposition": f"attachment; filename*=UTF-8''{quote(name)}.toml"}
    return Response(record.text.encode(), media_type="application/toml", headers=headers)


@router.get("/{job_id}/text")
def text(request: Request, job_id: str) -> Response:
    """The text, to be read and mended by hand."""
    record = room_of(request).keep.job(job_id)
    return page(request, "text.html", here="jobs", job=record, typed=record.text, version=record.version,
                findings=reading_of(record.text).findings, stale=None)  # fmt: skip


@router.post("/{job_id}/text")
async def keep_text(request: Request, job_id: str) -> Response:
    """Keep the text as it was typed, sound or not."""
    form = await request.form()
    typed = str(form.get("text", "")).replace("\r\n", "\n")
    version = str(form.get("version", ""))
    return await run_in_threadpool(_keep, request, job_id, typed, int(version) if version.isdecimal() else 0)


def _keep(request: Request, job_id: str, typed: str, version: int) -> Response:
    try:
        room_of(request).keep.save_job(job_id, typed, version, why="the text was written")
    except Stale:
        newer = room_of(request).keep.job(job_id)
        return page(request, "text.html", 409, here="jobs", job=newer, typed=typed, version=newer.version,
                    findings=reading_of(typed).findings, stale=newer)  # fmt: skip
    return RedirectResponse(f"/jobs/{job_id}/text", 303)


@router.post("/bring-in")
async def bring_in(request: Request) -> Response:
    """Take a job file in as a new job."""
    async with request.form(max_files=1, max_fields=5) as form:
        file = form.get("file")
        if not isinstance(file, UploadFile):
            raise Problem(422, "That is no job file", "no file was chosen", "choose one that ends in .toml")
        data, called = await file.read(MOST_BYTES + 1), (file.filename or "the file")[:200]
    if data.startswith(b"PK\x03\x04"):
        raise Problem(422, "That is no job file", "it is an archive", "bring it in under Keep, as an archive")
    outcome = await run_in_threadpool(lambda: brought_in(data, name=called[:80]))
    if outcome.value is None:
        finding = outcome.findings[0]
        where = f"line {finding.line}: " if finding.line else ""
        raise Problem(422, "That is no job file", where + finding.message.partition("\n")[0], finding.hint)
    text, name = outcome.value, called.rpartition(".")[0] or "Job brought in"
    record = await run_in_threadpool(lambda: room_of(request).keep.add_job(text, title=name, why="brought in"))
    return RedirectResponse(f"/jobs/{record.id}", 303)
