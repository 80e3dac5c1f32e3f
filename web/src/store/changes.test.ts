import assert from "node:assert/strict";
import { beforeEach, test } from "node:test";
import type { JobFile } from "../engine/halfsplit_wasm.js";
import type { Answer, Request } from "../protocol.ts";
import { assess, forgetAnswers } from "./answers.ts";
import { begin, correct, record, redo, remove, setUp, undo } from "./changes.ts";
import { assessment, coming, job, machine, notices, pending } from "./store.ts";
import { answerWith, found, jobWith, MACHINE, REFUSAL } from "./testing.ts";

/** The requests that the engine has not answered yet. */
let asked: { readonly request: Request; readonly reply: (answer: object) => void }[] = [];

/** A worker that answers when the test says so. */
class TestWorker extends EventTarget {
  postMessage(request: Request): void {
    const reply = (value: object): void => {
      const data = { id: request.id, ...value } as Answer;
      this.dispatchEvent(Object.assign(new Event("message"), { data }));
    };
    if (request.call === "describe") queueMicrotask(() => reply({ value: MACHINE }));
    else asked.push({ request, reply });
  }
  terminate(): void {}
}
Object.assign(globalThis, { Worker: TestWorker, window: globalThis });

/** Lets everything run that is ready to run. */
const turn = (): Promise<void> => new Promise((done) => setTimeout(done));

/** Answers the oldest question. */
async function answer(value: object): Promise<void> {
  await turn();
  const oldest = asked.shift();
  assert.ok(oldest, "the engine was not asked");
  oldest.reply(value);
  await turn();
}

const ANSWER = answerWith(["air"]);
const agree = (): Promise<void> => answer({ value: ANSWER });
const refuse = (): Promise<void> => answer({ trouble: REFUSAL });
const ids = (): unknown[] | undefined =>
  job.value?.steps?.map((step) => (step.do === "check" ? step.check : step.do));

beforeEach(async () => {
  asked = [];
  forgetAnswers();
  const begun = begin(jobWith("air"));
  await agree();
  assert.equal(await begun, null);
});

test("a change is pending until the engine agrees, and its line is there meanwhile", async () => {
  const recorded = record(found("spark"));
  assert.equal(pending.value, true);
  assert.deepEqual(coming.value, found("spark"));
  assert.deepEqual(ids(), ["air"]);
  await agree();
  assert.equal(await recorded, null);
  assert.deepEqual(ids(), ["air", "spark"]);
  assert.deepEqual([pending.value, coming.value], [false, null]);
  assert.equal(machine.value?.id, MACHINE.id);
});

test("a change that the engine refuses comes back with the reason, and the job stays", async () => {
  const before = job.value;
  const recorded = record(found("spark"));
  await refuse();
  assert.deepEqual({ ...(await recorded), about: null }, { ...REFUSAL, about: null });
  assert.equal(job.value, before);
  assert.equal(assessment.value, ANSWER);
});

test("an answer that was prefetched is taken at once, without waiting for anything", async () => {
  const prefetched = assess(jobWith("air", "spark"));
  await answer({ value: answerWith(["tank"]) });
  await prefetched;
  void record(found("spark"));
  // There is no `await` before this: the page draws the change at the tap.
  assert.deepEqual(ids(), ["air", "spark"]);
  assert.equal(assessment.value?.next?.id, "tank");
  assert.equal(pending.value, false);
  assert.deepEqual(asked, []);
});

test("a second tap while the first one is worked out is not a second finding", async () => {
  const first = record(found("spark"));
  const others = [record(found("spark")), correct(0, found("tank")), remove(0), undo(), redo()];
  await agree();
  await Promise.all([first, ...others]);
  assert.deepEqual(ids(), ["air", "spark"]);
  assert.deepEqual(asked, []);
});

test("other changes wait their turn and start from what came before", async () => {
  void record(found("spark"));
  const file: JobFile = { ...jobWith("tank"), rate_per_hour: 60 };
  const settled = setUp(file);
  await agree();
  assert.deepEqual(ids(), ["air", "spark"]);
  await agree();
  await settled;
  assert.deepEqual(job.value, file);
  void undo();
  assert.deepEqual(ids(), ["air", "spark"]);
});

test("undo and redo need no engine for what it has answered; a refused undo is told", async () => {
  void record(found("spark"));
  await agree();
  void undo();
  assert.deepEqual(ids(), ["air"]);
  void redo();
  assert.deepEqual(ids(), ["air", "spark"]);
  forgetAnswers();
  void undo();
  await refuse();
  assert.equal(notices.value.undo?.kind, REFUSAL.kind);
  assert.deepEqual(ids(), ["air", "spark"]);
});

test("after a crash the change holds, and the engine can be asked again", async () => {
  void record(found("spark"));
  await answer({ fault: "unreachable" });
  assert.deepEqual(ids(), ["air", "spark"]);
  assert.equal(assessment.value, null);
});
