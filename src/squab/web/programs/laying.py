"""The lay for programs: begin, look, stop; figures, sheets, and ways compared."""

from __future__ import annotations

from fastapi import APIRouter, Request

from squab.desk import Variant, figures_of, varied
from squab.draw.sheets_names import sheet_titles
from squab.keep import JobRecord
from squab.web.problems import Problem
from squab.web.programs.forms import (
    Compare,
    ComparedForm,
    FiguresForm,
    LayForm,
    Look,
    SearchForm,
    SheetForm,
    VariantForm,
    findings_form,
)
from squab.web.room import Room, room_of
from squab.web.works import Reading, reading_of
from squab.worked import WorkedJob

router = APIRouter(prefix="/jobs/{job_id}", tags=["Lay"])


def _lay(room: Room, record: JobRecord) -> LayForm:
    reading = reading_of(record.text)
    search = room.works.searching(reading, whole=True)
    found = reading.findings if search is None or search.running else (*reading.findings, *search.findings)
    return LayForm(
        version=record.version,
        search=SearchForm.of(search),
        figures=_figures(reading, room.works.worked(reading)),
        findings=findings_form(dict.fromkeys(found)),
    )


def _figures(reading: Reading, worked: WorkedJob | None) -> FiguresForm | None:
    if worked is None:
        return None
    return FiguresForm.of(figures_of("", reading.text, worked, reading.findings), worked)


@router.get("/lay", summary="How far the lay is")
def get_lay(request: Request, job_id: str) -> LayForm:
    """How far a search is, and what the job comes to once it is laid."""
    room = room_of(request)
    return _lay(room, room.keep.job(job_id))


@router.post("/lay", status_code=202, summary="Look for a lay")
def begin_lay(request: Request, job_id: str, look: Look) -> LayForm:
    """Begin to look for a lay, or go on with the search that runs; the better of two lays is kept."""
    room = room_of(request)
    record = room.keep.job(job_id)
    reading = reading_of(record.text)
    if reading.stops:
        worst = next((f for f in reading.findings), None)
        reason = f"{worst.place}: {worst.message}" if worst is not None else "something stands in its way"
        raise Problem(409, "This job cannot be laid as it stands", reason, worst.hint if worst is not None else "")
    room.works.search(reading, seconds=look.seconds, whole=True)
    return _lay(room, record)


@router.delete("/lay", summary="Stop looking")
def stop_lay(request: Request, job_id: str) -> LayForm:
    """Stop a search with its best lay so far."""
    room = room_of(request)
    record = room.keep.job(job_id)
    search = room.works.searching(reading_of(record.text), whole=True)
    if search is not None and search.running:
        room.works.searches.stop(search)
    return _lay(room, record)


@router.get("/sheets", summary="The sheets")
def sheets(request: Request, job_id: str) -> list[SheetForm]:
    """The sheets of a job that is laid, each with its address; `all.zip` beside them is every one."""
    room = room_of(request)
    worked = room.works.worked(reading_of(room.keep.job(job_id).text))
    if worked is None:
        raise Problem(409, "There is nothing to draw yet", "the job is not laid", "have it laid first")
    titles = sheet_titles(worked)
    return [
        SheetForm(name=n, title=title, about=about, address=f"/jobs/{job_id}/sheets/{n}")
        for n, (title, about) in titles.items()
    ]


@router.post("/compare", summary="Compare ways")
def compare(request: Request, job_id: str, asked: Compare) -> list[ComparedForm]:
    """Work ways of making one job beside each other. Ask again until none is running."""
    room = room_of(request)
    text = room.keep.job(job_id).text
    return [_compared(room, text, v, asked.seconds) for v in asked.variants]


def _compared(room: Room, text: str, asked: VariantForm, seconds: float) -> ComparedForm:
    made = varied(text, Variant(asked.name, tuple((e.path, e.typed) for e in asked.edits)))
    reading = reading_of(made)
    worked = room.works.worked(reading)
    search = room.works.searching(reading, whole=False) if worked is None else None
    if worked is None and search is None:
        search = room.works.search(reading, seconds=seconds)
    found = (*reading.findings, *(search.findings if search is not None and not search.running else ()))
    return ComparedForm(
        name=asked.name, text=made, search=SearchForm.of(search), figures=_figures(reading, worked),
        findings=findings_form(dict.fromkeys(found)),
    )  # fmt: skip
