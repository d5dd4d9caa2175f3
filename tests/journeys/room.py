"""A workroom of its own for a journey: `squab serve` as a person starts it, over a folder that is thrown away."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from decimal import Decimal
from pathlib import Path
from urllib.parse import urlsplit

from playwright.sync_api import Page

from squab.files.jobfile import read_job
from squab.job import Job

EXAMPLES = Path(__file__).parents[2] / "examples"
PATIENCE_S = 60.0
"""How long anything may take on a busy machine before a journey is given up."""


@contextmanager
def serving(folder: Path) -> Iterator[str]:
    """Serve the keep in `folder` on a free port of the loopback; give the address."""
    command = [sys.executable, "-m", "squab.cli", "serve", "--no-browser", "--port", str(_free_port())]
    told = (folder / "serve.txt").open("w+")
    process = subprocess.Popen(
        command,
        env={**os.environ, "SQUAB_FOLDER": str(folder)},
        stdout=subprocess.PIPE,
        stderr=told,
        text=True,
        encoding="utf-8",
    )
    giving_up = threading.Timer(PATIENCE_S, process.kill)
    giving_up.start()
    assert process.stdout is not None
    try:
        first = process.stdout.readline()
        giving_up.cancel()
        found = re.search(r"http://127\.0\.0\.1:\d+", first)
        told.seek(0)
        assert found, f"the workroom did not open: {first!r} {told.read()[-2000:]}"
        yield found[0]
    finally:
        giving_up.cancel()
        process.terminate()
        try:
            process.wait(15)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
        process.stdout.close()
        told.seek(0)
        faults = told.read()
        told.close()
    assert "Traceback" not in faults, faults[-4000:]


def _free_port() -> int:
    with socket.socket() as there:
        there.bind(("127.0.0.1", 0))
        return int(there.getsockname()[1])


def laid(page: Page) -> None:
    """Wait until the job of a page is laid and priced exactly."""
    page.locator("#figures .answer:not(.pending)").wait_for(timeout=PATIENCE_S * 1000)
    page.locator(".laid").first.wait_for(timeout=PATIENCE_S * 1000, state="attached")


def unfold(page: Page) -> None:
    """Open every part of a job's page, as a person does."""
    for folded in page.locator(".fold:not([open]) > summary").all()[::-1]:
        folded.click()


def money_in(text: str) -> list[Decimal]:
    """The sums of money that a text tells."""
    return [Decimal(found.replace(",", "")) for found in re.findall(r"[£$€]\s?([\d,]+\.\d\d)", text)]


def bring_in(page: Page, name: str, *, folded: bool = False) -> str:
    """Bring an example's job file in as a person does, and open all of its page; give the job's address."""
    page.goto("/jobs")
    page.get_by_text("Bring in a job file").click()
    page.locator("#file").set_input_files(EXAMPLES / f"{name}.toml")
    page.get_by_role("button", name="Bring it in").click()
    page.wait_for_url(re.compile(r"/jobs/[0-9a-f]{6,}"))
    if not folded:
        unfold(page)
    return urlsplit(page.url).path


def text_of(page: Page, job: str) -> str:
    """The job file as it is kept."""
    answer = page.request.get(f"{job}/job.toml")
    assert answer.ok
    return answer.text()


def job_of(page: Page, job: str) -> Job:
    """The job as the command line would read it."""
    read = read_job(text_of(page, job).encode())
    assert read.value is not None, [f.text() for f in read.findings]
    return read.value


def settled(page: Page) -> None:
    """Wait until a page stands as it will: nothing asked for, every module shown or left plain."""
    page.wait_for_load_state("load")
    page.wait_for_function(
        """() => !document.querySelector('.htmx-request, .htmx-settling, .waits')
            && [...document.querySelectorAll('[data-module]')].every(m => m.dataset.state)
            && document.fonts.status === 'loaded'"""
    )
