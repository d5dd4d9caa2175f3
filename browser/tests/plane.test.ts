import assert from "node:assert/strict";
import { test } from "node:test";
import { boxOf, clearance, innerPoint, isInside, isSquare, laid, overlapDepth, pushes, shifted, type Polygon } from "../src/plane";

const SQUARE: Polygon = [[0, 0], [10, 0], [10, 10], [0, 10]];
const ELL: Polygon = [[0, 0], [30, 0], [30, 10], [10, 10], [10, 30], [0, 30]];
const WEDGE: Polygon = [[0, 0], [40, 0], [0, 20]];

test("neighbours that share an edge touch, and do not overlap", () => {
  assert.equal(overlapDepth(SQUARE, shifted(SQUARE, 10, 0)), 0);
  assert.equal(overlapDepth(SQUARE, shifted(SQUARE, 10, 4)), 0);
  assert.equal(overlapDepth(SQUARE, shifted(SQUARE, 10, 10)), 0);
  assert.equal(overlapDepth(SQUARE, shifted(SQUARE, 9.9995, 3)), 0);
});

test("an overlap is found however the two lie", () => {
  const cases: [string, Polygon, Polygon][] = [
    ["shifted along one axis, edges in line", SQUARE, shifted(SQUARE, 6, 0)],
    ["shifted a little", SQUARE, shifted(SQUARE, 9.9, 0)],
    ["one upon the other", SQUARE, SQUARE],
    ["one within the other", [[-5, -5], [20, -5], [20, 20], [-5, 20]], SQUARE],
    ["a cross: no corner of either inside the other", [[-5, 3], [15, 3], [15, 7], [-5, 7]], SQUARE],
    ["into the arm of an L", ELL, shifted(SQUARE, 25, 5)],
  ];
  for (const [what, a, b] of cases) {
    assert.ok(overlapDepth(a, b) > 0.01, what);
    assert.ok(overlapDepth(b, a) > 0.01, `${what}, the other way`);
  }
});

test("a piece in the hollow of another does not overlap it", () => {
  assert.equal(overlapDepth(ELL, shifted(SQUARE, 10, 10)), 0);
  assert.equal(overlapDepth(ELL, shifted(SQUARE, 12, 15)), 0);
});

test("two wedges lie along their slants", () => {
  const other = laid(WEDGE, 180, 40, 20);
  assert.equal(overlapDepth(WEDGE, other), 0);
  assert.ok(overlapDepth(WEDGE, shifted(other, -1, 0)) > 0.1);
});

test("a turned piece keeps its size", () => {
  assert.deepEqual(boxOf(laid([[0, 0], [30, 0], [30, 10], [0, 10]], 90, 100, 5)), { x0: 90, y0: 5, x1: 100, y1: 35 });
  assert.ok(isSquare(laid(SQUARE, 270, 3, 4)));
  assert.ok(!isSquare(WEDGE));
});

test("a point inside an L is inside it", () => {
  const at = innerPoint(ELL);
  assert.ok(at && isInside(ELL, at));
});

test("the shortest distance is from corner to corner or to an edge", () => {
  assert.equal(clearance(SQUARE, shifted(SQUARE, 13, 0)), 3);
  assert.ok(Math.abs(clearance(SQUARE, shifted(SQUARE, 13, 14)) - 5) < 1e-12);
});

test("pushed as far as is said, a piece just touches its neighbour and no longer overlaps", () => {
  const wedge = shifted(WEDGE, 3, 7);
  for (const still of [SQUARE, ELL, laid(WEDGE, 180, 44, 22)]) {
    for (const axis of [0, 1] as const) {
      const found = pushes(wedge, still, axis);
      assert.ok(found);
      for (const off of found) {
        const moved = shifted(wedge, axis === 0 ? off : 0, axis === 1 ? off : 0);
        assert.equal(overlapDepth(moved, still), 0);
        const back = shifted(moved, axis === 0 ? -Math.sign(off) : 0, axis === 1 ? -Math.sign(off) : 0);
        assert.ok(overlapDepth(back, still) > 0, `axis ${axis}: a millimetre back it overlaps`);
      }
    }
  }
});

test("a push keeps the knife's gap", () => {
  const [back, on] = pushes(SQUARE, shifted(SQUARE, 4, 2), 0, 3) ?? [0, 0];
  assert.deepEqual([back, on], [-9, 17]);
  assert.equal(pushes(SQUARE, shifted(SQUARE, 0, 20), 0, 3), null);
  assert.deepEqual(pushes(SQUARE, shifted(SQUARE, 2, 12), 0, 3), [-11, 15]);
});
