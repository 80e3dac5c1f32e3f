/** Questions about a job that need no machine and no engine. */
import { keyOf, sameStep, type StepKey } from "./catalogue.ts";
import type { JobFile, StepRecord } from "./engine/halfsplit_wasm.js";

/** An empty job, for calls that must be given one. */
export const NO_JOB: JobFile = { machine: "", steps: [] };

/** The steps of a job, in order; none if there is no job. */
export const stepsOf = (file: JobFile | null): readonly StepRecord[] => file?.steps ?? [];

/** Whether a step has been done at least once. */
export const doneBefore = (file: JobFile, key: StepKey): boolean =>
  stepsOf(file).some((step) => sameStep(keyOf(step), key));

/** Whether the last step of a job is a repair. */
export function endsWithRepair(file: JobFile): boolean {
  const last = stepsOf(file).at(-1);
  return last?.do === "repair";
}

/** Whether the engine ran at the last attempt without a bypass. */
export function ranLast(file: JobFile): boolean {
  const last = stepsOf(file).findLast((step) => step.do === "attempt");
  return last?.do === "attempt" && (last.bypass ?? []).length === 0 && last.outcome === "runs";
}
