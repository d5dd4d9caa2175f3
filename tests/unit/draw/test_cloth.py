"""The cloth as drawn is the cloth as it repeats: stripes where they are, motifs on their lattice."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely.geometry import Point, box
from shapely.geometry.base import BaseGeometry

from squab.cloth import Motif, Pattern, Stripe
from squab.draw.cloth import cloth_svg, colour_at, drawn_pattern, motif_shape, pattern_shapes
from squab.draw.svg import affine
from tests.unit.draw.drawn_jobs import LEAVES, UNEVEN, striped


def _visible(shapes: list[tuple[str, BaseGeometry]], x: float, y: float) -> str:
    """The colour on top at a point, as a painter would leave it."""
    return [colour for colour, shape in shapes if shape.intersects(Point(x, y))][-1]


@pytest.mark.parametrize(
    "pattern",
    [
        UNEVEN,
        replace(UNEVEN, kind="weft_stripe", repeat_across_mm=None, repeat_along_mm=96.0),
        LEAVES,
        Pattern("print", 130.0, 90.0, 45.0, motif=Motif(60, 70, "#112233", "lozenge")),
        Pattern("print", 130.0, 90.0, motif=Motif(160, 120, "#112233", "oval")),
    ],
    ids=["warp", "weft", "half drop", "lozenge", "motif larger than its repeat"],
)
def test_drawn_shapes_and_the_pattern_itself_agree_everywhere(pattern: Pattern) -> None:
    shapes = pattern_shapes(pattern, box(-37.0, -251.0, 611.0, 700.0))
    rng = np.random.default_rng(7)
    for x, y in rng.uniform((-37, -251), (611, 700), (150, 2)):
        assert _visible(shapes, x, y) == colour_at(pattern, x, y)


@pytest.mark.parametrize("pattern", [UNEVEN, LEAVES], ids=["stripe", "half drop"])
def test_the_pattern_repeats_under_its_lattice(pattern: Pattern) -> None:
    """Half drop: the piece one repeat across has the same pattern half a repeat along (definition)."""
    rng = np.random.default_rng(3)
    for p, q in rng.uniform(-300, 300, (120, 2)):
        assert colour_at(pattern, p, q) == colour_at(pattern, p + pattern.repeat_across_mm, q + pattern.drop_mm)
        if pattern.repeat_along_mm:
            assert colour_at(pattern, p, q) == colour_at(pattern, p, q - pattern.repeat_along_mm)


def test_the_layout_begins_at_nought_and_reads_to_the_right() -> None:
    assert [colour_at(UNEVEN, p, 5.0) for p in (0.1, 39.9, 40.1, 49.9, 50.1, 75.9, 76.1, 95.9, 96.1, -0.1)] == [
        "#b23a2e", "#b23a2e", "#f3ead6", "#f3ead6", "#2f4858", "#2f4858", "#f3ead6", "#f3ead6", "#b23a2e", "#f3ead6",
    ]  # fmt: skip


def test_neighbouring_stripes_leave_no_gap() -> None:
    region = box(0, 0, 400, 50)
    shapes = pattern_shapes(UNEVEN, region)
    assert shapes[0][1].equals(region)
    red_on_top = region.difference(shapely.union_all([s for _, s in shapes[1:]]))
    assert red_on_top.area == pytest.approx((4 * 40 + 16) * 50)


def test_a_region_of_any_shape_is_kept_to() -> None:
    region = Point(100, 100).buffer(80)
    for _, shape in pattern_shapes(LEAVES, region) + pattern_shapes(UNEVEN, region):
        assert shape.difference(region.buffer(1e-6)).area == pytest.approx(0.0, abs=1e-6)


def test_a_one_way_print_is_seen_to_have_a_way() -> None:
    leaf = motif_shape(Motif(80, 120, "#000000", "leaf"))
    turned = shapely.affinity.rotate(leaf, 180, origin=(0, 0))
    assert leaf.symmetric_difference(turned).area > 0.2 * leaf.area
    oval = motif_shape(Motif(80, 120, "#000000", "oval"))
    assert oval.symmetric_difference(shapely.affinity.rotate(oval, 180, origin=(0, 0))).area < 0.001 * oval.area


def test_a_cloth_that_shrinks_after_cutting_is_drawn_as_it_will_be() -> None:
    """Finished = cut x (1 - shrinkage): 96 mm at 3 % is 93.12 mm (AATCC 135, ISO 5077)."""
    pattern = drawn_pattern(striped(shrink_weft_pct=3.0, shrinks_after_cutting=True))
    assert pattern.repeat_across_mm == pytest.approx(93.12)
    assert sum(s.width_mm for s in pattern.stripes) == pytest.approx(93.12)
    assert drawn_pattern(striped(shrink_weft_pct=3.0)).repeat_across_mm == 96.0


def test_a_very_fine_stripe_is_drawn_as_its_ground_instead_of_for_ever() -> None:
    hair = Pattern("warp_stripe", 0.02, stripes=(Stripe(0.01, "#aaaaaa"), Stripe(0.01, "#bbbbbb")))
    assert len(cloth_svg(hair, box(0, 0, 9000, 100), affine(1, 0, 0, 1, 0, 0))) < 300
