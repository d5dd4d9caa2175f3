"""Steps from the cut pieces to a boxing ring: checking, marking, stay stitch, piping, zip panel, joins."""

from __future__ import annotations

from dataclasses import dataclass

from squab.construct.records import Piece, Seam, ZipPanelPlan
from squab.sew.bench import Bench
from squab.sew.rules import (
    BASTE_EVERY_MM,
    PIPED_CORNER_RADIUS_MM,
    RING_WITHIN_MM,
    SIDE_WITHIN_MM,
    SLIT_FROM_CORD_MM,
    STAY_EACH_WAY_MM,
    clip_spacing_mm,
    inside_slit_mm,
)


@dataclass(frozen=True)
class Draft:
    """A step before it has its number; `seams` are seams sewn in it, in order, with no numbers yet."""

    title: str
    text: str
    figures: tuple[tuple[str, float], ...] = ()
    seams: tuple[Seam, ...] = ()


def cover_drafts(bench: Bench) -> list[Draft]:
    """Give the steps up to a boxing ring that is ready to go on, only those that apply."""
    made = [
        check_pieces(bench),
        mark_match(bench),
        stay_stitch(bench),
        panel_seams(bench),
        cover_cord(bench),
        piping_on(bench),
        zip_panel(bench),
        boxing_joins(bench),
        ring_check(bench),
    ]
    return [d for d in made if d is not None]


def check_pieces(bench: Bench) -> Draft:
    """Count the pieces of one cushion and lay them all one way."""
    counted = [_counted(p, bench.cushion.count) for p in bench.cover.pieces]
    counted += [f"{_each(s.count, bench.cushion.count)}{s.name}" for s in bench.cover.strips]
    said = [f"For one cushion: {'; '.join(counted)}."]
    if bench.cloth.one_way or bench.cloth.pile:
        what = "[[nap]]" if bench.cloth.pile else "print"
        said.append(f"Lay every piece with its arrow to the front, the {what} running the same way on all.")
    elif bench.is_striped:
        said.append("Lay every piece with its arrow to the front.")
    else:
        said.append("Lay every piece with its arrow to the front: plain cloth shades too.")
    if bench.cloth.vinyl:
        # Common practice, no source.
        said.append("Vinyl keeps every hole and melts: clips where a step says pin or baste, a roller for an iron.")
    if bench.shrinks:
        said.append("They are cut larger, for the cloth will shrink: lengths below are those after washing.")
    if bench.cushion.hand:
        said.append(f"This is the {bench.cushion.hand}-hand cushion: hold [[top]] against [[bottom]] before sewing.")
    return Draft("Check the pieces", " ".join(said))


def _each(count: int, cushions: int) -> str:
    n = round(count / cushions) if count >= cushions else 1
    return f"{n} x " if n > 1 else ""


def _counted(piece: Piece, cushions: int) -> str:
    hand = f" ({piece.hand})" if piece.hand else ""
    return f"{_each(piece.count, cushions)}{piece.name}{hand}"


def mark_match(bench: Bench) -> Draft | None:
    """Say what to mark and baste in a patterned cloth, and what not to try."""
    if not bench.matched:
        return None
    sides = _names(bench, bench.matched)
    line = "a line of the print" if bench.cloth.pattern.kind == "print" else "the [[colour]] edges"
    each = "mark" if bench.cloth.pattern.kind == "print" else "[[colour]] edge"
    said = [
        f"The pattern meets at: {sides}. On these mark {line} on the stitch line of both pieces, not on the cut edge, "
        f"and baste or tape them, a hold on every {each} and no further apart than {{hold}}."
    ]
    figures = [("hold", BASTE_EVERY_MM)]
    for good_to, seams in _good_about_the_middle(bench).items():
        name = f"good_{len(figures)}"
        said.append(f"At {_names(bench, seams)} it meets for {{{name}}} either side of the middle only.")
        figures.append((name, good_to))
    across = tuple(s for s in bench.matched if bench.drifts[s.id].across_only)
    if across:
        said.append(f"At {_names(bench, across)} it meets sideways only; up and down it does not.")
    if bench.missed:
        said.append(
            f"At {_names(bench, bench.missed)} it cannot meet: sew by the notches and do not pull it into place."
        )
    said.append("Elsewhere pin at the notches; no basting is needed.")
    return Draft("Mark where the pattern meets", " ".join(said), tuple(figures))


def _good_about_the_middle(bench: Bench) -> dict[float, tuple[Seam, ...]]:
    """Seams at which the pattern meets only so far either side of the middle, those alike together."""
    found: dict[float, tuple[Seam, ...]] = {}
    for seam in bench.matched:
        good_to = round(bench.drifts[seam.id].good_to_mm or 0.0, 1)
        if good_to:
            found[good_to] = (*found.get(good_to, ()), seam)
    return found


def seam_name(seam: Seam) -> str:
    """Name a seam in the maker's words: edge and side."""
    if seam.kind == "panel_panel":
        return f"the [[panel]] seam of the [[{seam.edge}]]" if seam.edge else "the [[panel]] seam"
    if seam.kind == "zip_centre":
        return "the [[zip]]'s own seam"
    if seam.kind in ("boxing_join", "zip_join"):
        return f"the join at the {seam.side}" if seam.side else "the join"
    return f"{seam.edge} {seam.side}".strip()


def _names(bench: Bench, seams: tuple[Seam, ...]) -> str:
    """Name seams together: sides at which both edges are among them are named once."""
    by_side: dict[str, list[str]] = {}
    rest: list[str] = []
    for seam in seams:
        if seam.edge and seam.kind in ("panel_boxing", "panel_zip"):
            by_side.setdefault(seam.side, []).append(seam.edge)
        else:
            rest.append(_join_name(bench, seam, seams))
    named = []
    for side, edges in by_side.items():
        once = list(dict.fromkeys(edges))
        named.append(f"{side} ({' and '.join(f'[[{e}]]' for e in once)})")
    return ", ".join(dict.fromkeys(named + rest))


def _join_name(bench: Bench, seam: Seam, among: tuple[Seam, ...]) -> str:
    """Name a seam; of a zip panel's end the half, where the other half is not among the seams that are named."""
    halves = [s for s in bench.seams_of("zip_join") if s.side == seam.side]
    if seam not in halves or all(s in among for s in halves):
        return seam_name(seam)
    middles = [s.a.path.point_at(s.a.path.length / 2.0)[1] for s in halves]
    is_upper = seam.a.path.point_at(seam.a.path.length / 2.0)[1] > sum(middles) / len(middles)
    return f"the {'upper' if is_upper else 'lower'} half of {seam_name(seam)}"


def stay_stitch(bench: Bench) -> Draft | None:
    """Stay-stitch inside corners before anything pulls at them."""
    if not bench.inside_corners:
        return None
    where = "the inside corner" if bench.inside_corners == 1 else f"each of the {bench.inside_corners} inside corners"
    return Draft(
        "Stay-stitch the inside corners" if bench.inside_corners > 1 else "Stay-stitch the inside corner",
        f"On [[top]] and [[bottom]], stitch on the seam line {{stay}} each way round {where}, short stitches, before "
        "slitting. Slit on the diagonal {slit} deep from the cut corner, only when the [[boxing]] is pinned there.",
        (("stay", STAY_EACH_WAY_MM), ("slit", _inside_slit(bench))),
    )


def _inside_slit(bench: Bench) -> float:
    depths = [s.depth_mm for p in bench.cover.pieces for s in p.snips if s.why == "inward_corner"]
    return min(depths) if depths else inside_slit_mm(bench.allowance_mm)


def panel_seams(bench: Bench) -> Draft | None:
    """Join the widths of panels wider than the cloth."""
    seams = bench.seams_of("panel_panel")
    if not seams:
        return None
    how = "Match from the front edge back." if any(bench.meets(s) for s in seams) else "Pin at the notches."
    at = bench.cover.panel_seam_at_mm
    where = " {from_middle} from the middle, both sides alike;" if at else ""
    return Draft(
        "Join the panel widths",
        f"Right sides together, middle width to side width;{where} {how[0].lower()}{how[1:]} Stitch from front to "
        "back, press open. The joins of the front [[boxing]] come under these seams.",
        (("from_middle", at),) if at else (),
        seams,
    )


def cover_cord(bench: Bench) -> Draft | None:
    """Join the piping strips and cover the cord."""
    plan = bench.cover.piping
    if plan is None:
        return None
    rings = "one length" if plan.rings == 1 else f"{plan.rings} lengths"
    way = {"across": "all cut across", "along": "all cut along", "bias": "all cut on the bias"}[plan.cut]
    return Draft(
        "Cover the [[cord]]",
        f"Strips {{strip}} wide, {way}: join at 45 degrees, press open, to {rings} of {{length}}. Fold round the "
        "{cord} cord and stitch close to it, not hard against it, with the [[piping foot]]; do not stretch the strip.",
        (
            ("strip", plan.strip_cut_mm),
            ("length", plan.ring_mm + bench.cushion.cover.piping.spare_mm),
            ("cord", bench.cushion.cover.piping.cord_mm),
        ),
    )


def piping_on(bench: Bench) -> Draft | None:
    """Sew the piping to its panels."""
    plan = bench.cover.piping
    if plan is None:
        return None
    edges = " and ".join(f"[[{e}]]" for e in bench.piped_edges) or "[[top]]"
    said = [f"On the right side of {edges}, cord inward, {_raw_edges(plan.inside_edge_mm)}."]
    said.append("Start at the middle of the back, the first {tail} left loose; never stretch it, nor ease the panel.")
    figures = [("tail", bench.tail_mm), ("inside", abs(plan.inside_edge_mm)), ("short", SLIT_FROM_CORD_MM)]
    if bench.outside_corners:
        said.append(
            "At each corner cut three slits in the flange, stopping {short} from the cord, and turn on a radius of "
            "{turn}."
        )
        figures.append(("turn", PIPED_CORNER_RADIUS_MM))
    if bench.inside_corners:
        said.append("At an inside corner cut a V out of the flange, as short of the cord.")
    if bench.tightest_radius_mm is not None:
        said.append("On curves [[clip]] the flange every {clip}, as short of the cord.")
        figures.append(("clip", clip_spacing_mm(bench.tightest_radius_mm, plan.flange_mm)))
    said.append(
        "Back at the start open both ends for {tail}, cut the cord ends to butt, join the strip at 45 degrees, close."
    )
    return Draft("Sew the [[piping]] on", " ".join(said), tuple(figures))


def _raw_edges(inside_mm: float) -> str:
    if abs(inside_mm) < 0.5:
        return "raw edges level"
    if inside_mm > 0.0:
        return "its raw edge {inside} inside the panel's: the cord, not the raw edge, is the guide"
    return "its raw edge {inside} outside the panel's: the cord, not the raw edge, is the guide"


def zip_panel(bench: Bench) -> Draft | None:
    """Make the zip panel in the way it was cut for."""
    plan = bench.cover.zip_panel
    if plan is None:
        return None
    said = [_ZIP_WAYS[plan.making] if plan.place == "boxing" else _ZIP_IN_BOTTOM]
    said.append(_slider_words(plan))
    figures = [
        ("strip", plan.strip_cut_mm),
        ("from_fold", plan.stitched_from_fold_mm),
        ("zip", plan.zip_mm),
        ("panel", plan.panel_mm),
        ("made_up", plan.made_up_mm),
    ]
    if plan.place == "boxing":
        said.append("Made up it measures {made_up} across, {panel} between its end seams" + _trim_words(bench))
    else:
        said.append("The opening is {panel} between its ends.")
    title = "Make the [[zip panel]]" if plan.place == "boxing" else "Set the [[zip]] into the [[bottom]]"
    return Draft(title, " ".join(said), tuple(figures), bench.seams_of("zip_centre"))


_ZIP_WAYS = {
    "fold_and_split": (
        "Fold the strip, cut {strip} wide, along its middle, right sides together; stitch long and loose {from_fold} "
        "from the fold. Split the fold, press open, lay the [[zip]] face down on the seam, stitch both tapes with the "
        "[[zip foot]], unpick the loose seam."
    ),
    "two_single": (
        "Turn one long edge of each strip, cut {strip} wide, under by {from_fold} and press. Lay the folds to meet on "
        "the middle of the [[zip]], stitch both with the [[zip foot]]."
    ),
    "two_doubled": (
        "Fold each strip, cut {strip} wide, in half along its length, right side out, and press. Lay the folds to meet "
        "on the middle of the [[zip]], stitch both with the [[zip foot]]."
    ),
    "lapped": (
        "Strips cut {strip} wide. Turn under and press the long edge of each; stitch the lower close to the teeth, lap "
        "the upper over them by {from_fold} and stitch it along the far tape."
    ),
}
_ZIP_IN_BOTTOM = (
    "The [[zip]] lies in the [[bottom]]: turn the meeting edges of its two widths under by {from_fold} and press, lay "
    "the folds to meet on the middle of the [[zip]], stitch both with the [[zip foot]], sew the seam shut beyond its "
    "ends."
)


def _slider_words(plan: ZipPanelPlan) -> str:
    sliders = {1: "one slider", 2: "two sliders, head to head"}.get(plan.sliders, f"{plan.sliders} sliders")
    return f"The [[zip]] is {{zip}} long, {sliders}, run on before the ends are stitched across."


def _trim_words(bench: Bench) -> str:
    return "; trim it true." if bench.cushion.cover.zip.trim_mm > 0.0 else "."


def boxing_joins(bench: Bench) -> Draft | None:
    """Join the boxing to a ring."""
    seams = bench.seams_of("boxing_join", "zip_join")
    if not seams and not bench.boxing_strips:
        return None
    spare = bench.cushion.cover.boxing_spare_mm if not bench.matched and bench.boxing_strips else 0.0
    said = ["Join the [[boxing]] to a ring, right sides together, every arrow down."]
    if any(bench.meets(s) for s in seams):
        said.append("At matched joins bring the pattern together on the stitch line before sewing.")
    if bench.boxing_lengths > 1.0:
        said.append("Where it is cut in several lengths join these first.")
    if any(s.kind == "zip_join" for s in seams):
        said.append("The [[zip panel]] goes in last, stitched twice across the ends of the [[zip]].")
    if spare:
        said.append(
            "Leave the last join open with {spare} or less to spare until the ring has been pinned round, then trim."
        )
    said.append("Stitch the joins from edge to edge; press open.")
    return Draft("Join the [[boxing]]", " ".join(said), (("spare", spare),) if spare else (), seams)


def ring_check(bench: Bench) -> Draft | None:
    """Measure the ring against the panel before a stitch is sewn."""
    if not bench.seams_of("panel_boxing", "panel_zip"):
        return None
    ease = bench.cushion.cover.boxing_ease_mm
    said = (
        "Measure on the stitch lines. The panel is {ring} round; the [[boxing]] ring is to be "
        + ("{boxing_ring}" if ease else "the same")
        + ", true within {side_within} a side and {ring_within} all round; rather short than long, for long ripples."
    )
    figures = [("ring", bench.cover.ring_mm), ("side_within", SIDE_WITHIN_MM), ("ring_within", RING_WITHIN_MM)]
    if ease:
        figures.insert(1, ("boxing_ring", bench.cover.ring_mm - ease))
    return Draft("Check the ring before sewing", said, tuple(figures))
