"""What runs in a process of its own: searching a lay, drawing a sheet."""

from __future__ import annotations

import logging
import os
import signal
import threading
import time
from functools import lru_cache
from importlib import import_module
from typing import Any

from squab.cloth import Flaw
from squab.draw.small import small_picture_svg
from squab.files.jobfile import read_job
from squab.findings import Finding
from squab.reasons import Told
from squab.stages import work
from squab.web.kept_work import KeptWork, kept_of, restored, unpacked
from squab.worked import WorkedJob

GIVES_WAY = 8
"""How far the niceness of such a process stands over the workroom's own."""
_shared: dict[str, Any] = {}


def begin(progress: Any, stops: Any) -> None:
    """Make a process ready: deaf to Ctrl-C, which is the workroom's, and gone when the workroom is.

    It gives way to the workroom itself: a page that is waited for comes before a lay that is searched.
    """
    if hasattr(os, "nice"):
        os.nice(GIVES_WAY)
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    _shared.update(progress=progress, stops=stops)
    threading.Thread(target=_leave_with, args=(os.getppid(), stops), daemon=True).start()


def _leave_with(parent: int, stops: Any) -> None:
    while os.getppid() == parent and not stops[len(stops) - 1]:
        time.sleep(0.2)
    os._exit(0)


def ready() -> None:
    """Load what a search and a sheet need."""
    for name in ("squab.lay.bound", "squab.lay.search", "squab.draw.sheets"):
        import_module(name)


def search(text: str, seconds: float, whole: bool, slot: int) -> tuple[KeptWork | None, tuple[Finding, ...], str]:
    """Take a job through every stage; give what is worth keeping of it, its findings, and its small picture."""
    read = read_job(text.encode())
    if read.value is None:
        return None, read.findings, ""

    def tell(stage: str, length_mm: float) -> None:
        # told only when a lay got shorter, so seldom enough; none may be left out, for it may be the last
        _shared["progress"].put((slot, stage, length_mm))

    outcome = work(read.value, seconds=seconds, trials=whole, report=tell, stop=lambda: bool(_shared["stops"][slot]))
    if outcome.value is None:
        return None, outcome.findings, ""
    kept = kept_of(outcome.value, seconds=seconds, whole=whole)
    try:
        picture = small_picture_svg(outcome.value, outcome.value.job.cushions[0].id)
    except Exception:  # a lay is never lost for a picture: the list draws it anew
        logging.getLogger(__name__).exception("the small picture could not be drawn")
        picture = ""
    return kept, outcome.findings, picture


def plan_again(
    kept: bytes, cloth_id: str, done: tuple[str, ...], spoiled: tuple[str, ...], flaws: tuple[Flaw, ...]
) -> bytes | None:
    """Lay the rest of a plan that is being cut; None where this Squab no longer makes its pieces."""
    from squab.web import cutting

    before = cutting.unpacked(kept)
    made = cutting.planned_again(before, cloth_id, done=done, spoiled=spoiled, flaws=flaws) if before else None
    return None if made is None else cutting.packed(made)


def why(text: str, kept: bytes, seconds: float) -> Told | None:
    """Say what holds a kept lay, what each match costs, what would save most; None where it fits the job no more."""
    from squab.reasons import reasons, told

    try:
        worked = _worked(text, kept, "a4")
    except KeyError:
        return None
    return told(reasons(worked, seconds=seconds), worked)


def draw(text: str, kept: bytes, name: str, paper: str, figures: dict[str, str] | None) -> bytes:
    """Draw one sheet by its file name, or the whole folder as a zip archive where the name ends so.

    Raises
    ------
    KeyError
        If the job has no such sheet.
    """
    from squab.web.sheets import folder_zip, sheet

    worked = _worked(text, kept, paper)
    return folder_zip(worked, figures) if name.endswith(".zip") else sheet(worked, name, figures)


@lru_cache(maxsize=4)
def _worked(text: str, kept: bytes, paper: str) -> WorkedJob:
    from dataclasses import replace

    job, found = read_job(text.encode()).value, unpacked(kept)
    worked = restored(replace(job, paper=paper), found) if job and found else None  # type: ignore[arg-type]
    if worked is None:
        raise KeyError("the lay no longer fits the job")
    return worked
