"""Laws of the loads: a cloth on which everything lies is never shown to be overloaded."""

from __future__ import annotations

import time

from hypothesis import given, settings
from hypothesis import strategies as st

from squab.lay._demand import with_whole_strips
from squab.lay._loads import loads_bound
from tests.laws.draws import draws
from tests.laws.test_lay_proof import Planted, planted_lays


@settings(max_examples=draws(25), deadline=None)
@given(planted_lays(whole=True, outlines=False) | planted_lays(whole=False, outlines=True), st.floats(0.7, 0.999))
def test_loads_keep_below_a_lay(planted: Planted, part: float) -> None:
    problem, length = with_whole_strips(planted.problem), planted.lay.length_mm
    assert loads_bound(problem, part * length, time.perf_counter() + 0.4) <= length + 1e-6
