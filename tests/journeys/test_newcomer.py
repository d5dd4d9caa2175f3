"""A maker who has never seen the workroom: from the telephone to a printed quotation, in a real browser."""

from __future__ import annotations

import io
import re

from playwright.sync_api import Page, expect
from pypdf import PdfReader

from squab.files.jobfile import read_job
from tests.journeys.conftest import Opening
from tests.journeys.room import laid, money_in, unfold

ROUGH = (24.0, 22.0, 4.0)


def _printed(page: Page, address: str) -> str:
    """The text of a PDF as the browser fetches it."""
    answer = page.request.get(address)
    assert answer.ok
    assert answer.headers["content-type"] == "application/pdf"
    return "\n".join(sheet.extract_text() for sheet in PdfReader(io.BytesIO(answer.body())).pages)


def test_a_newcomer_goes_from_three_numbers_to_a_printed_quotation(window: Opening) -> None:
    page = window()
    page.goto("/")
    expect(page.get_by_text("No job yet")).to_be_visible()
    page.get_by_role("main").get_by_role("link", name="Telephone answer").click()

    # Three numbers answer; a half-typed fraction does not lose them.
    page.get_by_label("inches").check()
    page.get_by_label("Width", exact=True).fill("23 1/")
    page.get_by_label("Depth", exact=True).fill("22")
    page.get_by_label("Thickness", exact=True).fill("4")
    expect(page.locator("#answer")).to_contain_text("cannot be read yet")
    expect(page.get_by_label("Width", exact=True)).to_have_value("23 1/")
    page.get_by_label("Width", exact=True).fill("23 1/2")
    expect(page.locator("#answer")).to_contain_text("Cloth to order")
    page.get_by_label("Price of a yard of it").fill("38")
    page.get_by_label("Who asks").fill("Mrs <script>Larkrise</script>")
    expect(page.locator("#answer")).not_to_contain_text("without the cloth")
    roughly = money_in(page.locator("#answer").inner_text())
    page.get_by_role("button", name="Keep as a job").click()

    # The job is laid by itself, and the exact price is in the range that was told on the telephone.
    page.wait_for_url(re.compile("/jobs/"))
    laid(page)
    unfold(page)
    total = money_in(page.locator("#figures").inner_text())[0]
    assert min(roughly) <= total <= max(roughly)
    expect(page.locator("#who")).to_contain_text("Mrs <script>Larkrise</script>")
    assert page.locator("script", has_text="Larkrise").count() == 0

    page.get_by_label("Name of the job").fill("Box room window")
    expect(page.get_by_role("heading", level=1)).to_have_text("Box room window")
    address = page.get_by_role("link", name="Quotation, PDF").get_attribute("href") or ""
    quoted = _printed(page, address)
    assert "Box room window" in quoted
    assert "Larkrise" in quoted
    assert f"{total:.2f}" in quoted

    # Agreed, the price stays whatever is typed later, and so does the quotation.
    agrees = page.get_by_role("button", name=re.compile("The customer agrees to"))
    agrees.scroll_into_view_if_needed()
    stood = page.evaluate("() => document.getElementById('charge').getBoundingClientRect().top")
    agrees.click()
    expect(page.locator("#charge-told")).to_contain_text("It stays as it is")
    stands = page.evaluate("() => document.getElementById('charge').getBoundingClientRect().top")
    assert abs(stands - stood) < 2, "the page does not jump when the job comes anew"
    page.locator("#sizes").get_by_label("Thickness", exact=True).fill("6")
    expect(page.locator("#charge-told")).to_contain_text("As the job stands now it would be")
    assert f"{total:.2f}" in page.locator("#figures").inner_text()
    assert f"{total:.2f}" in _printed(page, address)

    # The file is the very one that the command line takes, each size as it was typed.
    text = page.request.get(page.url.partition("?")[0].partition("#")[0] + "/job.toml").text()
    assert '"23 1/2"' in text
    job = read_job(text.encode()).value
    assert job is not None
    assert job.customer.name == "Mrs <script>Larkrise</script>"
