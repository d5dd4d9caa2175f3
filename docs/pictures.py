"""Make the pictures of the README and of docs/lay.md, with the program itself.

    python docs/pictures.py [--seconds N]

Writes docs/pictures/bay-window.png (a finished cushion beside its cutting plan), benches-plan.png,
lay-stages.png (one job from its first list to its last lay) and lay-bar.png (a line across a lay).
"""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import typst

from squab.draw import svg
from squab.draw.picture import cushion_picture_svg
from squab.draw.plan import cutting_plan_svg
from squab.draw.svg import PAPER
from squab.draw.typeset import fonts
from squab.files.jobfile import read_job
from squab.lay.bound import lower_bound
from squab.lay.cuts import cut_outlines
from squab.lay.records import Lattice, Lay, LayProblem
from squab.lay.search import Hunt
from squab.stages import work
from squab.worked import WorkedJob

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent))

from benchmarks.instances import DATA, outline_problem  # noqa: E402

PICTURES = HERE / "pictures"
WIDE_MM, WIDE_PX = 400.0, 1600
STRIPE_MM = 96.0
PAINTS = {"rounded": "#c9b18a", "trapezoid": "#a9b7a0", "disc": "#c9917b", "L": "#9db0c4", "strip": "#d8d0bf"}
"""A colour for each kind of piece, only so that one finds them again from lay to lay."""
SCALE, ROOM_MM, GUTTER_MM = 0.045, 3.0, 9.0


def worked_example(name: str, seconds: float) -> WorkedJob:
    """An example taken through every stage."""
    path = HERE.parent / "examples" / f"{name}.toml"
    read = read_job(path.read_bytes(), name=path.name)
    if read.value is None:
        raise SystemExit("\n".join(f.text() for f in read.findings))
    worked = work(read.value, seconds=seconds, trials=False).value
    if worked is None:
        raise SystemExit(f"{name} could not be worked")
    return worked


def png(svgs: list[str], shares: list[str]) -> bytes:
    """Drawings side by side as one picture on unbleached cloth."""
    files = {f"{i}.svg": svg.encode() for i, svg in enumerate(svgs)}
    cells = ", ".join(f'image("{name}", width: 100%)' for name in files)
    page = (
        f'#set page(width: {WIDE_MM}mm, height: auto, margin: 5mm, fill: rgb("{PAPER}"))\n'
        f"#grid(columns: ({', '.join(shares)},), column-gutter: 5mm, align: horizon, {cells})"
    )
    made = typst.compile(
        {"main": page.encode(), **files},
        format="png",
        ppi=WIDE_PX / WIDE_MM * 25.4,
        font_paths=fonts(),
        ignore_system_fonts=True,
    )
    return bytes(made)


def outlines_on_stripe() -> LayProblem:
    """Two dozen pieces that are not rectangles and strips, the former with their middles on a line of a stripe."""
    told = json.loads((DATA / "lay" / "outlines.json").read_text())
    return outline_problem(told, Lattice(STRIPE_MM), 2)


def stages(problem: LayProblem, seconds: float) -> list[tuple[str, Lay]]:
    """The lay of the first list, after annealing for a while, and after all else."""
    hunt = Hunt(problem, workers=2)
    found = [("the first list", hunt.lay())]
    hunt.go(seconds=1.0)  # so short a turn is annealed only
    found.append(("lists changed for a second", hunt.lay()))
    hunt.go(seconds=seconds)
    return [*found, (f"laid abreast and changed on, {seconds:.0f} seconds later", hunt.lay())]


def laid_svg(problem: LayProblem, lay: Lay, x: float, y: float) -> list[str]:
    """A lay on its stripe, the cut end to the left, its left selvage above."""
    long, wide = lay.length_mm * SCALE, problem.usable_width_mm * SCALE
    parts = [svg.rect(x, y, long, wide, fill="#fffdf8")]
    for k in range(int(problem.usable_width_mm // STRIPE_MM) + 1):
        at = y + k * STRIPE_MM * SCALE
        parts.append(svg.line(x, at, x + long, at, stroke=svg.CHALK, stroke_width=0.5, stroke_opacity=0.45))
    for placed, uv in zip(lay.placed, cut_outlines(problem, lay), strict=True):
        d = svg.polyline_d(np.column_stack((x + uv[:, 1] * SCALE, y + uv[:, 0] * SCALE)), closed=True)
        paint = next(c for name, c in PAINTS.items() if placed.key.startswith(name))
        parts.append(svg.path(d, fill=paint, fill_opacity=0.82, stroke=svg.INK, stroke_width=0.3))
    return [*parts, svg.element("path", d=f"M{x} {y}V{y + wide}", fill="none", stroke=svg.INK, stroke_width=0.8)]


def stages_svg(problem: LayProblem, found: list[tuple[str, Lay]]) -> str:
    """The same pieces three times, and the length below which nothing goes."""
    bound = lower_bound(problem, seconds=5.0).length_mm
    wide, longest = problem.usable_width_mm * SCALE, max(lay.length_mm for _, lay in found) * SCALE
    parts: list[str] = []
    for number, (words, lay) in enumerate(found):
        y = 6.5 + number * (wide + GUTTER_MM)
        parts += [svg.text(ROOM_MM, y - 2.0, words, bold=True), *laid_svg(problem, lay, ROOM_MM, y)]
        end = ROOM_MM + lay.length_mm * SCALE
        parts.append(svg.text(end, y - 2.0, f"{lay.length_mm:.0f} mm", bold=True, anchor="end"))
    least, foot = ROOM_MM + bound * SCALE, 6.5 + len(found) * (wide + GUTTER_MM) - GUTTER_MM + 2.0
    for number in range(len(found)):  # not across the words above
        y = 6.5 + number * (wide + GUTTER_MM)
        parts.append(
            svg.line(least, y, least, y + wide + 2.0, stroke=svg.INK, stroke_width=0.5, stroke_dasharray="2 1")
        )
    parts.append(svg.text(least, foot + 4.0, f"no lay is shorter than {bound:.0f} mm", 2.9, anchor="end"))
    return svg.document(longest + 2 * ROOM_MM, foot + 7.0, parts, title="One job, from its first list to its last lay")


def bar_svg(problem: LayProblem, lay: Lay) -> str:
    """A line across a lay where it crosses most: what it crosses has to fit side by side, each on its stripe."""
    bars = [(v, crossed_at(problem, lay, v)) for v in np.arange(0.0, lay.length_mm, 5.0).tolist()]
    v_mm, crossed = max(bars, key=lambda bar: (len(bar[1]), sum(high - low for low, high, _ in bar[1])))
    scale_x, wide = ROOM_MM + v_mm * SCALE, problem.usable_width_mm * SCALE
    parts = laid_svg(problem, lay, ROOM_MM, 9.0)
    parts.append(svg.line(scale_x, 7.0, scale_x, 11.0 + wide, stroke="#8c2f1b", stroke_width=0.5))
    x = ROOM_MM + lay.length_mm * SCALE + 12.0
    parts.append(svg.text(x - 4, 6.0, "what the line crosses, side by side", bold=True))
    for low, high, name in crossed:
        y0, y1 = 9.0 + low * SCALE, 9.0 + high * SCALE
        parts.append(svg.line(scale_x, y0, scale_x, y1, stroke="#8c2f1b", stroke_width=1.6))
        parts.append(svg.rect(x - 4, y0, 5.0, y1 - y0, fill=PAINTS[name.split()[0]], stroke=svg.INK, stroke_width=0.3))
        parts.append(svg.text(x + 3.5, (y0 + y1) / 2 + 1, f"{name}, {high - low:.0f} mm", 2.9))
    free = problem.usable_width_mm - sum(high - low for low, high, _ in crossed)
    parts.append(svg.text(x - 4, 15.5 + wide, f"{free:.0f} mm of {problem.usable_width_mm:.0f} are left", 2.9))
    return svg.document(x + 60.0, wide + 19.0, parts, title="A line across a lay")


def crossed_at(problem: LayProblem, lay: Lay, v_mm: float) -> list[tuple[float, float, str]]:
    """From where to where across the cloth a line crosses each piece, and what it is, from the left selvage on."""
    found = []
    for placed, uv in zip(lay.placed, cut_outlines(problem, lay), strict=True):
        us = crossings(uv, v_mm)
        if us:
            found.append((min(us), max(us), placed.key.split("#")[0]))
    return sorted(found)


def crossings(uv: Any, v_mm: float) -> list[float]:
    """Where an outline crosses a line across the cloth."""
    found = []
    for (u0, v0), (u1, v1) in zip(uv, np.roll(uv, -1, axis=0), strict=True):
        if (v0 - v_mm) * (v1 - v_mm) < 0:
            found.append(float(u0 + (u1 - u0) * (v_mm - v0) / (v1 - v0)))
    return found


def main() -> None:
    """Make the pictures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=10.0)
    seconds = parser.parse_args().seconds
    bay, benches = worked_example("bay-window", seconds), worked_example("benches", seconds)
    cushion, plan = cushion_picture_svg(bay, "left"), cutting_plan_svg(bay, next(iter(bay.plans)))
    PICTURES.mkdir(exist_ok=True)
    (PICTURES / "bay-window.png").write_bytes(png([cushion, plan], ["2fr", "3fr"]))
    problem = outlines_on_stripe()
    found = stages(problem, seconds)
    (PICTURES / "lay-stages.png").write_bytes(png([stages_svg(problem, found)], ["1fr"]))
    (PICTURES / "lay-bar.png").write_bytes(png([bar_svg(problem, found[-1][1])], ["1fr"]))
    (PICTURES / "benches-plan.png").write_bytes(png([cutting_plan_svg(benches, next(iter(benches.plans)))], ["1fr"]))


if __name__ == "__main__":
    main()
