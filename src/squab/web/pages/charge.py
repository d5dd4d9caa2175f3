"""Agreeing a price: its figures are frozen as they stand."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from squab.desk import agreed_figures
from squab.keep import AlreadyAgreed
from squab.web.pages.job import view_of
from squab.web.problems import Problem
from squab.web.rendering import by_htmx, page
from squab.web.room import room_of

router = APIRouter(prefix="/jobs/{job_id}")


@router.post("/agree")
async def agree(request: Request, job_id: str) -> Response:
    """Freeze the price that the page showed."""
    form = await request.form()
    return await run_in_threadpool(_agree, request, job_id, str(form.get("total", "")), bool(form.get("anew")))


def _agree(request: Request, job_id: str, total: str, anew: bool) -> Response:
    keep = room_of(request).keep
    view = view_of(request, keep.job(job_id))
    if view.worked is None:
        raise Problem(409, "There is no price to agree yet", "the job is not laid", "mend what stands in the way first")
    price = view.worked.supply.price
    try:
        same = Decimal(total) == price.total
    except InvalidOperation:
        same = False
    if not same:
        reason = f"this page shows {total[:20]}, and the job as it is kept now comes to {price.total} {price.currency}"
        raise Problem(409, "The price has changed since", reason, "open the job again, and agree to what it shows")
    try:
        record = keep.agree(job_id, agreed_figures(view.worked), anew=anew)
    except AlreadyAgreed as error:
        raise Problem(409, "A price was agreed before", error.reason, "open the job again") from error
    if not by_htmx(request):
        return RedirectResponse(f"/jobs/{job_id}#charge", 303)
    return page(request, "job.html", here="jobs", view=view_of(request, record))
