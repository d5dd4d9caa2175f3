"""The index page: findings first, pictures, links; plain HTML that escapes everything and reads at 360 px."""

from __future__ import annotations

from html.parser import HTMLParser

import pytest

from squab.draw.figures import valid_until
from squab.draw.index import ALARM, SOFT, STYLE, index_html
from squab.draw.sheets_names import picture_name, plain_names, sheet_titles
from squab.draw.svg import CHALK, INK, PAPER
from tests.unit.draw.worked_fixture import hand_made


class Reader(HTMLParser):
    """Collects tags, links and text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []
        self.alts: list[str] = []
        self.said: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.links += [v or "" for k, v in attrs if k in ("href", "src")]
        self.alts += [v or "" for k, v in attrs if k == "alt"]

    def handle_data(self, data: str) -> None:
        self.said.append(data)


def read(html: str) -> Reader:
    """Parse a page."""
    reader = Reader()
    reader.feed(html)
    return reader


def luminance(colour: str) -> float:
    """Relative luminance (WCAG 2.2)."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(a: str, b: str) -> float:
    """Contrast ratio of two colours (WCAG 2.2)."""
    light, dark = sorted((luminance(a), luminance(b)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_contrast_is_reckoned_as_the_standard_does() -> None:
    """On white: 000000 is 21, 767676 is 4.542 (passes), 777777 is 4.478 (fails): WCAG luminance formula."""
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0, abs=0.001)
    assert contrast("#ffffff", "#767676") == pytest.approx(4.542, abs=0.001)
    assert contrast("#ffffff", "#777777") == pytest.approx(4.478, abs=0.001)


@pytest.mark.parametrize("colour", [INK, SOFT, CHALK, ALARM])
@pytest.mark.parametrize("ground", [PAPER, "#ffffff"])
def test_every_ink_is_legible_on_every_ground(colour: str, ground: str) -> None:
    """At least 4.5 to 1 (WCAG 2.2, 1.4.3)."""
    assert contrast(colour, ground) >= 4.5
    assert colour in STYLE


def test_findings_come_first_and_files_are_linked() -> None:
    """The page opens with what was found, then pictures, then sheets; only files that exist are linked."""
    worked = hand_made()
    names = [*sheet_titles(worked), "extra file.txt"]
    html = index_html(worked, names)
    assert html.index("Findings") < html.index("Pictures") < html.index("Sizes") < html.index("Sheets")
    reader = read(html)
    assert set(reader.links) == {n.replace(" ", "%20") for n in names}
    assert any("the stripe cannot meet at the sides" in said for said in reader.said)
    assert read(index_html(worked, ["quote.pdf"])).links == ["quote.pdf"]


def test_page_has_no_script_and_nothing_from_elsewhere() -> None:
    """No script, no address of another host, every picture with words for it."""
    worked = hand_made()
    reader = read(index_html(worked, list(sheet_titles(worked))))
    assert "script" not in reader.tags
    assert not any("//" in link for link in reader.links)
    assert len(reader.alts) == reader.tags.count("img") > 0
    assert all(reader.alts)


def test_hostile_names_are_text() -> None:
    """A customer called <script> is a customer."""
    bad = "<script>alert('x')</script>\"><img src=x onerror=alert(1)>"
    worked = hand_made(name=bad, customer=bad, cushion_names=(bad, "b"))
    reader = read(index_html(worked, [picture_name(worked.job, "seat")]))
    assert "script" not in reader.tags
    assert reader.tags.count("img") == 1
    assert any("<script>" in said for said in reader.said)


def test_file_names_are_plain_and_never_clash() -> None:
    """Ids become lower letters, figures and hyphens; two that look alike stay two."""
    names = plain_names(["Seat", "seat", "../../etc", "Fenêtre", "窓", "窓二"])
    assert len(set(names.values())) == 6
    for name in names.values():
        assert name.isascii()
        assert name.replace("-", "").isalnum()


def test_figures_agree_with_the_sheets() -> None:
    """The sizes, lengths and price of the page are those of the sheets' own writer."""
    from squab.draw.figures import Figures

    worked = hand_made()
    figures = Figures.of(worked.job)
    html = index_html(worked, [])
    assert figures.money(worked.supply.price.total) in html
    for plan in worked.plans.values():
        assert figures.cloth(plan.order_mm) in html
    for cover in worked.construction.covers:
        assert figures.box(cover.sizes.seam) in html


def test_validity_is_said_once() -> None:
    """`valid until 1 April`, not `valid until until`."""
    said = index_html(hand_made(), [])
    assert f"valid {valid_until(hand_made().job)}" in said
    assert "until until" not in said
