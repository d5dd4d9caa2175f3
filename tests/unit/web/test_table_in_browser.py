"""The cutting table in a real browser on a small screen: pressed with a thumb, without the network, and asleep."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, Page, expect

from squab.keep import JobRecord, Keep, open_keep
from squab.web import create_app
from squab.web.pages.table import _begin
from squab.web.room import Room
from squab.web.searching import Searches
from squab.web.works import Works
from tests.unit.web.bench_jobs import laid, ordered
from tests.unit.web.module_page import STATIC

MM = 96 / 25.4
PRESS_MM = 15.0
PHONE = {"width": 360, "height": 640}

pytestmark = pytest.mark.skipif(
    not (STATIC / "bundle" / "workroom.js").exists(), reason="the bundle has not been made: python run.py setup"
)


@pytest.fixture(scope="module")
def room(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[str, Keep]]:
    """A workroom that answers at an address."""
    keep = open_keep(tmp_path_factory.mktemp("keep"))
    app = create_app(keep)
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="error"))
    running = threading.Thread(target=server.run, daemon=True)
    running.start()
    while not server.started:
        time.sleep(0.02)
    port = server.servers[0].sockets[0].getsockname()[1]
    yield f"http://127.0.0.1:{port}", keep
    server.should_exit = True
    running.join(10)


@pytest.fixture
def telephone(chromium: Browser) -> Iterator[BrowserContext]:
    """A telephone that has not been here before."""
    context = chromium.new_context(viewport=PHONE, has_touch=True, is_mobile=True)  # type: ignore[arg-type]
    yield context
    context.close()


def begun(room: tuple[str, Keep], name: str = "armchair") -> tuple[str, Keep, JobRecord]:
    """A job whose cutting has begun, and its table's address."""
    address, keep = room
    job = laid(keep, name)
    _begin(_room_of(keep), job.id)
    return f"{address}/jobs/{job.id}/table", keep, job


def _room_of(keep: Keep) -> Room:
    return Room(keep, Works(keep, Searches(1)))


def opened(telephone: BrowserContext, address: str) -> Page:
    """The table on the telephone; what the browser complains of fails the test."""
    page = telephone.new_page()
    page.on("pageerror", lambda error: pytest.fail(str(error)))
    page.on("console", lambda m: pytest.fail(m.text) if "Content Security Policy" in m.text else None)
    page.goto(address)
    expect(page.locator(".bench[data-state='ready']")).to_be_attached()
    return page


def ticks_of(keep: Keep, job: JobRecord, count: int) -> None:
    """Wait until so many ticks are kept."""
    until = time.monotonic() + 10
    while len(keep.ticks(job.id)) != count and time.monotonic() < until:
        time.sleep(0.05)
    assert len(keep.ticks(job.id)) == count


def press(page: Page, words: str) -> None:
    """Press with a thumb, not sooner than a thumb does."""
    page.wait_for_timeout(400)
    page.locator(".bench-bar").get_by_text(words, exact=True).tap()


def test_presses_are_large_enough_and_within_the_thumbs_reach(
    room: tuple[str, Keep], telephone: BrowserContext
) -> None:
    """Fifteen millimetres, in the lower half, without a swipe; nothing wider than the screen."""
    address, _, _ = begun(room)
    page = opened(telephone, address)
    for hand in ("right", "left"):
        boxes = [p.bounding_box() for p in page.locator(".bench-bar a, .bench-bar button").all()]
        assert len(boxes) == 5
        for box in boxes:
            assert box is not None
            assert min(box["width"], box["height"]) >= PRESS_MM * MM - 0.01
            assert box["y"] >= PHONE["height"] / 2
            assert box["y"] + box["height"] <= PHONE["height"]
        tick = page.locator(".press-tick button").bounding_box()
        assert tick is not None
        middle = tick["x"] + tick["width"] / 2
        assert (middle > PHONE["width"] / 2) == (hand == "right")
        page.get_by_role("button", name=re.compile("my left hand")).or_(
            page.get_by_role("button", name=re.compile("my right hand"))
        ).click()
    assert page.evaluate("document.documentElement.scrollWidth") <= PHONE["width"]


def test_sizes_are_read_from_two_metres(room: tuple[str, Keep], telephone: BrowserContext) -> None:
    """Figures of ten millimetres and more, whole on the screen and not under the presses, metric and in inches."""
    for name in ("armchair", "bay-window"):
        address, _, _ = begun(room, name)
        page = opened(telephone, address)
        bar = page.locator(".bench-bar").bounding_box()
        assert bar is not None
        for at in (0, 1, 3, 7):
            page.goto(f"{address}?at={at}")
            for run in page.locator(".run").all():
                size = run.evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
                assert 0.66 * size >= 10 * MM - 0.4, "capital figures of this typeface are 0.66 of its size"
                right, bottom = run.evaluate(
                    "e => { const b = e.getBoundingClientRect(); return [b.right, b.bottom]; }"
                )
                assert bottom <= bar["y"]
                assert right <= PHONE["width"]


def test_tick_on_back_untick(room: tuple[str, Keep], telephone: BrowserContext) -> None:
    """Each shows at once, and is kept."""
    address, keep, job = begun(room)
    page = opened(telephone, address)
    first = page.locator("h1").inner_text()
    press(page, "Tick: cut")
    expect(page.locator("[data-slot='stamp']")).to_have_text("cut")
    expect(page.locator("[data-slot='done']")).to_have_text("1")
    ticks_of(keep, job, 1)
    press(page, "On")
    expect(page.locator(".bench")).to_have_class(re.compile("is-uncut"))
    assert page.url.endswith("?at=1")
    press(page, "Back")
    expect(page.locator("h1")).to_have_text(first)
    press(page, "Untick")
    ticks_of(keep, job, 0)


def test_a_finger_that_slips_ticks_once(room: tuple[str, Keep], telephone: BrowserContext) -> None:
    """Two presses in a moment are one."""
    address, keep, job = begun(room)
    page = opened(telephone, address)
    page.evaluate("() => { const b = document.querySelector('.press-tick button'); b.click(); b.click(); }")
    expect(page.locator("[data-slot='stamp']")).to_have_text("cut")
    ticks_of(keep, job, 1)
    page.wait_for_timeout(300)
    assert len(keep.ticks(job.id)) == 1


def test_ticks_made_without_the_network_are_sent_when_it_is_back(
    room: tuple[str, Keep], telephone: BrowserContext
) -> None:
    """One goes on from piece to piece meanwhile, and the page says what is not sent."""
    address, keep, job = begun(room)
    page = opened(telephone, address)
    telephone.set_offline(True)
    for _ in range(3):
        press(page, "Tick: cut")
        press(page, "On")
    expect(page.locator("[data-slot='unsent']")).to_contain_text("3 ticks are not sent yet")
    expect(page.locator("[data-slot='done']")).to_have_text("3")
    assert keep.ticks(job.id) == {}
    telephone.set_offline(False)
    ticks_of(keep, job, 3)
    expect(page.locator("[data-slot='unsent']")).to_have_text("")


def test_ticks_outlive_a_page_that_was_thrown_away(room: tuple[str, Keep], telephone: BrowserContext) -> None:
    """As a telephone does with a page while it sleeps; its token may be gone as well."""
    address, keep, job = begun(room)
    page = opened(telephone, address)
    telephone.set_offline(True)
    press(page, "Tick: cut")
    expect(page.locator("[data-slot='unsent']")).to_contain_text("1 tick is not sent yet")
    page.close()
    telephone.clear_cookies()
    telephone.set_offline(False)
    page = opened(telephone, address)
    ticks_of(keep, job, 1)
    expect(page.locator("[data-slot='done']")).to_have_text("1")


def test_an_old_token_is_renewed_in_the_open_page(room: tuple[str, Keep], telephone: BrowserContext) -> None:
    """Nothing ticked is refused for it."""
    address, keep, job = begun(room)
    page = opened(telephone, address)
    telephone.clear_cookies()
    press(page, "Tick: cut")
    ticks_of(keep, job, 1)


def test_the_last_tick_says_that_all_is_cut(room: tuple[str, Keep], telephone: BrowserContext) -> None:
    """And the job's state follows."""
    address, keep, job = begun(room)
    page = opened(telephone, address)
    for at in range(8):
        press(page, "Tick: cut")
        if at < 7:
            press(page, "On")
    expect(page.locator("[data-slot='all']")).to_be_visible()
    ticks_of(keep, job, 8)
    assert keep.job(job.id).state == "cut"


def test_cut_wrong_and_flaw_plan_the_rest_again(room: tuple[str, Keep], telephone: BrowserContext) -> None:
    """By presses alone."""
    address, keep, job = begun(room)
    page = opened(telephone, address)
    before = page.locator(".run").all_inner_texts()
    press(page, "Cut wrong")
    press(page, "Cut wrong: plan it again")
    page.wait_for_url(re.compile(r"\?at="))
    expect(page.locator("[data-slot='stamp']")).to_have_text("cut wrong")
    expect(page.locator(".replanned")).to_contain_text("Planned again", timeout=60_000)
    assert page.locator(".run").all_inner_texts() != before
    expect(page.locator(".planning")).to_be_hidden()
    press(page, "Flaw here")
    page.get_by_role("button", name="middle", exact=True).tap()
    page.wait_for_url(re.compile(r"/table\?at="))
    expect(page.locator(".bench")).to_have_attribute("data-round", "3", timeout=60_000)
    assert keep.job(job.id).arrival[0].flaws


def test_without_the_network_what_goes_wrong_waits_for_an_answer(
    room: tuple[str, Keep], telephone: BrowserContext
) -> None:
    """The table stays, and says so; a table that was put away comes back as it was, its ticks with it."""
    address, _, _ = begun(room)
    page = opened(telephone, address)
    page.goto(address.rpartition("/jobs/")[0] + "/table")
    telephone.set_offline(True)
    page.go_back()
    expect(page.locator(".bench[data-state='ready']")).to_be_attached()
    press(page, "Tick: cut")
    expect(page.locator("[data-slot='unsent']")).to_contain_text("1 tick is not sent yet")
    press(page, "Flaw here")
    expect(page.locator("[data-slot='trouble']")).to_contain_text("does not answer now")
    expect(page.locator("[data-slot='stamp']")).to_have_text("cut")
    telephone.set_offline(False)


def test_a_table_planned_again_elsewhere_comes_to_this_telephone(
    room: tuple[str, Keep], telephone: BrowserContext, chromium: Browser
) -> None:
    """With the next tick."""
    address, _, _ = begun(room)
    page = opened(telephone, f"{address}?at=3")
    other = chromium.new_context(viewport=PHONE)  # type: ignore[arg-type]
    elsewhere = opened(other, address)
    elsewhere.goto(f"{address}/wrong?at=0")
    elsewhere.get_by_role("button", name="Cut wrong: plan it again").click()
    expect(elsewhere.locator(".replanned")).to_be_attached(timeout=60_000)
    other.close()
    press(page, "Tick: cut")
    expect(page.locator(".bench")).to_have_attribute("data-round", "2")
    expect(page.locator("[data-slot='stamp']")).to_have_text("cut")


def test_a_photograph_is_kept_as_soon_as_it_is_taken(
    room: tuple[str, Keep], telephone: BrowserContext, tmp_path: Path
) -> None:
    """With the piece it was taken at; what is no picture is told and changes nothing."""
    address, keep, job = begun(room)
    page = opened(telephone, address)
    press(page, "On")
    taken = tmp_path / "taken.png"
    taken.write_bytes(page.screenshot())
    page.locator("#photo").set_input_files(taken)
    expect(page.locator("#photo-kept")).to_contain_text("Kept with the job")
    (photo,) = keep.photos(job.id)
    assert photo.note == "bottom panel, 1 of 1"
    wrong = tmp_path / "wrong.png"
    wrong.write_text("no picture")
    page.locator("#photo").set_input_files(wrong)
    expect(page.locator("#told")).to_contain_text("no photograph")
    assert len(keep.photos(job.id)) == 1


def test_the_screen_stays_awake(room: tuple[str, Keep], telephone: BrowserContext) -> None:
    """Where the browser can; asked again when the page is seen again."""
    telephone.add_init_script(
        "window.asked = 0; Object.defineProperty(navigator, 'wakeLock', {value: {request: async kind => {"
        " window.asked += 1; return {released: false, release: async () => {}}; }}});"
    )
    page = opened(telephone, begun(room)[0])
    expect(page.locator("[data-slot='awake']")).to_have_text("The screen stays awake here.")
    assert page.evaluate("window.asked") == 1


def test_without_scripts_the_table_works_all_the_same(room: tuple[str, Keep], chromium: Browser) -> None:
    """By forms and links."""
    address, keep, job = begun(room)
    context = chromium.new_context(viewport=PHONE, java_script_enabled=False)  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(address)
    page.get_by_role("button", name="Tick: cut").click()
    expect(page.locator("[data-slot='stamp']")).to_have_text("cut")
    page.get_by_role("link", name="On", exact=True).click()
    expect(page.locator("[data-slot='stamp']")).to_have_text("")
    assert len(keep.ticks(job.id)) == 1
    context.close()


def test_the_arrival_is_noted_as_one_types(room: tuple[str, Keep], telephone: BrowserContext) -> None:
    """No save button; what is wanting gets less, and the hold ends by itself."""
    address, keep = room
    job = ordered(keep)
    page = telephone.new_page()
    page.goto(f"{address}/jobs/{job.id}/arrival")
    page.get_by_label("Usable width").fill("53 1/")
    expect(page.locator("#say-0-width")).to_contain_text("stop")
    page.get_by_label("Usable width").fill("53 1/2")
    expect(page.locator("#say-0-width")).to_have_text("")
    page.get_by_role("radio", name="Plain to see").tap()
    page.get_by_role("radio", name="None: a flat cloth").tap()
    page.get_by_label("Dye lot").fill("7")
    page.get_by_label("Shade").fill("as the sample")
    page.get_by_role("button", name="Looked it over: no flaw").tap()
    expect(page.locator("#onward")).to_contain_text("The cloth is checked in", timeout=10_000)
    expect(page.get_by_label("Usable width")).to_have_value("53 1/2")
    assert keep.job(job.id).state == "arrived"
