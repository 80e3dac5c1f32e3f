/** A cache of the engine's answers about jobs: for undo, redo and prefetched results. */
import type { Assessment, JobFile, MachineFile } from "../engine/halfsplit_wasm.js";
import { engine } from "../engine-client.ts";
import { dispatch, state } from "./store.ts";

/** How many answers are kept. */
const KEPT = 40;

/** The answers by the text of the job, the most recently used last. */
const answers = new Map<string, Assessment>();

/** Drops every answer, as after a change of language. */
export const forgetAnswers = (): void => answers.clear();

/** The description of a machine, which is requested once. */
export async function machineOf(id: string): Promise<MachineFile> {
  const known = state.peek().machines[id];
  if (known) return known;
  const found = await engine.call("describe", id);
  dispatch({ type: "described", machine: found });
  return found;
}

/** The assessment of a job: the best one in the cache, or a new one. */
export async function assess(file: JobFile): Promise<Assessment> {
  return knownAnswer(file) ?? remember(file, await engine.call("advise", file));
}

/** The assessment of a job; undefined if it is not in the cache. */
export function knownAnswer(file: JobFile): Assessment | undefined {
  const answer = answers.get(JSON.stringify(file));
  return answer && remember(file, answer);
}

/** Whether the assessment of a job is in the cache. */
export const isAnswered = (file: JobFile): boolean => answers.has(JSON.stringify(file));

/** Puts the answer about a job into the cache and drops the least recently used one. */
export function remember(file: JobFile, answer: Assessment): Assessment {
  const text = JSON.stringify(file);
  answers.delete(text);
  answers.set(text, answer);
  for (const oldest of answers.keys()) {
    if (answers.size <= KEPT) break;
    answers.delete(oldest);
  }
  return answer;
}
