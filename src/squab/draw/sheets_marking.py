"""The marking sheet: what the maker chalks on the cloth, in cutting order, in running figures from nought."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from squab.cloth import Cloth
from squab.draw.figures import Figures, shortened
from squab.draw.laid import under_the_fold
from squab.draw.plan import lines_along
from squab.draw.sheets_common import head_and_foot
from squab.draw.sheets_parts import (
    CutPart,
    Datum,
    Seen,
    cushion_name,
    cut_parts,
    datum_at,
    first_stations,
    lines_of,
    strip_way,
)
from squab.draw.sheets_sketch import corner_points, sketch
from squab.draw.typeset import typeset
from squab.lay.records import ClothPlan
from squab.worked import WorkedJob

TITLES = (
    "Panels", "Matched fronts", "[[Zip panels]]", "[[Boxing]]", "Ties, handles, bases", "[[Piping]] last",
)  # fmt: skip
FOLDED = -1
"""What is cut double comes first."""
ON_THE_LINE_MM = 0.5
"""A point nearer to a line of the pattern than this stands on it."""


def marking_sheet_pdf(worked: WorkedJob, cloth_id: str) -> bytes:
    """The marking sheet of one cloth as a PDF.

    Raises
    ------
    KeyError
        If the job has no plan for that cloth.
    """
    plan, job = worked.plans[cloth_id], worked.job
    cloth = job.cloth(cloth_id).as_measured()
    figures = Figures.of(job)
    under = under_the_fold(plan, back_up=job.marked == "back_up")
    marked = [m for m in marked_parts(worked, cloth_id) if m.part.key not in under]
    entries, pictures = _entries(marked, frozenset(under.values()), figures)
    how, datum = marking_rules(worked, cloth_id)
    data = {
        **head_and_foot(job, f"marking sheet, {shortened(cloth.name, 40)}"),
        "title": "Marking sheet",
        "cloth": shortened(cloth.name, 60),
        "face": "FACE UP" if job.marked == "face_up" else "BACK UP",
        "facts": _facts(plan, cloth, figures, len(marked)),
        "how": how,
        "datum": datum,
        "unit": figures.unit,
        "groups": entries,
    }
    return typeset("marking", data, pictures, job.paper, dated=job.dated)


def left_on_cloth_mm(plan: ClothPlan, cloth: Cloth) -> float:
    """Length of cloth from the squared cut end: the bolt as measured, else what is ordered."""
    return bolt_or_order_mm(plan, cloth) - cloth.square_off_mm


def bolt_or_order_mm(plan: ClothPlan, cloth: Cloth) -> float:
    """Length of the bolt where it has been measured, else the length that is ordered."""
    return cloth.bolt.length_mm if cloth.bolt and cloth.bolt.length_mm is not None else plan.order_mm


def _facts(plan: ClothPlan, cloth: Cloth, figures: Figures, count: int) -> list[list[str]]:
    bolt = cloth.bolt
    measured = bolt is not None and bolt.length_mm is not None
    return [
        ["lot", shortened(bolt.lot, 30) if bolt and bolt.lot else "________"],
        ["usable width", figures.length(cloth.usable_width_mm)],
        ["on the table" if measured else "ordered", figures.cloth(bolt_or_order_mm(plan, cloth))],
        ["parts", str(count)],
        ["figures in", figures.unit],
        ["gap", figures.length(plan.problem.gap_mm) if plan.problem.gap_mm else "none"],
    ]


def _how(worked: WorkedJob, cloth: Cloth, figures: Figures) -> list[str]:
    """How the figures are read."""
    back_up = worked.job.marked == "back_up"
    face = (
        "Cloth back up: figures are mirrored, counted from the selvage on your left as you look at the back."
        if back_up
        else "Cloth face up: figures are counted from the left edge of the usable width, as you look at the face."
    )
    pattern_rules = (
        []
        if cloth.pattern.kind == "plain"
        else ["Where tape and pattern disagree the pattern rules: set each match point by its named line."]
    )
    return [
        figures.said(face.replace("selvage", "[[selvage]]")),
        "Square the cut end first; every second figure is counted from that squared end, away from you.",
        "All figures run from nought: hold the tape at nought, do not add one to another. "
        f"Each is rounded to {figures.step} by itself.",
        "Check each part square by its diagonal before you cut; the small ring is the match point on the seam. "
        "The number under each box is the part's number on the cutting plan.",
        *pattern_rules,
        *_creep_rules(worked.job.cloth(cloth.id), worked.plans[cloth.id], figures),
        *_fold_rules(worked.plans[cloth.id], cloth, figures),
        *_layer_rules(cloth, figures),
    ]


def _creep_rules(cloth: Cloth, plan: ClothPlan, figures: Figures) -> list[str]:
    """Where this bolt's repeat is not the label's: that figures follow the bolt, and how far off the label would be."""
    label, bolt = cloth.pattern, cloth.as_measured().pattern
    fu, fv = cloth.cut_scale
    reach = (("across", plan.problem.usable_width_mm * fu), ("along", plan.lay.length_mm * fv))
    pairs = ((label.repeat_across_mm, bolt.repeat_across_mm), (label.repeat_along_mm, bolt.repeat_along_mm))
    rules = _true_line_rules(plan, figures, fv)
    if rules:
        return rules
    for (way, run), (said, measured) in zip(reach, pairs, strict=True):
        if said and measured and figures.length(said) != figures.length(measured):
            off = abs(said - measured) / measured * run
            rules.append(
                f"The repeat {way} is {figures.length(measured)} on this bolt, {figures.length(said)} on its label: "
                f"every figure here follows the bolt. By the label the last match {way} would be off by up to "
                f"{figures.length(off)}."
            )
    return rules


def _true_line_rules(plan: ClothPlan, figures: Figures, along: float) -> list[str]:
    """Where the repeat itself creeps: that no figure may be stepped off from another."""
    creep = plan.problem.creep
    if creep is None:
        return []
    least, most = figures.length(creep.least_mm * along), figures.length(creep.most_mm * along)
    return [
        f"The repeat creeps along this bolt, from {least} to {most}: each part is set by the very line that it lies "
        "on, as measured. Never step off one repeat from another."
    ]


def _fold_rules(plan: ClothPlan, cloth: Cloth, figures: Figures) -> list[str]:
    """How cloth lies that is cut double."""
    if plan.fold is None:
        return []
    until = figures.length(plan.fold.until_mm * cloth.cut_scale[1])
    rule = (
        f"First fold the cloth along its length, face to face, [[selvage]] on [[selvage]], as far as {until} from the "
        "cut end. What says ‘both layers’ is cut through both, pinned within its seams; notches too. Then open the "
        "cloth and mark the rest in one layer, between what is cut."
    )
    return [figures.said(rule)]


def _layer_rules(cloth: Cloth, figures: Figures) -> list[str]:
    """Why the cloth is marked in one layer: pile creeps on pile, and a fold makes a mirror pair of what is not one."""
    if cloth.pile:
        rule = (
            "One layer only, never folded [[nap]] to [[nap]]: "
            "it creeps, and the under layer comes out mirrored, or runs the wrong way."
        )
        return [figures.said(rule)]
    if cloth.one_way or cloth.pattern.kind != "plain":
        return ["One layer only, never folded: the under layer would be a mirror image, off its pattern."]
    return []


def _datum_text(plan: ClothPlan, cloth: Cloth, figures: Figures, seen: Seen) -> str:
    """Where the pattern must stand for these figures to be true."""
    pattern = cloth.pattern
    if pattern.kind == "plain":
        return ""
    width, at_u = seen.width_mm, plan.lay.pattern_at[0] * seen.across
    said = []
    if pattern.repeat_across_mm:
        for name, line in lines_of(cloth)[:3]:
            start = width - (at_u + line) if seen.mirrored else at_u + line
            stations = first_stations(start, pattern.repeat_across_mm, width)
            said.append(f"‘{shortened(name, 30)}’ at {', '.join(map(figures.bare, stations))} … from the left edge")
    if pattern.repeat_along_mm:
        creeps = plan.problem.creep is not None
        lines = [x * seen.along for x in lines_along(plan, pattern.repeat_along_mm / seen.along)]
        stations = lines if creeps else lines[:3]
        what = "motif centres" if pattern.kind == "print" else "the first stripe"
        more = "" if creeps else " …"
        said.append(f"{what} at {', '.join(map(figures.bare, stations))}{more} from the cut end")
    measured = cloth.bolt is not None and (cloth.bolt.stripe_at_u_mm is not None or not pattern.repeat_across_mm)
    tail = (
        "Measured on this bolt."
        if measured
        else "The bolt has not been measured: if its pattern stands elsewhere, measure it and print this sheet again."
    )
    return f"{'; '.join(said)} ({figures.unit}). {figures.said(tail.replace('bolt', '[[bolt]]'))}"


@dataclass(frozen=True)
class MarkedPart:
    """One part as the maker chalks it. `figures` are what the sheet prints of it, `sketch` is a drawing (SVG).

    `left_mm` is the cloth beyond everything that comes before it in cutting order, itself included.
    """

    part: CutPart
    figures: Mapping[str, Any]
    sketch: str
    left_mm: float


def marked_parts(worked: WorkedJob, cloth_id: str) -> tuple[MarkedPart, ...]:
    """Every part of one cloth in cutting order, with its figures.

    Raises
    ------
    KeyError
        If the job has no plan for that cloth.
    """
    plan, job = worked.plans[cloth_id], worked.job
    cloth, figures, seen = job.cloth(cloth_id).as_measured(), Figures.of(job), Seen.of(worked, plan)
    whole, reached, found = left_on_cloth_mm(plan, cloth), 0.0, []
    parts = cut_parts(worked, plan)
    double = _double_notes(plan, parts, back_up=job.marked == "back_up")
    for part in sorted(parts, key=lambda p: p.key not in double):  # while the cloth is folded
        reached = max(reached, part.box[3])
        entry = _entry(part, figures, datum_at(plan, cloth, part.match_at, seen))
        if part.key in double:
            entry["note"] = " ".join(x for x in (double[part.key], entry["note"]) if x)
        found.append(MarkedPart(part, entry, sketch(part), whole - reached))
    return tuple(found)


def _double_notes(plan: ClothPlan, parts: Sequence[CutPart], *, back_up: bool) -> dict[str, str]:
    """What is said of each piece that is cut through both layers."""
    number = {p.key: p.number for p in parts}
    notes = {}
    for below, above in under_the_fold(plan, back_up=back_up).items():
        notes[above] = f"Both layers: no. {number[below]}, its mirror image, comes away with it."
        notes[below] = f"Both layers: it lies under no. {number[above]}, and comes away with it."
    return notes


def marking_rules(worked: WorkedJob, cloth_id: str) -> tuple[list[str], str]:
    """How the figures of one cloth are read, and where its pattern must stand for them to be true."""
    plan, job = worked.plans[cloth_id], worked.job
    cloth, figures = job.cloth(cloth_id).as_measured(), Figures.of(job)
    return _how(worked, cloth, figures), _datum_text(plan, cloth, figures, Seen.of(worked, plan))


def _entries(
    marked: Sequence[MarkedPart], double: frozenset[str], figures: Figures
) -> tuple[list[dict[str, Any]], dict[str, str]]:
    groups: dict[int, list[dict[str, Any]]] = {}
    pictures: dict[str, str] = {}
    for one in marked:
        name = f"sketch{one.part.number}.svg"
        pictures[name] = one.sketch
        left = figures.cloth(one.left_mm) if one.left_mm >= 0 else "the cloth is too short"
        rank = FOLDED if one.part.key in double else one.part.rank
        groups.setdefault(rank, []).append({**one.figures, "left": left, "sketch": name})
    titles = {FOLDED: "Through both layers, on the fold", **dict(enumerate(TITLES))}
    return [{"title": figures.said(titles[rank]), "entries": groups[rank]} for rank in sorted(groups)], pictures


def _entry(part: CutPart, figures: Figures, datum: Datum | None) -> dict[str, Any]:
    u0, v0, u1, v1 = part.box
    u = figures.running([u0, u1])
    v = figures.running([v0, v1])
    corners = [[letter, figures.bare(x), figures.bare(y)] for letter, (x, y) in corner_points(part)]
    return {
        "number": part.number,
        "name": part.name,
        "cushion": cushion_name(part.cushion),
        "hand": part.hand.upper() if part.hand else "",
        "n_of_m": count_text(part),
        "u": u,
        "v": v,
        "diagonal": figures.bare(part.diagonal_mm),
        "to_pattern": not part.straight or (not part.is_rectangle and not corners),
        "corners": corners,
        "diagonal_of": "diagonal" if part.is_rectangle else "A to C" if len(part.xy) == 4 else "box diagonal",
        "match": _match_text(part, figures, datum),
        "front": f"strip cut {WAYS[strip_way(part)]}" if part.piping else front_text(part.front),
        "note": part.note,
    }


WAYS = {"across": "across the cloth", "along": "along the cloth", "bias": "on the bias"}


def _match_text(part: CutPart, figures: Figures, datum: Datum | None) -> str:
    """Where the match point stands; nothing for a strip whose place on the pattern does not matter."""
    if part.piping and not part.matched:
        return ""
    at = f"{part.match_what}: {figures.bare(part.match_at[0])} across, {figures.bare(part.match_at[1])} along"
    return f"{at}; {near_line(datum, figures)}" if datum and part.matched else at


def count_text(part: CutPart) -> str:
    """Which of how many: `1 of 4`, and for a strip cut in parts `1 of 4, part 2 of 3`."""
    copies = f"{part.copy} of {part.copies}"
    return copies if part.parts == 1 else f"{copies}, part {part.part} of {part.parts}"


def front_text(front: tuple[float, float]) -> str:
    """Where the front of a part points as it lies before the maker."""
    x, y = front
    if abs(abs(x) - abs(y)) < 1e-6:
        return "arrow on the slant, as sketched"
    if abs(y) > abs(x):
        return "front towards the cut end" if y < 0 else "front away from the cut end"
    return "front towards the left" if x < 0 else "front towards the right"


def near_line(datum: Datum, figures: Figures) -> str:
    """How a match point stands to the nearest named line of the pattern, in words."""
    name = f"‘{shortened(datum.name, 30)}’"
    said = []
    if datum.right_mm is not None:
        said.append(_off(datum.right_mm, "right of", "left of", figures))
    if datum.up_mm is not None:
        said.append(_off(datum.up_mm, "beyond", "short of", figures))
    off = [x for x in said if x]
    return f"on {name}" if not off else f"{' and '.join(off)} {name}"


def _off(mm: float, more: str, less: str, figures: Figures) -> str:
    if abs(mm) < ON_THE_LINE_MM:
        return ""
    return f"{figures.length(abs(mm))} {more if mm > 0 else less}"
