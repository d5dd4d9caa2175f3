"""The small picture of a job, as lists show it: kept by the digest of the job's text, drawn once it is asked for.

The first of a list stand in its page; hundreds of drawings of their own would hold it up. The others are
asked for as they come near, which `static/page.js` sees to, and the browser itself where no script runs.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup

from squab.draw.small import MARK, small_picture_svg
from squab.keep import JobLine, JobRecord, Keep, text_digest
from squab.web.drawing import outline_svg
from squab.web.room import Room
from squab.web.works import prepared_alone, reading_of, sketched

AT_ONCE = 12
"""How many of a list stand in its page: as many lines as a large screen shows."""


@dataclass(frozen=True)
class Small:
    """A job's small picture: where it is asked for, and itself where it stands in the page."""

    address: str
    drawn: Markup


def smalls(keep: Keep, jobs: Sequence[JobLine]) -> dict[str, Small]:
    """The small pictures of a list by the ids of its jobs, in the list's order."""
    there = keep.pictures([j.digest for j in jobs[:AT_ONCE]])
    drawn = keep.pictures_drawn([j.digest for j in jobs])
    made = {}
    for at, job in enumerate(jobs):
        address = f"/jobs/{job.id}/small.svg?of={_name(job, drawn.get(job.digest, ''))}"
        made[job.id] = Small(address, _in_page(there.get(job.digest) if at < AT_ONCE else None, job.id))
    return made


def _name(job: JobLine, drawn: str) -> str:
    """A name for a drawing that no other drawing has; one that is not drawn yet has none."""
    return f"{job.digest[:10]}-{drawn}" if drawn else ""


def _in_page(drawn: bytes | None, job_id: str) -> Markup:
    """A drawing of our own writing, its ids told apart from those of the other drawings of the page."""
    return Markup("" if drawn is None else drawn.decode().replace(MARK, f"p{job_id}-"))


def small_of(room: Room, record: JobRecord) -> tuple[str, str]:
    """A job's small picture, drawn now where it is not kept yet, and the name it has as it stands."""
    kept = room.keep.pictures([record.digest]).get(record.digest)
    drawn = _draw(room, record) if kept is None else kept.decode()
    when = room.keep.pictures_drawn([record.digest]).get(record.digest, "")
    return drawn.replace(MARK, "p"), _name(record, when)


def _draw(room: Room, record: JobRecord) -> str:
    """Draw and keep it: with the lay where that is at hand, else as the pieces match."""
    reading = reading_of(record.text)
    drawn = outline_svg(None)
    prepared = reading.prepared or prepared_alone(record.text, 0)
    if prepared is not None and reading.job is not None:
        worked = room.works.at_hand(reading) or sketched(prepared)
        drawn = small_picture_svg(worked, worked.job.cushions[0].id)
    elif reading.job is not None:
        drawn = outline_svg(reading.job.cushions[0].outline)
    room.keep.save_picture(text_digest(record.text), drawn.encode())
    return drawn
