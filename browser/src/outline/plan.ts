// An outline as a maker changes it: sides from corner to corner, counter-clockwise, x right and y back.
// Every change gives a new plan. No drawing here.

import type { Point } from "../pattern";
import { inchText, MM_PER_INCH } from "../lengths";

export interface Side {
  readonly name: string;
  readonly seen: boolean;
  /** The corner at its end; it begins where the side before it ends. */
  readonly to: Point;
  /** How far it stands out over the straight line between its ends; negative is hollow. */
  readonly rise: number;
  /** Radius of the corner at its end. */
  readonly corner: number;
}

export type Plan = readonly Side[];

const n = (plan: Plan, i: number): number => ((i % plan.length) + plan.length) % plan.length;

export function side(plan: Plan, i: number): Side {
  const found = plan[n(plan, i)];
  if (!found) throw new Error("a plan has no sides");
  return found;
}

export function startOf(plan: Plan, i: number): Point {
  return side(plan, i - 1).to;
}

/** Straight from end to end. */
export function lengthOf(plan: Plan, i: number): number {
  const [a, b] = [startOf(plan, i), side(plan, i).to];
  return Math.hypot(b[0] - a[0], b[1] - a[1]);
}

function wayOf(plan: Plan, i: number): number {
  const [a, b] = [startOf(plan, i), side(plan, i).to];
  return Math.atan2(b[1] - a[1], b[0] - a[0]);
}

/** The angle inside the cushion at the end of a side, degrees, by the straight lines: 90 for square. */
export function angleAt(plan: Plan, i: number): number {
  const turn = wayOf(plan, i + 1) - wayOf(plan, i);
  const left = Math.atan2(Math.sin(turn), Math.cos(turn));
  return 180 - (left * 180) / Math.PI;
}

function changed(plan: Plan, i: number, more: Partial<Side>): Plan {
  const at = n(plan, i);
  return plan.map((s, k) => (k === at ? { ...s, ...more } : s));
}

export function withSide(plan: Plan, i: number, more: Partial<Omit<Side, "to">>): Plan {
  return changed(plan, i, more);
}

/** Move the corner at the end of a side. */
export function moveCorner(plan: Plan, i: number, to: Point): Plan {
  return changed(plan, i, { to });
}

/** Move a whole side: the corners at both its ends. */
export function moveSide(plan: Plan, i: number, by: Point): Plan {
  const shift = ([x, y]: Point): Point => [x + by[0], y + by[1]];
  return changed(changed(plan, i - 1, { to: shift(startOf(plan, i)) }), i, { to: shift(side(plan, i).to) });
}

/** Give a side a length; the side after it goes along with its end, so that corners keep square. */
export function setLength(plan: Plan, i: number, length: number): Plan {
  const old = lengthOf(plan, i);
  if (!(length > 0) || old < 1e-9) return plan;
  const [a, b] = [startOf(plan, i), side(plan, i).to];
  const k = length / old - 1;
  const by: Point = [(b[0] - a[0]) * k, (b[1] - a[1]) * k];
  if (plan.length <= 3) return moveCorner(plan, i, [b[0] + by[0], b[1] + by[1]]);
  return moveSide(plan, i + 1, by);
}

/** Give the corner at the end of a side an angle; the side after it swings round the corner. */
export function setAngle(plan: Plan, i: number, degrees: number): Plan {
  const way = wayOf(plan, i) + ((180 - degrees) * Math.PI) / 180;
  const long = lengthOf(plan, i + 1);
  const [x, y] = side(plan, i).to;
  return moveCorner(plan, i + 1, [x + long * Math.cos(way), y + long * Math.sin(way)]);
}

/** Put a new corner in the middle of a side; the second half takes a name that is free. */
export function addCorner(plan: Plan, i: number): Plan {
  const at = n(plan, i);
  const [a, b] = [startOf(plan, at), side(plan, at).to];
  const old = side(plan, at);
  const first: Side = { ...old, to: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], rise: 0, corner: 0 };
  const second: Side = { ...old, name: freeName(plan, old.name), rise: 0 };
  return [...plan.slice(0, at), first, second, ...plan.slice(at + 1)];
}

/** Take away the corner at the end of a side: it and the next become one straight. Three sides stay. */
export function dropCorner(plan: Plan, i: number): Plan {
  if (plan.length <= 3) return plan;
  const [at, next] = [n(plan, i), n(plan, i + 1)];
  const joined: Side = { ...side(plan, at), to: side(plan, next).to, corner: side(plan, next).corner, rise: 0 };
  return plan.map((s, k) => (k === at ? joined : s)).filter((_, k) => k !== next);
}

export function freeName(plan: Plan, wanted: string): string {
  const names = new Set(plan.map((s) => s.name));
  for (let k = 2; ; k++) if (!names.has(`${wanted} ${k}`)) return `${wanted} ${k}`;
}

/** A plan whose first corner is (0, 0). */
export function fromOrigin(plan: Plan): Plan {
  const [x, y] = startOf(plan, 0);
  return plan.map((s) => ({ ...s, to: [s.to[0] - x, s.to[1] - y] }));
}

/** Enclosed area by corners and bows; negative where the run goes clockwise. */
export function areaOf(plan: Plan): number {
  let area = 0;
  plan.forEach((s, i) => {
    const [a, b] = [startOf(plan, i), s.to];
    area += (a[0] * b[1] - b[0] * a[1]) / 2;
    const chord = lengthOf(plan, i);
    if (s.rise && chord) {
      const r = (chord * chord / 4 + s.rise * s.rise) / (2 * Math.abs(s.rise));
      const sweep = 4 * Math.atan((2 * Math.abs(s.rise)) / chord);
      area += (Math.sign(s.rise) * (r * r * (sweep - Math.sin(sweep)))) / 2;
    }
  });
  return area;
}

/** What is wrong with a plan, in words; null where nothing is. */
export function wrongWith(plan: Plan, shown: (mm: number) => string): string | null {
  const short = plan.findIndex((_, i) => lengthOf(plan, i) < 1);
  if (short >= 0) return `${side(plan, short).name} has no length: move its corners apart, or take one away.`;
  if (areaOf(plan) <= 0) return "The run goes round clockwise: its inside is outside.";
  const cross = crossing(plan);
  if (cross) return `${cross[0]} crosses ${cross[1]}.`;
  const over = bends(plan).over;
  if (over !== null) return `The corners at the ends of ${side(plan, over).name} take more than its ${shown(lengthOf(plan, over))}: make their radius smaller.`;
  return null;
}

function crossing(plan: Plan): [string, string] | null {
  for (let i = 0; i < plan.length; i++) {
    for (let j = i + 2; j < plan.length; j++) {
      if (i === 0 && j === plan.length - 1) continue;
      if (segmentsCross(startOf(plan, i), side(plan, i).to, startOf(plan, j), side(plan, j).to)) return [side(plan, i).name, side(plan, j).name];
    }
  }
  return null;
}

function segmentsCross(a: Point, b: Point, c: Point, d: Point): boolean {
  const turn = (p: Point, q: Point, r: Point): number => (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0]);
  return turn(a, b, c) * turn(a, b, d) < 0 && turn(c, d, a) * turn(c, d, b) < 0;
}

// -- snapping --------------------------------------------------------------------------------

/** The nearest whole step. */
export function snapped(value: number, step: number): number {
  return Math.round(value / step) * step + 0;
}

/** Snap a corner: to the x or y of another corner where that is near, else to whole steps. */
export function snapCorner(plan: Plan, i: number, at: Point, step: number, near: number): { readonly at: Point; readonly onX: boolean; readonly onY: boolean } {
  const others = plan.filter((_, k) => k !== n(plan, i)).map((s) => s.to);
  const line = (axis: 0 | 1): number | null => {
    const found = others.map((p) => p[axis]).sort((p, q) => Math.abs(p - at[axis]) - Math.abs(q - at[axis]))[0];
    return found !== undefined && Math.abs(found - at[axis]) <= near ? found : null;
  };
  const [x, y] = [line(0), line(1)];
  return { at: [x ?? snapped(at[0], step), y ?? snapped(at[1], step)], onX: x !== null, onY: y !== null };
}

// -- the job file's own form -----------------------------------------------------------------

type Length = number | string;

export interface RunSide {
  side: string;
  to: [Length, Length];
  rise?: Length;
  corner?: Length;
}

export interface OutlineKeys {
  shape: "rectangle" | "run";
  width?: Length;
  depth?: Length;
  radius?: Record<string, Length>;
  run?: RunSide[];
  hidden: string[];
}

const USUAL = ["front", "right", "back", "left"] as const;
const CORNERS = ["front_right", "back_right", "back_left", "front_left"] as const;

/** A plan as the keys of a cushion in a job file, lengths in the job's unit. */
export function toJobFile(plan: Plan, unit: "in" | "mm" | "cm" | "m"): OutlineKeys {
  const flat = fromOrigin(plan);
  const write = (mm: number): Length => lengthIn(mm, unit);
  const hidden = [...new Set(flat.filter((s) => !s.seen).map((s) => s.name))].filter((name) => !flat.some((s) => s.name === name && s.seen));
  const across = squareSizes(flat);
  if (across) {
    const radius: Record<string, Length> = {};
    flat.forEach((s, i) => {
      const key = CORNERS[i];
      if (s.corner > 0 && key) radius[key] = write(s.corner);
    });
    const keys: OutlineKeys = { shape: "rectangle", width: write(across[0]), depth: write(across[1]), hidden };
    return Object.keys(radius).length ? { ...keys, radius } : keys;
  }
  const run = flat.map((s) => {
    const one: RunSide = { side: s.name, to: [write(s.to[0]), write(s.to[1])] };
    if (s.rise) one.rise = write(s.rise);
    if (s.corner) one.corner = write(s.corner);
    return one;
  });
  return { shape: "run", run, hidden };
}

/** Width and depth, where a plan is a rectangle with the usual sides. */
function squareSizes(plan: Plan): Point | null {
  if (plan.length !== 4 || plan.some((s, i) => s.name !== USUAL[i] || s.rise !== 0)) return null;
  const [b, c, d] = [side(plan, 0).to, side(plan, 1).to, side(plan, 2).to];
  const same = (x: number, y: number): boolean => Math.abs(x - y) < 0.02;
  return same(b[1], 0) && same(c[0], b[0]) && same(d[0], 0) && same(d[1], c[1]) && b[0] > 0 && c[1] > 0 ? [b[0], c[1]] : null;
}

const PER: Record<string, number> = { mm: 1, cm: 10, m: 1000, in: MM_PER_INCH };

/** A length in a unit: a plain number where that is exact enough, inches to a 32nd as a maker writes them. */
export function lengthIn(mm: number, unit: "in" | "mm" | "cm" | "m"): Length {
  if (unit === "in") {
    const text = plainFraction(mm);
    return text.includes("/") ? text : Number(text);
  }
  const value = Math.round((mm / (PER[unit] ?? 1)) * 1e4) / 1e4;
  const tenth = Math.round(mm * 10) / 10 / (PER[unit] ?? 1);
  return Math.abs(value - tenth) * (PER[unit] ?? 1) < 0.006 ? Number(tenth.toFixed(4)) + 0 : value + 0;
}

/** `3 3/4`, never with a glyph; decimals where a 32nd would be off by more than a fiftieth of a millimetre. */
function plainFraction(mm: number): string {
  const parts = 32;
  const whole = Math.round((Math.abs(mm) / MM_PER_INCH) * parts);
  if (Math.abs((whole / parts) * MM_PER_INCH - Math.abs(mm)) > 0.02) return (Math.round((mm / MM_PER_INCH) * 1e4) / 1e4 + 0).toString();
  const text = inchText(mm, parts).replace(/(\d*)([½¼¾⅛⅜⅝⅞])/, (_, w: string, g: string) => `${w ? `${w} ` : ""}${GLYPHS[g] ?? g}`);
  return text === "-0" ? "0" : text;
}

const GLYPHS: Record<string, string> = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };

// -- bends and drawing data ------------------------------------------------------------------

/** A rounded corner: where it leaves one side and meets the next. */
export interface Bend {
  readonly from: Point;
  readonly to: Point;
  readonly radius: number;
  readonly left: boolean;
}

/** A side as a line, or as a stretch of a circle. */
interface Edge {
  readonly a: Point;
  readonly b: Point;
  readonly circle: { readonly c: Point; readonly r: number; readonly ccw: boolean } | null;
}

const CORNER_RAD = Math.PI / 180;

function edgeOf(plan: Plan, i: number): Edge {
  const [a, b] = [startOf(plan, i), side(plan, i).to];
  const { rise } = side(plan, i);
  const long = lengthOf(plan, i);
  if (!rise || long < 1e-9) return { a, b, circle: null };
  const r = ((long * long) / 4 + rise * rise) / (2 * Math.abs(rise));
  const off = (r - Math.abs(rise)) * Math.sign(rise);
  const c: Point = [(a[0] + b[0]) / 2 - ((b[1] - a[1]) / long) * off, (a[1] + b[1]) / 2 + ((b[0] - a[0]) / long) * off];
  return { a, b, circle: { c, r, ccw: rise > 0 } };
}

function wayAt(edge: Edge, at: Point): Point {
  if (!edge.circle) {
    const long = Math.hypot(edge.b[0] - edge.a[0], edge.b[1] - edge.a[1]) || 1;
    return [(edge.b[0] - edge.a[0]) / long, (edge.b[1] - edge.a[1]) / long];
  }
  const { c, r, ccw } = edge.circle;
  const k = (ccw ? 1 : -1) / r;
  return [-(at[1] - c[1]) * k, (at[0] - c[0]) * k];
}

/** How far along an edge a point of it is, from its start. */
function along(edge: Edge, at: Point): number {
  if (!edge.circle) {
    const [x, y] = wayAt(edge, edge.a);
    return (at[0] - edge.a[0]) * x + (at[1] - edge.a[1]) * y;
  }
  const { c, r, ccw } = edge.circle;
  const angle = (p: Point): number => Math.atan2(p[1] - c[1], p[0] - c[0]);
  const turn = (ccw ? 1 : -1) * (angle(at) - angle(edge.a));
  const full = 2 * Math.PI;
  const t = ((turn % full) + full) % full;
  return r * (t > full - 1e-9 ? 0 : t);
}

function longOf(edge: Edge): number {
  return along(edge, edge.b);
}

/** Every rounded corner, and the side that two of them take more of than there is, if any. */
export function bends(plan: Plan): { readonly bends: (Bend | null)[]; readonly over: number | null } {
  const edges = plan.map((_, i) => edgeOf(plan, i));
  const found = plan.map((s, i) => bendAt(edges[i], edges[n(plan, i + 1)], s));
  const over = edges.findIndex((edge, i) => {
    const [start, end] = [found[n(plan, i - 1)]?.to, found[i]?.from];
    return (start ? along(edge, start) : 0) > (end ? along(edge, end) : longOf(edge)) + 1e-6;
  });
  if (over < 0) return { bends: found, over: null };
  return { bends: found.map((b, i) => (i === over || i === n(plan, over - 1) ? null : b)), over };
}

function bendAt(before: Edge | undefined, after: Edge | undefined, s: Side): Bend | null {
  if (!before || !after || !(s.corner > 0)) return null;
  const [t, u] = [wayAt(before, s.to), wayAt(after, s.to)];
  const turn = Math.atan2(t[0] * u[1] - t[1] * u[0], t[0] * u[0] + t[1] * u[1]);
  if (Math.abs(turn) < CORNER_RAD) return null;
  const by = turn > 0 ? s.corner : -s.corner;
  const [m, q] = [toLeft(before, by), toLeft(after, by)];
  const near = m && q ? meetings(m, q).sort((x, y) => far(x, s.to) - far(y, s.to))[0] : undefined;
  return near ? { from: foot(before, near), to: foot(after, near), radius: s.corner, left: turn > 0 } : null;
}

function far(a: Point, b: Point): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

function toLeft(edge: Edge, by: number): Edge | null {
  if (edge.circle) {
    const r = edge.circle.r - (edge.circle.ccw ? by : -by);
    return r > 1e-6 ? { ...edge, circle: { ...edge.circle, r } } : null;
  }
  const [x, y] = wayAt(edge, edge.a);
  return { a: [edge.a[0] - y * by, edge.a[1] + x * by], b: [edge.b[0] - y * by, edge.b[1] + x * by], circle: null };
}

function foot(edge: Edge, p: Point): Point {
  if (edge.circle) {
    const { c, r } = edge.circle;
    const k = r / (far(p, c) || 1);
    return [c[0] + (p[0] - c[0]) * k, c[1] + (p[1] - c[1]) * k];
  }
  const [x, y] = wayAt(edge, edge.a);
  const t = along(edge, p);
  return [edge.a[0] + x * t, edge.a[1] + y * t];
}

/** Where two edges' whole lines or circles meet. */
function meetings(p: Edge, q: Edge): Point[] {
  if (!p.circle && !q.circle) {
    const [u, v] = [wayAt(p, p.a), wayAt(q, q.a)];
    const cross = u[0] * v[1] - u[1] * v[0];
    if (Math.abs(cross) < 1e-12) return [];
    const t = ((q.a[0] - p.a[0]) * v[1] - (q.a[1] - p.a[1]) * v[0]) / cross;
    return [[p.a[0] + u[0] * t, p.a[1] + u[1] * t]];
  }
  if (p.circle && q.circle) {
    const d = far(p.circle.c, q.circle.c);
    if (d < 1e-9) return [];
    const m = (d * d + p.circle.r ** 2 - q.circle.r ** 2) / (2 * d);
    const u: Point = [(q.circle.c[0] - p.circle.c[0]) / d, (q.circle.c[1] - p.circle.c[1]) / d];
    return onChord([p.circle.c[0] + u[0] * m, p.circle.c[1] + u[1] * m], [-u[1], u[0]], p.circle.r ** 2 - m * m);
  }
  const [line, { circle }] = p.circle ? [q, p] : [p, q];
  if (!circle) return [];
  const u = wayAt(line, line.a);
  const t = along(line, circle.c);
  const base: Point = [line.a[0] + u[0] * t, line.a[1] + u[1] * t];
  return onChord(base, u, circle.r ** 2 - far(base, circle.c) ** 2);
}

function onChord(middle: Point, way: Point, squared: number): Point[] {
  if (squared < 0) return [];
  const h = Math.sqrt(squared);
  return [[middle[0] + way[0] * h, middle[1] + way[1] * h], [middle[0] - way[0] * h, middle[1] - way[1] * h]];
}

const dot = ([x, y]: Point): string => `${x.toFixed(3)} ${(-y).toFixed(3)}`;

/** The way to draw along an edge to a point on it, y downwards. */
function drawTo(edge: Edge, from: Point, to: Point): string {
  if (!edge.circle) return `L${dot(to)}`;
  const { r, ccw } = edge.circle;
  const long = along({ ...edge, a: from }, to);
  return `A${r.toFixed(3)} ${r.toFixed(3)} 0 ${long > Math.PI * r ? 1 : 0} ${ccw ? 0 : 1} ${dot(to)}`;
}

function bendTo(bend: Bend): string {
  return `A${bend.radius.toFixed(3)} ${bend.radius.toFixed(3)} 0 0 ${bend.left ? 0 : 1} ${dot(bend.to)}`;
}

/** The whole outline, and each side up to its bends, as SVG path data, y downwards. */
export function drawn(plan: Plan): { readonly whole: string; readonly sides: string[]; readonly corners: string } {
  const found = bends(plan).bends;
  const sides: string[] = [];
  let whole = "";
  let corners = "";
  plan.forEach((s, i) => {
    const edge = edgeOf(plan, i);
    const from = found[n(plan, i - 1)]?.to ?? edge.a;
    const bend = found[i];
    const to = bend?.from ?? s.to;
    whole += (i ? "" : `M${dot(from)}`) + drawTo(edge, from, to) + (bend ? bendTo(bend) : "");
    sides.push(`M${dot(from)}${drawTo(edge, from, to)}`);
    if (bend) corners += `M${dot(bend.from)}${bendTo(bend)}`;
  });
  return { whole: `${whole}Z`, sides, corners };
}
