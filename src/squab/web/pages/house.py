"""The house numbers: what every new job begins with, and keeps."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from squab.desk import EditError, edited, removed, with_units
from squab.files.jobfile import UNITS
from squab.web.history_view import TextHistory
from squab.web.house_view import HouseView
from squab.web.kept_text import Change, changed, set_key, shown, text_in, whole_in
from squab.web.pages.telephone import UNIT_COOKIE
from squab.web.rendering import NAVIGATION, page
from squab.web.room import room_of

router = APIRouter(prefix="/house")
NAVIGATION.append(("house", "/house", "House numbers"))


def _now(request: Request) -> HouseView:
    keep = room_of(request).keep
    return HouseView(keep, keep.house())


def _set(path: str, typed: str) -> Change:
    """What setting a key does: another unit leaves every size what it is."""
    if path.partition(".")[0] not in ("job", "cover", "prices"):
        raise EditError(f"{path[:60]} is no house number")
    unit = next((u for u in UNITS if u == typed), None)
    if path == "job.units" and unit is not None:
        return lambda text: with_units(text, unit)
    if path == "job.units" and not typed.strip():
        return lambda text: removed(with_units(text, "mm"), path)
    return lambda text: edited(text, path, typed)


@router.get("")
def house(request: Request) -> Response:
    """The page."""
    return shown(request, _now(request))


@router.post("/set")
async def set_number(request: Request) -> Response:
    """Set one number."""
    answer = await set_key(request, lambda: _now(request), _set)
    form = await request.form()
    if text_in(form, "path") == "job.units":  # a new job and the telephone begin with it too
        unit = "in" if text_in(form, "value") == "in" else "mm"
        answer.set_cookie(UNIT_COOKIE, unit, 31_536_000, samesite="strict")
    return answer


@router.post("/undo")
async def undo(request: Request) -> Response:
    """Go back to how they were before the last change."""
    keep = room_of(request).keep
    history = await run_in_threadpool(keep.house_history)
    earlier = keep.house_at(history[1].version) if len(history) > 1 else ""
    return await changed(request, lambda: _now(request), lambda text: earlier, why="undone")


@router.get("/history")
def history(request: Request, most: int = 30) -> Response:
    """What changed when."""
    keep = room_of(request).keep
    view = _now(request)
    told = TextHistory("the house numbers", view.home, keep.house_history(), keep.house_at, view.form, most)
    return page(request, "history.html", here="house", history=told)


@router.post("/history")
async def go_back(request: Request) -> Response:
    """Bring earlier numbers back, as a new version."""
    form = await request.form()
    keep = room_of(request).keep

    def back() -> None:
        number = whole_in(form, "version")
        keep.save_house(keep.house_at(number), keep.house().version, why=f"restored from {number}")

    await run_in_threadpool(back)
    return RedirectResponse("/house", 303)
