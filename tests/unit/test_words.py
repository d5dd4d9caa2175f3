"""The words of both shores: marked words change, everything else stays."""

from __future__ import annotations

import pytest

from squab.words import WORDS, say, word


@pytest.mark.parametrize(
    ("code", "us", "uk"),
    [
        ("boxing", "boxing", "border"),
        ("zip panel", "zipper panel", "zip panel"),
        ("piping", "welt", "piping"),
        ("clip", "clip", "snip"),
        ("nap", "nap", "pile"),
        ("selvage", "selvage", "selvedge"),
        ("bolt", "bolt", "roll"),
        ("wrap", "batting", "wadding"),
    ],
)
def test_each_shore_reads_its_own_word(code: str, us: str, uk: str) -> None:
    assert (word(code, "us"), word(code, "uk")) == (us, uk)


def test_plurals_and_capitals_are_kept() -> None:
    assert say("[[Clips]] every {every}; [[Bolts]], [[BOXING]], [[zip panels]].", "uk") == (
        "Snips every {every}; Rolls, BORDER, zip panels."
    )
    assert word("notches", "us") == "notches"


def test_text_without_marks_stays_as_it_is() -> None:
    assert say("clip the boxing {clip}", "uk") == "clip the boxing {clip}"


def test_a_word_outside_the_table_is_refused() -> None:
    with pytest.raises(KeyError, match="gusset"):
        say("the [[gusset]]", "us")


def test_every_word_of_the_table_comes_back_for_both_shores() -> None:
    for code in WORDS:
        for shore in ("us", "uk"):
            assert say(f"[[{code}]]", shore) == word(code, shore)
