"""A job that has been through the stages: what every sheet is drawn from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from squab.construct.records import Construction
from squab.findings import Finding
from squab.job import Job
from squab.lay.blocks import SheetsToBuy
from squab.lay.records import ClothPlan
from squab.match.records import MatchPlan
from squab.sew.records import SewingOrder
from squab.supply.records import Supply


@dataclass(frozen=True)
class WorkedJob:
    """A job with the value of every stage. `plans` is by cloth id, `sewing` by cushion id."""

    job: Job
    construction: Construction
    match: MatchPlan
    plans: Mapping[str, ClothPlan]
    supply: Supply
    sewing: Mapping[str, SewingOrder]
    findings: tuple[Finding, ...]
    foam: tuple[SheetsToBuy, ...] = ()
    """Sheets of foam to buy and how blocks are cut from them, where the job names such sheets."""
