# ruff: noqa: E501  one case, one line
"""The job file: what it says, and every way in which it can be wrong."""

from __future__ import annotations

import time
from decimal import Decimal
from pathlib import Path

import pytest

from squab.cloth import Cloth
from squab.files import read_job
from squab.files.reading import LETTERS
from squab.findings import Finding, Severity
from squab.job import Cushion, Job
from squab.units import IMPERIAL

EXAMPLES = sorted((Path(__file__).parents[3] / "examples").glob("*.toml"))

CLOTH = '[[cloth]]\nid = "linen"\nusable_width = 1370\n'
CUSHION = '[[cushion]]\nid = "seat"\nsize_is = "fill"\nwidth = 560\ndepth = 510\nthickness = 100\n'
PLAIN = CLOTH + CUSHION


def _job(text: str) -> Job:
    found = read_job(text.encode())
    assert found.value is not None, [f.text() for f in found.findings]
    return found.value


def _cushion(extra: str, head: str = "") -> Cushion:
    return _job(head + PLAIN + extra).cushions[0]


def _cloth(extra: str) -> Cloth:
    return _job(CLOTH + extra + CUSHION).cloths[0]


def _wrong(text: str) -> tuple[Finding, ...]:
    found = read_job(text.encode())
    assert found.value is None
    stops = tuple(f for f in found.findings if f.severity is Severity.STOP)
    assert stops
    assert all(f.message and f.hint and f.place for f in stops)
    return stops


def _one(text: str, code: str) -> Finding:
    stops = _wrong(text)
    assert [f.code for f in stops] == [code], [f.text() for f in stops]
    return stops[0]


# --- what it says ---


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_every_example_reads_without_a_finding(path: Path) -> None:
    """The examples teach the format, so nothing is wrong with them."""
    found = read_job(path.read_bytes(), name=path.stem)
    assert found.findings == ()
    assert found.value is not None


def test_there_are_examples_enough() -> None:
    """Six jobs, among them one with a measured bolt."""
    assert len(EXAMPLES) >= 6
    jobs = [read_job(p.read_bytes()).value for p in EXAMPLES]
    assert any(c.bolt is not None and c.bolt.stripe_at_u_mm is not None for j in jobs if j for c in j.cloths)


def test_six_lines_are_a_job() -> None:
    """Everything else has a default; they are those of the records."""
    job = _job(PLAIN)
    assert job.name == "job file"
    assert job.cushions[0].name == "seat"
    assert job.cushions[0].cover.allowance_mm == 12.0
    assert job.words == "uk"
    assert job.paper == "a4"
    assert not job.cushions[0].outline.is_seen("back")


def test_an_inch_job_is_an_inch_workroom() -> None:
    """Half-inch allowances, inch tape and cord, letter paper, US words, sheets in sixteenths."""
    job = _job('[job]\nunits = "in"\n[[cloth]]\nid = "x"\nusable_width = "53 1/2"\n'
               '[[cushion]]\nid = "s"\nsize_is = "seat"\nwidth = 24\ndepth = 22\nthickness = 4\n')  # fmt: skip
    cushion = job.cushions[0]
    assert cushion.cover.allowance_mm == 12.7
    assert cushion.cover.zip.tape_mm == 31.75
    assert cushion.cover.piping.cord_mm == pytest.approx(25.4 * 5 / 32)
    assert (job.style, job.words, job.paper) == (IMPERIAL, "us", "letter")
    assert job.cloths[0].sold_by_mm == pytest.approx(914.4 / 8)
    assert cushion.clearance_mm == {"left": 6.35, "right": 6.35}
    assert cushion.outline.bounds() == pytest.approx((0, 0, 609.6, 558.8))


def test_what_the_maker_typed_is_kept() -> None:
    """24 stays 24, 3-3/4" stays 3-3/4", 24.50 stays 24.50."""
    typed = dict(_cushion("", "").typed)
    assert typed == {"width": "560", "depth": "510", "thickness": "100"}
    text = (
        CLOTH + '[[cushion]]\nid = "s"\nsize_is = "fill"\nwidth = 560.50\ndepth = "20 1/8 in"\nthickness = "3-3/4\\""\n'
    )
    job = _job(text)
    assert dict(job.cushions[0].typed) == {"width": "560.50", "depth": "20 1/8 in", "thickness": '3-3/4"'}
    assert job.cushions[0].thickness_mm == 95.25


def test_a_cushion_overrides_the_make_of_cover() -> None:
    """What [cover] says holds until a cushion says otherwise, key by key."""
    head = '[cover]\nallowance = 10\npiping = { cord = 6, cut = "bias" }\n[cover.match]\nsides = "must"\n'
    cover = _cushion('allowance = 15\npiping = "top"\nmatch = { front = "ignore" }\n', head).cover
    assert (cover.allowance_mm, cover.piping.cord_mm, cover.piping.cut, cover.piping.edges) == (15, 6, "bias", "top")
    assert (cover.matching.sides, cover.matching.front, cover.matching.back) == ("must", "ignore", "prefer")


def test_words_with_spaces_become_the_records_words() -> None:
    """Choices are read with spaces, hyphens or underlines, in either case."""
    cushion = _cushion('zip = { making = "Fold and split" }\nfill = "soft foam"\nthickness_is = "seam"\n')
    assert cushion.cover.zip.making == "fold_and_split"
    assert cushion.fill.kind == "soft_foam"
    assert _job('[job]\nmarked = "back_up"\n' + PLAIN).marked == "back_up"


@pytest.mark.parametrize(
    ("keys", "area"),
    [
        ('shape = "rectangle"\nwidth = 500\ndepth = 400\nradius = 30', 200_000 - 4 * 900 * (1 - 0.7853981634)),
        ('front = 430\nback = 370\ndepth = 405', 400 * 405),
        ('shape = "L"\nwidth = 900\ndepth = 700\nout_width = 300\nout_depth = 250\nout_corner = "front left"', 555_000),
        ('shape = "T"\nwidth = 500\ndepth = 600\near_width = 80\near_depth = 130', 320_800),
        ('shape = "one-eared"\nhand = "left"\nwidth = 620\ndepth = 600\near_width = 80\near_depth = 130', 382_400),
        ("diameter = 360", 101_787.602),
        ('shape = "D"\nwidth = 400\ndepth = 200', 62_831.853),
        ('hidden = []\nzip = { side = "b" }\nrun = [{ side = "f", length = 600, turn = 90 }, { side = "r", length = 400, turn = 90 }, { side = "b", length = 600, turn = 90 }, { side = "l" }]', 240_000),
        ('hidden = []\nzip = { side = "b" }\nrun = [{ side = "f", to = [600, 0] }, { side = "r", to = ["60 cm", 400] }, { side = "b", to = [0, 400] }, { side = "l" }]', 240_000),
    ],
)  # fmt: skip
def test_every_shape(keys: str, area: float) -> None:
    """Each shape is told by its own numbers."""
    cushion = _job(CLOTH + f'[[cushion]]\nid = "s"\nsize_is = "fill"\nthickness = 80\n{keys}\n').cushions[0]
    assert cushion.outline.area == pytest.approx(area)


def test_left_as_you_sit_is_right_as_you_face() -> None:
    """The record's hand is as one faces the seat."""
    keys = 'shape = "one-eared"\nwidth = 620\ndepth = 600\near_width = 80\near_depth = 130\nthickness = 100\nsize_is = "fill"\n'
    facing = _job(CLOTH + f'[[cushion]]\nid = "s"\nhand = "right"\n{keys}').cushions[0]
    sitting = _job(CLOTH + f'[[cushion]]\nid = "s"\nhand = "left"\nhand_seen = "sitting"\n{keys}').cushions[0]
    assert facing.hand == sitting.hand == "right"
    assert facing.outline == sitting.outline


def test_stripes_give_the_pattern_and_its_lines() -> None:
    """Widths, colours, mirror axes worked out, and lines by the stripes' names."""
    pattern = _cloth(
        'stripes = ["indigo 40", "edge #ffffff 10", { colour = "sage", width = "2.6 cm" }, "indigo 20"]\n'
    ).pattern
    assert pattern.kind == "warp_stripe"
    assert (pattern.repeat_across_mm, pattern.repeat_along_mm) == (96.0, None)
    assert [s.name for s in pattern.stripes] == ["indigo", "edge", "sage", "indigo"]
    assert pattern.line_mm("centre of sage") == 63.0
    assert pattern.line_mm("centre of indigo 2") == 86.0
    assert pattern.line_mm("right edge of edge") == 50.0
    assert not pattern.is_even


def test_stripes_may_run_across() -> None:
    """A weft stripe repeats along the bolt and not across it."""
    pattern = _cloth('stripes = ["indigo 40", "chalk 10"]\nstripes_run = "across"\n').pattern
    assert (pattern.kind, pattern.repeat_across_mm, pattern.repeat_along_mm) == ("weft_stripe", None, 50.0)
    assert pattern.mirror_axes == (20.0, 45.0)


def test_a_print_with_a_half_drop() -> None:
    """Half of the repeat along; its motif stands at the centre of the pattern's frame."""
    pattern = _cloth(
        'repeat_across = 340\nrepeat_along = 320\ndrop = "half"\nmotif = "leaf"\nlines = { stem = -40 }\n'
    ).pattern
    assert (pattern.kind, pattern.drop_mm) == ("print", 160.0)
    assert pattern.motif is not None
    assert (pattern.motif.shape, pattern.motif.across_mm) == ("leaf", 170.0)
    assert (pattern.line_mm("motif"), pattern.line_mm("stem")) == (0.0, -40.0)


def test_a_stripe_is_pinned_by_its_name() -> None:
    """`indigo` means the centre of the indigo stripe."""
    text = CLOTH + 'stripes = ["indigo 40", "chalk 10"]\n' + CUSHION + 'match = { pin_across = "Indigo" }\n'
    assert _job(text).cushions[0].cover.matching.pin_across == "centre of indigo"


def test_a_bolt_is_measured_to_any_line() -> None:
    """300 mm to the centre of a 40 mm stripe puts the layout's start at 280, which is 30 in a repeat of 50."""
    bolt = _cloth(
        'stripes = ["indigo 40", "chalk 10"]\nbolt = { stripe_at = 300, measured_line = "indigo", lot = "7" }\n'
    ).bolt
    assert bolt is not None
    assert bolt.stripe_at_u_mm == pytest.approx(30.0)
    motif = _cloth("repeat_across = 340\nrepeat_along = 320\nbolt = { stripe_at = 100, print_at = 50 }\n").bolt
    assert motif is not None
    assert (motif.stripe_at_u_mm, motif.print_at_v_mm) == (100.0, 50.0)


def test_a_yards_price_is_a_metres_price() -> None:
    """One yard is 0.9144 m, so 9.144 a yard is 10 a metre."""
    assert _cloth("price_per_yd = 9.144\n").price_per_m == Decimal(10)
    assert _cloth("price_per_m = 24.50\n").price_per_m == Decimal("24.50")


def test_pile_is_one_way() -> None:
    """Nobody has to say it twice."""
    assert _cloth("pile = true\n").one_way


def test_the_price_list_is_all_settings() -> None:
    """Amounts are exact decimals; minutes and factors by name."""
    prices = _job(
        PLAIN
        + '[prices]\ncurrency = "usd"\nhour = 41.10\ntax_pct = 6.25\n[prices.minutes]\nzip_panel = 15\n[prices.factors]\npile = 1.4\n'
    ).prices
    assert (prices.currency, prices.hour, prices.tax_pct) == ("USD", Decimal("41.10"), Decimal("6.25"))
    assert (prices.minutes.zip_panel, prices.minutes.tie, prices.factors.pile) == (15.0, 4.0, 1.4)


def test_seats_are_asked_for_their_clearances() -> None:
    """Named sides win over all; unsaid clearances are the usual ones, and that is said."""
    cushion = _cushion("clearance = { all = 4, right = 8 }\n", "").clearance_mm
    assert cushion == {}  # the numbers are the fill's: nothing is taken off, and a warning says so
    seat = PLAIN.replace('"fill"', '"seat"')
    assert _job(seat + "clearance = { all = 4, right = 8 }\n").cushions[0].clearance_mm == {"left": 4, "right": 8}
    assert _job(seat + "clearance = 0\n").cushions[0].clearance_mm == {"left": 0, "right": 0}
    found = read_job(seat.encode())
    assert [(f.code, f.severity) for f in found.findings] == [("JOB-028", Severity.NOTE)]


def test_it_is_asked_what_the_numbers_measure() -> None:
    """Once for the whole job, naming the cushions; said once for the job it is quiet."""
    text = PLAIN.replace('size_is = "fill"\n', "")
    found = read_job(text.encode())
    assert [(f.code, f.severity) for f in found.findings] == [("JOB-027", Severity.WARN)]
    assert "cushion seat" in found.findings[0].place
    assert found.value is not None
    assert read_job(('[job]\nsize_is = "old cover"\n' + text).encode()).findings == ()


# --- what is wrong with it ---


def test_everything_wrong_is_told_in_one_pass_with_its_line() -> None:
    """Unknown keys, wrong types, impossible numbers and broken references: all at once, in order of lines."""
    text = """[job]
unit = "mm"
outdoor = "yes"
[[cloth]]
id = "linen"
usable_width = -1370
colour = "indogo"
stripes = ["indigo 40", "chalk ten"]
[[cushion]]
id = "seat"
width = "3 3/"
depth = inf
thickness = 0
panel_cloth = "silk"
piping = { cord = 4, colour = "red" }
count = 2.5
"""
    found = _wrong(text)
    assert [(f.line, f.code) for f in found] == [
        (2, "JOB-010"), (3, "JOB-011"), (6, "JOB-012"), (7, "JOB-016"), (8, "JOB-029"), (11, "JOB-012"), (12, "JOB-012"),
        (13, "JOB-013"), (14, "JOB-021"), (15, "JOB-010"), (16, "JOB-011"),
    ]  # fmt: skip
    assert "did you mean `units`?" in found[0].hint
    assert found[5].message.split("\n")[1:] == ["    3 3/", "       ^"]


@pytest.mark.parametrize(("called", "meant"), [("round", "disc"), ("Circle", "disc"), ("square", "rectangle")])
def test_a_shape_by_its_everyday_name_is_told_ours_not_what_is_spelled_alike(called: str, meant: str) -> None:
    """`round` is spelled most like `run`, which is quite another shape."""
    found = read_job(f'[[cushion]]\nid = "a"\nshape = "{called}"\nthickness = 50\n'.encode())
    hints = [f.hint for f in found.findings if f.path.endswith("shape")]
    assert hints == [f'did you mean "{meant}"?']


def test_a_key_of_a_table_is_sent_where_it_belongs() -> None:
    """`cord` beside `piping` belongs inside it."""
    assert "piping = { cord = ... }" in _one(PLAIN + "cord = 4\n", "JOB-010").hint


@pytest.mark.parametrize(
    "value", ["0", "-5", "nan", "inf", "-inf", '"0 mm"', '"-5"', "1e400", "1e-300", '"99999 m"', "0.0"]
)
def test_impossible_sizes(value: str) -> None:
    """Nought, negative, infinite, NaN, too small, too large."""
    found = _one(PLAIN.replace("width = 560", f"width = {value}"), "JOB-013" if value in ("0", '"0 mm"', "1e-300", '"99999 m"', "0.0") else "JOB-012")  # fmt: skip
    assert "`width`" in found.message
    assert found.line == 7


@pytest.mark.parametrize("value", ["24", '"24"', '"23 1/2"', '"23½"', '"0,6"'])
def test_a_number_in_the_wrong_unit_is_hinted_at(value: str) -> None:
    """24 in a job of millimetres is a cushion of nearly an inch, written as a fraction as well."""
    found = _one(PLAIN.replace("width = 560", f"width = {value}"), "JOB-013")
    typed = value.strip('"')
    assert f"{typed} mm; allowed is 40 mm to 20 m" in found.message
    assert f"{typed} is read in mm" in found.hint
    assert "write the unit beside it" in found.hint
    assert "is read in" not in _one(PLAIN.replace("width = 560", 'width = "1 in"'), "JOB-013").hint


def test_flaws_of_any_shape() -> None:
    """By four edges, by a middle and a radius, by corners in any unit."""
    flaws = (
        "[{ left = 5, right = 15, from = 1, to = 3 }, { middle = [300, '1.2 m'], radius = '2 cm', what = 'burn' },"
        " { outline = [[10, 40], [30, 0], [0, 0]], what = 'tear' }]"
    )
    outcome = read_job((CLOTH + f"bolt = {{ flaws = {flaws} }}\n" + CUSHION).encode())
    assert outcome.value is not None, outcome.findings
    bolt = outcome.value.cloths[0].bolt
    assert bolt is not None
    assert [(f.what, len(f.corners)) for f in bolt.flaws] == [("flaw", 4), ("burn", 48), ("tear", 3)]
    assert (bolt.flaws[1].u0_mm, bolt.flaws[1].v1_mm) == pytest.approx((280.0, 1220.0))
    assert (bolt.flaws[2].u1_mm, bolt.flaws[2].v1_mm) == (30.0, 40.0)


def test_stripes_that_do_not_add_up_name_their_sum() -> None:
    """36 + 9 + 24 is 69, and the label says 84."""
    found = _one(CLOTH + 'stripes = ["indigo 36", "linen 9", "sage 24"]\nrepeat = 84\n' + CUSHION, "JOB-022")
    assert "add up to 69 mm, but the repeat is 84 mm: they are 15 mm short" in found.message
    assert found.line == 4


def test_an_even_stripe_that_is_not() -> None:
    """What the maker believes and what the widths say must agree."""
    found = _one(CLOTH + 'stripes = ["indigo 36", "linen 9", "sage 24"]\neven = true\n' + CUSHION, "JOB-023")
    assert "does not read the same both ways" in found.message


@pytest.mark.parametrize(
    ("extra", "code", "word"),
    [
        ('even = true\n', "JOB-030", "no `stripes`"),
        ('drop = "half"\n', "JOB-030", "no repeat"),
        ('repeat_across = 300\n', "JOB-015", "repeat_along"),
        ('stripes = ["red 4", "blue 4"]\ndrop = 4\n', "JOB-030", "no `drop`"),
        ('stripes = ["red 4", "red 4"]\n', "JOB-030", "one colour"),
        ('repeat_across = 300\nrepeat_along = 300\ndrop = 300\n', "JOB-013", "drop"),
        ('pile = true\none_way = false\n', "JOB-030", "pile"),
        ('price_per_m = 4\nprice_per_yd = 4\n', "JOB-017", "yard"),
        ('stripes = ["red 4", "blue 4"]\nbolt = { measured_line = "green", stripe_at = 4 }\n', "JOB-024", "green"),
        ('repeat_across = 300\nrepeat_along = 300\nbolt = { repeat_across = 360 }\n', "JOB-013", "tenth"),
        ('bolt = { flaws = [{ left = 5, right = 4, from = 1, to = 2 }] }\n', "JOB-013", "no area"),
        ('bolt = { flaws = [{ left = 5, right = 9 }] }\n', "JOB-015", "no `from` and no `to`"),
        ('bolt = { flaws = [{ radius = 9 }] }\n', "JOB-015", "no `middle`"),
        ('bolt = { flaws = [{ outline = [[0, 0], [9, 9]] }] }\n', "JOB-011", "list of 3"),
        ('bolt = { flaws = [{ outline = [[0, 0], [9, 9], [9, 0], [0, 9]] }] }\n', "JOB-013", "crosses itself"),
        ('stripes = []\n', "JOB-011", "list"),
        ('shrink_warp = 45\n', "JOB-013", "-10 to 30"),
    ],
)  # fmt: skip
def test_cloths_that_contradict_themselves(extra: str, code: str, word: str) -> None:
    """Each says what does not go together."""
    assert word in _one(CLOTH + extra + CUSHION, code).message


@pytest.mark.parametrize(
    ("extra", "code", "word"),
    [
        ('shape = "rectangle"\ndiameter = 300\n', "JOB-018", "diameter"), ('shape = "disc"\n', "JOB-015", "diameter"),
        ('shape = "octagon"\n', "JOB-014", "octagon"), ('mitred = ["lefft"]\nmatch = { row = "a" }\n', "JOB-025", "lefft"),
        ('zip = { side = "top" }\n', "JOB-025", "top"), ('hidden = ["behind"]\n', "JOB-025", "behind"),
        ('radius = 260\n', "JOB-102", "too large"), ('match = { pin_across = "indigo" }\n', "JOB-024", "pin_across"),
        ('zip_cloth = "silk"\n', "JOB-021", "silk"), ('piping = 4\n', "JOB-011", "piping"), ('ties = 99\n', "JOB-013", "99"),
        ('notes = "x"\n', "JOB-010", "notes"), ('[prices]\ncurrency = "pounds"\n', "JOB-014", "pounds"),
        ('[prices]\nround_to = 0\n', "JOB-013", "round_to"), ('[cloth]\n', "JOB-004", "second time"),
        ('[[prices]]\n', "JOB-011", "only one"), ('[job]\nparts_of_inch = 12\n', "JOB-014", "12"),
        ('[job]\ndate = "soon"\n', "JOB-011", "soon"), ('name = "a\\u0007b"\n', "JOB-013", "cannot be printed"),
    ],
)  # fmt: skip
def test_cushions_that_contradict_themselves(extra: str, code: str, word: str) -> None:
    """Each names the key and shows what would do."""
    stops = _wrong(PLAIN + extra)
    assert code in {f.code for f in stops}
    assert word in " ".join(f.message for f in stops)


def test_two_things_with_one_id() -> None:
    """The second says where the first is."""
    found = _one(PLAIN + CUSHION, "JOB-020")
    assert "the first is on line 5" in found.message
    assert found.line == 11
    _one(CLOTH + PLAIN, "JOB-020")


def test_an_ear_needs_a_hand() -> None:
    """It is never guessed."""
    keys = '[[cushion]]\nid = "s"\nsize_is = "fill"\nshape = "one-eared"\nwidth = 620\ndepth = 600\near_width = 80\near_depth = 130\nthickness = 100\n'
    assert "as you face the seat" in _one(CLOTH + keys, "JOB-015").hint


def test_an_outline_that_crosses_itself() -> None:
    """With the line on which the cushion begins."""
    run = "run = [{ side = 'a', to = [600, 0] }, { side = 'b', to = [0, 400] }, { side = 'c', to = [600, 400] }, { side = 'back' }]\n"
    found = _one(CLOTH + f'[[cushion]]\nid = "s"\nsize_is = "fill"\nthickness = 80\n{run}', "JOB-103")
    assert found.line == 4


def test_neighbours_stand_in_rows() -> None:
    """Alone in its row, or mitred without one: said, not refused."""
    found = read_job((PLAIN + 'match = { row = "bay" }\n').encode())
    assert [(f.code, f.severity) for f in found.findings] == [("JOB-026", Severity.WARN)]
    found = read_job((PLAIN + 'mitred = ["left"]\n').encode())
    assert [(f.code, f.severity) for f in found.findings] == [("JOB-026", Severity.WARN)]


@pytest.mark.parametrize(
    "text", ["[job]\nname = 'x'\n", "cushion = []\ncloth = []\n", "cushion = 4\ncloth = 'x'\n", "job = 3\n"]
)
def test_a_job_needs_cloth_and_cushions(text: str) -> None:
    """What is missing is named."""
    assert {f.code for f in _wrong(text)} <= {"JOB-011", "JOB-015"}


# --- bytes that are no job file ---


@pytest.mark.parametrize(
    ("data", "code", "line"),
    [
        (b"", "JOB-001", None), (b" \n\n", "JOB-001", None), (b"\xef\xbb\xbf", "JOB-001", None),
        (b"[job]\nname = \"\xff\"\n", "JOB-002", 2), ("[job]\n".encode("utf-16"), "JOB-002", 1),
        (b"[job]\nname = \"a\"\nname = \"b\"\n", "JOB-004", 3), (b"[job]\n[job]\n", "JOB-004", 2),
        (b"[job\n", "JOB-004", 1), (b"width = 3 3/4\n", "JOB-004", 1), (b"width = \n", "JOB-004", 1),
        (b"x = \"abc\n", "JOB-004", 1), (b"x = [1, 2\n", "JOB-004", 2), (b"hello\n", "JOB-004", 1), (b"x = \x00\n", "JOB-004", 1),
        (b"a." * 200 + b"b = 1\n", "JOB-005", 1), (b"x = " + b"[" * 5000, "JOB-005", None),
        (b"x = " + b"{a=" * 5000, "JOB-005", None), (b"x = " + b"9" * 5000 + b"\n", "JOB-004", None),
    ],
)  # fmt: skip
def test_bytes_that_are_no_job_file(data: bytes, code: str, line: int | None) -> None:
    """One finding says what it is, where, and what to do."""
    found = read_job(data)
    assert found.value is None
    (finding,) = found.findings
    assert finding.code == code
    assert finding.hint
    if line is not None:
        assert finding.line == line


def test_a_fault_of_form_shows_its_place() -> None:
    """The line is shown with a caret, in plain words."""
    (finding,) = read_job(b"[job]\nwidth = 3 3/4\n").findings
    assert finding.message.split("\n")[1:] == ["    width = 3 3/4", "              ^"]
    assert "quotes" in finding.hint


def test_a_hundred_megabytes_are_refused_at_once() -> None:
    """Before anything is decoded."""
    data = b"#" * 100_000_000
    began = time.process_time()
    (finding,) = read_job(data).findings
    assert time.process_time() - began < 0.5
    assert finding.code == "JOB-003"
    assert "100 MB" in finding.message


def test_ten_thousand_cushions_are_read_in_seconds() -> None:
    """A contract house may well."""
    rows = "".join(
        f'[[cushion]]\nid = "s{i}"\nsize_is = "fill"\nwidth = 560\ndepth = 510\nthickness = 100\n'
        for i in range(10_000)
    )
    began = time.process_time()
    job = _job(CLOTH + rows)
    assert time.process_time() - began < 15
    assert len(job.cushions) == 10_000
    assert job.cushions[-1].line == 4 + 9999 * 6


def test_thousands_of_faults_are_counted_not_listed() -> None:
    """Two hundred are shown; the rest are a number."""
    rows = "".join(f"key{i} = 1\n" for i in range(5000))
    found = _wrong("[job]\n" + rows + PLAIN)
    assert len(found) == 201
    assert any("4800 more" in f.message for f in found)


def test_windows_line_ends_and_a_byte_order_mark_do_no_harm() -> None:
    """As some editors save."""
    data = b"\xef\xbb\xbf" + (PLAIN + "ties = 99\n").replace("\n", "\r\n").encode()
    (finding,) = read_job(data).findings
    assert finding.line == 10


@pytest.mark.parametrize("name", ["中庭の椅子", "ספסל", "مقعد", "Bench 🪑"])
def test_a_name_the_sheets_cannot_print_is_told_and_kept(name: str) -> None:
    """Nothing is printed as an empty box without a word said."""
    found = read_job((PLAIN + f'name = "{name}"\n').encode())
    assert found.value is not None
    assert found.value.cushions[0].name == name
    (said,) = [f for f in found.findings if f.code == "JOB-032"]
    assert said.severity is Severity.WARN
    assert "empty box" in said.message
    assert said.line == PLAIN.count("\n") + 1


@pytest.mark.parametrize("name", ["Müller & Søn, ½ – “x” №7", "Πάγκος", "Скамья", "Ghế dài", "Ławka €5 · 3⁄4 ″"])
def test_names_in_latin_greek_and_cyrillic_need_no_word(name: str) -> None:
    assert not read_job((PLAIN + f'name = "{name}"\n').encode()).findings


def test_the_letters_said_to_be_there_are_in_the_font() -> None:
    """Every letter of the ranges has a glyph in the bundled font, in the weights the sheets use."""
    import unicodedata

    import font_source_sans_pro
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

    folder = Path(font_source_sans_pro.font_directory)
    for weight in ("Regular", "Semibold", "Bold"):
        glyphs = TTFont(folder / f"SourceSansPro-{weight}.ttf").getBestCmap()
        letters = [c for low, high in LETTERS for c in range(low, high + 1) if unicodedata.category(chr(c))[0] == "L"]
        missing = [chr(c) for c in letters if c not in glyphs]
        assert missing == [], weight
