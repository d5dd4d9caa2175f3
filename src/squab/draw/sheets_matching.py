"""What matches and what will not, and the joins that show, in few words for the customer."""

from __future__ import annotations

from squab.construct.records import CushionCover
from squab.draw.figures import Figures
from squab.draw.laid import laid_parts
from squab.job import Cushion
from squab.match.records import SeamDrift, Verdict
from squab.worked import WorkedJob

HEADINGS: tuple[tuple[Verdict, str], ...] = (
    ("good", "Pattern meets at"),
    ("say so", "Nearly meets at"),
    ("miss", "Will not meet at"),
    ("not matched", "Not matched at"),
)
_WORST: dict[Verdict, int] = {"good": 0, "say so": 1, "miss": 2, "not matched": 3}


def matching_said(worked: WorkedJob, cushion: Cushion, figures: Figures) -> list[tuple[str, str]]:
    """Headings and places of one cushion's pattern, seen seams only: what meets, what nearly does, what will not."""
    if not _patterned(worked, cushion):
        return [("Plain cloth:", "there is no pattern to match")]
    by_place, mitres = _by_place(worked, cushion), _mitres(worked, cushion)
    if not by_place and not mitres:
        return [("Pattern:", "no seam of it shows")]
    in_part = [_with_amount(name, d, figures) for name, d in by_place if _in_part(d)]
    said = [("Meets about the middle only at", _listed(list(dict.fromkeys(in_part))))] if in_part else []
    for verdict, heading in HEADINGS:
        places = [_with_amount(name, d, figures) for name, d in by_place if d.verdict == verdict and not _in_part(d)]
        places += mitres if verdict == "miss" else []
        if places:
            said.append((heading, _listed(list(dict.fromkeys(places)))))
    return said


def _mitres(worked: WorkedJob, cushion: Cushion) -> list[str]:
    """The mitres of one cushion across which the pattern does not run."""
    names = {c.id: c.name for c in worked.job.cushions}
    others = [(set(pair) - {cushion.id}).pop() for pair in worked.match.mitres_apart if cushion.id in pair]
    return [f"the mitre with {names[other]}" for other in others]


def _patterned(worked: WorkedJob, cushion: Cushion) -> bool:
    cover = cushion.cover
    ids = {cover.panel_cloth, cover.boxing_cloth or cover.panel_cloth}
    return any(worked.job.cloth(i).pattern.kind != "plain" for i in ids)


def _by_place(worked: WorkedJob, cushion: Cushion) -> list[tuple[str, SeamDrift]]:
    """The worst drift of each seen place; a side whose two edges agree is named once."""
    seams = {s.id: s for s in worked.construction.seams if s.cushion_id == cushion.id and s.seen}
    worst: dict[tuple[str, str], SeamDrift] = {}
    for drift in worked.match.drifts:
        seam = seams.get(drift.seam_id)
        if seam is None or not drift.seen:
            continue
        place = _place_of(seam.kind, seam.side), seam.edge
        if place not in worst or _rank(drift) > _rank(worst[place]):
            worst[place] = drift
    found: list[tuple[str, SeamDrift]] = []
    for name in dict.fromkeys(name for name, _ in worst):
        edges = {edge: d for (n, edge), d in worst.items() if n == name}
        if len({d.verdict for d in edges.values()}) == 1:
            found.append((name, max(edges.values(), key=_rank)))
        else:
            found += [(_edge_name(name, edge, d), d) for edge, d in edges.items()]
    return found


def _edge_name(name: str, edge: str, drift: SeamDrift) -> str:
    """One edge of a side whose edges differ; bottom edges that are not matched are named together."""
    if edge == "bottom" and drift.verdict == "not matched":
        return "the bottom edges"
    return f"{name}, {edge} edge" if edge else name


def _place_of(kind: str, side: str) -> str:
    if kind == "panel_panel":
        return "the seams of the panel"
    if kind in ("boxing_join", "zip_join"):
        return "the joins"
    return f"the {side}" if side in ("front", "back") else f"the {side} side" if side in ("left", "right") else side


def _rank(drift: SeamDrift) -> tuple[int, float]:
    return _WORST[drift.verdict], drift.worst_mm


def _in_part(drift: SeamDrift) -> bool:
    """Tell whether a seam meets about its middle and drifts only beyond, as round a corner."""
    return drift.verdict in ("miss", "not matched") and bool(drift.good_to_mm)


def _with_amount(name: str, drift: SeamDrift, figures: Figures) -> str:
    if drift.verdict == "say so":
        return f"{name} (out by {figures.length(drift.worst_mm)})"
    if _in_part(drift):
        good, worst = figures.length(drift.good_to_mm or 0.0), figures.length(drift.worst_mm)
        return f"{name} (good for {good} each way, then out by up to {worst})"
    if drift.verdict == "miss":
        return f"{name} (out by {figures.length(drift.worst_mm)})"
    if drift.across_only and drift.verdict == "good":
        return f"{name} (sideways only; up and down it does not)"
    return name


def _listed(places: list[str]) -> str:
    return places[0] if len(places) == 1 else f"{', '.join(places[:-1])} and {places[-1]}"


def joins_said(worked: WorkedJob, cover: CushionCover, figures: Figures) -> list[str]:
    """Sentences on the seams and joins of one cushion that show."""
    said = []
    if cover.panel_seam_at_mm is not None:
        said.append(
            "The top is seamed: one middle width, a seam each side "
            f"{figures.length(cover.panel_seam_at_mm)} from its centre."
        )
    sides = boxing_join_sides(worked, cover)
    if sides:
        said.append(figures.said(f"The [[boxing]] is joined at {_listed([_place_of('', s) for s in sides])}."))
    return said


def boxing_join_sides(worked: WorkedJob, cover: CushionCover) -> list[str]:
    """Sides that show on which any cushion of the kind has a join of its boxing where its laid parts meet."""
    boxing = {s.id for s in cover.strips if s.kind == "boxing"}
    outline = cover.seam_outline
    sides: dict[str, None] = {}
    for cloth_id in worked.plans:
        for laid in laid_parts(worked, cloth_id):
            if laid.part_id in boxing and laid.part_mm is not None and laid.part < laid.parts:
                side = outline.side_at(laid.part_mm[1])
                if outline.is_seen(side):
                    sides[side] = None
    return [s for s in outline.side_names() if s in sides]
