"""Cloths, house numbers, photographs, kept lays and pictures; many jobs and very large ones."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
import sqlalchemy as sa

from squab.keep import Keep, Left, NotInKeep, Stale, Unkeepable, examples, open_keep, store, text_digest
from tests.unit.keep.keeping import TEXT, Clock


def test_a_cloth_is_kept_changed_and_taken_off_the_shelf(keep: Keep) -> None:
    """Two who change the same cloth: the second is told of the first."""
    cloth = keep.add_cloth("Wherry <stripe>", 'id = "ticking"\n')
    assert (cloth.version, cloth.name) == (1, "Wherry <stripe>")
    changed = keep.save_cloth(cloth.id, "Wherry", 'id = "ticking"\nusable_width = "53 1/"\n', 1)
    assert keep.cloth(cloth.id) == changed
    with pytest.raises(Stale) as caught:
        keep.save_cloth(cloth.id, "Other", "", 1)
    assert caught.value.newer == changed
    assert [c.id for c in keep.cloths("WHERRY 53")] == [cloth.id]
    assert keep.cloths("nowhere") == ()
    keep.set_cloth_hidden(cloth.id, True)
    assert keep.cloths() == ()
    assert [c.id for c in keep.cloths(hidden=True)] == [cloth.id]
    with pytest.raises(NotInKeep, match="no cloth 'gone'"):
        keep.cloth("gone")


def test_cloths_stand_by_name(keep: Keep) -> None:
    for name in ("beta", "Alpha", "gamma"):
        keep.add_cloth(name, "")
    assert [c.name for c in keep.cloths()] == ["Alpha", "beta", "gamma"]


def test_house_numbers_are_kept_and_two_tabs_told_apart(keep: Keep) -> None:
    assert (keep.house().text, keep.house().version) == ("", 0)
    assert keep.save_house("[prices]\nhour = 36\n", 0).version == 1
    with pytest.raises(Stale):
        keep.save_house("[prices]\nhour = 1\n", 0)
    assert keep.save_house("[prices]\nhour = 37\n", 1).text == "[prices]\nhour = 37\n"
    assert keep.cloths() == ()


def test_house_numbers_and_cloths_have_a_history(keep: Keep, clock: Clock) -> None:
    """A price typed wrong can be gone back from; quick edits are folded; taking out of sight is no version."""
    keep.save_house("[prices]\nhour = 36\n", 0)
    for n in range(1, 4):
        clock.on(minutes=5)
        keep.save_house(f"[prices]\nhour = {36 + n}\n", n)
        keep.save_house(f"[prices]\nhour = {36 + n}\n", n + 1)
    assert [(v.version, v.why) for v in keep.house_history()] == [
        (4, "saved"),
        (3, "saved"),
        (2, "saved"),
        (1, "begun"),
    ]
    assert keep.house_at(2) == "[prices]\nhour = 37\n"
    keep.save_house(keep.house_at(1), 4, why="restored from 1")
    assert keep.house().text == "[prices]\nhour = 36\n"
    with pytest.raises(NotInKeep, match="no version 9"):
        keep.house_at(9)
    cloth = keep.add_cloth("Wherry", "a = 1\n")
    clock.on(minutes=5)
    for n in range(1, 5):
        cloth = keep.save_cloth(cloth.id, "Wherry", "a = 1\n" + "#" * n, cloth.version)
    cloth = keep.set_cloth_hidden(cloth.id, True)
    assert [v.version for v in keep.cloth_history(cloth.id)] == [5, 1]
    assert keep.cloth_at(cloth.id, 1) == "a = 1\n"
    assert keep.save_cloth(cloth.id, "Wherry, wide", cloth.text, 5).version == 6


def test_the_plan_that_is_being_cut_stays(keep: Keep) -> None:
    """Edits and further searches leave it as it is."""
    job = keep.add_job(TEXT)
    assert keep.cutting(job.id) is None
    keep.save_cutting(job.id, b"plan")
    keep.save_job(job.id, TEXT + "# edited\n", 1)
    keep.save_lay(job.digest, b"another")
    assert keep.cutting(job.id) == b"plan"
    with pytest.raises(NotInKeep):
        keep.save_cutting("gone", b"plan")


def test_photographs(keep: Keep) -> None:
    """Three kinds of picture are kept; what a browser might run as a page is none."""
    job = keep.add_job(TEXT)
    heads = {"image/jpeg": b"\xff\xd8\xff\xe0", "image/png": b"\x89PNG\r\n\x1a\n", "image/webp": b"RIFF0000WEBPVP8 "}
    for media_type, head in heads.items():
        photo = keep.add_photo(job.id, head + b"x" * 99, name="front.jpg", note="at the window")
        there, data = keep.photo(photo.id)
        assert (there, data) == (photo, head + b"x" * 99)
        assert (there.media_type, there.size) == (media_type, len(data))
    assert len(keep.photos(job.id)) == 3
    for junk in (b"", b"<svg xmlns='http://www.w3.org/2000/svg'/>", b"GIF89a", b"%PDF-1.7"):
        with pytest.raises(Unkeepable, match="no photograph"):
            keep.add_photo(job.id, junk)
    with pytest.raises(Unkeepable, match="has 26 MB; at most 25 MB"):
        keep.add_photo(job.id, b"\xff\xd8\xff" + b"0" * 26_000_000)
    with pytest.raises(NotInKeep):
        keep.add_photo("gone", heads["image/png"])
    with pytest.raises(NotInKeep):
        keep.photo("gone")


def test_a_lay_and_a_picture_are_found_again_by_digest(keep: Keep) -> None:
    digest = text_digest(TEXT)
    assert keep.lay_of(digest) is None
    keep.save_lay(digest, b"first")
    keep.save_lay(digest, b"longer search")
    keep.save_picture(digest, b"<svg/>")
    assert keep.lay_of(digest) == b"longer search"
    assert keep.pictures([digest, "other"]) == {digest: b"<svg/>"}
    assert keep.pictures([]) == {}


def test_very_old_lays_are_forgotten_when_there_are_very_many(
    tmp_path: Path, clock: Clock, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only the oldest go, only of what can be worked out again."""
    monkeypatch.setattr(store, "_MOST_MADE", {"lay": 3, "small": 3})
    keep = open_keep(tmp_path, clock=clock)
    for n in range(5):
        clock.on(minutes=1)
        keep.save_lay(f"{n}", b"lay")
    keep.save_picture("0", b"picture")
    keep.close()
    again = open_keep(tmp_path, clock=clock)
    assert [n for n in range(5) if again.lay_of(f"{n}")] == [2, 3, 4]
    assert again.pictures(["0"]) == {"0": b"picture"}
    again.close()


def test_three_hundred_jobs_are_listed_fast_and_without_their_texts(keep: Keep, clock: Clock) -> None:
    """The list reads one table and no text."""
    texts = [e.text for e in examples()]
    for n in range(300):
        clock.on(minutes=1)
        keep.add_job(texts[n % len(texts)].replace("Nether Wickle", f"Nether Wickle {n}"))
    asked: list[str] = []

    @sa.event.listens_for(keep._engine, "before_cursor_execute")
    def hear(conn: object, cursor: object, statement: str, *rest: object) -> None:
        asked.append(statement)

    keep.jobs()
    began = time.process_time()
    lines = keep.jobs("", "promised")
    took = time.process_time() - began
    assert len(lines) == 300
    assert len(keep.jobs("bay reading")) == 50
    assert took < 0.3
    assert not any("versions" in statement for statement in asked)


def test_a_job_of_ten_thousand_cushions_is_kept_in_bounded_time(keep: Keep) -> None:
    """Kept, changed, listed and read back; its history takes little room."""
    head, one = examples()[1].text.split("[[cushion]]")[:2]
    text = head + "".join(f"[[cushion]]{one}" for _ in range(10_000))
    began = time.process_time()
    job = keep.add_job(text)
    job = keep.save_job(job.id, text + "#", job.version)
    took = time.process_time() - began
    assert job.cushions == 10_000
    assert took < 60
    began = time.process_time()
    keep.jobs()
    assert time.process_time() - began < 0.1
    with keep.reading() as connection:
        stored = connection.execute(sa.text("SELECT max(length(text)) FROM versions")).scalar_one()
    assert stored < len(text) / 10


def test_a_remnant_is_found_changed_and_used_up(keep: Keep) -> None:
    """Two that change it at once are told; what is used up stays kept."""
    left = Left(name="Wherry stripe", cloth='[[cloth]]\nid = "w"\n', across="1370 mm", along="840 mm", lot="7")
    made = keep.add_remnant(left)
    assert keep.remnants("wherry 7") == (made,)
    assert keep.remnants("wherry green") == ()
    moved = keep.change_remnant(made.id, 1, place="drawer 3")
    assert (moved.place, moved.version) == ("drawer 3", 2)
    with pytest.raises(Unkeepable, match="changed elsewhere"):
        keep.change_remnant(made.id, 1, place="drawer 4")
    keep.change_remnant(made.id, 2, used=True)
    assert keep.remnants() == ()
    assert keep.remnants("drawer", used=True)[0].id == made.id
    with pytest.raises(NotInKeep):
        keep.remnant("none")


def test_telephones_are_let_in_and_shut_out(keep: Keep) -> None:
    """What they carry is kept as a digest only."""
    made = keep.let_in("Wren's telephone", "d" * 64)
    assert keep.telephones() == (made,)
    keep.shut_out(made.id)
    assert keep.telephones() == ()
