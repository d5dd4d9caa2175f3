# ruff: noqa: E501  one case, one line
"""Editing a job's text by key path: what changes, and that nothing else does."""

from __future__ import annotations

import difflib
import time
import tomllib
from pathlib import Path
from typing import Any

import pytest

from squab.desk import EditError, appended, edited, opened, removed, with_value

BAY = (Path(__file__).parents[2] / "examples" / "bay-window.toml").read_text(encoding="utf-8")


def changes(before: str, after: str) -> list[str]:
    """The lines taken out and put in."""
    lines = difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
    return [x for x in lines if x[:3] not in ("---", "+++") and not x.startswith("@@")]


@pytest.mark.parametrize(
    ("path", "typed", "put_in"),
    [
        ("cushion[0].front", "24 3/4", 'front = "24 3/4"'),
        ("cushion[0].front", "24 3/", 'front = "24 3/"'),
        ("cushion[0].front", "24", "front = 24"),
        ("cushion[0].front", "24.50", "front = 24.50"),
        ("cushion[0].front", "024", 'front = "024"'),
        ("cushion[0].front", "1e3", 'front = "1e3"'),
        ("cushion[0].front", "9" * 40, f'front = "{"9" * 40}"'),
        ("cushion[0].name", "24", 'name = "24"'),
        ("job.date", "2032-01-31", "date = 2032-01-31"),
        ("job.date", "soon", 'date = "soon"'),
        ("prices.hour", "34,500", 'hour = "34,500"'),
    ],
)
def test_one_line_changes_and_a_fraction_stays_as_typed(path: str, typed: str, put_in: str) -> None:
    """A number is a number only where it plainly is one; a name that looks like one stays a text."""
    out, into = changes(BAY, edited(BAY, path, typed))
    assert out[0] == "-"
    assert into == f"+{put_in}"
    assert opened(edited(BAY, path, typed), check=False).typed[path] == typed


@pytest.mark.parametrize(
    ("path", "typed", "line"),
    [
        ("cushion[0].clearance.left", "5", "clearance = { left = 5, right = 3 }"),
        ("cushion[0].clearance.left", "", "clearance = { right = 3 }"),
        ("cushion[0].clearance.front", "2", "clearance = { left = 4, right = 3, front = 2 }"),
        ("cushion[0].piping.cord", "5", "piping = { cord = 5 }"),
        ("cushion[0].hidden", "back, left", 'hidden = ["back", "left"]      # against wall and neighbour; only the front is seen'),
        ("cushion[0].hidden", "none", "hidden = []      # against wall and neighbour; only the front is seen"),
        ("cushion[1].match.pin_across", "sage", 'match = { pin_across = "sage" }      # the centre of the indigo stripe stands on its centre line'),
        ("cushion[0].turned_over", "yes", "turned_over = true"),
        ("cover.piping", "none", 'piping = { edges = "none", cord = 4 }'),
        ("cloth[0].bolt.flaws[0].left", "10", "bolt = { flaws = [{ left = 10 }] }"),
        ("cloth[0].stripes", "indigo 40\nlinen 3,5", 'stripes = ["indigo 40", "linen 3,5"]   # one repeat, left to right'),
        ("cloth[0].stripes[1]", "linen 12", 'stripes = ["indigo 36", "linen 12", "sage 24", "linen 15"]   # one repeat, left to right'),
        ("job.customer.name", '<script>"x"</script>', 'customer = { name = "<script>\\"x\\"</script>", address = "The Old School, Nether Wickle" }'),
    ],
)  # fmt: skip
def test_tables_within_a_line(path: str, typed: str, line: str) -> None:
    """Notes behind a value stay; tables on the way are made; a bare value and its table are one."""
    into = [x for x in changes(BAY, edited(BAY, path, typed)) if x.startswith("+")]
    assert into == [f"+{line}"]


def test_a_bare_value_becomes_the_table_it_stands_for() -> None:
    text = '[[cushion]]\npiping = "both" # piped\n'
    assert edited(text, "cushion[0].piping.cord", "5") == (
        '[[cushion]]\npiping = { edges = "both", cord = 5 } # piped\n'
    )
    assert edited(text, "cushion[0].piping.edges", "top") == '[[cushion]]\npiping = { edges = "top" } # piped\n'
    assert removed(text, "cushion[0].piping.edges") == "[[cushion]]\n"


def test_an_empty_field_takes_its_key_out_and_with_it_an_empty_table() -> None:
    text = '[job]\nname = "a"\ncustomer = { name = "b" }\n\n[cover.match]\nrow = "bay"\n'
    assert edited(text, "job.customer.name", " ") == '[job]\nname = "a"\n\n[cover.match]\nrow = "bay"\n'
    assert "row" not in edited(text, "cover.match.row", "")
    assert edited(text, "job.notes", "") == text


def test_a_note_above_the_next_thing_stays_above_it() -> None:
    """A key goes to the end of its own table, not below the note that speaks of the next."""
    text = '[[cushion]]\nid = "a"\n\n# The next one.\n[[cushion]]\nid = "b"\n'
    assert edited(text, "cushion[0].name", "A") == (
        '[[cushion]]\nid = "a"\nname = "A"\n\n# The next one.\n[[cushion]]\nid = "b"\n'
    )
    assert removed(text, "cushion[0]") == '\n# The next one.\n[[cushion]]\nid = "b"\n'
    assert removed(text, "cushion[1]") == '[[cushion]]\nid = "a"\n\n# The next one.\n'


def test_a_new_one_goes_after_the_last_of_its_kind() -> None:
    made = appended(BAY, "cushion", 'id = "stool"\nwidth = 300\n')
    assert [c["id"] for c in tomllib.loads(made)["cushion"]] == ["left", "middle", "right", "stool"]
    assert made.index("stool") < made.index("[prices]")
    assert made.replace('\n[[cushion]]\nid = "stool"\nwidth = 300\n', "") == BAY
    assert appended("", "cloth", '[[cloth]]\nid = "a"') == '[[cloth]]\nid = "a"\n'
    with pytest.raises(EditError, match="one \\[\\[cloth\\]\\]"):
        appended(BAY, "cloth", 'id = "a"\n[job]\nname = "b"')


def test_missing_tables_are_made() -> None:
    """The job's own table comes first, others last."""
    assert edited("", "job.name", "Seat") == '[job]\nname = "Seat"\n'
    assert edited('# a note\n[[cloth]]\nid = "a"\n', "job.name", "Seat") == (
        '[job]\nname = "Seat"\n\n# a note\n[[cloth]]\nid = "a"\n'
    )
    assert edited("[job]\n", "prices.hour", "30") == "[job]\n\n[prices]\nhour = 30\n"


@pytest.mark.parametrize(
    ("text", "path", "typed", "expected"),
    [
        ('job.name = "a"\njob.units = "mm"\n', "job.name", "b", {"job": {"name": "b", "units": "mm"}}),
        ('job = { name = "a" }\n', "job.units", "in", {"job": {"name": "a", "units": "in"}}),
        ('cushion = [{ id = "a" }, { id = "b" }]\n', "cushion[1].width", "5", {"cushion": [{"id": "a"}, {"id": "b", "width": 5}]}),
        ('[[cushion]]\nid = "a"\n[cushion.match]\nrow = "x"\n[[cushion]]\nid = "b"\n', "cushion[0].name", "n",
         {"cushion": [{"id": "a", "match": {"row": "x"}, "name": "n"}, {"id": "b"}]}),
        ('[[cushion]]\nid = "a"\n[cushion.match]\nrow = "x"\n[[cushion]]\nid = "b"\n', "cushion[0].match.front", "prefer",
         {"cushion": [{"id": "a", "match": {"row": "x", "front": "prefer"}}, {"id": "b"}]}),
        ('[[cushion]]\nid = "a"\n[job]\nname = "j"\n[cushion.match]\nrow = "x"\n', "cushion[0].width", "5",
         {"cushion": [{"id": "a", "match": {"row": "x"}, "width": 5}], "job": {"name": "j"}}),
        ('[cover.match]\nrow = "x"\n[job]\n[cover]\nfit = 3\n', "cover.fit", "4", {"cover": {"match": {"row": "x"}, "fit": 4}, "job": {}}),
        ('[[cushion]]\nmatch.row = "x"\nid = "a"\n', "cushion[0].match.front", "must", {"cushion": [{"match": {"row": "x", "front": "must"}, "id": "a"}]}),
        ('[[cushion]]\nid = "a"\n[[cushion.run]]\nside = "front"\nlength = 5\n[[cushion.run]]\nside = "back"\n', "cushion[0].run[1].length", "6",
         {"cushion": [{"id": "a", "run": [{"side": "front", "length": 5}, {"side": "back", "length": 6}]}]}),
        ('[job]\nnotes = """\n[[cushion]]\nnot = "one"\n"""\n[[cushion]]\nid = "a"\n', "cushion[0].id", "b",
         {"job": {"notes": '[[cushion]]\nnot = "one"\n'}, "cushion": [{"id": "b"}]}),
        ('[[cushion]]\nhidden = [\n  "a", # [[cushion]]\n  "b",\n]\nid = "x"\n', "cushion[0].id", "y", {"cushion": [{"hidden": ["a", "b"], "id": "y"}]}),
    ],
)  # fmt: skip
def test_however_the_text_is_written(text: str, path: str, typed: str, expected: dict[str, Any]) -> None:
    """Dotted keys, lists at the root, tables out of order, brackets within texts: the same edit."""
    assert tomllib.loads(edited(text, path, typed)) == expected


def test_the_rest_stays_byte_for_byte() -> None:
    """Odd spacing, tabs and Windows line ends elsewhere and in the same table are as they were."""
    text = '\ufeff[job]\r\nname   =  "a"\t# x\r\n\r\n\r\n[[cushion]]\r\n  id="a"\r\n  width =  "3 1/2"\r\n'
    assert edited(text, "cushion[0].width", "4") == text.replace('"3 1/2"', "4")
    assert edited(text, "job.reference", "R").replace('reference = "R"\r\n', "") == text


def test_notes_of_several_lines_come_back() -> None:
    for notes in ("one\ntwo", "\nbegins with a line", 'quotes """ and \\ too', "tab\tand \u2019"):
        made = edited(BAY, "job.notes", notes)
        assert tomllib.loads(made)["job"]["notes"] == notes
    assert tomllib.loads(edited(BAY, "job.notes", "a\r\nb"))["job"]["notes"] == "a\nb"


def test_what_cannot_be_edited_is_said() -> None:
    with pytest.raises(EditError, match="names no key"):
        edited(BAY, "cushion[0].nosuch", "1")
    with pytest.raises(EditError, match="names no key"):
        edited(BAY, "cushion[0].width.x", "1")
    with pytest.raises(EditError, match="no key path"):
        edited(BAY, "cushion 0", "1")
    with pytest.raises(EditError, match="holds several keys"):
        edited(BAY, "cushion[0].run", "1")
    with pytest.raises(EditError, match=r"cushion\[7\].id"):
        edited(BAY, "cushion[7].id", "x")
    broken = BAY.replace('name = "Middle"', 'name = "Middle')
    with pytest.raises(EditError, match="line 60: a character that cannot stand here") as caught:
        edited(broken, "cushion[1].width", "5")
    assert caught.value.finding is not None
    assert caught.value.finding.line == 60
    assert "front = 5\n" in edited(broken, "cushion[0].front", "5")


def test_a_value_of_its_own_kind_is_set() -> None:
    made = with_value(BAY, "cushion[0].match", {"sides_along": True, "row": "bay"})
    assert tomllib.loads(made)["cushion"][0]["match"] == {"sides_along": True, "row": "bay"}


def test_ten_thousand_cushions_are_edited_in_bounded_time() -> None:
    """Only the cushion's own stretch is read anew."""
    head, one = BAY.split("[[cushion]]")[:2]
    text = head + "".join(f"[[cushion]]{one}" for _ in range(10_000))
    began = time.process_time()
    made = edited(text, "cushion[9999].front", "5")
    assert time.process_time() - began < 15
    assert len(made) == len(text) - len("513.6") + 1


@pytest.mark.parametrize(
    ("path", "typed", "line"),
    [
        ("cloth[0].price_per_m", "24,50", "price_per_m = 24.50"),
        ("cloth[0].price_per_m", " £24.50 ", "price_per_m = 24.50"),
        ("cloth[0].price_per_m", "24,5 €", "price_per_m = 24.5"),
        ("prices.tax_pct", "17,5", "tax_pct = 17.5"),
        ("cloth[0].price_per_m", "1,200", 'price_per_m = "1,200"'),
        ("cloth[0].price_per_m", "£ soon", 'price_per_m = "£ soon"'),
        ("cloth[0].usable_width", "137,5 cm", 'usable_width = "137,5 cm"'),
        ("cushion[0].width", "600,5", 'width = "600,5"'),
    ],
)
def test_an_amount_is_read_with_its_comma_and_its_sign(path: str, typed: str, line: str) -> None:
    """A comma before three figures reads two ways and is asked about; a length stays as it was typed."""
    assert line in edited('[[cloth]]\nid = "a"\n[[cushion]]\nid = "b"\n[prices]\nhour = 30\n', path, typed)
