"""Today's board: what waits for cloth, what is ready to cut, what is due, who waits; and each job's next step."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse, Response
from starlette.concurrency import run_in_threadpool

from squab.keep import STATES, JobLine, Keep, NotArrived
from squab.web.board_view import board_of, held
from squab.web.cutting import PlanError, done_count, unpacked
from squab.web.problems import Problem
from squab.web.rendering import NAVIGATION, page
from squab.web.room import room_of
from squab.web.small import smalls

router = APIRouter(prefix="/board")
NAVIGATION.append(("board", "/board", "Today's board"))


@router.get("")
def board(request: Request, moved: str = "", was: str = "") -> Response:
    """The board."""
    keep = room_of(request).keep
    lines = keep.jobs("", "promised")
    today = keep.now().astimezone().date()
    made = board_of(lines, today, {j.id: cut_of(keep, j) for j in lines if j.state == "arrived"})
    just = next((j for j in lines if j.id == moved), None) if was in STATES else None
    pictures = smalls(keep, made.jobs)
    return page(request, "board.html", here="board", board=made, pictures=pictures, just=just, was=was, states=STATES)


def cut_of(keep: Keep, line: JobLine) -> tuple[int, int]:
    """How many pieces of a job are cut, of how many; (0, 0) before cutting has begun."""
    try:
        cutting = unpacked(keep.cutting(line.id))
    except PlanError:  # told at its own table
        return 0, 0
    return (0, 0) if cutting is None else (done_count(cutting, keep.ticks(line.id)), len(cutting.pieces))


@router.post("/{job_id}/move")
async def move(request: Request, job_id: str) -> Response:
    """Move a job on, or back; a hold says why and what to do."""
    to = str((await request.form()).get("to", ""))
    return await run_in_threadpool(_move, room_of(request).keep, job_id, to)


def _move(keep: Keep, job_id: str, to: str) -> Response:
    if to not in STATES:
        raise Problem(
            422, "A job cannot stand there", f"it was to stand at {to[:40]!r}", f"it may be {', '.join(STATES)}"
        )
    record = keep.job(job_id)
    why = held(record, to, record.missing, cut_of(keep, record))
    if why:
        address, words = _way_out(job_id, bool(record.missing))
        raise Problem(409, f"{record.title} is held at {record.state}", why, words, address)
    try:
        keep.set_state(job_id, to)
    except NotArrived as error:  # measured anew in another tab meanwhile
        raise Problem(409, f"{record.title} is held at {record.state}", error.reason, error.hint) from error
    return RedirectResponse(f"/board?moved={job_id}&was={record.state.replace(' ', '%20')}", 303)


def _way_out(job_id: str, cloth: bool) -> tuple[str, str]:
    if cloth:
        return f"/jobs/{job_id}/arrival", "check the cloth in"
    return f"/jobs/{job_id}/table", "cut and tick the rest at the table"
