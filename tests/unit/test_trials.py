"""Short lays of a job as it could be otherwise: they end when they are asked to, and by themselves."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from squab import stages
from squab.files.jobfile import read_job
from squab.job import Job
from squab.lay.order import plan_cloth

EXAMPLES = Path(__file__).parents[2] / "examples"
STAGE = "trying what could be done otherwise"


def job_of(name: str) -> Job:
    """An example's job."""
    job = read_job((EXAMPLES / f"{name}.toml").read_bytes(), name=name).value
    assert job is not None
    return job


class Watch:
    """Counts the lays made while things are tried, and says stop after so many of them."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, most: int) -> None:
        self.trying, self.lays, self.most = False, 0, most
        laid = plan_cloth

        def counted(*args: Any, **named: Any) -> Any:
            self.lays += self.trying
            return laid(*args, **named)

        monkeypatch.setattr(stages, "plan_cloth", counted)

    def report(self, stage: str, _: float) -> None:
        self.trying = stage == STAGE

    def stop(self) -> bool:
        return self.trying and self.lays >= self.most


@pytest.mark.parametrize("most", [0, 1])
def test_a_stop_ends_what_is_tried_and_keeps_what_is_laid(monkeypatch: pytest.MonkeyPatch, most: int) -> None:
    """It once waited for every lay that was left to be tried."""
    watch = Watch(monkeypatch, most)
    worked = stages.work(job_of("round-stool"), seconds=0.3, report=watch.report, stop=watch.stop)
    assert worked.value is not None
    assert watch.lays == most
    whole = Watch(monkeypatch, 1000)
    stages.work(job_of("round-stool"), seconds=0.3, report=whole.report, stop=whole.stop)
    assert whole.lays > most


def test_no_more_is_tried_once_its_time_is_over(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(stages, "TRIALS_SECONDS", 0.0)
    watch = Watch(monkeypatch, 1000)
    assert stages.work(job_of("round-stool"), seconds=0.0, report=watch.report, stop=watch.stop).value is not None
    assert watch.lays == 0
