"""Jobs for programs: list, keep, edit, stand, agree, history."""

from __future__ import annotations

from decimal import Decimal

from fastapi import APIRouter, Query, Request

from squab.desk import agreed_figures, brought_in, differences, edited
from squab.keep import JobRecord, Keep, Sort, State
from squab.web.problems import Problem
from squab.web.programs.forms import (
    Agree,
    ChangeForm,
    Edits,
    Hide,
    JobForm,
    JobLineForm,
    NewJob,
    NewText,
    OldText,
    Promise,
    Standing,
    TickForm,
    VersionForm,
    versions_form,
)
from squab.web.room import room_of
from squab.web.works import reading_of

router = APIRouter(prefix="/jobs", tags=["Jobs"])


def _keep(request: Request) -> Keep:
    return room_of(request).keep


def _form(job: JobRecord) -> JobForm:
    return JobForm.of(job, reading_of(job.text).findings)


def readable(text: str) -> str:
    """A text that can be kept: TOML with something of a job in it, finished or not.

    Raises
    ------
    Problem
        If it is none.
    """
    outcome = brought_in(text.encode("utf-8", "surrogatepass"), name="the text")
    if outcome.value is None:
        found = outcome.findings[0]
        raise Problem(422, "That is no job file", found.message, found.hint)
    return outcome.value


@router.get("", summary="List jobs")
def list_jobs(
    request: Request,
    q: str = Query("", max_length=200, description="Words to be found in title, customer, reference or cloths."),
    sort: Sort = "changed",
    state: list[State] = Query([], description="Only jobs that stand so."),  # noqa: B008
    hidden: bool = False,
) -> list[JobLineForm]:
    """Every job, without its text."""
    return [JobLineForm.line(j) for j in _keep(request).jobs(q, sort, states=state, hidden=hidden)]


@router.post("", status_code=201, summary="Keep a new job")
def add_job(request: Request, new: NewJob) -> JobForm:
    """Keep a job, finished or not; its findings come with it."""
    return _form(_keep(request).add_job(readable(new.text), title=new.title, why="sent by a program"))


@router.get("/{job_id}", summary="One job")
def get_job(request: Request, job_id: str) -> JobForm:
    """A job with its text and what was found in it."""
    return _form(_keep(request).job(job_id))


@router.put("/{job_id}/text", summary="Keep another text")
def put_text(request: Request, job_id: str, new: NewText) -> JobForm:
    """Put another text in the place of a job's; the one before stays in its history."""
    return _form(_keep(request).save_job(job_id, readable(new.text), new.version, why="sent by a program"))


@router.post("/{job_id}/edits", summary="Set keys")
def edit_job(request: Request, job_id: str, asked: Edits) -> JobForm:
    """Set keys of a job's text, as fields of its page do; all else stays as it was typed."""
    keep = _keep(request)
    text = keep.job(job_id).text
    for edit in asked.edits:
        text = edited(text, edit.path, edit.typed)
    return _form(keep.save_job(job_id, text, asked.version))


@router.put("/{job_id}/state", summary="Say where a job stands")
def put_state(request: Request, job_id: str, standing: Standing) -> JobForm:
    """Say where it stands; from `arrived` on, its cloth must have been checked in."""
    return _form(_keep(request).set_state(job_id, standing.state))


@router.put("/{job_id}/promised", summary="Promise a job for a day")
def put_promised(request: Request, job_id: str, promise: Promise) -> JobForm:
    """Note the day a job is promised for, or none."""
    return _form(_keep(request).set_promised(job_id, promise.promised))


@router.put("/{job_id}/hidden", summary="Take a job off the list")
def put_hidden(request: Request, job_id: str, hide: Hide) -> JobForm:
    """Take a job off the list, or put it back."""
    return _form(_keep(request).set_hidden(job_id, hide.hidden))


@router.post("/{job_id}/agreed", summary="Agree a price")
def agree(request: Request, job_id: str, asked: Agree) -> JobForm:
    """Freeze the figures of a job that is laid, as they stand."""
    room = room_of(request)
    record = room.keep.job(job_id)
    worked = room.works.worked(reading_of(record.text))
    if worked is None:
        raise Problem(409, "There is no price to agree yet", "the job is not laid", "have it laid first")
    price = worked.supply.price
    if Decimal(asked.total) != price.total:
        reason = f"{asked.total} was sent, and the job comes to {price.total} {price.currency} now"
        raise Problem(409, "The price has changed since", reason, "look at its figures again")
    figures = agreed_figures(worked)
    return _form(room.keep.agree(job_id, figures, anew=asked.anew, expected_version=record.version))


@router.get("/{job_id}/history", summary="What was kept when")
def history(request: Request, job_id: str) -> list[VersionForm]:
    """Every version of a job, newest first."""
    return versions_form(_keep(request).history(job_id))


@router.get("/{job_id}/history/{version}", summary="A job as it was")
def old_text(request: Request, job_id: str, version: int) -> OldText:
    """A job's text as it was, and by key what is different now."""
    keep = _keep(request)
    text = keep.text_at(job_id, version)
    changes = differences(text, keep.job(job_id).text)
    told = [ChangeForm(path=p, before=old, after=new) for p, old, new in changes]
    return OldText(version=version, text=text, different_now=told)


@router.post("/{job_id}/history/{version}/restore", summary="Go back")
def restore(request: Request, job_id: str, version: int) -> JobForm:
    """Bring an earlier text back as a new version; nothing in between is lost."""
    return _form(_keep(request).restore(job_id, version))


@router.get("/{job_id}/ticks", summary="What is cut")
def ticks(request: Request, job_id: str) -> list[TickForm]:
    """The pieces that were ticked at the cutting table."""
    keep = _keep(request)
    keep.job(job_id)
    return [TickForm(piece=t.piece, state=t.state, at=t.at, note=t.note) for t in keep.ticks(job_id).values()]
