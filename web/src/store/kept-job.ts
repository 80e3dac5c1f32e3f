/** A job as the browser keeps it. */
import type { StepKey } from "../catalogue.ts";
import type { JobFile } from "../engine/halfsplit_wasm.js";
import type { IntakeDraft, StepDraft } from "../drafts.ts";
import { isDraft, isJobFile, isMarks, isRecord, isSeed, isStep } from "../shapes.ts";

/** A job to undo or redo to, with the name of the change. */
export interface Mark {
  readonly job: JobFile;
  readonly what: string;
}

/** A job with everything that belongs to it. */
export interface KeptJob {
  readonly id: string;
  /** Number of times it was saved; the highest is the newest. */
  readonly revision: number;
  /** When it was saved, in milliseconds since 1970. */
  readonly changed: number;
  readonly job: JobFile;
  readonly past: readonly Mark[];
  readonly future: readonly Mark[];
  readonly chosen: StepKey | null;
  readonly draft: StepDraft;
  /** The seed of the hidden fault, if the job is an exercise. */
  readonly seed: number | null;
}

/** The kept state that belongs to no job. */
export interface Desk {
  readonly intake: IntakeDraft;
  /** The id of the job last worked on. */
  readonly last: string | null;
}

/** The job file of an older page with the present field names. */
function renamed(file: JobFile & { readonly worth?: number }): JobFile {
  const { worth, ...rest } = file;
  return worth === undefined ? file : { machine_value: worth, ...rest };
}

const renamedMark = (mark: Mark): Mark => ({ ...mark, job: renamed(mark.job) });

/** The stored value as a kept job; undefined if it is not one. */
export function keptJobFrom(value: unknown): KeptJob | undefined {
  if (!isKeptJob(value)) return undefined;
  const { job, past, future } = value;
  return { ...value, job: renamed(job), past: past.map(renamedMark), future: future.map(renamedMark) };
}

/** Whether a stored value has the shape of a kept job; the engine checks its ids. */
export const isKeptJob = (value: unknown): value is KeptJob =>
  isRecord(value) &&
  typeof value["id"] === "string" &&
  typeof value["revision"] === "number" &&
  typeof value["changed"] === "number" &&
  isJobFile(value["job"]) &&
  isMarks(value["past"]) &&
  isMarks(value["future"]) &&
  isStep(value["chosen"]) &&
  isDraft(value["draft"]) &&
  isSeed(value["seed"]);
