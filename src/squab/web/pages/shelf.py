"""The cloth shelf: cloths with their swatches, each to be edited, and used in any job."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException

from squab.desk import (
    EditError,
    edited,
    from_shelf,
    new_shelf_cloth,
    onto_shelf,
    opened,
    patterned,
    removed,
    unit_of,
    with_value,
)
from squab.keep import ClothRecord, JobRecord, Keep, Stale
from squab.web.drawing import swatch_svg
from squab.web.history_view import TextHistory
from squab.web.kept_text import Change, changed, set_key, shown, text_in, whole_in
from squab.web.problems import Problem
from squab.web.rendering import NAVIGATION, by_htmx, page, text_of
from squab.web.room import room_of
from squab.web.rough_job import rough_text
from squab.web.shelf_view import ShelfCloth
from squab.web.works import reading_of

router = APIRouter(prefix="/cloths")
NAVIGATION.append(("cloths", "/cloths", "Cloth shelf"))
MOST_SHOWN = 60


@router.get("")
def shelf(request: Request, q: str = "", off: bool = False, job: str = "", most: int = MOST_SHOWN) -> Response:
    """The shelf, or its cloths alone as one types; `job` names one that a cloth is looked for."""
    keep = room_of(request).keep
    found = keep.cloths(q[:200], hidden=off)
    values: dict[str, Any] = {
        "cloths": [ShelfCloth(keep, c) for c in found[:most]], "more": max(len(found) - most, 0), "q": q[:200],
        "remnants": [] if off else [*keep.remnants(q[:200]), *keep.remnants(q[:200], used=True)][:most],
        "off": off, "most": most + MOST_SHOWN, "job": keep.job(job) if job else None,
    }  # fmt: skip
    if by_htmx(request):
        return HTMLResponse(text_of(request, "cloths-cards.html", **values))
    taken_off = len(keep.cloths(hidden=True))
    in_jobs = bool(keep.jobs()) and not found and not q and not off
    return page(request, "cloths.html", here="cloths", taken_off=taken_off, in_jobs=in_jobs, **values)


@router.post("/new")
async def new(request: Request) -> Response:
    """Put a cloth on the shelf of which one knows the name."""
    form = await request.form()
    keep = room_of(request).keep
    name = text_in(form, "name").strip()[:200] or "Cloth"

    def put() -> ClothRecord:
        return keep.add_cloth(name, new_shelf_cloth(name, unit_of(keep.house().text)))

    return RedirectResponse(f"/cloths/{(await run_in_threadpool(put)).id}", 303)


@router.post("/from-jobs")
async def from_jobs(request: Request) -> Response:
    """Put the cloths of the jobs on the shelf, each once."""
    keep = room_of(request).keep
    await run_in_threadpool(_gather, keep)
    return RedirectResponse("/cloths", 303)


def _gather(keep: Keep) -> None:
    there = {c.name for hidden in (False, True) for c in keep.cloths(hidden=hidden)}
    for line in keep.jobs():
        record = keep.job(line.id)
        read = opened(record.text, check=False)
        for index in range(read.count("cloth")):
            name = _name_in(read.typed, index)
            if name and name not in there:
                keep.add_cloth(name, onto_shelf(record.text, index))
                there.add(name)


def _name_in(typed: Any, index: int) -> str:
    return str(typed.get(f"cloth[{index}].name") or typed.get(f"cloth[{index}].id") or "").strip()[:200]


@router.post("/from-job")
async def from_job(request: Request) -> Response:
    """Put one cloth of a job on the shelf."""
    form = await request.form()
    keep, index = room_of(request).keep, whole_in(form, "index")

    def put() -> ClothRecord:
        record = keep.job(text_in(form, "job"))
        name = _name_in(opened(record.text, check=False).typed, index)
        return keep.add_cloth(name or "Cloth", onto_shelf(record.text, index))

    return RedirectResponse(f"/cloths/{(await run_in_threadpool(put)).id}", 303)


# --- one cloth ---


def _now(request: Request, cloth_id: str) -> ShelfCloth:
    keep = room_of(request).keep
    return ShelfCloth(keep, keep.cloth(cloth_id))


@router.get("/{cloth_id}")
def cloth(request: Request, cloth_id: str) -> Response:
    """One cloth."""
    return shown(request, _now(request, cloth_id))


@router.get("/{cloth_id}/swatch.svg")
def swatch(request: Request, cloth_id: str, version: int = 0) -> Response:
    """A stretch of the cloth."""
    view = _now(request, cloth_id)
    if view.made is None:
        raise HTTPException(404)
    kept = "private, max-age=31536000, immutable" if version == view.record.version else "no-store"
    return Response(swatch_svg(view.made), media_type="image/svg+xml", headers={"cache-control": kept})


def _set(path: str, typed: str) -> Change:
    if not path.startswith("cloth[0]."):
        raise EditError(f"{path[:60]} is nothing of a cloth")
    return lambda text: edited(text, path, typed)


@router.post("/{cloth_id}/set")
async def set_one(request: Request, cloth_id: str) -> Response:
    """Set one thing."""
    return await set_key(request, lambda: _now(request, cloth_id), _set)


@router.post("/{cloth_id}/stripe")
async def set_stripe(request: Request, cloth_id: str) -> Response:
    """Set one stripe from its width, colour and name."""
    form = await request.form()
    words = (text_in(form, "name"), text_in(form, "colour"), text_in(form, "width"))
    typed = " ".join(w.strip() for w in words if w.strip()) or " - "
    return await changed(request, lambda: _now(request, cloth_id), _set(text_in(form, "path"), typed))


@router.post("/{cloth_id}/pattern")
async def set_pattern(request: Request, cloth_id: str) -> Response:
    """Say what kind of pattern it has."""
    kind = text_in(await request.form(), "value")
    return await changed(request, lambda: _now(request, cloth_id), lambda text: patterned(text, "cloth[0]", kind))


@router.post("/{cloth_id}/add")
async def add_stripe(request: Request, cloth_id: str) -> Response:
    """Add a stripe."""

    def one_more(text: str) -> str:
        count = opened(text, check=False).count("cloth[0].stripes")
        width = "1/2" if unit_of(text) == "in" else "10"
        return with_value(text, f"cloth[0].stripes[{count}]", f"linen {width}")

    return await changed(request, lambda: _now(request, cloth_id), one_more)


@router.post("/{cloth_id}/remove")
async def remove(request: Request, cloth_id: str) -> Response:
    """Take one thing out."""
    path = text_in(await request.form(), "path")
    if not path.startswith("cloth[0]."):
        raise Problem(
            422, "That cannot be taken out", f"{path[:60]} is nothing of a cloth", "take the cloth off the shelf"
        )
    return await changed(request, lambda: _now(request, cloth_id), lambda text: removed(text, path))


@router.post("/{cloth_id}/shelf")
async def off_and_on(request: Request, cloth_id: str) -> Response:
    """Take a cloth off the shelf, or put it back."""
    off = bool((await request.form()).get("off"))
    await run_in_threadpool(room_of(request).keep.set_cloth_hidden, cloth_id, off)
    return RedirectResponse("/cloths" if off else f"/cloths/{cloth_id}", 303)


@router.get("/{cloth_id}/history")
def history(request: Request, cloth_id: str, most: int = 30) -> Response:
    """What changed when."""
    keep = room_of(request).keep
    view = _now(request, cloth_id)
    told = TextHistory(
        view.title, view.home, keep.cloth_history(cloth_id), lambda v: keep.cloth_at(cloth_id, v), view.form, most
    )
    return page(request, "history.html", here="cloths", history=told)


@router.post("/{cloth_id}/history")
async def go_back(request: Request, cloth_id: str) -> Response:
    """Bring an earlier cloth back, as a new version."""
    number = whole_in(await request.form(), "version")

    def back() -> None:
        keep = room_of(request).keep
        view = _now(request, cloth_id)
        view.kept(keep.cloth_at(cloth_id, number), view.record.version, f"restored from {number}")

    await run_in_threadpool(back)
    return RedirectResponse(f"/cloths/{cloth_id}", 303)


# --- in jobs ---


@router.post("/{cloth_id}/begin")
async def begin(request: Request, cloth_id: str) -> Response:
    """Begin a job in this cloth."""
    keep = room_of(request).keep

    def made() -> JobRecord:
        record = keep.cloth(cloth_id)
        unit = "in" if unit_of(record.text) == "in" else "mm"
        text = from_shelf(rough_text({"unit": unit}, keep.house().text), record.text, instead=0)
        return keep.add_job(text, title="New job", why=f"begun with {record.name[:80]}")

    return RedirectResponse(f"/jobs/{(await run_in_threadpool(made)).id}#cloth", 303)


@router.post("/{cloth_id}/into")
async def into(request: Request, cloth_id: str) -> Response:
    """Put this cloth into a job: as a further one, or in the place of its first."""
    form = await request.form()
    job_id, instead = text_in(form, "job"), text_in(form, "instead")
    if not job_id:
        raise Problem(422, "Into which job?", "no job was chosen", "go back and choose one")
    await run_in_threadpool(_into, room_of(request).keep, cloth_id, job_id, instead)
    return RedirectResponse(f"/jobs/{job_id}#cloth", 303)


def _into(keep: Keep, cloth_id: str, job_id: str, instead: str) -> None:
    record, job = keep.cloth(cloth_id), keep.job(job_id)
    count = reading_of(job.text).opened.count("cloth")
    at = int(instead) if instead.isdecimal() and int(instead) < count else None
    try:
        keep.save_job(
            job_id, from_shelf(job.text, record.text, instead=at), job.version, why=f"{record.name[:80]} from the shelf"
        )
    except Stale as error:
        reason = f"{job.title} was changed at the same moment"
        raise Problem(409, "Try that once more", reason, "nothing was changed; choose the cloth again") from error
