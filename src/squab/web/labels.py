# ruff: noqa: E501  tables to be read down
"""The words of labels and choices on a job's page; `[[marked]]` ones are put into the job's own."""

from __future__ import annotations

from collections.abc import Mapping

LABELS: Mapping[str, str] = {
    # the job
    "job.name": "Name of the job", "job.units": "Bare numbers are in", "job.print_in": "Sheets are in",
    "job.parts_of_inch": "Inches in parts of", "job.words": "Words", "job.paper": "Paper", "job.marked": "Cloth is marked",
    "job.knife_gap": "Gap between pieces", "job.size_is": "All sizes are those of", "job.outdoor": "Used outdoors",
    "job.quote_valid_days": "Quote is valid, days", "job.lead_time_weeks": "Lead time, weeks",
    "job.date": "Date of the quote", "job.reference": "Our number", "job.workroom": "Workroom",
    "customer.name": "Customer", "customer.address": "Address", "customer.contact": "Telephone or mail", "job.notes": "Notes",
    # a cushion
    "cushion.name": "Name", "cushion.count": "How many alike", "cushion.place": "Where it goes",
    "cushion.size_is": "These are the sizes of", "cushion.thickness_is": "Thickness is that of",
    "cushion.width": "Width", "cushion.depth": "Depth", "cushion.thickness": "Thickness", "cushion.front": "Front",
    "cushion.back": "Back", "cushion.offset": "Back stands to the right by", "cushion.diameter": "Across",
    "cushion.out_width": "Missing: width", "cushion.out_depth": "Missing: depth", "cushion.out_corner": "Missing at",
    "cushion.ear_width": "Ear stands out", "cushion.ear_depth": "Ear, front to back", "cushion.hand": "Hand",
    "cushion.hand_seen": "Left and right", "cushion.turned_over": "Used either way up",
    "radius.all": "Corners rounded to", "radius.front_left": "Front left corner", "radius.front_right": "Front right corner",
    "radius.back_left": "Back left corner", "radius.back_right": "Back right corner",
    "fill.kind": "Fill", "fill.wrap": "[[Wrap]], each face", "fill.bare_thickness": "Bare block, thickness",
    "fill.density": "Density, kg/m³", "fill.density_lb_ft3": "Density, lb/ft³", "fill.quick_drying": "Quick-drying foam",
    "fill.keep_dry": "Must stay dry",
    # a side of a run
    "run.side": "Side", "run.length": "Length", "run.turn": "Turn left at its end, °", "run.rise": "Bow out by",
    "run.radius": "Arc's radius", "run.corner": "Corner rounded to", "run.to": "Or to the point x, y",
    # the make of cover
    "cover.allowance": "Seam allowance", "piping.edges": "[[Piping]]", "piping.cut": "Strips are cut",
    "piping.cord": "Cord", "piping.strip": "House strip width", "piping.square_ends": "Strips cut off square",
    "piping.least_part": "Shortest strip joined in", "piping.spare": "Spare where the ends meet",
    "zip.place": "[[Zip]]", "zip.side": "[[Zip]] at the", "zip.making": "[[Zip panel]] is made", "zip.tape": "[[Zip]] tape",
    "zip.return": "Goes round each corner", "zip.longer_by": "[[Zip]] longer than its panel", "zip.sliders": "Sliders",
    "zip.trim": "To trim true", "notches.straight_every": "Notches on straights every", "notches.curve_every": "On curves every",
    "notches.depth": "Notches deep", "notches.way": "Notches are", "cover.fit": "Smaller than the fill by",
    "cover.fit_thickness": "Thinner than the fill by", "cover.boxing_ease": "[[Boxing]] eased by",
    "cover.boxing_spare": "Spare at the last join", "cover.join_clear_of_front": "Joins clear of front corners",
    "cover.least_boxing_part": "Shortest [[boxing]] joined in", "cover.joins_at_corners": "[[Boxing]] joined at the corners",
    "cover.panel_seams": "Wider than the cloth", "cover.overlock": "Edges overlocked", "cover.panel_cloth": "Top",
    "cover.bottom_cloth": "Bottom", "cover.boxing_cloth": "[[Boxing]]", "cover.zip_cloth": "[[Zip panel]]",
    "cover.piping_cloth": "[[Piping]]", "cover.ties": "Ties", "cover.non_slip_base": "Non-slip base", "cover.handle": "Handle",
    "cover.film": "Film round the fill",
    # the match
    "match.front": "At the front", "match.sides": "At the sides", "match.back": "At the back", "match.bottom": "To the bottom",
    "match.joins": "Strip to strip", "match.front_across_only": "Front meets across only",
    "match.sides_along": "Side strips turned along the [[bolt]]", "match.back_half_turned": "Back strip may be half turned",
    "match.pin_across": "On its centre line stands", "match.pin_along": "Half-way back stands", "match.row": "Row",
    # a cloth
    "cloth.name": "Name", "cloth.usable_width": "Usable width", "cloth.colour": "Ground", "cloth.stripes": "Stripes",
    "cloth.stripes_run": "Stripes run", "cloth.repeat": "Repeat on the label", "cloth.repeat_across": "Repeat across",
    "cloth.repeat_along": "Repeat along", "cloth.drop": "Drop", "cloth.mirrored": "Its own mirror image",
    "cloth.half_turn_same": "Same after a half turn", "cloth.even": "Reads the same both ways", "cloth.thickness": "Thickness",
    "cloth.one_way": "Has an up and a down", "cloth.pile": "[[Nap]]", "cloth.vinyl": "Vinyl or coated",
    "job.then_may_add": "It may take more cloth, up to", "cloth.repeat_within": "Repeat along may be off, %",
    "cloth.cut_double": "Cut double, on the fold", "bolt.lines_at": "Pattern at each repeat",
    "cloth.frays": "Frays", "cloth.open_weave": "Open weave", "cloth.same_both_faces": "Same on both faces",
    "cloth.may_railroad": "May be turned a quarter", "cloth.shrink_warp": "Shrinks along, %", "cloth.shrink_weft": "Shrinks across, %",
    "cloth.shrinks_after_cutting": "Shrinks after cutting", "cloth.mass": "Grams in a m²", "cloth.mass_oz_yd2": "Ounces in a yd²",
    "cloth.price_per_m": "Price of a [[metre]]", "cloth.price_per_yd": "Price of a yard", "cloth.sold_by": "Sold in steps of",
    "cloth.square_off": "Squared off at each end", "cloth.care": "Care",
    "motif.across": "Motif, wide", "motif.along": "Motif, long", "motif.colour": "Motif's colour", "motif.shape": "Motif's shape",
    "bolt.length": "Length there is", "bolt.lot": "Dye lot", "bolt.stripe_at": "Pattern from the left edge",
    "bolt.print_at": "Pattern from the cut end", "bolt.measured_line": "Measured to", "bolt.repeat_across": "Repeat across, measured",
    "bolt.repeat_along": "Repeat along, measured", "bolt.bow": "Bow", "bolt.skew": "Skew",
    "flaws.left": "From left edge", "flaws.right": "to", "flaws.from": "From cut end", "flaws.to": "to", "flaws.what": "What",
    # the price
    "prices.currency": "Currency", "prices.hour": "An hour's work", "prices.cloth_markup_pct": "On cloth, %",
    "prices.material_markup_pct": "On the rest, %", "prices.tax_pct": "Tax, %", "prices.tax_name": "Tax is called",
    "prices.deposit_pct": "Deposit, %", "prices.minimum": "Smallest charge", "prices.round_to": "Rounded up to",
    "prices.zip_per_m": "[[Zip]], a [[metre]]", "prices.slider": "A slider", "prices.cord_per_m": "Cord, a [[metre]]",
    "prices.thread_per_1000_m": "Thread, 1000 m", "prices.basting_tape_per_m": "Basting tape, a [[metre]]",
    "prices.foam_per_m3": "Foam, a cubic [[metre]]", "prices.wrap_per_m2": "[[Wrap]], a square [[metre]]",
    "prices.stockinette_per_m": "Stockinette, a [[metre]]", "prices.film_per_m": "Film, a [[metre]]",
    "prices.tie_each": "A tie", "prices.handle_each": "A handle", "prices.base_cloth_per_m2": "Non-slip cloth, a square [[metre]]",
    "prices.fibre_per_kg": "[[Fibre]], a kilogram", "prices.feather_per_kg": "Feather, a kilogram",
    "prices.inner_case_per_m2": "Inner case, a square [[metre]]", "prices.thread_waste_pct": "Thread lost, %",
    "prices.stitch_class": "Stitch", "prices.zip_tolerance_mm": "[[Zip]] may be out by, mm",
    "prices.zip_slider_mouth_mm": "Slider's mouth, mm", "prices.film_thickness_mm": "Film thickness, mm",
    "prices.fibre_kg_m3": "[[Fibre]] filled to, kg/m³", "prices.feather_kg_m3": "Feather filled to, kg/m³",
    # minutes by operation, and what multiplies them
    "minutes.visit_and_template_per_job": "Visit and template, a job", "minutes.admin_per_job": "Talking and writing, a job",
    "minutes.check_and_square_per_m": "Checking and squaring, a [[metre]]",
    "minutes.mark_and_cut_plain_per_piece": "Marking and cutting a plain piece",
    "minutes.mark_and_cut_matched_per_piece": "Marking and cutting a matched piece",
    "minutes.panel_seam_per_m": "Seam in a panel, a [[metre]]", "minutes.strips_cut_and_joined_per_join": "A join of [[piping]] strips",
    "minutes.cord_covered_per_m": "Covering cord, a [[metre]]", "minutes.piping_sewn_on_per_m": "Sewing [[piping]] on, a [[metre]]",
    "minutes.zip_panel": "A [[zip panel]]", "minutes.boxing_joined_per_join": "A join of [[boxing]]",
    "minutes.boxing_sewn_per_m": "Sewing [[boxing]] on, a [[metre]]", "minutes.matched_side": "A side that is matched",
    "minutes.overlocking_per_m": "Overlocking, a [[metre]]", "minutes.foam_cut_and_wrapped": "Foam cut and wrapped",
    "minutes.fill_and_dress": "Filling and dressing", "minutes.inspect_and_pack": "Looking over and packing",
    "minutes.tie": "A tie", "minutes.handle": "A handle", "minutes.non_slip_base": "A non-slip base",
    "factors.pile": "[[Nap]]", "factors.vinyl": "Vinyl", "factors.first_off": "The first of a kind",
    "factors.long_over_1500_mm": "Longer than 1500 mm", "factors.repeat": "Each further one of a kind",
}  # fmt: skip
"""Labels by table and key. What has none is called by its key."""

CHOICES: Mapping[str, str] = {
    "mm": "millimetres", "cm": "centimetres", "m": "metres", "in": "inches", "seat": "the seat it goes in",
    "fill": "the bare fill", "old cover": "an old cover", "finished": "the finished cushion", "seam": "stitch line to stitch line",
    "us": "US: welt, boxing", "uk": "UK: piping, border", "a4": "A4", "letter": "Letter", "both": "both edges", "top": "top edge only",
    "bottom": "bottom edge only", "none": "none", "across": "across the [[bolt]]", "along": "along the [[bolt]]", "bias": "on the bias",
    "fold and split": "folded and split", "two single": "of two single strips", "two doubled": "of two doubled strips",
    "middle width": "a middle width and two equal sides", "railroad": "turned along the [[bolt]]",
    "inward": "cut inward", "outward": "cut outward", "chalk": "chalked", "must": "must meet", "prefer": "should meet",
    "ignore": "need not meet", "facing": "as you face it", "sitting": "as you sit in it", "fibre": "[[fibre]]",
    "boxing": "in the [[boxing]]", "301": "lockstitch (301)", "401": "two-thread chain (401)",
}  # fmt: skip
CHOICES_OF = {
    "zip.place": {"bottom": "in the bottom panel", "none": "no [[zip]]"}, "panel_seams": {"none": "not allowed"},
    "out_corner": {}, "hand": {"left": "ear on the left", "right": "ear on the right"}, "stripes_run": {},
}  # fmt: skip
"""Words that a choice has in one place only."""

HINTS: Mapping[str, str] = {
    "cushion.width": "left to right", "cushion.depth": "front to back, over all", "cushion.front": "length of the front edge",
    "cushion.back": "length of the back edge", "cushion.offset": "between the middles; negative: to the left",
    "cushion.ear_width": "sideways", "cushion.turned_over": "top and bottom are cut alike", "cushion.diameter": "",
    "fill.density": "a pound in a cubic foot is 16 of them", "fill.bare_thickness": "where the thickness above is not that already",
    "piping.strip": "worked out where you have no habit of your own", "piping.least_part": "none shorter is joined in",
    "zip.return": "how far its panel goes round each back corner", "zip.trim": "extra cut width, trimmed when it is made up",
    "cover.fit": "over all; by the fill where you say nothing", "cover.fit_thickness": "bare foam none, wrapped up to 1/2 in",
    "cover.boxing_ease": "never more than 6 mm", "cover.boxing_spare": "trimmed when it meets",
    "cover.panel_seams": "where a panel is wider than the cloth", "cover.film": "round outdoor fill that must stay dry",
    "cover.handle": "on the back", "match.row": "cushions of one row stand side by side; the pattern runs on across them",
    "match.front": "[[boxing]] to top", "match.sides": "those that are seen", "match.bottom": "[[boxing]] to bottom",
    "match.joins": "at joins of the [[boxing]]", "match.front_across_only": "up and down it may be out, to save cloth",
    "match.sides_along": "so that they meet the top", "match.back_half_turned": "to meet the top",
    "cloth.usable_width": "inside the pin marks", "cloth.price_per_m": "what you pay", "cloth.price_per_yd": "what you pay",
    "cloth.repeat": "the stripes must add up to it", "cloth.drop": "“half”, or a length; empty: straight",
    "cloth.one_way": "no piece is turned round", "cloth.pile": "its smooth stroke runs to the front and down",
    "cloth.cut_double": "mirrored pairs, through both layers", "cloth.repeat_within": "the order allows for it",
    "bolt.lines_at": "where the repeat creeps: one after another, from the cut end, with commas",
    "cloth.same_both_faces": "the back can be used as the face", "cloth.may_railroad": "pieces may lie across",
    "cloth.open_weave": "outdoor cloth that drains", "cloth.shrinks_after_cutting": "washed, and not before it is cut",
    "bolt.stripe_at": "to the line measured to", "bolt.print_at": "to the line, or the motif's centre",
    "bolt.measured_line": "left edge of the first stripe, or the motif's centre", "bolt.repeat_across": "over several, divided",
    "bolt.repeat_along": "over several, divided", "bolt.bow": "at the worst place", "bolt.skew": "at the worst place",
    "job.knife_gap": "none for shears, about 3 mm for a hot knife", "job.units": "where you write no unit",
}  # fmt: skip
"""What a label leaves open, in a few words."""
