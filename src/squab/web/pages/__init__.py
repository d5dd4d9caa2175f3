"""The pages, and the order in which they stand in the head of every page."""

from squab.web.pages import (
    arrival,
    board,
    by_hand,
    charge,
    compare,
    drawings,
    history,
    house,
    job,
    jobs,
    keeping,
    lay,
    programs,
    remnants,
    scenes,
    sheets,
    shelf,
    table,
    telephone,
    telephones,
    text,
)
from squab.web.rendering import NAVIGATION

ROUTERS = (
    telephone.router, jobs.router, text.router, job.router, lay.router, charge.router, drawings.router, scenes.router,
    by_hand.router, sheets.router, shelf.router, house.router, history.router,
    keeping.router, compare.router, programs.router,
    board.router, arrival.router, table.router, telephones.router,
    remnants.router,
)  # fmt: skip

_IN_THE_HEAD = ("telephone", "board", "jobs", "table", "cloths", "house", "keep")
NAVIGATION.sort(key=lambda entry: _IN_THE_HEAD.index(entry[0]))
