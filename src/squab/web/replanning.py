"""Planning the rest of a cut again beside the pages: what is asked is kept first, and worked out after the answer.

One thing asked is planned at a time for each job, in a process of its own. What is asked and not
planned yet stands in the keep, so that neither a telephone that slept nor a workroom that was closed
loses it; it leaves the keep in the same breath in which the new plan comes in.
"""

from __future__ import annotations

import logging
import threading
from concurrent.futures import Future
from dataclasses import dataclass

import msgspec

from squab.cloth import Flaw
from squab.keep import Keep
from squab.web.cutting import Cutting, packed, unpacked
from squab.web.searching import Searches

_log = logging.getLogger("squab.web")


@dataclass(frozen=True)
class Again:
    """One thing that went wrong at the table: pieces cut wrong of a cloth, or flaws seen on it."""

    cloth_id: str
    spoiled: tuple[str, ...] = ()
    flaws: tuple[Flaw, ...] = ()


@dataclass(frozen=True)
class AskedAgain:
    """What is still to be planned, the oldest first, and why the last of it was not."""

    waiting: tuple[Again, ...] = ()
    trouble: str = ""


class Replanning:
    """What is planned again in one workroom."""

    def __init__(self, keep: Keep, searches: Searches) -> None:
        self._keep = keep
        self._searches = searches
        self._lock = threading.RLock()
        self._running: set[str] = set()

    def ask(self, job_id: str, asked: Again) -> None:
        """Keep what is asked, and begin with it."""
        with self._lock:
            before = self.asked(job_id)
            self._save_asked(job_id, AskedAgain((*before.waiting, asked)))
            self.follow(job_id)

    def asked(self, job_id: str) -> AskedAgain:
        """What is still to be planned of a job."""
        data = self._keep.asked(job_id)
        return msgspec.msgpack.decode(data, type=AskedAgain) if data else AskedAgain()

    def follow(self, job_id: str) -> AskedAgain:
        """See that what is asked is being planned, also after the workroom was closed; tell what is asked."""
        with self._lock:
            asked, cutting = self.asked(job_id), unpacked(self._keep.cutting(job_id))
            if asked.waiting and cutting is not None and job_id not in self._running:
                self._begin(job_id, cutting, asked.waiting[0])
                return self.asked(job_id)
            return asked

    def _begin(self, job_id: str, cutting: Cutting, asked: Again) -> None:
        done = self._done(job_id)
        self._running.add(job_id)
        try:
            future = self._searches.planned_again(packed(cutting), asked.cloth_id, done, asked.spoiled, asked.flaws)
        except BaseException:
            self._running.discard(job_id)
            raise
        future.add_done_callback(lambda f: self._end(job_id, cutting, done, f))

    def _done(self, job_id: str) -> tuple[str, ...]:
        return tuple(k for k, t in self._keep.ticks(job_id).items() if t.state == "done")

    def _end(self, job_id: str, before: Cutting, done: tuple[str, ...], future: Future[bytes | None]) -> None:
        with self._lock:
            self._running.discard(job_id)
            if future.cancelled():
                return  # the workroom closes: what was asked is begun again when it is open
            try:
                self._take(job_id, before, unpacked(future.result()), done)
            except Exception:
                _log.exception("a plan of job %s was not made", job_id)
                self._save_asked(job_id, AskedAgain((), FAULT))
            self.follow(job_id)

    def _take(self, job_id: str, before: Cutting, made: Cutting | None, done: tuple[str, ...]) -> None:
        rest = self.asked(job_id).waiting[1:]
        if made is None:
            self._save_asked(job_id, AskedAgain((), _otherwise(before)))
        elif not _moves(before, made, {*self._done(job_id)} - {*done}):
            self._keep.save_cutting(job_id, packed(made), asked=_kept(AskedAgain(rest)))

    def _save_asked(self, job_id: str, asked: AskedAgain) -> None:
        self._keep.save_asked(job_id, _kept(asked))


FAULT = (
    "The rest was not planned again: this went wrong in the program. What is ticked is kept; say once more what is "
    "wrong"
)


def _kept(asked: AskedAgain) -> bytes:
    return msgspec.msgpack.encode(asked) if asked != AskedAgain() else b""


def _moves(before: Cutting, made: Cutting, cut: set[str]) -> bool:
    """Whether a plan gives another place to what was cut while it was being made."""
    places = {p.key: p.box_mm for p in made.pieces}
    return any(p.key in cut and places.get(p.key) != p.box_mm for p in before.pieces)


def _otherwise(cutting: Cutting) -> str:
    return (
        f"The rest was not planned again: this plan was begun with Squab {cutting.made_by}, and this one makes its "
        "pieces otherwise. What is ticked is kept; mark the piece by hand, or cut the rest with the Squab it was begun "
        "with"
    )
