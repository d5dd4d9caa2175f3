"""Thread: the stitch formulas, and every pass of one cushion with its own thickness."""

from __future__ import annotations

import pytest

from squab.cloth import Cloth
from squab.prices import PriceList
from squab.sew.rules import thread_words
from squab.supply import CoverNeeds, cover_needs, sewing_passes
from squab.supply.thread import (
    RUN_OVER_MM,
    Pass,
    StitchClass,
    needle_and_bobbin_mm,
    pass_thread_mm,
    stitch_length_mm,
    stitches_per_inch,
    thread_mm,
    thread_ratio,
)
from tests.unit.supply.handmade import a_construction, a_cushion, a_job, no_match

INCH = 25.4


@pytest.mark.parametrize(
    ("stitch", "stack_in", "per_inch", "thread_in"),
    [
        ("301", 0.01, 10, 2.2),
        ("101", 0.005, 9, 3.09),
        ("301", 0.12, 6, 3.44),
        ("401", 0.01, 10, 4.2),
    ],
)
def test_thread_for_an_inch_of_seam(stitch: StitchClass, stack_in: float, per_inch: float, thread_in: float) -> None:
    """301 is 2 + 2TS, 101 is 3 + 2TS, 401 is 4 + 2TS (two textile-education pages)."""
    got = thread_ratio(stitch, stack_mm=stack_in * INCH, stitch_mm=INCH / per_inch)
    assert got == pytest.approx(thread_in, abs=1e-12)


def test_overedge_takes_thread_for_its_width_and_its_stack() -> None:
    """504 is 3 + 4WS + 4TS (two textile-education pages; one S is printed away there)."""
    got = thread_ratio("504", stack_mm=0.05 * INCH, stitch_mm=INCH / 10, width_mm=0.2 * INCH)
    assert got == pytest.approx(3 + 4 * 0.2 * 10 + 4 * 0.05 * 10)


def test_lockstitch_thread_is_half_needle_and_half_bobbin() -> None:
    """220 cm of seam at 2.5 take 550 cm, 275 each (thread-consumption example, needlecraft page)."""
    stack = 0.25 * 2.0  # the stack at which the formula gives a ratio of 2.5
    assert thread_ratio("301", stack_mm=stack, stitch_mm=2.0) == 2.5
    assert needle_and_bobbin_mm(2200.0 * 2.5) == (2750.0, 2750.0)


def test_waste_is_added_as_the_measured_example_adds_it() -> None:
    """15 cm took 19.5 + 62.0 cm; 100 cm take 543.3, with 15 % waste 624.8 (apparel-science page)."""
    ratio = (19.5 + 62.0) / 15.0
    stack = (ratio - 4.0) / 2.0 * 2.5
    sewn = Pass("seam", 1000.0, stack, 2.5, "401", seams=0.0)
    assert pass_thread_mm(sewn) / 10 == pytest.approx(543.3, abs=0.1)
    assert thread_mm([sewn], waste_pct=15.0) / 10 == pytest.approx(624.8, abs=0.1)


def test_the_usual_waste_is_within_the_trade_band() -> None:
    """10 to 15 % (same page)."""
    assert 10.0 <= PriceList().thread_waste_pct <= 15.0


def test_stitches_to_the_inch() -> None:
    """2.5 mm is 10.16 (sewing question-and-answer page: 25.4 / length)."""
    assert stitches_per_inch(2.5) == pytest.approx(10.16, abs=0.01)


def test_coated_cloth_is_sewn_with_the_long_stitch_of_tentage() -> None:
    """5 to 7 stitches to the inch in 301 or 401 (Army TM 10-8340-224-13, para 5-6)."""
    coated = Cloth("v", "Coated", 1370.0, vinyl=True)
    assert 5.0 <= stitches_per_inch(stitch_length_mm(coated)) <= 7.0


def test_ordinary_cloth_is_sewn_as_closely_as_cargo_bags() -> None:
    """7 to 11 stitches to the inch with thread of size E (Army TM 10-1670-298-20&P, Table 2-3)."""
    for thickness in (0.4, 0.8, 1.1, 1.3):
        cloth = Cloth("c", "Cloth", 1370.0, thickness_mm=thickness)
        assert 7.0 <= stitches_per_inch(stitch_length_mm(cloth)) <= 11.0


def test_a_seam_runs_over_at_both_ends() -> None:
    """At least 1 in for 301 (Army TM 10-8340-224-13, 5-6a)."""
    assert RUN_OVER_MM >= INCH
    bare = Pass("seam", 100.0, 0.0, 3.0, seams=0.0)
    run_over = Pass("seam", 100.0, 0.0, 3.0, seams=1.0)
    assert pass_thread_mm(run_over) - pass_thread_mm(bare) == pytest.approx(2 * 2 * RUN_OVER_MM)


def needs_of_box(*, piped: bool) -> CoverNeeds:
    job = a_job(a_cushion(piped=piped))
    made = a_construction(job)
    return cover_needs(job, made, no_match(made), {})[0]


def test_each_ring_of_a_piped_cushion_is_sewn_three_times() -> None:
    """Cover the cord, attach it, close: two rings each, each with its own stack (plain geometry)."""
    by_name = {p.what: p for p in sewing_passes(needs_of_box(piped=True))}
    assert by_name["covering the cord"].length_mm == 2 * (2000 + 50)
    assert by_name["attaching the piping"].length_mm == 2 * 2000
    assert by_name["closing, piped"].length_mm == 2 * 2000
    stacks = [by_name[k].stack_mm for k in ("covering the cord", "attaching the piping", "closing, piped")]
    assert stacks == pytest.approx([1.6, 2.4, 3.2])
    assert by_name["zip rows"].length_mm == 2 * 775


def test_a_cushion_without_piping_is_closed_once() -> None:
    passes = sewing_passes(needs_of_box(piped=False))
    assert "covering the cord" not in {p.what for p in passes}
    assert next(p for p in passes if p.what == "closing, unpiped").length_mm == 4000.0


def test_thread_is_named_on_both_scales() -> None:
    """70 tex is 630 denier, nine times (ASTM D2260, Table 1)."""
    assert thread_words(Cloth("x", "x", 1400.0), outdoor=False) == "polyester, 70 tex (630 denier)"
    assert "40 tex (360 denier)" in thread_words(Cloth("x", "x", 1400.0, thickness_mm=0.3), outdoor=True)
