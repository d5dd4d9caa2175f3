"""The front door: the order of making of every kind of cushion, with its own numbers."""

from __future__ import annotations

from collections.abc import Mapping

from squab.construct.records import Construction, CushionCover, Seam
from squab.job import Job
from squab.lay.records import ClothPlan
from squab.match.records import MatchPlan
from squab.sew.bench import Bench
from squab.sew.cautions import cautions_for
from squab.sew.closing_steps import closing_drafts
from squab.sew.cover_steps import Draft, cover_drafts, seam_name
from squab.sew.records import SewingOrder, Step
from squab.sew.rules import (
    needle_words,
    stitch_words,
    thread_words,
    tolerance_mm,
)

MOST_NOTCHES_SAID = 3
WHOLE_END_MM = 1.0
"""Two halves of a zip panel's end together are no longer than the boxing is wide, within this."""


def sewing_orders(
    job: Job, construction: Construction, match: MatchPlan, plans: Mapping[str, ClothPlan]
) -> dict[str, SewingOrder]:
    """Give the order of making of each kind of cushion, by its id.

    `plans` by cloth id tell into how many lengths each strip is cut.
    Nothing stands in it that this cushion does not need. Words that differ between the shores are
    marked (`squab.words.say`), lengths are `{name}` places filled from a step's figures.
    """
    covers = {c.cushion_id: c for c in construction.covers}
    return {c.id: _order(Bench(job, c, covers[c.id], match, plans)) for c in job.cushions if c.id in covers}


def _order(bench: Bench) -> SewingOrder:
    drafts = [*cover_drafts(bench), *closing_drafts(bench)]
    return SewingOrder(
        cushion_id=bench.cushion.id,
        head=_head(bench),
        steps=_numbered(bench, drafts),
        checks=_checks(bench.cover),
        cautions=cautions_for(bench),
    )


def _numbered(bench: Bench, drafts: list[Draft]) -> tuple[Step, ...]:
    """Number the steps, and the seams through all of them in the order in which they are sewn."""
    steps, next_seam = [], 1
    for number, draft in enumerate(drafts, 1):
        text, figures = draft.text, dict(draft.figures)
        runs = _runs(draft.seams, bench.cover.thickness_mm)
        if runs:
            said, more = _seam_list(bench, runs, next_seam)
            text, figures = f"{text} {said}", figures | more
            next_seam += len(runs)
        used = tuple((name, mm) for name, mm in figures.items() if f"{{{name}}}" in text)
        steps.append(Step(number, draft.title, text, used, tuple(s.id for s in draft.seams)))
    return tuple(steps)


def _runs(seams: tuple[Seam, ...], thickness_mm: float) -> list[tuple[Seam, ...]]:
    """Put together what is one line of stitching: the two halves of a zip panel's end."""
    runs: list[tuple[Seam, ...]] = []
    for seam in seams:
        last = runs[-1] if runs else ()
        if last and _halves(last[-1], seam) and _length_mm((*last, seam)) <= thickness_mm + WHOLE_END_MM:
            runs[-1] = (*last, seam)
        else:
            runs.append((seam,))
    return runs


def _halves(a: Seam, b: Seam) -> bool:
    return a.kind == b.kind == "zip_join" and a.side == b.side


def _length_mm(run: tuple[Seam, ...]) -> float:
    return sum(s.a.path.length for s in run)


def _seam_list(bench: Bench, runs: list[tuple[Seam, ...]], first: int) -> tuple[str, dict[str, float]]:
    """Name numbered seams with their lengths and notches."""
    said, figures = [], {}
    for number, run in enumerate(runs, first):
        name = f"seam_{number}"
        figures[name] = _length_mm(run)
        said.append(f"seam {number}, {_short_name(bench, run[0])}, {{{name}}}{_notch_words(bench, run)}")
    joined = "; ".join(said)
    return f"{joined[0].upper()}{joined[1:]}.", figures


def _short_name(bench: Bench, seam: Seam) -> str:
    if seam.kind == "panel_zip" and seam.side != bench.cushion.cover.zip.side:
        return f"{seam.side} ([[zip panel]])"
    if seam.kind in ("panel_boxing", "panel_zip"):
        return seam.side or "all round"
    return seam_name(seam)


def _notch_words(bench: Bench, run: tuple[Seam, ...]) -> str:
    names = () if run[0].kind in ("zip_join", "boxing_join") else bench.notches_on(run[0])
    if not names:
        return ""
    if len(names) > MOST_NOTCHES_SAID:
        return f" (notches {names[0]} to {names[-1]})"
    return f" (notch{'es' if len(names) > 1 else ''} {', '.join(names)})"


def _head(bench: Bench) -> tuple[tuple[str, str], ...]:
    """Allowance, seam, stitch, needle, thread."""
    piped = "plain seam with [[piping]] between" if bench.piped_edges else "plain seam"
    return (
        ("[[seam allowance]]", "{allowance}, seams and sizes are on the stitch line"),
        ("seam", f"{piped}, lockstitch {bench.job.prices.stitch_class}" if _is_lock(bench) else f"{piped}, chain 401"),
        ("stitch", stitch_words(bench.cloth)),
        ("needle", needle_words(bench.cloth)),
        ("thread", thread_words(bench.cloth, outdoor=bench.job.outdoor)),
    )


def _is_lock(bench: Bench) -> bool:
    return bench.job.prices.stitch_class == "301"


def _checks(cover: CushionCover) -> tuple[tuple[str, float, float], ...]:
    """Finished sizes with their tolerances."""
    size = cover.sizes.finished
    over = " over the [[piping]]" if cover.sizes.stands_proud_mm > 0.0 else ""
    rows = (
        (f"width{over}", size.width_mm),
        (f"depth{over}", size.depth_mm),
        ("[[boxing]], finished", cover.thickness_mm),
    )
    return tuple((what, mm, tolerance_mm(mm)) for what, mm in rows)
