import assert from "node:assert/strict";
import { test } from "node:test";
import type { ReadingRecord } from "./engine/halfsplit_wasm.js";
import { draftFrom, numberFrom, readingFrom } from "./reading-draft.ts";

test("a number may be typed with a point or a comma, and nothing else passes for one", () => {
  assert.equal(numberFrom(" 92 "), 92);
  assert.equal(numberFrom("0,75"), 0.75);
  for (const text of ["", "  ", "ninety", "1.2.3", "Infinity", "12psi"]) {
    assert.equal(numberFrom(text), undefined, JSON.stringify(text));
  }
});

test("what is typed becomes a record, in the gauge's own unit unless another was chosen", () => {
  const draft = { mode: "value", first: "92", second: "", unit: null } as const;
  assert.deepEqual(readingFrom(draft, "psi"), { value: 92, unit: "psi" });
  assert.deepEqual(readingFrom({ ...draft, mode: "over", unit: "bar" }, "psi"), {
    over: 92,
    unit: "bar",
  });
});

test("an entry that is no reading is answered in words", () => {
  const between = { mode: "between", first: "90", second: "80", unit: null } as const;
  assert.equal(typeof readingFrom(between, "psi"), "string");
  assert.equal(typeof readingFrom({ ...between, second: "" }, "psi"), "string");
  assert.equal(typeof readingFrom({ ...between, mode: "value", first: "x" }, "psi"), "string");
});

test("correcting a record starts from what was typed", () => {
  const records: ReadingRecord[] = [
    { value: 0.31, unit: "mm" },
    { over: 100, unit: "psi" },
    { between: [5.5, 6], unit: "bar" },
  ];
  for (const record of records) {
    assert.deepEqual(readingFrom(draftFrom(record), "psi"), record);
  }
});
