/** Exercises: a job whose results are drawn, not entered. */
import { signal } from "@preact/signals";
import type { StepCard } from "../catalogue.ts";
import type { ActionRecord, Hidden, Played } from "../engine/halfsplit_wasm.js";
import { engine } from "../engine-client.ts";
import type { Trouble } from "../trouble.ts";
import { begin, record, stepsOf, troubleOf } from "./answers.ts";
import { job, seed } from "./bench.ts";

/** Whether the advice is shown in an exercise. */
export const adviceShown = signal(false);

/** What was wrong, and how the advice would have gone about it; once somebody asked. */
export const revealed = signal<{ readonly hidden: Hidden; readonly played: Played } | null>(null);

/** Seeds are numbers that can be read out across a classroom. */
export const LARGEST_SEED = 9999;
export const randomSeed = (): number =>
  1 + ((crypto.getRandomValues(new Uint32Array(1))[0] ?? 0) % LARGEST_SEED);

/** Starts an exercise. */
export async function startExercise(machine: string, number: number): Promise<Trouble | null> {
  try {
    const made = await engine.call("exercise", machine, number);
    adviceShown.value = false;
    revealed.value = null;
    return await begin(made, number);
  } catch (thrown) {
    return troubleOf(thrown);
  }
}

function pickOf(card: StepCard): ActionRecord {
  if (card.kind === "check") return { check: card.id };
  if (card.kind === "repair") return { repair: card.id };
  return { attempt: card.kind === "bypass" ? [card.id] : [] };
}

/** Takes a step: what it shows is drawn and recorded. */
export async function takeStep(card: StepCard): Promise<Trouble | null> {
  const present = job.value;
  if (present === null || seed.value === null) return null;
  try {
    const made = await engine.call("take", present, seed.value, pickOf(card));
    return await record(made);
  } catch (thrown) {
    return troubleOf(thrown);
  }
}

/** Shows what was wrong. */
export async function reveal(): Promise<Trouble | null> {
  const present = job.value;
  const number = seed.value;
  if (present === null || number === null) return null;
  try {
    const hidden = await engine.call("reveal", present, number);
    const played = await engine.call("play", present.machine, number);
    revealed.value = { hidden, played };
    return null;
  } catch (thrown) {
    return troubleOf(thrown);
  }
}

/** Whether the engine ran at the last plain try. */
export function ranLast(): boolean {
  const last = stepsOf(job.value).findLast((step) => step.do === "attempt");
  const plain = last?.do === "attempt" && (last.bypass ?? []).length === 0;
  return plain && last.outcome === "runs";
}
