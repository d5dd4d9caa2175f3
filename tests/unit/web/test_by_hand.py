"""What is done by hand reaches the job's text, or is told why it cannot."""

from __future__ import annotations

import json
from typing import Any

import pytest
from fastapi.testclient import TestClient

from squab.cloth import Cloth
from squab.desk import EditError
from squab.files.jobfile import read_job
from squab.keep import Keep
from squab.lay.records import ClothPlan
from squab.lay.verify import verify
from squab.stages import work
from squab.web.by_hand import laid_round, moved, outlined, slid, told
from tests.unit.web.conftest import EXAMPLES

PARTS = {"hx-request": "true"}
BAY = (EXAMPLES / "bay-window.toml").read_text()
PADS = (EXAMPLES / "chair-pads.toml").read_text()


def pin(**more: Any) -> dict[str, Any]:
    """Where a stripe was slid to."""
    return {
        "pins": [
            {"cushion": "left", "cloth": "ticking", "across_mm": 12.5, "along_mm": None, "across_line": None} | more
        ]
    }


def test_a_stripe_slid_to_no_line_gives_the_place_a_name() -> None:
    """The job can be read, and the pattern is pinned there."""
    job = read_job(slid(BAY, pin()).encode()).value
    assert job is not None
    at = job.cushions[0].cover.matching.pin_across
    assert at == "set for left"
    assert job.cloths[0].pattern.line_mm(at) == pytest.approx(12.5)


def test_a_stripe_slid_to_a_line_is_pinned_by_its_name() -> None:
    """No line is made up beside it."""
    text = slid(BAY, pin(across_line="centre of sage"))
    assert 'pin_across = "centre of sage"' in text
    assert "set for" not in text
    assert read_job(text.encode()).value is not None


def test_a_drawn_outline_takes_the_place_of_the_sizes_before() -> None:
    """Of the one cushion, all else byte for byte as it was."""
    sides = [{"side": "front", "to": [430, 0]}, {"side": "right", "to": ["400", 405], "corner": 20},
             {"side": "back", "to": [30, 405]}, {"side": "left", "to": [0, 0]}]  # fmt: skip
    text = outlined(PADS, 0, {"shape": "run", "run": sides, "hidden": ["back"]})
    job = read_job(text.encode()).value
    assert job is not None
    assert job.cushions[0].shape == "run"
    x0, y0, x1, y1 = job.cushions[0].outline.bounds()
    assert (x1 - x0, y1 - y0) == pytest.approx((430, 405))
    square = outlined(text, 0, {"shape": "rectangle", "width": 400, "depth": "390", "hidden": []})
    again = read_job(square.encode()).value
    assert again is not None
    assert again.cushions[0].outline.bounds() == pytest.approx((0, 0, 400, 390))
    assert "thickness = 45" in square


@pytest.mark.parametrize("field", ["", "null", "[]", "{", "[" * 5000, '"x"', "{}" + " " * 300_000])
def test_what_did_not_arrive_whole_is_told(field: str) -> None:
    """Whatever came instead."""
    with pytest.raises(EditError, match="did not arrive whole"):
        told(field)


@pytest.mark.parametrize(
    "keys", [{}, {"shape": "run", "run": [{"side": True}]}, {"shape": "run", "run": [[[[[1]]]]]}, {"shape": "disc"},
             {"shape": "run", "run": [{"to": [1, 2]}] * 1000}]
)  # fmt: skip
def test_an_outline_of_nonsense_is_refused(keys: dict[str, Any]) -> None:
    """Before it reaches the text."""
    with pytest.raises(EditError):
        outlined(PADS, 0, keys)


def armchair_laid() -> tuple[Cloth, ClothPlan, list[dict[str, Any]]]:
    """The armchair's cloth, its plan, and where its pieces lie as the browser tells it."""
    job = read_job((EXAMPLES / "armchair.toml").read_bytes()).value
    assert job is not None
    worked = work(job, seconds=0.2, trials=False).value
    assert worked is not None
    plan = worked.plans["plain"]
    names = ("key", "part_mm", "turn_deg", "u_mm", "v_mm")
    return job.cloth("plain"), plan, [{name: getattr(p, name) for name in names} for p in plan.lay.placed]


def test_moved_pieces_are_judged_by_the_verifier() -> None:
    """Where they were is sound; on top of one another they are refused by name."""
    _, plan, rows = armchair_laid()
    assert moved(plan, {"moved": rows}, {}).lay == plan.lay
    away = moved(plan, {"moved": [rows[0] | {"v_mm": rows[0]["v_mm"] + 5000.0}]}, {})
    assert away.order_mm > plan.order_mm
    with pytest.raises(EditError, match="cannot lie so"):
        moved(plan, {"moved": [rows[0] | {"u_mm": rows[1]["u_mm"], "v_mm": rows[1]["v_mm"]}]}, {})
    away_from_it: list[Any] = [None, [{}], [None], [rows[0] | {"key": "no"}], [rows[0] | {"u_mm": "x"}]]
    for nonsense in away_from_it:
        with pytest.raises(EditError):
            moved(plan, {"moved": nonsense}, {})


def test_the_rest_is_laid_anew_round_what_is_pinned() -> None:
    """A piece thrown far away comes back; what is pinned has not moved; the verifier agrees."""
    cloth, plan, rows = armchair_laid()
    away = {"moved": [rows[0] | {"v_mm": rows[0]["v_mm"] + 5000.0}], "pinned": rows[1:]}
    again = laid_round(plan, away, {}, cloth, seconds=0.3)
    assert verify(again.problem, again.lay) == ()
    assert again.lay.placed[1:] == plan.lay.placed[1:]
    assert again.lay.length_mm < plan.lay.length_mm + 4000.0
    with pytest.raises(EditError, match="no piece is pinned"):
        laid_round(plan, {"moved": [], "pinned": []}, {}, cloth, seconds=0.2)
    with pytest.raises(EditError, match="no shorter lay"):
        laid_round(plan, {"moved": [], "pinned": rows}, {}, cloth, seconds=0.2)


def test_the_page_takes_them(client: TestClient, keep: Keep) -> None:
    """Each with the version it was drawn over."""
    job = keep.add_job(BAY)
    answer = client.post(f"/jobs/{job.id}/slide", data={"slid": json.dumps(pin()), "now": "1", "whole": "yes"}, headers=PARTS)  # noqa: E501  # fmt: skip
    assert answer.status_code == 200
    assert "set for left" in keep.job(job.id).text
    assert client.get(f"/jobs/{job.id}/outline.json?cushion=1").json()["name"] == "Middle"
    drawn = {
        "outline": json.dumps({"shape": "rectangle", "width": 500, "depth": 400, "hidden": ["back"]}),
        "cushion": "0",
    }
    assert client.post(f"/jobs/{job.id}/outline", data={**drawn, "now": "1"}, headers=PARTS).status_code == 409
    assert client.post(f"/jobs/{job.id}/outline", data={**drawn, "now": "2", "whole": "yes"}, headers=PARTS).status_code == 200  # noqa: E501  # fmt: skip
    assert client.post(f"/jobs/{job.id}/lay/moved", data={"moved": "{}"}, headers=PARTS).status_code == 422
    assert client.get(f"/jobs/{job.id}/scene.json").status_code == 200
