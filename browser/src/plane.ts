// Polygons on a plane: where they lie, whether they run into one another, how far they may be pushed.
//
// A polygon is a closed run of points, the last joined to the first. Millimetres.

import { cosSin, type Point } from "./pattern";

export interface Box {
  readonly x0: number;
  readonly y0: number;
  readonly x1: number;
  readonly y1: number;
}

export type Polygon = readonly Point[];

/** Overlaps shallower than this are touching: the verifier's own measure. */
export const TOUCH_MM = 1e-3;

export function boxOf(polygon: Polygon): Box {
  let [x0, y0, x1, y1] = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of polygon) {
    x0 = Math.min(x0, x);
    y0 = Math.min(y0, y);
    x1 = Math.max(x1, x);
    y1 = Math.max(y1, y);
  }
  return { x0, y0, x1, y1 };
}

/** Turn a polygon, then shift it. */
export function laid(polygon: Polygon, turn: number, u: number, v: number): Point[] {
  const [c, s] = cosSin(turn);
  return polygon.map(([x, y]) => [c * x - s * y + u, s * x + c * y + v]);
}

export function shifted(polygon: Polygon, dx: number, dy: number): Point[] {
  return polygon.map(([x, y]) => [x + dx, y + dy]);
}

export function areaOf(polygon: Polygon): number {
  let twice = 0;
  eachEdge(polygon, (a, b) => (twice += a[0] * b[1] - b[0] * a[1]));
  return twice / 2;
}

export function eachEdge(polygon: Polygon, see: (a: Point, b: Point) => void): void {
  let a = polygon[polygon.length - 1];
  for (const b of polygon) {
    if (a) see(a, b);
    a = b;
  }
}

export function boxesMeet(a: Box, b: Box, by = 0): boolean {
  return a.x0 < b.x1 + by && b.x0 < a.x1 + by && a.y0 < b.y1 + by && b.y0 < a.y1 + by;
}

/** Tell whether a point lies inside, boundary aside. */
export function isInside(polygon: Polygon, [x, y]: Point): boolean {
  let inside = false;
  eachEdge(polygon, (a, b) => {
    if (a[1] > y !== b[1] > y && x < ((b[0] - a[0]) * (y - a[1])) / (b[1] - a[1]) + a[0]) inside = !inside;
  });
  return inside;
}

export function toSegment([x, y]: Point, a: Point, b: Point): number {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const long = dx * dx + dy * dy;
  const t = long ? Math.min(1, Math.max(0, ((x - a[0]) * dx + (y - a[1]) * dy) / long)) : 0;
  return Math.hypot(x - a[0] - t * dx, y - a[1] - t * dy);
}

export function toBoundary(polygon: Polygon, at: Point): number {
  let least = Infinity;
  eachEdge(polygon, (a, b) => (least = Math.min(least, toSegment(at, a, b))));
  return least;
}

/**
 * How deep two polygons run into one another, about; 0 where they are apart or touch.
 *
 * Each edge of one is cut where it meets the other. Were the insides to share anything, the middle of
 * some piece, or a point inside one of them, would lie inside the other.
 */
export function overlapDepth(a: Polygon, b: Polygon): number {
  if (!boxesMeet(boxOf(a), boxOf(b))) return 0;
  let deepest = 0;
  const probe = (of: Polygon, at: Point): void => {
    if (!isInside(of, at)) return;
    deepest = Math.max(deepest, toBoundary(of, at));
  };
  for (const [p, q] of [[a, b], [b, a]] as const) {
    eachEdge(p, (start, end) => {
      const cuts = [0, ...cutsOf(start, end, q), 1].sort((m, n) => m - n);
      cuts.forEach((t, i) => {
        const next = cuts[i + 1];
        if (next === undefined || next - t < 1e-12) return;
        const m = (t + next) / 2;
        probe(q, [start[0] + m * (end[0] - start[0]), start[1] + m * (end[1] - start[1])]);
      });
      probe(q, start);
    });
    const within = innerPoint(p);
    if (within) probe(q, within);
  }
  return deepest > TOUCH_MM ? deepest : 0;
}

/** Where along an edge, as shares of it, it meets another polygon's edges. */
function cutsOf(start: Point, end: Point, other: Polygon): number[] {
  const cuts: number[] = [];
  const [dx, dy] = [end[0] - start[0], end[1] - start[1]];
  eachEdge(other, (c, d) => {
    const [ex, ey] = [d[0] - c[0], d[1] - c[1]];
    const cross = dx * ey - dy * ex;
    if (Math.abs(cross) < 1e-12) {
      const long = dx * dx + dy * dy;
      if (long) for (const p of [c, d]) cuts.push(((p[0] - start[0]) * dx + (p[1] - start[1]) * dy) / long);
      return;
    }
    const t = ((c[0] - start[0]) * ey - (c[1] - start[1]) * ex) / cross;
    const s = ((c[0] - start[0]) * dy - (c[1] - start[1]) * dx) / cross;
    if (s > -1e-9 && s < 1 + 1e-9) cuts.push(t);
  });
  return cuts.filter((t) => t > 0 && t < 1);
}

/** A point well inside a polygon: the middle of the longest stretch of a level line through it. */
export function innerPoint(polygon: Polygon): Point | null {
  const { y0, y1 } = boxOf(polygon);
  let best: Point | null = null;
  let longest = 0;
  for (const share of [0.5, 0.382, 0.618, 0.27, 0.73]) {
    const y = y0 + (y1 - y0) * (share + 1e-4);
    const xs: number[] = [];
    eachEdge(polygon, (a, b) => {
      if (a[1] > y !== b[1] > y) xs.push(a[0] + ((b[0] - a[0]) * (y - a[1])) / (b[1] - a[1]));
    });
    xs.sort((m, n) => m - n);
    for (let i = 0; i + 1 < xs.length; i += 2) {
      const [from, to] = [xs[i] ?? 0, xs[i + 1] ?? 0];
      if (to - from > longest) {
        longest = to - from;
        best = [(from + to) / 2, y];
      }
    }
  }
  return best;
}

/** The shortest distance between two polygons that do not overlap. */
export function clearance(a: Polygon, b: Polygon): number {
  let least = Infinity;
  for (const [p, q] of [[a, b], [b, a]] as const) for (const at of p) least = Math.min(least, toBoundary(q, at));
  return least;
}

/** A rectangle that lies square with the axes. */
export function isSquare(polygon: Polygon): boolean {
  const { x0, y0, x1, y1 } = boxOf(polygon);
  const box = (x1 - x0) * (y1 - y0);
  return box > 0 && Math.abs(Math.abs(areaOf(polygon)) - box) <= 1e-9 * box;
}

/**
 * How far a polygon must be pushed along an axis (0: x, 1: y) to lie wholly past another on either
 * side, just touching it: [backward, forward]; null where it passes clear of it anyway.
 */
export function pushes(moving: Polygon, still: Polygon, axis: 0 | 1, gap = 0): readonly [number, number] | null {
  const cross = axis === 0 ? 1 : 0;
  let [least, most] = [Infinity, -Infinity];
  const see = (of: Polygon, at: Point, sign: 1 | -1): void => {
    eachEdge(of, (a, b) => {
      const [lo, hi] = [Math.min(a[cross], b[cross]), Math.max(a[cross], b[cross])];
      if (hi - lo < 1e-9 || at[cross] < lo || at[cross] > hi) return;
      const t = (at[cross] - a[cross]) / (b[cross] - a[cross]);
      const off = sign * (a[axis] + t * (b[axis] - a[axis]) - at[axis]);
      least = Math.min(least, off);
      most = Math.max(most, off);
    });
  };
  const [m, s] = [boxOf(moving), boxOf(still)];
  const [m0, m1, s0, s1] = axis === 0 ? [m.y0, m.y1, s.y0, s.y1] : [m.x0, m.x1, s.x0, s.x1];
  if (m1 <= s0 + TOUCH_MM - gap || s1 <= m0 + TOUCH_MM - gap) return null;
  // With a gap, pieces side by side within it count too; their boxes say enough.
  if (m1 <= s0 + TOUCH_MM || s1 <= m0 + TOUCH_MM) return boxPushes(m, s, axis, gap);
  for (const at of moving) see(still, at, 1);
  for (const at of still) see(moving, at, -1);
  return most === -Infinity ? null : [least - gap, most + gap];
}

function boxPushes(m: Box, s: Box, axis: 0 | 1, gap: number): readonly [number, number] {
  return axis === 0 ? [s.x0 - m.x1 - gap, s.x1 - m.x0 + gap] : [s.y0 - m.y1 - gap, s.y1 - m.y0 + gap];
}
