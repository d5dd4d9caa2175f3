"""Plain cloth cut double: pairs mirrored about the fold, sound on the open cloth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from squab.cloth import Flaw
from squab.draw.laid import under_the_fold
from squab.draw.plan import cutting_plan_svg
from squab.draw.sheets_marking import marked_parts
from squab.errors import LayError
from squab.files import read_job
from squab.lay.again import lay_again
from squab.lay.cuts import cut_outlines
from squab.lay.double import cut_double, mirrored
from squab.lay.records import Fold, Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip
from squab.lay.verify import verify, verify_fold
from squab.stages import work
from squab.web.kept_work import kept_of, packed, restored, unpacked
from squab.worked import WorkedJob
from tests.unit.lay._jobs import rectangle

LEFT = np.array([(0.0, 0.0), (40.0, 0.0), (40.0, 30.0), (10.0, 30.0)])


def test_a_left_and_a_right_come_away_together() -> None:
    right = mirrored(LEFT) + (40.0, 0.0)  # noqa: RUF005  an array, shifted
    pieces = (LayPiece("left", LEFT, (0,)), LayPiece("right", right, (0,)))
    found = cut_double(LayProblem("c", 100.0, Lattice(), pieces), seconds=1.0, steps=20)
    assert found is not None
    assert found.pairs == (("left", "right"),)
    assert (found.folded_mm, found.lay.length_mm) == (30.0, 30.0)
    a, b = cut_outlines(LayProblem("c", 100.0, Lattice(), pieces), found.lay)
    assert np.allclose(sorted(100.0 - a[:, 0]), sorted(b[:, 0]))


def test_a_left_and_a_left_are_no_pair() -> None:
    pieces = (LayPiece("one", LEFT, (0,)), LayPiece("two", LEFT, (0,)))
    assert cut_double(LayProblem("c", 100.0, Lattice(), pieces), seconds=1.0, steps=20) is None


def test_what_has_no_partner_is_cut_once_the_cloth_is_opened() -> None:
    # four of 50 x 20 are two pairs, one beyond the other on half the width of 100; the fifth lies beyond
    pieces = tuple(LayPiece(f"p{k}", rectangle(50, 20), (0,)) for k in range(5))
    found = cut_double(LayProblem("c", 100.0, Lattice(), pieces), seconds=1.0, steps=20)
    assert found is not None
    assert (found.folded_mm, found.lay.length_mm, len(found.pairs)) == (40.0, 60.0, 2)


def test_a_pattern_is_not_cut_under_the_fold() -> None:
    piece = LayPiece("p", rectangle(50, 20), (0,), LayPhase("g", 0.0, None))
    with pytest.raises(LayError, match="cannot be seen"):
        cut_double(LayProblem("c", 100.0, Lattice(30.0), (piece,)))


@settings(max_examples=15, deadline=None)
@given(
    sizes=st.lists(st.tuples(st.integers(10, 70), st.integers(10, 50)), min_size=1, max_size=3),
    gap=st.sampled_from([0.0, 3.0]),
    slant=st.booleans(),
)
def test_the_opened_lay_is_sound_and_mirrored(sizes: list[tuple[int, int]], gap: float, slant: bool) -> None:
    pieces = []
    for k, (w, h) in enumerate(sizes):
        outline = LEFT * (w / 40.0, h / 30.0) if slant else rectangle(w, h)
        other = mirrored(outline) + np.array((float(w), 0.0))
        pieces += [LayPiece(f"a{k}", outline, (0, 180)), LayPiece(f"b{k}", other, (0, 180))]
    strip = LayStrip("s.piping", 0.0, 120.0, 0.0, 8.0, 1.0, 30.0, (0,))
    problem = LayProblem("c", 160.0, Lattice(), tuple(pieces), (strip,), gap_mm=gap)
    found = cut_double(problem, seconds=1.0, steps=20)
    assert found is not None
    assert verify(problem, found.lay) == ()
    at = {x.key: uv for x, uv in zip(found.lay.placed, cut_outlines(problem, found.lay), strict=True)}
    for a, b in found.pairs:
        image = np.column_stack([160.0 - at[a][:, 0], at[a][:, 1]])
        assert np.allclose(np.sort(image, axis=0), np.sort(at[b], axis=0), atol=0.02)


def test_between_the_pairs_the_opened_cloth_is_cut_like_any_other() -> None:
    # a pair of 40 x 60 leaves 20 along the fold of a cloth of 100: there the single 20 x 60 lies, across the fold
    pieces = (
        *(LayPiece(f"p{k}", rectangle(40, 60), (0,)) for k in range(2)),
        LayPiece("single", rectangle(20, 60), (0,)),
    )
    found = cut_double(LayProblem("c", 100.0, Lattice(), pieces), seconds=1.0, steps=40)
    assert found is not None
    assert (found.folded_mm, found.lay.length_mm) == (60.0, 60.0)


def test_a_flaw_of_one_layer_is_kept_clear_of_on_both() -> None:
    pieces = tuple(LayPiece(f"p{k}", rectangle(50, 20), (0,)) for k in range(2))
    right = Flaw(90.0, 0.0, 95.0, 5.0)
    problem = LayProblem("c", 100.0, Lattice(), pieces, flaws=(right,))
    found = cut_double(problem, seconds=1.0, steps=40)
    assert found is not None
    assert found.folded_mm == 25.0  # the pair begins beyond the flaw, though only its upper layer has it
    assert verify(problem, found.lay) == ()


def test_planted_damage_under_the_fold_is_found() -> None:
    pieces = tuple(LayPiece(f"p{k}", rectangle(50, 20), (0,)) for k in range(4))
    problem = LayProblem("c", 100.0, Lattice(), pieces)
    found = cut_double(problem, seconds=1.0, steps=20)
    assert found is not None
    fold = found.fold(0.0)
    assert verify_fold(problem, found.lay, fold) == ()
    placed = list(found.lay.placed)

    def kinds(lay: Lay, asked: Fold = fold) -> set[str]:
        return {f.kind for f in verify_fold(problem, lay, asked)}

    shifted = [*placed[:1], replace(placed[1], v_mm=placed[1].v_mm + 0.2), *placed[2:]]
    assert "not mirrored" in kinds(replace(found.lay, placed=tuple(shifted)))
    across = [replace(x, u_mm=x.u_mm + (30.0 if x.u_mm < 25 else -30.0)) for x in placed[:2]] + placed[2:]
    assert "across the fold" in kinds(replace(found.lay, placed=tuple(across)))
    assert kinds(found.lay, replace(fold, until_mm=30.0)) == {"beyond the fold"}
    assert "twice" in kinds(found.lay, replace(fold, pairs=(fold.pairs[0], fold.pairs[0])))


JOB = """
[job]
name = "Plain pads"
size_is = "fill"
knife_gap = 2
[[cloth]]
id = "plain"
usable_width = 1400
price_per_m = 20
cut_double = true
{more}
[[cushion]]
id = "pad"
count = 2
width = 420
depth = 400
thickness = 50
"""


def worked(more: str = "", marked: str = "face up") -> WorkedJob:
    return of(JOB.format(more=more).replace("[job]", f'[job]\nmarked = "{marked}"'))


def of(text: str) -> WorkedJob:
    job = read_job(text.encode()).value
    assert job is not None
    found = work(job, seconds=0.6, trials=False).value
    assert found is not None
    return found


@pytest.mark.parametrize("marked", ["face up", "back up"])
def test_a_job_cut_double_is_a_plan(marked: str) -> None:
    made = worked(marked=marked)
    plan = made.plans["plain"]
    assert plan.fold is not None
    assert verify_fold(plan.problem, plan.lay, plan.fold) == ()
    told = next(f for f in made.findings if f.code == "LAY-022")
    assert f"{len(plan.fold.pairs)} cuts give {2 * len(plan.fold.pairs)} pieces" in told.message
    # on the sheet every pair is marked once, by the left edge as the maker looks at it
    under = under_the_fold(plan, back_up=marked == "back up")
    parts = {m.part.key: m for m in marked_parts(made, "plain")}
    for below, above in under.items():
        assert parts[above].part.box[2] <= 701.0
        assert parts[below].part.box[0] >= 699.0
        assert f"no. {parts[below].part.number}, its mirror image, comes away" in parts[above].figures["note"]
    first = [m.part.key for m in marked_parts(made, "plain")][: 2 * len(under)]
    assert set(first) == {*under, *under.values()}
    drawn = cutting_plan_svg(made, "plain")
    assert "folded here, face to face" in drawn
    assert drawn.count("under layer") == drawn.count("both layers") == len(under)
    # it is kept with the job, proved again when it is read
    again = unpacked(packed(kept_of(made, seconds=1.0, whole=False)))
    assert again is not None
    back = restored(made.job, again)
    assert back is not None
    assert back.plans["plain"].fold == plan.fold


@pytest.mark.parametrize(
    ("more", "why"),
    [
        ('stripes = ["navy 40", "chalk 40"]', "nobody sees where the pattern lies"),
        ("pile = true", "pile creeps on pile"),
        ("one_way = true", "up and a down"),
    ],
)
def test_what_cannot_be_cut_double_is_laid_open_and_why(more: str, why: str) -> None:
    made = worked(more)
    assert made.plans["plain"].fold is None
    assert why in next(f for f in made.findings if f.code == "LAY-023").message


def test_a_bolt_that_is_long_enough_only_when_open_is_laid_open() -> None:
    # three abreast in two rows, or on the fold two abreast in three: 1.18 m with both ends squared off, or 1.33 m
    wide = JOB.replace("count = 2\nwidth = 420", 'count = 3\npiping = "none"\nzip = "none"\nwidth = 430')
    wide = wide.replace("thickness = 50", "thickness = 40").replace("knife_gap = 2", "")
    assert of(wide.format(more="")).plans["plain"].fold is not None
    made = of(wide.format(more='[cloth.bolt]\nlength = "1.25 m"'))
    assert made.plans["plain"].fold is None
    assert "more than there is" in next(f for f in made.findings if f.code == "LAY-023").message


def test_cloth_is_opened_where_a_pair_is_cut_wrong() -> None:
    made = worked()
    plan = made.plans["plain"]
    assert plan.fold is not None
    again = lay_again(plan, made.job.cloths[0], spoiled=[plan.fold.pairs[0][0]], seconds=0.5).value
    assert again is not None
    assert again.fold is None
