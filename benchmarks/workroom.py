"""How fast the workroom answers: an edit, a long list, the stripe under the hand.

    python -m benchmarks.workroom [--edits N] [--jobs N] [--json]

- `edit`: from the edit of a size to the page redrawn, in Chromium, on the largest example: its figures and words.
  The search for the lay is apart, and so is the view: it waits until no edit has come for 0.3 s and the page
  is idle, so edits close upon one another as here are measured without it. Then the part that the server worked.
- `view`: from an edit alone to the view's new drawing, that wait within it.
- `list`: a list of 300 jobs, each with a text of its own, from asking for it on another page to the frame in which all
  its lines stand on the page and the pictures of those in sight are drawn. The page itself notes that moment, by
  the machine's clock: asked from outside, the asking alone takes a tenth of a second and is none of the list's.
- `drag`: frames a second while the stripe is dragged on the cushion. Where there is no graphics
  processor Chromium draws in software; the row says which it was.

A busy machine is slow: the server's own row gives the processor's time of an edit, which is the same on a busy
machine, and its ratio to the wall's. Well below 1, others had the processor.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient
from playwright.sync_api import Browser, Page, sync_playwright

from squab.keep import Keep, open_keep
from squab.web import create_app
from tests.chromium import QUIET, WANTED, chromium_path
from tests.journeys.pages import filled
from tests.journeys.room import EXAMPLES, serving, settled

EDIT_MS, EDITS_WITHIN, VIEW_MS, LIST_MS, FRAMES = 250.0, 0.95, 1000.0, 300.0, 50.0
"""What the workroom is held to."""
REDRAWN = """() => new Promise((done, failed) => {
    const field = document.querySelector('#k-cushion-0-front-in');
    const begun = performance.now(), now = document.querySelector('#now').value;
    const look = () => {
        if (performance.now() - begun > 60000) failed('an edit is not answered');
        else if (document.querySelector('#now').value === now) requestAnimationFrame(look);
        else setTimeout(() => done(performance.now() - begun));
    };
    requestAnimationFrame(look);
    field.value = Number(field.value) + 1;
    field.dispatchEvent(new Event('change', {bubbles: true}));
})"""
"""Changes a size and leaves the field; answers once the frame with the kept figures has been drawn."""
VIEW_DRAWN = """() => new Promise((done, failed) => {
    const field = document.querySelector('#k-cushion-0-front-in'), begun = performance.now();
    const seen = () => requestAnimationFrame(() => setTimeout(() => done(performance.now() - begun)));
    document.querySelector('#view canvas').addEventListener('shown', seen, {once: true});
    setTimeout(() => failed('the view is not drawn anew'), 60000);
    field.value = Number(field.value) + 1;
    field.dispatchEvent(new Event('change', {bubbles: true}));
})"""
LIST_OPEN = """jobs => {
    const drawn = p => p.tagName === 'svg' || (p.complete && p.naturalWidth > 0);
    const look = () => {
        const lines = [...document.querySelectorAll('.jobline')];
        const seen = lines.slice(0, 40).filter(line => line.getBoundingClientRect().top < innerHeight);
        const pictures = seen.map(line => line.querySelector('.jobline-picture > :is(img, svg)'));
        const stands = document.readyState !== 'loading' && lines.length === jobs && pictures.length > 0;
        if (!stands || !pictures.every(p => p && drawn(p))) return requestAnimationFrame(look);
        setTimeout(() => { window.list_open = performance.timeOrigin + performance.now(); });
    };
    requestAnimationFrame(look);
}"""
"""Notes when a list stands: in the frame after which all its lines and the pictures of those in sight are drawn."""
FRAMES_BEGIN = """() => {
    window.frames_seen = [];
    const see = t => { window.frames_seen.push(t); window.frames_on = requestAnimationFrame(see); };
    window.frames_on = requestAnimationFrame(see);
}"""
FRAMES_END = "() => { cancelAnimationFrame(window.frames_on); return window.frames_seen; }"
DRAWN_BY = """() => {
    const gl = document.createElement('canvas').getContext('webgl2');
    const known = gl && gl.getExtension('WEBGL_debug_renderer_info');
    return known ? gl.getParameter(known.UNMASKED_RENDERER_WEBGL) : 'unknown';
}"""


def share(sorted_ms: list[float], part: float) -> float:
    """The time within which that part of all were done."""
    return sorted_ms[min(len(sorted_ms) - 1, int(part * len(sorted_ms)))]


def summed(name: str, times_ms: list[float], limit_ms: float, **more: Any) -> dict[str, Any]:
    """A row of times: the middle one, the 95th of 100, and how many kept within the limit."""
    ordered = sorted(times_ms)
    within = sum(t <= limit_ms for t in ordered) / len(ordered)
    median, p95 = round(share(ordered, 0.5), 1), round(share(ordered, 0.95), 1)
    row = {"name": name, "times": len(ordered), "median_ms": median, "p95_ms": p95, "limit_ms": limit_ms}
    return {**row, "within": round(within, 3), **more}


def edits_on_the_page(page: Page, address: str, times: int) -> dict[str, Any]:
    """From an edit in the browser to the page redrawn."""
    page.goto(address)
    settled(page)
    taken = [page.evaluate(REDRAWN) for _ in range(times + 3)][3:]
    return summed("edit, in the browser", taken, EDIT_MS)


def views_drawn(page: Page, address: str, times: int) -> dict[str, Any]:
    """From an edit by itself to the view drawn anew, which waits for typing to rest."""
    page.goto(address)
    settled(page)
    taken = []
    for _ in range(times + 1):
        taken.append(page.evaluate(VIEW_DRAWN))
        page.wait_for_timeout(300)
    return summed("view after an edit", taken[1:], VIEW_MS)


def edits_on_the_server(keep: Keep, job_id: str, times: int) -> dict[str, Any]:
    """The same edits answered without a browser: what the server works, with its processor's time."""
    taken, worked_ms, ratios = [], [], []
    with TestClient(create_app(keep), base_url="http://127.0.0.1:8024") as client:
        client.cookies.set("squab_token", "0" * 32)
        client.headers.update({"x-squab-token": "0" * 32, "hx-request": "true"})
        for at in range(times + 3):
            form = {"path": "cushion[0].front", "value": f"{520 + at}", "now": str(keep.job(job_id).version)}
            begun, worked = time.perf_counter(), time.process_time()
            answer = client.post(f"/jobs/{job_id}/set", data=form)
            wall, busy = time.perf_counter() - begun, time.process_time() - worked
            assert answer.status_code == 200, answer.text
            if at >= 3:
                taken.append(wall * 1000)
                worked_ms.append(busy * 1000)
                ratios.append(busy / wall)
    more = {"cpu_ms": round(share(sorted(worked_ms), 0.5), 1), "cpu_ratio": round(sum(ratios) / len(ratios), 2)}
    return summed("edit, the server's part", taken, EDIT_MS, **more)


def list_of_jobs(page: Page, address: str, jobs: int, times: int) -> dict[str, Any]:
    """From asking for the list to its lines and the pictures in sight standing on the page."""
    page.add_init_script(f"({LIST_OPEN})({jobs})")
    taken = []
    for _ in range(times + 2):
        page.goto(f"{address}/telephone", wait_until="load")
        page.wait_for_timeout(300)
        begun = time.time() * 1000
        page.goto(f"{address}/jobs?most={jobs}", wait_until="load")
        while not (done := page.evaluate("window.list_open")):
            page.wait_for_timeout(50)
        taken.append(done - begun)
    return summed(f"list of {jobs} jobs", taken[2:], LIST_MS)  # the first draws what was never drawn, and is kept


def stripe_dragged(page: Page, address: str) -> dict[str, Any]:
    """Frames a second while the stripe is dragged, and what was asked of the server meanwhile."""
    page.goto(address)
    settled(page)
    view = page.locator("#view")
    view.get_by_role("button", name="Above").click()
    view.get_by_role("button", name="Slide the stripe").click()
    box = view.locator("canvas").bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    asked: list[str] = []
    page.mouse.move(x, y)
    page.mouse.down()
    page.on("request", lambda r: asked.append(r.url))
    page.evaluate(FRAMES_BEGIN)
    until = time.perf_counter() + 3.0
    at = 0
    while time.perf_counter() < until:
        at += 1
        page.mouse.move(x + 60 * ((at % 40) - 20) / 20, y)
    seen = page.evaluate(FRAMES_END)
    calls = len(asked)
    page.mouse.move(x + 30, y)
    with page.expect_response(lambda r: r.url.endswith("/slide")):  # an edit before it was kept would be refused
        page.mouse.up()
    rate = (len(seen) - 1) / (seen[-1] - seen[0]) * 1000
    return {"name": "stripe dragged", "frames_per_s": round(rate, 1), "wanted": FRAMES, "calls_to_server": calls,
            "drawn_by": page.evaluate(DRAWN_BY)}  # fmt: skip


@contextmanager
def browsing() -> Iterator[Browser]:
    """A Chromium."""
    path = chromium_path()
    if path is None:
        sys.exit(WANTED)
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=path, args=list(QUIET))
        yield browser
        browser.close()


def many_jobs(folder: Path, jobs: int) -> None:
    """A keep with that many jobs, the examples over and over, no two of them the same text."""
    keep = open_keep(folder)
    texts = [p.read_text() for p in sorted(EXAMPLES.glob("*.toml"))]
    for at in range(jobs):
        keep.add_job(f"{texts[at % len(texts)]}\n# job {at + 1}\n", title=f"Job {at + 1}")
    keep.close()


def rows(edits: int, jobs: int) -> Iterator[dict[str, Any]]:
    """Every row, as it is measured."""
    with tempfile.TemporaryDirectory() as one, tempfile.TemporaryDirectory() as many, browsing() as browser:
        made = filled(Path(one))
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.set_default_timeout(90_000)
        with serving(Path(one)) as address:
            job = f"{address}/jobs/{made['bay']}"
            yield stripe_dragged(page, job)
            yield edits_on_the_page(page, job, edits)
            yield views_drawn(page, job, 10)
        keep = open_keep(Path(one))
        yield edits_on_the_server(keep, made["bay"], edits)
        many_jobs(Path(many), jobs)
        with serving(Path(many)) as address:
            yield list_of_jobs(page, address, jobs, 30)


def told(row: dict[str, Any]) -> str:
    """A row in words."""
    if "frames_per_s" in row:
        return (
            f"{row['name']:<26} {row['frames_per_s']:>6.1f} frames/s (wanted: {row['wanted']:.0f} where there is a "
            f"graphics processor), {row['calls_to_server']} calls to the server; drawn by {row['drawn_by']}"
        )
    ratio = f", processor {row['cpu_ms']:.0f} ms, processor/wall {row['cpu_ratio']:.2f}" if "cpu_ratio" in row else ""
    return (
        f"{row['name']:<26} median {row['median_ms']:>7.1f} ms  95 of 100 within {row['p95_ms']:>7.1f} ms"
        f"  {row['within']:.0%} within {row['limit_ms']:.0f} ms{ratio}"
    )


def main() -> None:
    """Print a row a measure, then how busy the machine was."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--edits", type=int, default=100)
    parser.add_argument("--jobs", type=int, default=300)
    parser.add_argument("--json", action="store_true")
    asked = parser.parse_args()
    tell: Callable[[dict[str, Any]], str] = json.dumps if asked.json else told
    for row in rows(asked.edits, asked.jobs):
        print(tell(row), flush=True)
    load, cores = os.getloadavg()[0] if hasattr(os, "getloadavg") else 0.0, os.cpu_count() or 1
    busy = {"name": "machine", "cores": cores, "load": round(load, 1)}
    print(json.dumps(busy) if asked.json else f"{cores} cores, load {load:.1f}", flush=True)


if __name__ == "__main__":
    main()
