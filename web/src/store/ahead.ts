/**
 * Works out, while somebody is busy at the machine, what every result of the step in view would lead
 * to, and the reading that is being typed: a tap then shows its answer at once.
 */
import { effect } from "@preact/signals";
import { stepOnBench } from "../bench/current-step.ts";
import { enteredKnown, enteredReading } from "../bench/entered.ts";
import { recordOf } from "../catalogue.ts";
import type { JobFile, StepRecord } from "../engine/halfsplit_wasm.js";
import { assess, assessment, isAnswered, machine, pending, stepsOf } from "./answers.ts";
import { afterPaint } from "../ui/after-paint.ts";
import { chosen, draft, job, seed, view } from "./bench.ts";
import { isSettled } from "./further.ts";

/** What may be recorded next of the step in view, as it is being entered. */
function records(): StepRecord[] {
  const card = stepOnBench(machine.value, assessment.value)?.card;
  if (card === undefined) return [];
  if (card.kind === "repair") return [recordOf(card, "", undefined)];
  const results = card.results.map((result) => recordOf(card, result.id, enteredKnown(card)));
  const reading = enteredReading(card);
  // What is no number yet is judged when it is recorded.
  return typeof reading === "object" ? [reading, ...results] : results;
}

/** From now on answers are worked out ahead. */
export function lookAhead(): void {
  let turn = 0;
  // One after the other, also from one step to the next: nobody ever waits for more than one answer.
  let last: Promise<void> = Promise.resolve();
  effect(() => {
    const present = job.value;
    // The answer that is there is worth more than those that may come.
    const idle = !pending.value && assessment.value !== null && view.value === "bench" && isSettled.value;
    // What is on the bench changes with these, too.
    void chosen.value;
    void draft.value;
    turn += 1;
    const mine = turn;
    if (!idle || present === null || seed.value !== null) return;
    // Once the answer that is there has been drawn.
    afterPaint(() => {
      if (mine === turn) last = last.then(() => workOut(present, records(), () => mine === turn));
    });
  });
}

async function workOut(
  present: JobFile,
  nexts: readonly StepRecord[],
  wanted: () => boolean,
): Promise<void> {
  for (const next of nexts) {
    const then: JobFile = { ...present, steps: [...stepsOf(present), next] };
    if (isAnswered(then)) continue;
    if (!wanted()) return;
    // One at a time: whatever is really asked for then waits for one answer at most.
    // Findings that cannot be true, and a job that is too long, are told when they are entered.
    // oxlint-disable-next-line no-await-in-loop
    await assess(then).catch(() => undefined);
  }
}

