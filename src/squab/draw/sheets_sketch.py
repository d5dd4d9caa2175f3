"""Small outline sketches for the sheets: the cut line, the seam line dashed, the way to the front, the match point."""

from __future__ import annotations

import math

from squab.draw.sheets_parts import CutPart
from squab.draw.svg import CHALK, FAINT_INK, INK
from squab.plane import Points

WIDE_MM, HIGH_MM = 38.0, 30.0
"""The sketch's own paper, mm."""
LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
MOST_LETTERS = 12


def sketch(part: CutPart) -> str:
    """An SVG sketch of one part as it lies before the maker, the cut end below; not to scale.

    A narrow strip is drawn wider than it is, so that its seam lines can be told apart.
    """
    u0, v0, u1, v1 = part.box
    fx, fy = _factors(u1 - u0, v1 - v0)
    wide, high = (u1 - u0) * fx, (v1 - v0) * fy
    paper_high = min(HIGH_MM, high + 7.0)
    dx, dy = (WIDE_MM - wide) / 2, (paper_high - high) / 2

    def at(u: float, v: float) -> tuple[float, float]:
        return dx + (u - u0) * fx, paper_high - dy - (v - v0) * fy

    corners = corner_points(part)
    drawn = [
        _loop(part.xy, at, INK, 0.45, "#ffffff"),
        _loop(part.seam_xy, at, FAINT_INK, 0.25, "none", dash="1.2 0.8"),
        "" if part.piping else _arrow(part, at(*_middle(part)), min(wide, high)),
        "" if part.piping and not part.matched else _dot(*at(*part.match_at)),
        *(_letter(letter, at(*xy), at(*before), at(*after)) for letter, before, xy, after in _with_neighbours(corners)),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDE_MM}mm" height="{paper_high:.2f}mm" '
        f'viewBox="0 0 {WIDE_MM} {paper_high:.2f}">{"".join(drawn)}</svg>'
    )


def corner_points(part: CutPart) -> list[tuple[str, tuple[float, float]]]:
    """Lettered corners of a straight-sided part that is no rectangle, counter-clockwise; else none."""
    if part.is_rectangle or not part.straight or len(part.xy) > MOST_LETTERS:
        return []
    return [(LETTERS[i], (float(x), float(y))) for i, (x, y) in enumerate(part.xy)]


def _factors(width_mm: float, depth_mm: float) -> tuple[float, float]:
    room_x, room_y = WIDE_MM - 7.0, HIGH_MM - 7.0
    f = min(room_x / width_mm, room_y / depth_mm)
    return max(f, min(8.0 / width_mm, room_x / width_mm)), max(f, min(8.0 / depth_mm, room_y / depth_mm))


def _middle(part: CutPart) -> tuple[float, float]:
    u0, v0, u1, v1 = part.box
    if part.is_rectangle:
        return (u0 + u1) / 2, (v0 + v1) / 2
    mean = part.xy.mean(axis=0)
    return float(mean[0]), float(mean[1])


def _loop(xy: Points, at: object, stroke: str, thick: float, fill: str, *, dash: str = "") -> str:
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in (at(float(u), float(v)) for u, v in xy))  # type: ignore[operator]
    dashed = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<polygon points="{points}" fill="{fill}" stroke="{stroke}" stroke-width="{thick}"{dashed}/>'


def _arrow(part: CutPart, middle: tuple[float, float], room: float) -> str:
    """An arrow to the front, about half as long as the part is narrow."""
    long = max(min(room * 0.5, 9.0), 3.6)
    x, y = part.front[0], -part.front[1]
    n = math.hypot(x, y) or 1.0
    x, y = x / n, y / n
    ax, ay = middle[0] - x * long / 2, middle[1] - y * long / 2
    bx, by = middle[0] + x * long / 2, middle[1] + y * long / 2
    head = 1.5
    left = (bx - head * x + head * 0.6 * y, by - head * y - head * 0.6 * x)
    right = (bx - head * x - head * 0.6 * y, by - head * y + head * 0.6 * x)
    return (
        f'<line x1="{ax:.2f}" y1="{ay:.2f}" x2="{bx - x:.2f}" y2="{by - y:.2f}" stroke="{INK}" stroke-width="0.5"/>'
        f'<polygon points="{bx:.2f},{by:.2f} {left[0]:.2f},{left[1]:.2f} {right[0]:.2f},{right[1]:.2f}" fill="{INK}"/>'
    )


def _dot(x: float, y: float) -> str:
    return (
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1.1" fill="#ffffff" stroke="{CHALK}" stroke-width="0.5"/>'
        f'<circle cx="{x:.2f}" cy="{y:.2f}" r="0.35" fill="{CHALK}"/>'
    )


def _with_neighbours(
    corners: list[tuple[str, tuple[float, float]]],
) -> list[tuple[str, tuple[float, float], tuple[float, float], tuple[float, float]]]:
    n = len(corners)
    return [(corners[i][0], corners[i - 1][1], corners[i][1], corners[(i + 1) % n][1]) for i in range(n)]


def _letter(letter: str, at: tuple[float, float], before: tuple[float, float], after: tuple[float, float]) -> str:
    """A letter outside a corner, on the line that halves it (y downwards, the loop clockwise on paper)."""
    a = _unit(before, at)
    b = _unit(at, after)
    out = _unit((0.0, 0.0), (-(a[1] + b[1]), a[0] + b[0]))
    lx, ly = at[0] + 2.3 * out[0], at[1] + 2.3 * out[1] + 1.0
    return (
        f'<text x="{lx:.2f}" y="{ly:.2f}" font-family="Source Sans Pro" font-weight="600" font-size="3" '
        f'text-anchor="middle" fill="{CHALK}">{letter}</text>'
    )


def _unit(p: tuple[float, float], q: tuple[float, float]) -> tuple[float, float]:
    n = math.dist(p, q) or 1.0
    return (q[0] - p[0]) / n, (q[1] - p[1]) / n
