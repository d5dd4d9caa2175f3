"""The pages, in the order in which they stand in the head of every page."""

from squab.web.pages import jobs, telephone

ROUTERS = (telephone.router, jobs.router)
