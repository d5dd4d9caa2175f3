"""What the view is told is what was cut: meshes cover their pieces, and patterns meet where they meet on the table."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from squab.cloth import Cloth
from squab.draw.picture import surface_maps
from squab.job import Cover, Matching
from squab.plane import Line, Outline
from squab.web.scene import MOST_SHOWN, _body_of, cloth_look, scene_of, scene_of_job
from squab.worked import WorkedJob
from tests.unit.draw.drawn_jobs import LEAVES, UNEVEN, H, eared, rectangle, rounded, striped, worked_job

Array = npt.NDArray[np.float64]


def _triangles(patch: dict[str, Any], frame: str) -> Array:
    points: Array = np.asarray(patch[frame], dtype=np.float64)
    corners: Array = points[np.asarray(patch["faces"]).reshape(-1, 3)]
    return corners


def _areas(triangles: Array) -> Array:
    a, b = triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]
    return np.asarray((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]) / 2)


def _pattern(patch: dict[str, Any], local: Array) -> Array:
    t = math.radians(patch["turn"])
    c, s = math.cos(t), math.sin(t)
    x, y = local[:, 0], local[:, 1]
    return np.column_stack((c * x - s * y + patch["p"], s * x + c * y + patch["q"]))


def _seated(outline: Outline, **changes: Any) -> WorkedJob:
    return worked_job(outlines={"seat": outline}, **changes)


@pytest.mark.parametrize("outline", [rectangle(560, 510), rounded(560, 510, 60), eared()], ids=["square", "round", "L"])
def test_triangles_cover_each_piece_once(outline: Outline) -> None:
    worked = _seated(outline)
    regions = [p.region for p in surface_maps(worked, "seat")]
    patches = scene_of(worked, "seat")["patches"]
    assert len(patches) == len(regions)
    for patch, region in zip(patches, regions, strict=True):
        areas = _areas(_triangles(patch, "local"))
        mirrored = patch["face"] == "bottom"  # told counter-clockwise as seen from above
        assert (areas < 0).all() if mirrored else (areas > 0).all()
        assert abs(areas).sum() == pytest.approx(region.area, rel=2e-3)


def test_a_point_on_two_pieces_has_one_place_on_the_cloth_where_the_seam_is_matched() -> None:
    patches = scene_of(worked_job(), "seat")["patches"]
    top = next(p for p in patches if p["face"] == "top")
    walls = [p for p in patches if p["face"] == "wall" and p["part"] == "seat.boxing"]
    on_top = np.asarray(top["solid"])
    front = [i for i in range(len(on_top)) if on_top[i, 1] < 0.01 and 1 < on_top[i, 0] < 559]
    assert len(front) > 10
    x_top, p_top = on_top[front, 0], _pattern(top, np.asarray(top["local"])[front])[:, 0]
    met = 0
    for wall in walls:
        solid, local = np.asarray(wall["solid"]), np.asarray(wall["local"])
        row = (np.abs(solid[:, 2] - H) < 0.01) & (np.abs(solid[:, 1]) < 0.01) & (local[:, 0] > 100)
        x, p = solid[row, 0], _pattern(wall, local[row])[:, 0]
        covered = (x_top >= x.min()) & (x_top <= x.max())
        off = np.interp(x_top[covered], x, p) - p_top[covered]
        assert np.abs((off + 48) % 96 - 48).max() < 0.3, "figures are told to a tenth of a millimetre"
        met += int(covered.sum())
    assert met > 20


def test_seams_stay_where_they_are_and_only_cloth_between_them_is_filled_out() -> None:
    patches = scene_of(worked_job(), "seat")["patches"]
    for patch in patches:
        solid, local = np.asarray(patch["solid"]), np.asarray(patch["local"])
        if patch["face"] == "wall":
            on_seam = np.abs(solid[:, 2]) < 1e-6
            assert np.allclose(solid[on_seam][:, 1].min(), 0.0, atol=0.1) or on_seam.any()
            assert (solid[:, :2].min(axis=0) > -0.08 * H).all()
        if patch["face"] == "top":
            edge = (local[:, 0] < 1e-6) | (local[:, 1] < 1e-6)
            assert np.allclose(solid[edge][:, 2], H)
            assert solid[:, 2].max() > H + 5


def test_a_lay_moved_on_the_bolt_moves_what_is_shown_by_as_much() -> None:
    worked = worked_job()
    plan = worked.plans["stripe"]
    placed = tuple(replace(p, u_mm=p.u_mm + 7) if p.key == "seat.top#1" else p for p in plan.lay.placed)
    moved = replace(worked, plans={"stripe": replace(plan, lay=replace(plan.lay, placed=placed))})

    def top(w: WorkedJob) -> dict[str, Any]:
        return next(p for p in scene_of(w, "seat")["patches"] if p["face"] == "top")

    assert top(moved)["p"] - top(worked)["p"] == pytest.approx(7)
    assert top(moved)["q"] == top(worked)["q"]


def test_groups_and_how_pieces_follow_them_are_told() -> None:
    worked = worked_job()
    placings = dict(worked.match.placings)
    phase = placings["seat.boxing"].phase
    assert phase is not None
    placings["seat.boxing"] = replace(placings["seat.boxing"], phase=replace(phase, sign_p=-1))
    placings["seat.bottom"] = replace(placings["seat.bottom"], phase=None)
    worked = replace(worked, match=replace(worked.match, placings=placings))
    told = {p["part"]: (p["group"], p["follows"]) for p in scene_of(worked, "seat")["patches"]}
    assert told["seat.top"] == ("g", [1, 0])
    assert told["seat.boxing"] == ("g", [-1, 0])
    assert told["seat.bottom"] == (None, [0, 0])


def test_the_pin_is_said_of_the_main_top_panel_at_the_cushions_centre() -> None:
    pin = scene_of(worked_job(), "seat")["pin"]
    assert (pin["part"], pin["cloth"], pin["centre"], pin["pinned"]) == (
        "seat.top", "stripe", [280.0, 255.0], [False, False],
    )  # fmt: skip


def test_the_piping_goes_right_round_and_knows_where_its_parts_lie() -> None:
    scene = scene_of(_seated(rounded(560, 510, 60)), "seat")
    top, bottom = scene["tubes"]
    assert (top["edge"], bottom["edge"]) == ("top", "bottom")
    path = np.asarray(top["path"])
    assert np.allclose(path[0], path[-1], atol=0.02)
    assert np.linalg.norm(np.diff(path, axis=0), axis=1).sum() == pytest.approx(top["s"][-1], rel=2e-3)
    assert top["parts"][0]["from"] == 0.0
    assert len(top["parts"]) == 2
    assert [p["q"] for p in top["parts"]] != [p["q"] for p in bottom["parts"]], "each ring is cut from its own place"


def test_the_zip_runs_along_the_back_at_half_height() -> None:
    zipped = scene_of(worked_job(), "seat")["zip"]
    path = np.asarray(zipped["path"])
    assert np.allclose(path[:, 2], H / 2)
    assert (path[:, 1] > 509).all()
    assert path[:, 0].max() - path[:, 0].min() == pytest.approx(560)


def test_a_seams_drift_is_told_along_its_path() -> None:
    worked = worked_job()
    drifts = tuple(
        replace(
            d, s_mm=(0.0, 280.0, 560.0), drift_p_mm=(-10.0, 0.0, 10.0), verdict="miss", worst_mm=10.0, said="x: off."
        )
        if d.seam_id == "seat.top.front"
        else d
        for d in worked.match.drifts
    )
    worked = replace(worked, match=replace(worked.match, drifts=drifts))
    seam = next(s for s in scene_of(worked, "seat")["seams"] if s["side"] == "front")
    assert seam["verdict"] == "miss"
    assert len(seam["off"]) == len(seam["path"])
    assert (seam["off"][0], seam["off"][-1], min(seam["off"])) == pytest.approx((10.0, 10.0, 0.0), abs=0.3)


def test_neighbours_in_a_row_stand_edge_to_edge_turned_by_their_mitre() -> None:
    def slanted(left: float, right: float) -> Outline:
        p = [(0.0, 0.0), (500.0, 0.0), (500.0 + right, 450.0), (0.0 - left, 450.0)]
        edges = tuple(Line(p[i], p[(i + 1) % 4]) for i in range(4))
        return Outline(edges, ("front", "right", "back", "left"))

    outlines = {"left": slanted(0, 186.4), "right": slanted(186.4, 0)}
    worked = worked_job(outlines=outlines)
    rowed = tuple(replace(c, cover=Cover(matching=Matching(row="bay"))) for c in worked.job.cushions)
    (row,) = scene_of_job(replace(worked, job=replace(worked.job, cushions=rowed)))["rows"]
    ends = {}
    for member in row["cushions"]:
        t = math.radians(member["turn"])
        turned = np.array([[math.cos(t), -math.sin(t)], [math.sin(t), math.cos(t)]])
        xy = np.array([e.start for e in outlines[member["id"]].edges]) @ turned.T + [member["x"], member["y"]]
        ends[member["id"]] = xy
    right_side, left_side = ends["left"][[1, 2]], ends["right"][[0, 3]]
    apart = left_side - right_side
    assert np.allclose(apart[0], apart[1], atol=0.05), "the two mitred edges are parallel"
    assert np.linalg.norm(apart[0]) == pytest.approx(2 * 5.6, abs=0.05)
    turns = [m["turn"] for m in row["cushions"]]
    assert turns[0] == pytest.approx(-turns[1])
    assert abs(turns[0] - turns[1]) == pytest.approx(2 * math.degrees(math.atan2(186.4, 450)), abs=0.01)


def test_a_job_without_a_lay_or_with_many_cushions_is_shown_too() -> None:
    assert len(scene_of(worked_job(laid=False), "seat")["patches"]) >= 4
    many = scene_of_job(worked_job(count=MOST_SHOWN + 3))
    assert (len(many["cushions"]), many["more"]) == (MOST_SHOWN, 3)
    json.dumps(many, allow_nan=False)


def test_a_cushion_that_is_not_there_is_an_error() -> None:
    with pytest.raises(KeyError):
        scene_of(worked_job(), "sofa")


def test_a_cloth_is_told_as_it_lies_on_the_table() -> None:
    look = cloth_look(striped())
    assert [s["width"] for s in look["stripes"]] == [40, 10, 26, 20]
    assert look["lines"] == [{"name": "red", "at": 20.0}]
    shrunk = cloth_look(Cloth("c", "c", 1370.0, UNEVEN, shrink_weft_pct=5.0, shrinks_after_cutting=True))
    assert shrunk["across"] == pytest.approx(96 * 0.95)
    leaves = cloth_look(Cloth("c", "c", 1370.0, LEAVES))
    assert (leaves["across"], leaves["along"], leaves["drop"]) == (170.0, 640.0, 320.0)
    outline = np.asarray(leaves["motif"]["outline"])
    assert (outline.max(axis=0) - outline.min(axis=0))[0] == pytest.approx(90, rel=0.02)


def test_what_is_kept_of_a_body_is_what_would_be_made_of_it_anew() -> None:
    """Also where the cloth lies otherwise meanwhile, and where another cushion came between."""
    worked = worked_job()
    first = scene_of_job(worked)
    scene_of_job(_seated(rounded(560, 510, 60)))
    again = scene_of_job(worked)
    _body_of.cache_clear()
    assert first == again == scene_of_job(worked)
