"""A job that is full stays open: no press makes of it one that no page opens."""

from __future__ import annotations

from fastapi.testclient import TestClient

from squab.keep import Keep
from squab.web.works import MOST_KINDS


def test_a_full_job_takes_no_further_cushion(client: TestClient, keep: Keep) -> None:
    """It is told so before anything is kept, with a way out."""
    each = '[[cushion]]\nid = "s{}"\nwidth = 400\ndepth = 400\nthickness = 60\n'
    text = '[[cloth]]\nid = "c"\nusable_width = 1370\n' + "".join(each.format(i) for i in range(MOST_KINDS))
    job = keep.add_job(text)
    form = {"what": "cushion", "like": "0", "now": "1", "whole": "yes"}
    answer = client.post(f"/jobs/{job.id}/add", data=form, headers={"hx-request": "true"})
    assert answer.status_code == 422
    assert "holds no further cushion" in answer.text
    assert keep.job(job.id).text == text
    assert client.get(f"/jobs/{job.id}").status_code == 200
