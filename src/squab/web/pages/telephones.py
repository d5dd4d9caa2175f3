"""Telephones from the workroom's own network: how they come in, and which may."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from squab.web.door import COME_IN, COOKIE, Door, NotLetIn, spaced
from squab.web.kept_text import text_in
from squab.web.problems import Problem
from squab.web.rendering import page
from squab.web.room import room_of
from squab.web.security import from_network

router = APIRouter()
HOME = "/keep/telephones"
CARRIED_S = 180 * 86400
"""How long a telephone that was let in stays so without being shut out."""


@router.get(HOME)
def telephones(request: Request) -> Response:
    """The address, a code when one is asked for, and the telephones that may come in."""
    _only_here(request)
    return _shown(request)


def _shown(request: Request, code: str = "") -> Response:
    known = room_of(request).keep.telephones()
    return page(request, "telephones.html", here="keep", door=request.app.state.door, code=code, known=known)


@router.post(HOME)
async def new_code(request: Request) -> Response:
    """Make a code for one telephone."""
    _only_here(request)
    code = _door(request).new_code()
    return await run_in_threadpool(_shown, request, spaced(code))


@router.post(HOME + "/{telephone_id}/out")
async def shut_out(request: Request, telephone_id: str) -> Response:
    """Let a telephone in no longer."""
    _only_here(request)
    door: Door | None = request.app.state.door
    put = room_of(request).keep.shut_out if door is None else door.shut_out
    await run_in_threadpool(put, telephone_id)
    return RedirectResponse(HOME, 303)


@router.get(COME_IN)
def ask(request: Request) -> Response:
    """Where a telephone gives its code."""
    _door(request)
    return page(request, "come-in.html", wrong="", name="")


@router.post(COME_IN)
async def come_in(request: Request) -> Response:
    """Let a telephone in that gives the code of the moment."""
    form = await request.form()
    code, name = text_in(form, "code"), text_in(form, "name")
    try:
        carried = await run_in_threadpool(_door(request).let_in, code, name)
    except NotLetIn as error:
        return page(request, "come-in.html", 403, wrong=str(error), name=name[:80])
    answer = RedirectResponse("/table", 303)
    answer.set_cookie(COOKIE, carried, CARRIED_S, httponly=True, samesite="strict")
    return answer


def _door(request: Request) -> Door:
    door = request.app.state.door
    if not isinstance(door, Door):
        hint = "close it, and start it with `squab serve --on-network`"
        raise Problem(409, "The workroom is open on this machine only", "no telephone can come in", hint)
    return door


def _only_here(request: Request) -> None:
    if from_network(request):
        raise Problem(403, "Only at the workroom itself", "who may come in is settled on its own machine",
                      "open this page there")  # fmt: skip
