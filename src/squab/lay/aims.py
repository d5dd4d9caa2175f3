"""Second aims: of the lays that are as short, or nearly so, the one the maker likes best.

A lay as short as can be leaves choices. In the maker's own order: one large remnant rather than
many scraps; few runs of the knife, and straight cuts across; the pieces of one cushion near one
another, for cloth shades along the bolt.

The lay is improved where it stands: some pieces are taken up and put down elsewhere, at places the
pattern allows and nothing else lies, and cushions that are alike exchange their pieces. A change is
kept where the aims, in their order, are no worse. Anchors of the pattern stay, so every matched
piece keeps to its grid. What comes out is checked by the verifier like any lay.
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from squab.cloth import Cloth
from squab.errors import LayError
from squab.job import AIMS, Aim
from squab.lay._leftover import covers, largest_left
from squab.lay.creep import up_mm as up_of
from squab.lay.cuts import cut_pieces, flaw_outline, matched
from squab.lay.order import cloth_cost, round_up, squared_off_mm
from squab.lay.records import ClothPlan, Figures, Improved, Lay, LayPhase, LayPiece, LayProblem, Placed
from squab.lay.verify import pattern_misfit_mm, verify
from squab.plane import Placement, Points

SAME_LINE_MM = 0.01
"""Cuts nearer to one line than this are one cut."""
FREE_MM = 0.05
"""A lay longer by no more than this costs nothing."""
CLEAR_MM = 1e-6
BARE_MM = 2e-4
"""Far under what the verifier lets pass as touching."""
MOST_TAKEN_UP = 4
"""So many pieces at the most are taken up at a time."""
IDLE_SHARE = 0.3
MOST_PLACES = 4000
"""So many places of a piece are looked at; more are thinned out."""

Stop = Callable[[], bool]
Floats = np.ndarray


def figures(problem: LayProblem, lay: Lay, *, length_mm: float | None = None) -> Figures:
    """Say how a lay does by the second aims; what is left is looked for up to `length_mm` (None: the lay's own)."""
    return _Table(problem, lay, lay.length_mm if length_mm is None else length_mm).figures()


def improve(
    problem: LayProblem,
    lay: Lay,
    aims: Sequence[Aim] = AIMS,
    *,
    allowance_mm: float = 0.0,
    seconds: float = 2.0,
    seed: int = 0,
    steps: int | None = None,
    stop: Stop | None = None,
) -> tuple[Improved, ...]:
    """Find lays that serve second aims, at no cloth or at no more than allowed.

    Parameters
    ----------
    problem, lay
        A sound lay of the problem, from the start of the pattern at which it stands.
    aims
        In the maker's order.
    allowance_mm
        How much longer a lay may become, 0 or more.
    seconds
        For all aims together.
    seed, steps
        With `steps`, so many changes are tried for each lay; the same seed then gives the same lays as
        long as the time is not up.
    stop
        Polled often; what has been found by then is returned.

    Returns
    -------
    tuple of Improved
        For each aim the best lay that costs nothing, and after it, where the allowance buys more of
        that aim, the best that costs some. Each is sound, and none longer than allowed.

    Raises
    ------
    LayError
        If the allowance is negative, an aim is not known, or the lay is not sound.
    """
    _check(problem, lay, aims, allowance_mm)
    most = lay.length_mm + allowance_mm
    if problem.bolt_mm is not None:
        most = max(lay.length_mm, min(most, problem.bolt_mm))
    rounds = 2 if most > lay.length_mm else 1
    share = seconds / max(1, len(aims) * rounds)
    found = []
    for k, aim in enumerate(aims):
        order = (aim, *(a for a in aims if a != aim))
        free = _best(problem, lay, order, lay.length_mm, share, seed + k, steps, stop)
        found.append(_improved(problem, aim, free, lay))
        if rounds == 2:
            dear = _best(problem, free, order, most, share, seed + k, steps, stop)
            better = _improved(problem, aim, dear, lay)
            if _scored(better.figures, aim) < _scored(found[-1].figures, aim):
                found[-1:] = [found[-1], better] if better.costs_mm > 0 else [better]
    return tuple(found)


def with_lay(plan: ClothPlan, cloth: Cloth, lay: Lay) -> ClothPlan:
    """A plan of a measured cloth with another of its lays, and what that makes the order."""
    needs = max(lay.length_mm, lay.length_mm + plan.needs_mm - plan.lay.length_mm)
    order = round_up(squared_off_mm(needs, cloth), cloth.sold_by_mm)
    return replace(
        plan, lay=lay, needs_mm=needs, order_mm=order,
        bolt_length_mm=None if plan.bolt_length_mm is None else squared_off_mm(lay.length_mm, cloth),
        cloth_cost=None if cloth.price_per_m is None else cloth_cost(cloth.price_per_m, order),
    )  # fmt: skip


def _check(problem: LayProblem, lay: Lay, aims: Sequence[Aim], allowance_mm: float) -> None:
    if not allowance_mm >= 0:
        raise LayError(f"an allowance of {allowance_mm} mm: a second aim may add cloth, 0 or more")
    for aim in aims:
        if aim not in AIMS:
            raise LayError(f"{aim!r} is no aim; there are {', '.join(AIMS)}")
    faults = verify(replace(problem, bolt_mm=None), lay)
    if faults:
        raise LayError(f"the lay to be improved is not sound: {faults[0].message}")


def _improved(problem: LayProblem, aim: Aim, lay: Lay, base: Lay) -> Improved:
    more = lay.length_mm - base.length_mm
    return Improved(aim, lay, figures(problem, lay), more if more > FREE_MM else 0.0)


def _scored(found: Figures, aim: Aim) -> tuple[float, ...]:
    """What an aim wants least of."""
    if aim == "large remnant":
        return (-round(found.left_mm2),)
    if aim == "straight cuts":
        return (found.knife_runs, -found.cuts_across)
    return (round(sum(found.spread_mm.values()), 1),)


def _best(
    problem: LayProblem, lay: Lay, order: Sequence[Aim], limit_mm: float, seconds: float, seed: int,
    steps: int | None, stop: Stop | None,
) -> Lay:  # fmt: skip
    """Change a lay, within a length, as long as the aims get no worse."""
    rng, until = random.Random(seed), time.monotonic() + seconds
    table = _Table(problem, lay, limit_mm)
    held = [table.worth(x) for x in (*order, None)]
    tried = 0
    while (steps is None or tried < steps) and time.monotonic() < until and not (stop is not None and stop()):
        tried += 1
        before = table.state()
        if not table.change(rng, order[0]):
            continue
        worth = _no_worse(table, order, held, idle=rng.random() < IDLE_SHARE)
        if worth is None:
            table.restore(before)
        else:
            held = worth
    best = table.lay()
    faults = verify(replace(problem, bolt_mm=None), best)
    assert not faults, "; ".join(f.message for f in faults[:3])
    return best


def _no_worse(
    table: _Table, order: Sequence[Aim], held: list[tuple[float, ...]], *, idle: bool
) -> list[tuple[float, ...]] | None:
    """What the table is worth by each aim, where it is no worse than held in their order; else None.

    What is equal by the aims may go either way where `idle` says so, or the lay would soon stand still.
    """
    worth: list[tuple[float, ...]] = []
    better = False
    for aim, before in zip((*order, None), held, strict=True):
        now = table.worth(aim)
        worth.append(now)
        if not better and now > before and not (aim is None and idle):
            return None
        better = better or now < before
    return worth


@dataclass
class _On:
    """A piece on the table at some turn and place: its bounds, and the rectangles that cover it.

    `bare` is its outline less a hair, so that neighbours that share an edge do not meet.
    """

    placed: Placed
    box: Floats
    covers: Floats
    outline: Points
    bare: Points
    is_box: bool


@dataclass
class _State:
    on: list[_On]
    keys: list[str]


@dataclass
class _Table:
    """The lay as it is being changed. `keys` says whose each piece is: cushions alike may exchange them."""

    problem: LayProblem
    start: Lay
    limit_mm: float
    pieces: tuple[LayPiece, ...] = ()
    shapes: dict[tuple[int, int], _On] = field(default_factory=dict)
    on: list[_On] = field(default_factory=list)
    keys: list[str] = field(default_factory=list)
    alike: list[tuple[str, str]] = field(default_factory=list)
    kept_clear: Floats = field(default_factory=lambda: np.zeros((0, 4)))

    def __post_init__(self) -> None:
        self.pieces = cut_pieces(self.problem, self.start)
        self.on = [self._put(k, x) for k, x in enumerate(self.start.placed)]
        self.keys = [x.key for x in self.start.placed]
        self.alike = _alike(self.problem)
        flaws = [covers(flaw_outline(f)) for f in self.problem.flaws]
        self.kept_clear = np.concatenate(flaws) if flaws else np.zeros((0, 4))

    def _put(self, k: int, placed: Placed) -> _On:
        """A piece at a place, cut once for every turn and then only shifted."""
        if (k, placed.turn_deg) not in self.shapes:
            self.shapes[k, placed.turn_deg] = _cut(self.pieces[k], placed)
        shape = self.shapes[k, placed.turn_deg]
        u, v = placed.u_mm - shape.placed.u_mm, placed.v_mm - shape.placed.v_mm
        by = np.array([u, v, u, v])
        return _On(placed, shape.box + by, shape.covers + by, shape.outline + by[:2], shape.bare + by[:2], shape.is_box)

    # --- figures ---

    def figures(self) -> Figures:
        return Figures(self._left(), *self._cuts(), self._spread())

    def worth(self, aim: Aim | None) -> tuple[float, ...]:
        """What an aim wants least of; None for everything near the cut end, which keeps the cloth's end free."""
        if aim == "large remnant":
            u0, v0, u1, v1 = self._left()
            return (-round((u1 - u0) * (v1 - v0)),)
        if aim == "straight cuts":
            runs, across = self._cuts()
            return (runs, -across)
        if aim == "cushions together":
            return (round(sum(self._spread().values()), 1),)
        return (sum(float(o.box[1] + 0.01 * o.box[0]) for o in self.on),)

    def _left(self) -> tuple[float, float, float, float]:
        taken = [o.covers for o in self.on] + ([self.kept_clear] if len(self.kept_clear) else [])
        return largest_left(taken, self.problem.usable_width_mm, self.limit_mm)

    def _cuts(self) -> tuple[int, int]:
        runs = sum(_runs(self.on, axis, self.problem.usable_width_mm) for axis in (0, 1))
        return runs, max(0, len(self._bands()) - 1)

    def _bands(self) -> list[list[int]]:
        """What lies between two lines right across the cloth that cut no piece, from the cut end up."""
        bands: list[list[int]] = []
        reach = -math.inf
        for k in sorted(range(len(self.on)), key=lambda k: float(self.on[k].box[1])):
            if self.on[k].box[1] >= reach - SAME_LINE_MM:
                bands.append([])
            bands[-1].append(k)
            reach = max(reach, float(self.on[k].box[3]))
        return bands

    def _spread(self) -> dict[str, float]:
        reach: dict[str, tuple[float, float]] = {}
        for key, o in zip(self.keys, self.on, strict=True):
            cushion = cushion_of(key)
            low, high = reach.get(cushion, (math.inf, -math.inf))
            reach[cushion] = (min(low, float(o.box[1])), max(high, float(o.box[3])))
        return {k: high - low for k, (low, high) in sorted(reach.items())}

    # --- changes ---

    def state(self) -> _State:
        return _State(list(self.on), list(self.keys))

    def restore(self, state: _State) -> None:
        self.on, self.keys = state.on, state.keys

    def change(self, rng: random.Random, aim: Aim) -> bool:
        """Try one change; False where nothing has been changed."""
        chance = rng.random()
        if chance < (0.4 if aim == "cushions together" else 0.05):
            return self.exchange(rng)
        if chance < 0.6:
            return self.restack(rng)
        return self.take_up(rng, aim)

    def restack(self, rng: random.Random) -> bool:
        """Lift one band, or a few that follow on one another, and lay it in elsewhere, the others closing up."""
        bands = self._bands()
        if len(bands) < 2:
            return False
        few = rng.randint(1, min(3, len(bands) - 1))
        at = rng.randrange(len(bands) - few + 1)
        lifted, rest = bands[at : at + few], bands[:at] + bands[at + few :]
        to = rng.randrange(len(rest) + 1)
        if to == at:
            return False
        on, reach = list(self.on), -self.problem.gap_mm
        for band in [*rest[:to], *lifted, *rest[to:]]:
            up = reach + self.problem.gap_mm - min(float(self.on[k].box[1]) for k in band)
            if abs(up) > CLEAR_MM:
                if not all(self._may_rise(k, up) for k in band):
                    return False
                for k in band:
                    on[k] = self._put(k, replace(on[k].placed, v_mm=on[k].placed.v_mm + up))
            reach = max(float(on[k].box[3]) for k in band)
        if reach > self.limit_mm + CLEAR_MM or (len(self.kept_clear) and not all(self._off_flaws(o) for o in on)):
            return False
        self.on = on
        return True

    def _may_rise(self, k: int, up_mm: float) -> bool:
        """Tell whether a piece moved along the cloth lies on its place of the pattern again."""
        phase = self.pieces[k].phase
        if not matched(self.problem, phase)[1]:
            return True
        assert phase is not None
        creep = self.problem.creep
        if creep is not None:
            at = self.on[k].placed.v_mm + up_of(phase, self.on[k].placed.turn_deg)
            up_mm = float(creep.pattern_mm(at + up_mm) - creep.pattern_mm(at))
        return pattern_misfit_mm(self.problem.lattice, 0.0, up_mm) < CLEAR_MM

    def _off_flaws(self, on: _On) -> bool:
        near = self.kept_clear[_too_near(on.box, self.kept_clear, 0.0)]
        return not len(near) or not any(shapely.Polygon(on.bare).intersects(shapely.box(*r)) for r in near)

    def exchange(self, rng: random.Random) -> bool:
        """Let two pieces (or strips) that are alike change owners."""
        if not self.alike:
            return False
        a, b = rng.choice(self.alike)
        other = {a: b, b: a}
        self.keys = [other.get(k, k) for k in self.keys]
        return True

    def take_up(self, rng: random.Random, aim: Aim) -> bool:
        """Take up a few pieces and put them down elsewhere; False, and nothing done, where one has no place."""
        if not self.on:
            return False
        taken = self._some(rng)
        before = list(self.on)
        down = [k for k in range(len(self.on)) if k not in taken]
        for k in taken:
            place = self._place(k, down, rng, aim)
            if place is None:
                self.on = before
                return False
            self.on[k] = place
            down.append(k)
        return any(self.on[k].placed != before[k].placed for k in taken)

    def _some(self, rng: random.Random) -> list[int]:
        """A piece at random and some of its neighbours, in a random order."""
        first = rng.randrange(len(self.on))
        boxes = np.array([o.box for o in self.on])
        middle = (boxes[:, :2] + boxes[:, 2:]) / 2
        near = np.argsort(np.abs(middle - middle[first]).sum(axis=1))
        count = rng.randint(1, min(MOST_TAKEN_UP, len(self.on)))
        some = [first, *rng.sample(near[1 : 3 * MOST_TAKEN_UP].tolist(), min(count, len(self.on)) - 1)]
        rng.shuffle(some)
        return some

    def _place(self, k: int, down: list[int], rng: random.Random, aim: Aim) -> _On | None:
        """A free place for a piece, liked by the aim or found by chance."""
        piece, before = self.pieces[k], self.on[k].placed
        boxes = np.array([self.on[j].box for j in down]) if down else np.zeros((0, 4))
        turn = rng.choice(piece.turns_deg)
        there = self._put(k, replace(before, turn_deg=turn))
        at = self._allowed(piece, there, boxes, rng)
        at = self._clear(there, at, boxes, down)
        if not len(at):
            return None
        for choice in _liked(at, there, boxes, rng, aim, self._middle(k, down)):
            u, v = (float(x) for x in at[choice])
            put = self._put(k, Placed(before.key, turn, there.placed.u_mm + u, there.placed.v_mm + v, before.part_mm))
            if self._is_clear(put, down):
                return put
        return None

    def _middle(self, k: int, down: list[int]) -> float:
        """Where along the cloth the rest of a piece's cushion lies."""
        own = [self.on[j].box for j in down if cushion_of(self.keys[j]) == cushion_of(self.keys[k])]
        return float(np.mean([(b[1] + b[3]) / 2 for b in own])) if own else 0.0

    def _allowed(self, piece: LayPiece, there: _On, boxes: Floats, rng: random.Random) -> Floats:
        """Shifts of a piece to places within the cloth that its pattern allows, (n, 2)."""
        gap, width = self.problem.gap_mm, self.problem.usable_width_mm
        u0, v0, u1, v1 = there.box
        across, along = matched(self.problem, piece.phase)
        low, high = -u0, width - u1
        least, most = -v0, self.limit_mm - v1
        if high < low - CLEAR_MM or most < least - CLEAR_MM:
            return np.zeros((0, 2))
        us = np.concatenate([[low, high], boxes[:, 2] + gap - u0, boxes[:, 0] - gap - u1])
        vs = np.concatenate([[least, most], boxes[:, 3] + gap - v0, boxes[:, 1] - gap - v1])
        shifts = _grid(self.problem, piece.phase, there.placed, self.start, (low, high), (least, most))
        if across and along:
            at = shifts
        elif across:
            at = _cross(np.unique(shifts[:, 0]), vs)
        elif along:
            at = _cross(us, np.unique(shifts[:, 1]))
        else:
            at = _cross(us, vs)
        inside = (
            (at[:, 0] >= low - CLEAR_MM) & (at[:, 0] <= high + CLEAR_MM)
            & (at[:, 1] >= least - CLEAR_MM) & (at[:, 1] <= most + CLEAR_MM)
        )  # fmt: skip
        at = np.asarray(at[inside], dtype=np.float64)
        return at if len(at) <= MOST_PLACES else at[sorted(rng.sample(range(len(at)), MOST_PLACES))]

    def _clear(self, there: _On, at: Floats, boxes: Floats, down: list[int]) -> Floats:
        """Those shifts at which the piece lies over no rectangle, its bounds taken where both are rectangles."""
        if not there.is_box:
            return at
        square = np.array([self.on[j].is_box for j in down], dtype=bool)
        blocked = np.zeros(len(at), dtype=bool)
        for rects, gap in ((boxes[square], self.problem.gap_mm), (self.kept_clear, 0.0)):
            if len(rects):
                reach = gap - CLEAR_MM
                over = (
                    (at[:, 0, None] + there.box[0] < rects[None, :, 2] + reach)
                    & (at[:, 0, None] + there.box[2] > rects[None, :, 0] - reach)
                    & (at[:, 1, None] + there.box[1] < rects[None, :, 3] + reach)
                    & (at[:, 1, None] + there.box[3] > rects[None, :, 1] - reach)
                )
                blocked |= over.any(axis=1)
        return at[~blocked]

    def _is_clear(self, put: _On, down: list[int]) -> bool:
        """Tell whether a piece, as it is cut, lies clear of all others by the gap, and of the flaws."""
        gap = self.problem.gap_mm
        on = [self.on[j] for j in down]
        boxes = np.array([o.box for o in on]).reshape(-1, 4)
        near = [on[j] for j in np.nonzero(_too_near(put.box, boxes, gap))[0]]
        if any(put.is_box and o.is_box for o in near):
            return False
        if len(self.kept_clear) and not self._off_flaws(put):
            return False
        if not near:
            return True
        polygon = shapely.Polygon(put.bare)
        if gap > 0:
            return all(polygon.distance(shapely.Polygon(o.outline)) > gap + BARE_MM - CLEAR_MM for o in near)
        return not any(polygon.intersects(shapely.Polygon(o.outline)) for o in near)

    def lay(self) -> Lay:
        placed = tuple(replace(o.placed, key=key) for key, o in zip(self.keys, self.on, strict=True))
        length = max((float(o.box[3]) for o in self.on), default=0.0)
        return replace(self.start, placed=placed, length_mm=length)


def cushion_of(key: str) -> str:
    """The very cushion a piece is for.

    >>> cushion_of("seat#2.top"), cushion_of("seat.piping#1"), cushion_of("panel")
    ('seat#2', 'seat', 'panel')
    """
    return key.split(".")[0]


def _cut(piece: LayPiece, placed: Placed) -> _On:
    uv = Placement(placed.turn_deg, placed.u_mm, placed.v_mm).points(piece.outline)
    box = np.array([uv[:, 0].min(), uv[:, 1].min(), uv[:, 0].max(), uv[:, 1].max()])
    rects = covers(uv)
    bare = shapely.Polygon(uv).buffer(-BARE_MM, join_style="mitre")
    ring = np.asarray(bare.exterior.coords)[:-1] if isinstance(bare, shapely.Polygon) and not bare.is_empty else uv
    return _On(placed, box, rects, uv, ring, len(rects) == 1)


def _alike(problem: LayProblem) -> list[tuple[str, str]]:
    """Pairs of pieces, and of strips, that are cut alike for different cushions."""
    pieces = [(p.key, (p.outline.tolist(), p.turns_deg, p.phase)) for p in problem.pieces]
    strips = [(s.key, replace(s, key="", cushion="")) for s in problem.strips]
    return [
        (a, b)
        for parts in (pieces, strips)
        for i, (a, what) in enumerate(parts)
        for b, other in parts[i + 1 :]
        if cushion_of(a) != cushion_of(b) and what == other
    ]


def _grid(
    problem: LayProblem, phase: LayPhase | None, placed: Placed, lay: Lay,
    us: tuple[float, float], vs: tuple[float, float],
) -> Floats:  # fmt: skip
    """Shifts that bring a piece onto its places on the pattern, within ranges of shifts."""
    if phase is None:
        return np.zeros((0, 2))
    a, b = lay.anchors.get(phase.group, (0.0, 0.0))
    pu, pv, drop = problem.lattice.across_mm, problem.lattice.along_mm, problem.lattice.drop_mm
    first_u = lay.pattern_at[0] + phase.sign_p * a + (phase.off_p or 0.0) - placed.u_mm
    first_v = lay.pattern_at[1] + phase.sign_q * b + (phase.off_q or 0.0) - placed.v_mm
    columns = (
        _numbers(first_u, pu, us) if phase.off_p is not None and pu else range(round(pv / drop) if drop and pv else 1)
    )
    places = []
    creep = problem.creep if phase.off_q is not None and pv else None
    up = up_of(phase, placed.turn_deg)
    for m in columns:
        rise = m * drop
        if creep is not None and pv:
            first_q = phase.sign_q * b + (phase.off_q or 0.0) + up + rise
            low, high = (float(creep.pattern_mm(placed.v_mm + up + v)) - first_q for v in vs)
            for n in range(math.ceil(low / pv - CLEAR_MM), math.floor(high / pv + CLEAR_MM) + 1):
                there = float(creep.true_mm(first_q + n * pv)) - up - placed.v_mm
                places.append((first_u + m * (pu or 0.0), there))
            continue
        for n in _numbers(first_v + rise, pv, vs) if phase.off_q is not None and pv else (0,):
            places.append((first_u + m * (pu or 0.0), first_v + rise + n * (pv or 0.0)))
    return np.array(places).reshape(-1, 2)


def _numbers(first: float, period: float, within: tuple[float, float]) -> range:
    low = math.ceil((within[0] - first - CLEAR_MM) / period)
    high = math.floor((within[1] - first + CLEAR_MM) / period)
    return range(low, high + 1)


def _cross(us: Floats, vs: Floats) -> Floats:
    u, v = np.meshgrid(np.unique(np.round(us, 9)), np.unique(np.round(vs, 9)))
    return np.column_stack([u.ravel(), v.ravel()])


def _liked(at: Floats, there: _On, boxes: Floats, rng: random.Random, aim: Aim, middle: float) -> Iterable[int]:
    """Places in the order in which to try them: at first as the aim likes them, sometimes by chance."""
    few = 6
    u, v = at[:, 0] + there.box[0], at[:, 1] + there.box[1]
    chance = rng.random()
    if chance < 0.25:
        return [rng.randrange(len(at)) for _ in range(few)]
    if aim == "cushions together" and chance < 0.7:
        worth = np.abs(at[:, 1] + (there.box[1] + there.box[3]) / 2 - middle)
    elif aim == "straight cuts" and chance < 0.7:
        worth = -_in_line(at, there, boxes)
    elif chance < 0.85:
        worth = v + 0.001 * u
    else:
        worth = u + 0.001 * v
    jitter = np.random.default_rng(rng.getrandbits(32)).random(len(at)) * 1e-3
    return [int(k) for k in np.argsort(worth + jitter, kind="stable")[:few]]


def _in_line(at: Floats, there: _On, boxes: Floats) -> Floats:
    """How many edges of a piece would lie in line with an edge of another, at each shift."""
    count = np.zeros(len(at))
    for axis in (0, 1):
        lines = np.concatenate([boxes[:, axis], boxes[:, axis + 2]])
        for edge in (axis, axis + 2):
            if len(lines):
                off = np.abs((at[:, axis] + there.box[edge])[:, None] - lines[None, :])
                count += off.min(axis=1) < SAME_LINE_MM
    return count


def _too_near(box: Floats, others: Floats, gap_mm: float) -> Floats:
    """Which rectangles lie nearer to one than the gap."""
    apart = np.maximum(
        np.maximum(others[:, 0] - box[2], box[0] - others[:, 2]),
        np.maximum(others[:, 1] - box[3], box[1] - others[:, 3]),
    )
    return np.asarray(apart < gap_mm - CLEAR_MM)


def _runs(on: Sequence[_On], axis: int, width_mm: float) -> int:
    """Straight cuts along one direction: edges in one line that follow on are one run of the knife.

    The slanted and round edges of a piece that is no rectangle are cut one by one and count nothing:
    they are the same wherever it lies.
    """
    edges = []
    for o in on:
        if o.is_box:
            for side in (axis, axis + 2):
                at = float(o.box[side])
                if at > SAME_LINE_MM and not (axis == 0 and at > width_mm - SAME_LINE_MM):
                    edges.append((at, float(o.box[1 - axis]), float(o.box[3 - axis])))
    edges.sort()
    runs, line, reach = 0, -math.inf, -math.inf
    group: list[tuple[float, float]] = []
    for at, low, high in [*edges, (math.inf, 0.0, 0.0)]:
        if at - line > SAME_LINE_MM:
            for a, b in sorted(group):
                runs += a > reach + SAME_LINE_MM
                reach = max(reach, b)
            group, line, reach = [], at, -math.inf
        group.append((low, high))
    return runs
