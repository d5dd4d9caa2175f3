"""Supply: what to buy, how long it takes, what it costs and what to charge."""

from squab.supply.buy import Need, buy_lines, cloth_needs, cost_by_cushion, foam_cuts, needs_of
from squab.supply.needs import CoverNeeds, cover_needs, sewing_passes
from squab.supply.price import price_of
from squab.supply.whole import supply_from, supply_job
from squab.supply.work import bench_minutes, cushion_operations, job_operations, minutes_per_cushion

__all__ = [
    "CoverNeeds", "Need", "bench_minutes", "buy_lines", "cloth_needs", "cost_by_cushion", "cover_needs",
    "cushion_operations", "foam_cuts", "job_operations", "minutes_per_cushion", "needs_of", "price_of",
    "sewing_passes", "supply_from", "supply_job",
]  # fmt: skip
