"""Telephones from the network: none without a code, a code good once and for a while, no name but the one address."""

from __future__ import annotations

import re
import socket
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient

from squab.keep import Keep
from squab.web import create_app
from squab.web import door as d
from squab.web.security import TOKEN_COOKIE
from squab.web.serving import _free_sockets
from tests.unit.web.conftest import TOKEN

HERE = "http://192.168.7.1:8024"
JSON = {"x-squab-program": "a test"}


class Clock:
    """Seconds that one sets."""

    def __init__(self) -> None:
        self.s = 0.0

    def __call__(self) -> float:
        """The time."""
        return self.s


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def door(keep: Keep, clock: Clock) -> d.Door:
    return d.Door(keep, "192.168.7.1:8024", clock=clock)


@pytest.fixture
def telephone(keep: Keep, door: d.Door) -> Iterator[TestClient]:
    """A telephone in the network, with a page of ours open."""
    app = create_app(keep, door=door)
    with TestClient(app, base_url=HERE, follow_redirects=False, client=("192.168.7.9", 50000)) as made:
        made.cookies.set(TOKEN_COOKIE, TOKEN)
        made.headers["x-squab-token"] = TOKEN
        yield made


@pytest.fixture
def workroom(telephone: TestClient) -> TestClient:
    """The same workroom on its own machine."""
    made = TestClient(
        telephone.app, base_url="http://127.0.0.1:8024", follow_redirects=False, client=("127.0.0.1", 50001)
    )
    made.cookies.set(TOKEN_COOKIE, TOKEN)
    made.headers["x-squab-token"] = TOKEN
    return made


def come_in(telephone: TestClient, code: str) -> int:
    """Give a code as the page does."""
    return telephone.post("/come-in", data={"code": code, "name": "Wren's"}).status_code


@pytest.mark.parametrize("path", ["/", "/jobs", "/table", "/keep/database", "/keep/archive.zip", "/nowhere", "/house"])
def test_without_a_code_one_is_shown_where_to_give_it(telephone: TestClient, path: str) -> None:
    """And nothing else of any page."""
    answer = telephone.get(path)
    assert (answer.status_code, answer.headers["location"]) == (303, "/come-in")
    assert telephone.get("/come-in").status_code == 200
    assert telephone.get("/static/workroom.css").status_code == 200
    assert "default-src 'none'" in answer.headers["content-security-policy"]


def test_without_a_code_nothing_is_changed_and_no_program_served(telephone: TestClient, keep: Keep) -> None:
    """Whatever else is carried."""
    assert telephone.post("/telephone/keep", data={"width": "600"}).status_code == 401
    assert telephone.get("/api/v1/jobs", headers=JSON).status_code == 401
    telephone.cookies.set(d.COOKIE, "guessed")
    assert telephone.get("/jobs").status_code == 303
    assert telephone.get("/static/../jobs").status_code == 303
    assert keep.is_empty()


def test_the_workrooms_own_machine_is_asked_for_nothing(workroom: TestClient) -> None:
    """As ever."""
    assert workroom.get("/jobs").status_code == 200
    assert "Show a code" in workroom.get("/keep/telephones").text


def test_a_telephone_comes_in_by_the_code_and_is_shut_out_again(
    telephone: TestClient, workroom: TestClient, keep: Keep
) -> None:
    """The code is good once; what the telephone carries is kept as a digest, and outlives the workroom's closing."""
    page = workroom.post("/keep/telephones").text
    shown = re.search(r">(\d{4} \d{4})<", page)
    assert shown
    assert "http://192.168.7.1:8024/" in page
    answer = telephone.post("/come-in", data={"code": shown[1], "name": "Wren's"})
    assert answer.headers["location"] == "/table"
    cookie = next(c for c in answer.headers.get_list("set-cookie") if c.startswith(d.COOKIE))
    assert "HttpOnly" in cookie
    assert "samesite=strict" in cookie.lower()
    assert telephone.get("/jobs").status_code == 200
    assert "stays on the workroom's own machine" in telephone.get("/jobs").text
    assert "stays on this machine" in workroom.get("/jobs").text
    (known,) = keep.telephones()
    carried = telephone.cookies[d.COOKIE]
    assert carried not in known.digest
    assert d.Door(keep, "192.168.7.1:8024").is_let_in(carried)
    other = TestClient(telephone.app, base_url=HERE, follow_redirects=False, client=("192.168.7.8", 1))
    other.cookies.set(TOKEN_COOKIE, TOKEN)
    other.headers["x-squab-token"] = TOKEN
    assert come_in(other, shown[1]) == 403

    assert telephone.get("/keep/telephones").status_code == 403, "who may come in is settled at the workroom"
    assert telephone.post("/keep/telephones").status_code == 403
    assert "Wren&#39;s" in workroom.get("/keep/telephones").text
    assert workroom.post(f"/keep/telephones/{known.id}/out").status_code == 303
    assert telephone.get("/jobs").status_code == 303


def test_a_wrong_code_lets_nobody_in_and_five_end_the_right_one(telephone: TestClient, door: d.Door) -> None:
    """So that none is found by trying."""
    code = door.new_code()
    for _ in range(d.MOST_TRIES):
        assert come_in(telephone, "0" * 8 if code[0] != "0" else "1" * 8) == 403
    answer = telephone.post("/come-in", data={"code": code})
    assert answer.status_code == 403
    assert "no code of the moment" in answer.text
    assert come_in(telephone, door.new_code()) == 303


def test_a_code_gets_old(telephone: TestClient, door: d.Door, clock: Clock) -> None:
    """And before there is one, none is right: not even none."""
    assert come_in(telephone, "") == 403
    code = door.new_code()
    clock.s = d.CODE_LIVES_S + 1
    assert come_in(telephone, code) == 403


@pytest.mark.parametrize("host", ["127.0.0.1:8024", "localhost:8024", "workroom.example:8024", "192.168.7.1:80", ""])
def test_from_the_network_only_its_one_address_is_ours(telephone: TestClient, door: d.Door, host: str) -> None:
    """A name of another site that was made to lead here is refused, code or not."""
    assert come_in(telephone, door.new_code()) == 303
    assert telephone.get("/jobs").status_code == 200
    assert telephone.get("/jobs", headers={"host": host}).status_code == 421
    assert telephone.get("/come-in", headers={"host": host}).status_code == 421


def test_from_the_network_other_pages_change_nothing(telephone: TestClient, door: d.Door, keep: Keep) -> None:
    """As on the machine itself."""
    assert come_in(telephone, door.new_code()) == 303
    for origin in ("http://elsewhere.example", "http://127.0.0.1:8024"):
        answer = telephone.post("/telephone/keep", data={"width": "600"}, headers={"origin": origin})
        assert answer.status_code == 403
    del telephone.headers["x-squab-token"]
    assert telephone.post("/telephone/keep", data={"width": "600"}).status_code == 403
    assert keep.is_empty()


def test_where_it_was_not_asked_for_there_is_no_door(client: TestClient) -> None:
    """The page says how to have one."""
    assert client.get("/come-in").status_code == 409
    assert "squab serve --on-network" in client.get("/keep/telephones").text
    assert client.post("/keep/telephones").status_code == 409


@pytest.mark.parametrize(
    ("address", "said"),
    [("127.0.0.1", "not in a network"), ("0.0.0.0", "not in a network"), ("8.8.8.8", "from everywhere"),
     ("workroom", "no address"), ("::1", "no address")],
)  # fmt: skip
def test_only_an_address_of_ones_own_network_is_taken(address: str, said: str) -> None:
    """And the message says what to do."""
    with pytest.raises(d.NetworkError, match=said):
        d.network_address(address)
    assert d.network_address("192.168.1.20") == "192.168.1.20"


def test_an_address_of_another_machine_is_told() -> None:
    """Nothing is left listening."""
    with pytest.raises(d.NetworkError, match="not an address of this machine"):
        _free_sockets(38310, "10.255.255.254")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 38310))
