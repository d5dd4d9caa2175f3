"""A cloth that came: measured and looked over on the table, before anything is cut of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData

from squab.desk import EditError
from squab.keep import FlawNoted, JobRecord
from squab.web.arriving import (
    AWAY,
    NONE,
    TOWARDS,
    ChangedMeanwhile,
    ClothThere,
    cloths_there,
    flaw_findings,
    joined_over,
    note,
    note_flaws,
)
from squab.web.cutting import too_short
from squab.web.problems import Problem
from squab.web.rendering import by_htmx, page, text_of
from squab.web.room import Room, room_of, until_searched
from squab.web.works import reading_of

router = APIRouter(prefix="/jobs/{job_id}/arrival")

FACES = tuple(
    (words, words.capitalize())
    for words in ("plain to see", "marked with chalk on the back", "alike on both sides: one chosen and marked")
)
PILES = {
    NONE: "None: a flat cloth",
    TOWARDS: "Smooth towards the cut end",
    AWAY: "Smooth away from the cut end",
}
FLAW_EDGES = ("left", "right", "from", "to")

Flaws = tuple[FlawNoted, ...] | None


@router.get("")
def arrival(request: Request, job_id: str) -> Response:
    """What is noted of each cloth, and what is not yet."""
    room = room_of(request)
    record = room.keep.job(job_id)
    return page(request, "arrival.html", here="board", **_values(record), **_onward(room, record))


@router.get("/onward")
async def onward(request: Request, job_id: str) -> Response:
    """What to do next, once it is known whether the pieces find room on the cloth that came."""
    room = room_of(request)
    record = await run_in_threadpool(room.keep.job, job_id)
    if record.arrived:
        reading = await run_in_threadpool(reading_of, record.text)
        if await run_in_threadpool(room.works.worked, reading) is None:
            search = await run_in_threadpool(room.works.search_short, job_id, reading)
            await until_searched(request, search)
            ended = search is None or not search.running
            return await run_in_threadpool(_onward_page, request, job_id, ended)
    return await run_in_threadpool(_onward_page, request, job_id, False)


def _onward_page(request: Request, job_id: str, ended: bool) -> Response:
    """With the job as it is by now; where its search has ended without a lay there is nothing more to wait for."""
    room = room_of(request)
    record = room.keep.job(job_id)
    told = _onward(room, record)
    waits = told["waits"] and not ended
    return HTMLResponse(text_of(request, "arrival-onward.html", job=record, **told | {"waits": waits}))


def _values(record: JobRecord) -> dict[str, Any]:
    """What the page and its parts show of each cloth."""
    cloths = cloths_there(record)
    return {
        "job": record, "cloths": cloths, "faces": FACES, "piles": PILES, "meanwhile": {},
        "told": _flaws_told(record, cloths), "unit": _unit(record),
    }  # fmt: skip


def _onward(room: Room, record: JobRecord) -> dict[str, Any]:
    """Whether the pieces are laid on the cloth as it came, which cloths are too short, and whether to wait for that."""
    if not record.arrived:
        return {"laid": False, "short": [], "waits": False}
    worked = room.works.worked(reading_of(record.text))
    return {"laid": worked is not None, "short": too_short(worked) if worked else [], "waits": worked is None}


def _unit(record: JobRecord) -> str:
    unit = reading_of(record.text).opened.typed.get("job.units", "mm")
    return unit if unit in ("mm", "cm", "m", "in") else "mm"


def _flaws_told(record: JobRecord, cloths: list[ClothThere]) -> dict[str, list[str]]:
    return {c.id: flaw_findings(record.text, c) for c in cloths}


@router.post("/note")
async def take_note(request: Request, job_id: str) -> Response:
    """Note one thing as it was typed."""
    form = await request.form()
    return await run_in_threadpool(_take_note, request, job_id, form)


def _take_note(request: Request, job_id: str, form: FormData) -> Response:
    cloth_id, name = _text(form, "cloth"), _text(form, "name")
    typed = _text(form, "value").strip()
    if "over" in form:
        typed = joined_over(typed, _text(form, "over"))
    meanwhile = {}
    room = room_of(request)
    try:
        record = note(room.keep, job_id, cloth_id, name, typed, str(form["was"]) if "was" in form else None)
    except ChangedMeanwhile as error:
        meanwhile[cloth_id, name] = (error.kept, typed)
        record = room.keep.job(job_id)
    except EditError as error:
        raise _not_written(error) from error
    return _answer(request, record, cloth_id, meanwhile, status=409 if meanwhile else 200)


def _not_written(error: EditError) -> Problem:
    reason = error.finding.message if error.finding else str(error)
    return Problem(422, "The bolt cannot be written into the job", reason, "open the job's text and mend it there")


def _answer(
    request: Request, record: JobRecord, cloth_id: str, meanwhile: dict[tuple[str, str], tuple[str, str]], status: int
) -> Response:
    values = {**_values(record), **_onward(room_of(request), record), "meanwhile": meanwhile}
    if not by_htmx(request):
        if meanwhile:
            return page(request, "arrival.html", status, here="board", **values)
        return RedirectResponse(f"/jobs/{record.id}/arrival#cloth-{cloth_id}", 303)
    there = next((c for c in values["cloths"] if c.id == cloth_id), None)
    return HTMLResponse(text_of(request, "arrival-parts.html", there=there, **values))


@router.post("/flaws")
async def take_flaws(request: Request, job_id: str) -> Response:
    """Note flaws: that there are none, one more, one changed, one taken out."""
    form = await request.form()
    return await run_in_threadpool(_take_flaws, request, job_id, form)


def _take_flaws(request: Request, job_id: str, form: FormData) -> Response:
    cloth_id, room = _text(form, "cloth"), room_of(request)
    try:
        record = note_flaws(room.keep, job_id, cloth_id, _flaw_change(form))
    except EditError as error:
        raise _not_written(error) from error
    values = {**_values(record), **_onward(room, record)}
    if not by_htmx(request):
        return RedirectResponse(f"/jobs/{job_id}/arrival#flaws-{cloth_id}", 303)
    whole = _text(form, "what") != "set"
    there = next((c for c in values["cloths"] if c.id == cloth_id), None)
    return HTMLResponse(text_of(request, "arrival-parts.html", there=there, flaws_anew=whole, **values))


def _flaw_change(form: FormData) -> Callable[[Flaws], Flaws]:
    what, index = _text(form, "what"), _text(form, "index")
    at = int(index) if index.isdecimal() and len(index) < 6 else -1

    def change(rows: Flaws) -> Flaws:
        there = list(rows or ())
        if what == "none":
            return ()
        if what == "look again":
            return None
        if what == "add":
            return (*there, FlawNoted(left="", right="", from_="", to=""))
        if not 0 <= at < len(there):
            raise Problem(409, "That flaw is not there any more", "it was taken out elsewhere", "open the page again")
        if what == "remove":
            return (*there[:at], *there[at + 1 :])
        row = FlawNoted(left=_text(form, "left"), right=_text(form, "right"), from_=_text(form, "from"),
                        to=_text(form, "to"), what=_text(form, "kind").strip() or "flaw")  # fmt: skip
        return (*there[:at], row, *there[at + 1 :])

    return change


def _text(form: FormData, name: str) -> str:
    return str(form.get(name, ""))[:400]
