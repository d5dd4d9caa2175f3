"""The house for programs: its numbers, the shelf, the telephone answer, checking, the archive."""

from __future__ import annotations

import tempfile

from fastapi import APIRouter, Query, Request
from fastapi.responses import StreamingResponse
from starlette.concurrency import run_in_threadpool

from squab.desk import opened, opened_house, opened_shelf_cloth
from squab.findings import Severity
from squab.keep import ClothRecord, Keep
from squab.web.problems import Problem
from squab.web.programs.forms import (
    Asked,
    BroughtInForm,
    CheckedForm,
    ClothForm,
    EstimateForm,
    Hide,
    HouseForm,
    NewCloth,
    NewText,
    TextForm,
    VersionForm,
    findings_form,
    versions_form,
)
from squab.web.room import room_of
from squab.web.rough_job import Asking, reasons

router = APIRouter()
_IN_MEMORY = 4_000_000


def _keep(request: Request) -> Keep:
    return room_of(request).keep


def _readable(text: str, named: str) -> str:
    """A text that is TOML; what else is wrong with it is told beside it."""
    broken = next((f for f in opened(text, check=False).findings if f.code in ("JOB-002", "JOB-004", "JOB-005")), None)
    if broken is not None:
        raise Problem(422, f"That is no text of {named}", broken.message, broken.hint)
    return text


# --- answers without keeping anything ---


@router.post("/estimate", tags=["Answers"], summary="About how much cloth, about what price")
def estimate(request: Request, asked: Asked) -> EstimateForm:
    """Answer as on the telephone, with the workroom's own prices."""
    typed = {n: str(v) for n, v in asked.model_dump().items() if n != "one_way"}
    asking = Asking(typed | ({"one_way": "yes"} if asked.one_way else {}), _keep(request).house().text)
    answer = asking.outcome.value
    if answer is None:
        found = next(iter((*asking.said, *asking.read.findings)), None)
        reason = found.message.partition("\n")[0] if found is not None else "a size is missing"
        raise Problem(422, "That cannot be answered", reason, found.hint if found is not None else "")
    return EstimateForm(
        cloth_least_mm=answer.cloth_least_mm, cloth_most_mm=answer.cloth_most_mm, price_least=answer.price_least,
        price_most=answer.price_most, currency=answer.currency, minutes_per_cushion=answer.minutes_per_cushion,
        without_cloth_price=answer.without_cloth_price, reasons=list(reasons(answer)),
        findings=findings_form(asking.outcome.findings),
    )  # fmt: skip


@router.post("/check", tags=["Answers"], summary="Look a text through")
def check(asked: TextForm) -> CheckedForm:
    """Take a job's text through reading, construction and matching, and say what was found. Nothing is kept."""
    found = opened(asked.text).findings
    return CheckedForm(sound=not any(f.severity is Severity.STOP for f in found), findings=findings_form(found))


# --- house numbers ---


@router.get("/house", tags=["House numbers"], summary="The house numbers")
def get_house(request: Request) -> HouseForm:
    """What every new job begins with."""
    house = _keep(request).house()
    return HouseForm.of(house, opened_house(house.text).findings)


@router.put("/house", tags=["House numbers"], summary="Keep other house numbers")
def put_house(request: Request, new: NewText) -> HouseForm:
    """Keep other numbers; jobs keep those they were begun with."""
    text = _readable(new.text, "house numbers")
    other = set(opened(text, check=False).raw) - {"job", "cover", "prices"}
    if other:
        raise Problem(
            422, "That is no text of house numbers", f"it has {min(other)[:60]}", "send [job], [cover] and [prices]"
        )
    house = _keep(request).save_house(text, new.version, why="sent by a program")
    return HouseForm.of(house, opened_house(house.text).findings)


@router.get("/house/history", tags=["House numbers"], summary="What was kept when")
def house_history(request: Request) -> list[VersionForm]:
    """Every version of the house numbers, newest first."""
    return versions_form(_keep(request).house_history())


# --- the shelf ---


def _cloth(cloth: ClothRecord) -> ClothForm:
    return ClothForm.of(cloth, opened_shelf_cloth(cloth.text).findings)


def _named(text: str) -> str:
    """The name of the one cloth in a text."""
    read = opened(_readable(text, "a cloth"), check=False)
    name = (read.typed.get("cloth[0].name") or read.typed.get("cloth[0].id") or "").strip()
    if read.count("cloth") != 1 or not name:
        raise Problem(
            422, "That is no cloth", f"it has {read.count('cloth')} [[cloth]]", "send one [[cloth]] with a name"
        )
    return name[:200]


@router.get("/cloths", tags=["Cloth shelf"], summary="The cloths on the shelf")
def list_cloths(request: Request, q: str = Query("", max_length=200), hidden: bool = False) -> list[ClothForm]:
    """Cloths by name; every word of `q` is found in them."""
    return [_cloth(c) for c in _keep(request).cloths(q, hidden=hidden)]


@router.post("/cloths", status_code=201, tags=["Cloth shelf"], summary="Put a cloth on the shelf")
def add_cloth(request: Request, new: NewCloth) -> ClothForm:
    """Put a cloth on the shelf."""
    return _cloth(_keep(request).add_cloth(_named(new.text), new.text))


@router.get("/cloths/{cloth_id}", tags=["Cloth shelf"], summary="One cloth")
def get_cloth(request: Request, cloth_id: str) -> ClothForm:
    """One cloth with what was found in it."""
    return _cloth(_keep(request).cloth(cloth_id))


@router.put("/cloths/{cloth_id}", tags=["Cloth shelf"], summary="Keep another text of a cloth")
def put_cloth(request: Request, cloth_id: str, new: NewText) -> ClothForm:
    """Keep another text; jobs keep the cloth as it was put into them."""
    keep = _keep(request)
    return _cloth(keep.save_cloth(cloth_id, _named(new.text), new.text, new.version, why="sent by a program"))


@router.put("/cloths/{cloth_id}/hidden", tags=["Cloth shelf"], summary="Take a cloth off the shelf")
def hide_cloth(request: Request, cloth_id: str, hide: Hide) -> ClothForm:
    """Take a cloth off the shelf, or put it back."""
    return _cloth(_keep(request).set_cloth_hidden(cloth_id, hide.hidden))


# --- everything ---


@router.get("/archive", tags=["Archive"], summary="Everything as one zip", response_class=StreamingResponse,
            responses={200: {"content": {"application/zip": {}}}})  # fmt: skip
def get_archive(request: Request) -> StreamingResponse:
    """Jobs with their history and photographs, cloths, house numbers."""
    return StreamingResponse(_keep(request).archive_out(), media_type="application/zip")


@router.post("/archive", tags=["Archive"], summary="Bring an archive in",
             openapi_extra={"requestBody": {"required": True, "content": {"application/zip": {}}}})  # fmt: skip
async def post_archive(request: Request) -> BroughtInForm:
    """Bring an archive in: the body is the zip. Nothing here is overwritten."""
    with tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY) as file:
        async for chunk in request.stream():
            await run_in_threadpool(file.write, chunk)
        file.seek(0)
        done = await run_in_threadpool(_keep(request).archive_in, file)
    return BroughtInForm(
        added=list(done.added), same=list(done.same), beside=list(done.beside), refused=list(done.refused)
    )
