"""Jobs in the keep: their texts, their versions, where they stand."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from squab.desk import with_bolt
from squab.files import read_job
from squab.keep import (
    STATES,
    AlreadyAgreed,
    Arrival,
    FlawNoted,
    Keep,
    NotArrived,
    NotInKeep,
    Stale,
    Unkeepable,
    examples,
    text_digest,
)
from tests.unit.keep.keeping import CHECKED, TEXT, Clock


def test_a_text_comes_back_byte_for_byte(keep: Keep) -> None:
    """Half-typed values, odd spacing, Windows line ends: the text is kept as it is."""
    text = TEXT + "\r\n  # half   typed\r\nthickness = '3 3/'\n\n\n"
    job = keep.add_job(text)
    assert keep.job(job.id).text == text
    assert job.digest == text_digest(text)


def test_a_list_shows_what_the_text_says(keep: Keep) -> None:
    """Title, customer, reference, count and cloths come from the text."""
    keep.add_job(TEXT)
    (line,) = keep.jobs()
    assert (line.title, line.customer, line.reference) == ("Window seat", "Reading room <committee>", "NW-07")
    assert (line.cushions, line.cloths, line.state, line.arrived) == (2, ("ticking",), "asked", False)
    assert not hasattr(line, "text")


def test_a_text_that_is_no_toml_keeps_its_place_in_the_list(keep: Keep) -> None:
    """While a bracket is open the list shows what it showed before, and the job is found."""
    job = keep.add_job(TEXT)
    saved = keep.save_job(job.id, TEXT + "[[cushion", 1)
    assert (saved.title, saved.customer, saved.cushions) == (job.title, job.customer, 2)
    assert [x.id for x in keep.jobs("window")] == [job.id]
    assert keep.job(job.id).text.endswith("[[cushion")


def test_a_stale_save_is_refused_and_carries_what_is_newer(keep: Keep) -> None:
    """Two tabs: the second save is told of the first, and nothing of the first is lost."""
    job = keep.add_job(TEXT)
    first = keep.save_job(job.id, TEXT + "# one\n", job.version)
    with pytest.raises(Stale) as caught:
        keep.save_job(job.id, TEXT + "# two\n", job.version)
    assert caught.value.newer == first
    assert keep.job(job.id).text == TEXT + "# one\n"


def test_saving_the_same_text_is_no_new_version(keep: Keep) -> None:
    """Nor is a save that is sent twice because its answer was lost on the way."""
    job = keep.add_job(TEXT)
    assert keep.save_job(job.id, TEXT, 1).version == 1
    assert keep.save_job(job.id, TEXT + "#", 1).version == 2
    assert keep.save_job(job.id, TEXT + "#", 1).version == 2


def test_quick_small_edits_are_folded_and_slow_ones_are_not(keep: Keep, clock: Clock) -> None:
    """Typing leaves a version every two minutes; each save counts for staleness all the same."""
    job = keep.add_job(TEXT)
    for n in range(1, 9):
        clock.on(seconds=30)
        job = keep.save_job(job.id, TEXT + "x" * n, job.version)
    assert job.version == 9
    kept = [v.version for v in keep.history(job.id)]
    assert kept == [9, 6, 1]
    assert keep.text_at(job.id, 6) == TEXT + "x" * 5


def test_a_large_change_is_never_folded(keep: Keep) -> None:
    """What replaces much can be gone back from, however quickly it came."""
    job = keep.add_job(TEXT)
    job = keep.save_job(job.id, TEXT + "# a\n", 1)
    job = keep.save_job(job.id, "# " + "wiped " * 100, 2)
    assert keep.text_at(job.id, 2) == TEXT + "# a\n"


def test_restoring_is_itself_a_version(keep: Keep, clock: Clock) -> None:
    """Going back loses nothing in between."""
    job = keep.add_job(TEXT)
    clock.on(minutes=5)
    keep.save_job(job.id, "# other\n", 1)
    back = keep.restore(job.id, 1)
    assert (back.text, back.version) == (TEXT, 3)
    assert [(v.version, v.why) for v in keep.history(job.id)] == [(3, "restored from 1"), (2, "saved"), (1, "begun")]
    assert keep.text_at(job.id, 2) == "# other\n"


def test_restoring_asks_for_the_version_one_saw(keep: Keep) -> None:
    job = keep.add_job(TEXT)
    keep.save_job(job.id, TEXT + "#", 1)
    with pytest.raises(Stale):
        keep.restore(job.id, 1, expected_version=1)


def test_an_agreed_price_is_frozen(keep: Keep, clock: Clock) -> None:
    """Later edits, even to the prices, leave the agreed figures and their version as they were."""
    job = keep.add_job(TEXT)
    agreed = keep.agree(job.id, {"total": "412.00", "currency": "GBP"})
    assert agreed.state == "agreed"
    clock.on(seconds=5)
    changed = keep.save_job(job.id, TEXT + "\n[prices]\nhour = 99\n", 1)
    assert changed.agreed == agreed.agreed
    assert changed.agreed is not None
    assert changed.agreed.figures == {"total": "412.00", "currency": "GBP"}
    assert keep.text_at(job.id, changed.agreed.version) == TEXT
    with pytest.raises(Stale):
        keep.agree(job.id, {"total": "430.00"}, anew=True, expected_version=1)
    with pytest.raises(AlreadyAgreed, match="2031-03-10"):
        keep.agree(job.id, {"total": "1"})
    assert keep.agree(job.id, {"total": "430.00"}, anew=True).agreed.figures == {"total": "430.00"}  # type: ignore[union-attr]


def test_nothing_is_cut_before_its_cloth_is_checked(keep: Keep) -> None:
    """Arrival is a hold: each thing not noted is named."""
    job = keep.add_job(TEXT)
    with pytest.raises(NotArrived, match=r"cloth ticking: width, repeat, where the pattern starts, face, pile, flaws"):
        keep.tick(job.id, "left.top")
    for state in STATES[STATES.index("arrived") :]:
        with pytest.raises(NotArrived):
            keep.set_state(job.id, state)
    partly = keep.set_arrival(job.id, Arrival(cloth="ticking", width="1365", lot="3"))
    assert partly.missing == {"ticking": ("repeat", "where the pattern starts", "face", "pile", "flaws", "shade")}
    assert partly.state == "asked"
    assert keep.set_arrival(job.id, CHECKED).state == "arrived"
    assert keep.tick(job.id, "left.top")["left.top"].state == "done"


def test_arrival_is_kept_as_typed(keep: Keep, clock: Clock) -> None:
    """Flaws and half values come back as they were noted, with the time."""
    job = keep.add_job(TEXT)
    flaw = FlawNoted(left="10", right="4 1/", from_="1.2 m", to="1.3 m", what="a knot")
    noted = Arrival(cloth="ticking", width="53 3/", flaws=(flaw,))
    (kept,) = keep.set_arrival(job.id, noted).arrival
    assert (kept.width, kept.flaws, kept.at) == ("53 3/", (flaw,), clock.now)


def test_a_second_cloth_holds_the_job_again(keep: Keep) -> None:
    """A cloth added to the text after the first was checked must be checked too."""
    job = keep.add_job(TEXT)
    keep.set_arrival(job.id, CHECKED)
    more = keep.save_job(job.id, TEXT + '[[cloth]]\nid = "plain"\nusable_width = 1400\n', 1)
    assert not more.arrived
    with pytest.raises(NotArrived, match="cloth plain"):
        keep.tick(job.id, "left.top")


def test_an_arrival_writes_the_measured_text_in_the_same_breath(keep: Keep) -> None:
    """A stale text keeps neither text nor arrival."""
    job = keep.add_job(TEXT)
    keep.save_job(job.id, TEXT + "#", 1)
    with pytest.raises(Stale):
        keep.set_arrival(job.id, CHECKED, text=TEXT + "bolt", expected_version=1)
    assert keep.job(job.id).arrival == ()
    done = keep.set_arrival(job.id, CHECKED, text=TEXT + "# bolt\n", expected_version=2)
    assert (done.text, done.version) == (TEXT + "# bolt\n", 3)
    assert keep.history(job.id)[0].why == "cloth ticking measured"


def test_a_state_follows_the_ticks(keep: Keep) -> None:
    """With the last piece the job is cut; taking one back, it is not."""
    job = keep.add_job(TEXT)
    keep.set_arrival(job.id, CHECKED)
    keep.tick(job.id, "a", of=2)
    keep.tick(job.id, "a", of=2)
    assert keep.job(job.id).state == "arrived"
    keep.tick(job.id, "b", "spoiled", note="slipped", of=2)
    assert keep.job(job.id).state == "arrived"
    keep.tick(job.id, "b", of=2)
    assert keep.job(job.id).state == "cut"
    assert list(keep.untick(job.id, "b")) == ["a"]
    assert keep.job(job.id).state == "arrived"


def test_states_and_promises(keep: Keep) -> None:
    job = keep.add_job(TEXT)
    assert keep.set_state(job.id, "ordered").state == "ordered"
    assert keep.set_promised(job.id, date(2031, 4, 1)).promised == date(2031, 4, 1)
    assert keep.set_promised(job.id, None).promised is None
    with pytest.raises(Unkeepable, match="asked, quoted"):
        keep.set_state(job.id, "lost")  # type: ignore[arg-type]
    assert keep.job(job.id).version == 1


def test_search_finds_every_word_in_any_case(keep: Keep) -> None:
    """Percent and underscore are letters like any other."""
    keep.add_job(TEXT)
    keep.add_job('[job]\nname = "Stühle 100% wool_felt"\n')
    assert len(keep.jobs("WHERRY reading")) == 1
    assert len(keep.jobs("STÜHLE")) == 1
    assert len(keep.jobs("100%")) == 1
    assert [x.title for x in keep.jobs("l_f")] == ["Stühle 100% wool_felt"]
    assert keep.jobs("reading nowhere") == ()


def test_sorting(keep: Keep, clock: Clock) -> None:
    """Undated jobs come after dated ones."""
    ids = {}
    for name, day in (("beta", 5), ("Alpha", None), ("gamma", 2)):
        clock.on(minutes=1)
        job = keep.add_job(f'[job]\nname = "{name}"\ncustomer = "{name[::-1]}"\n')
        ids[job.id] = name
        if day:
            keep.set_promised(job.id, date(2031, 4, day))
    titles = {sort: [j.title for j in keep.jobs(sort=sort)] for sort in ("title", "promised", "changed", "customer")}
    assert titles["title"] == ["Alpha", "beta", "gamma"]
    assert titles["promised"] == ["gamma", "beta", "Alpha"]
    assert titles["changed"] == ["gamma", "Alpha", "beta"]
    assert titles["customer"] == ["Alpha", "gamma", "beta"]


def test_a_hidden_job_is_kept(keep: Keep) -> None:
    job = keep.add_job(TEXT)
    keep.set_hidden(job.id, True)
    assert keep.jobs() == ()
    assert [x.id for x in keep.jobs(hidden=True)] == [job.id]
    assert not keep.is_empty()
    assert keep.job(job.id).text == TEXT


def test_what_is_not_there_is_said(keep: Keep) -> None:
    assert keep.is_empty()
    with pytest.raises(NotInKeep, match="no job 'nowhere'"):
        keep.job("nowhere")
    with pytest.raises(NotInKeep):
        keep.history("nowhere")
    with pytest.raises(NotInKeep):
        keep.set_state("nowhere", "quoted")
    job = keep.add_job(TEXT)
    with pytest.raises(NotInKeep, match="no version 7"):
        keep.text_at(job.id, 7)


def test_a_text_that_cannot_be_kept_is_refused(keep: Keep) -> None:
    with pytest.raises(Unkeepable, match="9 MB; a job file may have 8 MB"):
        keep.add_job("#" * 9_000_000)
    with pytest.raises(Unkeepable, match=r"U\+0000"):
        keep.add_job("a\0")
    assert keep.is_empty()


def test_what_is_measured_on_arrival_is_what_the_lay_follows(keep: Keep) -> None:
    """Noted once, it stands in the arrival and in the job's own text."""
    text = next(e.text for e in examples() if e.name == "bay-window")
    job = keep.add_job(text)
    flaw = FlawNoted(left="100", right="120", from_="1.2 m", to="1.3 m", what="knot")
    noted = replace(CHECKED, repeat_across="83 1/2", width="1365", flaws=(flaw,))
    measured = with_bolt(job.text, noted.cloth, noted.measured, noted.flaw_rows)
    after = keep.set_arrival(job.id, noted, text=measured, expected_version=job.version)
    read = read_job(after.text.encode()).value
    assert read is not None
    bolt = read.cloths[0].bolt
    assert bolt is not None
    assert (read.cloths[0].usable_width_mm, bolt.repeat_across_mm, bolt.lot) == (1365, 83.5, "3")
    assert [(f.u0_mm, f.v1_mm, f.what) for f in bolt.flaws] == [(100, 1300, "knot")]
    assert after.state == "arrived"
    assert after.arrival[0].repeat_across == "83 1/2"
