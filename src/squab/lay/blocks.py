"""Foam blocks cut from sheets: the search for cloth, with no pattern, a saw's gap and many lengths all alike.

Sheets of one foam are filled one after another, the largest blocks first; a sheet that has been
filled once is cut again the same way as long as there are blocks for it. Every sheet is checked by
the lay's verifier.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import cached_property

import numpy as np

from squab.errors import LayError
from squab.findings import Finding, Outcome, Severity
from squab.lay._leftover import covers, largest_left
from squab.lay.cuts import cut_outlines
from squab.lay.records import Lattice, Lay, LayPiece, LayProblem
from squab.lay.search import Progress, search
from squab.lay.verify import verify
from squab.plane import Points
from squab.units import METRIC, Style, format_length

TURNS = (0, 90, 180, 270)
"""Foam has no grain that a seat could feel; common practice, no source."""
THICK_MM = 0.5
"""A sheet is as thick as a block where they differ by no more."""
FITS_MM = 1e-6
MOST_BLOCKS = 2000
TRIAL_STEPS = 3000
"""Moves of a trial; of ten rectangles that is about a tenth of a second."""
MOST_TRIAL_S = 20.0
"""No trial takes longer, on whatever machine."""


@dataclass(frozen=True)
class Block:
    """A kind of block: its outline from above (n, 2), how thick, of which foam, and how many."""

    key: str
    outline: Points
    thickness_mm: float
    foam: str
    count: int = 1


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet of foam as it is sold."""

    foam: str
    thickness_mm: float
    width_mm: float
    length_mm: float
    price: Decimal | None = None


@dataclass(frozen=True)
class CutSheet:
    """One way to cut a sheet, and how many sheets are cut so.

    `lay` is in the sheet's frame: u across its width, v along its length. Its keys are the blocks'
    own with a running number.
    """

    sheet: Sheet
    problem: LayProblem
    lay: Lay
    count: int

    def holds(self) -> Mapping[str, int]:
        """How many blocks of each kind one sheet gives."""
        return Counter(x.key.rpartition("#")[0] for x in self.lay.placed)

    @cached_property
    def left_mm(self) -> tuple[float, float, float, float]:
        """The largest rectangle (u0, v0, u1, v1) that stays whole of a sheet cut so, clear of the saw."""
        gap = self.problem.gap_mm
        grown = np.array([-gap, -gap, gap, gap])
        taken = [covers(uv) + grown for uv in cut_outlines(self.problem, self.lay)]
        return largest_left(taken, self.sheet.width_mm, self.sheet.length_mm)


@dataclass(frozen=True)
class SheetsToBuy:
    """What to buy of one sheet and how to cut it; nothing can do with fewer than `at_least`, by area."""

    sheet: Sheet
    cuts: tuple[CutSheet, ...]
    at_least: int

    @property
    def count(self) -> int:
        """Sheets to buy."""
        return sum(c.count for c in self.cuts)

    def areas_mm2(self) -> dict[str, float]:
        """What the blocks of each kind take of all the sheets together."""
        found: Counter[str] = Counter()
        for cut in self.cuts:
            area = {p.key.rpartition("#")[0]: _area_mm2(p.outline) for p in cut.problem.pieces}
            for key, n in cut.holds().items():
                found[key] += n * cut.count * area[key]  # type: ignore[assignment]
        return dict(found)


def cut_from_sheets(
    blocks: Sequence[Block],
    sheets: Sequence[Sheet],
    *,
    gap_mm: float = 0.0,
    steps: int = TRIAL_STEPS,
    seed: int = 0,
    style: Style = METRIC,
) -> Outcome[tuple[SheetsToBuy, ...]]:
    """Cut foam blocks from sheets, as few as can be found.

    Parameters
    ----------
    blocks
        What is wanted. A block is cut from a sheet of its own foam and thickness; of several such
        sheets that one is bought which costs the least, or, where not all have a price, of which
        the least area is taken.
    sheets
        The sheets that are sold.
    gap_mm
        Lost to the saw between blocks.
    steps
        Moves of each trial. Counted, not timed: the same blocks are cut the same way, and cost the
        same, wherever and whenever it is worked out.
    seed
        Seed of the searches.
    style
        How lengths are told.

    Returns
    -------
    Outcome
        For each sheet of which any are bought, how many and how they are cut. Findings: SUP-020 no
        sheet of that foam is as thick, SUP-021 a block is larger than every such sheet; such blocks
        are left out.

    Raises
    ------
    LayError
        If there are more than 2000 blocks.
    """
    if sum(b.count for b in blocks) > MOST_BLOCKS:
        raise LayError(f"{sum(b.count for b in blocks)} blocks; at most {MOST_BLOCKS} are cut in one go")
    findings: list[Finding] = []
    bought: list[SheetsToBuy] = []
    for (foam, thickness), group in _by_foam(blocks).items():
        fitting = [s for s in sheets if s.foam == foam and abs(s.thickness_mm - thickness) <= THICK_MM]
        if not fitting:
            findings += [_no_sheet(b, sheets, style) for b in group]
            continue
        wanted = [b for b in group if any(_fits(b, s) for s in fitting)]
        findings += [_too_large(b, fitting, style) for b in group if b not in wanted]
        ways = [way for s in fitting if (way := _filled(wanted, s, gap_mm, steps, seed)) is not None]
        if wanted and ways:
            bought.append(min(ways, key=_dear if all(w.sheet.price is not None for w in ways) else _large))
        elif wanted:
            findings += [_too_large(b, fitting, style) for b in wanted]
    return Outcome(tuple(bought), tuple(findings))


def _large(way: SheetsToBuy) -> float:
    return way.count * way.sheet.width_mm * way.sheet.length_mm


def _dear(way: SheetsToBuy) -> float:
    return way.count * float(way.sheet.price or 0)


def _by_foam(blocks: Iterable[Block]) -> dict[tuple[str, float], list[Block]]:
    groups: dict[tuple[str, float], list[Block]] = {}
    for b in blocks:
        groups.setdefault((b.foam, round(b.thickness_mm, 1)), []).append(b)
    return groups


def _fits(block: Block, sheet: Sheet) -> bool:
    w, d = np.ptp(block.outline, axis=0)
    return any(
        a <= sheet.width_mm + FITS_MM and b <= sheet.length_mm + FITS_MM for a, b in ((w, d), (d, w))
    )  # fmt: skip


def _filled(blocks: Sequence[Block], sheet: Sheet, gap_mm: float, steps: int, seed: int) -> SheetsToBuy | None:
    """All blocks cut from one kind of sheet, or None where one of them does not fit it."""
    if not all(_fits(b, sheet) for b in blocks):
        return None
    order = sorted(blocks, key=lambda b: _area_mm2(b.outline), reverse=True)
    left = {b.key: b.count for b in order}
    cuts: list[CutSheet] = []
    while any(left.values()):
        problem, lay = _one_sheet(order, left, sheet, gap_mm, steps, seed)
        cut = CutSheet(sheet, problem, lay, 1)
        each = cut.holds()
        times = min(left[k] // n for k, n in each.items())
        left = {k: n - times * each.get(k, 0) for k, n in left.items()}
        cuts.append(replace(cut, count=times))
    whole = sum(b.count * _area_mm2(b.outline) for b in blocks)
    at_least = math.ceil(whole / (sheet.width_mm * sheet.length_mm) - FITS_MM)
    return SheetsToBuy(sheet, tuple(cuts), at_least)


def _one_sheet(
    order: Sequence[Block], left: Mapping[str, int], sheet: Sheet, gap_mm: float, steps: int, seed: int
) -> tuple[LayProblem, Lay]:
    """Fill a sheet, the largest blocks first, with as many of each as a search finds room for."""
    on: dict[str, int] = {}
    best: tuple[LayProblem, Lay] | None = None
    room = sheet.width_mm * sheet.length_mm
    for block in order:
        area = _area_mm2(block.outline)
        free = room - sum(n * _area_mm2(b.outline) for b in order if (n := on.get(b.key, 0)))
        most = min(left[block.key], int(free / area + FITS_MM))

        def laid(n: int, block: Block = block) -> tuple[LayProblem, Lay] | None:
            return _laid(order, {**on, block.key: n}, sheet, gap_mm, steps, seed)

        n, found = _most(most, laid)
        if found is not None:
            on[block.key], best = n, found
    assert best is not None  # a block alone fits, as has been asked before
    return best


def _most(most: int, laid: Callable[[int], tuple[LayProblem, Lay] | None]) -> tuple[int, tuple[LayProblem, Lay] | None]:
    """The largest number up to `most` that can be laid: the most first, then between what did and did not."""
    low, high, found = 0, most + 1, None
    n = most
    while high - low > 1:
        now = laid(n)
        if now is None:
            high = n
        else:
            low, found = n, now
        n = (low + high) // 2
    return low, found


def _laid(
    order: Sequence[Block], on: Mapping[str, int], sheet: Sheet, gap_mm: float, steps: int, seed: int
) -> tuple[LayProblem, Lay] | None:
    pieces = tuple(LayPiece(f"{b.key}#{k}", b.outline, TURNS) for b in order for k in range(1, on.get(b.key, 0) + 1))
    problem = LayProblem(sheet.foam, sheet.width_mm, Lattice(), pieces, gap_mm=gap_mm, pattern_at=(0.0, 0.0),
                         bolt_mm=sheet.length_mm)  # fmt: skip
    lay = _until_it_fits(problem, sheet.length_mm, steps, seed)
    if lay.length_mm > sheet.length_mm + FITS_MM:
        return None
    faults = verify(problem, lay)
    assert not faults, "; ".join(f.message for f in faults[:3])
    return problem, lay


def _until_it_fits(problem: LayProblem, length_mm: float, steps: int, seed: int) -> Lay:
    fits: list[float] = []

    def report(progress: Progress) -> None:
        if progress.length_mm <= length_mm:
            fits.append(progress.length_mm)

    bare = replace(problem, bolt_mm=None)
    return search(bare, seconds=MOST_TRIAL_S, steps=steps, seed=seed, report=report, stop=lambda: bool(fits))


def _area_mm2(xy: Points) -> float:
    return abs(float((xy[:, 0] * np.roll(xy[:, 1], -1) - np.roll(xy[:, 0], -1) * xy[:, 1]).sum())) / 2


def _no_sheet(block: Block, sheets: Sequence[Sheet], style: Style) -> Finding:
    thick = sorted({s.thickness_mm for s in sheets if s.foam == block.foam})
    there = ", ".join(format_length(t, style) for t in thick) or "none"
    return Finding(
        "SUP-020", Severity.WARN, block.key,
        f"its block is {format_length(block.thickness_mm, style)} thick; sheets of {block.foam} there are: {there}",
        "glue it up from thinner sheets by the foam maker's rules, or give a sheet of that thickness",
    )  # fmt: skip


def _too_large(block: Block, fitting: Sequence[Sheet], style: Style) -> Finding:
    w, d = (format_length(float(x), style) for x in np.ptp(block.outline, axis=0))
    large = max(fitting, key=lambda s: s.width_mm * s.length_mm)
    return Finding(
        "SUP-021", Severity.WARN, block.key,
        f"its block is {w} by {d}; the largest sheet of {block.foam} as thick is "
        f"{format_length(large.width_mm, style)} by {format_length(large.length_mm, style)}",
        "join it from two under the cover, or give a larger sheet",
    )  # fmt: skip
