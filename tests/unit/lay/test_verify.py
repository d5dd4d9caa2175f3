"""A sound lay passes, and every kind of damage planted in it is named.

The lay below was put together by hand: a half-drop print (170 across, 640 along, drop 320), two
matched panels, an L-shaped piece, a disc, a matched boxing strip in two parts, a free piping strip
in three, a flaw, a knife gap of 3 mm and a bolt of 2.2 m whose print was measured.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from squab.cloth import Flaw
from squab.lay.records import Lattice, Lay, LayPhase, LayPiece, LayProblem, LayStrip, Placed
from squab.lay.verify import TOUCH_MM, pattern_misfit_mm, verify
from squab.plane import Points

AT = (37.0, 411.0)
"""Where the print of the bolt stands."""
A = (12.5, -30.0)
"""The anchor of the group `seat`."""
PINNED = (85.0, 0.0)


def box(w: float, h: float, x: float = 0.0, y: float = 0.0) -> Points:
    return np.array([(x, y), (x + w, y), (x + w, y + h), (x, y + h)], dtype=np.float64)


def disc(d: float, n: int = 120) -> Points:
    a = np.linspace(0, math.tau, n, endpoint=False)
    return np.column_stack((d / 2 + d / 2 * np.cos(a), d / 2 + d / 2 * np.sin(a)))


ELL = np.array([(0, 0), (300, 0), (300, 120), (120, 120), (120, 300), (0, 300)], dtype=np.float64)

PROBLEM = LayProblem(
    cloth_id="print",
    usable_width_mm=1370.0,
    lattice=Lattice(170.0, 640.0, 320.0),
    pieces=(
        LayPiece("top", box(560, 510), (0,), LayPhase("seat", 60.0, 65.0)),
        LayPiece("bottom", box(560, 510), (0, 180), LayPhase("seat", 60.0, 65.0, -1, -1)),
        LayPiece("pinned", box(200, 100, -12, -12), (0,), LayPhase("motif", 5.0, None)),
        LayPiece("ell", ELL, (0, 90, 180, 270)),
        LayPiece("stool", disc(170), (0,)),
        LayPiece("flap", box(160, 160), (0, 180)),
    ),
    strips=(
        LayStrip(
            "boxing", 0, 1500, -12, 83, 12, 300, (0,), ((500.0, 1000.0),), 2, LayPhase("seat", None, 15.0)
        ),
        LayStrip("piping", 0, 1000, 0, 40, 20, 150, (0, 90), None, 3),
    ),
    anchors={"motif": (PINNED[0], None)},
    pattern_at=AT,
    gap_mm=3.0,
    flaws=(Flaw(1300, 0, 1370, 200, "stain"),),
    bolt_mm=2200.0,
)  # fmt: skip


def on_print(sign: int, off: tuple[float, float], m: int, n: int) -> tuple[float, float]:
    u = AT[0] + sign * A[0] + off[0] + m * 170
    v = AT[1] + sign * A[1] + off[1] + n * 640 + m * 320
    return u, v


def _sound() -> Lay:
    top = on_print(1, (60, 65), 0, 0)  # (109.5, 446)
    bottom = on_print(-1, (60, 65), 8, -3)  # turned: its frame's origin is the upper right corner
    boxing_v = AT[1] + A[1] + 15.0 + 640  # (1036)
    placed = (
        Placed("top", 0, *top),
        Placed("bottom", 180, bottom[0] - 170, bottom[1] - 320),
        Placed("pinned", 0, AT[0] + PINNED[0] + 5.0, 30.0),
        Placed("ell", 90, 700.0, 10.0),
        Placed("stool", 0, 720.0, 10.0),
        Placed("flap", 0, 1100.0, 10.0),
        Placed("boxing", 0, 20.0, boxing_v, (0.0, 700.0)),
        Placed("boxing", 0, 20.0 - 700.0, boxing_v + 320.0, (700.0, 1500.0)),
        Placed("piping", 0, 900.0, boxing_v + 100.0, (0.0, 200.0)),
        Placed("piping", 90, 1360.0, 1000.0, (200.0, 800.0)),
        Placed("piping", 0, -700.0, boxing_v + 100.0, (800.0, 1000.0)),
    )
    return Lay(placed, {"seat": A, "motif": (PINNED[0], 0.0)}, AT, 1820.0)


SOUND = _sound()

Damage = Callable[[LayProblem, Lay], tuple[LayProblem, Lay]]


def moved(key: str, du: float, dv: float, nth: int = 0) -> Damage:
    return changed(key, lambda p: replace(p, u_mm=p.u_mm + du, v_mm=p.v_mm + dv), nth)


def changed(key: str, change: Callable[[Placed], Placed], nth: int = 0) -> Damage:
    def damage(problem: LayProblem, lay: Lay) -> tuple[LayProblem, Lay]:
        at = [i for i, p in enumerate(lay.placed) if p.key == key][nth]
        placed = [change(p) if i == at else p for i, p in enumerate(lay.placed)]
        return problem, replace(lay, placed=tuple(placed))

    return damage


def without(key: str, nth: int = 0) -> Damage:
    def damage(problem: LayProblem, lay: Lay) -> tuple[LayProblem, Lay]:
        at = [i for i, p in enumerate(lay.placed) if p.key == key][nth]
        return problem, replace(lay, placed=tuple(p for i, p in enumerate(lay.placed) if i != at))

    return damage


def added(placed: Placed) -> Damage:
    return lambda problem, lay: (problem, replace(lay, placed=(*lay.placed, placed)))


def lay_with(**fields: object) -> Damage:
    return lambda problem, lay: (problem, replace(lay, **fields))  # type: ignore[arg-type]


def asked(**fields: object) -> Damage:
    return lambda problem, lay: (replace(problem, **fields), lay)  # type: ignore[arg-type]


def part(a: float, b: float) -> Callable[[Placed], Placed]:
    return lambda p: replace(p, part_mm=(a, b))


def strip_asked(key: str, **fields: object) -> Damage:
    def damage(problem: LayProblem, lay: Lay) -> tuple[LayProblem, Lay]:
        strips = (replace(s, **fields) if s.key == key else s for s in problem.strips)  # type: ignore[arg-type]
        return replace(problem, strips=tuple(strips)), lay

    return damage


def outline_asked(key: str, outline: Points) -> Damage:
    def damage(problem: LayProblem, lay: Lay) -> tuple[LayProblem, Lay]:
        pieces = (replace(p, outline=outline) if p.key == key else p for p in problem.pieces)
        return replace(problem, pieces=tuple(pieces)), lay

    return damage


def joined_at(key: str, at: float) -> Damage:
    """The two parts of a strip joined elsewhere, at the middle of what must stay whole."""

    def damage(problem: LayProblem, lay: Lay) -> tuple[LayProblem, Lay]:
        problem, lay = strip_asked(key, windows=((500.0, at - 75.0), (at + 75.0, 1000.0)))(problem, lay)
        problem, lay = changed(key, part(0.0, at))(problem, lay)
        return changed(key, part(at, 1500.0), 1)(problem, lay)

    return damage


DAMAGES: dict[str, tuple[Damage, str, tuple[str, ...]]] = {
    "a piece left out": (without("flap"), "missing", ("flap",)),
    "a whole strip left out": (without("boxing"), "strip gap", ("boxing",)),
    "every part of a strip left out": (
        lambda q, y: without("boxing")(*without("boxing")(q, y)), "missing", ("boxing",),
    ),
    "a piece laid twice": (added(Placed("flap", 0, 700.0, 1900.0)), "twice", ("flap",)),
    "a stranger laid": (added(Placed("cat", 0, 700.0, 1900.0)), "unknown piece", ("cat",)),
    "a place that is no number": (moved("flap", math.nan, 0.0), "number", ("flap",)),
    "a place without end": (moved("flap", 0.0, math.inf), "number", ("flap",)),
    "an outline that is no number": (outline_asked("flap", box(160, math.nan)), "outline", ("flap",)),
    "an outline that crosses itself": (outline_asked("ell", ELL[[0, 2, 1, 3, 4, 5]]), "outline", ("ell",)),
    "half a piece": (changed("flap", part(0.0, 80.0)), "part of a piece", ("flap",)),
    "a strip laid whole without saying so": (
        changed("piping", lambda p: replace(p, part_mm=None)), "part not said", ("piping",),
    ),
    "a hole between two parts": (changed("piping", part(0.0, 199.0)), "strip gap", ("piping",)),
    "parts that do not add up": (changed("piping", part(200.0, 799.8), 1), "strip gap", ("piping",)),
    "a strip cut short at its end": (changed("piping", part(800.0, 999.0), 2), "strip gap", ("piping",)),
    "a strip cut short at its start": (changed("piping", part(1.0, 200.0)), "strip gap", ("piping",)),
    "a stretch cut twice": (changed("piping", part(0.0, 201.0)), "strip double", ("piping",)),
    "a part laid twice": (added(Placed("piping", 0, 700.0, 1900.0, (0.0, 200.0))), "strip double", ("piping",)),
    "a part beyond the strip": (changed("piping", part(800.0, 1010.0), 2), "part outside the strip", ("piping",)),
    "a part too short": (strip_asked("piping", least_part_mm=210.0), "part too short", ("piping",)),
    "a join outside its window": (
        strip_asked("boxing", windows=((701.0, 1000.0),)), "join outside its window", ("boxing",),
    ),
    "a join at the centre front": (joined_at("boxing", 750.0), "join outside its window", ("boxing",)),
    "no window at all": (strip_asked("boxing", windows=()), "join outside its window", ("boxing",)),
    "too few parts": (strip_asked("piping", least_parts=4), "too few parts", ("piping",)),
    "too many parts": (strip_asked("piping", most_parts=2), "too many parts", ("piping",)),
    "a half turn against the nap": (changed("top", lambda p: replace(p, turn_deg=180)), "turn", ("top",)),
    "a quarter turn off the grain": (changed("flap", lambda p: replace(p, turn_deg=90)), "turn", ("flap",)),
    "a strip off the grain": (changed("boxing", lambda p: replace(p, turn_deg=45)), "turn", ("boxing",)),
    "a fifth of a millimetre off its place across": (moved("top", 0.2, 0.0), "phase", ("top",)),
    "a fifth of a millimetre off its place along": (moved("bottom", 0.0, 0.2), "phase", ("bottom",)),
    "one repeat across without its drop": (moved("top", 170.0, 0.0), "phase", ("top",)),
    "one drop along without its repeat": (moved("bottom", 0.0, -320.0), "phase", ("bottom",)),
    "a join that does not carry the pattern on": (moved("boxing", 0.0, 0.2, 1), "phase", ("boxing",)),
    "an anchor moved behind the pieces' backs": (
        lay_with(anchors={"seat": (20.0, -30.0), "motif": PINNED}), "phase", ("top",),
    ),
    "two pieces of a group on different anchors": (
        lambda q, y: moved("bottom", -7.5, 0.0)(*lay_with(anchors={"seat": (20.0, -30.0), "motif": PINNED})(q, y)),
        "phase", ("top",),
    ),
    "no anchor": (lay_with(anchors={"motif": PINNED}), "anchor", ("seat", "top")),
    "an anchor that is no number": (
        lay_with(anchors={"seat": (math.nan, 0.0), "motif": PINNED}), "anchor", ("seat", "top"),
    ),
    "a pinned anchor not where it is pinned": (
        lay_with(anchors={"seat": A, "motif": (86.0, 0.0)}), "anchor", ("motif",),
    ),
    "a pinned piece moved with its anchor": (
        lambda q, y: moved("pinned", 4.0, 0.0)(*lay_with(anchors={"seat": A, "motif": (89.0, 0.0)})(q, y)),
        "phase", ("pinned",),
    ),
    "a pin asked for elsewhere": (asked(anchors={"motif": (90.0, None)}), "phase", ("pinned",)),
    "a pattern that starts elsewhere": (lay_with(pattern_at=(AT[0] + 3.0, AT[1])), "pattern start", ()),
    "a pattern that starts nowhere": (lay_with(pattern_at=(math.nan, 0.0)), "pattern start", ()),
    "a repeat that creeps from the one measured": (asked(lattice=Lattice(170.0, 642.0, 321.0)), "phase", ("bottom",)),
    "a piece over the left selvage": (moved("pinned", -170.0, 0.0), "outside the width", ("pinned",)),
    "a piece over the right selvage": (moved("flap", 200.0, 300.0), "outside the width", ("flap",)),
    "cloth narrower than thought": (asked(usable_width_mm=1359.0), "outside the width", ("piping",)),
    "a piece before the cut end": (moved("ell", 0.0, -12.0), "before the cut end", ("ell",)),
    "a bolt that is too short": (asked(bolt_mm=1800.0), "past the bolt", ("piping",)),
    "a length said too short": (lay_with(length_mm=1819.0), "length", ()),
    "a length said too long": (lay_with(length_mm=1821.0), "length", ()),
    "a length that is no number": (lay_with(length_mm=math.nan), "length", ()),
    "a piece on the flaw": (moved("flap", 50.0, 0.0), "flaw", ("flap",)),
    "a flaw found under a piece": (asked(flaws=(Flaw(300, 500, 310, 510),)), "flaw", ("top",)),
    "a round flaw in a piece's corner": (asked(flaws=(Flaw.disc(109.5 - 10, 446 - 10, 15),)), "flaw", ("top",)),
    "a slanting flaw across a piece": (
        asked(flaws=(Flaw.outlined([(1050, 0), (1060, 0), (1150, 60), (1140, 60)]),)), "flaw", ("flap",),
    ),
    "two pieces overlapping": (moved("flap", -300.0, 0.0), "overlap", ("stool", "flap")),
    "a sliver of a twentieth of a millimetre cut twice": (
        lambda q, y: moved("flap", -(1100 - 890) - 0.05, 0.0)(*asked(gap_mm=0.0)(q, y)), "overlap", ("stool", "flap"),
    ),
    "one piece within another": (moved("flap", -800.0, 500.0), "overlap", ("top", "flap")),
    "one piece just over another": (added(Placed("stool", 0, 720.0, 10.0)), "overlap", ("stool", "stool")),
    "the L pushed into the disc": (moved("ell", 90.0, 0.0), "overlap", ("ell", "stool")),
    "a larger gap asked for": (asked(gap_mm=30.0), "gap", ("ell", "stool")),
    "two strips too near, one above the other": (moved("piping", 0.0, -15.0, 2), "gap", ("boxing", "piping")),
    "a disc too near the L": (moved("stool", -18.0, 0.0), "gap", ("ell", "stool")),
}  # fmt: skip


def kinds(problem: LayProblem, lay: Lay) -> set[str]:
    return {f.kind for f in verify(problem, lay)}


def test_the_lay_is_sound() -> None:
    assert verify(PROBLEM, SOUND) == ()


def test_there_are_at_least_thirty_kinds_of_damage() -> None:
    assert len(DAMAGES) >= 55
    assert len({kind for _, kind, _ in DAMAGES.values()}) >= 22


@pytest.mark.parametrize("name", DAMAGES)
def test_every_damage_is_found(name: str) -> None:
    """By its kind, and by the name of the piece that it concerns."""
    damage, kind, keys = DAMAGES[name]
    assert (kind, keys) in {(f.kind, f.keys) for f in verify(*damage(PROBLEM, SOUND))}


@pytest.mark.parametrize("name", DAMAGES)
def test_faults_say_something_and_do_not_depend_on_the_order_of_pieces(name: str) -> None:
    problem, lay = DAMAGES[name][0](PROBLEM, SOUND)
    found = verify(problem, lay)
    assert all(f.message for f in found)
    backwards = verify(problem, replace(lay, placed=lay.placed[::-1]))
    assert sorted(f.kind for f in found) == sorted(f.kind for f in backwards)


def test_one_whole_step_of_the_lattice_is_no_fault() -> None:
    problem = replace(PROBLEM, bolt_mm=None)
    _, lay = moved("top", 170.0, 640.0 + 320.0)(problem, SOUND)
    assert "phase" not in kinds(problem, lay)


def test_neighbours_may_share_one_chalk_line_where_no_gap_is_asked() -> None:
    pieces = (LayPiece("a", box(609.6, 24.1), (0,)), LayPiece("b", box(609.6, 24.1), (0,)))
    problem = LayProblem("plain", 1219.2, Lattice(), pieces)
    side_by_side = Lay((Placed("a", 0, 0, 0), Placed("b", 0, 609.6, 0)), {}, (0, 0), 24.1)
    assert verify(problem, side_by_side) == ()
    stacked = Lay((Placed("a", 0, 0, 0), Placed("b", 0, 0, 24.1)), {}, (0, 0), 48.2)
    assert verify(problem, stacked) == ()
    run_in = Lay((Placed("a", 0, 0, 0), Placed("b", 0, 609.6 - 2 * TOUCH_MM, 0)), {}, (0, 0), 24.1)
    assert kinds(problem, run_in) == {"overlap"}


def test_a_knife_needs_its_gap_squared_between_rectangles() -> None:
    pieces = (LayPiece("a", box(100, 100), (0,)), LayPiece("b", box(100, 100), (0,)))
    problem = LayProblem("plain", 500.0, Lattice(), pieces, gap_mm=3.0)
    corner = Lay((Placed("a", 0, 0, 0), Placed("b", 0, 102.5, 102.5)), {}, (0, 0), 202.5)
    assert kinds(problem, corner) == {"gap"}
    clear = Lay((Placed("a", 0, 0, 0), Placed("b", 0, 103.0, 50.0)), {}, (0, 0), 150.0)
    assert verify(problem, clear) == ()


def test_a_strip_shorter_than_the_least_part_may_be_cut_whole() -> None:
    strip = LayStrip("zip", 0, 200, 0, 40, 10, 300, (0,))
    problem = LayProblem("plain", 500.0, Lattice(), (), (strip,))
    assert verify(problem, Lay((Placed("zip", 0, 10, 0, (0, 200)),), {}, (0, 0), 40.0)) == ()


def test_bias_strips_are_laid_at_their_slant() -> None:
    strip = LayStrip("piping", 0, 400, 0, 40, 0, 100, (45,))
    problem = LayProblem("plain", 500.0, Lattice(), (), (strip,))
    reach = 440 / math.sqrt(2)
    placed = (Placed("piping", 45, 40 / math.sqrt(2), 0, (0, 400)),)
    assert verify(problem, Lay(placed, {}, (0, 0), reach)) == ()
    assert kinds(problem, Lay((replace(placed[0], u_mm=0.0),), {}, (0, 0), reach)) == {"outside the width"}


@pytest.mark.parametrize(
    ("lattice", "dp", "dq", "misfit"),
    [
        (Lattice(), 17.0, 23.0, 0.0),
        (Lattice(96.0), 97.0, 23.0, 1.0),
        (Lattice(96.0), None, 23.0, 0.0),
        (Lattice(None, 64.0), 17.0, 130.0, 2.0),
        (Lattice(170, 640, 320), 170.0, 320.0, 0.0),
        (Lattice(170, 640, 320), 170.0, 0.0, 320.0),
        (Lattice(170, 640, 320), None, 320.0, 0.0),
        (Lattice(170, 640, 0), None, 320.0, 320.0),
        (Lattice(340, 320, 160), 340.0, 160.0, 0.0),
    ],
)
def test_shifts_that_leave_the_pattern_as_it_was(
    lattice: Lattice, dp: float | None, dq: float | None, misfit: float
) -> None:
    """The last row: half drop, one repeat across is the same pattern half a repeat along (definition)."""
    assert pattern_misfit_mm(lattice, dp, dq) == pytest.approx(misfit, abs=1e-9)


def test_a_thousand_pieces_are_checked_at_once() -> None:
    pieces = tuple(LayPiece(f"p{i}", box(100, 50), (0,)) for i in range(1000))
    placed = tuple(Placed(f"p{i}", 0, 100.0 * (i % 10), 50.0 * (i // 10)) for i in range(1000))
    problem = LayProblem("plain", 1000.0, Lattice(), pieces)
    assert verify(problem, Lay(placed, {}, (0, 0), 5000.0)) == ()
    assert kinds(problem, Lay(placed[:-1], {}, (0, 0), 5000.0)) == {"missing"}
