"""The workroom's usual numbers and the cloths on its shelf: short texts in the very words of a job file.

The house numbers are [job], [cover] and [prices] of a job that is not there; a cloth of the shelf is one
[[cloth]], under a [job] that says which unit its numbers are in. Either is read as a job by adding
what it lacks, so that what is wrong with it is told by the same findings at the same key paths.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from squab.desk.carrying import unit_of, with_units
from squab.desk.editing import edited, removed, with_value
from squab.desk.making import shelf_cloth, with_cloth
from squab.desk.reading import Opened, opened
from squab.desk.sections import body_end, stretch_of
from squab.desk.tree import EditError
from squab.findings import Finding, worst_first
from squab.units import Unit

_CUSHION = """
[[cushion]]
id = "usual"
name = "a usual cushion"
size_is = "fill"
width = "500 mm"
depth = "500 mm"
thickness = "75 mm"
"""
_CLOTH = """
[[cloth]]
id = "usual"
name = "a usual cloth"
usable_width = "1370 mm"
"""


def opened_house(text: str) -> Opened:
    """Read the house numbers: `job` is a usual cushion made by them, None where a finding stops it."""
    return _opened_with(
        text, _usual_in(unit_of(text)), lambda f: f.path.partition(".")[0] in ("job", "cover", "prices")
    )


def _usual_in(unit: Unit) -> str:
    """A usual cushion and cloth in the round numbers of a unit."""
    usual = _CLOTH + _CUSHION
    if unit == "in":
        for mm, inches in (("1370 mm", "54 in"), ("500 mm", "20 in"), ("75 mm", "3 in")):
            usual = usual.replace(mm, inches)
    return usual


def opened_shelf_cloth(text: str) -> Opened:
    """Read a cloth of the shelf: `job` is a usual cushion in it, None where a finding stops it."""
    return _opened_with(text, _CUSHION, lambda f: f.path.startswith(("cloth[0]", "job")), check=False)


def _opened_with(text: str, lacking: str, ours: Callable[[Finding], bool], *, check: bool = True) -> Opened:
    alone = opened(text, check=False)
    whole = opened(f"{text.rstrip()}\n{lacking}", check=check)
    found = worst_first(f for at_key in whole.by_path.values() for f in at_key if ours(f))
    if text.strip() and not alone.raw:  # no TOML at the moment: that is the finding
        found = alone.findings
    return replace(alone, job=whole.job, findings=found)


def new_shelf_cloth(name: str, unit: Unit) -> str:
    """The text of a cloth of which one knows the name."""
    width = "54" if unit == "in" else "1370 mm" if unit in ("cm", "m") else "1370"
    text = edited(f'[job]\nunits = "{unit}"\n\n[[cloth]]\nid = "cloth"\n', "cloth[0].name", name or "Cloth")
    return edited(text, "cloth[0].usable_width", width)


def onto_shelf(job: str, index: int) -> str:
    """The text of one cloth of a job as it stands on the shelf: with the job's unit, without the job's own bolt."""
    return f'[job]\nunits = "{unit_of(job)}"\n\n{shelf_cloth(job, index).lstrip()}'


def from_shelf(job: str, cloth: str, *, instead: int | None = None) -> str:
    """A job's text with a cloth of the shelf in it, in the job's own unit or with its own written out.

    Parameters
    ----------
    job
        The job's text.
    cloth
        The cloth's text.
    instead
        Index of a cloth of the job whose place and id it takes; None to add it. The bolt that was
        measured goes with the cloth that it was.
    """
    block = _block(with_units(cloth, unit_of(job)))
    if instead is None:
        return with_cloth(job, block)
    stretch = stretch_of(job, "cloth", instead)
    if stretch is None:
        raise EditError(f"cloth[{instead}] cannot be exchanged in this text as it stands")
    own_id = opened(job, check=False).typed.get(f"cloth[{instead}].id", "")
    end = body_end(job, stretch)
    made = f"{job[: stretch.start]}{block.rstrip()}\n{job[end:]}"
    return with_value(made, f"cloth[{instead}].id", own_id) if own_id else made


def without_lost_pins(text: str) -> str:
    """A job's text without the pins that name a line which its cloth has not, as after another cloth was put in."""
    lost = [f.path for f in opened(text, check=False).findings if f.code == "JOB-024" and ".match.pin_" in f.path]
    for path in lost:
        text = removed(text, path)
    return text


def _block(cloth: str) -> str:
    stretch = stretch_of(cloth, "cloth", 0)
    if stretch is None:
        raise EditError("this cloth's text has no [[cloth]] as it stands")
    return removed(cloth[stretch.start : body_end(cloth, stretch)], "cloth[0].bolt")
