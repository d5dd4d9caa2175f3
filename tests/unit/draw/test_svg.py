"""The writer: millimetres exact, arcs kept, text escaped, same bytes each time."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import numpy as np
import pytest

from squab.draw import svg
from squab.draw.patterns import pattern_svg
from squab.draw.picture import cushion_picture_svg
from squab.draw.plan import cutting_plan_svg
from squab.units import IMPERIAL
from tests.unit.draw.drawn_jobs import rounded, worked_job

NS = "{http://www.w3.org/2000/svg}"


def test_a_drawing_is_in_millimetres() -> None:
    made = ET.fromstring(svg.document(120.5, 80.0, [svg.line(0, 0, 100, 0)], title="bar"))
    assert (made.get("width"), made.get("height"), made.get("viewBox")) == ("120.5mm", "80mm", "0 0 120.5 80")


def test_a_millimetre_is_3_77953_css_pixels_in_a_renderer() -> None:
    """One mm is 96/25.4 = 3.77953 px (CSS Values and Units; secondary summaries)."""
    pymupdf = pytest.importorskip("pymupdf")
    made = svg.document(100.0, 50.0, [svg.line(0, 0, 100, 0)], title="bar")
    page = pymupdf.open(stream=made.encode(), filetype="svg")[0]
    assert page.rect.width / 72 * 25.4 == pytest.approx(100.0, abs=0.05)


def test_arcs_stay_arcs_under_a_flip() -> None:
    outline = rounded(560, 510, 90)
    d = svg.outline_d(outline, svg.affine(1, 0, 0, -1, 0, 510))
    assert d.count("A90 90 0 0 0 ") == 8  # two halves to a corner; counter-clockwise upwards is sweep 0 downwards
    assert svg.outline_d(outline, svg.affine(0.1, 0, 0, 0.1, 0, 0)).count("A9 9 0 0 1 ") == 8


@pytest.mark.parametrize("name", ["<b>&\"'", "a]]>b", "ünïcödé ½"])
def test_text_is_always_escaped(name: str) -> None:
    worked = worked_job(name=name)
    for made in (
        cutting_plan_svg(worked, "stripe"),
        cushion_picture_svg(worked, "seat"),
        pattern_svg(worked, "seat.top"),
    ):
        ET.fromstring(made)
    texts = [t.text or "" for t in ET.fromstring(cutting_plan_svg(worked, "stripe")).iter(f"{NS}text")]
    assert any(name in t for t in texts)


def test_the_same_job_has_the_same_bytes_and_ids_once() -> None:
    first, second = (cushion_picture_svg(worked_job(outlines={"a": rounded(500, 450, 80)}), "a") for _ in range(2))
    assert first == second
    ids = re.findall(r' id="([^"]+)"', first)
    assert ids
    assert len(ids) == len(set(ids))


def test_the_scale_bar_is_as_long_as_it_says() -> None:
    made = svg.scale_bar(10, 10, 0.1)
    assert "200 mm · 1 : 10" not in made.replace("200 mm", "")  # one length only
    widths = [float(w) for w in re.findall(r'width="([\d.]+)"', made)]
    said = float(re.search(r">(\d+) mm", made)[1])  # type: ignore[index]
    assert max(widths) == pytest.approx(said * 0.1)
    inches = svg.scale_bar(10, 10, 1 / 12, IMPERIAL)
    assert max(float(w) for w in re.findall(r'width="([\d.]+)"', inches)) == pytest.approx(12 * 25.4 / 12, abs=1e-3)


def test_words_fit_only_where_they_are_inside() -> None:
    from shapely.geometry import Polygon, box

    ell = Polygon([(0, 0), (100, 0), (100, 20), (20, 20), (20, 100), (0, 100)])
    at = svg.spot(ell, 60, 10)
    assert at is not None
    assert ell.buffer(1e-6).contains(box(at[0] - 30, at[1] - 5, at[0] + 30, at[1] + 5))
    assert svg.spot(ell, 60, 30) is None


def test_width_of_words_is_the_fonts_own() -> None:
    """Advance widths of the regular font, thousandths of an em: H 652, i 246."""
    assert svg.text_width("Hi", 10.0) == pytest.approx(6.52 + 2.46)
    assert np.isclose(svg.text_width("Hi", 20.0), 2 * svg.text_width("Hi", 10.0))


@pytest.mark.parametrize(
    ("words", "set_"),
    [
        ("uses 1 1/8 yd", "uses 1\u2009¹⁄₈ yd"),
        ("3-1/2 in", "3\u2009¹⁄₂ in"),
        ("15/16", "¹⁵⁄₁₆"),
        ("NW-07/2 of 10/3/2031, 1.5/8", "NW-07/2 of 10/3/2031, 1.5/8"),
    ],
)
def test_fractions_of_an_inch_are_set_as_fractions_and_nothing_else_is(words: str, set_: str) -> None:
    """Superior and inferior figures either side of the fraction slash (Unicode, U+2044), in every drawing."""
    assert svg.set_fractions(words) == set_
    assert set_ in svg.text(0, 0, words)


def test_words_too_long_for_their_room_are_shrunk_then_shortened() -> None:
    assert svg.fitted("short", 5.0, 50.0) == ("short", 5.0)
    for n in (20, 60, 900):
        words, size = svg.fitted("long " * n, 5.0, 80.0, bold=True)
        assert svg.text_width(words, size, bold=True) <= 80.0 + 1e-6
        assert size >= 3.0
    assert svg.fitted("long " * 900, 5.0, 80.0)[0].endswith("…")
    words = "a little too long for it"
    kept, size = svg.fitted(words, 5.0, svg.text_width(words, 4.0))
    assert kept == words
    assert size == pytest.approx(4.0)
