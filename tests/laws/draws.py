"""How many jobs a law is tried on: few with every run of the tests, a hundred times as many when asked.

`pytest tests/laws --hypothesis-profile=long` takes hours, and is for a quiet machine.
"""

from __future__ import annotations

from hypothesis import settings

FEW = 100
"""What Hypothesis tries unless it is told otherwise."""


def draws(few: int) -> int:
    """As many examples as the profile asks for, `few` where it asks for nothing."""
    return max(1, few * settings().max_examples // FEW)
