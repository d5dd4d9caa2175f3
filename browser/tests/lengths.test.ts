import assert from "node:assert/strict";
import { test } from "node:test";
import { inchText, readLength, shown } from "../src/lengths";

test("lengths are read as makers write them", () => {
  const cases: [string, "in" | "mm", number | null][] = [
    ["3 3/4", "in", 95.25], ["3-3/4\"", "in", 95.25], ["3¾", "in", 95.25], ["1' 2 1/2\"", "in", 368.3], ["95 mm", "in", 95],
    ["9.5cm", "mm", 95], ["0,75 m", "mm", 750], ["560", "mm", 560], ["22", "in", 558.8], ["-12", "mm", -12], ["−1/2", "in", -12.7],
    ["", "mm", null], ["twenty", "mm", null], ["24 3/", "in", null], ["5 mm 3 m", "mm", null], ["1/0", "in", null],
  ];
  for (const [text, unit, mm] of cases) {
    const found = readLength(text, unit);
    if (mm === null) assert.equal(found, null, text);
    else assert.ok(found !== null && Math.abs(found - mm) < 1e-9, `${text}: ${found}`);
  }
});

test("inches are printed as fractions in lowest terms", () => {
  assert.equal(inchText(95.25), "3¾");
  assert.equal(inchText(25.4 * (2 + 3 / 16)), "2 3/16");
  assert.equal(inchText(25.4 / 16), "1/16");
  assert.equal(inchText(25.4 * 1.999), "2");
  assert.equal(shown(487.4, false), "487 mm");
  assert.equal(shown(95.25, true), "3¾ in");
});
