"""The cutting table: a frozen plan, ticks that may come twice or late, planning again, photographs."""

from __future__ import annotations

import re
from collections.abc import Sequence
from concurrent.futures import Future
from dataclasses import replace
from typing import Any

import pytest
from fastapi.testclient import TestClient

from squab.cloth import Flaw
from squab.desk import edited
from squab.draw.sheets_marking import marked_parts
from squab.findings import Finding, Outcome, Severity
from squab.keep import JobRecord, Keep
from squab.lay.verify import verify
from squab.remnants import shares_of
from squab.web import create_app
from squab.web import cutting as c
from squab.web.bench import plan_again
from squab.web.searching import Searches
from squab.web.works import reading_of
from tests.unit.web.bench_jobs import checked_in, laid, ordered
from tests.unit.web.conftest import EXAMPLES

PNG = b"\x89PNG\r\n\x1a\n" + b"\0" * 40


def begun(client: TestClient, keep: Keep, name: str = "armchair") -> JobRecord:
    """A job whose cutting has begun."""
    job = laid(keep, name)
    answer = client.post(f"/jobs/{job.id}/table/begin")
    assert answer.status_code == 303, answer.text
    return job


def plan_of(keep: Keep, job: JobRecord) -> c.Cutting:
    """The plan that is being cut."""
    cutting = c.unpacked(keep.cutting(job.id))
    assert cutting is not None
    return cutting


def tick(client: TestClient, job: JobRecord, key: str, to: str = "done") -> int:
    """Tick a piece by the form of its page."""
    return client.post(f"/jobs/{job.id}/table/tick", data={"piece": key, "to": to}).status_code


def sent(client: TestClient, job: JobRecord, *ticks: tuple[str, str, float]) -> dict[str, object]:
    """Send what a telephone kept."""
    body = {"ticks": [{"piece": p, "to": to, "age_s": age} for p, to, age in ticks]}
    answer = client.post(f"/jobs/{job.id}/table/ticks", json=body)
    assert answer.status_code == 200, answer.text
    return dict(answer.json())


@pytest.fixture(autouse=True)
def _planned_here(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is planned again is planned in this process, before the answer."""
    monkeypatch.setattr(Searches, "planned_again", _planned_again)


def _planned_again(_: Searches, *asked: Any) -> Future[bytes | None]:
    future: Future[bytes | None] = Future()
    future.set_result(plan_again(*asked))
    return future


# --- before the first cut ---


def test_nothing_is_cut_before_the_cloth_is_checked_in(client: TestClient, keep: Keep) -> None:
    """The page says what is wanting, and beginning is refused."""
    job = ordered(keep)
    page = client.get(f"/jobs/{job.id}/table").text
    assert "has not been checked in" in page
    assert "Begin cutting" not in page
    assert client.post(f"/jobs/{job.id}/table/begin").status_code == 409
    assert keep.cutting(job.id) is None
    assert tick(client, job, "plain#0") == 409


def test_nothing_is_cut_of_a_job_that_is_not_laid(client: TestClient, keep: Keep) -> None:
    """Its lay is made first; the page waits for it."""
    job = checked_in(keep)
    assert "are being laid" in client.get(f"/jobs/{job.id}/table").text
    assert client.post(f"/jobs/{job.id}/table/begin").status_code == 409


def test_nothing_is_cut_of_a_cloth_that_is_too_short(client: TestClient, keep: Keep) -> None:
    """With both lengths, and the ways out."""
    job = laid(keep, length="1 yd")
    page = client.get(f"/jobs/{job.id}/table").text
    assert "the cloth is too short" in page
    assert "there are 1" in page
    assert client.post(f"/jobs/{job.id}/table/begin").status_code == 409


def test_before_the_first_cut_stand_rules_and_cautions(client: TestClient, keep: Keep) -> None:
    """How the figures are read, and what can hurt."""
    job = laid(keep)
    page = client.get(f"/jobs/{job.id}/table").text
    for words in ("Square the cut end first", "Blades", "hot knife", "Begin cutting", "8 pieces to cut"):
        assert words in page


# --- the plan is the plan ---


def test_the_table_shows_the_marking_sheets_own_figures(client: TestClient, keep: Keep) -> None:
    """In its order, every figure of every piece."""
    job = begun(client, keep)
    from squab.web.kept_work import cut_digest, restored, unpacked

    read = reading_of(job.text).job
    assert read is not None
    kept = unpacked(keep.lay_of(cut_digest(read)) or b"")
    assert kept is not None
    worked = restored(read, kept)
    assert worked is not None
    marked = marked_parts(worked, "plain")
    pieces = plan_of(keep, job).pieces
    assert [(p.number, p.across, p.along, p.diagonal, p.match) for p in pieces] == [
        (m.part.number, tuple(m.figures["u"]), tuple(m.figures["v"]), m.figures["diagonal"], m.figures["match"])
        for m in marked
    ]
    for at, piece in enumerate(pieces):
        page = _plain(client.get(f"/jobs/{job.id}/table", params={"at": at}).text)
        for a, b in (piece.across, piece.along):
            assert f"{a} – {b}".replace("\u202f", " ") in page


def _plain(page: str) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", "", page)).replace("\u202f", " ")


def test_the_plan_stays_whatever_is_changed_elsewhere(client: TestClient, keep: Keep) -> None:
    """The page says that the job says something else by now."""
    job = begun(client, keep)
    before = plan_of(keep, job)
    tick(client, job, before.pieces[0].key)
    keep.save_job(job.id, edited(job.text, "cushion[0].width", "20"), job.version)
    client.post(f"/jobs/{job.id}/table/begin")
    assert plan_of(keep, job) == before
    page = client.get(f"/jobs/{job.id}/table").text
    assert "was changed since cutting began" in page
    assert client.post(f"/jobs/{job.id}/table/anew").status_code == 409
    assert plan_of(keep, job) == before


def test_a_change_of_price_is_no_change_of_the_plan(client: TestClient, keep: Keep) -> None:
    """Nothing is said of it at the table."""
    job = begun(client, keep)
    keep.save_job(job.id, edited(job.text, "prices.hour", "44"), job.version)
    assert "was changed since" not in client.get(f"/jobs/{job.id}/table").text


def test_while_nothing_is_cut_the_new_plan_may_be_taken(client: TestClient, keep: Keep) -> None:
    """The old one is put away."""
    job = begun(client, keep)
    assert client.post(f"/jobs/{job.id}/table/anew").status_code == 303
    assert "Begin cutting" in client.get(f"/jobs/{job.id}/table").text


def test_a_plan_survives_being_kept(client: TestClient, keep: Keep) -> None:
    """Byte for byte."""
    cutting = plan_of(keep, begun(client, keep))
    assert c.unpacked(c.packed(cutting)) == cutting
    assert c.unpacked(b"") is None


def test_a_plan_that_cannot_be_read_is_told_and_never_replaced(client: TestClient, keep: Keep) -> None:
    """The board and the other tables go on."""
    job = begun(client, keep)
    keep.save_cutting(job.id, b"\x81\xa1a\x01")
    for address in (f"/jobs/{job.id}/table", f"/jobs/{job.id}/table/pieces"):
        answer = client.get(address)
        assert answer.status_code == 422
        assert "kept by another Squab" in answer.text
    assert client.post(f"/jobs/{job.id}/table/begin").status_code == 422
    assert keep.cutting(job.id) == b"\x81\xa1a\x01"
    assert client.get("/board").status_code == client.get("/table").status_code == 200


# --- ticks ---


def test_the_jobs_state_follows_the_ticks(client: TestClient, keep: Keep) -> None:
    """All ticked: cut; one taken back: not cut."""
    job = begun(client, keep)
    pieces = plan_of(keep, job).pieces
    for piece in pieces[:-1]:
        assert tick(client, job, piece.key) == 303
    assert keep.job(job.id).state == "arrived"
    tick(client, job, pieces[-1].key)
    assert keep.job(job.id).state == "cut"
    assert "All is cut." in client.get(f"/jobs/{job.id}/table").text
    tick(client, job, pieces[2].key, "undone")
    assert keep.job(job.id).state == "arrived"


def test_the_table_opens_at_the_first_piece_that_is_not_cut(client: TestClient, keep: Keep) -> None:
    """And cloth left is told from what has been cut."""
    job = begun(client, keep)
    cutting = plan_of(keep, job)
    assert f"{cutting.cloths[0].whole} left</b>" in client.get(f"/jobs/{job.id}/table").text.replace("</span>", "")
    tick(client, job, cutting.pieces[0].key)
    page = client.get(f"/jobs/{job.id}/table").text
    assert 'data-at="1"' in page
    assert c.left_now(cutting, keep.ticks(job.id), "plain") == cutting.pieces[0].left


def test_ticks_sent_twice_are_ticked_once(client: TestClient, keep: Keep) -> None:
    """As after an answer that was lost on its way."""
    job = begun(client, keep)
    key = plan_of(keep, job).pieces[0].key
    first = sent(client, job, (key, "done", 5.0))
    assert first == sent(client, job, (key, "done", 9.0))
    assert first["ticks"] == {key: "done"}


def test_a_late_tick_says_nothing_over_what_was_said_since(client: TestClient, keep: Keep) -> None:
    """A piece that was cut wrong after the tick stays wrong; a tick after that counts."""
    job = begun(client, keep)
    key = plan_of(keep, job).pieces[0].key
    keep.tick(job.id, key, "spoiled")
    assert sent(client, job, (key, "done", 3600.0))["ticks"] == {key: "spoiled"}
    assert sent(client, job, (key, "done", 0.0))["ticks"] == {key: "done"}
    assert sent(client, job, (key, "undone", 3600.0))["ticks"] == {key: "done"}


def test_ticks_of_pieces_that_are_not_there_are_named(client: TestClient, keep: Keep) -> None:
    """The others are taken all the same."""
    job = begun(client, keep)
    key = plan_of(keep, job).pieces[0].key
    answer = sent(client, job, ("plain#99", "done", 1.0), (key, "done", 1.0), ("plain#98", "undone", 1.0))
    assert answer["unknown"] == ["plain#99", "plain#98"]
    assert answer["ticks"] == {key: "done"}


@pytest.mark.parametrize(
    "body",
    [{}, {"ticks": [{"piece": "a", "to": "gone", "age_s": 1}]}, {"ticks": [{"piece": "a", "to": "done", "age_s": -1}]},
     {"ticks": "x"}, {"ticks": [{"piece": "a" * 300, "to": "done", "age_s": 1}]}],
)  # fmt: skip
def test_nonsense_from_a_telephone_is_refused(client: TestClient, keep: Keep, body: dict[str, object]) -> None:
    """And changes nothing."""
    job = begun(client, keep)
    assert client.post(f"/jobs/{job.id}/table/ticks", json=body).status_code == 422
    assert keep.ticks(job.id) == {}


def test_a_telephone_is_handed_the_whole_table(client: TestClient, keep: Keep) -> None:
    """Every piece as its own page shows it."""
    job = begun(client, keep)
    data = client.get(f"/jobs/{job.id}/table.json").json()
    assert [p["key"] for p in data["pieces"]] == [p.key for p in plan_of(keep, job).pieces]
    page = client.get(f"/jobs/{job.id}/table", params={"at": 3}).text
    assert data["pieces"][3]["html"].strip() in page


# --- planning again ---


def test_cut_wrong_lays_the_piece_once_more(client: TestClient, keep: Keep) -> None:
    """What is cut stays where it is, the new place is clear of the spoiled cloth, the lay is proved."""
    job = begun(client, keep)
    before = plan_of(keep, job)
    good, bad = before.pieces[1].key, before.pieces[0].key
    tick(client, job, good)
    answer = client.post(f"/jobs/{job.id}/table/wrong", data={"piece": bad})
    assert answer.status_code == 303, answer.text
    after = plan_of(keep, job)
    assert after.round == 2
    assert _piece(after, good).box_mm == _piece(before, good).box_mm
    assert _apart(_piece(after, bad).box_mm, _piece(before, bad).box_mm)
    assert keep.ticks(job.id)[bad].state == "spoiled"
    _proved(after)
    page = client.get(answer.headers["location"]).text
    assert 'role="status">cut wrong</p>' in page
    assert "Planned again" in page
    reach = max(_piece(before, bad).box_mm[3], _piece(after, good).box_mm[3])
    assert c.left_now(after, keep.ticks(job.id), "plain") == _piece(before, bad).left
    assert after.cloths[0].lost_mm == pytest.approx(reach)
    tick(client, job, bad)
    assert keep.ticks(job.id)[bad].state == "done"


def _piece(cutting: c.Cutting, key: str) -> c.CutPiece:
    at = cutting.place(key)
    assert at is not None
    return cutting.pieces[at]


def _apart(a: Sequence[float], b: Sequence[float]) -> bool:
    return a[2] <= b[0] + 1e-3 or b[2] <= a[0] + 1e-3 or a[3] <= b[1] + 1e-3 or b[3] <= a[1] + 1e-3


def _proved(cutting: c.Cutting) -> None:
    """No fault of the verifier in any of its lays."""
    shares = shares_of({cloth.id: cloth.lay for cloth in cutting.cloths})
    _, prepared = c._as_begun(cutting.text, tuple(sorted(cutting.panel_seams.items())), shares)
    assert prepared is not None
    for cloth in cutting.cloths:
        plan = c._plan(prepared, cloth)
        assert plan is not None
        assert verify(plan.problem, plan.lay) == ()


def test_a_flaw_is_kept_clear_of_and_noted(client: TestClient, keep: Keep) -> None:
    """By pointing at a part of the piece; the bolt in the job's text has it too."""
    job = begun(client, keep)
    before = plan_of(keep, job)
    piece = before.pieces[0]
    spot = c.ninths(piece)[1][1]
    answer = client.post(f"/jobs/{job.id}/table/flaw", data={"piece": piece.key, "part": "1,1"})
    assert answer.status_code == 303, answer.text
    after = plan_of(keep, job)
    for one in after.pieces:
        assert _apart(one.box_mm, (spot.u0_mm, spot.v0_mm, spot.u1_mm, spot.v1_mm))
    record = keep.job(job.id)
    read = reading_of(record.text).job
    assert read is not None
    bolt = read.cloth("plain").bolt
    assert bolt is not None
    assert bolt.flaws[0].u0_mm == pytest.approx(spot.u0_mm, abs=0.6)
    assert record.arrival[0].flaws is not None
    assert record.arrival[0].flaws[0].what == "found at the table"
    page = client.get(answer.headers["location"]).text
    assert "was changed since cutting began" not in page
    assert f"Planned again: {len(after.moved)} piece" in page
    assert piece.key in after.moved


def test_a_flaw_is_measured_by_the_tape(client: TestClient, keep: Keep) -> None:
    """In the job's unit; what cannot be read is told and stays in the field."""
    job = begun(client, keep)
    key = plan_of(keep, job).pieces[0].key
    typed = {"piece": key, "left": "2", "right": "3 3/", "from": "1", "to": "2"}
    wrong = client.post(f"/jobs/{job.id}/table/flaw", data=typed)
    assert wrong.status_code == 422
    assert 'value="3 3/"' in wrong.text
    assert "Its right" in wrong.text
    wrong = client.post(f"/jobs/{job.id}/table/flaw", data=typed | {"right": "1"})
    assert "its right lies beyond its left" in wrong.text
    wrong = client.post(f"/jobs/{job.id}/table/flaw", data=typed | {"right": "4", "from": "9 yd", "to": "10 yd"})
    assert "beyond the end of the cloth" in wrong.text
    assert plan_of(keep, job).round == 1
    assert client.post(f"/jobs/{job.id}/table/flaw", data=typed | {"right": "3 3/4"}).status_code == 303
    assert plan_of(keep, job).cloths[0].flaws[0] == Flaw(50.8, 25.4, 95.25, 50.8)


def test_a_piece_that_goes_beyond_the_end_of_the_cloth_says_so(client: TestClient, keep: Keep) -> None:
    """With how much is short, and the way out; nothing that is cut is moved."""
    job = laid(keep, length="48 in")
    assert client.post(f"/jobs/{job.id}/table/begin").status_code == 303
    before = plan_of(keep, job)
    assert not before.is_short
    good, bad = before.pieces[1].key, before.pieces[0].key
    tick(client, job, good)
    answer = client.post(f"/jobs/{job.id}/table/wrong", data={"piece": bad})
    after = plan_of(keep, job)
    assert after.is_short
    assert _piece(after, good).box_mm == _piece(before, good).box_mm
    page = client.get(answer.headers["location"]).text
    assert "the cloth is too short" in page
    beyond = next(i for i, p in enumerate(after.pieces) if p.beyond)
    page = client.get(f"/jobs/{job.id}/table", params={"at": beyond}).text
    assert "Cut it from another length of the same lot" in page
    # Cut from another length and ticked, its place beyond the cloth's end is no cloth that is left.
    tick(client, job, after.pieces[beyond].key)
    assert client.get(f"/jobs/{job.id}/table.json").json()["pieces"][beyond]["left"].endswith(" short")
    top = client.get(f"/jobs/{job.id}/table").text.partition('data-slot="left"')[2].partition("</p>")[0]
    assert " short" in top
    assert " left" not in top


def test_what_cannot_be_laid_at_all_leaves_the_plan_as_it_was(
    client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The piece is named as one without a place, its cloth as gone, and the reason is told."""
    job = begun(client, keep)
    cutting = plan_of(keep, job)
    bad = cutting.pieces[0]
    nowhere: Outcome[None] = Outcome(None, (Finding("LAY-013", Severity.STOP, "cloth", "no room", "another length"),))
    monkeypatch.setattr(c, "lay_again", lambda *a, **k: nowhere)
    client.post(f"/jobs/{job.id}/table/wrong", data={"piece": bad.key})
    after = plan_of(keep, job)
    assert (after.pieces, after.homeless, after.round) == (cutting.pieces, (bad.key,), 1)
    assert after.told == ("No room. Another length",)
    assert c.left_now(after, keep.ticks(job.id), "plain") == bad.left
    assert "has no place for it" in client.get(f"/jobs/{job.id}/table").text


def test_a_flaw_seen_on_the_back_lies_on_the_other_side_of_the_face() -> None:
    """Counted from the other edge."""
    assert c.on_face(Flaw(100, 5, 150, 9), 1370, back_up=True) == Flaw(1220, 5, 1270, 9)
    assert c.on_face(Flaw(100, 5, 150, 9), 1370, back_up=False) == Flaw(100, 5, 150, 9)


def test_a_plan_whose_pieces_are_made_otherwise_is_not_planned_again(client: TestClient, keep: Keep) -> None:
    """It is told, and what is ticked stays."""
    job = begun(client, keep)
    cutting = plan_of(keep, job)
    other = replace(cutting, text=(EXAMPLES / "chair-pads.toml").read_text())
    keep.save_cutting(job.id, c.packed(other))
    answer = client.post(f"/jobs/{job.id}/table/wrong", data={"piece": cutting.pieces[0].key})
    assert "was not planned again" in client.get(answer.headers["location"]).text
    assert keep.ticks(job.id)[cutting.pieces[0].key].state == "spoiled"
    assert plan_of(keep, job) == other


class Slow:
    """A process that plans when it is told to."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.waiting: list[tuple[Future[bytes | None], Sequence[Any]]] = []
        monkeypatch.setattr(Searches, "planned_again", lambda _, *asked: self._put(asked))

    def _put(self, asked: Sequence[Any]) -> Future[bytes | None]:
        future: Future[bytes | None] = Future()
        self.waiting.append((future, asked))
        return future

    def work(self) -> None:
        """Plan what waits longest."""
        future, asked = self.waiting.pop(0)
        future.set_result(plan_again(*asked))


def test_cut_wrong_is_answered_before_the_rest_is_planned(
    client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The table says so; what is cut in the meantime stays where it was cut; two things asked are both done."""
    slow = Slow(monkeypatch)
    job = begun(client, keep)
    before = plan_of(keep, job)
    marred, bad = before.pieces[0], before.pieces[1]
    client.post(f"/jobs/{job.id}/table/flaw", data={"piece": marred.key, "part": "1,1"})
    client.post(f"/jobs/{job.id}/table/wrong", data={"piece": bad.key})
    assert sent(client, job)["planning"] == 2
    assert "being planned again" in client.get(f"/jobs/{job.id}/table").text
    assert plan_of(keep, job) == before
    tick(client, job, marred.key)  # it was cut before anybody saw the new plan
    slow.work()
    assert plan_of(keep, job) == before, "a plan that moves what is cut is not taken, and made again"
    slow.work()
    slow.work()
    after = plan_of(keep, job)
    assert after.round == 3
    assert _piece(after, marred.key).box_mm == marred.box_mm
    assert _apart(_piece(after, bad.key).box_mm, bad.box_mm)
    assert sent(client, job) | {"ticks": {}} == {
        "round": 3, "planning": 0, "trouble": "", "state": "arrived", "unknown": [], "ticks": {},
    }  # fmt: skip
    _proved(after)


def test_what_was_asked_is_planned_after_the_workroom_was_closed(
    client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As soon as the table is opened again, and once."""
    Slow(monkeypatch)
    job = begun(client, keep)
    bad = plan_of(keep, job).pieces[0]
    client.post(f"/jobs/{job.id}/table/wrong", data={"piece": bad.key})
    monkeypatch.setattr(Searches, "planned_again", _planned_again)
    with TestClient(create_app(keep), base_url="http://127.0.0.1:8024") as anew:
        for _ in range(2):
            assert "Planned again" in anew.get(f"/jobs/{job.id}/table").text
            assert plan_of(keep, job).round == 2
    assert _apart(_piece(plan_of(keep, job), bad.key).box_mm, bad.box_mm)


def test_a_fault_while_planning_is_told_and_not_tried_for_ever(
    client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The table goes on with the plan there is."""
    tried: list[int] = []

    def broken(*_: Any) -> Future[bytes | None]:
        tried.append(1)
        future: Future[bytes | None] = Future()
        future.set_exception(MemoryError())
        return future

    monkeypatch.setattr(Searches, "planned_again", broken)
    job = begun(client, keep)
    client.post(f"/jobs/{job.id}/table/wrong", data={"piece": plan_of(keep, job).pieces[0].key})
    for _ in range(2):
        assert "this went wrong in the program" in client.get(f"/jobs/{job.id}/table").text
    assert tried == [1]


def test_several_cloths_are_cut_one_after_the_other(client: TestClient, keep: Keep) -> None:
    """A piece cut wrong of one leaves the other as it is."""
    job = begun(client, keep, "chair-pads")
    before = plan_of(keep, job)
    assert [x.id for x in before.cloths] == ["green", "ochre"]
    key = next(p.key for p in before.pieces if p.cloth_id == "ochre")
    client.post(f"/jobs/{job.id}/table/wrong", data={"piece": key})
    after = plan_of(keep, job)
    assert after.cloth("green") == before.cloth("green")
    assert [p for p in after.pieces if p.cloth_id == "green"] == [p for p in before.pieces if p.cloth_id == "green"]
    assert len(after.pieces) == len(before.pieces)


# --- photographs, the hand, the list ---


def test_a_photograph_goes_into_the_job(client: TestClient, keep: Keep) -> None:
    """And comes back as it was, as a picture and nothing else."""
    job = begun(client, keep)
    answer = client.post(
        f"/jobs/{job.id}/table/photos", data={"note": "the mark"}, files={"photo": ("a.png", PNG, "image/png")}
    )
    assert answer.status_code == 303
    (photo,) = keep.photos(job.id)
    back = client.get(f"/jobs/{job.id}/photos/{photo.id}")
    assert (back.content, back.headers["content-type"]) == (PNG, "image/png")
    assert back.headers["x-content-type-options"] == "nosniff"
    assert 'alt="the mark"' in client.get(f"/jobs/{job.id}/table/pieces").text
    other = ordered(keep)
    assert client.get(f"/jobs/{other.id}/photos/{photo.id}").status_code == 404


@pytest.mark.parametrize("data", [b"<svg onload='alert(1)'/>", b"%PDF-1.7", b""])
def test_what_is_no_photograph_is_refused(client: TestClient, keep: Keep, data: bytes) -> None:
    """Whatever it calls itself."""
    job = begun(client, keep)
    answer = client.post(f"/jobs/{job.id}/table/photos", files={"photo": ("a.png", data, "image/png")})
    assert answer.status_code == 422
    assert keep.photos(job.id) == ()


def test_a_photograph_that_is_too_large_is_refused(client: TestClient, keep: Keep) -> None:
    """Before it is read whole."""
    job = begun(client, keep)
    data = PNG + b"\0" * 27_000_000
    answer = client.post(f"/jobs/{job.id}/table/photos", files={"photo": ("a.png", data, "image/png")})
    assert answer.status_code == 413
    assert keep.photos(job.id) == ()


def test_the_presses_go_to_the_hand_that_holds(client: TestClient, keep: Keep) -> None:
    """And stay there."""
    job = begun(client, keep)
    assert "hand-right" in client.get(f"/jobs/{job.id}/table").text
    answer = client.post(f"/jobs/{job.id}/table/hand", data={"hand": "left", "at": "2"})
    assert answer.headers["location"].endswith("?at=2")
    assert "hand-left" in client.get(f"/jobs/{job.id}/table").text


def test_the_list_shows_every_piece_with_its_tick(client: TestClient, keep: Keep) -> None:
    """In the sorts of cutting order."""
    job = begun(client, keep)
    pieces = plan_of(keep, job).pieces
    tick(client, job, pieces[0].key)
    page = client.get(f"/jobs/{job.id}/table/pieces").text
    assert page.count('class="piece-line') == len(pieces)
    assert page.count("✓") == 1
    sorts = [page.index(f"<h2>{s}") for s in dict.fromkeys(p.sort for p in pieces)]
    assert sorts == sorted(sorts)


def test_the_tables_that_can_be_cut_are_listed(client: TestClient, keep: Keep) -> None:
    """Those begun, those ready; with none, what could be checked in."""
    waiting = ordered(keep)
    assert f"/jobs/{waiting.id}/arrival" in client.get("/table").text
    job = begun(client, keep)
    ready = laid(keep)
    page = client.get("/table").text
    assert "0 of 8 cut" in page
    assert page.index(f"/jobs/{job.id}/table") < page.index(f"/jobs/{ready.id}/table")
