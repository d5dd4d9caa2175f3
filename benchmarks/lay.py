"""How short the lays are, how much of that is proved, and whether the targets are met.

    python -m benchmarks.lay [FILE] [--only NAME] [--seconds N] [--seed N] [--workers N] [--json]

One row an instance: `name`, `pieces`, `seconds` (lay and bound together), `length_mm`,
`bound_mm`, `gap`, `handbook_mm`, `saving`; further the target and whether it is met, the processor
seconds (far below `seconds` times workers, the machine was busy with other things), the seconds to
the first lay, the peak memory, the density and the general packer's length where they belong to the
target. Without FILE everything is laid that `benchmarks.instances` knows, in less than 25 minutes on
two cores; FILE is any list of jobs in the form of `tests/data/lay/jobs.json`.
"""

from __future__ import annotations

import argparse
import json
import multiprocessing
import platform
import resource
import time
from pathlib import Path
from typing import Any

from benchmarks.instances import Instance, everything, from_records
from benchmarks.packer import packed_length_mm
from squab.lay._shapes import is_box
from squab.lay.bound import lower_bound
from squab.lay.handbook import handbook_length
from squab.lay.order import plan_cloth
from squab.lay.records import Bound, Lay, LayProblem
from squab.lay.search import Hunt, Progress, search
from squab.lay.verify import verify

SAVING = 0.20
"""What striped and printed jobs are to save against the handbook on average."""
FEW, FEW_OF_STRIPS = 12, 8
LEAST_LEFT = 0.1
"""A part of the time below which it is not worth going on."""


def row(instance: Instance, seconds: float | None, seed: int, workers: int) -> dict[str, Any]:
    """Lay one instance, check it, bound it."""
    problem, allowed = instance.problem, seconds or instance.seconds
    seen: list[Progress] = []
    began, cpu = time.perf_counter(), time.process_time()
    if instance.cloth is None:
        lay, bound = laid_and_proved(instance, allowed, seed, workers, seen)
        handbook = handbook_length(problem)
    else:
        outcome = plan_cloth(problem, instance.cloth, seconds=allowed, seed=seed, workers=workers, report=seen.append)
        plan = outcome.value
        assert plan is not None, [f.text() for f in outcome.findings]
        problem, lay, bound, handbook = plan.problem, plan.lay, plan.bound, plan.handbook_mm
    took = time.perf_counter() - began
    cpu_s = time.process_time() - cpu
    faults = verify(problem, lay)
    assert not faults, faults
    told = {
        "name": instance.name,
        "about": instance.about,
        "pieces": len(problem.pieces),
        "strips": len(problem.strips),
        "seconds": round(took, 1),
        "length_mm": round(lay.length_mm, 1),
        "bound_mm": round(bound.length_mm, 1),
        "bound_method": bound.method,
        "gap": round(lay.length_mm / bound.length_mm - 1, 4),
        "handbook_mm": round(handbook, 1),
        "saving": round(1 - lay.length_mm / handbook, 4),
        "patterned": problem.lattice.across_mm is not None or problem.lattice.along_mm is not None,
        "cpu_s": round(cpu_s, 1),
        "first_s": round(seen[0].seconds, 3) if seen else None,
        "memory_mb": round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024),
        "target": instance.target.words,
    }
    if instance.area_mm2 is not None:
        told["density"] = round(100 * instance.area_mm2 / (problem.usable_width_mm * lay.length_mm), 2)
    if instance.beside_packer:
        told["packer_mm"] = packed_length_mm(problem, allowed, workers)
    told["met"] = met(instance, lay.length_mm, bound.length_mm, told)
    return told


def laid_and_proved(
    instance: Instance, seconds: float, seed: int, workers: int, seen: list[Progress]
) -> tuple[Lay, Bound]:
    """A lay and a bound in so many seconds; the search ends once it is as short as can be.

    Time that the bound leaves is the search's again.
    """
    problem, until = instance.problem, time.perf_counter() + seconds
    enough = max(lower_bound(problem, seconds=0).length_mm, instance.enough_mm or 0.0) + 1e-6

    def stop() -> bool:
        return bool(seen) and seen[-1].length_mm <= enough

    # where a density is asked for, the area alone is the bound, and that is there at once
    share = bound_share(problem) if instance.target.density is None else 0.0
    hunt = Hunt(problem, seed=seed, workers=workers)
    hunt.go(seconds=seconds * (1 - share), report=seen.append, stop=stop)
    bound = lower_bound(problem, seconds=seconds * share, laid_mm=hunt.length_mm)
    enough, left = max(enough, bound.length_mm + 1e-6), until - time.perf_counter()
    if left > LEAST_LEFT * seconds and hunt.length_mm > enough:
        hunt.go(seconds=left, report=seen.append, stop=stop)
    return hunt.lay(), bound


def bound_share(problem: LayProblem) -> float:
    """Part of the time that goes to the bound: most of it for a few rectangles, which are laid in no time.

    One or two cushions of a pattern are laid soon, too; on plain cloth it is the bound that is soon there.
    """
    if not problem.strips and len(problem.pieces) <= FEW and all(is_box(p.outline) for p in problem.pieces):
        return 0.85
    plain = problem.lattice.across_mm is None and problem.lattice.along_mm is None
    if problem.strips and len(problem.pieces) <= FEW_OF_STRIPS:
        return 0.1 if plain else 0.5
    return 0.1 if plain and not problem.strips else 0.25


def met(instance: Instance, length_mm: float, bound_mm: float, told: dict[str, Any]) -> bool:
    """Tell whether an instance's target is met."""
    target = instance.target
    holds = []
    if target.gap is not None:
        holds.append(length_mm / bound_mm - 1 <= target.gap)
    if target.length_mm is not None:
        holds.append(length_mm <= target.length_mm + 1e-6)
    if target.density is not None:
        holds.append(told["density"] >= target.density)
    if target.packer:
        holds.append(told["packer_mm"] is not None and length_mm <= told["packer_mm"])
    return all(holds)


def shown(told: dict[str, Any]) -> str:
    """A row as a line."""
    line = (
        f"{told['name']:<22} {told['pieces']:>4} pieces {told['seconds']:>5.1f} s ({told['cpu_s']:>5.1f} cpu)  "
        f"lay {told['length_mm']:>8.1f}  bound {told['bound_mm']:>8.1f}  gap {told['gap']:6.1%}  "
        f"handbook {told['handbook_mm']:>8.0f}  saving {told['saving']:6.1%}  "
        f"{told['target']}: {'met' if told['met'] else 'not met'}"
    )
    if "density" in told:
        line += f"; density {told['density']:.2f} %"
    if told.get("packer_mm"):
        line += f"; general packer {told['packer_mm']:.0f}, ratio {told['length_mm'] / told['packer_mm']:.3f}"
    if told["pieces"] >= 500:
        line += f"; first lay {told['first_s']:.1f} s, {told['memory_mb']} MB"
    return line


def alone(instance: Instance, *settings: Any) -> dict[str, Any]:
    """Measure an instance in a process of its own."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        return pool.apply(row, (instance, *settings))


def summary(rows: list[dict[str, Any]]) -> str:
    """Targets met, and what striped and printed jobs save."""
    savings = [r["saving"] for r in rows if r["patterned"] and not r["name"].count("outlines")]
    said = f"{sum(r['met'] for r in rows)} of {len(rows)} targets met"
    if savings:
        mean = sum(savings) / len(savings)
        said += f"; striped and printed jobs save {mean:.1%} on average (target {SAVING:.0%}: "
        said += "met)" if mean >= SAVING else "not met)"
    return f"{said}; {sum(r['seconds'] for r in rows) / 60:.1f} minutes on {platform.machine()}"


def main() -> None:
    """Print a row an instance."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("file", nargs="?", type=Path)
    parser.add_argument("--only", default="")
    parser.add_argument("--seconds", type=float)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    found = everything() if asked.file is None else from_records(json.loads(asked.file.read_text()))
    rows: list[dict[str, Any]] = []
    for instance in found:
        if asked.only not in instance.name:
            continue
        if not rows:  # the compiled search is loaded before the clock runs
            search(instance.problem, seconds=0.05)
        r = (alone if instance.alone else row)(instance, asked.seconds, asked.seed, asked.workers)
        rows.append(r)
        print(json.dumps(r) if asked.json else shown(r), flush=True)
    if rows and not asked.json:
        print(summary(rows))


if __name__ == "__main__":
    main()
