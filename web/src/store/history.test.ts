import assert from "node:assert/strict";
import { test } from "node:test";
import type { Change } from "./change.ts";
import { jobAfter, REMEMBERED } from "./history.ts";
import { newJob, type JobState } from "./state.ts";
import { found, jobWith } from "./testing.ts";

const start = (...ids: readonly string[]): JobState => newJob("mine", jobWith(...ids), null);

/** The job after the changes, all of which must be possible. */
function made(bench: JobState, ...changes: readonly Change[]): JobState {
  return changes.reduce((job, change) => {
    const next = jobAfter(job, change);
    assert.ok(next, `${change.type} cannot be made`);
    return next;
  }, bench);
}

const record = (id: string): Change => ({ type: "record", step: found(id), what: id });
const UNDO: Change = { type: "undo" };
const REDO: Change = { type: "redo" };

/** Numbers drawn from a linear congruential generator (Numerical Recipes, 1992, section 7.1). */
function draws(seed: number): (below: number) => number {
  let state = seed;
  return (below) => {
    state = (state * 1_664_525 + 1_013_904_223) % 2 ** 32;
    return Math.floor((state / 2 ** 32) * below);
  };
}

/** A random change that is possible now. */
function anyChange(bench: JobState, draw: (below: number) => number, i: number): Change {
  const steps = bench.file.steps?.length ?? 0;
  const kind = steps === 0 ? 0 : draw(4);
  if (kind === 1) return { type: "correct", place: draw(steps), step: found(`corrected ${i}`), what: `${i}` };
  if (kind === 2) return { type: "remove", place: draw(steps), what: `${i}` };
  if (kind === 3) return { type: "set-up", file: { ...bench.file, rate_per_hour: i }, what: `${i}` };
  return record(`recorded ${i}`);
}

test("a step is added at the end, corrected at its place, and taken out", () => {
  const job = made(start("air"), record("spark"));
  assert.deepEqual(job.file, jobWith("air", "spark"));
  const corrected = made(job, { type: "correct", place: 0, step: found("tank"), what: "" });
  assert.deepEqual(corrected.file, jobWith("tank", "spark"));
  assert.deepEqual(made(job, { type: "remove", place: 0, what: "" }).file, jobWith("spark"));
});

test("undo after a change gives back exactly the job before, and redo the job after", () => {
  for (let seed = 1; seed <= 20; seed += 1) {
    const draw = draws(seed);
    const jobs = [start("air", "spark")];
    for (let i = 0; i < 30; i += 1) {
      const job = jobs[i] as JobState;
      jobs.push(made(job, anyChange(job, draw, i)));
    }
    let job = jobs[30] as JobState;
    for (let i = 29; i >= 0; i -= 1) {
      job = made(job, UNDO);
      assert.equal(job.file, jobs[i]?.file, `undo to ${i}`);
      assert.deepEqual(job.past, jobs[i]?.past);
    }
    assert.equal(jobAfter(job, UNDO), null);
    for (let i = 1; i <= 30; i += 1) {
      job = made(job, REDO);
      assert.equal(job.file, jobs[i]?.file, `redo to ${i}`);
      assert.deepEqual(job.past, jobs[i]?.past);
    }
    assert.equal(jobAfter(job, REDO), null);
  }
});

test("the name of a change goes with it through undo and redo", () => {
  const undone = made(start(), record("air"), record("spark"), UNDO);
  assert.equal(undone.future.at(-1)?.what, "spark");
  assert.equal(undone.past.at(-1)?.what, "air");
  assert.equal(made(undone, REDO).past.at(-1)?.what, "spark");
});

test("a new change clears what could be redone", () => {
  const job = made(start(), record("air"), record("spark"), UNDO, UNDO, record("tank"));
  assert.deepEqual(job.future, []);
  assert.equal(jobAfter(job, REDO), null);
});

test("the last 200 changes can be undone, and no more", () => {
  const changes = Array.from({ length: 250 }, (_, i) => record(`${i}`));
  let job = made(start(), ...changes);
  assert.equal(job.past.length, 200);
  assert.equal(REMEMBERED, 200);
  for (let i = 0; i < 200; i += 1) job = made(job, UNDO);
  assert.equal(job.file.steps?.length, 50);
  assert.equal(jobAfter(job, UNDO), null);
});

test("a change of a record that is not there cannot be made", () => {
  assert.equal(jobAfter(start("air"), { type: "remove", place: 1, what: "" }), null);
  assert.equal(jobAfter(start("air"), { type: "correct", place: 1, step: found("tank"), what: "" }), null);
  assert.equal(jobAfter(null, record("air")), null);
});

test("a change drops what was half entered, chosen and found by looking ahead; working it out again keeps it", () => {
  const job: JobState = {
    ...start("air"),
    chosen: { kind: "check", id: "tank" },
    draft: {
      step: "check:tank",
      known: "told",
      reading: { mode: "value", first: "4", second: "", unit: null },
    },
    lookahead: { progress: { rounds: 1, done: 4, of: 8 }, gaveWay: null, stopped: true },
  };
  for (const change of [record("spark"), { type: "remove", place: 0, what: "" } as const]) {
    const { chosen, draft, lookahead } = made(job, change);
    assert.equal(chosen, null);
    assert.deepEqual([draft.step, draft.known, draft.reading.first], ["", null, ""]);
    assert.deepEqual(lookahead, { progress: null, gaveWay: null, stopped: false });
  }
  assert.equal(jobAfter(job, { type: "reassess" }), job);
});

test("another job brings nothing along of the present one", () => {
  const job = made(start("air"), record("spark"), {
    type: "begin",
    id: "other",
    file: jobWith("tank"),
    seed: 7,
    withTrouble: false,
  });
  assert.equal(job.id, "other");
  assert.deepEqual(job.file, jobWith("tank"));
  assert.deepEqual([job.past, job.future], [[], []]);
  assert.deepEqual(job.exercise, { seed: 7, adviceShown: false, revealed: null });
});
