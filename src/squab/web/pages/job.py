"""One job on one page, in the order of the work; every field edits one key of the job's text.

An edit answers with the parts of the page that it changes, each swapped where it stands, so that
nothing jumps and the field one types in is not touched. A page that shows an older text than is
kept is told so: what was typed is shown beside what is kept, and one chooses.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import cast

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData

from squab.desk import (
    EditError,
    Opened,
    cured,
    edited,
    patterned,
    removed,
    surrendered,
    with_cloth,
    with_cushion,
    with_value,
)
from squab.keep import JobRecord, NotArrived, Stale, State
from squab.web.fields import id_of
from squab.web.job_view import JobView
from squab.web.kept_text import conflict, text_in
from squab.web.problems import Problem
from squab.web.rendering import by_htmx, page, text_of
from squab.web.room import room_of
from squab.web.works import MOST_KINDS, Reading, reading_of

router = APIRouter(prefix="/jobs/{job_id}")

FOLDS_COOKIE = "squab_folds"
"""Which parts of the page were left open, and which folded: names, with a dash before what is folded."""


def view_of(request: Request, record: JobRecord, *, cushion: int = 0, cloth: int = 0) -> JobView:
    """What the page of a job shows."""
    works = room_of(request).works
    reading = reading_of(record.text)
    if reading.too_many:
        what = f"it has {reading.too_many} kinds of cushion, and up to {MOST_KINDS} are opened on a page"
        raise Problem(422, record.title, what, "take its text apart into several jobs", f"/jobs/{record.id}/text")
    worked = works.worked(reading)
    last = max(reading.opened.count("cushion") - 1, 0)
    return JobView(
        record,
        reading,
        worked,
        cushion=min(max(cushion, 0), last),
        cloth=min(max(cloth, 0), max(reading.opened.count("cloth") - 1, 0)),
        search=works.searching(reading, whole=True),
        why=works.reasons(reading, begin=False),
        asked_paper=request.query_params.get("paper", ""),
        in_hand=room_of(request).keep.remnants,
        folds=request.cookies.get(FOLDS_COOKIE, "")[:400],
    )


@router.get("")
def job(request: Request, job_id: str, cushion: int = 0, cloth: int = 0) -> Response:
    """The page."""
    record = room_of(request).keep.job(job_id)
    return page(request, "job.html", here="jobs", view=view_of(request, record, cushion=cushion, cloth=cloth))


@router.post("/set")
async def set_key(request: Request, job_id: str) -> Response:
    """Set one key to what was typed."""
    form = await request.form()
    path, typed = text_in(form, "path"), "\n".join(str(v) for v in form.getlist("value"))
    if form.get("tick") and not typed:
        typed = text_in(form, "otherwise")
    if form.get("listed"):
        typed = ", ".join(str(v) for v in form.getlist("value")) or "none"
    return await changed(request, job_id, form, lambda text: edited(text, path, typed))


@router.post("/stripe")
async def set_stripe(request: Request, job_id: str) -> Response:
    """Set one stripe of a cloth from its width, colour and name."""
    form = await request.form()
    words = (text_in(form, "name"), text_in(form, "colour"), text_in(form, "width"))
    typed = " ".join(w.strip() for w in words if w.strip())
    return await changed(request, job_id, form, lambda text: edited(text, text_in(form, "path"), typed or " - "))


@router.post("/pattern")
async def set_pattern(request: Request, job_id: str) -> Response:
    """Say what kind of pattern a cloth has; what belongs to another kind is taken out."""
    form = await request.form()
    here, kind = text_in(form, "path"), text_in(form, "value")
    return await changed(request, job_id, form, lambda text: patterned(text, here, kind))


@router.post("/add")
async def add(request: Request, job_id: str) -> Response:
    """Add a cushion, a cloth, a stripe, a side of a run, a flaw."""
    form = await request.form()
    what = text_in(form, "what")
    return await changed(request, job_id, form, lambda text: _with_one_more(text, what, text_in(form, "like")))


@router.post("/remove")
async def remove(request: Request, job_id: str) -> Response:
    """Take one thing out."""
    form = await request.form()
    return await changed(request, job_id, form, lambda text: removed(text, text_in(form, "path")))


@router.post("/cure")
async def cure(request: Request, job_id: str) -> Response:
    """Do what the program knows would mend it."""
    form = await request.form()
    what, of = text_in(form, "what"), text_in(form, "of")
    return await changed(request, job_id, form, lambda text: _cured(text, what, of))


@router.post("/give-up")
async def give_up(request: Request, job_id: str) -> Response:
    """Give up what would make a short bolt do."""
    form = await request.form()
    what, cloth = text_in(form, "what"), text_in(form, "cloth_id")
    return await changed(request, job_id, form, lambda text: _given_up(text, what, cloth))


@router.post("/state")
async def stand(request: Request, job_id: str) -> Response:
    """Say where the job stands."""
    form = await request.form()
    room = room_of(request)
    try:
        record = await run_in_threadpool(room.keep.set_state, job_id, cast(State, text_in(form, "value")))
    except NotArrived as error:
        raise Problem(409, "The cloth has not been checked in", error.reason, error.hint) from error
    return _about(request, record)


@router.post("/promised")
async def promise(request: Request, job_id: str) -> Response:
    """Note the day a job is promised for."""
    typed = text_in(await request.form(), "value")
    try:
        day = date.fromisoformat(typed) if typed else None
    except ValueError as error:
        raise Problem(422, "That is no date", f"{typed[:40]} was typed", "write it as 2031-05-14") from error
    return _about(request, await run_in_threadpool(room_of(request).keep.set_promised, job_id, day))


def _about(request: Request, record: JobRecord) -> Response:
    if not by_htmx(request):
        return RedirectResponse(f"/jobs/{record.id}", 303)
    return HTMLResponse(text_of(request, "job-standing.html", view=view_of(request, record)))


async def changed(request: Request, job_id: str, form: FormData, change: Callable[[str], str]) -> Response:
    """Make a change to the text that the page shows, keep it, and answer with what it changes on the page."""
    return await run_in_threadpool(_change, request, job_id, form, change)


def _change(request: Request, job_id: str, form: FormData, change: Callable[[str], str]) -> Response:
    room = room_of(request)
    version = _whole(form.get("now") or form.get("version"))
    before = room.keep.job(job_id)
    if before.version != version:
        return _conflict(request, before, form)
    try:
        text = change(before.text)
    except EditError as error:
        reason = error.finding.message if error.finding else str(error)
        hint = "open the job's text and mend it there"
        raise Problem(422, "That field cannot be set as the text stands", reason, hint) from error
    try:
        record = room.keep.save_job(job_id, text, version)
    except Stale:
        return _conflict(request, room.keep.job(job_id), form)
    open_at = {"cushion": _whole(form.get("cushion")), "cloth": _whole(form.get("cloth"))}
    if form.get("what") == "cushion":
        open_at["cushion"] = 10**6
    if form.get("what") == "cloth":
        open_at["cloth"] = 10**6
    if not by_htmx(request):
        anchor = id_of(text_in(form, "path")) if form.get("path") else text_in(form, "anchor")
        return RedirectResponse(f"/jobs/{job_id}?cushion={open_at['cushion']}&cloth={open_at['cloth']}#{anchor}", 303)
    view = view_of(request, record, **open_at)
    room.works.leave_off(job_id, view.reading)
    if form.get("whole"):
        return page(request, "job.html", here="jobs", view=view)
    return _parts(request, view, reading_of(before.text), before)


def _parts(request: Request, view: JobView, before: Reading, record: JobRecord) -> Response:
    """The parts of the page that an edit changes."""
    old, new = before.opened.by_path, view.reading.opened.by_path
    paths = [p for p in (*old, *new) if old.get(p) != new.get(p) and view.shows(p)]
    slots = {id_of(p): new.get(p, ()) for p in dict.fromkeys(paths)}
    was_swatch = replace(view, reading=before, worked=None).swatch
    text = text_of(request, "job-parts.html", view=view, slots=slots, was=record, was_swatch=was_swatch)
    return HTMLResponse(text, headers={"hx-trigger-after-settle": "edited"} if view.cover is not None else None)


def _conflict(request: Request, newer: JobRecord, form: FormData) -> Response:
    opened, home = reading_of(newer.text).opened, f"/jobs/{newer.id}"
    return conflict(request, form, opened, here="jobs", title=newer.title, home=home, version=newer.version)


# --- what is more than one key ---


def _with_one_more(text: str, what: str, like: str) -> str:
    read = reading_of(text).opened
    if what == "cushion":
        if read.count("cushion") >= MOST_KINDS:  # with one more it would not open again
            why = f"it has {read.count('cushion')} kinds of cushion, and no more are opened on a page"
            raise Problem(422, "This job holds no further cushion", why, "make more of one kind, or begin another job")
        if like.isdecimal() and int(like) < read.count("cushion"):
            return with_cushion(text, {"name": f"{_called(read, int(like))}, another"}, like=int(like))
        return with_cushion(text, {"name": f"Cushion {read.count('cushion') + 1}"})
    if what == "cloth":
        width = "54 in" if read.typed.get("job.units") == "in" else "1370 mm"
        name = f"Cloth {read.count('cloth') + 1}"
        return with_cloth(text, f'name = "{name}"\nusable_width = "{width}"\n')
    if what.endswith(".stripes"):
        return with_value(text, f"{what}[{read.count(what)}]", "linen 10")
    if what.endswith(".run"):
        return with_value(text, f"{what}[{read.count(what)}]", {"side": f"side {read.count(what) + 1}"})
    if what.endswith(".flaws"):
        return with_value(text, f"{what}[{read.count(what)}]", {"what": "flaw"})
    raise EditError(f"there is nothing called {what[:40]!r} to be added")


def _given_up(text: str, what: str, cloth: str) -> str:
    """The text with that given up; where another cloth is wanted and there is none, with a plain one added."""
    if cloth != "new":
        return surrendered(text, what, cloth=cloth)
    made = _with_one_more(text, "cloth", "")
    read = reading_of(made).opened
    return surrendered(made, what, cloth=read.typed[f"cloth[{read.count('cloth') - 1}].id"])


def _cured(text: str, what: str, of: str) -> str:
    """The text with the cure of those words, which is still to be had."""
    prepared = reading_of(text).prepared
    cures = prepared.match.cures if prepared is not None else ()
    found = next((c for c in cures if c.what == what and c.cushion_id == of), None)
    if found is None:
        raise EditError("this is done already, or does not apply any more")
    return cured(text, found)


def _called(read: Opened, index: int) -> str:
    return read.typed.get(f"cushion[{index}].name") or read.typed.get(f"cushion[{index}].id") or f"Cushion {index + 1}"


def _whole(value: object) -> int:
    text = str(value or "")
    return int(text) if text.isdecimal() and len(text) < 9 else 0
