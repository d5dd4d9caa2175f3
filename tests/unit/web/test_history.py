"""The history of a job: what changed when, and the way back."""

from __future__ import annotations

import re

import pytest
from fastapi.testclient import TestClient

from squab.desk import opened
from squab.keep import JobRecord, Keep
from squab.web import history_view
from squab.web.fields import Form
from tests.unit.web.conftest import EXAMPLES

BAY_CLOTH = '[[cloth]]\nid = "linen"\nusable_width = 1370\n'


def changed(keep: Keep) -> JobRecord:
    """A job with three versions."""
    job = keep.add_job((EXAMPLES / "bay-window.toml").read_text())
    text = job.text.replace("depth = 450", "depth = 455", 1)
    job = keep.save_job(job.id, text, job.version, why="sent by a program")
    text = text.replace('"sage 24"', '"moss 24"').replace(
        'hidden = ["back", "left", "right"]      #', 'hidden = ["back"]   #'
    )
    return keep.save_job(job.id, text, job.version, why="sent by a program")


def test_each_version_tells_what_it_changed_in_the_makers_words(client: TestClient, keep: Keep) -> None:
    """The cushion or cloth by its name, the stripe by its number, before and after; nothing twice."""
    page = client.get(f"/jobs/{changed(keep).id}/history").text
    items = [re.sub(r"[ \n]+", " ", re.sub(r"<[^>]+>", " ", x)) for x in re.findall(r"<li><span.*?</li>", page, re.S)]
    assert len(items) == 3
    assert any("Left wing" in x and "Depth" in x and "450\u00a0mm" in x and "455\u00a0mm" in x for x in items)
    assert any("Wherry stripe" in x and "Stripe 3" in x and "sage 24" in x and "moss 24" in x for x in items)
    assert any("Hidden" in x and "back, left, right" in x for x in items)


@pytest.mark.parametrize(("typed", "shown"), [("455", "455 mm"), ("", ""), ("18 in", "18 in"), ("3½", "3½ mm")])
def test_a_length_of_the_history_has_its_unit(typed: str, shown: str) -> None:
    """The one it was typed with, or the job's; what was nothing stays nothing."""
    history = history_view.TextHistory("", "", (), str, Form(opened((EXAMPLES / "bay-window.toml").read_text()), "uk"))
    assert history._named("cushion[0].depth", typed, "1 m").before == shown


def test_going_back_makes_a_new_version(client: TestClient, keep: Keep) -> None:
    """Nothing in between is lost."""
    job = changed(keep)
    assert client.post(f"/jobs/{job.id}/history", data={"version": "1"}).status_code == 303
    now = keep.job(job.id)
    assert now.text == (EXAMPLES / "bay-window.toml").read_text()
    assert [v.version for v in keep.history(job.id)] == [4, 3, 2, 1]
    assert "So it began" in client.get(f"/jobs/{job.id}/history").text
    assert client.get(f"/jobs/{job.id}/history").text.count("So it began") == 1
    assert "restored from 1" in client.get(f"/jobs/{job.id}/history").text


def test_a_version_can_be_seen_and_taken(client: TestClient, keep: Keep) -> None:
    """With what is different now."""
    job = changed(keep)
    page = client.get(f"/jobs/{job.id}/history/1").text
    assert "What is different now" in page
    assert page.count("<li><span") == 3
    file = client.get(f"/jobs/{job.id}/history/1/job.toml")
    assert file.content == (EXAMPLES / "bay-window.toml").read_bytes()
    assert "attachment" in file.headers["content-disposition"]


def test_what_was_never_kept_is_told_so(client: TestClient, keep: Keep) -> None:
    """A version, a job."""
    job = changed(keep)
    assert client.get(f"/jobs/{job.id}/history/9").status_code == 404
    assert client.post(f"/jobs/{job.id}/history", data={"version": "x"}).status_code == 404
    assert client.get("/jobs/none/history").status_code == 404
    assert keep.job(job.id).version == 3


def test_a_text_that_is_no_toml_has_a_history_too(client: TestClient, keep: Keep) -> None:
    """Told as one that could not be compared by key."""
    job = changed(keep)
    keep.save_job(job.id, "[job\n<script>alert(1)</script>", job.version, why="the text was written")
    page = client.get(f"/jobs/{job.id}/history").text
    assert "nly its notes, order or spacing were changed" in page
    assert "<script>alert" not in client.get(f"/jobs/{job.id}/history/4").text


def test_a_very_large_job_is_not_compared_in_a_list(
    client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch
) -> None:
    """But on a page of its own. What is very large is less here, so that it is soon made."""
    monkeypatch.setattr(history_view, "MOST_LETTERS", history_view.MOST_LETTERS // 10)
    one = '[[cushion]]\nid = "c{0}"\nsize_is = "fill"\nwidth = 500\ndepth = 500\nthickness = 50\n'
    text = BAY_CLOTH + "".join(one.format(i) for i in range(1000))
    job = keep.add_job(text)
    for i in range(4):
        text = text.replace(
            f'id = "c{i}"\nsize_is = "fill"\nwidth = 500', f'id = "c{i}"\nsize_is = "fill"\nwidth = 600'
        )
        job = keep.save_job(job.id, text, job.version, why="sent by a program")
    page = client.get(f"/jobs/{job.id}/history").text
    assert "too large to be compared in a list" in page
    assert "500" in page
    assert ">600\u00a0mm</ins>" in page


def test_an_agreed_price_is_marked_at_its_version(client: TestClient, keep: Keep) -> None:
    """At that one only."""
    job = changed(keep)
    keep.agree(job.id, {"total": "500", "currency": "GBP"})
    page = client.get(f"/jobs/{job.id}/history").text
    assert page.count("price agreed") == 1
