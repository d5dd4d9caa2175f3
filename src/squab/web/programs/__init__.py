"""The same use cases for programs: a typed JSON interface under a versioned path.

It holds no rule of its own: what a page may do, a program may do, with the same checks and the same words.
"""

from fastapi import APIRouter

from squab.web.programs import house, jobs, laying
from squab.web.programs.forms import ProblemForm

PREFIX = "/api/v1"
_REFUSALS = {
    404: "There is no such thing.",
    409: "It was changed meanwhile, or does not stand so.",
    422: "It cannot be.",
}

router = APIRouter(
    prefix=PREFIX, responses={code: {"model": ProblemForm, "description": words} for code, words in _REFUSALS.items()}
)
for _part in (jobs.router, laying.router, house.router):
    router.include_router(_part)

__all__ = ["PREFIX", "router"]
