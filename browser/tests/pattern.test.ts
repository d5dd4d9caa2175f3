import assert from "node:assert/strict";
import { test } from "node:test";
import { anchorShift, latticeSteps, nearestLine, pieceShift, placed, standsOn, stripeAt, turned, within, wrapped } from "../src/pattern";

const STRIPE = { across: 84, along: null, drop: 0 };
const HALF_DROP = { across: 230, along: 320, drop: 160 };

test("a turn of a quarter is exact", () => {
  assert.deepEqual(turned(90, [3, 4]), [-4, 3]);
  assert.deepEqual(turned(270, [3, 4]), [4, -3]);
  assert.deepEqual(placed({ turn: 180, p: 10, q: 20 }, [3, 4]), [7, 16]);
});

test("a remainder lies within one period, a wrapped figure within half of one", () => {
  assert.equal(within(-1, 84), 83);
  assert.equal(within(84, 84), 0);
  assert.equal(wrapped(43, 84), -41);
  assert.equal(wrapped(42, 84), 42);
  assert.equal(wrapped(-42, 84), 42);
});

test("whole steps of the lattice leave a half drop as it was", () => {
  const [i, j] = latticeSteps(HALF_DROP, [230, 160]);
  assert.deepEqual([i, j], [1, 0]);
  assert.deepEqual(latticeSteps(HALF_DROP, [0, 320]), [0, 1]);
  const [m, n] = latticeSteps(HALF_DROP, [57.5, 200]);
  assert.ok(Math.abs(m - 0.25) < 1e-12 && Math.abs(n - 0.5) < 1e-12);
});

test("the cloth goes with the hand: what was under the finger stays under it", () => {
  for (const turn of [0, 90, 180, 270]) {
    for (const follows of [[1, 1], [-1, 1], [1, -1]] as const) {
      const by = [12, -7] as const;
      const anchor = anchorShift(turn, follows, by);
      const shift = pieceShift(follows, anchor);
      const before = placed({ turn, p: 5, q: 9 }, [100, 40]);
      const after = placed({ turn, p: 5 + shift[0], q: 9 + shift[1] }, [112, 33]);
      assert.ok(Math.hypot(after[0] - before[0], after[1] - before[1]) < 1e-9, `turn ${turn}`);
    }
  }
});

test("a mirrored piece goes against its group, and one that is not matched stays", () => {
  assert.deepEqual(pieceShift([-1, 0], [10, 5]), [-10, 0]);
  assert.deepEqual(anchorShift(0, [0, 0], [10, 5]), [0, 0]);
});

test("the line on the centre line is told within one repeat, a half drop by its own column", () => {
  assert.deepEqual(standsOn(STRIPE, { turn: 0, p: -53, q: 9 }, [280, 255]), [within(227, 84), null]);
  assert.deepEqual(standsOn(HALF_DROP, { turn: 0, p: 0, q: 0 }, [230, 160]), [0, 0]);
  assert.deepEqual(standsOn(HALF_DROP, { turn: 0, p: 0, q: 0 }, [230, 0]), [0, 160]);
});

test("the nearest line is found over the end of the repeat", () => {
  const lines = [{ name: "left edge", at: 0 }, { name: "centre", at: 18 }];
  assert.deepEqual(nearestLine(lines, 83, 84), { name: "left edge", off: -1 });
  assert.deepEqual(nearestLine(lines, 17, 84), { name: "centre", off: -1 });
  assert.equal(nearestLine([], 17, 84), null);
});

test("a stripe layout gives the colour at a place", () => {
  const stripes = [{ width: 36, colour: "indigo" }, { width: 9, colour: "linen" }, { width: 39, colour: "sage" }];
  assert.deepEqual([-1, 0, 35.9, 36, 45, 84].map((at) => stripeAt(stripes, at)), ["sage", "indigo", "indigo", "linen", "sage", "indigo"]);
});
