import assert from "node:assert/strict";
import { test } from "node:test";
import { ringsBetween, tubeFrames } from "../src/view/body";
import type { CushionScene, Patch, Scene } from "../src/view/scene";
import { Sliding } from "../src/view/sliding";

function patch(part: string, group: string | null, more: Partial<Patch> = {}): Patch {
  return { part, name: part, face: "top", cloth: "c", local: [], solid: [], faces: [], turn: 0, p: 0, q: 0, group, follows: [1, 0], ...more };
}

function cushion(id: string, patches: Patch[], pinned: [boolean, boolean] = [false, false]): CushionScene {
  return {
    id, number: 1, count: 1, name: id, sizes: ["", "", ""], thickness: 75, outline: [], sides: [], patches, tubes: [], zip: null, seams: [],
    pin: { part: `${id}.top`, cloth: "c", centre: [100, 50], pinned },
  };
}

function scene(cushions: CushionScene[]): Scene {
  const look = {
    name: "Stripe", kind: "warp_stripe" as const, ground: "#fff", across: 84, along: null, drop: 0, motif: null,
    stripes: [{ width: 36, colour: "#000" }, { width: 48, colour: "#fff" }],
    lines: [{ name: "centre of indigo", at: 18 }, { name: "left edge of indigo", at: 0 }],
  };
  return { cloths: { c: look }, cushions, rows: [], more: 0, inches: false };
}

test("all pieces of a group go together, the mirrored one the other way, the unmatched one not", () => {
  const seat = cushion("seat", [patch("seat.top", "g"), patch("seat.band", "g", { follows: [-1, 0] }), patch("seat.bottom", null, { follows: [0, 0] })]);
  const sliding = new Sliding(scene([seat]));
  sliding.set("g", [12, 0]);
  assert.deepEqual(seat.patches.map((p) => sliding.placeOf(p).p), [12, -12, 0]);
});

test("near a named line the drag snaps on to it, and the pin names the line", () => {
  const seat = cushion("seat", [patch("seat.top", "g")]);
  const sliding = new Sliding(scene([seat]));
  // 100 mm is the centre: p = 16 there.
  const { anchor, line } = sliding.snapped(seat, "g", [1, 0], 1.5);
  assert.equal(line?.name, "centre of indigo");
  sliding.set("g", anchor);
  assert.deepEqual(sliding.pins("g", seat), [{ cushion: "seat", cloth: "c", across_mm: 18, along_mm: null, across_line: "centre of indigo" }]);
  assert.deepEqual(sliding.snapped(seat, "g", [7, 0], 1.5), { anchor: [7, 0], line: null });
});

test("the cushions that were pinned carry the new pin; else the one that was dragged", () => {
  const left = cushion("left", [patch("left.top", "g")]);
  const middle = cushion("middle", [patch("middle.top", "g", { p: 30 })], [true, false]);
  const sliding = new Sliding(scene([left, middle]));
  sliding.set("g", [5, 0]);
  assert.deepEqual(sliding.pins("g", left).map((p) => [p.cushion, p.across_mm]), [["middle", 51]]);
  const free = new Sliding(scene([left, cushion("right", [patch("right.top", "g")])]));
  assert.deepEqual(free.pins("g", left).map((p) => p.cushion), ["left"]);
});

test("a tube stands outward all round, further out at a corner so that its sides stay parallel", () => {
  const frames = tubeFrames([[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0], [0, 0, 0]]);
  for (const { at, out } of frames) assert.ok((at[0] - 5) * out[0] + (at[1] - 5) * out[1] > 0);
  const [, corner] = frames;
  assert.ok(corner && Math.abs(corner.out[0] - 1) < 1e-9 && Math.abs(corner.out[1] + 1) < 1e-9);
});

test("the rings of one part of a strip begin and end where the part does", () => {
  const s = [0, 10, 20, 30];
  const frames = s.map((x) => ({ at: [x, 0, 0] as const, out: [0, -1, 0] as const }));
  assert.deepEqual(ringsBetween(s, frames, 4, 25).map((r) => [r.s, r.at[0]]), [[4, 4], [10, 10], [20, 20], [25, 25]]);
});
