"""How short the lays are, and how much of that is proved.

    python -m benchmarks.lay [FILE] [--only NAME] [--seconds N] [--seed N] [--json]

One row an instance: `name`, `pieces`, `seconds` (lay and bound together), `length_mm`,
`bound_mm`, `gap`, `handbook_mm`, `saving`. Without FILE the jobs of `tests/data/lay/jobs.json`
are laid; FILE is any other list of jobs in the same form.
"""

from __future__ import annotations

import argparse
import json
import time
from pathlib import Path
from typing import Any

from squab.lay.bound import lower_bound
from squab.lay.handbook import handbook_length
from squab.lay.problem import problem_from_record
from squab.lay.search import search
from squab.lay.verify import verify

JOBS = Path(__file__).resolve().parent.parent / "tests" / "data" / "lay" / "jobs.json"
BOUND_SHARE = 0.25
"""Part of the time that goes to the bound."""


def row(record: dict[str, Any], seconds: float, seed: int) -> dict[str, Any]:
    """Lay one job, check it, bound it."""
    problem = problem_from_record(record)
    begun = time.perf_counter()
    lay = search(problem, seconds=seconds * (1 - BOUND_SHARE), seed=seed)
    bound = lower_bound(problem, seconds=seconds * BOUND_SHARE)
    took = time.perf_counter() - begun
    faults = verify(problem, lay)
    assert not faults, faults
    handbook = handbook_length(problem)
    return {
        "name": record["name"],
        "about": record.get("about", ""),
        "pieces": len(problem.pieces),
        "seconds": round(took, 1),
        "length_mm": round(lay.length_mm, 1),
        "bound_mm": round(bound.length_mm, 1),
        "bound_method": bound.method,
        "gap": round(lay.length_mm / bound.length_mm - 1, 4),
        "handbook_mm": round(handbook, 1),
        "saving": round(1 - lay.length_mm / handbook, 4),
    }


def main() -> None:
    """Print a row an instance."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("file", nargs="?", type=Path, default=JOBS)
    parser.add_argument("--only", default="")
    parser.add_argument("--seconds", type=float, default=10.0)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    records = [r for r in json.loads(asked.file.read_text()) if asked.only in r["name"]]
    if records:  # the compiled search is loaded before the clock runs
        search(problem_from_record(records[0]), seconds=0.05)
    for record in records:
        r = row(record, asked.seconds, asked.seed)
        if asked.json:
            print(json.dumps(r), flush=True)
            continue
        print(
            f"{r['name']:<6} {r['about'][:34]:<34} {r['pieces']:>4} pieces {r['seconds']:>5.1f} s  "
            f"lay {r['length_mm']:>8.0f}  bound {r['bound_mm']:>8.0f}  gap {r['gap']:6.1%}  "
            f"handbook {r['handbook_mm']:>8.0f}  saving {r['saving']:6.1%}  {r['bound_method']}",
            flush=True,
        )


if __name__ == "__main__":
    main()
