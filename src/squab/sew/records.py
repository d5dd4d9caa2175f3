"""What the sewing stage hands on: the order of making for this very cushion."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One numbered step. `figures` are lengths with their names, printed beside it in the sheet's units.

    In `text`, a length is written `{name}` and filled in from `figures` by the writer, so that
    every sheet rounds alike.
    """

    number: int
    title: str
    text: str
    figures: tuple[tuple[str, float], ...] = ()
    seams: tuple[str, ...] = ()


@dataclass(frozen=True)
class SewingOrder:
    """The order of making of one kind of cushion.

    `head` are label and value pairs (allowance, stitch, needle, thread); `cautions` the usual
    cautions for the tools this cushion takes; `checks` finished sizes with their tolerances, as
    (what, size_mm, tolerance_mm).
    """

    cushion_id: str
    head: tuple[tuple[str, str], ...]
    steps: tuple[Step, ...]
    checks: tuple[tuple[str, float, float], ...]
    cautions: tuple[str, ...]
