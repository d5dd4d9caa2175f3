"""Today's board: each job once, under what it waits for, warned of only where it matters, moved on and back."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from fastapi.testclient import TestClient

from squab.keep import JobLine, Keep, State
from squab.web.board_view import Board, BoardJob, board_of, held
from tests.unit.web.bench_jobs import checked_in, laid, ordered

TODAY = date(2031, 5, 14)


def line(state: State, days: int | None, title: str = "A job") -> JobLine:
    """A job that is promised so many days from now."""
    now = datetime(2031, 5, 14, tzinfo=UTC)
    promised = None if days is None else TODAY + timedelta(days=days)
    return JobLine(id=title, title=title, customer="c", reference="", state=state, promised=promised, created=now,
                   changed=now, version=1, digest="d", cushions=1, cloths=("cloth",), arrived=False, agreed=None,
                   hidden=False)  # fmt: skip


def board(*lines: JobLine, **cut: tuple[int, int]) -> Board:
    """The board of that day."""
    return board_of(lines, TODAY, cut)


def test_every_job_stands_once_under_what_it_waits_for() -> None:
    """Those that are handed over are gone."""
    states: tuple[State, ...] = ("asked", "quoted", "agreed", "ordered", "arrived", "cut", "sewn", "handed over")
    made = board(*(line(s, None, s) for s in states))
    groups = (made.for_price, made.for_answer, made.waiting, made.ready, made.sew, made.for_handing)
    found = [tuple(j.line.state for j in group) for group in groups]
    assert found == [("asked",), ("quoted",), ("agreed", "ordered"), ("arrived",), ("cut",), ("sewn",)]
    assert made.due == ()


@pytest.mark.parametrize(
    ("state", "days", "warned"),
    [
        ("ordered", 8, ""), ("ordered", 7, "cloth has not been checked in"), ("agreed", 3, "cloth is not ordered"),
        ("arrived", 3, ""), ("arrived", 2, "not cut yet"), ("cut", 3, ""), ("cut", 1, "not sewn yet"),
        ("cut", -1, "1 day late"), ("arrived", -3, "3 days late"), ("sewn", -3, ""), ("asked", -5, ""),
        ("quoted", 0, "wanted today, and the price is not agreed"), ("asked", 7, "no price is made"), ("asked", 8, ""),
        ("cut", None, ""),
    ],
)  # fmt: skip
def test_a_warning_only_where_it_matters(state: State, days: int | None, warned: str) -> None:
    """Nothing that is well in time or sewn is warned of, nor a day gone by for which nobody ordered."""
    (job,) = (j for group in _groups(board(line(state, days))) for j in group)
    assert (warned in job.warning) if warned else job.warning == ""


def _groups(made: Board) -> tuple[tuple[BoardJob, ...], ...]:
    return (made.for_price, made.for_answer, made.waiting, made.ready, made.sew, made.for_handing)


def test_the_most_urgent_comes_first_and_the_undated_last() -> None:
    """In each group and among what is due."""
    made = board(line("cut", None, "none"), line("cut", 20, "late"), line("cut", -1, "past"), line("cut", 0, "today"))
    assert [j.line.id for j in made.sew] == ["past", "today", "late", "none"]
    assert [j.line.id for j in made.due] == ["past", "today"]
    assert [j.due for j in made.due] == ["1 day late", "today"]


@pytest.mark.parametrize("state", ["asked", "quoted"])
def test_a_day_noted_with_an_enquiry_is_due_until_it_has_gone_by(state: State) -> None:
    """Its price or answer is wanted before; afterwards it is not late, for nobody ordered it."""
    made = board(line(state, 14, "far"), line(state, 15, "further"), line(state, 0, "today"), line(state, -1, "gone"),
                 line("cut", -1, "late"))  # fmt: skip
    assert [j.line.title for j in made.due] == ["late", "today", "far"]
    gone = next(j for j in (*made.for_price, *made.for_answer) if j.line.title == "gone")
    assert gone.due == "1 day ago"


def test_a_hold_says_its_reason() -> None:
    """The cloth not checked in, pieces not cut."""
    assert "not been checked in" in held(line("ordered", 1), "arrived", {"cloth": ("width",)}, (0, 0))
    assert held(line("arrived", 1), "cut", {}, (3, 8)) == "3 of 8 pieces are ticked as cut"
    assert held(line("arrived", 1), "cut", {}, (0, 0)) == ""
    assert held(line("sewn", 1), "cut", {}, (8, 8)) == ""


def test_the_board_shows_each_with_its_next_step(client: TestClient, keep: Keep) -> None:
    """A picture, the customer, the day, one button."""
    job = ordered(keep)
    keep.set_promised(job.id, keep.now().astimezone().date())
    page = client.get("/board").text
    assert f'href="/jobs/{job.id}/arrival">Check the cloth in' in page
    assert f"/jobs/{job.id}/small.svg" in page
    assert "The librarian" in page
    assert "promised today, and its cloth has not been checked in" in page


def test_a_job_is_moved_on_and_back(client: TestClient, keep: Keep) -> None:
    """The way back stands on the page that comes."""
    job = checked_in(keep)
    keep.set_state(job.id, "cut")
    answer = client.post(f"/board/{job.id}/move", data={"to": "sewn"})
    assert answer.status_code == 303
    assert keep.job(job.id).state == "sewn"
    page = client.get(answer.headers["location"]).text
    assert "stands at sewn now" in page
    assert 'value="cut">Back to cut' in page
    client.post(f"/board/{job.id}/move", data={"to": "cut"})
    assert keep.job(job.id).state == "cut"


def test_a_held_job_stays_and_says_why(client: TestClient, keep: Keep) -> None:
    """With the way out as a button."""
    job = ordered(keep)
    answer = client.post(f"/board/{job.id}/move", data={"to": "cut"})
    assert answer.status_code == 409
    assert "has not been checked in" in answer.text
    assert f'href="/jobs/{job.id}/arrival"' in answer.text
    assert keep.job(job.id).state == "ordered"


def test_a_job_half_cut_is_held(client: TestClient, keep: Keep) -> None:
    """Until the rest is ticked."""
    job = laid(keep)
    client.post(f"/jobs/{job.id}/table/begin")
    assert "Go on cutting" in client.get("/board").text
    answer = client.post(f"/board/{job.id}/move", data={"to": "cut"})
    assert answer.status_code == 409
    assert "0 of 8 pieces are ticked as cut" in answer.text


def test_nonsense_is_told(client: TestClient, keep: Keep) -> None:
    """A state there is not, a job there is not."""
    job = ordered(keep)
    assert client.post(f"/board/{job.id}/move", data={"to": "lost"}).status_code == 422
    assert client.post("/board/nowhere/move", data={"to": "cut"}).status_code == 404
    assert client.get("/board", params={"moved": "<b>", "was": "<i>"}).status_code == 200


def test_an_empty_board_says_so(client: TestClient) -> None:
    """In words."""
    assert "Nothing is waiting to be done" in client.get("/board").text
