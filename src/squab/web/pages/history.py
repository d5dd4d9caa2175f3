"""The history of a job: what changed when, and the way back."""

from __future__ import annotations

from urllib.parse import quote

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from squab.desk import Opened, typed_in
from squab.draw.sheets_names import plain_names
from squab.keep import JobRecord
from squab.web.fields import Form
from squab.web.history_view import TextHistory
from squab.web.kept_text import whole_in
from squab.web.rendering import page
from squab.web.room import room_of

router = APIRouter(prefix="/jobs/{job_id}")


def _history(request: Request, job_id: str, most: int) -> TextHistory:
    keep = room_of(request).keep
    record = keep.job(job_id)
    home = f"/jobs/{job_id}"
    return TextHistory(
        record.title, home, keep.history(job_id), lambda v: keep.text_at(job_id, v), _form(record), most, has_texts=True
    )


def _form(record: JobRecord) -> Form:
    """Names keys in the job's own words; a list of what changed needs no job worked out."""
    typed = typed_in(record.text)
    said = typed.get("job.words") or ("us" if typed.get("job.units") == "in" else "uk")
    return Form(Opened(record.text, None, (), typed, {}), "us" if said == "us" else "uk")


@router.get("/history")
def history(request: Request, job_id: str, most: int = 30) -> Response:
    """Every version, newest first, each with what it changed."""
    record = room_of(request).keep.job(job_id)
    return page(request, "history.html", here="jobs", history=_history(request, job_id, most), agreed=record.agreed)


@router.get("/history/{version}")
def version(request: Request, job_id: str, version: int) -> Response:
    """One version: its text, and what is different now."""
    keep = room_of(request).keep
    record, text = keep.job(job_id), keep.text_at(job_id, version)
    told = _history(request, job_id, 30).between(text, record.text)
    at = next(v for v in keep.history(job_id) if v.version == version)
    return page(request, "history-version.html", here="jobs", job=record, at=at, text=text, differences=told)


@router.get("/history/{version}/job.toml")
def version_file(request: Request, job_id: str, version: int) -> Response:
    """The job file as it was then."""
    keep = room_of(request).keep
    title = keep.job(job_id).title
    name = quote(f"{plain_names([title])[title]} {version}.toml")
    headers = {"content-disposition": f"attachment; filename*=UTF-8''{name}"}
    return Response(keep.text_at(job_id, version).encode(), media_type="application/toml", headers=headers)


@router.post("/history")
async def go_back(request: Request, job_id: str) -> Response:
    """Bring an earlier text back, as a new version."""
    number = whole_in(await request.form(), "version")
    await run_in_threadpool(room_of(request).keep.restore, job_id, number)
    return RedirectResponse(f"/jobs/{job_id}", 303)
