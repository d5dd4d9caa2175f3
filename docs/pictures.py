"""Make the pictures of the README from the examples, with the program itself.

    python docs/pictures.py [--seconds N]

Writes docs/pictures/bay-window.png (a finished cushion beside its cutting plan) and
docs/pictures/benches-plan.png.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import typst

from squab.draw.picture import cushion_picture_svg
from squab.draw.plan import cutting_plan_svg
from squab.draw.svg import PAPER
from squab.draw.typeset import fonts
from squab.files.jobfile import read_job
from squab.stages import work
from squab.worked import WorkedJob

HERE = Path(__file__).resolve().parent
PICTURES = HERE / "pictures"
WIDE_MM, WIDE_PX = 400.0, 1600


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


def main() -> None:
    """Make both pictures."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=10.0)
    seconds = parser.parse_args().seconds
    bay, benches = worked_example("bay-window", seconds), worked_example("benches", seconds)
    cushion, plan = cushion_picture_svg(bay, "left"), cutting_plan_svg(bay, next(iter(bay.plans)))
    PICTURES.mkdir(exist_ok=True)
    (PICTURES / "bay-window.png").write_bytes(png([cushion, plan], ["2fr", "3fr"]))
    (PICTURES / "benches-plan.png").write_bytes(png([cutting_plan_svg(benches, next(iter(benches.plans)))], ["1fr"]))


if __name__ == "__main__":
    main()
