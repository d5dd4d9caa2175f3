"""Today's board: which job is where, what comes next for it, and who waits. No pages, no store."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from squab.draw.figures import written_date
from squab.keep import STATES, JobLine, State

SOON_DAYS = 14
"""What is promised within so many days is listed as due."""
LATE_CLOTH_DAYS = 7
"""Cloth that is not here so shortly before the day is warned of: it has still to be cut and sewn."""
_NO_ORDER: Mapping[State, str] = {"asked": "no price is made", "quoted": "the price is not agreed"}
"""Where nobody has ordered yet: a day that goes by makes nothing late."""
LATE_SEWING_DAYS = 2
"""So shortly before the day it should be under the needle."""


_WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


@dataclass(frozen=True)
class Step:
    """The next thing to do with a job: a place to do it at, or a state to move it on to."""

    words: str
    address: str = ""
    to: State | None = None


@dataclass(frozen=True)
class BoardJob:
    """A job on the board."""

    line: JobLine
    step: Step | None
    days: int | None
    """Days to the day promised; negative when it is past."""
    cut: int = 0
    of: int = 0

    @property
    def due(self) -> str:
        """The day promised as one says it."""
        if self.days is None:
            return ""
        if self.days < 0 and self.line.state in _NO_ORDER:
            return "1 day ago" if self.days == -1 else f"{-self.days} days ago"
        if self.days < 0:
            return "1 day late" if self.days == -1 else f"{-self.days} days late"
        return {0: "today", 1: "tomorrow"}.get(self.days, f"in {self.days} days")

    @property
    def when(self) -> str:
        """The day promised with its weekday; its year where that is another."""
        day = self.line.promised
        if day is None:
            return ""
        written = written_date(day)
        near = self.days is not None and abs(self.days) < 200
        return f"{_WEEKDAYS[day.weekday()]} {written.rpartition(' ')[0] if near else written}"

    @property
    def standing(self) -> str:
        """Where it stands, with how far the cutting is."""
        if self.of and self.line.state == "arrived":
            return f"{self.cut} of {self.of} cut"
        told: Mapping[State, str] = {
            "asked": "price to be made", "quoted": "waits for their answer", "agreed": "cloth to be ordered",
            "ordered": "cloth ordered", "arrived": "ready to cut",
        }  # fmt: skip
        return told.get(self.line.state, self.line.state)

    @property
    def warning(self) -> str:
        """What is wrong with where it stands today; nothing where nothing is."""
        if self.days is None or self.line.state == "handed over":
            return ""
        if self.line.state in _NO_ORDER:
            near = 0 <= self.days <= LATE_CLOTH_DAYS
            return f"wanted {self.due}, and {_NO_ORDER[self.line.state]}" if near else ""
        stands = STATES.index(self.line.state)
        if self.days < 0:
            return f"{self.due}: tell the customer" if stands < STATES.index("sewn") else ""
        if self.days <= LATE_CLOTH_DAYS and stands < STATES.index("ordered"):
            return f"promised {self.due}, and its cloth is not ordered"
        if self.days <= LATE_CLOTH_DAYS and stands < STATES.index("arrived"):
            return f"promised {self.due}, and its cloth has not been checked in"
        if self.days <= LATE_SEWING_DAYS and stands < STATES.index("cut"):
            return f"promised {self.due}, and not cut yet"
        if self.days <= LATE_SEWING_DAYS and stands < STATES.index("sewn"):
            return f"promised {self.due}, and not sewn yet"
        return ""

    @property
    def before(self) -> State | None:
        """The state one back."""
        at = STATES.index(self.line.state)
        return STATES[at - 1] if at else None


@dataclass(frozen=True)
class Board:
    """Everything on the board, each job once; `due` names again those whose day is near."""

    today: date
    ready: tuple[BoardJob, ...]
    sew: tuple[BoardJob, ...]
    waiting: tuple[BoardJob, ...]
    for_price: tuple[BoardJob, ...]
    for_answer: tuple[BoardJob, ...]
    for_handing: tuple[BoardJob, ...]
    due: tuple[BoardJob, ...]

    @property
    def jobs(self) -> tuple[JobLine, ...]:
        """Every job on it, as they stand from its head down."""
        parts = (self.ready, self.waiting, self.sew, self.for_handing, self.for_price, self.for_answer)
        return tuple(one.line for part in parts for one in part)

    @property
    def empty(self) -> bool:
        """Tell whether nothing is to be done."""
        return not self.jobs


def board_of(lines: Iterable[JobLine], today: date, cutting: Mapping[str, tuple[int, int]]) -> Board:
    """Sort jobs onto the board; `cutting` says by job how many pieces are cut, of how many."""
    jobs = sorted((_job(line, today, cutting.get(line.id, (0, 0))) for line in lines), key=_urgent)
    jobs = [j for j in jobs if j.line.state != "handed over"]

    def at(*states: State) -> tuple[BoardJob, ...]:
        return tuple(j for j in jobs if j.line.state in states)

    # A day noted with an enquiry counts: cloth takes a week to come. Once it has gone by, it was never promised.
    soon = [(j, j.days) for j in jobs if j.days is not None and j.days <= SOON_DAYS]
    due = [j for j, days in soon if days >= 0 or j.line.state not in _NO_ORDER]
    return Board(
        today, at("arrived"), at("cut"), at("agreed", "ordered"), at("asked"), at("quoted"), at("sewn"), tuple(due)
    )


def _urgent(job: BoardJob) -> tuple[bool, int, str]:
    return (job.days is None, job.days or 0, job.line.title.casefold())


def _job(line: JobLine, today: date, cut: tuple[int, int]) -> BoardJob:
    days = None if line.promised is None else (line.promised - today).days
    return BoardJob(line, _step(line, cut), days, *cut)


def _step(line: JobLine, cut: tuple[int, int]) -> Step | None:
    home = f"/jobs/{line.id}"
    steps: Mapping[State, Step] = {
        "asked": Step("Make the price", f"{home}#charge"),
        "quoted": Step("Agree the price", f"{home}#charge"),
        "agreed": Step("Cloth is ordered", to="ordered"),
        "ordered": Step("Check the cloth in", f"{home}/arrival"),
        "arrived": Step("Go on cutting" if cut[1] else "Cut it", f"{home}/table"),
        "cut": Step("It is sewn", to="sewn"),
        "sewn": Step("Handed over", to="handed over"),
    }
    return steps.get(line.state)


def held(line: JobLine, to: State, missing: Mapping[str, Sequence[str]], cut: tuple[int, int]) -> str:
    """Why a job cannot be moved there: its cloth is not checked in, pieces are not cut; "" where it may."""
    there = STATES.index(to)
    if there >= STATES.index("arrived") and missing:
        what = "; ".join(f"{cloth}: {', '.join(names)}" for cloth, names in missing.items())
        return f"its cloth has not been checked in. Not noted yet: {what}"
    if there >= STATES.index("cut") and cut[1] and cut[0] < cut[1]:
        return f"{cut[0]} of {cut[1]} pieces are ticked as cut"
    return ""
