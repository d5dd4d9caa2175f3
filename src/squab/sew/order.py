"""The front door: the order of making of every kind of cushion, with its own numbers."""

from __future__ import annotations

from squab.construct.records import Construction, CushionCover, Seam
from squab.job import Job
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

MOST_NOTCHES_SAID = 4


def sewing_orders(job: Job, construction: Construction, match: MatchPlan) -> dict[str, SewingOrder]:
    """Give the order of making of each kind of cushion, by its id.

    Nothing stands in it that this cushion does not need. Words that differ between the shores are
    marked (`squab.words.say`), lengths are `{name}` places filled from a step's figures.
    """
    covers = {c.cushion_id: c for c in construction.covers}
    return {c.id: _order(Bench(job, c, covers[c.id], match)) for c in job.cushions if c.id in covers}


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
        if draft.seams:
            said, more = _seam_list(bench, draft.seams, next_seam)
            text, figures = f"{text} {said}", figures | more
            next_seam += len(draft.seams)
        used = tuple((name, mm) for name, mm in figures.items() if f"{{{name}}}" in text)
        steps.append(Step(number, draft.title, text, used, tuple(s.id for s in draft.seams)))
    return tuple(steps)


def _seam_list(bench: Bench, seams: tuple[Seam, ...], first: int) -> tuple[str, dict[str, float]]:
    """Name numbered seams with their lengths and notches."""
    said, figures = [], {}
    for number, seam in enumerate(seams, first):
        name = f"seam_{number}"
        figures[name] = seam.a.path.length
        said.append(f"seam {number}, {_short_name(seam)}, {{{name}}}{_notch_words(bench, seam)}")
    joined = "; ".join(said)
    return f"{joined[0].upper()}{joined[1:]}.", figures


def _short_name(seam: Seam) -> str:
    if seam.kind in ("panel_boxing", "panel_zip"):
        return seam.side or "all round"
    return seam_name(seam)


def _notch_words(bench: Bench, seam: Seam) -> str:
    names = bench.notches_on(seam)
    if not names:
        return ""
    if len(names) > MOST_NOTCHES_SAID:
        return f" (notches {names[0]} to {names[-1]}, {len(names)} of them)"
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
