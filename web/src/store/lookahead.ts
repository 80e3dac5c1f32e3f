/**
 * Looks deeper at the next step once an answer is on the bench. Better answers take its place, until there is
 * no more to look at or somebody breaks it off.
 */
import { effect } from "@preact/signals";
import { afterPaint } from "../after-paint.ts";
import { engine } from "../engine-client.ts";
import type { Assessment, JobFile } from "../engine/halfsplit_wasm.js";
import { remember } from "./answers.ts";
import { adviceShown, assessment, dispatch, isSettled, job, pending, screen } from "./store.ts";

/** From now on every answer on the bench is made better. */
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
    // Once the answer that is there has been drawn.
    afterPaint(() => {
      if (mine === turn) void look(present, answer, () => mine === turn);
    });
  });
}

/** The present answer stays where the engine breaks; whoever wants more may ask for it again. */
async function look(present: JobFile, answer: Assessment, wanted: () => boolean): Promise<void> {
  try {
    await lookOneRound(present, answer, wanted);
  } catch {
    if (wanted()) dispatch({ type: "look-ahead", on: false });
  }
}

/** One round in pieces, so that other questions get their turn between them. */
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
