"""Keep other pages and other machines out of the workroom, even on one's own machine.

A page of another site may send requests to this machine, and a name of another site may be made
to lead here. So each request must name this machine as its host; what changes anything must come
from a page of our own and carry its token; and no page of ours runs or shows what is not ours.
Where the workroom is opened to its own network, whoever asks from there must have been let in.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Mapping
from urllib.parse import urlsplit

from fastapi import Request
from fastapi.responses import PlainTextResponse, RedirectResponse, Response
from starlette.datastructures import Headers, MutableHeaders
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from squab.web.door import COME_IN, COOKIE, WITHOUT_CODE, Door, is_own
from squab.web.problems import Problem

LOOPBACK = ("127.0.0.1", "localhost", "[::1]")
TOKEN_COOKIE = "squab_token"
TOKEN_FIELD = "token"
TOKEN_HEADER = "x-squab-token"
PROGRAM_HEADER = "X-Squab-Program"
"""A page of another site cannot send a header of its own making without asking first, and nothing here says yes."""
PROGRAM_PATHS = "/api/"
FROM_NETWORK = "squab.from_network"
"""What the guard notes of a request."""
SAFE = frozenset({"GET", "HEAD", "OPTIONS"})
MOST_FORM_BYTES = 9_000_000
"""A job file has eight million bytes at most."""
MOST_UPLOAD_BYTES: Mapping[str, int] = {"/photos": 26_000_000, "/archive": 2_000_000_000}
"""More than that is taken where a path ends so."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
DRAWING_POLICY = "default-src 'none'; style-src 'unsafe-inline'; sandbox"
"""For drawings, which are shown as pictures: they may style themselves and do nothing else."""
PAPER_POLICY = "frame-ancestors 'none'"
"""For PDF, which the browser shows in a page of its own."""


class Guard:
    """Outermost: hosts, origins, sizes, and the headers of every answer."""

    def __init__(self, app: ASGIApp, *, hosts: tuple[str, ...] = LOOPBACK, door: Door | None = None) -> None:
        self.app = app
        self.hosts = frozenset(hosts)
        self.door = door

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request through, or answer it with a refusal."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        scope[FROM_NETWORK] = self.door is not None and not is_own((scope.get("client") or ("",))[0])
        refused = self._refusal(scope, headers)
        if refused is not None:
            scope["squab.refused"] = refused
        if scope[FROM_NETWORK] and not self._may_come_in(scope):
            await _shown_the_door(scope)(scope, receive, _with_headers(send, scope))
            return
        most = _most_bytes(scope["path"])
        await self.app(scope, _bounded(receive, most), _with_headers(send, scope))

    def _refusal(self, scope: Scope, headers: Headers) -> Problem | None:
        host = headers.get("host", "")
        if not self._is_ours(host, from_network=scope[FROM_NETWORK]):
            return Problem(
                421, "Not this workroom", f"the request asks for {host[:80]!r}", "open the address that squab printed"
            )
        if scope["method"] in SAFE:
            return None
        origin = headers.get("origin")
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return Problem(403, "Not from here", "another page sent this", "do it from a page of the workroom")
        if origin is not None and urlsplit(origin).netloc != host:
            return Problem(403, "Not from here", f"{origin[:80]} sent this", "do it from a page of the workroom")
        size = headers.get("content-length", "0")
        if not size.isdigit() or int(size) > _most_bytes(scope["path"]):
            return too_large(_most_bytes(scope["path"]))
        return None

    def _is_ours(self, host: str, *, from_network: bool) -> bool:
        """Whether we are called by a name of ours: from the network by its one address and port."""
        if from_network and self.door is not None:
            return host == self.door.host
        return _name_of(host) in self.hosts

    def _may_come_in(self, scope: Scope) -> bool:
        """Whether a request from the network is answered by more than how to come in."""
        path = scope["path"]
        if path == COME_IN or path.startswith(WITHOUT_CODE[1:]):
            return True
        carried = Request(scope).cookies.get(COOKIE, "")
        return self.door is not None and self.door.is_let_in(carried)


def _shown_the_door(scope: Scope) -> Response:
    """What a telephone is answered that was not let in: where to give its code."""
    if scope["method"] in SAFE and not scope["path"].startswith(PROGRAM_PATHS):
        return RedirectResponse(COME_IN, 303)
    words = f"This telephone or program was not let in: open {COME_IN} and give the code that the workroom shows.\n"
    return PlainTextResponse(words, 401)


def from_network(request: Request) -> bool:
    """Whether a request comes from elsewhere than this machine."""
    return bool(request.scope.get(FROM_NETWORK))


def too_large(most: int) -> Problem:
    """The refusal of an upload beyond its limit."""
    hint = "nothing was changed; choose a smaller file"
    return Problem(413, "That is too large", f"at most {most / 1e6:.0f} MB are taken here", hint)


def refuse_if_refused(request: Request) -> None:
    """Raise what the guard found, inside the application, where it becomes a page.

    Raises
    ------
    Problem
        If the guard refuses the request.
    """
    refused = request.scope.get("squab.refused")
    if refused is not None:
        raise refused


async def check_token(request: Request) -> None:
    """See that what changes anything carries the token of our own pages.

    Raises
    ------
    Problem
        If it does not.
    """
    if request.method in SAFE:
        return
    if request.url.path.startswith(PROGRAM_PATHS):
        _check_program(request)
        return
    ours = request.cookies.get(TOKEN_COOKIE, "")
    given = request.headers.get(TOKEN_HEADER)
    if given is None:
        given = str((await request.form()).get(TOKEN_FIELD, ""))
    if len(ours) < 20 or not hmac.compare_digest(ours.encode(), given.encode()):
        raise Problem(
            403,
            "This page has waited too long",
            "it does not carry this workroom's token",
            "open the page again, and do it there; nothing was changed",
        )


def _check_program(request: Request) -> None:
    """A program says its name in a header, which no form of another page can send; or carries the token."""
    ours = request.cookies.get(TOKEN_COOKIE, "")
    given = request.headers.get(TOKEN_HEADER, "")
    if request.headers.get(PROGRAM_HEADER, "").strip():
        return
    if len(ours) < 20 or not hmac.compare_digest(ours.encode(), given.encode()):
        raise Problem(
            403,
            "Which program?",
            f"the header {PROGRAM_HEADER} is missing",
            "send it with the program's name; nothing was changed",
        )


def token_of(request: Request) -> str:
    """The token for the forms of a page: the browser's own, or a new one."""
    ours = request.cookies.get(TOKEN_COOKIE, "")
    if len(ours) < 20:
        ours = getattr(request.state, "token", "") or secrets.token_urlsafe(24)
        request.state.token = ours
    return ours


def _name_of(host: str) -> str:
    """A host's name without its port; `[::1]` keeps its brackets."""
    if host.startswith("["):
        return host.partition("]")[0] + "]"
    return host.partition(":")[0].lower()


def _most_bytes(path: str) -> int:
    return next((most for tail, most in MOST_UPLOAD_BYTES.items() if path.endswith(tail)), MOST_FORM_BYTES)


def _bounded(receive: Receive, most: int) -> Receive:
    """Stop reading a body that is longer than it may be, whatever it said of itself."""
    read = 0

    async def bounded() -> Message:
        nonlocal read
        message = await receive()
        read += len(message.get("body", b""))
        if read > most:
            raise too_large(most)
        return message

    return bounded


def _with_headers(send: Send, scope: Scope) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            kind = headers.get("content-type", "")
            headers["content-security-policy"] = _policy(kind)
            headers["x-content-type-options"] = "nosniff"
            headers["referrer-policy"] = "same-origin"
            headers["cross-origin-resource-policy"] = "same-origin"
            headers["cross-origin-opener-policy"] = "same-origin"
            headers["permissions-policy"] = "camera=(), geolocation=(), microphone=()"
            if "cache-control" not in headers:
                headers["cache-control"] = "no-store"
            token = scope.get("state", {}).get("token")
            if token:
                headers.append("set-cookie", f"{TOKEN_COOKIE}={token}; Path=/; HttpOnly; SameSite=Strict")
        await send(message)

    return sending


def _policy(kind: str) -> str:
    if kind.startswith("image/svg"):
        return DRAWING_POLICY
    return PAPER_POLICY if kind.startswith("application/pdf") else POLICY
