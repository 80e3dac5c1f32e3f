/** Takes over, once, the one job that the first version of the page kept in local storage. */
import { words } from "../words.ts";
import { EMPTY_DRAFT, type IntakeDraft } from "../drafts.ts";
import type { KeptJob } from "./kept-job.ts";
import { isDraft, isIntake, isJobFile, isMarks, isRecord, isStep } from "../shapes.ts";

const KEY = "halfsplit/bench/1";
const ASIDE = "halfsplit/unreadable";

export interface TakenOver {
  readonly kept?: KeptJob;
  readonly intake?: IntakeDraft;
  readonly trouble?: string;
  /** Clears the old place once the job is stored in the new one. */
  readonly done: () => void;
}

/** Whether there is something to take over. */
export const isThere = (): boolean => read(KEY) !== null;

export function takeOver(): TakenOver | undefined {
  const text = read(KEY);
  if (text === null) return undefined;
  const done = (): void => localStorage.removeItem(KEY);
  try {
    const stored: unknown = JSON.parse(text);
    if (!isRecord(stored) || !(stored["job"] === null || isJobFile(stored["job"]))) {
      throw new Error(words.trouble.notAJob);
    }
    const intake = isIntake(stored["intake"]) ? { intake: stored["intake"] as IntakeDraft } : {};
    if (stored["job"] === null) return { ...intake, done };
    return { kept: jobFrom(stored), ...intake, done };
  } catch (thrown) {
    try {
      localStorage.setItem(ASIDE, text);
    } catch {
      // The storage is full: the job stays where it is.
      return { trouble: words.trouble.storedBroken(String(thrown)), done: () => undefined };
    }
    const why = thrown instanceof Error ? thrown.message : String(thrown);
    return { trouble: words.trouble.storedBroken(why), done };
  }
}

function read(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

/** The kept job. Drafts with another shape are dropped; the job itself never is. */
function jobFrom(stored: Record<string, unknown>): KeptJob {
  // An undo entry without a job comes from before this job and is dropped.
  const marks = (name: string): KeptJob["past"] =>
    isMarks(stored[name]) ? (stored[name] as KeptJob["past"]) : [];
  return {
    id: crypto.randomUUID(),
    revision: 1,
    changed: Date.now(),
    job: stored["job"] as KeptJob["job"],
    past: marks("past"),
    future: marks("future"),
    chosen: isStep(stored["chosen"]) ? (stored["chosen"] as KeptJob["chosen"]) : null,
    draft: isDraft(stored["draft"]) ? (stored["draft"] as KeptJob["draft"]) : EMPTY_DRAFT,
    seed: null,
  };
}
