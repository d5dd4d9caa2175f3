"""Cushions from the values of a job file: outlines, sizes as typed, makes of cover."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, TypeVar

from squab.cloth import Cloth
from squab.files.cloths import find_line, lines_hint
from squab.files.keys import COVER, FILL
from squab.files.lines import path_of
from squab.files.reading import Reader, filled
from squab.findings import Outcome, Severity
from squab.job import Cover, Cushion, Fill, Matching, Notching, Piping, Zip
from squab.measure import CORNERS, Step, d_shape, disc, l_shape, one_eared, rounded_rectangle, run, t_shape, trapezoid
from squab.measure.shapes import at_line
from squab.plane import Outline
from squab.units import KG_M3_PER_LB_FT3

R = TypeVar("R")

INCH_COVER = Cover(
    allowance_mm=12.7,
    piping=Piping(cord_mm=25.4 * 5 / 32, least_part_mm=406.4, spare_mm=50.8),
    zip=Zip(tape_mm=31.75, longer_than_panel_mm=76.2),
    notching=Notching(straight_every_mm=406.4, curve_every_mm=88.9, depth_mm=25.4 * 3 / 16),
    boxing_spare_mm=63.5,
    join_clear_of_front_mm=76.2,
    least_boxing_part_mm=152.4,
)
"""The workroom's usual numbers where lengths are in inches."""

TAKES: dict[str, tuple[str, ...]] = {
    "rectangle": ("width", "depth"),
    "trapezoid": ("front", "back", "depth"),
    "L": ("width", "depth", "out_width", "out_depth"),
    "T": ("width", "depth", "ear_width", "ear_depth"),
    "one-eared": ("width", "depth", "ear_width", "ear_depth", "hand"),
    "disc": ("diameter",),
    "D": ("width", "depth"),
    "run": ("run",),
}
"""The keys that each shape needs."""
MAY_TAKE: dict[str, tuple[str, ...]] = {
    "rectangle": ("radius",), "trapezoid": ("radius", "offset"), "L": ("radius", "out_corner"), "T": ("radius",),
    "one-eared": ("radius",), "disc": (), "D": (), "run": (),
}  # fmt: skip
_SHAPE_KEYS = {k for keys in (*TAKES.values(), *MAY_TAKE.values()) for k in keys} - {"hand"}
_KEY_OF = {"JOB-102": ("radius",), "JOB-106": ("run",), "JOB-107": ("run",)}
"""The key that a finding of a shape is about, where there is one."""
CLOTH_KEYS = ("panel_cloth", "bottom_cloth", "boxing_cloth", "zip_cloth", "piping_cloth")


def read_cushion(
    values: Mapping[str, Any], house: Cover, size_is: str | None, cloths: Mapping[str, Cloth], reader: Reader
) -> Cushion | None:
    """Build one cushion, or None where it has no outline. Its faults go to the reader."""
    at = values["_at"]
    shape = _shape(values, reader)
    outline = _outline(values, shape, reader)
    cover = _with_lines(filled(house, values, COVER), values, cloths, reader)
    if outline is None or "thickness" not in values:
        return None
    _check_sides(values, outline, cover, reader)
    what = values.get("size_is") or size_is or "fill"
    thick = {"seat": "fill", "fill": "fill", "seam": "seam"}.get(what, "finished")
    hand = _hand(values)
    return Cushion(
        id=values.get("id", ""),
        name=values.get("name") or values.get("id", ""),
        outline=outline,
        thickness_mm=values["thickness"].mm,
        size_is=what.replace(" ", "_"),  # type: ignore[arg-type]
        thickness_is=values.get("thickness_is", thick),
        count=values.get("count", 1),
        place=values.get("place", ""),
        shape=shape,
        hand=hand,  # type: ignore[arg-type]
        turned_over=values.get("turned_over", False),
        fill=_fill(values, reader),
        clearance_mm=_clearance(values, what, outline, shape, reader),
        cover=cover,
        mitred=values.get("mitred", ()),
        typed=_typed(values),
        line=reader.line(at),
    )


def _fill(values: Mapping[str, Any], reader: Reader) -> Fill:
    given = values.get("fill", {})
    fill = filled(Fill(), given, FILL)
    pounds = given.get("density_lb_ft3")
    if pounds is None:
        return fill
    if "density" in given:
        where = (*values["_at"], "fill", "density_lb_ft3")
        reader.stop("JOB-017", where, values["_place"], "a density in kilograms and one in pounds", "keep one of them")
    return replace(fill, density_kg_m3=pounds * KG_M3_PER_LB_FT3)


def _shape(values: Mapping[str, Any], reader: Reader) -> str:
    """The shape as given, else by the keys that are there: one that cannot be read yet tells it as well."""
    if "shape" in values:
        return str(values["shape"])

    def there(key: str) -> bool:
        return key in values or (*values["_at"], key) in reader.lines

    if there("run"):
        return "run"
    if there("diameter"):
        return "disc"
    return "trapezoid" if there("front") and there("back") else "rectangle"


def _typed(values: Mapping[str, Any]) -> tuple[tuple[str, str], ...]:
    names = (
        "width", "front", "back", "depth", "offset", "diameter", "out_width", "out_depth", "ear_width", "ear_depth",
        "thickness",
    )  # fmt: skip
    sizes = [(n.replace("_", " "), values[n].text) for n in names if n in values]
    radii = [(f"radius {n.replace('_', ' ')}".replace(" all", ""), r.text) for n, r in values.get("radius", {}).items()]
    return (*sizes, *radii)


def _hand(values: Mapping[str, Any]) -> str:
    """The hand as one faces the seat."""
    hand = values.get("hand", "")
    if hand and values.get("hand_seen") == "sitting":
        return "right" if hand == "left" else "left"
    return str(hand)


# --- outlines ---


def _outline(values: Mapping[str, Any], shape: str, reader: Reader) -> Outline | None:
    at, place = values["_at"], values["_place"]
    missing = [k for k in TAKES[shape] if k not in values]
    for key in missing:
        if (*at, key) in reader.lines:
            continue  # it is there, and its own fault has been said
        hint = 'add hand = "left" or "right", as you face the seat' if key == "hand" else f"add {key} = ..."
        reader.stop("JOB-015", (*at, key), place, f"a cushion of shape {shape} needs `{key}`", hint)
    for key in sorted(k for k in _SHAPE_KEYS if k in values and k not in (*TAKES[shape], *MAY_TAKE[shape])):
        hint = f"a {shape} takes {', '.join((*TAKES[shape], *MAY_TAKE[shape]))}"
        reader.stop("JOB-018", (*at, key), place, f"`{key}` says nothing of a cushion of shape {shape}", hint)
    if missing:
        return None
    made = _build(values, shape, reader)
    for finding in at_line(made.findings, reader.line(at)):
        if len(reader.findings) < 200:
            reader.findings.append(replace(finding, path=path_of((*at, *_KEY_OF.get(finding.code, ())))))
    return made.value


def _build(values: Mapping[str, Any], shape: str, reader: Reader) -> Outcome[Outline]:
    place, style = values["_place"], reader.style
    n = {k: v.mm for k, v in values.items() if hasattr(v, "mm")}
    hidden = values.get("hidden")
    radii = {k: r.mm for k, r in values.get("radius", {}).items()}
    every = radii.pop("all", 0.0)
    given: dict[str, Any] = {"hidden": hidden or (), "place": place, "style": style}
    if hidden is None and (shape != "run" or any(s.get("side") == "back" for s in values["run"])):
        given["hidden"] = ("back",)
    if shape == "rectangle":
        return rounded_rectangle(n["width"], n["depth"], {c: radii.get(c, every) for c in CORNERS}, **given)
    if shape == "trapezoid":
        corner = {c: radii.get(c, every) for c in CORNERS}
        return trapezoid(n["front"], n["back"], n["depth"], offset_mm=n.get("offset", 0.0), radii_mm=corner, **given)
    if radii:
        what = f"a cushion of shape {shape} takes one radius for all its corners"
        reader.stop("JOB-018", (*values["_at"], "radius"), place, what, "write radius = ..., or describe it as a run")
    if shape == "L":
        corner_name = values.get("out_corner", "back right").replace(" ", "_")
        return l_shape(
            n["width"], n["depth"], n["out_width"], n["out_depth"], out_corner=corner_name, radius_mm=every, **given
        )
    if shape == "T":
        return t_shape(n["width"], n["depth"], n["ear_width"], n["ear_depth"], radius_mm=every, **given)
    if shape == "one-eared":
        ear: Any = _hand(values)
        return one_eared(n["width"], n["depth"], n["ear_width"], n["ear_depth"], ear=ear, radius_mm=every, **given)
    if shape == "disc":
        return disc(n["diameter"], **given)
    if shape == "D":
        return d_shape(n["width"], n["depth"], **given)
    return run([_step(s) for s in values["run"]], **given)


def _step(values: Mapping[str, Any]) -> Step:
    mm = {k: values[k].mm for k in ("length", "rise", "radius", "corner") if k in values}
    return Step(
        values.get("side", ""),
        mm.get("length"),
        values.get("turn"),
        values.get("to"),
        mm.get("rise", 0.0),
        mm.get("radius"),
        mm.get("corner", 0.0),
    )


# --- what must agree ---


def _check_sides(values: Mapping[str, Any], outline: Outline, cover: Cover, reader: Reader) -> None:
    at, place, sides = values["_at"], values["_place"], outline.side_names()
    hint = f"its sides are {', '.join(sides)}"
    for side in values.get("mitred", ()):
        if side not in sides:
            reader.stop("JOB-025", (*at, "mitred"), place, f"there is no side `{side}` to be mitred", hint)
    if cover.zip.place == "boxing" and cover.zip.side not in sides:
        what = f"there is no side `{cover.zip.side}` for the zip"
        reader.stop("JOB-025", (*at, "zip"), place, what, f'{hint}: zip = {{ side = "{sides[-1]}" }}')
    for side in values.get("clearance", {}):
        if side != "all" and side not in sides:
            reader.stop("JOB-025", (*at, "clearance", side), place, f"there is no side `{side}` to be kept clear", hint)


def _clearance(
    values: Mapping[str, Any], size_is: str, outline: Outline, shape: str, reader: Reader
) -> dict[str, float]:
    at, place, given = values["_at"], values["_place"], values.get("clearance", {})
    if size_is != "seat":
        if given:
            what = f"clearance is taken off a seat, but these numbers are of: {size_is}"
            reader.say(
                "JOB-019", Severity.WARN, (*at, "clearance"), place, what, 'leave it out, or say size_is = "seat"'
            )
        return {}
    usual = 6.35 if reader.style.system == "imperial" else 6.0
    every = [s for s in (outline.side_names() if shape == "disc" else ("left", "right")) if s in outline.side_names()]
    if not given:
        where = " and ".join(every) or "no side"
        what = f"no clearance is given for this seat: {reader.shown(usual)} is taken off at {where}"
        reader.say(
            "JOB-028", Severity.NOTE, (*at, "clearance"), place, what, "say clearance = ... to change it; 0 for none"
        )
        return dict.fromkeys(every, usual)
    sides = dict.fromkeys(every, given["all"].mm) if "all" in given else {}
    return {**sides, **{side: v.mm for side, v in given.items() if side != "all"}}


def _with_lines(cover: Cover, values: Mapping[str, Any], cloths: Mapping[str, Cloth], reader: Reader) -> Cover:
    """Check the cloths and lines of the pattern that a cover names; give lines their full names."""
    at, place = values["_at"], values["_place"]
    for key in CLOTH_KEYS:
        named = getattr(cover, key)
        if named and cloths and named not in cloths:
            own = key in values
            hint = f"the job's cloths are {', '.join(list(cloths)[:8])}"
            reader.stop(
                "JOB-021",
                (*at, key) if own else ("cover", key),
                place,
                f"{key} `{named[:40]}` is no cloth of this job",
                hint,
            )
            cover = _with(cover, key, "")
    cloth = cloths.get(cover.panel_cloth) or next(iter(cloths.values()), None)
    return replace(cover, matching=_pins(cover.matching, cloth, values, reader)) if cloth else cover


def _with(record: R, field: str, value: object) -> R:
    changes: dict[str, Any] = {field: value}
    return replace(record, **changes)  # type: ignore[type-var]


def _pins(matching: Matching, cloth: Cloth, values: Mapping[str, Any], reader: Reader) -> Matching:
    for key, changes in (("pin_across", cloth.pattern.changes_across), ("pin_along", cloth.pattern.changes_along)):
        asked = getattr(matching, key)
        if not asked:
            continue
        own = key in values.get("match", {})
        at = (*values["_at"], "match", key) if own else ("cover", "match", key)
        found = find_line(cloth.pattern, asked) if changes else None
        if found is None and (own or changes):
            what = (
                f"`{key}`: cloth {cloth.id} has no line `{asked[:40]}`"
                if changes
                else f"`{key}`: cloth {cloth.id} does not change that way"
            )
            reader.stop("JOB-024", at, values["_place"], what, lines_hint(cloth.pattern))
        matching = _with(matching, key, found)
    return matching
