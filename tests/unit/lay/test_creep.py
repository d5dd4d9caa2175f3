"""A bolt whose repeat creeps: measured lines, pieces set on them, what is told."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from squab.cloth import Creep
from squab.draw.figures import Figures
from squab.draw.laid import laid_parts, place_on_pattern
from squab.draw.plan import cutting_plan_svg
from squab.draw.sheets_marking import marking_rules
from squab.draw.sheets_quote import _caveats
from squab.files import read_job
from squab.findings import Severity
from squab.lay.creep import even_problem, inside_mm, on_true_lines
from squab.lay.records import Lattice
from squab.lay.search import search
from squab.lay.verify import pattern_misfit_mm, verify
from squab.plane import Placement
from squab.stages import work
from squab.worked import WorkedJob

LINES = (210, 851, 1494, 2139, 2786, 3431, 4075)
JOB = """
[job]
name = "Reading room seats"
size_is = "fill"
[cover]
joins_at_corners = true
zip = {{ making = "two single" }}
match = {{ joins = "ignore", pin_across = "motif" }}
[[cloth]]
id = "leaf"
usable_width = 1370
repeat_across = 170
repeat_along = 640
drop = "half"
price_per_m = 40
[cloth.bolt]
stripe_at = 100
{bolt}
[[cushion]]
id = "seat"
width = 560
depth = 560
thickness = 100
count = 2
"""


def made(bolt: str) -> WorkedJob:
    job = read_job(JOB.format(bolt=bolt).encode())
    assert job.value is not None, job.findings
    found = work(job.value, seconds=1.0, trials=False)
    assert found.value is not None, found.findings
    return found.value


def listed(*lines: float) -> str:
    return f"lines_at = [{', '.join(map(str, lines))}]"


@pytest.fixture(scope="module")
def worked() -> WorkedJob:
    return made(listed(*LINES))


def test_between_lines_the_pattern_is_drawn_out_evenly() -> None:
    creep = Creep((100.0, 740.0, 1384.0, 2020.0))  # repeats of 640, 644 and 636: 640 on an average
    assert creep.repeat_mm == 640.0
    assert (creep.least_mm, creep.most_mm) == (636.0, 644.0)
    q = np.array([-10.0, 0.0, 640.0, 960.0, 1280.0, 1920.0, 1930.0])
    # half-way along the repeat of 644 is 322 beyond its line; before the first and beyond the last nothing creeps
    assert creep.true_mm(q).tolist() == [90.0, 100.0, 740.0, 1062.0, 1384.0, 2020.0, 2030.0]
    assert creep.pattern_mm(creep.true_mm(q)).tolist() == pytest.approx(q.tolist())


def test_every_panel_has_its_front_on_a_true_line(worked: WorkedJob) -> None:
    """Along the bolt, the front seam of every top shows the same place of the print, as measured there."""
    plan = worked.plans["leaf"]
    fronts = []
    top = next(p for p in worked.construction.pieces if p.id == "seat.top")
    for x in plan.lay.placed:
        if x.key.endswith(".top"):
            low = min(y for _, y in top.seam.path.flattened().tolist())
            v = Placement(x.turn_deg, x.u_mm, x.v_mm).point((0.0, low))[1]
            # part of that very repeat; before the first line that was measured, of the mean of the six
            lines = (LINES[0] - (LINES[-1] - LINES[0]) / 6, *LINES)
            n = max(k for k, line in enumerate(lines) if line <= v)
            within = (v - lines[n]) / (lines[n + 1] - lines[n])
            column = round((x.u_mm - plan.lay.placed[0].u_mm) / 170)
            fronts.append((within - column / 2) % 1.0)
    assert len(fronts) == 2
    assert abs((fronts[0] - fronts[1] + 0.5) % 1.0 - 0.5) * 644 < 0.05


def test_a_piece_off_its_line_is_found(worked: WorkedJob) -> None:
    plan = worked.plans["leaf"]
    at = next(k for k, x in enumerate(plan.lay.placed) if x.key == "seat#1.top")
    moved = list(plan.lay.placed)
    moved[at] = replace(moved[at], v_mm=moved[at].v_mm + 0.5)
    assert "phase" in {f.kind for f in verify(plan.problem, replace(plan.lay, placed=tuple(moved)))}
    assert verify(plan.problem, plan.lay) == ()
    # and the lay is none for a bolt on which the repeat does not creep
    assert "phase" in {f.kind for f in verify(replace(plan.problem, creep=None), plan.lay)}


def test_what_it_leaves_inside_a_long_piece_is_told(worked: WorkedJob) -> None:
    told = [f for f in worked.findings if f.code == "LAY-019"]
    assert [f.severity for f in told] == [Severity.NOTE]
    assert "from 641 mm to 647 mm" in told[0].message
    bad = made(listed(210, 851, 1494, 2160, 2790, 3431, 4075))
    warned = [f for f in bad.findings if f.code == "LAY-019"]
    assert [f.severity for f in warned] == [Severity.WARN]
    worst = max(inside_mm(bad.plans["leaf"].problem, bad.plans["leaf"].lay))
    assert worst > 3.0
    assert f"up to {worst:.0f} mm" in warned[0].message


def test_an_even_list_is_the_bolt_as_measured_over_several() -> None:
    even, plain = made(listed(210, 853, 1496, 2139)), made("print_at = 210\nrepeat_along = 643")
    a, b = even.plans["leaf"].problem, plain.plans["leaf"].problem
    assert a.lattice.along_mm == pytest.approx(b.lattice.along_mm, abs=1e-6)
    assert a.pattern_at == pytest.approx(b.pattern_at, abs=1e-6)
    assert even.plans["leaf"].lay.length_mm == pytest.approx(plain.plans["leaf"].lay.length_mm, rel=0.01)
    assert not [f for f in even.findings if f.code == "LAY-019"]


def test_pictures_show_every_piece_where_it_was_matched(worked: WorkedJob) -> None:
    """Pieces of one group differ on the pattern by their own offsets, however far apart they lie on the bolt."""
    creep = worked.plans["leaf"].problem.creep
    assert creep is not None
    lattice = Lattice(170.0, creep.repeat_mm, creep.repeat_mm / 2)
    stands: dict[str, list[tuple[float, float, float]]] = {}
    for x in laid_parts(worked, "leaf"):
        placing = worked.match.placings.get(x.part_id)
        if placing is None or placing.phase is None or placing.phase.off_p is None or placing.phase.off_q is None:
            continue
        phase, place = placing.phase, place_on_pattern(worked, "leaf", x.part_id, x.place)
        at = (place.u_mm - (phase.off_p or 0.0), place.v_mm - (phase.off_q or 0.0), x.place.v_mm)
        stands.setdefault(phase.group, []).append(at)
    apart = 0.0
    for group in stands.values():
        for p, q, v in group[1:]:
            assert pattern_misfit_mm(lattice, p - group[0][0], q - group[0][1]) == pytest.approx(0.0, abs=0.01)
            apart = max(apart, abs(v - group[0][2]))
    assert apart > creep.repeat_mm  # far enough for the creep to tell


def test_sheets_follow_the_true_lines(worked: WorkedJob) -> None:
    how, datum = marking_rules(worked, "leaf")
    assert any("creeps along this bolt, from 641 mm to 647 mm" in x.replace("\xa0", " ") for x in how)
    stations = re.search(r"motif centres at ([\d, ]+) from the cut end", datum)
    assert stations is not None
    assert [int(x) for x in stations[1].split(", ")] == [x for x in LINES if x <= worked.plans["leaf"].lay.length_mm]
    assert "210 mm from the cut end" in cutting_plan_svg(worked, "leaf")


@pytest.mark.parametrize(
    ("bolt", "code", "said"),
    [
        (listed(210, 851, 2139), "JOB-013", "between them 1 left out"),
        (listed(210, 851, 800), "JOB-013", "the second before the first"),
        (listed(210), "JOB-011", "a list of 1"),
        (listed(210, 851) + "\nprint_at = 210", "JOB-017", "so does `print_at`"),
        (listed(210, 851) + "\nrepeat_along = 641", "JOB-017", "so does `repeat_along`"),
    ],
)
def test_lines_that_cannot_be_are_named(bolt: str, code: str, said: str) -> None:
    found = [f for f in read_job(JOB.format(bolt=bolt).encode()).findings if f.severity is Severity.STOP]
    assert [f.code for f in found] == [code]
    assert said in found[0].message + found[0].hint


def test_a_warp_stripe_has_no_lines_along() -> None:
    striped = JOB.format(bolt=listed(210, 851)).replace("repeat_across = 170\nrepeat_along = 640\ndrop = \"half\"",
                                                        'stripes = ["navy 40", "chalk 40"]')  # fmt: skip
    striped = striped.replace(', pin_across = "motif"', "")
    assert "JOB-019" in {f.code for f in read_job(striped.encode()).findings}


def ordered(within: str, bolt: str = "") -> WorkedJob:
    text = JOB.replace('drop = "half"', f'drop = "half"\n{within}').replace("stripe_at = 100", "")
    job = read_job(text.format(bolt=bolt).encode())
    assert job.value is not None, job.findings
    found = work(job.value, seconds=1.0, trials=False)
    assert found.value is not None, found.findings
    return found.value


def test_an_order_allows_for_what_the_label_may_be_off() -> None:
    label, allowing = ordered("").plans["leaf"], ordered("repeat_within = 1").plans["leaf"]
    # every repeat between 0.99 and 1.01 of the label's: a lay is drawn out by that at the most
    assert allowing.needs_mm >= allowing.lay.length_mm * 1.01 / 0.99 - 0.01
    assert allowing.order_mm >= label.order_mm
    told = [f for f in ordered("repeat_within = 1").findings if f.code == "LAY-021"]
    assert len(told) == 1
    assert "1 % off the label" in told[0].message
    measured = ordered("repeat_within = 1", "stripe_at = 100\nprint_at = 210\nrepeat_along = 643")
    assert measured.plans["leaf"].needs_mm == measured.plans["leaf"].lay.length_mm
    assert not [f for f in measured.findings if f.code == "LAY-021"]


@pytest.mark.parametrize("longer", [(1, 0, 1, 0, 1, 0), (1, 1, 1, 1, 1, 0), (0.2, 0.9, 0, 1, 0.5, 0)])
def test_a_lay_for_the_shortest_repeat_is_drawn_out_no_further_than_to_the_longest(
    worked: WorkedJob, longer: tuple[float, ...]
) -> None:
    """Which is what an order for every bolt within so much of its label rests on."""
    lines = [210.0]
    for part in longer:
        lines.append(lines[-1] + 633.6 + part * 12.8)
    creep = Creep(tuple(lines))
    problem = worked.plans["leaf"].problem
    lattice = replace(problem.lattice, along_mm=creep.repeat_mm, drop_mm=creep.repeat_mm / 2)
    problem = replace(problem, creep=creep, lattice=lattice, pattern_at=(100.0, 210.0))
    even = search(even_problem(problem), seconds=20.0, steps=300)
    drawn_out = on_true_lines(problem, even)
    assert verify(problem, drawn_out) == ()
    assert even.length_mm < drawn_out.length_mm <= even.length_mm * 646.4 / 633.6 + 1e-6


def test_the_quotation_says_what_a_cloth_out_of_true_will_not_do() -> None:
    slanting = made("print_at = 210\nskew = 30")
    assert "MAT-010" in {f.code for f in slanting.findings}
    said = " ".join(_caveats(slanting, Figures.of(slanting.job)))
    assert "on seat the pattern may slant, and that it meets there is not promised" in said
    creeping = made(listed(210, 851, 1494, 2160, 2790, 3431, 4075))
    off = round(max(inside_mm(creeping.plans["leaf"].problem, creeping.plans["leaf"].lay)))
    said = " ".join(_caveats(creeping, Figures.of(creeping.job))).replace("\xa0", " ")
    assert (
        f"The repeat of leaf creeps along its length: inside one piece the pattern may be off by up to {off} mm" in said
    )
