import assert from "node:assert/strict";
import { test } from "node:test";
import { fullName, lengthOf, nearestHeld, Neighbours, patternMiss, stepsOf, wrongsOf, type LaidPiece, type LayData } from "../src/lay/placing";
import type { Point } from "../src/pattern";

const BOX: Point[] = [[0, 0], [100, 0], [100, 60], [0, 60]];

function piece(key: string, u: number, v: number, more: Partial<LaidPiece> = {}): LaidPiece {
  return { key, part_mm: null, part: key, number: 1, cushion: "", name: key, outline: BOX, turn: 0, turns: [0], u, v, phase: null, ...more };
}

function lay(pieces: LaidPiece[], more: Partial<LayData> = {}): LayData {
  return {
    cloth: "c",
    look: { name: "c", kind: "plain", ground: "#fff", stripes: [], lines: [], motif: null, across: null, along: null, drop: 0 },
    width: 300,
    length: 500,
    lattice: { across: 84, along: null, drop: 0 },
    pattern_at: [14, 0],
    anchors: { g: [5, 0] },
    gap: 0,
    bolt: null,
    flaws: [],
    pieces,
    facts: { uses: "", least: "", rows: "", saved: null, order: "" },
    selvage: "left selvage",
    inches: false,
    ...more,
  };
}

const MATCHED = { phase: { group: "g", p: 2, q: null, signs: [1, 1] as const } };

test("a matched piece is held across in steps of the repeat, and free along", () => {
  const p = piece("a", 21, 0, MATCHED); // 14 + 5 + 2
  const l = lay([p]);
  assert.deepEqual(stepsOf(l, p), [84, null]);
  assert.deepEqual(nearestHeld(l, p, [60, 33]), [21, 33]);
  assert.deepEqual(nearestHeld(l, p, [64, 33]), [105, 33]);
  assert.equal(patternMiss(l, p, [21 + 84, 77]), 0);
  assert.equal(patternMiss(l, p, [26, 0]), 5);
});

test("a mirrored piece is held from the other side of its group's place", () => {
  const p = piece("a", 0, 0, { phase: { group: "g", p: 2, q: null, signs: [-1, 1] } });
  assert.deepEqual(nearestHeld(lay([p]), p, [10, 0]), [11, 0]); // 14 - 5 + 2
});

test("in a half drop the next place across stands half a repeat higher", () => {
  const drop = lay([], { lattice: { across: 230, along: 320, drop: 160 }, pattern_at: [0, 0], anchors: { g: [0, 0] } });
  const p = piece("a", 0, 0, { phase: { group: "g", p: 0, q: 0, signs: [1, 1] } });
  assert.deepEqual(nearestHeld(drop, p, [225, 150]), [230, 160]);
  assert.deepEqual(nearestHeld(drop, p, [20, 290]), [0, 320]);
  const alongOnly = piece("b", 0, 0, { phase: { group: "g", p: null, q: 0, signs: [1, 1] } });
  assert.deepEqual(nearestHeld(drop, alongOnly, [50, 170]), [50, 160]);
});

test("what is wrong is what the verifier would find", () => {
  const still = piece("still", 0, 0);
  const moving = piece("moving", 200, 0, MATCHED);
  const l = lay([still, moving], { bolt: 100, flaws: [{ u0: 120, v0: 0, u1: 130, v1: 10, what: "slub" }] });
  const kinds = (at: Point): string[] => new Neighbours(l, moving).wrongs(moving, at).map((w) => w.kind);
  assert.deepEqual(kinds([189, 20]), []); // 21 + 2 * 84
  assert.deepEqual(kinds([105, 20]), []);
  assert.deepEqual(kinds([105, 5]), ["flaw"]);
  assert.deepEqual(kinds([21, 0]).sort(), ["flaw", "overlap"]);
  assert.deepEqual(kinds([191, 20]), ["pattern"]);
  assert.deepEqual(kinds([273, 20]), ["width"]);
  assert.deepEqual(kinds([189, -3]), ["end"]);
  assert.deepEqual(kinds([189, 41]), ["bolt"]);
});

test("a gap is kept squared between rectangles", () => {
  const a = piece("a", 0, 0);
  const b = piece("b", 102, 62);
  const l = lay([a, b], { gap: 3 });
  assert.deepEqual(new Neighbours(l, b).wrongs(b, [102, 62]).map((w) => [w.kind, Math.round(w.mm)]), [["gap", 1]]);
  assert.deepEqual(new Neighbours(l, b).wrongs(b, [103, 20]), []);
});

test("a free piece snaps against its neighbour and the edges, a matched one only along its free way", () => {
  const still = piece("still", 0, 0);
  const free = piece("free", 150, 200);
  const l = lay([still, free]);
  assert.deepEqual(new Neighbours(l, free).snapped(free, [3, 64], 8), [0, 60]);
  assert.deepEqual(new Neighbours(l, free).snapped(free, [105, 3], 8), [100, 0]);
  assert.deepEqual(new Neighbours(l, free).snapped(free, [196, 150], 8), [200, 150]);
  const matched = piece("matched", 21, 200, MATCHED);
  const m = lay([still, matched]);
  assert.deepEqual(new Neighbours(m, matched).snapped(matched, [30, 64], 8), [21, 60]);
});

test("with a gap it snaps to the gap", () => {
  const still = piece("still", 0, 0);
  const free = piece("free", 0, 200);
  const l = lay([still, free], { gap: 3 });
  assert.deepEqual(new Neighbours(l, free).snapped(free, [2, 65], 8), [0, 63]);
});

test("a whole lay is looked through, and its length is its last cut edge", () => {
  const l = lay([piece("a", 0, 0), piece("b", 100, 0), piece("c", 50, 59)]);
  assert.deepEqual([...wrongsOf(l).keys()].sort(), ["a", "b", "c"]);
  assert.equal(lengthOf(l.pieces), 119);
});

test("a matched piece dragged over the selvage stops at the last place of the match within it", () => {
  const p = piece("a", 21, 0, MATCHED);
  const l = lay([p]);
  assert.deepEqual(new Neighbours(l, p).snapped(p, [280, 40], 8), [189, 40]);
  assert.deepEqual(new Neighbours(l, p).snapped(p, [-50, 40], 8), [21, 40]);
});

test("where the repeat creeps the next place along is the next measured line", () => {
  const lines = [100, 740, 1384, 2020]; // repeats of 640, 644 and 636: 640 on an average
  const print = lay([], { lattice: { across: 170, along: 640, drop: 0 }, pattern_at: [0, 100], anchors: { g: [0, 0] }, lines });
  const p = piece("a", 0, 0, { phase: { group: "g", p: 0, q: -50, signs: [1, 1], at: [0, 50] } });
  // its matched place, 50 up from its origin, stands on the lines themselves
  assert.deepEqual(nearestHeld(print, p, [3, 60]), [0, 50]);
  assert.deepEqual(nearestHeld(print, p, [3, 1300]), [0, 1334]);
  assert.deepEqual(nearestHeld(print, p, [160, 2600]), [170, 2610]);
  assert.equal(patternMiss(print, p, [0, 1330]), 4);
  assert.deepEqual(nearestHeld({ ...print, lines: null }, p, [3, 1300]), [0, 1330]);
});

test("a piece of cloth cut double is called by its layer too", () => {
  assert.equal(fullName(piece("top", 0, 0, { cushion: "Stool", layer: "under layer" })), "Stool, top, under layer");
  assert.equal(fullName(piece("top", 0, 0, { layer: "" })), "top");
});
