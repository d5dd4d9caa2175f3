"""Long work beside the pages: lays are searched and sheets drawn in processes of their own.

A search tells how far it is and may be stopped with its best lay so far; both go through what the
processes share from their beginning: one queue of progress, and one flag for each search. A pool
that dies (out of memory, killed) is replaced by a new one.
"""

from __future__ import annotations

import itertools
import multiprocessing
import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import dataclass, field
from typing import Any

from squab.cloth import Flaw
from squab.findings import Finding
from squab.reasons import Told
from squab.web.bench import begin, draw, plan_again, ready, search, why
from squab.web.kept_work import KeptWork

SLOTS = 64
"""Flags for searches; the one behind them says that the workroom closes."""
FORGOTTEN_AFTER_S = 600.0


@dataclass
class Search:
    """One search: what it is for, how far it is, and what came of it."""

    digest: str
    seconds: float
    whole: bool
    slot: int
    began: float = field(default_factory=time.monotonic)
    stage: str = "waiting for a free process"
    length_mm: float = 0.0
    changes: int = 0
    stopped: bool = False
    ended: float | None = None
    kept: KeptWork | None = None
    picture: str = ""
    """The job's small picture with this lay."""
    findings: tuple[Finding, ...] = ()
    fault: str = ""

    @property
    def running(self) -> bool:
        """Tell whether it is not done yet."""
        return self.ended is None

    @property
    def elapsed_s(self) -> float:
        """How long it has run, or ran."""
        return (self.ended or time.monotonic()) - self.began


class Searches:
    """The searches of one workroom."""

    def __init__(self, workers: int) -> None:
        self.workers = workers
        self._context = multiprocessing.get_context("spawn")
        self._lock = threading.Lock()
        self._pool: ProcessPoolExecutor | None = None
        self._progress: Any = None
        self._stops: Any = None
        self._numbers = itertools.count()
        self._by_slot: dict[int, Search] = {}
        self._latest: dict[tuple[str, bool], Search] = {}

    def begin(
        self, digest: str, text: str, *, seconds: float, whole: bool, done: Callable[[Search], None] | None = None
    ) -> Search:
        """Begin a search of a job's lay, or hand on the one that runs already for the same.

        Parameters
        ----------
        digest
            Of what the lay depends on.
        text
            The job's text.
        seconds
            How long to look.
        whole
            Try cures and surrenders too.
        done
            Called with the search when it is done, from a thread of its own.
        """
        with self._lock:
            there = self._latest.get((digest, whole))
            if there is not None and there.running:
                return there
            pool = self._ready()
            slot = next(self._numbers) % SLOTS
            self._stops[slot] = 0
            made = Search(digest, seconds, whole, slot)
            self._by_slot[slot] = made
            self._latest[digest, whole] = made
            self._forget()
            future = pool.submit(search, text, seconds, whole, slot)
        future.add_done_callback(lambda f: self._finish(made, f, done))
        return made

    def latest(self, digest: str, *, whole: bool) -> Search | None:
        """The last search for a digest, running or done."""
        return self._latest.get((digest, whole))

    def stop(self, asked: Search) -> None:
        """Have a search stop with its best lay so far."""
        with self._lock:
            asked.stopped = True
            if self._stops is not None and self._by_slot.get(asked.slot) is asked:
                self._stops[asked.slot] = 1

    def drawn(self, text: str, kept: bytes, name: str, paper: str, figures: dict[str, str] | None) -> Future[bytes]:
        """Draw one sheet of a worked job, or all of them as one archive."""
        with self._lock:
            return self._ready().submit(draw, text, kept, name, paper, figures)

    def reasons(self, text: str, kept: bytes, seconds: float) -> Future[Told | None]:
        """Find out why a job takes the cloth it takes, in a process of its own."""
        with self._lock:
            future = self._ready().submit(why, text, kept, seconds)
        future.add_done_callback(self._look_at_pool)
        return future

    def planned_again(
        self, cutting: bytes, cloth_id: str, done: tuple[str, ...], spoiled: tuple[str, ...], flaws: tuple[Flaw, ...]
    ) -> Future[bytes | None]:
        """Lay the rest of a plan that is being cut (`squab.web.cutting.planned_again`) in a process of its own."""
        with self._lock:
            future = self._ready().submit(plan_again, cutting, cloth_id, done, spoiled, flaws)
        future.add_done_callback(self._look_at_pool)
        return future

    def _look_at_pool(self, future: Future[Any]) -> None:
        """A pool that died is replaced by a new one."""
        if not future.cancelled() and isinstance(future.exception(), BrokenProcessPool):
            with self._lock:
                self._pool = None

    def warm(self) -> None:
        """Have a process made ready, its libraries loaded, before the first search is asked for."""
        with self._lock:
            self._ready().submit(ready)

    def close(self) -> None:
        """End every search and its process at once: what was to be kept is kept already."""
        with self._lock:
            pool, self._pool = self._pool, None
            if pool is None:
                return
            self._stops[SLOTS] = 1
            self._progress.put(None)
        pool.shutdown(wait=True, cancel_futures=True)

    def _ready(self) -> ProcessPoolExecutor:
        if self._pool is None:
            self._progress = self._context.Queue()
            self._stops = self._context.Array("b", SLOTS + 1, lock=False)
            self._pool = ProcessPoolExecutor(
                self.workers + 1, mp_context=self._context, initializer=begin, initargs=(self._progress, self._stops)
            )
            threading.Thread(target=self._listen, args=(self._progress,), daemon=True).start()
        return self._pool

    def _listen(self, progress: Any) -> None:
        while True:
            try:
                told = progress.get()
            except (EOFError, OSError):
                return
            if told is None:
                return
            slot, stage, length_mm = told
            of = self._by_slot.get(slot)
            if of is not None:
                of.stage, of.length_mm, of.changes = stage, length_mm or of.length_mm, of.changes + 1

    def _finish(self, made: Search, future: Future[Any], done: Callable[[Search], None] | None) -> None:
        try:
            made.kept, made.findings, made.picture = future.result()
        except BrokenProcessPool:
            made.fault = "the process that searched was ended from outside"
            with self._lock:
                self._pool = None
        except BaseException as error:
            made.fault = f"a fault of the program: {type(error).__name__}"
        if done is not None and made.kept is not None:
            with suppress(Exception):
                done(made)
        made.ended = time.monotonic()

    def _forget(self) -> None:
        now = time.monotonic()
        for key, of in list(self._latest.items()):
            if of.ended is not None and now - of.ended > FORGOTTEN_AFTER_S:
                del self._latest[key]
