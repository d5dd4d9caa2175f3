"""Figures of cloth as it lies on the table: mass, bow and skew, from published methods, through the job file."""

from __future__ import annotations

import pytest

from squab.cloth import Bolt, Cloth, Pattern
from squab.files import read_job
from squab.findings import Finding
from squab.job import Job
from squab.stages import prepare
from squab.supply.buy import buy_lines, cloth_needs
from squab.supply.fill import mass_kg

JOB = """
[job]
name = "Reading room seat"
size_is = "seam"
[[cloth]]
id = "cloth"
usable_width = {width}
{cloth}
[[cushion]]
id = "seat"
width = 600
depth = 500
thickness = 80
{cushion}
"""
PRINT = "repeat_across = 340\nrepeat_along = 320"


def job_of(cloth: str = "", *, width: str = "1400", cushion: str = "") -> Job:
    found = read_job(JOB.format(cloth=cloth, width=width, cushion=cushion).encode())
    assert found.value is not None, found.findings
    return found.value


def truth_of(cloth: str, *, width: str = "1400") -> list[Finding]:
    return [f for f in prepare(job_of(cloth, width=width)).findings if f.code == "MAT-010"]


@pytest.mark.parametrize(("ounces", "grams"), [(1, 33.9057), (10, 339.057)])
def test_ounces_in_a_square_yard(ounces: float, grams: float) -> None:
    """28.3495 g and 0.836127 m2 (US Navy facilities handbook 1004/6, App. B; NIST SP 811, from memory)."""
    (cloth,) = job_of(f"mass_oz_yd2 = {ounces}").cloths
    assert cloth.mass_g_m2 == pytest.approx(grams, rel=5e-4)


def test_a_linear_yard_of_ten_ounce_cloth_54_in_wide() -> None:
    """15 oz: arithmetic."""
    (cloth,) = job_of("mass_oz_yd2 = 10", width='"54 in"').cloths
    assert cloth.mass_g_per_m is not None
    assert cloth.mass_g_per_m * 0.9144 / 28.3495 == pytest.approx(15.0, rel=1e-5)


def test_the_shopping_list_says_what_the_cloth_weighs() -> None:
    """320 g/m2 by 1.40 m is 448 g/m; 12.5 m of it weigh 5.60 kg (AS 2001.2.13, ISO 3801)."""
    job = job_of("mass = 320")
    assert job.cloths[0].mass_g_per_m == pytest.approx(448.0)
    (line,) = buy_lines(cloth_needs(job, {"cloth": 12500.0}, ()), "GBP")
    assert "5.6 kg" in line.detail
    assert "448 g" in line.detail
    (plain,) = buy_lines(cloth_needs(job_of(), {"cloth": 12500.0}, ()), "GBP")
    assert "kg" not in plain.detail


def test_a_mass_is_given_one_way() -> None:
    found = read_job(JOB.format(cloth="mass = 320\nmass_oz_yd2 = 9", width=1400, cushion="").encode())
    assert [f.code for f in found.findings if f.code == "JOB-017"] == ["JOB-017"]


@pytest.mark.parametrize(("pounds", "kilograms"), [(1.0, 16.0185), (1.8, 28.833)])
def test_pounds_in_a_cubic_foot(pounds: float, kilograms: float) -> None:
    """US Navy facilities handbook 1004/6, App. B."""
    (cushion,) = job_of(cushion=f"fill = {{ density_lb_ft3 = {pounds} }}").cushions
    assert cushion.fill.density_kg_m3 == pytest.approx(kilograms, rel=1e-4)
    block = mass_kg(609.6**2, 101.6, cushion.fill.density_kg_m3)
    assert block == pytest.approx(1.0886 * pounds / 1.8, rel=1e-4), "24 x 24 x 4 in at 1.8 lb/ft3 is 2.4 lb"


def test_a_density_is_given_one_way() -> None:
    cushion = "fill = { density = 30, density_lb_ft3 = 1.8 }"
    found = read_job(JOB.format(cloth="", width=1400, cushion=cushion).encode())
    assert "JOB-017" in {f.code for f in found.findings}


def test_bow_in_percent() -> None:
    """1 in over 54 in is 1.85 % (ASTM D3882, the formula from memory)."""
    (cloth,) = job_of('bolt = { bow = "1 in" }', width='"54 in"').cloths
    assert cloth.bow_pct == pytest.approx(1.85, abs=0.01)


def test_skew_over_a_piece() -> None:
    """1.5 % over 600 mm is 9.0 mm (ASTM D3882: method read, formula at second hand)."""
    (cloth,) = job_of("bolt = { skew = 21 }").cloths
    assert cloth.skew_pct == pytest.approx(1.5)
    assert cloth.out_of_true_mm(600.0) == pytest.approx(9.0)


def test_bow_is_a_parabola() -> None:
    """W 1400, 21 mm: 1.5 %, and 14.143 mm at 300 mm from the edge (ASTM D3882)."""
    cloth = Cloth("x", "x", 1400.0, bolt=Bolt(bow_mm=21.0))
    assert cloth.bow_pct == pytest.approx(1.5)
    assert cloth.bow_at_mm(300.0) == pytest.approx(14.143, abs=0.001)
    assert cloth.bow_at_mm(700.0) == pytest.approx(21.0)
    assert cloth.bow_at_mm(0.0) == cloth.bow_at_mm(1400.0) == 0.0
    assert cloth.out_of_true_mm(300.0) == pytest.approx(14.143, abs=0.001)


def test_a_match_promised_beyond_the_rolls_own_truth_is_warned_of() -> None:
    """9 mm over 600 is more than the 2 mm of a good front: said with the figure, and a way out."""
    (said,) = truth_of(f"{PRINT}\nbolt = {{ skew = 21 }}")
    assert "skew 1.5 %" in said.message
    assert "slants by up to 9 mm" in said.message
    assert "draw the cloth true" in said.hint
    assert "from the print itself" in said.hint


@pytest.mark.parametrize("cloth", [
    f"{PRINT}\nbolt = {{ skew = 4 }}",
    "bolt = { skew = 40 }",
    'stripes = ["indigo 40", "linen 56"]\nbolt = { skew = 40, bow = 30 }',
])  # fmt: skip
def test_a_little_skew_and_cloth_without_a_figure_along_are_no_matter(cloth: str) -> None:
    """A stripe along the bolt is straight whatever the weft does; 4 in 1400 is under 2 mm on a seat."""
    assert truth_of(cloth) == []


def test_stripes_across_slant_too() -> None:
    """A weft stripe is the weft."""
    (said,) = truth_of('stripes = ["indigo 40", "linen 56"]\nstripes_run = "across"\nbolt = { bow = 21 }')
    assert "the stripe slants" in said.message


def test_a_seat_in_plain_cloth_has_no_truth_to_keep() -> None:
    assert Cloth("x", "x", 1400.0, Pattern()).out_of_true_mm(600.0) == 0.0


def test_width_and_worst_place_are_said_in_the_reference() -> None:
    """Usable width inside the pin marks (ISO 22198, ISO 3932); the worst place and not the mean (ASTM D3882, 5.2)."""
    from squab.files.keys import BOLT, CLOTH

    width, bow, skew = CLOTH.key("usable_width"), BOLT.key("bow"), BOLT.key("skew")
    assert width is not None
    assert "inside the pin marks" in width.doc
    for key in (bow, skew):
        assert key is not None
        assert "worst place" in key.doc
