"""Planning again at the table: what is cut stays, the rest is laid on what is left."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from squab.cloth import Cloth, Flaw
from squab.errors import LayError
from squab.files import read_job
from squab.lay.again import _outline, lay_again
from squab.lay.order import plan_cloth
from squab.lay.records import ClothPlan
from squab.lay.verify import verify
from squab.stages import prepare

EXAMPLES = Path(__file__).parents[3] / "examples"


@cache
def planned(name: str) -> tuple[ClothPlan, Cloth]:
    job = read_job((EXAMPLES / f"{name}.toml").read_bytes()).value
    assert job is not None
    prepared = prepare(job).value
    assert prepared is not None
    problem = prepared.problems[0]
    cloth = job.cloth(problem.cloth_id)
    plan = plan_cloth(problem, cloth, seconds=1.0).value
    assert plan is not None
    return plan, cloth


@pytest.mark.parametrize("name", ["bay-window", "round-stool", "chair-pads"])
@settings(max_examples=8, deadline=None)
@given(data=st.data())
def test_what_is_cut_stays_and_the_whole_is_sound(name: str, data: st.DataObject) -> None:
    plan, cloth = planned(name)
    count = len(plan.lay.placed)
    done = data.draw(st.sets(st.integers(0, count - 1), max_size=count))
    spoiled = (
        data.draw(st.sets(st.sampled_from(sorted(set(range(count)) - done)), max_size=3))
        if len(done) < count
        else set()
    )
    flaws = []
    if data.draw(st.booleans()):
        u, v = data.draw(st.floats(0, 1000)), data.draw(st.floats(0, plan.lay.length_mm))
        flaws = [Flaw(u, v, u + 40.0, v + 30.0)]
    outcome = lay_again(plan, cloth, done=done, spoiled=spoiled, flaws=flaws, seconds=0.2)
    again = outcome.value
    assert again is not None
    assert verify(again.problem, again.lay) == ()
    for k, (before, after) in enumerate(zip(plan.lay.placed, again.lay.placed, strict=True)):
        assert (before.key, before.part_mm) == (after.key, after.part_mm)
        marred = any(_meet(plan, k, f) for f in flaws)
        if k in done or (k not in spoiled and not marred):
            assert before == after
        for j in spoiled:
            gone = shapely.Polygon(_outline(plan.problem, plan.lay.placed[j])).buffer(-1e-3)
            assert k in done or k not in spoiled or not _cut(again, k).intersects(gone)
        if k not in done:
            assert not any(_meet(again, k, f) for f in flaws)


def _cut(plan: ClothPlan, k: int) -> shapely.Polygon:
    return shapely.Polygon(_outline(plan.problem, plan.lay.placed[k])).buffer(-1e-3)


def _meet(plan: ClothPlan, k: int, flaw: Flaw) -> bool:
    return bool(_cut(plan, k).intersects(shapely.box(flaw.u0_mm, flaw.v0_mm, flaw.u1_mm, flaw.v1_mm)))


def test_a_spoiled_panel_is_said_in_cloth() -> None:
    plan, cloth = planned("bay-window")
    largest = max(range(len(plan.lay.placed)), key=lambda k: _cut(plan, k).area)
    outcome = lay_again(plan, cloth, done=set(range(len(plan.lay.placed))) - {largest}, spoiled={largest}, seconds=0.2)
    assert outcome.value is not None
    assert outcome.value.lay.length_mm > plan.lay.length_mm
    assert [f.code for f in outcome.findings] == ["LAY-014"]
    assert "more cloth than before" in outcome.findings[0].message


def test_laying_all_the_rest_anew_takes_no_more_than_moving_least() -> None:
    plan, cloth = planned("bay-window")
    lowest = sorted(
        range(len(plan.lay.placed)), key=lambda k: float(_outline(plan.problem, plan.lay.placed[k])[:, 1].max())
    )
    done, bad = set(lowest[:5]), lowest[5]
    least = lay_again(plan, cloth, done=done, spoiled={bad}, seconds=0.3).value
    anew = lay_again(plan, cloth, done=done, spoiled={bad}, move="all", seconds=3.0).value
    assert least is not None
    assert anew is not None
    assert verify(anew.problem, anew.lay) == ()
    assert anew.lay.length_mm <= least.lay.length_mm + 50.0


def test_a_flaw_on_a_cut_piece_is_said_and_the_piece_stays() -> None:
    plan, cloth = planned("bay-window")
    u, v = _cut(plan, 0).centroid.coords[0]
    outcome = lay_again(plan, cloth, done={0}, flaws=[Flaw(u - 5, v - 5, u + 5, v + 5)], seconds=0.2)
    assert outcome.findings[0].code == "LAY-012"
    assert outcome.value is not None
    assert outcome.value.lay.placed[0] == plan.lay.placed[0]


def test_numbers_that_are_not_the_lays_are_refused() -> None:
    plan, cloth = planned("bay-window")
    with pytest.raises(LayError, match="none of them"):
        lay_again(plan, cloth, done={9999}, seconds=0.1)
    with pytest.raises(LayError, match="both"):
        lay_again(plan, cloth, done={1}, spoiled={1}, seconds=0.1)
