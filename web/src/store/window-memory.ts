/** Remembers the state of this window over a reload, for use before the database can be read. */
import type { IntakeDraft } from "../drafts.ts";
import { isIntake, isRecord } from "../shapes.ts";
import { SCREENS, type Screen } from "./state.ts";

const WINDOW = "halfsplit/window";

/** The key of the job last used in any window, which must be known before the database is open. */
const LAST = "halfsplit/last";

/** The job of a window, and what the window shows. */
export interface WindowMemory {
  /** The id of the job on the bench. */
  readonly job: string | null;
  readonly screen: Screen;
  /** Stored here as well, because a reload may come before the database has it. */
  readonly intake: IntakeDraft | undefined;
}

/** The stored state of this window; undefined for a new window. */
export function recallWindow(): WindowMemory | undefined {
  const stored = parsed(sessionItem(WINDOW));
  if (!isRecord(stored)) return undefined;
  const { job, view, intake } = stored;
  return {
    job: typeof job === "string" ? job : null,
    screen: SCREENS.find((screen) => screen === view) ?? "bench",
    intake: isIntake(intake) ? (intake as IntakeDraft) : undefined,
  };
}

export function rememberWindow({ job, screen, intake }: WindowMemory): void {
  try {
    sessionStorage.setItem(WINDOW, JSON.stringify({ job, view: screen, intake }));
    if (job === null) localStorage.removeItem(LAST);
    else localStorage.setItem(LAST, job);
  } catch {
    // Refused: a reload then opens the job that was used last.
  }
}

/** Whether a job was on the bench of any window. */
export function hasLastJob(): boolean {
  try {
    return localStorage.getItem(LAST) !== null;
  } catch {
    return false;
  }
}

function sessionItem(key: string): string | null {
  try {
    return sessionStorage.getItem(key);
  } catch {
    return null;
  }
}

function parsed(text: string | null): unknown {
  try {
    return JSON.parse(text ?? "null");
  } catch {
    return null;
  }
}
