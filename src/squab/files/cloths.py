"""Cloths from the values of a job file: patterns, stripe layouts, bolts."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from squab.cloth import Bolt, Cloth, Creep, Flaw, Motif, Pattern, Remnant, Stripe, stripe_axes
from squab.files.keys import BOLT, CLOTH, COLOURS
from squab.files.lines import Place
from squab.files.reading import Reader, filled
from squab.findings import Severity
from squab.units import G_M2_PER_OZ_YD2, MM_PER

ADDS_UP_WITHIN_MM = 0.01
"""Stripes in sixteenths add up exactly; this forgives only the last digit of decimals."""
PRINT_KEYS = ("repeat_across", "repeat_along", "drop", "motif", "mirrored", "half_turn_same")
STRIPE_KEYS = ("stripes_run", "even", "repeat")


def read_cloth(values: Mapping[str, Any], reader: Reader) -> Cloth:
    """Build one cloth. Its faults go to the reader."""
    at, place = values["_at"], values["_place"]
    inches = reader.style.system == "imperial"
    bare = Cloth(
        id=values.get("id", ""),
        name=values.get("name") or values.get("id", ""),
        usable_width_mm=1400.0,
        sold_by_mm=float(MM_PER["yd"] / 8) if inches else 100.0,
        square_off_mm=50.8 if inches else 50.0,
        one_way=bool(values.get("pile", False)),
    )
    cloth = filled(bare, {k: v for k, v in values.items() if k not in ("bolt", "remnants")}, CLOTH)
    cloth = replace(cloth, pattern=_pattern(values, reader), price_per_m=_price(values, reader))
    if "mass_oz_yd2" in values:
        if "mass" in values:
            where = (*at, "mass_oz_yd2")
            reader.stop("JOB-017", where, place, "a mass in grams and a mass in ounces", "keep one of them")
        cloth = replace(cloth, mass_g_m2=values["mass_oz_yd2"] * G_M2_PER_OZ_YD2)
    if values.get("pile") and values.get("one_way") is False:
        reader.stop("JOB-030", (*at, "one_way"), place, "a pile has one way, but one_way is false", "leave one_way out")
    if "bolt" in values:
        cloth = replace(cloth, bolt=_bolt(values["bolt"], cloth, (*at, "bolt"), place, reader))
    cloth = replace(cloth, remnants=tuple(_remnant(v, cloth, reader) for v in values.get("remnants", ())))
    return cloth


def _price(values: Mapping[str, Any], reader: Reader) -> Decimal | None:
    metre, yard = values.get("price_per_m"), values.get("price_per_yd")
    if metre is not None and yard is not None:
        where = (*values["_at"], "price_per_yd")
        reader.stop(
            "JOB-017", where, values["_place"], "a price for a metre and a price for a yard", "keep one of them"
        )
    if yard is None:
        return None if metre is None else Decimal(metre)
    return Decimal(yard) * 1000 / Decimal(MM_PER["yd"].numerator) * MM_PER["yd"].denominator


# --- patterns ---


def _pattern(values: Mapping[str, Any], reader: Reader) -> Pattern:
    at, place = values["_at"], values["_place"]
    ground = values.get("colour", COLOURS["linen"])
    printed = [k for k in PRINT_KEYS if k in values]
    striped = [k for k in STRIPE_KEYS if k in values]
    if "stripes" in values:
        if printed:
            what = f"a striped cloth has no `{printed[0]}`"
            reader.stop(
                "JOB-030", (*at, printed[0]), place, what, "leave it out, or describe a print without `stripes`"
            )
        return _striped(values, ground, reader)
    if (*at, "stripes") in reader.lines:
        return Pattern(ground=ground)  # they are there, and what is wrong with them was told
    if striped:
        reader.stop(
            "JOB-030",
            (*at, striped[0]),
            place,
            f"`{striped[0]}` is for stripes, and there are no `stripes`",
            'add stripes = ["indigo 40", ...], or for a print give repeat_across and repeat_along',
        )
    if "repeat_across" in values or "repeat_along" in values:
        return _printed(values, ground, reader)
    if printed:
        reader.stop(
            "JOB-030",
            (*at, printed[0]),
            place,
            f"`{printed[0]}` is for a print, and no repeat is given",
            "add repeat_across and repeat_along",
        )
    return Pattern(ground=ground)


def _striped(values: Mapping[str, Any], ground: str, reader: Reader) -> Pattern:
    at, place = values["_at"], values["_place"]
    stripes: tuple[Stripe, ...] = tuple(values["stripes"])
    total = sum(s.width_mm for s in stripes)
    repeat = values["repeat"].mm if "repeat" in values else total
    if abs(repeat - total) > ADDS_UP_WITHIN_MM:
        found = f"the stripes add up to {reader.shown(total)}, but the repeat is {reader.shown(repeat)}"
        way = f"they are {reader.shown(abs(repeat - total))} {'short' if total < repeat else 'too much'}"
        reader.stop("JOB-022", (*at, "stripes"), place, f"{found}: {way}", "mend a width, or leave `repeat` out")
    if not 2.0 <= total <= 5000.0:
        reader.stop(
            "JOB-013",
            (*at, "stripes"),
            place,
            f"the stripes add up to {reader.shown(total)}; allowed is 2 mm to 5 m",
            "check the unit of the widths",
        )
    if len({s.colour for s in stripes}) == 1:
        reader.stop(
            "JOB-030", (*at, "stripes"), place, "all stripes have one colour", "leave `stripes` out, or mend a colour"
        )
    axes = stripe_axes(stripes)
    even = values.get("even")
    if even is not None and even != bool(axes):
        told = "reads the same both ways" if axes else "does not read the same both ways from anywhere"
        reader.stop(
            "JOB-023",
            (*at, "even"),
            place,
            f"even is {str(even).lower()}, but this stripe {told}",
            "check the widths and colours of `stripes`, or leave `even` out",
        )
    lines = (*_stripe_lines(stripes), *_own_lines(values))
    warp = values.get("stripes_run", "along") == "along"
    return Pattern(
        kind="warp_stripe" if warp else "weft_stripe",
        repeat_across_mm=total if warp else None,
        repeat_along_mm=None if warp else total,
        stripes=stripes,
        ground=ground,
        mirror_axes=axes,
        lines=lines,
    )


def _own_lines(values: Mapping[str, Any]) -> tuple[tuple[str, float], ...]:
    return tuple((name, at.mm) for name, at in values.get("lines", {}).items())


def _stripe_lines(stripes: Sequence[Stripe]) -> tuple[tuple[str, float], ...]:
    """Name the centre and the edges of every stripe; stripes that share a name are counted from the left."""
    often = Counter(s.name for s in stripes)
    met: Counter[str] = Counter()
    lines: list[tuple[str, float]] = []
    run = 0.0
    for s in stripes:
        met[s.name] += 1
        name = s.name if often[s.name] == 1 else f"{s.name} {met[s.name]}"
        lines += [(f"centre of {name}", run + s.width_mm / 2), (f"left edge of {name}", run)]
        run += s.width_mm
        lines.append((f"right edge of {name}", run))
    return tuple(lines)


def _printed(values: Mapping[str, Any], ground: str, reader: Reader) -> Pattern:
    at, place = values["_at"], values["_place"]
    across, along = values.get("repeat_across"), values.get("repeat_along")
    for name, there in (("repeat_across", across), ("repeat_along", along)):
        if there is None:
            reader.stop(
                "JOB-015", (*at, name), place, f"`{name}` is missing", "a print repeats both across and along the bolt"
            )
    if across is None or along is None:
        return Pattern(ground=ground)
    drop = _drop(values, along.mm, reader)
    motif = values.get("motif", {})
    shape = Motif(
        motif["across"].mm if "across" in motif else across.mm / 2,
        motif["along"].mm if "along" in motif else along.mm / 2,
        motif.get("colour", COLOURS["madder"]),
        motif.get("shape", "oval"),
    )
    mirrored = values.get("mirrored", False)
    return Pattern(
        kind="print",
        repeat_across_mm=across.mm,
        repeat_along_mm=along.mm,
        drop_mm=drop,
        ground=ground,
        motif=shape,
        mirror_axes=(0.0, across.mm / 2) if mirrored and not drop else (0.0,) if mirrored else (),
        half_turn_same=values.get("half_turn_same", False),
        lines=(("motif", 0.0), *_own_lines(values)),
    )


def _drop(values: Mapping[str, Any], along_mm: float, reader: Reader) -> float:
    at, place = (*values["_at"], "drop"), values["_place"]
    raw = values.get("drop")
    if raw is None:
        return 0.0
    if raw == "half":
        return along_mm / 2
    if raw.mm >= along_mm:
        reader.stop(
            "JOB-013",
            at,
            place,
            f"the drop {reader.shown(raw.mm)} is not less than the repeat along {reader.shown(along_mm)}",
            'write drop = "half" for a half drop',
        )
        return 0.0
    return float(raw.mm)


# --- bolts ---


def _bolt(values: Mapping[str, Any], cloth: Cloth, at: Place, place: str, reader: Reader) -> Bolt:
    pattern = cloth.pattern
    line = _measured_line(values, pattern, at, place, reader)
    bolt = filled(Bolt(), {k: v for k, v in values.items() if k != "flaws"}, BOLT)
    bolt = replace(bolt, flaws=tuple(f for v in values.get("flaws", ()) if (f := _flaw(v, cloth, place, reader))))
    _check_bolt(values, cloth, at, place, reader)
    lines = _true_lines(values, pattern, at, place, reader)
    if lines is not None:
        bolt = replace(bolt, creep=lines, repeat_along_mm=lines.repeat_mm)
    scaled = replace(cloth, bolt=bolt).as_measured().pattern
    p = dict(zip((n for n, _ in pattern.lines), (x for _, x in scaled.lines), strict=True)).get(line, 0.0)
    if "stripe_at" in values:
        shift = p if pattern.kind != "weft_stripe" else 0.0
        bolt = replace(bolt, stripe_at_u_mm=_first(values["stripe_at"].mm - shift, scaled.repeat_across_mm, pattern))
    if "print_at" in values:
        shift = p if pattern.kind == "weft_stripe" else 0.0
        bolt = replace(bolt, print_at_v_mm=_first(values["print_at"].mm - shift, scaled.repeat_along_mm, pattern))
    if lines is not None:
        begun = lines.begun_at(p if pattern.kind == "weft_stripe" else 0.0)
        bolt = replace(bolt, creep=begun, print_at_v_mm=begun.lines_mm[0], repeat_along_mm=begun.repeat_mm)
    return bolt


def _true_lines(values: Mapping[str, Any], pattern: Pattern, at: Place, place: str, reader: Reader) -> Creep | None:
    """Where the measured line stands at one repeat after another; None where that was not measured, or cannot be."""
    lines: tuple[float, ...] = values.get("lines_at", ())
    where, repeat = (*at, "lines_at"), pattern.repeat_along_mm
    if not lines or repeat is None:
        return None
    for name in ("print_at", "repeat_along"):
        if name in values:
            said = f"`lines_at` says where the pattern stands along the bolt, and so does `{name}`"
            reader.stop("JOB-017", (*at, name), place, said, f"keep `lines_at`, and leave `{name}` out")
            return None
    for n, (a, b) in enumerate(itertools.pairwise(lines), 1):
        if abs((b - a) / repeat - 1) > 0.1:
            found = f"lines {n} and {n + 1} of `lines_at` stand {reader.shown(abs(b - a))} apart"
            found += ", the second before the first" if b < a else f", and the label's repeat is {reader.shown(repeat)}"
            way = "give the same line at every repeat, one after another from the cut end; or mend the label's"
            if b - a > 1.5 * repeat:
                way = f"between them {round((b - a) / repeat) - 1} left out: {way}"
            reader.stop("JOB-013", where, place, found, way)
            return None
    return Creep(lines)


def _remnant(values: Mapping[str, Any], cloth: Cloth, reader: Reader) -> Remnant:
    """A remnant is described like the bolt, and has a width of its own."""
    at, place = values["_at"], values["_place"]
    width = values["width"].mm if "width" in values else None
    own = cloth if width is None else replace(cloth, usable_width_mm=width)
    return Remnant(_bolt(values, own, at, place, reader), width)


def _first(at_mm: float, repeat_mm: float | None, pattern: Pattern) -> float:
    """Where a stripe's layout first starts on the bolt; a print's place is kept, for a drop ties u to v."""
    return at_mm % repeat_mm if repeat_mm and pattern.kind != "print" else at_mm


def _measured_line(values: Mapping[str, Any], pattern: Pattern, at: Place, place: str, reader: Reader) -> str:
    asked = values.get("measured_line", "")
    found = find_line(pattern, asked) if asked else ""
    if asked and found is None:
        reader.stop("JOB-024", (*at, "measured_line"), place, f"the pattern has no line `{asked}`", lines_hint(pattern))
    return found or ""


def _check_bolt(values: Mapping[str, Any], cloth: Cloth, at: Place, place: str, reader: Reader) -> None:
    pattern = cloth.pattern
    unused = (
        ("stripe_at", not pattern.changes_across), ("print_at", not pattern.changes_along),
        ("repeat_across", not pattern.changes_across), ("repeat_along", not pattern.changes_along),
        ("lines_at", not pattern.changes_along),
    )  # fmt: skip
    for name, nothing in unused:
        if name in values and nothing:
            reader.say(
                "JOB-019",
                Severity.WARN,
                (*at, name),
                place,
                f"`{name}` says nothing of this cloth: its pattern does not change that way",
            )
    for name, label in (("repeat_across", pattern.repeat_across_mm), ("repeat_along", pattern.repeat_along_mm)):
        if name in values and label and abs(values[name].mm / label - 1) > 0.1:
            found = (
                f"`{name}` as measured is {values[name].text}, more than a tenth off the label's {reader.shown(label)}"
            )
            reader.stop(
                "JOB-013", (*at, name), place, found, "measure over several repeats and divide; or mend the label's"
            )


def _flaw(values: Mapping[str, Any], cloth: Cloth, place: str, reader: Reader) -> Flaw | None:
    what, at, where = values.get("what", "flaw"), values["_at"], values["_place"]
    if "outline" in values:
        flaw = _outlined(values["outline"], what, at, where, reader)
    elif "middle" in values or "radius" in values:
        flaw = _round(values, what, at, where, reader)
    else:
        flaw = _rectangle(values, what, at, where, reader)
    if flaw is not None and (flaw.u0_mm >= cloth.usable_width_mm or flaw.u1_mm <= 0 or flaw.v1_mm <= 0):
        reader.say("JOB-019", Severity.WARN, at, where, "the flaw lies outside the usable width")
    return flaw


def _rectangle(values: Mapping[str, Any], what: str, at: Place, where: str, reader: Reader) -> Flaw | None:
    missing = [n for n in ("left", "right", "from", "to") if n not in values]
    if missing:
        if not reader.stopped_under(at):
            found = f"the flaw has no {' and no '.join(f'`{n}`' for n in missing)}"
            reader.stop("JOB-015", at, where, found, "give its four edges, or `middle` and `radius`, or its `outline`")
        return None
    u0, u1, v0, v1 = (values[n].mm for n in ("left", "right", "from", "to"))
    if u1 <= u0 or v1 <= v0:
        reader.stop(
            "JOB-013",
            at,
            where,
            "the flaw has no area: right must be beyond left, to beyond from",
            "measure left and right from the left edge, from and to from the cut end",
        )
        return None
    return Flaw(u0, v0, u1, v1, what)


def _round(values: Mapping[str, Any], what: str, at: Place, where: str, reader: Reader) -> Flaw | None:
    if "middle" in values and "radius" in values:
        u, v = values["middle"]
        return Flaw.disc(u, v, values["radius"].mm, what)
    there, wanted = ("middle", "radius") if "middle" in values else ("radius", "middle")
    reader.stop("JOB-015", at, where, f"the flaw has a `{there}` but no `{wanted}`", "a round flaw takes both")
    return None


def _outlined(
    corners: tuple[tuple[float, float], ...], what: str, at: Place, where: str, reader: Reader
) -> Flaw | None:
    from shapely import Polygon

    shape = Polygon(corners)
    if shape.is_valid and shape.area > 0:
        return Flaw.outlined(corners, what)
    reader.stop(
        "JOB-013",
        (*at, "outline"),
        where,
        "the flaw's `outline` crosses itself or has no area",
        "give its corners in the order in which one goes round it",
    )
    return None


# --- lines of the pattern ---


def find_line(pattern: Pattern, asked: str) -> str | None:
    """The full name of the line a maker asked for: as it stands, or a stripe's bare name for its centre."""
    names = {name.lower(): name for name, _ in pattern.lines}
    word = " ".join(asked.lower().split())
    return names.get(word) or names.get(f"centre of {word}") or names.get(word.replace("center of", "centre of"))


def lines_hint(pattern: Pattern) -> str:
    """Say which lines a pattern has."""
    names = [name for name, _ in pattern.lines]
    if not names:
        return "this cloth has no pattern: leave it out"
    centres = [n for n in names if not n.startswith(("left edge of", "right edge of"))]
    return f"its lines are {', '.join(centres[:12])}" + (
        ", and the left and right edge of each" if len(centres) < len(names) else ""
    )
