"""The application: its guard, its pages, and how its errors are told."""

from __future__ import annotations

import logging
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from importlib import resources

from fastapi import APIRouter, Depends, FastAPI, Request
from fastapi.exceptions import RequestValidationError
from fastapi.responses import FileResponse, JSONResponse, Response
from starlette.exceptions import HTTPException
from starlette.staticfiles import StaticFiles
from starlette.types import ASGIApp

from squab import __version__
from squab.errors import SquabError
from squab.keep import (
    AlreadyAgreed,
    JobRecord,
    Keep,
    KeepBusy,
    KeepDamaged,
    KeepError,
    KeepFull,
    NotArrived,
    NotInKeep,
    Stale,
    Unkeepable,
)
from squab.keep.records import Text
from squab.web.door import Door
from squab.web.pages import ROUTERS
from squab.web.problems import Problem
from squab.web.programs import router as programs
from squab.web.rendering import STATIC, page
from squab.web.room import Room
from squab.web.searching import Searches
from squab.web.security import PROGRAM_PATHS, Guard, check_token, refuse_if_refused
from squab.web.works import Works

FOR_GOOD = "max-age=31536000, immutable"
"""Files that are asked for by their contents may be kept."""
_CUTS = (("regular", "Regular"), ("semibold", "Semibold"), ("italic", "It"))
FONTS = {name: f"SourceSansPro-{cut}.ttf" for name, cut in _CUTS}
_STATUS = {
    NotInKeep: 404, Unkeepable: 422, KeepBusy: 503, KeepFull: 507, KeepDamaged: 500, Stale: 409, NotArrived: 409,
    AlreadyAgreed: 409,
}  # fmt: skip
_log = logging.getLogger("squab.web")


class Workroom(FastAPI):
    """FastAPI behind the guard, so that even the answer to a fault carries its headers."""

    def build_middleware_stack(self) -> ASGIApp:
        """Put the guard outermost."""
        return Guard(super().build_middleware_stack(), hosts=self.state.hosts, door=self.state.door)


def create_app(
    keep: Keep, *, workers: int = 1, hosts: tuple[str, ...] | None = None, warm: bool = False, door: Door | None = None
) -> FastAPI:
    """Make the workroom over a keep.

    Parameters
    ----------
    keep
        Where jobs are kept. The application closes it when it ends.
    workers
        Processes for searches and sheets; they begin with the first search.
    hosts
        Names by which this machine may be called; None: the loopback's.
    warm
        Have a process ready before the first search is asked for.
    door
        Who may come in from the network; None where the workroom is on this machine alone.
    """

    searches = Searches(workers)

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        if warm:
            searches.warm()
        yield
        searches.close()
        keep.close()

    app = Workroom(
        title="Squab",
        version=__version__,
        lifespan=lifespan,
        docs_url=None,
        redoc_url=None,
        openapi_url=None,
        dependencies=[Depends(refuse_if_refused), Depends(check_token)],
    )
    app.state.hosts = hosts or ("127.0.0.1", "localhost", "[::1]")
    app.state.door = door
    app.state.room = Room(keep, Works(keep, searches))
    app.mount("/static", _OwnFiles(directory=STATIC))
    app.include_router(_fonts)
    for router in ROUTERS:
        app.include_router(router)
    app.include_router(programs)
    _tell_errors(app)
    return app


class _OwnFiles(StaticFiles):
    """Our own files; those named or asked for by their contents may be kept."""

    def file_response(self, *args: object, **named: object) -> Response:
        answer = super().file_response(*args, **named)  # type: ignore[arg-type]
        scope = args[2] if len(args) > 2 else named.get("scope")
        asked = isinstance(scope, dict) and (scope.get("query_string") or "/bundle/part-" in scope["path"])
        answer.headers["cache-control"] = FOR_GOOD if asked else "no-cache"
        return answer


_fonts = APIRouter()


@_fonts.get("/fonts/{name}.ttf", include_in_schema=False)
def font(name: str) -> Response:
    """One cut of the typeface in which sheets are set, too."""
    if name not in FONTS:
        raise HTTPException(404)
    with resources.as_file(resources.files("font_source_sans_pro") / "files" / FONTS[name]) as path:
        return FileResponse(path, media_type="font/ttf", headers={"cache-control": FOR_GOOD})


def _tell_errors(app: FastAPI) -> None:
    @app.exception_handler(Problem)
    async def problem(request: Request, error: Problem) -> Response:
        return _told(request, error)

    @app.exception_handler(HTTPException)
    async def http(request: Request, error: HTTPException) -> Response:
        if isinstance(error.__cause__, Problem):  # what stopped the reading of a body
            return _told(request, error.__cause__)
        return _told(request, _problem_of(error, request))

    @app.exception_handler(RequestValidationError)
    async def asked_wrongly(request: Request, error: RequestValidationError) -> Response:
        what = "; ".join(f"{'.'.join(str(p) for p in e['loc'][1:])}: {e['msg']}" for e in error.errors()[:4])
        return _told(request, Problem(422, "That could not be read", what[:400], "go back and try it another way"))

    @app.exception_handler(KeepError)
    async def keep(request: Request, error: KeepError) -> Response:
        status = next((s for kind, s in _STATUS.items() if isinstance(error, kind)), 500)
        title = "There is no such thing here" if status == 404 else "The keep could not do that"
        newer = error.newer if isinstance(error, Stale) else None
        return _told(request, Problem(status, title, error.reason, error.hint), newer)

    @app.exception_handler(SquabError)
    async def squab(request: Request, error: SquabError) -> Response:
        return _told(request, Problem(422, "That cannot be done", str(error), "nothing was changed"))

    @app.exception_handler(Exception)
    async def fault(request: Request, error: Exception) -> Response:
        _log.exception("a fault of the program at %s", request.url.path, exc_info=error)
        hint = "what was saved before is safe; go back and try again"
        return _told(request, Problem(500, "This went wrong", "a fault of the program, not of your job", hint))


def _problem_of(error: HTTPException, request: Request) -> Problem:
    if error.status_code == 404:
        return Problem(
            404, "There is no such page", f"nothing is kept at {request.url.path[:120]}", "see the list of jobs"
        )
    if error.status_code == 405:
        return Problem(405, "Not that way", f"{request.url.path[:120]} does not take this", "open it as a page")
    return Problem(error.status_code, "That could not be done", str(error.detail)[:400], "go back and try again")


def _told(request: Request, told: Problem, newer: Text | JobRecord | None = None) -> Response:
    if request.url.path.startswith(PROGRAM_PATHS):
        told_of = {"title": told.title, "reason": told.reason, "hint": told.hint}
        now = None if newer is None else {"version": newer.version, "text": newer.text}
        return JSONResponse({"problem": told_of, "newer": now}, told.status)
    part = request.headers.get("hx-request") == "true"
    answer = page(request, "problem-part.html" if part else "problem.html", told.status, problem=told)
    if part:
        answer.headers["hx-retarget"] = "#told"
        answer.headers["hx-reswap"] = "innerHTML show:none"
        answer.headers["hx-reselect"] = ".told"
    return answer
