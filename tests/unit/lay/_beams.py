"""What the tests of both beams draw and ask."""

from __future__ import annotations

import math

from hypothesis import assume
from hypothesis import strategies as st

from squab.lay._abreast import Rows
from squab.lay._model import State
from squab.lay.records import LayStrip


@st.composite
def strips(draw: st.DrawFn, most: int) -> tuple[LayStrip, ...]:
    """Up to so many strips that may be cut anywhere, in parts that fit across 700 mm."""
    found = []
    for k in range(draw(st.integers(0, most))):
        seam, thick, end = draw(st.integers(250, 2600)), draw(st.sampled_from([32, 40, 85])), draw(st.integers(5, 20))
        parts, turns = draw(st.integers(math.ceil(seam / 600), 9)), draw(st.sampled_from([(0,), (0, 90)]))
        least = draw(st.sampled_from([50.0, 200.0, 270.0]))
        assume(seam / math.ceil(seam / 600) >= least)
        found.append(
            LayStrip(f"s#{k}", 0.0, float(seam), 0.0, float(thick), float(end), least, turns, most_parts=parts)
        )
    return tuple(found)


def lengths_by_turns(rows: Rows, state: State, children: int) -> list[float]:
    """How long a beam's lay is after so many children made at once, once more, and in turns of 20,000."""
    lengths = []
    for turn in (children, children, 20_000):
        beam, left = rows.beam(state, 3), children
        while left > 0:
            left -= beam.go(min(turn, left))
        lengths.append(beam.length_mm)
    return lengths
