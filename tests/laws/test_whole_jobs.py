"""Any believable job goes through the stages: refused in plain words, or made; never a fault of the program."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator

import pypdf
from hypothesis import HealthCheck, given, settings

from squab.construct import construct
from squab.draw.figures import Figures
from squab.draw.sheets import all_sheets
from squab.draw.sheets_matching import matching_said
from squab.files.jobfile import read_job
from squab.findings import Finding, Severity
from squab.job import Job
from squab.stages import prepare, work
from tests.laws.draws import draws
from tests.laws.whole_jobs import whole_jobs

MILLIMETRES = re.compile(r"\d mm\b")
NONSENSE = re.compile(r"\bnan\b|\binf\b|\bNone\b|\d\.\d{4,}|\de-\d|\[\[|\{[a-z]|frozenset")


def findings_of(text: str) -> Iterator[Finding]:
    """Everything that is said of a job short of laying it."""
    read = read_job(text.encode(), name="job.toml")
    yield from read.findings
    if read.value is not None and not read.stops:
        yield from prepare(read.value).findings


@settings(
    max_examples=draws(40), deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large]
)
@given(whole_jobs())
def test_whole_jobs_are_told_in_plain_words_and_their_own_units(text: str) -> None:
    for finding in findings_of(text):
        said = finding.message + finding.hint
        assert finding.code not in ("CON-090", "LAY-011"), finding.text()
        assert finding.severity is not Severity.STOP or finding.hint, finding.text()
        assert not NONSENSE.search(said.replace("{ row", "")), finding.text()
        assert 'units = "in"' not in text or not MILLIMETRES.search(said), finding.text()


def read(text: str) -> Job:
    outcome = read_job(text.encode(), name="job.toml")
    assert not outcome.stops, [f.text() for f in outcome.findings]
    assert outcome.value is not None
    return outcome.value


NOTCH_BESIDE_A_PANEL_SEAM = """
[[cloth]]
id = "velvet"
usable_width = 720
pile = true
[[cushion]]
id = "one"
shape = "one-eared"
width = 1347
depth = 180
ear_width = 30
ear_depth = 124
hand = "right"
thickness = 147
size_is = "seat"
turned_over = true
zip = { place = "bottom", making = "two doubled", tape = 30 }
joins_at_corners = true
"""


def test_a_notch_a_hair_from_a_panel_seam_stands_on_both_parts() -> None:
    outcome = construct(read(NOTCH_BESIDE_A_PANEL_SEAM))
    assert outcome.value is not None, [f.text() for f in outcome.findings]


ZIP_PANEL_IN_PILE = """
[[cloth]]
id = "stripe"
usable_width = 1176
stripes = ["indigo 51", "linen 45"]
may_railroad = true
[[cloth]]
id = "velvet"
usable_width = 1135
pile = true
[[cushion]]
id = "one"
width = 892
depth = 208
thickness = 83
zip = { making = "two single", side = "SIDE" }
match = { sides_along = true }
zip_cloth = "velvet"
"""


def test_a_zip_panel_of_pile_runs_down_though_the_sides_are_turned() -> None:
    outcome = work(read(ZIP_PANEL_IN_PILE.replace("SIDE", "back")), seconds=0.3, trials=False)
    assert outcome.value is not None, [f.text() for f in outcome.findings]
    turns = {p.turn_deg for p in outcome.value.plans["velvet"].lay.placed}
    assert turns == {0}


def test_a_zip_panel_of_pile_on_a_turned_side_is_refused() -> None:
    job = ZIP_PANEL_IN_PILE.replace("SIDE", "left").replace("depth = 208", "depth = 700")
    assert "CON-043" in {f.code for f in construct(read(job)).findings}


SHRINKING = """
[[cloth]]
id = "loose"
usable_width = 819
shrink_warp = 3
shrink_weft = 2
shrinks_after_cutting = true
[[cushion]]
id = "one"
width = 1343
depth = 418
thickness = 60
"""


def test_panels_of_cloth_that_shrinks_after_cutting_are_seamed_to_the_width_it_will_have() -> None:
    outcome = prepare(read(SHRINKING))
    assert outcome.value is not None, [f.text() for f in outcome.findings]
    widest = max(p.outline[:, 0].max() - p.outline[:, 0].min() for p in outcome.value.problems[0].pieces)
    assert 700 < widest <= 819 * 0.98


NO_ROOM_FOR_THE_PRINT = """
[job]
knife_gap = 3
[[cloth]]
id = "print"
usable_width = 1029
repeat_across = 372
repeat_along = 246
drop = 82
[[cushion]]
id = "one"
shape = "trapezoid"
front = 606
back = 1003
depth = 275
thickness = 148
hidden = ["right", "back", "front"]
"""


def test_a_print_that_leaves_the_pieces_no_room_is_refused_with_a_way_out() -> None:
    # The top leaves the repeat 2 mm of play across the cloth, the boxing's longer part another 96 of 372:
    # either they agree and the lay is sound (work proves it), or there is none, and that is said.
    outcome = work(read(NO_ROOM_FOR_THE_PRINT), seconds=0.3, trials=False)
    refused = [f for f in outcome.findings if f.severity is Severity.STOP]
    assert outcome.value is None
    assert [f.code for f in refused] == ["LAY-011"]
    assert "joins_at_corners" in refused[0].hint


TWO_PINNED_IN_A_ROW = """
[cover.match]
row = "settle"
pin_across = "rust"
[[cloth]]
id = "s"
usable_width = 1370
stripes = ["indigo 40", "linen 16", "rust 24", "linen 16"]
[[cushion]]
id = "l"
name = "Left"
width = 640
depth = 560
thickness = 100
[[cushion]]
id = "r"
name = "Right"
width = 640
depth = 560
thickness = 100
"""


def test_two_of_a_row_that_cannot_both_stand_on_the_line_are_named_as_the_maker_does() -> None:
    found = [f for f in findings_of(TWO_PINNED_IN_A_ROW) if f.code == "MAT-007" and "beside" in f.message]
    assert len(found) == 1
    assert found[0].message.startswith("Left beside Right: given up, because the place asked for Left and")
    assert "leave out the row" in found[0].hint


SHRINK = "shrink_warp = 4\nshrink_weft = 2\nshrinks_after_cutting = true\n[[cushion]]"


def test_a_matched_band_that_all_but_fills_the_width_may_be_joined_where_the_stripe_stands_badly() -> None:
    outcome = work(read(TWO_PINNED_IN_A_ROW), seconds=0.5, trials=False)
    assert outcome.value is not None, [f.text() for f in outcome.findings]


def test_a_stripe_that_shrinks_with_its_cover_is_matched_as_it_will_be() -> None:
    text = TWO_PINNED_IN_A_ROW.replace("[[cushion]]", SHRINK, 1).replace(
        "thickness = 100", "thickness = 100\nturned_over = true"
    )
    text = text.replace("[cover.match]", "[cover]\nzip = { return = 100 }\n[cover.match]")
    outcome = work(read(text), seconds=0.5, trials=False)  # work itself proves the cover's drift as laid
    assert outcome.value is not None, [f.text() for f in outcome.findings]
    promised = {d.seam_id: d.drift_p_mm for d in outcome.value.match.drifts}
    assert promised["l.top.front"] is not None
    assert max(map(abs, promised["l.top.front"])) < 0.01


ROUNDED_AND_CHECKED = """
[job]
name = "Checked stool"
[[cloth]]
id = "check"
usable_width = 1400
repeat_across = 76
repeat_along = 76
mirrored = true
half_turn_same = true
[[cushion]]
id = "stool"
width = 560
depth = 360
thickness = 64
size_is = "finished"
radius = 50
fill = "feather"
"""


def test_a_rounded_front_that_meets_along_its_straight_is_not_quoted_as_one_that_does_not() -> None:
    outcome = work(read(ROUNDED_AND_CHECKED), seconds=0.3, trials=False)
    assert outcome.value is not None
    job = outcome.value.job
    said = dict(matching_said(outcome.value, job.cushions[0], Figures.of(job)))
    assert "the front" in said["Meets about the middle only at"]
    assert "the front" not in said.get("Will not meet at", "")


def test_a_cut_list_without_blocks_of_foam_has_no_table_of_them() -> None:
    outcome = work(read(ROUNDED_AND_CHECKED), seconds=0.3, trials=False)
    assert outcome.value is not None
    text = pypdf.PdfReader(io.BytesIO(all_sheets(outcome.value)["cut-list.pdf"])).pages[0].extract_text()
    assert "Zips" in text
    assert "Wadding, each face" not in text
