"""The pages, in the order in which they stand in the head of every page."""

from squab.web.pages import charge, drawings, job, jobs, lay, scenes, sheets, telephone, text

ROUTERS = (
    telephone.router, jobs.router, text.router, job.router, lay.router, charge.router, drawings.router, scenes.router,
    sheets.router,
)  # fmt: skip
