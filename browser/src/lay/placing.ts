// Where a piece may lie on the cloth, and what is wrong where it lies: the verifier's own rules, so that
// a piece dragged by hand can be checked as it moves. Frame: the cloth's, (u, v).

import { boxesMeet, boxOf, clearance, isSquare, laid, overlapDepth, pushes, shifted, TOUCH_MM, type Box, type Polygon } from "../plane";
import { turned, wrapped, type ClothLook, type Lattice, type Point } from "../pattern";

export interface Phase {
  readonly group: string;
  readonly p: number | null;
  readonly q: number | null;
  readonly signs: readonly [number, number];
  /** The piece's own place that stands true where the repeat creeps. */
  readonly at?: Point;
}

export interface LaidPiece {
  readonly key: string;
  readonly part_mm: readonly [number, number] | null;
  readonly part: string;
  readonly number: number;
  readonly cushion: string;
  readonly name: string;
  readonly outline: Polygon;
  /** Which layers of cloth cut double it is cut from; nothing where its cloth lies open. */
  readonly layer?: string;
  readonly turn: number;
  readonly turns: readonly number[];
  readonly u: number;
  readonly v: number;
  readonly phase: Phase | null;
}

export interface Flaw {
  readonly u0: number;
  readonly v0: number;
  readonly u1: number;
  readonly v1: number;
  readonly what: string;
}

export interface LayFacts {
  readonly uses: string;
  readonly least: string;
  readonly rows: string | null;
  readonly saved: string | null;
  readonly order: string;
}

export interface LayData {
  readonly cloth: string;
  readonly look: ClothLook;
  readonly width: number;
  readonly length: number;
  readonly lattice: Lattice;
  readonly pattern_at: readonly [number, number];
  /** Where the pattern's line stands at one repeat after another, on a bolt whose repeat creeps. */
  readonly lines?: readonly number[] | null;
  readonly anchors: Readonly<Record<string, readonly [number, number]>>;
  readonly gap: number;
  readonly bolt: number | null;
  readonly flaws: readonly Flaw[];
  /** So far along from the cut end the cloth is folded on its middle, face to face. */
  readonly folded?: number | null;
  readonly pieces: readonly LaidPiece[];
  readonly facts: LayFacts;
  readonly selvage: string;
  readonly inches: boolean;
}

export interface Wrong {
  readonly kind: "width" | "end" | "bolt" | "flaw" | "overlap" | "gap" | "pattern";
  readonly with: string | null;
  readonly mm: number;
}

/** A place on the pattern may be off by this: the verifier's own measure. */
export const PHASE_MM = 1e-2;

export function outlineAt(piece: LaidPiece, u = piece.u, v = piece.v): Point[] {
  return laid(piece.outline, piece.turn, u, v);
}

export function fullName(piece: LaidPiece): string {
  return [piece.cushion, piece.name, piece.layer].filter(Boolean).join(", ");
}

interface Held {
  /** Base place and step; null where the match leaves that way free. */
  readonly u: { readonly at: number; readonly step: number } | null;
  readonly v: { readonly at: number; readonly step: number } | null;
  readonly drop: number;
}

/** How the match holds a piece: the lattice of places that keep its pattern where it must be. */
export function heldBy(lay: LayData, piece: LaidPiece): Held {
  const { phase } = piece;
  const { across, along, drop } = lay.lattice;
  const anchor = phase ? lay.anchors[phase.group] : undefined;
  if (!phase || !anchor) return { u: null, v: null, drop: 0 };
  const u = phase.p === null || across === null ? null : { at: lay.pattern_at[0] + phase.signs[0] * anchor[0] + phase.p, step: across };
  const v = phase.q === null || along === null ? null : { at: lay.pattern_at[1] + phase.signs[1] * anchor[1] + phase.q, step: along };
  return { u, v, drop };
}

/**
 * The place nearest to (u, v) that keeps the pattern where it must be; free ways stay as they are.
 *
 * Where the repeat creeps it is looked for on an even pattern, to which a piece is taken as its matched place is.
 */
export function nearestHeld(lay: LayData, piece: LaidPiece, [u, v]: Point): Point {
  const { lines } = lay;
  if (!lines || !piece.phase || !heldBy(lay, piece).v) return nearestOnEven(lay, piece, [u, v]);
  const up = turned(piece.turn, piece.phase.at ?? [0, 0])[1];
  const first = lay.pattern_at[1];
  const even = evenLines(lines);
  const found = nearestOnEven(lay, piece, [u, first + between(v + up, lines, even) - up]);
  return [found[0], between(found[1] + up - first, even, lines) - up];
}

/** The lines as they would stand on an even pattern with the mean repeat, from nought. */
function evenLines(lines: readonly number[]): number[] {
  const mean = ((lines.at(-1) ?? 0) - (lines[0] ?? 0)) / (lines.length - 1);
  return lines.map((_, i) => i * mean);
}

/** A place measured by one set of lines as another set has it; beyond both ends they go on as they are. */
function between(x: number, from: readonly number[], to: readonly number[]): number {
  const [first, last] = [from[0] ?? 0, from.at(-1) ?? 0];
  if (x <= first) return (to[0] ?? 0) + x - first;
  if (x >= last) return (to.at(-1) ?? 0) + x - last;
  const i = from.findIndex((line) => line > x);
  const [a, b] = [from[i - 1] ?? 0, from[i] ?? 0];
  const [c, d] = [to[i - 1] ?? 0, to[i] ?? 0];
  return c + ((x - a) / (b - a)) * (d - c);
}

function nearestOnEven(lay: LayData, piece: LaidPiece, [u, v]: Point): Point {
  const { u: hu, v: hv, drop } = heldBy(lay, piece);
  if (!hu && !hv) return [u, v];
  if (hu && !hv) return [u - wrapped(u - hu.at, hu.step), v];
  if (!hu && hv) {
    const columns = lay.lattice.across && drop ? 24 : 1;
    const offs = Array.from({ length: columns }, (_, i) => wrapped(v - hv.at - i * drop, hv.step));
    return [u, v - offs.reduce((a, b) => (Math.abs(b) < Math.abs(a) ? b : a))];
  }
  if (!hu || !hv) return [u, v];
  const column = Math.round((u - hu.at) / hu.step);
  const near = [column - 1, column, column + 1].map((i): Point => {
    return [hu.at + i * hu.step, v - wrapped(v - hv.at - i * drop, hv.step)];
  });
  return near.reduce((a, b) => (Math.hypot(b[0] - u, b[1] - v) < Math.hypot(a[0] - u, a[1] - v) ? b : a));
}

/** How far a place is from one that keeps the pattern where it must be. */
export function patternMiss(lay: LayData, piece: LaidPiece, [u, v]: Point): number {
  const [hu, hv] = nearestHeld(lay, piece, [u, v]);
  return Math.max(Math.abs(hu - u), Math.abs(hv - v));
}

/** A step of the match in each way, for moving by keys; null where a way is free. */
export function stepsOf(lay: LayData, piece: LaidPiece): readonly [number | null, number | null] {
  const held = heldBy(lay, piece);
  return [held.u?.step ?? null, held.v?.step ?? null];
}

/** Pieces that lie still, with what is asked of them again and again while another moves. */
export class Neighbours {
  private readonly still: { readonly piece: LaidPiece; readonly outline: Point[]; readonly box: Box; readonly square: boolean }[];

  constructor(
    private readonly lay: LayData,
    moving: LaidPiece,
  ) {
    this.still = lay.pieces
      .filter((p) => p !== moving)
      .map((piece) => {
        const outline = outlineAt(piece);
        return { piece, outline, box: boxOf(outline), square: isSquare(outline) };
      });
  }

  /** Everything that is wrong with a piece where it lies. */
  wrongs(piece: LaidPiece, at: Point): Wrong[] {
    const outline = outlineAt(piece, ...at);
    const box = boxOf(outline);
    const found: Wrong[] = edgeWrongs(this.lay, outline, box);
    const miss = patternMiss(this.lay, piece, at);
    if (miss > PHASE_MM) found.push({ kind: "pattern", with: null, mm: miss });
    const square = isSquare(outline);
    for (const other of this.still) {
      if (!boxesMeet(box, other.box, this.lay.gap)) continue;
      const depth = overlapDepth(outline, other.outline);
      if (depth) {
        found.push({ kind: "overlap", with: fullName(other.piece), mm: depth });
      } else if (this.lay.gap > 0) {
        const clear = square && other.square ? boxClearance(box, other.box) : clearance(outline, other.outline);
        if (clear < this.lay.gap - TOUCH_MM) found.push({ kind: "gap", with: fullName(other.piece), mm: this.lay.gap - clear });
      }
    }
    return found;
  }

  /**
   * The place nearest to where the hand holds a piece: on the pattern where the match asks for it,
   * against a neighbour or an edge where one is within reach along a free way.
   */
  snapped(piece: LaidPiece, hand: Point, reach: number): Point {
    const held = heldBy(this.lay, piece);
    let at = this.withinWidth(piece, nearestHeld(this.lay, piece, hand));
    if (held.u && held.v) return at;
    for (const axis of held.u ? [1] : held.v ? [0] : [1, 0]) at = this.pushed(piece, at, axis as 0 | 1, reach);
    return at;
  }

  /** A place of the match that would stick out over a selvage gives way to the next one within. */
  private withinWidth(piece: LaidPiece, at: Point): Point {
    const step = heldBy(this.lay, piece).u?.step;
    if (!step) return at;
    const box = boxOf(outlineAt(piece, ...at));
    const over = Math.max(0, Math.ceil((box.x1 - this.lay.width - TOUCH_MM) / step));
    const under = Math.max(0, Math.ceil((-box.x0 - TOUCH_MM) / step));
    if (!over === !under) return at; // it lies within, or is wider than the cloth
    return nearestHeld(this.lay, piece, [at[0] + (under - over) * step, at[1]]);
  }

  private pushed(piece: LaidPiece, at: Point, axis: 0 | 1, reach: number): Point {
    const outline = outlineAt(piece, ...at);
    const box = boxOf(outline);
    const offs = axis === 0 ? [-box.x0, this.lay.width - box.x1] : [-box.y0];
    for (const other of this.still) {
      if (!boxesMeet(box, other.box, reach + this.lay.gap)) continue;
      const found = pushes(outline, other.outline, axis, this.lay.gap);
      if (found) offs.push(...found);
      // Edges in line with a neighbour's are welcome too.
      offs.push(...(axis === 0 ? [other.box.x0 - box.x0, other.box.x1 - box.x1] : [other.box.y0 - box.y0, other.box.y1 - box.y1]));
    }
    const near = offs.filter((o) => Math.abs(o) <= reach).sort((a, b) => Math.abs(a) - Math.abs(b));
    const to = (off: number): Point => (axis === 0 ? [at[0] + off, at[1]] : [at[0], at[1] + off]);
    const clear = near.find((off) => !this.runsInto(shifted(outline, axis === 0 ? off : 0, axis === 0 ? 0 : off)));
    return clear === undefined ? at : to(clear);
  }

  private runsInto(outline: Point[]): boolean {
    const box = boxOf(outline);
    if (box.x0 < -TOUCH_MM || box.y0 < -TOUCH_MM || box.x1 > this.lay.width + TOUCH_MM) return true;
    return this.still.some((o) => boxesMeet(box, o.box) && overlapDepth(outline, o.outline) > 0);
  }
}

function edgeWrongs(lay: LayData, outline: Point[], box: Box): Wrong[] {
  const found: Wrong[] = [];
  const out = Math.max(-box.x0, box.x1 - lay.width);
  if (out > TOUCH_MM) found.push({ kind: "width", with: null, mm: out });
  if (-box.y0 > TOUCH_MM) found.push({ kind: "end", with: null, mm: -box.y0 });
  if (lay.bolt !== null && box.y1 > lay.bolt + TOUCH_MM) found.push({ kind: "bolt", with: null, mm: box.y1 - lay.bolt });
  for (const f of lay.flaws) {
    const flaw: Point[] = [[f.u0, f.v0], [f.u1, f.v0], [f.u1, f.v1], [f.u0, f.v1]];
    const depth = overlapDepth(outline, flaw);
    if (depth) found.push({ kind: "flaw", with: f.what, mm: depth });
  }
  return found;
}

function boxClearance(a: Box, b: Box): number {
  return Math.max(b.x0 - a.x1, a.x0 - b.x1, b.y0 - a.y1, a.y0 - b.y1);
}

/** Everything that is wrong with a whole lay, by the key of the piece it is wrong with. */
export function wrongsOf(lay: LayData): Map<string, Wrong[]> {
  const found = new Map<string, Wrong[]>();
  for (const piece of lay.pieces) {
    const wrongs = new Neighbours(lay, piece).wrongs(piece, [piece.u, piece.v]);
    if (wrongs.length) found.set(piece.key, wrongs);
  }
  return found;
}

/** From the cut end to the last cut edge. */
export function lengthOf(pieces: readonly LaidPiece[]): number {
  return Math.max(0, ...pieces.map((p) => boxOf(outlineAt(p)).y1));
}

/** Say one thing that is wrong, lengths as `shown` prints them. */
export function wrongSaid(wrong: Wrong, shown: (mm: number) => string): string {
  const by = shown(wrong.mm);
  switch (wrong.kind) {
    case "width":
      return `outside the usable width by ${by}`;
    case "end":
      return `before the cut end by ${by}`;
    case "bolt":
      return `past the end of the bolt by ${by}`;
    case "flaw":
      return `on a flaw (${wrong.with ?? ""})`;
    case "overlap":
      return `over ${wrong.with ?? "a neighbour"}`;
    case "gap":
      return `nearer to ${wrong.with ?? "a neighbour"} than the knife's gap, by ${by}`;
    case "pattern":
      return `off its place on the pattern by ${by}`;
  }
}
