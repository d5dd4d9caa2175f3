"""Where the anchors of a repeat may stand across the cloth: the places that decide how many columns there is room for.

A piece loses a column of the repeat only where it would stick out at a selvage, so the best places of an anchor are
those at which some piece touches one.
"""

from __future__ import annotations

import numpy as np

from squab.lay._model import Model, State, at_selvages

MOST_PLACES = 64
"""So many places are tried, of all anchors together, spread evenly over all there are."""
SAME_MM = 1e-6


def anchor_places(model: Model, state: State) -> list[tuple[int, float]]:
    """Each anchor across (by its number in `State.var`), with a place that brings some piece to a selvage."""
    found = [(x, at) for x, places in _places(model, state).items() for at in places]
    return found[:: max(1, -(-len(found) // MOST_PLACES))]


def _places(model: Model, state: State) -> dict[int, list[float]]:
    """Of each anchor across, where it brings some piece to a selvage; only of pieces held along too."""
    places: dict[int, list[float]] = {}
    for i in np.flatnonzero((model.phased[:, 0] >= 0) & (model.phased[:, 1] >= -1) & (model.strip_of < 0)):
        for k in range(int(model.n_mode[i])):
            places.setdefault(int(model.phased[i, 0]), []).extend(at_selvages(model, int(i), k, state.var))
    return {x: _apart(sorted(its)) for x, its in places.items()}


def _apart(places: list[float]) -> list[float]:
    return [p for k, p in enumerate(places) if not k or p - places[k - 1] > SAME_MM]
