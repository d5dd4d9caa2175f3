"""Solve the relations: groups of parts that move together, and the relations that cannot all be true.

Every part's shift on the pattern is held as t = sign root + offset, across and along apart, in
two union-finds; a part pinned to a place hangs from the ground, which stands still. Offsets are
kept as they are found, not reduced: only a relation between two parts that hang together already
is looked at modulo the lattice, both ways at once where both are asked.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import numpy as np

from squab.match.congruence import SAME_MM, Repeat, Way, wrap
from squab.match.relations import GROUND, Relation, Tie


@dataclass(frozen=True)
class Contradiction:
    """A relation that could not be kept: what it misses by, and the loop of relations that says otherwise.

    `miss_p` and `miss_q` are None in a direction in which nothing contradicts, or where only a
    mirror stands in the way.
    """

    relation: Relation
    miss_p: float | None
    miss_q: float | None
    loop: tuple[str, ...]


@dataclass
class _Forest:
    """Parts hanging from roots in one direction: t_part = sign t_root + off."""

    above: dict[str, tuple[str, int, float]] = field(default_factory=dict)

    def find(self, part: str) -> tuple[str, int, float]:
        root, sign, off = part, 1, 0.0
        while root in self.above:
            root, step_sign, step_off = self.above[root]
            sign, off = sign * step_sign, sign * step_off + off
        return root, sign, off

    def hang(self, a: str, b: str, sign: int, off: float) -> None:
        """Make t_b = sign t_a + off true of two parts that do not hang together yet."""
        root_a, sign_a, off_a = self.find(a)
        root_b, sign_b, off_b = self.find(b)
        # sign_b r_b + off_b = sign (sign_a r_a + off_a) + off
        turn, shift = sign_b * sign * sign_a, sign_b * (sign * off_a + off - off_b)
        if root_b == GROUND:
            self.above[root_a] = (GROUND, 1, -turn * shift)
        else:
            self.above[root_b] = (root_a, turn, shift)

    def state(self, a: str, b: str, sign: int, off: float) -> tuple[str, float]:
        """How a tie stands: `apart`, `off` by so much, or `mirrored`, asking for a root at a place."""
        root_a, sign_a, off_a = self.find(a)
        root_b, sign_b, off_b = self.find(b)
        if root_a != root_b:
            return "apart", 0.0
        residual = off_b - (sign * off_a + off)
        if root_a == GROUND or sign_b == sign * sign_a:
            return "off", residual
        return "mirrored", -sign_b * residual / 2

    def pin_root(self, part: str, at: float) -> None:
        root = self.find(part)[0]
        self.above[root] = (GROUND, 1, at)


@dataclass(frozen=True, slots=True)
class Held:
    """Where a part stands: in a group, at sign anchor + offset each way; None: free that way."""

    group: str
    p: tuple[int, float] | None
    q: tuple[int, float] | None


@dataclass(frozen=True)
class Solution:
    """Where every related part stands, the anchors that are pinned, and what could not be kept."""

    held: dict[str, Held]
    pinned: dict[str, tuple[float | None, float | None]]
    kept: tuple[str, ...]
    contradictions: tuple[Contradiction, ...]


class Solver:
    """Hears relations one after another, keeps each that agrees with those before it."""

    def __init__(self, repeats: dict[str, Repeat]) -> None:
        self._repeats = repeats
        self._p, self._q = _Forest(), _Forest()
        self._kept: list[Relation] = []
        self._contradictions: list[Contradiction] = []

    def hear(self, relation: Relation) -> bool:
        """Keep a relation by the first of its ties that agrees; else note what contradicts it."""
        misses = []
        for tie in relation.ties:
            miss = self._try(relation, tie)
            if miss is None:
                self._kept.append(relation)
                return True
            misses.append(miss)
        miss_p, miss_q = misses[0]
        loop = _way_between(self._kept, relation.a, relation.b)
        self._contradictions.append(Contradiction(relation, miss_p, miss_q, loop))
        return False

    def _try(self, relation: Relation, tie: Tie) -> tuple[float | None, float | None] | None:
        """Keep one tie, or hand back by how much it misses."""
        a, b, repeat = relation.a, relation.b, self._repeats[relation.b]
        state_p, at_p = self._p.state(a, b, tie.sign_p, tie.off_p) if tie.off_p is not None else ("", 0.0)
        state_q, at_q = self._q.state(a, b, tie.sign_q, tie.off_q) if tie.off_q is not None else ("", 0.0)
        if "mirrored" in (state_p, state_q) and not relation.may_pin:
            return (None, None)
        step = _lattice_step(repeat, at_p if state_p == "off" else None, at_q if state_q == "off" else None)
        if step is None:
            return _missed(repeat, at_p if state_p == "off" else None, at_q if state_q == "off" else None)
        if tie.off_p is not None:
            _apply(self._p, relation, tie.sign_p, tie.off_p + step[0], state_p)
        if tie.off_q is not None:
            _apply(self._q, relation, tie.sign_q, tie.off_q + step[1], state_q)
        return None

    def solution(self, order: Sequence[str]) -> Solution:
        """Name the groups and give each part its place; the first part of a group in `order` is its anchor."""
        order = [*order]
        tied: dict[Way, set[str]] = {"p": self._tied("p"), "q": self._tied("q")}
        groups = self._groups(order, tied)
        held: dict[str, Held] = {}
        pinned: dict[str, tuple[float | None, float | None]] = {}
        for members in groups:
            name = members[0]
            p, anchor_p = _held(self._p, members, tied["p"])
            q, anchor_q = _held(self._q, members, tied["q"])
            pinned[name] = (anchor_p, anchor_q)
            held |= {m: Held(name, p.get(m), q.get(m)) for m in members}
        kept = tuple(r.name for r in self._kept)
        return Solution(held, pinned, kept, tuple(self._contradictions))

    def _tied(self, way: Way) -> set[str]:
        forest = self._p if way == "p" else self._q
        return {*forest.above, *(root for root, _, _ in forest.above.values())} - {GROUND}

    def _groups(self, order: list[str], tied: dict[Way, set[str]]) -> list[list[str]]:
        """Related parts that move together, in the order given.

        Related parts hang from one root in either direction, or stand still beside one another.
        The ground does not move: parts that hang from it in one direction may still go their own
        ways in the other.
        """
        return [group for related in self._related(order) for group in self._moving_together(related, tied)]

    def _related(self, order: list[str]) -> list[list[str]]:
        """Parts that hang together, by whichever relation."""
        near: dict[str, set[str]] = {}
        for r in self._kept:
            near.setdefault(r.b, set())
            if r.a != GROUND:
                near.setdefault(r.a, set()).add(r.b)
                near[r.b].add(r.a)
        found, seen = [], set[str]()
        for part in order:
            if part not in near or part in seen:
                continue
            members, queue = {part}, deque([part])
            while queue:
                for other in near[queue.popleft()] - members:
                    members.add(other)
                    queue.append(other)
            seen |= members
            found.append([m for m in order if m in members])
        return found

    def _moving_together(self, related: list[str], tied: dict[Way, set[str]]) -> list[list[str]]:
        """Related parts by what moves them; those that nothing moves hold nobody."""
        moved_by = {part: self._moving_roots(part, tied) for part in related}
        groups: list[tuple[set[tuple[Way, str]], set[str]]] = []
        for part, roots in moved_by.items():
            near = [g for g in groups if g[0] & roots or g[0] == roots]
            joined = (roots.union(*(g[0] for g in near)), {part}.union(*(g[1] for g in near)))
            at = groups.index(near[0]) if near else len(groups)
            groups = [*groups[:at], joined, *(g for g in groups[at:] if g not in near)]
        return [[m for m in related if m in members] for _, members in groups]

    def _moving_roots(self, part: str, tied: dict[Way, set[str]]) -> set[tuple[Way, str]]:
        roots: set[tuple[Way, str]] = set()
        if part in tied["p"]:
            roots.add(("p", self._p.find(part)[0]))
        if part in tied["q"]:
            roots.add(("q", self._q.find(part)[0]))
        return {(way, root) for way, root in roots if root != GROUND}


def _apply(forest: _Forest, relation: Relation, sign: int, off: float, state: str) -> None:
    if state == "apart":
        forest.hang(relation.a, relation.b, sign, off)
    elif state == "mirrored":
        forest.pin_root(relation.b, forest.state(relation.a, relation.b, sign, off)[1])


def _held(forest: _Forest, members: list[str], tied: set[str]) -> tuple[dict[str, tuple[int, float]], float | None]:
    """Places of a group's members in one direction, relative to its first member that is
    pinned, or tied at all, that way.

    Members that hang from different roots in this direction are kept as they are to one
    another at offset 0: more than was asked, so it is true whatever is asked of them.
    """
    inside = [m for m in members if m in tied]
    if not inside:
        return {}, None
    grounded = [m for m in inside if forest.find(m)[0] == GROUND]
    lead_root, lead_sign, lead_off = forest.find((grounded or inside)[0])
    places: dict[str, tuple[int, float]] = {}
    for m in inside:
        root, sign, off = forest.find(m)
        if root == lead_root == GROUND:
            places[m] = (1, off - lead_off)
        elif root == lead_root:
            places[m] = (sign * lead_sign, off - sign * lead_sign * lead_off)
        else:
            places[m] = (sign, off)
    return places, lead_off if lead_root == GROUND else None


def _lattice_step(repeat: Repeat, rp: float | None, rq: float | None) -> tuple[float, float] | None:
    """The lattice point that two residuals amount to; None where they amount to none.

    A direction without a residual is free to follow: its step is what the other one brings.
    """
    across, along, drop = repeat.across_mm, repeat.along_mm, repeat.drop_mm
    if rp is not None and across is not None:
        steps = round(rp / across)
        if abs(rp - steps * across) > SAME_MM:
            return None
        side = steps * drop if along is not None else 0.0
        if rq is not None and along is not None and abs(wrap(rq - side, along)) > SAME_MM:
            return None
        return (steps * across, side if rq is None else rq)
    if rq is None or along is None:
        return (0.0, 0.0)
    for steps in range(repeat.steps_to_level):
        if abs(wrap(rq - steps * drop, along)) <= SAME_MM:
            return (steps * (across or 0.0), rq)
    return None


def _missed(repeat: Repeat, rp: float | None, rq: float | None) -> tuple[float | None, float | None]:
    if rp is not None and rq is not None:
        p, q = repeat.reduced(np.array([rp]), np.array([rq]))
        return (float(p[0]), float(q[0]))
    modulus_p, modulus_q = repeat.modulus("p"), repeat.modulus("q")
    return (
        wrap(rp, modulus_p) if rp is not None and modulus_p else None,
        wrap(rq, modulus_q) if rq is not None and modulus_q else None,
    )


def _way_between(kept: Iterable[Relation], a: str, b: str) -> tuple[str, ...]:
    """The kept relations that lead from one part to another, the shortest way."""
    near: dict[str, list[tuple[str, str]]] = {}
    for r in kept:
        near.setdefault(r.a, []).append((r.b, r.name))
        near.setdefault(r.b, []).append((r.a, r.name))
    came: dict[str, tuple[str, str] | None] = {a: None}
    queue = deque([a])
    while queue and b not in came:
        here = queue.popleft()
        for there, name in near.get(here, ()):
            if there not in came:
                came[there] = (here, name)
                queue.append(there)
    names: list[str] = []
    step = came.get(b)
    while step:
        names.append(step[1])
        step = came[step[0]]
    return tuple(reversed(names))
