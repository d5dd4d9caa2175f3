"""Steps from the boxing ring to a cushion that is filled, measured and packed."""

from __future__ import annotations

from squab.construct.records import Seam
from squab.sew.bench import Bench
from squab.sew.cover_steps import Draft
from squab.sew.rules import (
    BACKSTITCH_MM,
    FOAM_REST_HOURS,
    LEAST_RAW_EDGE_MM,
    RUN_OVER_MM,
    STRAIGHT_WITHIN_MM,
)
from squab.supply.fill import FOAM, FilmUse, film_use, foam_thickness_mm, is_loose, slab_limits

HARD_METRIC_MM = 1.0
"""12 mm is the metric half inch."""


def closing_drafts(bench: Bench) -> list[Draft]:
    """Give the steps from the ring on, only those that apply."""
    made = [
        fittings(bench),
        first_edge(bench),
        second_edge(bench),
        neaten(bench),
        check_fill(bench),
        wrap_fill(bench),
        film_fill(bench),
        fill_and_dress(bench),
        inspect(bench),
    ]
    return [d for d in made if d is not None]


def fittings(bench: Bench) -> Draft | None:
    """Baste on what the seams will catch."""
    cover, said = bench.cushion.cover, []
    if cover.ties:
        said.append(f"{cover.ties} ties, folded at their middles, into the back seam of the [[bottom]] at the marks.")
    if cover.handle:
        said.append("The handle to the [[boxing]] at its marks, each end boxed and crossed.")
    if cover.non_slip_base:
        said.append("The non-slip cloth to the [[bottom]], right side out, round its edge inside the stitch line.")
    return Draft("Baste on the fittings", " ".join(said)) if said else None


def _edges(bench: Bench) -> tuple[str, str]:
    """The edge that is sewn first, and the last: the matched top first."""
    return "top", "bottom"


def first_edge(bench: Bench) -> Draft | None:
    """Sew the boxing to the top."""
    seams = bench.edge_seams(_edges(bench)[0])
    if not seams:
        return None
    said = ["Right sides together, [[boxing]] uppermost, notch to notch" + _foot_words(bench, "top")]
    said.append(_order_words(bench, seams))
    said += _turning_words(bench)
    said.append(
        "Start {past} past the middle of the back, finish over the start by {over}; where the thread breaks begin "
        "again {run_over} back."
    )
    figures = [("past", bench.tail_mm), ("over", BACKSTITCH_MM), ("run_over", RUN_OVER_MM)]
    return Draft("Sew the [[boxing]] to the [[top]]", " ".join(said), tuple(figures), seams)


def _foot_words(bench: Bench, edge: str) -> str:
    if edge in bench.piped_edges:
        return "; [[piping foot]] against the cord, just inside the row that is there."
    return "."


def _order_words(bench: Bench, seams: tuple[Seam, ...]) -> str:
    matched = [s for s in seams if bench.meets(s)]
    if not bench.is_striped:
        return "Pin the middles of the sides and the corners, then between; plain cloth needs no basting."
    if not matched:
        return "The pattern does not have to meet here: pin the notches, no basting."
    first = "the middle of the front" if any(s.side == "front" for s in matched) else "the middle of each matched side"
    return f"Baste from {first} outward both ways, then the other sides in the order below, the back last."


def _turning_words(bench: Bench) -> list[str]:
    said = []
    if bench.outside_corners:
        said.append("At each corner [[clip]] the [[boxing]] nearly to the stitch, needle down, turn.")
    if bench.inside_corners:
        said.append("At an inside corner slit the [[panel]] to the stay stitch, open it round the [[boxing]].")
    if bench.tightest_radius_mm is not None:
        said.append("Round a curve [[clip]] the [[boxing]] at its marks.")
    return said


def second_edge(bench: Bench) -> Draft | None:
    """Sew the bottom on, the zip open."""
    seams = bench.edge_seams(_edges(bench)[1])
    if not seams:
        return None
    has_zip = bench.cover.zip_panel is not None
    said = ["Open the [[zip]] by a hand's width first, to turn the cover through." if has_zip else _hand_opening(bench)]
    said.append("Fold the [[boxing]] straight down at every corner and see that each [[bottom]] notch meets its own")
    said[-1] += _foot_words(bench, "bottom")
    matched = [s for s in seams if bench.meets(s)]
    if matched:
        said.append("Baste the matched sides from the middle of the front, then sew round as before.")
    else:
        said.append("Pin at the notches; sew round as before.")
    return Draft("Sew the [[bottom]] on", " ".join(said), (), seams)


def _hand_opening(bench: Bench) -> str:
    return (
        "There is no [[zip]]: leave the back open from one corner notch to the other and stitch back at both ends; it "
        "is closed by hand when it is filled."
    )


def neaten(bench: Bench) -> Draft:
    """Neaten and turn out."""
    said = ["Trim threads."]
    if bench.cushion.cover.overlock:
        said.append("Overlock the raw edges of each seam together, clear of the stitch.")
    elif bench.cloth.frays:
        said.append("This cloth frays: zigzag the raw edges or pink them.")
    if bench.cloth.frays and bench.allowance_mm < LEAST_RAW_EDGE_MM - HARD_METRIC_MM:
        said.append("The allowance is narrow for cloth that frays: stitch a second row beside the first, inside it.")
    said.append("Turn out through the opening, push out the corners from inside with a blunt point.")
    return Draft("Neaten and turn out", " ".join(said))


def check_fill(bench: Bench) -> Draft:
    """See that the fill is what the cover was cut for."""
    fill, size = bench.cushion.fill, bench.cover.sizes.fill
    if is_loose(fill):
        said = "Fill the inner case, of {width} by {depth} flat and {thick} deep, evenly to its corners and close it."
        figures = [("width", size.width_mm), ("depth", size.depth_mm), ("thick", size.thickness_mm)]
        return Draft("Make the inner cushion", said, tuple(figures))
    thick = foam_thickness_mm(fill, size.thickness_mm)
    said = "It is to be {width} by {depth} by {thick}, measured bare"
    figures = [("width", size.width_mm), ("depth", size.depth_mm), ("thick", thick)]
    if fill.kind in FOAM:
        said += f" and after it has lain {FOAM_REST_HOURS} hours undisturbed"
    longest, least = max(size.width_mm, size.depth_mm), min(size.width_mm, size.depth_mm)
    limits = slab_limits(longest, least, thick) if fill.kind in FOAM else None
    said += "."
    if limits is not None:
        said += (
            " Accept up to {over_length} over in length, {over_width} over in width and nothing under, {either} either "
            "way in thickness."
        )
        figures += [
            ("over_length", limits.length_mm[1] - longest),
            ("over_width", limits.width_mm[1] - least),
            ("either", limits.thickness_mm[1] - thick),
        ]
    said += " It is larger than the cover on purpose. Mark it on the back edge only."
    return Draft("Check the fill", said, tuple(figures))


def wrap_fill(bench: Bench) -> Draft | None:
    """Wrap the block."""
    fill = bench.cushion.fill
    if fill.wrap_mm <= 0.0 or is_loose(fill):
        return None
    return Draft(
        "Wrap the fill",
        "[[Wrap]], {wrap} thick, round both faces and the front, edges butted at the back, none doubled at a corner; "
        "a little glue or a few stitches hold it. Draw the stockinette over and tie its ends.",
        (("wrap", fill.wrap_mm),),
    )


_FILM_TEXT: dict[FilmUse, str] = {
    "dry": "Put the fill into its film, fold the ends under at the back and tape them shut; the seam lies below.",
    "dry_vented": (
        "Put the fill into its film, fold the ends under at the back and tape them; prick a row of vents along the "
        "back edge and the underside, for the cover does not breathe."
    ),
    "stuffing": (
        "Put the block into its film, draw the air out until it lies flat, slide it in, let the air back and pull the "
        "film out if it need not stay."
    ),
}


def film_fill(bench: Bench) -> Draft | None:
    """Put film round the fill, where it makes sense."""
    use = film_use(bench.job, bench.cushion)
    return None if use == "none" else Draft("Put the film on", _FILM_TEXT[use])


def fill_and_dress(bench: Bench) -> Draft:
    """Fill the cover."""
    said = [_put_in_words(bench)]
    said.append("Turn the seams the same way all round, towards the [[boxing]], and smooth from the middle outward.")
    if bench.cover.zip_panel is None:
        said.append("Close the back by hand with a slip stitch.")
    else:
        said.append("Close the [[zip]], sliders tucked in.")
    return Draft("Fill and dress", " ".join(said))


def _put_in_words(bench: Bench) -> str:
    if is_loose(bench.cushion.fill):
        return "Put the inner cushion in, front corners first, and shake it into place."
    if film_use(bench.job, bench.cushion) == "stuffing":
        return "Slide the block in flat, see that its front is at the front, and work the corners out as it rises."
    return "Fold the fill double and put it in to the front, let it open, work the corners out first."


def inspect(bench: Bench) -> Draft:
    """Measure and pack."""
    said = ["Measure the finished sizes below, a day after filling where there is time."]
    said.append("Stitching straight within {straight}, ends stitched back {back} or more, no loose threads")
    said[-1] += ", the pattern as it was promised." if bench.matched else "."
    if bench.cushion.count > 1:
        alike = "both" if bench.cushion.count == 2 else f"all {bench.cushion.count}"
        said.append(f"Put {alike} side by side: alike in crown and corner.")
    return Draft("Inspect and pack", " ".join(said), (("straight", STRAIGHT_WITHIN_MM), ("back", BACKSTITCH_MM)))
