"""Minutes by operation, set out as the trade does."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from squab.job import Cushion, Job
from squab.prices import Factors, Minutes
from squab.supply.fill import is_loose
from squab.supply.needs import LONG_MM, CoverNeeds
from squab.supply.records import Operation


def cushion_operations(
    needs: CoverNeeds, cushion: Cushion, minutes: Minutes, factors: Factors
) -> tuple[Operation, ...]:
    """List the minutes of all the cushions of one kind.

    Cutting and sewing take longer in pile, in coated cloth and on a long cushion, longest for the
    first of a kind and less for its repeats; filling, foam and packing are not changed by these.
    """
    factor = cloth_factor(needs, factors) * series_factor(needs.count, factors)
    worked = [(*row, factor) for row in _cut_and_sew(needs, cushion, minutes)]
    worked += [(*row, 1.0) for row in _finish(cushion, minutes)]
    return tuple(
        Operation(needs.cushion_id, name, each * needs.count, unit, each * needs.count * rate * f)
        for name, each, unit, rate, f in worked
        if each > 0.0
    )


Row = tuple[str, float, str, float]
"""Name, quantity for one cushion, unit, minutes for one unit."""


def _cut_and_sew(needs: CoverNeeds, cushion: Cushion, minutes: Minutes) -> list[Row]:
    piped_m = needs.piping_rings * needs.piping_ring_mm / 1000.0
    sewn_m = 2.0 * needs.ring_mm / 1000.0
    return [
        ("mark and cut, plain", needs.pieces_plain, "pieces", minutes.mark_and_cut_plain_per_piece),
        ("mark and cut, matched", needs.pieces_matched, "pieces", minutes.mark_and_cut_matched_per_piece),
        ("panel seam", needs.panel_seam_mm / 1000.0, "m", minutes.panel_seam_per_m),
        ("strips cut and joined", needs.piping_joins, "joins", minutes.strips_cut_and_joined_per_join),
        ("cord covered", piped_m, "m", minutes.cord_covered_per_m),
        ("[[piping]] sewn on", piped_m, "m", minutes.piping_sewn_on_per_m),
        ("[[zip panel]]", float(needs.zip_mm > 0.0), "each", minutes.zip_panel),
        ("[[boxing]] joined", needs.boxing_joins, "joins", minutes.boxing_joined_per_join),
        ("[[boxing]] sewn", sewn_m, "m", minutes.boxing_sewn_per_m),
        ("pinning or basting each matched side", needs.matched_sides, "sides", minutes.matched_side),
        ("overlocking", needs.overlock_mm / 1000.0, "m", minutes.overlocking_per_m),
        ("ties", float(cushion.cover.ties), "each", minutes.tie),
        ("handle", float(cushion.cover.handle), "each", minutes.handle),
        ("non-slip base", float(cushion.cover.non_slip_base), "each", minutes.non_slip_base),
    ]


def _finish(cushion: Cushion, minutes: Minutes) -> list[Row]:
    fill = "inner case filled" if is_loose(cushion.fill) else "foam cut and wrapped"
    return [
        (fill, 1.0, "each", minutes.foam_cut_and_wrapped),
        ("fill and dress", 1.0, "each", minutes.fill_and_dress),
        ("inspect and pack", 1.0, "each", minutes.inspect_and_pack),
    ]


def cloth_factor(needs: CoverNeeds, factors: Factors) -> float:
    """Give what the cloth and the length do to cutting and sewing."""
    factor = factors.pile if needs.pile else 1.0
    factor *= factors.vinyl if needs.vinyl else 1.0
    return factor * (factors.long_over_1500_mm if needs.longest_mm > LONG_MM else 1.0)


def series_factor(count: int, factors: Factors) -> float:
    """Give the mean factor of a run of like cushions: the first is slowest, the rest go quicker."""
    return (factors.first_off + (count - 1) * factors.repeat) / count


def job_operations(job: Job, order_mm: Iterable[float]) -> tuple[Operation, ...]:
    """List the job's own minutes: visit and template, admin, checking and squaring off the cloth."""
    minutes, cloth_m = job.prices.minutes, sum(order_mm) / 1000.0
    rows = (
        ("visit and template", 1.0, "job", minutes.visit_and_template_per_job),
        ("admin", 1.0, "job", minutes.admin_per_job),
        ("check and square off", cloth_m, "m", minutes.check_and_square_per_m),
    )
    return tuple(Operation("", name, n, unit, n * rate) for name, n, unit, rate in rows if n * rate > 0.0)


def bench_minutes(operations: Sequence[Operation], cushion_id: str, count: int) -> float:
    """Give the minutes at the bench for one cushion of a kind, the job's own minutes left out."""
    return sum(o.minutes for o in operations if o.cushion_id == cushion_id) / count


def minutes_per_cushion(operations: Sequence[Operation], counts: dict[str, int]) -> dict[str, float]:
    """Give the minutes of one cushion of each kind, with its even share of the job's own minutes."""
    shared = sum(o.minutes for o in operations if not o.cushion_id) / max(1, sum(counts.values()))
    return {k: bench_minutes(operations, k, n) + shared for k, n in counts.items()}
