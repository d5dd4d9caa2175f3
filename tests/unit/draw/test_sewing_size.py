"""The sewing order can be read at the machine."""

from __future__ import annotations

from pathlib import Path

import pymupdf
import pytest

from squab.draw.sheets import sewing_order_pdf
from squab.files.jobfile import read_job
from squab.stages import work

EXAMPLES = Path(__file__).parents[3] / "examples"


@pytest.mark.parametrize("name", ["bay-window", "benches"])
def test_the_longest_sewing_orders_stay_on_one_page_in_ten_point(name: str) -> None:
    path = EXAMPLES / f"{name}.toml"
    job = read_job(path.read_bytes(), name=path.name).value
    assert job is not None
    worked = work(job, seconds=0.4, trials=False).value
    assert worked is not None
    for cushion in job.cushions:
        with pymupdf.open(stream=sewing_order_pdf(worked, cushion.id)) as pdf:
            assert len(pdf) == 1
            spans = [s for b in pdf[0].get_text("dict")["blocks"] for line in b.get("lines", []) for s in line["spans"]]
        text = max(
            {round(s["size"], 2) for s in spans},
            key=lambda z: sum(len(s["text"]) for s in spans if s["size"] - z < 0.01 and z - s["size"] < 0.01),
        )
        assert text >= 10.0
