import assert from "node:assert/strict";
import { test } from "node:test";
import { isKeptJob, keptJobFrom } from "./kept-job.ts";
import { keptJob } from "./testing.ts";

test("a job that was kept is known again, with or without a seed", () => {
  for (const seed of [null, 1, 9999]) {
    assert.equal(isKeptJob(structuredClone(keptJob({ seed }))), true, String(seed));
  }
});

test("whatever is not of its shape is no job, field by field", () => {
  const wrong: Readonly<Record<string, readonly unknown[]>> = {
    id: [undefined, 7],
    revision: [undefined, "3"],
    changed: [undefined, null],
    job: [undefined, null, {}, { machine: "m", steps: [{ do: "dance" }] }],
    past: [undefined, null, [{ job: null, what: "x" }]],
    future: [undefined, {}],
    chosen: [undefined, "air", { kind: "check" }],
    draft: [undefined, {}, { step: "", known: null }],
    seed: [undefined, "7", 1.5, Number.NaN, {}],
  };
  for (const [name, values] of Object.entries(wrong)) {
    for (const value of values) {
      assert.equal(isKeptJob({ ...keptJob(), [name]: value }), false, `${name}: ${JSON.stringify(value)}`);
    }
  }
  assert.equal(isKeptJob(null), false);
});

test("a job of an older page opens with the names of today", () => {
  const older = { machine: "m", worth: 90, steps: [] };
  const now = { machine: "m", machine_value: 90, steps: [] };
  const mark = { job: older, what: "x" };
  const read = keptJobFrom({ ...keptJob(), job: older, past: [mark], future: [mark] });
  assert.deepEqual(read?.job, now);
  assert.deepEqual(read?.past, [{ job: now, what: "x" }]);
  assert.deepEqual(read?.future, [{ job: now, what: "x" }]);
  assert.equal(keptJobFrom({ machine: "m" }), undefined);
});
