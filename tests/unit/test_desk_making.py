"""New jobs from house numbers and the shelf; variants side by side; agreed figures."""

from __future__ import annotations

import tomllib
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from squab.desk import (
    EditError,
    Variant,
    agreed_figures,
    differences,
    edited,
    new_job,
    opened,
    renamed_cloth,
    shelf_cloth,
    variant_figures,
    varied,
    with_cloth,
    with_cushion,
)
from squab.files import read_job
from squab.stages import work

EXAMPLES = Path(__file__).parents[2] / "examples"
HOUSE = """\
# Our usual numbers.
[job]
units = "mm"
workroom = "The Long Table Workroom"

[cover]
allowance = "10 mm"      # we sew narrow

[prices]
hour = 36.50
"""
TICKING = 'id = "ticking"\nname = "Wherry stripe"\nusable_width = 1370\nstripes = ["indigo 40", "linen 44"]\n'


def test_a_new_job_has_the_house_numbers_in_it() -> None:
    """What the house changes later does not reach a job that was begun before."""
    text = new_job(HOUSE, name="Seat", customer="Mr <b>", dated=date(2031, 3, 10), cloths=[TICKING])
    text = with_cushion(text, {"width": "560", "depth": "510", "thickness": "4 in", "size_is": "fill"})
    job = opened(text).job
    assert job is not None
    assert job.cushions[0].cover.allowance_mm == 10
    assert job.prices.hour == Decimal("36.50")
    assert (job.name, job.customer.name, job.dated) == ("Seat", "Mr <b>", date(2031, 3, 10))
    assert "# we sew narrow" in text
    assert (job.cloths[0].id, job.cushions[0].id) == ("ticking", "cushion")


def test_a_new_job_needs_no_house_numbers() -> None:
    assert tomllib.loads(new_job("", name="Seat")) == {"job": {"name": "Seat"}}


def test_ids_are_never_given_twice() -> None:
    """The same cloth twice, a cushion copied: each gets an id of its own, and all else is the same."""
    text = new_job(HOUSE, name="Seat", cloths=[TICKING, f"[[cloth]]\n{TICKING}"])
    assert [c["id"] for c in tomllib.loads(text)["cloth"]] == ["ticking", "ticking-2"]
    bay = (EXAMPLES / "bay-window.toml").read_text(encoding="utf-8")
    copied = with_cushion(bay, {"name": "Fourth"}, like=1)
    rows = tomllib.loads(copied)["cushion"]
    assert [r["id"] for r in rows] == ["left", "middle", "right", "middle-2"]
    assert rows[3] | {"id": "middle", "name": "Middle"} == rows[1]
    assert [r["id"] for r in tomllib.loads(with_cushion(copied, like=3))["cushion"]][-1] == "middle-3"


def test_a_cushion_without_an_id_is_named_after_its_name() -> None:
    made = with_cushion("", {"name": "Left wing — bay"})
    assert tomllib.loads(made)["cushion"] == [{"id": "left-wing-bay", "name": "Left wing — bay"}]


def test_a_cloth_goes_to_the_shelf_without_its_bolt() -> None:
    """And comes back from there into another job."""
    text = (EXAMPLES / "round-stool.toml").read_text(encoding="utf-8")
    cloth = shelf_cloth(text, 0)
    row = tomllib.loads(cloth)["cloth"][0]
    assert "bolt" not in row
    assert {**row, "bolt": tomllib.loads(text)["cloth"][0]["bolt"]} == tomllib.loads(text)["cloth"][0]
    assert tomllib.loads(with_cloth(HOUSE, cloth))["cloth"] == [row]


def test_a_renamed_cloth_is_renamed_wherever_it_is_called() -> None:
    text = HOUSE + '[[cloth]]\nid = "a"\n[[cushion]]\nid = "x"\npanel_cloth = "a"\nzip_cloth = "b"\n'
    text = edited(text, "cover.piping_cloth", "a")
    raw = tomllib.loads(renamed_cloth(text, 0, "linen"))
    assert raw["cloth"][0]["id"] == raw["cushion"][0]["panel_cloth"] == raw["cover"]["piping_cloth"] == "linen"
    assert raw["cushion"][0]["zip_cloth"] == "b"


def test_a_cloth_that_is_no_toml_is_refused() -> None:
    with pytest.raises(EditError, match="no TOML"):
        with_cloth(HOUSE, 'id = "a')


def test_variants_stand_side_by_side() -> None:
    """Unpiped takes less cloth and less time; the text of each variant is there to be taken over."""
    text = (EXAMPLES / "armchair.toml").read_text(encoding="utf-8")
    as_is = variant_figures(text, Variant("as it is"), seconds=0.5)
    bare = variant_figures(text, Variant("no piping", (("cushion[0].piping", "none"),)), seconds=0.5)
    assert as_is.text == text
    assert bare.text == varied(text, Variant("", (("cushion[0].piping", "none"),)))
    assert as_is.total is not None
    assert bare.total is not None
    assert as_is.hours is not None
    assert bare.hours is not None
    assert bare.cloths[0][0] == as_is.cloths[0][0]
    assert bare.cloths[0][1] <= as_is.cloths[0][1]
    assert bare.hours < as_is.hours
    assert bare.total < as_is.total


def test_a_variant_that_cannot_be_made_says_why() -> None:
    text = (EXAMPLES / "armchair.toml").read_text(encoding="utf-8")
    half = variant_figures(text, Variant("half typed", (("cushion[0].thickness", "3 3/"),)))
    assert half.total is None
    assert [f.code for f in half.findings if f.path == "cushion[0].thickness"] == ["JOB-012"]


def test_agreed_figures_are_texts_that_add_up() -> None:
    text = (EXAMPLES / "armchair.toml").read_text(encoding="utf-8")
    job = read_job(text.encode()).value
    assert job is not None
    worked = work(job, seconds=0.5, trials=False).value
    assert worked is not None
    figures = agreed_figures(worked)
    assert all(isinstance(v, str) for v in figures.values())
    assert Decimal(figures["net"]) + Decimal(figures["tax"]) == Decimal(figures["total"])
    assert sum(Decimal(v) for k, v in figures.items() if k.startswith("cushion ")) == Decimal(figures["total"])


def test_what_differs_between_two_texts_is_told_by_key() -> None:
    """Changed, put in, taken out; a bare value once; nothing for notes and spacing."""
    text = (EXAMPLES / "armchair.toml").read_text(encoding="utf-8")
    after = edited(edited(edited(text, "cushion[0].thickness", "5 1/"), "job.notes", "Mind the cat."), "job.name", "")
    told = {path: (old, new) for path, old, new in differences(text, after)}
    name = opened(text, check=False).typed["job.name"]
    thick = opened(text, check=False).typed["cushion[0].thickness"]
    assert told == {
        "cushion[0].thickness": (thick, "5 1/"),
        "job.notes": ("", "Mind the cat."),
        "job.name": (name, ""),
    }
    assert differences(text, text + "\n# a note\n") == ()
    bare = edited(text, "cushion[0].handle", "yes")
    assert differences(text, edited(bare, "cover.zip", "none")) == (
        ("cushion[0].handle", "", "true"),
        ("cover.zip", "", "none"),
    )
