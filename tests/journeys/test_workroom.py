"""Whole journeys through the workroom, in a real browser over `squab serve`."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pytest
from playwright.sync_api import Page, Route, expect
from pypdf import PdfReader

from squab.cloth import Cloth
from squab.files.jobfile import read_job
from squab.job import Cushion, Job
from tests.journeys.conftest import Opening
from tests.journeys.room import EXAMPLES, bring_in, job_of, laid, money_in, text_of, unfold


def _kept(page: Page) -> None:
    """Wait until everything that was typed is answered."""
    page.wait_for_function("() => !document.querySelector('.htmx-request') && !document.querySelector('.unsent')")


def _typed(page: Page, key: str, value: str) -> None:
    """Type into the field of a key, or choose, and leave it."""
    field = page.locator(f"#k-{re.sub(r'[^a-z0-9]+', '-', key)}-in")
    if field.input_value() == value:
        return
    version = page.locator("#now").input_value()
    if field.evaluate("e => e.tagName") == "SELECT":
        field.select_option(value)
    else:
        field.fill(value)
        field.blur()
    expect(page.locator("#now")).not_to_have_value(version)


def _done(page: Page, part: str, press: str, *, check: str = "") -> None:
    """Press a button, or check a choice, that changes the job as a whole, and wait for the page to follow."""
    version = page.locator("#now").input_value()
    if check:
        page.locator(part).get_by_label(check, exact=True).check()
    else:
        page.locator(part).get_by_role("button", name=press, exact=True).click()
    expect(page.locator("#now")).not_to_have_value(version)


def _sides(page: Page, cushion: int, name: str, sides: str) -> None:
    for side in ("front", "right", "back", "left"):
        box = page.locator(f"#k-cushion-{cushion}-{name}").get_by_label(side, exact=True)
        if box.is_checked() != (side in sides.split()):
            version = page.locator("#now").input_value()
            box.set_checked(side in sides.split())
            expect(page.locator("#now")).not_to_have_value(version)


def _measured(page: Page, index: int, name: str, place: str, sizes: dict[str, str], mitred: str) -> None:
    """A cushion's sizes as they are read off the tape."""
    here = f"cushion[{index}]."
    for key, value in {"name": name, "place": place, **sizes}.items():
        _typed(page, here + key, value)
    _sides(page, index, "hidden", "back left right")
    _sides(page, index, "mitred", mitred)


def _alike(cushion: Cushion) -> Cushion:
    return replace(cushion, id="", line=None, typed=(), mitred=tuple(sorted(cushion.mitred)))


def _cloth_alike(cloth: Cloth) -> Cloth:
    return replace(cloth, id="", care="")


def test_a_bay_window_seat_from_nothing(window: Opening) -> None:
    """Typed in on the page alone, it becomes the example: the same cushions, cover, cloth and row."""
    page = window()
    page.goto("/jobs")
    page.get_by_role("button", name="New job").click()
    page.wait_for_url(re.compile("/jobs/[0-9a-f]{6,}"))
    job = page.url.partition("#")[0]
    unfold(page)

    _typed(page, "job.name", "Bay window seat")
    _done(page, "#sizes", "", check="wider in front or behind")
    _typed(page, "cushion[0].size_is", "seat")
    wing = {"front": "513.6", "back": "700", "depth": "450", "offset": "93.2", "thickness": "75"}
    taken = {"clearance.left": "4", "clearance.right": "3"}
    fill = {"fill.kind": "medium foam", "fill.wrap": "6"}
    _measured(page, 0, "Left wing", "left wall of the bay", wing | taken | fill, "right")
    _typed(page, "cloth[0].name", "Wherry stripe, cotton union")
    _typed(page, "cloth[0].usable_width", "1370")
    _typed(page, "cloth[0].price_per_m", "24.50")
    _done(page, "#cloth", "", check="stripes")
    for _ in range(4 - page.locator(".stripe").count()):
        _done(page, "#cloth", "Add a stripe")
    for at, (width, colour) in enumerate([("36", "indigo"), ("9", "linen"), ("24", "sage"), ("15", "linen")]):
        stripe = page.locator(".stripe").nth(at)
        stripe.get_by_label("Width", exact=True).fill(width)
        stripe.get_by_label("Colour", exact=True).fill(colour)
        stripe.get_by_label("Colour", exact=True).blur()
        _kept(page)
    page.reload()
    _typed(page, "cover.allowance", "12")
    _typed(page, "cover.piping.cord", "4")
    _typed(page, "cover.zip.making", "two single")
    page.get_by_text("The workroom's other numbers").click()
    _typed(page, "cover.zip.tape", "32")
    _typed(page, "cover.match.bottom", "ignore")
    _typed(page, "cushion[0].match.row", "bay")

    _done(page, "#sizes", "Another like this")
    middle = {"front": "1127.2", "back": "1500", "offset": "", "clearance.left": "3"}
    _measured(page, 1, "Middle", "under the window", middle, "left right")
    _typed(page, "cushion[1].match.pin_across", "indigo")
    page.locator("#sizes .tabs").get_by_role("link", name="Left wing", exact=True).click()
    expect(page.locator("#k-cushion-0-name-in")).to_have_value("Left wing")
    _done(page, "#sizes", "Another like this")
    other = {"offset": "-93.2", "clearance.left": "3", "clearance.right": "4"}
    _measured(page, 2, "Right wing", "right wall of the bay", other, "left")
    laid(page)

    made, wanted = job_of(page, job), read_job((EXAMPLES / "bay-window.toml").read_bytes()).value
    assert isinstance(wanted, Job)
    for typed, drawn in zip(made.cushions, wanted.cushions, strict=True):
        assert _alike(typed) == _alike(drawn), typed.name
    assert [_cloth_alike(c) for c in made.cloths] == [_cloth_alike(c) for c in wanted.cloths]
    expect(page.locator("#meets")).to_contain_text("Right wing")


def test_the_stripe_is_slid_on_the_cushion_and_everything_follows(window: Opening) -> None:
    page = window()
    job = bring_in(page, "bay-window")
    laid(page)  # what comes of itself has come
    view = page.locator("#view[data-state=ready]")
    view.scroll_into_view_if_needed()
    view.get_by_role("button", name="Above").click()
    expect(view.locator("canvas")).to_have_attribute("aria-label", re.compile("from above"))
    view.get_by_role("button", name=re.compile("^Slide the")).click()
    before, version = text_of(page, job), page.locator("#now").input_value()
    pins = [c.cover.matching.pin_across for c in job_of(page, job).cushions]

    page.wait_for_load_state("networkidle")
    asked: list[str] = []
    page.on("request", lambda r: asked.append(r.url))
    box = view.locator("canvas").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 20, y + 8, steps=15)
    assert asked == [], "while the hand drags, nothing is asked of the workroom"
    page.mouse.up()

    expect(page.locator("#now")).not_to_have_value(version)
    slid = text_of(page, job)
    assert slid != before
    assert [c.cover.matching.pin_across for c in job_of(page, job).cushions] != pins
    laid(page)
    expect(page.locator("#view")).to_have_attribute("data-state", "ready")


def test_a_lay_that_is_stopped_half_way_keeps_the_best_so_far(window: Opening) -> None:
    page = window()
    bring_in(page, "armchair")
    laid(page)
    lay = page.locator("#lay")
    lay.get_by_label("5 minutes").check()
    lay.get_by_role("button", name="Search", exact=True).click()
    expect(lay.get_by_text("of about 300 s")).to_be_visible()
    expect(lay.locator(".searching .big")).to_have_text(re.compile(r"\d"), timeout=200_000)
    lay.get_by_role("button", name="Stop, keep the best so far").click()
    expect(lay.get_by_role("button", name="Search", exact=True)).to_be_visible()
    expect(lay.locator(".searching")).to_have_count(0)
    expect(lay.locator(".proof").first).to_contain_text(re.compile("less|short|prove", re.I))
    # The page that is opened again shows the lay that was kept, with nothing searching.
    shown = lay.locator(".lengths").first.inner_text()
    page.reload()
    assert page.locator("#lay .lengths").first.inner_text() == shown


def _ready_to_cut(page: Page, job: str) -> None:
    """Say what is found when the cloth is unrolled, on the page for it."""
    page.goto(job)
    with page.expect_response(lambda r: r.url.endswith("/state")):
        page.get_by_label("Where it stands").select_option("ordered")
    page.goto(f"{job}/arrival")
    for name, typed in {"width": "53 1/2", "length": "3 yd", "lot": "7", "shade": "as the sample"}.items():
        field = page.locator(f"[id^='in-'][id$='-{name}']").first
        with page.expect_response(lambda r: r.url.endswith("/note")):
            field.fill(typed)
            field.blur()
        _kept(page)
    for found in ("Plain to see", "None: a flat cloth"):
        with page.expect_response(lambda r: r.url.endswith("/note")):
            page.get_by_label(found).first.check()
        _kept(page)
    page.get_by_role("button", name="Looked it over: no flaw").first.click()
    page.get_by_role("link", name="To the cutting table").click()
    page.get_by_role("button", name="Begin cutting").click()
    expect(page.locator(".bench")).to_be_visible()


SLIP_MS = 700
"""Longer than two presses have to be apart to be two."""
THUMB_MM = 15
MM_PX = 96 / 25.4


def test_the_cutting_table_on_a_telephone(window: Opening) -> None:
    page = window(360, 740)
    job = bring_in(page, "armchair")
    # Before the cloth is checked in, nothing may be cut.
    page.goto(f"{job}/table")
    expect(page.get_by_text("Nothing may be cut yet")).to_be_visible()
    _ready_to_cut(page, job)

    assert page.evaluate("document.documentElement.scrollWidth") <= 360
    pressed = page.locator(".bench-bar a, .bench-bar button")
    for at in range(pressed.count()):
        box = pressed.nth(at).bounding_box()
        assert box is not None
        assert min(box["width"], box["height"]) >= THUMB_MM * MM_PX - 0.5, pressed.nth(at).inner_text()
        assert box["x"] >= 0
        assert box["x"] + box["width"] <= 360
        assert box["y"] + box["height"] <= 740, "within the thumb's reach, without scrolling"

    _press(page, "Tick: cut")
    expect(page.locator("[data-slot=done]")).to_have_text("1")
    page.reload()
    expect(page.locator("[data-slot=done]")).to_have_text("1")

    # The tick is taken back; then every piece is cut, the table opened anew at the next one each time, however
    # soon after the press: what the workroom has not heard of yet is known to the telephone.
    page.goto(f"{job}/table?at=0")
    _press(page, "Untick")
    expect(page.locator("[data-slot=done]")).to_have_text("0")
    of = int(re.findall(r"of (\d+) cut", page.locator(".bench-top").inner_text())[0])
    for at in range(of):
        page.goto(f"{job}/table")
        expect(page.locator(".bench[data-state=ready]")).to_be_attached()
        page.get_by_role("button", name="Tick: cut").click()
        expect(page.locator("[data-slot=done]")).to_have_text(str(at + 1))
    expect(page.get_by_text("All is cut")).to_be_visible()
    expect(page.locator("[data-slot=unsent]")).to_be_empty()
    page.goto(job)
    expect(page.get_by_label("Where it stands")).to_have_value("cut")


def _press(page: Page, name: str) -> None:
    """Press once the table goes on by itself, and not so soon that it counts as a slip of the finger."""
    page.locator(".bench[data-state=ready]").wait_for()
    page.wait_for_timeout(SLIP_MS)
    page.get_by_role("button", name=name).click()


def test_two_windows_never_overwrite_one_another_in_silence(window: Opening) -> None:
    first = window()
    job = bring_in(first, "round-stool")
    second = window(beside=first)
    second.goto(job)
    _typed(first, "cushion[0].thickness", "50")
    second.locator("#k-cushion-0-thickness-in").fill("60")
    second.locator("#k-cushion-0-thickness-in").blur()
    told = second.locator("#told .conflict")
    expect(told).to_contain_text("changed elsewhere")
    expect(told).to_contain_text("60")
    expect(told).to_contain_text("50")
    assert "thickness = 50" in text_of(second, job)
    expect(second.locator("#k-cushion-0-thickness-in")).to_have_value("60")

    told.get_by_role("button", name="Put mine in its place").click()
    expect(second.locator("#k-cushion-0-thickness-in")).to_have_value("60")
    assert "thickness = 60" in text_of(second, job)

    # The first window is told in its turn, and what it says then is kept whole.
    first.locator("#k-cushion-0-place-in").fill("children's corner")
    first.locator("#k-cushion-0-place-in").blur()
    expect(first.locator("#told .conflict")).to_contain_text("children's corner")
    first.get_by_role("link", name="Leave it, show what is kept").click()
    expect(first.locator("#k-cushion-0-thickness-in")).to_have_value("60")


def test_what_is_typed_while_the_workroom_is_away_is_sent_when_it_is_back(window: Opening) -> None:
    page = window()
    job = bring_in(page, "round-stool")
    away = True

    def answer(route: Route) -> None:
        if away:
            route.abort("connectionrefused")
        else:
            route.continue_()

    page.route("**/set", answer)
    page.locator("#k-cushion-0-place-in").fill("by the stove")
    page.locator("#k-cushion-0-place-in").blur()
    expect(page.locator("#told")).to_contain_text("not kept yet")
    assert "by the stove" not in text_of(page, job)
    away = False
    expect(page.locator("#told .unsent")).to_have_count(0)
    assert "by the stove" in text_of(page, job)


def test_everything_by_keyboard_alone(window: Opening) -> None:
    page = window()
    keys = page.keyboard
    page.goto("/telephone")
    expect(page.get_by_label("Width", exact=True)).to_be_focused()
    for typed in ("610", "560", "100"):
        keys.type(typed)
        keys.press("Tab")
    expect(page.locator("#answer")).to_contain_text("Cloth to order")
    _tab_to(page, "Keep as a job")
    keys.press("Enter")
    page.wait_for_url(re.compile("/jobs/[0-9a-f]{6,}"))
    job = page.url.partition("#")[0]

    # The first stop leads past the head; the next ones are the page's own.
    keys.press("Tab")
    expect(page.get_by_role("link", name="To the page itself")).to_be_focused()
    keys.press("Enter")
    _tab_to(page, "k-cushion-0-name-in")
    keys.type("Hall bench pad")
    _tab_to(page, "k-cushion-0-count-in")
    keys.press("Control+a")
    keys.type("2")
    _tab_to(page, "k-cushion-0-width-in")
    keys.press("Control+a")
    keys.type("640")
    keys.press("Tab")
    expect(page.locator("#k-cushion-0-depth-in")).to_be_focused()
    laid(page)
    made = job_of(page, job).cushions[0]
    assert (made.name, made.count, made.typed[0]) == ("Hall bench pad", 2, ("width", "640"))

    # The stripe: turned, slid and settled by keys.
    job = bring_in(page, "bay-window")
    canvas = page.locator("#view[data-state=ready] canvas")
    canvas.focus()
    keys.press("ArrowRight")
    before, version = text_of(page, job), page.locator("#now").input_value()
    keys.press("s")
    keys.press("Shift+ArrowRight")
    keys.press("Enter")
    expect(page.locator("#now")).not_to_have_value(version)
    assert text_of(page, job) != before


def _tab_to(page: Page, wanted: str) -> None:
    """Press Tab until what is wanted, by its words or its id, has the focus."""
    for _ in range(160):
        at = page.evaluate("() => [document.activeElement.id, document.activeElement.innerText.trim()]")
        if wanted in at:
            visible = page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle")
            assert visible != "none", f"the focus on {wanted} can be seen"
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"{wanted} is not reached by Tab")


def test_pages_and_sheets_are_printed(window: Opening) -> None:
    page = window()
    job = bring_in(page, "round-stool", folded=True)
    laid(page)
    # What is opened, by hand or by the way that leads to it, is open the next time; what is folded is not.
    page.get_by_role("heading", name="Sizes and outlines").click()
    page.get_by_role("navigation", name="The order of the work").get_by_role("link", name="Make").click()
    expect(page.locator("#k-cover-allowance-in")).to_be_in_viewport()
    page.reload()
    expect(page.locator("#fold-make")).to_have_attribute("open", "")
    assert [x.get_attribute("id") for x in page.locator(".fold[open]").all()] == ["fold-make"]
    total = money_in(page.locator("#figures").inner_text())[0]
    paper = PdfReader(io.BytesIO(page.pdf(format="A4", prefer_css_page_size=False)))
    said = "\n".join(sheet.extract_text() for sheet in paper.pages)
    assert "Round stool pad" in said
    assert f"{total:.2f}" in said
    assert "Usable width" in said, "what is folded on the screen is printed"
    asked = ("Of lays as short, the one for", "What holds it, and what would save most")  # with nothing under them
    for pressed in ("Another like this", "Stop, keep the best", "Take the job file", "Slide the stripe", *asked):
        assert pressed not in said
    for letter in ("a4", "letter"):
        page.goto(f"{job}?paper={letter}")
        links = page.locator(".sheets a[href*='.pdf']").evaluate_all("all => all.map(a => a.getAttribute('href'))")
        assert len(links) >= 4
        quote = next(x for x in links if "quote" in x)
        answer = page.request.get(quote)
        box = PdfReader(io.BytesIO(answer.body())).pages[0].mediabox
        assert float(box.width) == pytest.approx(595.3 if letter == "a4" else 612.0, abs=1)
