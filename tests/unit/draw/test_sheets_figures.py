"""Figures are printed one way; the folder has every sheet; the summary is plain JSON."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from squab.draw.figures import Figures, shortened, valid_until
from squab.draw.sheets import all_sheets
from squab.draw.sheets_names import sheet_titles
from squab.draw.summary import worked_json
from squab.draw.typeset import cleaned, typeset
from squab.units import IMPERIAL, METRIC, step_mm
from tests.unit.draw.worked_fixture import hand_made


def figures(style: object = METRIC, words: str = "uk", currency: str = "GBP") -> Figures:
    """Figures of a style."""
    job = hand_made(style=style, words=words).job  # type: ignore[arg-type]
    return Figures(Figures.of(job).style, words, currency)


def test_fractions_are_set_and_cannot_part_from_their_whole() -> None:
    """A fraction slash, and a narrow space at which no line ends."""
    printed = figures(IMPERIAL).length(17.9375 * 25.4)
    assert printed == "17\u202f15\u204416\u00a0in"
    assert figures(IMPERIAL).size(560.0, 101.6) == "22\u202f1\u204416 × 4\u00a0in"
    assert cleaned("leave 2 1/2 in to spare, 3/4 yd, ref 1/2") == (
        "leave 2\u202f1\u20442 in to spare, 3\u20444 yd, ref 1/2"
    )


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(0, 900), min_size=1, max_size=12), st.sampled_from([METRIC, IMPERIAL]))
def test_running_figures_do_not_gather_errors(steps: list[float], style: object) -> None:
    """Each running figure is that station rounded by itself, however many stand before it."""
    f = figures(style)
    stations = [sum(steps[: i + 1]) for i in range(len(steps))]
    half_mm = float(step_mm(f.style)) / 2
    for printed, at in zip(f.running(stations), stations, strict=True):
        assert abs(_mm(printed, f) - at) <= half_mm + 1e-4


def _mm(printed: str, f: Figures) -> float:
    from fractions import Fraction

    total = sum(Fraction(p) for p in printed.replace("\u2044", "/").split())
    return float(total * Fraction(254, 10)) if f.unit == "in" else float(total)


def test_money_and_quantities_are_those_of_the_shop() -> None:
    """Pence always, thousands parted, a currency without a sign by its code; yards and feet where inches rule."""
    assert figures().money(Decimal("1204.5")) == "£1,204.50"
    assert figures(currency="SEK").money(Decimal("99")) == "99.00 SEK"
    assert figures().quantity(3.6, "m") == "3.60\u00a0m"
    assert figures().quantity(571.2, "m") == "572\u00a0m"
    assert figures(IMPERIAL).quantity(0.9144, "m") == "1\u00a0yd"
    assert figures(IMPERIAL).quantity(0.028316846592, "m3") == "1.00 cu ft"
    assert figures().quantity(2, "each") == "2"


def test_a_tax_and_its_rate_stay_on_one_line() -> None:
    """No space in it lets a line break."""
    figures = Figures(METRIC, "uk", "GBP")
    assert figures.tax("VAT", Decimal("20")) == "VAT\u00a020\u00a0%"
    assert figures.tax("Sales tax", Decimal("8.25")) == "Sales\u00a0tax\u00a08.25\u00a0%"


def test_texts_are_filled_in_the_jobs_units_and_words() -> None:
    """`{name}` becomes a length, `[[word]]` the shore's own; what is neither stays as written."""
    said = figures(IMPERIAL, "us").filled("Sew the [[boxing]], {ring} round, {what}.", {"ring": 2540.0})
    assert said == "Sew the boxing, 100\u00a0in round, {what}."
    assert figures().said("a customer called [[nobody]]") == "a customer called [[nobody]]"


def test_validity_is_a_date_written_out() -> None:
    """Thirty days from 2 March is 1 April, the month in letters."""
    assert valid_until(hand_made().job) == "until 1 April 2026"
    assert valid_until(replace(hand_made().job, dated=None)) == "for 30 days"
    assert shortened("a\nb   c", 9) == "a b c"
    assert len(shortened("x" * 99, 20)) == 20


def test_every_sheet_is_made_and_listed() -> None:
    """The folder has each sheet the index names, nothing else, and the index links them all."""
    worked = hand_made()
    made = all_sheets(worked)
    drawings = {name for name in made if name.startswith("patterns/")}
    assert drawings
    assert set(made) - drawings == set(sheet_titles(worked)) | {"index.html"}
    page = made["index.html"].decode()
    for name, contents in made.items():
        assert contents
        if name != "index.html":
            assert f"'{name}'" in page
        if name.endswith(".pdf"):
            assert contents.startswith(b"%PDF")


def test_summary_is_plain_json_and_agrees_with_the_job() -> None:
    """Sizes, placements, lengths and price go out and come back unchanged."""
    worked = hand_made()
    data = json.loads(json.dumps(worked_json(worked), allow_nan=False))
    assert data["price"]["total"] == "540.00"
    assert sum(Decimal(x) for x in data["price"]["per_cushion"].values()) == Decimal(data["price"]["total"])
    ticking = data["cloths"][0]
    assert ticking["order_mm"] == worked.plans["ticking"].order_mm
    assert len(ticking["placed"]) == len(worked.plans["ticking"].lay.placed)
    assert data["cushions"][0]["sizes"]["seam"] == {"width_mm": 560.3, "depth_mm": 510.0, "thickness_mm": 85.0}
    assert [f["severity"] for f in data["findings"]] == ["warn", "note"]


def test_a_missing_font_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is printed in a substitute font."""
    monkeypatch.setattr("squab.draw.typeset._template", lambda name: '#set text(font: "No Such Hand")\nHello')
    with pytest.raises(RuntimeError, match=r"(?i)no such hand"):
        typeset("any", {}, {}, "a4")
