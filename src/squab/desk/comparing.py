"""Variants of one job side by side, and the figures that are agreed with a customer."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from squab.desk.editing import edited, removed
from squab.desk.reading import gives, opened, typed_in
from squab.files.lines import place_of
from squab.findings import Finding
from squab.worked import WorkedJob

_SHOWS = ("MAT-001", "MAT-002", "MAT-008", "MAT-009", "CON-008", "CON-041")
"""Findings that tell of what will be seen: where the pattern meets, where panels and boxing are seamed."""


@dataclass(frozen=True, slots=True)
class Variant:
    """A job otherwise: what is typed at some key paths instead."""

    name: str
    edits: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True)
class VariantFigures:
    """What a variant comes to. Without `total` a finding stops it."""

    name: str
    text: str
    cloths: tuple[tuple[str, float], ...] = ()
    """Each cloth's name and the length to order, mm."""
    hours: Decimal | None = None
    total: Decimal | None = None
    currency: str = ""
    seams_seen: int = 0
    seams_meet: int = 0
    worst_mm: float = 0.0
    """The largest drift at a seam that is seen and was asked to meet."""
    shows: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()


def differences(before: str, after: str) -> tuple[tuple[str, str, str], ...]:
    """What differs between two texts of a job: key path, what stood there, what stands there now, as typed.

    In the order of the later text, what was taken out last; an empty text is nothing. A value that a
    bare text is short for is told once. Nothing where either text is no TOML at the moment.
    """
    old, new = typed_in(before), typed_in(after)
    paths = [p for p in dict.fromkeys((*new, *old)) if old.get(p, "") != new.get(p, "")]
    said = [p for p in paths if p.rpartition(".")[0] not in paths and not _said_elsewhere(p, set(paths))]
    return tuple((p, old.get(p, ""), new.get(p, "")) for p in said) if old and new else ()


def _said_elsewhere(path: str, paths: set[str]) -> bool:
    """Whether a list tells of this entry, or the entries tell of this list: stripes are told one by one."""
    if path.endswith("]"):
        return not path.rpartition("[")[0].endswith(".stripes") and path.rpartition("[")[0] in paths
    return path.endswith(".stripes") and any(p.startswith(f"{path}[") for p in paths)


def varied(text: str, variant: Variant) -> str:
    """The text of a variant."""
    for path, typed in variant.edits:
        text = edited(text, path, typed)
    return text


def made_otherwise(text: str, key: str, typed: str) -> str:
    """Set a key of the make of cover for every cushion: one that has a value of its own gives it up."""
    text = edited(text, f"cover.{key}", typed)
    rows = opened(text, check=False).raw.get("cushion")
    for i, row in enumerate(rows if isinstance(rows, list) else ()):
        if gives(row, place_of(key)):
            text = removed(text, f"cushion[{i}].{key}")
    return text


def variant_figures(text: str, variant: Variant, *, seconds: float = 2.0, seed: int = 0) -> VariantFigures:
    """Work a variant through every stage. Plain values in and out: it may run in another process."""
    from squab.stages import work

    made = varied(text, variant)
    read = opened(made, check=False)
    if read.job is None:
        return VariantFigures(variant.name, made, findings=read.findings)
    worked = work(read.job, seconds=seconds, seed=seed, trials=False)
    found = (*read.findings, *worked.findings)
    if worked.value is None:
        return VariantFigures(variant.name, made, findings=found)
    return figures_of(variant.name, made, worked.value, found)


def figures_of(name: str, text: str, worked: WorkedJob, findings: tuple[Finding, ...]) -> VariantFigures:
    """What a worked job comes to."""
    price = worked.supply.price
    seen = [d for d in worked.match.drifts if d.seen and d.wish != "ignore" and d.verdict != "not matched"]
    return VariantFigures(
        name=name,
        text=text,
        cloths=tuple((worked.job.cloth(k).name, p.order_mm) for k, p in worked.plans.items()),
        hours=price.hours,
        total=price.total,
        currency=price.currency,
        seams_seen=len(seen),
        seams_meet=sum(d.verdict == "good" for d in seen),
        worst_mm=max((d.worst_mm for d in seen), default=0.0),
        shows=tuple(dict.fromkeys(f"{f.place}: {f.message}" for f in findings if f.code in _SHOWS)),
        findings=findings,
    )


def agreed_figures(worked: WorkedJob) -> dict[str, str]:
    """The figures of a worked job as texts, to be agreed with the customer and never worked out again."""
    price = worked.supply.price
    plain = {
        "total": price.total, "currency": price.currency, "net": price.net, "tax_name": price.tax_name,
        "tax_pct": price.tax_pct, "tax": price.tax, "deposit": price.deposit, "hours": price.hours,
        "making": price.making, "materials": price.materials_charge,
    }  # fmt: skip
    cushions = {f"cushion {key}": str(amount) for key, amount in price.per_cushion.items()}
    cloths = {f"cloth {key} mm": f"{plan.order_mm:.1f}" for key, plan in worked.plans.items()}
    return {name: str(value) for name, value in plain.items()} | cushions | cloths
