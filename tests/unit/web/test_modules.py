"""The modules in a real browser, under the workroom's own policy: seen, dragged, and worked by keys alone."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import tomlkit
from playwright.sync_api import Browser, Page, expect

from squab.files import read_job
from squab.lay.records import LayPhase, Placed
from squab.lay.verify import verify
from squab.measure import rounded_rectangle
from squab.units import METRIC
from squab.web.layview import lay_view, moved_lay
from squab.web.outlineview import outline_view
from squab.web.scene import scene_of_job
from squab.worked import WorkedJob
from tests.unit.draw.drawn_jobs import worked_job
from tests.unit.web.module_page import STATIC, element, page_html, served

PATIENCE_MS = 20_000
BROWSER = Path(__file__).resolve().parents[3] / "browser"
HEARD = """names => {
    window.heard = [];
    for (const name of names)
        document.addEventListener(name, e => window.heard.push({name, detail: e.detail}));
}"""

pytestmark = pytest.mark.skipif(
    not (STATIC / "bundle" / "workroom.js").exists(), reason="the bundle has not been made: python run.py setup"
)


def test_the_geometry_in_typescript_keeps_its_own_tests() -> None:
    done = subprocess.run([sys.executable, str(BROWSER / "bundle.py"), "--tests"], capture_output=True, text=True)
    assert done.returncode == 0, done.stdout[-4000:] + done.stderr[-2000:]
    assert "# fail 0" in done.stdout


def test_licences_of_all_that_is_bundled_stand_beside_it() -> None:
    said = (STATIC / "bundle" / "LICENCES.txt").read_text()
    for package in ("htmx.org", "htmx-ext-sse", "three"):
        assert f"\n{package} " in f"\n{said}"


@contextmanager
def opened(chromium: Browser, kind: str, data: Any, *, width: int = 820, script: str = "") -> Iterator[Page]:
    """A page with one module on it, ready; whatever the browser complains of fails the test."""
    body = element(kind, "/data.json", '<p class="serves">What serves without it.</p>', data_field="#kept")
    with served({"/": page_html(f'{body}<input type="hidden" id="kept">')}, {"/data.json": data}) as url:
        page = chromium.new_page(viewport={"width": width, "height": 900})
        complaints: list[str] = []
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.on("console", lambda m: complaints.append(m.text) if "Content Security Policy" in m.text else None)
        if script:
            page.add_init_script(script)
        page.goto(url)
        page.wait_for_selector("[data-state]")
        page.evaluate(HEARD, ["pattern-moved", "piece-lit", "piece-moved", "piece-pinned", "outline-changed"])
        yield page
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        page.close()
        assert complaints == []


def heard(page: Page, name: str) -> list[Any]:
    """The details of the events of one name, in order."""
    return [e["detail"] for e in page.evaluate("window.heard") if e["name"] == name]


def kept(page: Page) -> Any:
    """What the hidden field holds."""
    return json.loads(page.locator("#kept").input_value())


# -- the view ---------------------------------------------------------------------------------


def _middle(page: Page) -> tuple[float, float]:
    box = page.locator("canvas").bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] * 0.5


@pytest.mark.parametrize("width", [360, 1440])
def test_the_cushion_is_drawn_and_told_in_words(chromium: Browser, width: int) -> None:
    with opened(chromium, "view", scene_of_job(worked_job()), width=width) as page:
        assert page.locator("section").get_attribute("data-state") == "ready"
        assert not page.locator(".serves").is_visible()
        label = page.locator("canvas").get_attribute("aria-label") or ""
        assert "Seat" in label
        assert "Wickle ticking" in label
        page.wait_for_timeout(300)
        colours = page.evaluate(
            """async () => {
                await new Promise(requestAnimationFrame);
                const from = document.querySelector('canvas'), to = document.createElement('canvas');
                to.width = 80; to.height = 60;
                const pen = to.getContext('2d');
                document.querySelector('.view-frame button[aria-label="Nearer"]').click();
                await new Promise(r => requestAnimationFrame(() => { pen.drawImage(from, 0, 0, 80, 60); r(); }));
                const seen = new Set(), d = pen.getImageData(20, 20, 40, 20).data;
                for (let i = 0; i < d.length; i += 4) seen.add(d[i] >> 5 | (d[i + 1] >> 5) << 3 | (d[i + 2] >> 5) << 6);
                return seen.size;
            }"""
        )
        assert colours > 6, "stripes of several colours are seen"


def test_the_stripe_is_slid_by_hand_with_no_call_to_the_server(chromium: Browser) -> None:
    with opened(chromium, "view", scene_of_job(worked_job())) as page:
        page.get_by_role("button", name="Above").click()
        expect(page.locator("canvas")).to_have_attribute("aria-label", re.compile("from above"), timeout=PATIENCE_MS)
        page.get_by_role("button", name="Slide the stripe").click()
        calls: list[str] = []
        page.on("request", lambda r: calls.append(r.url))
        x, y = _middle(page)
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 25, y, steps=12)
        assert heard(page, "pattern-moved") == []
        page.mouse.up()
        assert calls == []
        (moved,) = heard(page, "pattern-moved")
        assert moved == kept(page)
        (pin,) = moved["pins"]
        assert (pin["cushion"], pin["cloth"], pin["along_mm"]) == ("seat", "stripe", None)
        # Nought stands on the centre line before; the cloth goes to the right, by less than half a repeat.
        assert 5 < -pin["across_mm"] % 96 < 48


def test_the_stripe_is_slid_by_keys_put_back_and_settled(chromium: Browser) -> None:
    with opened(chromium, "view", scene_of_job(worked_job())) as page:
        canvas = page.locator("canvas")
        canvas.focus()
        page.keyboard.press("s")
        page.keyboard.press("ArrowRight")
        page.keyboard.press("Escape")
        assert heard(page, "pattern-moved") == []
        page.keyboard.press("Shift+ArrowRight")
        page.keyboard.press("ArrowLeft")
        page.keyboard.press("Enter")
        (moved,) = heard(page, "pattern-moved")
        assert moved["pins"][0]["across_mm"] == pytest.approx(96 - 9)
        expect(page.get_by_role("status")).to_contain_text("centre line", timeout=PATIENCE_MS)


def test_turning_is_told_and_drift_is_listed_when_asked(chromium: Browser) -> None:
    worked = worked_job()
    drifts = tuple(
        replace(d, verdict="miss", worst_mm=9.0, said="front top edge: the stripe is off by up to 9 mm.")
        if d.side == "front"
        else d
        for d in worked.match.drifts
    )
    worked = replace(worked, match=replace(worked.match, drifts=drifts))
    with opened(chromium, "view", scene_of_job(worked)) as page:
        page.locator("canvas").focus()
        for _ in range(24):
            page.keyboard.press("ArrowRight")
        assert "from the back" in (page.locator("canvas").get_attribute("aria-label") or "")
        assert not page.get_by_text("the stripe is off by up to 9 mm").is_visible()
        page.get_by_role("button", name="Mark where the stripe drifts").click()
        assert page.get_by_text("Front top edge: the stripe is off by up to 9 mm").is_visible()


def test_a_piece_under_the_hand_is_lit_for_the_others(chromium: Browser) -> None:
    with opened(chromium, "view", scene_of_job(worked_job())) as page:
        page.mouse.move(*_middle(page))
        assert heard(page, "piece-lit")[-1] == {"part": "seat.top", "number": 1}
        page.mouse.move(5, 5)
        assert heard(page, "piece-lit")[-1]["part"] is None


def test_cushions_are_chosen_by_their_names(chromium: Browser) -> None:
    with opened(chromium, "view", scene_of_job(worked_job(count=2))) as page:
        page.get_by_role("button", name="Seat 2").click()
        assert page.get_by_role("button", name="Seat 2").get_attribute("aria-pressed") == "true"
        assert page.get_by_role("button", name="Seat 1").get_attribute("aria-pressed") == "false"


def test_new_data_is_taken_without_losing_the_view(chromium: Browser) -> None:
    with opened(chromium, "view", scene_of_job(worked_job())) as page:
        other = scene_of_job(worked_job())
        next(p for p in other["cushions"][0]["patches"] if p["part"] == "seat.top")["p"] += 7
        page.evaluate(
            "d => document.querySelector('section').dispatchEvent(new CustomEvent('fresh', {detail: d}))", other
        )
        expect(page.get_by_role("status")).to_have_text(
            "Red stands 13 mm right of the centre line.", timeout=PATIENCE_MS
        )
        assert page.locator("canvas").count() == 1


def test_without_webgl_the_plain_drawing_stays(chromium: Browser) -> None:
    none = "HTMLCanvasElement.prototype.getContext = () => null;"
    with opened(chromium, "view", scene_of_job(worked_job()), script=none) as page:
        assert page.locator("section").get_attribute("data-state") == "plain"
        assert page.locator(".serves").is_visible()
        assert page.locator("canvas").count() == 0


# -- the lay ----------------------------------------------------------------------------------


def _laid() -> WorkedJob:
    """The hand-made job with its lay made sound: each matched piece's place is what the lay gives it."""
    worked = worked_job()
    plan = worked.plans["stripe"]
    at = {p.key: p for p in plan.lay.placed}
    pieces = tuple(
        replace(p, phase=LayPhase("g", at[p.key].u_mm - plan.lay.pattern_at[0], None)) for p in plan.problem.pieces
    )
    strips = tuple(replace(s, least_part_mm=1.0) for s in plan.problem.strips)
    problem = replace(plan.problem, pieces=pieces, strips=strips)
    return replace(worked, plans={"stripe": replace(plan, problem=problem)})


def _drag(page: Page, piece: str, dx: float, dy: float) -> None:
    box = page.locator(f'[data-piece^="{piece}|"] .lay-cut').bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + dx, y + dy, steps=8)
    page.mouse.up()


@pytest.mark.parametrize("width", [360, 1440])
def test_the_lay_is_drawn_at_any_width(chromium: Browser, width: int) -> None:
    worked = _laid()
    with opened(chromium, "lay", lay_view(worked, "stripe"), width=width) as page:
        assert page.locator(".lay-piece").count() == len(worked.plans["stripe"].lay.placed)
        assert page.get_by_text("nothing can use less than").is_visible()
        assert page.locator(".lay-wrong").count() == 0


def test_what_the_browser_says_of_a_moved_piece_is_what_the_verifier_says(chromium: Browser) -> None:
    worked = _laid()
    plan = worked.plans["stripe"]
    assert verify(plan.problem, plan.lay) == ()
    with opened(chromium, "lay", lay_view(worked, "stripe"), width=1440) as page:
        page.get_by_role("button", name="Move pieces").click()
        for _ in range(2):
            page.get_by_role("button", name="Smaller").click()
        cloth = page.locator(".lay-edge").bounding_box()
        assert cloth is not None
        wide = cloth["width"]
        for dx, dy in ((1.3 * wide, 3), (-0.9 * wide, 25), (0.2 * wide, 400)):
            _drag(page, "seat.bottom#1", dx, dy)
            told = heard(page, "piece-moved")[-1]
            lay, faults = moved_lay(plan, [Placed(told["key"], told["turn_deg"], told["u_mm"], told["v_mm"])])
            assert told["sound"] == (not faults), [f.message for f in faults]
            assert told["length_mm"] == pytest.approx(lay.length_mm)
            assert "phase" not in {f.kind for f in faults}, "it only stops where the match allows"
            assert kept(page)["moved"][0]["key"] == "seat.bottom#1"
        assert {t["sound"] for t in heard(page, "piece-moved")} == {True, False}
        for _ in range(3):
            page.get_by_role("button", name="Take back").click()
        assert kept(page)["moved"] == []


def test_a_piece_is_moved_and_pinned_by_keys_alone(chromium: Browser) -> None:
    worked = _laid()
    with opened(chromium, "lay", lay_view(worked, "stripe"), width=1440) as page:
        piece = page.locator('[data-piece^="seat.bottom#1|"]')
        piece.focus()
        page.keyboard.press("Enter")
        for _ in range(60):
            page.keyboard.press("Shift+ArrowRight")
        page.keyboard.press("ArrowDown")
        page.keyboard.press("Enter")
        told = heard(page, "piece-moved")[-1]
        old = next(p for p in worked.plans["stripe"].lay.placed if p.key == "seat.bottom#1")
        assert told["v_mm"] - old.v_mm == pytest.approx(600)
        assert told["u_mm"] - old.u_mm == pytest.approx(96)
        page.keyboard.press("p")
        assert heard(page, "piece-pinned")[-1]["pinned"] is True
        assert [p["key"] for p in kept(page)["pinned"]] == ["seat.bottom#1"]
        assert "pinned" in (piece.get_attribute("aria-label") or "")
        page.keyboard.press("Enter")
        expect(page.get_by_role("status")).to_contain_text("unpin it to move it", timeout=PATIENCE_MS)


def test_progress_is_told_without_drawing_the_lay_anew(chromium: Browser) -> None:
    with opened(chromium, "lay", lay_view(_laid(), "stripe")) as page:
        page.locator(".lay-piece").first.evaluate("e => e.dataset.mark = 'same'")
        page.evaluate(
            "() => document.querySelector('section').dispatchEvent("
            "new CustomEvent('fresh', {detail: {progress: {uses: '1.23 m', said: 'still searching'}}}))"
        )
        assert page.get_by_text("uses 1.23 m").is_visible()
        assert page.get_by_text("still searching").is_visible()
        assert page.locator("[data-mark=same]").count() == 1


def test_a_piece_lit_elsewhere_is_lit_on_the_cloth(chromium: Browser) -> None:
    with opened(chromium, "lay", lay_view(_laid(), "stripe")) as page:
        page.evaluate(
            "() => document.body.dispatchEvent("
            "new CustomEvent('piece-lit', {bubbles: true, detail: {part: 'seat.zip'}}))"
        )
        assert page.locator(".lay-lit").count() == 1
        assert "zip panel" in (page.locator(".lay-lit").get_attribute("aria-label") or "")


# -- the outline ------------------------------------------------------------------------------


def _outline(**radii: float) -> Any:
    worked = worked_job()
    made = rounded_rectangle(560, 510, radii, hidden=("back",)).value
    assert made is not None
    return outline_view(replace(worked.job.cushions[0], outline=made), METRIC)


def _read(keys: dict[str, Any]) -> Any:
    """What a job file makes of the keys that the editor writes."""
    cushion = {"id": "seat", "thickness": 80, "size_is": "seam", **keys}
    job = {"job": {"units": "mm"}, "cloth": [{"id": "c", "usable_width": 1370}], "cushion": [cushion]}
    found = read_job(tomlkit.dumps(job).encode())
    assert found.value is not None, [f.message for f in found.findings]
    return found.value.cushions[0].outline


@pytest.mark.parametrize("width", [360, 1440])
def test_an_outline_is_made_by_keys_alone_and_the_job_file_takes_it(chromium: Browser, width: int) -> None:
    with opened(chromium, "outline", _outline(front_left=60.0), width=width) as page:
        page.locator('[data-corner="1"]').focus()
        page.keyboard.press("Shift+ArrowUp")  # the back right corner 50 mm further back
        for _ in range(4):
            page.keyboard.press("+")  # its radius 20 mm
        page.locator('[data-side="0"]').focus()
        for _ in range(3):
            page.keyboard.press("+")  # the front stands out 15 mm
        page.locator('[data-side="3"]').focus()
        page.keyboard.press("s")
        keys = kept(page)
        assert keys["shape"] == "run"
        assert keys["hidden"] == ["back", "left"]
        outline = _read(keys)
        assert outline.bounds()[2:] == pytest.approx((560.0, 560.0), abs=5)
        assert outline.bounds()[1] == pytest.approx(-15, abs=0.5)
        assert not outline.is_seen("left")
        assert len(heard(page, "outline-changed")) == 9


def test_a_rectangle_is_written_as_a_rectangle(chromium: Browser) -> None:
    with opened(chromium, "outline", _outline(front_left=60.0)) as page:
        length = page.locator(".outline-row").nth(0).locator("[data-row=length]")
        length.fill("600")
        length.press("Tab")
        assert kept(page) == {
            "shape": "rectangle", "width": 600, "depth": 510, "radius": {"front_left": 60}, "hidden": ["back"],
        }  # fmt: skip
        assert _read(kept(page)).area == pytest.approx(600 * 510 - (4 - 3.14159265) * 60**2 / 4, abs=0.01)


def test_a_dragged_corner_snaps_and_is_undone_and_done_again(chromium: Browser) -> None:
    with opened(chromium, "outline", _outline()) as page:
        box = page.locator('[data-corner="1"] .outline-dot').bounding_box()
        assert box is not None
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x + 33, y + 41, steps=6)
        assert heard(page, "outline-changed") == [], "nothing is told before the hand lets go"
        page.mouse.up()
        moved = kept(page)["run"][1]["to"]
        assert all(v % 5 == 0 for v in moved)
        assert moved[0] > 560
        assert moved[1] < 510
        page.get_by_role("button", name="Undo").click()
        assert kept(page)["shape"] == "rectangle"
        page.get_by_role("button", name="Redo").click()
        assert kept(page)["run"][1]["to"] == moved


def test_what_is_no_length_is_said_beside_it_and_stays_as_typed(chromium: Browser) -> None:
    with opened(chromium, "outline", _outline()) as page:
        length = page.locator(".outline-row").nth(0).locator("[data-row=length]")
        length.fill("about so")
        length.press("Tab")
        assert page.get_by_text('"about so" is not a length such as 560.').is_visible()
        assert length.get_attribute("aria-invalid") == "true"
        assert length.input_value() == "about so", "what was typed stays"
        page.locator('[data-corner="1"]').focus()
        page.keyboard.press("ArrowUp")
        assert length.input_value() == "about so"
        assert [e["run"][1]["to"] for e in heard(page, "outline-changed")] == [[560, 515]]
        page.evaluate("window.heard = []")
        length.fill("600")
        length.press("Tab")
        assert length.get_attribute("aria-invalid") is None
        assert len(heard(page, "outline-changed")) == 1


def test_corners_that_do_not_fit_are_said(chromium: Browser) -> None:
    with opened(chromium, "outline", _outline()) as page:
        for row in (0, 1):
            radius = page.locator(".outline-row").nth(row).locator("[data-row=corner]")
            radius.fill("300")
            radius.press("Tab")
        assert "take more than its 510 mm" in page.get_by_role("alert").inner_text()
        assert [e["sound"] for e in heard(page, "outline-changed")] == [True, False]


def test_a_module_reads_its_source_again_when_the_page_changes_what_serves_without_it(chromium: Browser) -> None:
    with opened(chromium, "outline", _outline()) as page:
        calls: list[str] = []
        page.on("request", lambda r: calls.append(r.url))
        page.locator(".outline-row").nth(0).locator("[data-row=length]").fill("580")
        page.keyboard.press("Tab")
        page.wait_for_timeout(150)
        assert calls == [], "what the module does to itself is no news"
        with page.expect_response("**/data.json", timeout=PATIENCE_MS):
            page.evaluate("() => document.querySelector('.serves').replaceChildren('something new')")
        assert not page.locator(".serves").is_visible()


# -- a page that is swapped for a newer one ---------------------------------------------------


def _swapped(page: Page, kind: str) -> None:
    """Put a new element and a new, empty field in the place of the old ones, as a page's answer does."""
    body = element(kind, "/data.json", '<p class="serves">What serves without it.</p>', data_field="#kept")
    page.evaluate(
        """html => {
            document.querySelector('#kept').value = '';
            document.querySelector('section').dataset.old = 'yes';
            window.htmx.swap(document.querySelector('section'), html, {swapStyle: 'outerHTML'});
        }""",
        body,
    )
    page.wait_for_selector("section:not([data-old])[data-state=ready]", timeout=PATIENCE_MS)


def test_the_view_looks_as_it_did_when_the_page_is_swapped(chromium: Browser) -> None:
    with opened(chromium, "view", scene_of_job(worked_job(count=2))) as page:
        page.get_by_role("button", name="Seat 2").click()
        page.locator("canvas").focus()
        for _ in range(24):
            page.keyboard.press("ArrowRight")
        page.keyboard.press("s")
        _swapped(page, "view")
        assert page.locator("canvas").count() == 1
        pressed = page.locator("[aria-pressed=true]").all_inner_texts()
        assert pressed == ["Seat 2", "Slide the stripe"]
        assert "from the back" in (page.locator("canvas").get_attribute("aria-label") or "")
        assert page.evaluate("document.activeElement.tagName") == "CANVAS"


def test_pieces_moved_by_hand_stay_moved_when_the_page_is_swapped(chromium: Browser) -> None:
    with opened(chromium, "lay", lay_view(_laid(), "stripe"), width=1440) as page:
        page.locator('[data-piece^="seat.bottom#1|"]').focus()
        page.keyboard.press("Enter")
        page.keyboard.press("Shift+ArrowRight")
        page.keyboard.press("Enter")
        page.keyboard.press("p")
        before = kept(page)
        assert len(before["moved"]) == 1
        _swapped(page, "lay")
        assert kept(page) == before
        page.get_by_role("button", name="Take back").click()
        assert kept(page)["moved"] == []


def test_an_outline_that_is_being_drawn_stays_when_the_page_is_swapped(chromium: Browser) -> None:
    with opened(chromium, "outline", _outline()) as page:
        page.locator('[data-corner="1"]').focus()
        page.keyboard.press("ArrowUp")
        before = kept(page)
        _swapped(page, "outline")
        assert kept(page) == before
        page.get_by_role("button", name="Undo").click()
        assert kept(page)["shape"] == "rectangle"
        assert kept(page)["depth"] == 510
