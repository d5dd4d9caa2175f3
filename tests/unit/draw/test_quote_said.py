"""The quote tells what will not match, also between cushions."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import cast

import squab
from squab.construct import construct
from squab.draw.figures import Figures
from squab.draw.sheets_common import given_as, typed_sizes
from squab.draw.sheets_matching import matching_said
from squab.match import plan_match
from squab.worked import WorkedJob

EXAMPLES = Path(__file__).resolve().parents[3] / "examples"


def work_of(example: str) -> WorkedJob:
    """An example as far as what it says of the match goes."""
    job = squab.read_job((EXAMPLES / f"{example}.toml").read_bytes()).value
    assert job is not None
    construction = construct(job).value
    assert construction is not None
    match = plan_match(job, construction).value
    assert match is not None
    return cast(WorkedJob, SimpleNamespace(job=job, construction=construction, match=match))


def said_of(worked: WorkedJob, cushion: int) -> dict[str, str]:
    return dict(matching_said(worked, worked.job.cushions[cushion], Figures.of(worked.job)))


def test_a_mitre_that_cannot_meet_is_told_to_the_customer() -> None:
    """An uneven stripe, all one way, stops at the mitres of a bay: the quote says so for each cushion."""
    worked = work_of("bay-window")
    assert worked.match.mitres_apart == (("left", "middle"), ("middle", "right"))
    assert said_of(worked, 1)["Will not meet at"] == "the mitre with Left wing and the mitre with Right wing"


def test_a_front_that_meets_across_only_is_told_so() -> None:
    """The benches' boxing is cut wherever along the bolt it falls: the customer reads that it is out up and down."""
    said = said_of(work_of("benches"), 0)
    assert "the front, top edge (sideways only; up and down it does not)" in said["Pattern meets at"]


def test_the_makers_own_fraction_is_set_but_never_reformatted() -> None:
    """23 1/2 comes back as twenty-three and a half, 2/4 stays two quarters, and the foot says what was measured."""
    job = squab.read_job((EXAMPLES / "armchair.toml").read_bytes()).value
    assert job is not None
    assert typed_sizes(job.cushions[0]) == "width 23\u20091\u20442, depth 21, thickness 4"
    assert typed_sizes(replace(job.cushions[0], typed=(("width", "2/4"),))) == "width 2\u20444"
    hyphened = replace(job.cushions[0], typed=(("width", '23-3/4"'), ("offset", "-3/4")))
    assert typed_sizes(hyphened) == 'width 23\u20093\u20444", offset \u22123\u20444'
    assert given_as(job) == "Sizes were given as the seat, the hole the cushion goes in."
