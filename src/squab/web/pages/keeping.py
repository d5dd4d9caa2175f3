"""The keep: job files in and out, an archive of everything, a copy of the database while it is in use."""

from __future__ import annotations

import tempfile
from datetime import datetime
from pathlib import Path
from typing import Any

from fastapi import APIRouter, Request, UploadFile
from fastapi.responses import FileResponse, Response, StreamingResponse
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool

from squab import __version__
from squab.keep import BroughtIn, Keep
from squab.web.problems import Problem
from squab.web.rendering import NAVIGATION, page
from squab.web.room import room_of

router = APIRouter(prefix="/keep")
NAVIGATION.append(("keep", "/keep", "Keep"))
MOST_LISTED = 20


@router.get("")
def keep(request: Request) -> Response:
    """The page."""
    return _shown(request)


def _shown(request: Request, brought: BroughtIn | None = None) -> Response:
    keep = room_of(request).keep
    values: dict[str, Any] = {
        "keep": keep, "version": __version__, "jobs": keep.jobs(), "hidden": keep.jobs(hidden=True),
        "cloths": len(keep.cloths()), "size": _size(keep.path, Path(f"{keep.path}-wal")), "copies": _copies(keep),
        "brought": brought,
    }  # fmt: skip
    return page(request, "keep.html", here="keep", **values)


def _size(*paths: Path) -> str:
    """How large files are together, in words: an open database has beside it what is not in its own file yet."""
    size = sum(path.stat().st_size for path in paths if path.exists())
    return f"{size / 1e6:.1f} MB" if size >= 100_000 else f"{size / 1e3:.0f} kB"


def _copies(keep: Keep) -> list[tuple[str, str]]:
    """Names and sizes of the copies of the database, newest first."""
    if not keep.backups.is_dir():
        return []
    found = sorted(keep.backups.glob("*.sqlite"), key=lambda p: p.stat().st_mtime, reverse=True)
    return [(p.name, _size(p)) for p in found[:MOST_LISTED]]


def _stamp(request: Request) -> str:
    now: datetime = room_of(request).keep.now().astimezone()
    return f"{now:%Y-%m-%d}"


@router.get("/archive.zip")
def archive(request: Request) -> Response:
    """Everything: jobs with their history and photographs, cloths, house numbers."""
    name = f"workroom-{_stamp(request)}.zip"
    headers = {"content-disposition": f'attachment; filename="{name}"'}
    return StreamingResponse(room_of(request).keep.archive_out(), media_type="application/zip", headers=headers)


@router.get("/database")
def database(request: Request) -> Response:
    """A copy of the database, taken while it is in use."""
    folder = tempfile.TemporaryDirectory(prefix="squab-")
    target = Path(folder.name, f"workroom-{_stamp(request)}.sqlite")
    try:
        room_of(request).keep.backup(target)
    except BaseException:
        folder.cleanup()
        raise
    return FileResponse(
        target, filename=target.name, media_type="application/vnd.sqlite3", background=BackgroundTask(folder.cleanup)
    )


@router.post("/archive")
async def bring_in(request: Request, file: UploadFile) -> Response:
    """Bring an archive in. Nothing here is overwritten."""
    if not file.filename:
        raise Problem(422, "Which archive?", "no file was chosen", "go back and choose one")
    brought = await run_in_threadpool(room_of(request).keep.archive_in, file.file)
    return await run_in_threadpool(lambda: _shown(request, brought))


@router.post("/hidden/{job_id}")
async def put_back(request: Request, job_id: str) -> Response:
    """Put a job back on the list."""
    await run_in_threadpool(room_of(request).keep.set_hidden, job_id, False)
    return await run_in_threadpool(_shown, request)
