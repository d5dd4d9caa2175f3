"""Jobs as far as the cutting table, laid here and now so that no test waits for a search in another process."""

from __future__ import annotations

from functools import lru_cache

from squab.files.jobfile import read_job
from squab.keep import JobRecord, Keep
from squab.stages import work
from squab.web.arriving import cloths_there, note, note_flaws
from squab.web.kept_work import cut_digest, kept_of, packed
from tests.unit.web.conftest import EXAMPLES

BY_HAND = {"face": "plain to see", "pile": "none", "lot": "7", "shade": "as the sample"}
BY_TAPE = {
    "chair-pads": {"width": "1400", "length": "4 m"},
    "armchair": {"width": "53 1/2", "length": "2 yd"},
    "bay-window": {"width": "1370", "repeat_across": "420 over 5", "stripe_at": "12", "length": "5 m"},
}


def ordered(keep: Keep, name: str = "armchair") -> JobRecord:
    """An example whose cloth is ordered."""
    job = keep.add_job((EXAMPLES / f"{name}.toml").read_text())
    return keep.set_state(job.id, "ordered")


def checked_in(keep: Keep, name: str = "armchair", **tape: str) -> JobRecord:
    """An example whose cloths have come and are noted, not laid on them yet."""
    job = ordered(keep, name)
    for there in cloths_there(job):
        for what, typed in {**BY_TAPE[name], **BY_HAND, **tape}.items():
            note(keep, job.id, there.id, what, typed)
        note_flaws(keep, job.id, there.id, lambda rows: ())
    return keep.job(job.id)


def laid(keep: Keep, name: str = "armchair", **tape: str) -> JobRecord:
    """An example that can be cut."""
    job = checked_in(keep, name, **tape)
    digest, data = lay_of(job.text)
    keep.save_lay(digest, data)
    return job


@lru_cache(maxsize=8)
def lay_of(text: str) -> tuple[str, bytes]:
    """A quick lay of a text, with what it is kept under."""
    job = read_job(text.encode()).value
    assert job is not None
    worked = work(job, seconds=0.2, trials=False).value
    assert worked is not None
    return cut_digest(job), packed(kept_of(worked, seconds=0.2, whole=False))
