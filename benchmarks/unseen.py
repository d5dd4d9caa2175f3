"""Jobs that nobody has tuned to, by a seed, in the form of `tests/data/lay/jobs.json`.

    python -m benchmarks.unseen SEED > jobs.json
    python -m benchmarks.lay jobs.json

Eleven jobs from one cushion to two dozen, with strips to be divided or cut whole, on plain cloth, stripes along
and across and prints, of widths and repeats as cloths have them (common practice, no source).
"""

from __future__ import annotations

import argparse
import json
import random
from typing import Any

Record = dict[str, Any]

SIZES = (
    ("one", 1, True), ("one", 1, True), ("two", 2, True), ("two", 2, True), ("few", 2, False), ("few", 2, False),
    ("five", 5, True), ("six", 6, False), ("dozen", 12, False), ("dozen", 12, True), ("two dozen", 24, False),
)  # fmt: skip
"""What a job is called, how many cushions it has, and whether its strips may be divided."""
WIDTHS_MM = (1100, 1280, 1370, 1400, 1480)
STRIPES_MM = (32, 48, 64, 84, 96, 120, 137, 160, 213)
WEFT_MM = (60, 120, 200)
PRINTS_MM = ((137, 180), (230, 320), (343, 457), (170, 640), (343, 480), (685, 910))
ALLOWANCES_MM = 24


def jobs(seed: int) -> list[Record]:
    """Eleven jobs; the same for the same seed."""
    draw = random.Random(seed)
    return [
        _job(draw, f"U{seed}-{n:02} {name}", cushions, divided) for n, (name, cushions, divided) in enumerate(SIZES, 1)
    ]


def _job(draw: random.Random, name: str, cushions: int, divided: bool) -> Record:
    kind, cloth = _cloth(draw)
    pieces: list[Record] = []
    strips: list[Record] = []
    for _ in range(cushions):
        _cushion(draw, cloth, divided, pieces, strips)
    return {
        "name": f"{name}, {kind}", "about": "unseen", "cloth": cloth, "gap_mm": draw.choice((0, 3, 3)),
        "pieces": pieces, "strips": strips,
    }  # fmt: skip


def _cloth(draw: random.Random) -> tuple[str, Record]:
    kind = draw.choice(("plain", "stripe", "stripe", "weft", "print", "half drop"))
    across = along = None
    if kind == "stripe":
        across = draw.choice(STRIPES_MM)
    elif kind == "weft":
        along = draw.choice(WEFT_MM)
    elif kind != "plain":
        across, along = draw.choice(PRINTS_MM)
    drop = along / 2 if along and kind == "half drop" else 0
    width = draw.choice(WIDTHS_MM)
    return kind, {"usable_width_mm": width, "repeat_across_mm": across, "repeat_along_mm": along, "drop_mm": drop}


def _cushion(draw: random.Random, cloth: Record, divided: bool, pieces: list[Record], strips: list[Record]) -> None:
    """Two panels and a front, centred on the repeat; zip, sides and perhaps piping."""
    wide, deep, thick = draw.randrange(380, 760, 10), draw.randrange(380, 640, 10), draw.choice((50, 60, 75, 100))
    boxing = thick + ALLOWANCES_MM

    def cut(kind: str, across: int, along: int, count: int, *, matched: bool, turned: bool = False) -> None:
        pu, pv = cloth["repeat_across_mm"], cloth["repeat_along_mm"]
        pieces.append(
            {
                "kind": kind, "across_mm": across, "along_mm": along, "count": count, "may_turn_a_quarter": turned,
                "phase_across_mm": -across / 2 % pu if matched and pu else None,
                "phase_along_mm": -along / 2 % pv if matched and pv else None,
            }
        )  # fmt: skip

    cut("panel", wide, deep, 2, matched=True)
    cut("front", wide, boxing, 1, matched=True)
    cut("zip", wide + 90, thick + 77, 1, matched=draw.random() < 0.6)
    sides = 2 * deep - 90
    if divided and draw.random() < 0.7:
        strips.append(_strip("box", boxing, sides, most=2, least=300))
    else:
        cut("box", sides // 2, boxing, 2, matched=False, turned=draw.random() < 0.5)
    if divided and draw.random() < 0.6:
        strips.append(
            _strip("pipe", draw.choice((32, 38, 45)), 4 * (wide + deep), most=9, least=draw.choice((300, 400)))
        )


def _strip(kind: str, wide: int, total: int, *, most: int, least: int) -> Record:
    return {
        "kind": kind, "width_mm": wide, "total_mm": total, "least_parts": 1, "most_parts": most,
        "least_length_mm": least, "extra_per_part_mm": 24 if kind == "box" else 32,
    }  # fmt: skip


def main() -> None:
    """Print the jobs of a seed."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("seed", type=int)
    print(json.dumps(jobs(parser.parse_args().seed), indent=1))


if __name__ == "__main__":
    main()
