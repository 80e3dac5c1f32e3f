/**
 * Computes in advance, while somebody is busy at the machine, the answer to every possible result of the step
 * in view, and to the reading that is being typed. A tap then shows its answer at once.
 */
import { effect } from "@preact/signals";
import { afterPaint } from "../after-paint.ts";
import type { JobFile, StepRecord } from "../engine/halfsplit_wasm.js";
import { stepsOf } from "../job-file.ts";
import { assess, isAnswered } from "./answers.ts";
import { possibleRecords } from "./entered.ts";
import { assessment, draft, exercise, isSettled, job, pending, screen, stepOnBench } from "./store.ts";

/** From now on answers are computed in advance. */
export function startPrefetch(): void {
  let turn = 0;
  // One after the other, also from one step to the next: nobody ever waits for more than one answer.
  let last: Promise<void> = Promise.resolve();
  effect(() => {
    const present = job.value;
    // The answer that is there is worth more than those that may come.
    const idle = !pending.value && assessment.value !== null && screen.value === "bench" && isSettled.value;
    // What may be recorded depends on these, too.
    void stepOnBench.value;
    void draft.value;
    turn += 1;
    const mine = turn;
    if (!idle || present === null || exercise.value !== null) return;
    // Once the answer that is there has been drawn.
    afterPaint(() => {
      if (mine === turn) last = last.then(() => prefetch(present, recordsInView(), () => mine === turn));
    });
  });
}

/** What may be recorded of the step in view. */
function recordsInView(): StepRecord[] {
  const card = stepOnBench.peek();
  return card === undefined ? [] : possibleRecords(card);
}

async function prefetch(
  present: JobFile,
  records: readonly StepRecord[],
  wanted: () => boolean,
): Promise<void> {
  for (const next of records) {
    const then: JobFile = { ...present, steps: [...stepsOf(present), next] };
    if (isAnswered(then)) continue;
    if (!wanted()) return;
    // One at a time: whatever is really asked for then waits for one answer at most.
    // Findings that cannot be true, and a job that is too long, are told when they are entered.
    // oxlint-disable-next-line no-await-in-loop
    await assess(then).catch(() => undefined);
  }
}
