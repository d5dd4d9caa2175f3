"""Small drawings of the workroom's own: a swatch of a cloth, an outline."""

from __future__ import annotations

import re

from shapely.geometry import box

from squab.cloth import Cloth
from squab.draw import svg
from squab.draw.cloth import cloth_svg, drawn_pattern
from squab.plane import Outline

_WIDE, _HIGH = 160.0, 100.0
CAPTION_MM = 22.0
_BOX = re.compile(r'width="[\d.]+mm" height="[\d.]+mm" viewBox="0 0 (?P<wide>[\d.]+) (?P<high>[\d.]+)"')


def swatch_svg(cloth: Cloth) -> str:
    """Draw three repeats of a cloth, or a stretch of a plain one."""
    pattern = drawn_pattern(cloth)
    across = pattern.repeat_across_mm or pattern.repeat_along_mm or 300.0
    wide = min(cloth.usable_width_mm, max(3 * across, 1.6 * (pattern.repeat_along_mm or 0.0)))
    scale = _WIDE / wide
    region = box(-across / 2, 0.0, wide - across / 2, _HIGH / scale)
    drawn = cloth_svg(pattern, region, svg.affine(scale, 0.0, 0.0, -scale, across / 2 * scale, _HIGH))
    return svg.document(_WIDE, _HIGH, [drawn], title=f"Swatch of {cloth.name}", ground=pattern.ground)


def uncaptioned(picture: str) -> str:
    """A picture without the words under it, for where it is shown small."""
    cut = _BOX.search(picture)
    if cut is None:
        return picture
    wide, high = cut.group("wide"), float(cut.group("high")) - CAPTION_MM
    return picture.replace(cut.group(), f'width="{wide}mm" height="{high:g}mm" viewBox="0 0 {wide} {high:g}"', 1)


def outline_svg(outline: Outline | None) -> str:
    """Draw an outline alone; an empty frame where there is none."""
    if outline is None:
        frame = svg.rect(40, 30, 80, 45, fill="none", stroke=svg.FAINT_INK, stroke_width=0.6, stroke_dasharray="3 2")
        return svg.document(_WIDE, _HIGH, [frame], title="Not drawn yet")
    x0, y0, x1, y1 = outline.bounds()
    scale = min((_WIDE - 20) / (x1 - x0), (_HIGH - 20) / (y1 - y0))
    left, low = (_WIDE - scale * (x1 - x0)) / 2, (_HIGH + scale * (y1 - y0)) / 2
    shape = svg.outline_d(outline, svg.affine(scale, 0.0, 0.0, -scale, left - scale * x0, low + scale * y0))
    return svg.document(
        _WIDE, _HIGH, [svg.path(shape, fill="#fffdf8", stroke=svg.INK, stroke_width=0.7)], title="Outline"
    )
