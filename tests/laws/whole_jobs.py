"""Whole jobs as makers type them: strategies that give the text of a job file, all kinds of everything.

The numbers are believable, not tidy: a job may be refused, but only in plain words.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from hypothesis import strategies as st

COLOURS = ["indigo", "linen", "sage", "rust", "ochre", "madder"]
FILLS = ["firm foam", "medium foam", "soft foam", "wrapped polyester", "fibre", "feather"]
WISHES = ["must", "prefer", "ignore"]
MAKINGS = ["fold and split", "two single", "two doubled", "lapped"]
SHAPES = ["rectangle", "rounded", "trapezoid", "L", "T", "one-eared", "disc", "D", "run", "arched run"]
SIDES = {"disc": ["rim"], "D": ["front", "back"], "run": ["front", "right", "back", "left"]}


@dataclass(frozen=True)
class Text:
    """TOML values in the job's unit: lengths are drawn in mm and written as the job would."""

    inch: bool

    def length(self, mm: float) -> str:
        """Write a length: whole mm, or inches to the sixteenth."""
        if not self.inch:
            return f"{mm:.0f}" if mm >= 20 else f"{mm:.1f}"
        whole, part = divmod(max(1, round(mm / 25.4 * 16)), 16)
        return f'"{whole} {part}/16"' if part else f"{whole}"


def _table(pairs: dict[str, str]) -> str:
    return "{ " + ", ".join(f"{k} = {v}" for k, v in pairs.items()) + " }"


def _q(text: str) -> str:
    return f'"{text}"'


def _mm(low: float, high: float) -> st.SearchStrategy[float]:
    return st.integers(round(low), round(high)).map(float)


@st.composite
def cloths(draw: Any, name: str, text: Text) -> str:
    """One [[cloth]] of any kind, with its bolt now and then."""
    width = draw(_mm(600, 1600))
    lines = ["[[cloth]]", f'id = "{name}"', f"usable_width = {text.length(width)}"]
    kind = draw(st.sampled_from(["plain", "plain", "stripe", "even stripe", "weft", "print", "drop", "vinyl", "pile"]))
    repeat_u = repeat_v = 0.0
    if "stripe" in kind or kind == "weft":
        widths = draw(st.lists(_mm(4, 60), min_size=2, max_size=4))
        if kind == "even stripe":
            widths = [widths[0], widths[1], widths[0], widths[1] + 5]
        drawn = [f'"{c} {text.length(w).strip(chr(34))}"' for c, w in zip(COLOURS, widths, strict=False)]
        if kind == "even stripe":
            drawn = [
                f'"{c} {text.length(w).strip(chr(34))}"'
                for c, w in zip(["rust", "sage", "rust", "linen"], widths, strict=True)
            ]
        lines.append(f"stripes = [{', '.join(drawn)}]")
        repeat_u = sum(widths)
        if kind == "weft":
            lines.append('stripes_run = "across"')
    if kind in ("print", "drop"):
        repeat_u, repeat_v = draw(_mm(60, 700)), draw(_mm(60, 700))
        lines += [f"repeat_across = {text.length(repeat_u)}", f"repeat_along = {text.length(repeat_v)}"]
        if kind == "drop":
            lines.append("drop = " + draw(st.sampled_from(['"half"', text.length(repeat_v / 3)])))
        lines += [f"{k} = true" for k in ("mirrored", "half_turn_same") if draw(st.integers(0, 3)) == 0]
    flags = ["one_way", "may_railroad", "frays", "same_both_faces", "open_weave"]
    flags += {"vinyl": ["vinyl"], "pile": ["pile"]}.get(kind, [])
    lines += [f"{flag} = true" for flag in flags if flag == kind or draw(st.integers(0, 5)) == 0]
    if draw(st.integers(0, 4)) == 0:
        lines += [f"shrink_warp = {draw(st.integers(0, 6))}", f"shrink_weft = {draw(st.integers(0, 4))}"]
        lines += ["shrinks_after_cutting = true"] if draw(st.booleans()) else []
    if draw(st.booleans()):
        lines.append(draw(st.sampled_from(["price_per_m = 24.5", "price_per_yd = 31"])))
    if draw(st.integers(0, 2)) == 0:
        lines.append(f"bolt = {draw(_bolts(text, kind, width, repeat_u, repeat_v))}")
    return "\n".join(lines)


@st.composite
def _bolts(draw: Any, text: Text, kind: str, width: float, repeat_u: float, repeat_v: float) -> str:
    length = draw(_mm(300, 12000))
    bolt = {"length": text.length(length)} if draw(st.booleans()) else {"lot": _q("L7")}
    if kind in ("stripe", "even stripe", "print", "drop"):
        bolt["stripe_at"] = text.length(draw(_mm(0, 300)))
    if kind in ("weft", "print", "drop"):
        bolt["print_at"] = text.length(draw(_mm(0, 300)))
    if kind in ("print", "drop") and draw(st.booleans()):
        bolt["repeat_across"] = text.length(repeat_u * draw(st.floats(0.97, 1.03)))
        bolt["repeat_along"] = text.length(repeat_v * draw(st.floats(0.97, 1.03)))
    if draw(st.integers(0, 2)) == 0:
        left, start = draw(_mm(0, width - 100)), draw(_mm(0, 1500))
        flaw = {"left": left, "right": left + draw(_mm(5, 90)), "from": start, "to": start + draw(_mm(5, 90))}
        bolt["flaws"] = "[" + _table({k: text.length(v) for k, v in flaw.items()}) + "]"
    return _table(bolt)


@st.composite
def _shapes(draw: Any, text: Text) -> tuple[list[str], list[str]]:
    """The lines of a shape and the names of its sides (as far as they are sure)."""
    shape, t = draw(st.sampled_from(SHAPES)), text.length
    wide, deep = draw(st.one_of(_mm(250, 900), _mm(180, 2400))), draw(_mm(180, 900))
    four = ["front", "right", "back", "left"]
    if shape in ("rectangle", "rounded"):
        lines = [f"width = {t(wide)}", f"depth = {t(deep)}"]
        if shape == "rounded":
            corners = {c: t(draw(_mm(5, 90))) for c in ("front_left", "front_right", "back_right", "back_left")}
            lines.append("radius = " + draw(st.sampled_from([_table(corners), t(40)])))
        return lines, four
    if shape == "trapezoid":
        lines = ['shape = "trapezoid"', f"front = {t(wide)}", f"back = {t(draw(_mm(150, 1500)))}", f"depth = {t(deep)}"]
        return lines + ([f"offset = {t(draw(_mm(10, 80)))}"] if draw(st.booleans()) else []), four
    if shape == "L":
        out = ['shape = "L"', f"width = {t(wide)}", f"depth = {t(deep)}"]
        out += [
            f"out_width = {t(wide * draw(st.floats(0.2, 0.8)))}",
            f"out_depth = {t(deep * draw(st.floats(0.2, 0.8)))}",
        ]
        corner = draw(st.sampled_from(["front left", "front right", "back right", "back left"]))
        return [*out, f"out_corner = {_q(corner)}"], []
    if shape in ("T", "one-eared"):
        out = [
            f"shape = {_q(shape)}",
            f"width = {t(wide)}",
            f"depth = {t(deep)}",
            f"ear_width = {t(draw(_mm(30, 120)))}",
        ]
        out.append(f"ear_depth = {t(deep * draw(st.floats(0.15, 0.7)))}")
        return out + ([f"hand = {_q(draw(st.sampled_from(['left', 'right'])))}"] if shape == "one-eared" else []), []
    if shape == "disc":
        return ['shape = "disc"', f"diameter = {t(draw(_mm(180, 900)))}"], []
    if shape == "D":
        return ['shape = "D"', f"width = {t(max(wide, 250))}", f"depth = {t(deep)}"], []
    rise = draw(_mm(10, 80)) if shape == "arched run" else 0
    sides = [
        f'{{ side = "front", length = {t(wide)}, turn = 90{f", rise = {t(rise)}" if rise else ""} }}',
        f'{{ side = "right", length = {t(deep)}, turn = 90 }}',
        f'{{ side = "back", length = {t(wide)}, turn = 90, corner = {t(draw(_mm(5, 60)))} }}',
        '{ side = "left" }',
    ]
    return ['shape = "run"', f"run = [{', '.join(sides)}]"], four


@st.composite
def _covers(draw: Any, text: Text, names: list[str], sides: list[str], rows: bool) -> list[str]:
    """Keys of the cover, each present now and then."""
    t = text.length

    def some() -> bool:
        return bool(draw(st.integers(0, 2)) == 0)

    lines = []
    if draw(st.booleans()):
        piping = {"edges": _q(draw(st.sampled_from(["none", "top", "bottom", "both"])))}
        piping["cut"] = _q(draw(st.sampled_from(["across", "along", "bias"])))
        piping |= {"cord": t(draw(_mm(3, 10)))} if some() else {}
        piping |= {"strip": t(draw(_mm(30, 60)))} if some() else {}
        piping |= {"square_ends": draw(st.sampled_from(["true", "false"]))} if some() else {}
        lines.append(f"piping = {_table(piping)}")
    if draw(st.booleans()):
        zip_ = {
            "place": _q(draw(st.sampled_from(["boxing", "boxing", "bottom", "none"]))),
            "making": _q(draw(st.sampled_from(MAKINGS))),
        }
        zip_ |= {"side": _q(draw(st.sampled_from(sides)))} if sides and draw(st.integers(0, 5)) == 0 else {}
        zip_ |= {"return": t(draw(_mm(0, 120)))} if some() else {}
        zip_ |= {"tape": t(draw(_mm(24, 45)))} if some() else {}
        lines.append(f"zip = {_table(zip_)}")
    wishes = {k: _q(draw(st.sampled_from(WISHES))) for k in ("front", "sides", "back", "bottom", "joins") if some()}
    wishes |= {k: "true" for k in ("front_across_only", "back_half_turned") if some()}
    wishes |= {"sides_along": "true"} if draw(st.integers(0, 7)) == 0 else {}
    wishes |= {"row": _q("row")} if rows else {}
    lines += [f"match = {_table(wishes)}"] if wishes else []
    lines += ["joins_at_corners = true"] if some() else []
    lines += [f"panel_seams = {_q(draw(st.sampled_from(['middle width', 'railroad', 'none'])))}"] if some() else []
    lines += [f"allowance = {t(draw(_mm(9, 20)))}"] if some() else []
    lines += [
        f"{k} = {_q(draw(st.sampled_from(names)))}"
        for k in ("panel_cloth", "bottom_cloth", "boxing_cloth", "zip_cloth", "piping_cloth")
        if some()
    ]
    lines += [f"boxing_ease = {t(draw(_mm(2, 15)))}"] if draw(st.integers(0, 9)) == 0 else []
    lines += [f"ties = {draw(st.integers(0, 4))}"] if some() else []
    lines += [f"{k} = true" for k in ("non_slip_base", "handle", "film") if draw(st.integers(0, 5)) == 0]
    lines += [f"mitred = [{_q(draw(st.sampled_from(sides)))}]"] if sides and draw(st.integers(0, 4)) == 0 else []
    return lines


@st.composite
def cushions(draw: Any, name: str, text: Text, names: list[str], rows: bool) -> str:
    """One [[cushion]] of any shape, fill and make of cover."""
    shape, sides = draw(_shapes(text))
    lines = [
        "[[cushion]]",
        f'id = "{name}"',
        *shape,
        f"thickness = {text.length(draw(st.one_of(_mm(45, 150), _mm(45, 150), _mm(25, 60))))}",
    ]
    if draw(st.booleans()):
        size = draw(st.sampled_from(["seat", "fill", "old cover", "finished", "seam"]))
        lines.append(f'size_is = "{size}"')
    if draw(st.booleans()):
        fill = {"kind": _q(draw(st.sampled_from(FILLS)))}
        fill |= {"wrap": text.length(draw(_mm(4, 15)))} if draw(st.booleans()) else {}
        lines.append(f"fill = {_table(fill)}")
    lines += [f"count = {draw(st.integers(2, 4))}"] if draw(st.integers(0, 3)) == 0 else []
    lines += ["turned_over = true"] if draw(st.integers(0, 3)) == 0 else []
    if sides and draw(st.booleans()):
        hidden = draw(st.lists(st.sampled_from(sides), unique=True, max_size=4))
        lines.append(f"hidden = [{', '.join(map(_q, hidden))}]")
    return "\n".join([*lines, *draw(_covers(text, names, sides, rows))])


@st.composite
def whole_jobs(draw: Any) -> str:
    """The text of a whole job file."""
    text = Text(inch=draw(st.booleans()))
    lines = ["[job]", 'name = "Reading room"', f'units = "{"in" if text.inch else "mm"}"']
    lines += [f'words = "{draw(st.sampled_from(["us", "uk"]))}"'] if draw(st.booleans()) else []
    lines += ['marked = "back up"'] if draw(st.integers(0, 3)) == 0 else []
    lines += [f"knife_gap = {text.length(3)}"] if draw(st.integers(0, 3)) == 0 else []
    lines += ["outdoor = true"] if draw(st.integers(0, 5)) == 0 else []
    names = ["first", "second", "third"][: draw(st.integers(1, 3))]
    parts = ["\n".join(lines), *(draw(cloths(n, text)) for n in names)]
    ids = ["one", "two", "three"][: draw(st.integers(1, 3))]
    rows = draw(st.integers(0, 2)) == 0
    parts += [draw(cushions(i, text, names, rows)) for i in ids]
    return "\n\n".join(parts) + "\n"
