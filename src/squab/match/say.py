"""What matching has to say, in the maker's words, and what could be changed."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from squab.cloth import Pattern
from squab.construct.records import Construction, CushionCover
from squab.findings import Finding, Severity
from squab.job import Cushion, Job
from squab.match.congruence import best_reflection, repeat_of, wrap
from squab.match.drift import FRONT_GOOD_MM, Judged
from squab.match.parts import Part, SeamCase, main_top
from squab.match.records import Cure, SeamDrift
from squab.match.relations import Neighbours, ties_of_neighbours, ties_of_seam
from squab.match.solve import Contradiction, Solution
from squab.plane import Line
from squab.units import Style, format_length

SAME_MM = 0.1
_JOIN_WORDS = {
    "boxing_join": "boxing join",
    "zip_join": "join of boxing and zip panel",
    "zip_centre": "zip",
    "panel_panel": "panel seam",
}


@dataclass(frozen=True)
class Said:
    """All there is to speak of."""

    job: Job
    construction: Construction
    parts: Mapping[str, Part]
    cases: Sequence[SeamCase]
    drifts: Sequence[SeamDrift]
    solution: Solution
    neighbours: Sequence[Neighbours]

    def of(self, cushion_id: str) -> list[tuple[SeamCase, SeamDrift]]:
        """One cushion's seams with their drifts."""
        return [(c, d) for c, d in zip(self.cases, self.drifts, strict=True) if c.seam.cushion_id == cushion_id
                or (not c.seam.cushion_id and c.a.cushion_id == cushion_id)]  # fmt: skip

    def cushion(self, cushion_id: str) -> Cushion:
        """The cushion of that id."""
        return next(c for c in self.job.cushions if c.id == cushion_id)

    def name_of(self, relation_name: str) -> str:
        """A relation in words: where its seam is, or what it asks."""
        return next((place_of(c) for c in self.cases if c.seam.id == relation_name), self._asked(relation_name))

    def _asked(self, relation_name: str) -> str:
        """A relation that is no seam in the maker's own names: a place asked for, or two that stand side by side."""
        names = {c.id: c.name or c.id for c in self.job.cushions}
        part = self.parts.get(relation_name.removesuffix(" pinned"))
        if part is not None:
            return f"the place asked for {names[part.cushion_id]}"
        left, beside, right = relation_name.partition(" beside ")
        return f"{names.get(left, left)} beside {names.get(right, right)}" if beside else relation_name


def thing(pattern: Pattern) -> str:
    """What the pattern is called: the stripe, or the print."""
    return "stripe" if pattern.stripes or pattern.kind in ("warp_stripe", "weft_stripe") else "print"


def place_of(case: SeamCase) -> str:
    """Where a seam is, in words: `back bottom edge`."""
    if case.seam.kind in _JOIN_WORDS:
        words = _JOIN_WORDS[case.seam.kind]
        return f"{words} at the {case.seam.side}" if case.seam.side else words
    return " ".join(w for w in (case.seam.side, case.seam.edge, "edge") if w)


def said_of(case: SeamCase, judged: Judged | None, style: Style) -> str:
    """One seam's verdict as a sentence."""
    place, what = place_of(case), thing(case.a.cloth.pattern if case.a.is_matched else case.b.cloth.pattern)
    if judged is None:
        return f"{place}: not matched, {case.why}."
    if judged.verdict == "good":
        return f"{place}: the {what} meets{' across; up and down it does not' if case.across_only else ''}."
    worst = format_length(judged.worst_mm, style)
    if judged.good_to_mm and judged.at_match_mm <= 1.0:
        where = "centre" if case.role in ("front", "back") else "middle"
        reach = format_length(judged.good_to_mm, style)
        return (
            f"{place}: the {what} meets at the {where} and stays good for {reach} of edge each way; "
            f"beyond that it drifts by up to {worst}."
        )
    if judged.verdict == "say so":
        return f"{place}: the {what} is off by up to {worst}."
    return f"{place}: the {what} does not meet; it is off by up to {worst}."


def findings_of(said: Said) -> tuple[Finding, ...]:
    """Every finding of matching but those about pins."""
    found: list[Finding] = []
    for cushion in said.job.cushions:
        seams = said.of(cushion.id)
        found += _summary(said, cushion, seams)
        found += _musts(said, cushion, seams)
        found += _half_turns(said, cushion)
        found += _strip_below(said, cushion, seams)
        found += _copies(said, cushion)
        found += _out_of_true(said, cushion)
    found += _contradictions(said)
    found += [f for pair in said.neighbours for f in _mitre(pair)]
    return tuple(found)


def _listed(words: Iterable[str]) -> str:
    items = list(dict.fromkeys(words))
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""


def _panel_seams(seams: Sequence[tuple[SeamCase, SeamDrift]]) -> list[tuple[SeamCase, SeamDrift]]:
    """Seams of the top panel to the boxing that were asked to meet."""
    kinds = ("panel_boxing", "panel_zip")
    return [(c, d) for c, d in seams if c.seam.kind in kinds and c.seam.edge == "top" and c.wish != "ignore"]


def _summary(said: Said, cushion: Cushion, seams: Sequence[tuple[SeamCase, SeamDrift]]) -> list[Finding]:
    """One sentence a cushion: where the pattern meets, where only partly, where it cannot."""
    asked = _panel_seams(seams)
    if not asked:
        return []
    style, what = said.job.style, thing(asked[0][0].a.cloth.pattern)
    sides: dict[str, list[SeamDrift]] = {}
    for case, drift in asked:
        sides.setdefault(_side_word(case), []).append(drift)
    whole = [n for n, ds in sides.items() if all(d.verdict == "good" for d in ds)]
    partly = [n for n, ds in sides.items() if n not in whole and all(d.verdict == "good" or d.good_to_mm for d in ds)]
    never = [n for n in sides if n not in whole and n not in partly]
    across_only = {n for n in whole if any(d.across_only for d in sides[n])}
    parts = [
        f"the {what} meets along the whole {_listed(names)}{more}"
        for names, more in (
            ([n for n in whole if n not in across_only], ""),
            ([n for n in whole if n in across_only], ", but across only: up and down it does not"),
        )
        if names
    ]
    for name in partly:
        reach = min(d.good_to_mm for d in sides[name] if d.good_to_mm)
        parts.append(f"at the {name} it meets at the middle only, good for {format_length(reach, style)} each way")
    if never:
        worst = max(d.worst_mm for n in never for d in sides[n])
        parts.append(f"at the {_listed(never)} it does not meet (off by up to {format_length(worst, style)})")
    cures = [c.what for c in cures_of_cushion(said, cushion) if c.setting]
    text = "; ".join(parts)
    return [Finding(
        "MAT-001", Severity.NOTE, cushion.name, text[0].upper() + text[1:],
        "; ".join(cures), cushion.line,
    )]  # fmt: skip


def _side_word(case: SeamCase) -> str:
    """The side's own name, or front and back where an edge of another name runs round both."""
    if case.seam.side in ("front", "right", "back", "left") or case.role not in ("front", "back"):
        return case.seam.side or "edge"
    return case.role


def _musts(said: Said, cushion: Cushion, seams: Sequence[tuple[SeamCase, SeamDrift]]) -> list[Finding]:
    """Seams that had to meet and do not."""
    found = []
    told = {c.relation.name for c in said.solution.contradictions if _contradiction(said, c)}
    for case, drift in seams:
        if case.wish != "must" or drift.verdict not in ("say so", "miss") or case.seam.id in told:
            continue
        severe = Severity.NOTE if _only_round_its_corners(case, drift) else Severity.WARN
        found.append(Finding(
            "MAT-002", severe, f"{cushion.name}: {place_of(case)}",
            f"this seam was to meet, but {drift.said.split(': ', 1)[-1].rstrip('.')}",
            "set this seam to `prefer` if you can live with that; otherwise let a seam that is less seen give way "
            "(`prefer` or `ignore`), or change the size", cushion.line,
        ))  # fmt: skip
    return found


def _only_round_its_corners(case: SeamCase, drift: SeamDrift) -> bool:
    """Tell whether a front is good up to its rounded corners and drifts only round them: that is geometry."""
    if case.role != "front" or not drift.good_to_mm:
        return False
    edges = case.seam.a.path.edges
    straight = max((e.length for e in edges if isinstance(e, Line)), default=0.0)
    return len(edges) > 1 and straight > 0.0 and drift.good_to_mm >= straight / 2 - SAME_MM


def _half_turns(said: Said, cushion: Cushion) -> list[Finding]:
    wishes = cushion.cover.matching
    oneway = next((p.cloth for p in said.parts.values() if p.cushion_id == cushion.id and p.is_matched
                   and p.cloth.one_way and p.kind in ("boxing", "zip_panel")), None)  # fmt: skip
    if not wishes.back_half_turned or oneway is None:
        return []
    return [Finding(
        "MAT-004", Severity.WARN, cushion.name,
        f"the back was to be cut half-turned, but {oneway.name} runs one way and may not be; it is cut upright",
        "take out back_half_turned, or use a cloth without pile or one-way print", cushion.line,
    )]  # fmt: skip


def _strip_below(said: Said, cushion: Cushion, seams: Sequence[tuple[SeamCase, SeamDrift]]) -> list[Finding]:
    """On a print, a strip cut straight below its own panel misses by two allowances."""
    fronts = [c for c, d in seams if c.role == "front" and c.seam.edge == "top" and "q" in c.ways
              and d.verdict == "good" and c.a.turn_deg == c.b.turn_deg == 0]  # fmt: skip
    if not fronts:
        return []
    two = format_length(2 * cushion.cover.allowance_mm, said.job.style)
    return [Finding(
        "MAT-005", Severity.NOTE, f"{cushion.name}: {place_of(fronts[0])}",
        f"the front boxing takes its own place on the {thing(fronts[0].a.cloth.pattern)}: "
        f"cut directly below its panel it would miss by two allowances, {two}",
        "", cushion.line,
    )]  # fmt: skip


def _copies(said: Said, cushion: Cushion) -> list[Finding]:
    """Copies of one kind in a row flow on only where the finished width is a whole number of repeats."""
    cover = next((c for c in said.construction.covers if c.cushion_id == cushion.id), None)
    top = main_top(cover) if cover else None
    if not (cushion.cover.matching.row and cushion.count > 1 and cover and top):
        return []
    part = said.parts[top.id]
    across = repeat_of(part.cloth.pattern).across_mm if part.is_matched else None
    if across is None:
        return []
    x0, _, x1, _ = cover.seam_outline.bounds()
    off = wrap(x1 - x0 + 2 * cover.sizes.stands_proud_mm, across)
    if abs(off) < 0.5:
        return []
    style = said.job.style
    return [Finding(
        "MAT-006", Severity.WARN, cushion.name,
        f"{cushion.count} of a kind stand in a row: cut alike, the {thing(part.cloth.pattern)} jumps by "
        f"{format_length(abs(off), style)} from each to the next",
        "give each place in the row a cushion of its own, so that each is cut where the last one ended", cushion.line,
    )]  # fmt: skip


def _out_of_true(said: Said, cushion: Cushion) -> list[Finding]:
    """Say where the roll's own bow and skew are more than a match can bear."""
    cover = next((c for c in said.construction.covers if c.cushion_id == cushion.id), None)
    part = main_top(cover) if cover else None
    cloth = said.parts[part.id].cloth if part else None
    if cover is None or cloth is None or not cloth.pattern.changes_along or cushion.cover.matching.front == "ignore":
        return []
    x0, _, x1, _ = cover.seam_outline.bounds()
    slant = cloth.out_of_true_mm(x1 - x0)
    if slant <= FRONT_GOOD_MM:
        return []
    style, pattern = said.job.style, cloth.pattern
    faults = [f"{n} {p:.1f} %" for n, p in (("bow", cloth.bow_pct), ("skew", cloth.skew_pct)) if p > 0.0]
    return [Finding(
        "MAT-010", Severity.WARN, cushion.name,
        f"{cloth.name} is out of true at its worst place ({', '.join(faults)}): over {format_length(x1 - x0, style)} "
        f"the {thing(pattern)} slants by up to {format_length(slant, style)}, where a front is good within "
        f"{format_length(FRONT_GOOD_MM, style)}",
        "draw the cloth true before it is marked and measure again, or take it back to whoever sold it; "
        f"mark every piece from the {thing(pattern)} itself, never square from the selvage", cushion.line,
    )]  # fmt: skip


def _contradictions(said: Said) -> list[Finding]:
    """The loops that do not close, each place at which one is given up named once."""
    told: dict[tuple[str, str, str], list[Finding]] = {}
    for c in said.solution.contradictions:
        key = (c.relation.a, c.relation.b, said.name_of(c.relation.name))
        told[key] = told.get(key) or _contradiction(said, c)
    return [f for findings in told.values() for f in findings]


def _contradiction(said: Said, found: Contradiction) -> list[Finding]:
    relation = found.relation
    part = said.parts[relation.b]
    cushion = said.cushion(part.cushion_id)
    misses = [abs(m) for m in (found.miss_p, found.miss_q) if m is not None]
    style = said.job.style
    what = thing(part.cloth.pattern)
    if not misses or max(misses) < 0.5:
        return []
    by = " and ".join(
        f"{format_length(abs(m), style)} {way}"
        for m, way in ((found.miss_p, "across"), (found.miss_q, "along"))
        if m is not None and abs(m) >= 0.05
    )
    loop = _listed(said.name_of(n) for n in found.loop)
    if relation.kind == "seam":
        drift = next(d for d in said.drifts if d.seam_id == relation.name)
        if drift.verdict in ("good", "not matched"):
            return []
        given_up = said.name_of(relation.name)
        text = f"given up at the {given_up}: with the {loop} kept, the {what} comes round {by} out there"
    else:
        text = f"{said.name_of(relation.name)}: given up, because {loop} already say otherwise, by {by}"
    is_join = any(c.seam.id == relation.name and c.role == "join" for c in said.cases)
    severe = Severity.WARN if relation.rank[0] < 1.0 and not is_join else Severity.NOTE
    return [Finding("MAT-007", severe, cushion.name, text, _loop_cure(said, cushion, found), cushion.line)]


def _loop_cure(said: Said, cushion: Cushion, found: Contradiction) -> str:
    girth = _girth(said, cushion, found)
    if girth:
        return girth.what
    asked = any(name.endswith(" pinned") for name in found.loop)
    return "leave pin_across and pin_along to one of them, or leave out the row" if asked else ""


def is_apart(pair: Neighbours) -> bool:
    """Tell whether two neighbours meet at a mitre that their pattern does not cross."""
    return pair.mitred and not ties_of_neighbours(pair)


def _mitre(pair: Neighbours) -> list[Finding]:
    """What can meet at a mitre between neighbours: an even stripe, or none."""
    pattern, cloth = pair.a.cloth.pattern, pair.a.cloth
    if not is_apart(pair):
        return []
    what = thing(pattern)
    place = f"{pair.left.name} and {pair.right.name}: mitre"
    ignored = pair.left.cover.matching.sides == "ignore" and pair.right.cover.matching.sides == "ignore"
    if cloth.one_way and not ignored:
        return [Finding(
            "MAT-008", Severity.STOP, place,
            f"the {what} of {cloth.name} is not its own mirror image and runs one way: it cannot meet at a mitre",
            "use an even stripe or a plain cloth, join the cushions square instead of at a mitre, "
            "or set sides = \"ignore\" to let the mitre miss", pair.right.line,
        )]  # fmt: skip
    if ignored:
        return []
    return [Finding(
        "MAT-009", Severity.WARN, place,
        f"the {what} of {cloth.name} is not its own mirror image: cut all one way it cannot meet at the mitre",
        "an even stripe would meet; or cut every piece of one of the two cushions half-turned", pair.right.line,
    )]  # fmt: skip


def cures_of(said: Said) -> tuple[Cure, ...]:
    """Everything the maker could change, cushion by cushion, each once."""
    found = [cure for cushion in said.job.cushions for cure in cures_of_cushion(said, cushion)]
    for contradiction in said.solution.contradictions:
        cushion = said.cushion(said.parts[contradiction.relation.b].cushion_id)
        girth = _girth(said, cushion, contradiction)
        found += [girth] if girth else []
    for pair in said.neighbours:
        if _mitre(pair):
            found.append(Cure(pair.right.id, "an even stripe would meet at the mitre"))
    return tuple({(c.cushion_id, c.what): c for c in found}.values())


def cures_of_cushion(said: Said, cushion: Cushion) -> list[Cure]:
    """What would make more of one cushion's seams meet."""
    missing = [(c, d) for c, d in _panel_seams(said.of(cushion.id)) if d.verdict in ("say so", "miss")]
    return [*_sides_along(cushion, missing), *_back(cushion, missing), *_zip(said, cushion),
            *_even(cushion, missing), *_joins(said, cushion)]  # fmt: skip


def _sides_along(cushion: Cushion, missing: Sequence[tuple[SeamCase, SeamDrift]]) -> list[Cure]:
    sides = [c for c, _ in missing if c.role == "side" and c.seam.seen and c.b.turn_deg in (0, 180)]
    if not sides or cushion.cover.matching.sides_along or sides[0].b.cloth.one_way:
        return []
    cured = [c.seam.side for c in sides if any(ties_of_seam(c, turn_b=t) for t in (90, 270))]
    if not cured:
        return []
    what = (
        f"cut the boxing of the {_listed(cured)} along the bolt and the {thing(sides[0].a.cloth.pattern)} meets there"
    )
    return [Cure(cushion.id, what, "matching.sides_along", True)]


def _back(cushion: Cushion, missing: Sequence[tuple[SeamCase, SeamDrift]]) -> list[Cure]:
    backs = [c for c, _ in missing if c.role == "back" and c.seam.seen and c.b.turn_deg == 0]
    if not backs or cushion.cover.matching.back_half_turned or any(c.b.cloth.one_way for c in backs):
        return []
    if not all(ties_of_seam(c, turn_b=180) for c in backs):
        return []
    what = f"cut the back boxing and zip panel half-turned and the {thing(backs[0].a.cloth.pattern)} meets at the back"
    return [Cure(cushion.id, what, "matching.back_half_turned", True)]


def _zip(said: Said, cushion: Cushion) -> list[Cure]:
    """Fold and split swallows a tape's width of a print."""
    panels = [c for c, _ in said.of(cushion.id) if c.seam.kind == "panel_zip" and "q" in c.ways and c.wish != "ignore"]
    if not panels or cushion.cover.zip.making != "fold_and_split":
        return []
    what = (
        "make the zip panel from two strips, each at its own place on the print: a split swallows a tape's width of it"
    )
    return [Cure(cushion.id, what, "zip.making", "two_single")]


def _joins(said: Said, cushion: Cushion) -> list[Cure]:
    """Joins of a print's boxing are seldom worth a repeat of cloth: offer to leave them unmatched."""
    if cushion.cover.matching.joins == "ignore":
        return []
    joins = [c for c, _ in said.of(cushion.id) if c.seam.kind in ("boxing_join", "zip_join") and c.wish != "ignore"]
    joins = [c for c in joins if c.seam.side != "front" and "q" in c.ways and "p" in c.ways]
    if not joins:
        return []
    what = "leave the joins of the boxing unmatched, which stand behind or at the corners (joins = `ignore`)"
    return [Cure(cushion.id, what, "matching.joins", "ignore")]


def _even(cushion: Cushion, missing: Sequence[tuple[SeamCase, SeamDrift]]) -> list[Cure]:
    backs = [c for c, _ in missing if c.role == "back" and c.seam.seen and c.a.cloth.pattern.stripes]
    if not backs or backs[0].a.cloth.pattern.is_even:
        return []
    _, differs = best_reflection(backs[0].a.cloth.pattern)
    share = f"this one, cut upright, leaves {100 * differs:.0f} % of the back unmatched at best"
    return [Cure(cushion.id, f"an even stripe would meet at front and back without a half turn; {share}")]


def _girth(said: Said, cushion: Cushion, found: Contradiction) -> Cure | None:
    """What a loop right round the cushion would need to close."""
    case = next((c for c in said.cases if c.seam.id == found.relation.name), None)
    cover = next((c for c in said.construction.covers if c.cushion_id == cushion.id), None)
    if case is None or cover is None or case.seam.edge != "bottom":
        return None
    repeat = repeat_of(case.a.cloth.pattern)
    x0, y0, x1, y1 = cover.seam_outline.bounds()
    if case.role == "back" and found.miss_q is not None and repeat.modulus("q"):
        return _girth_cure(said, cover, found.miss_q, y1 - y0, repeat.along_mm, "depth")
    if case.role == "side" and found.miss_p is not None and repeat.across_mm:
        period = repeat.across_mm * repeat.steps_to_level
        return _girth_cure(said, cover, found.miss_p, x1 - x0, period, "width")
    return None


def _girth_cure(
    said: Said, cover: CushionCover, miss: float, size_mm: float, period: float | None, way: str
) -> Cure | None:
    if not period:
        return None
    over = wrap(2 * (size_mm + cover.thickness_mm), period)
    if abs(abs(over) - abs(miss)) > 0.01 or abs(over) < 0.5:
        return None
    half = format_length(abs(over) / 2, said.job.style)
    return Cure(
        cover.cushion_id,
        f"{half} {'less' if over > 0 else 'more'} {way} (or thickness) and the pattern would run right round",
    )
