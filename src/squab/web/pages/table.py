"""The cutting table on a telephone: one piece at a time in cutting order, ticked, cut wrong, or flawed.

The plan that is being cut is frozen when cutting begins. Pages work by links and forms; a module
keeps ticks on the telephone while the network is away and sends them again, twice if need be.
What goes wrong is answered at once and planned beside; the table asks until the new plan is there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, JSONResponse, RedirectResponse, Response
from pydantic import BaseModel, Field
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile

from squab.cloth import Flaw
from squab.errors import LengthError
from squab.findings import Severity
from squab.job import Job
from squab.keep import JobRecord, Keep, Photo, Tick
from squab.units import parse_length
from squab.web.arriving import cloths_there, noted_flaw
from squab.web.cutting import (
    CutPiece,
    Cutting,
    cutting_of,
    done_count,
    left_now,
    left_said,
    next_uncut,
    ninths,
    on_face,
    packed,
    too_short,
    unpacked,
)
from squab.web.kept_work import cut_digest
from squab.web.pages.board import cut_of
from squab.web.problems import Problem
from squab.web.rendering import NAVIGATION, by_htmx, page, text_of
from squab.web.replanning import Again
from squab.web.room import Room, room_of, until_searched
from squab.web.small import smalls
from squab.web.works import Reading, reading_of
from squab.worked import WorkedJob

router = APIRouter()
NAVIGATION.append(("table", "/table", "Cutting table"))

HAND_COOKIE = "squab_hand"
FOR_YEARS_S = 5 * 365 * 86400
KEPT_FOR_NO_NETWORK = "private, no-cache"
"""Asked for anew each time, and yet at hand where a browser brings a page back that it put away, with no network."""
MOST_AT_ONCE = 2000
"""Pieces that a telephone is handed in one go; of more, page by page."""


@router.get("/table")
def tables(request: Request) -> Response:
    """The jobs that can be cut now, those begun first."""
    keep = room_of(request).keep
    lines = keep.jobs("", "promised", states=("arrived", "cut"))
    found = []
    for line in lines:
        done, of = cut_of(keep, line)
        found.append({"job": line, "done": done, "of": of})
    begun = [f for f in found if f["of"] and f["done"] < f["of"]]  # type: ignore[operator]
    ready = [f for f in found if not f["of"] and f["job"].state == "arrived"]  # type: ignore[attr-defined]
    waiting = keep.jobs("", "promised", states=("agreed", "ordered"))
    pictures = smalls(keep, [f["job"] for f in (*begun, *ready)])  # type: ignore[misc]
    return page(request, "tables.html", here="table", begun=begun, ready=ready, waiting=waiting, pictures=pictures)


# --- one job's table ---


@router.get("/jobs/{job_id}/table")
def table(request: Request, job_id: str, at: int | None = None, piece: str = "") -> Response:
    """The piece to cut, by its place or its key; before cutting has begun, what stands in its way."""
    room = room_of(request)
    record = room.keep.job(job_id)
    asked = room.again.follow(job_id)
    cutting = unpacked(room.keep.cutting(job_id))
    if cutting is None:
        return _before(request, room, record)
    ticks = room.keep.ticks(job_id)
    first = next_uncut(cutting, ticks)
    named = cutting.place(piece)
    shown = named if named is not None else at if at is not None else first or 0
    shown = min(max(shown, 0), len(cutting.pieces) - 1)
    values = _values(request, room, record, cutting, ticks, shown) | {"asked": asked}
    answer = page(request, "table.html", here="table", **values)
    answer.headers["cache-control"] = KEPT_FOR_NO_NETWORK
    return answer


def _values(
    request: Request, room: Room, record: JobRecord, cutting: Cutting, ticks: Mapping[str, Tick], at: int
) -> dict[str, Any]:
    piece = cutting.pieces[at]
    return {
        "job": record,
        "cutting": cutting,
        "at": at,
        "piece": piece,
        "state": ticks[piece.key].state if piece.key in ticks else "",
        "placed": cutting.has_place(piece),
        "moved": piece.key in cutting.moved,
        "done": done_count(cutting, ticks),
        "left": left_said(left_now(cutting, ticks, piece.cloth_id)),
        "cloth": cutting.cloth(piece.cloth_id),
        "many": len(cutting.cloths) > 1,
        "hand": _hand(request),
        "changed": _changed_since(cutting, record),
        "begun": bool(ticks),
        "by_telephone": len(cutting.pieces) <= MOST_AT_ONCE,
    }


def _changed_since(cutting: Cutting, record: JobRecord) -> bool:
    """Whether the job says by now that other pieces are to be cut."""
    if record.text == cutting.text:
        return False
    now, then = reading_of(record.text).job, reading_of(cutting.text).job
    if now is None or then is None:
        return True
    return cut_digest(_without_flaws(now)) != cut_digest(_without_flaws(then))


def _without_flaws(job: Job) -> Job:
    """A job without what is found at the table itself: the plan that is being cut knows of that."""
    bolts = (replace(c.bolt, flaws=()) if c.bolt is not None else None for c in job.cloths)
    return replace(job, cloths=tuple(replace(c, bolt=b) for c, b in zip(job.cloths, bolts, strict=True)))


def _hand(request: Request) -> str:
    return "left" if request.cookies.get(HAND_COOKIE) == "left" else "right"


def _before(request: Request, room: Room, record: JobRecord) -> Response:
    """What stands in the way of cutting; where nothing does, how the figures are read, and the first cut."""
    reading = reading_of(record.text)
    worked = None if record.missing else room.works.worked(reading)
    return page(
        request,
        "table-before.html",
        here="table",
        job=record,
        held=_held(record, reading, worked),
        wanting=[c for c in cloths_there(record, reading.opened) if c.missing] if record.missing else [],
        short=too_short(worked) if worked is not None else [],
        first=None if worked is None else cutting_of(worked, record.text, record.version),
        bad=[f for f in reading.findings if f.severity is Severity.STOP],
    )


def _held(record: JobRecord, reading: Reading, worked: WorkedJob | None) -> str:
    """Why nothing may be cut yet: not checked in, not sound, not laid, too short; "" where it may."""
    if record.missing:
        return "arrival"
    if reading.stops:
        return "stops"
    if worked is None:
        return "laying"
    return "short" if too_short(worked) else ""


@router.get("/jobs/{job_id}/table/laid")
async def laid(request: Request, job_id: str) -> Response:
    """Wait for the lay of the cloth as it came, then show what stands before the first cut."""
    room = room_of(request)
    record = await run_in_threadpool(room.keep.job, job_id)
    reading = await run_in_threadpool(reading_of, record.text)
    if await run_in_threadpool(room.works.worked, reading) is None:
        search = await run_in_threadpool(room.works.search_short, job_id, reading)
        await until_searched(request, search)
        if search is not None and not search.running and search.kept is None:
            why = search.fault or "; ".join(f.message for f in search.findings if f.severity is Severity.STOP)
            raise Problem(422, "These pieces cannot be laid on this cloth", why, "open the job; it says what would do")
    if by_htmx(request):
        return Response(status_code=204, headers={"hx-refresh": "true"})
    return RedirectResponse(f"/jobs/{job_id}/table", 303)


@router.post("/jobs/{job_id}/table/begin")
async def begin(request: Request, job_id: str) -> Response:
    """Freeze the plan as it is; from here on it is cut as it stands."""
    await run_in_threadpool(_begin, room_of(request), job_id)
    return RedirectResponse(f"/jobs/{job_id}/table", 303)


def _begin(room: Room, job_id: str) -> None:
    record = room.keep.job(job_id)
    there = unpacked(room.keep.cutting(job_id))
    if there is not None and (room.keep.ticks(job_id) or there.text == record.text):
        return  # begun on another telephone
    reading = reading_of(record.text)
    worked = None if record.missing else room.works.worked(reading)
    held = _held(record, reading, worked)
    if held or worked is None:
        why = {
            "arrival": "the cloth has not been checked in",
            "stops": "the job cannot be made as it stands",
            "laying": "the job is not laid yet",
            "short": "; ".join(too_short(worked)) if worked else "",
        }[held]
        raise Problem(409, "Nothing may be cut yet", why, "open the cutting table again; it says what to do")
    room.keep.save_cutting(job_id, packed(cutting_of(worked, record.text, record.version)))


@router.post("/jobs/{job_id}/table/tick")
async def tick(request: Request, job_id: str) -> Response:
    """Tick a piece, or take its tick back."""
    form = await request.form()
    key, to = str(form.get("piece", "")), str(form.get("to", "done"))
    at = await run_in_threadpool(_tick, room_of(request).keep, job_id, key, to)
    return RedirectResponse(f"/jobs/{job_id}/table?at={at}", 303)


def _tick(keep: Keep, job_id: str, key: str, to: str) -> int:
    cutting = _begun(keep, job_id)
    at = cutting.place(key)
    if at is None:
        raise Problem(409, "That piece is not in this plan", f"it is called {key[:40]!r}", "open the table again")
    if to == "undone":
        keep.untick(job_id, key)
    else:
        keep.tick(job_id, key, of=len(cutting.pieces))
    return at


def _begun(keep: Keep, job_id: str) -> Cutting:
    cutting = unpacked(keep.cutting(job_id))
    if cutting is None:
        raise Problem(409, "Cutting has not begun", "there is no plan that is being cut", "open the cutting table")
    return cutting


# --- what a telephone keeps while the network is away ---


class UnsentTick(BaseModel):
    """A tick as a telephone kept it. `age_s` says how long ago it was made: clocks differ."""

    piece: str = Field(max_length=200)
    to: str = Field(pattern="^(done|undone)$")
    age_s: float = Field(ge=0, le=1e8)


class UnsentTicks(BaseModel):
    """The ticks that a telephone has not seen answered."""

    ticks: list[UnsentTick] = Field(max_length=MOST_AT_ONCE)


@router.post("/jobs/{job_id}/table/ticks")
def take_ticks(request: Request, job_id: str, sent: UnsentTicks) -> Response:
    """Take ticks in, however often they are sent; answer with all that is ticked."""
    keep = room_of(request).keep
    cutting = _begun(keep, job_id)
    there = keep.ticks(job_id)
    unknown = []
    for one in sorted(sent.ticks, key=lambda t: -t.age_s):
        if cutting.place(one.piece) is None:
            unknown.append(one.piece)
        elif _wanted(keep, one, there.get(one.piece)):
            _tick(keep, job_id, one.piece, one.to)
    return JSONResponse(_told(room_of(request), job_id) | {"unknown": unknown})


def _wanted(keep: Keep, one: UnsentTick, there: Tick | None) -> bool:
    """Whether a tick still says something: not twice, and not over what was said of the piece since."""
    if there is None:
        return one.to == "done"
    if there.state == one.to:
        return False
    return (keep.now() - there.at).total_seconds() >= one.age_s


def _told(room: Room, job_id: str) -> dict[str, Any]:
    asked = room.again.follow(job_id)
    return {
        "round": _begun(room.keep, job_id).round,
        "planning": len(asked.waiting),
        "trouble": asked.trouble,
        "ticks": {key: t.state for key, t in room.keep.ticks(job_id).items()},
        "state": room.keep.job(job_id).state,
    }


@router.get("/jobs/{job_id}/table.json")
def whole_table(request: Request, job_id: str) -> Response:
    """Every piece as it is shown, so that a telephone needs no network to go on."""
    room = room_of(request)
    cutting = _begun(room.keep, job_id)
    record = room.keep.job(job_id)
    pieces = []
    for at, piece in enumerate(cutting.pieces):
        values = _values_of_piece(request, cutting, at)
        pieces.append({
            "key": piece.key, "cloth": piece.cloth_id, "reach": piece.box_mm[3], "left": left_said(piece.left),
            "name": f"{piece.name}, {piece.which}", "html": text_of(request, "table-piece.html", job=record, **values),
        })  # fmt: skip
    gone = {
        c.id: [{"reach": reach, "left": left_said(left)} for reach, left in ((0, c.whole), (c.lost_mm, c.lost_left))]
        for c in cutting.cloths
    }
    said = text_of(request, "table-said.html", job=record, cutting=cutting)
    told = {"job": job_id, "pieces": pieces, "gone": gone, "said": said}
    return JSONResponse(told | _told(room, job_id), headers={"cache-control": KEPT_FOR_NO_NETWORK})


def _values_of_piece(request: Request, cutting: Cutting, at: int) -> dict[str, Any]:
    piece = cutting.pieces[at]
    return {
        "cutting": cutting, "piece": piece, "at": at, "cloth": cutting.cloth(piece.cloth_id),
        "many": len(cutting.cloths) > 1, "placed": cutting.has_place(piece),
        "moved": piece.key in cutting.moved,
    }  # fmt: skip


# --- what goes wrong ---


@router.get("/jobs/{job_id}/table/wrong")
def ask_wrong(request: Request, job_id: str, at: int = 0) -> Response:
    """Ask before a piece is given up."""
    room = room_of(request)
    cutting = _begun(room.keep, job_id)
    at, piece = _piece_at(cutting, at)
    return page(request, "table-wrong.html", here="table", job=room.keep.job(job_id), piece=piece, at=at,
                cloth=cutting.cloth(piece.cloth_id), hand=_hand(request))  # fmt: skip


@router.post("/jobs/{job_id}/table/wrong")
async def cut_wrong(request: Request, job_id: str) -> Response:
    """Mark a piece as cut wrong and lay it once more on what is left."""
    key = str((await request.form()).get("piece", ""))
    at = await run_in_threadpool(_cut_wrong, room_of(request), job_id, key)
    return _back_to(job_id, at, key)


def _back_to(job_id: str, at: int, key: str) -> Response:
    """To a piece, wherever it stands in the plan that may be there by then."""
    return RedirectResponse(f"/jobs/{job_id}/table?{urlencode({'at': at, 'piece': key})}", 303)


def _cut_wrong(room: Room, job_id: str, key: str) -> int:
    cutting = _begun(room.keep, job_id)
    at = cutting.place(key)
    if at is None:
        raise Problem(409, "That piece is not in this plan", f"it is called {key[:40]!r}", "open the table again")
    room.keep.tick(job_id, key, "spoiled", note="cut wrong", of=len(cutting.pieces))
    room.again.ask(job_id, Again(cutting.pieces[at].cloth_id, spoiled=(key,)))
    return at


@router.get("/jobs/{job_id}/table/flaw")
def ask_flaw(request: Request, job_id: str, at: int = 0) -> Response:
    """Ask where the flaw is: in which part of the piece, or by the tape."""
    room = room_of(request)
    cutting = _begun(room.keep, job_id)
    at, _ = _piece_at(cutting, at)
    return _flaw_page(request, room.keep.job(job_id), cutting, at, {})


def _flaw_page(
    request: Request, record: JobRecord, cutting: Cutting, at: int, typed: Mapping[str, str], wrong: str = ""
) -> Response:
    piece = cutting.pieces[at]
    return page(request, "table-flaw.html", 422 if wrong else 200, here="table", job=record, piece=piece, at=at,
                cloth=cutting.cloth(piece.cloth_id), parts=ninths(piece), typed=typed, wrong=wrong,
                cutting=cutting, hand=_hand(request))  # fmt: skip


@router.post("/jobs/{job_id}/table/flaw")
async def flaw_here(request: Request, job_id: str) -> Response:
    """Keep clear of a flaw: plan the rest again, and note it on the bolt."""
    form = await request.form()
    room = room_of(request)
    cutting = await run_in_threadpool(_begun, room.keep, job_id)
    key = str(form.get("piece", ""))
    at = cutting.place(key)
    if at is None:
        raise Problem(409, "That piece is not in this plan", f"it is called {key[:40]!r}", "open the table again")
    try:
        flaw = _flaw_of(form, cutting, cutting.pieces[at])
    except ValueError as error:
        typed = {n: str(form.get(n, "")) for n in ("left", "right", "from", "to")}
        record = await run_in_threadpool(room.keep.job, job_id)
        return _flaw_page(request, record, cutting, at, typed, str(error))
    await run_in_threadpool(_keep_flaw, room, job_id, cutting, cutting.pieces[at], flaw)
    return _back_to(job_id, at, key)


def _flaw_of(form: FormData, cutting: Cutting, piece: CutPiece) -> Flaw:
    """The flaw that was pointed at, or measured.

    Raises
    ------
    ValueError
        If what was typed is no place on the cloth; the message says why.
    """
    pointed = str(form.get("part", ""))
    if pointed:
        row, _, column = pointed.partition(",")
        parts = ninths(piece)
        if row.isdecimal() and column.isdecimal() and int(row) < len(parts) and int(column) < len(parts[int(row)]):
            return parts[int(row)][int(column)]
        raise ValueError(f"the piece has no part {pointed[:20]!r}: point at one of those shown")
    unit = "in" if cutting.unit == "inches" else "mm"
    read = {}
    for name, called in (("left", "Its left"), ("right", "Its right"), ("from", "It begins"), ("to", "It ends")):
        try:
            read[name] = parse_length(str(form.get(name, "")), unit).mm
        except LengthError as error:
            raise ValueError(f"{called}: {error}") from error
    if read["right"] <= read["left"] or read["to"] <= read["from"]:
        raise ValueError("A flaw has some size: its right lies beyond its left, and it ends beyond where it begins")
    cloth = cutting.cloth(piece.cloth_id)
    if read["left"] >= cloth.width_mm:
        raise ValueError("Its left lies beyond the usable width: no piece lies there anyway")
    if read["from"] >= cloth.whole_mm:
        raise ValueError(f"It begins beyond the end of the cloth: there are {cloth.whole} from the squared end")
    return Flaw(read["left"], read["from"], min(read["right"], cloth.width_mm), min(read["to"], cloth.whole_mm))


def _keep_flaw(room: Room, job_id: str, cutting: Cutting, piece: CutPiece, flaw: Flaw) -> None:
    kept = cutting.cloth(piece.cloth_id)
    noted_flaw(room.keep, job_id, piece.cloth_id, on_face(flaw, kept.width_mm, back_up=cutting.back_up))
    room.again.ask(job_id, Again(piece.cloth_id, flaws=(flaw,)))


def _piece_at(cutting: Cutting, at: int) -> tuple[int, CutPiece]:
    at = min(max(at, 0), len(cutting.pieces) - 1)
    return at, cutting.pieces[at]


# --- all pieces, photographs, the hand ---


@router.get("/jobs/{job_id}/table/pieces")
def pieces(request: Request, job_id: str) -> Response:
    """Every piece with its tick, to go to any of them; the photographs; how the figures are read."""
    keep = room_of(request).keep
    cutting = _begun(keep, job_id)
    ticks = keep.ticks(job_id)
    record = keep.job(job_id)
    return page(request, "table-pieces.html", here="table", job=record, cutting=cutting, ticks=ticks,
                done=done_count(cutting, ticks), photos=keep.photos(job_id), begun=bool(ticks),
                changed=_changed_since(cutting, record))  # fmt: skip


@router.post("/jobs/{job_id}/table/anew")
async def anew(request: Request, job_id: str) -> Response:
    """Take the job's plan of now in place of the one that was begun, while nothing is cut of it."""
    await run_in_threadpool(_anew, room_of(request), job_id)
    return RedirectResponse(f"/jobs/{job_id}/table", 303)


def _anew(room: Room, job_id: str) -> None:
    if room.keep.ticks(job_id):
        raise Problem(409, "There are pieces cut of this plan", "what is cut belongs to it",
                      "untick what is not cut; or go on as it was planned")  # fmt: skip
    room.keep.save_cutting(job_id, b"")


@router.post("/jobs/{job_id}/table/photos")
async def add_photo(request: Request, job_id: str) -> Response:
    """Keep a photograph with the job."""
    async with request.form() as form:
        file, note, at = form.get("photo"), str(form.get("note", "")), str(form.get("at", ""))
        if not isinstance(file, UploadFile) or not file.size:
            raise Problem(422, "There was no photograph", "no picture was chosen", "take one, then keep it")
        data, name = await file.read(), (file.filename or "photograph")[:80]
    kept = await run_in_threadpool(lambda: room_of(request).keep.add_photo(job_id, data, name=name, note=note))
    if by_htmx(request):
        return HTMLResponse(text_of(request, "table-photo-kept.html", photo=kept, job_id=job_id))
    return RedirectResponse(f"/jobs/{job_id}/table" + (f"?at={at}" if at.isdecimal() else "/pieces"), 303)


@router.get("/jobs/{job_id}/photos/{photo_id}")
def photo(request: Request, job_id: str, photo_id: str) -> Response:
    """One photograph."""
    kept, data = room_of(request).keep.photo(photo_id)
    _check_of(kept, job_id)
    return Response(data, media_type=kept.media_type, headers={"cache-control": "private, max-age=31536000, immutable"})


def _check_of(kept: Photo, job_id: str) -> None:
    if kept.job_id != job_id:
        raise Problem(404, "There is no such photograph here", "it belongs to another job", "see the list of jobs")


@router.post("/jobs/{job_id}/table/hand")
async def hand(request: Request, job_id: str) -> Response:
    """Say in which hand the telephone lies."""
    form = await request.form()
    to, at = str(form.get("hand", "right")), str(form.get("at", "0"))
    answer = RedirectResponse(f"/jobs/{job_id}/table?at={at if at.isdecimal() else 0}", 303)
    answer.set_cookie(HAND_COOKIE, "left" if to == "left" else "right", FOR_YEARS_S, samesite="strict")
    return answer
