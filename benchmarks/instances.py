"""What the lay is measured on: jobs of this project, its examples, published packings, a thousand pieces."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from squab.cloth import Cloth
from squab.files.jobfile import read_job
from squab.lay.problem import problem_from_record
from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem
from squab.stages import prepare

ROOT = Path(__file__).resolve().parent.parent
DATA = ROOT / "tests" / "data"
CLOTH_MM = 1400.0
"""Published outlines are scaled so that their strip is as wide as a cloth."""
CLOTHS = {
    "plain": Lattice(),
    "stripe": Lattice(across_mm=96.0),
    "half drop": Lattice(across_mm=170.0, along_mm=640.0, drop_mm=320.0),
}


@dataclass(frozen=True)
class Target:
    """What is asked of an instance, in words, and the numbers behind it.

    `gap` over the bound; `length_mm` at most; `density` in % at least; `packer` no longer than the
    general packer.
    """

    words: str
    gap: float | None = None
    length_mm: float | None = None
    density: float | None = None
    packer: bool = False


@dataclass(frozen=True)
class Instance:
    """One thing to lay, in how many seconds, and what is asked of it.

    `cloth` where the start of the pattern may be unknown: the order is then laid and proved.
    `enough_mm`: no lay is shorter, so the search ends there. `area_mm2` where a density is told.
    """

    name: str
    about: str
    problem: LayProblem
    seconds: float
    target: Target
    cloth: Cloth | None = None
    enough_mm: float | None = None
    area_mm2: float | None = None
    beside_packer: bool = False
    alone: bool = False
    """Measured in a process of its own, so that its memory is its own."""


def from_records(records: list[dict[str, Any]]) -> Iterator[Instance]:
    """Instances from jobs in the form of `jobs.json`."""
    for record in records:
        problem = problem_from_record(record)
        seconds, target = asked_of(problem, record.get("reference", {}).get("best_found_mm"))
        yield Instance(record["name"], record.get("about", ""), problem, seconds, target)


def asked_of(problem: LayProblem, best_mm: float | None = None) -> tuple[float, Target]:
    """Seconds and target of a job, by its size and cloth."""
    pieces = len(problem.pieces)
    both_ways = problem.lattice.across_mm is not None and problem.lattice.along_mm is not None
    if not problem.strips and pieces <= 12:
        return 10.0, Target("proved", gap=1e-6)
    if problem.strips and pieces <= 8:
        return 10.0, Target("gap 2 %", gap=0.02)
    if both_ways and pieces <= 30:
        return 50.0, Target("gap 4 %", gap=0.04)
    if both_ways:
        return 80.0, Target("gap 8 %, no longer than before", gap=0.08, length_mm=best_mm)
    if pieces <= 60:
        return 30.0, Target("gap 2 %", gap=0.02)
    if pieces <= 120:
        return 50.0, Target("gap 3 %", gap=0.03)
    return 200.0, Target("gap 5 %", gap=0.05)


def jobs() -> Iterator[Instance]:
    """The jobs made for this project."""
    yield from from_records(json.loads((DATA / "lay" / "jobs.json").read_text()))


def outlines() -> Iterator[Instance]:
    """Twelve and sixty outlines that are not rectangles, on three cloths."""
    told = json.loads((DATA / "lay" / "outlines.json").read_text())
    for set_name, times, seconds in (("twelve", 1, 10.0), ("sixty", 5, 30.0)):
        for cloth, lattice in CLOTHS.items():
            before = told["reference_mm"][set_name].get(cloth.replace(" ", "_"))
            target = Target("no longer than the packer", packer=True)
            if cloth != "plain":
                target = Target("5 % shorter than before", length_mm=0.95 * before)
            problem = outline_problem(told, lattice, times)
            name = f"{len(problem.pieces)} outlines {cloth}"
            yield Instance(name, "round, slanted, hollow", problem, seconds, target, beside_packer=cloth == "plain")


def outline_problem(told: Mapping[str, Any], lattice: Lattice, times: int) -> LayProblem:
    """The outlines of `outlines.json`, so many times, on a cloth; matched ones by their centres."""
    pieces = []
    for p in told["pieces"]:
        xy = np.array(p["outline_mm"])
        xy = xy - (xy.min(axis=0) + xy.max(axis=0)) / 2
        across, along = (0.0 if x is not None else None for x in (lattice.across_mm, lattice.along_mm))
        phase = LayPhase("job", across, along) if p["matched"] and across is not None else None
        turns = tuple(told["turns_deg"])
        pieces += [LayPiece(f"{p['name']}#{k}", xy, turns, phase) for k in range(p["count"] * times)]
    return LayProblem(
        "outlines", float(told["usable_width_mm"]), lattice, tuple(pieces), pattern_at=(0.0, 0.0),
        gap_mm=float(told["gap_mm"]),
    )  # fmt: skip


def rectangles() -> Iterator[Instance]:
    """Published strip packings of rectangles: one unit is one millimetre."""
    for r in json.loads((DATA / "packing" / "rectangles" / "instances.json").read_text()):
        turns = (0, 90) if r["may_turn"] else (0,)
        pieces = tuple(
            LayPiece(f"piece#{k}", np.array([[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]]), turns)
            for k, (w, h) in enumerate(r["pieces"])
        )
        problem = LayProblem(r["name"], float(r["width"]), Lattice(), pieces, pattern_at=(0.0, 0.0))
        slack = 1.0 if r["name"].startswith("C4") else 0.0
        words = "the optimum + 1" if slack else "the optimum"
        target = Target(words, length_mm=r["optimum"] + slack)
        yield Instance(r["name"], "published rectangles", problem, 30.0, target, enough_mm=float(r["optimum"]))


def published_outlines() -> Iterator[Instance]:
    """Published irregular strip packings, against the mean of the heuristic that does best on them."""
    folder = DATA / "packing" / "outlines"
    for name, figures in json.loads((folder / "published.json").read_text()).items():
        told = json.loads((folder / f"{name}.json").read_text())
        scale = CLOTH_MM / told["strip_height"]
        pieces = []
        for item in told["items"]:
            x, y = np.array(item["shape"]["data"])[:-1].T * scale
            # the strip runs to the right, a cloth away from the cutter: a quarter turn
            xy = np.column_stack((-y, x))
            twice = float((xy[:, 0] * np.roll(xy[:, 1], -1) - np.roll(xy[:, 0], -1) * xy[:, 1]).sum())
            turns = tuple(round(t) for t in item["allowed_orientations"])
            outline = xy if twice > 0 else xy[::-1]
            pieces += [LayPiece(f"{item['id']}#{k}", outline, turns) for k in range(item["demand"])]
        problem = LayProblem(name, CLOTH_MM, Lattice(), tuple(pieces), pattern_at=(0.0, 0.0))
        density = figures["mean"] - 1.0
        target = Target(f"density {density:.2f} %", density=density)
        area = sum(_area(p.outline) for p in pieces)
        yield Instance(name, "published outlines", problem, 60.0, target, area_mm2=area)


def _area(xy: Any) -> float:
    x, y = xy[:, 0], xy[:, 1]
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) / 2


def examples() -> Iterator[Instance]:
    """Every cloth of the project's examples."""
    for path in sorted((ROOT / "examples").glob("*.toml")):
        job = read_job(path.read_bytes(), name=path.name).value
        assert job is not None
        prepared = prepare(job).value
        assert prepared is not None
        for problem in prepared.problems:
            seconds, target = asked_of(problem)
            about = path.stem.replace("-", " ")
            cloth = job.cloth(problem.cloth_id)
            yield Instance(f"{path.stem} {cloth.id}", about, problem, seconds, target, cloth=cloth)


def thousand() -> Iterator[Instance]:
    """A hundred and twenty-five cushions of eight pieces each, on a stripe."""
    repeat, pieces = 96.0, []
    for k in range(125):
        wide, deep = 400 + 12 * (7 * k % 17), 380 + 15 * (5 * k % 13)
        centred = -wide / 2 % repeat
        for kind, across, along, count, phase in (
            ("panel", wide, deep, 2, centred),
            ("front", wide, 95, 1, centred),
            ("side", deep, 95, 2, None),
            ("zip strip", wide - 60, 38, 2, None),
            ("handle", 240, 110, 1, None),
        ):
            pieces.append(
                {
                    "kind": kind, "across_mm": across, "along_mm": along, "count": count,
                    "may_turn_a_quarter": False, "phase_across_mm": phase, "phase_along_mm": None,
                }
            )  # fmt: skip
    record = {
        "name": "T1000s", "about": "125 cushions, stripe", "gap_mm": 3, "pieces": pieces,
        "cloth": {"usable_width_mm": 1370, "repeat_across_mm": repeat, "repeat_along_mm": None, "drop_mm": 0},
    }  # fmt: skip
    problem = problem_from_record(record)
    seconds, target = asked_of(problem)
    yield Instance("T1000s", "125 cushions, stripe", problem, seconds, target, alone=True)


def everything() -> Iterator[Instance]:
    """All there is, in the order of the table of targets."""
    yield from jobs()
    yield from outlines()
    yield from examples()
    yield from rectangles()
    yield from published_outlines()
    yield from thousand()
