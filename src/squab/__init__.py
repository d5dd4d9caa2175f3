"""Squab: from tape measure to cut, matched, priced covers for loose seat cushions.

>>> import squab
>>> outcome = squab.read_job(b'')
>>> outcome.stops
True

`read_job` reads a job file, `check` finds what is wrong with a job, `work` takes it through
every stage, `estimate_job` answers roughly and at once, `all_sheets` draws a worked job. Each
hands back a value together with its findings. Nothing heavy is imported before it is used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from squab.draw.sheets import all_sheets
    from squab.files.jobfile import read_job
    from squab.findings import Finding, Outcome, Severity
    from squab.job import Job
    from squab.lay.aims import improve
    from squab.lay.blocks import cut_from_sheets
    from squab.lay.double import cut_double
    from squab.lay.holding import what_holds
    from squab.reasons import Reasons, reasons
    from squab.remnants import share_out
    from squab.rough import Estimate, estimate_job
    from squab.stages import check, work
    from squab.units import parse_length
    from squab.worked import WorkedJob

__version__ = "0.1.0"

_HOMES = {
    "Estimate": "squab.rough",
    "Finding": "squab.findings",
    "Job": "squab.job",
    "Outcome": "squab.findings",
    "Reasons": "squab.reasons",
    "Severity": "squab.findings",
    "WorkedJob": "squab.worked",
    "all_sheets": "squab.draw.sheets",
    "check": "squab.stages",
    "cut_double": "squab.lay.double",
    "cut_from_sheets": "squab.lay.blocks",
    "estimate_job": "squab.rough",
    "improve": "squab.lay.aims",
    "parse_length": "squab.units",
    "read_job": "squab.files.jobfile",
    "reasons": "squab.reasons",
    "share_out": "squab.remnants",
    "what_holds": "squab.lay.holding",
    "work": "squab.stages",
}

__all__ = [
    "Estimate",
    "Finding",
    "Job",
    "Outcome",
    "Reasons",
    "Severity",
    "WorkedJob",
    "all_sheets",
    "check",
    "cut_double",
    "cut_from_sheets",
    "estimate_job",
    "improve",
    "parse_length",
    "read_job",
    "reasons",
    "share_out",
    "what_holds",
    "work",
]


def __getattr__(name: str) -> Any:
    """Import a public name from its home when it is first asked for."""
    if name not in _HOMES:
        raise AttributeError(f"squab has no {name!r}")
    return getattr(import_module(_HOMES[name]), name)
