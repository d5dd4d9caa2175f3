"""What has been worked out of jobs' texts, kept at hand while it is fresh.

The fast stages run as one types; the lay is searched beside, and kept by what it depends on.
"""

from __future__ import annotations

import logging
import threading
from collections import OrderedDict
from concurrent.futures import Future
from dataclasses import dataclass, replace
from functools import lru_cache
from hashlib import sha256
from typing import Any, cast

from squab.desk import Opened, opened
from squab.findings import Finding, Severity, worst_first
from squab.foam import supplied
from squab.job import Job
from squab.keep import Keep, text_digest
from squab.lay.order import cloth_cost
from squab.lay.records import ClothPlan
from squab.reasons import Told
from squab.remnants import as_shared, shares_of
from squab.stages import Prepared, prepare
from squab.supply import supply_job
from squab.web.kept_work import KeptWork, cut_digest, kept_of, names_of, packed, restored, unpacked
from squab.web.searching import Search, Searches
from squab.worked import WorkedJob

_log = logging.getLogger("squab.web")

LARGE = 40
"""More kinds of cushion than this are not worked out as one types, but when asked."""
MOST_KINDS = 1000
"""More kinds of cushion than this are not opened in the workroom at all: no answer would come in time."""
WHY_S = 12.0
"""How long is looked for what holds a lay and what would save most."""
SHORT_S = 1.5
"""How long a lay is searched while one types."""


def outcome_of(asked: Future[Told | None]) -> Told | None:
    """What was found out; None where it is not done, or came to nothing."""
    if not asked.done() or asked.cancelled() or asked.exception() is not None:
        return None
    return asked.result()


@dataclass(frozen=True)
class Reading:
    """A text as far as it can be read: what was typed, what was found, and the fast stages' values."""

    opened: Opened
    prepared: Prepared | None
    too_many: int = 0
    """How many kinds of cushion there are, where they are too many to be opened."""

    @property
    def text(self) -> str:
        """The text itself."""
        return self.opened.text

    @property
    def job(self) -> Job | None:
        """The job; None where a finding stops it."""
        return self.opened.job

    @property
    def findings(self) -> tuple[Finding, ...]:
        """Everything that was found, the worst first."""
        return self.opened.findings

    @property
    def large(self) -> bool:
        """Tell whether there are too many kinds of cushion to be worked out as one types."""
        return self.job is not None and len(self.job.cushions) > LARGE

    @property
    def stops(self) -> bool:
        """Tell whether something stands in the way of a lay."""
        if self.large:
            return any(f.severity is Severity.STOP for f in self.findings)
        return self.prepared is None or any(f.severity is Severity.STOP for f in self.findings)


@lru_cache(maxsize=48)
def reading_of(text: str) -> Reading:
    """Read a text and take it through the fast stages."""
    kinds = text.count("[[cushion]]")
    if kinds > MOST_KINDS:
        return Reading(Opened(text, None, (), {}, {}), None, too_many=kinds)
    read = opened(text, name="this job", check=False)
    if read.job is None or len(read.job.cushions) > LARGE:
        return Reading(read, None)
    made = prepare(read.job)
    return Reading(replace(read, findings=worst_first((*read.findings, *made.findings))), made.value)


@lru_cache(maxsize=24)
def prepared_alone(text: str, index: int) -> Prepared | None:
    """The fast stages' values for one cushion of a text by itself, without its neighbours."""
    job = reading_of(text).job
    if job is None or index >= len(job.cushions):
        return None
    return prepare(replace(job, cushions=(job.cushions[index],))).value


def sketched(prepared: Prepared) -> WorkedJob:
    """A job as far as the fast stages take it, for drawings that need no lay."""
    return WorkedJob(prepared.job, prepared.construction, prepared.match, {}, cast(Any, None), {}, ())


class Works:
    """Worked jobs and searches, over one keep."""

    def __init__(self, keep: Keep, searches: Searches) -> None:
        self.keep = keep
        self.searches = searches
        self._lock = threading.Lock()
        self._worked: OrderedDict[str, WorkedJob] = OrderedDict()
        self._by_text: OrderedDict[str, WorkedJob] = OrderedDict()
        self._short: dict[str, Search] = {}
        self._reasons: OrderedDict[str, Future[Told | None]] = OrderedDict()

    def worked(self, reading: Reading) -> WorkedJob | None:
        """The worked job of a text, where its lay has been searched before."""
        if reading.job is None or (reading.prepared is None and not reading.large):
            return None
        with self._lock:
            there = self._by_text.get(reading.text)
        if there is not None or reading.large:
            return there
        digest = cut_digest(reading.job)
        with self._lock:
            laid = self._worked.get(_called(reading.job, digest))
        made = _with_job(laid, reading) if laid is not None else self._restored(reading.job, digest)
        if made is not None:
            self._remember(reading, digest, made)
        return made

    def at_hand(self, reading: Reading) -> WorkedJob | None:
        """The worked job of a text where none need be proved anew, prices and customer as they may have been before."""
        with self._lock:
            there = self._by_text.get(reading.text)
            if there is None and reading.job is not None:
                there = self._worked.get(_called(reading.job, cut_digest(reading.job)))
        return there

    def kept(self, reading: Reading) -> KeptWork | None:
        """What is kept of a text's lay."""
        data = self.keep.lay_of(cut_digest(reading.job)) if reading.job is not None else None
        return None if data is None else unpacked(data)

    def search(self, reading: Reading, *, seconds: float = SHORT_S, whole: bool = False) -> Search | None:
        """Search a text's lay beside; the better of two is kept. None where nothing can be laid."""
        if reading.job is None or reading.stops:
            return None
        digest = cut_digest(reading.job)

        def done(search: Search) -> None:
            if self._keep_better(search):
                self.keep.save_picture(text_digest(reading.text), search.picture.encode())
            if reading.large and reading.job is not None:  # here it may take its time
                made = self._restored(reading.job, digest)
                if made is not None:
                    self._remember(reading, digest, made)

        return self.searches.begin(digest, reading.text, seconds=seconds, whole=whole, done=done)

    def search_short(self, job_id: str, reading: Reading) -> Search | None:
        """Search the lay that follows an edit; the one before it, of the same job, is stopped."""
        made = self.search(reading)
        self.leave_off(job_id, reading)
        with self._lock:
            if made is not None:
                self._short[job_id] = made
        return made

    def reasons(self, reading: Reading, *, begin: bool) -> Future[Told | None] | None:
        """Why a text's kept lay takes the cloth it takes: found out beside, once for each lay; None where nobody asked.

        With `begin` it is asked for, where there is a lay.
        """
        if reading.job is None or not (begin or self._reasons):
            return None
        data = self.keep.lay_of(cut_digest(reading.job))
        if data is None:
            return None
        key = _called(reading.job, sha256(data).hexdigest())
        with self._lock:  # pressed twice, it is asked once
            there = self._reasons.get(key)
            failed = there is not None and there.done() and outcome_of(there) is None
            if begin and (there is None or failed):
                there = self._reasons[key] = self.searches.reasons(reading.text, data, WHY_S)
                there.add_done_callback(_log_failure)
                self._reasons.move_to_end(key)
                while len(self._reasons) > 24:
                    self._reasons.popitem(last=False)
        return there

    def leave_off(self, job_id: str, reading: Reading) -> None:
        """Stop the search that followed an edit of a job where the lay is another by now: nobody waits for it."""
        with self._lock:
            before = self._short.get(job_id)
        if before is None or not before.running:
            return
        if reading.job is None or cut_digest(reading.job) != before.digest:
            self.searches.stop(before)

    def awaited(self, job_id: str, search: Search) -> bool:
        """Tell whether a search that follows an edit is still to be waited for: it runs, and none came after it."""
        with self._lock:
            return search.running and not search.stopped and self._short.get(job_id) is search

    def searching(self, reading: Reading, *, whole: bool) -> Search | None:
        """The last search for a text, running or done."""
        return None if reading.job is None else self.searches.latest(cut_digest(reading.job), whole=whole)

    def keep_moved(self, reading: Reading, plan: ClothPlan) -> None:
        """Keep a plan in which pieces were moved by hand, in place of the one that was searched."""
        worked, kept = self.worked(reading), self.kept(reading)
        if worked is None or kept is None or reading.job is None:
            return
        plans = {**worked.plans, plan.cloth_id: plan}
        made = kept_of(replace(worked, plans=plans), seconds=kept.seconds, whole=kept.whole)
        self.keep.save_lay(cut_digest(reading.job), packed(made))
        with self._lock:
            self._worked.clear()
            self._by_text.clear()

    def _keep_better(self, done: Search) -> bool:
        """Keep what was found, where it is better than what is kept; tell whether it was."""
        assert done.kept is not None
        before = self.keep.lay_of(done.digest)
        old = unpacked(before) if before is not None else None
        if old is not None and not _better(done.kept, old):
            return False
        self.keep.save_lay(done.digest, packed(done.kept))
        with self._lock:
            for key in [x for x in self._worked if x.startswith(done.digest)]:
                del self._worked[key]
            self._by_text.clear()
        return True

    def _restored(self, job: Job, digest: str) -> WorkedJob | None:
        data = self.keep.lay_of(digest)
        found = unpacked(data) if data is not None else None
        return None if found is None else restored(job, found)

    def _remember(self, reading: Reading, digest: str, made: WorkedJob) -> None:
        called = _called(reading.job or made.job, digest)
        with self._lock:
            for store, key in ((self._worked, called), (self._by_text, reading.text)):
                store[key] = made
                store.move_to_end(key)
                while len(store) > 24:
                    store.popitem(last=False)


def _called(job: Job, digest: str) -> str:
    """A key of a lay as long as its cushions and cloths keep their names: what is said of it names them."""
    return f"{digest} {list(names_of(job))!r}"


def _log_failure(asked: Future[Told | None]) -> None:
    if not asked.cancelled() and (error := asked.exception()) is not None:
        _log.error("what holds a lay was not found out", exc_info=error)


def _better(new: KeptWork, old: KeptWork) -> bool:
    """Less to order, then a shorter lay; of two alike the one that tried more or looked longer."""
    a, b = round(new.order_mm, 3), round(old.order_mm, 3)
    if a != b:
        return a < b
    c, d = round(new.length_mm, 1), round(old.length_mm, 1)
    return (c, not new.whole, -new.seconds) <= (d, not old.whole, -old.seconds)


def _with_job(laid: WorkedJob, reading: Reading) -> WorkedJob | None:
    """A worked job with other prices or another customer, its lay as it is."""
    job = reading.job
    assert job is not None
    job = as_shared(job, shares_of({k: p.lay for k, p in laid.plans.items()}))
    plans = {}
    for k, plan in laid.plans.items():
        price = job.cloth(k).price_per_m
        plans[k] = replace(plan, cloth_cost=None if price is None else cloth_cost(price, plan.order_mm))
    if (job.foam_sheets, job.foam_gap_mm) != (laid.job.foam_sheets, laid.job.foam_gap_mm):
        bought = supplied(job, laid.construction, laid.match, plans).value
        return None if bought is None else replace(laid, job=job, plans=plans, supply=bought.supply, foam=bought.foam)
    supply = supply_job(job, laid.construction, laid.match, plans, sheets=laid.foam).value
    return None if supply is None else replace(laid, job=job, plans=plans, supply=supply)
