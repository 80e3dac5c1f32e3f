/**
 * Runs the lookahead once an answer is on the bench. Better answers replace the first one until the lookahead
 * is complete or the user stops it.
 */
import { effect } from "@preact/signals";
import { afterPaint } from "../after-paint.ts";
import { engine } from "../engine-client.ts";
import type { Assessment, JobFile } from "../engine/halfsplit_wasm.js";
import { remember } from "./answers.ts";
import { adviceShown, assessment, dispatch, isSettled, job, pending, screen } from "./store.ts";

/** Starts to improve every answer on the bench by lookahead. */
export function startLookahead(): void {
  let turn = 0;
  effect(() => {
    const present = job.value;
    const answer = assessment.value;
    const shown = screen.value === "bench" && adviceShown.value;
    const wanted = shown && !pending.value && !isSettled.value;
    turn += 1;
    const mine = turn;
    if (present === null || answer === null || !wanted) return;
    // The present answer is drawn first.
    afterPaint(() => {
      if (mine === turn) void look(present, answer, () => mine === turn);
    });
  });
}

/** Runs the lookahead on a job. If the engine fails, the answer stays and the user may start the lookahead again. */
async function look(present: JobFile, answer: Assessment, wanted: () => boolean): Promise<void> {
  try {
    await lookOneRound(present, answer, wanted);
  } catch {
    if (wanted()) dispatch({ type: "look-ahead", on: false });
  }
}

/** Runs one round of the lookahead in pieces, so that other questions get their turn in between. */
async function lookOneRound(present: JobFile, answer: Assessment, wanted: () => boolean): Promise<void> {
  const progress = await engine.call("look_ahead", present);
  if (!wanted()) return;
  if (progress.rounds <= answer.lookahead.rounds) {
    dispatch({ type: "looked-ahead", of: present, progress });
    await lookOneRound(present, answer, wanted);
    return;
  }
  const better = await engine.call("advise", present);
  if (!wanted()) return;
  remember(present, better);
  dispatch(
    { type: "looked-ahead", of: present, progress },
    { type: "improved", of: present, assessment: better },
  );
}
