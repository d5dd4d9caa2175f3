// Sliding the pattern on a cushion: how far each group has been moved, and which line of the
// pattern then stands on whose centre line. No drawing here.

import { anchorShift, nearestLine, pieceShift, standsOn, type ClothLook, type NamedLine, type Place, type Point } from "../pattern";
import type { CushionScene, Patch, Scene } from "./scene";

/** Where one cushion's pattern is asked to stand: what is sent when the hand lets go. */
export interface PinWanted {
  readonly cushion: string;
  readonly cloth: string;
  /** Place on the repeat, mm, that stands on the centre line; null where the pattern does not change so. */
  readonly across_mm: number | null;
  readonly along_mm: number | null;
  /** The named line that stands there, where one does. */
  readonly across_line: string | null;
}

/** Near enough to a named line to be on it. */
export const ON_LINE_MM = 0.25;

export class Sliding {
  private readonly moved = new Map<string, Point>();

  constructor(private readonly scene: Scene) {}

  of(group: string | null): Point {
    return (group && this.moved.get(group)) || [0, 0];
  }

  set(group: string, anchor: Point): void {
    this.moved.set(group, anchor);
  }

  all(): ReadonlyMap<string, Point> {
    return new Map(this.moved);
  }

  /** Drag the cloth over a patch, by millimetres of its own frame, from where its group stood at `from`. */
  drag(patch: Patch, from: Point, by: Point): Point {
    const [a, b] = anchorShift(patch.turn, patch.follows, by);
    return [from[0] + a, from[1] + b];
  }

  /** Where a patch's piece is on the pattern now. */
  placeOf(patch: Patch): Place {
    const [p, q] = pieceShift(patch.follows, this.of(patch.group));
    return { turn: patch.turn, p: patch.p + p, q: patch.q + q };
  }

  cloth(id: string): ClothLook | undefined {
    return this.scene.cloths[id];
  }

  /** Snap an anchor so that a named line stands on this cushion's centre line, where it nearly does. */
  snapped(cushion: CushionScene, group: string, anchor: Point, withinMm: number): { anchor: Point; line: NamedLine | null } {
    const top = topOf(cushion);
    const look = top && this.cloth(top.cloth);
    if (!top || !look || top.group !== group || !look.across || top.follows[0] === 0 || !cushion.pin) return { anchor, line: null };
    const place = { turn: top.turn, p: top.p + top.follows[0] * anchor[0], q: top.q };
    const at = standsOn(look, place, cushion.pin.centre)[0];
    const near = at === null ? null : nearestLine(look.lines, at, look.across);
    if (!near || Math.abs(near.off) > withinMm) return { anchor, line: null };
    const line = look.lines.find((l) => l.name === near.name) ?? null;
    return { anchor: [anchor[0] - top.follows[0] * near.off, anchor[1]], line };
  }

  /**
   * The pins that put a group where it has been slid to: those cushions of it that were pinned
   * already, else the one that was dragged, else the first of the group.
   */
  pins(group: string, dragged: CushionScene): PinWanted[] {
    const first = this.scene.cushions.filter((c) => c.number === 1 && topOf(c)?.group === group);
    const pinned = first.filter((c) => c.pin && (c.pin.pinned[0] || c.pin.pinned[1]));
    const own = first.filter((c) => c.id === dragged.id);
    const chosen = pinned.length ? pinned : own.length ? own : first.slice(0, 1);
    return chosen.flatMap((c) => this.pin(c) ?? []);
  }

  private pin(cushion: CushionScene): PinWanted | null {
    const top = topOf(cushion);
    const look = top && this.cloth(top.cloth);
    if (!top || !look || !cushion.pin) return null;
    const [across, along] = standsOn(look, this.placeOf(top), cushion.pin.centre);
    const near = across === null || !look.across ? null : nearestLine(look.lines, across, look.across);
    return {
      cushion: cushion.id,
      cloth: top.cloth,
      across_mm: across === null ? null : Math.round(across * 100) / 100,
      along_mm: along === null ? null : Math.round(along * 100) / 100,
      across_line: near && Math.abs(near.off) <= ON_LINE_MM ? near.name : null,
    };
  }
}

/** The patch of a cushion's main top panel. */
export function topOf(cushion: CushionScene): Patch | undefined {
  return cushion.patches.find((p) => p.part === cushion.pin?.part) ?? cushion.patches.find((p) => p.face === "top");
}
