"""Cures, surrenders and measured bolts, written into a job's text."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from squab.desk import (
    EditError,
    cured,
    cures_of,
    edited,
    expected_bolt,
    opened,
    surrendered,
    with_bolt,
    with_flaw,
    with_settings,
)
from squab.files import read_job
from squab.job import Job
from squab.match.records import Cure
from squab.stages import changed_job, surrender_settings

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.toml"))
TEXTS = {p.stem: p.read_text(encoding="utf-8") for p in EXAMPLES}
SETTINGS: list[tuple[str, str, object]] = [
    ("", "allowance_mm", 10.0),
    ("", "notching.depth_mm", 4.0),
    ("", "joins_at_corners", True),
    ("", "matching.back", "ignore"),
    ("", "piping.edges", "top"),
    ("", "zip.making", "two_single"),
    ("", "matching.sides_along", True),
    ("", "boxing_ease_mm", 3.5),
]


def job_of(text: str) -> Job:
    """The job without the lines of its file."""
    read = read_job(text.encode()).value
    assert read is not None
    return replace(read, cushions=tuple(replace(c, line=None, typed=()) for c in read.cushions))


@pytest.mark.parametrize("name", TEXTS)
@pytest.mark.parametrize("setting", SETTINGS, ids=lambda s: str(s[1]))
def test_a_setting_in_the_text_is_the_setting_in_the_job(name: str, setting: tuple[str, str, object]) -> None:
    """Written into the text and read back, every cushion is as if the job itself had been changed."""
    text = TEXTS[name]
    assert job_of(with_settings(text, [setting])) == changed_job(job_of(text), [setting])
    one = job_of(text).cushions[-1].id
    own = (one, *setting[1:])
    assert job_of(with_settings(text, [own])) == changed_job(job_of(text), [own])


@pytest.mark.parametrize("name", TEXTS)
def test_what_is_given_up_in_the_text_is_given_up_in_the_job(name: str) -> None:
    text = TEXTS[name]
    job = job_of(text)
    for what, settings in surrender_settings(job).items():
        if not isinstance(settings, str):
            assert job_of(surrendered(text, what)) == changed_job(job, settings), what


def test_another_cloth_is_asked_for_by_name() -> None:
    """A cloth that the job has not is no answer."""
    text = TEXTS["benches"]
    with pytest.raises(EditError, match="from which\\? the job's cloths are"):
        surrendered(text, "the zip panels in another cloth")
    own = job_of(text).cloths[0].id
    made = surrendered(text, "the zip panels in another cloth", cloth=own)
    assert {c.cover.zip_cloth for c in job_of(made).cushions} == {own}
    with pytest.raises(EditError, match="nothing that can be given up"):
        surrendered(text, "the sofa")
    with pytest.raises(EditError, match="mend them first"):
        surrendered(edited(text, "cushion[0].thickness", "3 3/"), "boxing joined at the corners")


def test_a_cure_is_one_tap() -> None:
    """The bench offers to leave its joins unmatched; the text says so afterwards, and the cure is gone."""
    text = TEXTS["benches"]
    (cure,) = cures_of(job_of(text))
    made = cured(text, cure)
    assert job_of(made).cushions[0].cover.matching.joins == "ignore"
    assert cures_of(job_of(made)) == ()
    with pytest.raises(EditError, match="by hand"):
        cured(text, Cure("bench", "use another stripe"))
    with pytest.raises(EditError, match="no cushion 'gone'"):
        cured(text, replace(cure, cushion_id="gone"))
    with pytest.raises(EditError, match="no setting"):
        cured(text, replace(cure, setting="matching.luck"))


def test_a_measured_bolt_is_what_the_lay_follows() -> None:
    """Width, repeat, where the stripe stands, flaws: as typed in the text, as lengths in the job."""
    text = TEXTS["bay-window"]
    measured = {"width": "1365", "repeat_across": "83 1/2", "stripe_at": "12", "print_at": "none", "lot": "33",
                "length": "", "bow": "4 mm"}  # fmt: skip
    flaws = [{"left": "100", "right": "12 cm", "from": "1.2 m", "to": "1.3 m", "what": "knot"}]
    made = with_bolt(text, "ticking", measured, flaws)
    cloth = job_of(made).cloths[0]
    assert cloth.usable_width_mm == 1365
    assert cloth.bolt is not None
    assert (cloth.bolt.repeat_across_mm, cloth.bolt.stripe_at_u_mm, cloth.bolt.lot) == (83.5, 12.0, "33")
    assert (cloth.bolt.print_at_v_mm, cloth.bolt.length_mm, cloth.bolt.bow_mm) == (None, None, 4.0)
    assert [(f.u0_mm, f.u1_mm, f.v0_mm, f.v1_mm, f.what) for f in cloth.bolt.flaws] == [(100, 120, 1200, 1300, "knot")]
    typed = opened(made, check=False).typed
    assert typed["cloth[0].bolt.repeat_across"] == "83 1/2"
    none = with_bolt(made, "ticking", {}, [])
    assert job_of(none).cloths[0].bolt == replace(cloth.bolt, flaws=())
    with pytest.raises(EditError, match="no cloth 'linen'"):
        with_bolt(text, "linen", measured)


def test_a_flaw_found_at_the_table_is_added() -> None:
    text = TEXTS["round-stool"]
    made = with_flaw(text, "awning", {"left": "5", "right": "25", "from": "3", "to": "9", "what": "oil"})
    before, after = (job_of(t).cloths[0].bolt for t in (text, made))
    assert before is not None
    assert after is not None
    assert after.flaws[:-1] == before.flaws
    assert (after.flaws[-1].u1_mm, after.flaws[-1].what) == (25, "oil")


def test_flaws_that_are_no_rectangles_stay_as_they_are_written() -> None:
    shaped = '[{ middle = [300, "1.2 m"], radius = 20 }, { outline = [[0, 0], [30, 0], [0, "2 cm"]] }]'
    text = with_bolt(TEXTS["bay-window"], "ticking", {"lot": "33"}, [])
    text = text.replace('bolt = { lot = "33" }', f"bolt = {{ flaws = {shaped} }}")
    found = job_of(text).cloths[0].bolt
    assert found is not None
    assert [len(f.corners) for f in found.flaws] == [48, 3]
    edges = {"left": "5", "right": "25", "from": "3", "to": "9", "what": "oil"}
    for made in (with_flaw(text, "ticking", edges), with_bolt(text, "ticking", {}, [edges])):
        bolt = job_of(made).cloths[0].bolt
        assert bolt is not None
        assert bolt.flaws[:2] == found.flaws
        assert [f.what for f in bolt.flaws[2:]] == ["oil"]


def test_what_to_look_for_when_a_cloth_comes() -> None:
    """A stripe has no repeat along, a plain cloth none at all, a half-typed one is not known yet."""
    assert expected_bolt(TEXTS["bay-window"], "ticking") == {
        "width": "1370", "repeat_across": "84", "repeat_along": "none", "stripe_at": "", "print_at": "none",
        "pile": "none",
    }  # fmt: skip
    plain = expected_bolt(TEXTS["armchair"], "plain")
    assert plain == {
        "width": "53 1/2", "repeat_across": "none", "repeat_along": "none", "stripe_at": "none", "print_at": "none",
        "pile": "none",
    }  # fmt: skip
    assert expected_bolt(TEXTS["round-stool"], "awning")["stripe_at"] == "31"
    half = expected_bolt(edited(TEXTS["bay-window"], "cloth[0].usable_width", "13 1/"), "ticking")
    assert (half["width"], half["repeat_along"]) == ("13 1/", "")
    velvet = edited(TEXTS["armchair"], "cloth[0].pile", "yes")
    assert expected_bolt(velvet, "plain")["pile"] == ""
    with pytest.raises(EditError, match="no cloth 'linen'"):
        expected_bolt(TEXTS["armchair"], "linen")
