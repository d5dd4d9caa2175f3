"""The pages, in the order in which they stand in the head of every page."""

from squab.web.pages import by_hand, charge, drawings, house, job, jobs, lay, scenes, sheets, shelf, telephone, text

ROUTERS = (
    telephone.router, jobs.router, text.router, job.router, lay.router, charge.router, drawings.router, scenes.router,
    by_hand.router, sheets.router, shelf.router, house.router,
)  # fmt: skip
