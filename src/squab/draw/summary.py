"""A worked job as plain values for JSON: sizes, pieces, placements, lengths of cloth, price, findings.

Lengths are millimetres to a thousandth, money is text with two places in the job's currency.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from squab.construct.records import CushionCover, Piece, Size, Strip
from squab.findings import Finding
from squab.job import Cushion
from squab.lay.records import ClothPlan
from squab.supply.records import Price
from squab.worked import WorkedJob


def worked_json(worked: WorkedJob) -> dict[str, Any]:
    """The whole job as a JSON-able dict."""
    job = worked.job
    covers = {c.cushion_id: c for c in worked.construction.covers}
    return {
        "job": {
            "name": job.name,
            "reference": job.reference,
            "dated": job.dated.isoformat() if job.dated else None,
            "units": job.style.system,
        },
        "cushions": [_cushion(c, covers[c.id], worked) for c in job.cushions],
        "cloths": [_cloth(k, plan, worked) for k, plan in worked.plans.items()],
        "matching": [
            {
                "seam": d.seam_id,
                "side": d.side,
                "seen": d.seen,
                "wish": d.wish,
                "worst_mm": _mm(d.worst_mm),
                "verdict": d.verdict,
                "good_to_mm": None if d.good_to_mm is None else _mm(d.good_to_mm),
                "said": d.said,
            }
            for d in worked.match.drifts
        ],
        "buy": [
            {
                "what": b.what,
                "detail": b.detail,
                "kind": b.kind,
                "cushion": b.cushion_id or None,
                "exact": round(b.exact, 6),
                "buy": round(b.buy, 6),
                "unit": b.unit,
                "cost": _money(b.cost),
            }
            for b in worked.supply.buy
        ],
        "price": _price(worked.supply.price),
        "findings": findings_json(worked.findings),
    }


def findings_json(findings: Iterable[Finding]) -> list[dict[str, Any]]:
    """Findings as JSON-able dicts, in the order given."""
    return [
        {
            "code": f.code,
            "severity": f.severity.name.lower(),
            "place": f.place,
            "message": f.message,
            "hint": f.hint or None,
            "line": f.line,
            "path": f.path or None,
        }
        for f in findings
    ]


def _mm(value: float) -> float:
    return round(float(value), 3) + 0.0


def _money(amount: Decimal) -> str:
    return str(amount.quantize(Decimal("0.01"), ROUND_HALF_UP))


def _size(size: Size | None) -> dict[str, float] | None:
    if size is None:
        return None
    return {
        "width_mm": _mm(size.width_mm),
        "depth_mm": _mm(size.depth_mm),
        "thickness_mm": _mm(size.thickness_mm),
    }


def _cushion(cushion: Cushion, cover: CushionCover, worked: WorkedJob) -> dict[str, Any]:
    sizes, zip_panel, piping = cover.sizes, cover.zip_panel, cover.piping
    return {
        "id": cushion.id,
        "name": cushion.name,
        "place": cushion.place,
        "hand": cushion.hand or None,
        "count": cushion.count,
        "sizes": {
            "given": sizes.given,
            "seat": _size(sizes.seat),
            "fill": _size(sizes.fill),
            "seam": _size(sizes.seam),
            "finished": _size(sizes.finished),
        },
        "ring_mm": _mm(cover.ring_mm),
        "zip": zip_panel
        and {
            "place": zip_panel.place,
            "making": zip_panel.making,
            "panel_mm": _mm(zip_panel.panel_mm),
            "zip_mm": _mm(zip_panel.zip_mm),
            "sliders": zip_panel.sliders,
        },
        "piping": piping
        and {"cut": piping.cut, "strip_mm": _mm(piping.strip_cut_mm), "ring_mm": _mm(piping.ring_mm),
             "rings": piping.rings},
        "pieces": [_piece(p) for p in cover.pieces],
        "strips": [_strip(s) for s in cover.strips],
        "minutes_each": round(worked.supply.minutes_per_cushion.get(cushion.id, 0.0), 1),
    }  # fmt: skip


def _piece(piece: Piece) -> dict[str, Any]:
    x0, y0, x1, y1 = piece.cut.bounds()
    a0, b0, a1, b1 = piece.seam.bounds()
    return {
        "id": piece.id,
        "name": piece.name,
        "kind": piece.kind,
        "cloth": piece.cloth_id,
        "count": piece.count,
        "hand": piece.hand or None,
        "cut_mm": [_mm(x1 - x0), _mm(y1 - y0)],
        "seam_mm": [_mm(a1 - a0), _mm(b1 - b0)],
        "joins": list(piece.joins),
    }


def _strip(strip: Strip) -> dict[str, Any]:
    return {
        "id": strip.id,
        "name": strip.name,
        "kind": strip.kind,
        "cloth": strip.cloth_id,
        "count": strip.count,
        "cut_width_mm": _mm(strip.cut_width_mm),
        "seam_length_mm": _mm(strip.length_mm),
        "joins": list(strip.joins),
    }


def _cloth(cloth_id: str, plan: ClothPlan, worked: WorkedJob) -> dict[str, Any]:
    cloth = worked.job.cloth(cloth_id)
    return {
        "id": cloth_id,
        "name": cloth.name,
        "usable_width_mm": _mm(cloth.usable_width_mm),
        "order_mm": 0.0 if worked.job.cloth(plan.cloth_id).in_hand else _mm(plan.order_mm),
        "in_hand": worked.job.cloth(plan.cloth_id).in_hand,
        "needs_mm": _mm(plan.needs_mm),
        "bolt_needs_mm": None if plan.bolt_length_mm is None else _mm(plan.bolt_length_mm),
        "lay_mm": _mm(plan.lay.length_mm),
        "bound_mm": _mm(plan.bound.length_mm),
        "bound_method": plan.bound.method,
        "handbook_mm": _mm(plan.handbook_mm),
        "gap": round(plan.gap, 6),
        "risk": plan.risk or None,
        "surrenders": [{"what": s.what, "frees_mm": _mm(s.frees_mm), "enough": s.enough} for s in plan.surrenders],
        "pattern_at_mm": [_mm(x) for x in plan.lay.pattern_at],
        "placed": [
            {
                "key": p.key,
                "turn_deg": p.turn_deg,
                "u_mm": _mm(p.u_mm),
                "v_mm": _mm(p.v_mm),
                "part_mm": None if p.part_mm is None else [_mm(s) for s in p.part_mm],
            }
            for p in plan.lay.placed
        ],
    }


def _price(price: Price) -> dict[str, Any]:
    return {
        "currency": price.currency,
        "materials_cost": _money(price.materials_cost),
        "materials_charge": _money(price.materials_charge),
        "hours": str(price.hours),
        "making": _money(price.making),
        "net": _money(price.net),
        "tax_name": price.tax_name,
        "tax_pct": str(price.tax_pct),
        "tax": _money(price.tax),
        "total": _money(price.total),
        "deposit": _money(price.deposit),
        "minimum_applied": price.minimum_applied,
        "per_cushion": {k: _money(v) for k, v in price.per_cushion.items()},
    }
