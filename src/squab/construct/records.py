"""What construction hands on: pieces, strips, seams, sizes.

Each piece is in its own face-up frame (mm, as one looks at the right side of the cloth):

- top panel: (x, y) of the cushion's seam outline, seen from above;
- boxing and zip panel: (s, z), s the seam length round the top panel's seam outline, counter-
  clockwise from that outline's own start, z up from the bottom seam; s is never reduced, so a
  strip over the start runs past the perimeter;
- bottom panel: (x, -y), rolled under the front edge; a cushion that is turned over has its
  bottom cut like a top, front to front: then its frame is (-x, y) of the cushion, with the
  front at low y;
- piping: (s, w), w across the strip from 0 to its cut width.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from squab.job import Hand
from squab.plane import Outline, Path, Point

PieceKind = Literal["top", "bottom", "boxing", "zip_panel", "tie", "handle", "base"]
SeamKind = Literal["panel_boxing", "panel_zip", "boxing_join", "zip_join", "panel_panel", "zip_centre"]


@dataclass(frozen=True, slots=True)
class Notch:
    """A notch at `at`, a point of the seam line, `outward` the unit direction to the cut edge.

    `strokes` is 1 for a single notch, 2 for a double. `pair` names the notches that meet when
    the seam is sewn: the same name stands on both pieces.
    """

    at: Point
    outward: Point
    strokes: int
    pair: str


@dataclass(frozen=True, slots=True)
class Snip:
    """A cut into the allowance, from the cut edge towards `at` on the seam line, `depth_mm` deep."""

    at: Point
    outward: Point
    depth_mm: float
    why: Literal["outward_corner", "inward_corner", "curve"]


@dataclass(frozen=True)
class Piece:
    """One piece of a cover, cut `count` times for the whole job (all cushions of its kind).

    `id` is unique in the job (`seat.top`, `seat.top.left`); `name` is for sheets. `seam` and
    `cut` are the stitch line and the cut line in the piece's own frame. `front` is the
    direction, in the piece's frame, of the arrow to the front (down on boxing).
    """

    id: str
    cushion_id: str
    kind: PieceKind
    name: str
    cloth_id: str
    seam: Outline
    cut: Outline
    count: int
    hand: Hand = ""
    front: Point = (0.0, -1.0)
    notches: tuple[Notch, ...] = ()
    snips: tuple[Snip, ...] = ()
    turn_deg: int = 0
    """The turn at which construction wants it cut: 0, or 90/270 for turned sides and railroading."""
    may_half_turn: bool = False
    joins: tuple[str, ...] = ()
    """Names of the pieces it is sewn to, for labels."""
    note: str = ""


@dataclass(frozen=True)
class Strip:
    """A strip that may be cut in several parts: a boxing band, or the piping.

    Local frame (s, z) as for boxing. The finished strip covers s from `s0_mm` to `s1_mm`
    (piping: 0 to the total needed); a part covering [a, b] is cut from a - end to b + end,
    with `end_mm` the allowance at each end, so it takes b - a + 2 end of length. `windows` are
    the stretches of s in which a join may stand (None: anywhere). `z0_mm`, `z1_mm` are the cut
    edges across the strip. `count` strips are needed in the whole job.
    """

    id: str
    cushion_id: str
    kind: Literal["boxing", "piping"]
    name: str
    cloth_id: str
    s0_mm: float
    s1_mm: float
    z0_mm: float
    z1_mm: float
    end_mm: float
    count: int
    least_part_mm: float
    windows: tuple[tuple[float, float], ...] | None = None
    most_parts: int = 12
    seam_z: tuple[float, float] = (0.0, 0.0)
    """The two stitch lines across the strip, z."""
    turn_deg: int = 0
    """0 across the bolt, 90 along it, 45 bias."""
    notches: tuple[Notch, ...] = ()
    snips: tuple[Snip, ...] = ()
    joins: tuple[str, ...] = ()
    note: str = ""

    @property
    def length_mm(self) -> float:
        """Seam length of the whole strip."""
        return self.s1_mm - self.s0_mm

    @property
    def cut_width_mm(self) -> float:
        """Cut width across the strip."""
        return self.z1_mm - self.z0_mm


@dataclass(frozen=True)
class SeamEnd:
    """One side of a seam: a stretch of a piece's (or strip's) seam line, in its own frame."""

    part_id: str
    path: Path


@dataclass(frozen=True)
class Seam:
    """Two stretches that are sewn together, travelled the same way, of equal length up to `ease_mm`.

    Where they are matched, the pattern of `b` (boxing) is compared with that of `a` (panel).
    `side` is the side of the cushion, `edge` top or bottom.
    """

    id: str
    kind: SeamKind
    a: SeamEnd
    b: SeamEnd
    side: str
    seen: bool
    edge: Literal["top", "bottom", ""] = ""
    ease_mm: float = 0.0
    cushion_id: str = ""
    piped: bool = False


@dataclass(frozen=True, slots=True)
class Size:
    """Width (x), depth (y) and thickness of a cushion by one of the five measures, mm."""

    width_mm: float
    depth_mm: float
    thickness_mm: float


@dataclass(frozen=True)
class Sizes:
    """The sizes of one cushion side by side. `seam` rules; `given` names what the maker gave."""

    seat: Size | None
    fill: Size
    seam: Size
    finished: Size
    given: str
    fit_mm: float
    fit_thickness_mm: float
    stands_proud_mm: float
    """How far the piping stands out beyond the seam, d + 2t; 0 without piping."""


@dataclass(frozen=True, slots=True)
class ZipPanelPlan:
    """How the zip panel is made.

    `panel_mm` is its seam length, `zip_mm` the zip to buy, `strip_count` strips per panel each
    cut `strip_cut_mm` wide; made up it measures `made_up_mm` across. `return_mm` is how far it
    goes round each back corner.
    """

    making: str
    panel_mm: float
    zip_mm: float
    sliders: int
    strip_count: int
    strip_cut_mm: float
    made_up_mm: float
    stitched_from_fold_mm: float
    return_mm: float
    place: Literal["boxing", "bottom"] = "boxing"


@dataclass(frozen=True, slots=True)
class PipingPlan:
    """How the piping is made: cut width, flange, and the rings (one a piped edge).

    `inside_edge_mm` is how far the strip's raw edge lies inside the panel's raw edge (nought
    where flange and allowance agree; negative where it stands out).
    """

    strip_cut_mm: float
    wrap_mm: float
    flange_mm: float
    inside_edge_mm: float
    ring_mm: float
    rings: int
    cut: Literal["across", "along", "bias"]


@dataclass(frozen=True)
class CushionCover:
    """The whole cover of one kind of cushion."""

    cushion_id: str
    sizes: Sizes
    seam_outline: Outline
    thickness_mm: float
    """Seam thickness: finished boxing width."""
    ring_mm: float
    pieces: tuple[Piece, ...]
    strips: tuple[Strip, ...]
    seams: tuple[Seam, ...]
    zip_panel: ZipPanelPlan | None
    piping: PipingPlan | None
    fill_outline: Outline
    panel_seam_at_mm: float | None = None
    """Distance of the panel seams from the centre line, where the panel is wider than the cloth."""


@dataclass(frozen=True)
class Construction:
    """Every cover of a job."""

    covers: tuple[CushionCover, ...]

    @property
    def pieces(self) -> tuple[Piece, ...]:
        """Every piece of the job."""
        return tuple(p for c in self.covers for p in c.pieces)

    @property
    def strips(self) -> tuple[Strip, ...]:
        """Every strip of the job."""
        return tuple(s for c in self.covers for s in c.strips)

    @property
    def seams(self) -> tuple[Seam, ...]:
        """Every seam of the job."""
        return tuple(s for c in self.covers for s in c.seams)
