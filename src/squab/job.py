"""The job as the maker asks for it: cushions, cloths, makes of cover, wishes and prices.

These are the values that a job file or a screen is read into. They hold no arithmetic; every
length is in millimetres. `typed` keeps what the maker wrote, so that it can be shown back.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Literal, get_args

from squab.cloth import Cloth
from squab.plane import Outline
from squab.prices import PriceList
from squab.units import METRIC, Style

SizeIs = Literal["seat", "fill", "old_cover", "finished", "seam"]
"""What the given numbers measure: the hole, the bare fill, an old cover, the finished cover over
its piping, or stitch line to stitch line."""

FillKind = Literal["firm_foam", "medium_foam", "soft_foam", "wrapped_polyester", "fibre", "feather"]
ZipMaking = Literal["fold_and_split", "two_single", "two_doubled", "lapped"]
ZipPlace = Literal["boxing", "bottom", "none"]
PipedEdges = Literal["none", "top", "bottom", "both"]
Wish = Literal["must", "prefer", "ignore"]
Hand = Literal["", "left", "right"]
Aim = Literal["large remnant", "straight cuts", "cushions together"]
"""What a lay is to be good for once it is as short as can be."""
AIMS: tuple[Aim, ...] = get_args(Aim)


@dataclass(frozen=True, slots=True)
class Fill:
    """What goes inside. `wrap_mm` is the thickness of the wrap on each face; 0 for bare.

    `bare_thickness_mm` is the uncompressed thickness of the bare block; None where the
    thickness given for the cushion is that already.
    """

    kind: FillKind = "firm_foam"
    wrap_mm: float = 0.0
    bare_thickness_mm: float | None = None
    density_kg_m3: float = 35.0
    quick_drying: bool = False
    keep_dry: bool = False


@dataclass(frozen=True, slots=True)
class Piping:
    """Piping: which edges, how cut, which cord. `strip_mm` is a house strip width, None to work it out."""

    edges: PipedEdges = "both"
    cut: Literal["across", "along", "bias"] = "across"
    cord_mm: float = 4.0
    strip_mm: float | None = None
    square_ends: bool = True
    least_part_mm: float = 400.0
    spare_mm: float = 50.0


@dataclass(frozen=True, slots=True)
class Zip:
    """The zip. `return_mm` is how far its panel goes round each back corner; None lets the program choose."""

    place: ZipPlace = "boxing"
    side: str = "back"
    making: ZipMaking = "fold_and_split"
    tape_mm: float = 32.0
    return_mm: float | None = None
    longer_than_panel_mm: float = 75.0
    sliders: int | None = None
    trim_mm: float = 0.0
    """Extra cut width where the made-up panel is trimmed true."""


@dataclass(frozen=True, slots=True)
class Notching:
    """Where notches go and how deep they are."""

    straight_every_mm: float = 400.0
    curve_every_mm: float = 90.0
    depth_mm: float = 5.0
    way: Literal["inward", "outward", "chalk"] = "inward"


@dataclass(frozen=True, slots=True)
class Matching:
    """The maker's wishes about the pattern.

    `pin_across` and `pin_along` name a line of the pattern to stand on the cushion's centre
    line (`motif` for the centre of a print); None leaves that direction free, to save cloth.
    `sides_along` turns the side strips along the bolt so that they meet the top.
    `back_half_turned` lets the back strip be cut half-turned to meet at the back.
    """

    front: Wish = "must"
    sides: Wish = "prefer"
    back: Wish = "prefer"
    bottom: Wish = "prefer"
    joins: Wish = "must"
    front_across_only: bool = False
    sides_along: bool = False
    back_half_turned: bool = False
    pin_across: str | None = None
    pin_along: str | None = None
    row: str | None = None
    """Cushions with the same row name stand side by side; the pattern flows on across the gaps."""


@dataclass(frozen=True)
class Cover:
    """A make of cover: the workroom's numbers for one kind of cushion, all of them settings."""

    allowance_mm: float = 12.0
    piping: Piping = field(default_factory=Piping)
    zip: Zip = field(default_factory=Zip)
    notching: Notching = field(default_factory=Notching)
    matching: Matching = field(default_factory=Matching)
    fit_mm: float | None = None
    """How much smaller than the fill the seam size is, overall, each way; None: by the fill."""
    fit_thickness_mm: float | None = None
    boxing_ease_mm: float = 0.0
    """How much shorter than the panel's seam the boxing is made, 0 to 6 mm."""
    boxing_spare_mm: float = 65.0
    """Left at the last join and trimmed when it meets; only on cloth that need not match there."""
    join_clear_of_front_mm: float = 76.0
    """No boxing join nearer than this to a front corner (one exactly at a corner is allowed)."""
    least_boxing_part_mm: float = 150.0
    joins_at_corners: bool = False
    panel_seams: Literal["middle_width", "railroad", "none"] = "middle_width"
    overlock: bool = True
    panel_cloth: str = ""
    bottom_cloth: str = ""
    boxing_cloth: str = ""
    zip_cloth: str = ""
    piping_cloth: str = ""
    """Cloth ids; an empty id means the panel's cloth (for the panel, the first of the job)."""
    ties: int = 0
    non_slip_base: bool = False
    handle: bool = False
    film: bool = False


@dataclass(frozen=True)
class Cushion:
    """One kind of cushion, made `count` times.

    `outline` is the plan as given, in the size that `size_is` names; `thickness_mm` likewise
    (for `seat` it is the thickness of the bare fill). `clearance_mm` is what is taken off each named side of a
    seat. `mitred` names sides that meet a neighbour at a mitre (bays, corners).
    """

    id: str
    name: str
    outline: Outline
    thickness_mm: float
    size_is: SizeIs = "fill"
    thickness_is: Literal["fill", "finished", "seam"] = "fill"
    count: int = 1
    place: str = ""
    shape: str = "rectangle"
    hand: Hand = ""
    turned_over: bool = False
    fill: Fill = field(default_factory=Fill)
    clearance_mm: Mapping[str, float] = field(default_factory=dict)
    cover: Cover = field(default_factory=Cover)
    mitred: tuple[str, ...] = ()
    typed: tuple[tuple[str, str], ...] = ()
    line: int | None = None
    """Line of the job file on which the cushion begins."""
    sold_as: str = ""
    """The name it is sold by, where part of its kind is cut from a remnant and named for that; empty: its own."""


@dataclass(frozen=True, slots=True)
class Customer:
    """Who the job is for."""

    name: str = ""
    address: str = ""
    contact: str = ""


@dataclass(frozen=True, slots=True)
class FoamSheet:
    """A sheet of foam as it is sold."""

    kind: FillKind = "firm_foam"
    thickness_mm: float = 0.0
    width_mm: float = 0.0
    length_mm: float = 0.0
    price: Decimal | None = None
    """Of one sheet; None: its volume at the price list's."""


@dataclass(frozen=True)
class Job:
    """A whole job."""

    name: str
    cushions: tuple[Cushion, ...]
    cloths: tuple[Cloth, ...]
    prices: PriceList = field(default_factory=PriceList)
    customer: Customer = field(default_factory=Customer)
    reference: str = ""
    workroom: str = ""
    dated: date | None = None
    style: Style = METRIC
    words: Literal["us", "uk"] = "uk"
    paper: Literal["a4", "letter"] = "a4"
    marked: Literal["face_up", "back_up"] = "face_up"
    knife_gap_mm: float = 0.0
    validity_days: int = 30
    lead_time_weeks: int = 4
    outdoor: bool = False
    notes: str = ""
    then: tuple[Aim, ...] = ()
    """Second aims of the lays, in the maker's order: see `squab.lay.aims`."""
    then_may_add_mm: float = 0.0
    """How much cloth the second aims may cost."""
    foam_sheets: tuple[FoamSheet, ...] = ()
    foam_gap_mm: float = 0.0
    """Lost to the saw between blocks cut from one sheet."""

    def cloth(self, cloth_id: str) -> Cloth:
        """The cloth of that id; an empty id gives the first.

        Raises
        ------
        KeyError
            If the job has no such cloth.
        """
        for c in self.cloths:
            if c.id == cloth_id or not cloth_id:
                return c
        raise KeyError(cloth_id)
