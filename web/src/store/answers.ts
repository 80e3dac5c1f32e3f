/** The engine's answers about jobs, kept for a while: of what was undone, and of possible next results. */
import type { Assessment, JobFile, MachineFile } from "../engine/halfsplit_wasm.js";
import { engine } from "../engine-client.ts";
import { dispatch, state } from "./store.ts";

/** How many answers are kept. */
const KEPT = 40;

/** By the text of the job; the one used last at the end. */
const answers = new Map<string, Assessment>();

/** Drops every answer: the engine speaks another language. */
export const forgetAnswers = (): void => answers.clear();

/** The description of a machine; asked for once. */
export async function machineOf(id: string): Promise<MachineFile> {
  const known = state.peek().machines[id];
  if (known) return known;
  const found = await engine.call("describe", id);
  dispatch({ type: "described", machine: found });
  return found;
}

/** The assessment of a job: the best one so far, or else the first one. */
export async function assess(file: JobFile): Promise<Assessment> {
  return knownAnswer(file) ?? remember(file, await engine.call("advise", file));
}

/** The assessment of a job, if it is there already. */
export function knownAnswer(file: JobFile): Assessment | undefined {
  const answer = answers.get(JSON.stringify(file));
  return answer && remember(file, answer);
}

/** Whether the assessment of a job is there already. */
export const isAnswered = (file: JobFile): boolean => answers.has(JSON.stringify(file));

/** Keeps the answer about a job; the one that was not used for longest goes. */
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
