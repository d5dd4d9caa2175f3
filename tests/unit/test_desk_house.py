"""House numbers, cloths of the shelf, and texts carried from one unit to another."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from squab.desk import (
    from_shelf,
    new_shelf_cloth,
    onto_shelf,
    opened,
    opened_house,
    opened_shelf_cloth,
    removed,
    unit_of,
    with_units,
)
from squab.files.jobfile import read_job
from squab.job import Job
from squab.units import Unit

EXAMPLES = Path(__file__).parents[2] / "examples"
STRIPED = """[job]
units = "in"

[[cloth]]
id = "awning"
name = "Awning stripe"
usable_width = "53 1/2"   # by the tape
stripes = ["navy 2 1/2", { colour = "chalk", width = 1.5 }]
repeat = 4
price_per_yd = 18
"""


def untyped(job: Job) -> Job:
    """A job without the words in which its sizes were typed."""
    return replace(job, cushions=tuple(replace(c, typed=()) for c in job.cushions))


@pytest.mark.parametrize("path", sorted(EXAMPLES.glob("*.toml")), ids=lambda p: p.stem)
def test_a_job_in_another_unit_is_the_same_job(path: Path) -> None:
    """Every outline and every cloth stays what it was, there and back."""
    text = path.read_text()
    before = read_job(text.encode()).value
    other: Unit = "mm" if unit_of(text) == "in" else "in"
    # what is left out has the usual value of the unit, so compare what the file gives
    after = read_job(with_units(with_units(text, other), unit_of(text)).encode()).value
    between = read_job(with_units(text, other).encode()).value
    assert before is not None
    assert after is not None
    assert between is not None
    assert untyped(after) == untyped(before)
    for a, b in zip(before.cushions, between.cushions, strict=True):
        assert b.outline.bounds() == pytest.approx(a.outline.bounds())
        assert b.thickness_mm == pytest.approx(a.thickness_mm)
    for c, d in zip(before.cloths, between.cloths, strict=True):
        assert d.usable_width_mm == pytest.approx(c.usable_width_mm)
        assert d.pattern.repeat_across_mm == (c.pattern.repeat_across_mm and pytest.approx(c.pattern.repeat_across_mm))


def test_what_is_half_typed_is_carried_as_it_stands() -> None:
    """Nothing is lost of it."""
    assert '"24 3/ in"' in with_units('[job]\nunits = "in"\n[[cushion]]\nwidth = "24 3/"\n', "mm")
    assert 'width = "wide"' in with_units('[[cushion]]\nwidth = "wide"\n', "in")


def test_house_numbers_are_read_beside_their_keys() -> None:
    """Only what is wrong with them; what a usual cushion lacks is not theirs."""
    assert opened_house("").findings == ()
    assert opened_house('[cover]\nallowance = "1/2 in"\n[prices]\nhour = 40\n').findings == ()
    wrong = opened_house('[cover]\nallowance = "1/"\n[prices]\ncurrency = "pounds"\nminutes = { tie = -3 }\n')
    assert {p for p, found in wrong.by_path.items() if found} == {
        "cover.allowance", "prices.currency", "prices.minutes.tie",
    }  # fmt: skip
    assert wrong.typed["cover.allowance"] == "1/"


def test_house_numbers_that_do_not_go_together_are_told() -> None:
    """As a cushion made by them would be: a notch deeper than the allowance reaches the seam."""
    found = opened_house("[cover]\nallowance = 6\nnotches = { depth = 8 }\n")
    assert found.at("cover.notches.depth")


def test_a_house_text_that_is_no_toml_says_so() -> None:
    """With its line."""
    found = opened_house("[cover\nallowance = 12\n").findings
    assert [f.code for f in found] == ["JOB-004"]


def test_a_cloth_goes_to_the_shelf_and_into_another_job_unchanged() -> None:
    """From inches into millimetres its sizes are written out; the bolt of the first job stays there."""
    job = (EXAMPLES / "bay-window.toml").read_text()
    into = from_shelf(job, STRIPED)
    made = read_job(into.encode()).value
    assert made is not None
    cloth = made.cloth("awning")
    assert cloth.usable_width_mm == pytest.approx(53.5 * 25.4)
    assert cloth.pattern.repeat_across_mm == pytest.approx(4 * 25.4)
    assert removed(into, "cloth[1]").split() == job.split()
    again = onto_shelf(into, 1)
    assert opened_shelf_cloth(again).findings == ()
    shelved = opened_shelf_cloth(again).job
    assert shelved is not None
    assert shelved.cloths[0] == cloth


def test_a_cloth_takes_the_place_of_another() -> None:
    """With its id, so that every cushion cut from it is cut from the new one; the measured bolt goes."""
    job = (EXAMPLES / "bay-window.toml").read_text()
    measured = job.replace('sold_by = "0.1 m"', 'sold_by = "0.1 m"\nbolt = { length = 9000 }')
    made = from_shelf(measured, STRIPED.replace("navy", "indigo"), instead=0)
    read = read_job(made.encode()).value
    assert read is not None
    assert [c.name for c in read.cloths] == ["Awning stripe"]
    assert read.cloths[0].id == "ticking"
    assert read.cloths[0].bolt is None or read.cloths[0].bolt.length_mm is None
    assert len(read.cushions) == 3


def test_a_new_cloth_can_be_read_at_once() -> None:
    """In any unit, whatever it is called."""
    for unit in ("mm", "cm", "m", "in"):
        found = opened_shelf_cloth(new_shelf_cloth('A "ticking"', unit))
        assert found.findings == ()
        assert found.job is not None
        assert found.job.cloths[0].usable_width_mm == pytest.approx(1371.6 if unit == "in" else 1370)
        assert found.job.cloths[0].name == 'A "ticking"'


def test_what_is_wrong_with_a_cloth_stands_at_its_key() -> None:
    """And nothing else is found."""
    wrong = opened_shelf_cloth(STRIPED.replace("repeat = 4", "repeat = 5"))
    assert [p for p, found in wrong.by_path.items() if found] == ["cloth[0].stripes"]
    assert opened(STRIPED, check=False).findings  # a job lacks its cushion
