"""W1, worked by hand: an armchair seat in inches, plain cloth. Common practice, no source."""

from __future__ import annotations

from dataclasses import replace

import pytest

from squab.cloth import Cloth
from squab.construct import construct
from squab.construct.records import CushionCover, Piece
from squab.job import Cover, Cushion, Fill, Job, Piping, Zip
from squab.measure.shapes import rectangle
from squab.units import IMPERIAL

IN = 25.4


def armchair(allowance_in: float = 0.5, **zip_settings: object) -> CushionCover:
    cover = Cover(
        allowance_mm=allowance_in * IN,
        piping=Piping(cord_mm=5 / 32 * IN),
        zip=replace(Zip(tape_mm=1.25 * IN, trim_mm=0.25 * IN), **zip_settings),  # type: ignore[arg-type]
    )
    outline = rectangle(24 * IN, 22 * IN).value
    assert outline is not None
    seat = Cushion(
        "seat",
        "seat",
        outline,
        4 * IN,
        size_is="seat",
        fill=Fill(wrap_mm=0.5 * IN),
        clearance_mm={"left": 0.25 * IN, "right": 0.25 * IN},
        cover=cover,
    )
    linen = Cloth("linen", "linen", 53.5 * IN, thickness_mm=3 / 64 * IN)
    found = construct(Job("chair", (seat,), (linen,), style=IMPERIAL))
    assert found.value is not None, found.findings
    return found.value.covers[0]


def cut_in(piece: Piece) -> tuple[float, float]:
    x0, y0, x1, y1 = piece.cut.bounds()
    return (x1 - x0) / IN, (y1 - y0) / IN


def test_sizes_side_by_side() -> None:
    """A 24 by 22 hole, 1/4 clearance at the arms: seam 23 x 21 1/2 x 4, firm foam half an inch more."""
    sizes = armchair().sizes
    assert (sizes.seam.width_mm / IN, sizes.seam.depth_mm / IN, sizes.seam.thickness_mm / IN) == pytest.approx(
        (23, 21.5, 4)
    )
    assert (sizes.fill.width_mm / IN, sizes.fill.depth_mm / IN, sizes.fill.thickness_mm / IN) == pytest.approx(
        (23.5, 22, 4)
    )
    assert sizes.stands_proud_mm / IN == pytest.approx(0.25)
    assert sizes.finished.width_mm / IN == pytest.approx(23.5)


def test_panels_and_ring() -> None:
    cover = armchair()
    top = next(p for p in cover.pieces if p.kind == "top")
    assert cut_in(top) == pytest.approx((24, 22.5))
    assert cover.ring_mm / IN == pytest.approx(89)


def test_a_longer_return_spares_the_join() -> None:
    """At 4 in the boxing would be cut 59, wider than the cloth; returns of 7 in leave 52, cut 53: no join."""
    cover = armchair()
    band = next(s for s in cover.strips if s.kind == "boxing")
    assert cover.zip_panel is not None
    assert cover.zip_panel.return_mm / IN == pytest.approx(7)
    assert cover.zip_panel.panel_mm / IN == pytest.approx(37)
    assert band.length_mm / IN == pytest.approx(52)
    assert (band.length_mm + 2 * band.end_mm) / IN == pytest.approx(53)
    assert band.cut_width_mm / IN == pytest.approx(5)
    assert band.most_parts == 1


@pytest.mark.parametrize(
    ("making", "strips", "cut"), [("fold_and_split", 1, 6.5), ("two_single", 2, 3.125), ("two_doubled", 2, 5)]
)
def test_zip_panel_strips(making: str, strips: int, cut: float) -> None:
    """Fold and split 6 1/4, cut 6 1/2 and trimmed; two singles 3 1/8 each; two doubled 5 each."""
    plan = armchair(making=making).zip_panel
    assert plan is not None
    assert plan.strip_count == strips
    assert plan.strip_cut_mm / IN == pytest.approx(cut)
    assert plan.made_up_mm / IN == pytest.approx(5)
    pieces = [p for p in armchair(making=making).pieces if p.kind == "zip_panel"]
    assert len(pieces) == strips
    assert all(cut_in(p)[1] == pytest.approx(cut) for p in pieces)


def test_piping_strip() -> None:
    """Once round cord and cloth and two allowances: 1.638, marked 1 5/8, not 1 1/4."""
    plan = armchair().piping
    assert plan is not None
    assert (plan.wrap_mm + 2 * 0.5 * IN) / IN == pytest.approx(1.638, abs=5e-4)
    assert plan.strip_cut_mm / IN == pytest.approx(1.625)


def test_a_smaller_allowance_leaves_the_seam_size() -> None:
    """SA 3/8: cut 23 3/4 x 22 1/4, boxing 4 3/4, strip 1 3/8; the seam size stays 23 x 21 1/2 x 4."""
    cover = armchair(0.375)
    top = next(p for p in cover.pieces if p.kind == "top")
    assert cut_in(top) == pytest.approx((23.75, 22.25))
    assert cover.sizes.seam == armchair().sizes.seam
    band = next(s for s in cover.strips if s.kind == "boxing")
    assert band.cut_width_mm / IN == pytest.approx(4.75)
    assert cover.piping is not None
    assert cover.piping.strip_cut_mm / IN == pytest.approx(1.375, abs=0.02)
