"""The lay jobs of `tests/data/lay`, as lay problems."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from squab.lay.records import Lattice, LayPhase, LayPiece, LayProblem, LayStrip
from squab.plane import Points

FOLDER = Path(__file__).parents[2] / "data" / "lay"


def rectangle(width: float, height: float) -> Points:
    """A rectangle from its lower left corner."""
    return np.array([(0, 0), (width, 0), (width, height), (0, height)], dtype=np.float64)


def jobs() -> dict[str, dict[str, Any]]:
    """All jobs by name, as read."""
    return {j["name"]: j for j in json.loads((FOLDER / "jobs.json").read_text())}


def problem_of(job: Mapping[str, Any]) -> LayProblem:
    """A job as a lay problem. Strips' least length is of the cut part, ends included."""
    cloth = job["cloth"]
    pieces: list[LayPiece] = []
    for p in job["pieces"]:
        free = p["phase_across_mm"] is None and p["phase_along_mm"] is None
        phase = None if free else LayPhase("job", p["phase_across_mm"], p["phase_along_mm"])
        turns = (0, 90) if p["may_turn_a_quarter"] else (0,)
        outline = rectangle(p["across_mm"], p["along_mm"])
        for _ in range(p["count"]):
            pieces.append(LayPiece(f"{len(pieces):03d} {p['kind']}", outline, turns, phase, kind=p["kind"]))
    strips = tuple(
        LayStrip(
            f"{i:03d} {s['kind']}", 0.0, s["total_mm"], 0.0, s["width_mm"], s["extra_per_part_mm"] / 2,
            s["least_length_mm"] - s["extra_per_part_mm"], (0, 90), None, s["most_parts"],
        )
        for i, s in enumerate(job["strips"])
    )  # fmt: skip
    lattice = Lattice(cloth["repeat_across_mm"], cloth["repeat_along_mm"], cloth["drop_mm"] or 0.0)
    return LayProblem(
        job["name"], cloth["usable_width_mm"], lattice, tuple(pieces), strips, gap_mm=float(job["gap_mm"])
    )
