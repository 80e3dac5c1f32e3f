import assert from "node:assert/strict";
import { test } from "node:test";
import type { JobFile } from "./engine/halfsplit_wasm.js";
import { SessionCache } from "./sessions.ts";

const CAPACITY = 12;

const jobOf = (altitude_m: number): JobFile => ({ machine: "mower-recoil", altitude_m, steps: [] });

/** A session that counts its own steps, and all that are begun and freed. */
class Counted {
  static begun = 0;
  static freed = 0;
  steps = 0;

  constructor() {
    Counted.begun += 1;
  }

  step(): number {
    return (this.steps += 1);
  }

  free(): void {
    Counted.freed += 1;
  }
}

function newCache(begin: (job: JobFile) => Counted = () => new Counted()): SessionCache<Counted> {
  Counted.begun = 0;
  Counted.freed = 0;
  return new SessionCache(CAPACITY, begin);
}

const step = (sessions: SessionCache<Counted>, job: JobFile): number =>
  sessions.ask(job, (session) => session.step());

test("after a tap on a prefetched result the work continues in its session", () => {
  const sessions = newCache();
  const present = jobOf(0);
  assert.equal(step(sessions, present), 1);
  const results = [1, 2, 3, 4, 5].map(jobOf);
  for (const result of results) assert.equal(step(sessions, result), 1);
  const [, tapped] = results;
  assert.ok(tapped);
  assert.equal(step(sessions, structuredClone(tapped)), 2);
  assert.equal(Counted.begun, 6);
  assert.equal(Counted.freed, 0);
});

test("over a thousand jobs no more sessions stay than the cache holds", () => {
  const sessions = newCache();
  for (let n = 0; n < 1000; n += 1) {
    step(sessions, jobOf(n));
    assert.ok(Counted.begun - Counted.freed <= CAPACITY);
  }
  assert.equal(Counted.begun, 1000);
  assert.equal(Counted.freed, 1000 - CAPACITY);
});

test("the session that was not used for longest is freed", () => {
  const sessions = newCache();
  for (let n = 0; n < CAPACITY; n += 1) step(sessions, jobOf(n));
  step(sessions, jobOf(0));
  step(sessions, jobOf(CAPACITY));
  assert.equal(step(sessions, jobOf(0)), 3);
  assert.equal(step(sessions, jobOf(1)), 1);
});

test("a session that fails is freed, and the next question begins a new one", () => {
  const sessions = newCache();
  const fail = (thrown: unknown) => () =>
    sessions.ask(jobOf(0), () => {
      throw thrown;
    });
  const trouble = { kind: "impossible", steps: [] };
  assert.throws(fail(trouble), trouble);
  assert.equal(Counted.freed, 1);
  // The engine crashed: its memory must not be touched any more.
  assert.throws(fail(new WebAssembly.RuntimeError("unreachable")), WebAssembly.RuntimeError);
  assert.equal(Counted.freed, 1);
  assert.equal(step(sessions, jobOf(0)), 1);
  assert.equal(Counted.begun, 3);
});

test("a job that cannot begin keeps nothing", () => {
  const sessions = newCache(() => {
    throw new Error("no such machine");
  });
  assert.throws(() => step(sessions, jobOf(0)), /no such machine/);
  assert.throws(() => step(sessions, jobOf(0)), /no such machine/);
});
