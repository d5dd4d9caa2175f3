"""The lay as the browser is told it, and lays moved by hand: only the verifier says that one is sound."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest

from squab.errors import LayError
from squab.lay.records import Bound, ClothPlan, Fold, Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.plane import Placement
from squab.web.layview import fault_said, lay_view, moved_lay
from squab.words import Shore
from tests.unit.draw.drawn_jobs import worked_job

BOX = np.array([(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)])


def _plan(*placed: Placed) -> ClothPlan:
    """Two boxes, one of them matched to a stripe of 84 mm, and a strip in two parts."""
    problem = LayProblem(
        "cloth", 300.0, Lattice(84.0),
        (LayPiece("a", BOX, (0,)), LayPiece("b", BOX, (0,), LayPhase("g", 2.0, None))),
        (LayStrip("s", 0.0, 500.0, 0.0, 40.0, 0.0, 100.0, (0,)),),
        {"g": (5.0, None)}, (14.0, 0.0),
    )  # fmt: skip
    return ClothPlan(
        "cloth", problem, Lay(placed, {"g": (5.0, 0.0)}, (14.0, 0.0), 140.0), Bound(120.0, "area"), 200, 140, 200, None
    )


SOUND = (
    Placed("a", 0, 0.0, 0.0),
    Placed("b", 0, 105.0, 0.0),
    Placed("s", 0, 0.0, 60.0, (0.0, 250.0)),
    Placed("s", 0, -250.0, 100.0, (250.0, 500.0)),
)


@pytest.mark.parametrize(("words", "edge"), [("uk", "left selvedge"), ("us", "left selvage")])
def test_the_cloth_s_edge_is_named_as_on_the_job_s_sheets(words: Shore, edge: str) -> None:
    worked = worked_job()
    worked = replace(worked, job=replace(worked.job, words=words))
    assert lay_view(worked, worked.job.cloths[0].id)["selvage"] == edge


def test_a_lay_put_where_it_was_is_sound_and_as_long() -> None:
    lay, faults = moved_lay(_plan(*SOUND), [])
    assert faults == ()
    assert lay.length_mm == 140.0


def test_a_piece_moved_to_the_next_repeat_is_sound_and_the_length_follows() -> None:
    lay, faults = moved_lay(_plan(*SOUND), [Placed("b", 0, 189.0, 200.0)])
    assert faults == ()
    assert lay.length_mm == pytest.approx(260.0)


@pytest.mark.parametrize(
    ("moved", "kind"),
    [
        (Placed("b", 0, 110.0, 0.0), "phase"),
        (Placed("b", 0, 21.0, 0.0), "overlap"),
        (Placed("a", 0, 201.0, 200.0), "outside the width"),
        (Placed("a", 0, 0.0, -5.0), "before the cut end"),
        (Placed("a", 90, 60.0, 200.0), "turn"),
    ],
)
def test_a_piece_moved_where_it_may_not_lie_is_a_fault(moved: Placed, kind: str) -> None:
    _, faults = moved_lay(_plan(*SOUND), [moved])
    assert kind in {f.kind for f in faults}


def test_one_part_of_a_strip_is_moved_and_the_other_stays() -> None:
    lay, faults = moved_lay(_plan(*SOUND), [Placed("s", 0, -250.0, 150.0, (250.0, 500.0))])
    assert faults == ()
    assert [p.v_mm for p in lay.placed if p.key == "s"] == [60.0, 150.0]


def test_a_fold_and_its_layers_are_told() -> None:
    """The half by the left selvage is the one that is seen; what is cut open has no layer."""
    worked = worked_job(count=2)
    plan = worked.plans["stripe"]
    told = lay_view(worked, "stripe")
    assert told["folded"] is None
    assert {p["layer"] for p in told["pieces"]} == {""}
    left, right = (k for k, p in enumerate(told["pieces"]) if p["part"] == "seat.top")
    placed = list(plan.lay.placed)
    placed[right] = replace(placed[right], u_mm=placed[left].u_mm + 700.0)
    lay = replace(plan.lay, placed=tuple(placed))
    worked = replace(worked, plans={"stripe": replace(plan, lay=lay, fold=Fold(612.5, ((right, left),), 0.0))})
    told = lay_view(worked, "stripe")
    assert told["folded"] == 612.5
    layers = {k: p["layer"] for k, p in enumerate(told["pieces"])}
    assert worked.job.marked == "face_up"
    assert (layers.pop(left), layers.pop(right)) == ("both layers", "under layer")
    assert set(layers.values()) == {""}


def test_what_is_not_in_the_lay_cannot_be_moved() -> None:
    with pytest.raises(LayError, match="c is not in this lay"):
        moved_lay(_plan(*SOUND), [Placed("c", 0, 0.0, 0.0)])
    with pytest.raises(LayError, match="s is not in this lay"):
        moved_lay(_plan(*SOUND), [Placed("s", 0, 0.0, 0.0, (0.0, 100.0))])


def test_a_fault_is_said_with_the_makers_names() -> None:
    _, faults = moved_lay(_plan(*SOUND), [Placed("b", 0, 110.0, 0.0)])
    phase = next(f for f in faults if f.kind == "phase")
    assert fault_said(phase, {"b": "Seat, top panel"}).startswith("Seat, top panel lies 5.00 mm")


def test_everything_laid_is_told_where_it_lies() -> None:
    worked = worked_job(count=2)
    told = lay_view(worked, "stripe")
    plan = worked.plans["stripe"]
    assert len(told["pieces"]) == len(plan.lay.placed)
    assert (told["width"], told["pattern_at"]) == (1370.0, [53.0, 40.0])
    tops = [p for p in told["pieces"] if p["part"] == "seat.top"]
    assert [(p["cushion"], p["name"]) for p in tops] == [("Seat", "top (1 of 2)"), ("Seat", "top (2 of 2)")]
    assert tops[0]["phase"] == {"group": "g", "p": 0.0, "q": None, "signs": [1, 1], "at": [0.0, 0.0]}
    ends = [Placement(p["turn"], p["u"], p["v"]).points(np.asarray(p["outline"]))[:, 1].max() for p in told["pieces"]]
    assert max(ends) == pytest.approx(told["length"], abs=0.01)
    json.dumps(told, allow_nan=False)


def test_parts_of_strips_are_told_apart() -> None:
    told = [p for p in lay_view(worked_job(), "stripe")["pieces"] if p["part"] == "seat.boxing"]
    assert [p["name"] for p in told] == ["border, part 1 of 2", "border, part 2 of 2"]
    assert told[0]["part_mm"][1] == told[1]["part_mm"][0]


def test_pinned_anchors_stand_before_the_lays_own() -> None:
    worked = worked_job()
    plan = worked.plans["stripe"]
    problem = replace(plan.problem, anchors={"g": (11.0, None)})
    worked = replace(worked, plans={"stripe": replace(plan, problem=problem)})
    assert lay_view(worked, "stripe")["anchors"] == {"g": [11.0, 0.0]}


def test_a_cloth_on_which_nothing_is_laid_is_an_error() -> None:
    with pytest.raises(KeyError):
        lay_view(worked_job(laid=False), "stripe")
