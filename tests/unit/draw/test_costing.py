"""The maker's own costing: what cloth is in the price, and what is there already."""

from __future__ import annotations

from dataclasses import replace

import pymupdf

from squab.draw.sheets import costing_pdf
from squab.files import read_job
from squab.stages import work

STOOLS = """
[job]
name = "Two stools"
[[cloth]]
id = "ticking"
name = "Wickle ticking"
usable_width = 1370
price_per_m = 28
{remnants}
[[cushion]]
id = "stool"
width = 400
depth = 400
thickness = 60
count = 2
"""
REMNANT = '[[cloth.remnants]]\nlength = 900\nwidth = 1370\nlot = "7"'


def _costing(text: str, *, in_hand: bool = False) -> tuple[str, list[tuple[str, float]]]:
    """The sheet's words, and the length of each lay by its cloth, m."""
    job = read_job(text.encode()).value
    assert job is not None
    if in_hand:
        job = replace(job, cloths=tuple(replace(c, in_hand=True) for c in job.cloths))
    worked = work(job, seconds=0.5, trials=False).value
    assert worked is not None
    pages = pymupdf.open(stream=costing_pdf(worked))
    said = " ".join(" ".join(page.get_text() for page in pages).replace("\u00a0", " ").split())
    return said, [(k, p.lay.length_mm / 1000) for k, p in worked.plans.items()]


def test_a_remnant_is_no_silent_nought() -> None:
    """It is named with what is used of it, and what as much would cost by the metre at 28."""
    said, lengths = _costing(STOOLS.format(remnants=REMNANT))
    used = dict(lengths)["ticking-remnant-1"]
    assert "Cloth that is there already" in said
    assert "Wickle ticking, remnant 1. A remnant: " in said
    assert f"would cost £{28 * used:.2f}." in said
    unpriced, _ = _costing(STOOLS.format(remnants=REMNANT).replace("price_per_m = 28", ""))
    assert "Cloth that is there already" in unpriced
    assert "would cost" not in unpriced


def test_cloth_in_hand_is_told_too_and_bought_cloth_is_not() -> None:
    """The customer's own, or the workroom's: the price has nothing of it."""
    mine, _ = _costing(STOOLS.format(remnants=""), in_hand=True)
    assert "Wickle ticking. In hand: " in mine
    bought, _ = _costing(STOOLS.format(remnants=""))
    assert "there already" not in bought
