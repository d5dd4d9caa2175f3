import assert from "node:assert/strict";
import { test } from "node:test";
import {
  addCorner, angleAt, areaOf, bends, drawn, dropCorner, fromOrigin, lengthIn, lengthOf, moveCorner, moveSide, setAngle, setLength, snapCorner, startOf,
  toJobFile, withSide, wrongWith, type Plan,
} from "../src/outline/plan";

const mm = (v: number): string => `${v} mm`;
const straight = { seen: true, rise: 0, corner: 0 };
const RECTANGLE: Plan = [
  { name: "front", to: [560, 0], ...straight },
  { name: "right", to: [560, 510], ...straight },
  { name: "back", to: [0, 510], ...straight, seen: false },
  { name: "left", to: [0, 0], ...straight },
];

test("a typed length takes the next side along, so that square corners stay square", () => {
  const longer = setLength(RECTANGLE, 0, 600);
  assert.deepEqual(longer.map((s) => s.to), [[600, 0], [600, 510], [0, 510], [0, 0]]);
  assert.deepEqual([0, 1, 2, 3].map((i) => Math.round(angleAt(longer, i))), [90, 90, 90, 90]);
  assert.equal(setLength(RECTANGLE, 0, 0), RECTANGLE);
});

test("the last side's length moves the first corner, and the plan still begins at its origin", () => {
  const deeper = fromOrigin(setLength(RECTANGLE, 3, 600));
  assert.deepEqual(startOf(deeper, 0), [0, 0]);
  assert.equal(lengthOf(deeper, 3), 600);
  assert.equal(lengthOf(deeper, 1), 600);
});

test("a typed angle swings the next side and keeps its length", () => {
  const leaning = setAngle(RECTANGLE, 0, 112.5);
  assert.ok(Math.abs(angleAt(leaning, 0) - 112.5) < 1e-9);
  assert.ok(Math.abs(lengthOf(leaning, 1) - 510) < 1e-9);
  assert.ok((leaning[1]?.to[0] ?? 0) > 560);
});

test("an inward corner has an angle over 180", () => {
  const ell: Plan = [
    { name: "a", to: [60, 0], ...straight }, { name: "b", to: [60, 30], ...straight }, { name: "c", to: [30, 30], ...straight },
    { name: "d", to: [30, 60], ...straight }, { name: "e", to: [0, 60], ...straight }, { name: "f", to: [0, 0], ...straight },
  ];
  assert.equal(Math.round(angleAt(ell, 2)), 270);
  assert.equal(wrongWith(ell, mm), null);
});

test("a new corner halves a side and takes a name that is free; taking it away gives the side back", () => {
  const more = addCorner(RECTANGLE, 2);
  assert.deepEqual(more.map((s) => s.name), ["front", "right", "back", "back 2", "left"]);
  assert.deepEqual(more[2]?.to, [280, 510]);
  assert.deepEqual([more[2]?.seen, more[3]?.seen], [false, false]);
  assert.deepEqual(dropCorner(more, 2).map((s) => [s.name, s.to]), RECTANGLE.map((s) => [s.name, s.to]));
  const triangle = dropCorner(RECTANGLE, 0);
  assert.equal(dropCorner(triangle, 0), triangle);
});

test("a side moves with both its corners", () => {
  assert.deepEqual(moveSide(RECTANGLE, 2, [0, 40]).map((s) => s.to), [[560, 0], [560, 550], [0, 550], [0, 0]]);
  assert.deepEqual(startOf(moveSide(RECTANGLE, 0, [0, -10]), 0), [0, -10]);
});

test("the area counts bows", () => {
  assert.equal(areaOf(RECTANGLE), 560 * 510);
  const half = withSide(RECTANGLE, 0, { rise: 280 });
  assert.ok(Math.abs(areaOf(half) - (560 * 510 + (Math.PI * 280 * 280) / 2)) < 1e-6);
  assert.ok(areaOf(withSide(RECTANGLE, 0, { rise: -280 })) < 560 * 510);
});

test("what is wrong is said: clockwise, crossed, no length, corners too round", () => {
  assert.match(wrongWith(moveCorner(RECTANGLE, 1, [0, 510]), mm) ?? "", /back has no length/);
  assert.match(wrongWith(moveCorner(RECTANGLE, 0, [-400, 300]), mm) ?? "", /crosses|clockwise/);
  const round = withSide(withSide(RECTANGLE, 0, { corner: 300 }), 1, { corner: 300 });
  assert.match(wrongWith(round, mm) ?? "", /ends of right take more than its 510 mm/);
  assert.equal(wrongWith(withSide(RECTANGLE, 0, { corner: 60 }), mm), null);
});

test("a rounded corner touches both its sides, be they straight or bowed", () => {
  const plan = withSide(withSide(RECTANGLE, 0, { corner: 60, rise: 40 }), 1, { corner: 50 });
  const [first, second] = bends(plan).bends;
  assert.ok(first && second);
  assert.ok(Math.abs(first.to[0] - 560) < 1e-9, "on the right side");
  const r = (280 * 280 + 40 * 40) / 80;
  assert.ok(Math.abs(Math.hypot(first.from[0] - 280, first.from[1] - (r - 40)) - r) < 1e-9, "on the front's own circle");
  assert.deepEqual([second.from, second.to].map((p) => p.map((v) => Math.round(v))), [[560, 460], [510, 510]]);
  assert.match(drawn(plan).whole, /^M0\.000 0\.000A.*Z$/);
});

test("a dragged corner falls in line with another, else on whole steps", () => {
  assert.deepEqual(snapCorner(RECTANGLE, 0, [557, 3], 5, 4), { at: [560, 0], onX: true, onY: true });
  assert.deepEqual(snapCorner(RECTANGLE, 0, [533, 22], 5, 4), { at: [535, 20], onX: false, onY: false });
});

test("a rectangle is written as one, anything else as a run", () => {
  const round = withSide(withSide(RECTANGLE, 0, { corner: 60 }), 3, { corner: 60 });
  assert.deepEqual(toJobFile(round, "mm"), { shape: "rectangle", width: 560, depth: 510, radius: { front_right: 60, front_left: 60 }, hidden: ["back"] });
  const run = toJobFile(withSide(addCorner(RECTANGLE, 0), 0, { rise: -12.7 }), "in");
  assert.equal(run.shape, "run");
  assert.deepEqual(run.run?.[0], { side: "front", to: [11.0236, 0], rise: "-1/2" });
});

test("lengths are written in the job's unit", () => {
  assert.equal(lengthIn(95.25, "in"), "3 3/4");
  assert.equal(lengthIn(-25.4, "in"), -1);
  assert.equal(lengthIn(0, "in"), 0);
  assert.equal(lengthIn(101, "in"), 3.9764);
  assert.equal(lengthIn(487.0956, "mm"), 487.1);
  assert.equal(lengthIn(487.04, "mm"), 487.04);
  assert.equal(lengthIn(559.996, "mm"), 560);
  assert.equal(lengthIn(95, "cm"), 9.5);
});
