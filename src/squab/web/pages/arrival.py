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
from squab.web.problems import Problem
from squab.web.rendering import by_htmx, page, text_of
from squab.web.room import Room, room_of
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
    record = room_of(request).keep.job(job_id)
    return _page(request, record)


def _page(request: Request, record: JobRecord) -> Response:
    cloths = cloths_there(record)
    return page(request, "arrival.html", here="board", job=record, cloths=cloths, faces=FACES, piles=PILES,
                meanwhile={}, told=_flaws_told(record, cloths), unit=_unit(record))  # fmt: skip


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
    _lay_follows(room, record)
    return _answer(request, record, cloth_id, meanwhile, status=409 if meanwhile else 200)


def _not_written(error: EditError) -> Problem:
    reason = error.finding.message if error.finding else str(error)
    return Problem(422, "The bolt cannot be written into the job", reason, "open the job's text and mend it there")


def _lay_follows(room: Room, record: JobRecord) -> None:
    """Once all is noted, lay the pieces on this very bolt."""
    if record.arrived:
        reading = reading_of(record.text)
        if room.works.worked(reading) is None:
            room.works.search_short(record.id, reading)


def _answer(
    request: Request, record: JobRecord, cloth_id: str, meanwhile: dict[tuple[str, str], tuple[str, str]], status: int
) -> Response:
    cloths = cloths_there(record)
    values: dict[str, Any] = {
        "job": record, "cloths": cloths, "faces": FACES, "piles": PILES, "meanwhile": meanwhile,
        "told": _flaws_told(record, cloths), "unit": _unit(record),
    }  # fmt: skip
    if not by_htmx(request):
        if meanwhile:
            return page(request, "arrival.html", status, here="board", **values)
        return RedirectResponse(f"/jobs/{record.id}/arrival#cloth-{cloth_id}", 303)
    there = next((c for c in cloths if c.id == cloth_id), None)
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
    _lay_follows(room, record)
    if not by_htmx(request):
        return RedirectResponse(f"/jobs/{job_id}/arrival#flaws-{cloth_id}", 303)
    whole = _text(form, "what") != "set"
    cloths = cloths_there(record)
    there = next((c for c in cloths if c.id == cloth_id), None)
    text = text_of(request, "arrival-parts.html", there=there, job=record, cloths=cloths, meanwhile={}, faces=FACES,
                   piles=PILES, told=_flaws_told(record, cloths), unit=_unit(record), flaws_anew=whole)  # fmt: skip
    return HTMLResponse(text)


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
