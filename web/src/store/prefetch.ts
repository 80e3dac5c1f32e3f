/**
 * Computes the answers to every possible result of the step in view, and to the reading that is being typed,
 * while the user works on the machine. A tap then shows its answer at once.
 */
import { effect } from "@preact/signals";
import { afterPaint } from "../after-paint.ts";
import type { JobFile, StepRecord } from "../engine/halfsplit_wasm.js";
import { stepsOf } from "../job-file.ts";
import { assess, isAnswered } from "./answers.ts";
import { possibleRecords } from "./entered.ts";
import { assessment, draft, exercise, isSettled, job, pending, screen, stepOnBench } from "./store.ts";

/** Starts to compute answers in advance. */
export function startPrefetch(): void {
  let turn = 0;
  // Answers are computed one at a time, so that the user never waits for more than one of them.
  let last: Promise<void> = Promise.resolve();
  effect(() => {
    const present = job.value;
    // The lookahead on the present answer comes before the prefetch.
    const idle = !pending.value && assessment.value !== null && screen.value === "bench" && isSettled.value;
    // The possible records depend on these signals, too.
    void stepOnBench.value;
    void draft.value;
    turn += 1;
    const mine = turn;
    if (!idle || present === null || exercise.value !== null) return;
    // The present answer is drawn first.
    afterPaint(() => {
      if (mine === turn) last = last.then(() => prefetch(present, recordsInView(), () => mine === turn));
    });
  });
}

/** The possible records of the step in view. */
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
    // One at a time, so that a real request waits for one answer at most.
    // Errors are dropped here: they are reported when the finding is entered.
    // oxlint-disable-next-line no-await-in-loop
    await assess(then).catch(() => undefined);
  }
}
