"""Pattern pieces and lays as DXF, for a cutter or another drawing program.

`pieces_dxf` follows the open pattern-exchange practice ASTM D6673 in its blocks and layers as far
as they are known to us, and claims no conformance: the practice's own layer table was not at
hand. `lay_dxf` is plain DXF; that practice does not carry lays.
"""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from threading import Lock
from typing import Any, Literal

from squab.construct.records import Notch, Piece, Snip
from squab.draw.laid import Laid, cushion_of, cut_scale_in_piece, kept_for_job, laid_parts, to_cut_edge, turn_of
from squab.draw.patterns import datum_segments, pattern_place
from squab.draw.plan import datum_lines, piece_words
from squab.plane import Arc, Outline, Point, cos_sin
from squab.units import MM_PER_INCH, format_length
from squab.words import say
from squab.worked import WorkedJob

DxfUnit = Literal["mm", "in"]
INSUNITS: dict[DxfUnit, int] = {"in": 1, "mm": 4}
"""$INSUNITS: 0 none, 1 inch, 2 foot, 4 mm, 5 cm, 6 m, 10 yard (DXF system-variable reference)."""
_UNITS_SAID: dict[DxfUnit, str] = {"in": "UNITS: ENGLISH", "mm": "UNITS: METRIC"}
BOUNDARY, TURNS, CURVES, NOTCHES, GRAIN, INTERNAL = "1", "2", "3", "4", "7", "8"
STRIPE, PLAID, SEW, WORDS = "9", "10", "14", "15"
LAYERS = (BOUNDARY, TURNS, CURVES, NOTCHES, GRAIN, INTERNAL, STRIPE, PLAID, SEW, WORDS)
"""The practice's layers that a cushion has something for; docs/cutter-files.md says why not 6, 11 and 13."""
TEST_BLOCK = "TEST_BAR_100_MM"
_BESIDE_MM = 40.0
_LETTER_MM = 6.0
_ONE_FILE = Lock()
"""The library keeps its options for all files alike: one is made at a time."""
_Map = Callable[[Point], Point]


def pieces_dxf(worked: WorkedJob, unit: DxfUnit = "mm") -> bytes:
    """Write every piece, one BLOCK each, at the size it is cut.

    Each block has the cut line on layer 1, its corner and curve points on 2 and 3, notches on 4,
    the grain on 7, snips and the arrow to the front on 8, the pattern's reference lines on 9
    (along the warp) and 10 (across it), the stitch line on 14, words on 1 and 15. Strips are
    there in the parts in which they are laid.
    """
    in_mm = _pieces_mm(worked)
    return in_mm if unit == "mm" else _in_inches(in_mm)


@kept_for_job
def _pieces_mm(worked: WorkedJob) -> bytes:
    doc, space = _new("mm", LAYERS)
    x = 0.0
    for i, text in enumerate(_file_words(worked)):
        _text(space, text, (0.0, -3 * _LETTER_MM - i * 1.6 * _LETTER_MM), _LETTER_MM, WORDS)
    for name, width, low, draw in _blocks(worked):
        block = doc.blocks.new(name)
        draw(block)
        space.add_blockref(name, (x - low[0], -low[1]), dxfattribs={"layer": BOUNDARY})
        x += width + _BESIDE_MM
    _test_bar(doc, space, (x, 0.0), 1.0, INTERNAL)
    return _written(doc)


def _in_inches(in_mm: bytes) -> bytes:
    """The same drawing in inches: a file of millimetres with every length in it divided.

    Lengths are the group codes 10 to 39 and a text's height, 40, of blocks and entities (DXF
    reference, group codes by number); every other figure is an angle, a bulge, a count or a scale.
    """
    lines = in_mm.decode("latin-1").split("\n")
    section = ""
    for i in range(0, len(lines) - 1, 2):
        code, value = lines[i].strip(), lines[i + 1]
        if lines[i - 1] == "SECTION":
            section = value
        elif section == "HEADER" and value == "$INSUNITS":
            lines[i + 3] = str(INSUNITS["in"])
        elif section == "HEADER" and value == "$MEASUREMENT":
            lines[i + 3] = "0"
        elif section in ("BLOCKS", "ENTITIES") and (code == "40" or (len(code) == 2 and code[0] in "123")):
            lines[i + 1] = repr(float(value) / MM_PER_INCH)
        elif section == "ENTITIES" and value == _UNITS_SAID["mm"]:
            lines[i + 1] = _UNITS_SAID["in"]
    return "\n".join(lines).encode("latin-1")


def lay_dxf(worked: WorkedJob, cloth_id: str, unit: DxfUnit = "mm") -> bytes:
    """Write one cloth's lay for a cutter: x along the bolt from the squared cut end, y across it.

    Plain DXF on named layers, as the job is marked: face up, the left selvage is at the top
    (y = width); back up, at y = 0. Every length is as on the bolt, before it shrinks.

    Raises
    ------
    KeyError
        If the job has no such cloth or no lay on it.
    """
    plan, cloth = worked.plans[cloth_id], worked.job.cloth(cloth_id)
    doc, space = _new(unit, ("CLOTH", "CUT", "STITCH", "NOTCH", "DATUM", "WORDS"))
    f = 1.0 if unit == "mm" else 1 / MM_PER_INCH
    across, along = cloth.cut_scale
    width, length = plan.problem.usable_width_mm * across, plan.lay.length_mm * along
    face_up = worked.job.marked == "face_up"

    def to_bolt(uv: Point) -> Point:
        u, v = uv[0] * across, uv[1] * along
        return v * f, ((width - u) if face_up else u) * f

    corners = [(0.0, 0.0), (length * f, 0.0), (length * f, width * f), (0.0, width * f)]
    space.add_polyline2d(corners, close=True, dxfattribs={"layer": "CLOTH"})
    for way, at in datum_lines(cloth, plan):
        ends = (
            ((at, 0.0), (at, plan.lay.length_mm))
            if way == "across"
            else ((0.0, at), (plan.problem.usable_width_mm, at))
        )
        space.add_line(to_bolt(ends[0]), to_bolt(ends[1]), dxfattribs={"layer": "DATUM"})
    for laid in laid_parts(worked, cloth_id):
        _laid(space, worked, laid, lambda p, laid=laid: to_bolt(laid.place.point(p)), f)  # type: ignore[misc]
    face = "FACE UP" if face_up else "BACK UP"
    size = f"{format_length(length, worked.job.style)} x {format_length(width, worked.job.style)}"
    _text(space, f"{worked.job.name} - {cloth.name} - {face} - {size}", (0.0, (width + 12) * f), 12 * f, "WORDS")
    _test_bar(doc, space, (0.0, (width + 36) * f), f, "WORDS")
    return _written(doc)


def _test_bar(doc: Any, space: Any, at: Point, f: float, layer: str) -> None:
    """A bar of exactly 100 mm in a block of its own, to be measured before anything is cut."""
    bar = doc.blocks.new(TEST_BLOCK)
    bar.add_line((0, 0), (100.0 * f, 0), dxfattribs={"layer": layer})
    _text(bar, "100 mm", (0.0, 3.0 * f), _LETTER_MM * f, WORDS if layer == INTERNAL else layer)
    space.add_blockref(TEST_BLOCK, at, dxfattribs={"layer": layer})


def _laid(space: Any, worked: WorkedJob, laid: Laid, to_bolt: _Map, f: float) -> None:
    _closed(space, laid.cut, to_bolt, "CUT", exact=_even(worked, laid))
    _closed(space, laid.seam, to_bolt, "STITCH", exact=_even(worked, laid))
    for notch in laid.notches:
        for a, b in _notch_strokes(worked, laid.of.cushion_id, laid.cut, notch):
            space.add_line(to_bolt(a), to_bolt(b), dxfattribs={"layer": "NOTCH"})
    x0, y0, x1, y1 = laid.cut.bounds()
    at = to_bolt(((x0 + x1) / 2, (y0 + y1) / 2))
    _text(space, " - ".join(piece_words(worked, laid)), at, _LETTER_MM * f, "WORDS", middle=True)


def _even(worked: WorkedJob, laid: Laid) -> bool:
    across, along = worked.job.cloth(laid.of.cloth_id).cut_scale
    return abs(across - along) < 1e-12


def _new(unit: DxfUnit, layers: Sequence[str]) -> tuple[Any, Any]:
    import ezdxf

    with _fixed_data():
        doc = ezdxf.new("R2000")
    doc.header["$INSUNITS"] = INSUNITS[unit]
    doc.header["$MEASUREMENT"] = 0 if unit == "in" else 1
    for name in layers:
        doc.layers.add(name)
    return doc, doc.modelspace()


def _written(doc: Any) -> bytes:
    stream = io.StringIO()
    with _fixed_data():
        doc.write(stream)
    return stream.getvalue().encode(doc.output_encoding, errors="dxfreplace")


@contextmanager
def _fixed_data() -> Iterator[None]:
    """Leave the time and random marks out of a file, so that the same job has the same bytes."""
    import ezdxf

    with _ONE_FILE:
        before = ezdxf.options.write_fixed_meta_data_for_testing
        ezdxf.options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            ezdxf.options.write_fixed_meta_data_for_testing = before


def _file_words(worked: WorkedJob) -> list[str]:
    job = worked.job
    words = [f"STYLE NAME: {job.name}", "AUTHOR: Squab"]
    if job.dated:
        words.append(f"CREATION DATE: {job.dated.isoformat()}")
    return [*words, _UNITS_SAID["mm"], "SAMPLE SIZE: AS CUT"]


def _text(space: Any, words: str, at: Point, height: float, layer: str, *, middle: bool = False) -> None:
    from ezdxf.enums import TextEntityAlignment

    text = space.add_text(words.replace("\n", " "), height=height, dxfattribs={"layer": layer})
    text.set_placement(at, align=TextEntityAlignment.MIDDLE_CENTER if middle else TextEntityAlignment.LEFT)


_Block = tuple[str, float, Point, Callable[[Any], None]]


def _blocks(worked: WorkedJob) -> list[_Block]:
    """Name, width and low corner as cut, and how each block is drawn: pieces, then strips in parts."""
    found: list[_Block] = []
    used: set[str] = set()
    for piece in worked.construction.pieces:
        scale = _scale_of(worked, piece)
        x0, y0, x1, _ = piece.cut.bounds()
        low = (x0 * scale[0], y0 * scale[1])
        found.append((block_name(piece.id, used), (x1 - x0) * scale[0], low, _piece_drawer(worked, piece)))
    for laid, count in _strip_parts(worked):
        scale = cut_scale_in_piece(worked.job.cloth(laid.of.cloth_id), laid.place.turn_deg)
        x0, y0, x1, _ = laid.cut.bounds()
        low = (x0 * scale[0], y0 * scale[1])
        name = block_name(f"{laid.part_id}.{laid.part}", used)
        found.append((name, (x1 - x0) * scale[0], low, _part_drawer(worked, laid, count)))
    return found


def block_name(piece_id: str, used: set[str]) -> str:
    """A block's name from an id: capitals, figures, hyphen and underline only, never twice."""
    base = re.sub(r"[^A-Z0-9_-]", "_", piece_id.upper())[:120] or "PIECE"
    name, n = base, 2
    while name in used or name == TEST_BLOCK:
        name, n = f"{base}_{n}", n + 1
    used.add(name)
    return name


def _strip_parts(worked: WorkedJob) -> list[tuple[Laid, int]]:
    """The parts in which strips are laid, alike ones once with their count."""
    alike: dict[tuple[object, ...], list[Laid]] = {}
    for cloth_id in worked.plans:
        for laid in laid_parts(worked, cloth_id):
            if laid.part_mm is not None or not isinstance(laid.of, Piece):
                a, b = laid.part_mm or (0.0, 0.0)
                alike.setdefault((laid.part_id, round(a, 2), round(b, 2), laid.place.turn_deg % 180), []).append(laid)
    return [(group[0], len(group)) for group in alike.values()]


def _scale_of(worked: WorkedJob, piece: Piece) -> Point:
    return cut_scale_in_piece(worked.job.cloth(piece.cloth_id), turn_of(worked, piece))


def _piece_drawer(worked: WorkedJob, piece: Piece) -> Callable[[Any], None]:
    (sx, sy), turn = _scale_of(worked, piece), turn_of(worked, piece)

    def to_file(p: Point) -> Point:
        return p[0] * sx, p[1] * sy

    def draw(block: Any) -> None:
        _shape(block, piece.cut, piece.seam, to_file, sx == sy)
        _marks(block, worked, piece.cushion_id, piece.cut, piece.notches, piece.snips, to_file)
        _direction(block, piece.seam, turn, piece.front, to_file)
        _references(block, worked, piece, to_file)
        cloth, hand = worked.job.cloth(piece.cloth_id), piece.hand
        keys = {
            "PIECE NAME": _named(worked, piece.cushion_id, say(piece.name, worked.job.words)),
            "SIZE": "AS CUT",
            "QUANTITY": str(piece.count),
            "MATERIAL": cloth.name,
            "CATEGORY": piece.kind,
        }
        note = [f"ANNOTATION: {hand} hand"] if hand else []
        _key_words(block, piece.seam, to_file, [f"{k}: {v}" for k, v in keys.items()], note)

    return draw


def _part_drawer(worked: WorkedJob, laid: Laid, count: int) -> Callable[[Any], None]:
    cloth = worked.job.cloth(laid.of.cloth_id)
    sx, sy = cut_scale_in_piece(cloth, laid.place.turn_deg)

    def to_file(p: Point) -> Point:
        return p[0] * sx, p[1] * sy

    def draw(block: Any) -> None:
        _shape(block, laid.cut, laid.seam, to_file, sx == sy)
        _marks(block, worked, laid.of.cushion_id, laid.cut, laid.notches, laid.snips, to_file)
        _direction(block, laid.seam, laid.place.turn_deg, laid.front, to_file)
        name = _named(worked, laid.of.cushion_id, say(laid.of.name, worked.job.words))
        part = f", part {laid.part} of {laid.parts}" if laid.parts > 1 else ""
        keys = [f"PIECE NAME: {name}{part}", "SIZE: AS CUT", f"QUANTITY: {count}", f"MATERIAL: {cloth.name}"]
        _key_words(block, laid.seam, to_file, keys, [])

    return draw


def _named(worked: WorkedJob, cushion_id: str, name: str) -> str:
    cushion = cushion_of(worked, cushion_id)
    return f"{cushion.name} - {name}" if cushion else name


def _shape(block: Any, cut: Outline, seam: Outline, to_file: _Map, exact: bool) -> None:
    _closed(block, cut, to_file, BOUNDARY, exact=exact)
    _closed(block, seam, to_file, SEW, exact=exact)
    for outline in (cut, seam):
        corners = {round(s, 6) for s, _ in outline.corners()}
        for start, edge in zip(outline.path.edge_starts(), outline.edges, strict=True):
            layer = TURNS if round(start, 6) in corners else CURVES
            block.add_point(to_file(edge.start), dxfattribs={"layer": layer})
            if isinstance(edge, Arc):
                for point in edge.flattened(0.25)[1:]:
                    block.add_point(to_file(point), dxfattribs={"layer": CURVES})


def _closed(space: Any, outline: Outline, to_file: _Map, layer: str, *, exact: bool) -> None:
    """A closed polyline; arcs as bulges where both ways are scaled alike, else broken finely."""
    if not exact:
        points = [to_file((float(x), float(y))) for x, y in outline.flattened(0.01)]
        space.add_polyline2d(points, close=True, dxfattribs={"layer": layer})
        return
    o, a, b = to_file((0.0, 0.0)), to_file((1.0, 0.0)), to_file((0.0, 1.0))
    way = math.copysign(1.0, (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0]))
    points5: list[tuple[float, float, float]] = []
    for edge in outline.edges:
        halves = [edge]
        if isinstance(edge, Arc) and abs(edge.sweep) > math.pi * 0.99:
            halves = [edge.part(0.0, edge.length / 2), edge.part(edge.length / 2, edge.length)]
        for e in halves:
            bulge = way * math.tan(e.sweep / 4) if isinstance(e, Arc) else 0.0
            points5.append((*to_file(e.start), bulge))
    space.add_polyline2d(points5, format="xyb", close=True, dxfattribs={"layer": layer})


def _notch_strokes(worked: WorkedJob, cushion_id: str, cut: Outline, notch: Notch) -> list[tuple[Point, Point]]:
    """Each stroke of a notch from the cut edge inwards, in the piece's own frame."""
    cushion = cushion_of(worked, cushion_id)
    depth = cushion.cover.notching.depth_mm if cushion else 5.0
    (x, y), (dx, dy) = notch.at, notch.outward
    room = to_cut_edge(cut, notch.at, notch.outward)
    found = []
    for i in range(notch.strokes):
        off = (i - (notch.strokes - 1) / 2) * 5.0
        ex, ey = x + dx * room - dy * off, y + dy * room + dx * off
        found.append(((ex, ey), (ex - dx * depth, ey - dy * depth)))
    return found


def _marks(
    block: Any,
    worked: WorkedJob,
    cushion_id: str,
    cut: Outline,
    notches: Sequence[Notch],
    snips: Sequence[Snip],
    to_file: _Map,
) -> None:
    for notch in notches:
        for a, b in _notch_strokes(worked, cushion_id, cut, notch):
            block.add_point(to_file(a), dxfattribs={"layer": NOTCHES})
            block.add_line(to_file(a), to_file(b), dxfattribs={"layer": NOTCHES})
    for snip in snips:
        room = to_cut_edge(cut, snip.at, snip.outward)
        (x, y), (dx, dy) = snip.at, snip.outward
        ex, ey = x + dx * room, y + dy * room
        ends = to_file((ex, ey)), to_file((ex - dx * snip.depth_mm, ey - dy * snip.depth_mm))
        block.add_line(*ends, dxfattribs={"layer": INTERNAL})


def _direction(block: Any, seam: Outline, turn_deg: float, front: Point, to_file: _Map) -> None:
    """The grain line (the warp) on 7 and an arrow to the front on 8."""
    x0, y0, x1, y1 = seam.bounds()
    c, s = cos_sin(-turn_deg)
    warp = (-s, c)
    long = 0.6 * (abs(warp[0]) * (x1 - x0) + abs(warp[1]) * (y1 - y0))
    cx, cy = x0 + (x1 - x0) * 0.35, y0 + (y1 - y0) * 0.5
    a, b = (cx - warp[0] * long / 2, cy - warp[1] * long / 2), (cx + warp[0] * long / 2, cy + warp[1] * long / 2)
    block.add_line(to_file(a), to_file(b), dxfattribs={"layer": GRAIN})
    if front == (0.0, 0.0):
        return
    long = 0.2 * (abs(front[0]) * (x1 - x0) + abs(front[1]) * (y1 - y0))
    tail = (x0 + (x1 - x0) * 0.65, cy)
    tip = (tail[0] + front[0] * long, tail[1] + front[1] * long)
    block.add_line(to_file(tail), to_file(tip), dxfattribs={"layer": INTERNAL})
    for side in (1.0, -1.0):
        barb = (tip[0] - front[0] * 8 - side * front[1] * 4, tip[1] - front[1] * 8 + side * front[0] * 4)
        block.add_line(to_file(tip), to_file(barb), dxfattribs={"layer": INTERNAL})


def _references(block: Any, worked: WorkedJob, piece: Piece, to_file: _Map) -> None:
    """Where the pattern's datum lines must run: along the warp on 9, across it on 10."""
    place = pattern_place(worked, piece)
    if place is None:
        return
    for a, b in datum_segments(worked, piece, place)[0]:
        (pa, qa), (pb, qb) = place.point(a), place.point(b)
        layer = STRIPE if abs(qb - qa) >= abs(pb - pa) else PLAID
        block.add_line(to_file(a), to_file(b), dxfattribs={"layer": layer})


def _key_words(block: Any, seam: Outline, to_file: _Map, keys: Sequence[str], notes: Sequence[str]) -> None:
    x0, y0, x1, y1 = seam.bounds()
    x, y = to_file((x0 + (x1 - x0) * 0.05, y0 + (y1 - y0) * 0.85))
    size = min(_LETTER_MM, (y1 - y0) / (2.0 * (len(keys) + len(notes))))
    for i, words in enumerate([*keys, *notes]):
        _text(block, words, (x, y - 1.6 * size * i), size, BOUNDARY if i < len(keys) else WORDS)


__all__ = ["INSUNITS", "LAYERS", "block_name", "lay_dxf", "pieces_dxf"]
