"""What each part of a job's page comes to, in one line: shown at its head, whether the part is open or folded."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from squab.draw.figures import Figures
from squab.files.lines import place_of
from squab.findings import Severity
from squab.units import Style
from squab.web import fields as f
from squab.web.labels import CHOICES

if TYPE_CHECKING:
    from squab.web.job_view import JobView

PARTS = ("sizes", "make", "cloth", "lay", "charge", "sheets", "paper")
"""The parts of a job's page in the order of the work."""
OPEN_AT_FIRST = ("sizes",)
MOST_NAMED = 3
_OF_COVER = frozenset(name.partition(".")[0] for name in f.cover_names())


def part_of(path: str) -> str:
    """The part of the page in which the field of a key stands."""
    place = place_of(path) if path else ()
    first, last = (place[0], place[2]) if len(place) > 2 and place[0] == "cushion" else ((place or ("",))[0], "")
    inner = place[1] if len(place) > 1 and first == "cover" else last
    if first == "cloth" or inner == "match" or str(inner).endswith("_cloth"):
        return "cloth"
    if first == "cover" or (first == "cushion" and inner in _OF_COVER):
        return "make"
    return {"cushion": "sizes", "prices": "charge"}.get(str(first), "paper")


def stops_by_part(view: JobView) -> dict[str, int]:
    """How many things stand in the way, by the part of the page in which they are mended."""
    counted: dict[str, int] = {}
    for path, found in view.opened.by_path.items():
        stops = sum(x.severity is Severity.STOP for x in found)
        if stops and path:
            counted[part_of(path)] = counted.get(part_of(path), 0) + stops
    return counted


def gist_of(view: JobView, part: str) -> str:
    """One part in one line; nothing where there is nothing to tell yet."""
    return _TOLD[part](view)


def _joined(parts: Iterable[str]) -> str:
    return ", ".join(p for p in parts if p)


def _sizes(view: JobView) -> str:
    names = [f"{name} × {count}" if count != "1" else name for _, name, count, _ in view.cushion_names[:MOST_NAMED]]
    more = view.cushion_count - len(names)
    named = _joined([*names, f"{more} more" if more > 0 else ""])
    if view.cushion_count == 1 and view.cover is not None:
        return f"{named}: {view.figures.box(view.cover.sizes.finished)}"
    return named


def _make(view: JobView) -> str:
    if view.made is None:
        return ""
    cover, figures = view.made.cover, view.figures
    edges = CHOICES.get(cover.piping.edges, cover.piping.edges)
    piped = "no [[piping]]" if cover.piping.edges == "none" else f"[[piping]] at {edges}"
    place = {"boxing": "[[zip]] in the [[boxing]]", "bottom": "[[zip]] in the bottom", "none": "no [[zip]]"}
    own = f"made otherwise in {view.own_count}" if view.own_count and view.cushion_count > 1 else ""
    return view.said(_joined([f"{figures.length(cover.allowance_mm)} allowance", piped, place[cover.zip.place], own]))


def _cloth(view: JobView) -> str:
    names = _joined(name for _, name in view.cloth_names[:MOST_NAMED])
    verdicts = {verdict for _, told in view.meets for _, verdict in told}
    apart = len(view.mitres_apart)
    if "miss" in verdicts:
        meets = "it does not meet everywhere"
    elif "say so" in verdicts:
        meets = "it meets, in part only nearly"
    else:
        meets = ("everything else meets" if apart else "everything meets") if verdicts else ""
    meets = _joined([f"{apart} {'mitre does' if apart == 1 else 'mitres do'} not meet" if apart else "", meets])
    return f"{names}: {meets}" if meets else names


def _lay(view: JobView) -> str:
    told = []
    for plan in view.plans[:MOST_NAMED]:
        saved = view.saving(plan)
        lies_on = view.length(view.on_bolt(plan).lay_mm)
        told.append(f"{lies_on}{f', {saved} less than by rows' if saved else ''}")
    return "; ".join(told)


def _charge(view: JobView) -> str:
    if view.agreed_price is not None:
        return f"{Figures(Style(), view.words, view.agreed_price.currency).money(view.agreed_price.total)} agreed"
    if view.worked is None:
        return ""
    price = view.worked.supply.price
    return f"{view.figures.money(price.total)} with {price.tax_name}, {price.hours} hours"


def _sheets(view: JobView) -> str:
    count = len(view.titles)
    return f"{count} to print or keep, {CHOICES.get(view.paper, view.paper)}" if count else ""


def _paper(view: JobView) -> str:
    return _joined((view.record.customer, view.record.reference))


_TOLD: dict[str, Callable[[JobView], str]] = {
    "sizes": _sizes, "make": _make, "cloth": _cloth, "lay": _lay, "charge": _charge, "sheets": _sheets, "paper": _paper,
}  # fmt: skip
