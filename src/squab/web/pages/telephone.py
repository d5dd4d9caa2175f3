"""The telephone answer: three numbers, how much cloth and about what price, and why."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from squab.web.rendering import NAVIGATION, page, text_of
from squab.web.room import room_of
from squab.web.rough_job import LENGTHS, SIZE_IS, Asking, reasons, rough_text, unit_at_first

router = APIRouter(prefix="/telephone")
NAVIGATION.append(("telephone", "/telephone", "Telephone answer"))

UNIT_COOKIE = "squab_unit"
FIELDS = (
    "width", "depth", "thickness", "unit", "size_is", "count", "piping", "cloth_width", "pattern", "repeat_across",
    "repeat_along", "one_way", "cloth_price", "customer",
)  # fmt: skip


@router.get("")
def telephone(request: Request) -> Response:
    """The page, with what was typed before where the address says so."""
    return page(request, "telephone.html", here="telephone", **_answered(request, request.query_params))


@router.get("/answer")
def answer(request: Request) -> Response:
    """The answer alone, as one types."""
    typed = _typed(request.query_params)
    told = HTMLResponse(text_of(request, "telephone-answer.html", whole=False, **_answered(request, typed)))
    told.headers["hx-replace-url"] = "/telephone?" + urlencode({k: v for k, v in typed.items() if v})
    told.set_cookie(UNIT_COOKIE, "in" if typed.get("unit") == "in" else "mm", 31_536_000, samesite="strict")
    return told


@router.post("/keep")
async def keep(request: Request) -> Response:
    """Keep what was typed as a job, half-filled fields and all."""
    form = await request.form()
    typed = _typed({k: str(v) for k, v in form.items()})
    text = rough_text(typed, room_of(request).keep.house().text)
    job = room_of(request).keep.add_job(text, title="New job", why="begun on the telephone")
    return RedirectResponse(f"/jobs/{job.id}", 303)


def _typed(given: Mapping[str, str]) -> dict[str, str]:
    return {name: given.get(name, "")[:200] for name in FIELDS if name in given}


def _answered(request: Request, given: Mapping[str, str]) -> dict[str, Any]:
    typed = _typed(given)
    house = room_of(request).keep.house().text
    typed.setdefault("unit", unit_at_first(request.cookies.get(UNIT_COOKIE), house))
    asking = Asking(typed, house)
    estimate = asking.outcome.value
    return {
        "asking": asking,
        "estimate": estimate,
        "reasons": reasons(estimate) if estimate else (),
        "size_is": SIZE_IS,
        "lengths": LENGTHS,
    }
