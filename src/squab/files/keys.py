# ruff: noqa: E501  one key, one line: these are tables to be read down
"""Every key of a job file: what it takes, what it means, what it is when left out.

This is the one description. The reader (`squab.files.reading`), the JSON Schema
(`squab.files.schema`) and the reference page (`squab.files.reference`) are all made from it.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property
from typing import Literal

from squab.prices import Factors, Minutes, PriceList

Kind = Literal[
    "text", "yes_no", "choice", "length", "offset", "number", "whole", "money", "date", "colour",
    "names", "lengths", "drop", "table", "tables", "stripes", "lines", "point", "points", "amounts",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Key:
    """One key.

    `least` and `most` are in millimetres for lengths. `default` is for reading by people; the
    values themselves stand in the records of `squab.job`. `field` is the name of the record's
    field where it is not the key's own. `short` names the key of `table` that a bare value
    stands for, so that `piping = "both"` means `piping = { edges = "both" }`. `alone` is the
    limit on how many entries a list may have.
    """

    name: str
    kind: Kind
    doc: str
    default: str = ""
    least: float | None = None
    most: float | None = None
    choices: tuple[str, ...] = ()
    table: Table | None = None
    short: str = ""
    field: str = ""
    required: bool = False


@dataclass(frozen=True)
class Table:
    """A table of keys. `open_kind` lets the maker choose the keys' names (sides, corners, lines of the pattern)."""

    name: str
    doc: str
    keys: tuple[Key, ...] = ()
    open_kind: Kind | None = None
    least: float | None = None
    most: float | None = None

    def key(self, name: str) -> Key | None:
        """The key of that name, or None."""
        return self._by_name.get(name)

    @cached_property
    def _by_name(self) -> dict[str, Key]:
        return {k.name: k for k in self.keys}


M = 1000.0
LARGEST_MM = 20 * M
"""No side of a loose cushion is longer: it could be neither cut nor carried in one piece."""

SIZE_IS = ("seat", "fill", "old cover", "finished", "seam")
SHAPES = ("rectangle", "trapezoid", "L", "T", "one-eared", "disc", "D", "run")
WISHES = ("must", "prefer", "ignore")

CUSTOMER = Table(
    "customer",
    "Who the job is for. A bare text is the name.",
    (
        Key("name", "text", "Name."),
        Key("address", "text", "Address."),
        Key("contact", "text", "Telephone or mail."),
    ),
)

JOB = Table(
    "job",
    "The job as a whole.",
    (
        Key("name", "text", "What the job is called on every sheet.", "the file's name"),
        Key("units", "choice", "The unit of every length that is written without one.", "mm", choices=("mm", "cm", "m", "in")),
        Key("customer", "table", CUSTOMER.doc, table=CUSTOMER, short="name"),
        Key("reference", "text", "The workroom's own number for the job."),
        Key("workroom", "text", "Name of the workroom, for the head of the sheets."),
        Key("date", "date", "Date of the quote.", field="dated"),
        Key("print_in", "choice", "Sheets in inches or in millimetres.", "inches where units is in, else mm", choices=("in", "mm")),
        Key("parts_of_inch", "whole", "Inches are printed to this part: 8, 16 or 32.", "16", 8, 32),
        Key("words", "choice", "Words of the sheets: welt and boxing (us), or piping and border (uk).", "us where printed in inches, else uk", choices=("us", "uk")),
        Key("paper", "choice", "Paper for sheets and patterns.", "letter with us words, else a4", choices=("a4", "letter")),
        Key("marked", "choice", "Whether the cloth is marked on its face or on its back.", "face up", choices=("face up", "back up")),
        Key("knife_gap", "length", "Kept free between pieces: 0 for shears, about 3 mm for a hot knife.", "0", 0, 30, field="knife_gap_mm"),
        Key("then", "names", "What the lays are to be good for once they are as short as can be, in order: `large remnant`, `straight cuts`, `cushions together`.", "nothing more"),
        Key("then_may_add", "length", "How much longer that may make a lay.", "0", 0, M, field="then_may_add_mm"),
        Key("size_is", "choice", "What the cushions' numbers measure, where a cushion does not say.", "asked for, else fill", choices=SIZE_IS),
        Key("foam_gap", "length", "Lost to the saw between blocks cut from one sheet of foam.", "0", 0, 50, field="foam_gap_mm"),
        Key("outdoor", "yes_no", "Used outdoors.", "false"),
        Key("quote_valid_days", "whole", "How long the quote holds, days.", "30", 1, 365, field="validity_days"),
        Key("lead_time_weeks", "whole", "From order to delivery, weeks.", "4", 0, 104),
        Key("notes", "text", "Anything else worth printing."),
    ),
)  # fmt: skip

FLAW = Table(
    "flaws",
    "A place on the bolt to keep clear of, measured on the face: by its four edges, by its middle and radius, or by its corners.",
    (
        Key("left", "length", "Its left edge, from the left edge of the usable width.", least=0, most=10 * M),
        Key("right", "length", "Its right edge, from the same.", least=0, most=10 * M),
        Key("from", "length", "Where it begins, from the cut end.", least=0, most=1000 * M),
        Key("to", "length", "Where it ends, from the cut end.", least=0, most=1000 * M),
        Key("middle", "point", "Where a round one has its middle: `[from the left edge, from the cut end]`."),
        Key("radius", "length", "How far a round one reaches from its middle.", least=1, most=5 * M),
        Key("outline", "points", "The corners of one of any other shape, in order, each `[from the left edge, from the cut end]`."),
        Key("what", "text", "What it is.", "flaw"),
    ),
)  # fmt: skip

BOLT = Table(
    "bolt",
    "The bolt on the table, once it is there. Leave out what has not been measured.",
    (
        Key("length", "length", "How much cloth there is.", "bought to measure", 50, 1000 * M, field="length_mm"),
        Key("lot", "text", "Dye lot."),
        Key("stripe_at", "length", "From the left usable edge to the pattern's line named in `measured_line`.", "not measured", 0, 10 * M),
        Key("print_at", "length", "From the cut end to the same line, or the centre of the motif.", "not measured", 0, 10 * M),
        Key("measured_line", "text", "The line that was measured to.", "left edge of the first stripe; centre of the motif"),
        Key("repeat_across", "length", "The repeat across as measured.", "the label's", 2, 5 * M, field="repeat_across_mm"),
        Key("repeat_along", "length", "The repeat along as measured.", "the label's", 2, 5 * M, field="repeat_along_mm"),
        Key("lines_at", "lengths", "Where the repeat creeps along the bolt: from the cut end to that line at one repeat after another, in place of `print_at` and `repeat_along`.", "an even repeat", 0, 1000 * M),
        Key("bow", "length", "How far the weft bows over the usable width, at the worst place of the roll.", "0", 0, M, field="bow_mm"),
        Key("skew", "length", "How far the weft runs out of square over the usable width, at the worst place.", "0", 0, M, field="skew_mm"),
        Key("flaws", "tables", FLAW.doc, table=FLAW),
    ),
)  # fmt: skip

REMNANT = Table(
    "remnants",
    "A length of the cloth in hand from before. Whole cushions are cut from it where that saves cloth to be bought; of the bolt's own lot also single parts, such as piping. No cushion is cut from two lots.",
    (
        Key("length", "length", "How long it is, squared off or not.", required=True, least=50, most=1000 * M, field="length_mm"),
        Key("width", "length", "Its usable width.", "the cloth's", 50, 5 * M, field="width_mm"),
        *(k for k in BOLT.keys if k.name != "length"),
    ),
)  # fmt: skip

MOTIF = Table(
    "motif",
    "A plain shape that stands for the print on drawings.",
    (
        Key("across", "length", "How wide.", "half the repeat", 1, 5 * M),
        Key("along", "length", "How long.", "half the repeat", 1, 5 * M),
        Key("colour", "colour", "Its colour.", "madder"),
        Key("shape", "choice", "Its shape.", "oval", choices=("oval", "lozenge", "leaf")),
    ),
)

CLOTH = Table(
    "cloth",
    "A cloth. The first of the job is used wherever a cushion names none.",
    (
        Key("id", "text", "Short name by which cushions call it.", required=True),
        Key("name", "text", "Name for the sheets.", "its id"),
        Key("usable_width", "length", "Width that can be cut, inside the pin marks.", required=True, least=100, most=5 * M, field="usable_width_mm"),
        Key("colour", "colour", "Its ground.", "linen"),
        Key("stripes", "stripes", 'The stripes of one repeat in order, left to right (or from the cut end up where they run across): `"indigo 40"`, or tables with `colour`, `width` and `name`.'),
        Key("stripes_run", "choice", "Stripes run along the bolt (warp stripe) or across it (weft stripe).", "along", choices=("along", "across")),
        Key("even", "yes_no", "Whether the stripe reads the same both ways. It is worked out; say it to have it checked.", "worked out"),
        Key("repeat", "length", "The stripe's repeat, as on the label. The stripes must add up to it.", "their sum", 2, 5 * M),
        Key("repeat_across", "length", "A print's repeat across the bolt.", "", 2, 5 * M),
        Key("repeat_along", "length", "A print's repeat along the bolt.", "", 2, 5 * M),
        Key("repeat_within", "number", "How far any repeat along the bolt may be off the label's, in percent: an order allows for it until the bolt is measured.", "0", 0, 5, field="repeat_within_pct"),
        Key("drop", "drop", 'How much higher the print stands one repeat across: `"half"`, or a length.', "0, a straight repeat", 0, 5 * M),
        Key("motif", "table", MOTIF.doc, table=MOTIF, short="shape"),
        Key("mirrored", "yes_no", "The print is its own mirror image about the line through its motif's centre.", "false"),
        Key("half_turn_same", "yes_no", "The print looks the same after a half turn.", "false"),
        Key("lines", "lines", "Lines of the pattern by name, to set cushions on: each with its distance from the left edge of the first stripe or the centre of the motif.", table=Table("lines", "Distances by name.", open_kind="offset", least=-5 * M, most=5 * M)),
        Key("thickness", "length", "Thickness.", "0.8 mm", 0.05, 15, field="thickness_mm"),
        Key("one_way", "yes_no", "Has an up and a down (nap, or print): no piece is turned round.", "false, or true for pile"),
        Key("pile", "yes_no", "Velvet and the like: its smooth stroke runs to the front and down.", "false"),
        Key("vinyl", "yes_no", "Vinyl or coated cloth.", "false"),
        Key("frays", "yes_no", "Frays when cut.", "false"),
        Key("open_weave", "yes_no", "Open outdoor cloth that drains and breathes.", "false"),
        Key("same_both_faces", "yes_no", "The back can be used as the face.", "false"),
        Key("may_railroad", "yes_no", "Pieces may be turned a quarter.", "false"),
        Key("cut_double", "yes_no", "Folded along its length, face to face, and cut through both layers, as far as pieces make mirrored pairs. For plain cloth.", "false"),
        Key("shrink_warp", "number", "Shrinkage along the bolt, percent.", "0", -10, 30, field="shrink_warp_pct"),
        Key("shrink_weft", "number", "Shrinkage across the bolt, percent.", "0", -10, 30, field="shrink_weft_pct"),
        Key("shrinks_after_cutting", "yes_no", "The covers will be washed, and the cloth is not washed before cutting.", "false"),
        Key("mass", "number", "Grams in a square metre.", "not known", 10, 5000, field="mass_g_m2"),
        Key("mass_oz_yd2", "number", "Or ounces in a square yard.", "not known", 0.3, 150),
        Key("price_per_m", "money", "What the workroom pays for a metre.", "", 0, 10000),
        Key("price_per_yd", "money", "What the workroom pays for a yard.", "", 0, 10000),
        Key("sold_by", "length", "Lengths are sold in steps of this.", "0.1 m, or 1/8 yd where units is in", 1, 100 * M, field="sold_by_mm"),
        Key("square_off", "length", "Lost at each end of a bought length when it is squared.", "50 mm, or 2 in", 0, M, field="square_off_mm"),
        Key("care", "text", "Care, for the quote."),
        Key("bolt", "table", BOLT.doc, table=BOLT),
        Key("remnants", "tables", REMNANT.doc, table=REMNANT),
    ),
)  # fmt: skip

PIPING = Table(
    "piping",
    "Piping. A bare text is `edges`.",
    (
        Key("edges", "choice", "Which edges are piped.", "both", choices=("none", "top", "bottom", "both")),
        Key("cut", "choice", "How its strips lie on the cloth.", "across", choices=("across", "along", "bias")),
        Key("cord", "length", "Thickness of the cord.", "4 mm, or 5/32 in", 1, 40, field="cord_mm"),
        Key("strip", "length", "The workroom's habitual strip width.", "worked out", 10, 200, field="strip_mm"),
        Key("square_ends", "yes_no", "Strips are cut off square and lose their own width at each slanting join.", "true"),
        Key("least_part", "length", "No strip shorter than this is joined in.", "400 mm", 50, 5 * M, field="least_part_mm"),
        Key("spare", "length", "Spare for the overlap where the ends meet.", "50 mm, or 2 in", 0, M, field="spare_mm"),
    ),
)  # fmt: skip

ZIP = Table(
    "zip",
    "The zip. A bare text is `place`.",
    (
        Key("place", "choice", "Where it is.", "boxing", choices=("boxing", "bottom", "none")),
        Key("side", "text", "The side it is on.", "back"),
        Key("making", "choice", "How its panel is made.", "fold and split", choices=("fold and split", "two single", "two doubled", "lapped")),
        Key("tape", "length", "Width of the zip's tape.", "32 mm, or 1 1/4 in", 10, 100, field="tape_mm"),
        Key("return", "length", "How far the panel goes round each back corner.", "worked out", 0, M, field="return_mm"),
        Key("longer_by", "length", "How much longer the zip is than its panel.", "75 mm, or 3 in", 0, 500, field="longer_than_panel_mm"),
        Key("sliders", "whole", "How many sliders.", "one, or two on a long zip", 1, 4),
        Key("trim", "length", "Extra cut width where the made-up panel is trimmed true.", "0", 0, 50, field="trim_mm"),
    ),
)  # fmt: skip

NOTCHES = Table(
    "notches",
    "Notches.",
    (
        Key("straight_every", "length", "Apart on straights, at most.", "400 mm, or 16 in", 30, 1000, field="straight_every_mm"),
        Key("curve_every", "length", "Apart on curves, at most.", "90 mm, or 3 1/2 in", 10, 500, field="curve_every_mm"),
        Key("depth", "length", "How deep.", "5 mm, or 3/16 in", 1, 25, field="depth_mm"),
        Key("way", "choice", "Cut inward, outward, or chalked.", "inward", choices=("inward", "outward", "chalk")),
    ),
)  # fmt: skip

MATCH = Table(
    "match",
    "Wishes about the pattern: must meet, prefer that it meets, or ignore.",
    (
        Key("front", "choice", "Boxing to panel at the front.", "must", choices=WISHES),
        Key("sides", "choice", "At the sides that are seen.", "prefer", choices=WISHES),
        Key("back", "choice", "At the back.", "prefer", choices=WISHES),
        Key("bottom", "choice", "Boxing to the bottom panel.", "prefer", choices=WISHES),
        Key("joins", "choice", "Strip to strip at joins.", "must", choices=WISHES),
        Key("front_across_only", "yes_no", "The front need meet across only, not up and down.", "false"),
        Key("sides_along", "yes_no", "Turn the side strips along the bolt so that they meet the top.", "false"),
        Key("back_half_turned", "yes_no", "The back strip may be cut half-turned to meet the top.", "false"),
        Key("pin_across", "text", "Line of the pattern to stand on the cushion's centre line: a stripe's name, `motif`, or a name from `lines`.", "free, to save cloth"),
        Key("pin_along", "text", "Line of the pattern to stand half-way from front to back.", "free, to save cloth"),
        Key("row", "text", "Cushions with the same row name stand side by side, and the pattern flows on across them."),
    ),
)  # fmt: skip

COVER = Table(
    "cover",
    "The make of cover: defaults for every cushion. A cushion may give any of these keys for itself.",
    (
        Key("allowance", "length", "Seam allowance.", "12 mm, or 1/2 in", 3, 50, field="allowance_mm"),
        Key("piping", "table", PIPING.doc, table=PIPING, short="edges"),
        Key("zip", "table", ZIP.doc, table=ZIP, short="place"),
        Key("notches", "table", NOTCHES.doc, table=NOTCHES, field="notching"),
        Key("match", "table", MATCH.doc, table=MATCH, field="matching"),
        Key("fit", "length", "How much smaller than the fill the seam size is, over all.", "by the fill", 0, 100, field="fit_mm"),
        Key("fit_thickness", "length", "The same in thickness.", "by the fill", 0, 50, field="fit_thickness_mm"),
        Key("boxing_ease", "length", "How much shorter than the panel's seam the boxing is made.", "0", 0, 6.35, field="boxing_ease_mm"),
        Key("boxing_spare", "length", "Left at the last boxing join and trimmed when it meets.", "65 mm, or 2 1/2 in", 0, 300, field="boxing_spare_mm"),
        Key("join_clear_of_front", "length", "No boxing join nearer than this to a front corner.", "76 mm, or 3 in", 0, M, field="join_clear_of_front_mm"),
        Key("least_boxing_part", "length", "No boxing strip shorter than this is joined in.", "150 mm, or 6 in", 20, 2 * M, field="least_boxing_part_mm"),
        Key("joins_at_corners", "yes_no", "Boxing is joined at the corners.", "false"),
        Key("panel_seams", "choice", "A panel wider than the cloth: a middle width with two equal sides, turned along the bolt, or not allowed.", "middle width", choices=("middle width", "railroad", "none")),
        Key("overlock", "yes_no", "Raw edges are overlocked.", "true"),
        Key("panel_cloth", "text", "Cloth of the top panel.", "the job's first cloth"),
        Key("bottom_cloth", "text", "Cloth of the bottom panel.", "the panel's"),
        Key("boxing_cloth", "text", "Cloth of the boxing.", "the panel's"),
        Key("zip_cloth", "text", "Cloth of the zip panel.", "the panel's"),
        Key("piping_cloth", "text", "Cloth of the piping.", "the panel's"),
        Key("ties", "whole", "How many ties.", "0", 0, 12),
        Key("non_slip_base", "yes_no", "Bottom of non-slip cloth.", "false"),
        Key("handle", "yes_no", "A handle on the back.", "false"),
        Key("film", "yes_no", "Film round the fill.", "false"),
    ),
)  # fmt: skip

FILL = Table(
    "fill",
    "What goes inside. A bare text is `kind`.",
    (
        Key("kind", "choice", "Kind of fill.", "firm foam", choices=("firm foam", "medium foam", "soft foam", "wrapped polyester", "fibre", "feather")),
        Key("wrap", "length", "Thickness of the wrap on each face.", "0, bare", 0, 100, field="wrap_mm"),
        Key("bare_thickness", "length", "Thickness of the bare block, where the cushion's thickness is not that already.", "the cushion's", 3, M, field="bare_thickness_mm"),
        Key("density", "number", "Kilograms in a cubic metre; a pound in a cubic foot is 16 of them.", "35", 5, 200, field="density_kg_m3"),
        Key("density_lb_ft3", "number", "Or pounds in a cubic foot.", "", 0.3, 12.5),
        Key("quick_drying", "yes_no", "Quick-drying open foam.", "false"),
        Key("keep_dry", "yes_no", "Must stay dry.", "false"),
    ),
)  # fmt: skip

CORNER_RADII = Table(
    "radius",
    "A radius for each corner; corners left out stay square.",
    (
        Key("front_left", "length", "Front left.", "0", 0, 10 * M),
        Key("front_right", "length", "Front right.", "0", 0, 10 * M),
        Key("back_right", "length", "Back right.", "0", 0, 10 * M),
        Key("back_left", "length", "Back left.", "0", 0, 10 * M),
        Key("all", "length", "Every corner not named. A bare length is this.", "0", 0, 10 * M),
    ),
)

CLEARANCE = Table(
    "clearance",
    "What is taken off each side of a seat. A bare length is `all`: the left and the right.",
    (Key("all", "length", "Left and right.", "6 mm, or 1/4 in", 0, 100),),
    open_kind="length",
    least=0,
    most=100,
)

RUN = Table(
    "run",
    "One side of a run, counter-clockwise from the front-left corner, the first setting off to the right.",
    (
        Key("side", "text", "Name of the side.", required=True),
        Key("length", "length", "Its length; for an arc, straight between its ends. The last side may leave it out and goes back to the start.", "", 1, LARGEST_MM),
        Key("turn", "number", "Degrees turned to the left at its end; negative to the right.", "0", -179.9, 179.9),
        Key("to", "point", "Or the point where it ends: `[x, y]`, x to the right of the start and y behind it."),
        Key("rise", "offset", "An arc that stands this far out over the straight line; negative is hollow.", "0, straight", -LARGEST_MM, LARGEST_MM),
        Key("radius", "offset", "Or the arc's radius; negative is hollow.", "", -1000 * M, 1000 * M),
        Key("corner", "length", "Radius of the corner at its end.", "0", 0, 10 * M),
    ),
)  # fmt: skip

CUSHION = Table(
    "cushion",
    "A kind of cushion. It may also give any key of `[cover]` for itself.",
    (
        Key("id", "text", "Short name, for labels.", required=True),
        Key("name", "text", "Name for the sheets.", "its id"),
        Key("count", "whole", "How many.", "1", 1, 10000),
        Key("place", "text", "Where it goes."),
        Key("shape", "choice", "Its plan.", "rectangle", choices=SHAPES),
        Key("size_is", "choice", "What its numbers measure: the seat it goes in, the bare fill, an old cover, the finished cover over its piping, or stitch line to stitch line.", "asked for, else fill", choices=SIZE_IS),
        Key("thickness_is", "choice", "What its thickness measures.", "fill where size_is is seat or fill, seam where it is seam, else finished", choices=("fill", "finished", "seam")),
        Key("width", "length", "Left to right: rectangle, L, D over all; T and one-eared, the body alone.", "", 40, LARGEST_MM),
        Key("depth", "length", "Front to back, over all.", "", 40, LARGEST_MM),
        Key("thickness", "length", "Thickness.", required=True, least=5, most=M),
        Key("front", "length", "Trapezoid: length of the front.", "", 20, LARGEST_MM),
        Key("back", "length", "Trapezoid: length of the back.", "", 20, LARGEST_MM),
        Key("offset", "offset", "Trapezoid: how far the middle of the back lies to the right of the middle of the front (negative: to the left).", "0", -10 * M, 10 * M),
        Key("diameter", "length", "Disc: across.", "", 40, LARGEST_MM),
        Key("radius", "table", "Radius of the corners: a length for all, or one for each.", "0", table=CORNER_RADII, short="all"),
        Key("out_width", "length", "L: width of the rectangle that is missing.", "", 10, LARGEST_MM),
        Key("out_depth", "length", "L: depth of the rectangle that is missing.", "", 10, LARGEST_MM),
        Key("out_corner", "choice", "L: the corner where it is missing.", "back right", choices=("front left", "front right", "back right", "back left")),
        Key("ear_width", "length", "T and one-eared: how far the ear stands out sideways.", "", 10, 2 * M),
        Key("ear_depth", "length", "T and one-eared: the ear's depth, front to back.", "", 10, 5 * M),
        Key("hand", "choice", "One-eared: the side its ear is on. For other shapes, for the label.", "", choices=("left", "right")),
        Key("hand_seen", "choice", "Left and right as you face the seat, or as you sit in it.", "facing", choices=("facing", "sitting")),
        Key("run", "tables", RUN.doc, table=RUN),
        Key("hidden", "names", "Sides that nobody sees.", '["back"]'),
        Key("turned_over", "yes_no", "Used either way up: both panels are cut alike.", "false"),
        Key("fill", "table", FILL.doc, table=FILL, short="kind"),
        Key("clearance", "table", CLEARANCE.doc, table=CLEARANCE, short="all"),
        Key("mitred", "names", "Sides that meet a neighbour at a mitre, as in a bay.", "none"),
        *COVER.keys,
    ),
)  # fmt: skip


def _figures(record: type, doc: str, kind: Kind, most: float) -> tuple[Key, ...]:
    return tuple(
        Key(f.name, kind, f"{f.name.replace('_', ' ').capitalize()}{doc}.", str(f.default), 0, most)
        for f in fields(record)
    )


MINUTES = Table("minutes", "Minutes by operation.", _figures(Minutes, ", minutes", "number", 10000))
FACTORS = Table("factors", "What multiplies the minutes.", _figures(Factors, ", a factor", "number", 20))
_PERCENT = {"cloth_markup_pct", "material_markup_pct", "tax_pct", "deposit_pct"}
_PRICE_DOC = {
    "currency": "Currency, as three letters.",
    "hour": "An hour's work.",
    "cloth_markup_pct": "Mark-up on cloth, percent.",
    "material_markup_pct": "Mark-up on everything else that is bought, percent.",
    "tax_pct": "Tax, percent.",
    "tax_name": "Its name.",
    "deposit_pct": "Deposit, percent.",
    "minimum": "Smallest charge for a job, before tax.",
    "round_to": "The price is rounded up to a multiple of this.",
    "zip_per_m": "Zip, a metre.",
    "slider": "A slider.",
    "cord_per_m": "Piping cord, a metre.",
    "thread_per_1000_m": "Thread, a thousand metres.",
    "basting_tape_per_m": "Basting tape, a metre.",
    "foam_per_m3": "Foam, a cubic metre.",
    "wrap_per_m2": "Wrap, a square metre.",
    "stockinette_per_m": "Stockinette, a metre.",
    "film_per_m": "Film, a metre.",
    "tie_each": "A tie.",
    "handle_each": "A handle.",
    "base_cloth_per_m2": "Non-slip cloth, a square metre.",
    "fibre_per_kg": "Fibre, a kilogram.",
    "feather_per_kg": "Feather, a kilogram.",
    "inner_case_per_m2": "Cloth of an inner case, a square metre.",
    "thread_waste_pct": "Added to the thread that seams take, for ends, tests and bobbin changes; percent.",
    "stitch_class": "Plain lockstitch (301) or two-thread chain (401), for the thread that is used.",
    "zip_tolerance_mm": "How far a zip may differ from its stated length, in millimetres: it ends on a whole element.",
    "zip_slider_mouth_mm": "Width of the slider's mouth in millimetres, which gives the zip's size group.",
    "film_thickness_mm": "Thickness of the film, in millimetres.",
    "fibre_kg_m3": "Kilograms of fibre in a cubic metre of cushion.",
    "feather_kg_m3": "Kilograms of feather in a cubic metre of cushion.",
}


def _price_key(name: str, default: object) -> Key:
    doc = _PRICE_DOC.get(name, f"Price: {name.replace('_', ' ')}.")
    if name in ("currency", "tax_name"):
        return Key(name, "text", doc, str(default))
    if name == "stitch_class":
        return Key(name, "choice", doc, str(default), choices=("301", "401"))
    if isinstance(default, float):
        return Key(name, "number", doc, str(default), 0, 1000)
    return Key(name, "money", doc, str(default), 0, 1000 if name in _PERCENT else 1_000_000)


PRICES = Table(
    "prices",
    "The workroom's price list.",
    (
        *(_price_key(f.name, f.default) for f in fields(PriceList) if f.name not in ("minutes", "factors")),
        Key("minutes", "table", MINUTES.doc, table=MINUTES),
        Key("factors", "table", FACTORS.doc, table=FACTORS),
    ),
)

FOAM_SHEET = Table(
    "foam_sheet",
    "A sheet of foam as it is sold. Where there are any, it is worked out how many to buy and how to cut the blocks from them, and foam is charged by the sheet.",
    (
        Key("kind", "choice", "Which foam.", "firm foam", choices=("firm foam", "medium foam", "soft foam", "wrapped polyester")),
        Key("thickness", "length", "How thick; it must agree with the block.", required=True, least=3, most=M, field="thickness_mm"),
        Key("width", "length", "How wide.", required=True, least=50, most=5 * M, field="width_mm"),
        Key("length", "length", "How long.", required=True, least=50, most=20 * M, field="length_mm"),
        Key("price", "money", "What the workroom pays for one.", "its volume at `foam_per_m3`"),
    ),
)  # fmt: skip

FILE = Table(
    "job file",
    'A job file is TOML. Lengths are numbers in the job\'s unit, or texts such as `"3 3/4 in"` or `"0.75 m"`.',
    (
        Key("job", "table", JOB.doc, table=JOB),
        Key("cover", "table", COVER.doc, table=COVER),
        Key("cloth", "tables", CLOTH.doc, table=CLOTH, required=True),
        Key("cushion", "tables", CUSHION.doc, table=CUSHION, required=True),
        Key("foam_sheet", "tables", FOAM_SHEET.doc, table=FOAM_SHEET),
        Key("prices", "table", PRICES.doc, table=PRICES),
    ),
)

COLOURS: dict[str, str] = {
    "black": "#1d1b1a", "ink": "#2b2a33", "charcoal": "#3f4145", "slate": "#5b6670", "grey": "#8b8c89",
    "silver": "#c2c3bf", "white": "#fbfaf6", "chalk": "#f3efe6", "cream": "#f2e7cf", "linen": "#e9e2d3",
    "oatmeal": "#d9ccb4", "flax": "#d8c38f", "sand": "#d6bf95", "straw": "#dcc27a", "ochre": "#c8963e",
    "mustard": "#c79a2b", "yellow": "#e3c04b", "amber": "#c9822f", "orange": "#cf6a32", "rust": "#a5512f",
    "madder": "#a63d33", "red": "#b3322c", "brick": "#96483a", "claret": "#6e2436", "plum": "#5c3350",
    "rose": "#c98086", "pink": "#d8a3a6", "lilac": "#a893b5", "violet": "#6c5288", "indigo": "#2f3e6b",
    "navy": "#24304f", "blue": "#3d6294", "sky": "#93b5cf", "woad": "#5f82a3", "teal": "#2e6a70",
    "sea": "#6f9d98", "green": "#4d7a4f", "sage": "#9aa888", "moss": "#6b7440", "olive": "#74703a",
    "bottle": "#264a3a", "brown": "#6b4a34", "tan": "#b08a63", "walnut": "#553a2a", "gold": "#b8923f",
}  # fmt: skip
"""Colours by name, those of plain dyed cloth."""
