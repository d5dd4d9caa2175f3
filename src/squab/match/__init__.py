"""Match: where on the cloth's repeat each piece must sit, what cannot meet and by how much."""

from squab.match.drift import drift_along
from squab.match.joins import JoinKinds, join_kinds
from squab.match.plan import plan_match

__all__ = ["JoinKinds", "drift_along", "join_kinds", "plan_match"]
