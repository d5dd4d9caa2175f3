"""Thread by stitch formula, each pass with its own thickness.

A stitch of class c over a stack T thick, S stitches to the inch, takes so many inches of thread
for each inch of seam (textile-education pages):

- 101 single-thread chain: 3 + 2 T S
- 301 lockstitch: 2 + 2 T S, half of it needle and half bobbin
- 401 two-thread chain: 4 + 2 T S
- 504 three-thread overedge, W wide: 3 + 4 W S + 4 T S

With a stitch L long, S is 1 / L, so T S is simply T / L in any one unit.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from squab.cloth import Cloth
from squab.units import MM_PER_INCH

StitchClass = Literal["101", "301", "401", "504"]

OVEREDGE_WIDTH_MM = 5.0
"""Width of the overlocking; common practice."""
RUN_OVER_MM = MM_PER_INCH
"""Thread run over at the ends of a seam: at least 1 in for 301 (Army TM 10-8340-224-13, 5-6)."""


@dataclass(frozen=True, slots=True)
class Pass:
    """One passage of the machine: its length, the stack it goes through, the stitch.

    `seams` is into how many runs the length is divided: each runs over at both ends.
    """

    what: str
    length_mm: float
    stack_mm: float
    stitch_mm: float
    stitch: StitchClass = "301"
    seams: float = 1.0


def thread_ratio(
    stitch: StitchClass, *, stack_mm: float, stitch_mm: float, width_mm: float = OVEREDGE_WIDTH_MM
) -> float:
    """Give the length of thread that a unit length of seam takes.

    Examples
    --------
    >>> round(thread_ratio("301", stack_mm=0.254, stitch_mm=2.54), 6)
    2.2
    """
    through = stack_mm / stitch_mm
    if stitch == "504":
        return 3.0 + 4.0 * width_mm / stitch_mm + 4.0 * through
    return {"101": 3.0, "301": 2.0, "401": 4.0}[stitch] + 2.0 * through


def pass_thread_mm(run: Pass) -> float:
    """Give the thread that one passage takes, its run-over at both ends included, before waste."""
    if run.length_mm <= 0.0:
        return 0.0
    sewn = run.length_mm + 2.0 * RUN_OVER_MM * run.seams
    return sewn * thread_ratio(run.stitch, stack_mm=run.stack_mm, stitch_mm=run.stitch_mm)


def thread_mm(passes: Iterable[Pass], *, waste_pct: float) -> float:
    """Give the thread of many passages, with waste in percent (10 to 15 is usual)."""
    return sum(pass_thread_mm(p) for p in passes) * (1.0 + waste_pct / 100.0)


def needle_and_bobbin_mm(total_mm: float) -> tuple[float, float]:
    """Divide lockstitch thread between needle and bobbin: half each."""
    return total_mm / 2.0, total_mm / 2.0


def stitches_per_inch(stitch_mm: float) -> float:
    """Give the stitches in an inch.

    >>> stitches_per_inch(2.5)
    10.16
    """
    return round(MM_PER_INCH / stitch_mm, 9)


def denier(tex: float) -> float:
    """Give the denier of a thread, nine times its tex (ASTM D2260, Table 1).

    >>> denier(70)
    630
    """
    return 9 * tex


def stitch_length_mm(cloth: Cloth) -> float:
    """Choose the stitch for a cloth: longer in coated and in thick cloth; common practice.

    Coated cloth tears along a close row of holes: 4 mm is 6.35 to the inch, inside the 5 to 7 that
    Army TM 10-8340-224-13 gives for tentage.
    """
    if cloth.vinyl:
        return 4.0
    if cloth.thickness_mm >= 1.2:
        return 3.5
    return 2.5 if cloth.thickness_mm < 0.5 else 3.0
