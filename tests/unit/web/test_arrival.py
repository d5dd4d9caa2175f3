"""A cloth that came: noted as typed, written into the job so that the lay follows, and a hold until all is noted."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from squab.desk import with_bolt
from squab.files.jobfile import read_job
from squab.keep import JobRecord, Keep
from squab.web.arriving import one_repeat, split_over
from tests.unit.web.bench_jobs import checked_in, laid, ordered

PARTS = {"hx-request": "true"}


def noted(client: TestClient, job: JobRecord, cloth: str, name: str, typed: str, **more: str) -> str:
    """Note one thing as a field of the page does."""
    data = {"cloth": cloth, "name": name, "value": typed, **more}
    answer = client.post(f"/jobs/{job.id}/arrival/note", data=data, headers=PARTS)
    assert answer.status_code == 200, answer.text
    return answer.text


def test_a_plain_cloth_is_asked_for_no_repeat(client: TestClient, keep: Keep) -> None:
    """What it has not is noted as none by itself."""
    job = ordered(keep)
    page = client.get(f"/jobs/{job.id}/arrival").text
    assert "Repeat across" not in page
    assert "Not noted yet:</b> width, face, pile, flaws, lot, shade." in page
    noted(client, job, "plain", "width", "53 3/8")
    (arrival,) = keep.job(job.id).arrival
    assert (arrival.repeat_across, arrival.stripe_at) == ("none", "none")
    assert "repeat" not in arrival.missing


def test_a_length_is_kept_as_typed_and_the_job_follows(client: TestClient, keep: Keep) -> None:
    """In the notes and in the job's text alike, a fraction and all."""
    job = ordered(keep)
    noted(client, job, "plain", "width", "53 3/8")
    noted(client, job, "plain", "length", "2 yd")
    after = keep.job(job.id)
    assert after.arrival[0].width == "53 3/8"
    assert 'usable_width = "53 3/8"' in after.text
    read = read_job(after.text.encode()).value
    assert read is not None
    cloth = read.cloth("plain")
    assert cloth.usable_width_mm == pytest.approx(53.375 * 25.4)
    assert cloth.bolt is not None
    assert cloth.bolt.length_mm == pytest.approx(2 * 914.4)


def test_a_repeat_is_measured_over_several(client: TestClient, keep: Keep) -> None:
    """The tape's own figure is kept, one repeat goes into the job."""
    job = ordered(keep, "bay-window")
    assert "one repeat is 83\u00a0mm" in noted(client, job, "ticking", "repeat_across", "415", over="5")
    after = keep.job(job.id)
    assert after.arrival[0].repeat_across == "415 over 5"
    read = read_job(after.text.encode()).value
    assert read is not None
    bolt = read.cloth("ticking").bolt
    assert bolt is not None
    assert bolt.repeat_across_mm == pytest.approx(83.0)
    page = client.get(f"/jobs/{job.id}/arrival").text
    assert 'name="value" id="in-0-repeat_across" value="415"' in page
    assert 'name="over" id="over-0-repeat_across" value="5"' in page


@pytest.mark.parametrize(
    ("typed", "unit", "one"),
    [
        ("3205 over 5", "mm", "641 mm"), ("126 3/8 over 5", "in", "25.275 in"), ("84", "mm", "84"),
        ("3,2 m over 5", "mm", "640 mm"), ("320 over 0", "mm", None), ("32 3/ over 5", "in", None),
    ],
)  # fmt: skip
def test_one_repeat_of_several(typed: str, unit: str, one: str | None) -> None:
    """In the unit it was measured in."""
    assert one_repeat(typed, unit) == one
    assert split_over(typed)[1] in typed or split_over(typed)[1] == "1"


def test_a_half_typed_length_is_kept_told_and_counts_as_not_noted(client: TestClient, keep: Keep) -> None:
    """The job's text stays sound meanwhile."""
    job = checked_in(keep)
    assert keep.job(job.id).arrived
    said = noted(client, job, "plain", "width", "53 3/")
    assert "53 3/" in said
    assert "Not noted yet" in said
    after = keep.job(job.id)
    assert after.arrival[0].width == "53 3/"
    assert not after.arrived
    assert 'usable_width = "53 1/2"' in after.text
    assert 'value="53 3/"' in client.get(f"/jobs/{job.id}/arrival").text
    noted(client, job, "plain", "width", "53 3/8")
    assert keep.job(job.id).arrived


def test_an_absurd_measure_is_told_with_what_is_allowed(client: TestClient, keep: Keep) -> None:
    """By the reader of job files, beside the field."""
    job = ordered(keep, "bay-window")
    said = noted(client, job, "ticking", "repeat_across", "200")
    assert "more than a tenth off" in said
    assert keep.job(job.id).arrival[0].unsure == ("repeat_across",)
    assert "repeat_across" not in keep.job(job.id).text


def test_a_repeat_that_creeps_is_measured_line_by_line(client: TestClient, keep: Keep) -> None:
    """The lines go into the job in place of the repeat along and of where it starts, and those come back with them."""
    job = ordered(keep, "benches")
    cloth = job.cloths[0]
    noted(client, job, cloth, "print_at", "120")
    noted(client, job, cloth, "repeat_along", "321")
    said = noted(client, job, cloth, "lines_at", "40, 361, 683")
    assert said.count("read from the pattern at each repeat, below") == 2
    after = keep.job(job.id)
    (arrival,) = after.arrival
    assert (arrival.lines_at, arrival.print_at, arrival.repeat_along) == ("40, 361, 683", "120", "321")
    assert "lines_at = [40, 361, 683]" in after.text
    assert "print_at" not in after.text
    assert "repeat_along = 321" not in after.text
    read = read_job(after.text.encode()).value
    assert read is not None
    bolt = read.cloth(cloth).bolt
    assert bolt is not None
    assert bolt.creep is not None
    assert "where the pattern starts" in arrival.missing  # across it is not measured yet
    noted(client, job, cloth, "stripe_at", "30")
    noted(client, job, cloth, "repeat_across", "231")
    assert not {"repeat", "where the pattern starts"} & set(keep.job(job.id).arrival[0].missing)
    assert "between them 1 left out" in noted(client, job, cloth, "lines_at", "40, 361, 1004")
    noted(client, job, cloth, "lines_at", "")
    text = keep.job(job.id).text
    assert "lines_at" not in text
    assert "print_at = 120" in text
    assert "repeat_along = 321" in text


def test_what_stands_in_the_job_alone_is_kept_for_when_the_lines_go(client: TestClient, keep: Keep) -> None:
    """Lines that do not read leave the job as it is; those that do take its own values along, and give them back."""
    job = ordered(keep, "benches")
    cloth = job.cloths[0]
    text = with_bolt(job.text, cloth, {"print_at": "120", "repeat_along": "322"})
    job = keep.save_job(job.id, text, job.version)
    assert "read from the pattern at each repeat" not in noted(client, job, cloth, "lines_at", "40, x")
    assert "print_at = 120" in keep.job(job.id).text
    assert keep.job(job.id).arrival[0].unsure[0] == "lines_at"
    noted(client, job, cloth, "lines_at", "40, 361, 683")
    assert "print_at" not in keep.job(job.id).text
    noted(client, job, cloth, "lines_at", "")
    assert "print_at = 120" in keep.job(job.id).text
    assert "repeat_along = 322" in keep.job(job.id).text


def test_once_all_is_noted_the_job_has_arrived(client: TestClient, keep: Keep) -> None:
    """And is moved there by itself; before that the page says what is wanting."""
    job = ordered(keep)
    steps = {"width": "53 1/2", "face": "plain to see", "pile": "none", "lot": "7", "shade": "a little darker"}
    for name, typed in steps.items():
        said = noted(client, job, "plain", name, typed)
    assert "Not noted yet:</b> flaws." in said
    assert keep.job(job.id).state == "ordered"
    answer = client.post(f"/jobs/{job.id}/arrival/flaws", data={"cloth": "plain", "what": "none"}, headers=PARTS)
    assert "The cloth is checked in" in answer.text
    assert keep.job(job.id).state == "arrived"


def test_flaws_are_noted_with_their_places(client: TestClient, keep: Keep) -> None:
    """A row that has not all four edges yet holds; a whole one goes into the job."""
    job = checked_in(keep)
    where = f"/jobs/{job.id}/arrival/flaws"
    client.post(where, data={"cloth": "plain", "what": "add"}, headers=PARTS)
    assert not keep.job(job.id).arrived
    row = {"cloth": "plain", "what": "set", "index": "0", "left": "4", "right": "5 1/2", "from": "10", "to": "9"}
    said = client.post(where, data=row, headers=PARTS).text
    assert "the flaw has no area" in said
    said = client.post(where, data=row | {"to": "12"}, headers=PARTS).text
    assert "no area" not in said
    after = keep.job(job.id)
    assert after.arrived
    read = read_job(after.text.encode()).value
    assert read is not None
    bolt = read.cloth("plain").bolt
    assert bolt is not None
    assert [f.u0_mm for f in bolt.flaws] == pytest.approx([101.6])
    assert [f.v1_mm for f in bolt.flaws] == pytest.approx([304.8])
    client.post(where, data={"cloth": "plain", "what": "remove", "index": "0"}, headers=PARTS)
    assert "flaws" not in keep.job(job.id).text


def test_two_tabs_do_not_overwrite_one_another(client: TestClient, keep: Keep) -> None:
    """Different fields stand side by side; the same field is told, and what is kept stays."""
    job = ordered(keep)
    noted(client, job, "plain", "lot", "7", was="")
    noted(client, job, "plain", "shade", "as the sample", was="")
    assert (keep.job(job.id).arrival[0].lot, keep.job(job.id).arrival[0].shade) == ("7", "as the sample")
    said = noted(client, job, "plain", "lot", "8", was="")
    assert "noted elsewhere meanwhile: “7”; you typed “8”" in said
    assert keep.job(job.id).arrival[0].lot == "7"
    again = client.post(f"/jobs/{job.id}/arrival/note", data={"cloth": "plain", "name": "lot", "value": "9", "was": ""})
    assert again.status_code == 409
    assert "you typed “9”" in again.text


def test_noting_changes_only_the_bolt(client: TestClient, keep: Keep) -> None:
    """An edit in between stays, whatever the arrival's page showed."""
    job = ordered(keep)
    keep.save_job(job.id, job.text.replace('width = "23 1/2"', 'width = "23 5/8"'), job.version)
    noted(client, job, "plain", "length", "2 yd", was="")
    assert 'width = "23 5/8"' in keep.job(job.id).text


@pytest.mark.parametrize(
    ("data", "words"),
    [
        ({"cloth": "plain", "name": "colour", "value": "red"}, "is noted of a cloth"),
        ({"cloth": "nowhere", "name": "lot", "value": "7"}, "no cloth"),
    ],
)
def test_what_cannot_be_noted_is_told(client: TestClient, keep: Keep, data: dict[str, str], words: str) -> None:
    """On a page, with nothing changed."""
    job = ordered(keep)
    answer = client.post(f"/jobs/{job.id}/arrival/note", data=data)
    assert answer.status_code == 422
    assert words in answer.text
    assert keep.job(job.id).arrival == ()


def test_a_customers_markup_is_text(client: TestClient, keep: Keep) -> None:
    """As everywhere."""
    job = ordered(keep)
    noted(client, job, "plain", "shade", "<script>alert(1)</script>")
    page = client.get(f"/jobs/{job.id}/arrival").text
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page


def test_a_job_whose_text_is_broken_says_so(client: TestClient, keep: Keep) -> None:
    """Its arrival can still be opened."""
    job = ordered(keep)
    keep.save_job(job.id, job.text + "\n[[cushion]\n", job.version)
    assert client.get(f"/jobs/{job.id}/arrival").status_code == 200
    answer = client.post(f"/jobs/{job.id}/arrival/note", data={"cloth": "plain", "name": "lot", "value": "7"})
    assert answer.status_code == 422
    assert keep.job(job.id).arrival == ()


@pytest.mark.parametrize(
    ("name", "cloth", "pile", "words"),
    [
        ("eared-seats", "velvet", "none", "has a pile"), ("armchair", "plain", "smooth towards the cut end", "is flat"),
        ("eared-seats", "velvet", "smooth away from the cut end", "from the other end"),
        ("eared-seats", "velvet", "smooth towards the cut end", ""), ("armchair", "plain", "none", ""),
    ],
)  # fmt: skip
def test_a_pile_that_runs_otherwise_is_minded(
    client: TestClient, keep: Keep, name: str, cloth: str, pile: str, words: str
) -> None:
    """Only where it does."""
    said = noted(client, ordered(keep, name), cloth, "pile", pile)
    slot = said.split('id="say-0-pile"')[1].split("</ul>")[0]
    assert (words in slot) if words else "mind" not in slot


def test_a_cloth_that_is_too_short_is_told_where_it_is_measured(client: TestClient, keep: Keep) -> None:
    """With both lengths; "The cloth is checked in" and the way to the table stood there once."""
    page = client.get(f"/jobs/{laid(keep, length='1 yd').id}/arrival").text
    assert "it is too short: nothing may be cut yet" in page
    assert "there are 1" in page
    assert "To the cutting table" not in page
    page = client.get(f"/jobs/{laid(keep, length='3 yd').id}/arrival").text
    assert "too short" not in page
    assert "To the cutting table" in page


def test_whether_a_cloth_is_long_enough_is_waited_for(client: TestClient, keep: Keep) -> None:
    """The page asks for it once, and the answer comes when the pieces are laid."""
    job = checked_in(keep, length="1 yd")
    page = client.get(f"/jobs/{job.id}/arrival").text
    assert f'hx-get="/jobs/{job.id}/arrival/onward"' in page
    said = client.get(f"/jobs/{job.id}/arrival/onward", headers=PARTS).text
    assert "it is too short: nothing may be cut yet" in said
    assert "hx-get" not in said


def test_pieces_that_find_no_room_on_a_cloth_are_no_reason_to_wait_for_ever(client: TestClient, keep: Keep) -> None:
    """A panel is wider than the cloth that came: the job says so."""
    job = checked_in(keep, width="8", length="2 yd")
    said = client.get(f"/jobs/{job.id}/arrival/onward", headers=PARTS).text
    assert "the pieces are not laid on it" in said
    assert "hx-get" not in said
