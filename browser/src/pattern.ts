// Where a point of a piece is on the cloth's pattern, and what moving the pattern does.
//
// Frames as on the server: a piece's own (x, y); the pattern's (p, q), which repeats under the
// lattice (across, drop), (0, along). A place is a turn in degrees and a shift:
// (p, q) = R(turn) (x, y) + (p, q). Millimetres throughout.

export type Point = readonly [number, number];

export interface Place {
  readonly turn: number;
  readonly p: number;
  readonly q: number;
}

export interface Lattice {
  /** Repeat across the bolt; null where the pattern does not change that way. */
  readonly across: number | null;
  readonly along: number | null;
  readonly drop: number;
}

export interface Stripe {
  readonly width: number;
  readonly colour: string;
}

export interface NamedLine {
  readonly name: string;
  readonly at: number;
}

export type PatternKind = "plain" | "warp_stripe" | "weft_stripe" | "print";

/** What a cloth looks like, as the server tells it. */
export interface ClothLook extends Lattice {
  readonly name: string;
  readonly kind: PatternKind;
  readonly ground: string;
  readonly stripes: readonly Stripe[];
  readonly lines: readonly NamedLine[];
  readonly motif: { readonly colour: string; readonly outline: readonly Point[] } | null;
}

/** Which way a piece follows its group's place, across and along: 1, -1 (mirrored), 0 not at all. */
export type Follows = readonly [number, number];

const QUARTERS: Record<number, readonly [number, number]> = { 0: [1, 0], 90: [0, 1], 180: [-1, 0], 270: [0, -1] };

/** Cosine and sine of a turn, exact at the quarters. */
export function cosSin(turn: number): readonly [number, number] {
  const known = QUARTERS[((turn % 360) + 360) % 360];
  return known ?? [Math.cos((turn * Math.PI) / 180), Math.sin((turn * Math.PI) / 180)];
}

export function turned(turn: number, [x, y]: Point): Point {
  const [c, s] = cosSin(turn);
  return [c * x - s * y, s * x + c * y];
}

/** Take a point of a piece to the frame its place is in. */
export function placed(place: Place, at: Point): Point {
  const [x, y] = turned(place.turn, at);
  return [x + place.p, y + place.q];
}

/** The remainder of `value` in [0, period). */
export function within(value: number, period: number): number {
  const rest = value - Math.floor(value / period) * period;
  return rest >= period ? 0 : rest;
}

/** `value` less whole periods, in (-period/2, period/2]. */
export function wrapped(value: number, period: number): number {
  return value - period * Math.ceil(value / period - 0.5);
}

/** A point of the pattern in steps of the lattice: one whole step leaves the cloth as it was. */
export function latticeSteps(lattice: Lattice, [p, q]: Point): Point {
  const i = lattice.across ? p / lattice.across : 0;
  const j = lattice.along ? (q - i * lattice.drop) / lattice.along : 0;
  return [i, j];
}

/**
 * How far a group's anchor moves when the cloth is dragged by `by` (in the piece's own frame) over
 * a piece: the cloth goes with the finger, so the pattern's place under the piece goes back.
 */
export function anchorShift(turn: number, follows: Follows, by: Point): Point {
  const [p, q] = turned(turn, by);
  // Written so that nothing is ever minus nought.
  return [follows[0] === 0 ? 0 : 0 - follows[0] * p, follows[1] === 0 ? 0 : 0 - follows[1] * q];
}

/** How far a piece's own shift moves when its group's anchor moves. */
export function pieceShift(follows: Follows, anchor: Point): Point {
  return [follows[0] === 0 ? 0 : follows[0] * anchor[0], follows[1] === 0 ? 0 : follows[1] * anchor[1]];
}

/** The place of the pattern that stands on a point of a piece, within one repeat; null where it does not change. */
export function standsOn(lattice: Lattice, place: Place, at: Point): readonly [number | null, number | null] {
  const [p, q] = placed(place, at);
  // A half drop says along only together with across: the column is told by p.
  const columns = lattice.across ? Math.floor(p / lattice.across) : 0;
  return [
    lattice.across ? within(p, lattice.across) : null,
    lattice.along ? within(q - columns * lattice.drop, lattice.along) : null,
  ];
}

/** The named line nearest to a place across the repeat, and how far the place is to the right of it. */
export function nearestLine(
  lines: readonly NamedLine[],
  at: number,
  period: number,
): { readonly name: string; readonly off: number } | null {
  let best: { name: string; off: number } | null = null;
  for (const line of lines) {
    const off = wrapped(at - line.at, period);
    if (!best || Math.abs(off) < Math.abs(best.off)) best = { name: line.name, off };
  }
  return best;
}

/** The colour of a stripe layout at a place within its repeat. */
export function stripeAt(stripes: readonly Stripe[], at: number): string {
  let edge = 0;
  const period = stripes.reduce((sum, s) => sum + s.width, 0);
  const x = within(at, period);
  for (const stripe of stripes) {
    edge += stripe.width;
    if (x < edge) return stripe.colour;
  }
  return stripes[stripes.length - 1]?.colour ?? "#e9e2d3";
}
