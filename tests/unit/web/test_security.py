"""Nothing gets in from another page or another name, and nothing gets out."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from squab.keep import Keep
from squab.web import create_app
from squab.web.security import MOST_FORM_BYTES, TOKEN_COOKIE


def test_another_name_for_this_machine_is_refused(client: TestClient) -> None:
    """A name that was made to lead here sees nothing of ours."""
    answer = client.get("/jobs", headers={"host": "workroom.example:8024"})
    assert answer.status_code == 421
    assert "Not this workroom" in answer.text


@pytest.mark.parametrize("host", ["127.0.0.1:8024", "localhost:9", "[::1]:8024", "LOCALHOST"])
def test_the_loopback_is_let_in(client: TestClient, host: str) -> None:
    """By any of its names, on any port."""
    assert client.get("/jobs", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [{"origin": "http://elsewhere.example"}, {"origin": "null"}, {"sec-fetch-site": "cross-site"}, {"origin": "http://127.0.0.1:9"}],
)  # fmt: skip
def test_another_page_changes_nothing(client: TestClient, keep: Keep, headers: dict[str, str]) -> None:
    """Even with our token, which it cannot know."""
    answer = client.post("/telephone/keep", data={"width": "600"}, headers=headers)
    assert answer.status_code == 403
    assert keep.is_empty()


def test_what_changes_anything_carries_the_token(client: TestClient, keep: Keep) -> None:
    """In its header or among its fields; neither means no."""
    del client.headers["x-squab-token"]
    assert client.post("/telephone/keep", data={"width": "600"}).status_code == 403
    assert client.post("/telephone/keep", data={"width": "600", "token": "guessed"}).status_code == 403
    assert keep.is_empty()
    given = client.cookies[TOKEN_COOKIE]
    assert client.post("/telephone/keep", data={"width": "600", "token": given}).status_code == 303
    assert not keep.is_empty()


def test_a_first_visit_is_given_a_token(keep: Keep) -> None:
    """Kept from scripts and from other sites, and the page's forms carry it."""
    with TestClient(create_app(keep), base_url="http://127.0.0.1") as fresh:
        answer = fresh.get("/telephone")
    cookie = answer.headers["set-cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie
    given = re.search(f"{TOKEN_COOKIE}=([^;]+)", cookie)
    assert given
    assert f'value="{given.group(1)}"' in answer.text


@pytest.mark.parametrize("path", ["/jobs", "/telephone", "/nothing-here", "/static/workroom.css", "/fonts/regular.ttf"])
def test_every_answer_carries_its_policy(client: TestClient, path: str) -> None:
    """Nothing that stands in a page runs or styles it; no other page may show it."""
    headers = client.get(path).headers
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe-inline" not in policy
    assert "frame-ancestors 'none'" in policy
    assert headers["x-content-type-options"] == "nosniff"


def test_no_page_holds_a_style_or_a_script_of_its_own(client: TestClient) -> None:
    """The policy would not let it work."""
    for path in ("/jobs", "/telephone"):
        text = client.get(path).text
        assert not re.search(r"<style|\sstyle=|\son[a-z]+=|javascript:", text)
        assert all("src=" in tag for tag in re.findall(r"<script[^>]*>", text))


def test_too_large_a_form_is_refused_unread(client: TestClient) -> None:
    """By what it says of itself, and by what it is."""
    answer = client.post("/telephone/keep", content=b"x" * (MOST_FORM_BYTES + 1))
    assert answer.status_code == 413
    assert "9 MB" in answer.text

    def chunks() -> Iterator[bytes]:
        for _ in range(12):
            yield b"w" * 1_000_000

    form = {"content-type": "application/x-www-form-urlencoded"}
    del client.headers["x-squab-token"]
    assert client.post("/telephone/keep", content=chunks(), headers=form).status_code == 413


def test_a_page_that_is_not_there_is_told_in_our_words(client: TestClient) -> None:
    """With a way on."""
    answer = client.get("/nothing/<script>alert(1)</script>")
    assert answer.status_code == 404
    assert "There is no such page" in answer.text
    assert "<script>alert" not in answer.text
    assert client.get("/jobs/none").status_code == 404
    assert client.delete("/jobs").status_code == 405
