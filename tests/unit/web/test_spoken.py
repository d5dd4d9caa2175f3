"""What was found, said in the words of the page's fields."""

from __future__ import annotations

from fastapi.testclient import TestClient

from squab.files.jobfile import read_job
from squab.findings import Finding, Severity
from squab.keep import Keep
from squab.web.spoken import spoken


def test_what_is_not_given_yet_is_wanted_by_the_name_of_its_field() -> None:
    hint = "add thickness = ...: Thickness."
    found = Finding("JOB-015", Severity.STOP, "cushion a", "`thickness` is missing", hint, path="cushion[0].thickness")
    assert (spoken(found).message, spoken(found).hint) == ("Thickness is needed", "")


def test_a_key_is_called_as_its_field_and_the_files_quotes_are_left_out() -> None:
    hint = "4 is read in mm: if that is wrong, write the unit beside it in quotes"
    said = "`usable_width` is 4 mm; allowed is 100 mm to 4 m"
    found = Finding("JOB-013", Severity.STOP, "cloth c", said, hint, path="cloth[0].usable_width")
    assert spoken(found).message == "`Usable width` is 4 mm; allowed is 100 mm to 4 m"
    assert spoken(found).hint.endswith("write the unit beside it")


def test_a_key_of_another_table_and_one_that_is_none_stay_as_they_are() -> None:
    found = Finding("X-1", Severity.NOTE, "", "`nowhere` and `zip.tape`", path="cover.allowance")
    assert spoken(found, "us").message == "`nowhere` and `Zipper tape`"


def test_a_new_job_asks_for_its_sizes_and_finds_no_fault(client: TestClient, keep: Keep) -> None:
    """Nothing was typed wrongly: the page says what it waits for, and marks no field as wrong."""
    begun = client.post("/jobs/new", follow_redirects=False).headers["location"]
    page = client.get(begun).text
    assert "No price yet. Type width, depth and thickness" in page
    assert "3 still wanted" in page
    assert "to mend" not in page
    assert 'aria-invalid="true"' not in page
    assert " = ..." not in page


def test_a_line_that_the_pattern_lost_is_told_by_the_name_of_its_field() -> None:
    """A stripe that became a print has no line of the stripe's name."""
    text = (
        '[[cloth]]\nid = "a"\nusable_width = 1400\nrepeat_across = 96\nrepeat_along = 64\n'
        '[[cushion]]\nid = "b"\nwidth = 500\ndepth = 500\nthickness = 75\nmatch.pin_across = "indigo"\n'
    )
    said = [spoken(x).message for x in read_job(text.encode()).findings if x.code == "JOB-024"]
    assert said == ["`On its centre line stands`: cloth a has no line `indigo`"]
