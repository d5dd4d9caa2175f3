// The cushions as the server tells them: see src/squab/web/scene.py.

import type { ClothLook, Follows, Point } from "../pattern";

export type Vec3 = readonly [number, number, number];

export interface Patch {
  readonly part: string;
  readonly name: string;
  readonly face: "top" | "bottom" | "wall";
  readonly cloth: string;
  readonly local: readonly Point[];
  readonly solid: readonly Vec3[];
  readonly faces: readonly number[];
  readonly turn: number;
  readonly p: number;
  readonly q: number;
  readonly group: string | null;
  readonly follows: Follows;
}

export interface TubePart {
  readonly from: number;
  readonly turn: number;
  readonly p: number;
  readonly q: number;
}

export interface Tube {
  readonly edge: string;
  readonly part: string;
  readonly name: string;
  readonly cloth: string;
  readonly radius: number;
  readonly s: readonly number[];
  readonly path: readonly Vec3[];
  readonly parts: readonly TubePart[];
  readonly s0: number;
  readonly middle: number;
}

export interface Seam {
  readonly kind: string;
  readonly side: string;
  readonly edge: string;
  readonly seen: boolean;
  readonly piped: boolean;
  readonly path: readonly Vec3[];
  readonly verdict: "good" | "say so" | "miss" | "not matched" | null;
  readonly said?: string;
  readonly worst?: string;
  readonly off?: readonly number[];
}

export interface Pin {
  readonly part: string;
  readonly cloth: string;
  readonly centre: Point;
  readonly pinned: readonly [boolean, boolean];
}

export interface Side {
  readonly name: string;
  readonly at: Point;
  readonly faces: Point;
  readonly seen: boolean;
}

export interface CushionScene {
  readonly id: string;
  readonly number: number;
  readonly count: number;
  readonly name: string;
  readonly sizes: readonly [string, string, string];
  readonly thickness: number;
  readonly outline: readonly Point[];
  readonly sides: readonly Side[];
  readonly patches: readonly Patch[];
  readonly tubes: readonly Tube[];
  readonly zip: { readonly path: readonly Vec3[]; readonly out: readonly Vec3[]; readonly sliders: number } | null;
  readonly seams: readonly Seam[];
  readonly pin: Pin | null;
}

export interface Row {
  readonly name: string;
  readonly cushions: readonly { readonly id: string; readonly turn: number; readonly x: number; readonly y: number }[];
}

export interface Scene {
  readonly cloths: Readonly<Record<string, ClothLook>>;
  readonly cushions: readonly CushionScene[];
  readonly rows: readonly Row[];
  readonly more: number;
  readonly inches: boolean;
}
