"""`squab estimate`: three rough numbers are held to what a job file is held to, and answered as one would be."""

from __future__ import annotations

import json

import pytest
from typer.testing import CliRunner, Result

from squab.cli import app
from squab.files.jobfile import read_job
from squab.rough import estimate_job

EIGHTH_YD_MM = 114.3
"""An eighth of 36 in of 25.4 mm."""


def estimated(*args: str) -> Result:
    return CliRunner().invoke(app, ["estimate", *args])


def test_inches_are_answered_as_the_same_job_in_a_file_of_inches() -> None:
    """Allowances, cord and squaring off are those of an inch workroom, and cloth is sold by the eighth of a yard."""
    text = """
        [job]
        units = "in"
        size_is = "seat"
        [[cloth]]
        id = "plain"
        usable_width = 54
        price_per_m = 40
        [[cushion]]
        id = "seat"
        width = 24
        depth = 22
        thickness = 4
    """
    job = read_job(text.encode()).value
    assert job is not None
    by_file = estimate_job(job).value
    assert by_file is not None
    told = json.loads(estimated("24", "22", "4", "--cloth-price", "40", "--json").stdout)
    assert told["cloth_most_mm"] == by_file.cloth_most_mm == pytest.approx(10 * EIGHTH_YD_MM)
    assert (told["price_least"], told["price_most"]) == (str(by_file.price_least), str(by_file.price_most))


@pytest.mark.parametrize(
    ("args", "named"),
    [
        (("24", "22", "4000"), "thickness"),
        (("2400", "22", "4"), "width"),
        (("24", "22", "4", "--cloth-width", "0"), "usable_width"),
        (("24", "22", "0"), "thickness"),
    ],
)
def test_what_makes_no_sense_stops_it_and_says_so_in_json_too(args: tuple[str, ...], named: str) -> None:
    told = estimated(*args, "--json")
    assert told.exit_code == 1
    stops = [f for f in json.loads(told.stdout)["findings"] if f["severity"] == "stop"]
    assert named in stops[0]["message"]
    assert stops[0]["line"] is None
    assert "line " not in told.stderr


def test_a_half_drop_without_its_repeats_is_never_taken_for_plain_cloth() -> None:
    told = estimated("24", "22", "4", "--half-drop", "--repeat-across", "13")
    assert told.exit_code == 2
    assert "give --repeat-across and --repeat-along" in told.stderr
    print_of = ["24", "22", "4", "--repeat-across", "13", "--repeat-along", "12", "--json"]
    straight, drop = (json.loads(estimated(*print_of, *more).stdout) for more in ([], ["--half-drop"]))
    assert drop["cloth_most_mm"] >= straight["cloth_least_mm"] > 0


@pytest.mark.parametrize("size_is", ["old cover", "old_cover"])
def test_an_old_cover_is_called_so_as_in_a_job_file(size_is: str) -> None:
    told = estimated("24", "22", "4", "--size-is", size_is)
    assert told.exit_code == 0
    assert "measured as the old cover" in told.stdout


@pytest.mark.parametrize("option", ["--repeat-across", "--repeat-along"])
def test_one_repeat_is_a_stripe_that_way(option: str) -> None:
    told = estimated("24", "22", "4", option, "3 3/4", "--json")
    assert told.exit_code == 0, told.stderr
    plain = json.loads(estimated("24", "22", "4", "--json").stdout)
    assert float(json.loads(told.stdout)["price_most"]) > float(plain["price_most"])
