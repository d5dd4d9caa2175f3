"""What each stage costs on every example, and how good the lay is.

    python -m benchmarks.job [--only NAME] [--seconds N] [--json]

One row an example: seconds of reading, constructing, matching, laying (all cloths), supply,
sewing, drawing (one sheet after another; the writers' libraries are loaded before, as `make` does
while the lay is searched); then for each cloth the length used, the bound, the handbook, the saving.
"""

from __future__ import annotations

import argparse
import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from squab.construct import construct
from squab.draw.sheets import all_sheets, load_writers
from squab.files.jobfile import read_job
from squab.lay.problem import lay_problems
from squab.match import plan_match
from squab.stages import work

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
T = TypeVar("T")


def timed(f: Callable[[], T]) -> tuple[T, float]:
    """Call `f`; give its value and the seconds it took."""
    begun = time.perf_counter()
    value = f()
    return value, time.perf_counter() - begun


def row(path: Path, seconds: float) -> dict[str, Any]:
    """Measure one example."""
    read, read_s = timed(lambda: read_job(path.read_bytes(), name=path.name))
    assert read.value is not None, [f.text() for f in read.findings]
    job = read.value
    built, construct_s = timed(lambda: construct(job))
    assert built.value is not None
    construction = built.value
    matched, match_s = timed(lambda: plan_match(job, construction))
    assert matched.value is not None
    match = matched.value
    _, pose_s = timed(lambda: lay_problems(job, construction, match))
    outcome, work_s = timed(lambda: work(job, seconds=seconds, workers=min(os.cpu_count() or 1, 4)))
    assert outcome.value is not None, [f.text() for f in outcome.findings]
    worked = outcome.value
    load_writers()
    files, draw_s = timed(lambda: all_sheets(worked))
    return {
        "name": path.stem,
        "read_s": round(read_s, 3),
        "construct_s": round(construct_s, 3),
        "match_s": round(match_s, 3),
        "pose_s": round(pose_s, 3),
        "work_s": round(work_s, 2),
        "draw_s": round(draw_s, 2),
        "files": len(files),
        "cloths": [
            {
                "cloth": p.cloth_id,
                "pieces": len(p.problem.pieces),
                "strips": len(p.problem.strips),
                "length_mm": round(p.lay.length_mm),
                "bound_mm": round(p.bound.length_mm),
                "gap": round(p.gap, 4),
                "handbook_mm": round(p.handbook_mm),
                "saving": round(1 - p.lay.length_mm / p.handbook_mm, 4),
                "order_mm": round(p.order_mm),
            }
            for p in worked.plans.values()
        ],
    }


def cold_estimate_s() -> float:
    """Seconds of `squab estimate 24 22 4` from a cold start of the interpreter: the best of three."""
    command = [sys.executable, "-m", "squab.cli", "estimate", "24", "22", "4"]
    return min(timed(lambda: subprocess.run(command, check=True, capture_output=True))[1] for _ in range(3))


def main() -> None:
    """Print a row an example, then the cold start of an estimate."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="")
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    for path in sorted(p for p in EXAMPLES.glob("*.toml") if asked.only in p.stem):
        measured = row(path, asked.seconds)
        if asked.json:
            print(json.dumps(measured), flush=True)
            continue
        stages = "  ".join(f"{k[:-2]} {v:.2f}" for k, v in measured.items() if k.endswith("_s"))
        print(f"{measured['name']:<14} {stages}  files {measured['files']}", flush=True)
        for c in measured["cloths"]:
            print(
                f"  {c['cloth']:<12} {c['pieces']:>3} pieces {c['strips']:>2} strips  used {c['length_mm']:>6}"
                f"  bound {c['bound_mm']:>6}  gap {c['gap']:6.1%}  handbook {c['handbook_mm']:>6}"
                f"  saving {c['saving']:6.1%}  order {c['order_mm']:>6}"
            )
    estimate_s = cold_estimate_s()
    print(
        json.dumps({"name": "estimate, cold", "seconds": round(estimate_s, 2)})
        if asked.json
        else f"estimate, cold  {estimate_s:.2f} s"
    )


if __name__ == "__main__":
    main()
