"""The true shape of a cushion from the numbers of a tape measure."""

from squab.measure.shapes import (
    CORNERS,
    Step,
    arc_by_rise,
    crossing_of,
    d_shape,
    disc,
    l_shape,
    one_eared,
    rectangle,
    rounded_rectangle,
    run,
    t_shape,
    trapezoid,
)  # fmt: skip

__all__ = [
    "CORNERS", "Step", "arc_by_rise", "crossing_of", "d_shape", "disc", "l_shape", "one_eared", "rectangle",
    "rounded_rectangle", "run", "t_shape", "trapezoid",
]  # fmt: skip
