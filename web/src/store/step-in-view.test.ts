import assert from "node:assert/strict";
import { test } from "node:test";
import { stepText } from "../catalogue.ts";
import type { Assessment, StepRecord } from "../engine/halfsplit_wasm.js";
import { newJob, type JobState } from "./state.ts";
import { stepInView } from "./step-in-view.ts";
import { advice, answerWith, jobWith, MACHINE } from "./testing.ts";

const job = (part: Partial<JobState> = {}): JobState => ({
  ...newJob("mine", jobWith("air"), null),
  ...part,
});
const view = (bench: JobState, answer: Assessment): string | undefined => {
  const key = stepInView(bench, MACHINE, answer);
  return key && stepText(key);
};

const REPAIR: StepRecord = { do: "repair", repair: "mend" };
const repaired = job({ file: { machine: "machine", steps: [REPAIR] } });

test("the advised step is in view, unless another one was chosen that the machine has", () => {
  const answer = answerWith(["spark", "tank"]);
  assert.equal(view(job(), answer), "check:spark");
  assert.equal(view(job({ chosen: { kind: "check", id: "tank" } }), answer), "check:tank");
  assert.equal(view(job({ chosen: { kind: "check", id: "gone" } }), answer), "check:spark");
  const stop = { kind: "hand-over", id: "hand-over" } as const;
  assert.equal(view(job({ chosen: stop }), answer), "hand-over:hand-over");
});

test("nothing is in view where nothing is advised and nothing was chosen", () => {
  assert.equal(view(job(), answerWith([])), undefined);
});

test("an attempt follows a repair, if it can be made and no other repair is advised", () => {
  assert.equal(view(repaired, answerWith(["spark", "attempt"])), "attempt:attempt");
  assert.equal(view(repaired, answerWith(["spark"])), "check:spark");
  const next = { ...advice("mend"), kind: "repair" } as const;
  const answer = { ...answerWith(["spark", "attempt"]), next } as Assessment;
  assert.equal(view(repaired, answer), "repair:mend");
});

test("an exercise shows no advice until somebody asks, but what was chosen", () => {
  const exercise = { seed: 7, adviceShown: false, revealed: null };
  const answer = answerWith(["spark", "tank"]);
  assert.equal(view(job({ exercise }), answer), "attempt:attempt");
  assert.equal(view(job({ exercise, chosen: { kind: "check", id: "tank" } }), answer), "check:tank");
  assert.equal(view(job({ exercise: { ...exercise, adviceShown: true } }), answer), "check:spark");
});
