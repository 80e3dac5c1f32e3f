/** Exercises: jobs whose results are drawn at random, not entered. */
import type { StepCard } from "../catalogue.ts";
import type { ActionRecord } from "../engine/halfsplit_wasm.js";
import { engine } from "../engine-client.ts";
import type { Trouble } from "../trouble.ts";
import { troubleOf } from "../trouble-words.ts";
import { begin, record } from "./changes.ts";
import { dispatch, exercise, job } from "./store.ts";

/** Largest seed: seeds must be easy to read out in a classroom. */
export const LARGEST_SEED = 9999;
export const randomSeed = (): number =>
  1 + ((crypto.getRandomValues(new Uint32Array(1))[0] ?? 0) % LARGEST_SEED);

/** Starts an exercise. */
export async function startExercise(machine: string, seed: number): Promise<Trouble | null> {
  try {
    return await begin(await engine.call("exercise", machine, seed), seed);
  } catch (thrown) {
    return troubleOf(thrown);
  }
}

function pickOf(card: StepCard): ActionRecord {
  if (card.kind === "check") return { check: card.id };
  if (card.kind === "repair") return { repair: card.id };
  return { attempt: card.kind === "bypass" ? [card.id] : [] };
}

/** Takes a step: its result is drawn and recorded. */
export async function takeStep(card: StepCard): Promise<Trouble | null> {
  const present = job.peek();
  const seed = exercise.peek()?.seed;
  if (present === null || seed === undefined) return null;
  try {
    return await record(await engine.call("take", present, seed, pickOf(card)));
  } catch (thrown) {
    return troubleOf(thrown);
  }
}

/** Shows what was wrong. */
export async function reveal(): Promise<Trouble | null> {
  const present = job.peek();
  const seed = exercise.peek()?.seed;
  if (present === null || seed === undefined) return null;
  try {
    const hidden = await engine.call("reveal", present, seed);
    const played = await engine.call("play", present.machine, seed);
    dispatch({ type: "revealed", of: present, revealed: { hidden, played } });
    return null;
  } catch (thrown) {
    return troubleOf(thrown);
  }
}
