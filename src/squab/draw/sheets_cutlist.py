"""The cut list by cloth, with fill, zip and cord apart, and the small labels for the bundles."""

from __future__ import annotations

from typing import Any

from squab.construct.records import CushionCover, Piece, Strip, ZipPanelPlan
from squab.construct.sizes import fit_mm
from squab.draw.figures import Figures, shortened
from squab.draw.laid import cut_scale_in_piece, parts_of, turn_of
from squab.draw.sheets_common import head_and_foot
from squab.draw.sheets_marking import count_text, front_text
from squab.draw.sheets_parts import CutPart, cushion_name, cut_parts, part_name, strip_way
from squab.draw.typeset import typeset
from squab.job import Cushion
from squab.worked import WorkedJob

SHORT_WAYS = {
    "front towards the cut end": "to cut end",
    "front away from the cut end": "from cut end",
    "front towards the left": "to the left",
    "front towards the right": "to the right",
    "arrow on the slant, as sketched": "on the slant",
}
MOST_WAYS = 4
"""Ways of dividing a strip that are written out; further copies are on the marking sheet."""


def cut_list_pdf(worked: WorkedJob) -> bytes:
    """The cut list: every piece by cloth, then fill, zips and cord."""
    job, figures = worked.job, Figures.of(worked.job)
    cloths = [
        {
            "name": shortened(job.cloth(cloth_id).name, 60),
            "facts": _cloth_facts(worked, cloth_id, figures),
            "rows": _cloth_rows(worked, cloth_id, figures),
        }
        for cloth_id in worked.plans
    ]
    data = {
        **head_and_foot(job, "cut list"),
        "unit_name": figures.unit_name,
        "cloths": cloths,
        "allowances": _allowances(worked, figures),
        "fill": fill_rows(worked, figures),
        "zips": _zip_rows(worked, figures),
        "cords": _cord_rows(worked, figures),
        "words": {k: figures.said(f"[[{k}]]") for k in ("Zip", "Zips", "Cord", "Wrap", "Piping", "Zip panel")},
    }
    return typeset("cutlist", data, {}, job.paper, dated=job.dated)


def labels_pdf(worked: WorkedJob) -> bytes:
    """Small labels for the bundles, one a cut part, in cutting order, cloth by cloth."""
    job, figures = worked.job, Figures.of(worked.job)
    labels = [
        _label(part, worked, cloth_id, figures)
        for cloth_id, plan in worked.plans.items()
        for part in cut_parts(worked, plan)
    ]
    data = {**head_and_foot(job, "bundle labels"), "labels": labels}
    return typeset("labels", data, {}, job.paper, dated=job.dated)


def _cloth_facts(worked: WorkedJob, cloth_id: str, figures: Figures) -> str:
    cloth, plan = worked.job.cloth(cloth_id), worked.plans[cloth_id]
    order = "in hand" if cloth.in_hand else f"order {figures.cloth(plan.order_mm)}"
    facts = [f"{figures.length(cloth.usable_width_mm)} usable", order]
    if cloth.bolt and cloth.bolt.lot:
        facts.append(f"lot {shortened(cloth.bolt.lot, 30)}")
    facts.append("one way" if cloth.one_way else "either way up")
    ways = [(f, way) for f, way in zip(cloth.cut_scale, ("across", "along"), strict=True) if f > 1.0]
    if ways:
        more = " and ".join(f"{(f - 1.0) * 100.0:.1f} %{' larger' * (not k)} {way}" for k, (f, way) in enumerate(ways))
        facts.append(f"cut {more}, as it will shrink")
    return " · ".join(facts)


def _allowances(worked: WorkedJob, figures: Figures) -> str:
    """The allowance of each make, in words; one figure where they agree."""
    by_size = dict.fromkeys(figures.length(c.cover.allowance_mm) for c in worked.job.cushions)
    if len(by_size) == 1:
        return f"Seam allowance {next(iter(by_size))} all round: cut size = seam size + two allowances."
    each = "; ".join(f"{cushion_name(c)} {figures.length(c.cover.allowance_mm)}" for c in worked.job.cushions)
    return f"Seam allowances: {each}. Cut size = seam size + two allowances."


def _cloth_rows(worked: WorkedJob, cloth_id: str, figures: Figures) -> list[dict[str, Any]]:
    parts = cut_parts(worked, worked.plans[cloth_id])
    by_part: dict[str, list[CutPart]] = {}
    for part in parts:
        by_part.setdefault(part.part_id, []).append(part)
    sources = parts_of(worked)
    cushions = {c.id: c for c in worked.job.cushions}
    order = {c.id: i for i, c in enumerate(worked.job.cushions)}
    made = list(sources)
    keys = sorted(by_part, key=lambda k: (order[sources[k].cushion_id], by_part[k][0].rank, made.index(k)))
    return [_row(worked, sources[k], cushions[sources[k].cushion_id], by_part[k], figures) for k in keys]


def _row(
    worked: WorkedJob, source: Piece | Strip, cushion: Cushion, cut: list[CutPart], figures: Figures
) -> dict[str, Any]:
    if isinstance(source, Strip):
        sizes = _strip_sizes(worked, source, cut, figures)
    else:
        sizes = piece_sizes(worked, source, figures)
    return {
        "cushion": cushion_name(cushion),
        "name": part_name(source, figures),
        "hand": source.hand if isinstance(source, Piece) else "",
        "count": source.count,
        "cut": sizes[0],
        "seam": sizes[1],
        "direction": _direction(cut),
        "joins": " · ".join(cut[0].joins),
        "note": cut[0].note,
    }


def piece_sizes(worked: WorkedJob, piece: Piece, figures: Figures) -> tuple[str, str]:
    """Cut size and seam size of a piece, over all, in its own frame; the cut one as it lies on the bolt."""
    fx, fy = cut_scale_in_piece(worked.job.cloth(piece.cloth_id), turn_of(worked, piece))
    x0, y0, x1, y1 = piece.cut.bounds()
    a0, b0, a1, b1 = piece.seam.bounds()
    return (
        f"{figures.bare((x1 - x0) * fx)} × {figures.bare((y1 - y0) * fy)}",
        f"{figures.bare(a1 - a0)} × {figures.bare(b1 - b0)}",
    )


def strip_cut(worked: WorkedJob, strip: Strip, figures: Figures) -> str:
    """How a strip is cut, as the cut list has it: `1235 × 99`, or its width and the lengths of its parts."""
    plan = worked.plans.get(strip.cloth_id)
    cut = [p for p in cut_parts(worked, plan) if p.part_id == strip.id] if plan else []
    if not cut:
        fx, fy = cut_scale_in_piece(worked.job.cloth(strip.cloth_id), turn_of(worked, strip))
        return f"{figures.bare((strip.length_mm + 2 * strip.end_mm) * fx)} × {figures.bare(strip.cut_width_mm * fy)}"
    return _strip_sizes(worked, strip, cut, figures)[0]


def _strip_sizes(worked: WorkedJob, strip: Strip, cut: list[CutPart], figures: Figures) -> tuple[str, str]:
    """Cut width and the lengths each strip is cut in, on the bolt; seam width and length of the whole strip."""
    fx, fy = cut_scale_in_piece(worked.job.cloth(strip.cloth_id), turn_of(worked, strip))
    ways: dict[tuple[str, ...], int] = {}
    for copy in sorted({p.copy for p in cut}):
        lengths = tuple(
            figures.bare((p.s_mm[1] - p.s_mm[0] + 2 * strip.end_mm) * fx)
            for p in sorted((p for p in cut if p.copy == copy), key=lambda p: p.part)
            if p.s_mm is not None
        )
        ways[lengths] = ways.get(lengths, 0) + 1
    width = figures.bare(strip.cut_width_mm * fy)
    if len(ways) == 1 and len(next(iter(ways))) == 1:
        cut_size = f"{next(iter(ways))[0]} × {width}"
    else:
        said = [f"{f'{n} of ' if len(ways) > 1 else ''}{' + '.join(lengths)}" for lengths, n in ways.items()]
        more = f"; {len(said) - MOST_WAYS} more way{'s' * (len(said) > MOST_WAYS + 1)}" if len(said) > MOST_WAYS else ""
        cut_size = f"{width} wide: {'; '.join(said[:MOST_WAYS])}{more}"
    seam_width = f" × {figures.bare(abs(strip.seam_z[1] - strip.seam_z[0]))}" if strip.kind == "boxing" else ""
    return cut_size, f"{figures.bare(strip.length_mm)}{seam_width or ' with its spare'}"


def _direction(cut: list[CutPart]) -> str:
    if cut[0].piping:
        return strip_way(cut[0])
    return " or ".join(dict.fromkeys(SHORT_WAYS[front_text(p.front)] for p in cut))


def fill_rows(worked: WorkedJob, figures: Figures) -> list[dict[str, Any]]:
    """Blocks of fill to cut."""
    names = {c.id: cushion_name(c) for c in worked.job.cushions}
    return [
        {
            "cushion": names.get(f.cushion_id, ""),
            "name": shortened(f.kind.replace("_", " "), 40),
            "count": f.count,
            "size": figures.size(f.width_mm, f.depth_mm, f.thickness_mm),
            "wrap": figures.length(f.wrap_mm) if f.wrap_mm else "bare",
            "shape": "" if _is_rectangle(worked, f.cushion_id) else _block_shape(worked, f.cushion_id, figures),
        }
        for f in worked.supply.foam
    ]


def _block_shape(worked: WorkedJob, cushion_id: str, figures: Figures) -> str:
    """Where to take a block's outline from: the panel's pattern, to which fit is added (`construct.sizes`)."""
    wider_mm = fit_mm(next(c for c in worked.job.cushions if c.id == cushion_id)) / 2
    more = f", {figures.length(wider_mm)} larger all round" if figures.bare(wider_mm) != figures.bare(0.0) else ""
    return figures.said(f"as the stitch line on the pattern of the [[top]]{more}")


def _is_rectangle(worked: WorkedJob, cushion_id: str) -> bool:
    cover = cover_of(worked, cushion_id)
    x0, y0, x1, y1 = cover.fill_outline.bounds()
    return abs(cover.fill_outline.area - (x1 - x0) * (y1 - y0)) < 1.0


def cover_of(worked: WorkedJob, cushion_id: str) -> CushionCover:
    """The cover of one kind of cushion."""
    return next(c for c in worked.construction.covers if c.cushion_id == cushion_id)


def _zip_rows(worked: WorkedJob, figures: Figures) -> list[dict[str, Any]]:
    rows = []
    for cushion in worked.job.cushions:
        plan = cover_of(worked, cushion.id).zip_panel
        if plan is None:
            continue
        larger = _larger_across(worked, cushion, "zip_panel")
        rows.append(
            {
                "cushion": cushion_name(cushion),
                "count": cushion.count,
                "zip": figures.length(plan.zip_mm),
                "sliders": plan.sliders,
                "panel": figures.length(plan.panel_mm),
                **_zip_strips(plan, larger, figures),
            }
        )
    return rows


_ZIP_MAKING = {
    "fold_and_split": "fold and split",
    "two_single": "two single strips",
    "two_doubled": "two doubled strips",
    "lapped": "lapped",
}


def _zip_strips(plan: ZipPanelPlan, larger: float, figures: Figures) -> dict[str, str]:
    """The strips of a zip panel and what they make up; a zip in the bottom has none, it lies between two widths."""
    if plan.place == "bottom":
        return {"strips": "none", "making": "in the bottom panel, between its two widths"}
    strips, made_up = (figures.length(mm * larger) for mm in (plan.strip_cut_mm, plan.made_up_mm))
    making = _ZIP_MAKING.get(plan.making, plan.making.replace("_", " "))
    return {"strips": f"{plan.strip_count} × {strips}, made up {made_up}", "making": making}


def _cord_rows(worked: WorkedJob, figures: Figures) -> list[dict[str, Any]]:
    rows = []
    for cushion in worked.job.cushions:
        plan = cover_of(worked, cushion.id).piping
        if plan is None:
            continue
        rows.append(
            {
                "cushion": cushion_name(cushion),
                "cord": figures.gauge(cushion.cover.piping.cord_mm),
                "rings": plan.rings * cushion.count,
                "ring": figures.length(plan.ring_mm),
                "strip": figures.length(plan.strip_cut_mm * _larger_across(worked, cushion, "piping")),
                "flange": figures.length(plan.flange_mm),
                "edge": _edge_text(plan.inside_edge_mm, figures),
            }
        )
    return rows


def _larger_across(worked: WorkedJob, cushion: Cushion, kind: str) -> float:
    """How much wider a cushion's strips of one kind are cut than they finish, for a cloth that will shrink."""
    cover = cover_of(worked, cushion.id)
    parts: tuple[Piece | Strip, ...] = (*cover.pieces, *cover.strips)
    part = next((p for p in parts if p.kind == kind), None)
    return cut_scale_in_piece(worked.job.cloth(part.cloth_id), turn_of(worked, part))[1] if part else 1.0


def _edge_text(inside_mm: float, figures: Figures) -> str:
    """Where the strip's raw edge lies when the cord is the guide."""
    if abs(inside_mm) < ON_EDGE_MM:
        return "edges level"
    where = "inside" if inside_mm > 0 else "outside"
    return f"strip's edge {figures.length(abs(inside_mm))} {where} the panel's edge: the cord is the guide"


ON_EDGE_MM = 0.5
"""Raw edges nearer than this are level."""


def _label(part: CutPart, worked: WorkedJob, cloth_id: str, figures: Figures) -> dict[str, Any]:
    cloth = worked.job.cloth(cloth_id)
    lot = cloth.bolt.lot if cloth.bolt else ""
    return {
        "number": part.number,
        "job": shortened(worked.job.reference or worked.job.name, 28),
        "cushion": shortened(part.cushion.name or part.cushion.id, 40),
        "place": shortened(part.cushion.place, 30),
        "piece": part.name,
        "hand": part.hand.upper(),
        "front": strip_way(part) if part.piping else "front",
        "arrow": not part.piping,
        "cloth": shortened(cloth.name, 30),
        "lot": shortened(lot, 16) or "____",
        "count": count_text(part),
        "joins": shortened(" · ".join(part.joins), 110),
    }
