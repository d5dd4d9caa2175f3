"""A box cushion's cover made by hand, exactly in the frames that construction promises.

Four boxing pieces, one a side, so that every turn can be tried apart from how covers are made up.
"""

from __future__ import annotations

from dataclasses import replace

from squab.cloth import Cloth, Pattern, Stripe, stripe_axes
from squab.construct.records import Construction, CushionCover, Piece, Seam, SeamEnd, Size, Sizes
from squab.job import Cover, Cushion, Job, Matching
from squab.plane import Line, Outline, Path, offset_outline

SIDES = ("front", "right", "back", "left")
DESIGN_TURNS = {"front": 0, "right": 90, "back": 180, "left": 270}
UPRIGHT = dict.fromkeys(SIDES, 0)


def rectangle(x0: float, y0: float, x1: float, y1: float, sides: tuple[str, ...] = SIDES) -> Outline:
    """A rectangle from its lower left corner, its sides named from the bottom, counter-clockwise."""
    c = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    return Outline(tuple(Line(c[i], c[(i + 1) % 4]) for i in range(4)), sides)


def stripes(*widths: float, colours: str = "", lines: tuple[tuple[str, float], ...] = ()) -> Pattern:
    """A warp stripe: one letter a colour, each its own unless told."""
    letters = colours or "abcdefgh"[: len(widths)]
    layout = tuple(Stripe(w, f"#{ord(c):02x}{ord(c):02x}00", c) for w, c in zip(widths, letters, strict=True))
    return Pattern("warp_stripe", sum(widths), stripes=layout, mirror_axes=stripe_axes(layout), lines=lines)


def printed(across: float, along: float, drop: float = 0.0, **more: object) -> Pattern:
    """A print on its lattice."""
    return replace(Pattern("print", across, along, drop), **more)  # type: ignore[arg-type]


def job_of(pattern: Pattern, *cushions: Cushion, one_way: bool = False, width: float = 1370.0) -> Job:
    """A job in one cloth."""
    return Job("Nether Wickle reading room", cushions, (Cloth("cloth", "The cloth", width, pattern, one_way=one_way),))


def cushion(
    w: float, d: float, h: float, matching: Matching | None = None, *, name: str = "seat", **more: object
) -> Cushion:
    """A box cushion in its seam size."""
    made = Cushion(name, name, rectangle(0, 0, w, d), h, "seam", cover=Cover(matching=matching or Matching()))
    return replace(made, **more)  # type: ignore[arg-type]


def box_cover(
    kind: Cushion, turns: dict[str, int] | None = None, *, bottom_turn: int = 0, proud: float = 0.0, joins: bool = True
) -> CushionCover:
    """The cover of a rectangular cushion with a boxing piece a side, cut at the turns given."""
    turns = turns or UPRIGHT
    outline = kind.outline
    _, _, w, d = outline.bounds()
    h, sa = kind.thickness_mm, kind.cover.allowance_mm
    under = rectangle(-w, 0, 0, d) if kind.turned_over else rectangle(0, -d, w, 0, ("back", "right", "front", "left"))
    pieces = [
        _piece(kind, "top", "top", outline, sa, 0, (0.0, -1.0)),
        _piece(kind, "bottom", "bottom", under, sa, bottom_turn, (0.0, -1.0 if kind.turned_over else 1.0)),
    ]
    seams: list[Seam] = []
    s0 = 0.0
    for side in SIDES:
        ((a, b),) = outline.side_ranges(side)
        s0, s1 = a, b
        pieces.append(_piece(kind, f"boxing.{side}", "boxing", rectangle(s0, 0, s1, h), sa, turns[side], (0.0, -1.0)))
        pid = f"{kind.id}.boxing.{side}"
        path = outline.part(s0, s1)
        fx, fy = (-1, 1) if kind.turned_over else (1, -1)
        beneath = Path(tuple(Line(_scaled(e.start, fx, fy), _scaled(e.end, fx, fy)) for e in path.edges))
        for edge, panel, z in (("top", path, h), ("bottom", beneath, 0.0)):
            seams.append(Seam(
                f"{kind.id}.{edge}.{side}", "panel_boxing", SeamEnd(f"{kind.id}.{edge}", panel),
                SeamEnd(pid, Path((Line((s0, z), (s1, z)),))), side, outline.is_seen(side), edge,  # type: ignore[arg-type]
                cushion_id=kind.id,
            ))  # fmt: skip
    if joins:
        seams += _joins(kind, outline, h)
    size = Size(w, d, h)
    sizes = Sizes(None, size, size, size, "seam", 0.0, 0.0, proud)
    return CushionCover(
        kind.id, sizes, outline, h, outline.length, tuple(pieces), (), tuple(seams), None, None, outline
    )  # fmt: skip


def _scaled(point: tuple[float, float], fx: int, fy: int) -> tuple[float, float]:
    return (fx * point[0], fy * point[1])


def _joins(kind: Cushion, outline: Outline, h: float) -> list[Seam]:
    found = []
    for side, after in zip(SIDES, (*SIDES[1:], SIDES[0]), strict=True):
        end, start = outline.side_ranges(side)[0][1], outline.side_ranges(after)[0][0]
        a = SeamEnd(f"{kind.id}.boxing.{side}", Path((Line((end, 0.0), (end, h)),)))
        b = SeamEnd(f"{kind.id}.boxing.{after}", Path((Line((start, 0.0), (start, h)),)))
        found.append(Seam(f"{kind.id}.join.{side}", "boxing_join", a, b, side, True, cushion_id=kind.id))
    return found


def _piece(
    kind: Cushion, name: str, what: str, seam: Outline, sa: float, turn: int, front: tuple[float, float]
) -> Piece:
    return Piece(
        f"{kind.id}.{name}", kind.id, what, name, "cloth", seam, offset_outline(seam, sa), kind.count,  # type: ignore[arg-type]
        front=front, turn_deg=turn, may_half_turn=True,
    )  # fmt: skip


def construction(*covers: CushionCover) -> Construction:
    """Covers as construction hands them on."""
    return Construction(covers)
